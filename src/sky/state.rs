//! The sky of one moment: luminance by direction, light of the sun, light of the ground.
//!
//! Directions are unit vectors in world space that leave the scene; luminances in cd/m2, illuminances in lx. The pattern is
//! scaled by its own integral, so that the horizontal illuminance is the one the model says. The sun's disc is not part of
//! the sky: it is [`SkyState::direct_normal_illuminance_lx`] from [`SkyState::sun_dir`].

use std::f64::consts::PI;

use glam::Vec3;

use super::daylight::{Daylight, pattern_elevation_rad};
use super::hemisphere::horizontal_integral_sr;
use super::{CieType, Pattern, SkyGrid, SkyModel};
use crate::sun::{Site, SunPosition, world_direction};

/// Cosine of the angle round the sun in which cells are sampled more densely (20 deg).
const NEAR_SUN_COS: f32 = 0.939_693;

/// Points along the side of a cell near the sun.
const NEAR_SUN_PER_SIDE: usize = 12;

/// A pattern with its scale.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Layer {
    pattern: Pattern,
    /// Luminance where the pattern is 1 [cd/m2].
    scale_cd_m2: f64,
}

/// The sky of one moment.
#[derive(Clone, Debug, PartialEq)]
pub struct SkyState {
    /// Unit direction to the centre of the sun, refraction included, in world space; None with the sun down.
    pub sun_dir: Option<Vec3>,
    /// Elevation of the sun without refraction [rad].
    pub sun_true_elevation_rad: f64,
    /// Illuminance on a plane facing the sun, from the sun alone [lx]; 0 with the sun down.
    pub direct_normal_illuminance_lx: f64,
    /// Illuminance on the horizontal from the sky alone [lx].
    pub diffuse_horizontal_illuminance_lx: f64,
    /// Direction that the pattern turns about: the sun's, on the horizon once the sun is down.
    pattern_dir: Vec3,
    layers: [Layer; 2],
    fixed_ground_luminance_cd_m2: Option<f32>,
}

impl SkyState {
    /// The sky of a model under a sun at a site. Below the horizon the sun gives no direct light and the sky follows
    /// [`super::daylight::twilight`], dark from 6 deg on; a weather hour keeps the diffuse light it states.
    #[must_use]
    pub fn new(model: &SkyModel, sun: &SunPosition, site: &Site) -> Self {
        let elevation_rad = pattern_elevation_rad(sun);
        let pattern_dir = world_direction(sun.azimuth_rad, elevation_rad, site.bearing_rad);
        let sun_dir = (sun.apparent_elevation_rad > 0.0).then_some(pattern_dir);
        let mut state = Self::of_daylight(&model.daylight(sun), pattern_dir, elevation_rad);
        state.sun_dir = sun_dir;
        state.sun_true_elevation_rad = sun.true_elevation_rad;
        if sun_dir.is_none() {
            state.direct_normal_illuminance_lx = 0.0;
        }
        state
    }

    /// No light at all.
    #[must_use]
    pub fn dark() -> Self {
        Self {
            sun_dir: None,
            sun_true_elevation_rad: -PI / 2.0,
            direct_normal_illuminance_lx: 0.0,
            diffuse_horizontal_illuminance_lx: 0.0,
            pattern_dir: Vec3::Y,
            layers: [Layer {
                pattern: Pattern::Uniform,
                scale_cd_m2: 0.0,
            }; 2],
            fixed_ground_luminance_cd_m2: None,
        }
    }

    /// A sky of one luminance [cd/m2] without sun.
    #[must_use]
    pub fn uniform(luminance_cd_m2: f64) -> Self {
        Self::from_pattern(Pattern::Uniform, None, PI * luminance_cd_m2, 0.0)
    }

    /// A standard sky with a stated zenith luminance [cd/m2], the sun in `sun_dir` (unit, above the horizon) with a direct
    /// normal illuminance [lx]; without `sun_dir` the pattern turns about the zenith and there is no sun.
    #[must_use]
    pub fn cie_with_zenith_luminance(
        kind: CieType,
        sun_dir: Option<Vec3>,
        zenith_luminance_cd_m2: f64,
        direct_normal_illuminance_lx: f64,
    ) -> Self {
        let elevation_rad = sun_dir.map_or(PI / 2.0, elevation_of_rad);
        Self::from_pattern(
            kind.pattern(),
            sun_dir,
            zenith_luminance_cd_m2 * kind.horizontal_over_zenith_sr(elevation_rad),
            direct_normal_illuminance_lx,
        )
    }

    /// Any pattern at a diffuse horizontal illuminance [lx], the sun in `sun_dir` (unit, above the horizon) with a direct
    /// normal illuminance [lx]; without `sun_dir` the pattern turns about the zenith and there is no sun.
    #[must_use]
    pub fn from_pattern(
        pattern: Pattern,
        sun_dir: Option<Vec3>,
        diffuse_horizontal_illuminance_lx: f64,
        direct_normal_illuminance_lx: f64,
    ) -> Self {
        let pattern_dir = sun_dir.unwrap_or(Vec3::Y);
        let daylight = Daylight::of_one(
            pattern,
            diffuse_horizontal_illuminance_lx,
            direct_normal_illuminance_lx,
        );
        let mut state = Self::of_daylight(&daylight, pattern_dir, elevation_of_rad(pattern_dir));
        state.sun_dir = sun_dir.filter(|dir| dir.y > 0.0);
        state.sun_true_elevation_rad = elevation_of_rad(pattern_dir);
        if state.sun_dir.is_none() {
            state.direct_normal_illuminance_lx = 0.0;
            state.sun_true_elevation_rad = sun_dir.map_or(-PI / 2.0, elevation_of_rad);
        }
        state
    }

