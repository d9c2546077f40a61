//! The artwork, and where it hangs.

use serde::{Deserialize, Serialize};

use super::PlanPoint;
use crate::piece::PieceSpec;

/// The artwork.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum PieceSource {
    /// A piece file beside the room file.
    File(String),
    /// Written here.
    Inline(PieceSpec),
}

/// What the maker changed on one tile after the piece was laid out.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TileChange {
    /// Number of the tile.
    pub tile: u32,
    /// Grain arrow in place of the layout's, counter-clockwise from the right as seen from the front.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grain_deg: Option<f32>,
    /// Material in place of the layout's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
}

/// Where a piece hangs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Placement {
    /// Name.
    #[serde(default)]
    pub name: String,
    /// On what.
    pub on: Support,
    /// Height of its middle above the space's floor.
    pub centre_m: f32,
    /// Turn in its plane, counter-clockwise as seen from the front.
    #[serde(default)]
    pub turn_deg: f32,
    /// Whether it is mirrored left to right.
    #[serde(default)]
    pub mirrored: bool,
}

/// What carries a piece.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Support {
    /// A wall.
    Wall {
        /// Name of the space.
        space: String,
        /// Index of the wall.
        wall: usize,
        /// Distance from the wall's first corner to the middle of the piece.
        along_m: f32,
    },
    /// A stand in the room.
    Stand {
        /// Place on the plan.
        at_m: PlanPoint,
        /// Direction that the front faces, clockwise from plan +y.
        facing_deg: f32,
        /// Lean: positive tips the front upward.
        #[serde(default)]
        lean_deg: f32,
    },
}
