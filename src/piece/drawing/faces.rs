//! Outlines enclosed by single lines.
//!
//! Ends within the join tolerance become one point, lines are cut where they meet or cross, doubles
//! and dead ends are dropped, and each enclosed face of the resulting plane graph is walked with the
//! face on the left (half-edge method; M. de Berg et al., "Computational Geometry", 2008, ch. 2).

use std::collections::{BTreeMap, BTreeSet};

use glam::DVec2;

use super::error::DrawingError;
use super::{Contour, JOIN_TOLERANCE_M};
use crate::piece::pairs::for_each_meeting_pair;
use crate::piece::polygon::{Bounds, Polygon, cleaned, signed_area_m2};

/// Most pieces of line.
const MAX_SEGMENTS: usize = 100_000;
/// Smallest face that is a tile [m2].
const LEAST_AREA_M2: f64 = 1e-6;

/// Faces that open lines enclose, in a fixed order.
pub(super) fn faces(lines: &[Vec<DVec2>], name: &str) -> Result<Vec<Contour>, DrawingError> {
    let segment_count: usize = lines.iter().map(|l| l.len().saturating_sub(1)).sum();
    if segment_count > MAX_SEGMENTS {
        return Err(DrawingError::TooMany {
            name: name.to_owned(),
            what: "pieces of open lines",
            count: segment_count as u64,
            max: MAX_SEGMENTS as u64,
        });
    }
    let mut points = Points::default();
    let mut segments: BTreeSet<(u32, u32)> = BTreeSet::new();
    for line in lines {
        for pair in line.windows(2) {
            if let [a, b] = pair {
                add(&mut segments, points.index_of(*a), points.index_of(*b));
            }
        }
    }
    let mut cut = cut_at_meetings(&segments, &mut points);
    drop_dead_ends(&mut cut);
    Ok(walk_faces(&cut, &points.list))
}

fn add(segments: &mut BTreeSet<(u32, u32)>, a: u32, b: u32) {
    if a != b {
        segments.insert((a.min(b), a.max(b)));
    }
}

/// Points, each standing for all within the join tolerance.
#[derive(Default)]
struct Points {
    list: Vec<DVec2>,
    cells: BTreeMap<(i64, i64), Vec<u32>>,
}

impl Points {
    fn index_of(&mut self, p: DVec2) -> u32 {
        let cell = (p / JOIN_TOLERANCE_M).floor().as_i64vec2();
        for y in cell.y - 1..=cell.y + 1 {
            for x in cell.x - 1..=cell.x + 1 {
                for &i in self.cells.get(&(x, y)).map_or(&[][..], Vec::as_slice) {
                    if self.at(i).distance(p) <= JOIN_TOLERANCE_M {
                        return i;
                    }
                }
            }
        }
        let index = self.list.len() as u32;
        self.list.push(p);
        self.cells.entry((cell.x, cell.y)).or_default().push(index);
        index
    }

    fn at(&self, index: u32) -> DVec2 {
        self.list.get(index as usize).copied().unwrap_or_default()
    }
}

/// Segments cut where they touch or cross one another.
fn cut_at_meetings(segments: &BTreeSet<(u32, u32)>, points: &mut Points) -> BTreeSet<(u32, u32)> {
    let list: Vec<(u32, u32)> = segments.iter().copied().collect();
    let ends: Vec<(DVec2, DVec2)> = list
        .iter()
        .map(|&(a, b)| (points.at(a), points.at(b)))
        .collect();
    let boxes: Vec<Bounds> = ends
        .iter()
        .map(|&(a, b)| Bounds::of(&[a, b]).grown(JOIN_TOLERANCE_M))
        .collect();
    // Places along each segment where it is cut.
    let mut cuts: Vec<Vec<(f64, u32)>> = list
        .iter()
        .map(|&(a, b)| vec![(0.0, a), (1.0, b)])
        .collect();
    for_each_meeting_pair(&boxes, |i, j| {
        // All lists are as long as the segments.
        for (this, other) in [(i, j), (j, i)] {
            let (a, b) = ends[this];
            for end in [list[other].0, list[other].1] {
                if let Some(t) = place_on(points.at(end), a, b) {
                    cuts[this].push((t, end));
                }
            }
        }
        if let Some((t, u)) = crossing(ends[i], ends[j]) {
            let p = points.index_of(ends[i].0.lerp(ends[i].1, t));
            cuts[i].push((t, p));
            cuts[j].push((u, p));
        }
        true
    });
    let mut cut = BTreeSet::new();
    for places in &mut cuts {
        places.sort_by(|l, r| l.0.total_cmp(&r.0).then(l.1.cmp(&r.1)));
        for pair in places.windows(2) {
            if let [(_, a), (_, b)] = pair {
                add(&mut cut, *a, *b);
            }
        }
    }
    cut
}

/// Place of a point that lies on a segment, away from its ends.
fn place_on(p: DVec2, a: DVec2, b: DVec2) -> Option<f64> {
    let along = b - a;
    let t = (p - a).dot(along) / along.length_squared();
    let margin = JOIN_TOLERANCE_M / along.length();
    let is_on = t > margin && t < 1.0 - margin && a.lerp(b, t).distance(p) <= JOIN_TOLERANCE_M;
    is_on.then_some(t)
}

