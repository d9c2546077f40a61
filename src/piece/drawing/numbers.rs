//! Refuses numbers that no drawing of a piece has.
//!
//! The reader cuts an arc into pieces whose count grows with its radius, so that one radius of 1e90
//! would fill the memory.

use resvg::usvg::roxmltree::Document;

use super::error::DrawingError;

/// Largest number in a coordinate or length, in the drawing's units.
const MAX_NUMBER: f64 = 1e7;

/// Attributes that hold coordinates, lengths and transforms.
const GEOMETRY: [&str; 18] = [
    "d",
    "points",
    "x",
    "y",
    "x1",
    "y1",
    "x2",
    "y2",
    "cx",
    "cy",
    "r",
    "rx",
    "ry",
    "width",
    "height",
    "viewBox",
    "transform",
    "stroke-width",
];

/// Refuses the first number beyond [`MAX_NUMBER`] in a geometry attribute.
pub(super) fn check_numbers(document: &Document<'_>, name: &str) -> Result<(), DrawingError> {
    for node in document.descendants() {
        for attribute in node.attributes() {
            if attribute.namespace().is_some() || !GEOMETRY.contains(&attribute.name()) {
                continue;
            }
            if let Some(number) = first_huge(attribute.value()) {
                return Err(DrawingError::HugeNumber {
                    name: name.to_owned(),
                    line: document.text_pos_at(node.range().start).row as usize,
                    attribute: attribute.name().to_owned(),
                    number: number.chars().take(40).collect(),
                });
            }
        }
    }
    Ok(())
}

/// First number of a text beyond the limit. Signs do not matter; glued arc flags only make a number
/// look larger by leading digits 0 or 1, so a radius is never missed.
fn first_huge(text: &str) -> Option<&str> {
    let bytes = text.as_bytes();
    let digits = |from: usize| {
        bytes
            .iter()
            .skip(from)
            .take_while(|b| b.is_ascii_digit())
            .count()
    };
    let at = |i: usize| bytes.get(i).copied().unwrap_or(b' ');
    let mut i = 0;
    while i < bytes.len() {
        if !at(i).is_ascii_digit() && at(i) != b'.' {
            i += 1;
            continue;
        }
        let start = i;
        i += digits(i);
        if at(i) == b'.' {
            i += 1 + digits(i + 1);
        }
        if matches!(at(i), b'e' | b'E') {
            let sign = usize::from(matches!(at(i + 1), b'+' | b'-'));
            let exponent = digits(i + 1 + sign);
            if exponent > 0 {
                i += 1 + sign + exponent;
            }
        }
        // Only ASCII was passed, so both ends are between characters.
        let number = text.get(start..i)?;
        if number.parse::<f64>().is_ok_and(|v| v > MAX_NUMBER) {
            return Some(number);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_numbers_beyond_the_limit_are_found() {
        assert_eq!(first_huge("M0-1.5.5a5 5 0 0110 0 1e7z"), None);
        assert_eq!(first_huge("M0 0A1e90 5 0 0 1 10 0"), Some("1e90"));
        assert_eq!(first_huge("12345678.5mm"), Some("12345678.5"));
        assert_eq!(first_huge("scale(1e-99,2em) \u{e4}"), None);
        assert_eq!(first_huge("1e999"), Some("1e999"));
    }
}
