//! Rays, fans and rings: sectors between two radii and two directions.

use std::f64::consts::{FRAC_PI_2, PI};

use glam::DVec2;

use super::Cell;
use crate::piece::polygon::{Bounds, Polygon, cleaned};

/// Largest distance between an arc and its chords [m].
pub(crate) const CHORD_TOLERANCE_M: f64 = 5e-5;

/// A layout around a centre.
pub(super) struct Polar {
    /// Centre [m].
    pub centre_m: DVec2,
    /// Inner radius of the first ring [m].
    pub near_m: f64,
    /// Outer radius of the last ring [m].
    pub far_m: f64,
    /// Rings of equal width.
    pub rings: u32,
    /// Direction of the first cut [rad].
    pub from_rad: f64,
    /// Angle that the segments of a ring share [rad].
    pub sweep_rad: f64,
    /// Turn of odd rings as a part of a segment.
    pub stagger: f64,
    /// Whether the natural arrow runs around the centre, not outwards.
    pub is_tangential: bool,
    /// Whether the last ring must reach past `far_m` everywhere, chords included.
    pub is_open: bool,
}

impl Polar {
    /// Cells that meet the piece; `segments` are taken in turn by ring.
    pub(super) fn cells(&self, segments: &[u32], size_m: DVec2) -> Vec<Cell> {
        let piece = Bounds::of(&super::piece_rectangle(size_m));
        let width_m = (self.far_m - self.near_m) / f64::from(self.rings);
        let mut cells = Vec::new();
        for (ring, &count) in (0..self.rings).zip(segments.iter().cycle()) {
            let inner_m = self.near_m + width_m * f64::from(ring);
            let outer_m = self.near_m + width_m * f64::from(ring + 1);
            let step_rad = self.sweep_rad / f64::from(count);
            let shift = if ring % 2 == 1 { self.stagger } else { 0.0 };
            let is_last = self.is_open && ring + 1 == self.rings;
            for segment in 0..count {
                let start_rad = self.from_rad + step_rad * (f64::from(segment) + shift);
                let outline_m = self.sector(inner_m, outer_m, start_rad, step_rad, is_last);
                if outline_m.len() >= 3 && piece.meets(Bounds::of(&outline_m)) {
                    let middle_rad = start_rad + step_rad / 2.0;
                    let turn = if self.is_tangential { FRAC_PI_2 } else { 0.0 };
                    cells.push(Cell {
                        outline_m,
                        row: i64::from(ring),
                        column: i64::from(segment),
                        natural_rad: middle_rad + turn,
                    });
                }
            }
        }
        cells
    }

    /// Corners of one sector [m], counter-clockwise.
    fn sector(
        &self,
        inner_m: f64,
        outer_m: f64,
        start_rad: f64,
        step_rad: f64,
        is_last: bool,
    ) -> Polygon {
        let mut outer_steps = chord_count(outer_m, step_rad);
        let mut radius_m = outer_m;
        if is_last {
            // Beyond the piece an arc may be coarse, as long as its chords stay outside.
            outer_steps = (step_rad / (PI / 6.0)).ceil() as u32 + 1;
            radius_m = outer_m * 1.001 / (step_rad / f64::from(outer_steps) / 2.0).cos();
        }
        let inner_steps = chord_count(inner_m, step_rad);
        let at = |radius: f64, k: u32, steps: u32| {
            let rad = start_rad + step_rad * f64::from(k) / f64::from(steps);
            self.centre_m + DVec2::from_angle(rad) * radius
        };
        let mut outline: Polygon = (0..=outer_steps)
            .map(|k| at(radius_m, k, outer_steps))
            .collect();
        outline.extend((0..=inner_steps).rev().map(|k| at(inner_m, k, inner_steps)));
        cleaned(&outline)
    }
}

/// Chords that keep an arc within [`CHORD_TOLERANCE_M`]: the sagitta is r (1 - cos(a / 2)).
fn chord_count(radius_m: f64, angle_rad: f64) -> u32 {
    if radius_m <= CHORD_TOLERANCE_M {
        return 1;
    }
    let step = 2.0 * (1.0 - CHORD_TOLERANCE_M / radius_m).acos();
    (angle_rad / step).ceil().clamp(1.0, 2000.0) as u32
}
