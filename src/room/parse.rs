//! Text to [`RoomFile`], with every problem found, not only the first.
//!
//! When the whole text does not parse, each section and each element of a list is parsed alone, so
//! that a file with five slips reports five problems.

use std::{borrow::Cow, ops::Range, sync::Arc};

use miette::NamedSource;
use serde::de::DeserializeOwned;

use super::{
    Located, Problem, RoomError, RoomFile,
    locate::{line_column, locate, offset_of},
    schema,
};
use crate::spelling::nearest;

/// The version of the room format that this program writes. Version 1 is lifted on reading.
pub const ROOM_VERSION: u32 = 2;

/// Longest room file that is read [bytes].
const MOST_BYTES: usize = 16 << 20;

/// Most problems listed for one file; the rest are counted.
const MOST_PROBLEMS: usize = 100;

/// Fields that a room file cannot do without.
const NEEDED: [&str; 7] = [
    "name",
    "site",
    "finishes",
    "spaces",
    "walks",
    "piece",
    "placement",
];

/// RON with bare optional values.
pub(super) fn ron_options() -> ron::Options {
    ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
}

/// A room as text that [`parse_room`] reads back to the same room.
///
/// # Errors
/// None in practice: every field has a form in the text.
pub fn write_room(room: &RoomFile) -> Result<String, ron::Error> {
    let pretty = ron::ser::PrettyConfig::new()
        .depth_limit(4)
        .compact_arrays(true)
        .new_line("\n")
        .indentor("    ");
    let mut text = ron_options().to_string_pretty(room, pretty)?;
    text.push('\n');
    Ok(text)
}

/// Collects problems of one text.
pub(super) struct ProblemList {
    name: String,
    text: Arc<String>,
    located: Located,
    problems: Vec<Problem>,
    more_count: usize,
}

impl ProblemList {
    pub(super) fn new(name: &str, text: &str) -> Self {
        Self {
            name: name.into(),
            text: Arc::new(text.into()),
            located: locate(text),
            problems: Vec::new(),
            more_count: 0,
        }
    }

    /// A problem with the value at a path.
    pub(super) fn at(&mut self, path: &str, message: String, help: impl Into<Option<String>>) {
        let range = self.located.find(path).unwrap_or(0..0);
        let before = self.problems.len();
        self.push(range, message, help.into());
        if let Some(problem) = self.problems.get_mut(before) {
            path.clone_into(&mut problem.path);
        }
    }

    /// A problem at a place of the text; beyond [`MOST_PROBLEMS`] it is only counted.
    pub(super) fn push(&mut self, range: Range<usize>, message: String, help: Option<String>) {
        if self.problems.len() >= MOST_PROBLEMS {
            self.more_count += 1;
            return;
        }
        let (line, column) = line_column(&self.text, range.start);
        // A label over many lines hides the place: keep to the first line.
        let text = self.text.get(range.clone()).unwrap_or("");
        let length = text.find('\n').unwrap_or(text.len()).max(1);
        self.problems.push(Problem {
            message,
            help,
            path: String::new(),
            line,
            column,
            file: NamedSource::new(&self.name, Arc::clone(&self.text)),
            at: (range.start, length).into(),
        });
    }

    pub(super) fn text(&self) -> &str {
        &self.text
    }

    pub(super) fn located(&self) -> &Located {
        &self.located
    }

    /// `Ok` when nothing was found.
    pub(super) fn finish(self) -> Result<(), RoomError> {
        if self.problems.is_empty() {
            Ok(())
        } else {
            Err(self.fail())
        }
    }

    /// The error of all problems, in the order of the text.
    fn fail(mut self) -> RoomError {
        self.problems.sort_by_key(|p| (p.line, p.column));
        if self.more_count > 0 {
            self.problems.push(Problem {
                message: format!("{} more problems", self.more_count),
                help: Some("mend the ones above first".into()),
                path: String::new(),
                line: self.problems.last().map_or(1, |p| p.line),
                column: self.problems.last().map_or(1, |p| p.column),
                file: NamedSource::new(&self.name, Arc::clone(&self.text)),
                at: self.problems.last().map_or((0, 1).into(), |p| p.at),
            });
        }
        RoomError::Problems {
            name: self.name,
            problems: self.problems,
        }
    }
}

