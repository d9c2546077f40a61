//! Materials: what share of the light from one direction a surface sends in another.
//!
//! # Convention
//! Local frame: +Z the normal toward the room, +X along the grain arrow, the brushing or the ridges,
//! +Y = Z x X. Both directions are unit and LEAVE the surface: `to_light`, `to_eye`. A value
//! `brdf_per_sr` [1/sr] holds no cosine; luminance = sum of value x illuminance on the tile. All
//! models are reciprocal, return no more than arrives and are 0 where either direction is at or below
//! the horizon.
//!
//! # Split
//! value = lobe(i, o) + spread_in(i) x spread_out(o). The product part is diffuse-like: its sum over
//! the lights does not depend on the eye, so it is done once a tile. The lobe part is for sampling.
//!
//! The family is closed: one variant of [`Brdf`] and one file a model. Sources and limits stand in
//! each file. Windows are in [`glazing`]; named materials and the file format in [`library`].

pub mod coated;
pub mod diffuse;
pub mod error;
pub mod fibre;
pub mod figure;
pub mod fresnel;
pub mod ggx;
pub mod glazing;
pub mod library;
pub mod lobe_albedo;
pub mod metal;
pub mod metal_optics;
pub mod relief;
pub mod spec;
pub mod wood;

use std::f32::consts::FRAC_PI_2;

use glam::{Vec2, Vec3};

pub use coated::CoatedDiffuse;
pub use diffuse::Diffuse;
pub use error::MaterialError;
pub use figure::Figure;
pub use glazing::Glazing;
pub use library::Library;
pub use metal::{BrushedMetal, MetalParameters};
pub use metal_optics::{MetalName, MetalReflectance};
pub use relief::{Groove, ReliefProfile, RidgedRelief};
pub use spec::{DoseClass, MaterialSpec, ModelSpec};
pub use wood::{Finish, FinishedWood, WoodParameters};

use crate::sampling::cosine::{cosine_hemisphere_pdf_per_sr, sample_cosine_hemisphere};

/// A reflecting surface.
#[derive(Clone, Debug, PartialEq)]
pub enum Brdf {
    /// Plaster, raw board: Lambert or rough diffuse.
    Diffuse(Diffuse),
    /// A diffuse body under a clear coat.
    CoatedDiffuse(CoatedDiffuse),
    /// Wood under a finish.
    Wood(FinishedWood),
    /// Brushed or polished metal.
    Metal(BrushedMetal),
    /// Ridged or grooved wall.
    Relief(RidgedRelief),
}

/// Are both directions above the horizon?
#[inline]
fn both_above(to_light: Vec3, to_eye: Vec3) -> bool {
    to_light.z > 0.0 && to_eye.z > 0.0
}

