//! Fixtures, walks, the piece and other places for it.

use std::fmt::Write as _;

use glam::Vec2;

use super::building::{closed, open};
use super::labels::{Labels, Wish};
use super::view::View;
use super::{Plan, PlanPiece, PlanWalk};
use crate::report::number;
use crate::report::palette;
use crate::report::svg::{Look, Svg, num};
use crate::report::typeface::Weight;

/// Distance between labelled points of a walk [m].
const WALK_LABEL_M: f32 = 2.0;
/// Corners of a walk are rounded with this radius [m].
const WALK_CORNER_M: f32 = 0.35;

/// Floors, then beams of fixtures on them.
pub(super) fn draw_beams(
    svg: &mut Svg,
    plan: &Plan,
    view: &View,
    floors: impl Fn(&mut Svg, &Plan, &View),
) {
    floors(svg, plan, view);
    for fixture in &plan.fixtures {
        let reach = fixture.aim_target - fixture.pos;
        if fixture.beam_rad <= 0.0 || fixture.beam_rad >= 3.0 || reach.length() < 0.05 {
            continue;
        }
        let spread = reach.perp() * (0.5 * fixture.beam_rad).tan();
        let ends = [
            fixture.pos,
            fixture.aim_target + spread,
            fixture.aim_target - spread,
        ];
        let beam = Look::fill(palette::BEAM).extra(r#" fill-opacity="0.5""#);
        svg.path(&closed(&ends, view), beam);
    }
}

/// Everything in the room, the piece first because its label matters most.
pub(super) fn draw(svg: &mut Svg, plan: &Plan, view: &View, labels: &mut Labels) {
    avoid_all(plan, view, labels);
    for walk in &plan.walks {
        draw_walk(svg, view, walk);
    }
    draw_fixtures(svg, plan, view);
    for place in &plan.candidates {
        let line = Look::line(palette::ACCENT, 3.0).extra(r#" stroke-dasharray="5 3""#);
        svg.path(&open(&[place.a, place.b], view), line);
    }
    if let Some(piece) = &plan.piece {
        draw_piece(svg, view, piece);
        labels.place(Wish {
            text: &piece.label,
            anchor: view.px(0.5 * (piece.a + piece.b)),
            toward: Vec2::new(piece.facing.x, -piece.facing.y),
            distance_px: 26.0,
            colour: palette::ACCENT,
            weight: Weight::SemiBold,
        });
    }
    for place in &plan.candidates {
        let at = view.px(0.5 * (place.a + place.b));
        labels.place(Wish {
            text: &place.label,
            anchor: at,
            toward: view.building().centre() - at,
            distance_px: 9.0,
            colour: palette::ACCENT,
            weight: Weight::Regular,
        });
    }
    for fixture in &plan.fixtures {
        let reach = fixture.aim_target - fixture.pos;
        labels.place(Wish {
            text: &fixture.label,
            anchor: view.px(fixture.pos),
            toward: Vec2::new(-reach.x, reach.y),
            distance_px: 8.0,
            colour: palette::INK,
            weight: Weight::SemiBold,
        });
    }
    for walk in &plan.walks {
        label_walk(view, walk, labels);
    }
}

/// Lines and signs that labels keep off.
fn avoid_all(plan: &Plan, view: &View, labels: &mut Labels) {
    for walk in &plan.walks {
        for pair in walk.points.windows(2) {
            labels.avoid_line(view.px(pair[0]), view.px(pair[1]), 5.0, 3.0);
        }
    }
    for fixture in &plan.fixtures {
        let (pos, target) = (view.px(fixture.pos), view.px(fixture.aim_target));
        labels.avoid_spot(pos, 8.0, 20.0);
        labels.avoid_line(pos, target, 3.0, 1.5);
    }
    for (a, b) in plan
        .piece
        .iter()
        .map(|p| (p.a, p.b))
        .chain(plan.candidates.iter().map(|p| (p.a, p.b)))
    {
        labels.avoid_line(view.px(a), view.px(b), 7.0, 12.0);
    }
}

fn draw_fixtures(svg: &mut Svg, plan: &Plan, view: &View) {
    for fixture in &plan.fixtures {
        let (pos, target) = (view.px(fixture.pos), view.px(fixture.aim_target));
        let reach = target - pos;
        if reach.length() > 14.0 {
            let along = reach.normalize();
            let start = pos + along * 6.5;
            let (left, right) = (
                along.rotate(Vec2::from_angle(2.7)),
                along.rotate(Vec2::from_angle(-2.7)),
            );
            let (l, r) = (target + left * 7.0, target + right * 7.0);
            let d = format!(
                "M{} {}L{} {}M{} {}L{} {}L{} {}",
                num(start.x),
                num(start.y),
                num(target.x),
                num(target.y),
                num(l.x),
                num(l.y),
                num(target.x),
                num(target.y),
                num(r.x),
                num(r.y)
            );
            svg.path(&d, Look::line(palette::SUN, 1.0));
        }
        svg.circle(
            (pos.x, pos.y),
            6.0,
            Look::line(palette::INK, 1.4).filled(palette::BEAM),
        );
        let d = format!(
            "M{} {}h8M{} {}v8",
            num(pos.x - 4.0),
            num(pos.y),
            num(pos.x),
            num(pos.y - 4.0)
        );
        svg.path(&d, Look::line(palette::INK, 1.0));
    }
}

/// The piece: a thick line on the wall, and a wedge to where it faces.
fn draw_piece(svg: &mut Svg, view: &View, piece: &PlanPiece) {
    let facing = piece.facing.normalize_or_zero();
    let middle = 0.5 * (piece.a + piece.b);
    let half = 0.5 * (piece.b - piece.a);
    let front = middle + facing * (22.0 / view.scale);
    let wedge = [middle - half * 0.5, middle + half * 0.5, front];
    svg.path(
        &closed(&wedge, view),
        Look::line(palette::ACCENT, 1.0).filled(palette::ACCENT_TINT),
    );
    svg.path(
        &open(&[piece.a, piece.b], view),
        Look::line(palette::ACCENT, 6.0),
    );
}

/// The path with rounded corners, an arrow at its end, a dot for each station.
fn draw_walk(svg: &mut Svg, view: &View, walk: &PlanWalk) {
    let dashed =
        Look::line(palette::WALK, 1.8).extra(r#" stroke-dasharray="9 5" stroke-linejoin="round""#);
    svg.path(&rounded(&walk.points, view), dashed);
    for station in &walk.stations {
        let p = view.px(*station);
        svg.circle((p.x, p.y), 2.2, Look::fill(palette::WALK));
    }
    if let [.., before, last] = walk.points.as_slice() {
        let (from, tip) = (view.px(*before), view.px(*last));
        let along = (tip - from).normalize_or_zero();
        let tip = tip + along * 9.0;
        let (l, r) = (
            tip - along * 11.0 + along.perp() * 5.0,
            tip - along * 11.0 - along.perp() * 5.0,
        );
        let d = format!(
            "M{} {}L{} {}L{} {}Z",
            num(tip.x),
            num(tip.y),
            num(l.x),
            num(l.y),
            num(r.x),
            num(r.y)
        );
        svg.path(&d, Look::fill(palette::WALK));
    }
    for (_, at, along) in every(&walk.points, WALK_LABEL_M) {
        let across = Vec2::new(-along.y, along.x) * (5.5 / view.scale);
        svg.path(
            &open(&[at - across, at + across], view),
            Look::line(palette::WALK, 1.6),
        );
    }
}

/// A polyline with its corners rounded by quadratic curves.
fn rounded(points: &[Vec2], view: &View) -> String {
    let mut d = String::new();
    let put = |d: &mut String, command: &str, p: Vec2| {
        let p = view.px(p);
        let _ = write!(d, "{command}{} {}", num(p.x), num(p.y));
    };
    for (index, point) in points.iter().enumerate() {
        let before = index.checked_sub(1).and_then(|i| points.get(i));
        match (before, points.get(index + 1)) {
            (None, _) => put(&mut d, "M", *point),
            (Some(before), Some(after)) => {
                let cut = |other: Vec2| {
                    let reach = other - *point;
                    *point + reach.normalize_or_zero() * WALK_CORNER_M.min(0.5 * reach.length())
                };
                put(&mut d, "L", cut(*before));
                put(&mut d, "Q", *point);
                put(&mut d, " ", cut(*after));
            }
            (Some(_), None) => put(&mut d, "L", *point),
        }
    }
    d
}

/// Points every `step_m` along a polyline: distance [m], place [m], direction.
fn every(points: &[Vec2], step_m: f32) -> Vec<(f32, Vec2, Vec2)> {
    let mut found = Vec::new();
    let (mut start, mut next) = (0.0, 0.0);
    for pair in points.windows(2) {
        let length = pair[0].distance(pair[1]);
        let along = (pair[1] - pair[0]).normalize_or_zero();
        while next <= start + length + 1e-4 && length > 0.0 && length < 1e5 {
            found.push((next, pair[0] + along * (next - start), along));
            next += step_m;
        }
        start += length;
    }
    found
}

fn label_walk(view: &View, walk: &PlanWalk, labels: &mut Labels) {
    // Labels need some 40 px from one to the next.
    let step = WALK_LABEL_M * (40.0 / (WALK_LABEL_M * view.scale)).ceil().max(1.0);
    for (distance, at, along) in every(&walk.points, step) {
        labels.place(Wish {
            text: &format!("{} m", number::value(distance)),
            anchor: view.px(at),
            toward: Vec2::new(-along.y, -along.x),
            distance_px: 7.0,
            colour: palette::WALK,
            weight: Weight::Regular,
        });
    }
    if let [first, second, ..] = walk.points.as_slice() {
        let along = (*second - *first).normalize_or_zero();
        labels.place(Wish {
            text: &walk.name,
            anchor: view.px(*first),
            toward: Vec2::new(along.y, along.x),
            distance_px: 8.0,
            colour: palette::WALK,
            weight: Weight::SemiBold,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distance_labels_turn_corners() {
        let points = [Vec2::ZERO, Vec2::new(3.0, 0.0), Vec2::new(3.0, 3.0)];
        let found = every(&points, 2.0);
        let places: Vec<Vec2> = found.iter().map(|f| f.1).collect();
        assert_eq!(
            places,
            [
                Vec2::ZERO,
                Vec2::new(2.0, 0.0),
                Vec2::new(3.0, 1.0),
                Vec2::new(3.0, 3.0)
            ]
        );
    }
}
