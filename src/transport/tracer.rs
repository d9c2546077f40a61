//! Rays through the scene: what they land on, and what panes leave of them.

use glam::Vec3;

use super::{Columns, Patches};
use crate::{geometry::RayMesh, scene::Scene};

/// Distance kept from the surface that a ray starts on [m].
const START_M: f32 = 1e-4;
/// A ray passes at most this many panes.
const MOST_PANES: usize = 8;

/// Borrowed parts of a prepared room that rays need.
pub struct Tracer<'a> {
    /// The scene.
    pub scene: &'a Scene,
    /// Its ray tree: surfaces first, then panes.
    pub mesh: &'a RayMesh,
    /// Its patches.
    pub patches: &'a Patches,
    /// Its columns.
    pub columns: &'a Columns,
}

impl Tracer<'_> {
    fn pane_index(&self, polygon_index: u32) -> Option<usize> {
        (polygon_index as usize).checked_sub(self.scene.surfaces.len())
    }

    /// Follows a ray and hands each (target, transmittance) that it sees to `emit`.
    ///
    /// `dir` is unit. Nothing is emitted where the ray ends on a black surface or a back.
    #[inline]
    pub fn trace(&self, origin: Vec3, dir: Vec3, mut emit: impl FnMut(u32, f32)) {
        let (mut transmittance, mut slot, mut start) = (1.0_f32, 0_u32, START_M);
        for _ in 0..MOST_PANES {
            let Some(hit) = self.mesh.closest(origin, dir, start, f32::INFINITY) else {
                emit(self.columns.outward(slot, dir), transmittance);
                return;
            };
            let point = origin + dir * hit.distance;
            let Some(pane_index) = self.pane_index(hit.polygon_index) else {
                let polygon = &self.scene.surfaces[hit.polygon_index as usize].polygon;
                if let Some(patch) = self.patches.at(hit.polygon_index, polygon, point, dir) {
                    emit(patch, transmittance);
                }
                return;
            };
            let pane = &self.scene.panes[pane_index];
            if pane.diffuse_transmittance > 0.0
                && let Some(patch) = self
                    .patches
                    .at(hit.polygon_index, &pane.polygon, point, dir)
            {
                emit(patch, transmittance);
            }
            transmittance *= self.clear_transmittance(pane_index, dir);
            if transmittance <= 0.0 {
                return;
            }
            slot = pane_index as u32 + 1;
            start = hit.distance + START_M;
        }
    }

    /// Where a ray ends: the surface (index) and its distance [m], or nothing; and the last pane passed.
    pub fn path(&self, origin: Vec3, dir: Vec3) -> RayPath {
        let (mut last_pane, mut start) = (None, START_M);
        for _ in 0..MOST_PANES {
            let Some(hit) = self.mesh.closest(origin, dir, start, f32::INFINITY) else {
                break;
            };
            let Some(pane) = self.pane_index(hit.polygon_index) else {
                return RayPath {
                    end: Some((hit.polygon_index as usize, hit.distance)),
                    last_pane,
                };
            };
            last_pane = Some(pane);
            start = hit.distance + START_M;
        }
        RayPath {
            end: None,
            last_pane,
        }
    }

    /// Like [`Tracer::trace`], but stops at the first pane and says which it was.
    pub fn trace_to_pane(&self, origin: Vec3, dir: Vec3) -> FirstLanding {
        let Some(hit) = self.mesh.closest(origin, dir, START_M, f32::INFINITY) else {
            return FirstLanding::Outward(self.columns.outward(0, dir));
        };
        if let Some(pane_index) = self.pane_index(hit.polygon_index) {
            return FirstLanding::Pane(pane_index);
        }
        let polygon = &self.scene.surfaces[hit.polygon_index as usize].polygon;
        match self
            .patches
            .at(hit.polygon_index, polygon, origin + dir * hit.distance, dir)
        {
            Some(patch) => FirstLanding::Patch(patch),
            None => FirstLanding::Dark,
        }
    }

    /// Clear transmittance of a pane for a direction: glazing by angle, dirt, frame and blind.
    #[inline]
    pub fn clear_transmittance(&self, pane_index: usize, dir: Vec3) -> f32 {
        let pane = &self.scene.panes[pane_index];
        pane.glazing
            .transmittance(dir.dot(pane.polygon.normal()).abs())
            * pane.clear_factor
            * pane.blind_open
    }

    /// Unscattered transmission from `origin` along `dir` (unit) over `distance_m`, and the last pane
    /// passed; `None` when something opaque is in between.
    #[inline]
    pub fn transmission(
        &self,
        origin: Vec3,
        dir: Vec3,
        distance_m: f32,
    ) -> Option<(f32, Option<usize>)> {
        let (mut transmittance, mut last, mut start) = (1.0_f32, None, START_M);
        for _ in 0..MOST_PANES {
            let Some(hit) = self.mesh.closest(origin, dir, start, distance_m - START_M) else {
                return Some((transmittance, last));
            };
            let pane_index = self.pane_index(hit.polygon_index)?;
            transmittance *= self.clear_transmittance(pane_index, dir);
            if transmittance <= 0.0 {
                return None;
            }
            last = Some(pane_index);
            start = hit.distance + START_M;
        }
        None
    }
}

/// Where a ray ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RayPath {
    /// Surface (index) and distance [m]; `None` in the open.
    pub end: Option<(usize, f32)>,
    /// Last pane passed (index).
    pub last_pane: Option<usize>,
}

/// What a ray meets first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FirstLanding {
    /// A patch (target index).
    Patch(u32),
    /// A pane (pane index).
    Pane(usize),
    /// Open sky or ground (target index).
    Outward(u32),
    /// A black surface or a back.
    Dark,
}
