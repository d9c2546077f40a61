//! Names of the things a photometric file lists, for messages that say what was expected where.

use std::fmt;

/// One entry of a photometric file. Indices count from 1, as people count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Item {
    /// LM-63: lamp-to-luminaire geometry after `TILT=INCLUDE`.
    TiltGeometry,
    /// LM-63: number of tilt angles after `TILT=INCLUDE`.
    TiltCount,
    /// LM-63: a lamp tilt angle.
    TiltAngle {
        /// Position in the list.
        index: usize,
        /// Length of the list.
        count: usize,
    },
    /// LM-63: a lamp tilt multiplier.
    TiltFactor {
        /// Position in the list.
        index: usize,
        /// Length of the list.
        count: usize,
    },
    /// Number of lamps.
    LampCount,
    /// LM-63: rated lumens per lamp, -1 for absolute photometry.
    LumensPerLamp,
    /// LM-63: candela multiplier.
    CandelaMultiplier,
    /// Number of vertical angles (gamma).
    VerticalCount,
    /// Number of horizontal angles (C-planes).
    HorizontalCount,
    /// LM-63: photometric type, 1 = C, 2 = B, 3 = A.
    PhotometricType,
    /// LM-63: unit of the opening, 1 = feet, 2 = metres.
    Units,
    /// Width of the luminous opening.
    OpeningWidth,
    /// Length of the luminous opening.
    OpeningLength,
    /// Height of the luminous opening.
    OpeningHeight,
    /// LM-63: ballast factor.
    BallastFactor,
    /// LM-63: ballast-lamp factor (1986, 1991), reserved number (1995, 2002) or file-type code (2019).
    TwelfthNumber,
    /// Input watts.
    InputWatts,
    /// A vertical angle (gamma).
    VerticalAngle {
        /// Position in the list.
        index: usize,
        /// Length of the list.
        count: usize,
    },
    /// A horizontal angle (C-plane).
    HorizontalAngle {
        /// Position in the list.
        index: usize,
        /// Length of the list.
        count: usize,
    },
    /// An intensity of the table.
    Intensity {
        /// Position in its plane.
        index: usize,
        /// Intensities in a plane.
        count: usize,
        /// Position of the plane.
        plane: usize,
        /// Number of planes.
        plane_count: usize,
    },
    /// Any other EULUMDAT item.
    Eulumdat {
        /// Item number of the format description, such as `"26c"`.
        number: &'static str,
        /// What it is.
        name: &'static str,
    },
}

impl fmt::Display for Item {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TiltGeometry => write!(f, "the lamp-to-luminaire geometry of the tilt block"),
            Self::TiltCount => write!(f, "the number of tilt angles"),
            Self::TiltAngle { index, count } => write!(f, "tilt angle {index} of {count}"),
            Self::TiltFactor { index, count } => write!(f, "tilt multiplier {index} of {count}"),
            Self::LampCount => write!(f, "the number of lamps"),
            Self::LumensPerLamp => write!(f, "the lumens per lamp"),
            Self::CandelaMultiplier => write!(f, "the candela multiplier"),
            Self::VerticalCount => write!(f, "the number of vertical angles"),
            Self::HorizontalCount => write!(f, "the number of horizontal angles"),
            Self::PhotometricType => write!(f, "the photometric type"),
            Self::Units => write!(f, "the unit of the opening"),
            Self::OpeningWidth => write!(f, "the width of the opening"),
            Self::OpeningLength => write!(f, "the length of the opening"),
            Self::OpeningHeight => write!(f, "the height of the opening"),
            Self::BallastFactor => write!(f, "the ballast factor"),
            Self::TwelfthNumber => write!(f, "the number after the ballast factor"),
            Self::InputWatts => write!(f, "the input watts"),
            Self::VerticalAngle { index, count } => write!(f, "vertical angle {index} of {count}"),
            Self::HorizontalAngle { index, count } => {
                write!(f, "horizontal angle {index} of {count}")
            }
            Self::Intensity {
                index,
                count,
                plane,
                plane_count,
            } => write!(
                f,
                "intensity {index} of {count} in plane {plane} of {plane_count}"
            ),
            Self::Eulumdat { number, name } => write!(f, "item {number} ({name})"),
        }
    }
}
