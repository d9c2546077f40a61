//! Room files that are broken in every way: no panic, an answer in time, every error with a place in the text.

use std::time::Instant;

use lustrewalk::room::{NoFiles, ROOM_VERSION, RoomError, build, parse_room, validate};
use proptest::prelude::*;

const ROOMS: [&str; 4] = [
    include_str!("data/small_room.ron"),
    include_str!("../rooms/ferry-hall.ron"),
    include_str!("../rooms/stair-court.ron"),
    include_str!("../rooms/tunnel-walk.ron"),
];

/// Longest time for one text [s].
const MOST_S: f64 = 2.0;

/// Most memory of the whole test [KiB].
const MOST_KIB: u64 = 1 << 20;

/// One change of a text.
#[derive(Debug, Clone)]
enum Change {
    Flip(usize, u8),
    Cut(usize, usize),
    Insert(usize, String),
    Repeat(usize, usize),
    Number(usize, String),
}

fn change() -> impl Strategy<Value = Change> {
    let word = prop_oneof![
        "[ -~]{0,6}",
        "[(){}\\[\\],:\"]{1,3}",
        Just("((((((((".to_owned()),
        Just("/*".to_owned()),
        Just("r#\"".to_owned()),
        Just("Some(".to_owned()),
        Just("ä\u{1F600}".to_owned()),
    ];
    let number = prop_oneof![
        Just("1e9".to_owned()),
        Just("-1".to_owned()),
        Just("0".to_owned()),
        Just("NaN".to_owned()),
        Just("1e400".to_owned()),
        Just("-inf".to_owned()),
        Just("1e-40".to_owned()),
        Just("4294967296".to_owned()),
        Just("18446744073709551616".to_owned()),
        "-?[0-9]{1,4}(\\.[0-9]{0,3})?",
    ];
    prop_oneof![
        (any::<usize>(), any::<u8>()).prop_map(|(at, byte)| Change::Flip(at, byte)),
        (any::<usize>(), 0..60_usize).prop_map(|(at, n)| Change::Cut(at, n)),
        (any::<usize>(), word).prop_map(|(at, s)| Change::Insert(at, s)),
        (any::<usize>(), 0..300_usize).prop_map(|(at, n)| Change::Repeat(at, n)),
        (any::<usize>(), number.clone()).prop_map(|(at, s)| Change::Number(at, s)),
        // Numbers again: they lead deepest into the program.
        (any::<usize>(), number).prop_map(|(at, s)| Change::Number(at, s)),
    ]
}

