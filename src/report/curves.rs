//! Curves along a walk at one time: glow, play, shift below one another over one distance axis.
//!
//! Input: stations [m] and values with standard errors; output: SVG text. Bands are two standard errors
//! to each side. Values that are absent leave a gap.

use std::fmt::Write as _;

use super::number;
use super::page::{self, MARGIN, WIDTH};
use super::palette;
use super::scale::{ScaleKind, ValueScale, neat_values};
use super::svg::{Anchor, Lettering, Look, Svg, num};
use super::typeface::{Weight, wrap};
use super::walk_by_day::Quantity;

/// One curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// What it shows.
    pub quantity: Quantity,
    /// Logarithmic or linear axis.
    pub scale: ScaleKind,
    /// Value at each station.
    pub value: Vec<Option<f32>>,
    /// Standard error of each value; empty when unknown.
    pub standard_error: Vec<Option<f32>>,
    /// A value to draw a line at, with its name, for example a limit.
    pub limit: Option<(f32, String)>,
}

/// Curves of one walk at one time.
#[derive(Debug, Clone, PartialEq)]
pub struct Curves {
    /// Title, for example walk and time.
    pub title: String,
    /// Room, date and sky.
    pub subtitle: String,
    /// Distance of each station from the start of the walk [m], rising.
    pub distance_m: Vec<f32>,
    /// Curves from top to bottom.
    pub curves: Vec<Curve>,
    /// Settings, limits used and their sources.
    pub footnote: String,
}

const LEFT_PX: f32 = MARGIN + 62.0;
const RIGHT_PX: f32 = WIDTH - MARGIN - 130.0;
const PANEL_PX: f32 = 160.0;
const LABEL_PX: f32 = 13.0;

/// The curves as SVG text, 1200 px wide.
pub fn walk_curves_svg(curves: &Curves) -> String {
    let mut svg = Svg::new();
    let mut y = page::header(&mut svg, &curves.title, &curves.subtitle) + 16.0;
    for curve in &curves.curves {
        y = draw_panel(&mut svg, curves, curve, y) + 26.0;
    }
    let bottom = y - 26.0;
    draw_distance(&mut svg, &curves.distance_m, bottom);
    let mut notes = Vec::new();
    if curves
        .curves
        .iter()
        .any(|c| c.standard_error.iter().any(Option::is_some))
    {
        notes.push("Pale bands: two standard errors to each side".to_owned());
    }
    notes.push(curves.footnote.clone());
    let texts = [curves.title.as_str(), &curves.subtitle, &curves.footnote];
    notes.extend(page::missing_letters_note(texts.into_iter()));
    let height = page::footer(&mut svg, bottom + 64.0, &notes);
    svg.finish(WIDTH, height, &curves.title, &curves.subtitle)
}

fn x_at(distance_m: &[f32], at: f32) -> f32 {
    let (first, last) = ends(distance_m);
    let share = if last > first {
        (at - first) / (last - first)
    } else {
        0.5
    };
    LEFT_PX + share * (RIGHT_PX - LEFT_PX)
}

fn ends(distance_m: &[f32]) -> (f32, f32) {
    (
        distance_m.first().copied().unwrap_or(0.0),
        distance_m.last().copied().unwrap_or(0.0),
    )
}

