//! Piece files and drawings that are broken in every way: no panic, and an answer in time.

use std::time::Instant;

use lustrewalk::piece::drawing::{DrawingOptions, read_drawing};
use lustrewalk::piece::parse_piece;
use proptest::prelude::*;

const PIECES: [&str; 3] = [
    include_str!("data/pieces/herringbone_veneer.ron"),
    include_str!("data/pieces/fan_brass.ron"),
    include_str!("data/pieces/grid_concrete.ron"),
];

/// A drawing with something of everything.
const DRAWING: &str = r##"<?xml version="1.0"?>
<!DOCTYPE svg [<!ENTITY w "40">]>
<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="1e2mm" viewBox="-10 -20 200 100">
<style>.st0 { fill: #a05a2c; stroke: none } rect, .x > g { opacity: 0.5 }</style>
<defs><g id="t"><rect width="&w;" height="10" rx="3"/></g><clipPath id="c"><circle r="30"/></clipPath>
<linearGradient id="l"><stop offset="0" stop-color="red"/><stop offset="1" stop-color="blue"/></linearGradient>
<pattern id="p" width="4" height="4"><use href="#t"/></pattern></defs>
<g id="layer" transform="matrix(1 .2 -.2 1 3 4)" clip-path="url(#c)">
<path class="st0" d="M0 0a5 5 0 0110 0q3-4 7 2t5 6c1 2 3 4-8 9z m2 2h3v3h-3z"/>
<use href="#t" x="5" y="20"/><polygon points="1,2 30,4 20.5,60" fill="url(#l)"/></g>
<svg x="50" y="5" width="30" height="30" viewBox="0 0 9 9"><ellipse cx="4" cy="5" rx="8" ry="2" fill="url(#p)"/></svg>
<polyline points="0 0 10 10 20 0 0 0" fill="none" stroke="#123456" stroke-dasharray="1 .1"/>
<line x1="5" y1="-5" x2="5" y2="30" stroke="red"/><text x="4">A</text>
</svg>"##;

/// One change of a text.
#[derive(Debug, Clone)]
enum Change {
    Cut(usize, usize),
    Insert(usize, String),
    Repeat(usize, usize),
    Number(usize, String),
}

fn change() -> impl Strategy<Value = Change> {
    let word = prop_oneof![
        "[ -~]{0,6}",
        Just("1e39".to_owned()),
        Just("-1e-40".to_owned()),
        Just("NaN".to_owned()),
        Just("((((((((".to_owned()),
        Just("<g>".to_owned()),
        Just("<use href=\"#t\"/>".to_owned()),
        Just("ä\u{1F600}".to_owned()),
    ];
    prop_oneof![
        (any::<usize>(), 0..40_usize).prop_map(|(at, n)| Change::Cut(at, n)),
        (any::<usize>(), word).prop_map(|(at, s)| Change::Insert(at, s)),
        (any::<usize>(), 0..200_usize).prop_map(|(at, n)| Change::Repeat(at, n)),
        (
            any::<usize>(),
            "-?[0-9]{1,9}(\\.[0-9]{0,3})?(e-?[0-9]{1,2})?"
        )
            .prop_map(|(at, s)| Change::Number(at, s)),
    ]
}

fn changed(text: &str, changes: &[Change]) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    for change in changes {
        let count = chars.len().max(1);
        match change {
            Change::Cut(at, n) => {
                let from = (at % count).min(chars.len());
                chars.drain(from..(from + n).min(chars.len()));
            }
            Change::Insert(at, s) => {
                let from = (at % count).min(chars.len());
                chars.splice(from..from, s.chars());
            }
            Change::Repeat(at, n) => {
                let from = (at % count).min(chars.len());
                let part: Vec<char> = chars[from..(from + n).min(chars.len())].to_vec();
                chars.splice(from..from, part);
            }
            Change::Number(at, s) => {
                // The next number is replaced.
                let from = (at % count).min(chars.len());
                let Some(start) = chars[from..].iter().position(char::is_ascii_digit) else {
                    continue;
                };
                let start = from + start;
                let end = chars[start..]
                    .iter()
                    .position(|c| !c.is_ascii_digit() && *c != '.')
                    .map_or(chars.len(), |n| start + n);
                chars.splice(start..end, s.chars());
            }
        }
    }
    chars.into_iter().collect()
}

/// Cuts the piece if it parses; every error must say something and have a remedy.
fn try_piece(text: &str) {
    let start = Instant::now();
    let drawing = |_: &str| Ok(DRAWING.as_bytes().to_vec());
    match parse_piece(text, "fuzz").and_then(|spec| spec.tiling(&mut { drawing })) {
        Ok(tiling) => {
            for tile in &tiling.tiles {
                assert!(tile.area_m2 > 0.0 && tile.centroid_m.is_finite());
                assert!((0.0..std::f32::consts::TAU).contains(&tile.grain_rad));
                assert!(tile.outline_m.len() >= 3);
            }
            let _ = tiling.neighbours();
        }
        Err(error) => {
            assert!(
                !error.to_string().is_empty() && !error.help().is_empty(),
                "{error:?}"
            );
        }
    }
    assert!(
        start.elapsed().as_secs_f64() < 5.0,
        "{:?} for {text}",
        start.elapsed()
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn any_text_is_answered(text in ".{0,200}") {
        try_piece(&text);
        let _ = read_drawing(text.as_bytes(), "fuzz", &DrawingOptions::default());
    }

    #[test]
    fn broken_pieces_are_answered(
        which in 0..3_usize,
        changes in prop::collection::vec(change(), 1..5),
    ) {
        try_piece(&changed(PIECES[which], &changes));
    }

    #[test]
    fn broken_drawings_are_answered(
        changes in prop::collection::vec(change(), 1..6),
        close_lines: bool,
        gives_width: bool,
    ) {
        let text = changed(DRAWING, &changes);
        let options = DrawingOptions { width_m: gives_width.then_some(1.5), close_lines };
        let start = Instant::now();
        match read_drawing(text.as_bytes(), "fuzz", &options) {
            Ok(drawing) => {
                for outline in &drawing.outlines {
                    prop_assert!(outline.polygon_m.iter().all(|p| p.is_finite()));
                }
            }
            Err(error) => prop_assert!(!error.to_string().is_empty() && !error.help().is_empty()),
        }
        prop_assert!(start.elapsed().as_secs_f64() < 2.0, "{:?} for {}", start.elapsed(), text);
    }

    #[test]
    fn bytes_that_are_no_text_are_answered(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        prop_assert!(read_drawing(&bytes, "fuzz", &DrawingOptions::default()).is_err());
    }
}

#[test]
fn the_unbroken_drawing_is_read() {
    let drawing = read_drawing(DRAWING.as_bytes(), "seed", &DrawingOptions::default()).unwrap();
    assert!(drawing.outlines.len() >= 4, "{}", drawing.outlines.len());
}
