//! The aiming sheet: the piece with the points that fixtures aim at, and a row a fixture.
//!
//! Input: texts as they are to be printed, and points in metres; output: SVG text, 1200 px wide. Numbers in the picture are those
//! of the rows. Limits: a beam is drawn as the circle that it has across its axis, though it meets the piece as an oval.

use glam::Vec2;

use super::page::{self, WIDTH};
use super::svg::{Anchor, Lettering, Look, Svg, num};
use super::table::table;
use super::{palette, typeface};

/// Greatest height of the piece on the page [px].
const MOST_HIGH_PX: f32 = 300.0;
/// Greatest width of the piece on the page [px].
const MOST_WIDE_PX: f32 = 640.0;

/// Data of a sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AimingSheet {
    /// Title.
    pub title: String,
    /// Room, piece, place.
    pub subtitle: String,
    /// Width and height of the piece as it hangs [m].
    pub size_m: (f32, f32),
    /// Width and height in words.
    pub size_words: (String, String),
    /// Points aimed at.
    pub points: Vec<AimPoint>,
    /// Heads of the columns, lines parted by line breaks.
    pub header: Vec<String>,
    /// Which columns are aligned right.
    pub right: Vec<bool>,
    /// Rows in the order of work.
    pub rows: Vec<Vec<String>>,
    /// How to read it, and cautions.
    pub notes: Vec<String>,
}

/// A point that a fixture aims at.
#[derive(Debug, Clone, PartialEq)]
pub struct AimPoint {
    /// Number of its row.
    pub label: String,
    /// Right and up from the middle of the piece [m].
    pub at_m: (f32, f32),
    /// Diameter of the beam there [m].
    pub beam_m: f32,
}

/// The sheet as SVG text, 1200 px wide.
pub fn aiming_sheet_svg(sheet: &AimingSheet) -> String {
    let mut svg = Svg::new();
    let mut y = page::header(&mut svg, &sheet.title, &sheet.subtitle) + 14.0;
    if !sheet.points.is_empty() {
        y = draw_piece(&mut svg, sheet, y) + 16.0;
    }
    y = table(&mut svg, &sheet.header, &sheet.rows, &sheet.right, y);
    let mut notes = sheet.notes.clone();
    let texts = sheet
        .rows
        .iter()
        .flatten()
        .chain([&sheet.title, &sheet.subtitle])
        .map(String::as_str);
    notes.extend(page::missing_letters_note(texts));
    let height = page::footer(&mut svg, y + 22.0, &notes);
    svg.finish(WIDTH, height, &sheet.title, &sheet.subtitle)
}

fn draw_piece(svg: &mut Svg, sheet: &AimingSheet, top: f32) -> f32 {
    let size = Vec2::new(sheet.size_m.0, sheet.size_m.1).max(Vec2::splat(0.05));
    let px_per_m = (MOST_WIDE_PX / size.x).min(MOST_HIGH_PX / size.y);
    let (width, height) = (size.x * px_per_m, size.y * px_per_m);
    let left = 0.5 * (WIDTH - width);
    let top = top + 22.0;
    let px = |p: (f32, f32)| {
        (
            left + 0.5 * width + p.0 * px_per_m,
            top + 0.5 * height - p.1 * px_per_m,
        )
    };
    let soft = Lettering::new(13.0).colour(palette::INK_SOFT);
    let middle = soft.anchor(Anchor::Middle);
    svg.text(
        left + 0.5 * width,
        top - 8.0,
        &format!("the piece from the front, {}", sheet.size_words.0),
        middle,
    );
    svg.text(
        left - 10.0,
        top + 0.5 * height + 4.0,
        &sheet.size_words.1,
        soft.anchor(Anchor::End),
    );
    let outline = format!(
        "M{} {}H{}V{}H{}Z",
        num(left),
        num(top),
        num(left + width),
        num(top + height),
        num(left)
    );
    svg.path(
        &outline,
        Look::line(palette::INK, 1.6).filled(palette::FLOOR),
    );
    svg.clip_begin("piece", &outline);
    for point in &sheet.points {
        let radius = 0.5 * point.beam_m * px_per_m;
        svg.circle(
            px(point.at_m),
            radius,
            Look::line(palette::SUN, 0.8).filled("none"),
        );
    }
    svg.clip_end();
    let hair = Look::line(palette::HAIR, 0.8).extra(r#" stroke-dasharray="3 4""#);
    svg.line(px((0.0, -0.5 * size.y)), px((0.0, 0.5 * size.y)), hair);
    svg.line(px((-0.5 * size.x, 0.0)), px((0.5 * size.x, 0.0)), hair);
    for point in &sheet.points {
        let (x, y) = px(point.at_m);
        let cross = 6.0;
        let look = Look::line(palette::ACCENT, 1.6);
        svg.line((x - cross, y), (x + cross, y), look);
        svg.line((x, y - cross), (x, y + cross), look);
        let wide = typeface::width_px(&point.label, 14.0, typeface::Weight::SemiBold);
        svg.rect(
            x + 5.0,
            y - 20.0,
            wide + 6.0,
            17.0,
            Look::fill(palette::PAPER).extra(r#" opacity="0.85""#),
        );
        svg.text(
            x + 8.0,
            y - 6.0,
            &point.label,
            Lettering::new(14.0).bold().colour(palette::ACCENT),
        );
    }
    top + height + 8.0
}