/// Parses a room file and lifts older versions. Shape only; see [`super::validate`] for the rest.
///
/// # Errors
/// [`RoomError::Problems`] with every problem of shape.
pub fn parse_room(text: &str, name: &str) -> Result<RoomFile, RoomError> {
    let text = without_mark(text);
    let mut problems = ProblemList::new(name, text);
    if text.len() > MOST_BYTES {
        problems.at(
            "",
            format!("the file has {} MB", text.len() >> 20),
            Some("room files stay below 16 MB".into()),
        );
        return Err(problems.fail());
    }
    let Some(lifted) = lift(text, &mut problems) else {
        return Err(problems.fail());
    };
    match ron_options().from_str::<RoomFile>(&lifted) {
        Ok(room) => Ok(room),
        Err(whole) => {
            let mut problems = ProblemList::new(name, &lifted);
            sections(&mut problems);
            top_fields(&mut problems);
            let at = place_of(&whole, &lifted);
            let message = sentence(&whole);
            // The whole stops at the first fault: mostly one that a section has told already.
            let told = problems
                .problems
                .iter()
                .any(|p| p.at.offset() == at || p.message == message);
            if !told {
                problems.push(at..at + 1, message, advice(&whole));
            }
            Err(problems.fail())
        }
    }
}

/// The version as written, checked; the text in the current version.
fn lift(text: &str, problems: &mut ProblemList) -> Option<String> {
    let help = format!("write `version: {ROOM_VERSION}` as the first field");
    if !problems.located().has("version") {
        // Without a version the shape errors say more when the text is no room at all.
        if problems.located().has("spaces") || problems.located().has("walks") {
            problems.at("", "the file does not say its version".into(), Some(help));
            return None;
        }
        return Some(text.to_owned());
    }
    let range = problems.located().find("version").unwrap_or(0..0);
    let version = text.get(range).and_then(|t| t.trim().parse::<u32>().ok());
    match version {
        Some(ROOM_VERSION) => Some(text.to_owned()),
        Some(1) => Some(lift_1(text, problems.located())),
        Some(v) if v > ROOM_VERSION => {
            let message = format!(
                "the file has version {v}; this program knows versions up to {ROOM_VERSION}"
            );
            problems.at(
                "version",
                message,
                Some("open it with the program that wrote it, or a newer one".into()),
            );
            None
        }
        _ => {
            problems.at(
                "version",
                "the version is not a number that this program knows".into(),
                Some(help),
            );
            None
        }
    }
}

/// A text without the byte order mark that some editors put before it.
pub(super) fn without_mark(text: &str) -> &str {
    text.strip_prefix('\u{feff}').unwrap_or(text)
}

/// The text in the current version with every value at its place; for a text whose version was checked.
pub(super) fn current(text: &str) -> Cow<'_, str> {
    let located = locate(text);
    let version = located.find("version").and_then(|range| text.get(range));
    if located.has("version") && version.is_some_and(|v| v.trim() == "1") {
        Cow::Owned(lift_1(text, &located))
    } else {
        Cow::Borrowed(text)
    }
}

/// Version 1 to 2: `walks[..].eye_height_m` became `eye_m`, `site.plan_bearing_deg` became `bearing_deg`.
/// Blanks fill the shorter names, so that every place stays what it is in the user's file.
fn lift_1(text: &str, located: &Located) -> String {
    let mut edits: Vec<(usize, &str, &str)> = Vec::new();
    let mut rename = |path: &str, from: &'static str, to: &'static str| {
        if located.has(path)
            && let Some(range) = located.find(path)
            && let Some(start) = text[..range.start].rfind(from)
        {
            edits.push((start, from, to));
        }
    };
    for i in 0..located.elements("walks").len() {
        rename(&format!("walks[{i}].eye_height_m"), "eye_height_m", "eye_m");
    }
    rename("site.plan_bearing_deg", "plan_bearing_deg", "bearing_deg");
    let mut lifted = text.to_owned();
    edits.sort_by_key(|e| std::cmp::Reverse(e.0));
    for (start, from, to) in edits {
        let padded = format!("{to:<width$}", width = from.len());
        lifted.replace_range(start..start + from.len(), &padded);
    }
    if let Some(range) = locate(&lifted).find("version") {
        lifted.replace_range(range, &ROOM_VERSION.to_string());
    }
    lifted
}

