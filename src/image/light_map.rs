//! Luminance over every surface as texels of one atlas.
//!
//! The light that comes after a bounce, from the sky and through diffusing panes is interpolated between
//! the patches' centres; the fixtures' direct light is traced at every texel, so that scallops and edges
//! of beams show; the sun's direct light is left out (see `sun_patches`). Input: a solved light; output:
//! cd/m2 as linear Rec. 709, row-major, row 0 first. Limits: linear interpolation, one normal a surface.

use std::f32::consts::PI;

use glam::{Vec2, Vec3};
use rayon::prelude::*;

use super::{ColouredLight, luminance};
use crate::transport::{PatchGrid, RoomLight};

/// Texels around each part, repeated from its edge, so that filtering never reads a neighbour.
const BORDER: u32 = 1;
/// Width of the atlas [texels].
const WIDTH: u32 = 1024;

/// Step of the fine texels on surfaces [m].
pub const TEXEL_M: f32 = 0.1;
/// Most of them.
pub const MOST_TEXELS: u32 = 160_000;
/// Rays to each fixture's opening from each texel.
pub const TEXEL_RAYS: u32 = 2;

/// Where one side of one polygon lies in the atlas.
#[derive(Clone, Copy, Debug)]
pub struct MapPatch {
    /// Surface index, or surface count + pane index.
    pub owner: usize,
    /// Whether it is the back.
    pub back: bool,
    /// Corner of the first texel in the polygon's frame [m].
    low: Vec2,
    /// Size of a texel [m].
    texel_m: Vec2,
    counts: [u32; 2],
    at: [u32; 2],
}

/// Direct illuminance [lx] of one fixture at full output, one value a texel of all parts, in order.
pub type FixtureTexels = Vec<f32>;

/// The layout of the atlas for one room.
#[derive(Clone, Debug)]
pub struct LightMap {
    parts: Vec<MapPatch>,
    size: [u32; 2],
}

impl LightMap {
    /// Lays out all surfaces that reflect, with texels of about `texel_m`, larger where the whole would
    /// exceed `most_texels`.
    pub fn new(room: &RoomLight, texel_m: f32, most_texels: u32) -> Self {
        let scene = room.scene();
        let sides: Vec<(usize, bool, PatchGrid)> = (0..scene.surfaces.len() + scene.panes.len())
            .flat_map(|owner| [(owner, false), (owner, true)])
            .filter_map(|(owner, back)| {
                room.patches()
                    .grid(owner, back)
                    .map(|grid| (owner, back, grid))
            })
            .collect();
        let area_m2: f32 = sides
            .iter()
            .map(|(owner, _, grid)| {
                let size = grid.cell_m * Vec2::new(grid.counts[0] as f32, grid.counts[1] as f32);
                let indoors = scene.surfaces.get(*owner).is_none_or(|s| s.indoors);
                // Outside, patches are fine enough.
                if indoors { size.x * size.y } else { 0.0 }
            })
            .sum();
        let texel_m = texel_m.max((area_m2 / most_texels.max(1) as f32).sqrt());
        let mut parts: Vec<MapPatch> = sides
            .iter()
            .map(|(owner, back, grid)| {
                let indoors = scene.surfaces.get(*owner).is_none_or(|s| s.indoors);
                let fine = |cell_m: f32| {
                    if indoors {
                        (cell_m / texel_m).ceil().clamp(1.0, 16.0) as u32
                    } else {
                        1
                    }
                };
                let most = WIDTH - 2 * BORDER;
                let (fx, fy) = (fine(grid.cell_m.x), fine(grid.cell_m.y));
                let counts = [
                    (grid.counts[0] * fx).min(most),
                    (grid.counts[1] * fy).min(most),
                ];
                let size = grid.cell_m * Vec2::new(grid.counts[0] as f32, grid.counts[1] as f32);
                MapPatch {
                    owner: *owner,
                    back: *back,
                    low: grid.low,
                    texel_m: size / Vec2::new(counts[0] as f32, counts[1] as f32),
                    counts,
                    at: [0, 0],
                }
            })
            .collect();
        let height = shelves(&mut parts);
        Self {
            parts,
            size: [WIDTH, height.max(1)],
        }
    }

    /// Width and height [texels].
    pub fn size(&self) -> [u32; 2] {
        self.size
    }

    /// All parts.
    pub fn parts(&self) -> &[MapPatch] {
        &self.parts
    }

    /// The part of one side of a polygon.
    pub fn part(&self, owner: usize, back: bool) -> Option<&MapPatch> {
        self.parts
            .iter()
            .find(|p| p.owner == owner && p.back == back)
    }

