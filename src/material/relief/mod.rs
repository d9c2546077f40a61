//! Ridged and grooved walls: exact shadowing and masking of the profile, Lambertian faces, light
//! that bounces inside the groove.
//!
//! Frame: +Z the wall's mean normal, +X ALONG the ridges, +Y across. The grooves are infinitely long,
//! so only the projections of the two directions on the y-z plane decide what is lit and what is seen
//! and the BRDF depends on the two projected angles alone:
//! f = rho / (pi p) ( land + sum over faces of int g_i g_o ds over what is both lit and seen )
//!     + what bounces inside (`interreflection`),
//! with p the period and g the face's projected length per unit of the direction's cosine. Values per
//! steradian. Source: shadow-edge construction of plane geometry; strip radiosity with crossed strings
//! (H. C. Hottel, in W. H. McAdams, "Heat Transmission", 1954).
//!
//! The direct part is evaluated in closed form for every pair, kinks included; only the smooth
//! inter-reflected part is interpolated from a table. Limits: groove cross-sections are convex; sharp
//! edges (give a rounded ridge as land); faces are Lambertian; the mean over many periods, not the
//! stripes themselves.

mod axis;
mod interreflection;
mod profile;

use std::f32::consts::FRAC_1_PI;
use std::sync::Arc;

use glam::Vec3;

pub use interreflection::ExactRelief;
pub use profile::{Groove, ReliefProfile};

use axis::{Axis, TANGENT_MAX};

use crate::material::error::{MaterialError, in_range};

/// Strips of the radiosity solution per period.
const STRIPS: usize = 96;
/// Steps of the integrals over the projected angle.
const ANGLE_STEPS: usize = 720;

/// A ridged wall.
#[derive(Clone, Debug, PartialEq)]
pub struct RidgedRelief {
    profile: ReliefProfile,
    reflectance: f32,
    axis: Axis,
    /// Inter-reflected part of f [1/sr] at the nodes of the axis, row-major, square, symmetric.
    indirect: Arc<[f32]>,
    /// Directional albedo at the nodes.
    directional: Arc<[f32]>,
    albedo: f32,
}

impl RidgedRelief {
    /// Wall of a profile whose faces have diffuse `reflectance` (0..=1); takes about 30 ms.
    ///
    /// # Errors
    /// A parameter out of range.
    pub fn new(profile: ReliefProfile, reflectance: f32) -> Result<Self, MaterialError> {
        let reflectance = in_range("face reflectance", reflectance, (0.0, 1.0))?;
        let exact = ExactRelief::new(profile, reflectance, STRIPS);
        let axis = Axis::new(&profile.kink_tangents());
        let mut relief = Self {
            indirect: exact.indirect_table(axis.tangents()).into(),
            axis,
            directional: Arc::from([]),
            profile,
            reflectance,
            albedo: 0.0,
        };
        relief.directional = relief.integrate_directional().into();
        relief.albedo = relief.integrate_albedo();
        Ok(relief)
    }

    /// The profile.
    #[must_use]
    pub fn profile(&self) -> &ReliefProfile {
        &self.profile
    }

