//! Room files with faults: each file of `tests/bad_rooms` says in comments what must be reported, and nothing
//! else may be.
//!
//! ```text
//! // Error: LINE:COLUMN part of the message      a problem of the text, one line each
//! // Error: part of the message                  a problem met on building, without a place
//! // Sound                                       the file has no problem
//! ```
//! Lines and columns count from 1, columns in characters.

#![allow(
    clippy::unwrap_used,
    reason = "in helpers of tests a panic is the failure"
)]

use std::{
    fs,
    path::{Path, PathBuf},
};

use lustrewalk::room::{Beside, RoomError, build, parse_room, validate};

/// A problem: where (unless it was met on building), message, help.
#[derive(Debug)]
struct Found {
    at: Option<(usize, usize)>,
    message: String,
    help: String,
}

/// A problem that a file says it has.
#[derive(Debug, PartialEq)]
struct Expected {
    at: Option<(usize, usize)>,
    fragment: String,
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad_rooms")
}

fn listed(error: &RoomError) -> Vec<Found> {
    error
        .listing()
        .into_iter()
        .map(|(line, column, message, help)| Found {
            at: Some((line, column)),
            message,
            help,
        })
        .collect()
}

/// All that is wrong with a text, as the command line finds it.
fn problems(text: &str, name: &str) -> Vec<Found> {
    let room = match parse_room(text, name) {
        Ok(room) => room,
        Err(error) => return listed(&error),
    };
    if let Err(error) = validate(&room, text, name) {
        return listed(&error);
    }
    match build(room, &mut Beside::in_folder(folder())) {
        Ok(_) => Vec::new(),
        Err(error) => error
            .listing()
            .into_iter()
            .map(|(message, help)| Found {
                at: None,
                message,
                help,
            })
            .collect(),
    }
}

fn expected(text: &str) -> Vec<Expected> {
    text.lines()
        .filter_map(|line| line.strip_prefix("// Error: "))
        .map(|line| {
            let place = line.split_once(' ').and_then(|(place, fragment)| {
                let (line, column) = place.split_once(':')?;
                Some(((line.parse().ok()?, column.parse().ok()?), fragment))
            });
            Expected {
                at: place.map(|p| p.0),
                fragment: place.map_or(line, |p| p.1).to_owned(),
            }
        })
        .collect()
}

/// What differs between a file's comments and what was found; empty when all is as it says.
fn differences(text: &str, found: &[Found]) -> Vec<String> {
    let wanted = expected(text);
    let is_sound = text.lines().any(|line| line == "// Sound");
    let mut wrong = Vec::new();
    if wanted.is_empty() != is_sound {
        wrong.push("the file says neither `// Error: ...` nor `// Sound`, or both".to_owned());
    }
    let mut left: Vec<&Found> = found.iter().collect();
    for want in &wanted {
        let hit = left
            .iter()
            .position(|f| f.at == want.at && f.message.contains(&want.fragment));
        match hit {
            Some(i) => {
                left.remove(i);
            }
            None => wrong.push(format!("not reported: {want:?}")),
        }
    }
    wrong.extend(left.iter().map(|f| format!("not expected: {f:?}")));
    wrong
}

fn bad_rooms() -> Vec<(String, String)> {
    let mut files: Vec<(String, String)> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "ron"))
        .map(|path| {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, fs::read_to_string(path).unwrap())
        })
        .collect();
    files.sort();
    files
}

#[test]
fn every_fault_is_reported_at_its_place_and_nothing_else_is() {
    let files = bad_rooms();
    assert!(files.len() >= 35, "{} files", files.len());
    let mut wrong = Vec::new();
    for (name, text) in &files {
        let found = problems(text, name);
        wrong.extend(
            differences(text, &found)
                .into_iter()
                .map(|d| format!("{name}: {d}")),
        );
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_problem_says_what_would_be_right() {
    for (name, text) in bad_rooms() {
        for found in problems(&text, &name) {
            assert!(found.help.len() >= 10, "{name}: no help for {found:?}");
        }
    }
}

#[test]
fn messages_are_one_line_in_lower_case_without_a_full_stop() {
    for (name, text) in bad_rooms() {
        for found in problems(&text, &name) {
            let message = &found.message;
            let first = message.chars().next().unwrap_or('?');
            assert!(!first.is_uppercase(), "{name}: {message}");
            assert!(!message.ends_with('.'), "{name}: {message}");
            assert!(!message.contains('\n'), "{name}: {message}");
        }
    }
}

#[test]
fn mistyped_names_bring_the_right_ones() {
    for (file, right) in [
        ("field_misspelt.ron", "did you mean `reflectance`?"),
        ("name_unknown_finish.ron", "did you mean \"grey\"?"),
        ("name_unknown_glazing.ron", "did you mean \"clear\"?"),
        ("name_unknown_material.ron", "did you mean maple satin"),
        ("name_unknown_sky.ron", "did you mean \"overcast\"?"),
        ("site_unknown_zone.ron", "Europe/Berlin"),
    ] {
        let text = fs::read_to_string(folder().join(file)).unwrap();
        let found = problems(&text, file);
        assert!(
            found
                .iter()
                .any(|f| f.help.contains(right) || f.message.contains(right)),
            "{file}: {right:?} is not suggested: {found:?}"
        );
    }
}

#[test]
fn a_thousand_faults_are_counted_and_not_all_told() {
    let solid =
        "(name: \"a\", outline_m: [(0, 0), (1, 0), (1, 1)], from_m: 0, to_m: 1, finish: \"?\"),";
    let sound = fs::read_to_string(folder().join("version_1.ron")).unwrap();
    let text = sound.replace(
        "walks: [",
        &format!("solids: [{}],\n walks: [", solid.repeat(1000)),
    );
    let found = problems(&text, "many.ron");
    assert_eq!(found.len(), 101, "{:?}", found.last());
    // A finish that is unknown in each, and a name that all but the first repeat.
    let rest = "1899 more problems";
    assert_eq!(found.last().unwrap().message, rest);
}

#[test]
fn files_of_nothing_are_told_at_their_beginning() {
    for text in ["", " ", "\u{feff}"] {
        let found = problems(text, "empty.ron");
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].message, "this is no room file");
        assert!(found[0].at.is_some_and(|at| at.0 == 1), "{found:?}");
    }
}

/// As other editors save it: with a byte order mark, and lines that end in carriage return and line feed.
#[test]
fn places_are_right_in_files_of_other_editors() {
    let text = fs::read_to_string(folder().join("name_unknown_finish.ron")).unwrap();
    let windows = format!("\u{feff}{}", text.replace('\n', "\r\n"));
    assert_eq!(
        differences(&text, &problems(&windows, "windows.ron")),
        Vec::<String>::new()
    );
}

#[test]
fn a_wrong_expectation_fails() {
    let found = [Found {
        at: Some((3, 5)),
        message: "no finish is named \"x\"".into(),
        help: String::new(),
    }];
    for (text, count) in [
        ("// Error: 3:5 no finish", 0),
        ("// Error: 3:4 no finish", 2),
        ("// Error: 3:5 no glazing", 2),
        ("// Error: no finish", 2),
        ("// Error: 3:5 no finish\n// Error: 3:5 no finish", 1),
        ("// Sound", 1),
        ("", 2),
    ] {
        assert_eq!(differences(text, &found).len(), count, "{text}");
    }
}
