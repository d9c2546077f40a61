//! The coloured cells, their numbers when there is room, and marks of uncertain readings.

use std::fmt::Write as _;

use super::WalkByDay;
use super::grid::Grid;
use crate::report::number;
use crate::report::palette;
use crate::report::ramp;
use crate::report::scale::ValueScale;
use crate::report::svg::{Anchor, Lettering, Look, Svg, num};
use crate::report::typeface::{SLACK, Weight, width_px};

/// Relative standard error above which a reading is marked as uncertain [1].
pub(super) const UNCERTAIN: f32 = 0.10;

/// Draws all cells.
pub(super) fn draw(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, scale: &ValueScale) {
    svg.raw(r#"<g shape-rendering="crispEdges">"#);
    for row in 0..chart.rows() {
        draw_row(svg, chart, grid, scale, row);
    }
    svg.raw("</g>");
    draw_empty(svg, chart, grid);
    if !grid.values_fit() {
        draw_uncertain(svg, chart, grid, scale);
    }
}

/// Frame, and numbers in large cells; drawn over the hatches.
pub(super) fn draw_over(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, scale: &ValueScale) {
    if grid.values_fit() {
        draw_values(svg, chart, grid, scale);
    }
    let (x, y) = (grid.x.start_px(), grid.y.start_px());
    let frame = Look::line(palette::INK, 1.0);
    svg.rect(
        x - 0.5,
        y - 0.5,
        grid.x.length_px() + 1.0,
        grid.y.length_px() + 1.0,
        frame,
    );
}

/// Neighbours of one colour become one rectangle.
fn draw_row(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, scale: &ValueScale, row: usize) {
    let colour = |column: usize| {
        chart
            .value_at(row, column)
            .map(|v| ramp::hex(scale.position(v)))
    };
    let mut column = 0;
    while column < chart.columns() {
        let here = colour(column);
        let first = column;
        column += 1;
        while column < chart.columns() && colour(column) == here {
            column += 1;
        }
        if let Some(fill) = here {
            let [x, y, _, height] = grid.cell(row, first);
            let width = grid.x.edge_px(column) - x;
            svg.raw(&format!(
                r#"<rect x="{}" y="{}" width="{}" height="{}" fill="{fill}"/>"#,
                num(x),
                num(y),
                num(width),
                num(height)
            ));
        }
    }
}

/// Cells without a reading: paper with dots on one lattice.
fn draw_empty(svg: &mut Svg, chart: &WalkByDay, grid: &Grid) {
    let mut d = String::new();
    for row in 0..chart.rows() {
        for column in 0..chart.columns() {
            if chart.value_at(row, column).is_none() {
                dots(&mut d, grid.cell(row, column));
            }
        }
    }
    if !d.is_empty() {
        svg.path(
            &d,
            Look::line(palette::DOT, 1.6).extra(r#" stroke-linecap="round""#),
        );
    }
}

/// Dots of the page-wide lattice that fall into a rectangle, as a path of points.
pub(super) fn dots(d: &mut String, [x, y, width, height]: [f32; 4]) {
    const PITCH_PX: f32 = 7.0;
    let first = |from: f32| (from / PITCH_PX).ceil() as i32;
    for i in first(x)..first(x + width) {
        for j in first(y)..first(y + height) {
            let (x, y) = (num(i as f32 * PITCH_PX), num(j as f32 * PITCH_PX));
            let _ = write!(d, "M{x} {y}h0.01");
        }
    }
}

fn draw_values(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, scale: &ValueScale) {
    for row in 0..chart.rows() {
        for column in 0..chart.columns() {
            let Some(value) = chart.value_at(row, column) else {
                continue;
            };
            let colour = palette::text_on(ramp::colour(scale.position(value)));
            let look = Lettering::new(14.0).colour(colour).anchor(Anchor::Middle);
            let (x, y) = (grid.x.middle_px(column), grid.y.middle_px(row) + 5.0);
            let mut text = number::value(value);
            if let Some(error) = chart
                .relative_error_at(row, column)
                .filter(|e| *e > UNCERTAIN)
            {
                text += &format!(" ±{} %", number::short(error * 100.0));
            }
            if !chart.letters_at(row, column).is_empty() {
                let half = 0.5 * width_px(&text, 14.0, Weight::Regular) * SLACK + 6.0;
                svg.raw(&format!(
                    r#"<rect x="{}" y="{}" width="{}" height="22" rx="4" fill="{}"/>"#,
                    num(x - half),
                    num(y - 16.0),
                    num(2.0 * half),
                    ramp::hex(scale.position(value))
                ));
            }
            svg.text(x, y, &text, look);
        }
    }
}

/// A small ring in each uncertain cell.
fn draw_uncertain(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, scale: &ValueScale) {
    let radius = (0.2 * grid.x.smallest_px().min(grid.y.smallest_px())).clamp(1.0, 2.4);
    for row in 0..chart.rows() {
        for column in 0..chart.columns() {
            if chart
                .relative_error_at(row, column)
                .is_some_and(|e| e > UNCERTAIN)
                && let Some(value) = chart.value_at(row, column)
            {
                let colour = palette::text_on(ramp::colour(scale.position(value)));
                let centre = (grid.x.middle_px(column), grid.y.middle_px(row));
                svg.circle(centre, radius, Look::fill(colour));
            }
        }
    }
}

/// Whether any reading is uncertain, any missing.
pub(super) fn has_uncertain_and_empty(chart: &WalkByDay) -> (bool, bool) {
    let (mut uncertain, mut empty) = (false, false);
    for row in 0..chart.rows() {
        for column in 0..chart.columns() {
            uncertain |= chart
                .relative_error_at(row, column)
                .is_some_and(|e| e > UNCERTAIN);
            empty |= chart.value_at(row, column).is_none();
        }
    }
    (uncertain, empty)
}
