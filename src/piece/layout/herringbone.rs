//! Herringbone: planks at right angles, each end on the side of a neighbour.
//!
//! With a plank of length L and width W along x from the origin and one along y above it, the pair
//! repeats by (W, W) and by (-L, L): the pair's area 2 L W is that of the lattice cell, and every
//! end meets a side, for any L >= W [derived].

use glam::DVec2;

use super::Cell;
use crate::piece::polygon::{Bounds, rectangle};

/// Cells that meet the piece. Row: pairs along the zigzag; column 0: planks at `angle_rad`, 1: across.
pub(super) fn herringbone_cells(
    size_m: DVec2,
    length_m: f64,
    width_m: f64,
    angle_rad: f64,
) -> Vec<Cell> {
    let turn = DVec2::from_angle(angle_rad);
    let along = DVec2::splat(width_m);
    let across = DVec2::new(-length_m, length_m);
    let planks = [
        rectangle(DVec2::ZERO, DVec2::new(length_m, width_m)),
        rectangle(
            DVec2::new(0.0, width_m),
            DVec2::new(width_m, width_m + length_m),
        ),
    ];
    // Corners of the piece in lattice steps, with a margin of one pair.
    let corners = super::piece_rectangle(size_m);
    let steps: Vec<DVec2> = corners
        .iter()
        .map(|&corner| {
            let p = DVec2::from_angle(-angle_rad).rotate(corner);
            DVec2::new(
                (p.x + p.y) / (2.0 * width_m),
                (p.y - p.x) / (2.0 * length_m),
            )
        })
        .collect();
    let range = Bounds::of(&steps);
    let margin = DVec2::new((length_m / width_m).ceil() + 2.0, 3.0);
    let (low, high) = (
        (range.min_m - margin).floor().as_i64vec2(),
        (range.max_m + margin).ceil().as_i64vec2(),
    );
    let piece = Bounds::of(&corners);
    let mut cells = Vec::new();
    for strip in low.y..=high.y {
        for pair in low.x..=high.x {
            let origin = along * pair as f64 + across * strip as f64;
            for (column, plank) in (0_i64..).zip(&planks) {
                let outline_m: Vec<DVec2> =
                    plank.iter().map(|&p| turn.rotate(p + origin)).collect();
                if piece.meets(Bounds::of(&outline_m)) {
                    cells.push(Cell {
                        outline_m,
                        row: pair,
                        column,
                        natural_rad: angle_rad + std::f64::consts::FRAC_PI_2 * column as f64,
                    });
                }
            }
        }
    }
    cells
}
