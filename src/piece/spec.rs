//! The piece file as a person writes it.
//!
//! RON with a `version`; unknown keys are refused. Lengths are metres where a key ends in `_m`,
//! millimetres in `_mm`; angles are degrees. Coordinates have their origin at the centre of the
//! piece, x to the right and y up, seen from the front. The same value can stand in a room file,
//! where `version` may be left out.

use serde::{Deserialize, Serialize};

use super::grain::GrainRule;
use super::material_rule::MaterialRule;
use super::tilt::TiltRule;

/// The version of the piece format that this program writes.
pub const PIECE_VERSION: u32 = 1;

/// A piece as its file says it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PieceSpec {
    /// Format version; must be given in a file of its own.
    #[serde(default)]
    pub version: u32,
    /// Name of the piece.
    #[serde(default)]
    pub name: String,
    /// Anything worth keeping with it.
    #[serde(default)]
    pub note: String,
    /// Width [m], 0.01 to 50.
    pub width_m: f32,
    /// Height [m], 0.01 to 50.
    pub height_m: f32,
    /// Thickness of the tiles [mm], 0 to 500; 3 if not given.
    #[serde(default = "default_thickness_mm")]
    pub thickness_mm: f32,
    /// Joint between tiles [mm], 0 to 50: half of it is taken off each tile along inner edges.
    #[serde(default)]
    pub joint_mm: f32,
    /// A frame around the piece.
    #[serde(default, with = "bare_option", skip_serializing_if = "Option::is_none")]
    pub frame: Option<FrameSpec>,
    /// How the surface is divided.
    pub layout: Layout,
}

fn default_thickness_mm() -> f32 {
    3.0
}

/// A frame around the piece, outside its width and height.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FrameSpec {
    /// Width seen from the front [mm], 1 to 500.
    pub width_mm: f32,
    /// Depth in front of the tiles' faces [mm], 0 to 500.
    pub depth_mm: f32,
}

/// One tile written out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InlineTile {
    /// Corners [m], either way round; or else `rect_m`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub outline_m: Vec<(f32, f32)>,
    /// Left, bottom, width, height [m]; or else `outline_m`.
    #[serde(default, with = "bare_option", skip_serializing_if = "Option::is_none")]
    pub rect_m: Option<(f32, f32, f32, f32)>,
    /// Name of the material.
    pub material: String,
    /// Grain arrow [deg], -720 to 720.
    #[serde(default)]
    pub grain_deg: f32,
    /// Lean of the face out of the piece's plane [deg], 0 to 30.
    #[serde(default)]
    pub tilt_deg: f32,
    /// Direction the face leans toward [deg], -720 to 720.
    #[serde(default)]
    pub tilt_toward_deg: f32,
    /// A name for reports.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub label: String,
}

