//! Bytes to lines of text, and lines to number tokens that know their place.
//!
//! Accepted: ASCII, UTF-8 (with or without byte order mark), Latin-1 (ISO 8859-1) where the bytes are not
//! UTF-8, UTF-16 with byte order mark; line ends LF, CR LF or CR; a DOS end-of-file byte (0x1A).

use super::error::{PhotometryError, Place};
use super::item::Item;

/// Decoded text and whether it was UTF-16.
pub(super) struct Decoded {
    pub(super) text: String,
    pub(super) utf16: bool,
}

/// Decodes the bytes of a file.
pub(super) fn decode(bytes: &[u8], file: &str) -> Result<Decoded, PhotometryError> {
    let (mut text, utf16) = match bytes {
        [0xFF, 0xFE, rest @ ..] => (decode_utf16(rest, u16::from_le_bytes, file)?, true),
        [0xFE, 0xFF, rest @ ..] => (decode_utf16(rest, u16::from_be_bytes, file)?, true),
        _ => {
            let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
            let text = match std::str::from_utf8(bytes) {
                Ok(text) => text.to_owned(),
                Err(_) => bytes.iter().map(|&byte| char::from(byte)).collect(),
            };
            (text, false)
        }
    };
    // DOS end-of-file byte, with the padding that follows it.
    let kept = text
        .trim_end_matches(|c: char| c == '\u{1A}' || c == '\0' || c.is_whitespace())
        .len();
    if text[kept..].contains(['\u{1A}', '\0']) {
        text.truncate(kept);
    }
    if kept == 0 {
        return Err(PhotometryError::Empty {
            file: file.to_owned(),
        });
    }
    Ok(Decoded { text, utf16 })
}

fn decode_utf16(
    bytes: &[u8],
    unit: fn([u8; 2]) -> u16,
    file: &str,
) -> Result<String, PhotometryError> {
    let error = || PhotometryError::Encoding {
        file: file.to_owned(),
    };
    let pairs = bytes.chunks_exact(2);
    if !pairs.remainder().is_empty() {
        return Err(error());
    }
    // chunks_exact(2) yields slices of length 2 only.
    let units = pairs.map(|pair| unit([pair[0], pair[1]]));
    char::decode_utf16(units)
        .collect::<Result<String, _>>()
        .map_err(|_| error())
}

/// The lines of a file.
pub(super) struct Source<'a> {
    pub(super) file: &'a str,
    pub(super) lines: Vec<&'a str>,
}

impl<'a> Source<'a> {
    /// Splits the text into lines and refuses control bytes that no text file holds.
    pub(super) fn new(text: &'a str, file: &'a str) -> Result<Self, PhotometryError> {
        let mut lines = Vec::new();
        let mut rest = text;
        while let Some(end) = rest.find(['\n', '\r']) {
            lines.push(&rest[..end]);
            rest = &rest[end..];
            rest = rest.strip_prefix("\r\n").unwrap_or_else(|| &rest[1..]);
        }
        if !rest.is_empty() {
            lines.push(rest);
        }
        let source = Self { file, lines };
        for (index, line) in source.lines.iter().enumerate() {
            // Blank-like control characters occur in old files (tab, form feed, vertical tab, 0x1A).
            let control = line
                .char_indices()
                .find(|&(_, c)| c < ' ' && !matches!(c, '\t' | '\u{B}' | '\u{C}' | '\u{1A}'));
            if let Some((byte, c)) = control {
                return Err(PhotometryError::Binary {
                    at: source.place(index, byte),
                    byte: u32::from(c),
                });
            }
        }
        Ok(source)
    }

    /// Line with that index, blank beyond the end.
    pub(super) fn line(&self, index: usize) -> &'a str {
        self.lines.get(index).copied().unwrap_or("")
    }

    /// Place of a byte of a line.
    pub(super) fn place(&self, line_index: usize, byte: usize) -> Place {
        let before = self.line(line_index).get(..byte).unwrap_or("");
        Place {
            file: self.file.into(),
            line: line_index + 1,
            column: before.chars().count() + 1,
        }
    }

    /// Place of the first text of a line.
    pub(super) fn place_of_text(&self, line_index: usize) -> Place {
        let line = self.line(line_index);
        self.place(line_index, line.len() - line.trim_start().len())
    }

    /// Place just after the last text of the file.
    pub(super) fn end(&self) -> Place {
        let last = self
            .lines
            .iter()
            .rposition(|line| !line.trim().is_empty())
            .unwrap_or(0);
        self.place(last, self.line(last).trim_end().len())
    }
}

/// How commas read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Comma {
    /// Between numbers (LM-63).
    Separator,
    /// Inside numbers (EULUMDAT).
    Decimal,
}

/// A word of the number block.
#[derive(Debug, Clone, Copy)]
pub(super) struct Token<'a> {
    pub(super) text: &'a str,
    pub(super) line_index: usize,
    byte: usize,
}

/// The words of a file from some line on, whatever the line ends.
#[derive(Clone)]
pub(super) struct Tokens<'a> {
    source: &'a Source<'a>,
    comma: Comma,
    line_index: usize,
    byte: usize,
}

impl<'a> Tokens<'a> {
    pub(super) fn new(source: &'a Source<'a>, line_index: usize, comma: Comma) -> Self {
        Self {
            source,
            comma,
            line_index,
            byte: 0,
        }
    }

    /// Number of words left.
    pub(super) fn remaining(&self) -> usize {
        self.clone().count()
    }

    /// Place just after the last text of the file.
    pub(super) fn end(&self) -> Place {
        self.source.end()
    }

