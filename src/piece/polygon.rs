//! Plane polygons in double precision: area, centroid, simplicity, triangles, holes.
//!
//! Lengths are metres. A polygon is a list of corners without a repeated last one; counter-clockwise
//! is positive. Cutting them is in `clip`.

use glam::DVec2;

/// A corner list [m], counter-clockwise when its area is positive.
pub(crate) type Polygon = Vec<DVec2>;

/// Corners nearer than this are one corner [m].
pub(crate) const SAME_POINT_M: f64 = 1e-6;

/// Axis-parallel bounds [m].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bounds {
    /// Lower left corner [m].
    pub min_m: DVec2,
    /// Upper right corner [m].
    pub max_m: DVec2,
}

impl Bounds {
    /// Bounds of points; an empty list gives an empty (inverted) box.
    pub(crate) fn of(points_m: &[DVec2]) -> Self {
        let empty = Self {
            min_m: DVec2::splat(f64::INFINITY),
            max_m: DVec2::splat(f64::NEG_INFINITY),
        };
        points_m.iter().fold(empty, |b, &p| Self {
            min_m: b.min_m.min(p),
            max_m: b.max_m.max(p),
        })
    }

    /// The box grown by `by_m` [m] on all sides.
    pub(crate) fn grown(self, by_m: f64) -> Self {
        Self {
            min_m: self.min_m - by_m,
            max_m: self.max_m + by_m,
        }
    }

    /// Width and height [m].
    pub(crate) fn size_m(self) -> DVec2 {
        self.max_m - self.min_m
    }

    /// Whether two boxes share a point.
    pub(crate) fn meets(self, other: Self) -> bool {
        self.min_m.cmple(other.max_m).all() && other.min_m.cmple(self.max_m).all()
    }

    /// Whether `other` lies within this box.
    pub(crate) fn contains(self, other: Self) -> bool {
        self.min_m.cmple(other.min_m).all() && other.max_m.cmple(self.max_m).all()
    }
}

/// Corners with their successors, the last one with the first.
pub(crate) fn edges(polygon: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    polygon
        .iter()
        .copied()
        .zip(polygon.iter().copied().cycle().skip(1))
}

/// Signed area [m2], positive counter-clockwise (shoelace formula).
pub(crate) fn signed_area_m2(polygon: &[DVec2]) -> f64 {
    // Relative to one corner, so that a small tile far from the origin keeps its digits.
    let Some(&base) = polygon.first() else {
        return 0.0;
    };
    edges(polygon)
        .map(|(a, b)| (a - base).perp_dot(b - base))
        .sum::<f64>()
        / 2.0
}

/// Centroid [m]; of the corners where the area is zero.
pub(crate) fn centroid_m(polygon: &[DVec2]) -> DVec2 {
    let Some(&base) = polygon.first() else {
        return DVec2::ZERO;
    };
    let mut moment = DVec2::ZERO;
    let mut twice_area = 0.0;
    for (a, b) in edges(polygon) {
        let cross = (a - base).perp_dot(b - base);
        twice_area += cross;
        moment += (a - base + b - base) * cross;
    }
    if twice_area.abs() < 1e-15 {
        return polygon.iter().sum::<DVec2>() / polygon.len() as f64;
    }
    base + moment / (3.0 * twice_area)
}

/// The polygon without repeated neighbours, turned counter-clockwise.
pub(crate) fn cleaned(polygon: &[DVec2]) -> Polygon {
    let mut out: Polygon = Vec::with_capacity(polygon.len());
    for &p in polygon {
        if out.last().is_none_or(|q| q.distance(p) > SAME_POINT_M) {
            out.push(p);
        }
    }
    while out.len() > 1 && out.first().zip(out.last()).is_some_and(close) {
        out.pop();
    }
    if signed_area_m2(&out) < 0.0 {
        out.reverse();
    }
    out
}

fn close((a, b): (&DVec2, &DVec2)) -> bool {
    a.distance(*b) <= SAME_POINT_M
}

