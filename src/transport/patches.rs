//! Surface patches: a grid on each polygon, cut to its outline. Patches are a lookup, not geometry.

use glam::{Vec2, Vec3};

use crate::{
    geometry::{Polygon, clip_to_box, cross, polygon_area_m2},
    sampling::Sequence,
    scene::Scene,
};

/// Points on each patch at which light is taken.
pub(super) const POINTS_PER_PATCH: usize = 16;

/// Most grid cells on one side of a surface.
const MOST_CELLS: usize = 1800;

/// No patch here.
const NONE: u32 = u32::MAX;

/// A piece of a surface with one luminance.
#[derive(Clone, Debug)]
pub struct Patch {
    /// Area [m2].
    pub area_m2: f32,
    /// Middle [m, world].
    pub centre: Vec3,
    /// Normal to the lit side, unit.
    pub normal: Vec3,
    /// Diffuse reflectance, 0..=1.
    pub reflectance: f32,
    /// For a diffusing pane: the patch on the other side and the transmittance from it.
    pub twin: Option<(u32, f32)>,
    /// Surface index, or surface count + pane index.
    pub owner: u32,
    /// Whether light reaches it through panes only.
    pub indoors: bool,
    /// Points [m, world] spread over it, a little in front.
    pub points: [Vec3; POINTS_PER_PATCH],
}

#[derive(Clone, Debug)]
struct Grid {
    low: Vec2,
    cell_m: Vec2,
    counts: [u32; 2],
    first: Vec<u32>,
}

/// How one side of a polygon is cut into patches: a grid in the polygon's frame.
#[derive(Clone, Copy, Debug)]
pub struct PatchGrid<'a> {
    /// Corner of the first cell [m].
    pub low: Vec2,
    /// Size of a cell [m].
    pub cell_m: Vec2,
    /// Cells along the frame's x and y.
    pub counts: [u32; 2],
    first: &'a [u32],
}

impl PatchGrid<'_> {
    /// The patch of a cell (column, row); `None` where the polygon has no part in it.
    pub fn patch(&self, column: u32, row: u32) -> Option<usize> {
        let index = self.first.get((row * self.counts[0] + column) as usize)?;
        (*index != NONE).then_some(*index as usize)
    }
}

impl Grid {
    fn cell(&self, p: Vec2) -> usize {
        let q = (p - self.low) / self.cell_m;
        let i = (q.x.max(0.0) as u32).min(self.counts[0] - 1);
        let j = (q.y.max(0.0) as u32).min(self.counts[1] - 1);
        (j * self.counts[0] + i) as usize
    }
}

/// All patches of a scene and the lookup from a hit to its patch.
#[derive(Clone, Debug)]
pub struct Patches {
    list: Vec<Patch>,
    front: Vec<Option<Grid>>,
    back: Vec<Option<Grid>>,
}

/// What a grid is laid on.
struct Side<'a> {
    polygon: &'a Polygon,
    flip: bool,
    reflectance: f32,
    indoors: bool,
    owner: u32,
    patch_m: f32,
}

impl Patches {
    /// Cuts every reflecting surface and every diffusing pane into patches of about `patch_m`.
    ///
    /// Outside surfaces get coarser patches (at most about 100 each), very large inside ones too
    /// (at most about 900 each).
    pub fn new(scene: &Scene, patch_m: f32) -> Self {
        let mut patches = Self {
            list: Vec::new(),
            front: Vec::new(),
            back: Vec::new(),
        };
        for (owner, surface) in scene.surfaces.iter().enumerate() {
            let area = surface.polygon.area_m2();
            let most = if surface.indoors { 900.0 } else { 100.0 };
            let side = Side {
                polygon: &surface.polygon,
                flip: false,
                reflectance: surface.reflectance,
                indoors: surface.indoors,
                owner: owner as u32,
                patch_m: patch_m.max((area / most).sqrt()),
            };
            let grid = (surface.reflectance > 0.0).then(|| patches.lay(&side));
            let back = Side {
                flip: true,
                reflectance: surface.back_reflectance,
                indoors: false,
                patch_m: patch_m.max((area / 100.0).sqrt()),
                ..side
            };
            let back = (surface.back_reflectance > 0.0).then(|| patches.lay(&back));
            patches.front.push(grid);
            patches.back.push(back);
        }
        for (i, pane) in scene.panes.iter().enumerate() {
            if pane.diffuse_transmittance <= 0.0 {
                patches.front.push(None);
                patches.back.push(None);
                continue;
            }
            let mut side = Side {
                polygon: &pane.polygon,
                flip: false,
                reflectance: pane.diffuse_reflectance,
                indoors: true,
                owner: (scene.surfaces.len() + i) as u32,
                patch_m: patch_m.max((pane.polygon.area_m2() / 900.0).sqrt()),
            };
            let inner = patches.list.len();
            let front = patches.lay(&side);
            let outer = patches.list.len();
            side.flip = true;
            side.indoors = !pane.exterior;
            let back = patches.lay(&side);
            for k in 0..outer - inner {
                patches.list[inner + k].twin =
                    Some(((outer + k) as u32, pane.diffuse_transmittance));
                patches.list[outer + k].twin =
                    Some(((inner + k) as u32, pane.diffuse_transmittance));
            }
            patches.front.push(Some(front));
            patches.back.push(Some(back));
        }
        patches
    }

