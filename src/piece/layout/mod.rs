//! Parametric layouts: the cells that a layout divides the plane into, before joints and edges.
//!
//! A cell may reach over the edge of the piece; `build` cuts it to the rectangle and takes off the
//! joint. Cells of one layout share edges exactly, except along arcs that neighbouring rings divide
//! differently (within [`polar::CHORD_TOLERANCE_M`]).

mod grid;
mod herringbone;
mod hexagons;
mod polar;

use glam::DVec2;

use super::grain::radians;
use super::polygon::{Polygon, rectangle};
use super::spec::Layout;

/// One cell of a layout.
#[derive(Debug, Clone)]
pub(crate) struct Cell {
    /// Corners [m], counter-clockwise.
    pub outline_m: Polygon,
    /// Row from the top, or ring from the centre.
    pub row: i64,
    /// Column from the left, or segment counter-clockwise.
    pub column: i64,
    /// Arrow that the layout suggests [rad].
    pub natural_rad: f64,
}

/// The rectangle of the piece [m], origin at its centre.
pub(crate) fn piece_rectangle(size_m: DVec2) -> Polygon {
    rectangle(-size_m / 2.0, size_m / 2.0)
}

/// Nearest and farthest distance of the piece from a centre [m].
fn reach_m(size_m: DVec2, centre_m: DVec2) -> (f64, f64) {
    let near = (centre_m.abs() - size_m / 2.0).max(DVec2::ZERO).length();
    let far = (centre_m.abs() + size_m / 2.0).length();
    (near, far)
}

fn point((x, y): (f32, f32)) -> DVec2 {
    DVec2::new(f64::from(x), f64::from(y))
}

/// Cells of a parametric layout over a piece of `size_m`; empty for tiles written or drawn.
///
/// The layout must have passed `check`.
pub(crate) fn cells(layout: &Layout, size_m: DVec2) -> Vec<Cell> {
    match layout {
        Layout::Tiles(_) | Layout::Drawing { .. } => Vec::new(),
        Layout::Grid {
            columns,
            rows,
            stagger,
            ..
        } => grid::grid_cells(size_m, *columns, *rows, f64::from(*stagger)),
        Layout::GradedStrip {
            count,
            from_deg,
            to_deg,
            horizontal,
            ..
        } => grid::strip_cells(
            size_m,
            *count,
            *horizontal,
            radians(*from_deg)..radians(*to_deg),
        ),
        Layout::Herringbone {
            length_m,
            plank_width_m,
            angle_deg,
            ..
        } => herringbone::herringbone_cells(
            size_m,
            f64::from(*length_m),
            f64::from(*plank_width_m),
            radians(*angle_deg),
        ),
        Layout::Hexagons {
            across_m, flat_top, ..
        } => hexagons::hexagon_cells(size_m, f64::from(*across_m), *flat_top),
        Layout::Sunburst {
            rays,
            rings,
            centre_m,
            from_deg,
            ..
        } => {
            let centre_m = point(*centre_m);
            let (near_m, far_m) = reach_m(size_m, centre_m);
            let polar = polar::Polar {
                centre_m,
                near_m,
                far_m,
                rings: *rings,
                from_rad: radians(*from_deg),
                sweep_rad: std::f64::consts::TAU,
                stagger: 0.0,
                is_tangential: false,
                is_open: true,
            };
            polar.cells(&[*rays], size_m)
        }
        Layout::Fan {
            blades,
            rings,
            centre_m,
            from_deg,
            to_deg,
            inner_m,
            outer_m,
            ..
        } => {
            let polar = polar::Polar {
                centre_m: point(*centre_m),
                near_m: f64::from(*inner_m),
                far_m: f64::from(*outer_m),
                rings: *rings,
                from_rad: radians(*from_deg),
                sweep_rad: radians(*to_deg) - radians(*from_deg),
                stagger: 0.0,
                is_tangential: false,
                is_open: false,
            };
            polar.cells(&[*blades], size_m)
        }
        Layout::Rings {
            count,
            segments,
            centre_m,
            stagger,
            ..
        } => {
            let centre_m = point(*centre_m);
            let (near_m, far_m) = reach_m(size_m, centre_m);
            let polar = polar::Polar {
                centre_m,
                near_m,
                far_m,
                rings: *count,
                from_rad: 0.0,
                sweep_rad: std::f64::consts::TAU,
                stagger: f64::from(*stagger),
                is_tangential: true,
                is_open: true,
            };
            polar.cells(segments, size_m)
        }
    }
}

/// Tiles that a layout will give, about, before making them.
pub(crate) fn estimated_count(layout: &Layout, size_m: DVec2) -> f64 {
    let area_m2 = size_m.x * size_m.y;
    match layout {
        Layout::Tiles(tiles) => tiles.len() as f64,
        Layout::Drawing { .. } => 0.0,
        Layout::Grid { columns, rows, .. } => f64::from(*columns) * f64::from(*rows),
        Layout::GradedStrip { count, .. } => f64::from(*count),
        Layout::Herringbone {
            length_m,
            plank_width_m,
            ..
        } => area_m2 / (f64::from(*length_m) * f64::from(*plank_width_m)),
        Layout::Hexagons { across_m, .. } => area_m2 / f64::from(*across_m).powi(2) / 0.866,
        Layout::Sunburst { rays, rings, .. } => f64::from(*rays) * f64::from(*rings),
        Layout::Fan { blades, rings, .. } => f64::from(*blades) * f64::from(*rings),
        Layout::Rings {
            count, segments, ..
        } => {
            let sum: f64 = segments.iter().copied().map(f64::from).sum();
            f64::from(*count) * sum / segments.len().max(1) as f64
        }
    }
}
