//! Why readings are marked, and the key of the other signs.

use super::axes::{knows_sun, nights};
use super::cells::{UNCERTAIN, dots, has_uncertain_and_empty};
use super::grid::{BAR_PX, Grid};
use super::regions::{draw_letter, hatch};
use super::{FlagKind, LegendEntry, WalkByDay};
use crate::report::number;
use crate::report::page::{MARGIN, WIDTH};
use crate::report::palette;
use crate::report::svg::{Lettering, Look, Svg, num};
use crate::report::typeface::{SLACK, Weight, width_px, wrap};

/// Size and leading of the sentences [px].
const TEXT_PX: f32 = 14.0;
const LEADING_PX: f32 = 19.0;
/// Letter and swatch left of a sentence [px].
const INDENT_PX: f32 = 76.0;
const GAP_PX: f32 = 40.0;

/// An entry with its lines broken.
struct Block<'a> {
    entry: &'a LegendEntry,
    head: Vec<String>,
    lines: Vec<String>,
}

impl Block<'_> {
    fn height_px(&self) -> f32 {
        (self.head.len() + self.lines.len()) as f32 * LEADING_PX + 12.0
    }
}

/// Draws the key of the signs alone below the cells; returns the y below it [px].
pub(super) fn draw_signs(svg: &mut Svg, chart: &WalkByDay, grid: &Grid) -> f32 {
    let below_cells = grid.y.end_px() + 58.0;
    let width = WIDTH - 2.0 * MARGIN;
    draw_key(svg, chart, grid, (MARGIN, below_cells), width).max(below_cells)
}

/// Draws the legend below or beside the cells; returns the y below everything [px].
pub(super) fn draw(svg: &mut Svg, chart: &WalkByDay, grid: &Grid) -> f32 {
    let below_cells = grid.y.end_px() + 58.0;
    let (x, y, width, columns) = if grid.legend_beside {
        let x = grid.bar_x + BAR_PX + GAP_PX;
        (x, grid.y.start_px(), WIDTH - MARGIN - x, 1)
    } else {
        (MARGIN, below_cells + 14.0, WIDTH - 2.0 * MARGIN, 2)
    };
    let title = if chart.legend.is_empty() {
        "Nothing is marked: no reading of this day is dead or glaring"
    } else {
        "Marked readings, and why"
    };
    let lines = wrap(title, 16.0, Weight::SemiBold, width);
    let mut y = svg.lines(x, y + 12.0, &lines, 21.0, Lettering::new(16.0).bold()) + 6.0;
    y = draw_entries(svg, chart, (x, y), width, columns);
    y = draw_key(svg, chart, grid, (x, y + 4.0), width);
    y.max(below_cells)
}

fn draw_entries(
    svg: &mut Svg,
    chart: &WalkByDay,
    at: (f32, f32),
    width: f32,
    columns: usize,
) -> f32 {
    let columns = columns.min(chart.legend.len()).max(1);
    let column_width = (width - GAP_PX * (columns - 1) as f32) / columns as f32;
    let blocks: Vec<Block> = chart
        .legend
        .iter()
        .map(|entry| block(entry, column_width - INDENT_PX))
        .collect();
    let total: f32 = blocks.iter().map(Block::height_px).sum();
    let (mut x, mut y, mut lowest) = (at.0, at.1, at.1);
    let mut column = 1;
    for block in &blocks {
        // The next column starts when more than half of this entry would pass the even share.
        let share = total / columns as f32;
        if column < columns && y > at.1 && y - at.1 + 0.5 * block.height_px() > share {
            (x, y) = (x + column_width + GAP_PX, at.1);
            column += 1;
        }
        draw_block(svg, block, x, y);
        y += block.height_px();
        lowest = lowest.max(y);
    }
    lowest
}

fn block(entry: &LegendEntry, width: f32) -> Block<'_> {
    let readings = if entry.cell_count == 1 {
        "reading"
    } else {
        "readings"
    };
    let head = format!(
        "{}, {} {readings}",
        entry.kind.word(),
        number::count(entry.cell_count)
    );
    Block {
        entry,
        head: wrap(&head, TEXT_PX, Weight::SemiBold, width),
        lines: wrap(&entry.sentence, TEXT_PX, Weight::Regular, width),
    }
}

