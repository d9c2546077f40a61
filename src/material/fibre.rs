//! The highlight of wood fibres under a clear coat, as a lobe of its own.
//!
//! Frame: +Z the normal, +X the grain ARROW. The fibre runs along (cos d, 0, sin d): `tilt_rad` d
//! is positive where the fibre rises out of the surface toward +X. Directions leave the surface;
//! angles in radians, values in 1/sr.
//!
//! Source: S. R. Marschner, S. H. Westin, A. Arbree, J. T. Moon, "Measuring and modeling the
//! appearance of finished wood", ACM Trans. Graphics 24(3), 2005: light enters the coat, is
//! reflected by the fibres onto a cone about them and leaves. The Gaussian is DIVIDED by its width
//! (the authors' released shader multiplied, an error they confirmed).
//!
//! Two conventions are in use for the passage through the coat. [`FibreLobe::highlight_per_sr`] is
//! the bare highlight f_f with k_f = 1, without transmittances. [`FibreLobe::finished_per_sr`] is
//! what a finished surface shows outside, T_i T_o f_f / eta^2: f_f counts as a quantity INSIDE the
//! coat and 1/eta^2 conserves basic radiance on the way in and out. The library uses the second.
//!
//! Limits: the coat's surface is flat for the refraction, whatever its gloss; no wander of the
//! fibre within the plane; the light that total internal reflection keeps inside is not given back
//! (state it in the diffuse part).

use std::f32::consts::{FRAC_PI_2, TAU};

use glam::{Vec2, Vec3};

use crate::material::fresnel::{dielectric_from_inside_cosine, refracted_cosine};
use crate::sampling::low_discrepancy::grid;
use crate::sampling::normal::{normal_pdf, sample_normal};

/// Highlight of fibres of one direction, k_f = 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FibreLobe {
    cos_tilt: f32,
    sin_tilt: f32,
    width_rad: f32,
    eta: f32,
    /// 1 / (2 beta^2).
    half_precision: f32,
    /// 2 / (beta sqrt(2 pi)): with the 1/2 of cos^2(psi_d / 2).
    height: f32,
    /// Below this cosine of psi_h the Gaussian is nothing.
    reach_cos: f32,
    /// Least inside cosine of a ray that can leave the coat.
    escape_cos: f32,
}

/// A direction as seen inside the coat, with its transmittance; made once for all fibres.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Inside {
    /// Refracted unit direction.
    pub(crate) dir: Vec3,
    /// 1 - F.
    pub(crate) transmittance: f32,
}

impl Inside {
    #[inline]
    pub(crate) fn new(v: Vec3, eta: f32) -> Self {
        let z = refracted_cosine(v.z, eta);
        Self {
            dir: Vec3::new(v.x / eta, v.y / eta, z),
            transmittance: 1.0 - dielectric_from_inside_cosine(v.z, z, eta),
        }
    }
}

impl FibreLobe {
    /// Lobe of fibres tilted by `tilt_rad`, of width `width_rad` (standard deviation beta, above 0),
    /// under a coat of index `eta` (1 = no coat).
    #[must_use]
    pub fn new(tilt_rad: f32, width_rad: f32, eta: f32) -> Self {
        // At 7 standard deviations the highlight is 2e-11 of its peak; a width over 26 deg never cuts.
        let reach_rad = 7.0 * width_rad;
        Self {
            cos_tilt: tilt_rad.cos(),
            sin_tilt: tilt_rad.sin(),
            width_rad,
            eta,
            half_precision: 0.5 / (width_rad * width_rad),
            height: 2.0 / (width_rad * TAU.sqrt()),
            reach_cos: if reach_rad < std::f32::consts::PI {
                reach_rad.cos()
            } else {
                -2.0
            },
            escape_cos: refracted_cosine(0.0, eta),
        }
    }

