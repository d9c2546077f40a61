//! Plain and rough diffuse surfaces: plaster, raw board, carpet.
//!
//! Roughness 0 is Lambert's law, f = rho / pi. Roughness above 0 is the EON model: J. Portsmouth,
//! P. Kutz, S. Hill, "EON: a practical energy-preserving rough diffuse BRDF", Journal of Computer
//! Graphics Techniques 14(1), 2025, listing 1, with the exact form of the albedo. Values per
//! steradian. Limits: no gloss, isotropic.

use std::f32::consts::{FRAC_1_PI, FRAC_PI_2, PI};

use glam::Vec3;

use crate::material::error::{MaterialError, in_range};

/// c1 of the EON model, 1/2 - 2/(3 pi).
const FIRST: f32 = 0.287_793_4;
/// c2 of the EON model, 2/3 - 28/(15 pi).
const SECOND: f32 = 0.072_488_21;

/// A diffuse surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diffuse {
    reflectance: f32,
    roughness: f32,
    /// A_F, 1 / (1 + c1 r).
    scale: f32,
    /// Bihemispherical albedo of single scattering at rho = 1.
    mean: f32,
    /// rho_ms, the reflectance of light that bounced among the facets.
    multiple: f32,
}

impl Diffuse {
    /// Surface of diffuse `reflectance` (0..=1) and `roughness` (0..=1; 0 is Lambert).
    ///
    /// # Errors
    /// A parameter out of range.
    pub fn new(reflectance: f32, roughness: f32) -> Result<Self, MaterialError> {
        let rho = in_range("reflectance", reflectance, (0.0, 1.0))?;
        let r = in_range("roughness", roughness, (0.0, 1.0))?;
        let scale = 1.0 / (1.0 + FIRST * r);
        let mean = scale * (1.0 + SECOND * r);
        Ok(Self {
            reflectance: rho,
            roughness: r,
            scale,
            mean,
            multiple: rho * rho * mean / (1.0 - rho * (1.0 - mean)),
        })
    }

    /// Is this Lambert's law?
    #[inline]
    #[must_use]
    pub fn is_lambert(&self) -> bool {
        self.roughness == 0.0
    }

    /// The part that is no product of a function of each direction: f_ss of EON; 0 for Lambert.
    #[inline]
    pub(crate) fn lobe_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        if self.is_lambert() {
            return 0.0;
        }
        let s = to_light.dot(to_eye) - to_light.z * to_eye.z;
        let st = if s > 0.0 {
            s / to_light.z.max(to_eye.z)
        } else {
            s
        };
        self.reflectance * FRAC_1_PI * self.scale * (1.0 + self.roughness * st)
    }

    /// The product part: rho / pi for Lambert, f_ms of EON.
    #[inline]
    pub(crate) fn spread_in(&self, to_light: Vec3) -> f32 {
        if self.is_lambert() {
            return self.reflectance * FRAC_1_PI;
        }
        // As the mean nears 1 (roughness to 0) both losses vanish with it.
        let loss = (1.0 - self.mean).max(1e-7);
        self.multiple * FRAC_1_PI / loss * self.single_loss(to_light.z)
    }

    /// See [`Self::spread_in`].
    #[inline]
    pub(crate) fn spread_out(&self, to_eye: Vec3) -> f32 {
        if self.is_lambert() {
            1.0
        } else {
            self.single_loss(to_eye.z)
        }
    }

    /// 1 - E(mu), the single-scattering loss at rho = 1.
    #[inline]
    fn single_loss(&self, mu: f32) -> f32 {
        (1.0 - self.single_albedo(mu)).max(0.0)
    }

    /// E(mu) at rho = 1.
    #[inline]
    fn single_albedo(&self, mu: f32) -> f32 {
        let s = (1.0 - mu * mu).max(0.0).sqrt();
        let g = if mu > 1e-4 {
            s * (mu.min(1.0).acos() - s * mu) + 2.0 / 3.0 * (s / mu * (1.0 - s * s * s) - s)
        } else {
            FRAC_PI_2 - 2.0 / 3.0
        };
        self.scale * (1.0 + self.roughness * g / PI)
    }

    pub(crate) fn directional_albedo(&self, to_eye: Vec3) -> f32 {
        if self.is_lambert() {
            return self.reflectance;
        }
        self.reflectance * self.single_albedo(to_eye.z) + self.multiple * self.single_loss(to_eye.z)
    }

    pub(crate) fn albedo(&self) -> f32 {
        self.reflectance * self.mean + self.multiple * (1.0 - self.mean)
    }
}

/// Read access for pictures.
#[cfg(feature = "app")]
impl Diffuse {
    pub(crate) fn reflectance(&self) -> f32 {
        self.reflectance
    }

    pub(crate) fn roughness(&self) -> f32 {
        self.roughness
    }

    /// A_F.
    pub(crate) fn scale(&self) -> f32 {
        self.scale
    }

    /// The factor of the two losses in the product part; the whole value for Lambert [1/sr].
    pub(crate) fn product_per_sr(&self) -> f32 {
        if self.is_lambert() {
            self.reflectance * FRAC_1_PI
        } else {
            self.multiple * FRAC_1_PI / (1.0 - self.mean).max(1e-7)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn constants_are_the_closed_forms() {
        assert!((FIRST - (0.5 - 2.0 / (3.0 * PI))).abs() < 1e-6);
        assert!((SECOND - (2.0 / 3.0 - 28.0 / (15.0 * PI))).abs() < 1e-6);
    }

    #[test]
    fn white_stays_white_at_every_angle() {
        for r in [0.0, 0.1, 0.5, 1.0] {
            let d = Diffuse::new(1.0, r).unwrap();
            for z in [0.02_f32, 0.3, 0.7, 1.0] {
                let a = d.directional_albedo(Vec3::new((1.0 - z * z).sqrt(), 0.0, z));
                assert!((a - 1.0).abs() < 1e-4, "r {r} cos {z}: {a}");
            }
        }
    }
}
