//! Walls cut and filled, openings in them, and solids.

use std::fmt::Write as _;

use glam::Vec2;

use super::labels::{Labels, Wish};
use super::view::View;
use super::{OpeningKind, Plan, PlanOpening, PlanSolid, SolidSide};
use crate::report::palette;
use crate::report::svg::{Look, Svg, num};
use crate::report::typeface::Weight;

/// Solids that reach less far than this have their label beside them [px].
const SMALL_PX: f32 = 20.0;

/// A closed path through plan points.
pub(super) fn closed(points: &[Vec2], view: &View) -> String {
    let mut d = open(points, view);
    d.push('Z');
    d
}

/// An open path through plan points.
pub(super) fn open(points: &[Vec2], view: &View) -> String {
    let mut d = String::new();
    for (index, point) in points.iter().enumerate() {
        let p = view.px(*point);
        let command = if index == 0 { 'M' } else { 'L' };
        let _ = write!(d, "{command}{} {}", num(p.x), num(p.y));
    }
    d
}

fn frame_path(view: &View) -> String {
    let f = view.frame();
    format!(
        "M{} {}H{}V{}H{}Z",
        num(f.left),
        num(f.top),
        num(f.right),
        num(f.bottom),
        num(f.left)
    )
}

/// Colour that the drawing has at a plan point, walls aside.
pub(super) fn ground(plan: &Plan, point: Vec2) -> &'static str {
    if plan
        .solids
        .iter()
        .any(|s| super::contains(&s.outline, point))
    {
        palette::TINT
    } else if plan.is_inside(point) {
        palette::FLOOR
    } else {
        palette::PAPER
    }
}

/// Solids outside, cut at the frame of the drawing.
pub(super) fn draw_outside(svg: &mut Svg, plan: &Plan, view: &View) {
    let outside: Vec<&PlanSolid> = plan
        .solids
        .iter()
        .filter(|s| s.side == SolidSide::Outside)
        .collect();
    if outside.is_empty() {
        return;
    }
    svg.clip_begin("outside", &frame_path(view));
    for solid in outside {
        svg.path(
            &closed(&solid.outline, view),
            Look::line(palette::HAIR, 1.2).filled(palette::TINT),
        );
    }
    svg.clip_end();
}

/// Poche of the walls, then floors: a stroke of twice the thickness, of which the floor covers the inner half.
pub(super) fn draw_floors(svg: &mut Svg, plan: &Plan, view: &View) {
    let thickness = plan.wall_thickness_m.max(0.0) * view.scale;
    let wall = Look {
        fill: palette::POCHE,
        stroke: palette::POCHE,
        width_px: 2.0 * thickness,
        extra: r#" stroke-linejoin="miter""#,
    };
    for outline in &plan.outlines {
        svg.path(&closed(outline, view), wall);
    }
    for outline in &plan.outlines {
        svg.path(&closed(outline, view), Look::fill(palette::FLOOR));
    }
}

/// Edges of the floors, openings and solids inside.
pub(super) fn draw(svg: &mut Svg, plan: &Plan, view: &View, labels: &mut Labels) {
    for outline in &plan.outlines {
        svg.path(&closed(outline, view), Look::line(palette::INK, 1.4));
        avoid_walls(plan, view, outline, labels);
    }
    for opening in &plan.openings {
        if opening.kind == OpeningKind::Door {
            for (hinge, tip, latch, _) in leaves(plan, opening) {
                labels.avoid_line(view.px(hinge), view.px(tip), 3.0, 3.0);
                let knee = hinge + (tip - hinge + latch - hinge) * std::f32::consts::FRAC_1_SQRT_2;
                labels.avoid_line(view.px(tip), view.px(knee), 3.0, 1.5);
                labels.avoid_line(view.px(knee), view.px(latch), 3.0, 1.5);
            }
        }
        match &opening.kind {
            OpeningKind::Window => draw_window(svg, plan, view, opening),
            OpeningKind::Door => draw_door(svg, plan, view, opening),
            OpeningKind::Rooflight(outline) => draw_rooflight(svg, view, outline),
        }
    }
    for solid in plan.solids.iter().filter(|s| s.side == SolidSide::Inside) {
        svg.path(
            &closed(&solid.outline, view),
            Look::line(palette::INK, 1.2).filled(palette::TINT),
        );
        // Small ones, such as columns, are hidden by a label; large ones carry their own.
        let reach = reach_px(solid, view);
        if reach < SMALL_PX {
            labels.avoid_spot(view.px(middle(&solid.outline)), reach, 2.0);
        }
    }
}

