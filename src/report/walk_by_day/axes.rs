//! Clock, sun, distance, named places and the colour bar.

use super::grid::{ANNOTATION_PX, Axis, BAR_PX, Grid};
use super::{AllDay, WalkByDay};
use crate::report::number;
use crate::report::palette;
use crate::report::ramp;
use crate::report::scale::{ValueScale, neat_values};
use crate::report::svg::{Anchor, Lettering, Look, Svg, num};
use crate::report::typeface::{SLACK, Weight, width_px, wrap};

/// Size of axis labels [px].
const LABEL_PX: f32 = 13.0;
/// Least distance between clock labels [px].
const TICK_PX: f32 = 30.0;
/// Height of one level of names above the cells [px].
const LEVEL_PX: f32 = 20.0;

/// Names above the cells: level of each, 0 next to the cells.
#[derive(Debug, Default)]
pub(super) struct Marks {
    /// x of the place, x of the text, level, name.
    placed: Vec<(f32, f32, usize, String)>,
}

impl Marks {
    pub fn height_px(&self) -> f32 {
        let levels = self.placed.iter().map(|mark| mark.2 + 1).max().unwrap_or(0);
        levels as f32 * LEVEL_PX + if levels > 0 { 6.0 } else { 0.0 }
    }
}

/// Finds a level for each name so that no two meet. Works from right to left: a name starts at its
/// own leader line and runs to the right, so the lines of later places pass below it.
pub(super) fn place_marks(chart: &WalkByDay) -> Marks {
    if chart.columns() == 0 || chart.rows() == 0 {
        return Marks::default();
    }
    let grid = Grid::new(chart, 0.0);
    let limit = grid.bar_x - 16.0;
    let mut marks: Vec<(f32, &str)> = chart
        .station_marks
        .iter()
        .filter_map(|(at, name)| Some((grid.x.at(*at)?, name.as_str())))
        .collect();
    marks.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut placed: Vec<(f32, f32, usize, String)> = Vec::new();
    let mut taken: Vec<(usize, f32, f32)> = Vec::new();
    for (x, name) in marks {
        for line in wrap(name, LABEL_PX, Weight::Regular, limit - grid.x.start_px())
            .into_iter()
            .rev()
        {
            let width = width_px(&line, LABEL_PX, Weight::Regular) * SLACK;
            let start = (x + 4.0).min(limit - width);
            let (from, to) = (start.min(x) - 8.0, start + width + 8.0);
            let level = (0..)
                .find(|level| {
                    taken
                        .iter()
                        .all(|t| t.0 != *level || t.1 >= to || t.2 <= from)
                })
                .unwrap_or(0);
            taken.push((level, from, to));
            placed.push((x, start, level, line));
        }
    }
    Marks { placed }
}

/// Draws everything around the cells but the colour bar.
pub(super) fn draw(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, marks: &Marks) {
    let top = grid.y.start_px();
    let baseline = |level: usize| top - 10.0 - level as f32 * LEVEL_PX;
    for (x, _, level, _) in &marks.placed {
        let y = baseline(*level) - 10.0;
        svg.line((*x, y), (*x, top), Look::line(palette::INK_SOFT, 1.0));
    }
    // Lines of farther names pass behind nearer ones.
    for (_, start, level, name) in &marks.placed {
        let y = baseline(*level);
        let width = width_px(name, LABEL_PX, Weight::Regular) * SLACK;
        svg.rect(
            start - 2.0,
            y - 12.0,
            width + 4.0,
            17.0,
            Look::fill(palette::PAPER),
        );
        svg.text(*start, y, name, Lettering::new(LABEL_PX));
    }
    draw_distance(svg, chart, grid);
    draw_night(svg, chart, grid);
    let sun_labels = draw_sun(svg, chart, grid);
    draw_clock(svg, chart, grid, &sun_labels);
}

