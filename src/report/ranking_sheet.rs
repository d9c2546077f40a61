//! Places compared: their numbers, a sentence for and against each, and small walk-by-day charts.
//!
//! Input: plain data; output: SVG text, 1200 px wide. Small charts show play by colour, dead readings crossed by a
//! line and glaring ones by a dot; hours at which nobody walks there are left blank. Limits: small charts carry no axes; distance
//! along the walk runs to the right, the day runs down.

use super::page::{self, MARGIN, WIDTH};
use super::scale::{ScaleKind, ValueScale};
use super::svg::{Lettering, Look, Svg, num};
use super::typeface::{Weight, width_px, wrap};
use super::{number, palette, ramp};

/// Play at both ends of the colours.
const PLAY_RANGE: (f32, f32) = (1.0, 30.0);
/// Height of a small chart [px].
const CHART_PX: f32 = 84.0;
/// Most small charts beside one another.
const MOST_CHARTS: usize = 4;
/// Space between small charts [px].
const GAP_PX: f32 = 16.0;

/// Data of a sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RankingSheet {
    /// Title.
    pub title: String,
    /// What was judged.
    pub subtitle: String,
    /// Places, best first.
    pub rows: Vec<RankingRow>,
    /// Notes at the foot.
    pub notes: Vec<String>,
}

/// A place.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RankingRow {
    /// Its number in the order, "1" or "2 =".
    pub number: String,
    /// What it is called.
    pub name: String,
    /// Marks beside the name, e.g. "hangs here now".
    pub marks: Vec<String>,
    /// Parts: name, value with its error.
    pub parts: Vec<(String, String)>,
    /// For it.
    pub pro: String,
    /// Against it.
    pub con: String,
    /// Small charts.
    pub charts: Vec<SmallChart>,
}

/// A small chart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SmallChart {
    /// Day and sky.
    pub caption: String,
    /// Readings at each instant.
    pub columns: usize,
    /// Instant-major.
    pub cells: Vec<SmallCell>,
}

/// A reading.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SmallCell {
    /// Play; `None` where nobody walks then or nothing is seen.
    pub play: Option<f32>,
    /// Whether it is dead.
    pub dead: bool,
    /// Whether something glares.
    pub glaring: bool,
}

/// The sheet as SVG text, 1200 px wide.
pub fn ranking_sheet_svg(sheet: &RankingSheet) -> String {
    let mut svg = Svg::new();
    let mut y = page::header(&mut svg, &sheet.title, &sheet.subtitle) + 8.0;
    y = key(&mut svg, y);
    for row in &sheet.rows {
        y = draw_row(&mut svg, row, y + 18.0);
    }
    let mut notes = sheet.notes.clone();
    let texts = sheet.rows.iter().flat_map(|r| {
        [r.name.as_str(), r.pro.as_str(), r.con.as_str()]
            .into_iter()
            .chain(r.charts.iter().map(|c| c.caption.as_str()))
    });
    notes.extend(page::missing_letters_note(
        texts.chain([sheet.title.as_str(), sheet.subtitle.as_str()]),
    ));
    let height = page::footer(&mut svg, y + 24.0, &notes);
    svg.finish(WIDTH, height, &sheet.title, &sheet.subtitle)
}

fn scale() -> ValueScale {
    ValueScale {
        kind: ScaleKind::Log,
        low: PLAY_RANGE.0,
        high: PLAY_RANGE.1,
    }
}

/// What the small charts mean, in one line.
fn key(svg: &mut Svg, y: f32) -> f32 {
    let look = Lettering::new(13.0).colour(palette::INK_SOFT);
    let mut x = MARGIN;
    let words = "Small charts: along the walk to the right, through the day downward; play (light tiles over dark ones)";
    svg.text(x, y + 12.0, words, look);
    x += width_px(words, 13.0, Weight::Regular) + 14.0;
    const STEPS: usize = 24;
    for step in 0..STEPS {
        let at = step as f32 / (STEPS - 1) as f32;
        svg.raw(&format!(
            r#"<rect x="{}" y="{}" width="4.2" height="13" fill="{}"/>"#,
            num(x + 4.0 * step as f32),
            num(y + 1.0),
            ramp::hex(at)
        ));
    }
    x += 4.0 * STEPS as f32 + 8.0;
    let range = format!("1 to {} or more", number::short(PLAY_RANGE.1));
    svg.text(x, y + 12.0, &range, look);
    x = MARGIN;
    let y = y + 22.0;
    for (dead, glaring, words) in [
        (true, false, "dead: pattern lost, too dark, or hidden"),
        (false, true, "glaring: something in view hurts or veils"),
    ] {
        let cell = SmallCell {
            play: Some(5.0),
            dead,
            glaring,
        };
        draw_cell(svg, cell, (x, y), (16.0, 14.0));
        svg.text(x + 22.0, y + 12.0, words, look);
        x += 22.0 + width_px(words, 13.0, Weight::Regular) + 26.0;
    }
    y + 18.0
}

