//! Guth position index: how much less a glare source hurts the further it lies from the line of sight.
//!
//! Inputs: angles [rad] or world directions; output: the dimensionless index P >= 1 (1 on the line of sight).
//! Above the line of sight: the fit to Luckiesh and Guth's data that UGR and DGP use. Below it: the
//! extension of Iwata and Tokura. Both from memory; the fit agrees with the table of CIE 117:1995
//! within 3 %. Limits: the two halves do not meet exactly at the horizontal, and the extension jumps
//! from 1.48 to 1.72 where the tangent of the angle passes 0.6. Both are kept as published.

use glam::{DVec3, Vec3};

/// Where a source lies in the visitor's field of view.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ViewAngles {
    /// Angle between the line of sight and the source [rad], 0 to pi.
    pub sigma_rad: f64,
    /// Angle around the line of sight from straight up [rad], 0 (above) to pi (below); left and right are alike.
    pub tau_rad: f64,
}

impl ViewAngles {
    /// Angles of `to_source` for an eye that looks along `gaze` with its head's `up`.
    ///
    /// The vectors need not be unit length; `up` need not be perpendicular to the gaze. `None` when the
    /// gaze or the source direction has no length. A gaze parallel to `up` gets an arbitrary upright.
    pub fn new(gaze: DVec3, up: DVec3, to_source: DVec3) -> Option<Self> {
        let gaze_dir = gaze.try_normalize()?;
        let source_dir = to_source.try_normalize()?;
        let upright_dir = (up - gaze_dir * up.dot(gaze_dir))
            .try_normalize()
            .filter(|upright| upright.dot(gaze_dir).abs() < 1e-6)
            .unwrap_or_else(|| gaze_dir.any_orthonormal_vector());
        let side_dir = gaze_dir.cross(upright_dir);
        let along = source_dir.dot(gaze_dir);
        let vertical = source_dir.dot(upright_dir);
        let lateral = source_dir.dot(side_dir).abs();
        Some(Self {
            sigma_rad: lateral.hypot(vertical).atan2(along),
            tau_rad: lateral.atan2(vertical),
        })
    }
}

/// Position index of a source above the line of sight, for `sigma_rad` off it and `tau_rad` from straight up.
///
/// `tau_rad` is taken by magnitude and held at a quarter turn, `sigma_rad` by magnitude.
/// Fit to M. Luckiesh and S. K. Guth, "Brightness in visual field at borderline between comfort and
/// discomfort", 1949, as used with CIE 117:1995 (coefficients from memory, cross-read in five public texts).
pub fn guth_position_index(sigma_rad: f64, tau_rad: f64) -> f64 {
    let sigma = sigma_rad.abs().to_degrees();
    let tau = tau_rad.abs().to_degrees().min(90.0);
    let linear = 35.2 - 0.31889 * tau - 1.22 * (-2.0 * tau / 9.0).exp();
    let square = 21.0 + 0.26667 * tau - 0.002963 * tau * tau;
    (linear * 1e-3 * sigma + square * 1e-5 * sigma * sigma).exp()
}

/// Position index of a source below the line of sight, `sigma_rad` off it, from 0 to below a quarter turn.
///
/// T. Iwata and M. Tokura, "Position index for a glare source located below the line of vision",
/// Lighting Research & Technology 29(3), 1997 (from memory): 1 + 0.8 r below r = 0.6 and 1 + 1.2 r from
/// there, r being the offset from the line of sight over the distance along it. Infinite at a quarter turn.
pub fn position_index_below(sigma_rad: f64) -> f64 {
    let sigma = sigma_rad.abs();
    if sigma >= std::f64::consts::FRAC_PI_2 {
        return f64::INFINITY;
    }
    let r = sigma.tan();
    if r < 0.6 {
        1.0 + 0.8 * r
    } else {
        1.0 + 1.2 * r
    }
}

/// Position index for a place in the field of view; `None` at or behind the plane of the eyes, where a source does not count.
pub fn position_index_from_angles(angles: ViewAngles) -> Option<f64> {
    if angles.sigma_rad.is_nan() || angles.sigma_rad >= std::f64::consts::FRAC_PI_2 {
        return None;
    }
    // A source level with the eye belongs to the upper half; rounding must not throw it below.
    if angles.tau_rad <= std::f64::consts::FRAC_PI_2 + 1e-6 {
        Some(guth_position_index(angles.sigma_rad, angles.tau_rad))
    } else {
        Some(position_index_below(angles.sigma_rad))
    }
}

/// Position index of the source in direction `to_source` for an eye that looks along `gaze`, `up` being the room's upright.
///
/// `None` when the source lies at or behind the plane of the eyes, or a vector has no length.
pub fn position_index(gaze: Vec3, up: Vec3, to_source: Vec3) -> Option<f64> {
    ViewAngles::new(gaze.as_dvec3(), up.as_dvec3(), to_source.as_dvec3())
        .and_then(position_index_from_angles)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn on_the_line_of_sight_is_one() {
        let p = position_index(-Vec3::Z, Vec3::Y, -Vec3::Z * 3.0).unwrap();
        assert!((p - 1.0).abs() < 1e-6, "position index {p}, expected 1");
    }

    #[test]
    fn left_and_right_are_alike_and_above_differs_from_below() {
        let at = |x: f32, y: f32| position_index(-Vec3::Z, Vec3::Y, Vec3::new(x, y, -1.0)).unwrap();
        assert_eq!(at(0.4, 0.3), at(-0.4, 0.3));
        assert!(
            at(0.0, 0.5) > at(0.0, -0.5),
            "{} {}",
            at(0.0, 0.5),
            at(0.0, -0.5)
        );
    }

    #[test]
    fn below_follows_both_branches() {
        // r = 0.5: 1 + 0.8 x 0.5; r = 1: 1 + 1.2 x 1.
        let at = |y: f32| position_index(-Vec3::Z, Vec3::Y, Vec3::new(0.0, y, -1.0)).unwrap();
        assert!((at(-0.5) - 1.4).abs() < 1e-6, "{}", at(-0.5));
        assert!((at(-1.0) - 2.2).abs() < 1e-6, "{}", at(-1.0));
    }

    #[test]
    fn behind_beside_and_nowhere_are_none() {
        assert_eq!(position_index(-Vec3::Z, Vec3::Y, Vec3::Z), None);
        assert_eq!(position_index(-Vec3::Z, Vec3::Y, Vec3::X), None);
        assert_eq!(position_index(-Vec3::Z, Vec3::Y, Vec3::ZERO), None);
        assert_eq!(position_index(Vec3::ZERO, Vec3::Y, Vec3::Z), None);
    }

    #[test]
    fn looking_straight_up_still_gives_a_number() {
        let p = position_index(Vec3::Y, Vec3::Y, Vec3::new(0.1, 1.0, 0.0)).unwrap();
        assert!(p.is_finite() && p >= 1.0, "{p}");
    }
}
