//! What can go wrong when a drawing becomes a picture.

use resvg::usvg;

/// Error of the drawing modules.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// The text is not an SVG drawing.
    #[error("drawing does not parse as SVG")]
    Parse(#[from] usvg::Error),
    /// The scale is not a number above zero.
    #[error("scale {scale} of the picture is not a number above 0")]
    Scale {
        /// Pixels of the picture per pixel of the drawing.
        scale: f32,
    },
    /// The picture would have no pixels or too many.
    #[error("picture of {width} x {height} px is outside 1..={limit} px a side")]
    Size {
        /// Width asked for [px].
        width: f32,
        /// Height asked for [px].
        height: f32,
        /// Largest side allowed [px].
        limit: u32,
    },
    /// The template refused its data.
    #[error("the document cannot be set: {why}")]
    Document {
        /// What was wrong with it.
        why: String,
    },
    /// The PNG encoder failed.
    #[error("picture cannot be written as PNG: {why}")]
    Encode {
        /// What the encoder said.
        why: String,
    },
}
