//! Where the piece could hang: stretches of wall that are wide, high and free enough, and stands.

use glam::Vec2;

use crate::{
    advice::words::{placement_words, wall_words},
    geometry::polygon_contains,
    room::{BuiltRoom, Placement, RoomFile, Space, Support, ceiling_m, wall, world},
};

/// Middle of a work above the floor [m]; common practice, no source.
const USUAL_HEIGHT_M: f32 = 1.5;
/// Least distance of the piece from the floor, from openings and from a wall's ends [m]; own choice.
const CLEAR_M: f32 = 0.05;
/// How far before the wall nothing may stand in the piece's way [m]; own choice.
const FREE_DEPTH_M: f32 = 0.15;
/// Smallest step between places along a wall [m].
const LEAST_STEP_M: f32 = 0.25;
/// Free-standing pieces face this many directions.
const FACINGS: usize = 8;

/// Half of the piece's extent along its support and up it, turned [m].
fn half_size(room: &BuiltRoom, turn_deg: f32) -> Vec2 {
    let (low, high) = room.tiling.bounds();
    let half = (high - low) * 0.5;
    let (sin, cos) = turn_deg.to_radians().sin_cos();
    Vec2::new(
        half.x * cos.abs() + half.y * sin.abs(),
        half.x * sin.abs() + half.y * cos.abs(),
    )
}

/// All places to judge: the present one first, then those the room names, then what its walls offer, spread so that
/// no more than `most` are given. Places that no station sees from the front are left out. The notes say what was left out and why.
pub fn places(room: &BuiltRoom, most: usize) -> (Vec<Placement>, Vec<String>) {
    let file = &room.file;
    let mut notes = Vec::new();
    let mut fixed = vec![file.placement.clone()];
    for named in &file.candidates {
        // A name may stand for a place that does not fit; building tells.
        if !fixed.iter().any(|f| same_place(f, named)) {
            fixed.push(named.clone());
        }
    }
    fixed.extend(stands(room));
    let room_left = most.saturating_sub(fixed.len());
    let mut step_m = (0.25 * half_size(room, 0.0).x * 2.0).max(LEAST_STEP_M);
    let mut found = on_walls(room, step_m);
    found.retain(|p| is_seen(room, p));
    while found.len() > room_left && step_m < 100.0 {
        step_m *= 1.15;
        found = on_walls(room, step_m);
        found.retain(|p| is_seen(room, p));
    }
    if found.len() > room_left {
        notes.push(format!(
            "{} places are left out: at most {most} are judged",
            found.len() - room_left
        ));
        found.truncate(room_left);
    }
    if found.is_empty() {
        notes.push("no stretch of wall is wide and high enough and free for the piece".into());
    }
    for mut place in found {
        let known = fixed.iter().any(|f| same_place(f, &place));
        if !known {
            place.name = short_words(file, &place);
            fixed.push(place);
        }
    }
    (fixed, notes)
}

/// A name for the list of things: the wall, or how it stands.
fn short_words(file: &RoomFile, placement: &Placement) -> String {
    match &placement.on {
        Support::Wall { space, wall, .. } => wall_words(file, space, *wall),
        Support::Stand { .. } => placement_words(file, placement),
    }
}

/// Whether two placements are one but for their names.
pub fn same_place(a: &Placement, b: &Placement) -> bool {
    let near = |x: f32, y: f32| (x - y).abs() < 0.01;
    let on = match (&a.on, &b.on) {
        (
            Support::Wall {
                space: s,
                wall: w,
                along_m: x,
            },
            Support::Wall {
                space: t,
                wall: v,
                along_m: y,
            },
        ) => s == t && w == v && near(*x, *y),
        (a, b) => a == b,
    };
    on && near(a.centre_m, b.centre_m)
        && near(a.turn_deg.rem_euclid(360.0), b.turn_deg.rem_euclid(360.0))
        && a.mirrored == b.mirrored
}

/// Whether any station looks at the front of a place.
fn is_seen(room: &BuiltRoom, placement: &Placement) -> bool {
    let place = crate::room::PiecePlace::new(&room.file, placement);
    let (centre, normal) = (place.frame.origin, place.frame.z_dir);
    let least = room.limits().grazing_deg.to_radians().cos();
    room.walks
        .iter()
        .flat_map(|w| &w.stations)
        .any(|s| (s.eye - centre).normalize_or_zero().dot(normal) > least)
}

