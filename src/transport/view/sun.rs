//! The sun on tiles, in its true direction: never smeared over a patch of sky.

use glam::Vec3;
use rayon::prelude::*;

use super::{BATCHES, point_index};
use crate::{
    material::Brdf,
    scene::{HungPiece, HungTile, POINTS_PER_TILE, Station},
    transport::{LightState, RoomLight},
};

/// Lobes narrower than this change over a tile: all its points are taken [rad].
const NARROW_RAD: f32 = 0.12;

/// Direct reflection of the sun by a tile toward a station [cd/m2], each batch's mean over its share
/// of the tile's points.
pub(super) fn sun_luminance(
    brdf: &Brdf,
    tile: &HungTile,
    station: &Station,
    state: &LightState,
    sun_lx: f32,
) -> [f32; BATCHES] {
    let Some(sun_dir) = state.strengths.sun_dir.filter(|_| sun_lx > 0.0) else {
        return [0.0; BATCHES];
    };
    let to_light = tile.frame.local_from_world(sun_dir);
    if to_light.z <= 0.0 {
        return [0.0; BATCHES];
    }
    let narrow = brdf.has_lobe() && brdf.lobe_width_rad() < NARROW_RAD;
    let count = if narrow {
        (POINTS_PER_TILE / BATCHES) as u32
    } else {
        1
    };
    std::array::from_fn(|batch| {
        let sum: f32 = (0..count)
            .map(|k| {
                let point = tile.points[point_index(batch, k)];
                let to_eye = tile
                    .frame
                    .local_from_world((station.eye - point).normalize_or_zero());
                disc_mean(brdf, to_light, to_eye)
            })
            .sum();
        sum / count as f32 * sun_lx * to_light.z
    })
}

/// Reflection averaged over the sun's disc where the lobe is nearly as narrow as the disc.
fn disc_mean(brdf: &Brdf, to_light: Vec3, to_eye: Vec3) -> f32 {
    if brdf.lobe_width_rad() > 0.06 {
        return brdf.brdf_per_sr(to_light, to_eye);
    }
    let radius = crate::units::SUN_ANGULAR_RADIUS_RAD as f32;
    let (a, b) = to_light.any_orthonormal_pair();
    let mut sum = 0.0;
    for k in 0..7 {
        // Centre and six points at the radius that keeps the disc's second moment: 6/7 r^2 = 1/2.
        let angle = k as f32 * std::f32::consts::TAU / 6.0;
        let r = if k == 6 { 0.0 } else { radius * 0.764 };
        let dir = (to_light + (a * angle.cos() + b * angle.sin()) * r).normalize();
        sum += brdf.brdf_per_sr(dir, to_eye);
    }
    sum / 7.0
}

/// Illuminance [lx] of each tile by the sun on a plane facing it, for the part of the tile in sun.
pub(super) fn tile_suns(room: &RoomLight, piece: &HungPiece, state: &LightState) -> Vec<f32> {
    let Some(sun_dir) = state.strengths.sun_dir else {
        return vec![0.0; piece.tiles.len()];
    };
    piece
        .tiles
        .par_iter()
        .with_min_len(16)
        .map(|tile| {
            if tile.frame.z_dir.dot(sun_dir) <= 0.0 {
                return 0.0;
            }
            let seen: f32 = (0..POINTS_PER_TILE)
                .map(|k| room.sun_transmission(tile.points[k], sun_dir))
                .sum();
            state.strengths.sun_normal_illuminance_lx * seen / POINTS_PER_TILE as f32
        })
        .collect()
}
