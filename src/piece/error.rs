//! What can be wrong with a piece, where it stands and what to do about it.

use super::drawing::DrawingError;
use super::spec::PIECE_VERSION;

/// Most problems listed for one piece; the rest are counted.
pub const MAX_PROBLEMS: usize = 100;

/// Why there is no piece.
#[derive(Debug, thiserror::Error)]
pub enum PieceError {
    /// The text is longer than any piece.
    #[error("{name} has {bytes} bytes, more than the {max} that a piece file may have")]
    TooLarge {
        /// File or place the text came from.
        name: String,
        /// Size found [bytes].
        bytes: usize,
        /// Largest size read [bytes].
        max: usize,
    },
    /// The text is not a piece in RON.
    #[error("{name}:{line}:{column}: {why}")]
    Syntax {
        /// File or place the text came from.
        name: String,
        /// Line, from 1.
        line: usize,
        /// Column in characters, from 1.
        column: usize,
        /// What the reader met.
        why: String,
    },
    /// No format version is given.
    #[error("{name} does not say its version")]
    MissingVersion {
        /// File or place the text came from.
        name: String,
    },
    /// The file was written by a newer program.
    #[error(
        "{name}:{line}: version {version} is newer than version {PIECE_VERSION}, the newest that this program reads"
    )]
    NewerVersion {
        /// File or place the text came from.
        name: String,
        /// Line of the version, from 1.
        line: usize,
        /// Version found.
        version: u32,
    },
    /// The file parses but the piece cannot be made.
    #[error("piece {name:?} has {} problem(s), first: {}", .problems.len(), .problems.first().map(ToString::to_string).unwrap_or_default())]
    Problems {
        /// Name of the piece.
        name: String,
        /// All that was found, in the order of the file.
        problems: Vec<PieceProblem>,
    },
    /// The drawing file could not be fetched.
    #[error("layout.file: cannot read drawing {file:?}")]
    Load {
        /// File named by the layout.
        file: String,
        /// Cause.
        source: std::io::Error,
    },
    /// The drawing cannot be used.
    #[error("layout.file: drawing {file:?} cannot be used")]
    Drawing {
        /// File named by the layout.
        file: String,
        /// Cause.
        source: DrawingError,
    },
}

impl PieceError {
    /// Line and column (both from 1, columns in characters) where known.
    pub fn position(&self) -> Option<(usize, usize)> {
        match self {
            Self::Syntax { line, column, .. } => Some((*line, *column)),
            Self::NewerVersion { line, .. } => Some((*line, 1)),
            Self::Drawing { source, .. } => source.position(),
            _ => None,
        }
    }

    /// The problems of a piece that parses; empty for other errors.
    pub fn problems(&self) -> &[PieceProblem] {
        match self {
            Self::Problems { problems, .. } => problems,
            _ => &[],
        }
    }

    /// What to do about it.
    pub fn help(&self) -> String {
        match self {
            Self::TooLarge { .. } => {
                "use a parametric layout or a drawing instead of tiles written out".to_owned()
            }
            Self::Syntax { .. } => {
                "keys are written key: value, lists [a, b], points (x, y), decimals with a point"
                    .to_owned()
            }
            Self::MissingVersion { .. } => {
                format!("add version: {PIECE_VERSION}, as the first entry")
            }
            Self::NewerVersion { .. } => {
                "update the program, or save the piece again with the older one".to_owned()
            }
            Self::Problems { problems, .. } => {
                problems.first().map(PieceProblem::help).unwrap_or_default()
            }
            Self::Load { .. } => {
                "check the path; it is taken from the folder of the file that names it".to_owned()
            }
            Self::Drawing { source, .. } => source.help(),
        }
    }
}