fn turns(room: &BuiltRoom) -> Vec<(f32, bool)> {
    let hang = &room.file.advice.hang;
    let mirrored: &[bool] = if hang.mirror {
        &[false, true]
    } else {
        &[false]
    };
    // What the piece is now is always one of them.
    let now = room.file.placement.turn_deg.rem_euclid(360.0);
    let mut turns: Vec<f32> = hang.turns_deg.iter().map(|t| t.rem_euclid(360.0)).collect();
    turns.push(now);
    turns.sort_by(f32::total_cmp);
    turns.dedup_by(|a, b| (*a - *b).abs() < 0.01);
    turns
        .into_iter()
        .flat_map(|t| mirrored.iter().map(move |m| (t, *m)))
        .collect()
}

/// Heights of the middle above the floor that suit a piece of this half height under a ceiling [m].
fn heights(room: &BuiltRoom, half_m: f32, top_m: f32) -> Vec<f32> {
    let hang = &room.file.advice.hang;
    let (low, high) = (half_m + CLEAR_M, top_m - half_m - CLEAR_M);
    if low > high {
        return Vec::new();
    }
    let wanted = match hang.heights_m {
        Some((from, to)) if to - from > 0.3 => vec![from, 0.5 * (from + to), to],
        Some((from, to)) => vec![0.5 * (from + to)],
        None => vec![USUAL_HEIGHT_M, room.file.placement.centre_m],
    };
    let mut kept: Vec<f32> = wanted
        .into_iter()
        .filter_map(|h| match hang.heights_m {
            // What the maker asks for is not bent.
            Some(_) => (low..=high).contains(&h).then_some(h),
            None => Some(h.clamp(low, high)),
        })
        .collect();
    kept.sort_by(f32::total_cmp);
    kept.dedup_by(|a, b| (*a - *b).abs() < 0.1);
    kept
}

fn on_walls(room: &BuiltRoom, step_m: f32) -> Vec<Placement> {
    let file = &room.file;
    let only = &file.advice.hang.walls;
    let mut found = Vec::new();
    for space in &file.spaces {
        for index in 0..space.outline_m.len() {
            let offered =
                only.is_empty() || only.iter().any(|(s, w)| *s == space.name && *w == index);
            if !offered {
                continue;
            }
            let line = wall(space, index);
            let top_m = line.top_m.0.min(line.top_m.1) - line.floor_m;
            for (turn_deg, mirrored) in turns(room) {
                let half = half_size(room, turn_deg);
                let (from, to) = (half.x + CLEAR_M, line.length_m - half.x - CLEAR_M);
                if from > to {
                    continue;
                }
                let count = ((to - from) / step_m).ceil() as usize;
                for centre_m in heights(room, half.y, top_m) {
                    for k in 0..=count {
                        let share = if count == 0 {
                            0.5
                        } else {
                            k as f32 / count as f32
                        };
                        // Whole centimetres, as a maker would measure.
                        let along_m = ((from + (to - from) * share) * 100.0).round() / 100.0;
                        let placement = Placement {
                            name: String::new(),
                            on: Support::Wall {
                                space: space.name.clone(),
                                wall: index,
                                along_m,
                            },
                            centre_m: (centre_m * 100.0).round() / 100.0,
                            turn_deg,
                            mirrored,
                        };
                        if is_free(file, space, index, (along_m, centre_m), half) {
                            found.extend(leaning(room, space, index, (along_m, half), &placement));
                            found.push(placement);
                        }
                    }
                }
            }
        }
    }
    // Leaning places come once for every height; one is enough.
    let mut unique: Vec<Placement> = Vec::new();
    for place in found {
        if !unique.iter().any(|u| same_place(u, &place)) {
            unique.push(place);
        }
    }
    unique
}

/// The piece on the floor, leaning against the wall at the same distance along it, where that is allowed.
fn leaning(
    room: &BuiltRoom,
    space: &Space,
    index: usize,
    (along_m, half): (f32, Vec2),
    upright: &Placement,
) -> Option<Placement> {
    let lean_deg = room.file.advice.hang.leaning_deg?;
    let line = wall(space, index);
    let (sin, cos) = lean_deg.to_radians().sin_cos();
    // Its middle is half of what its foot stands off the wall.
    let off_m = half.y * sin + 0.02;
    let at = line.at(along_m, -off_m);
    let normal = line.inward;
    is_free(&room.file, space, index, (along_m, half.y * cos), half).then(|| Placement {
        name: String::new(),
        on: Support::Stand {
            at_m: (
                (at.x * 100.0).round() / 100.0,
                (at.y * 100.0).round() / 100.0,
            ),
            facing_deg: normal.x.atan2(normal.y).to_degrees(),
            lean_deg,
        },
        centre_m: half.y * cos,
        ..upright.clone()
    })
}

