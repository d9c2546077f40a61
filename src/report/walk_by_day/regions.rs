//! Hatches, outlines and letters of flagged readings.
//!
//! Readings of one kind share a hatch; readings of one letter that touch (also at corners) are one
//! region with an outline and one letter, at the middle of its widest part.

use std::fmt::Write as _;

use super::grid::Grid;
use super::{FlagKind, WalkByDay};
use crate::report::palette;
use crate::report::svg::{Anchor, Lettering, Look, Svg, num};

/// Distance between hatch lines [px].
const PITCH_PX: f32 = 9.0;
/// Radius of the halo behind a letter [px].
pub(super) const HALO_PX: f32 = 9.5;

/// Draws hatches and outlines.
pub(super) fn draw(svg: &mut Svg, chart: &WalkByDay, grid: &Grid) {
    for kind in [FlagKind::Dead, FlagKind::Glaring, FlagKind::Hidden] {
        let letters: Vec<char> = letters(chart)
            .filter(|l| l.1 == kind)
            .map(|l| l.0)
            .collect();
        draw_hatch(svg, chart, grid, kind, &letters);
    }
    for (letter, _) in letters(chart) {
        draw_outline(svg, chart, grid, letter);
    }
}

/// Draws the letters, over everything else.
pub(super) fn draw_letters(svg: &mut Svg, chart: &WalkByDay, grid: &Grid) {
    for (letter, x, y) in place_letters(chart, grid) {
        draw_letter(svg, letter, x, y);
    }
}

/// Letters in the order of the legend, then those in cells that the legend forgot.
pub(super) fn letters(chart: &WalkByDay) -> impl Iterator<Item = (char, FlagKind)> {
    let mut found: Vec<(char, FlagKind)> = Vec::new();
    let legend = chart.legend.iter().map(|entry| (entry.letter, entry.kind));
    let cells = chart
        .flags
        .iter()
        .flatten()
        .map(|letter| (*letter, FlagKind::Dead));
    for (letter, kind) in legend.chain(cells) {
        if !found.iter().any(|known| known.0 == letter) {
            found.push((letter, kind));
        }
    }
    found.into_iter()
}

/// A letter in a white disc with a dark rim.
pub(super) fn draw_letter(svg: &mut Svg, letter: char, x: f32, y: f32) {
    svg.circle(
        (x, y),
        HALO_PX,
        Look::line(palette::INK, 1.2).filled(palette::WHITE),
    );
    let look = Lettering::new(12.5).bold().anchor(Anchor::Middle);
    svg.text(x, y + 4.5, &letter.to_string(), look);
}

fn has(chart: &WalkByDay, row: usize, column: usize, letter: char) -> bool {
    chart.letters_at(row, column).contains(&letter)
}

fn draw_hatch(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, kind: FlagKind, letters: &[char]) {
    let mut clip = String::new();
    for row in 0..chart.rows() {
        let mut column = 0;
        let marked = |column: usize| letters.iter().any(|l| has(chart, row, column, *l));
        while column < chart.columns() {
            let first = column;
            while column < chart.columns() && marked(column) {
                column += 1;
            }
            if column > first {
                let [x, y, _, height] = grid.cell(row, first);
                let right = grid.x.edge_px(column);
                let _ = write!(
                    clip,
                    "M{} {}H{}V{}H{}Z",
                    num(x),
                    num(y),
                    num(right),
                    num(y + height),
                    num(x)
                );
            }
            column += 1;
        }
    }
    if clip.is_empty() {
        return;
    }
    let area = [
        grid.x.start_px(),
        grid.y.start_px(),
        grid.x.length_px(),
        grid.y.length_px(),
    ];
    svg.clip_begin(&format!("marked-{}", kind.word().to_lowercase()), &clip);
    hatch(svg, kind, area);
    svg.clip_end();
}