impl Brdf {
    /// The complete value [1/sr]; no cosine; 0 where either direction is not above the horizon.
    #[inline]
    #[must_use]
    pub fn brdf_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        if !both_above(to_light, to_eye) {
            return 0.0;
        }
        match self {
            Brdf::Diffuse(m) => {
                m.lobe_per_sr(to_light, to_eye) + m.spread_in(to_light) * m.spread_out(to_eye)
            }
            Brdf::CoatedDiffuse(m) => {
                m.lobe_per_sr(to_light, to_eye) + m.spread_in(to_light) * m.spread_out(to_eye)
            }
            Brdf::Wood(m) => m.per_sr(to_light, to_eye),
            Brdf::Metal(m) => {
                m.lobe_per_sr(to_light, to_eye) + m.spread_in(to_light) * m.spread_out(to_eye)
            }
            Brdf::Relief(m) => m.lobe_per_sr(to_light, to_eye),
        }
    }

    /// The part that is no product [1/sr]; no cosine; 0 below the horizon.
    #[inline]
    #[must_use]
    pub fn lobe_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        if !both_above(to_light, to_eye) {
            return 0.0;
        }
        match self {
            Brdf::Diffuse(m) => m.lobe_per_sr(to_light, to_eye),
            Brdf::CoatedDiffuse(m) => m.lobe_per_sr(to_light, to_eye),
            Brdf::Wood(m) => m.lobe_per_sr(to_light, to_eye),
            Brdf::Metal(m) => m.lobe_per_sr(to_light, to_eye),
            Brdf::Relief(m) => m.lobe_per_sr(to_light, to_eye),
        }
    }

    /// The light's factor of the product part [1/sr]; 0 below the horizon.
    #[inline]
    #[must_use]
    pub fn spread_in(&self, to_light: Vec3) -> f32 {
        if to_light.z <= 0.0 {
            return 0.0;
        }
        match self {
            Brdf::Diffuse(m) => m.spread_in(to_light),
            Brdf::CoatedDiffuse(m) => m.spread_in(to_light),
            Brdf::Wood(m) => m.spread_in(to_light),
            Brdf::Metal(m) => m.spread_in(to_light),
            Brdf::Relief(_) => 0.0,
        }
    }

    /// The eye's factor of the product part, no unit; 0 below the horizon.
    #[inline]
    #[must_use]
    pub fn spread_out(&self, to_eye: Vec3) -> f32 {
        if to_eye.z <= 0.0 {
            return 0.0;
        }
        match self {
            Brdf::Diffuse(m) => m.spread_out(to_eye),
            Brdf::CoatedDiffuse(m) => m.spread_out(to_eye),
            Brdf::Wood(m) => m.spread_out(to_eye),
            Brdf::Metal(m) => m.spread_out(to_eye),
            Brdf::Relief(_) => 0.0,
        }
    }

    /// Is there a lobe part at all? False for Lambert surfaces.
    #[must_use]
    pub fn has_lobe(&self) -> bool {
        match self {
            Brdf::Diffuse(m) => !m.is_lambert(),
            Brdf::Wood(m) => m.has_lobe(),
            Brdf::CoatedDiffuse(_) | Brdf::Metal(_) | Brdf::Relief(_) => true,
        }
    }

    /// A direction to the light, drawn roughly like the lobe times its cosine, for a fixed eye.
    ///
    /// `u` in `[0, 1)^3`. None where the drawn direction leads nowhere (below the horizon, or inside
    /// the coat): such a sample counts as zero. Weight a hit with
    /// `lobe_per_sr x to_light.z / lobe_pdf_per_sr`.
    #[inline]
    #[must_use]
    pub fn sample_lobe(&self, to_eye: Vec3, u: Vec3) -> Option<Vec3> {
        if to_eye.z <= 0.0 {
            return None;
        }
        let xy = Vec2::new(u.x, u.y);
        match self {
            Brdf::Diffuse(m) if m.is_lambert() => None,
            Brdf::Diffuse(_) | Brdf::Relief(_) => {
                let to_light = sample_cosine_hemisphere(xy);
                (to_light.z > 0.0).then_some(to_light)
            }
            Brdf::CoatedDiffuse(m) => m.coat().sample(to_eye, xy),
            Brdf::Wood(m) => m.sample_lobe(to_eye, u),
            Brdf::Metal(m) => m.lobe().sample(to_eye, xy),
        }
    }

    /// Density of [`Self::sample_lobe`] [1/sr]; integrates to less than one by the share of None.
    #[inline]
    #[must_use]
    pub fn lobe_pdf_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        if !both_above(to_light, to_eye) {
            return 0.0;
        }
        match self {
            Brdf::Diffuse(m) if m.is_lambert() => 0.0,
            Brdf::Diffuse(_) | Brdf::Relief(_) => cosine_hemisphere_pdf_per_sr(to_light.z),
            Brdf::CoatedDiffuse(m) => m.coat().pdf_per_sr(to_light, to_eye),
            Brdf::Wood(m) => m.lobe_pdf_per_sr(to_light, to_eye),
            Brdf::Metal(m) => m.lobe().pdf_per_sr(to_light, to_eye),
        }
    }

    /// Smallest angular half width of the reflected lobe [rad]; a quarter turn where there is no
    /// narrow lobe.
    #[must_use]
    pub fn lobe_width_rad(&self) -> f32 {
        match self {
            Brdf::Diffuse(_) | Brdf::Relief(_) => FRAC_PI_2,
            Brdf::CoatedDiffuse(m) => m.coat().width_rad(),
            Brdf::Wood(m) => m.width_rad(),
            Brdf::Metal(m) => m.lobe().width_rad(),
        }
    }

    /// Share of light from `to_eye` that comes back anywhere; 0 below the horizon.
    ///
    /// Closed form or table for diffuse, coated and relief; quadrature (50 to 300 microseconds) for
    /// metal and wood.
    #[must_use]
    pub fn directional_albedo(&self, to_eye: Vec3) -> f32 {
        if to_eye.z <= 0.0 {
            return 0.0;
        }
        match self {
            Brdf::Diffuse(m) => m.directional_albedo(to_eye),
            Brdf::CoatedDiffuse(m) => m.directional_albedo(to_eye),
            Brdf::Wood(m) => m.directional_albedo(to_eye),
            Brdf::Metal(m) => m.directional_albedo(to_eye),
            Brdf::Relief(m) => m.directional_albedo(to_eye),
        }
    }

    /// Share of diffuse light that comes back (bihemispherical); stored at construction.
    #[must_use]
    pub fn albedo(&self) -> f32 {
        match self {
            Brdf::Diffuse(m) => m.albedo(),
            Brdf::CoatedDiffuse(m) => m.albedo(),
            Brdf::Wood(m) => m.albedo(),
            Brdf::Metal(m) => m.albedo(),
            Brdf::Relief(m) => m.albedo(),
        }
    }

    /// Whether it matters which way the material is turned in its plane.
    #[must_use]
    pub fn has_direction(&self) -> bool {
        match self {
            Brdf::Diffuse(_) | Brdf::CoatedDiffuse(_) => false,
            Brdf::Wood(_) | Brdf::Relief(_) => true,
            Brdf::Metal(m) => m.lobe().has_direction(),
        }
    }

    /// Whether it matters which end of the material is which: whether it looks another when it is turned round by half a turn in its plane. Told by
    /// its values at a grid of directions, to a thousandth.
    #[must_use]
    pub fn has_ends(&self) -> bool {
        let dir = |tilt: f32, turn: f32| {
            let (sin, cos) = tilt.sin_cos();
            Vec3::new(sin * turn.cos(), sin * turn.sin(), cos)
        };
        let round = |v: Vec3| Vec3::new(-v.x, -v.y, v.z);
        const STEPS: usize = 7;
        (0..STEPS * STEPS).any(|k| {
            let light = dir(0.9, k as f32 * 0.9);
            let eye = dir(0.15 + 0.2 * (k % STEPS) as f32, k as f32 * 1.7);
            let (a, b) = (
                self.brdf_per_sr(light, eye),
                self.brdf_per_sr(round(light), round(eye)),
            );
            (a - b).abs() > 1e-3 * (a + b).max(1e-4)
        })
    }

    /// The larger roughness of a gloss lobe sharp enough to show mirror images (both below 0.1).
    #[must_use]
    pub fn mirror_like(&self) -> Option<f32> {
        match self {
            Brdf::Diffuse(_) | Brdf::Relief(_) => None,
            Brdf::CoatedDiffuse(m) => m.coat().mirror_like(),
            Brdf::Wood(m) => m.mirror_like(),
            Brdf::Metal(m) => m.lobe().mirror_like(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Wood fibres lean, so its ends differ; brush lines and even ridges have none; sawtooth ridges have.
    #[test]
    fn ends_are_told_by_what_is_seen() {
        let library = Library::built_in().unwrap();
        let model = |name: &str| library.get(name).unwrap().brdf().unwrap();
        for (name, ends) in [
            ("maple satin", true),
            ("brushed aluminium", false),
            ("concrete V ridges", false),
            ("concrete sawtooth ridges", true),
        ] {
            assert_eq!(model(name).has_ends(), ends, "{name}");
        }
    }
}