/// Keeps labels off the walls along an outline.
fn avoid_walls(plan: &Plan, view: &View, outline: &[Vec2], labels: &mut Labels) {
    let next = outline.iter().cycle().skip(1);
    let half = 0.5 * plan.wall_thickness_m.max(0.0);
    for (a, b) in outline.iter().zip(next) {
        let normal = (*b - *a).normalize_or_zero().perp();
        let middle = a.lerp(*b, 0.5);
        let out = if plan.is_inside(middle + 0.02 * normal) {
            -normal
        } else {
            normal
        };
        let (a, b) = (view.px(*a + out * half), view.px(*b + out * half));
        labels.avoid_line(a, b, (half * view.scale).max(5.0), 5.0);
    }
}

/// Unit vector from the opening out of the room, and the depth of the wall there [m].
fn outward(plan: &Plan, opening: &PlanOpening) -> (Vec2, f32) {
    let along = (opening.b - opening.a).normalize_or_zero();
    let normal = along.perp();
    let middle = 0.5 * (opening.a + opening.b);
    let thickness = plan.wall_thickness_m.max(0.02);
    match (
        plan.is_inside(middle + 0.02 * normal),
        plan.is_inside(middle - 0.02 * normal),
    ) {
        (true, false) => (-normal, thickness),
        (false, true) => (normal, thickness),
        _ => (normal, 0.5 * thickness),
    }
}

/// Corners of the gap in the wall: inner a, inner b, outer b, outer a.
fn gap(plan: &Plan, opening: &PlanOpening) -> [Vec2; 4] {
    let (out, depth) = outward(plan, opening);
    [
        opening.a,
        opening.b,
        opening.b + out * depth,
        opening.a + out * depth,
    ]
}

fn draw_window(svg: &mut Svg, plan: &Plan, view: &View, opening: &PlanOpening) {
    let [a, b, c, d] = gap(plan, opening);
    svg.path(
        &closed(&[a, b, c, d], view),
        Look::line(palette::GLASS, 1.6).filled(palette::GLASS),
    );
    for share in [0.36, 0.64] {
        let pane = open(&[a.lerp(d, share), b.lerp(c, share)], view);
        svg.path(&pane, Look::line(palette::INK, 1.0));
    }
    svg.path(&closed(&[a, b, c, d], view), Look::line(palette::INK, 1.0));
}

/// A gap, a leaf at right angles hinged at `a`, and its swing into the room.
fn draw_door(svg: &mut Svg, plan: &Plan, view: &View, opening: &PlanOpening) {
    let [a, b, c, d] = gap(plan, opening);
    svg.path(
        &closed(&[a, b, c, d], view),
        Look::line(palette::FLOOR, 1.6).filled(palette::FLOOR),
    );
    for jamb in [[a, d], [b, c]] {
        svg.path(&open(&jamb, view), Look::line(palette::INK, 1.0));
    }
    for (hinge, tip, latch, length) in leaves(plan, opening) {
        svg.path(&open(&[hinge, tip], view), Look::line(palette::INK, 1.4));
        let (from, to) = (view.px(tip), view.px(latch));
        let centre = view.px(hinge);
        let sweep = u8::from((from - centre).perp_dot(to - centre) > 0.0);
        let radius = num(length * view.scale);
        let arc = format!(
            "M{} {}A{radius} {radius} 0 0 {sweep} {} {}",
            num(from.x),
            num(from.y),
            num(to.x),
            num(to.y)
        );
        svg.path(&arc, Look::line(palette::INK_SOFT, 0.7));
    }
}

