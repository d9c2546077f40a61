//! Regular hexagons, one of them on the centre of the piece.

use std::f64::consts::{FRAC_PI_3, FRAC_PI_6};

use glam::{DVec2, Vec2Swizzles};

use super::Cell;
use crate::piece::polygon::{Bounds, Polygon};

/// Cells that meet the piece; rows from the top, columns from the left (turned hexagons: the
/// layout with corners up, mirrored about the diagonal).
pub(super) fn hexagon_cells(size_m: DVec2, across_m: f64, is_flat_top: bool) -> Vec<Cell> {
    // Corner up: centres every `across` along x, rows every across * sqrt(3) / 2, odd rows by half.
    let extent = if is_flat_top { size_m.yx() } else { size_m };
    let row_pitch_m = across_m * 0.75_f64.sqrt();
    let rows = (extent.y / 2.0 / row_pitch_m).ceil() as i64 + 1;
    let columns = (extent.x / 2.0 / across_m).ceil() as i64 + 1;
    let corner_m = across_m / 3.0_f64.sqrt();
    let piece = Bounds::of(&super::piece_rectangle(size_m));
    let mut cells = Vec::new();
    for row in -rows..=rows {
        for column in -columns..=columns {
            let shift = if row.rem_euclid(2) == 1 { 0.5 } else { 0.0 };
            let centre = DVec2::new(
                (column as f64 + shift) * across_m,
                -(row as f64) * row_pitch_m,
            );
            let mut outline_m: Polygon = (0..6)
                .map(|k| {
                    centre + DVec2::from_angle(FRAC_PI_6 + f64::from(k) * FRAC_PI_3) * corner_m
                })
                .collect();
            let mut place = (row + rows, column + columns);
            if is_flat_top {
                // (x, y) to (-y, -x) keeps rows from the top and columns from the left.
                outline_m = outline_m.iter().map(|p| -p.yx()).rev().collect();
                place = (place.1, place.0);
            }
            if piece.meets(Bounds::of(&outline_m)) {
                cells.push(Cell {
                    outline_m,
                    row: place.0,
                    column: place.1,
                    natural_rad: 0.0,
                });
            }
        }
    }
    cells
}
