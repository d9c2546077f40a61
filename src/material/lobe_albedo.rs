//! Directional albedo of a GGX lobe, tabulated, for the light a single bounce between facets loses.
//!
//! The table holds the LOSS 1 - E(cos, azimuth) of the lobe with a Fresnel factor of one, on sqrt(cos)
//! by the sine of the azimuth from the smoother axis, linear between. Source of its use: C. Kulla and
//! A. Conty, "Revisiting physically based shading at Imageworks", SIGGRAPH course 2017 (from memory).
//! [`CoatAlbedo`] is the same for an isotropic coat with its own Fresnel factor.

use std::f32::consts::FRAC_PI_2;
use std::sync::Arc;

use glam::{Vec2, Vec3};

use crate::material::fresnel::dielectric;
use crate::material::ggx::Ggx;

/// Nodes in sqrt(cos).
const COSINE_NODES: usize = 33;
/// Nodes in the sine of the azimuth.
const AZIMUTH_NODES: usize = 13;
/// Side of the grid of normals for one node.
const NODE_SIDE: u32 = 32;
/// The cosine that stands for grazing.
const GRAZING: f32 = 1e-4;

/// Loss of a lobe with a Fresnel factor of one.
#[derive(Clone, Debug, PartialEq)]
pub struct LobeLoss {
    /// Row-major: azimuth rows, cosine columns.
    values: Arc<[f32]>,
    /// Is +X the rough axis?
    rough_along_x: bool,
    mean: f32,
}

impl LobeLoss {
    /// Table for a lobe; takes about 30 ms.
    #[must_use]
    pub fn new(lobe: &Ggx) -> Self {
        let alpha = lobe.alpha();
        let rough_along_x = alpha.x > alpha.y;
        let rows = if alpha.x == alpha.y { 1 } else { AZIMUTH_NODES };
        let mut values = Vec::with_capacity(AZIMUTH_NODES * COSINE_NODES);
        for row in 0..rows {
            let rough = row as f32 / (AZIMUTH_NODES - 1) as f32;
            let smooth = (1.0 - rough * rough).max(0.0).sqrt();
            let across = if rough_along_x {
                Vec2::new(rough, smooth)
            } else {
                Vec2::new(smooth, rough)
            };
            for column in 0..COSINE_NODES {
                let q = column as f32 / (COSINE_NODES - 1) as f32;
                let z = (q * q).max(GRAZING);
                let xy = across * (1.0 - z * z).max(0.0).sqrt();
                let albedo = lobe.directional_albedo(xy.extend(z), NODE_SIDE, |_| 1.0);
                values.push((1.0 - albedo).clamp(0.0, 1.0));
            }
        }
        for _ in rows..AZIMUTH_NODES {
            values.extend_from_within(..COSINE_NODES);
        }
        let mut table = Self {
            values: values.into(),
            rough_along_x,
            mean: 0.0,
        };
        table.mean = table.integrate_mean();
        table
    }

    /// 1 - E toward `v`, a unit direction above the horizon.
    #[inline]
    #[must_use]
    pub fn at(&self, v: Vec3) -> f32 {
        let across = if self.rough_along_x { v.x } else { v.y };
        let sine2 = v.x * v.x + v.y * v.y;
        let azimuth = if sine2 > 1e-12 {
            (across * across / sine2).min(1.0).sqrt()
        } else {
            0.0
        };
        let x = v.z.clamp(0.0, 1.0).sqrt() * (COSINE_NODES - 1) as f32;
        let y = azimuth * (AZIMUTH_NODES - 1) as f32;
        // Both indices are one short of the last node, so the neighbours exist.
        let (i, j) = (
            (x as usize).min(COSINE_NODES - 2),
            (y as usize).min(AZIMUTH_NODES - 2),
        );
        let (fx, fy) = (x - i as f32, y - j as f32);
        let at = j * COSINE_NODES + i;
        let low = self.values[at] * (1.0 - fx) + self.values[at + 1] * fx;
        let up = at + COSINE_NODES;
        let high = self.values[up] * (1.0 - fx) + self.values[up + 1] * fx;
        low * (1.0 - fy) + high * fy
    }

    /// Cosine-weighted mean of the loss over the hemisphere, 1 - E_avg.
    #[must_use]
    pub fn mean(&self) -> f32 {
        self.mean
    }