    /// Place of a word.
    pub(super) fn place(&self, token: &Token<'_>) -> Place {
        self.source.place(token.line_index, token.byte)
    }

    /// Next word as a finite number.
    pub(super) fn number(&mut self, expected: Item) -> Result<(f64, Token<'a>), PhotometryError> {
        let Some(token) = self.next() else {
            return Err(PhotometryError::Truncated {
                at: self.source.end(),
                expected,
            });
        };
        match parse_number(token.text, self.comma) {
            Some(value) => Ok((value, token)),
            None => Err(PhotometryError::BadNumber {
                at: self.place(&token),
                found: shorten(token.text),
                expected,
            }),
        }
    }

    /// Next word as a whole number in `least..=most`.
    pub(super) fn count(
        &mut self,
        expected: Item,
        least: usize,
        most: usize,
    ) -> Result<(usize, Token<'a>), PhotometryError> {
        let (value, token) = self.number(expected)?;
        match whole_number(value, least, most) {
            Some(count) => Ok((count, token)),
            None => Err(PhotometryError::BadCount {
                at: self.place(&token),
                what: expected,
                found: shorten(token.text),
                least,
                most,
            }),
        }
    }
}

impl<'a> Iterator for Tokens<'a> {
    type Item = Token<'a>;

    fn next(&mut self) -> Option<Token<'a>> {
        let comma = self.comma;
        let is_gap = move |c: char| {
            c.is_whitespace() || c == '\u{1A}' || (c == ',' && comma == Comma::Separator)
        };
        loop {
            let line = *self.source.lines.get(self.line_index)?;
            let rest = line.get(self.byte..).unwrap_or("");
            let Some(start) = rest.find(|c| !is_gap(c)) else {
                self.line_index += 1;
                self.byte = 0;
                continue;
            };
            let word = rest.get(start..).unwrap_or("");
            let word = &word[..word.find(is_gap).unwrap_or(word.len())];
            let token = Token {
                text: word,
                line_index: self.line_index,
                byte: self.byte + start,
            };
            self.byte += start + word.len();
            return Some(token);
        }
    }
}

/// Whole number in `least..=most`; 12.0 counts as whole.
pub(super) fn whole_number(value: f64, least: usize, most: usize) -> Option<usize> {
    (value.fract() == 0.0 && value >= least as f64 && value <= most as f64)
        .then_some(value as usize)
}

/// A finite number in the ways photometric files write one: `.5`, `+5`, `5.`, `1e3`, Fortran `1.2D+03`.
pub(super) fn parse_number(text: &str, comma: Comma) -> Option<f64> {
    let text = text.trim();
    // Keeps the words "inf" and "nan" out, which the standard parser accepts.
    let plain = text.bytes().all(|byte| {
        byte.is_ascii_digit()
            || matches!(byte, b'+' | b'-' | b'.' | b'e' | b'E')
            || matches!(byte, b'd' | b'D')
            || (byte == b',' && comma == Comma::Decimal)
    });
    if !plain {
        return None;
    }
    let value = match text.parse::<f64>() {
        Ok(value) => value,
        Err(_) => text
            .replace(['d', 'D'], "e")
            .replace(',', ".")
            .parse()
            .ok()?,
    };
    value.is_finite().then_some(value)
}

/// At most 40 characters of a text, for messages.
pub(super) fn shorten(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= 40 {
        return text.to_owned();
    }
    let mut short: String = text.chars().take(37).collect();
    short.push_str("...");
    short
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_in_every_spelling_and_words_do_not() {
        for (text, value) in [
            (".5", 0.5),
            ("+5", 5.0),
            ("1e3", 1000.0),
            ("1.2D+03", 1200.0),
            ("5.", 5.0),
            ("-.051", -0.051),
            ("4.66089e+06", 4_660_890.0),
        ] {
            assert_eq!(parse_number(text, Comma::Separator), Some(value), "{text}");
        }
        for text in ["", "NaN", "inf", "1e400", "abc", "1.2.3", "--1", "e", "d"] {
            assert_eq!(parse_number(text, Comma::Separator), None, "{text}");
        }
        assert_eq!(parse_number("29,50", Comma::Decimal), Some(29.5));
    }

    #[test]
    fn tokens_cross_lines_and_know_their_place() {
        let source = Source::new("a b\r\n\r\n  1,2\t,, 3\r4 é 5", "x").expect("text");
        let mut tokens = Tokens::new(&source, 1, Comma::Separator);
        let words: Vec<_> = tokens.clone().map(|token| token.text).collect();
        assert_eq!(words, ["1", "2", "3", "4", "é", "5"]);
        let five = tokens.nth(5).expect("six words");
        assert_eq!(
            (tokens.place(&five).line, tokens.place(&five).column),
            (4, 5)
        );
    }

    #[test]
    fn latin1_utf16_and_dos_endings_decode() {
        let latin = decode(b"55\xB0 spot\r\n\x1A\0\0", "x").expect("latin-1");
        assert_eq!(latin.text, "55° spot");
        let mut wide = vec![0xFF, 0xFE];
        wide.extend("TILT".encode_utf16().flat_map(u16::to_le_bytes));
        assert_eq!(decode(&wide, "x").expect("utf-16").text, "TILT");
        wide.push(0);
        assert!(matches!(
            decode(&wide, "x"),
            Err(PhotometryError::Encoding { .. })
        ));
        assert!(matches!(
            decode(b" \r\n\x1A", "x"),
            Err(PhotometryError::Empty { .. })
        ));
    }
}
