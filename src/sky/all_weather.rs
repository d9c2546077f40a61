//! All-weather sky: pattern and level from the irradiances of an hour.
//!
//! Inputs: direct normal and diffuse horizontal irradiance [W/m2], dew point [degC], the sun. Outputs: illuminances [lx] by
//! luminous efficacy (R. Perez et al., "Modeling daylight availability and irradiance components from direct and global
//! irradiance", Solar Energy 44(5), 1990) and a pattern (R. Perez et al., "All-weather model for sky luminance
//! distribution", Solar Energy 50(3), 1993). Limits: hourly means, fitted to suns above some 5 deg; below, extrapolated.

use std::f64::consts::FRAC_PI_2;

use super::daylight::{Daylight, air_mass};
use super::perez_tables::{
    CLEARNESS_EDGES, DIFFUSE_EFFICACY, DIRECT_EFFICACY, GLOBAL_EFFICACY, PATTERN,
};
use super::{Graded, Pattern};
use crate::sun::SunPosition;
use crate::units::SOLAR_CONSTANT_W_M2;

/// Largest brightness that forms a pattern; the fit saw none above some 0.6 (from memory), and its class 1 explodes there.
const GREATEST_BRIGHTNESS: f64 = 0.6;

/// Least brightness, so that its logarithm exists.
const LEAST_BRIGHTNESS: f64 = 1e-3;

/// Parameters that describe the sky of an hour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SkyCondition {
    /// Relative optical air mass at the sun's true elevation.
    pub air_mass: f64,
    /// Clearness epsilon, 1 for an overcast sky; infinite without diffuse light.
    pub clearness: f64,
    /// Class of clearness, 1..=8.
    pub class: u8,
    /// Brightness delta.
    pub brightness: f64,
    /// Water in the air above [cm].
    pub precipitable_water_cm: f64,
    /// Zenith angle of the sun without refraction [rad], at most pi/2.
    pub sun_zenith_angle_rad: f64,
}

impl SkyCondition {
    /// From irradiances [W/m2], dew point [degC], true elevation [rad] and distance of the sun [au]; Perez 1990, eq. 1 to 3.
    /// The zenith angle is the true one, with which the check values of the efficacies were made.
    #[must_use]
    pub fn new(
        direct_normal_w_m2: f64,
        diffuse_horizontal_w_m2: f64,
        dew_point_c: f64,
        sun: &SunPosition,
    ) -> Self {
        let elevation_rad = sun.true_elevation_rad.clamp(0.0, FRAC_PI_2);
        let zenith_rad = FRAC_PI_2 - elevation_rad;
        let extraterrestrial_w_m2 = SOLAR_CONSTANT_W_M2 / (sun.distance_au * sun.distance_au);
        let mass = air_mass(elevation_rad);
        let cube = 1.041 * zenith_rad.powi(3);
        let clearness = if diffuse_horizontal_w_m2 > 0.0 {
            let ratio = (diffuse_horizontal_w_m2 + direct_normal_w_m2) / diffuse_horizontal_w_m2;
            (ratio + cube) / (1.0 + cube)
        } else {
            f64::INFINITY
        };
        Self {
            air_mass: mass,
            clearness,
            class: class_of(clearness),
            brightness: mass * diffuse_horizontal_w_m2 / extraterrestrial_w_m2,
            precipitable_water_cm: (0.07 * dew_point_c - 0.075).exp(),
            sun_zenith_angle_rad: zenith_rad,
        }
    }

    /// Global efficacy [lm/W]; Perez 1990, eq. 6.
    #[must_use]
    pub fn global_efficacy_lm_w(&self) -> f64 {
        self.horizontal_efficacy(&GLOBAL_EFFICACY)
    }

    /// Diffuse efficacy [lm/W]; Perez 1990, eq. 7.
    #[must_use]
    pub fn diffuse_efficacy_lm_w(&self) -> f64 {
        self.horizontal_efficacy(&DIFFUSE_EFFICACY)
    }

    /// Direct efficacy [lm/W], at least 0; Perez 1990, eq. 8.
    #[must_use]
    pub fn direct_efficacy_lm_w(&self) -> f64 {
        let [a, b, c, d] = DIRECT_EFFICACY[self.class_index()];
        (a + b * self.precipitable_water_cm
            + c * (5.73 * self.sun_zenith_angle_rad - 5.0).exp()
            + d * self.brightness)
            .max(0.0)
    }

    /// The luminance pattern of this condition.
    #[must_use]
    pub fn pattern(&self) -> Graded {
        pattern_of(
            self.clearness,
            self.brightness.clamp(LEAST_BRIGHTNESS, GREATEST_BRIGHTNESS),
            self.sun_zenith_angle_rad,
        )
    }

    fn horizontal_efficacy(&self, table: &[[f64; 4]; 8]) -> f64 {
        let [a, b, c, d] = table[self.class_index()];
        (a + b * self.precipitable_water_cm
            + c * self.sun_zenith_angle_rad.cos()
            + d * self.brightness.max(LEAST_BRIGHTNESS).ln())
        .max(0.0)
    }

    /// 0..=7, since the class is 1..=8.
    fn class_index(&self) -> usize {
        usize::from(self.class.clamp(1, 8) - 1)
    }
}

/// Class of clearness, 1..=8; Perez 1990, table 1.
#[must_use]
pub fn class_of(clearness: f64) -> u8 {
    1 + CLEARNESS_EDGES
        .iter()
        .filter(|edge| clearness >= **edge)
        .count() as u8
}

/// The pattern of a clearness, a brightness and a zenith angle of the sun [rad]; Perez et al. 1993, eq. 1, 6, 7 and table 1.
#[must_use]
pub fn pattern_of(clearness: f64, brightness: f64, sun_zenith_angle_rad: f64) -> Graded {
    let class = class_of(clearness);
    let z = sun_zenith_angle_rad;
    // between these classes a small brightness makes b positive; the 1993 paper raises it to 0.2 (from memory)
    let delta = if (1.065..2.8).contains(&clearness) {
        brightness.max(0.2)
    } else {
        brightness
    };
    // the class is 1..=8
    let rows = &PATTERN[usize::from(class - 1)];
    let [a, b, mut c, mut d, e] = rows.map(|[x1, x2, x3, x4]| x1 + x2 * z + delta * (x3 + x4 * z));
    if class == 1 {
        let [_, _, [c1, c2, c3, c4], [d1, d2, d3, d4], _] = *rows;
        c = (delta * (c1 + c2 * z)).powf(c3).exp() - c4;
        d = -(delta * (d1 + d2 * z)).exp() + d3 + delta * d4;
    }
    Graded::all_weather([a, b, c, d, e])
}

/// Pattern and level of an hour; negative or undefined irradiances count as 0.
pub(super) fn daylight(
    direct_normal_w_m2: f64,
    diffuse_horizontal_w_m2: f64,
    dew_point_c: f64,
    sun: &SunPosition,
) -> Daylight {
    // max also turns NaN into 0
    let direct_w_m2 = direct_normal_w_m2.max(0.0);
    let diffuse_w_m2 = diffuse_horizontal_w_m2.max(0.0);
    let condition = SkyCondition::new(direct_w_m2, diffuse_w_m2, dew_point_c, sun);
    Daylight::of_one(
        Pattern::Graded(condition.pattern()),
        diffuse_w_m2 * condition.diffuse_efficacy_lm_w(),
        direct_w_m2 * condition.direct_efficacy_lm_w(),
    )
}
