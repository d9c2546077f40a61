//! Rings around the building, one a day, with the sun where it stands at clock times.
//!
//! A ring is a rounded rectangle; a sun stands where the line from the middle of the building in the
//! sun's true direction meets it, and its short ray has that direction.

use std::fmt::Write as _;

use glam::Vec2;

use super::labels::{Labels, Wish};
use super::view::{Frame, View};
use super::{Plan, PlanSun};
use crate::report::palette;
use crate::report::svg::{Look, Svg, num};
use crate::report::typeface::Weight;

/// Corner radius of the rings [px].
const CORNER_PX: f32 = 90.0;

/// Colour of a day.
pub(super) fn colour(day: usize) -> &'static str {
    let colours = palette::DAYS;
    colours
        .get(day % colours.len())
        .copied()
        .unwrap_or(palette::SUN)
}

/// Unit vector on the page toward the sun.
fn toward(plan: &Plan, azimuth_rad: f32) -> Vec2 {
    let direction = plan.direction(azimuth_rad);
    Vec2::new(direction.x, -direction.y)
}

/// Where a direction from the middle meets a rounded rectangle: halving on its distance function.
fn on_ring(ring: Frame, direction: Vec2) -> Vec2 {
    let half = ring.half();
    let radius = CORNER_PX.min(half.x).min(half.y);
    let outside = |length: f32| {
        let p = (direction * length).abs() - (half - Vec2::splat(radius));
        p.max(Vec2::ZERO).length() + p.max_element().min(0.0) > radius
    };
    let (mut low, mut high) = (0.0, half.x + half.y);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if outside(middle) {
            high = middle
        } else {
            low = middle
        }
    }
    ring.centre() + direction * low
}

/// Difference of two angles in -pi..=pi [rad].
fn turn(from: f32, to: f32) -> f32 {
    let tau = std::f32::consts::TAU;
    (to - from + 0.5 * tau).rem_euclid(tau) - 0.5 * tau
}

fn of_day<'a>(plan: &'a Plan, day: &'a str) -> impl Iterator<Item = &'a PlanSun> {
    plan.sun.iter().filter(move |sun| sun.day == day)
}

