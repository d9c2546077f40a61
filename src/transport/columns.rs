//! The source columns after the patches: every pane (and no pane) with every sky cell and the ground.

use glam::Vec3;

use crate::{
    scene::Scene,
    sky::{SkyGrid, SkyState},
};

/// Maps (pane, sky cell) to an index in the luminance vector.
#[derive(Clone, Debug)]
pub struct Columns {
    grid: SkyGrid,
    patch_count: u32,
    slot_count: u32,
}

/// Strengths of all sources at one instant.
#[derive(Clone, Debug)]
pub struct Strengths {
    /// Luminance of each sky cell [cd/m2].
    pub sky_cd_m2: Vec<f32>,
    /// Luminance of the ground [cd/m2].
    pub ground_cd_m2: f32,
    /// Direction to the sun, when it is up.
    pub sun_dir: Option<Vec3>,
    /// Illuminance by the sun on a plane that faces it [lx].
    pub sun_normal_illuminance_lx: f32,
    /// Output of each fixture as a share of its full initial output.
    pub fixtures: Vec<f32>,
}

impl Strengths {
    /// Strengths under a sky, with the fixtures at their dimming and maintenance.
    pub fn under(sky: &SkyState, scene: &Scene, columns: &Columns) -> Self {
        Self {
            sky_cd_m2: sky.cell_luminances_cd_m2(columns.grid()),
            ground_cd_m2: sky.ground_luminance_cd_m2(scene.ground_reflectance),
            sun_dir: sky
                .sun_dir
                .filter(|_| sky.direct_normal_illuminance_lx > 0.0),
            sun_normal_illuminance_lx: sky.direct_normal_illuminance_lx as f32,
            ..Self::dark(scene, columns)
        }
        .with_fixtures(
            scene
                .fixtures
                .iter()
                .map(|f| f.maintained_strength())
                .collect(),
        )
    }

    /// No source at all.
    pub fn dark(scene: &Scene, columns: &Columns) -> Self {
        Self {
            sky_cd_m2: vec![0.0; columns.grid().len()],
            ground_cd_m2: 0.0,
            sun_dir: None,
            sun_normal_illuminance_lx: 0.0,
            fixtures: vec![0.0; scene.fixtures.len()],
        }
    }

    /// The same with other fixture outputs.
    pub fn with_fixtures(mut self, fixtures: Vec<f32>) -> Self {
        self.fixtures = fixtures;
        self
    }
}

impl Columns {
    /// Columns after `patch_count` patches for `pane_count` panes.
    pub fn new(grid: SkyGrid, patch_count: usize, pane_count: usize) -> Self {
        Self {
            grid,
            patch_count: patch_count as u32,
            slot_count: pane_count as u32 + 1,
        }
    }

    /// The sky's division.
    pub fn grid(&self) -> &SkyGrid {
        &self.grid
    }

    /// Length of the luminance vector.
    pub fn len(&self) -> usize {
        (self.patch_count + self.slot_count * self.cells_per_slot()) as usize
    }

    /// Whether there is nothing to see at all.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Patches before the first column.
    pub fn patch_count(&self) -> usize {
        self.patch_count as usize
    }

    fn cells_per_slot(&self) -> u32 {
        self.grid.len() as u32 + 1
    }

    /// Column of the sky or ground in a direction seen through a pane (`slot` = pane index + 1) or
    /// through none (0).
    #[inline]
    pub fn outward(&self, slot: u32, dir: Vec3) -> u32 {
        let cell = if dir.y > 0.0 {
            self.grid.cell_of(dir) as u32
        } else {
            self.grid.len() as u32
        };
        self.patch_count + slot * self.cells_per_slot() + cell
    }

    /// The pane (index) that a column belongs to; `None` for patches and for the open sky.
    pub fn pane_of(&self, target: u32) -> Option<usize> {
        let slot = target.checked_sub(self.patch_count)? / self.cells_per_slot();
        (slot > 0).then(|| slot as usize - 1)
    }

    /// Whether the target is sky or ground.
    pub fn is_outward(&self, target: u32) -> bool {
        target >= self.patch_count
    }

    /// Fills the part of the luminance vector after the patches.
    pub fn fill(&self, strengths: &Strengths, luminance_cd_m2: &mut [f32]) {
        let cells = self.cells_per_slot() as usize;
        let outward = &mut luminance_cd_m2[self.patch_count as usize..];
        for part in outward.chunks_exact_mut(cells) {
            part[..cells - 1].copy_from_slice(&strengths.sky_cd_m2);
            part[cells - 1] = strengths.ground_cd_m2;
        }
    }
}
