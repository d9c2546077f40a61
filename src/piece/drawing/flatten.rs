//! Paths to chords.
//!
//! A Bezier curve of degree d is cut into n equal steps of its parameter; the chords stay within t
//! of it when n >= sqrt(d (d - 1) / 8 * M / t), M being the largest second difference of its control
//! points (G. Wang, "The subdivision method for finding the intersection between two Bezier curves
//! or surfaces", 1984; from memory). Equal steps make a curve and its reverse give the same chords.

use glam::DVec2;
use resvg::tiny_skia::{Path, PathSegment, Transform};

use super::page::Page;
use super::{FLATTEN_TOLERANCE_M, JOIN_TOLERANCE_M};

/// One sub-path [m].
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Points [m]; a closed line does not repeat its first.
    pub points_m: Vec<DVec2>,
    /// Closed by the drawing, or its ends meet.
    pub is_closed: bool,
    /// Far off the page or not finite: not to be used.
    pub is_far: bool,
}

/// Most chords of one curve.
const MAX_CHORDS: f64 = 2000.0;
/// Lines with points farther than this from the page's centre are not part of it [m].
const MAX_DISTANCE_M: f64 = 1000.0;

/// The sub-paths of a path in metres.
pub(super) fn lines_of(path: &Path, transform: Transform, page: &Page) -> Vec<Line> {
    let to_m = |p: resvg::tiny_skia::Point| {
        let (x, y) = (f64::from(p.x), f64::from(p.y));
        let t = transform;
        page.point_m(
            f64::from(t.sx) * x + f64::from(t.kx) * y + f64::from(t.tx),
            f64::from(t.ky) * x + f64::from(t.sy) * y + f64::from(t.ty),
        )
    };
    let mut lines = Vec::new();
    let mut points: Vec<DVec2> = Vec::new();
    for segment in path.segments() {
        let from = points.last().copied().unwrap_or_default();
        match segment {
            PathSegment::MoveTo(p) => {
                finish(&mut lines, &mut points, false);
                points.push(to_m(p));
            }
            PathSegment::LineTo(p) => points.push(to_m(p)),
            PathSegment::QuadTo(c, p) => {
                let (c, p) = (to_m(c), to_m(p));
                let n = chords(0.25 * (from - 2.0 * c + p).length());
                points.extend((1..=n).map(|k| {
                    let t = f64::from(k) / f64::from(n);
                    let s = 1.0 - t;
                    from * (s * s) + c * (2.0 * s * t) + p * (t * t)
                }));
            }
            PathSegment::CubicTo(c, d, p) => {
                let (c, d, p) = (to_m(c), to_m(d), to_m(p));
                let bend = (from - 2.0 * c + d)
                    .length()
                    .max((c - 2.0 * d + p).length());
                let n = chords(0.75 * bend);
                points.extend((1..=n).map(|k| {
                    let t = f64::from(k) / f64::from(n);
                    let s = 1.0 - t;
                    from * (s * s * s)
                        + c * (3.0 * s * s * t)
                        + d * (3.0 * s * t * t)
                        + p * (t * t * t)
                }));
            }
            PathSegment::Close => {
                let start = points.first().copied();
                finish(&mut lines, &mut points, true);
                // What follows without a move starts where the closed line did.
                points.extend(start);
            }
        }
    }
    finish(&mut lines, &mut points, false);
    lines
}

fn chords(bend_m: f64) -> u32 {
    let count = (bend_m / FLATTEN_TOLERANCE_M).sqrt().ceil();
    // A bend that is not finite comes from coordinates that are not; NaN becomes zero chords.
    count.clamp(1.0, MAX_CHORDS) as u32
}

/// Moves the points so far to the list, if they are a line.
fn finish(lines: &mut Vec<Line>, points: &mut Vec<DVec2>, closes: bool) {
    let mut points_m = std::mem::take(points);
    let meets = points_m.len() > 3
        && points_m
            .first()
            .zip(points_m.last())
            .is_some_and(|(a, b)| a.distance(*b) <= JOIN_TOLERANCE_M);
    if meets {
        points_m.pop();
    }
    if points_m.len() >= 2 {
        // False for NaN too.
        let is_near = |p: &DVec2| p.length() <= MAX_DISTANCE_M;
        lines.push(Line {
            is_far: !points_m.iter().all(is_near),
            points_m,
            is_closed: closes || meets,
        });
    }
}