/// How the surface is divided into tiles. All but `Fan` and written or drawn tiles fill the piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Layout {
    /// Tiles written out; they keep their order.
    Tiles(Vec<InlineTile>),
    /// Equal rectangles in columns and rows; row 0 is at the top.
    Grid {
        /// Columns, 1 to 1000.
        columns: u32,
        /// Rows, 1 to 1000.
        rows: u32,
        /// Shift of every other row to the right as a part of a tile's width, 0 to 1 (0.5: as in a
        /// brick wall). Cut tiles fill the ends.
        #[serde(default)]
        stagger: f32,
        /// Grain rule.
        #[serde(default)]
        grain: GrainRule,
        /// Tilt rule.
        #[serde(default)]
        tilt: TiltRule,
        /// Material rule.
        material: MaterialRule,
    },
    /// Strips of equal width side by side, the arrow changing evenly from the first to the last.
    GradedStrip {
        /// Strips, 1 to 2000.
        count: u32,
        /// Arrow of the first strip [deg].
        from_deg: f32,
        /// Arrow of the last strip [deg].
        to_deg: f32,
        /// Side by side from left to right (false) or one above the other from the top (true).
        #[serde(default)]
        horizontal: bool,
        /// Tilt rule.
        #[serde(default)]
        tilt: TiltRule,
        /// Material rule; strips are columns (or rows, if horizontal).
        material: MaterialRule,
    },
    /// Planks that meet at right angles, each end on a neighbour's side. Column 0 is the planks at
    /// `angle_deg`, column 1 those across; the natural arrow runs along the plank.
    Herringbone {
        /// Length of a plank [m], at least its width.
        length_m: f32,
        /// Width of a plank [m], 0.002 to 5.
        plank_width_m: f32,
        /// Direction of the first planks [deg]; 45 (the default) lets the zigzag run upright.
        #[serde(default = "default_herringbone_deg")]
        angle_deg: f32,
        /// Grain rule.
        #[serde(default)]
        grain: GrainRule,
        /// Tilt rule.
        #[serde(default)]
        tilt: TiltRule,
        /// Material rule.
        material: MaterialRule,
    },
    /// Regular hexagons, one of them on the centre.
    Hexagons {
        /// Distance between opposite sides [m], 0.005 to 10.
        across_m: f32,
        /// Corners up (false) or sides up (true).
        #[serde(default)]
        flat_top: bool,
        /// Grain rule.
        #[serde(default)]
        grain: GrainRule,
        /// Tilt rule.
        #[serde(default)]
        tilt: TiltRule,
        /// Material rule.
        material: MaterialRule,
    },
    /// Rays from a centre to the edges of the piece; the natural arrow points outwards.
    Sunburst {
        /// Rays, 3 to 2000.
        rays: u32,
        /// Rings the rays are cut into, 1 to 200, of equal width from the nearest point of the piece
        /// to the farthest corner.
        #[serde(default = "one")]
        rings: u32,
        /// Centre [m]; may lie outside the piece.
        #[serde(default)]
        centre_m: (f32, f32),
        /// Direction of the first cut [deg].
        #[serde(default)]
        from_deg: f32,
        /// Grain rule.
        #[serde(default)]
        grain: GrainRule,
        /// Tilt rule.
        #[serde(default)]
        tilt: TiltRule,
        /// Material rule; rings are rows, rays are columns.
        material: MaterialRule,
    },
    /// A fan of blades between two radii and two directions; what it leaves of the piece is bare.
    Fan {
        /// Blades, 1 to 2000; each spans less than 180 degrees.
        blades: u32,
        /// Rings the blades are cut into, 1 to 200, of equal width.
        #[serde(default = "one")]
        rings: u32,
        /// Centre [m].
        #[serde(default)]
        centre_m: (f32, f32),
        /// Direction of the right side of the fan [deg].
        from_deg: f32,
        /// Direction of its left side [deg], counter-clockwise from `from_deg`, at most 360 on.
        to_deg: f32,
        /// Inner radius [m], 0 for a point.
        #[serde(default)]
        inner_m: f32,
        /// Outer radius [m].
        outer_m: f32,
        /// Grain rule.
        #[serde(default)]
        grain: GrainRule,
        /// Tilt rule.
        #[serde(default)]
        tilt: TiltRule,
        /// Material rule; rings are rows, blades are columns.
        material: MaterialRule,
    },
    /// Rings of equal width around a centre, from the nearest point of the piece to its farthest
    /// corner; the natural arrow runs around them.
    Rings {
        /// Rings, 1 to 1000.
        count: u32,
        /// Segments of each ring, 2 to 1000; one number for all or one for each, taken in turn.
        segments: Vec<u32>,
        /// Centre [m]; may lie outside the piece.
        #[serde(default)]
        centre_m: (f32, f32),
        /// Turn of every other ring as a part of a segment, 0 to 1.
        #[serde(default)]
        stagger: f32,
        /// Grain rule.
        #[serde(default)]
        grain: GrainRule,
        /// Tilt rule.
        #[serde(default)]
        tilt: TiltRule,
        /// Material rule; rings are rows, segments are columns.
        material: MaterialRule,
    },
    /// Closed outlines of an SVG drawing.
    Drawing {
        /// File, as seen from the piece or room file.
        file: String,
        /// Width of the whole drawing [m], needed where it has no physical size.
        #[serde(default, with = "bare_option", skip_serializing_if = "Option::is_none")]
        width_m: Option<f32>,
        /// Where the centre of the drawing lies on the piece [m].
        #[serde(default)]
        offset_m: (f32, f32),
        /// Make tiles of what lines enclose, for drawings made of single edges.
        #[serde(default)]
        close_lines: bool,
        /// Grain rule.
        #[serde(default)]
        grain: GrainRule,
        /// Tilt rule.
        #[serde(default)]
        tilt: TiltRule,
        /// Material rule.
        material: MaterialRule,
    },
}

fn one() -> u32 {
    1
}

fn default_herringbone_deg() -> f32 {
    45.0
}

impl Layout {
    /// The word that stands in the file.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Tiles(_) => "Tiles",
            Self::Grid { .. } => "Grid",
            Self::GradedStrip { .. } => "GradedStrip",
            Self::Herringbone { .. } => "Herringbone",
            Self::Hexagons { .. } => "Hexagons",
            Self::Sunburst { .. } => "Sunburst",
            Self::Fan { .. } => "Fan",
            Self::Rings { .. } => "Rings",
            Self::Drawing { .. } => "Drawing",
        }
    }

    /// Grain, tilt and material rule; `None` for tiles written out.
    pub(crate) fn rules(&self) -> Option<(GrainRule, TiltRule, &MaterialRule)> {
        match self {
            Self::Tiles(_) => None,
            // The layout's own gradation is its natural arrow.
            Self::GradedStrip { tilt, material, .. } => Some((GrainRule::Natural, *tilt, material)),
            Self::Grid {
                grain,
                tilt,
                material,
                ..
            }
            | Self::Herringbone {
                grain,
                tilt,
                material,
                ..
            }
            | Self::Hexagons {
                grain,
                tilt,
                material,
                ..
            }
            | Self::Sunburst {
                grain,
                tilt,
                material,
                ..
            }
            | Self::Fan {
                grain,
                tilt,
                material,
                ..
            }
            | Self::Rings {
                grain,
                tilt,
                material,
                ..
            }
            | Self::Drawing {
                grain,
                tilt,
                material,
                ..
            } => Some((grain.clone(), *tilt, material)),
        }
    }

    /// Centre that radial rules go by [m]: that of rays and rings, else the piece's.
    pub(crate) fn centre_m(&self) -> glam::DVec2 {
        match self {
            Self::Sunburst { centre_m, .. }
            | Self::Fan { centre_m, .. }
            | Self::Rings { centre_m, .. } => {
                glam::DVec2::new(f64::from(centre_m.0), f64::from(centre_m.1))
            }
            _ => glam::DVec2::ZERO,
        }
    }
}

/// Options written as the bare value, so that a file does not need `Some(...)`.
mod bare_option {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub(super) fn serialize<S: Serializer, T: Serialize>(
        value: &Option<T>,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        match value {
            Some(value) => value.serialize(serializer),
            None => serializer.serialize_none(),
        }
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>, T: Deserialize<'de>>(
        deserializer: D,
    ) -> Result<Option<T>, D::Error> {
        T::deserialize(deserializer).map(Some)
    }
}
