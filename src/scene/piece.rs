//! The piece as hung: tiles with frames in the world, and the wall around it.

use glam::Vec3;

use crate::{geometry::Frame, material::Brdf};

/// Points spread over each tile at which light and eye are taken.
pub const POINTS_PER_TILE: usize = 32;

/// One tile in the world.
#[derive(Clone, Debug, PartialEq)]
pub struct HungTile {
    /// Number on the hanging sheet.
    pub id: u32,
    /// Frame at the tile's middle: +X along the grain arrow, +Z off the face.
    pub frame: Frame,
    /// Points [m, world] spread evenly over the face, a little in front of it.
    pub points: [Vec3; POINTS_PER_TILE],
    /// Area [m2].
    pub area_m2: f32,
    /// Index in [`HungPiece::materials`].
    pub material_index: u32,
}

/// The piece on its wall.
#[derive(Clone, Debug, PartialEq)]
pub struct HungPiece {
    /// Tiles in order of id.
    pub tiles: Vec<HungTile>,
    /// Reflection model of each material.
    pub materials: Vec<Brdf>,
    /// Name of each material.
    pub material_names: Vec<String>,
    /// Middle of the piece [m, world].
    pub centre: Vec3,
    /// Wall normal into the room, unit.
    pub normal: Vec3,
    /// Points [m, world] on the wall around the piece, a little in front of it.
    pub surround_points: Vec<Vec3>,
    /// Diffuse reflectance of the wall around, 0..=1.
    pub surround_reflectance: f32,
    /// Pairs of tiles that share an edge, as indices in `tiles`.
    pub neighbours: Vec<(u32, u32)>,
}

impl HungPiece {
    /// Reflection model of a tile.
    #[inline]
    pub fn brdf(&self, tile: &HungTile) -> &Brdf {
        &self.materials[tile.material_index as usize]
    }

    /// Areas of all tiles [m2], in order.
    pub fn areas_m2(&self) -> Vec<f32> {
        self.tiles.iter().map(|t| t.area_m2).collect()
    }
}