/// Hatch lines over a rectangle: a dark line in a white casing shows on dark and light cells alike.
pub(super) fn hatch(svg: &mut Svg, kind: FlagKind, [x, y, width, height]: [f32; 4]) {
    let mut d = String::new();
    let lines =
        |from: f32, to: f32, pitch: f32| (from / pitch).floor() as i32..=(to / pitch).ceil() as i32;
    match kind {
        // Falls to the right: x - y constant.
        FlagKind::Dead => {
            let pitch = PITCH_PX * std::f32::consts::SQRT_2;
            for i in lines(x - y - height, x + width - y, pitch) {
                let c = i as f32 * pitch;
                let _ = write!(
                    d,
                    "M{} {}L{} {}",
                    num(c + y),
                    num(y),
                    num(c + y + height),
                    num(y + height)
                );
            }
        }
        // Rises to the right: x + y constant.
        FlagKind::Glaring => {
            let pitch = PITCH_PX * std::f32::consts::SQRT_2;
            for i in lines(x + y, x + width + y + height, pitch) {
                let c = i as f32 * pitch;
                let _ = write!(
                    d,
                    "M{} {}L{} {}",
                    num(c - y),
                    num(y),
                    num(c - y - height),
                    num(y + height)
                );
            }
        }
        // Level.
        FlagKind::Hidden => {
            for i in lines(y, y + height, PITCH_PX) {
                let _ = write!(
                    d,
                    "M{} {}H{}",
                    num(x),
                    num(i as f32 * PITCH_PX),
                    num(x + width)
                );
            }
        }
    }
    svg.path(
        &d,
        Look::line(palette::WHITE, 3.0).extra(r#" stroke-opacity="0.75""#),
    );
    svg.path(&d, Look::line(palette::INK, 1.15));
}

/// Outline of all cells with a letter, along cell edges.
fn draw_outline(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, letter: char) {
    let (rows, columns) = (chart.rows(), chart.columns());
    let inside = |row: Option<usize>, column: Option<usize>| match (row, column) {
        (Some(r), Some(c)) => r < rows && c < columns && has(chart, r, c, letter),
        _ => false,
    };
    let mut d = String::new();
    for edge in 0..=rows {
        let border = |c: usize| inside(edge.checked_sub(1), Some(c)) != inside(Some(edge), Some(c));
        for (from, to) in runs(columns, border) {
            let (x, y) = (grid.x.edge_px(from), grid.y.edge_px(edge));
            let _ = write!(d, "M{} {}H{}", num(x), num(y), num(grid.x.edge_px(to)));
        }
    }
    for edge in 0..=columns {
        let border = |r: usize| inside(Some(r), edge.checked_sub(1)) != inside(Some(r), Some(edge));
        for (from, to) in runs(rows, border) {
            let (x, y) = (grid.x.edge_px(edge), grid.y.edge_px(from));
            let _ = write!(d, "M{} {}V{}", num(x), num(y), num(grid.y.edge_px(to)));
        }
    }
    if !d.is_empty() {
        let square = r#" stroke-linecap="square""#;
        svg.path(&d, Look::line(palette::WHITE, 3.4).extra(square));
        svg.path(&d, Look::line(palette::INK, 1.4).extra(square));
    }
}

/// Runs of true values: first index and the one after the last.
fn runs(count: usize, is: impl Fn(usize) -> bool) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut start = None;
    for index in 0..=count {
        match (index < count && is(index), start) {
            (true, None) => start = Some(index),
            (false, Some(from)) => {
                found.push((from, index));
                start = None;
            }
            _ => {}
        }
    }
    found
}

/// Cells of each region of a letter, as (row, column), regions in reading order.
fn regions(chart: &WalkByDay, letter: char) -> Vec<Vec<(usize, usize)>> {
    let (rows, columns) = (chart.rows(), chart.columns());
    let mut seen = vec![false; rows * columns];
    let mut found = Vec::new();
    for start in 0..rows * columns {
        let mut stack = vec![(start / columns, start % columns)];
        let mut region = Vec::new();
        while let Some((row, column)) = stack.pop() {
            let Some(mark) = seen.get_mut(row * columns + column) else {
                continue;
            };
            if *mark || !has(chart, row, column, letter) {
                continue;
            }
            *mark = true;
            region.push((row, column));
            for r in row.saturating_sub(1)..(row + 2).min(rows) {
                for c in column.saturating_sub(1)..(column + 2).min(columns) {
                    stack.push((r, c));
                }
            }
        }
        if !region.is_empty() {
            region.sort_unstable();
            found.push(region);
        }
    }
    found
}