    /// The same sky over a ground of a stated luminance [cd/m2], whatever its reflectance.
    #[must_use]
    pub fn with_ground_luminance(mut self, luminance_cd_m2: f32) -> Self {
        self.fixed_ground_luminance_cd_m2 = Some(luminance_cd_m2);
        self
    }

    /// Luminance of the sky [cd/m2] in a unit direction of world space; 0 at and below the horizon. The sun's disc is left out.
    #[inline]
    #[must_use]
    pub fn luminance_cd_m2(&self, to_sky: Vec3) -> f32 {
        if to_sky.y <= 0.0 {
            return 0.0;
        }
        let from_sun_rad = angle_between_rad(to_sky, self.pattern_dir);
        let sin_elevation = f64::from(to_sky.y);
        let [first, second] = &self.layers;
        let mut luminance = first.scale_cd_m2 * first.pattern.relative(sin_elevation, from_sun_rad);
        if second.scale_cd_m2 > 0.0 {
            luminance += second.scale_cd_m2 * second.pattern.relative(sin_elevation, from_sun_rad);
        }
        luminance as f32
    }

    /// Mean luminance [cd/m2] of every cell of a grid over its solid angle, sampled more densely near the sun, and scaled so
    /// that the sum of luminance x projected solid angle is the diffuse horizontal illuminance.
    #[must_use]
    pub fn cell_luminances_cd_m2(&self, grid: &SkyGrid) -> Vec<f32> {
        if self.diffuse_horizontal_illuminance_lx <= 0.0 {
            return vec![0.0; grid.len()];
        }
        let sun_cell = grid.cell_of(self.pattern_dir);
        let mut means: Vec<f64> = (0..grid.len())
            .map(|index| {
                let near =
                    index == sun_cell || grid.centre(index).dot(self.pattern_dir) > NEAR_SUN_COS;
                if near {
                    self.mean_cd_m2(grid.spread(index, NEAR_SUN_PER_SIDE))
                } else {
                    self.mean_cd_m2(grid.samples(index).iter().copied())
                }
            })
            .collect();
        let horizontal_lx: f64 = means
            .iter()
            .enumerate()
            .map(|(index, mean)| mean * grid.projected_sr(index))
            .sum();
        let scale = if horizontal_lx > 0.0 {
            self.diffuse_horizontal_illuminance_lx / horizontal_lx
        } else {
            0.0
        };
        for mean in &mut means {
            *mean *= scale;
        }
        means.into_iter().map(|mean| mean as f32).collect()
    }

    /// Luminance [cd/m2] of a diffuse ground of a reflectance 0..=1 below the horizon: reflectance x global horizontal
    /// illuminance / pi, or the fixed one.
    #[must_use]
    pub fn ground_luminance_cd_m2(&self, reflectance: f32) -> f32 {
        self.fixed_ground_luminance_cd_m2.unwrap_or_else(|| {
            (f64::from(reflectance) * self.global_horizontal_illuminance_lx() / PI) as f32
        })
    }

    /// Illuminance on the horizontal from sun and sky [lx].
    #[must_use]
    pub fn global_horizontal_illuminance_lx(&self) -> f64 {
        let sin_elevation = self.sun_dir.map_or(0.0, |dir| f64::from(dir.y).max(0.0));
        self.direct_normal_illuminance_lx * sin_elevation + self.diffuse_horizontal_illuminance_lx
    }

    fn mean_cd_m2(&self, dirs: impl Iterator<Item = Vec3>) -> f64 {
        let (mut sum, mut count) = (0.0, 0u32);
        for dir in dirs {
            sum += f64::from(self.luminance_cd_m2(dir));
            count += 1;
        }
        sum / f64::from(count.max(1))
    }

    fn of_daylight(daylight: &Daylight, pattern_dir: Vec3, elevation_rad: f64) -> Self {
        let mut state = Self::dark();
        state.pattern_dir = pattern_dir;
        // max also turns NaN into 0
        state.direct_normal_illuminance_lx = daylight.direct_normal_illuminance_lx.max(0.0);
        state.layers = daylight.parts.map(|(pattern, diffuse_lx)| {
            let diffuse_lx = diffuse_lx.max(0.0);
            let integral_sr = if diffuse_lx > 0.0 {
                horizontal_integral_sr(&pattern, elevation_rad)
            } else {
                0.0
            };
            if integral_sr <= 0.0 {
                return Layer {
                    pattern,
                    scale_cd_m2: 0.0,
                };
            }
            state.diffuse_horizontal_illuminance_lx += diffuse_lx;
            Layer {
                pattern,
                scale_cd_m2: diffuse_lx / integral_sr,
            }
        });
        state
    }
}

/// Elevation of a unit direction [rad], at least 0.
fn elevation_of_rad(dir: Vec3) -> f64 {
    f64::from(dir.y).clamp(0.0, 1.0).asin()
}

/// Angle between two unit directions [rad], exact for small ones, where the arc cosine of an f32 is not.
#[inline]
fn angle_between_rad(a: Vec3, b: Vec3) -> f64 {
    2.0 * f64::from((a - b).length() * 0.5).min(1.0).asin()
}
