//! Corners put into and taken out of a space's outline: what names walls by their numbers follows.

use super::CornerChange;
use crate::room::{PlanPoint, RoomFile, Support};

/// Where a place on a wall (index, distance from its first corner) lies after the change.
fn follow(change: CornerChange, outline: &[PlanPoint], wall: usize, along_m: f32) -> (usize, f32) {
    match change {
        CornerChange::PutInAfter(k) if wall == k => {
            // The wall is in two: this one and the next.
            let (a, b) = (outline[k], outline[(k + 1) % outline.len()]);
            let first_m = (b.0 - a.0).hypot(b.1 - a.1);
            if along_m > first_m {
                (k + 1, along_m - first_m)
            } else {
                (k, along_m)
            }
        }
        CornerChange::PutInAfter(k) if wall > k => (wall + 1, along_m),
        CornerChange::PutInAfter(_) => (wall, along_m),
        CornerChange::TakenOut(k, was) => {
            // The wall before the corner and the one after it are one now, with the number of the one before.
            let count = outline.len();
            let joined = (k + count - 1) % count;
            let before = outline[joined];
            let number = |old: usize| if old > k { old - 1 } else { old };
            if wall == k {
                (joined, along_m + (was.0 - before.0).hypot(was.1 - before.1))
            } else {
                (number(wall), along_m)
            }
        }
    }
}

/// Renumbers the walls of a space (index) whose outline was changed: openings, places of the piece and finishes of
/// single walls stay where they were. What reached over a new corner is left to be mended.
pub fn keep_walls(room: &mut RoomFile, space: usize, change: CornerChange) {
    let Some(found) = room.spaces.get_mut(space) else {
        return;
    };
    let outline = found.outline_m.clone();
    let name = found.name.clone();
    let finishes = std::mem::take(&mut found.wall_finishes);
    for (wall, finish) in finishes {
        if change == CornerChange::PutInAfter(wall) {
            found.wall_finishes.insert(wall + 1, finish.clone());
        }
        let (wall, _) = follow(change, &outline, wall, 0.0);
        found.wall_finishes.insert(wall, finish);
    }
    for opening in room.openings.iter_mut().filter(|o| o.space == name) {
        (opening.wall, opening.offset_m) = follow(change, &outline, opening.wall, opening.offset_m);
    }
    let places = std::iter::once(&mut room.placement).chain(&mut room.candidates);
    for place in places {
        if let Support::Wall {
            space,
            wall,
            along_m,
        } = &mut place.on
            && *space == name
        {
            (*wall, *along_m) = follow(change, &outline, *wall, *along_m);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::room::{parse_room, wall};

    fn hall() -> RoomFile {
        parse_room(include_str!("../../../rooms/ferry-hall.ron"), "hall").unwrap()
    }

    /// Middle of every opening and of the piece on the plan.
    fn places(room: &RoomFile) -> Vec<bevy::math::Vec2> {
        let space = &room.spaces[0];
        let openings = room
            .openings
            .iter()
            .map(|o| wall(space, o.wall).at(o.offset_m + 0.5 * o.width_m, 0.0));
        let piece = match &room.placement.on {
            Support::Wall {
                wall: w, along_m, ..
            } => Some(wall(space, *w).at(*along_m, 0.0)),
            Support::Stand { .. } => None,
        };
        openings.chain(piece).collect()
    }

    #[test]
    fn a_corner_put_in_on_a_wall_moves_nothing() {
        for k in 0..4 {
            let mut room = hall();
            let before = places(&room);
            let outline = &mut room.spaces[0].outline_m;
            let (a, b) = (outline[k], outline[(k + 1) % 4]);
            outline.insert(k + 1, (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1)));
            keep_walls(&mut room, 0, CornerChange::PutInAfter(k));
            for (was, is) in before.iter().zip(places(&room)) {
                // What reached over the new corner keeps its first edge.
                assert!(was.distance(is) < 1e-3, "corner after {k}: {was} to {is}");
            }
            // And out again: all is as it was.
            let was = room.spaces[0].outline_m.remove(k + 1);
            keep_walls(&mut room, 0, CornerChange::TakenOut(k + 1, was));
            let first = hall();
            for (opening, was) in room.openings.iter().zip(&first.openings) {
                assert_eq!(opening.wall, was.wall, "corner after {k}");
                assert!((opening.offset_m - was.offset_m).abs() < 1e-3);
            }
        }
    }
}