/// Places of a crossing away from all four ends.
fn crossing((a, b): (DVec2, DVec2), (c, d): (DVec2, DVec2)) -> Option<(f64, f64)> {
    let (r, s) = (b - a, d - c);
    let cross = r.perp_dot(s);
    if cross.abs() < 1e-12 * r.length() * s.length() {
        return None;
    }
    let t = (c - a).perp_dot(s) / cross;
    let u = (c - a).perp_dot(r) / cross;
    let inner = |t: f64, length: f64| {
        let margin = JOIN_TOLERANCE_M / length;
        t > margin && t < 1.0 - margin
    };
    (inner(t, r.length()) && inner(u, s.length())).then_some((t, u))
}

/// Removes lines that end nowhere, again and again.
fn drop_dead_ends(edges: &mut BTreeSet<(u32, u32)>) {
    let mut around: BTreeMap<u32, BTreeSet<u32>> = BTreeMap::new();
    for &(a, b) in edges.iter() {
        around.entry(a).or_default().insert(b);
        around.entry(b).or_default().insert(a);
    }
    let mut ends: Vec<u32> = around
        .iter()
        .filter(|(_, n)| n.len() == 1)
        .map(|(&p, _)| p)
        .collect();
    while let Some(end) = ends.pop() {
        let Some(other) = around.get(&end).and_then(|n| n.first().copied()) else {
            continue;
        };
        edges.remove(&(end.min(other), end.max(other)));
        around.remove(&end);
        if let Some(rest) = around.get_mut(&other) {
            rest.remove(&end);
            if rest.len() == 1 {
                ends.push(other);
            }
        }
    }
}

/// Faces of the graph that lie on the left of their walk.
fn walk_faces(edges: &BTreeSet<(u32, u32)>, points: &[DVec2]) -> Vec<Contour> {
    let at = |i: u32| points.get(i as usize).copied().unwrap_or_default();
    // Neighbours of each point, counter-clockwise.
    let mut around: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for &(a, b) in edges {
        around.entry(a).or_default().push(b);
        around.entry(b).or_default().push(a);
    }
    for (&p, others) in &mut around {
        others.sort_by(|&l, &r| {
            let angle = |i: u32| (at(i) - at(p)).to_angle();
            angle(l).total_cmp(&angle(r)).then(l.cmp(&r))
        });
    }
    // After a-b comes the edge next clockwise from b-a: the sharpest left turn keeps the face left.
    let next = |a: u32, b: u32| -> Option<u32> {
        let others = around.get(&b)?;
        let back = others.iter().position(|&o| o == a)?;
        others
            .get((back + others.len() - 1) % others.len())
            .copied()
    };
    let mut walked: BTreeSet<(u32, u32)> = BTreeSet::new();
    let mut contours = Vec::new();
    for &(a, b) in edges
        .iter()
        .flat_map(|e| [(e.0, e.1), (e.1, e.0)])
        .collect::<Vec<_>>()
        .iter()
    {
        let mut face: Polygon = Vec::new();
        let (mut from, mut to) = (a, b);
        while walked.insert((from, to)) {
            face.push(at(from));
            let Some(then) = next(from, to) else { break };
            (from, to) = (to, then);
        }
        let polygon_m = cleaned(&face);
        // The outer face runs clockwise.
        if signed_area_m2(&face) > LEAST_AREA_M2 && polygon_m.len() >= 3 {
            contours.push(Contour {
                polygon_m,
                is_ccw: true,
                element: usize::MAX - contours.len(),
                is_even_odd: true,
                id: String::new(),
                layer: String::new(),
                colour: String::new(),
                is_filled: false,
            });
        }
    }
    contours
}

#[cfg(test)]
mod tests {
    use super::*;

    fn v(x: f64, y: f64) -> DVec2 {
        DVec2::new(x, y)
    }

    #[test]
    fn four_crossing_lines_with_loose_ends_enclose_one_square() {
        // A noughts-and-crosses board: its middle field is 0.1 m square.
        let lines = vec![
            vec![v(0.1, 0.0), v(0.1, 0.3)],
            vec![v(0.2, 0.3), v(0.2, 0.0)],
            vec![v(0.0, 0.1), v(0.3, 0.1)],
            vec![v(0.0, 0.2), v(0.3, 0.2)],
        ];
        let found = faces(&lines, "board").unwrap();
        assert_eq!(found.len(), 1);
        let area_m2 = signed_area_m2(&found[0].polygon_m);
        assert!(
            (area_m2 - 0.01).abs() < 1e-9,
            "{area_m2} m2, expected 0.01 m2"
        );
    }

    #[test]
    fn edges_drawn_twice_with_rounding_give_two_faces() {
        let lines = vec![
            vec![
                v(0.0, 0.0),
                v(0.1, 0.0),
                v(0.1, 0.1),
                v(0.0, 0.1),
                v(0.0, 0.0),
            ],
            vec![
                v(0.1, 0.00001),
                v(0.2, 0.0),
                v(0.2, 0.1),
                v(0.10001, 0.1),
                v(0.1, 0.0),
            ],
        ];
        let found = faces(&lines, "pair").unwrap();
        assert_eq!(found.len(), 2);
    }
}
