//! Sample points and the maps that turn them into directions, normals and choices.
//!
//! Every distribution comes as a pair named alike: `sample_x` maps numbers in `[0, 1)` to a sample,
//! `x_pdf_*` gives its density and names the measure. Nothing here holds state: the caller brings the
//! points (see [`Sequence`]), so that the same seed gives the same bits on any thread count.

pub mod cosine;
pub mod ggx_visible;
pub mod low_discrepancy;
pub mod normal;
mod sequence;

pub use sequence::{DIMENSION_COUNT, Sequence, hash};

/// The largest single-precision number below 1.
pub const ONE_BELOW: f32 = 1.0 - f32::EPSILON / 2.0;
