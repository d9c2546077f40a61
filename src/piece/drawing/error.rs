//! What can be wrong with a drawing, and what is worth saying about one that is not.

use super::precheck::{MAX_DRAWING_BYTES, MAX_ELEMENTS, MAX_NESTING};

/// Why a drawing cannot be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DrawingError {
    /// The file is larger than any drawing of a piece.
    #[error("{name} has {bytes} bytes, more than {MAX_DRAWING_BYTES}")]
    TooLarge {
        /// File.
        name: String,
        /// Size found [bytes].
        bytes: usize,
    },
    /// The file is compressed.
    #[error("{name} is a compressed drawing (SVGZ)")]
    Compressed {
        /// File.
        name: String,
    },
    /// The file is not text in UTF-8.
    #[error("{name} is not text in UTF-8 (byte {at})")]
    NotUtf8 {
        /// File.
        name: String,
        /// First bad byte, from 0.
        at: usize,
    },
    /// The text is not XML.
    #[error("{name}:{line}:{column}: {why}")]
    Xml {
        /// File.
        name: String,
        /// Line, from 1.
        line: usize,
        /// Column in characters, from 1.
        column: usize,
        /// What the reader met.
        why: String,
    },
    /// The root is not an `svg` element.
    #[error("{name} is XML but its root is <{root}>, not <svg>")]
    NotSvg {
        /// File.
        name: String,
        /// Root found.
        root: String,
    },
    /// Definitions that only serve to blow up a reader.
    #[error("{name} has {what}, {count}, more than {max}")]
    TooMany {
        /// File.
        name: String,
        /// Of what.
        what: &'static str,
        /// Number found, or a lower bound of it.
        count: u64,
        /// Most allowed.
        max: u64,
    },
    /// Groups in groups, uses included.
    #[error("{name} nests elements more than {MAX_NESTING} deep")]
    TooDeep {
        /// File.
        name: String,
    },
    /// An element that contains itself through a reference.
    #[error("{name}:{line}: element {id:?} contains itself")]
    SelfReference {
        /// File.
        name: String,
        /// Line of the reference, from 1.
        line: usize,
        /// Id referred to.
        id: String,
    },
    /// References that multiply.
    #[error("{name} expands to {count} elements, more than {MAX_ELEMENTS}")]
    Explosion {
        /// File.
        name: String,
        /// Elements after expansion (a lower bound).
        count: u64,
    },
    /// A coordinate or radius that no drawing of a piece has.
    #[error("{name}:{line}: {attribute} has the number {number}, beyond 10000000")]
    HugeNumber {
        /// File.
        name: String,
        /// Line of the element, from 1.
        line: usize,
        /// Attribute.
        attribute: String,
        /// Number as written, cut to 40 characters.
        number: String,
    },
    /// A width or height that is no length.
    #[error("{name}: {attribute}={value:?} is not a length")]
    BadLength {
        /// File.
        name: String,
        /// `width` or `height`.
        attribute: &'static str,
        /// Text found.
        value: String,
    },
    /// Nothing says how large the drawing is.
    #[error("{name} does not say its size in millimetres")]
    NoPhysicalSize {
        /// File.
        name: String,
        /// Size in the drawing's own units.
        units: (f32, f32),
    },
    /// The page is larger or smaller than any piece.
    #[error("{name} is {width_m} m by {height_m} m, not within 0.001 m to 100 m")]
    PageSize {
        /// File.
        name: String,
        /// Width [m].
        width_m: f64,
        /// Height [m].
        height_m: f64,
    },
    /// The width asked for is not one.
    #[error("width_m {width_m} is not within 0.001 to 100")]
    WidthOption {
        /// Value given [m].
        width_m: f32,
    },
    /// The drawing makes its reader fail.
    #[error("{name} has sizes or transforms that cannot be computed")]
    Absurd {
        /// File.
        name: String,
    },
    /// The drawing is XML but cannot be drawn.
    #[error("{name}: {why}")]
    Unreadable {
        /// File.
        name: String,
        /// What the reader met.
        why: String,
    },
}

impl DrawingError {
    /// Line and column (both from 1) where known.
    pub fn position(&self) -> Option<(usize, usize)> {
        match self {
            Self::Xml { line, column, .. } => Some((*line, *column)),
            Self::SelfReference { line, .. } | Self::HugeNumber { line, .. } => Some((*line, 1)),
            _ => None,
        }
    }