fn draw_row(svg: &mut Svg, row: &RankingRow, y: f32) -> f32 {
    svg.line(
        (MARGIN, y),
        (WIDTH - MARGIN, y),
        Look::line(palette::HAIR, 1.0),
    );
    let indent = MARGIN + 64.0;
    let width = WIDTH - MARGIN - indent;
    let mut y = y + 30.0;
    let number = Lettering::new(24.0).bold().colour(palette::ACCENT);
    svg.text(MARGIN, y, &row.number, number);
    let lines = wrap(&row.name, 18.0, Weight::SemiBold, width);
    y = svg.lines(indent, y - 2.0, &lines, 24.0, Lettering::new(18.0).bold());
    if !row.marks.is_empty() {
        let marks = row.marks.join(" · ");
        let lines = wrap(&marks, 14.0, Weight::Regular, width);
        let look = Lettering::new(14.0).colour(palette::WALK);
        y = svg.lines(indent, y - 3.0, &lines, 19.0, look);
    }
    let mut x = indent;
    y += 2.0;
    for (name, value) in &row.parts {
        let soft = Lettering::new(13.0).colour(palette::INK_SOFT);
        let wide =
            width_px(name, 13.0, Weight::Regular).max(width_px(value, 16.0, Weight::SemiBold))
                + 28.0;
        if x + wide > WIDTH - MARGIN {
            x = indent;
            y += 44.0;
        }
        svg.text(x, y, name, soft);
        svg.text(x, y + 20.0, value, Lettering::new(16.0).bold());
        x += wide;
    }
    y += 46.0;
    for (mark, sentence) in [("For", &row.pro), ("Against", &row.con)] {
        let lines = wrap(sentence, 15.0, Weight::Regular, width - 70.0);
        svg.text(indent, y, mark, Lettering::new(15.0).bold());
        y = svg.lines(indent + 70.0, y, &lines, 20.0, Lettering::new(15.0)) + 2.0;
    }
    draw_charts(svg, &row.charts, indent, y + 4.0)
}

fn draw_charts(svg: &mut Svg, charts: &[SmallChart], left: f32, y: f32) -> f32 {
    let shown = &charts[..charts.len().min(MOST_CHARTS)];
    if shown.is_empty() {
        return y;
    }
    let width = (WIDTH - MARGIN - left - GAP_PX * (shown.len() - 1) as f32) / shown.len() as f32;
    let width = width.min(320.0);
    for (k, chart) in shown.iter().enumerate() {
        let x = left + k as f32 * (width + GAP_PX);
        let soft = Lettering::new(12.0).colour(palette::INK_SOFT);
        svg.text(x, y + 10.0, &chart.caption, soft);
        let rows = chart.cells.len().checked_div(chart.columns).unwrap_or(0);
        if rows == 0 {
            continue;
        }
        let top = y + 16.0;
        let size = (width / chart.columns as f32, CHART_PX / rows as f32);
        for (i, cell) in chart.cells.iter().enumerate() {
            let at = (
                x + (i % chart.columns) as f32 * size.0,
                top + (i / chart.columns) as f32 * size.1,
            );
            draw_cell(svg, *cell, at, size);
        }
        svg.rect(x, top, width, CHART_PX, Look::line(palette::HAIR, 0.8));
    }
    y + 16.0 + CHART_PX
}

fn draw_cell(svg: &mut Svg, cell: SmallCell, at: (f32, f32), size: (f32, f32)) {
    let Some(play) = cell.play.filter(|p| p.is_finite()) else {
        svg.rect(at.0, at.1, size.0, size.1, Look::fill(palette::TINT));
        return;
    };
    let colour = ramp::colour(scale().position(play));
    let [r, g, b] = colour;
    svg.raw(&format!(
        // A hair wider than the cell, so that no seam shows.
        r##"<rect x="{}" y="{}" width="{}" height="{}" fill="#{r:02x}{g:02x}{b:02x}"/>"##,
        num(at.0),
        num(at.1),
        num(size.0 + 0.15),
        num(size.1 + 0.15)
    ));
    let ink = palette::text_on(colour);
    if cell.dead {
        svg.line(
            (at.0, at.1 + size.1),
            (at.0 + size.0, at.1),
            Look::line(ink, 0.8),
        );
    }
    if cell.glaring {
        let radius = (0.3 * size.0.min(size.1)).clamp(0.9, 3.0);
        let centre = (at.0 + 0.5 * size.0, at.1 + 0.5 * size.1);
        svg.circle(centre, radius, Look::fill(ink));
    }
}
