//! Cells of the sky: the 145-patch division and its refinements.
//!
//! Source: P. R. Tregenza, "Subdivision of the sky hemisphere for luminance measurements", Lighting Research & Technology
//! 19, 13-14, 1987; refined m times, each band is split into m sub-bands of equal height 90/(7 m + 0.5) deg with m times
//! the cells, and a cap of half that height: 144 m2 + 1 cells. Cells are counted from the horizon up and, in a band, from
//! world -Z toward +X. Solid angles in sr; directions are unit vectors in world space.

use std::f32::consts::TAU as TAU_F32;
use std::f64::consts::{FRAC_PI_2, TAU};

use glam::{DVec3, Vec3};

/// Cells in the seven bands of the unrefined division; Tregenza 1987.
const BAND_COUNTS: [usize; 7] = [30, 30, 24, 24, 18, 12, 6];

/// Points along each side of a cell over which a sky is averaged.
const SAMPLES_PER_SIDE: usize = 4;

/// One band of cells of equal height.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Band {
    /// Index of the band's first cell.
    first_index: usize,
    /// Cells in the band.
    cell_count: usize,
    /// Sine of the elevation of the lower edge.
    low_sin: f64,
    /// Sine of the elevation of the upper edge.
    high_sin: f64,
}

/// A division of the sky into cells.
#[derive(Clone, Debug, PartialEq)]
pub struct SkyGrid {
    refinement: usize,
    bands: Vec<Band>,
    /// Sine of each band's lower edge, for the search.
    low_sins: Vec<f32>,
    /// Band of each cell.
    band_of_cell: Vec<u16>,
    /// Points of equal solid angle, SAMPLES_PER_SIDE squared to a cell.
    samples: Vec<Vec3>,
}

impl SkyGrid {
    /// The division refined `refinement` times: 1 gives 145 cells, 2 gives 577, 3 gives 1297. Clamped to 1..=16.
    #[must_use]
    pub fn new(refinement: usize) -> Self {
        let m = refinement.clamp(1, 16);
        let height_rad = FRAC_PI_2 / (7.0 * m as f64 + 0.5);
        let mut bands = Vec::with_capacity(7 * m + 1);
        let mut first_index = 0;
        let counts = BAND_COUNTS
            .iter()
            .flat_map(|count| std::iter::repeat_n(count * m, m))
            .chain([1]);
        for (index, cell_count) in counts.enumerate() {
            let low_rad = index as f64 * height_rad;
            bands.push(Band {
                first_index,
                cell_count,
                low_sin: low_rad.sin(),
                high_sin: (low_rad + height_rad).min(FRAC_PI_2).sin(),
            });
            first_index += cell_count;
        }
        let band_of_cell = bands
            .iter()
            .enumerate()
            .flat_map(|(index, band)| std::iter::repeat_n(index as u16, band.cell_count))
            .collect();
        let mut grid = Self {
            refinement: m,
            low_sins: bands.iter().map(|band| band.low_sin as f32).collect(),
            bands,
            band_of_cell,
            samples: Vec::new(),
        };
        grid.samples = (0..grid.len())
            .flat_map(|index| grid.spread(index, SAMPLES_PER_SIDE))
            .collect();
        grid
    }

    /// How many times the division is refined.
    #[must_use]
    pub fn refinement(&self) -> usize {
        self.refinement
    }

    /// Number of cells.
    #[must_use]
    pub fn len(&self) -> usize {
        self.band_of_cell.len()
    }

