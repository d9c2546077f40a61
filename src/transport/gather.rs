//! Gathering light at a point: cosine-weighted directions and points on panes, weighted together.
//!
//! Both ways of choosing a direction cover the whole hemisphere that matters; their samples are
//! combined with the balance heuristic (E. Veach, "Robust Monte Carlo methods for light transport
//! simulation", 1997, ch. 9), so that small windows are not missed and near ones do not blow up.

use std::f32::consts::PI;

use glam::{Vec2, Vec3};

use super::{Entry, Tracer, rows::merge};
use crate::{
    geometry::Frame,
    sampling::{Sequence, cosine::sample_cosine_hemisphere},
    scene::Scene,
};

/// Where light is gathered: a frame and points that share it.
#[derive(Clone, Copy)]
pub struct GatherPoint<'a> {
    /// +Z is the receiving normal.
    pub frame: &'a Frame,
    /// Points [m, world] a little in front of the surface; samples are shared out among them.
    pub points: &'a [Vec3],
}

impl GatherPoint<'_> {
    /// Where sample `index` of `count` starts: each point has a block of consecutive samples, which
    /// cover the directions evenly by themselves.
    fn point(&self, index: u32, count: u32) -> Vec3 {
        self.points[index as usize * self.points.len() / count.max(1) as usize]
    }
}

/// How much and with which randomisation to gather.
#[derive(Clone, Copy, Debug)]
pub struct GatherRequest {
    /// Cosine-weighted directions.
    pub hemisphere_count: u32,
    /// Points on panes.
    pub pane_count: u32,
    /// Seed of the randomisation.
    pub seed: u32,
}

/// Chances of choosing each pane from a place.
#[derive(Clone, Debug, Default)]
pub(super) struct PaneChoice {
    /// (pane index, chance, area)
    panes: Vec<(usize, f32, f32)>,
}

impl PaneChoice {
    /// Chances in proportion to a bound on what each pane can send to `origin` with `normal`.
    pub(super) fn new(scene: &Scene, origin: Vec3, normal: Vec3) -> Self {
        let mut panes: Vec<(usize, f32, f32)> = Vec::new();
        for (index, pane) in scene.panes.iter().enumerate() {
            let area = pane.polygon.area_m2();
            let corners = pane.polygon.world_outline();
            let highest = corners
                .iter()
                .map(|c| (*c - origin).dot(normal))
                .fold(f32::MIN, f32::max);
            if highest <= 1e-4 {
                continue;
            }
            let centre = corners.iter().sum::<Vec3>() / corners.len() as f32;
            let to_pane = centre - origin;
            let r2 = to_pane.length_squared().max(0.05 * area);
            let dir = to_pane / r2.sqrt();
            let cos_here = dir.dot(normal).max(0.1);
            let cos_pane = dir.dot(pane.polygon.normal()).abs().max(0.1);
            panes.push((index, cos_here * (area * cos_pane / r2).min(2.0 * PI), area));
        }
        let total: f32 = panes.iter().map(|p| p.1).sum();
        for pane in &mut panes {
            pane.1 /= total;
        }
        Self { panes }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.panes.is_empty()
    }

    /// Density [1/sr] with which pane points are chosen in direction `dir` from `origin`.
    #[inline]
    pub(super) fn pdf_per_sr(&self, scene: &Scene, origin: Vec3, dir: Vec3) -> f32 {
        let mut pdf = 0.0;
        for &(index, chance, area) in &self.panes {
            let polygon = &scene.panes[index].polygon;
            if let Some(t) = polygon.crossing(origin, dir) {
                pdf += chance * t * t / (dir.dot(polygon.normal()).abs().max(1e-6) * area);
            }
        }
        pdf
    }

    /// Direction (unit) to a point on a pane; `u` in the unit cube.
    #[inline]
    pub(super) fn sample(&self, scene: &Scene, origin: Vec3, u: Vec3) -> Option<Vec3> {
        let mut rest = u.z;
        for (k, &(index, chance, _)) in self.panes.iter().enumerate() {
            if rest < chance || k + 1 == self.panes.len() {
                return (scene.panes[index].polygon.point(Vec2::new(u.x, u.y)) - origin)
                    .try_normalize();
            }
            rest -= chance;
        }
        None
    }
}

impl Tracer<'_> {
    /// Weights such that the sum of weight x luminance estimates the integral of
    /// `response(local direction) x luminance` over the hemisphere.
    ///
    /// For illuminance [lx] the response is the cosine, `|d| d.z`; `response` must vanish at and
    /// below the horizon no faster than needed: it is divided by a density that has the cosine.
    pub fn gather(
        &self,
        at: GatherPoint,
        request: GatherRequest,
        response: impl Fn(Vec3) -> f32,
    ) -> Vec<Entry> {
        let scene = self.scene;
        let centre = at.points[at.points.len() / 2];
        let choice = if request.pane_count > 0 {
            PaneChoice::new(scene, centre, at.frame.z_dir)
        } else {
            PaneChoice::default()
        };
        let pane_count = if choice.is_empty() {
            0
        } else {
            request.pane_count
        };
        let sequence = Sequence::new(request.seed);
        let mut entries = Vec::with_capacity((request.hemisphere_count + pane_count) as usize);
        let mut add = |origin: Vec3, local: Vec3, dir: Vec3| {
            let pdf_pane = if pane_count > 0 {
                choice.pdf_per_sr(scene, origin, dir)
            } else {
                0.0
            };
            let density =
                request.hemisphere_count as f32 * local.z / PI + pane_count as f32 * pdf_pane;
            let weight = response(local) / density;
            if weight > 0.0 {
                self.trace(origin, dir, |target, transmittance| {
                    entries.push(Entry {
                        target,
                        weight: weight * transmittance,
                    });
                });
            }
        };
        for i in 0..request.hemisphere_count {
            let origin = at.point(i, request.hemisphere_count);
            let local = sample_cosine_hemisphere(sequence.pair(i, 0));
            add(origin, local, at.frame.world_from_local(local));
        }
        for i in 0..pane_count {
            let origin = at.point(i, pane_count);
            let u = Vec3::new(
                sequence.value(i, 2),
                sequence.value(i, 3),
                sequence.value(i, 4),
            );
            if let Some(dir) = choice.sample(scene, origin, u) {
                let local = at.frame.local_from_world(dir);
                if local.z > 1e-5 {
                    add(origin, local, dir);
                }
            }
        }
        merge(&mut entries);
        entries
    }
}
