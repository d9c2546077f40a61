//! Cutting polygons: by half planes and convex windows, by half a joint, by one another.
//!
//! Lengths are metres. Clipping by a half plane works for any simple polygon and may return several
//! pieces. Narrowing moves edges inwards along their normals and drops edges that vanish: exact for
//! convex cells, good for gentle curves, not meant for deep notches.

use glam::DVec2;

use super::polygon::{Polygon, SAME_POINT_M, cleaned, edges, signed_area_m2};

/// The part of a simple counter-clockwise polygon on the side of `point` that `inward` points to.
///
/// A notched polygon can fall in several pieces. Corners on the line count as outside, so a piece
/// that only touches the line is dropped without a trace.
pub(crate) fn clip_half_plane(polygon: &[DVec2], point: DVec2, inward: DVec2) -> Vec<Polygon> {
    let depth = |p: DVec2| (p - point).dot(inward);
    let is_inside = |p: DVec2| depth(p) > 1e-12;
    if polygon.iter().all(|&p| is_inside(p) || depth(p) > -1e-12) {
        return vec![polygon.to_vec()];
    }
    let Some(start) = polygon.iter().position(|&p| !is_inside(p)) else {
        return vec![polygon.to_vec()];
    };
    // Chains of corners inside, each from its entry to its exit on the line.
    let along = DVec2::new(inward.y, -inward.x);
    let mut chains: Vec<Polygon> = Vec::new();
    let mut chain: Option<Polygon> = None;
    let turned = polygon.iter().cycle().skip(start).take(polygon.len() + 1);
    let mut previous: Option<DVec2> = None;
    for &p in turned {
        if let Some(q) = previous {
            let crossing = || q + (p - q) * (depth(q) / (depth(q) - depth(p))).clamp(0.0, 1.0);
            match (is_inside(q), is_inside(p)) {
                (false, true) => chain = Some(vec![crossing(), p]),
                (true, true) => {
                    if let Some(c) = chain.as_mut() {
                        c.push(p);
                    }
                }
                (true, false) => {
                    if let Some(mut c) = chain.take() {
                        c.push(crossing());
                        chains.push(c);
                    }
                }
                (false, false) => {}
            }
        }
        previous = Some(p);
    }
    join_chains(chains, |p| (p - point).dot(along))
}

/// Closes chains along the cutting line: sorted along it, crossings bound the inside in pairs.
fn join_chains(chains: Vec<Polygon>, along: impl Fn(DVec2) -> f64) -> Vec<Polygon> {
    // (position, chain, is it the chain's end)
    let mut crossings: Vec<(f64, usize, bool)> = Vec::with_capacity(chains.len() * 2);
    for (index, chain) in chains.iter().enumerate() {
        if let (Some(&first), Some(&last)) = (chain.first(), chain.last()) {
            crossings.push((along(first), index, false));
            crossings.push((along(last), index, true));
        }
    }
    crossings.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut next_of: Vec<usize> = (0..chains.len()).collect();
    for pair in crossings.chunks_exact(2) {
        if let [a, b] = pair {
            let (exit, entry) = if a.2 { (a.1, b.1) } else { (b.1, a.1) };
            if let Some(slot) = next_of.get_mut(exit) {
                *slot = entry;
            }
        }
    }
    let mut is_used = vec![false; chains.len()];
    let mut pieces = Vec::new();
    for first in 0..chains.len() {
        let mut piece: Polygon = Vec::new();
        let mut at = first;
        while let (Some(used), Some(chain)) = (is_used.get_mut(at), chains.get(at)) {
            if *used {
                break;
            }
            *used = true;
            piece.extend_from_slice(chain);
            at = next_of.get(at).copied().unwrap_or(first);
        }
        let piece = cleaned(&piece);
        if piece.len() >= 3 {
            pieces.push(piece);
        }
    }
    pieces
}

/// The parts of a simple polygon inside a convex one (both counter-clockwise).
pub(crate) fn clip_convex(polygon: &[DVec2], window: &[DVec2]) -> Vec<Polygon> {
    edges(window).fold(vec![polygon.to_vec()], |pieces, (a, b)| {
        let inward = (b - a).perp().normalize_or_zero();
        pieces
            .iter()
            .flat_map(|piece| clip_half_plane(piece, a, inward))
            .collect()
    })
}