fn draw_panel(svg: &mut Svg, curves: &Curves, curve: &Curve, y: f32) -> f32 {
    let name = format!("{}: {}", curve.quantity.name(), curve.quantity.meaning());
    let lines = wrap(&name, 14.0, Weight::SemiBold, WIDTH - MARGIN - LEFT_PX);
    let top = svg.lines(LEFT_PX, y + 14.0, &lines, 18.0, Lettering::new(14.0).bold()) - 8.0;
    let bottom = top + PANEL_PX;
    let limit = curve.limit.iter().map(|l| l.0);
    let errors = curve.value.iter().zip(&curve.standard_error);
    let bands = errors.filter_map(|(value, error)| {
        let (value, error) = ((*value)?, (*error)?);
        Some([value - 2.0 * error, value + 2.0 * error])
    });
    let values = curve.value.iter().copied().flatten().chain(limit);
    let scale = ValueScale::fit(curve.scale, values.chain(bands.flatten()));
    let height_at = |value: f32| bottom - scale.position(value) * PANEL_PX;
    svg.rect(
        LEFT_PX,
        top,
        RIGHT_PX - LEFT_PX,
        PANEL_PX,
        Look::fill(palette::FLOOR),
    );
    for tick in scale.ticks(4) {
        let y = height_at(tick);
        svg.line((LEFT_PX, y), (RIGHT_PX, y), Look::line(palette::TINT, 1.0));
        let look = Lettering::new(LABEL_PX).anchor(Anchor::End);
        svg.text(LEFT_PX - 8.0, y + 4.5, &number::value(tick), look);
    }
    draw_band(svg, curves, curve, &height_at);
    draw_line(svg, curves, curve, &height_at);
    let mut unit_y = top + 10.0;
    if let Some((value, name)) = &curve.limit {
        let y = height_at(*value);
        let dashed = Look::line(palette::ACCENT, 1.2).extra(r#" stroke-dasharray="6 4""#);
        svg.line((LEFT_PX, y), (RIGHT_PX, y), dashed);
        let lines = wrap(
            name,
            LABEL_PX,
            Weight::Regular,
            WIDTH - MARGIN - RIGHT_PX - 10.0,
        );
        let end = svg.lines(
            RIGHT_PX + 10.0,
            y + 4.5,
            &lines,
            16.0,
            Lettering::new(LABEL_PX).colour(palette::ACCENT),
        );
        if y < top + 30.0 {
            unit_y = end + 4.0;
        }
    }
    let soft = Lettering::new(LABEL_PX).colour(palette::INK_SOFT);
    svg.text(RIGHT_PX + 10.0, unit_y, curve.quantity.unit(), soft);
    svg.rect(
        LEFT_PX,
        top,
        RIGHT_PX - LEFT_PX,
        PANEL_PX,
        Look::line(palette::HAIR, 1.0),
    );
    bottom
}

/// Two standard errors to each side, one closed shape a run of values.
fn draw_band(svg: &mut Svg, curves: &Curves, curve: &Curve, height_at: &impl Fn(f32) -> f32) {
    let mut run: Vec<(f32, f32, f32)> = Vec::new();
    let mut d = String::new();
    let close = |run: &mut Vec<(f32, f32, f32)>, d: &mut String| {
        let upper = run.iter().map(|p| (p.0, p.2));
        let lower = run.iter().rev().map(|p| (p.0, p.1));
        for (index, (x, y)) in upper.chain(lower).enumerate() {
            let command = if index == 0 { 'M' } else { 'L' };
            let _ = write!(d, "{command}{} {}", num(x), num(y));
        }
        if !run.is_empty() {
            d.push('Z');
        }
        run.clear();
    };
    for (index, distance) in curves.distance_m.iter().enumerate() {
        let value = curve.value.get(index).copied().flatten();
        let error = curve.standard_error.get(index).copied().flatten();
        match (value, error) {
            (Some(v), Some(e)) => {
                run.push((
                    x_at(&curves.distance_m, *distance),
                    height_at(v - 2.0 * e),
                    height_at(v + 2.0 * e),
                ));
            }
            _ => close(&mut run, &mut d),
        }
    }
    close(&mut run, &mut d);
    if !d.is_empty() {
        svg.path(
            &d,
            Look::fill(palette::WALK).extra(r#" fill-opacity="0.18""#),
        );
    }
}

fn draw_line(svg: &mut Svg, curves: &Curves, curve: &Curve, height_at: &impl Fn(f32) -> f32) {
    let mut d = String::new();
    let mut open = false;
    for (distance, value) in curves.distance_m.iter().zip(&curve.value) {
        let Some(value) = value.filter(|v| v.is_finite()) else {
            open = false;
            continue;
        };
        let (x, y) = (x_at(&curves.distance_m, *distance), height_at(value));
        let command = if open { 'L' } else { 'M' };
        let _ = write!(d, "{command}{} {}", num(x), num(y));
        open = true;
        svg.circle((x, y), 2.2, Look::fill(palette::WALK));
    }
    if !d.is_empty() {
        svg.path(
            &d,
            Look::line(palette::WALK, 2.0).extra(r#" stroke-linejoin="round""#),
        );
    }
}

fn draw_distance(svg: &mut Svg, distance_m: &[f32], y: f32) {
    let (first, last) = ends(distance_m);
    let look = Lettering::new(LABEL_PX).anchor(Anchor::Middle);
    for at in neat_values(first, last, 12.0) {
        let x = x_at(distance_m, at);
        svg.line((x, y), (x, y + 5.0), Look::line(palette::INK, 1.0));
        svg.text(x, y + 20.0, &number::value(at), look);
    }
    let middle = 0.5 * (LEFT_PX + RIGHT_PX);
    svg.text(
        middle,
        y + 44.0,
        "Distance walked, metres",
        look.colour(palette::INK_SOFT),
    );
}
