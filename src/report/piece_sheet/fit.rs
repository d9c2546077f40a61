//! Where a tile's number and arrow go: both inside its outline, clear of one another.
//!
//! Drawing pixels, y down. A tile is shared out along its long side, or from top to bottom where it
//! has none: the number to the left or on top, the arrow to the right or below.

use glam::Vec2;

use crate::report::plan::contains;
use crate::report::typeface::{CAP_HEIGHT_EM, Weight, width_px};

/// Free space between arrow and number [px].
const CLEAR_PX: f32 = 1.6;
/// Free space between arrow and outline [px].
const EDGE_PX: f32 = 1.2;
/// From this ratio of sides on a tile is long.
const LONG: f32 = 1.35;
/// Steps of the search along a tile.
const STEPS: usize = 12;

/// An arrow by its middle and half its length along `dir` [px].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Arrow {
    pub middle: Vec2,
    pub dir: Vec2,
    pub half_px: f32,
}

/// A tile on the page.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    pub outline: Vec<Vec2>,
    /// A point well inside: the centroid, or the roomiest where that is outside.
    pub anchor: Vec2,
    /// Unit vector from the arrow toward the number.
    along: Vec2,
    /// Square root of the area [px].
    pub cell_px: f32,
    /// A box that number and arrow keep off: middle and half size.
    pub keep_off: Option<(Vec2, Vec2)>,
}

impl Shape {
    pub fn new(outline: Vec<Vec2>, centroid: Vec2) -> Self {
        let (low, high) = bounds(&outline);
        let mut anchor = centroid;
        let area = 0.5 * edges(&outline).map(|(a, b)| a.perp_dot(b)).sum::<f32>();
        let cell_px = area.abs().sqrt();
        let own = clearance(&outline, centroid);
        if !contains(&outline, centroid) || own < 0.2 * cell_px {
            // A centroid inside stays unless another place has twice the room.
            let inside = contains(&outline, centroid);
            let mut most = if inside { 2.0 * own } else { 0.0 };
            for i in 1..STEPS {
                for j in 1..STEPS {
                    let share = Vec2::new(i as f32, j as f32) / STEPS as f32;
                    let p = low + (high - low) * share;
                    let room = clearance(&outline, p);
                    if room > most && contains(&outline, p) {
                        (most, anchor) = (room, p);
                    }
                }
            }
        }
        let along = long_side(&outline).unwrap_or(Vec2::NEG_Y);
        Self {
            outline,
            anchor,
            along,
            cell_px,
            keep_off: None,
        }
    }

    /// Distance from the anchor to the outline [px].
    pub fn reach(&self, dir: Vec2) -> f32 {
        reach(&self.outline, self.anchor, dir)
    }

    /// The arrow alone, as long as looks well.
    pub fn arrow(&self, dir: Vec2) -> Arrow {
        let room = self.reach(dir).min(self.reach(-dir));
        Arrow {
            middle: self.anchor,
            dir,
            half_px: (0.8 * room).min(0.38 * self.cell_px).min(90.0),
        }
    }

