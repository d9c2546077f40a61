//! The anisotropic GGX microfacet lobe without its Fresnel factor.
//!
//! Frame: +Z the normal, `alpha.x` the roughness along +X, `alpha.y` along +Y; directions leave the
//! surface. Values are per steradian and hold no cosine.
//! Sources: B. Walter et al., "Microfacet models for refraction through rough surfaces", EGSR 2007;
//! E. Heitz, "Understanding the masking-shadowing function in microfacet-based BRDFs", Journal of
//! Computer Graphics Techniques 3(2), 2014 (height-correlated Smith term, eq. 99).
//! Limits: single scattering (see `lobe_albedo` for the rest), no diffraction, roughness at least
//! [`ROUGHNESS_FLOOR`].

use std::f32::consts::PI;

use glam::{Vec2, Vec3};

use crate::sampling::ggx_visible::sample_visible_normal;
use crate::sampling::low_discrepancy::grid;

/// Least roughness used; smaller values, zero included, are raised to it.
///
/// At 0.01 the lobe is 1.5 deg wide at half height, about three discs of the sun; a true mirror
/// would need a delta function, which a tile of finite flatness is not.
pub const ROUGHNESS_FLOOR: f32 = 0.01;

/// Below this roughness a lobe shows images of what it reflects.
pub const MIRROR_LIKE_BELOW: f32 = 0.1;

/// A GGX lobe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ggx {
    alpha: Vec2,
}

impl Ggx {
    /// Lobe of roughness `alpha` (x along the grain or brushing, y across), raised to
    /// [`ROUGHNESS_FLOOR`] and cut at 1.
    #[must_use]
    pub fn new(alpha: Vec2) -> Self {
        Self {
            alpha: alpha.clamp(Vec2::splat(ROUGHNESS_FLOOR), Vec2::ONE),
        }
    }

    /// Roughness in use.
    #[must_use]
    pub fn alpha(&self) -> Vec2 {
        self.alpha
    }

    /// D over 4 times the products, with what G2 leaves of the cosines: f / F [1/sr], and the cosine
    /// between either direction and the half vector.
    ///
    /// f = F D G2 / (4 cos_i cos_o), G2 = 1 / (1 + Lambda_i + Lambda_o), reordered so that nothing
    /// divides by a cosine alone. Both directions must lie above the horizon.
    #[inline]
    #[must_use]
    pub fn per_sr_and_half_cosine(&self, to_light: Vec3, to_eye: Vec3) -> (f32, f32) {
        let half = to_light + to_eye;
        let length2 = half.length_squared();
        let shadowed = to_eye.z * self.reach(to_light) + to_light.z * self.reach(to_eye);
        let value = 0.5 * self.density_per_sr(half, length2) / shadowed;
        (value, 0.5 * length2.sqrt())
    }

    /// D of the half vector [1/sr]; `half` need not be unit.
    #[inline]
    fn density_per_sr(&self, half: Vec3, length2: f32) -> f32 {
        let x = half.x / self.alpha.x;
        let y = half.y / self.alpha.y;
        // Both directions are above the horizon, so half.z > 0 and the ratio is finite.
        let ratio = length2 / (x * x + y * y + half.z * half.z);
        ratio * ratio / (PI * self.alpha.x * self.alpha.y)
    }

    /// cos sqrt(1 + tan^2-weighted slope): cos (1 + 2 Lambda).
    #[inline]
    fn reach(&self, v: Vec3) -> f32 {
        let x = self.alpha.x * v.x;
        let y = self.alpha.y * v.y;
        (v.z * v.z + x * x + y * y).sqrt()
    }

    /// Direction to the light by reflection at a visible facet; None where it falls below the
    /// horizon.
    #[inline]
    #[must_use]
    pub fn sample(&self, to_eye: Vec3, u: Vec2) -> Option<Vec3> {
        let facet = sample_visible_normal(to_eye, self.alpha, u);
        let to_light = (2.0 * to_eye.dot(facet) * facet - to_eye).normalize();
        (to_light.z > 0.0).then_some(to_light)
    }

    /// Density of [`Self::sample`] [1/sr]: G1 D / (4 cos_o).
    #[inline]
    #[must_use]
    pub fn pdf_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        if to_light.z <= 0.0 || to_eye.z <= 0.0 {
            return 0.0;
        }
        let half = to_light + to_eye;
        0.5 * self.density_per_sr(half, half.length_squared()) / (to_eye.z + self.reach(to_eye))
    }

    /// Share of light from `to_eye` that the lobe sends back, for a Fresnel factor
    /// `fresnel(half cosine)`.
    ///
    /// Midpoint rule on a `side` x `side` grid of visible normals, crowded toward the steep facets
    /// whose light is lost; 32 is good for 3e-4, 200 for 2e-5.
    #[must_use]
    pub fn directional_albedo(&self, to_eye: Vec3, side: u32, fresnel: impl Fn(f32) -> f32) -> f32 {
        if to_eye.z <= 0.0 {
            return 0.0;
        }
        let eye_reach = self.reach(to_eye);
        let (mut sum, mut share_sum) = (0.0_f64, 0.0_f64);
        for point in grid(side) {
            // u = 1 - (1 - t)^3, du = 3 (1 - t)^2 dt: steep facets are drawn as u nears 1.
            let rest = 1.0 - point.x;
            let share = f64::from(rest * rest);
            share_sum += share;
            let u = Vec2::new(1.0 - rest * rest * rest, point.y);
            if let Some(to_light) = self.sample(to_eye, u) {
                // f cos_i / pdf with D cancelled.
                let shadowed = to_eye.z * self.reach(to_light) + to_light.z * eye_reach;
                let weight = to_light.z * (to_eye.z + eye_reach) / shadowed;
                let half_cosine = 0.5 * (to_light + to_eye).length();
                sum += share * f64::from(weight * fresnel(half_cosine));
            }
        }
        (sum / share_sum) as f32
    }

    /// Half width at half height of the reflected lobe in its narrow direction [rad].
    ///
    /// D falls to a half where tan^2 = alpha^2 (sqrt 2 - 1); a reflected ray turns by twice that.
    #[must_use]
    pub fn width_rad(&self) -> f32 {
        2.0 * (self.alpha.min_element() * 0.643_594_3).atan()
    }

    /// Whether it is rougher one way than the other.
    #[must_use]
    pub fn has_direction(&self) -> bool {
        (self.alpha.x - self.alpha.y).abs() > 1e-4
    }

    /// The larger roughness, where both are small enough to show mirror images.
    #[must_use]
    pub fn mirror_like(&self) -> Option<f32> {
        let alpha = self.alpha.max_element();
        (alpha < MIRROR_LIKE_BELOW).then_some(alpha)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roughness_is_kept_off_zero() {
        let lobe = Ggx::new(Vec2::ZERO);
        assert_eq!(lobe.alpha(), Vec2::splat(ROUGHNESS_FLOOR));
        let (value, half) = lobe.per_sr_and_half_cosine(Vec3::Z, Vec3::Z);
        assert!(value.is_finite() && (half - 1.0).abs() < 1e-6);
    }

    #[test]
    fn width_is_where_the_lobe_has_half_its_height() {
        let lobe = Ggx::new(Vec2::new(0.05, 0.3));
        let w = lobe.width_rad();
        let (peak, _) = lobe.per_sr_and_half_cosine(Vec3::Z, Vec3::Z);
        let (side, _) = lobe.per_sr_and_half_cosine(Vec3::new(w.sin(), 0.0, w.cos()), Vec3::Z);
        assert!((side / peak - 0.5).abs() < 0.01, "{}", side / peak);
    }
}
