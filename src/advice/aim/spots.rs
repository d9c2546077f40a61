//! Where fixtures may go, and where on the piece they may aim.

use glam::{Vec2, Vec3};

use crate::{
    geometry::polygon_contains,
    room::{BuiltRoom, LampPlace, ceiling_m, world},
};

/// Step along tracks [m].
const TRACK_STEP_M: f32 = 0.25;
/// Step within zones [m].
const ZONE_STEP_M: f32 = 0.5;
/// Most points of one place.
const MOST_POINTS: usize = 60;
/// Wanted step between points aimed at [m].
const AIM_STEP_M: f32 = 0.6;
/// Most points aimed at across the piece and up it.
const MOST_AIMS: (usize, usize) = (7, 3);

/// How a spot may be moved when it is refined.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Freedom {
    /// Not at all.
    None,
    /// Between two ends [m, world].
    Along(Vec3, Vec3),
    /// On the level, within the zone of this index.
    Level(usize),
}

/// A place for a fixture.
#[derive(Clone, Debug)]
pub(super) struct Place {
    /// Where [m, world].
    pub at: Vec3,
    /// How it may move.
    pub freedom: Freedom,
}

/// All places that the choices allow, and what was left out, in words.
pub(super) fn places(room: &BuiltRoom, lamps: &[LampPlace]) -> (Vec<Place>, Vec<String>) {
    let mut found = Vec::new();
    let mut notes = Vec::new();
    for (index, place) in lamps.iter().enumerate() {
        let points: Vec<(Vec3, Freedom)> = match place {
            LampPlace::Point { at_m, .. } => {
                vec![(world(at_m.0, at_m.1, at_m.2), Freedom::None)]
            }
            LampPlace::Track { from_m, to_m, .. } => {
                let from = world(from_m.0, from_m.1, from_m.2);
                let to = world(to_m.0, to_m.1, to_m.2);
                let count =
                    ((from.distance(to) / TRACK_STEP_M).ceil() as usize).clamp(1, MOST_POINTS);
                (0..=count)
                    .map(|k| {
                        let at = from.lerp(to, k as f32 / count as f32);
                        (at, Freedom::Along(from, to))
                    })
                    .collect()
            }
            LampPlace::Zone {
                outline_m,
                height_m,
                ..
            } => zone(outline_m, *height_m)
                .into_iter()
                .map(|at| (at, Freedom::Level(index)))
                .collect(),
        };
        let count = points.len();
        let free: Vec<Place> = points
            .into_iter()
            .filter(|(at, _)| is_free(room, *at))
            .map(|(at, freedom)| Place { at, freedom })
            .collect();
        if free.len() < count {
            notes.push(format!(
                "{} of {count} points of {:?} lie outside the rooms or inside something",
                count - free.len(),
                place.name()
            ));
        }
        found.extend(free);
    }
    (found, notes)
}

fn zone(outline_m: &[(f32, f32)], height_m: f32) -> Vec<Vec3> {
    let outline: Vec<Vec2> = outline_m.iter().map(|p| Vec2::from(*p)).collect();
    let low = outline.iter().copied().fold(Vec2::MAX, Vec2::min);
    let high = outline.iter().copied().fold(Vec2::MIN, Vec2::max);
    let size = high - low;
    let mut step = ZONE_STEP_M;
    while (size.x / step).ceil() * (size.y / step).ceil() > MOST_POINTS as f32 {
        step *= 1.2;
    }
    let (nx, ny) = (
        (size.x / step).ceil().max(1.0),
        (size.y / step).ceil().max(1.0),
    );
    let mut points = Vec::new();
    for j in 0..ny as usize {
        for i in 0..nx as usize {
            let p = low + size * Vec2::new((i as f32 + 0.5) / nx, (j as f32 + 0.5) / ny);
            if polygon_contains(&outline, p) {
                points.push(world(p.x, p.y, height_m));
            }
        }
    }
    points
}

/// Whether a fixture can hang at a point: in a space, below its ceiling, in no solid.
pub(super) fn is_free(room: &BuiltRoom, at: Vec3) -> bool {
    let plan = Vec2::new(at.x, -at.z);
    let contains = |outline: &[(f32, f32)]| {
        let outline: Vec<Vec2> = outline.iter().map(|p| Vec2::from(*p)).collect();
        polygon_contains(&outline, plan)
    };
    let in_space = room.file.spaces.iter().any(|s| {
        at.y >= s.floor_m && at.y <= ceiling_m(&s.ceiling, plan) + 1e-3 && contains(&s.outline_m)
    });
    let in_solid = room
        .file
        .solids
        .iter()
        .any(|s| (s.from_m..=s.to_m).contains(&at.y) && contains(&s.outline_m));
    in_space && !in_solid
}

/// Points of the piece that fixtures may aim at, right and up from its middle as it hangs [m].
pub(super) fn aims(room: &BuiltRoom) -> Vec<Vec2> {
    let size = room.size_turned(room.file.placement.turn_deg);
    let count = |length: f32, most: usize| ((length / AIM_STEP_M).round() as usize).clamp(1, most);
    let (nx, ny) = (count(size.x, MOST_AIMS.0), count(size.y, MOST_AIMS.1));
    let at = |i: usize, n: usize, length: f32| ((i as f32 + 0.5) / n as f32 - 0.5) * length;
    (0..ny)
        .flat_map(|j| (0..nx).map(move |i| Vec2::new(at(i, nx, size.x), at(j, ny, size.y))))
        .collect()
}
