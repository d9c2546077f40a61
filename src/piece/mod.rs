//! The artwork as tiles: piece files, parametric layouts and drawings.
//!
//! A piece is a rectangle seen from the front, x to the right and y up, metres, origin at its
//! CENTRE. [`parse_piece`] reads RON into a [`PieceSpec`] (degrees and millimetres, as written);
//! [`PieceSpec::tiling`] checks it and makes a [`Tiling`] (radians and metres) of flat [`Tile`]s,
//! each with an outline, a material by name and a grain ARROW: angle 0 is +x, counter-clockwise
//! seen from the front, 0..2 pi. The arrow has a sense: it points to where the fibres rise out of
//! the face, so that turning a leaf end for end, or opening it like a book, shows.
//!
//! Limits: flat tiles only; curves become chords within 0.1 mm; at most [`MAX_TILES`] tiles.
//! Nothing here reads files: drawings come through a closure.

mod build;
mod check;
mod clip;
pub mod drawing;
mod error;
mod from_drawing;
mod grain;
mod inline;
mod layout;
mod material_rule;
mod neighbours;
mod overlap;
mod pairs;
mod parse;
mod polygon;
mod reading_order;
mod sample;
mod spec;
#[cfg(test)]
mod tests;
mod tiling;
mod tilt;

pub use error::{MAX_PROBLEMS, PieceError, PieceProblem};
pub use grain::{Along, GrainRule, Seam};
pub use material_rule::MaterialRule;
pub use parse::{MAX_PIECE_BYTES, parse_piece};
pub use spec::{FrameSpec, InlineTile, Layout, PIECE_VERSION, PieceSpec};
pub use tiling::{Frame, MAX_TILES, PieceNote, Tile, Tiling};
pub use tilt::TiltRule;