/// Draws rings, the part walked by the sun, and the suns.
pub(super) fn draw_rings(svg: &mut Svg, plan: &Plan, view: &View, labels: &mut Labels) {
    for (index, day) in plan.days().into_iter().enumerate() {
        let ring = view.ring(index);
        let all_round = path(
            ring,
            (0..=180).map(|i| Vec2::from_angle((i as f32 * 2.0).to_radians())),
        );
        svg.path(&all_round, Look::line(palette::HAIR, 0.8));
        avoid_ring(ring, labels);
        let suns: Vec<&PlanSun> = of_day(plan, day).collect();
        for pair in suns.windows(2) {
            let [from, to] = [pair[0], pair[1]];
            let swept = turn(from.azimuth_rad, to.azimuth_rad);
            let up = from.elevation_rad >= 0.0 && to.elevation_rad >= 0.0;
            let look = Look::line(colour(index), if up { 2.2 } else { 1.0 });
            let look = if up {
                look
            } else {
                look.extra(r#" stroke-dasharray="2 4""#)
            };
            let steps = (0..=24).map(|i| toward(plan, from.azimuth_rad + swept * i as f32 / 24.0));
            svg.path(&path(ring, steps), look);
        }
        for sun in suns {
            draw_sun(svg, plan, ring, sun, index, labels);
        }
    }
}

/// Labels keep off rings where they can.
fn avoid_ring(ring: Frame, labels: &mut Labels) {
    let points: Vec<Vec2> = (0..=90)
        .map(|i| on_ring(ring, Vec2::from_angle((i as f32 * 4.0).to_radians())))
        .collect();
    for pair in points.windows(2) {
        labels.avoid_line(pair[0], pair[1], 3.0, 0.8);
    }
}

fn path(ring: Frame, directions: impl Iterator<Item = Vec2>) -> String {
    let mut d = String::new();
    for direction in directions {
        let p = on_ring(ring, direction);
        let command = if d.is_empty() { 'M' } else { 'L' };
        let _ = write!(d, "{command}{} {}", num(p.x), num(p.y));
    }
    d
}

/// A disc on the ring and a ray toward the room; hollow and without ray below the horizon.
fn draw_sun(
    svg: &mut Svg,
    plan: &Plan,
    ring: Frame,
    sun: &PlanSun,
    day: usize,
    labels: &mut Labels,
) {
    let direction = toward(plan, sun.azimuth_rad);
    let at = on_ring(ring, direction);
    labels.avoid_spot(at, 8.0, 20.0);
    labels.avoid_line(at, at - direction * 24.0, 5.0, 6.0);
    let centre = (at.x, at.y);
    if sun.elevation_rad < 0.0 {
        svg.circle(
            centre,
            4.0,
            Look::line(colour(day), 1.4).filled(palette::PAPER),
        );
        return;
    }
    let (from, to) = (at - direction * 6.0, at - direction * 22.0);
    svg.line((from.x, from.y), (to.x, to.y), Look::line(colour(day), 1.6));
    let (left, right) = (
        direction.rotate(Vec2::from_angle(0.5)),
        direction.rotate(Vec2::from_angle(-0.5)),
    );
    let (l, r) = (to + left * 6.0, to + right * 6.0);
    let head = format!(
        "M{} {}L{} {}L{} {}",
        num(l.x),
        num(l.y),
        num(to.x),
        num(to.y),
        num(r.x),
        num(r.y)
    );
    svg.path(&head, Look::line(colour(day), 1.4));
    svg.circle(
        centre,
        5.5,
        Look::line(colour(day), 1.6).filled(palette::DAY),
    );
}

/// Clock time and elevation at each sun, the day at the ring.
pub(super) fn add_labels(plan: &Plan, view: &View, labels: &mut Labels) {
    let days = plan.days();
    for (index, day) in days.iter().enumerate() {
        let ring = view.ring(index);
        for sun in of_day(plan, day) {
            let direction = toward(plan, sun.azimuth_rad);
            let degrees = sun.elevation_rad.to_degrees().round();
            let text = if sun.elevation_rad < 0.0 {
                sun.label.clone()
            } else {
                format!("{} · {degrees}°", sun.label)
            };
            labels.place(Wish {
                text: &text,
                anchor: on_ring(ring, direction),
                toward: direction,
                distance_px: 7.0,
                colour: colour(index),
                weight: Weight::Regular,
            });
        }
    }
    for (index, day) in days.iter().enumerate() {
        // Opposite to the middle of the day's suns, where the ring is free.
        let sum =
            of_day(plan, day).fold(Vec2::ZERO, |sum, sun| sum + toward(plan, sun.azimuth_rad));
        let free = if sum.length() > 0.1 {
            -sum.normalize()
        } else {
            Vec2::NEG_Y
        };
        labels.place(Wish {
            text: day,
            anchor: on_ring(view.ring(index), free),
            toward: Vec2::ZERO,
            distance_px: 4.0,
            colour: colour(index),
            weight: Weight::SemiBold,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ring_points_lie_on_its_sides() {
        let ring = Frame {
            left: 0.0,
            top: 0.0,
            right: 600.0,
            bottom: 400.0,
        };
        assert!(on_ring(ring, Vec2::X).distance(Vec2::new(600.0, 200.0)) < 0.01);
        assert!(on_ring(ring, Vec2::NEG_Y).distance(Vec2::new(300.0, 0.0)) < 0.01);
    }

    /// Plan +y has the bearing; east is a quarter turn clockwise from north.
    #[test]
    fn east_is_right_when_north_is_up_and_up_when_plan_y_faces_east() {
        let mut plan = Plan::default();
        let east = 90_f32.to_radians();
        assert!(toward(&plan, east).distance(Vec2::X) < 1e-6);
        plan.bearing_rad = east;
        assert!(toward(&plan, east).distance(Vec2::NEG_Y) < 1e-6);
    }

    #[test]
    fn turns_take_the_short_way_past_north() {
        let (from, to) = (350_f32.to_radians(), 10_f32.to_radians());
        assert!((turn(from, to) - 20_f32.to_radians()).abs() < 1e-5);
    }
}