/// Letter and centre of each halo [px]: one a region, at least one a letter, none on another.
fn place_letters(chart: &WalkByDay, grid: &Grid) -> Vec<(char, f32, f32)> {
    let mut placed: Vec<(char, f32, f32)> = Vec::new();
    for (letter, _) in letters(chart) {
        let mut regions = regions(chart, letter);
        // Largest first, so that the one letter that must be drawn has a good place.
        regions.sort_by_key(|region| std::cmp::Reverse(region.len()));
        let mut drawn = false;
        for region in &regions {
            let spots = spots(grid, region);
            let near_own = |s: &(f32, f32)| {
                placed
                    .iter()
                    .any(|p| p.0 == letter && (p.1 - s.0).hypot(p.2 - s.1) < 5.0 * HALO_PX)
            };
            if drawn && spots.first().is_some_and(near_own) {
                continue;
            }
            let free = |s: &&(f32, f32)| {
                placed
                    .iter()
                    .all(|p| (p.1 - s.0).hypot(p.2 - s.1) > 2.3 * HALO_PX)
            };
            let spot = spots.iter().find(free).copied().or_else(|| {
                let start = spots.first().filter(|_| !drawn)?;
                let around = ring_of_spots(*start, grid);
                around.iter().find(free).copied()
            });
            if let Some((x, y)) = spot {
                placed.push((letter, x, y));
                drawn = true;
            }
        }
    }
    placed
}

/// Places for a letter in a region, best first: far from its border, then near its middle.
fn spots(grid: &Grid, region: &[(usize, usize)]) -> Vec<(f32, f32)> {
    let count = region.len().max(1) as f32;
    let centre = |cell: &(usize, usize)| {
        let y = grid.y.middle_px(cell.0);
        let x = grid.x.middle_px(cell.1);
        // Numbers stand in the middle of large cells; letters go to their upper left then.
        if grid.values_fit() {
            let [left, top, ..] = grid.cell(cell.0, cell.1);
            (left + HALO_PX + 5.0, top + HALO_PX + 5.0)
        } else {
            (x, y)
        }
    };
    let middle = region
        .iter()
        .map(centre)
        .fold((0.0, 0.0), |m, c| (m.0 + c.0 / count, m.1 + c.1 / count));
    let is_in = |row: usize, column: usize| region.binary_search(&(row, column)).is_ok();
    let mut spots: Vec<(f32, f32, f32)> = region
        .iter()
        .map(|cell| {
            let (row, column) = *cell;
            let left = (0..=column)
                .rev()
                .take_while(|c| is_in(row, *c))
                .last()
                .unwrap_or(column);
            let right = (column..)
                .take_while(|c| is_in(row, *c))
                .last()
                .unwrap_or(column);
            let top = (0..=row)
                .rev()
                .take_while(|r| is_in(*r, column))
                .last()
                .unwrap_or(row);
            let bottom = (row..)
                .take_while(|r| is_in(*r, column))
                .last()
                .unwrap_or(row);
            let (x, y) = centre(cell);
            let (mx, my) = (grid.x.middle_px(column), grid.y.middle_px(row));
            let room = (mx - grid.x.edge_px(left))
                .min(grid.x.edge_px(right + 1) - mx)
                .min(my - grid.y.edge_px(top))
                .min(grid.y.edge_px(bottom + 1) - my);
            // Room beyond three halos is no better; nearness to the middle decides then.
            let score = room.min(3.0 * HALO_PX) - 0.25 * (x - middle.0).hypot(y - middle.1);
            (score, x, y)
        })
        .collect();
    spots.sort_by(|a, b| b.0.total_cmp(&a.0));
    spots.into_iter().map(|s| (s.1, s.2)).collect()
}

/// Places around a spot, nearest first, inside the chart.
fn ring_of_spots(start: (f32, f32), grid: &Grid) -> Vec<(f32, f32)> {
    let mut found = Vec::new();
    for ring in 1..60 {
        for step in 0..12 {
            let angle = step as f32 * std::f32::consts::TAU / 12.0;
            let radius = ring as f32 * HALO_PX;
            let (x, y) = (
                start.0 + radius * angle.cos(),
                start.1 + radius * angle.sin(),
            );
            let inside = x > grid.x.start_px() + HALO_PX
                && x < grid.x.end_px() - HALO_PX
                && y > grid.y.start_px() + HALO_PX
                && y < grid.y.end_px() - HALO_PX;
            if inside {
                found.push((x, y));
            }
        }
    }
    found
}
