//! Normals of an anisotropic GGX surface as a viewer sees them.
//!
//! Source: E. Heitz, "Sampling the GGX distribution of visible normals", Journal of Computer
//! Graphics Techniques 7(4), 2018, listing 1. Frame: +Z is the mean normal, `alpha.x` the roughness
//! along +X, `alpha.y` along +Y.

use std::f32::consts::{PI, TAU};

use glam::{Vec2, Vec3};

/// A facet normal with the density of the normals visible from `to_eye`.
///
/// `to_eye` is unit and above the horizon, `alpha` above zero, `u` in `[0, 1)^2`. The result is unit
/// and faces `to_eye`.
#[inline]
#[must_use]
pub fn sample_visible_normal(to_eye: Vec3, alpha: Vec2, u: Vec2) -> Vec3 {
    // To the configuration where the surface is a hemisphere.
    let view = Vec3::new(alpha.x * to_eye.x, alpha.y * to_eye.y, to_eye.z).normalize();
    let across2 = view.x * view.x + view.y * view.y;
    let first = if across2 > 1e-14 {
        Vec3::new(-view.y, view.x, 0.0) / across2.sqrt()
    } else {
        Vec3::X
    };
    let second = view.cross(first);

    // A point of the hemisphere's projected area.
    let (sin, cos) = (TAU * u.y).sin_cos();
    let radius = u.x.sqrt();
    let a = radius * cos;
    let share = 0.5 * (1.0 + view.z);
    let b = (1.0 - share) * (1.0 - a * a).max(0.0).sqrt() + share * radius * sin;
    let c = (1.0 - a * a - b * b).max(0.0).sqrt();
    let normal = a * first + b * second + c * view;

    // Back to the rough surface.
    Vec3::new(alpha.x * normal.x, alpha.y * normal.y, normal.z.max(1e-7)).normalize()
}

/// Density of [`sample_visible_normal`] over normals [1/sr].
#[inline]
#[must_use]
pub fn visible_normal_pdf_per_sr(to_eye: Vec3, alpha: Vec2, normal: Vec3) -> f32 {
    if to_eye.z <= 0.0 || normal.z <= 0.0 {
        return 0.0;
    }
    let stretched =
        (normal.x / alpha.x).powi(2) + (normal.y / alpha.y).powi(2) + normal.z * normal.z;
    let density = 1.0 / (PI * alpha.x * alpha.y * stretched * stretched);
    let slope2 = (alpha.x * to_eye.x).powi(2) + (alpha.y * to_eye.y).powi(2);
    let reach = (to_eye.z * to_eye.z + slope2).sqrt();
    // G1 / cos = 2 / (cos + sqrt(cos^2 + ...)), free of a division by the cosine alone.
    2.0 / (to_eye.z + reach) * to_eye.dot(normal).max(0.0) * density
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sampling::low_discrepancy::r2;

    #[test]
    fn samples_are_unit_and_face_the_eye() {
        let to_eye = Vec3::new(0.6, -0.7, 0.387_298_33).normalize();
        for k in 0..2000 {
            let n = sample_visible_normal(to_eye, Vec2::new(0.05, 0.7), r2(k));
            assert!((n.length() - 1.0).abs() < 1e-5 && n.z > 0.0);
            assert!(n.dot(to_eye) >= -1e-5, "{n}");
        }
    }

    #[test]
    fn density_integrates_to_one() {
        // Midpoint rule over the cosine and the azimuth; a closed form says the integral is 1.
        let to_eye = Vec3::new(0.5, 0.3, 0.812_403_84).normalize();
        let (rows, columns) = (400, 800);
        let mut sum = 0.0_f64;
        for row in 0..rows {
            let z = (row as f32 + 0.5) / rows as f32;
            let r = (1.0 - z * z).sqrt();
            for column in 0..columns {
                let (sin, cos) = (TAU * (column as f32 + 0.5) / columns as f32).sin_cos();
                let n = Vec3::new(r * cos, r * sin, z);
                sum += f64::from(visible_normal_pdf_per_sr(to_eye, Vec2::new(0.3, 0.5), n));
            }
        }
        let integral = sum * std::f64::consts::TAU / (rows * columns) as f64;
        assert!((integral - 1.0).abs() < 2e-3, "integral {integral}");
    }
}