    /// Never: a grid has at least 145 cells.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.band_of_cell.is_empty()
    }

    /// Index of the cell that holds a unit direction in world space; one below the horizon counts to the lowest band.
    #[inline]
    #[must_use]
    pub fn cell_of(&self, to_sky: Vec3) -> usize {
        let above = self
            .low_sins
            .partition_point(|low_sin| *low_sin <= to_sky.y);
        // 0 <= above <= bands.len(), so the index is inside
        let band = &self.bands[above.saturating_sub(1)];
        let turn = to_sky.x.atan2(-to_sky.z) / TAU_F32;
        let turn = if turn < 0.0 { turn + 1.0 } else { turn };
        let around = (turn * band.cell_count as f32) as usize;
        band.first_index + around.min(band.cell_count - 1)
    }

    /// Solid angle of a cell [sr]; 0 for an index outside the grid.
    #[must_use]
    pub fn solid_angle_sr(&self, index: usize) -> f64 {
        self.band(index).map_or(0.0, |band| {
            TAU / band.cell_count as f64 * (band.high_sin - band.low_sin)
        })
    }

    /// Integral of sin h over a cell [sr], exact; the illuminance on the horizontal of a cell of luminance 1.
    #[must_use]
    pub fn projected_sr(&self, index: usize) -> f64 {
        self.band(index).map_or(0.0, |band| {
            std::f64::consts::PI / band.cell_count as f64
                * (band.high_sin * band.high_sin - band.low_sin * band.low_sin)
        })
    }

    /// Unit direction to the middle of a cell (half way in elevation and azimuth; the zenith for the cap).
    #[must_use]
    pub fn centre(&self, index: usize) -> Vec3 {
        let Some(band) = self.band(index) else {
            return Vec3::Y;
        };
        if band.cell_count == 1 {
            return Vec3::Y;
        }
        let elevation_rad = (band.low_sin.asin() + band.high_sin.asin()) / 2.0;
        let turn = ((index - band.first_index) as f64 + 0.5) / band.cell_count as f64;
        let (sin_a, cos_a) = (TAU * turn).sin_cos();
        let (sin_h, cos_h) = elevation_rad.sin_cos();
        DVec3::new(sin_a * cos_h, sin_h, -cos_a * cos_h).as_vec3()
    }

    /// Sixteen unit directions over a cell, each standing for the same share of its solid angle.
    #[must_use]
    pub fn samples(&self, index: usize) -> &[Vec3] {
        let count = SAMPLES_PER_SIDE * SAMPLES_PER_SIDE;
        self.samples
            .get(index * count..(index + 1) * count)
            .unwrap_or(&[])
    }

    /// `per_side` squared unit directions over a cell, each standing for the same share of its solid angle.
    pub fn spread(&self, index: usize, per_side: usize) -> impl Iterator<Item = Vec3> + use<> {
        let band = self.band(index).unwrap_or(Band {
            first_index: 0,
            cell_count: 1,
            low_sin: 1.0,
            high_sin: 1.0,
        });
        let start = index.saturating_sub(band.first_index) as f64;
        let step = move |k: usize| (k as f64 + 0.5) / per_side as f64;
        (0..per_side * per_side).map(move |k| {
            let sin_h = band.low_sin + (band.high_sin - band.low_sin) * step(k / per_side);
            let turn = (start + step(k % per_side)) / band.cell_count as f64;
            let (sin_a, cos_a) = (TAU * turn).sin_cos();
            let cos_h = (1.0 - sin_h * sin_h).max(0.0).sqrt();
            DVec3::new(sin_a * cos_h, sin_h, -cos_a * cos_h).as_vec3()
        })
    }

    fn band(&self, index: usize) -> Option<Band> {
        self.bands
            .get(usize::from(*self.band_of_cell.get(index)?))
            .copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sample_lies_in_its_own_cell() {
        for m in 1..=4 {
            let grid = SkyGrid::new(m);
            for index in 0..grid.len() {
                for &dir in grid.samples(index) {
                    assert_eq!(grid.cell_of(dir), index, "m {m}, direction {dir}");
                }
                assert_eq!(grid.cell_of(grid.centre(index)), index, "m {m} centre");
            }
        }
    }

    #[test]
    fn cell_of_takes_any_direction() {
        let grid = SkyGrid::new(2);
        for dir in [
            Vec3::Y,
            -Vec3::Y,
            Vec3::X,
            Vec3::new(-1e-9, 0.0, -1.0),
            Vec3::new(f32::NAN, f32::NAN, f32::NAN),
            Vec3::ZERO,
        ] {
            assert!(grid.cell_of(dir) < grid.len(), "direction {dir}");
        }
    }
}
