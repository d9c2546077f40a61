//! The fifteen standard skies and their typical levels.
//!
//! Sources: ISO 15469:2004 (CIE S 011/E:2003), table 1; S. Darula and R. Kittler, "CIE general sky standard defining
//! luminance distributions", 2002, table 2 and equations 12 and 13. Luminances in cd/m2, illuminances in lx.

use std::f64::consts::FRAC_PI_2;

use super::daylight::{Daylight, direct_normal_illuminance_lx, extraterrestrial_horizontal_lx};
use super::hemisphere::horizontal_integral_sr;
use super::{Graded, Pattern, SkyLevel};
use crate::sun::SunPosition;

/// Number of a standard sky, 1..=15.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CieType(u8);

/// A number that is none of the fifteen standard skies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("standard sky {0} does not exist, the types are 1 to 15")]
pub struct CieTypeError(pub u8);

/// a, b, c, d, e by type; ISO 15469:2004, table 1.
const PARAMETERS: [[f64; 5]; 15] = [
    [4.0, -0.70, 0.0, -1.0, 0.0],
    [4.0, -0.70, 2.0, -1.5, 0.15],
    [1.1, -0.8, 0.0, -1.0, 0.0],
    [1.1, -0.8, 2.0, -1.5, 0.15],
    [0.0, -1.0, 0.0, -1.0, 0.0],
    [0.0, -1.0, 2.0, -1.5, 0.15],
    [0.0, -1.0, 5.0, -2.5, 0.30],
    [0.0, -1.0, 10.0, -3.0, 0.45],
    [-1.0, -0.55, 2.0, -1.5, 0.15],
    [-1.0, -0.55, 5.0, -2.5, 0.30],
    [-1.0, -0.55, 10.0, -3.0, 0.45],
    [-1.0, -0.32, 10.0, -3.0, 0.45],
    [-1.0, -0.32, 16.0, -3.0, 0.30],
    [-1.0, -0.15, 16.0, -3.0, 0.30],
    [-1.0, -0.15, 24.0, -2.8, 0.15],
];

/// Zenith luminance from turbidity, types 7 to 15: A1, A2, C, D, typical turbidity; Darula and Kittler 2002, table 2.
const TURBIDITY_LEVELS: [[f64; 5]; 9] = [
    [0.957, 1.790, 4.52, 0.63, 12.0],
    [0.830, 2.030, 4.94, 0.70, 10.0],
    [0.600, 1.500, 3.45, 0.50, 12.0],
    [0.567, 2.610, 4.27, 0.63, 10.0],
    [1.440, -0.750, 4.60, 0.72, 4.0],
    [1.036, 0.710, 4.43, 0.74, 2.5],
    [1.244, -0.840, 4.61, 0.76, 4.5],
    [0.881, 0.453, 4.40, 0.79, 5.0],
    [0.418, 1.950, 4.13, 0.79, 4.0],
];

/// Typical diffuse over extraterrestrial horizontal illuminance, types 1 to 6; Darula and Kittler 2002, table 2.
const DIFFUSE_RATIOS: [f64; 6] = [0.10, 0.18, 0.15, 0.22, 0.20, 0.38];

/// Least typical diffuse illuminance while the sun is up [lx]: the horizon value of the IES 1984 overcast formula (from
/// memory), where a share of the extraterrestrial light would be none.
const LEAST_DIFFUSE_LX: f64 = 300.0;

/// Above this solar elevation the zenith luminance formula diverges and the level follows sin h instead [rad] (75 deg).
const FORMULA_TOP_RAD: f64 = 75.0 / 180.0 * std::f64::consts::PI;

impl CieType {
    /// Type 1, the standard overcast sky.
    pub const OVERCAST: Self = Self(1);
    /// Type 5, the uniform sky.
    pub const UNIFORM: Self = Self(5);
    /// Type 12, the standard clear sky.
    pub const CLEAR: Self = Self(12);
    /// Type 13, the standard clear sky in a polluted atmosphere.
    pub const POLLUTED: Self = Self(13);

    /// The number, 1..=15.
    #[must_use]
    pub fn number(self) -> u8 {
        self.0
    }

    /// All fifteen, in order.
    pub fn all() -> impl Iterator<Item = Self> {
        (1..=15).map(Self)
    }

    /// The pattern.
    #[must_use]
    pub fn pattern(self) -> Pattern {
        // the number is 1..=15 by construction
        let index = usize::from(self.0.clamp(1, 15) - 1);
        Pattern::Graded(Graded::standard(PARAMETERS[index]))
    }

