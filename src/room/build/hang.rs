//! The piece in place: its tiles in the world, and the models of its materials.

use std::{
    collections::BTreeMap,
    sync::{Mutex, PoisonError},
};

use glam::{Vec2, Vec3};

use super::{IN_FRONT_M, LoadError, surround::surround};
use crate::{
    geometry::Frame,
    material::{Brdf, Library, MaterialSpec},
    piece::Tiling,
    room::{
        RoomFile,
        schema::{Placement, Support},
        walk::world,
        wall::{self, is_inside},
    },
    scene::{HungPiece, HungTile, POINTS_PER_TILE},
};

/// World frame of a placement: origin at the piece's middle on its support, +X to the right as seen
/// from the front, +Y up the piece, +Z off its face; before turn and mirroring.
fn support_frame(file: &RoomFile, placement: &Placement) -> Frame {
    match &placement.on {
        Support::Wall {
            space,
            wall,
            along_m,
        } => {
            // Validation has checked both.
            let Some(space) = file.spaces.iter().find(|s| &s.name == space) else {
                return Frame::new(Vec3::ZERO, Vec3::Z, Vec3::X);
            };
            let line = wall::wall(space, *wall);
            let at = line.at(*along_m, 0.0);
            let normal = line.normal();
            Frame::new(
                world(at.x, at.y, line.floor_m + placement.centre_m),
                normal,
                Vec3::Y.cross(normal),
            )
        }
        Support::Stand {
            at_m,
            facing_deg,
            lean_deg,
        } => {
            let (sin, cos) = facing_deg.to_radians().sin_cos();
            let level = world(sin, cos, 0.0);
            let (up, out) = lean_deg.to_radians().sin_cos();
            let normal = level * out + Vec3::Y * up;
            let floor_m = file
                .spaces
                .iter()
                .find(|s| is_inside(s, Vec2::new(at_m.0, at_m.1)))
                .map_or(0.0, |s| s.floor_m);
            Frame::new(
                world(at_m.0, at_m.1, floor_m + placement.centre_m),
                normal,
                Vec3::Y.cross(level),
            )
        }
    }
}

/// Where a piece's own plane lies in the world: its support, turn and mirroring.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PiecePlace {
    /// Origin at the piece's middle on its support, +X to the right as seen from the front, +Y up, +Z off
    /// the face; before turn and mirroring.
    pub frame: Frame,
    sin_cos_turn: (f32, f32),
    flip: f32,
}

impl PiecePlace {
    /// The place of a validated placement.
    pub fn new(file: &RoomFile, placement: &Placement) -> Self {
        Self {
            frame: support_frame(file, placement),
            sin_cos_turn: placement.turn_deg.to_radians().sin_cos(),
            flip: if placement.mirrored { -1.0 } else { 1.0 },
        }
    }

    /// From the piece's own plane to the support's plane [m].
    pub fn on_support(&self, p: Vec2) -> Vec2 {
        let (sin, cos) = self.sin_cos_turn;
        let p = Vec2::new(p.x * self.flip, p.y);
        Vec2::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos)
    }

    /// World point [m] of a point of the piece [m], `out_m` in front of the support.
    pub fn point(&self, p: Vec2, out_m: f32) -> Vec3 {
        let q = self.on_support(p);
        self.frame.point(q.x, q.y) + self.frame.z_dir * out_m
    }

    /// World direction of a direction in the piece's plane.
    pub fn direction(&self, p: Vec2) -> Vec3 {
        let q = self.on_support(p);
        self.frame.x_dir * q.x + self.frame.y_dir * q.y
    }

    /// The point of the piece [m] before a world point: the inverse of [`PiecePlace::point`].
    pub fn piece_from_world(&self, world: Vec3) -> Vec2 {
        let d = world - self.frame.origin;
        let q = Vec2::new(d.dot(self.frame.x_dir), d.dot(self.frame.y_dir));
        let (sin, cos) = self.sin_cos_turn;
        let p = Vec2::new(q.x * cos + q.y * sin, -q.x * sin + q.y * cos);
        Vec2::new(p.x * self.flip, p.y)
    }
}

/// What the outlines of a tiling give wherever it hangs: points on every tile, and who touches whom.
#[derive(Debug)]
pub(super) struct Flat {
    /// Points [m] of each tile in the piece's plane.
    points_m: Vec<[Vec2; POINTS_PER_TILE]>,
    /// Indices of tiles that share an edge.
    neighbours: Vec<(u32, u32)>,
}