    fn lay(&mut self, side: &Side) -> Grid {
        let (low, high) = side.polygon.bounds_m();
        let size = high - low;
        // Long and slanting outlines have boxes larger than themselves: the box counts too.
        let most = MOST_CELLS as f32;
        let patch_m = side
            .patch_m
            .max((size.x * size.y / most).sqrt())
            .max(size.max_element() / most);
        let counts = (size / patch_m).ceil().max(Vec2::ONE);
        let cell_m = size / counts;
        let counts = [counts.x as u32, counts.y as u32];
        let mut first = Vec::with_capacity((counts[0] * counts[1]) as usize);
        for j in 0..counts[1] {
            for i in 0..counts[0] {
                let corner = low + cell_m * Vec2::new(i as f32, j as f32);
                let pieces: Vec<Vec<Vec2>> = side
                    .polygon
                    .triangles_m()
                    .iter()
                    .map(|t| clip_to_box(t, corner, corner + cell_m))
                    .filter(|p| p.len() >= 3 && polygon_area_m2(p) > 1e-7)
                    .collect();
                first.push(if pieces.is_empty() {
                    NONE
                } else {
                    self.list.len() as u32
                });
                if !pieces.is_empty() {
                    self.push(side, &pieces);
                }
            }
        }
        Grid {
            low,
            cell_m,
            counts,
            first,
        }
    }

    fn push(&mut self, side: &Side, pieces: &[Vec<Vec2>]) {
        let frame = side.polygon.frame();
        let normal = if side.flip { -frame.z_dir } else { frame.z_dir };
        let triangles: Vec<[Vec2; 3]> = pieces
            .iter()
            .flat_map(|p| (1..p.len() - 1).map(|k| [p[0], p[k], p[k + 1]]))
            .collect();
        let areas: Vec<f32> = triangles
            .iter()
            .map(|[a, b, c]| 0.5 * cross(*b - *a, *c - *a).max(0.0))
            .collect();
        let area_m2: f32 = areas.iter().sum();
        let sequence = Sequence::new(self.list.len() as u32);
        let mut centre = Vec3::ZERO;
        let points = std::array::from_fn(|k| {
            let u = sequence.pair(k as u32, 0);
            let mut target = u.x * area_m2;
            let mut chosen = triangles.len() - 1;
            for (t, area) in areas.iter().enumerate() {
                if target < *area {
                    chosen = t;
                    break;
                }
                target -= area;
            }
            let [a, b, c] = triangles[chosen];
            let root = (target / areas[chosen].max(1e-12)).clamp(0.0, 1.0).sqrt();
            let p = a * (1.0 - root) + (b * (1.0 - u.y) + c * u.y) * root;
            // Drawn in by a hair: a point in the very edge would see past the wall that it joins.
            let p = p.lerp((a + b + c) / 3.0, 0.01);
            let world = frame.point(p.x, p.y);
            centre += world / POINTS_PER_PATCH as f32;
            world + normal * 2e-4
        });
        self.list.push(Patch {
            area_m2,
            centre,
            normal,
            reflectance: side.reflectance,
            twin: None,
            owner: side.owner,
            indoors: side.indoors,
            points,
        });
    }

    /// All patches.
    pub fn list(&self) -> &[Patch] {
        &self.list
    }

    /// The patches of one side of polygon `owner`; `None` where it reflects nothing.
    pub fn grid(&self, owner: usize, back: bool) -> Option<PatchGrid<'_>> {
        let side = if back { &self.back } else { &self.front };
        side.get(owner)?.as_ref().map(|grid| PatchGrid {
            low: grid.low,
            cell_m: grid.cell_m,
            counts: grid.counts,
            first: &grid.first,
        })
    }

    /// The patch at a point of polygon `owner`, on the side that `dir` arrives at.
    #[inline]
    pub fn at(&self, owner: u32, polygon: &Polygon, point: Vec3, dir: Vec3) -> Option<u32> {
        let frame = polygon.frame();
        let side = if dir.dot(frame.z_dir) < 0.0 {
            &self.front
        } else {
            &self.back
        };
        let grid = side[owner as usize].as_ref()?;
        let d = point - frame.origin;
        let index = grid.first[grid.cell(Vec2::new(d.dot(frame.x_dir), d.dot(frame.y_dir)))];
        (index != NONE).then_some(index)
    }
}
