//! Directions over the hemisphere about +Z with a density proportional to the cosine.
//!
//! Method: the concentric map of the square to the disc (P. Shirley and K. Chiu, "A low distortion
//! map between disk and square", Journal of Graphics Tools 2(3), 1997), then up to the hemisphere
//! (Nusselt's projection, run backwards). Densities are per steradian.

use std::f32::consts::{FRAC_1_PI, FRAC_PI_2, FRAC_PI_4};

use glam::{Vec2, Vec3};

/// Point of the unit disc for a point of the unit square; equal areas go to equal areas.
///
/// `u` in `[0, 1)^2`.
#[inline]
#[must_use]
pub fn sample_disc(u: Vec2) -> Vec2 {
    let p = 2.0 * u - Vec2::ONE;
    if p.x == 0.0 && p.y == 0.0 {
        return Vec2::ZERO;
    }
    let (radius, angle_rad) = if p.x.abs() > p.y.abs() {
        (p.x, FRAC_PI_4 * (p.y / p.x))
    } else {
        (p.y, FRAC_PI_2 - FRAC_PI_4 * (p.x / p.y))
    };
    radius * Vec2::new(angle_rad.cos(), angle_rad.sin())
}

/// Direction about +Z with density cosine / pi.
///
/// `u` in `[0, 1)^2`. The direction is of unit length and never below the horizon.
#[inline]
#[must_use]
pub fn sample_cosine_hemisphere(u: Vec2) -> Vec3 {
    let d = sample_disc(u);
    let z = (1.0 - d.length_squared()).max(0.0).sqrt();
    Vec3::new(d.x, d.y, z)
}

/// Density of [`sample_cosine_hemisphere`] [1/sr] for a direction whose cosine with +Z is `cos_theta`.
#[inline]
#[must_use]
pub fn cosine_hemisphere_pdf_per_sr(cos_theta: f32) -> f32 {
    cos_theta.max(0.0) * FRAC_1_PI
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sampling::low_discrepancy::r2;

    #[test]
    fn mean_cosine_is_two_thirds_and_the_azimuth_is_even() {
        // Closed form: the mean of cos under cos / pi is 2/3, of x and y 0, of x^2 1/4.
        let n = 4096;
        let mut sum = Vec3::ZERO;
        let mut xx = 0.0;
        for k in 0..n {
            let d = sample_cosine_hemisphere(r2(k));
            assert!((d.length() - 1.0).abs() < 1e-5);
            sum += d;
            xx += d.x * d.x;
        }
        let mean = sum / n as f32;
        assert!((mean.z - 2.0 / 3.0).abs() < 1e-3, "mean cosine {}", mean.z);
        assert!(mean.x.abs() < 2e-3 && mean.y.abs() < 2e-3, "mean {mean}");
        assert!((xx / n as f32 - 0.25).abs() < 2e-3);
    }

    #[test]
    fn density_is_cosine_over_pi() {
        assert!((cosine_hemisphere_pdf_per_sr(0.5) - 0.159_155).abs() < 1e-6);
        assert_eq!(cosine_hemisphere_pdf_per_sr(-0.2), 0.0);
    }
}
