//! Where each value of a RON text stands: a light scan that maps paths to places.
//!
//! Paths are written as `fixtures[2].aim`; values inside an enum variant `Window(glazing: "x")` are at
//! `filling.glazing`; tuple and list elements at `[i]`; map values at `finishes["oak"]`. The scan
//! accepts any text; on malformed text it returns what it found so far.

use std::{collections::BTreeMap, ops::Range};

/// Places of values, by path.
#[derive(Clone, Debug, Default)]
pub struct Located {
    places: BTreeMap<String, Range<usize>>,
    repeated: Vec<(String, Range<usize>)>,
    torn: bool,
}

impl Located {
    /// Byte range of the value at a path, or of the nearest enclosing value that is known.
    pub fn find(&self, path: &str) -> Option<Range<usize>> {
        let mut path = path;
        loop {
            if let Some(range) = self.places.get(path) {
                return Some(range.clone());
            }
            let cut = path.rfind(['.', '['])?;
            path = &path[..cut];
        }
    }

    /// Whether exactly this path is known.
    pub fn has(&self, path: &str) -> bool {
        self.places.contains_key(path)
    }

    /// Whether a bracket is not closed or a sign stands where none can be: what follows may be misplaced.
    pub fn is_torn(&self) -> bool {
        self.torn
    }

    /// Keys of maps that stand there a second time: path of the value, place of the key.
    pub fn repeated(&self) -> &[(String, Range<usize>)] {
        &self.repeated
    }

    /// Names of the fields of the whole text, in alphabetical order.
    pub fn top_fields(&self) -> impl Iterator<Item = &str> {
        self.places
            .keys()
            .map(String::as_str)
            .filter(|path| !path.is_empty() && !path.contains(['.', '[', '\0']))
    }

    /// Values of the map at `parent`, in the order of their keys.
    pub fn entries(&self, parent: &str) -> Vec<Range<usize>> {
        let open = format!("{parent}[\"");
        self.places
            .range(open.clone()..)
            .take_while(|(path, _)| path.starts_with(&open))
            .filter(|(path, _)| path.ends_with("\"]"))
            .map(|(_, range)| range.clone())
            .collect()
    }

    /// Direct children `parent[0]`, `parent[1]`... of a list, in order.
    pub fn elements(&self, parent: &str) -> Vec<Range<usize>> {
        (0..)
            .map_while(|i| self.places.get(&format!("{parent}[{i}]")).cloned())
            .collect()
    }
}

/// Deepest nesting that is followed.
const MOST_DEPTH: usize = 64;

struct Scanner<'a> {
    text: &'a str,
    bytes: &'a [u8],
    at: usize,
    found: Located,
}

/// Scans a RON text.
pub fn locate(text: &str) -> Located {
    let mut scanner = Scanner {
        text,
        bytes: text.as_bytes(),
        at: 0,
        found: Located::default(),
    };
    scanner.skip_attributes();
    scanner.value("", 0);
    scanner.found
}