    /// Where a point [m] of the polygon's frame is read, 0..=1 over the atlas.
    pub fn uv(&self, part: &MapPatch, point: Vec2) -> Vec2 {
        let texel =
            (point - part.low) / part.texel_m + Vec2::new(part.at[0] as f32, part.at[1] as f32);
        texel / Vec2::new(self.size[0] as f32, self.size[1] as f32)
    }

    /// Texels of all parts together.
    pub fn texel_count(&self) -> usize {
        self.parts.iter().map(MapPatch::texel_count).sum()
    }

    /// Traces one fixture's direct light at every texel, shadows included.
    pub fn trace_fixture(&self, room: &RoomLight, fixture: usize, rays: u32) -> FixtureTexels {
        self.parts
            .par_iter()
            .flat_map_iter(|part| {
                let scene = room.scene();
                let polygon = scene.surfaces.get(part.owner).map_or_else(
                    || &scene.panes[part.owner - scene.surfaces.len()].polygon,
                    |s| &s.polygon,
                );
                let frame = polygon.frame();
                let normal = if part.back { -frame.z_dir } else { frame.z_dir };
                (0..part.texel_count()).map(move |texel| {
                    let p = part.centre(texel);
                    let point = frame.point(p.x, p.y) + normal * 2e-3;
                    let seed = crate::sampling::hash(part.owner as u32, texel as u32);
                    let sum: f32 = (0..rays.max(1))
                        .map(|k| room.fixture_at(fixture, point, normal, k, seed))
                        .sum();
                    sum / rays.max(1) as f32
                })
            })
            .collect()
    }

    /// Luminance of every texel of the atlas with its colour [cd/m2, linear Rec. 709], without the sun's direct light.
    ///
    /// `fixtures` holds the traced texels of each fixture where they are ready; the patches' values stand
    /// in for the others.
    pub fn compose(
        &self,
        room: &RoomLight,
        light: &ColouredLight,
        fixtures: &[Option<&FixtureTexels>],
    ) -> Vec<Vec3> {
        let fine = |f: usize| fixtures.get(f).copied().flatten();
        let strengths = &light.state.strengths.fixtures;
        let list = room.patches().list();
        // What is interpolated: everything but the sun and the fixtures that are traced at texels.
        let mut smooth_cd_m2: Vec<Vec3> = list
            .iter()
            .enumerate()
            .map(|(i, patch)| {
                light.mixed(|p| {
                    let state = &light.parts[p].state;
                    if patch.twin.is_some() {
                        return state.luminance_cd_m2[i];
                    }
                    let traced: f32 = state
                        .strengths
                        .fixtures
                        .iter()
                        .enumerate()
                        .filter(|(f, s)| **s > 0.0 && fine(*f).is_some())
                        .map(|(f, s)| s * room.fixture_direct_lx(f)[i])
                        .sum();
                    let rest = state.patch_illuminance_lx[i] - state.patch_sun_lx[i] - traced;
                    patch.reflectance * rest.max(0.0) / PI
                })
            })
            .collect();
        for part in &self.parts {
            if let Some(grid) = room.patches().grid(part.owner, part.back) {
                calm(&grid, &mut smooth_cd_m2);
            }
        }
        let mut firsts = Vec::with_capacity(self.parts.len());
        let mut first = 0;
        for part in &self.parts {
            firsts.push(first);
            first += part.texel_count();
        }
        let values: Vec<Vec<Vec3>> = self
            .parts
            .par_iter()
            .zip(firsts)
            .map(|(part, first)| {
                let Some(grid) = room.patches().grid(part.owner, part.back) else {
                    return vec![Vec3::ZERO; part.texel_count()];
                };
                let reflectance = (0..grid.counts[0] * grid.counts[1])
                    .find_map(|i| grid.patch(i % grid.counts[0], i / grid.counts[0]))
                    .map_or(0.0, |p| list[p].reflectance);
                let lit: Vec<(Vec3, &FixtureTexels)> = strengths
                    .iter()
                    .enumerate()
                    .filter(|(_, s)| **s > 0.0)
                    .filter_map(|(f, s)| {
                        let colour = light.sources.fixtures_rgb[f];
                        Some((colour * (*s * reflectance / PI), fine(f)?))
                    })
                    .collect();
                (0..part.texel_count())
                    .map(|texel| {
                        let direct: Vec3 = lit
                            .iter()
                            .map(|(rgb, texels)| *rgb * texels[first + texel])
                            .sum();
                        interpolate(&grid, part.centre(texel), &smooth_cd_m2) + direct
                    })
                    .collect()
            })
            .collect();
        let mut atlas = vec![Vec3::ZERO; (self.size[0] * self.size[1]) as usize];
        for (part, values) in self.parts.iter().zip(&values) {
            part.write(values, self.size[0], &mut atlas);
        }
        atlas
    }
}

impl MapPatch {
    fn texel_count(&self) -> usize {
        (self.counts[0] * self.counts[1]) as usize
    }