/// Leaves of a door, opened into the room: hinge, tip, latch [m], width [m]. Wide openings have two, or
/// none as passages.
fn leaves(plan: &Plan, opening: &PlanOpening) -> Vec<(Vec2, Vec2, Vec2, f32)> {
    let (a, b) = (opening.a, opening.b);
    let (out, _) = outward(plan, opening);
    let width = a.distance(b);
    let middle = a.lerp(b, 0.5);
    let leaf = |hinge: Vec2, latch: Vec2, width: f32| (hinge, hinge - out * width, latch, width);
    if width > 2.4 {
        Vec::new()
    } else if width > 1.3 {
        vec![leaf(a, middle, 0.5 * width), leaf(b, middle, 0.5 * width)]
    } else {
        vec![leaf(a, b, width)]
    }
}

fn draw_rooflight(svg: &mut Svg, view: &View, outline: &[Vec2]) {
    let dashed = Look::line(palette::INK_SOFT, 1.1).extra(r#" stroke-dasharray="7 4""#);
    svg.path(&closed(outline, view), dashed);
    if let [a, b, c, d] = outline {
        let fine = Look::line(palette::HAIR, 0.8).extra(r#" stroke-dasharray="7 4""#);
        svg.path(&(open(&[*a, *c], view) + &open(&[*b, *d], view)), fine);
    }
}

/// Distance from the middle of a solid to its farthest corner [px].
fn reach_px(solid: &PlanSolid, view: &View) -> f32 {
    let at = view.px(middle(&solid.outline));
    let corners = solid.outline.iter().map(|p| view.px(*p).distance(at));
    corners.fold(0.0, f32::max)
}

fn middle(points: &[Vec2]) -> Vec2 {
    points.iter().fold(Vec2::ZERO, |sum, p| sum + *p) / points.len().max(1) as f32
}

/// Names of openings and solids.
pub(super) fn add_labels(plan: &Plan, view: &View, labels: &mut Labels) {
    for opening in &plan.openings {
        let (at, toward, distance_px) = match &opening.kind {
            OpeningKind::Rooflight(outline) => {
                let corners = outline.iter().map(|p| view.px(*p));
                let lowest = corners.max_by(|a, b| (a.y - a.x).total_cmp(&(b.y - b.x)));
                (
                    lowest.unwrap_or(view.building().centre()),
                    Vec2::new(1.0, 1.0),
                    4.0,
                )
            }
            _ => {
                let (out, _) = outward(plan, opening);
                // Inside the room, beside the opening; page y runs down.
                let at = view.px(0.5 * (opening.a + opening.b));
                (at, Vec2::new(-out.x, out.y), 9.0)
            }
        };
        labels.place(Wish {
            text: &opening.label,
            anchor: at,
            toward,
            distance_px,
            colour: palette::INK_SOFT,
            weight: Weight::Regular,
        });
    }
    for solid in &plan.solids {
        let at = view.px(middle(&solid.outline));
        if solid.side == SolidSide::Outside && !is_in_view(solid, view) {
            continue;
        }
        labels.place(Wish {
            text: &solid.label,
            anchor: at,
            toward: Vec2::ZERO,
            distance_px: if reach_px(solid, view) < SMALL_PX {
                reach_px(solid, view)
            } else {
                4.0
            },
            colour: palette::INK_SOFT,
            weight: Weight::Regular,
        });
    }
}

/// Whether the middle of a solid lies on the drawing.
pub(super) fn is_in_view(solid: &PlanSolid, view: &View) -> bool {
    let at = view.px(middle(&solid.outline));
    let frame = view.frame().grown(-20.0);
    at.x > frame.left && at.x < frame.right && at.y > frame.top && at.y < frame.bottom
}

/// Distance and plan direction from the middle of the building to the nearest corner of a solid [m].
pub(super) fn offset_m(solid: &PlanSolid, plan: &Plan) -> Option<Vec2> {
    let points: Vec<Vec2> = plan.outlines.iter().flatten().copied().collect();
    let from = middle(&points);
    let nearest = solid
        .outline
        .iter()
        .min_by(|a, b| a.distance(from).total_cmp(&b.distance(from)))?;
    Some(*nearest - from)
}
