//! Levels that all sky models share: light outside the air, air mass, light of the sun through it, and twilight.
//!
//! Illuminances in lx, angles in rad. Sources at each formula.

use super::hemisphere::horizontal_integral_sr;
use super::{Pattern, SkyLevel};
use crate::sun::SunPosition;
use crate::units::EXTRATERRESTRIAL_ILLUMINANCE_LX;

/// True depression at which the centre of the sun, lifted by refraction, leaves the horizon [deg].
const SUNSET_DEPRESSION_DEG: f64 = 0.575;

/// True depression at which the sky is taken as dark [deg]: the end of civil twilight.
const DARK_DEPRESSION_DEG: f64 = 6.0;

/// Number of e-foldings of the sky's light between sunset and [`DARK_DEPRESSION_DEG`]; from some 700 lx to 4 lx, from memory.
const TWILIGHT_FOLDS: f64 = 5.1;

/// What a sky model says: pattern or two, with their horizontal illuminances, and the sun's light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Daylight {
    /// Patterns and the diffuse horizontal illuminance [lx] that each makes.
    pub parts: [(Pattern, f64); 2],
    /// Illuminance on a plane facing the sun [lx]; counts only while the sun is up.
    pub direct_normal_illuminance_lx: f64,
}

impl Daylight {
    /// A sky of one pattern.
    pub(super) fn of_one(pattern: Pattern, diffuse_lx: f64, direct_lx: f64) -> Self {
        Self {
            parts: [(pattern, diffuse_lx), (Pattern::Uniform, 0.0)],
            direct_normal_illuminance_lx: direct_lx,
        }
    }

    /// A sky of one pattern at a level that the user stated; [`SkyLevel::Typical`] is the caller's.
    pub(super) fn at_level(pattern: Pattern, level: SkyLevel, sun: &SunPosition) -> Self {
        match level {
            SkyLevel::Typical => Self::of_one(pattern, 0.0, 0.0),
            SkyLevel::DiffuseHorizontal {
                diffuse_horizontal_illuminance_lx,
                direct_normal_illuminance_lx,
            } => Self::of_one(
                pattern,
                diffuse_horizontal_illuminance_lx,
                direct_normal_illuminance_lx,
            ),
            SkyLevel::Zenith {
                zenith_luminance_cd_m2,
                direct_normal_illuminance_lx,
            } => {
                let elevation_rad = pattern_elevation_rad(sun);
                let over_zenith_sr = horizontal_integral_sr(&pattern, elevation_rad)
                    / pattern.relative_at_zenith(elevation_rad);
                Self::of_one(
                    pattern,
                    zenith_luminance_cd_m2 * over_zenith_sr,
                    direct_normal_illuminance_lx,
                )
            }
        }
    }
}

/// Elevation of the sun that a pattern turns about [rad]: the apparent one, on the horizon once the sun is down.
pub(super) fn pattern_elevation_rad(sun: &SunPosition) -> f64 {
    sun.apparent_elevation_rad
        .clamp(0.0, std::f64::consts::FRAC_PI_2)
}

/// Horizontal illuminance outside the air [lx], 0 with the sun down: 133.8 klx sin h / R2; Darula and Kittler 2002, eq. 11.
pub(super) fn extraterrestrial_horizontal_lx(sun: &SunPosition) -> f64 {
    EXTRATERRESTRIAL_ILLUMINANCE_LX * pattern_elevation_rad(sun).sin()
        / (sun.distance_au * sun.distance_au)
}

/// Relative optical air mass at an elevation [rad] of at least 0 (lower ones count as 0).
/// F. Kasten and A. T. Young, "Revised optical air mass tables and approximation formula", Applied Optics 28, 1989.
#[must_use]
pub fn air_mass(elevation_rad: f64) -> f64 {
    let elevation_rad = elevation_rad.max(0.0);
    1.0 / (elevation_rad.sin() + 0.505_72 * (elevation_rad.to_degrees() + 6.079_95).powf(-1.6364))
}

/// Direct normal illuminance [lx] through air of a luminous turbidity, at an air mass and a distance of the sun [au].
/// Darula and Kittler 2002, eq. 15 to 17.
#[must_use]
pub fn direct_normal_through_air_lx(turbidity: f64, air_mass: f64, distance_au: f64) -> f64 {
    let extinction = 1.0 / (9.9 + 0.043 * air_mass);
    EXTRATERRESTRIAL_ILLUMINANCE_LX / (distance_au * distance_au)
        * (-extinction * air_mass * turbidity).exp()
}

/// Direct normal illuminance [lx] of a sun position; 0 with the sun down.
pub(super) fn direct_normal_illuminance_lx(turbidity: f64, sun: &SunPosition) -> f64 {
    if sun.apparent_elevation_rad <= 0.0 {
        return 0.0;
    }
    direct_normal_through_air_lx(
        turbidity,
        air_mass(sun.apparent_elevation_rad),
        sun.distance_au,
    )
}

/// Share of the sky's light at sunset that is left: 1 with the sun up, falling to 0 at 6 deg below the horizon. An
/// exponential in the depression, shifted to end at 0; a plain law of our own, for the skies without weather data.
#[must_use]
pub fn twilight(sun: &SunPosition) -> f64 {
    let depression_deg = -sun.true_elevation_rad.to_degrees();
    let x = ((depression_deg - SUNSET_DEPRESSION_DEG)
        / (DARK_DEPRESSION_DEG - SUNSET_DEPRESSION_DEG))
        .clamp(0.0, 1.0);
    let end = (-TWILIGHT_FOLDS).exp();
    ((-TWILIGHT_FOLDS * x).exp() - end) / (1.0 - end)
}
