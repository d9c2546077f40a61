//! What stands where nobody would put it.

use glam::Vec2;
use glam::Vec3;

use super::BuiltWalk;
use crate::{
    room::{
        RoomFile,
        wall::{ceiling_m, is_inside},
    },
    scene::Scene,
};

/// Stations and fixtures outside all spaces or inside a solid: nothing forbids them, but a person wants
/// to know.
pub(super) fn misplaced(file: &RoomFile, scene: &Scene, walks: &[BuiltWalk]) -> Vec<String> {
    let what_is_wrong = |p: Vec3| {
        let at = Vec2::new(p.x, -p.z);
        let solid = file.solids.iter().find(|s| {
            let outline: Vec<Vec2> = s.outline_m.iter().map(|c| Vec2::new(c.0, c.1)).collect();
            (s.from_m..=s.to_m).contains(&p.y) && crate::geometry::polygon_contains(&outline, at)
        });
        if let Some(solid) = solid {
            return Some(format!("is inside {:?}", solid.name));
        }
        let in_a_space = file.spaces.iter().any(|s| {
            is_inside(s, at) && p.y >= s.floor_m && p.y <= ceiling_m(&s.ceiling, at) + 1e-3
        });
        (!in_a_space).then(|| "is outside all spaces".to_owned())
    };
    let mut notes: Vec<String> = scene
        .fixtures
        .iter()
        .filter_map(|f| {
            Some(format!(
                "fixture {:?} {}",
                f.label,
                what_is_wrong(f.position)?
            ))
        })
        .collect();
    for walk in walks {
        let wrong: Vec<(f32, String)> = walk
            .stations
            .iter()
            .filter_map(|s| Some((s.distance_m, what_is_wrong(s.eye)?)))
            .collect();
        if let Some((distance_m, what)) = wrong.first() {
            let count = wrong.len();
            notes.push(format!(
                "walk {:?}: {count} stations, the first at {distance_m:.1} m; its eye {what}",
                walk.walk.name
            ));
        }
    }
    notes
}