    /// The bare highlight f_f for k_f = 1 [1/sr]: g(beta, psi_h) / cos^2(psi_d / 2), Marschner et al.
    /// 2005, eqs. 4 to 8; 0 below the horizon.
    #[inline]
    #[must_use]
    pub fn highlight_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        if to_light.z <= 0.0 || to_eye.z <= 0.0 {
            return 0.0;
        }
        let (light, eye) = (
            Inside::new(to_light, self.eta),
            Inside::new(to_eye, self.eta),
        );
        self.inside_per_sr(light.dir, eye.dir)
    }

    /// What a finished surface shows for k_f = 1 [1/sr]: T_i T_o f_f / eta^2.
    #[inline]
    #[must_use]
    pub fn finished_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        if to_light.z <= 0.0 || to_eye.z <= 0.0 {
            return 0.0;
        }
        let (light, eye) = (
            Inside::new(to_light, self.eta),
            Inside::new(to_eye, self.eta),
        );
        light.transmittance * eye.transmittance * self.inside_per_sr(light.dir, eye.dir)
            / (self.eta * self.eta)
    }

    /// Sine of the inclination psi of an inside direction to the plane across the fibre.
    #[inline]
    fn sine(&self, inside_dir: Vec3) -> f32 {
        (inside_dir.x * self.cos_tilt + inside_dir.z * self.sin_tilt).clamp(-1.0, 1.0)
    }

    /// f_f for directions inside the coat.
    #[inline]
    pub(crate) fn inside_per_sr(&self, light: Vec3, eye: Vec3) -> f32 {
        let (a, b) = (self.sine(light), self.sine(eye));
        let ca = (1.0 - a * a).max(0.0).sqrt();
        let cb = (1.0 - b * b).max(0.0).sqrt();
        let cos_sum = ca * cb - a * b;
        if cos_sum < self.reach_cos {
            return 0.0;
        }
        // psi_h = psi_i + psi_r by the addition theorem: one arc instead of two.
        let psi_h = angle_rad(a * cb + b * ca, cos_sum);
        // 2 cos^2(psi_d / 2) = 1 + cos psi_d.
        self.height * (-psi_h * psi_h * self.half_precision).exp()
            / (1.0 + ca * cb + a * b).max(1e-6)
    }

    /// Half range of the azimuth about the fibre [rad] within which a ray of inclination psi leaves the
    /// coat; 0 where none does.
    #[inline]
    fn escape_azimuth_rad(&self, sine: f32, cosine: f32) -> f32 {
        let edge = (self.escape_cos - sine * self.sin_tilt) / (cosine * self.cos_tilt).max(1e-6);
        edge.clamp(-1.0, 1.0).acos()
    }

    /// Direction to the light for an eye: inclination from the Gaussian, azimuth about the fibre even
    /// over what leaves the coat. None where nothing leaves at that inclination.
    #[must_use]
    pub fn sample(&self, to_eye: Vec3, u: Vec2) -> Option<Vec3> {
        let eye = Inside::new(to_eye, self.eta);
        let psi_rad = self.width_rad * sample_normal(u.x) - self.sine(eye.dir).asin();
        if psi_rad.abs() >= FRAC_PI_2 {
            return None;
        }
        let (sine, cosine) = psi_rad.sin_cos();
        let range_rad = self.escape_azimuth_rad(sine, cosine);
        if range_rad <= 0.0 {
            return None;
        }
        let (sin_azimuth, cos_azimuth) = (range_rad * (2.0 * u.y - 1.0)).sin_cos();
        // Axes: the fibre, across it within the surface, and the third.
        let fibre = Vec3::new(self.cos_tilt, 0.0, self.sin_tilt);
        let up = Vec3::new(-self.sin_tilt, 0.0, self.cos_tilt);
        let inside = sine * fibre + cosine * (cos_azimuth * up + sin_azimuth * Vec3::Y);
        let xy = self.eta * inside.truncate();
        let z2 = 1.0 - xy.length_squared();
        (z2 > 0.0 && inside.z > 0.0).then(|| xy.extend(z2.sqrt()))
    }

    /// Density of [`Self::sample`] [1/sr].
    #[must_use]
    pub fn pdf_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        if to_light.z <= 0.0 || to_eye.z <= 0.0 {
            return 0.0;
        }
        let (light, eye) = (
            Inside::new(to_light, self.eta),
            Inside::new(to_eye, self.eta),
        );
        self.inside_pdf(light.dir, eye.dir) * to_light.z / (self.eta * self.eta * light.dir.z)
    }

    /// Density over directions inside; times cos / (eta^2 cos inside) for directions outside.
    #[inline]
    pub(crate) fn inside_pdf(&self, light: Vec3, eye: Vec3) -> f32 {
        let sine = self.sine(light);
        let cosine = (1.0 - sine * sine).max(0.0).sqrt();
        let range_rad = self.escape_azimuth_rad(sine, cosine);
        if range_rad <= 0.0 || cosine <= 0.0 {
            return 0.0;
        }
        let psi_h = sine.asin() + self.sine(eye).asin();
        normal_pdf(psi_h / self.width_rad) / (self.width_rad * cosine * 2.0 * range_rad)
    }

    /// Share of the light from `to_eye` that the finished highlight sends back for k_f = 1.
    ///
    /// Midpoint rule on a `side` x `side` grid of samples; 16 is good for 1e-3 of the flat value.
    #[must_use]
    pub fn directional_albedo(&self, to_eye: Vec3, side: u32) -> f32 {
        if to_eye.z <= 0.0 {
            return 0.0;
        }
        let (mut sum, mut share_sum) = (0.0_f64, 0.0_f64);
        for point in grid(side) {
            // The transmittance ends like a root at the edge of what escapes: u = (1 + sin s) / 2.
            let (sin, share) = (FRAC_PI_2 * (2.0 * point.y - 1.0)).sin_cos();
            share_sum += f64::from(share);
            let u = Vec2::new(point.x, 0.5 + 0.5 * sin);
            let Some(to_light) = self.sample(to_eye, u) else {
                continue;
            };
            let pdf = self.pdf_per_sr(to_light, to_eye);
            if pdf > 0.0 {
                let weight = self.finished_per_sr(to_light, to_eye) * to_light.z / pdf;
                sum += f64::from(share * weight);
            }
        }
        (sum / share_sum) as f32
    }

    /// Share of diffuse light that the finished highlight sends back for k_f = 1.
    #[must_use]
    pub fn albedo(&self) -> f32 {
        hemisphere_nodes()
            .map(|(v, weight)| weight * self.directional_albedo(v, 16))
            .sum()
    }
}