fn stands(room: &BuiltRoom) -> Vec<Placement> {
    let file = &room.file;
    let mut found = Vec::new();
    for at_m in &file.advice.hang.stands_m {
        for (turn_deg, mirrored) in turns(room) {
            let half = half_size(room, turn_deg);
            for k in 0..FACINGS {
                let mut placement = Placement {
                    name: String::new(),
                    on: Support::Stand {
                        at_m: *at_m,
                        facing_deg: 360.0 * k as f32 / FACINGS as f32,
                        lean_deg: 0.0,
                    },
                    centre_m: USUAL_HEIGHT_M.max(half.y + CLEAR_M),
                    turn_deg,
                    mirrored,
                };
                if is_seen(room, &placement) {
                    placement.name = short_words(file, &placement);
                    found.push(placement);
                }
            }
        }
    }
    found
}

/// Whether a stretch of wall is free: no opening in it, nothing before it, and the ceiling above it.
fn is_free(
    file: &RoomFile,
    space: &Space,
    index: usize,
    (along_m, centre_m): (f32, f32),
    half: Vec2,
) -> bool {
    let line = wall(space, index);
    let (left, right) = (along_m - half.x - CLEAR_M, along_m + half.x + CLEAR_M);
    let (bottom, top) = (centre_m - half.y - CLEAR_M, centre_m + half.y + CLEAR_M);
    let opening = file.openings.iter().any(|o| {
        o.space == space.name
            && o.wall == index
            && o.offset_m < right
            && o.offset_m + o.width_m > left
            && o.sill_m < top
            && o.sill_m + o.height_m > bottom
    });
    if opening {
        return false;
    }
    // A strip of floor before the wall, a hair off its ends and face.
    let strip = [
        line.at(left + 0.01, -0.01),
        line.at(right - 0.01, -0.01),
        line.at(right - 0.01, -FREE_DEPTH_M),
        line.at(left + 0.01, -FREE_DEPTH_M),
    ];
    let under_ceiling = strip
        .iter()
        .all(|p| ceiling_m(&space.ceiling, *p) - line.floor_m >= centre_m + half.y);
    let outline: Vec<Vec2> = space.outline_m.iter().map(|p| Vec2::from(*p)).collect();
    let inside = strip.iter().all(|p| polygon_contains(&outline, *p));
    let solid = file.solids.iter().filter(|s| !s.outside).any(|s| {
        let outline: Vec<Vec2> = s.outline_m.iter().map(|p| Vec2::from(*p)).collect();
        s.from_m - line.floor_m < top && s.to_m - line.floor_m > bottom && overlap(&strip, &outline)
    });
    under_ceiling && inside && !solid
}

/// Whether two outlines have a part in common.
fn overlap(a: &[Vec2], b: &[Vec2]) -> bool {
    let side = |p: Vec2, q: Vec2, r: Vec2| (q - p).perp_dot(r - p);
    let edges = |o: &[Vec2]| -> Vec<(Vec2, Vec2)> {
        (0..o.len()).map(|i| (o[i], o[(i + 1) % o.len()])).collect()
    };
    let crossing = edges(a).iter().any(|(p, q)| {
        edges(b).iter().any(|(r, s)| {
            side(*p, *q, *r) * side(*p, *q, *s) < 0.0 && side(*r, *s, *p) * side(*r, *s, *q) < 0.0
        })
    });
    crossing
        || a.iter().any(|p| polygon_contains(b, *p))
        || b.iter().any(|p| polygon_contains(a, *p))
}

/// Where the middle of a placement is on the plan [m].
pub fn on_plan(file: &RoomFile, placement: &Placement) -> Vec2 {
    let origin = crate::room::PiecePlace::new(file, placement).frame.origin;
    debug_assert_eq!(world(origin.x, -origin.z, origin.y), origin);
    Vec2::new(origin.x, -origin.z)
}