impl Flat {
    pub(super) fn new(tiling: &Tiling) -> Self {
        let points = |(index, tile): (usize, &crate::piece::Tile)| {
            let flat = tiling.sample_points(index, POINTS_PER_TILE, u64::from(tile.id));
            std::array::from_fn(|k| flat.get(k).copied().unwrap_or(tile.centroid_m))
        };
        Self {
            points_m: tiling.tiles.iter().enumerate().map(points).collect(),
            neighbours: tiling
                .neighbours()
                .iter()
                // Tiles are numbered from 1 in their own order.
                .map(|(a, b, _)| (a - 1, b - 1))
                .collect(),
        }
    }
}

/// Hangs a tiling: tiles in the world, the wall around, and the materials' models.
pub(super) fn hang(
    file: &RoomFile,
    (tiling, flat, models): (&Tiling, &Flat, &Models),
    placement: &Placement,
    notes: &mut Vec<String>,
) -> Result<(Vec<MaterialSpec>, HungPiece), LoadError> {
    let (specs, models) = materials(file, tiling, placement.mirrored, models)?;
    let place = PiecePlace::new(file, placement);
    let frame = place.frame;
    let face_m = tiling.thickness_m;
    let to_world = |p: Vec2, out_m: f32| place.point(p, out_m);
    let dir_world = |angle: f32| place.direction(Vec2::from_angle(angle));
    let tiles = tiling
        .tiles
        .iter()
        .enumerate()
        .map(|(index, tile)| {
            let lean = dir_world(tile.tilt_toward_rad);
            let normal = frame.z_dir * tile.tilt_rad.cos() + lean * tile.tilt_rad.sin();
            let centre = to_world(tile.centroid_m, face_m);
            HungTile {
                id: tile.id,
                frame: Frame::new(
                    centre + frame.z_dir * IN_FRONT_M,
                    normal,
                    dir_world(tile.grain_rad),
                ),
                points: flat.points_m[index].map(|p| to_world(p, face_m + IN_FRONT_M)),
                area_m2: tile.area_m2,
                material_index: tile.material as u32,
            }
        })
        .collect();
    let (low, high) = tiling.bounds();
    let corners = [
        low,
        high,
        Vec2::new(low.x, high.y),
        Vec2::new(high.x, low.y),
    ]
    .map(|p| place.on_support(p));
    let low = corners.iter().fold(Vec2::MAX, |a, b| a.min(*b));
    let high = corners.iter().fold(Vec2::MIN, |a, b| a.max(*b));
    let (surround_points, surround_reflectance) =
        surround(file, placement, &frame, low, high, notes)?;
    Ok((
        specs,
        HungPiece {
            tiles,
            materials: models,
            material_names: tiling.materials.clone(),
            centre: frame.origin,
            normal: frame.z_dir,
            surround_points,
            surround_reflectance,
            neighbours: flat.neighbours.clone(),
        },
    ))
}

/// Reflection models made before, by name and mirroring: their tables take tens of milliseconds.
#[derive(Debug, Default)]
pub(super) struct Models(Mutex<BTreeMap<(String, bool), (MaterialSpec, Brdf)>>);

/// Definitions and models of a tiling's materials.
fn materials(
    file: &RoomFile,
    tiling: &Tiling,
    mirrored: bool,
    models: &Models,
) -> Result<(Vec<MaterialSpec>, Vec<Brdf>), LoadError> {
    // A thread that panicked left the models as they were.
    let mut known = models.0.lock().unwrap_or_else(PoisonError::into_inner);
    let mut found = Vec::new();
    for name in &tiling.materials {
        let at = (name.clone(), mirrored);
        let made = match known.get(&at) {
            Some(made) => made.clone(),
            None => {
                let made = material(file, name, mirrored)?;
                known.insert(at, made.clone());
                made
            }
        };
        found.push(made);
    }
    Ok(found.into_iter().unzip())
}

fn material(
    file: &RoomFile,
    name: &str,
    mirrored: bool,
) -> Result<(MaterialSpec, Brdf), LoadError> {
    let faulty = |name: &str| {
        let name = name.to_owned();
        move |source| LoadError::Material {
            name,
            source: Box::new(source),
        }
    };
    let library = Library::built_in().map_err(faulty("library"))?;
    let spec = file
        .materials
        .get(name)
        .or_else(|| library.get(name).ok())
        .ok_or_else(|| LoadError::UnknownMaterial {
            name: name.to_owned(),
            near: near_materials(name, &library),
        })?;
    let spec = if mirrored {
        spec.mirrored()
    } else {
        spec.clone()
    };
    let model = spec.brdf().map_err(faulty(name))?;
    Ok((spec, model))
}

/// The library's materials that are nearest to an unknown name, or all.
pub(in crate::room) fn near_materials(name: &str, library: &Library) -> String {
    let near = library.suggestions(name);
    if near.is_empty() {
        format!("known: {}", library.names().collect::<Vec<_>>().join(", "))
    } else {
        format!("did you mean {}?", near.join(" or "))
    }
}
