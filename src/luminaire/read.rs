//! Entry point of the photometric readers: decides the format by content, then by the file name.

use super::error::PhotometryError;
use super::photometry::Photometry;
use super::source::{Comma, Source, decode, parse_number, shorten, whole_number};
use super::warning::PhotometricWarning;
use super::{eulumdat, lm63};

/// Reads the bytes of an LM-63 or EULUMDAT file.
///
/// `name` is the file name for messages; its extension decides only where the content does not. Text may be
/// ASCII, UTF-8 (with or without byte order mark), Latin-1, or UTF-16 with byte order mark.
pub fn read_photometry(bytes: &[u8], name: &str) -> Result<Photometry, PhotometryError> {
    let decoded = decode(bytes, name)?;
    let source = Source::new(&decoded.text, name)?;
    let mut warnings = Vec::new();
    if decoded.utf16 {
        warnings.push(PhotometricWarning::Utf16);
    }
    match kind(&source) {
        Some(Kind::Lm63) => lm63::read(&source, warnings),
        Some(Kind::Eulumdat) => eulumdat::read(&source, warnings),
        None => {
            let first = source
                .lines
                .iter()
                .position(|line| !line.trim().is_empty())
                .unwrap_or(0);
            Err(PhotometryError::NotPhotometry {
                at: source.place_of_text(first),
                found: shorten(source.line(first)),
            })
        }
    }
}

enum Kind {
    Lm63,
    Eulumdat,
}

fn kind(source: &Source<'_>) -> Option<Kind> {
    let first_text = source.lines.iter().find(|line| !line.trim().is_empty());
    if first_text.is_some_and(|line| lm63::is_format_line(line)) {
        return Some(Kind::Lm63);
    }
    // Items 2, 3 and 4 of EULUMDAT are whole numbers; blank lines count.
    let whole = |index: usize, most: usize| {
        parse_number(source.line(index), Comma::Decimal)
            .is_some_and(|value| whole_number(value, 0, most).is_some())
    };
    if whole(1, 99) && whole(2, 99) && whole(3, u32::MAX as usize) {
        return Some(Kind::Eulumdat);
    }
    if source
        .lines
        .iter()
        .any(|line| lm63::tilt_value(line).is_some())
    {
        return Some(Kind::Lm63);
    }
    let extension = source.file.rsplit_once('.').map(|(_, extension)| extension);
    match extension {
        Some(extension) if extension.eq_ignore_ascii_case("ies") => Some(Kind::Lm63),
        Some(extension) if extension.eq_ignore_ascii_case("ldt") => Some(Kind::Eulumdat),
        _ => None,
    }
}
