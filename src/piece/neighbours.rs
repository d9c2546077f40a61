//! Which tiles lie side by side, and along what length.

use std::collections::BTreeMap;

use glam::DVec2;

use super::pairs::for_each_meeting_pair;
use super::polygon::{Bounds, Polygon, edges};
use super::tiling::Tiling;

/// Shorter contacts than this are corners, not edges [m].
const LEAST_SHARED_M: f64 = 0.002;
/// Slack for drawings whose edges do not quite meet [m].
const SLACK_M: f64 = 0.0005;
/// Edges facing each other within about 14 degrees count; chords of one arc may differ so much.
const LEAST_FACING: f64 = 0.97;

impl Tiling {
    /// Pairs of tile numbers (smaller first, sorted) that share more than 2 mm of edge, and the
    /// shared length [m].
    ///
    /// Edges may be apart by the joint plus 0.5 mm. The length is that of the first tile's edge
    /// which lies opposite edges of the second.
    pub fn neighbours(&self) -> Vec<(u32, u32, f32)> {
        let gap_m = f64::from(self.joint_m) + SLACK_M;
        let outlines: Vec<Polygon> = self
            .tiles
            .iter()
            .map(|t| t.outline_m.iter().map(|p| p.as_dvec2()).collect())
            .collect();
        let boxes: Vec<Bounds> = outlines
            .iter()
            .map(|o| Bounds::of(o).grown(gap_m / 2.0))
            .collect();
        let mut shared: BTreeMap<(u32, u32), f64> = BTreeMap::new();
        for_each_meeting_pair(&boxes, |i, j| {
            // Both indices come from the list.
            let length_m = shared_length_m(&outlines[i], &outlines[j], boxes[i], boxes[j], gap_m);
            if length_m > LEAST_SHARED_M {
                shared.insert((self.tiles[i].id, self.tiles[j].id), length_m);
            }
            true
        });
        shared
            .into_iter()
            .map(|((a, b), length_m)| (a.min(b), a.max(b), length_m as f32))
            .collect()
    }
}

/// Length of edge that two outlines share within a gap [m].
fn shared_length_m(
    left: &[DVec2],
    right: &[DVec2],
    left_box: Bounds,
    right_box: Bounds,
    gap_m: f64,
) -> f64 {
    let near = |outline: &[DVec2], other: Bounds| -> Vec<(DVec2, DVec2)> {
        edges(outline)
            .filter(|(a, b)| other.meets(Bounds::of(&[*a, *b]).grown(gap_m)))
            .collect()
    };
    let others = near(right, left_box);
    near(left, right_box)
        .iter()
        .map(|&(a, b)| {
            let length_m = a.distance(b);
            let dir = (b - a).normalize_or_zero();
            // Stretches of this edge that face an edge of the other.
            let mut stretches: Vec<(f64, f64)> = others
                .iter()
                .filter_map(|&(c, d)| facing_stretch(a, dir, length_m, c, d, gap_m))
                .collect();
            stretches.sort_by(|l, r| l.0.total_cmp(&r.0));
            // Their union.
            let mut end = 0.0_f64;
            stretches.iter().fold(0.0, |sum, &(from, to)| {
                let fresh = (to - from.max(end)).max(0.0);
                end = end.max(to);
                sum + fresh
            })
        })
        .sum()
}

/// Stretch of the edge from `a` along `dir` that edge c-d faces, as distances from `a` [m].
fn facing_stretch(
    a: DVec2,
    dir: DVec2,
    length_m: f64,
    c: DVec2,
    d: DVec2,
    gap_m: f64,
) -> Option<(f64, f64)> {
    if dir.dot((d - c).normalize_or_zero()) > -LEAST_FACING {
        return None;
    }
    // The opposite edge runs backwards; its distance is counted outwards from this tile.
    let (t0, t1) = ((d - a).dot(dir).max(0.0), (c - a).dot(dir).min(length_m));
    let outward_m = -dir.perp_dot((c + d) / 2.0 - a);
    (t1 > t0 && (-SLACK_M..=gap_m).contains(&outward_m)).then_some((t0, t1))
}
