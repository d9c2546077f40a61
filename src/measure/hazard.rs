//! Glints and mirror images of the sun: when a tile is a hazard rather than an effect.
//!
//! Inputs: tile luminance [cd/m2], adaptation [cd/m2], roughness (alpha of the microfacet model), direct sun [lx],
//! irradiance at the eye [W/cm2], source angle [rad]. Sources: own engineering limits for glints; C. Ho, C. Ghanbari and
//! R. Diver, "Methodology to assess potential glint and glare hazards from concentrating solar power plants", J. Solar
//! Energy Engineering 133, 031021, 2011, for the retina, all from memory. Limits: an estimate that says where to look
//! twice; it certifies no one's eye safety. Exposure limits of museum objects are in [`super::conservation`],
//! re-exported here.

use serde::{Deserialize, Serialize};

pub use super::conservation::{LightClass, annual_exposure_lx_h, share_of_budget};
use crate::units::SUN_SOLID_ANGLE_SR;

/// Limits on bright tiles and reflections.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct GlintLimits {
    /// Tile luminance above which it is a glint whatever the adaptation [cd/m2]. 5000: own choice.
    pub luminance_cd_m2: f64,
    /// Tile luminance over adaptation above which it is a glint. 100: own choice.
    pub times_adaptation: f64,
    /// Luminance a reflection on a display or reading surface should stay below [cd/m2]. 1000: older European practice, from memory.
    pub reading_reflection_cd_m2: f64,
    /// Veiling luminance of reflected sun toward traffic and neighbours [cd/m2]. 500: planning practice after Hassall, from memory.
    pub traffic_veil_cd_m2: f64,
    /// Roughness alpha below which, in both directions, a tile is mirror-like. 0.03: own choice.
    pub mirror_alpha: f64,
}

impl Default for GlintLimits {
    fn default() -> Self {
        Self {
            luminance_cd_m2: 5000.0,
            times_adaptation: 100.0,
            reading_reflection_cd_m2: 1000.0,
            traffic_veil_cd_m2: 500.0,
            mirror_alpha: 0.03,
        }
    }
}

/// Why a tile is a glint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Glint {
    /// Brighter than the absolute limit.
    Bright,
    /// Brighter than the limit for this adaptation.
    BrightForTheEye,
    /// Both.
    Both,
}

impl Glint {
    /// The words for reports.
    pub fn words(self) -> &'static str {
        match self {
            Self::Bright => "brighter than the glint limit",
            Self::BrightForTheEye => "far brighter than the eye is adapted to",
            Self::Both => {
                "brighter than the glint limit and far brighter than the eye is adapted to"
            }
        }
    }
}

impl GlintLimits {
    /// Whether a tile of `luminance_cd_m2` is a glint for an eye adapted to `adaptation_cd_m2`, and why.
    #[inline]
    pub fn glint(&self, luminance_cd_m2: f64, adaptation_cd_m2: f64) -> Option<Glint> {
        let bright = luminance_cd_m2 > self.luminance_cd_m2;
        let for_the_eye = luminance_cd_m2 > self.times_adaptation * adaptation_cd_m2.max(0.0);
        match (bright, for_the_eye && luminance_cd_m2 > 0.0) {
            (true, true) => Some(Glint::Both),
            (true, false) => Some(Glint::Bright),
            (false, true) => Some(Glint::BrightForTheEye),
            (false, false) => None,
        }
    }

    /// Whether a surface of roughness `alpha_along` and `alpha_across` the grain is mirror-like.
    pub fn mirror_like(&self, alpha_along: f64, alpha_across: f64) -> bool {
        alpha_along < self.mirror_alpha && alpha_across < self.mirror_alpha
    }

    /// Whether a tile must be flagged because it is mirror-like and gets any direct sun.
    pub fn mirrors_the_sun(
        &self,
        alpha_along: f64,
        alpha_across: f64,
        direct_sun_illuminance_lx: f64,
    ) -> bool {
        direct_sun_illuminance_lx > 0.0 && self.mirror_like(alpha_along, alpha_across)
    }
}

/// Mean luminance of the sun's disc [cd/m2] for a direct normal illuminance: E / omega.
pub fn sun_disc_luminance_cd_m2(direct_normal_illuminance_lx: f64) -> f64 {
    direct_normal_illuminance_lx / SUN_SOLID_ANGLE_SR
}

/// Eye of Ho, Ghanbari and Diver 2011 (from memory): daylight pupil [m], transmittance of the eye, focal length [m].
const PUPIL_DIAMETER_M: f64 = 0.002;
const EYE_TRANSMITTANCE: f64 = 0.5;
const EYE_FOCAL_LENGTH_M: f64 = 0.017;