fn draw_distance(svg: &mut Svg, chart: &WalkByDay, grid: &Grid) {
    let y = grid.y.end_px();
    let look = Lettering::new(LABEL_PX).anchor(Anchor::Middle);
    let mut tick = |x: f32, text: &str| {
        svg.line((x, y), (x, y + 5.0), Look::line(palette::INK, 1.0));
        svg.text(x, y + 20.0, text, look);
    };
    let first = chart.distance_m.first().copied().unwrap_or(0.0);
    let last = chart.distance_m.last().copied().unwrap_or(0.0);
    match grid.x.span() {
        Some(_) if grid.x.smallest_px() < 60.0 => {
            let wanted = (grid.x.length_px() / 70.0).max(2.0);
            for at in neat_values(first, last, wanted) {
                if let Some(x) = grid.x.at(at) {
                    tick(x, &number::value(at));
                }
            }
        }
        _ => {
            let every = (chart.columns() as f32 * 60.0 / grid.x.length_px())
                .ceil()
                .max(1.0) as usize;
            for (column, at) in chart.distance_m.iter().enumerate().step_by(every) {
                tick(grid.x.middle_px(column), &number::value(*at));
            }
        }
    }
    let middle = 0.5 * (grid.x.start_px() + grid.x.end_px());
    let name = "Distance walked, metres";
    let half = 0.5 * width_px(name, LABEL_PX, Weight::Regular) * SLACK;
    svg.text(middle, y + 44.0, name, look.colour(palette::INK_SOFT));
    let (tail, tip) = (middle + half + 10.0, middle + half + 38.0);
    let arrow = format!(
        "M{} {y}H{}M{} {}L{} {y}L{} {}",
        num(tail),
        num(tip),
        num(tip - 6.0),
        num(y + 39.5 - 4.0),
        num(tip),
        num(tip - 6.0),
        num(y + 39.5 + 4.0),
        y = num(y + 39.5)
    );
    svg.path(&arrow, Look::line(palette::INK_SOFT, 1.2));
}

/// Dark parts of the clock axis [px].
pub(super) fn nights(chart: &WalkByDay, axis: &Axis) -> Vec<(f32, f32)> {
    let (start, end) = (axis.start_px(), axis.end_px());
    let at = |time: f32| axis.at_or_end(time);
    let mut nights = match (chart.sunrise_min, chart.sunset_min) {
        (Some(rise), Some(set)) if rise <= set => vec![(start, at(rise)), (at(set), end)],
        (Some(rise), Some(set)) => vec![(at(set), at(rise))],
        (Some(rise), None) => vec![(start, at(rise))],
        (None, Some(set)) => vec![(at(set), end)],
        (None, None) if chart.all_day == AllDay::SunDown => vec![(start, end)],
        (None, None) => Vec::new(),
    };
    nights.retain(|night| night.1 > night.0);
    nights
}

/// Whether the chart says when the sun is up.
pub(super) fn knows_sun(chart: &WalkByDay) -> bool {
    chart.sunrise_min.is_some() || chart.sunset_min.is_some() || chart.all_day != AllDay::Unknown
}

/// Strip left of the cells: pale for day, dark for night.
fn draw_night(svg: &mut Svg, chart: &WalkByDay, grid: &Grid) {
    if !knows_sun(chart) {
        return;
    }
    let x = grid.x.start_px() - 11.0;
    svg.rect(
        x,
        grid.y.start_px(),
        7.0,
        grid.y.length_px(),
        Look::fill(palette::DAY),
    );
    for (start, end) in nights(chart, &grid.y) {
        svg.rect(x, start, 7.0, end - start, Look::fill(palette::NIGHT));
    }
}

