//! Text to [`PieceSpec`]: version first, then the whole with line and column on a fault.

use serde::Deserialize;

use super::error::PieceError;
use super::spec::{PIECE_VERSION, PieceSpec};

/// Largest piece file read [bytes].
pub const MAX_PIECE_BYTES: usize = 8 << 20;

/// Reads a piece file.
///
/// `name` is used in messages. The version is looked at first, so that a file of a newer program
/// is refused by its number and not by a key that this one does not know. Values are not checked
/// here but by [`PieceSpec::tiling`].
///
/// # Errors
/// Text that is too long, is not RON, has unknown or missing keys, or a version that is missing or
/// newer.
pub fn parse_piece(text: &str, name: &str) -> Result<PieceSpec, PieceError> {
    if text.len() > MAX_PIECE_BYTES {
        return Err(PieceError::TooLarge {
            name: name.to_owned(),
            bytes: text.len(),
            max: MAX_PIECE_BYTES,
        });
    }
    // A text so broken that no version is found is reported by the full reading below.
    let version = ron::from_str::<VersionOnly>(text).ok().map(|v| v.version);
    if let Some(version) = version.filter(|v| *v > PIECE_VERSION) {
        return Err(PieceError::NewerVersion {
            name: name.to_owned(),
            line: line_of_version(text),
            version,
        });
    }
    let spec: PieceSpec = ron::from_str(text).map_err(|error| PieceError::Syntax {
        name: name.to_owned(),
        line: error.span.start.line,
        column: error.span.start.col,
        why: error.code.to_string(),
    })?;
    if spec.version == 0 {
        return Err(PieceError::MissingVersion {
            name: name.to_owned(),
        });
    }
    Ok(spec)
}

/// The one entry that every version has.
#[derive(Deserialize)]
struct VersionOnly {
    #[serde(default)]
    version: u32,
}

/// Line of the first `version` key, from 1.
fn line_of_version(text: &str) -> usize {
    text.lines()
        .position(|line| line.contains("version"))
        .map_or(1, |index| index + 1)
}