    /// Number and arrow inside the outline; `None` where they do not fit at this size.
    pub fn number_and_arrow(&self, text: &str, size_px: f32, dir: Vec2) -> Option<(Vec2, Arrow)> {
        let half = number_half(text, size_px);
        let ahead = self.reach(self.along);
        let behind = self.reach(-self.along);
        let mut best: Option<(f32, Vec2, Arrow)> = None;
        for i in 0..STEPS {
            let at = self.anchor + self.along * (ahead * i as f32 / STEPS as f32);
            let kept_off = self.keep_off.is_none_or(|(middle, other)| {
                let apart = (middle - at).abs();
                apart.x >= half.x + other.x || apart.y >= half.y + other.y
            });
            if !kept_off || !box_fits(&self.outline, at, half) {
                continue;
            }
            for j in 0..STEPS - 2 {
                let middle = self.anchor - self.along * (behind * j as f32 / STEPS as f32);
                let room =
                    reach(&self.outline, middle, dir).min(reach(&self.outline, middle, -dir));
                let mut half_px = (room - EDGE_PX).min((0.3 * self.cell_px).min(90.0));
                let taken = half + Vec2::splat(CLEAR_PX);
                while half_px >= least_half(size_px)
                    && [Some((at, taken)), self.keep_off]
                        .into_iter()
                        .flatten()
                        .any(|(centre, half)| {
                            let reach = dir * half_px;
                            segment_meets_box(middle - reach, middle + reach, centre, half)
                        })
                {
                    half_px *= 0.85;
                }
                if half_px < least_half(size_px) {
                    continue;
                }
                // Long arrows first, then both near the middle.
                let score =
                    half_px - 0.12 * (at.distance(self.anchor) + middle.distance(self.anchor));
                if best.is_none_or(|(most, ..)| score > most) {
                    let arrow = Arrow {
                        middle,
                        dir,
                        half_px,
                    };
                    best = Some((score, at, arrow));
                }
            }
        }
        best.map(|(_, at, arrow)| (at, arrow))
    }
}

fn least_half(size_px: f32) -> f32 {
    (0.5 * size_px).max(4.0)
}

/// Half the width and height of a number with the space around it [px].
pub(super) fn number_half(text: &str, size_px: f32) -> Vec2 {
    let pad = pad_px(size_px);
    Vec2::new(
        0.5 * width_px(text, size_px, Weight::SemiBold) + pad,
        0.5 * CAP_HEIGHT_EM * size_px + pad,
    )
}

/// Free space around a number [px].
pub(super) fn pad_px(size_px: f32) -> f32 {
    1.0 + 0.06 * size_px
}

/// Lower and upper corner of the points.
pub(super) fn bounds(points: &[Vec2]) -> (Vec2, Vec2) {
    let first = points.first().copied().unwrap_or(Vec2::ZERO);
    points
        .iter()
        .fold((first, first), |(low, high), p| (low.min(*p), high.max(*p)))
}

fn edges(outline: &[Vec2]) -> impl Iterator<Item = (Vec2, Vec2)> + '_ {
    let next = outline.iter().cycle().skip(1);
    outline.iter().copied().zip(next.copied())
}

/// Direction of the long side, leftward or upward; `None` where no side is long.
///
/// From the second moments of the outline, each edge standing at its middle with its length as weight.
fn long_side(outline: &[Vec2]) -> Option<Vec2> {
    let weighted = || edges(outline).map(|(a, b)| (0.5 * (a + b), a.distance(b)));
    let (sum, weight) = weighted().fold((Vec2::ZERO, 0.0), |(s, w), (m, l)| (s + m * l, w + l));
    if weight <= 0.0 {
        return None;
    }
    let mean = sum / weight;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (middle, length) in weighted() {
        let d = middle - mean;
        xx += length * d.x * d.x;
        xy += length * d.x * d.y;
        yy += length * d.y * d.y;
    }
    let axis = Vec2::from_angle(0.5 * f32::atan2(2.0 * xy, xx - yy));
    let extent = |dir: Vec2| {
        let far = |sign: f32| {
            outline
                .iter()
                .map(|p| sign * p.dot(dir))
                .fold(f32::MIN, f32::max)
        };
        far(1.0) + far(-1.0)
    };
    if extent(axis) < LONG * extent(axis.perp()) {
        return None;
    }
    let upward = axis.y < -0.98 || (axis.y < 0.98 && axis.x < 0.0);
    Some(if upward { axis } else { -axis })
}