fn sections(problems: &mut ProblemList) {
    single::<schema::SiteFile>(problems, "site");
    entries::<schema::Finish>(problems, "finishes");
    entries::<schema::GlazingFile>(problems, "glazings");
    entries::<crate::material::MaterialSpec>(problems, "materials");
    elements::<schema::Space>(problems, "spaces");
    elements::<schema::Opening>(problems, "openings");
    elements::<schema::Rooflight>(problems, "rooflights");
    elements::<schema::Solid>(problems, "solids");
    entries::<schema::FixtureType>(problems, "fixture_types");
    elements::<schema::FixtureFile>(problems, "fixtures");
    elements::<schema::Walk>(problems, "walks");
    single::<schema::PieceSource>(problems, "piece");
    elements::<schema::TileChange>(problems, "tile_changes");
    single::<schema::Placement>(problems, "placement");
    elements::<schema::Placement>(problems, "candidates");
    single::<schema::Limits>(problems, "limits");
    single::<schema::StudyDefaults>(problems, "study");
    single::<schema::AdviceChoices>(problems, "advice");
}

/// Fields of the whole file that are unknown or missing. The reader itself stops at the first.
fn top_fields(problems: &mut ProblemList) {
    if problems.located.is_torn() {
        return;
    }
    // The reader knows the names: it lists them when it meets one that is none.
    let unknown = ron_options().from_str::<RoomFile>("(no_such_field: 0)");
    let Err(ron::error::SpannedError {
        code: ron::Error::NoSuchStructField { expected, .. },
        ..
    }) = unknown
    else {
        return;
    };
    let strange: Vec<String> = problems
        .located
        .top_fields()
        .filter(|name| !expected.contains(name))
        .map(str::to_owned)
        .collect();
    for found in strange {
        let value = problems.located.find(&found).unwrap_or(0..0);
        let before = problems.text.get(..value.start).unwrap_or_default();
        let start = before.rfind(found.as_str()).unwrap_or(value.start);
        let error = ron::Error::NoSuchStructField {
            expected,
            found,
            outer: None,
        };
        problems.push(
            start..value.start,
            code_sentence(&error),
            code_advice(&error),
        );
    }
    let whole = problems.located.find("").unwrap_or(0..0);
    for field in NEEDED {
        // Of a text that is no room at all, the reader says more.
        if problems.located.has("version") && !problems.located.has(field) {
            let error = ron::Error::MissingStructField { field, outer: None };
            let end = whole.end - 1;
            problems.push(end..whole.end, code_sentence(&error), code_advice(&error));
        }
    }
}

fn single<T: DeserializeOwned>(problems: &mut ProblemList, path: &str) {
    if problems.located.has(path)
        && let Some(range) = problems.located.find(path)
    {
        try_part::<T>(problems, range);
    }
}

fn elements<T: DeserializeOwned>(problems: &mut ProblemList, path: &str) {
    for range in problems.located.elements(path) {
        try_part::<T>(problems, range);
    }
}

fn entries<T: DeserializeOwned>(problems: &mut ProblemList, path: &str) {
    for range in problems.located.entries(path) {
        try_part::<T>(problems, range);
    }
}

fn try_part<T: DeserializeOwned>(problems: &mut ProblemList, range: Range<usize>) {
    let text = Arc::clone(&problems.text);
    let Some(part) = text.get(range.clone()) else {
        return;
    };
    if let Err(error) = ron_options().from_str::<T>(part) {
        let at = range.start + place_of(&error, part);
        problems.push(at..at + 1, sentence(&error), advice(&error));
    }
}