/// One thing that is wrong, with its path in the file.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PieceProblem {
    /// A number outside its range, or not a number.
    #[error("{path}: {value} is not within {min} to {max}")]
    OutOfRange {
        /// Where it stands.
        path: String,
        /// Value found.
        value: f64,
        /// Smallest allowed.
        min: f64,
        /// Largest allowed.
        max: f64,
    },
    /// A name that is needed is empty.
    #[error("{path}: the name is empty")]
    EmptyName {
        /// Where it stands.
        path: String,
    },
    /// A list that is needed is empty.
    #[error("{path}: the list is empty")]
    EmptyList {
        /// Where it stands.
        path: String,
    },
    /// Too many of something.
    #[error("{path}: {count} is more than {max}")]
    TooMany {
        /// Where it stands.
        path: String,
        /// Number found or asked for.
        count: usize,
        /// Most allowed.
        max: usize,
    },
    /// A tile has neither an outline nor a rectangle, or both.
    #[error("{path}: a tile needs either outline_m or rect_m, not {}", if *.has_both { "both" } else { "neither" })]
    OutlineOrRect {
        /// Where it stands.
        path: String,
        /// Both were given.
        has_both: bool,
    },
    /// An outline with too few corners.
    #[error("{path}: {count} different corners do not make a tile")]
    TooFewCorners {
        /// Where it stands.
        path: String,
        /// Corners left after repeated ones.
        count: usize,
    },
    /// An outline that encloses nothing.
    #[error("{path}: the outline encloses {area_mm2:.3} mm2")]
    NoArea {
        /// Where it stands.
        path: String,
        /// Area [mm2].
        area_mm2: f64,
    },
    /// An outline that crosses or touches itself.
    #[error("{path}: the outline meets itself, edges {first} and {second}")]
    SelfCrossing {
        /// Where it stands.
        path: String,
        /// Edge, by the number of its first corner from 0.
        first: usize,
        /// Other edge.
        second: usize,
    },
    /// A tile that reaches over the edge of the piece.
    #[error("{path}: the tile reaches {by_mm:.2} mm beyond the piece")]
    OutsidePiece {
        /// Where it stands.
        path: String,
        /// Distance [mm].
        by_mm: f64,
    },
    /// Two tiles on the same place.
    #[error("{path} and {other} overlap by {area_mm2:.2} mm2")]
    Overlap {
        /// First tile.
        path: String,
        /// Second tile.
        other: String,
        /// Common area [mm2].
        area_mm2: f64,
    },
    /// A second angle or radius that does not lie beyond the first.
    #[error("{path}: {value} does not lie beyond {beyond}")]
    NotBeyond {
        /// Where it stands.
        path: String,
        /// Value found.
        value: f64,
        /// What it must exceed.
        beyond: f64,
    },
    /// Nothing of the layout lies on the piece.
    #[error("{path}: no tile lies on the piece")]
    NoTiles {
        /// Where it stands.
        path: String,
    },
    /// A colour that no outline can have.
    #[error("{path}: {colour:?} is not a colour like \"#a05a2c\" (six lower-case digits)")]
    NotAColour {
        /// Where it stands.
        path: String,
        /// Text found.
        colour: String,
    },
    /// More problems than are listed.
    #[error("{count} more problems")]
    More {
        /// Number not listed.
        count: usize,
    },
}

impl PieceProblem {
    /// What to do about it.
    pub fn help(&self) -> String {
        match self {
            Self::OutOfRange { min, max, .. } => format!("give a number from {min} to {max}"),
            Self::EmptyName { .. } => "give the name of a material".to_owned(),
            Self::EmptyList { .. } => "give at least one entry".to_owned(),
            Self::TooMany { max, .. } => {
                format!("stay at or below {max}; larger or fewer tiles, or several pieces")
            }
            Self::OutlineOrRect { .. } => {
                "write outline_m: [(x, y), ...] or rect_m: (left, bottom, width, height)".to_owned()
            }
            Self::TooFewCorners { .. } | Self::NoArea { .. } => {
                "give three or more corners that enclose an area, or leave the tile out".to_owned()
            }
            Self::SelfCrossing { .. } => {
                "put the corners in the order in which a saw would meet them".to_owned()
            }
            Self::OutsidePiece { .. } => {
                "the origin is the centre of the piece; move the tile or enlarge the piece"
                    .to_owned()
            }
            Self::Overlap { .. } => "move or cut one of the two".to_owned(),
            Self::NotBeyond { beyond, .. } => format!("give a value above {beyond}"),
            Self::NoTiles { .. } => "check the centre, the size and the joint".to_owned(),
            Self::NotAColour { .. } => {
                "write it as the drawing's report shows it, such as \"#a05a2c\"".to_owned()
            }
            Self::More { .. } => "mend the ones above first".to_owned(),
        }
    }
}

/// Collects problems up to [`MAX_PROBLEMS`] and counts the rest.
#[derive(Debug, Default)]
pub(crate) struct Problems {
    list: Vec<PieceProblem>,
    more: usize,
}

impl Problems {
    pub(crate) fn push(&mut self, problem: PieceProblem) {
        if self.list.len() < MAX_PROBLEMS {
            self.list.push(problem);
        } else {
            self.more += 1;
        }
    }

    pub(crate) fn is_full(&self) -> bool {
        self.list.len() >= MAX_PROBLEMS
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Refuses a number outside a range; NaN and infinities never pass.
    pub(crate) fn range(&mut self, path: &str, value: f32, min: f32, max: f32) -> bool {
        let is_good = (min..=max).contains(&value);
        if !is_good {
            self.push(PieceProblem::OutOfRange {
                path: path.to_owned(),
                value: f64::from(value),
                min: f64::from(min),
                max: f64::from(max),
            });
        }
        is_good
    }

    /// Refuses a count outside a range.
    pub(crate) fn count(&mut self, path: &str, value: u32, min: u32, max: u32) {
        if !(min..=max).contains(&value) {
            self.push(PieceProblem::OutOfRange {
                path: path.to_owned(),
                value: f64::from(value),
                min: f64::from(min),
                max: f64::from(max),
            });
        }
    }

    /// `Ok` if nothing was found.
    pub(crate) fn into_result(mut self, name: &str) -> Result<(), PieceError> {
        if self.more > 0 {
            self.list.push(PieceProblem::More { count: self.more });
        }
        if self.list.is_empty() {
            return Ok(());
        }
        Err(PieceError::Problems {
            name: name.to_owned(),
            problems: self.list,
        })
    }
}