impl Scanner<'_> {
    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn skip_attributes(&mut self) {
        loop {
            self.skip_blank();
            if self.bytes[self.at..].starts_with(b"#!") {
                while self.peek().is_some_and(|b| b != b'\n') {
                    self.at += 1;
                }
            } else {
                return;
            }
        }
    }

    fn skip_blank(&mut self) {
        loop {
            match self.peek() {
                Some(b) if b.is_ascii_whitespace() => self.at += 1,
                Some(b'/') if self.bytes.get(self.at + 1) == Some(&b'/') => {
                    while self.peek().is_some_and(|b| b != b'\n') {
                        self.at += 1;
                    }
                }
                Some(b'/') if self.bytes.get(self.at + 1) == Some(&b'*') => {
                    let mut depth = 0;
                    while self.at < self.bytes.len() {
                        let rest = &self.bytes[self.at..];
                        if rest.starts_with(b"/*") {
                            depth += 1;
                            self.at += 2;
                        } else if rest.starts_with(b"*/") {
                            depth -= 1;
                            self.at += 2;
                            if depth == 0 {
                                break;
                            }
                        } else {
                            self.at += 1;
                        }
                    }
                }
                _ => return,
            }
        }
    }

    fn string(&mut self) {
        // At the opening quote, or at the r of a raw string.
        if self.peek() == Some(b'r') {
            let mut hashes = 0;
            self.at += 1;
            while self.peek() == Some(b'#') {
                hashes += 1;
                self.at += 1;
            }
            self.at += 1;
            let close = format!("\"{}", "#".repeat(hashes));
            self.at = self
                .text
                .get(self.at..)
                .and_then(|t| t.find(&close))
                .map_or(self.bytes.len(), |i| self.at + i + close.len());
            return;
        }
        self.at += 1;
        while let Some(b) = self.peek() {
            self.at += 1;
            match b {
                b'\\' => self.at += 1,
                b'"' => break,
                _ => {}
            }
        }
        self.at = self.at.min(self.bytes.len());
    }

    fn word(&mut self) -> Range<usize> {
        let start = self.at;
        while self
            .peek()
            .is_some_and(|b| b.is_ascii_alphanumeric() || b == b'_')
        {
            self.at += 1;
        }
        start..self.at
    }

    fn value(&mut self, path: &str, depth: usize) {
        self.skip_blank();
        let start = self.at;
        if depth > MOST_DEPTH {
            self.at = self.bytes.len();
            self.found.torn = true;
            return;
        }
        match self.peek() {
            Some(b'"') => self.string(),
            Some(b'r') if matches!(self.bytes.get(self.at + 1), Some(b'"' | b'#')) => self.string(),
            Some(b'(') => self.fields(path, depth, b')'),
            Some(b'[') => self.fields(path, depth, b']'),
            Some(b'{') => self.map(path, depth),
            Some(b'\'') => {
                self.at += 1;
                while self.peek().is_some_and(|b| b != b'\'') {
                    self.at += 1;
                }
                self.at = (self.at + 1).min(self.bytes.len());
            }
            Some(b) if b.is_ascii_alphabetic() || b == b'_' => {
                let name = self.word();
                let is_some = &self.text[name] == "Some";
                let after_name = self.at;
                self.skip_blank();
                if self.peek() == Some(b'(') {
                    // Some(x) keeps the path of x's owner.
                    if is_some {
                        self.at += 1;
                        self.value(path, depth + 1);
                        self.skip_blank();
                        if self.peek() == Some(b')') {
                            self.at += 1;
                        }
                    } else {
                        self.fields(path, depth, b')');
                    }
                } else {
                    self.at = after_name;
                }
            }
            _ => {
                while self.peek().is_some_and(|b| {
                    !matches!(b, b',' | b')' | b']' | b'}' | b':') && !b.is_ascii_whitespace()
                }) {
                    self.at += 1;
                }
            }
        }
        self.found.places.insert(path.to_owned(), start..self.at);
    }

    /// `(a: 1, b: 2)`, `(1, 2)` or `[1, 2]`.
    fn fields(&mut self, path: &str, depth: usize, close: u8) {
        self.at += 1;
        let mut index = 0;
        loop {
            self.skip_blank();
            match self.peek() {
                None => {
                    self.found.torn = true;
                    return;
                }
                Some(b) if b == close => {
                    self.at += 1;
                    return;
                }
                _ => {}
            }
            let start = self.at;
            let name = self.word();
            self.skip_blank();
            let is_field = close == b')' && !name.is_empty() && self.peek() == Some(b':');
            let child = if is_field {
                self.at += 1;
                let name = &self.text[name];
                if path.is_empty() {
                    name.to_owned()
                } else {
                    format!("{path}.{name}")
                }
            } else {
                self.at = start;
                format!("{path}[{index}]")
            };
            self.value(&child, depth + 1);
            index += 1;
            if !self.separator(start) {
                return;
            }
        }
    }

    fn map(&mut self, path: &str, depth: usize) {
        self.at += 1;
        loop {
            self.skip_blank();
            match self.peek() {
                None => {
                    self.found.torn = true;
                    return;
                }
                Some(b'}') => {
                    self.at += 1;
                    return;
                }
                _ => {}
            }
            let start = self.at;
            self.value("\u{0}key", depth + 1);
            let written = start..self.at;
            let key = self.text.get(written.clone()).unwrap_or_default().trim();
            let child = format!("{path}[{key}]");
            self.skip_blank();
            if self.peek() == Some(b':') {
                self.at += 1;
                if self.found.has(&child) {
                    self.found.repeated.push((child.clone(), written));
                }
                self.value(&child, depth + 1);
            }
            if !self.separator(start) {
                return;
            }
        }
    }

    /// Steps over a comma; makes sure that something was consumed.
    fn separator(&mut self, start: usize) -> bool {
        self.skip_blank();
        if self.peek() == Some(b',') {
            self.at += 1;
        } else if self.at == start {
            self.found.torn = true;
            self.at += 1;
            while self.at < self.bytes.len() && !self.text.is_char_boundary(self.at) {
                self.at += 1;
            }
        }
        self.found.torn |= self.at >= self.bytes.len();
        self.at < self.bytes.len()
    }
}