/// A rectangle from two opposite corners [m].
pub(crate) fn rectangle(min_m: DVec2, max_m: DVec2) -> Polygon {
    vec![
        min_m,
        DVec2::new(max_m.x, min_m.y),
        max_m,
        DVec2::new(min_m.x, max_m.y),
    ]
}

/// First pair of edges (by the number of their first corner) that cross or touch; neighbours may
/// share their corner but not fold back. `None` for a simple polygon.
pub(crate) fn first_self_crossing(polygon: &[DVec2]) -> Option<(usize, usize)> {
    let count = polygon.len();
    let mut order: Vec<(usize, DVec2, DVec2)> = edges(polygon)
        .enumerate()
        .map(|(i, (a, b))| (i, a, b))
        .collect();
    order.sort_by(|l, r| l.1.x.min(l.2.x).total_cmp(&r.1.x.min(r.2.x)));
    for (k, &(i, a, b)) in order.iter().enumerate() {
        let right = a.x.max(b.x);
        for &(j, c, d) in order.iter().skip(k + 1) {
            if c.x.min(d.x) > right {
                break;
            }
            let (first, second) = (i.min(j), i.max(j));
            let is_next = second == first + 1 || (first == 0 && second + 1 == count);
            let bad = if is_next {
                folds_back(polygon, if second == first + 1 { second } else { first })
            } else {
                segments_cross(a, b, c, d)
            };
            if bad {
                return Some((first, second));
            }
        }
    }
    None
}

/// Whether the two edges at a corner lie on top of each other.
fn folds_back(polygon: &[DVec2], corner: usize) -> bool {
    let count = polygon.len();
    let at = |i: usize| polygon.get(i % count).copied().unwrap_or_default();
    let into = at(corner) - at(corner + count - 1);
    let out = at(corner + 1) - at(corner);
    into.dot(out) < 0.0 && into.perp_dot(out).abs() <= 1e-9 * into.length() * out.length()
}

