//! The finished piece: tiles with outline, material and grain arrow.

use glam::Vec2;

use super::drawing::DrawingWarning;

/// Most tiles of one piece.
pub const MAX_TILES: usize = 20_000;

/// One flat cut of one material.
#[derive(Debug, Clone, PartialEq)]
pub struct Tile {
    /// Running number from 1. Tiles are numbered like words on a page, row by row from the top and
    /// from left to right; tiles written out in the file keep the order of the file. A row is all
    /// tiles whose centroids lie less than half a median tile height below its topmost one.
    pub id: u32,
    /// A name from the file or drawing, often empty.
    pub label: String,
    /// Corners [m], a simple polygon, counter-clockwise seen from the front. A tile with a hole
    /// runs around it too, joined by a cut of no width.
    pub outline_m: Vec<Vec2>,
    /// Centroid of the outline [m].
    pub centroid_m: Vec2,
    /// Area [m2].
    pub area_m2: f32,
    /// Index in [`Tiling::materials`].
    pub material: usize,
    /// Grain arrow [rad], 0..2 pi, from +x counter-clockwise seen from the front.
    pub grain_rad: f32,
    /// Lean of the face out of the plane of the piece [rad]; 0 for most.
    pub tilt_rad: f32,
    /// Direction in the plane of the piece that the face leans toward [rad], 0..2 pi.
    pub tilt_toward_rad: f32,
}

/// A frame around the piece, outside its width and height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Width seen from the front [m].
    pub width_m: f32,
    /// Depth in front of the tiles' faces [m].
    pub depth_m: f32,
}

/// Something a person should know about a piece that could be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PieceNote {
    /// The rule gives no direction at this tile, so its arrow points to the right.
    #[error("tile {tile}: the grain rule gives no direction here, taken as 0 deg")]
    GrainUndefined {
        /// Tile.
        tile: u32,
    },
    /// Cuts at the edge of the piece that are too small to make, or eaten by the joint.
    #[error(
        "{count} cut(s) below 1 mm2 or narrower than the joint left out, {area_mm2:.2} mm2 in all"
    )]
    SliversLeftOut {
        /// Number.
        count: usize,
        /// Area [mm2].
        area_mm2: f64,
    },
    /// The outlines are so complex that not all were checked for overlap.
    #[error("the outlines are too complex to check all of them for overlap")]
    OverlapsUnchecked,
    /// From reading the drawing.
    #[error("drawing: {0}")]
    Drawing(DrawingWarning),
}

/// A piece cut into tiles.
#[derive(Debug, Clone, PartialEq)]
pub struct Tiling {
    /// Name of the piece, often empty.
    pub name: String,
    /// Width of the piece [m].
    pub width_m: f32,
    /// Height of the piece [m].
    pub height_m: f32,
    /// Tiles in the order of their numbers.
    pub tiles: Vec<Tile>,
    /// Names of the materials, in the order in which the tiles first use them.
    pub materials: Vec<String>,
    /// Thickness of the tiles [m].
    pub thickness_m: f32,
    /// Joint between tiles [m].
    pub joint_m: f32,
    /// Frame, if any.
    pub frame: Option<Frame>,
    /// What a person should know.
    pub notes: Vec<PieceNote>,
}

impl Tiling {
    /// Lower left and upper right corner of all tiles [m]; both zero where there is none.
    pub fn bounds(&self) -> (Vec2, Vec2) {
        let mut corners = self.tiles.iter().flat_map(|t| t.outline_m.iter().copied());
        let Some(first) = corners.next() else {
            return (Vec2::ZERO, Vec2::ZERO);
        };
        corners.fold((first, first), |(low, high), p| (low.min(p), high.max(p)))
    }

    /// Area of all tiles [m2].
    pub fn area_m2(&self) -> f64 {
        self.tiles.iter().map(|t| f64::from(t.area_m2)).sum()
    }

    /// The tile with a running number.
    pub fn tile(&self, id: u32) -> Option<&Tile> {
        let index = usize::try_from(id).ok()?.checked_sub(1)?;
        self.tiles.get(index)
    }

    /// Name of a tile's material; empty for a tile of another piece.
    pub fn material_name(&self, tile: &Tile) -> &str {
        self.materials.get(tile.material).map_or("", String::as_str)
    }
}
