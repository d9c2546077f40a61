//! Rectangles in rows and columns, and strips with a turning grain.

use std::ops::Range;

use glam::DVec2;

use super::Cell;
use crate::piece::polygon::rectangle;

/// Cells of a grid; odd rows are shifted right by `stagger` of a cell.
pub(super) fn grid_cells(size_m: DVec2, columns: u32, rows: u32, stagger: f64) -> Vec<Cell> {
    let x_m = |i: f64| size_m.x * (i / f64::from(columns) - 0.5);
    let y_m = |i: u32| size_m.y * (0.5 - f64::from(i) / f64::from(rows));
    let mut cells = Vec::new();
    for row in 0..rows {
        let shift = if row % 2 == 1 { stagger } else { 0.0 };
        let first = if shift > 0.0 { -1 } else { 0 };
        for column in first..i64::from(columns) {
            let left = column as f64 + shift;
            cells.push(Cell {
                outline_m: rectangle(
                    DVec2::new(x_m(left), y_m(row + 1)),
                    DVec2::new(x_m(left + 1.0), y_m(row)),
                ),
                row: i64::from(row),
                column,
                natural_rad: 0.0,
            });
        }
    }
    cells
}

/// Strips whose natural arrow goes evenly through `arrow_rad`, both ends included.
pub(super) fn strip_cells(
    size_m: DVec2,
    count: u32,
    is_horizontal: bool,
    arrow_rad: Range<f64>,
) -> Vec<Cell> {
    let (columns, rows) = if is_horizontal {
        (1, count)
    } else {
        (count, 1)
    };
    let mut cells = grid_cells(size_m, columns, rows, 0.0);
    let last = f64::from(count.max(2) - 1);
    for (index, cell) in cells.iter_mut().enumerate() {
        let t = index as f64 / last;
        cell.natural_rad = arrow_rad.start * (1.0 - t) + arrow_rad.end * t;
    }
    cells
}
