//! Sky and ground as seen from anywhere, as one picture over all directions.
//!
//! Row-major, `HEIGHT` rows from straight up to straight down, `WIDTH` columns clockwise in the plan from
//! world -Z (as azimuths run). Values in cd/m2, from the sky's own formula at each texel's middle; below the
//! horizon the ground's one luminance. The sun's disc is not in it.

use glam::Vec3;

use crate::sky::SkyState;

/// Luminances of all directions.
#[derive(Clone, Debug, PartialEq)]
pub struct SkyPicture {
    /// Row-major, [`SkyPicture::HEIGHT`] x [`SkyPicture::WIDTH`] [cd/m2].
    pub luminance_cd_m2: Vec<f32>,
}

impl SkyPicture {
    /// Columns.
    pub const WIDTH: usize = 128;
    /// Rows.
    pub const HEIGHT: usize = 64;

    /// The picture of a sky over a ground of given luminance [cd/m2].
    pub fn new(sky: &SkyState, ground_cd_m2: f32) -> Self {
        let luminance_cd_m2 = (0..Self::HEIGHT * Self::WIDTH)
            .map(|i| {
                let dir = Self::direction(i % Self::WIDTH, i / Self::WIDTH);
                if dir.y > 0.0 {
                    sky.luminance_cd_m2(dir)
                } else {
                    ground_cd_m2
                }
            })
            .collect();
        Self { luminance_cd_m2 }
    }

    /// Direction of the middle of a texel.
    pub fn direction(column: usize, row: usize) -> Vec3 {
        let azimuth = (column as f32 + 0.5) / Self::WIDTH as f32 * std::f32::consts::TAU;
        let from_top = (row as f32 + 0.5) / Self::HEIGHT as f32 * std::f32::consts::PI;
        let (sin, cos) = from_top.sin_cos();
        Vec3::new(sin * azimuth.sin(), cos, -sin * azimuth.cos())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sky_is_above_and_the_ground_below() {
        let picture = SkyPicture::new(&SkyState::uniform(1000.0), 50.0);
        let row = |r: usize| picture.luminance_cd_m2[r * SkyPicture::WIDTH];
        assert!((row(0) - 1000.0).abs() < 1.0);
        assert_eq!(row(SkyPicture::HEIGHT - 1), 50.0);
        assert!(SkyPicture::direction(SkyPicture::WIDTH / 4, 32).x > 0.99);
    }
}
