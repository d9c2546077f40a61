//! What all drawings share: page width, title block, foot with notes and limits.

use super::palette;
use super::svg::{Anchor, Lettering, Look, Svg};
use super::typeface::{self, Weight, wrap};

/// Width of every drawing [px].
pub(super) const WIDTH: f32 = 1200.0;
/// Empty border [px].
pub(super) const MARGIN: f32 = 56.0;

/// What the drawings do not claim; stands at the foot of each.
pub const LIMITS_NOTE: &str = "This drawing plans appearance. It does not design emergency or egress lighting, wiring, \
fixings or structure, and it does not certify eye safety or conservation compliance. Local codes, a licensed \
electrician, the building's engineer and a conservator decide.";

/// Draws title and subtitle, wrapped; returns the y below them [px].
pub(super) fn header(svg: &mut Svg, title: &str, subtitle: &str) -> f32 {
    let title_lettering = Lettering::new(30.0).bold();
    let lines = wrap(title, 30.0, Weight::SemiBold, WIDTH - 2.0 * MARGIN);
    let mut y = svg.lines(MARGIN, MARGIN + 22.0, &lines, 36.0, title_lettering) - 8.0;
    if !subtitle.trim().is_empty() {
        let lines = wrap(subtitle, 16.0, Weight::Regular, WIDTH - 2.0 * MARGIN);
        let look = Lettering::new(16.0).colour(palette::INK_SOFT);
        y = svg.lines(MARGIN, y, &lines, 22.0, look);
    }
    y
}

/// Draws a rule and the notes below it; returns the height of the page [px].
pub(super) fn footer(svg: &mut Svg, y: f32, notes: &[String]) -> f32 {
    let width = WIDTH - 2.0 * MARGIN;
    svg.line(
        (MARGIN, y),
        (MARGIN + width, y),
        Look::line(palette::HAIR, 1.0),
    );
    let mut y = y + 22.0;
    for note in notes.iter().filter(|note| !note.trim().is_empty()) {
        let lines = wrap(note, 13.0, Weight::Regular, width);
        y = svg.lines(MARGIN, y, &lines, 18.0, Lettering::new(13.0)) + 3.0;
    }
    let lines = wrap(LIMITS_NOTE, 12.0, Weight::Regular, width - 120.0);
    let soft = Lettering::new(12.0).colour(palette::INK_SOFT);
    let mark = soft.bold().anchor(Anchor::End);
    let end = svg.lines(MARGIN, y + 2.0, &lines, 16.0, soft);
    svg.text(WIDTH - MARGIN, end - 16.0, "Lustrewalk", mark);
    (end - 16.0 + 36.0).ceil()
}

/// A sentence that names the letters in `texts` which the bundled typeface lacks.
pub(super) fn missing_letters_note<'a>(texts: impl Iterator<Item = &'a str>) -> Option<String> {
    let mut letters: Vec<char> = Vec::new();
    for text in texts {
        for letter in typeface::missing(text) {
            if !letters.contains(&letter) {
                letters.push(letter);
            }
        }
    }
    if letters.is_empty() {
        return None;
    }
    let names: Vec<String> = letters
        .iter()
        .map(|letter| format!("{letter} (U+{:04X})", u32::from(*letter)))
        .collect();
    Some(format!(
        "Letters that this drawing's typeface lacks, shown as boxes where no other is at hand: {}",
        names.join(", ")
    ))
}