/// Lines and words for sunrise and sunset; returns the heights taken by words [px].
fn draw_sun(svg: &mut Svg, chart: &WalkByDay, grid: &Grid) -> Vec<f32> {
    let x = grid.x.end_px();
    let look = Lettering::new(LABEL_PX).bold().colour(palette::SUN);
    let mut taken: Vec<f32> = Vec::new();
    for (name, time) in [("Sunrise", chart.sunrise_min), ("Sunset", chart.sunset_min)] {
        let Some(time) = time.filter(|t| t.is_finite()) else {
            continue;
        };
        let text = format!("{name} {}", number::clock(time));
        if let Some(y) = grid.y.at(time) {
            let (left, right) = (grid.x.start_px() - 11.0, x + 8.0);
            svg.line((left, y), (right, y), Look::line(palette::WHITE, 2.6));
            svg.line((left, y), (right, y), Look::line(palette::SUN, 1.2));
            let label = taken.iter().fold(y, |label, other| {
                if (label - other).abs() < 18.0 {
                    other + 18.0
                } else {
                    label
                }
            });
            svg.text(x + 12.0, label + 4.5, &text, look);
            taken.push(label);
        } else {
            // Outside the hours drawn: an arrow toward it.
            let end = grid.y.at_or_end(time);
            let (y, arrow) = if end <= grid.y.start_px() {
                (end + 10.0, "↑")
            } else {
                (end - 8.0, "↓")
            };
            let y = taken.iter().fold(y, |y, other| {
                if (y - other).abs() < 18.0 {
                    other - 18.0
                } else {
                    y
                }
            });
            svg.text(x + 12.0, y + 4.5, &format!("{arrow} {text}"), look);
            taken.push(y);
        }
    }
    let note = match (chart.sunrise_min, chart.sunset_min, chart.all_day) {
        (None, None, AllDay::SunUp) => "The sun does not set on this day",
        (None, None, AllDay::SunDown) => "The sun does not rise on this day",
        _ => return taken,
    };
    let mut y = grid.y.start_px() + 10.0;
    for line in wrap(note, LABEL_PX, Weight::SemiBold, ANNOTATION_PX - 28.0) {
        svg.text(x + 12.0, y + 4.5, &line, look);
        taken.push(y);
        y += 18.0;
    }
    taken
}

/// Clock times left and, where given, sun times right.
fn draw_clock(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, sun_labels: &[f32]) {
    let x = grid.x.start_px() - 18.0;
    let look = Lettering::new(LABEL_PX).anchor(Anchor::End);
    let soft = Lettering::new(LABEL_PX).colour(palette::INK_SOFT);
    for (y, time) in clock_ticks(chart, &grid.y) {
        // The strip of day and night stands between tick and cells.
        let tick = if knows_sun(chart) { x + 3.0 } else { x + 13.0 };
        svg.line((tick, y), (tick + 4.0, y), Look::line(palette::INK, 1.0));
        svg.text(x, y + 4.5, &number::clock(time), look);
        let Some(sun_time) = sun_time(chart, &grid.y, y) else {
            continue;
        };
        if sun_labels.iter().all(|taken| (taken - y).abs() > 17.0) {
            let right = grid.x.end_px();
            svg.line(
                (right, y),
                (right + 5.0, y),
                Look::line(palette::INK_SOFT, 1.0),
            );
            svg.text(right + 12.0, y + 4.5, &number::clock(sun_time), soft);
        }
    }
    let below = grid.y.end_px() + 20.0;
    svg.text(x + 6.0, below, "Clock", look.colour(palette::INK_SOFT));
    if chart.solar_time_min.is_some() {
        svg.text(grid.x.end_px() + 12.0, below, "Sun time", soft);
    }
}

/// Heights and times of clock labels: a neat step when times rise, else some of the rows.
fn clock_ticks(chart: &WalkByDay, axis: &Axis) -> Vec<(f32, f32)> {
    const STEPS_MIN: [f32; 8] = [5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 180.0, 360.0];
    let first = chart.clock_min.first().copied().unwrap_or(0.0);
    let last = chart.clock_min.last().copied().unwrap_or(0.0);
    if axis.span().is_some() && axis.smallest_px() < TICK_PX {
        let px_per_min = axis.length_px() / axis.span().map_or(1.0, |s| s.1 - s.0);
        let fits = |step: &&f32| **step * px_per_min >= TICK_PX;
        let step = STEPS_MIN.iter().find(fits).copied().unwrap_or(720.0);
        let (from, to) = (
            (first / step - 1e-3).ceil() as i64,
            (last / step + 1e-3).floor() as i64,
        );
        let ticks = (from..=to).map(|i| i as f32 * step);
        let ticks: Vec<(f32, f32)> = ticks.filter_map(|t| Some((axis.at(t)?, t))).collect();
        if ticks.len() > 1 || chart.rows() < 2 && !ticks.is_empty() {
            return ticks;
        }
    }
    let every = (chart.rows() as f32 * TICK_PX / axis.length_px())
        .ceil()
        .max(1.0) as usize;
    let rows = chart.clock_min.iter().enumerate().step_by(every);
    rows.map(|(row, time)| (axis.middle_px(row), *time))
        .collect()
}