    /// Middle of a texel in the polygon's frame [m].
    fn centre(&self, texel: usize) -> Vec2 {
        let (x, y) = (texel as u32 % self.counts[0], texel as u32 / self.counts[0]);
        self.low + self.texel_m * Vec2::new(x as f32 + 0.5, y as f32 + 0.5)
    }

    /// Copies values into the atlas with their border.
    fn write(&self, values: &[Vec3], width: u32, atlas: &mut [Vec3]) {
        for y in 0..self.counts[1] + 2 * BORDER {
            for x in 0..self.counts[0] + 2 * BORDER {
                let inside = |v: u32, count: u32| v.saturating_sub(BORDER).min(count - 1);
                let (sx, sy) = (inside(x, self.counts[0]), inside(y, self.counts[1]));
                let to = (self.at[1] + y - BORDER) * width + self.at[0] + x - BORDER;
                atlas[to as usize] = values[(sy * self.counts[0] + sx) as usize];
            }
        }
    }
}

/// Places parts on shelves, the highest first; returns the height used.
fn shelves(parts: &mut [MapPatch]) -> u32 {
    let mut order: Vec<usize> = (0..parts.len()).collect();
    order.sort_by_key(|i| std::cmp::Reverse(parts[*i].counts[1]));
    let (mut x, mut y, mut shelf) = (0, 0, 0);
    for i in order {
        let part = &mut parts[i];
        let (w, h) = (part.counts[0] + 2 * BORDER, part.counts[1] + 2 * BORDER);
        if x + w > WIDTH {
            (x, y, shelf) = (0, y + shelf, 0);
        }
        part.at = [x + BORDER, y + BORDER];
        x += w;
        shelf = shelf.max(h);
    }
    y + shelf
}

/// Takes the sampling noise of a percent or two out of the cells of one surface, which the tone curve would show
/// as blotches: each cell becomes a mean of its neighbours, weighted down where they differ by more than noise
/// does, so that shadows keep their edges. C. Tomasi and R. Manduchi, "Bilateral filtering", 1998 (from memory).
fn calm(grid: &PatchGrid, values: &mut [Vec3]) {
    /// Spread of the logarithm that still counts as noise.
    const NOISE: f32 = 0.06;
    const PASSES: usize = 3;
    let [columns, rows] = grid.counts;
    for _ in 0..PASSES {
        let mut calmed = Vec::new();
        for cell in 0..columns * rows {
            let (i, j) = (cell % columns, cell / columns);
            let Some(own) = grid.patch(i, j) else {
                continue;
            };
            let here = luminance(values[own]).max(1e-6);
            let (mut sum, mut weight) = (Vec3::ZERO, 0.0);
            for dj in -1..=1_i64 {
                for di in -1..=1_i64 {
                    let (x, y) = (i as i64 + di, j as i64 + dj);
                    if x < 0 || y < 0 || x >= columns as i64 || y >= rows as i64 {
                        continue;
                    }
                    let Some(patch) = grid.patch(x as _, y as _) else {
                        continue;
                    };
                    let off = (luminance(values[patch]).max(1e-6) / here).ln() / NOISE;
                    let near = 1.0 / (1 + di.abs() + dj.abs()) as f32;
                    let w = near * (-0.5 * off * off).exp();
                    sum += values[patch] * w;
                    weight += w;
                }
            }
            calmed.push((own, sum / weight.max(1e-6)));
        }
        for (patch, value) in calmed {
            values[patch] = value;
        }
    }
}

/// Linear between the centres of the cells, over those that the polygon has a part in.
fn interpolate(grid: &PatchGrid, point: Vec2, values: &[Vec3]) -> Vec3 {
    let q = (point - grid.low) / grid.cell_m - 0.5;
    let last = Vec2::new(grid.counts[0] as f32 - 1.0, grid.counts[1] as f32 - 1.0);
    let q = q.clamp(Vec2::ZERO, last);
    let base = q.floor();
    let f = q - base;
    let (mut sum, mut weights) = (Vec3::ZERO, 0.0);
    for (dx, dy) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
        let column = (base.x as u32 + dx).min(grid.counts[0] - 1);
        let row = (base.y as u32 + dy).min(grid.counts[1] - 1);
        let wx = if dx == 1 { f.x } else { 1.0 - f.x };
        let wy = if dy == 1 { f.y } else { 1.0 - f.y };
        if let Some(patch) = grid.patch(column, row) {
            // A hair of weight for every neighbour, so that a corner without patches borrows one.
            let weight = wx * wy + 1e-4;
            sum += values[patch] * weight;
            weights += weight;
        }
    }
    if weights > 0.0 {
        sum / weights
    } else {
        Vec3::ZERO
    }
}