/// The text with all changes; bytes that are no text any more become replacement signs.
fn changed(text: &str, changes: &[Change]) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for change in changes {
        let count = bytes.len().max(1);
        match change {
            Change::Flip(at, byte) => {
                if let Some(b) = bytes.get_mut(at % count) {
                    *b = *byte;
                }
            }
            Change::Cut(at, n) => {
                let from = (at % count).min(bytes.len());
                bytes.drain(from..(from + n).min(bytes.len()));
            }
            Change::Insert(at, s) => {
                let from = (at % count).min(bytes.len());
                bytes.splice(from..from, s.bytes());
            }
            Change::Repeat(at, n) => {
                let from = (at % count).min(bytes.len());
                let part = bytes[from..(from + n).min(bytes.len())].to_vec();
                bytes.splice(from..from, part);
            }
            Change::Number(at, s) => {
                // The next number is replaced.
                let from = (at % count).min(bytes.len());
                let Some(start) = bytes[from..].iter().position(u8::is_ascii_digit) else {
                    continue;
                };
                let start = from + start;
                let end = bytes[start..]
                    .iter()
                    .position(|c| !c.is_ascii_digit() && *c != b'.')
                    .map_or(bytes.len(), |n| start + n);
                bytes.splice(start..end, s.bytes());
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Every problem says something and stands inside the text.
fn check_error(text: &str, error: &RoomError) {
    let listing = error.listing();
    assert!(!listing.is_empty(), "{error:?}");
    let lines: Vec<&str> = text.split('\n').collect();
    for (line, column, message, _) in listing {
        assert!(!message.is_empty());
        assert!((1..=lines.len()).contains(&line), "line {line}: {message}");
        let width = lines[line - 1].chars().count();
        assert!(
            (1..=width + 1).contains(&column),
            "column {column} of {width}: {message}"
        );
    }
    // What the command line prints.
    let RoomError::Problems { problems, .. } = error else {
        panic!("{error:?}");
    };
    for problem in problems {
        assert!(problem.at.offset() <= text.len(), "{problem:?}");
    }
}

fn most_memory_kib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

/// Parses, validates and builds a text; whether it got to the end.
fn try_room(text: &str) -> bool {
    let start = Instant::now();
    let is_built = match parse_room(text, "fuzz") {
        Err(error) => {
            check_error(text, &error);
            false
        }
        Ok(room) => match validate(&room, text, "fuzz") {
            Err(error) => {
                check_error(text, &error);
                false
            }
            Ok(()) => match build(room, &mut NoFiles) {
                Err(error) => {
                    for (message, help) in error.listing() {
                        assert!(!message.is_empty() && !help.is_empty(), "{error:?}");
                    }
                    false
                }
                Ok(built) => {
                    for surface in &built.scene.surfaces {
                        assert!(surface.polygon.area_m2().is_finite(), "{}", surface.label);
                    }
                    for fixture in &built.scene.fixtures {
                        assert!(fixture.position.is_finite(), "{}", fixture.label);
                        assert!(
                            fixture.world_from_luminaire.is_finite(),
                            "{}",
                            fixture.label
                        );
                    }
                    for tile in &built.piece.tiles {
                        let frame = &tile.frame;
                        assert!(frame.origin.is_finite() && frame.z_dir.is_finite());
                        assert!(tile.points.iter().all(|p| p.is_finite()));
                    }
                    for station in built.walks.iter().flat_map(|w| &w.stations) {
                        assert!(station.eye.is_finite() && station.gaze_dir.is_finite());
                    }
                    true
                }
            },
        },
    };
    let took_s = start.elapsed().as_secs_f64();
    assert!(took_s < MOST_S, "{took_s} s for {} bytes", text.len());
    if let Some(kib) = most_memory_kib() {
        assert!(kib < MOST_KIB, "{kib} KiB for {} bytes", text.len());
    }
    is_built
}

#[test]
fn unchanged_rooms_get_to_the_end() {
    for room in ROOMS {
        assert!(try_room(room));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_answered(text in "\\PC{0,300}") {
        try_room(&text);
    }

    #[test]
    fn any_text_inside_a_room_is_answered(text in "[ -~\n]{0,200}") {
        try_room(&format!("(version: {ROOM_VERSION}, {text})"));
        try_room(&format!("(version: 1, {text})"));
    }

    #[test]
    fn broken_rooms_are_answered(
        which in 0..ROOMS.len(),
        changes in prop::collection::vec(change(), 1..6),
    ) {
        try_room(&changed(ROOMS[which], &changes));
    }

    #[test]
    fn rooms_with_other_numbers_are_answered(
        which in 0..ROOMS.len(),
        numbers in prop::collection::vec((any::<usize>(), 0..9_usize), 1..3),
    ) {
        let values = ["1e9", "-1", "NaN", "1e400", "0", "0.001", "100", "7", "2.5"];
        let changes: Vec<Change> = numbers
            .into_iter()
            .map(|(at, v)| Change::Number(at, values[v].to_owned()))
            .collect();
        try_room(&changed(ROOMS[which], &changes));
    }
}

#[test]
fn deep_nesting_is_answered() {
    for bracket in ["(", "[", "{", "{\"a\":", "Some(", "[(", "/*", "r#"] {
        let deep = bracket.repeat(200_000);
        try_room(&deep);
        try_room(&format!("(version: 2, walks: {deep}"));
        try_room(&ROOMS[0].replace("walks: [", &format!("walks: [{deep}")));
        try_room(&ROOMS[0].replace("layout: Grid(", &format!("layout: Grid(grain: {deep}")));
    }
}

#[test]
fn many_faults_are_answered_in_time() {
    let part = "(nonsense: 1), ";
    let text = ROOMS[0].replace("walks: [", &format!("walks: [{}", part.repeat(100_000)));
    assert!(!try_room(&text));
    let part = "(name: \"a\", at_m: (1, 1, 1), kind: \"none\"), ";
    let text = ROOMS[0].replace(
        "fixtures: [",
        &format!("fixtures: [{}", part.repeat(20_000)),
    );
    assert!(!try_room(&text));
}
