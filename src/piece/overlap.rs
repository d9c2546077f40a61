//! Tiles that lie on the same place.

use super::clip::common_triangle_area_m2;
use super::error::{PieceProblem, Problems};
use super::pairs::for_each_meeting_pair;
use super::polygon::{Bounds, Polygon, signed_area_m2, triangles};

/// Common area that is taken for the width of a line [m2], plus [`SHARE`] of the smaller tile.
const LEAST_M2: f64 = 1e-6;
/// Share of the smaller tile that is taken for careless drawing.
const SHARE: f64 = 0.005;
/// Pairs of triangles looked at before the check gives up.
const MAX_TRIANGLE_PAIRS: usize = 50_000_000;

/// Adds a problem for each pair of outlines that overlap; false if there was too much to check.
pub(super) fn find_overlaps(
    outlines: &[Polygon],
    path_of: impl Fn(usize) -> String,
    problems: &mut Problems,
) -> bool {
    let boxes: Vec<Bounds> = outlines.iter().map(|o| Bounds::of(o)).collect();
    let parts: Vec<_> = outlines.iter().map(|o| triangles(o)).collect();
    let mut looked_at = 0;
    for_each_meeting_pair(&boxes, |i, j| {
        // Both indices come from the lists, which are equally long.
        looked_at += parts[i].len() * parts[j].len();
        let common_m2: f64 = parts[i]
            .iter()
            .filter(|a| boxes[j].meets(Bounds::of(*a)))
            .flat_map(|a| {
                let near = Bounds::of(a);
                parts[j]
                    .iter()
                    .filter(move |b| near.meets(Bounds::of(*b)))
                    .map(move |b| common_triangle_area_m2(a, b))
            })
            .sum();
        let smaller_m2 = signed_area_m2(&outlines[i]).min(signed_area_m2(&outlines[j]));
        if common_m2 > LEAST_M2 + SHARE * smaller_m2 {
            problems.push(PieceProblem::Overlap {
                path: path_of(i),
                other: path_of(j),
                area_mm2: common_m2 * 1e6,
            });
        }
        looked_at < MAX_TRIANGLE_PAIRS && !problems.is_full()
    });
    looked_at < MAX_TRIANGLE_PAIRS
}