/// Byte offset of the parser's finding; the parser often stops at the blank before.
fn place_of(error: &ron::error::SpannedError, text: &str) -> usize {
    let at = offset_of(text, error.span.start.line, error.span.start.col);
    let rest = text.get(at..).unwrap_or_default();
    let word = rest.trim_start();
    if word.is_empty() {
        at
    } else {
        at + rest.len() - word.len()
    }
}

/// The parser's finding as one sentence in lower case without a full stop.
fn sentence(error: &ron::error::SpannedError) -> String {
    code_sentence(&error.code)
}

fn code_sentence(error: &ron::Error) -> String {
    use ron::Error as E;
    match error {
        E::NoSuchStructField { found, .. } => format!("no field is named `{found}` here"),
        E::NoSuchEnumVariant { found, .. } => format!("`{found}` is not one of the choices here"),
        E::MissingStructField { field, .. } => format!("the field `{field}` is missing"),
        E::DuplicateStructField { field, .. } => format!("the field `{field}` is given twice"),
        E::ExpectedComma => "a comma is missing before this".into(),
        E::ExpectedFloat | E::ExpectedInteger => "this is no number".into(),
        E::ExpectedString => "this is no text".into(),
        E::SuggestRawIdentifier(found) | E::InvalidIdentifier(found) => {
            format!("`{found}` is no name of a field")
        }
        E::Eof => "the file ends too early".into(),
        E::ExpectedNamedStructLike("RoomFile")
        | E::ExpectedDifferentStructName {
            expected: "RoomFile",
            ..
        } => "this is no room file".into(),
        other => {
            let text = other.to_string();
            let mut chars = text.trim_end_matches('.').chars();
            chars
                .next()
                .map_or(String::new(), |c| c.to_lowercase().chain(chars).collect())
        }
    }
}

fn advice(error: &ron::error::SpannedError) -> Option<String> {
    code_advice(&error.code)
}

fn code_advice(error: &ron::Error) -> Option<String> {
    use ron::Error as E;
    match error {
        E::NoSuchStructField {
            expected, found, ..
        }
        | E::NoSuchEnumVariant {
            expected, found, ..
        } => {
            let near = nearest(found, expected.iter().copied());
            let all = expected.join(", ");
            Some(near.map_or(format!("known: {all}"), |n| {
                format!("did you mean `{n}`? known: {all}")
            }))
        }
        E::MissingStructField { field, .. } => Some(format!("add `{field}: ...`")),
        E::DuplicateStructField { .. } => Some("leave one of the two out".into()),
        E::ExpectedString => Some("texts stand in double quotes".into()),
        E::ExpectedFloat | E::ExpectedInteger => Some("numbers are written as 3 or 2.5".into()),
        E::ExpectedComma => Some("or a quote is missing at the end of the text before it".into()),
        E::SuggestRawIdentifier(_) | E::InvalidIdentifier(_) => {
            Some("decimals have a point, as in 2.5; names begin with a letter".into())
        }
        E::Eof => Some("a bracket or a quote is not closed".into()),
        E::ExpectedNamedStructLike("RoomFile")
        | E::ExpectedDifferentStructName {
            expected: "RoomFile",
            ..
        } => Some(format!(
            "it begins with `(version: {ROOM_VERSION}, name: ...` in round brackets"
        )),
        _ => Some("compare brackets, commas and quotes just before this place".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn version_1_is_lifted() {
        let text = "(version: 1, site: (plan_bearing_deg: 20), walks: [(name: \"eye_height_m\", eye_height_m: 1.2)])";
        let lifted = lift_1(text, &locate(text));
        assert_eq!(
            lifted,
            "(version: 2, site: (bearing_deg     : 20), walks: [(name: \"eye_height_m\", eye_m       : 1.2)])"
        );
    }
}