/// Moves every edge inwards by what `distance_m` says for it [m]; `None` when nothing is left.
pub(crate) fn narrowed(
    polygon: &[DVec2],
    distance_m: impl Fn(DVec2, DVec2) -> f64,
) -> Option<Polygon> {
    struct Line {
        point: DVec2,
        dir: DVec2,
    }
    let mut lines: Vec<Line> = edges(polygon)
        .filter(|(a, b)| a.distance(*b) > SAME_POINT_M)
        .map(|(a, b)| {
            let dir = (b - a).normalize_or_zero();
            Line {
                point: a + dir.perp() * distance_m(a, b),
                dir,
            }
        })
        .collect();
    // An edge eaten by its neighbours shows as an edge that runs backwards: without it, again.
    while lines.len() >= 3 {
        let corners: Polygon = (0..lines.len())
            .map(|i| {
                // Both indices are below the length.
                let (a, b) = (&lines[(i + lines.len() - 1) % lines.len()], &lines[i]);
                let cross = a.dir.perp_dot(b.dir);
                if cross.abs() < 1e-9 {
                    b.point
                } else {
                    a.point + a.dir * ((b.point - a.point).perp_dot(b.dir) / cross)
                }
            })
            .collect();
        let backward = lines
            .iter()
            .zip(edges(&corners))
            .map(|(line, (a, b))| (b - a).dot(line.dir))
            .enumerate()
            .filter(|(_, along)| *along < -1e-12)
            .min_by(|a, b| a.1.total_cmp(&b.1));
        match backward {
            Some((index, _)) => {
                lines.remove(index);
            }
            None => {
                let out = cleaned(&corners);
                let is_left = out.len() >= 3 && signed_area_m2(&corners) > 1e-12;
                return is_left.then_some(out);
            }
        }
    }
    None
}

/// Area common to two counter-clockwise triangles [m2] (Sutherland and Hodgman, "Reentrant polygon
/// clipping", 1974), without allocation.
pub(crate) fn common_triangle_area_m2(left: &[DVec2; 3], right: &[DVec2; 3]) -> f64 {
    // Three cuts of a triangle leave at most six corners.
    let mut corners = [DVec2::ZERO; 8];
    let mut count = 3;
    corners[..3].copy_from_slice(left);
    for k in 0..3 {
        let (a, b) = (right[k], right[(k + 1) % 3]);
        let depth = |p: DVec2| (b - a).perp_dot(p - a);
        let mut out = [DVec2::ZERO; 8];
        let mut kept = 0;
        for i in 0..count {
            let (p, q) = (corners[i], corners[(i + 1) % count]);
            let (dp, dq) = (depth(p), depth(q));
            // A convex polygon gains at most one corner a cut: 3 + 3 < 8; the test is for rounding.
            if dp >= 0.0 && kept < 8 {
                out[kept] = p;
                kept += 1;
            }
            if (dp >= 0.0) != (dq >= 0.0) && kept < 8 {
                out[kept] = p + (q - p) * (dp / (dp - dq));
                kept += 1;
            }
        }
        corners = out;
        count = kept;
        if count < 3 {
            return 0.0;
        }
    }
    signed_area_m2(&corners[..count]).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::super::polygon::{rectangle, triangles};
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
    fn a_cut_through_both_arms_gives_two_pieces() {
        let pieces = clip_half_plane(&u_shape(), v(0., 2.), v(0., 1.));
        assert_eq!(pieces.len(), 2);
        for piece in &pieces {
            assert!((signed_area_m2(piece) - 1.0).abs() < 1e-12);
        }
        let below = clip_half_plane(&u_shape(), v(0., 2.), v(0., -1.));
        assert_eq!(below.len(), 1);
        assert!((signed_area_m2(&below[0]) - 5.0).abs() < 1e-12);
    }

    #[test]
    fn a_cut_along_an_edge_keeps_or_drops_all_of_it() {
        let square = rectangle(v(0., 0.), v(1., 1.));
        assert_eq!(clip_half_plane(&square, v(0., 1.), v(0., 1.)).len(), 0);
        let kept = clip_half_plane(&square, v(0., 1.), v(0., -1.));
        assert!((signed_area_m2(&kept[0]) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn narrowing_a_square_leaves_the_smaller_square_and_nothing_when_too_wide() {
        let square = rectangle(v(0., 0.), v(1., 1.));
        let inner = narrowed(&square, |_, _| 0.1).unwrap();
        assert!((signed_area_m2(&inner) - 0.64).abs() < 1e-12);
        assert!(narrowed(&square, |_, _| 0.6).is_none());
        // A short edge is eaten: a square with a corner cut by 0.01 narrowed by 0.2.
        let cut = vec![v(0., 0.), v(1., 0.), v(1., 0.99), v(0.99, 1.), v(0., 1.)];
        let inner = narrowed(&cut, |_, _| 0.2).unwrap();
        assert!((signed_area_m2(&inner) - 0.36).abs() < 1e-9);
    }

    #[test]
    fn common_area_of_shifted_squares_is_their_overlap() {
        let a = triangles(&rectangle(v(0., 0.), v(1., 1.)));
        let b = triangles(&rectangle(v(0.75, 0.5), v(1.75, 1.5)));
        let common: f64 = a
            .iter()
            .flat_map(|s| b.iter().map(|t| common_triangle_area_m2(s, t)))
            .sum();
        assert!(
            (common - 0.125).abs() < 1e-12,
            "{common} m2, expected 0.125 m2"
        );
    }
}
