//! The trade's rule of thumb, for comparison: the beam meets the piece at 30 degrees from the vertical.

use glam::{Vec2, Vec3};

use std::sync::Arc;

use super::{
    Hours,
    search::{Choice, Member, Search, Slot},
    sketch::Sketch,
    spots::Place,
    written,
};
use crate::{
    room::{BuiltRoom, RoomFile},
    scene::HungPiece,
};

/// Angle between beam and vertical at the piece [rad]; trade articles, see [`crate::measure::practice`].
const RULE_RAD: f32 = std::f32::consts::PI / 6.0;

/// Places and aims for `count` fixtures by the rule, from those allowed: each the nearest allowed place to its ideal one, aimed at its own
/// share of the piece's width at the height of its middle. The number is the largest deviation from 30 degrees [rad].
fn by_rule(room: &BuiltRoom, allowed: &[Place], count: usize) -> (Vec<(Place, Vec2)>, f32) {
    let HungPiece { centre, normal, .. } = &room.piece;
    let mut free: Vec<&Place> = allowed.iter().collect();
    let width = room.size_turned(room.file.placement.turn_deg).x;
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
            let place = (*free.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?).clone();
            free.retain(|p| p.at.distance(place.at) >= 0.15);
            let beam = (target - place.at).normalize_or(Vec3::NEG_Y);
            worst = worst.max((beam.dot(Vec3::NEG_Y).clamp(-1.0, 1.0).acos() - RULE_RAD).abs());
            Some((place, aim))
        })
        .collect();
    (chosen, worst)
}

/// The rule of thumb with as many fixtures as were chosen: new ones of the kind chosen most at the allowed places, or the room's own where
/// only their aim is free.
pub(super) fn rule_room(
    room: &BuiltRoom,
    sketch: &Sketch,
    search: &mut Search,
    (allowed, members): (&[Place], &[Member]),
    new_hours: &Hours,
) -> (Option<RoomFile>, f32) {
    let count = members
        .iter()
        .filter(|m| !matches!(m.slot, Slot::Dim(_)))
        .count();
    if count == 0 {
        return (None, 0.0);
    }
    let kinds = search.kinds;
    let own: Vec<&Member> = members
        .iter()
        .filter(|m| matches!(m.slot, Slot::Aim(_)))
        .collect();
    let new_count = members.iter().filter(|m| m.slot == Slot::New).count();
    let mut chosen: Vec<Member> = members
        .iter()
        .filter(|m| matches!(m.slot, Slot::Dim(_)))
        .cloned()
        .collect();
    let mut worst = 0.0_f32;
    if new_count > 0 {
        let most_used = (0..kinds.len()).max_by_key(|k| {
            members
                .iter()
                .filter(|m| m.slot == Slot::New && m.choice.kind == *k)
                .count()
        });
        let (places, off) = by_rule(room, allowed, new_count);
        worst = worst.max(off);
        for (place, aim) in places {
            let choice = Choice {
                kind: most_used.unwrap_or(0),
                spot: Arc::new(sketch.spot(place)),
                aim,
                kept_aim: None,
                roll_rad: 0.0,
            };
            chosen.push(Member {
                slot: Slot::New,
                column: search.column(&choice),
                choice,
                output: 0.0,
                on: search.new_on.clone(),
            });
        }
    }
    // Fixtures that stay where they are: aimed one beside the other, from left to right.
    let right = Vec3::Y.cross(room.piece.normal);
    let mut own: Vec<Member> = own.into_iter().cloned().collect();
    own.sort_by(|a, b| {
        let at = |m: &Member| m.choice.spot.place.at.dot(right);
        at(a).total_cmp(&at(b))
    });
    let width = room.size_turned(room.file.placement.turn_deg).x;
    let own_count = own.len();
    for (i, mut member) in own.into_iter().enumerate() {
        let share = (i as f32 + 0.5) / own_count as f32 - 0.5;
        member.choice.aim = Vec2::new(share * width, 0.0);
        member.choice.kept_aim = None;
        member.column = search.column(&member.choice);
        let target = sketch.aim_point(member.choice.aim);
        let beam = (target - member.choice.spot.place.at).normalize_or(Vec3::NEG_Y);
        let off = beam.dot(Vec3::NEG_Y).clamp(-1.0, 1.0).acos() - std::f32::consts::PI / 6.0;
        worst = worst.max(off.abs());
        chosen.push(member);
    }
    // As bright as what it is compared with: dimmed evenly to the same goal.
    search.even(&mut chosen);
    let file = written(room, sketch, kinds, &chosen, new_hours);
    (Some(file), worst)
}