    /// Direct part of f [1/sr]: light that touched one face once.
    #[inline]
    #[must_use]
    pub fn direct_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        if to_light.z <= 0.0 || to_eye.z <= 0.0 {
            return 0.0;
        }
        self.direct(tangent(to_light), tangent(to_eye))
    }

    #[inline]
    fn direct(&self, light_tangent: f64, eye_tangent: f64) -> f32 {
        let seen = self.profile.lit_and_seen_m(light_tangent, eye_tangent);
        self.reflectance * FRAC_1_PI * (seen / self.profile.period_m()) as f32
    }

    /// f [1/sr].
    #[inline]
    pub(crate) fn lobe_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        let light_place = self.axis.place(to_light.y, to_light.z);
        let eye_place = self.axis.place(to_eye.y, to_eye.z);
        self.direct(tangent(to_light), tangent(to_eye)) + self.indirect_at(light_place, eye_place)
    }

    /// Bilinear value at two places.
    #[inline]
    fn indirect_at(&self, x: f32, y: f32) -> f32 {
        let nodes = self.axis.len();
        // Both indices are one short of the last node, so the neighbours exist.
        let i = (x as usize).min(nodes - 2);
        let j = (y as usize).min(nodes - 2);
        let (fx, fy) = (x - i as f32, y - j as f32);
        let at = j * nodes + i;
        let up = at + nodes;
        let low = self.indirect[at] * (1.0 - fx) + self.indirect[at + 1] * fx;
        let high = self.indirect[up] * (1.0 - fx) + self.indirect[up + 1] * fx;
        low * (1.0 - fy) + high * fy
    }

    /// Share of light from `to_eye` that comes back.
    pub(crate) fn directional_albedo(&self, to_eye: Vec3) -> f32 {
        let x = self.axis.place(to_eye.y, to_eye.z);
        let i = (x as usize).min(self.axis.len() - 2);
        let f = x - i as f32;
        self.directional[i] * (1.0 - f) + self.directional[i + 1] * f
    }

    pub(crate) fn albedo(&self) -> f32 {
        self.albedo
    }

    /// a(theta) = (pi / 2) int f(theta, phi) cos phi d phi over the projected angle: the component along
    /// the ridges integrates in closed form, int cos^2 = pi / 2.
    fn integrate_directional(&self) -> Vec<f32> {
        let step_rad = std::f64::consts::PI / ANGLE_STEPS as f64;
        self.axis
            .tangents()
            .iter()
            .enumerate()
            .map(|(node, light_tangent)| {
                let sum: f64 = projected_angles()
                    .map(|(sin, cos)| {
                        let place = self.axis.place(sin as f32, cos as f32);
                        let direct = self.direct(*light_tangent, sin / cos);
                        f64::from(direct + self.indirect_at(node as f32, place)) * cos
                    })
                    .sum();
                (std::f64::consts::FRAC_PI_2 * sum * step_rad) as f32
            })
            .collect()
    }

    /// Mean over diffuse light: (1 / 2) int a(theta) cos theta d theta.
    fn integrate_albedo(&self) -> f32 {
        let sum: f64 = projected_angles()
            .map(|(sin, cos)| {
                let v = Vec3::new(0.0, sin as f32, cos as f32);
                f64::from(self.directional_albedo(v)) * cos
            })
            .sum();
        (0.5 * sum * std::f64::consts::PI / ANGLE_STEPS as f64) as f32
    }
}

/// Sine and cosine of the midpoints of the projected angle over -90 to 90 deg.
fn projected_angles() -> impl Iterator<Item = (f64, f64)> {
    (0..ANGLE_STEPS)
        .map(|k| (((k as f64 + 0.5) / ANGLE_STEPS as f64 - 0.5) * std::f64::consts::PI).sin_cos())
}

/// Tangent of the projected angle from the normal, positive toward +Y.
#[inline]
fn tangent(v: Vec3) -> f64 {
    (f64::from(v.y) / f64::from(v.z)).clamp(-TANGENT_MAX, TANGENT_MAX)
}

/// Read access for pictures.
#[cfg(feature = "app")]
impl RidgedRelief {
    pub(crate) fn reflectance(&self) -> f32 {
        self.reflectance
    }

    /// Axis of the table of inter-reflected light.
    pub(crate) fn axis(&self) -> &Axis {
        &self.axis
    }

    /// Inter-reflected part [1/sr], row-major, square on the axis.
    pub(crate) fn indirect(&self) -> &[f32] {
        &self.indirect
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wall_that_is_all_land_is_lambertian() {
        let groove = Groove::V {
            depth_m: 1e-6,
            apex: 0.5,
        };
        let profile = ReliefProfile::new(groove, 1e-3, 1.0).unwrap();
        let wall = RidgedRelief::new(profile, 0.5).unwrap();
        let f = wall.lobe_per_sr(Vec3::new(0.0, 0.6, 0.8), Vec3::Z);
        assert!((f - 0.5 * FRAC_1_PI).abs() < 1e-4, "{f}");
        assert!((wall.albedo() - 0.5).abs() < 1e-3);
    }
}