/// Whether two closed segments share a point.
pub(crate) fn segments_cross(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> bool {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    let (s1, s2) = (side(a, b, c), side(a, b, d));
    let (s3, s4) = (side(c, d, a), side(c, d, b));
    if s1 == 0.0 && s2 == 0.0 && s3 == 0.0 && s4 == 0.0 {
        let along = b - a;
        let reach = along.length_squared();
        let (t, u) = ((c - a).dot(along), (d - a).dot(along));
        return t.min(u) <= reach && t.max(u) >= 0.0;
    }
    s1 * s2 <= 0.0 && s3 * s4 <= 0.0
}

/// Whether a point is inside (even-odd).
pub(crate) fn contains_point(polygon: &[DVec2], p: DVec2) -> bool {
    edges(polygon).fold(false, |inside, (a, b)| {
        let crosses =
            (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x);
        inside != crosses
    })
}

/// Distance from a point to a segment [m].
pub(crate) fn distance_to_segment_m(p: DVec2, a: DVec2, b: DVec2) -> f64 {
    let along = b - a;
    let reach = along.length_squared();
    let t = if reach > 0.0 {
        ((p - a).dot(along) / reach).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance(a + along * t)
}

/// Triangles of a simple polygon (ear clipping, crate `earcut`), counter-clockwise.
pub(crate) fn triangles(polygon: &[DVec2]) -> Vec<[DVec2; 3]> {
    let mut indices: Vec<u32> = Vec::new();
    let corners: Vec<[f64; 2]> = polygon.iter().map(|p| p.to_array()).collect();
    earcut::Earcut::new().earcut_slice(&corners, &[], &mut indices);
    indices
        .chunks_exact(3)
        .filter_map(|t| match t {
            [a, b, c] => {
                let at = |i: u32| polygon.get(i as usize).copied();
                let (a, b, c) = (at(*a)?, at(*b)?, at(*c)?);
                let twice = (b - a).perp_dot(c - a);
                Some(if twice < 0.0 { [a, c, b] } else { [a, b, c] })
            }
            _ => None,
        })
        .collect()
}

/// One outline that runs around holes too, joined to them by cuts of no width.
///
/// Each hole is joined at its rightmost corner to the nearest corner of the outline that it sees
/// (after D. Eberly, "Triangulation by ear clipping", 2002, section 3; found by trying all corners).
pub(crate) fn bridged(outline: &[DVec2], holes: &[Polygon]) -> Polygon {
    let mut whole = cleaned(outline);
    let rightmost = |h: &Polygon| h.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
    let mut order: Vec<&Polygon> = holes.iter().collect();
    order.sort_by(|a, b| rightmost(b).total_cmp(&rightmost(a)));
    for hole in order {
        // Holes run clockwise.
        let mut hole = cleaned(hole);
        hole.reverse();
        let Some(from) = (0..hole.len()).max_by(|&i, &j| {
            // Both indices are below the length.
            hole[i].x.total_cmp(&hole[j].x)
        }) else {
            continue;
        };
        hole.rotate_left(from);
        let Some(&start) = hole.first() else { continue };
        let mut corners: Vec<usize> = (0..whole.len()).collect();
        corners.sort_by(|&i, &j| {
            // Both indices are below the length.
            whole[i]
                .distance_squared(start)
                .total_cmp(&whole[j].distance_squared(start))
        });
        let seen = corners
            .iter()
            .copied()
            .find(|&i| sees(&whole, &hole, i, start));
        let Some(at) = seen.or(corners.first().copied()) else {
            continue;
        };
        let Some(&corner) = whole.get(at) else {
            continue;
        };
        hole.push(start);
        hole.push(corner);
        whole.splice(at + 1..at + 1, hole);
    }
    whole
}

/// Whether the line from a hole's corner to corner `at` of the outline meets no edge between.
fn sees(outline: &[DVec2], hole: &[DVec2], at: usize, start: DVec2) -> bool {
    let Some(&corner) = outline.get(at) else {
        return false;
    };
    edges(outline).chain(edges(hole)).all(|(a, b)| {
        a == corner
            || b == corner
            || a == start
            || b == start
            || !segments_cross(a, b, start, corner)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn v(x: f64, y: f64) -> DVec2 {
        DVec2::new(x, y)
    }

    /// A U of outer size 3 x 3 with a notch 1 wide and 2 deep from the top: area 9 - 2 = 7.
    fn u_shape() -> Polygon {
        vec![
            v(0., 0.),
            v(3., 0.),
            v(3., 3.),
            v(2., 3.),
            v(2., 1.),
            v(1., 1.),
            v(1., 3.),
            v(0., 3.),
        ]
    }

    #[test]
    fn area_and_centroid_of_a_u_are_those_of_its_parts() {
        assert!((signed_area_m2(&u_shape()) - 7.0).abs() < 1e-12);
        // (9 * 1.5 - 2 * 2) / 7 in y, the middle in x.
        let c = centroid_m(&u_shape());
        assert!((c - v(1.5, (13.5 - 4.0) / 7.0)).length() < 1e-12, "{c}");
    }

    #[test]
    fn a_bow_tie_crosses_itself_and_a_u_does_not() {
        let bow = vec![v(0., 0.), v(1., 1.), v(1., 0.), v(0., 1.)];
        assert_eq!(first_self_crossing(&bow), Some((0, 2)));
        assert_eq!(first_self_crossing(&u_shape()), None);
        let spike = vec![v(0., 0.), v(2., 0.), v(1., 0.), v(1., 1.)];
        assert!(first_self_crossing(&spike).is_some());
    }

    #[test]
    fn a_bridged_hole_is_missing_from_area_and_triangles() {
        let outer = rectangle(v(0., 0.), v(4., 4.));
        let holes = [
            rectangle(v(1., 1.), v(2., 2.)),
            rectangle(v(2.5, 1.), v(3., 3.)),
        ];
        let whole = bridged(&outer, &holes);
        assert!((signed_area_m2(&whole) - 14.0).abs() < 1e-12);
        let sum: f64 = triangles(&whole).iter().map(|t| signed_area_m2(t)).sum();
        assert!(
            (sum - 14.0).abs() < 1e-9,
            "triangles {sum} m2, expected 14 m2"
        );
    }
}
