//! Header of an LM-63 file: format line, keywords, TILT line.

use super::super::error::PhotometryError;
use super::super::photometry::Lm63Version;
use super::super::source::{Source, shorten};
use super::super::warning::PhotometricWarning;

pub(super) struct Header {
    pub(super) version: Lm63Version,
    pub(super) keywords: Vec<(String, String)>,
    pub(super) tilt_included: bool,
    /// Line after the TILT line.
    pub(super) number_line_index: usize,
}

impl Header {
    /// Text of the first of these keywords that has one.
    pub(super) fn text_of(&self, keys: &[&str]) -> &str {
        keys.iter()
            .find_map(|key| {
                self.keywords
                    .iter()
                    .find(|(found, text)| found == key && !text.is_empty())
            })
            .map_or("", |(_, text)| text.as_str())
    }

    /// First line of LUMINAIRE, else of LUMCAT, else of the free text.
    pub(super) fn luminaire_name(&self) -> String {
        let name = self.text_of(&["LUMINAIRE", "LUMCAT", ""]);
        let first = name.lines().next().unwrap_or("");
        let words: Vec<_> = first.trim_matches('"').split_whitespace().collect();
        words.join(" ")
    }
}

/// Whether a line is the first line of a file of 1991 or later.
pub(crate) fn is_format_line(line: &str) -> bool {
    let line = line.trim_start().as_bytes();
    let starts = |word: &str| {
        line.get(..word.len())
            .is_some_and(|start| start.eq_ignore_ascii_case(word.as_bytes()))
    };
    starts("IESNA") || starts("IES:LM") || starts("IES LM")
}

/// Text after `TILT=` if the line is a TILT line.
pub(crate) fn tilt_value(line: &str) -> Option<&str> {
    let line = line.trim();
    let (word, rest) = line.split_at_checked(4)?;
    if !word.eq_ignore_ascii_case("TILT") {
        return None;
    }
    rest.trim_start().strip_prefix('=').map(str::trim)
}

/// Reads everything up to and including the TILT line.
pub(super) fn read(
    source: &Source<'_>,
    warnings: &mut Vec<PhotometricWarning>,
) -> Result<Header, PhotometryError> {
    let mut version = Lm63Version::V1986;
    let mut version_seen = false;
    let mut keywords: Vec<(String, String)> = Vec::new();
    for (index, line) in source.lines.iter().enumerate() {
        if let Some(value) = tilt_value(line) {
            let word = value.split_whitespace().next().unwrap_or("");
            let tilt_included = word.eq_ignore_ascii_case("INCLUDE");
            if !tilt_included && !word.eq_ignore_ascii_case("NONE") {
                warnings.push(PhotometricWarning::TiltFileNotRead {
                    name: shorten(value),
                });
            }
            return Ok(Header {
                version,
                keywords,
                tilt_included,
                number_line_index: index + 1,
            });
        }
        if !version_seen && is_format_line(line) {
            version_seen = true;
            version = version_of(line, warnings);
        } else {
            read_keyword(line, &mut keywords);
        }
    }
    Err(PhotometryError::NoTilt { at: source.end() })
}

fn version_of(line: &str, warnings: &mut Vec<PhotometricWarning>) -> Lm63Version {
    let name: String = line
        .chars()
        .filter(|c| c.is_ascii_alphanumeric())
        .map(|c| c.to_ascii_uppercase())
        .collect();
    match name.as_str() {
        "IESNA86" | "IESNALM6386" | "IESNALM631986" => Lm63Version::V1986,
        "IESNA91" | "IESNALM6391" | "IESNALM631991" => Lm63Version::V1991,
        "IESNALM6395" | "IESNALM631995" => Lm63Version::V1995,
        "IESNALM6302" | "IESNALM632002" => Lm63Version::V2002,
        "IESLM6319" | "IESLM632019" | "IESNALM632019" => Lm63Version::V2019,
        _ => {
            warnings.push(PhotometricWarning::UnknownVersion {
                found: shorten(line),
            });
            Lm63Version::V2002
        }
    }
}

/// Adds `[KEY] text`, joins `[MORE]` to the keyword before, and keeps free text under an empty keyword.
fn read_keyword(line: &str, keywords: &mut Vec<(String, String)>) {
    let line = line.trim();
    if line.is_empty() {
        return;
    }
    let bracketed = line.strip_prefix('[').and_then(|rest| rest.split_once(']'));
    let Some((key, text)) = bracketed else {
        keywords.push((String::new(), line.to_owned()));
        return;
    };
    let (key, text) = (key.trim().to_uppercase(), text.trim());
    match keywords.last_mut() {
        Some((_, before)) if key == "MORE" => {
            before.push('\n');
            before.push_str(text);
        }
        _ => keywords.push((key, text.to_owned())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tilt_lines_are_told_from_text_about_tilt() {
        assert_eq!(tilt_value(" tilt = none "), Some("none"));
        assert_eq!(tilt_value("TILT=INCLUDE"), Some("INCLUDE"));
        assert_eq!(tilt_value("TILT=lamp 1.tlt"), Some("lamp 1.tlt"));
        for line in ["[OTHER] TILT=NONE", "TILT angle 0", "TIL", "tilté=1", ""] {
            assert_eq!(tilt_value(line), None, "{line}");
        }
    }

    #[test]
    fn format_lines_give_their_year() {
        let mut warnings = Vec::new();
        for (line, version) in [
            ("IESNA91", Lm63Version::V1991),
            (" IESNA:LM-63-1995", Lm63Version::V1995),
            ("iesna:lm-63-2002 ", Lm63Version::V2002),
            ("IES:LM-63-2019", Lm63Version::V2019),
        ] {
            assert!(is_format_line(line), "{line}");
            assert_eq!(version_of(line, &mut warnings), version, "{line}");
        }
        assert!(warnings.is_empty());
        assert_eq!(
            version_of("IESNA:LM-63-2050", &mut warnings),
            Lm63Version::V2002
        );
        assert_eq!(warnings.len(), 1);
    }
}
