//! Even points on a tile.
//!
//! Method: the outline is cut into triangles, which are laid end to end by area; a Hammersley point
//! set (index / n against the bit-reversed index, both shifted by the seed) picks the place. So
//! every triangle gets its share of points within one, and points within it are even too.

use glam::{DVec2, Vec2};

use super::polygon::{Polygon, triangles};
use super::tiling::{Tile, Tiling};

impl Tiling {
    /// `count` points on a tile [m], even over its area; the same seed gives the same points.
    ///
    /// `tile` is the index in [`Tiling::tiles`] (number minus one); an index past the end gives no
    /// points.
    pub fn sample_points(&self, tile: usize, count: usize, seed: u64) -> Vec<Vec2> {
        self.tiles
            .get(tile)
            .map(|tile| tile.sample_points(count, seed))
            .unwrap_or_default()
    }
}

impl Tile {
    /// `count` points on the tile [m], even over its area; the same seed gives the same points.
    pub fn sample_points(&self, count: usize, seed: u64) -> Vec<Vec2> {
        let outline: Polygon = self.outline_m.iter().map(|p| p.as_dvec2()).collect();
        let parts = triangles(&outline);
        let mut ends_m2 = Vec::with_capacity(parts.len());
        let mut sum_m2 = 0.0;
        for [a, b, c] in &parts {
            sum_m2 += (b - a).perp_dot(c - a) / 2.0;
            ends_m2.push(sum_m2);
        }
        if sum_m2 <= 0.0 {
            return vec![self.centroid_m; count];
        }
        let shift = DVec2::new(fraction_of(seed), fraction_of(seed ^ 0x5DEE_CE66_D1CE_4E5B));
        (0..count)
            .map(|i| {
                let u = (i as f64 + shift.x) / count as f64;
                let v = (radical_inverse(i as u32) + shift.y).fract();
                let at_m2 = u * sum_m2;
                let index = ends_m2
                    .partition_point(|end| *end <= at_m2)
                    .min(parts.len() - 1);
                let start_m2 = if index == 0 { 0.0 } else { ends_m2[index - 1] };
                // The index was limited to the list just above.
                let (part, area_m2) = (&parts[index], ends_m2[index] - start_m2);
                let u = ((at_m2 - start_m2) / area_m2).clamp(0.0, 1.0);
                in_triangle(part, u, v).as_vec2()
            })
            .collect()
    }
}

/// Point of a triangle from two numbers in 0..1, even over its area
/// (G. Turk, "Generating random points in triangles", Graphics Gems, 1990).
fn in_triangle([a, b, c]: &[DVec2; 3], u: f64, v: f64) -> DVec2 {
    let root = u.sqrt();
    a * (1.0 - root) + b * (root * (1.0 - v)) + c * (root * v)
}

/// Bits of the index mirrored about the point: van der Corput's sequence in base 2.
fn radical_inverse(index: u32) -> f64 {
    f64::from(index.reverse_bits()) / 4_294_967_296.0
}

/// A number in 0..1 from a seed (multiplication by the golden section, from memory).
fn fraction_of(seed: u64) -> f64 {
    let mixed = seed.wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    ((mixed ^ (mixed >> 29)) >> 11) as f64 / (1_u64 << 53) as f64
}
