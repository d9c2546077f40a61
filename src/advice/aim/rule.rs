//! The trade's rule of thumb, for comparison: the beam meets the piece at 30 degrees from the vertical.

use glam::{Vec2, Vec3};

use super::spots::{Place, size_as_hung};
use crate::{room::BuiltRoom, scene::HungPiece};

/// Angle between beam and vertical at the piece [rad]; trade articles, see [`crate::measure::practice`].
const RULE_RAD: f32 = std::f32::consts::PI / 6.0;

/// Places and aims for `count` fixtures by the rule, from those allowed: each the nearest allowed place to its ideal one, aimed at its own
/// share of the piece's width at the height of its middle. The number is the largest deviation from 30 degrees [rad].
pub(super) fn by_rule(
    room: &BuiltRoom,
    allowed: &[Place],
    count: usize,
) -> (Vec<(Place, Vec2)>, f32) {
    let HungPiece { centre, normal, .. } = &room.piece;
    let width = size_as_hung(room).x;
    let right = Vec3::Y.cross(*normal).normalize_or(Vec3::X);
    let mut worst = 0.0_f32;
    let chosen = (0..count)
        .filter_map(|i| {
            let aim = Vec2::new(((i as f32 + 0.5) / count as f32 - 0.5) * width, 0.0);
            let target = *centre + right * aim.x;
            let off = |place: &Place| {
                let rise_m = (place.at.y - target.y).max(0.1);
                let ideal = target + *normal * (rise_m * RULE_RAD.tan()) + Vec3::Y * rise_m;
                ideal.distance(place.at)
            };
            let place = allowed.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
            let beam = (target - place.at).normalize_or(Vec3::NEG_Y);
            worst = worst.max((beam.dot(Vec3::NEG_Y).clamp(-1.0, 1.0).acos() - RULE_RAD).abs());
            Some((place.clone(), aim))
        })
        .collect();
    (chosen, worst)
}