/// Irradiance of the image on the retina [W/cm2].
///
/// `cornea_w_cm2` is the irradiance at the eye [W/cm2], `source_angle_rad` the full angle that the source subtends [rad].
/// Ho, Ghanbari and Diver 2011, E_c d_p^2 tau / (f^2 omega^2) (from memory).
pub fn retinal_irradiance_w_cm2(cornea_w_cm2: f64, source_angle_rad: f64) -> f64 {
    let image_per_pupil = PUPIL_DIAMETER_M / (EYE_FOCAL_LENGTH_M * source_angle_rad);
    cornea_w_cm2 * EYE_TRANSMITTANCE * image_per_pupil * image_per_pupil
}

/// Retinal irradiance [W/cm2] from which a burn is possible within a blink (Ho, Ghanbari and Diver 2011, from memory).
pub fn burn_threshold_w_cm2(source_angle_rad: f64) -> f64 {
    if source_angle_rad < 0.118 {
        0.118 / source_angle_rad
    } else {
        1.0
    }
}

/// Retinal irradiance [W/cm2] from which an after-image is likely (Ho, Ghanbari and Diver 2011, from memory).
pub fn after_image_threshold_w_cm2(source_angle_rad: f64) -> f64 {
    3.59e-5 / source_angle_rad.powf(1.77)
}

/// What a bright image may do to the eye within a blink.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RetinalHazard {
    /// Below the after-image threshold.
    Low,
    /// May leave an after-image.
    AfterImage,
    /// May burn the retina.
    Burn,
}

impl RetinalHazard {
    /// Class of a source that gives `cornea_w_cm2` at the eye and subtends `source_angle_rad`; both above 0, else [`RetinalHazard::Low`].
    pub fn of(cornea_w_cm2: f64, source_angle_rad: f64) -> Self {
        let lit = cornea_w_cm2 > 0.0 && source_angle_rad > 0.0;
        if !lit {
            return Self::Low;
        }
        let retina_w_cm2 = retinal_irradiance_w_cm2(cornea_w_cm2, source_angle_rad);
        if retina_w_cm2 >= burn_threshold_w_cm2(source_angle_rad) {
            Self::Burn
        } else if retina_w_cm2 >= after_image_threshold_w_cm2(source_angle_rad) {
            Self::AfterImage
        } else {
            Self::Low
        }
    }

    /// The words for reports.
    pub fn words(self) -> &'static str {
        match self {
            Self::Low => "low potential for an after-image",
            Self::AfterImage => "may leave an after-image",
            Self::Burn => "may harm the retina",
        }
    }
}

/// Focal length [m] of a tile bent to `curvature_radius_m`: half of it. Eyes and finishes near that distance get concentrated sun.
pub fn concave_focal_length_m(curvature_radius_m: f64) -> f64 {
    0.5 * curvature_radius_m
}

/// Height [m] on a vertical glossy wall at which an eye sees the mirror image of a fixture.
///
/// Mirror law: the image stands as far behind the wall as the fixture before it. All four in metres, distances from the
/// wall, heights above the floor. The piece is safe when its top lies below this height, or its bottom above.
pub fn mirror_image_height_m(
    eye_height_m: f64,
    eye_distance_m: f64,
    fixture_height_m: f64,
    fixture_distance_m: f64,
) -> f64 {
    let share = eye_distance_m / (eye_distance_m + fixture_distance_m);
    eye_height_m + (fixture_height_m - eye_height_m) * share
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn glints_name_their_reason() {
        let limits = GlintLimits::default();
        assert_eq!(limits.glint(4000.0, 100.0), None);
        assert_eq!(limits.glint(6000.0, 100.0), Some(Glint::Bright));
        assert_eq!(limits.glint(1500.0, 10.0), Some(Glint::BrightForTheEye));
        assert_eq!(limits.glint(6000.0, 10.0), Some(Glint::Both));
        assert_eq!(limits.glint(0.0, 0.0), None);
        assert_eq!(limits.glint(f64::NAN, 10.0), None);
    }

    #[test]
    fn only_mirrors_in_sun_are_flagged() {
        let limits = GlintLimits::default();
        assert!(limits.mirrors_the_sun(0.02, 0.02, 10.0));
        assert!(!limits.mirrors_the_sun(0.02, 0.02, 0.0));
        assert!(!limits.mirrors_the_sun(0.02, 0.2, 10.0), "brushed across");
    }

    #[test]
    fn dark_and_tiny_sources_are_low() {
        assert_eq!(RetinalHazard::of(0.0, 0.01), RetinalHazard::Low);
        assert_eq!(RetinalHazard::of(0.1, 0.0), RetinalHazard::Low);
    }

    #[test]
    fn mirror_image_obeys_similar_triangles() {
        // Eye and fixture equally far: halfway up.
        assert_eq!(mirror_image_height_m(1.6, 2.0, 3.6, 2.0), 2.6);
        assert_eq!(mirror_image_height_m(1.6, 3.0, 3.6, 1.0), 3.1);
    }
}