/// Sun time at a height of the page, between those of the rows.
fn sun_time(chart: &WalkByDay, axis: &Axis, y: f32) -> Option<f32> {
    let times = chart.solar_time_min.as_ref()?;
    let after = (0..times.len()).find(|row| axis.middle_px(*row) >= y - 0.5);
    match after {
        Some(0) => times.first().copied(),
        None => times.last().copied(),
        Some(row) => {
            let (before, after) = (*times.get(row - 1)?, *times.get(row)?);
            let (y0, y1) = (axis.middle_px(row - 1), axis.middle_px(row));
            // Midnight between two rows: no sensible value between them.
            let whole_day = (after - before).abs() > 720.0;
            Some(if whole_day {
                after
            } else {
                before + (after - before) * (y - y0) / (y1 - y0)
            })
        }
    }
}

/// Colour bar with ticks, right of the cells.
pub(super) fn draw_colour_bar(svg: &mut Svg, chart: &WalkByDay, grid: &Grid, scale: &ValueScale) {
    const SLICES: usize = 96;
    let (x, width) = (grid.bar_x, 18.0);
    let head = wrap(chart.quantity.name(), 14.0, Weight::SemiBold, BAR_PX);
    let y = svg.lines(
        x,
        grid.y.start_px() + 10.0,
        &head,
        17.0,
        Lettering::new(14.0).bold(),
    );
    let soft = Lettering::new(12.5).colour(palette::INK_SOFT);
    let unit = wrap(chart.quantity.unit(), 12.5, Weight::Regular, BAR_PX);
    let top = svg.lines(x, y, &unit, 16.0, soft).round() + 2.0;
    let height = (grid.y.end_px() - top).clamp(110.0, 360.0).round();
    svg.raw(r#"<g shape-rendering="crispEdges">"#);
    for slice in 0..SLICES {
        let edge = |i: usize| (top + height * i as f32 / SLICES as f32).round();
        let position = 1.0 - (slice as f32 + 0.5) / SLICES as f32;
        svg.raw(&format!(
            r#"<rect x="{}" y="{}" width="{}" height="{}" fill="{}"/>"#,
            num(x),
            num(edge(slice)),
            num(width),
            num(edge(slice + 1) - edge(slice)),
            ramp::hex(position)
        ));
    }
    svg.raw("</g>");
    svg.rect(
        x - 0.5,
        top - 0.5,
        width + 1.0,
        height + 1.0,
        Look::line(palette::INK, 1.0),
    );
    let y_at = |value: f32| top + height * (1.0 - scale.position(value));
    let ticks = bar_ticks(chart, scale, height);
    for (tick, text) in &ticks {
        let y = y_at(*tick);
        svg.line(
            (x + width, y),
            (x + width + 5.0, y),
            Look::line(palette::INK, 1.0),
        );
        svg.text(x + width + 9.0, y + 4.5, text, Lettering::new(LABEL_PX));
    }
}

/// Values and words beside a colour bar of `height` [px]; its ends say so when values lie beyond them.
fn bar_ticks(chart: &WalkByDay, scale: &ValueScale, height: f32) -> Vec<(f32, String)> {
    let y_at = |value: f32| height * (1.0 - scale.position(value));
    let values = || {
        chart
            .value
            .iter()
            .copied()
            .flatten()
            .filter(|v| v.is_finite())
    };
    let below = values().any(|v| v < scale.low * (1.0 - 1e-4) - 1e-9);
    let above = values().any(|v| v > scale.high * (1.0 + 1e-4) + 1e-9);
    let mut ticks: Vec<(f32, String)> = Vec::new();
    if below {
        ticks.push((scale.low, format!("{} and less", number::value(scale.low))));
    }
    if above {
        ticks.push((
            scale.high,
            format!("{} and more", number::value(scale.high)),
        ));
    }
    for tick in scale.ticks((height / 42.0) as usize) {
        if ticks
            .iter()
            .all(|known| (y_at(known.0) - y_at(tick)).abs() > 15.0)
        {
            ticks.push((tick, number::value(tick)));
        }
    }
    ticks
}