/// Angle of a sine and a cosine [rad], faster than `atan2` and good to 2e-7.
///
/// Twice the arc tangent of the half angle; M. Abramowitz and I. Stegun, "Handbook of Mathematical
/// Functions", 1964, eq. 4.4.49 (coefficients from memory, checked below).
#[inline]
fn angle_rad(sin: f32, cos: f32) -> f32 {
    if cos <= 0.0 {
        return sin.atan2(cos);
    }
    let t = sin / (1.0 + cos);
    let x = t * t;
    let series = x * 0.002_866_225_7 - 0.016_165_737;
    let series = series * x + 0.042_909_615;
    let series = series * x - 0.075_289_64;
    let series = series * x + 0.106_562_64;
    let series = series * x - 0.142_089;
    let series = series * x + 0.199_935_51;
    let series = series * x - 0.333_331_45;
    2.0 * t * (series * x + 1.0)
}

/// Rings of [`hemisphere_nodes`], even in the cosine.
const RINGS: usize = 12;
/// Directions on half a ring.
const RING_NODES: usize = 8;

/// Directions with cosine weights that add to one, over the half with y > 0 (the wood is symmetric
/// in y).
pub(crate) fn hemisphere_nodes() -> impl Iterator<Item = (Vec3, f32)> {
    (0..RINGS).flat_map(|ring| {
        let z = (ring as f32 + 0.5) / RINGS as f32;
        let r = (1.0 - z * z).sqrt();
        // sum of 2 z / RINGS over the midpoints is one.
        let weight = 2.0 * z / (RINGS * RING_NODES) as f32;
        (0..RING_NODES).map(move |k| {
            let angle_rad = (k as f32 + 0.5) / RING_NODES as f32 * std::f32::consts::PI;
            let (sin, cos) = angle_rad.sin_cos();
            (Vec3::new(r * cos, r * sin, z), weight)
        })
    })
}

/// Angle of the brightest direction of the highlight [rad] in the plane of light and fibre.
///
/// `light_rad` is measured from the normal toward +X, `tilt_rad` rises toward +X; the result is
/// measured the same way. None where the highlight stays inside the coat.
/// sin t_o = eta sin(-asin(sin t_i / eta) - 2 d), from psi_h = 0.
#[must_use]
pub fn cone_centre_rad(light_rad: f32, tilt_rad: f32, eta: f32) -> Option<f32> {
    let inside_rad = -(light_rad.sin() / eta).asin() - 2.0 * tilt_rad;
    let sine = eta * inside_rad.sin();
    (inside_rad.abs() < FRAC_PI_2 && sine.abs() < 1.0).then(|| sine.asin())
}

/// Read access for pictures.
#[cfg(feature = "app")]
impl FibreLobe {
    /// Cosine and sine of the tilt.
    pub(crate) fn axis(&self) -> Vec2 {
        Vec2::new(self.cos_tilt, self.sin_tilt)
    }

    /// 1 / (2 beta^2).
    pub(crate) fn half_precision(&self) -> f32 {
        self.half_precision
    }

    /// 2 / (beta sqrt(2 pi)).
    pub(crate) fn height(&self) -> f32 {
        self.height
    }

    /// Below this cosine of psi_h the Gaussian is nothing.
    pub(crate) fn reach_cos(&self) -> f32 {
        self.reach_cos
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_shown_below_the_horizon() {
        let lobe = FibreLobe::new(0.1, 0.17, 1.5);
        let below = Vec3::new(0.6, 0.0, -0.8);
        assert_eq!(lobe.highlight_per_sr(below, Vec3::Z), 0.0);
        assert_eq!(lobe.highlight_per_sr(Vec3::Z, below), 0.0);
        assert_eq!(lobe.pdf_per_sr(below, Vec3::Z), 0.0);
    }

    #[test]
    fn fast_angle_is_the_angle() {
        for k in -1570..=1570 {
            let (sin, cos) = (k as f32 / 500.0).sin_cos();
            let (got, exact) = (angle_rad(sin, cos), sin.atan2(cos));
            assert!((got - exact).abs() < 4e-7, "{exact}: {got}");
        }
    }

    #[test]
    fn sampled_directions_are_unit_and_above_the_horizon() {
        let lobe = FibreLobe::new(0.2, 0.17, 1.5);
        for u in grid(40) {
            if let Some(v) = lobe.sample(Vec3::new(0.6, 0.0, 0.8), u) {
                assert!((v.length() - 1.0).abs() < 1e-5 && v.z > 0.0, "{v}");
            }
        }
    }
}
