//! The column beside the drawing (compass and key) and the scale bar below it.

use glam::Vec2;

use super::building::{is_in_view, offset_m};
use super::compass::{self, COMPASS_PX};
use super::sign::{SIGN_PX, Sign};
use super::view::{SIDE_PX, View};
use super::{OpeningKind, Plan, SolidSide};
use crate::report::number;
use crate::report::page::{MARGIN, WIDTH};
use crate::report::palette;
use crate::report::scale::neat_step;
use crate::report::svg::{Anchor, Lettering, Look, Svg};
use crate::report::typeface::{Weight, wrap};
use crate::units::METRES_PER_FOOT;

const TEXT_PX: f32 = 13.0;

/// Draws compass and key in the right column from `top`; returns the y below [px].
pub(super) fn draw(svg: &mut Svg, plan: &Plan, view: &View, top: f32) -> f32 {
    let left = WIDTH - MARGIN - SIDE_PX;
    let y = compass::draw(
        svg,
        plan,
        Vec2::new(left + COMPASS_PX + 22.0, top + COMPASS_PX + 26.0),
    );
    draw_key(svg, plan, view, (left, y + 18.0))
}

fn draw_key(svg: &mut Svg, plan: &Plan, view: &View, at: (f32, f32)) -> f32 {
    let (x, mut y) = at;
    let has = |is: fn(&OpeningKind) -> bool| plan.openings.iter().any(|o| is(&o.kind));
    let mut items: Vec<(Sign, String)> = Vec::new();
    let mut add = |shown: bool, sign: Sign, text: &str| {
        if shown {
            items.push((sign, text.to_owned()));
        }
    };
    add(
        plan.piece.is_some(),
        Sign::Piece,
        "the piece and where it faces",
    );
    add(
        !plan.candidates.is_empty(),
        Sign::Candidate,
        "other place for the piece",
    );
    add(
        !plan.walks.is_empty(),
        Sign::Walk,
        "walk, a dot at each station, distance from its start",
    );
    add(
        !plan.fixtures.is_empty(),
        Sign::Fixture,
        "fixture and where it is aimed",
    );
    add(has(|k| *k == OpeningKind::Window), Sign::Window, "window");
    add(has(|k| *k == OpeningKind::Door), Sign::Door, "door");
    add(
        has(|k| matches!(k, OpeningKind::Rooflight(_))),
        Sign::Rooflight,
        "rooflight overhead",
    );
    add(
        plan.solids
            .iter()
            .any(|s| s.side == SolidSide::Outside && is_in_view(s, view)),
        Sign::Outside,
        "building or tree outside",
    );
    for (index, day) in plan.days().into_iter().enumerate() {
        add(true, Sign::Ring(index), &format!("sun on {day}"));
    }
    add(
        plan.sun.iter().any(|s| s.elevation_rad >= 0.0),
        Sign::Sun,
        "where it stands: clock time and height above the horizon; the arrow is its light",
    );
    add(
        plan.sun.iter().any(|s| s.elevation_rad < 0.0),
        Sign::SunDown,
        "sun below the horizon",
    );
    for (sign, text) in &items {
        let lines = wrap(text, TEXT_PX, Weight::Regular, SIDE_PX - SIGN_PX - 10.0);
        sign.draw(svg, Vec2::new(x, y - 4.5));
        y = svg.lines(x + SIGN_PX + 10.0, y, &lines, 17.0, Lettering::new(TEXT_PX)) + 6.0;
    }
    draw_far(svg, plan, view, (x, y + 6.0))
}

/// Solids outside the drawing, with distance and direction.
fn draw_far(svg: &mut Svg, plan: &Plan, view: &View, at: (f32, f32)) -> f32 {
    let far = plan
        .solids
        .iter()
        .filter(|s| s.side == SolidSide::Outside && !is_in_view(s, view));
    let far: Vec<_> = far.collect();
    if far.is_empty() {
        return at.1;
    }
    let (x, mut y) = at;
    svg.text(x, y, "Beyond the drawing", Lettering::new(TEXT_PX).bold());
    y += 18.0;
    for solid in far {
        let Some(offset) = offset_m(solid, plan) else {
            continue;
        };
        let azimuth = (offset.x.atan2(offset.y) + plan.bearing_rad)
            .to_degrees()
            .rem_euclid(360.0);
        let name = if solid.label.trim().is_empty() {
            "Unnamed"
        } else {
            &solid.label
        };
        let text = format!(
            "{name}: {} m to the {}",
            number::short(offset.length()),
            compass_word(azimuth)
        );
        let lines = wrap(&text, TEXT_PX, Weight::Regular, SIDE_PX);
        y = svg.lines(x, y, &lines, 17.0, Lettering::new(TEXT_PX)) + 4.0;
    }
    y
}

/// Name of the nearest of eight winds.
fn compass_word(azimuth_deg: f32) -> &'static str {
    const WORDS: [&str; 8] = [
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    ];
    let index = (azimuth_deg / 45.0).round() as usize % 8;
    WORDS.get(index).copied().unwrap_or("north")
}

/// Scale bar in metres and feet below the drawing; returns the y below [px].
pub(super) fn draw_scale_bar(svg: &mut Svg, view: &View) -> f32 {
    scale_bar(svg, MARGIN, view.frame().bottom + 22.0, view.scale)
}

/// Scale bar in metres and feet with its left end at `x` and its top at `y`; returns the y below [px].
pub(in crate::report) fn scale_bar(svg: &mut Svg, x: f32, y: f32, px_per_m: f32) -> f32 {
    let mut bar = |y: f32, unit_px: f32, unit: &str, above: bool| {
        let step = neat_step(f64::from(90.0 / unit_px) * 0.5) as f32;
        let segments = 4;
        for i in 0..segments {
            let from = x + i as f32 * step * unit_px;
            let fill = if i % 2 == 0 {
                palette::INK
            } else {
                palette::FLOOR
            };
            svg.rect(
                from,
                y,
                step * unit_px,
                5.0,
                Look::line(palette::INK, 0.8).filled(fill),
            );
        }
        let label_y = if above { y - 5.0 } else { y + 18.0 };
        for i in [0, segments / 2, segments] {
            let at = x + i as f32 * step * unit_px;
            let text = number::value(i as f32 * step);
            let look = Lettering::new(12.0);
            let look = if i == 0 {
                look
            } else {
                look.anchor(Anchor::Middle)
            };
            svg.text(at, label_y, &text, look);
        }
        let end = x + segments as f32 * step * unit_px;
        svg.text(
            end + 22.0,
            label_y,
            unit,
            Lettering::new(12.0).colour(palette::INK_SOFT),
        );
    };
    bar(y, px_per_m, "metres", true);
    bar(y + 5.0, px_per_m * METRES_PER_FOOT as f32, "feet", false);
    y + 32.0
}