    /// The mean of the interpolated table itself, so that compensated energy adds up to one.
    fn integrate_mean(&self) -> f32 {
        let (cosines, azimuths) = (256, 48);
        let mut sum = 0.0_f64;
        for a in 0..azimuths {
            let (sin, cos) = ((a as f32 + 0.5) / azimuths as f32 * FRAC_PI_2).sin_cos();
            for c in 0..cosines {
                let q = (c as f32 + 0.5) / cosines as f32;
                let z = q * q;
                let r = (1.0 - z * z).max(0.0).sqrt();
                sum += f64::from(4.0 * q * q * q * self.at(Vec3::new(r * cos, r * sin, z)));
            }
        }
        (sum / f64::from(azimuths * cosines)) as f32
    }
}

/// Directional albedo of an isotropic dielectric coat, against the cosine.
#[derive(Clone, Debug, PartialEq)]
pub struct CoatAlbedo {
    values: Arc<[f32]>,
    mean: f32,
}

/// Nodes of a [`CoatAlbedo`] in sqrt(cos).
const COAT_NODES: usize = 65;

impl CoatAlbedo {
    /// Table for a coat of index `eta`; takes about 10 ms.
    #[must_use]
    pub fn new(lobe: &Ggx, eta: f32) -> Self {
        let values: Arc<[f32]> = (0..COAT_NODES)
            .map(|k| {
                let q = k as f32 / (COAT_NODES - 1) as f32;
                let z = (q * q).max(GRAZING);
                let to_eye = Vec3::new((1.0 - z * z).max(0.0).sqrt(), 0.0, z);
                lobe.directional_albedo(to_eye, 40, |c| dielectric(c, eta))
                    .clamp(0.0, 1.0)
            })
            .collect();
        let mut table = Self { values, mean: 0.0 };
        let mean = super::fresnel::hemisphere_mean(|c| f64::from(table.at(c as f32)));
        table.mean = mean as f32;
        table
    }

    /// Albedo at a cosine in 0..=1.
    #[inline]
    #[must_use]
    pub fn at(&self, cos_theta: f32) -> f32 {
        let x = cos_theta.clamp(0.0, 1.0).sqrt() * (COAT_NODES - 1) as f32;
        let k = (x as usize).min(COAT_NODES - 2);
        let f = x - k as f32;
        // k + 1 is at most the last node.
        self.values[k] * (1.0 - f) + self.values[k + 1] * f
    }

    /// Cosine-weighted mean over the hemisphere.
    #[must_use]
    pub fn mean(&self) -> f32 {
        self.mean
    }
}

/// Read access for pictures.
#[cfg(feature = "app")]
impl LobeLoss {
    /// Row-major: azimuth rows, cosine columns.
    pub(crate) fn values(&self) -> &[f32] {
        &self.values
    }

    pub(crate) fn rough_along_x(&self) -> bool {
        self.rough_along_x
    }
}

/// Read access for pictures.
#[cfg(feature = "app")]
impl CoatAlbedo {
    /// Albedo at square roots of the cosine even from 0 to 1.
    pub(crate) fn values(&self) -> &[f32] {
        &self.values
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_follows_the_lobe_between_its_nodes() {
        for alpha in [Vec2::new(0.05, 0.4), Vec2::new(0.3, 0.1), Vec2::splat(0.2)] {
            let lobe = Ggx::new(alpha);
            let table = LobeLoss::new(&lobe);
            for (z, azimuth) in [(0.97_f32, 0.3_f32), (0.6, 1.0), (0.31, 1.5), (0.12, 0.7)] {
                let r = (1.0 - z * z).sqrt();
                let v = Vec3::new(r * azimuth.cos(), r * azimuth.sin(), z);
                let exact = 1.0 - lobe.directional_albedo(v, 200, |_| 1.0);
                let got = table.at(v);
                assert!((got - exact).abs() < 1e-3, "{alpha} {v}: {got} {exact}");
            }
        }
    }

    #[test]
    fn a_smooth_coat_reflects_what_a_flat_surface_does() {
        let table = CoatAlbedo::new(&Ggx::new(Vec2::splat(0.02)), 1.5);
        // Diffuse reflectance of a flat surface of index 1.5: 0.0918; facets shadow a little of it.
        assert!((table.mean() - 0.0918).abs() < 2e-3, "{}", table.mean());
        assert!((table.at(1.0) - 0.04).abs() < 2e-4);
    }
}
