//! Brushed and polished metal.
//!
//! Anisotropic GGX with the height-correlated Smith term and exact conductor Fresnel (`ggx`,
//! `fresnel`), plus the light that bounces among the facets:
//! f = F D G2 / (4 cos_i cos_o) + F_ms (1 - E_i)(1 - E_o) / (pi (1 - E_avg)),
//! F_ms = F_avg^2 E_avg / (1 - F_avg (1 - E_avg)),
//! C. Kulla and A. Conty, "Revisiting physically based shading at Imageworks", SIGGRAPH course 2017
//! (from memory). Values per steradian; frame +Z normal, +X ALONG the brushing, so `alpha.x` is the
//! small roughness and the streak of a lamp stands ACROSS the brushing.
//! Limits: roughness 0 is raised to `ggx::ROUGHNESS_FLOOR`; F_ms has no colour shift; the rays of
//! single scratches are averaged.

use std::f32::consts::{FRAC_1_PI, PI};

use glam::{Vec2, Vec3};

use crate::material::error::{MaterialError, in_range};
use crate::material::fresnel::ReflectanceCurve;
use crate::material::ggx::Ggx;
use crate::material::lobe_albedo::LobeLoss;
use crate::material::metal_optics::MetalReflectance;

/// Parameters of brushed metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MetalParameters {
    /// GGX roughness along the brushing, 0..=1.
    pub alpha_along: f32,
    /// GGX roughness across the brushing, 0..=1; usually the larger.
    pub alpha_across: f32,
    /// What the facets reflect.
    pub reflectance: MetalReflectance,
    /// What oxide, lacquer or anodising leaves of it, 0..=1.
    pub scale: f32,
}

/// Side of the grid of normals of [`BrushedMetal::directional_albedo`].
const ALBEDO_SIDE: u32 = 32;

/// Brushed or polished metal.
#[derive(Clone, Debug, PartialEq)]
pub struct BrushedMetal {
    lobe: Ggx,
    curve: ReflectanceCurve,
    loss: LobeLoss,
    /// F_ms / (pi (1 - E_avg)) [1/sr].
    multiple_per_sr: f32,
    albedo: f32,
}

impl BrushedMetal {
    /// The same with light reflected once only, as models without compensation have it.
    #[must_use]
    pub fn single_scattering(mut self) -> Self {
        self.multiple_per_sr = 0.0;
        self
    }

    /// Metal of given parameters; takes about 40 ms.
    ///
    /// # Errors
    /// A parameter out of range.
    pub fn new(parameters: &MetalParameters) -> Result<Self, MaterialError> {
        let alpha = Vec2::new(
            in_range("roughness along", parameters.alpha_along, (0.0, 1.0))?,
            in_range("roughness across", parameters.alpha_across, (0.0, 1.0))?,
        );
        let scale = in_range("reflectance scale", parameters.scale, (0.0, 1.0))?;
        match parameters.reflectance {
            MetalReflectance::Named(_) => {}
            MetalReflectance::Index { n, k } => {
                in_range("refractive index n", n, (0.01, 20.0))?;
                in_range("extinction coefficient k", k, (0.0, 20.0))?;
            }
            MetalReflectance::Flat(value) => {
                in_range("reflectance", value, (0.0, 1.0))?;
            }
        }
        let lobe = Ggx::new(alpha);
        let curve = parameters.reflectance.curve(scale);
        let loss = LobeLoss::new(&lobe);
        let (f_mean, e_mean) = (curve.mean(), 1.0 - loss.mean());
        let f_multiple = f_mean * f_mean * e_mean / (1.0 - f_mean * (1.0 - e_mean));
        let multiple_per_sr = if loss.mean() > 1e-7 {
            f_multiple * FRAC_1_PI / loss.mean()
        } else {
            0.0
        };
        let mut metal = Self {
            lobe,
            curve,
            loss,
            multiple_per_sr,
            albedo: 0.0,
        };
        metal.albedo = metal.hemisphere_albedo();
        Ok(metal)
    }

    /// The microfacet lobe.
    #[must_use]
    pub fn lobe(&self) -> &Ggx {
        &self.lobe
    }

    /// Bihemispherical albedo: equal cosine-weighted shares over a quarter of the hemisphere.
    fn hemisphere_albedo(&self) -> f32 {
        let (rings, azimuths) = (16, 4);
        let mut sum = 0.0;
        for ring in 0..rings {
            let r = ((ring as f32 + 0.5) / rings as f32).sqrt();
            for k in 0..azimuths {
                let (sin, cos) = ((k as f32 + 0.5) / azimuths as f32 * 0.5 * PI).sin_cos();
                let v = Vec3::new(r * cos, r * sin, (1.0 - r * r).sqrt());
                sum += self.directional_albedo_with(v, 16);
            }
        }
        sum / (rings * azimuths) as f32
    }

    #[inline]
    pub(crate) fn lobe_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        let (value, half) = self.lobe.per_sr_and_half_cosine(to_light, to_eye);
        value * self.curve.at(half)
    }

    #[inline]
    pub(crate) fn spread_in(&self, to_light: Vec3) -> f32 {
        self.multiple_per_sr * self.loss.at(to_light)
    }

    #[inline]
    pub(crate) fn spread_out(&self, to_eye: Vec3) -> f32 {
        self.loss.at(to_eye)
    }

    pub(crate) fn directional_albedo(&self, to_eye: Vec3) -> f32 {
        self.directional_albedo_with(to_eye, ALBEDO_SIDE)
    }

    fn directional_albedo_with(&self, to_eye: Vec3, side: u32) -> f32 {
        let single = self
            .lobe
            .directional_albedo(to_eye, side, |c| self.curve.at(c));
        let multiple = PI * self.multiple_per_sr * self.loss.mean();
        single + multiple * self.loss.at(to_eye)
    }

    pub(crate) fn albedo(&self) -> f32 {
        self.albedo
    }
}

/// Read access for pictures.
#[cfg(feature = "app")]
impl BrushedMetal {
    pub(crate) fn curve(&self) -> &ReflectanceCurve {
        &self.curve
    }

    pub(crate) fn loss(&self) -> &LobeLoss {
        &self.loss
    }

    /// The factor of the two losses in the product part [1/sr].
    pub(crate) fn multiple_per_sr(&self) -> f32 {
        self.multiple_per_sr
    }
}
