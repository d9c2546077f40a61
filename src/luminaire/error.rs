//! What can be wrong with a photometric file, with the place in the file and the remedy.

use std::fmt;

use super::item::Item;

/// A place in a photometric file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// File name as given to the reader.
    pub file: Box<str>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// Which of the two angle lists of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AngleListKind {
    /// Vertical angles (gamma, or V of Types A and B).
    Vertical,
    /// Horizontal angles (C-planes, or H of Types A and B).
    Horizontal,
    /// Lamp tilt angles of a `TILT=INCLUDE` block.
    Tilt,
}

impl fmt::Display for AngleListKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Vertical => "vertical",
            Self::Horizontal => "horizontal",
            Self::Tilt => "tilt",
        })
    }
}

/// Why a photometric file was refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PhotometryError {
    /// No text at all.
    #[error("{file}: the file is empty")]
    Empty {
        /// File name.
        file: String,
    },
    /// Bytes that are no text.
    #[error("{at}: found a control byte {byte:#04x}, so this is not a text file")]
    Binary {
        /// Place of the first such byte.
        at: Place,
        /// The byte (or, in UTF-16, the code point).
        byte: u32,
    },
    /// UTF-16 that does not decode.
    #[error("{file}: the file starts as UTF-16 but does not decode")]
    Encoding {
        /// File name.
        file: String,
    },
    /// Text that is neither LM-63 nor EULUMDAT.
    #[error("{at}: found {found:?}, which starts neither an LM-63 nor a EULUMDAT file")]
    NotPhotometry {
        /// First line with text.
        at: Place,
        /// Its beginning.
        found: String,
    },
    /// LM-63 without the line that ends the header.
    #[error("{at}: the file ends without a TILT line")]
    NoTilt {
        /// End of the file.
        at: Place,
    },
    /// The file ends early.
    #[error("{at}: the file ends where {expected} should be")]
    Truncated {
        /// End of the file.
        at: Place,
        /// What is missing.
        expected: Item,
    },
    /// A word, an infinity or NaN where a number belongs.
    #[error("{at}: found {found:?} where {expected} should be")]
    BadNumber {
        /// The offending text.
        at: Place,
        /// The offending text itself (shortened).
        found: String,
        /// What belongs there.
        expected: Item,
    },
    /// A count that is no whole number in its range.
    #[error("{at}: {what} is {found}, allowed are {least} to {most}")]
    BadCount {
        /// The count.
        at: Place,
        /// What is counted.
        what: Item,
        /// The number as written (shortened).
        found: String,
        /// Smallest allowed.
        least: usize,
        /// Largest allowed.
        most: usize,
    },
    /// More intensities than the limit.
    #[error(
        "{at}: {vertical_count} vertical x {horizontal_count} horizontal angles are more than {most} intensities"
    )]
    TooLarge {
        /// The second count.
        at: Place,
        /// Number of vertical angles.
        vertical_count: usize,
        /// Number of horizontal angles.
        horizontal_count: usize,
        /// Largest allowed product.
        most: usize,
    },
    /// A number outside what the format allows.
    #[error("{at}: {what} is {found}, allowed is {allowed}")]
    BadValue {
        /// The number.
        at: Place,
        /// What it is.
        what: Item,
        /// As written (shortened).
        found: String,
        /// What would be accepted.
        allowed: &'static str,
    },
    /// Angles that do not ascend.
    #[error("{at}: {list} angle {found_deg} does not come after {previous_deg}")]
    NotAscending {
        /// The second of the two angles.
        at: Place,
        /// The list.
        list: AngleListKind,
        /// The angle before [deg].
        previous_deg: f64,
        /// The offending angle [deg].
        found_deg: f64,
    },
    /// An angle list whose first and last angles are no known arrangement.
    #[error("{at}: {list} angles run from {first_deg} to {last_deg} degrees, allowed is {allowed}")]
    BadAngleRange {
        /// First angle of the list.
        at: Place,
        /// The list.
        list: AngleListKind,
        /// First angle [deg].
        first_deg: f64,
        /// Last angle [deg].
        last_deg: f64,
        /// What would be accepted.
        allowed: &'static str,
    },
    /// An intensity clearly below zero.
    #[error("{at}: intensity {found_cd} cd is below zero")]
    NegativeIntensity {
        /// The intensity.
        at: Place,
        /// Its value with all factors [cd].
        found_cd: f64,
    },
    /// An intensity beyond any lamp.
    #[error("{at}: intensity {found_cd:e} cd is above the limit of {limit_cd:e} cd")]
    IntensityTooLarge {
        /// The intensity.
        at: Place,
        /// Its value with all factors [cd].
        found_cd: f64,
        /// The limit [cd].
        limit_cd: f64,
    },
}

impl PhotometryError {
    /// File the error is about.
    pub fn file(&self) -> &str {
        match self {
            Self::Empty { file } | Self::Encoding { file } => file,
            other => other.place().map_or("", |place| &*place.file),
        }
    }

    /// Line and column of the offending text; none when the whole file is meant.
    pub fn place(&self) -> Option<&Place> {
        match self {
            Self::Empty { .. } | Self::Encoding { .. } => None,
            Self::Binary { at, .. }
            | Self::NotPhotometry { at, .. }
            | Self::NoTilt { at }
            | Self::Truncated { at, .. }
            | Self::BadNumber { at, .. }
            | Self::BadCount { at, .. }
            | Self::TooLarge { at, .. }
            | Self::BadValue { at, .. }
            | Self::NotAscending { at, .. }
            | Self::BadAngleRange { at, .. }
            | Self::NegativeIntensity { at, .. }
            | Self::IntensityTooLarge { at, .. } => Some(at),
        }
    }

    /// What to do about it, one sentence.
    pub fn help(&self) -> String {
        match self {
            Self::Empty { .. } => "download the file again from the maker".to_owned(),
            Self::Binary { .. } => {
                "give the LM-63 (.ies) or EULUMDAT (.ldt) text file itself, not an archive or a document that holds it".to_owned()
            }
            Self::Encoding { .. } => "save the file as plain text (ASCII, UTF-8 or Latin-1)".to_owned(),
            Self::NotPhotometry { .. } => {
                "LM-63 starts with IESNA or IES:LM-63 or has a TILT= line; EULUMDAT has whole numbers in its lines 2 to 4".to_owned()
            }
            Self::NoTilt { .. } => {
                "the header of an LM-63 file must end with a line TILT=NONE, TILT=INCLUDE or TILT=<file name>".to_owned()
            }
            Self::Truncated { .. } => {
                "the file is incomplete or a count in its header is too large: download it again or correct the count".to_owned()
            }
            Self::BadNumber { expected, .. } => {
                format!("write {expected} as a finite number, such as 12.5 or 1.25e3")
            }
            Self::BadCount { least, most, .. } => {
                format!("write a whole number from {least} to {most}")
            }
            Self::TooLarge { most, .. } => {
                format!("use coarser angle steps, so that there are at most {most} intensities")
            }
            Self::BadValue { allowed, .. } => format!("write {allowed}"),
            Self::NotAscending { list, .. } => {
                format!("sort the {list} angles upward without repeats, with their intensities")
            }
            Self::BadAngleRange { allowed, .. } => format!("list angles as {allowed}"),
            Self::NegativeIntensity { .. } => {
                "write 0 for directions without light; only tiny negative measuring noise is taken as 0".to_owned()
            }
            Self::IntensityTooLarge { .. } => {
                "check the candela multiplier, the ballast factor and the lamp flux".to_owned()
            }
        }
    }
}
