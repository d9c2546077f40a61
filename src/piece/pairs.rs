//! Pairs of boxes that meet, through a grid of cells about as large as a typical box.

use super::polygon::Bounds;

/// Most entries of the grid; cells are doubled until it holds no more.
const MAX_ENTRIES: f64 = 2e6;

/// Calls `visit` once for each pair (i < j) of boxes that meet, in a fixed order; stops when it
/// returns false.
pub(crate) fn for_each_meeting_pair(boxes: &[Bounds], mut visit: impl FnMut(usize, usize) -> bool) {
    let Some(grid) = Grid::new(boxes) else {
        return;
    };
    let mut entries: Vec<(u32, u32, u32)> = Vec::new();
    for (index, bounds) in (0_u32..).zip(boxes) {
        let (low, high) = (grid.cell(bounds.min_m), grid.cell(bounds.max_m));
        for y in low.1..=high.1 {
            for x in low.0..=high.0 {
                entries.push((y, x, index));
            }
        }
    }
    entries.sort_unstable();
    for cell in entries.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        for (k, &(y, x, i)) in cell.iter().enumerate() {
            for &(_, _, j) in cell.iter().skip(k + 1) {
                let (i, j) = (i as usize, j as usize);
                let (Some(a), Some(b)) = (boxes.get(i), boxes.get(j)) else {
                    continue;
                };
                // A pair that shares several cells counts in that of their common lower left corner.
                if a.meets(*b) && grid.cell(a.min_m.max(b.min_m)) == (x, y) && !visit(i, j) {
                    return;
                }
            }
        }
    }
}

struct Grid {
    origin_m: glam::DVec2,
    cell_m: glam::DVec2,
}

impl Grid {
    fn new(boxes: &[Bounds]) -> Option<Self> {
        let first = boxes.first()?;
        let all = boxes.iter().fold(*first, |a, b| Bounds {
            min_m: a.min_m.min(b.min_m),
            max_m: a.max_m.max(b.max_m),
        });
        let mut widths: Vec<f64> = boxes.iter().map(|b| b.size_m().x).collect();
        let mut heights: Vec<f64> = boxes.iter().map(|b| b.size_m().y).collect();
        widths.sort_by(f64::total_cmp);
        heights.sort_by(f64::total_cmp);
        let middle = boxes.len() / 2;
        let least = all.size_m() / 4096.0 + 1e-9;
        let mut cell_m = glam::DVec2::new(*widths.get(middle)?, *heights.get(middle)?).max(least);
        while boxes
            .iter()
            .map(|b| ((b.size_m() / cell_m).floor() + 2.0).element_product())
            .sum::<f64>()
            > MAX_ENTRIES.max(4.0 * boxes.len() as f64 + 1.0)
        {
            cell_m *= 2.0;
        }
        Some(Self {
            origin_m: all.min_m,
            cell_m,
        })
    }

    fn cell(&self, p: glam::DVec2) -> (u32, u32) {
        let cell = ((p - self.origin_m) / self.cell_m).floor();
        (cell.x as u32, cell.y as u32)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;

    /// Two ways agreeing: the grid against all pairs.
    #[test]
    fn the_grid_finds_the_pairs_that_brute_force_finds() {
        let mut boxes = Vec::new();
        for i in 0..300_u32 {
            let (a, b) = (f64::from(i * 7919 % 1000), f64::from(i * 104_729 % 997));
            let size = DVec2::new(f64::from(i % 7) * 9.0 + 1.0, f64::from(i % 5) * 11.0 + 1.0);
            let min_m = DVec2::new(a, b);
            boxes.push(Bounds {
                min_m,
                max_m: min_m + size,
            });
        }
        boxes.push(Bounds {
            min_m: DVec2::ZERO,
            max_m: DVec2::splat(900.0),
        });
        let mut found = Vec::new();
        for_each_meeting_pair(&boxes, |i, j| {
            found.push((i, j));
            true
        });
        found.sort_unstable();
        let mut expected = Vec::new();
        for i in 0..boxes.len() {
            for j in i + 1..boxes.len() {
                if boxes[i].meets(boxes[j]) {
                    expected.push((i, j));
                }
            }
        }
        assert!(expected.len() > 300);
        assert_eq!(found, expected);
    }
}
