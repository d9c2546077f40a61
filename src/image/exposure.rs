//! How bright a luminance is shown: one tone curve for the whole picture, around what the eye is adapted to.
//!
//! Input: luminances [cd/m2] and the adaptation [cd/m2]; output: linear display values 0..=1. The curve is
//! E. Reinhard et al. 2002 (see [`ToneCurve`]); the adaptation follows what the eye sees with the time
//! constants below, which are shorter than a real eye's so that nobody has to wait (own choice). Its colour follows
//! in the same way. Limits: one adaptation for the whole view.

use glam::{Mat3, Vec3};

use super::{luminance, white_matrix};
use crate::measure::colour::{MIDDLE_KEY, ToneCurve};

/// Least adaptation [cd/m2]: below it the picture gets dark, as the eye's does.
const LEAST_CD_M2: f32 = 0.05;
/// Luminance shown in the middle of the curve over the adaptation. Below 1, because what an eye is adapted to looks
/// light to it, and the curve's shoulder darkens the middle (own choice, from looking at rooms by day and night).
const MIDDLE_OVER_ADAPTATION: f32 = 0.55;
/// Luminance shown as white over that in the middle.
const WHITE_OVER_MIDDLE: f32 = 40.0;
/// Time constant toward brighter light [s].
const TO_LIGHT_S: f32 = 0.35;
/// Time constant toward darker light [s].
const TO_DARK_S: f32 = 0.9;

/// What the user may set.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct ExposureSettings {
    /// Brighter (above 0) or darker, in stops (factors of two).
    pub shift_stops: f32,
    /// Whether the adaptation stays where it is, so that two pictures compare.
    pub held: bool,
}

/// The state of the eye that the picture is shown to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Exposure {
    /// Luminance that the eye is adapted to [cd/m2]; `None` before the first light.
    adapted_cd_m2: Option<f32>,
    /// Colour of that light, luminance 1, linear Rec. 709.
    light_rgb: Vec3,
    /// What the user set.
    pub settings: ExposureSettings,
}

impl Exposure {
    /// Luminance that the eye is adapted to [cd/m2].
    pub fn adapted_cd_m2(&self) -> f32 {
        self.adapted_cd_m2.unwrap_or(10.0)
    }

    /// The eye of a visitor who has seen this light for long; the luminance with its colour [cd/m2, linear Rec. 709].
    pub fn settled(seen_cd_m2: Vec3) -> Self {
        let mut eye = Self::default();
        eye.adapt(seen_cd_m2, 0.0);
        eye
    }

    /// The light that it is adapted to [cd/m2, linear Rec. 709].
    pub fn light_cd_m2(&self) -> Vec3 {
        self.light_rgb * self.adapted_cd_m2()
    }

    /// Moves the adaptation toward `seen_cd_m2` (a luminance with its colour) for `dt_s` seconds, in the logarithm;
    /// the first light is taken at once. Returns whether it is still on its way.
    pub fn adapt(&mut self, seen_cd_m2: Vec3, dt_s: f32) -> bool {
        let seen = luminance(seen_cd_m2);
        let rgb = seen_cd_m2 / seen.max(1e-9);
        let (seen, rgb) = if seen.is_finite() && seen > 1e-6 && rgb.is_finite() {
            (seen.max(LEAST_CD_M2), rgb)
        } else {
            (LEAST_CD_M2, Vec3::ONE)
        };
        let Some(now) = self.adapted_cd_m2 else {
            self.adapted_cd_m2 = Some(seen);
            self.light_rgb = rgb;
            return false;
        };
        if self.settings.held {
            return false;
        }
        let away = (seen / now).ln();
        if away.abs() < 0.01 && self.light_rgb.distance(rgb) < 0.01 {
            self.adapted_cd_m2 = Some(seen);
            self.light_rgb = rgb;
            return false;
        }
        let constant_s = if away > 0.0 { TO_LIGHT_S } else { TO_DARK_S };
        let share = 1.0 - (-dt_s.max(0.0) / constant_s).exp();
        self.adapted_cd_m2 = Some(now * (away * share).exp());
        self.light_rgb = self.light_rgb.lerp(rgb, share);
        true
    }

    /// The matrix that turns the light's colour toward white (see [`white_matrix`]).
    pub fn white_matrix(&self) -> Mat3 {
        white_matrix(self.light_rgb, self.adapted_cd_m2())
    }

    /// Luminance shown as middling brightness [cd/m2].
    pub fn middle_cd_m2(&self) -> f32 {
        self.adapted_cd_m2() * MIDDLE_OVER_ADAPTATION * 2.0_f32.powf(-self.settings.shift_stops)
    }

    /// Least luminance shown as white [cd/m2].
    pub fn white_cd_m2(&self) -> f32 {
        self.middle_cd_m2() * WHITE_OVER_MIDDLE
    }

    /// The tone curve.
    pub fn curve(&self) -> ToneCurve {
        ToneCurve::new(
            f64::from(self.middle_cd_m2()),
            MIDDLE_KEY,
            Some(f64::from(self.white_cd_m2())),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_light_is_taken_at_once_and_later_ones_slowly() {
        let mut eye = Exposure::default();
        assert!(!eye.adapt(Vec3::splat(100.0), 0.016));
        assert_eq!(eye.adapted_cd_m2(), 100.0);
        assert!(eye.adapt(Vec3::splat(1000.0), 0.1));
        assert!(eye.adapted_cd_m2() > 100.0 && eye.adapted_cd_m2() < 1000.0);
        for _ in 0..200 {
            eye.adapt(Vec3::splat(1000.0), 0.05);
        }
        assert_eq!(eye.adapted_cd_m2(), 1000.0);
    }

    #[test]
    fn steps_of_time_do_not_change_where_it_goes() {
        let (mut coarse, mut fine) = (Exposure::default(), Exposure::default());
        coarse.adapt(Vec3::splat(10.0), 0.0);
        fine.adapt(Vec3::splat(10.0), 0.0);
        coarse.adapt(Vec3::ONE, 0.4);
        for _ in 0..40 {
            fine.adapt(Vec3::ONE, 0.01);
        }
        let ratio = coarse.adapted_cd_m2() / fine.adapted_cd_m2();
        assert!((ratio - 1.0).abs() < 1e-3, "ratio {ratio}");
    }

    #[test]
    fn a_held_eye_does_not_move_and_white_is_white() {
        let mut eye = Exposure::default();
        eye.adapt(Vec3::splat(20.0), 0.0);
        eye.settings.held = true;
        assert!(!eye.adapt(Vec3::splat(2000.0), 10.0));
        assert_eq!(eye.adapted_cd_m2(), 20.0);
        let white = f64::from(eye.white_cd_m2());
        assert!((eye.curve().display(white) - 1.0).abs() < 1e-6);
        assert!(eye.curve().display(f64::from(eye.middle_cd_m2())) > 0.1);
    }

    #[test]
    fn no_number_is_darkness() {
        let mut eye = Exposure::default();
        eye.adapt(Vec3::splat(f32::NAN), 0.1);
        assert_eq!(eye.adapted_cd_m2(), LEAST_CD_M2);
    }
}