/// Line and column (characters, from 1) of a byte offset.
pub(super) fn line_column(text: &str, offset: usize) -> (usize, usize) {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    let before = &text[..offset];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    (line, column)
}

/// Byte offset of a line and column (characters, from 1).
pub(super) fn offset_of(text: &str, line: usize, column: usize) -> usize {
    let mut start = 0;
    for (i, l) in text.split_inclusive('\n').enumerate() {
        if i + 1 == line {
            let inside: usize = l
                .chars()
                .take(column.saturating_sub(1))
                .map(char::len_utf8)
                .sum();
            return start + inside;
        }
        start += l.len();
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"// Ä room
(
    name: "a (b) [c]", /* , ( */
    finishes: { "oak": (reflectance: 0.3), "chalk": (reflectance: 1.7) },
    fixtures: [
        (name: "F1", aim: At(1, 2, 3)),
        (name: "F2", aim: Piece(up_m: 0.5), blind: Some((drawn: 2.0))),
    ],
)"#;

    #[test]
    fn paths_lead_to_the_text_of_the_value() {
        let found = locate(TEXT);
        let text = |path: &str| &TEXT[found.places[path].clone()];
        assert_eq!(text("name"), "\"a (b) [c]\"");
        assert_eq!(text("finishes[\"chalk\"].reflectance"), "1.7");
        assert_eq!(text("fixtures[1].aim.up_m"), "0.5");
        assert_eq!(text("fixtures[0].aim[2]"), "3");
        assert_eq!(text("fixtures[1].blind.drawn"), "2.0");
        assert_eq!(found.elements("fixtures").len(), 2);
        assert!(!found.is_torn());
        assert!(found.top_fields().eq(["finishes", "fixtures", "name"]));
    }

    #[test]
    fn key_that_stands_twice_in_a_map_is_noticed() {
        let text = r#"(finishes: {"oak": (a: 1), "chalk": (a: 1), "oak": (a: 2)})"#;
        let found = locate(text);
        let [(path, place)] = found.repeated() else {
            panic!("{:?}", found.repeated());
        };
        assert_eq!(path, "finishes[\"oak\"]");
        assert_eq!(place.start, text.rfind("\"oak\"").unwrap());
    }

    #[test]
    fn unknown_path_falls_back_to_its_owner() {
        let found = locate(TEXT);
        assert_eq!(
            found.find("fixtures[0].nothing.deeper"),
            found.find("fixtures[0]")
        );
        assert_eq!(
            line_column(TEXT, found.find("fixtures[1].name").unwrap().start),
            (7, 16)
        );
        assert_eq!(
            offset_of(TEXT, 7, 16),
            found.find("fixtures[1].name").unwrap().start
        );
    }

    #[test]
    fn bracket_that_is_not_closed_is_noticed() {
        for text in [
            "(a: [1, 2, b: 3)",
            "(a: 1",
            "(a: 1], b: 2)",
            "(a: {\"k\": 1, b: 2)",
        ] {
            assert!(locate(text).is_torn(), "{text}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_scanned_without_panic(text in "\\PC{0,200}") {
            locate(&text);
        }

        #[test]
        fn brackets_and_quotes_end(text in "[(){}\\[\\],:\"ra#/* \\\\-]{0,120}") {
            locate(&text);
        }
    }
}
