//! Where each reading lies on the page.

use super::WalkByDay;
use crate::report::page::{MARGIN, WIDTH};

/// Room left of the cells for the clock [px].
const CLOCK_PX: f32 = 62.0;
/// Room right of the cells for sun time, sunrise and sunset [px].
pub(super) const ANNOTATION_PX: f32 = 126.0;
/// Room for the colour bar with its labels [px].
pub(super) const BAR_PX: f32 = 112.0;

/// One axis: pixel edges of its cells, and the values at these edges when values rise strictly.
#[derive(Debug, Clone)]
pub(super) struct Axis {
    edges_px: Vec<f32>,
    edge_values: Option<Vec<f32>>,
    centres: Vec<f32>,
}

impl Axis {
    fn new(centres: &[f32], half_step: f32, start_px: f32, length_px: f32) -> Self {
        let count = centres.len();
        let edge_values = edges(centres, half_step);
        let share = |index: usize| match &edge_values {
            Some(edges) => {
                let at = |i: usize| edges.get(i).copied().unwrap_or(0.0);
                (at(index) - at(0)) / (at(count) - at(0))
            }
            None => index as f32 / count.max(1) as f32,
        };
        // Whole pixels, so that cells meet without seams.
        let edges_px = (0..=count)
            .map(|i| (start_px + share(i) * length_px).round())
            .collect();
        Self {
            edges_px,
            edge_values,
            centres: centres.to_vec(),
        }
    }

    pub fn start_px(&self) -> f32 {
        self.edges_px.first().copied().unwrap_or(0.0)
    }

    pub fn end_px(&self) -> f32 {
        self.edges_px.last().copied().unwrap_or(0.0)
    }

    pub fn length_px(&self) -> f32 {
        self.end_px() - self.start_px()
    }

    /// Edge `index` of the cells, 0 before the first [px].
    pub fn edge_px(&self, index: usize) -> f32 {
        self.edges_px
            .get(index)
            .copied()
            .unwrap_or_else(|| self.end_px())
    }

    pub fn middle_px(&self, index: usize) -> f32 {
        0.5 * (self.edge_px(index) + self.edge_px(index + 1))
    }

    pub fn size_px(&self, index: usize) -> f32 {
        self.edge_px(index + 1) - self.edge_px(index)
    }

    /// Smallest cell [px].
    pub fn smallest_px(&self) -> f32 {
        self.edges_px
            .windows(2)
            .map(|e| e[1] - e[0])
            .fold(f32::INFINITY, f32::min)
    }

    /// Values at both ends; `None` when the values do not rise.
    pub fn span(&self) -> Option<(f32, f32)> {
        let edges = self.edge_values.as_ref()?;
        Some((*edges.first()?, *edges.last()?))
    }

    /// Pixel of a value; `None` outside the axis. Where values do not rise, the first two neighbours
    /// that enclose it count.
    pub fn at(&self, value: f32) -> Option<f32> {
        if let Some((low, high)) = self.span() {
            let share = (value - low) / (high - low);
            let inside = (-1e-4..=1.0 + 1e-4).contains(&share);
            return inside.then(|| self.start_px() + share * self.length_px());
        }
        self.centres
            .windows(2)
            .enumerate()
            .find_map(|(index, pair)| {
                let (low, high) = (pair[0], pair[1]);
                let inside = low < high && (low..=high).contains(&value);
                let (from, to) = (self.middle_px(index), self.middle_px(index + 1));
                inside.then(|| from + (value - low) / (high - low) * (to - from))
            })
    }

    /// Pixel of a value, or the near end of the axis for one outside it.
    pub fn at_or_end(&self, value: f32) -> f32 {
        let before = match self.span() {
            Some((low, _)) => value < low,
            None => self.centres.first().is_some_and(|first| value < *first),
        };
        let end = if before {
            self.start_px()
        } else {
            self.end_px()
        };
        self.at(value).unwrap_or(end)
    }
}

/// Edges half way between centres that rise strictly.
fn edges(centres: &[f32], half_step: f32) -> Option<Vec<f32>> {
    let rising = centres.windows(2).all(|pair| pair[0] < pair[1]);
    let (first, last) = (*centres.first()?, *centres.last()?);
    if !rising || !centres.iter().all(|c| c.is_finite()) {
        return None;
    }
    let between = centres.windows(2).map(|pair| 0.5 * (pair[0] + pair[1]));
    let mut edges: Vec<f32> = between.collect();
    let low = edges
        .first()
        .map_or(first - half_step, |edge| 2.0 * first - edge);
    let high = edges
        .last()
        .map_or(last + half_step, |edge| 2.0 * last - edge);
    edges.insert(0, low);
    edges.push(high);
    Some(edges)
}

/// Place of the cells and of what stands beside them.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    pub x: Axis,
    pub y: Axis,
    /// The legend stands to the right instead of below.
    pub legend_beside: bool,
    /// Left edge of the colour bar [px].
    pub bar_x: f32,
}

impl Grid {
    /// Lays out the cells of `chart` with their upper edge at `top` [px].
    pub fn new(chart: &WalkByDay, top: f32) -> Self {
        let (columns, rows) = (chart.columns() as f32, chart.rows() as f32);
        let left = MARGIN + CLOCK_PX;
        let widest = WIDTH - MARGIN - left - ANNOTATION_PX - BAR_PX;
        let wanted = (columns * 110.0).max(200.0);
        let legend_beside = wanted < widest * 0.55;
        let width = wanted.min(if legend_beside { 420.0 } else { widest });
        let tallest = if legend_beside { 420.0 } else { 560.0 };
        let height = (rows * 64.0).clamp(200.0, tallest).max(rows * 3.0);
        let x = Axis::new(&chart.distance_m, 0.25, left, width);
        let y = Axis::new(&chart.clock_min, 30.0, top, height);
        let bar_x = x.end_px() + ANNOTATION_PX;
        Self {
            x,
            y,
            legend_beside,
            bar_x,
        }
    }

    /// Corners of a cell: left, top, width, height [px].
    pub fn cell(&self, row: usize, column: usize) -> [f32; 4] {
        [
            self.x.edge_px(column),
            self.y.edge_px(row),
            self.x.size_px(column),
            self.y.size_px(row),
        ]
    }

    /// Whether cells are large enough to print their values.
    pub fn values_fit(&self) -> bool {
        self.x.smallest_px() >= 64.0 && self.y.smallest_px() >= 40.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_are_half_way_and_ends_are_mirrored() {
        assert_eq!(
            edges(&[0.0, 1.0, 3.0], 0.5),
            Some(vec![-0.5, 0.5, 2.0, 4.0])
        );
        assert_eq!(edges(&[2.0], 0.5), Some(vec![1.5, 2.5]));
        assert_eq!(edges(&[0.0, 1.0, 1.0], 0.5), None);
        assert_eq!(edges(&[], 0.5), None);
    }

    #[test]
    fn a_clock_put_back_gives_even_rows() {
        let axis = Axis::new(&[60.0, 90.0, 60.0, 90.0], 30.0, 100.0, 400.0);
        assert_eq!(axis.middle_px(0), 150.0);
        assert_eq!(axis.at(90.0), Some(250.0));
        assert_eq!(axis.at(120.0), None);
        assert_eq!(
            (axis.at_or_end(30.0), axis.at_or_end(120.0)),
            (100.0, 500.0)
        );
    }
}