    /// Luminance over zenith luminance at a zenith angle, an angle from the sun and the sun's zenith angle [rad]; formula 1.
    #[must_use]
    pub fn relative_to_zenith(
        self,
        zenith_angle_rad: f64,
        from_sun_rad: f64,
        sun_zenith_angle_rad: f64,
    ) -> f64 {
        let pattern = self.pattern();
        pattern.relative(zenith_angle_rad.cos(), from_sun_rad)
            / pattern.relative_at_zenith(FRAC_PI_2 - sun_zenith_angle_rad)
    }

    /// Horizontal illuminance over zenith luminance [sr] at a solar elevation [rad].
    #[must_use]
    pub fn horizontal_over_zenith_sr(self, sun_elevation_rad: f64) -> f64 {
        let pattern = self.pattern();
        horizontal_integral_sr(&pattern, sun_elevation_rad)
            / pattern.relative_at_zenith(sun_elevation_rad)
    }

    /// Zenith luminance [cd/m2] from the luminous turbidity (1..=12) and the solar elevation [rad]; None for types 1 to 6.
    /// Darula and Kittler 2002, eq. 13. Diverges toward 90 deg: use below 75 deg.
    #[must_use]
    pub fn zenith_luminance_cd_m2(self, turbidity: f64, sun_elevation_rad: f64) -> Option<f64> {
        let [a1, a2, c, d, _] = self.turbidity_level()?;
        let (sin, cos) = sun_elevation_rad.sin_cos();
        let kcd_m2 = (a1 * turbidity + a2) * sin
            + 0.7 * (turbidity + 1.0) * sin.powf(c) / cos.powf(d)
            + 0.04 * turbidity;
        Some(1000.0 * kcd_m2.max(0.0))
    }

    /// Diffuse horizontal illuminance [lx] from the luminous turbidity and the solar elevation [rad] of 0..=pi/2: zenith
    /// luminance times the integral of the pattern, above 75 deg in proportion to sin h. None for types 1 to 6.
    #[must_use]
    pub fn diffuse_from_turbidity_lx(self, turbidity: f64, sun_elevation_rad: f64) -> Option<f64> {
        let formula_rad = sun_elevation_rad.min(FORMULA_TOP_RAD);
        let zenith = self.zenith_luminance_cd_m2(turbidity, formula_rad)?;
        let beyond = if sun_elevation_rad > formula_rad {
            sun_elevation_rad.sin() / formula_rad.sin()
        } else {
            1.0
        };
        Some(zenith * self.horizontal_over_zenith_sr(formula_rad) * beyond)
    }

    fn turbidity_level(self) -> Option<[f64; 5]> {
        TURBIDITY_LEVELS
            .get(usize::from(self.0).checked_sub(7)?)
            .copied()
    }
}

impl TryFrom<u8> for CieType {
    type Error = CieTypeError;

    fn try_from(number: u8) -> Result<Self, CieTypeError> {
        if (1..=15).contains(&number) {
            Ok(Self(number))
        } else {
            Err(CieTypeError(number))
        }
    }
}

/// Pattern and level of a standard sky.
pub(super) fn daylight(kind: CieType, level: SkyLevel, sun: &SunPosition) -> Daylight {
    match level {
        SkyLevel::Typical => match kind.turbidity_level() {
            Some([.., turbidity]) => super::turbid::daylight(kind, turbidity, sun),
            None => Daylight::of_one(kind.pattern(), typical_cloudy_diffuse_lx(kind, sun), 0.0),
        },
        SkyLevel::DiffuseHorizontal { .. } | SkyLevel::Zenith { .. } => {
            Daylight::at_level(kind.pattern(), level, sun)
        }
    }
}

/// Typical diffuse horizontal illuminance [lx] of the types without sun, 1 to 6.
fn typical_cloudy_diffuse_lx(kind: CieType, sun: &SunPosition) -> f64 {
    let ratio = DIFFUSE_RATIOS
        .get(usize::from(kind.0) - 1)
        .copied()
        .unwrap_or(0.0);
    (ratio * extraterrestrial_horizontal_lx(sun)).max(LEAST_DIFFUSE_LX)
        * super::daylight::twilight(sun)
}

/// Direct normal and diffuse horizontal illuminance [lx] of a cloudless standard sky.
pub(super) fn cloudless_lx(kind: CieType, turbidity: f64, sun: &SunPosition) -> (f64, f64) {
    let diffuse_lx = kind
        .diffuse_from_turbidity_lx(turbidity, sun.apparent_elevation_rad.max(0.0))
        .unwrap_or(0.0)
        * super::daylight::twilight(sun);
    (direct_normal_illuminance_lx(turbidity, sun), diffuse_lx)
}