/// Distance from a point to the outline along a direction [px]; 0 where it never meets it.
pub(super) fn reach(outline: &[Vec2], from: Vec2, dir: Vec2) -> f32 {
    let mut nearest = f32::MAX;
    for (a, b) in edges(outline) {
        let edge = b - a;
        let cross = dir.perp_dot(edge);
        if cross.abs() < 1e-9 {
            continue;
        }
        let t = (a - from).perp_dot(edge) / cross;
        let s = (a - from).perp_dot(dir) / cross;
        if t > 0.0 && (0.0..=1.0).contains(&s) {
            nearest = nearest.min(t);
        }
    }
    if nearest < f32::MAX { nearest } else { 0.0 }
}

pub(super) fn clearance(outline: &[Vec2], point: Vec2) -> f32 {
    edges(outline)
        .map(|(a, b)| {
            let edge = b - a;
            let share = (point - a).dot(edge) / edge.length_squared().max(1e-12);
            point.distance(a + edge * share.clamp(0.0, 1.0))
        })
        .fold(f32::MAX, f32::min)
}

fn box_fits(outline: &[Vec2], centre: Vec2, half: Vec2) -> bool {
    contains(outline, centre) && !edges(outline).any(|(a, b)| segment_meets_box(a, b, centre, half))
}

/// Whether a segment meets a box (its share inside each pair of sides, cut together).
fn segment_meets_box(a: Vec2, b: Vec2, centre: Vec2, half: Vec2) -> bool {
    let d = b - a;
    let (mut from, mut to) = (0.0_f32, 1.0_f32);
    for (a, d, c, h) in [(a.x, d.x, centre.x, half.x), (a.y, d.y, centre.y, half.y)] {
        if d.abs() < 1e-9 {
            if (a - c).abs() > h {
                return false;
            }
            continue;
        }
        let (s, t) = ((c - h - a) / d, (c + h - a) / d);
        from = from.max(s.min(t));
        to = to.min(s.max(t));
    }
    from <= to
}

#[cfg(test)]
mod tests {
    use glam::vec2;

    use super::*;

    fn rectangle(width: f32, height: f32, turn: f32) -> Shape {
        let corners = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)];
        let turned = corners
            .map(|(x, y)| Vec2::from_angle(turn).rotate(vec2(x * width, y * height)) + 100.0);
        Shape::new(turned.to_vec(), Vec2::splat(100.0))
    }

    #[test]
    fn number_and_arrow_stay_inside_and_apart_at_every_grain() {
        for (width, height, turn) in [
            (40.0, 40.0, 0.0),
            (200.0, 14.0, 0.0),
            (18.0, 200.0, 0.0),
            (90.0, 30.0, 0.8),
            (90.0, 30.0, -0.8),
        ] {
            let shape = rectangle(width, height, turn);
            for step in 0..24 {
                let dir = Vec2::from_angle(step as f32 * 15_f32.to_radians());
                let Some((at, arrow)) = shape.number_and_arrow("153", 8.0, dir) else {
                    panic!("{width} x {height} turned {turn}, grain step {step}: no room");
                };
                let half = number_half("153", 8.0);
                assert!(box_fits(&shape.outline, at, half), "number outside");
                let ends = [-1.0, 1.0].map(|s| arrow.middle + arrow.dir * s * arrow.half_px);
                assert!(ends.iter().all(|p| contains(&shape.outline, *p)));
                assert!(!segment_meets_box(ends[0], ends[1], at, half));
            }
        }
    }

    #[test]
    fn too_small_a_tile_takes_no_number_and_a_bent_one_has_its_anchor_inside() {
        assert!(
            rectangle(12.0, 12.0, 0.0)
                .number_and_arrow("153", 8.0, Vec2::X)
                .is_none()
        );
        let bent = [
            vec2(0.0, 0.0),
            vec2(100.0, 0.0),
            vec2(100.0, 10.0),
            vec2(10.0, 10.0),
            vec2(10.0, 100.0),
            vec2(0.0, 100.0),
        ];
        let shape = Shape::new(bent.to_vec(), vec2(28.0, 28.0));
        assert!(contains(&bent, shape.anchor));
    }
}
