//! A diffuse body under a clear coat: lacquered board, glazed tile, painted metal.
//!
//! The coat's surface is an isotropic GGX lobe of a dielectric. What the coat does not reflect goes
//! in, is scattered, bounces between body and coat, and comes out:
//! f = coat + T(i) T(o) rho / (pi eta^2 (1 - F_in rho)), T(v) = 1 - E_coat(v),
//! after J. L. Saunderson, "Calculation of the color of pigmented plastics", JOSA 32(12), 1942, with
//! the albedo of the rough coat in the place of the flat Fresnel reflectance and
//! 1 - F_in = (1 - mean E_coat) / eta^2, so that a white body under any coat gives back exactly what
//! arrives. Values per steradian. Limits: no colour of the coat itself, no depth.

use std::f32::consts::PI;

use glam::{Vec2, Vec3};

use crate::material::error::{MaterialError, in_range};
use crate::material::fresnel::dielectric;
use crate::material::ggx::Ggx;
use crate::material::lobe_albedo::CoatAlbedo;

/// Range of coat indices: lacquers, varnishes, glazes.
pub(crate) const COAT_INDEX_RANGE: (f32, f32) = (1.05, 2.5);

/// A diffuse body under a clear coat.
#[derive(Clone, Debug, PartialEq)]
pub struct CoatedDiffuse {
    coat: Ggx,
    eta: f32,
    coat_albedo: CoatAlbedo,
    /// rho / (pi eta^2 (1 - F_in rho)) [1/sr].
    body_per_sr: f32,
    albedo: f32,
}

impl CoatedDiffuse {
    /// Board of `body_reflectance` (0..=1, that of the body BEFORE coating) under a coat of index
    /// `eta` and roughness `coat_alpha` (0..=1, raised to the roughness floor).
    ///
    /// # Errors
    /// A parameter out of range.
    pub fn new(body_reflectance: f32, eta: f32, coat_alpha: f32) -> Result<Self, MaterialError> {
        let rho = in_range("body reflectance", body_reflectance, (0.0, 1.0))?;
        let eta = in_range("coat index", eta, COAT_INDEX_RANGE)?;
        let alpha = in_range("coat roughness", coat_alpha, (0.0, 1.0))?;
        let coat = Ggx::new(Vec2::splat(alpha));
        let coat_albedo = CoatAlbedo::new(&coat, eta);
        let outside = coat_albedo.mean();
        let inside = 1.0 - (1.0 - outside) / (eta * eta);
        let gain = rho / (1.0 - inside * rho);
        Ok(Self {
            coat,
            eta,
            body_per_sr: gain / (PI * eta * eta),
            albedo: outside + (1.0 - outside) * (1.0 - inside) * gain,
            coat_albedo,
        })
    }

    #[inline]
    fn entering(&self, v: Vec3) -> f32 {
        1.0 - self.coat_albedo.at(v.z)
    }

    #[inline]
    pub(crate) fn lobe_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        let (value, half) = self.coat.per_sr_and_half_cosine(to_light, to_eye);
        value * dielectric(half, self.eta)
    }

    #[inline]
    pub(crate) fn spread_in(&self, to_light: Vec3) -> f32 {
        self.body_per_sr * self.entering(to_light)
    }

    #[inline]
    pub(crate) fn spread_out(&self, to_eye: Vec3) -> f32 {
        self.entering(to_eye)
    }

    /// The coat's surface lobe.
    #[must_use]
    pub fn coat(&self) -> &Ggx {
        &self.coat
    }

    pub(crate) fn directional_albedo(&self, to_eye: Vec3) -> f32 {
        let spread = PI * self.body_per_sr * (1.0 - self.coat_albedo.mean());
        self.coat_albedo.at(to_eye.z) + self.entering(to_eye) * spread
    }

    pub(crate) fn albedo(&self) -> f32 {
        self.albedo
    }
}

/// Read access for pictures.
#[cfg(feature = "app")]
impl CoatedDiffuse {
    pub(crate) fn eta(&self) -> f32 {
        self.eta
    }

    /// The body's factor [1/sr].
    pub(crate) fn body_per_sr(&self) -> f32 {
        self.body_per_sr
    }

    pub(crate) fn coat_albedo(&self) -> &CoatAlbedo {
        &self.coat_albedo
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_white_body_gives_back_what_arrives_under_any_coat() {
        for alpha in [0.0, 0.2, 0.45, 1.0] {
            let board = CoatedDiffuse::new(1.0, 1.5, alpha).unwrap();
            assert!((board.albedo() - 1.0).abs() < 1e-5);
            for z in [0.1_f32, 0.5, 1.0] {
                let a = board.directional_albedo(Vec3::new((1.0 - z * z).sqrt(), 0.0, z));
                assert!((a - 1.0).abs() < 1e-5, "alpha {alpha} cos {z}: {a}");
            }
        }
    }
}
