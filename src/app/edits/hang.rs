//! Hanging the piece on a wall: what the place is called, and where it snaps.

use crate::{
    advice::wall_words,
    app::typed::snap,
    room::{BuiltRoom, Opening, RoomFile, Support, wall},
};

/// Height at which galleries hang the middle of a work [m]; common practice, no source.
pub const HANG_HEIGHT_M: f32 = 1.5;
/// Step of dragged lengths [m].
pub const STEP_M: f32 = 0.05;
/// How near a place must be to be snapped to [m].
const NEAR_M: f32 = 0.1;

/// The piece hung on a wall at a distance along it and, where one is given, a height above the floor of the space
/// [m]. Unless `free`, what is given snaps to the middle of the wall, to the eyes of visitors and to the usual height
/// of hanging, and stays within the wall.
pub fn hang_on(
    room: &mut RoomFile,
    built: &BuiltRoom,
    (space, index): (&str, usize),
    (along_m, centre_m): (f32, Option<f32>),
    free: bool,
) {
    let Some(found) = room.spaces.iter().find(|s| s.name == space) else {
        return;
    };
    let line = wall(found, index);
    let mut along_m = along_m;
    let mut height_m = centre_m.unwrap_or(room.placement.centre_m);
    if !free {
        let heights = room.walks.iter().map(|w| w.eye_m);
        along_m = near(along_m, std::iter::once(0.5 * line.length_m));
        let half = 0.5 * built.size_turned(room.placement.turn_deg);
        along_m = within(along_m, half.x, line.length_m);
        let top_m = line.top_m.0.min(line.top_m.1) - line.floor_m;
        if centre_m.is_some() {
            height_m = near(height_m, std::iter::once(HANG_HEIGHT_M).chain(heights));
            height_m = within(height_m, half.y, top_m);
        }
    }
    let moved = !matches!(&room.placement.on,
        Support::Wall { space: s, wall: w, .. } if s == space && *w == index);
    if moved {
        room.placement.name = wall_words(room, space, index);
    }
    room.placement.centre_m = height_m;
    room.placement.on = Support::Wall {
        space: space.to_owned(),
        wall: index,
        along_m,
    };
}

/// The nearest of some values where one is near, else rounded to the step.
fn near(value: f32, marks: impl Iterator<Item = f32>) -> f32 {
    let away = |m: &f32| (m - value).abs();
    marks
        .filter(|m| away(m) < NEAR_M)
        .min_by(|a, b| away(a).total_cmp(&away(b)))
        .unwrap_or_else(|| snap(value, STEP_M))
}

/// Held so that `half` fits on both sides between 0 and `length`; the middle where it does not fit.
fn within(value: f32, half: f32, length: f32) -> f32 {
    if 2.0 * half > length {
        0.5 * length
    } else {
        value.clamp(half, length - half)
    }
}

/// A coordinate snapped to that of something in line with it, else to the step.
pub fn in_line(value: f32, others: impl Iterator<Item = f32>, free: bool) -> f32 {
    if free { value } else { near(value, others) }
}

/// An opening with its middle at a distance along its wall and, where it is given, at a height above the floor.
pub fn move_opening(
    opening: &mut Opening,
    length_m: f32,
    top_m: f32,
    to: (f32, Option<f32>),
    free: bool,
) {
    let round = |v: f32| if free { v } else { snap(v, STEP_M) };
    let most = (length_m - opening.width_m).max(0.0);
    opening.offset_m = round(to.0 - 0.5 * opening.width_m).clamp(0.0, most);
    if let Some(height_m) = to.1 {
        let most = (top_m - opening.height_m).max(0.0);
        opening.sill_m = round(height_m - 0.5 * opening.height_m).clamp(0.0, most);
    }
}