fn draw_block(svg: &mut Svg, block: &Block, x: f32, y: f32) {
    draw_letter(svg, block.entry.letter, x + 10.0, y + 9.5);
    swatch(svg, block.entry.kind, [x + 26.0, y, 38.0, 19.0]);
    let text_x = x + INDENT_PX;
    let next = svg.lines(
        text_x,
        y + 14.0,
        &block.head,
        LEADING_PX,
        Lettering::new(TEXT_PX).bold(),
    );
    svg.lines(
        text_x,
        next,
        &block.lines,
        LEADING_PX,
        Lettering::new(TEXT_PX),
    );
}

fn swatch(svg: &mut Svg, kind: FlagKind, area: [f32; 4]) {
    let [x, y, width, height] = area;
    let corner = format!("{}-{}", num(x), num(y)).replace('.', "_");
    let d = format!(
        "M{} {}h{}v{}h{}Z",
        num(x),
        num(y),
        num(width),
        num(height),
        num(-width)
    );
    svg.rect(x, y, width, height, Look::fill(palette::TINT));
    svg.clip_begin(&format!("swatch-{corner}"), &d);
    hatch(svg, kind, area);
    svg.clip_end();
    svg.rect(x, y, width, height, Look::line(palette::INK, 1.0));
}

/// Signs that need a word: day and night, no reading, uncertain.
fn draw_key(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, at: (f32, f32), width: f32) -> f32 {
    let (uncertain, empty) = has_uncertain_and_empty(chart);
    let uncertain_text = format!(
        "uncertain by more than {} %",
        number::value(UNCERTAIN * 100.0)
    );
    let mut items: Vec<(Sign, &str)> = Vec::new();
    let night: f32 = nights(chart, &grid.y).iter().map(|n| n.1 - n.0).sum();
    if knows_sun(chart) && night < grid.y.length_px() {
        items.push((Sign::Day, "sun above the horizon"));
    }
    if knows_sun(chart) && night > 0.0 {
        items.push((Sign::Night, "sun below the horizon"));
    }
    if empty {
        items.push((Sign::Empty, "no reading"));
    }
    if uncertain && !grid.values_fit() {
        items.push((Sign::Uncertain, &uncertain_text));
    }
    let (mut x, mut y) = (at.0, at.1 + 6.0);
    for (sign, text) in &items {
        let size = 38.0 + width_px(text, 13.0, Weight::Regular) * SLACK + 28.0;
        if x > at.0 && x + size - 28.0 > at.0 + width {
            (x, y) = (at.0, y + 24.0);
        }
        sign.draw(svg, x, y);
        svg.text(x + 38.0, y + 12.5, text, Lettering::new(13.0));
        x += size;
    }
    if items.is_empty() { at.1 } else { y + 20.0 }
}

/// A sign of the key.
enum Sign {
    Day,
    Night,
    Empty,
    Uncertain,
}

impl Sign {
    fn draw(&self, svg: &mut Svg, x: f32, y: f32) {
        let area = [x, y, 28.0, 16.0];
        let [_, _, width, height] = area;
        let frame = Look::line(palette::INK_SOFT, 0.8);
        match self {
            Sign::Day => svg.rect(x, y, width, height, frame.filled(palette::DAY)),
            Sign::Night => svg.rect(x, y, width, height, frame.filled(palette::NIGHT)),
            Sign::Empty => {
                svg.rect(x, y, width, height, frame);
                let mut d = String::new();
                dots(&mut d, [x + 2.0, y + 2.0, width - 4.0, height - 4.0]);
                svg.path(
                    &d,
                    Look::line(palette::DOT, 1.6).extra(r#" stroke-linecap="round""#),
                );
            }
            Sign::Uncertain => {
                svg.rect(x, y, width, height, frame.filled(palette::TINT));
                svg.circle(
                    (x + 0.5 * width, y + 0.5 * height),
                    2.4,
                    Look::fill(palette::INK),
                );
            }
        }
    }
}