    /// What to do about it.
    pub fn help(&self) -> String {
        match self {
            Self::TooLarge { .. } | Self::TooMany { .. } => {
                "export only the outlines, without pictures, text and hidden layers"
            }
            Self::Compressed { .. } => "save it as plain SVG",
            Self::NotUtf8 { .. } => "save it as SVG in UTF-8",
            Self::Xml { .. } | Self::NotSvg { .. } | Self::Unreadable { .. } => {
                "save it again as plain SVG"
            }
            Self::TooDeep { .. } => "ungroup the drawing",
            Self::Absurd { .. } => {
                "look for shapes that are immensely large or small, and remove gradients"
            }
            Self::SelfReference { .. } => "remove the reference, or replace it by a copy",
            Self::HugeNumber { .. } => "mend the number; it is probably a slip of a program",
            Self::Explosion { .. } => "unlink clones and keep only what is part of the piece",
            Self::BadLength { .. } => "write a number and a unit without a blank, such as 1800mm",
            Self::NoPhysicalSize { .. } | Self::PageSize { .. } => {
                "set width and height of the page in mm, or give width_m"
            }
            Self::WidthOption { .. } => "give the width of the whole drawing in metres",
        }
        .to_owned()
    }
}

/// Something a person should know about a drawing that could be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DrawingWarning {
    /// The size is in pixels, which programs take as 1/96, 1/90 or 1/72 inch.
    #[error(
        "the size {width_px} x {height_px} is in pixels, taken as 1/96 inch; some programs mean 1/72 or 1/90"
    )]
    SizeInPixels {
        /// Width [px].
        width_px: f32,
        /// Height [px].
        height_px: f32,
    },
    /// No size and no view box: user units are pixels.
    #[error("the drawing has no size and no view box, one unit is taken as 1/96 inch")]
    NoSizeNoViewBox,
    /// Page and view box differ in shape.
    #[error(
        "page and view box differ in shape by {percent:.1} %, the drawing is fitted into the page"
    )]
    AspectMismatch {
        /// Difference of the ratios of width to height [%].
        percent: f64,
    },
    /// Lines that enclose nothing by themselves.
    #[error("{count} open line(s) are not tiles; close_lines makes tiles of what lines enclose")]
    OpenLines {
        /// Number.
        count: usize,
    },
    /// Lines were joined to outlines.
    #[error("{lines} open line(s) enclose {outlines} outline(s)")]
    LinesClosed {
        /// Open lines.
        lines: usize,
        /// Outlines made.
        outlines: usize,
    },
    /// The same outline more than once.
    #[error("{count} outline(s) are there more than once and count once")]
    Duplicates {
        /// Number left out.
        count: usize,
    },
    /// Outlines around others that are no tiles.
    #[error(
        "{count} outline(s), first {first_id:?}, lie around others and are taken as frame or background, not as tiles"
    )]
    Frames {
        /// Number left out.
        count: usize,
        /// Id of the first, often empty.
        first_id: String,
    },
    /// Outlines with others let into them.
    #[error("{count} outline(s), first {first_id:?}, have others let into them")]
    Inlays {
        /// Number of outlines with inlays.
        count: usize,
        /// Id of the first, often empty.
        first_id: String,
    },
    /// Text and pictures.
    #[error("{count} text(s) and picture(s) ignored")]
    TextOrPictures {
        /// Number.
        count: usize,
    },
    /// Invisible elements.
    #[error("{count} invisible outline(s) ignored")]
    Invisible {
        /// Number.
        count: usize,
    },
    /// A clip that is not a single convex outline.
    #[error("{count} clip(s) that are not one convex outline ignored")]
    ClipsIgnored {
        /// Number.
        count: usize,
    },
    /// Lines more than a kilometre away.
    #[error("{count} line(s) lie far off the page and are ignored")]
    FarAway {
        /// Number.
        count: usize,
    },
    /// Closed lines without area.
    #[error("{count} closed line(s) enclose less than 1 mm2 and are ignored")]
    NoArea {
        /// Number.
        count: usize,
    },
    /// Closed lines that cross themselves.
    #[error("{count} closed line(s) cross themselves")]
    SelfCrossing {
        /// Number.
        count: usize,
    },
}
