//! What lies under the pointer: a tile, a lamp, or a part of the building, and which thing of the room it is.

use bevy::math::Vec3;

use super::{state::Thing, view::Sight};
use crate::{
    geometry::polygon_contains,
    room::{BuiltRoom, RoomFile},
    transport::Tracer,
};

/// Something under the pointer.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// What it is.
    pub on: FoundOn,
    /// Where, world [m].
    pub point: Vec3,
    /// Normal of its face, unit.
    pub normal: Vec3,
}

/// What was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FoundOn {
    /// A tile (index).
    Tile(usize),
    /// A surface of the building (index).
    Surface(usize),
    /// A pane (index).
    Pane(usize),
}

/// The nearest thing along a line of sight whose front is seen. `panes` says whether glass counts or is looked
/// through.
pub fn find(tracer: &Tracer, built: &BuiltRoom, sight: Sight, panes: bool) -> Option<Found> {
    let building = find_building(tracer, sight, panes);
    let tile = find_tile(built, sight);
    match (building, tile) {
        (Some(wall), Some(tile)) => {
            let away = |f: &Found| f.point.distance(sight.origin);
            // The piece lies a few centimetres off its wall.
            Some(if away(&tile) < away(&wall) + 0.02 {
                tile
            } else {
                wall
            })
        }
        (wall, tile) => tile.or(wall),
    }
}

fn find_building(tracer: &Tracer, sight: Sight, panes: bool) -> Option<Found> {
    let surfaces = &tracer.scene.surfaces;
    let mut start = 1e-4;
    for _ in 0..64 {
        let hit = tracer
            .mesh
            .closest(sight.origin, sight.dir, start, f32::INFINITY)?;
        let index = hit.polygon_index as usize;
        let (on, normal) = match surfaces.get(index) {
            Some(surface) => (FoundOn::Surface(index), surface.polygon.normal()),
            None => {
                let pane = index - surfaces.len();
                (
                    FoundOn::Pane(pane),
                    tracer.scene.panes[pane].polygon.normal(),
                )
            }
        };
        let is_pane = matches!(on, FoundOn::Pane(_));
        // Backs are not drawn: one looks into the room through its ceiling.
        let seen = if is_pane {
            panes
        } else {
            normal.dot(sight.dir) < 0.0
        };
        if seen {
            let normal = if normal.dot(sight.dir) < 0.0 {
                normal
            } else {
                -normal
            };
            return Some(Found {
                on,
                point: sight.origin + sight.dir * hit.distance,
                normal,
            });
        }
        start = hit.distance + 1e-4;
    }
    None
}

fn find_tile(built: &BuiltRoom, sight: Sight) -> Option<Found> {
    let normal = built.piece.normal;
    if sight.dir.dot(normal) >= 0.0 {
        return None;
    }
    let face = built.piece.centre + normal * built.tiling.thickness_m;
    let point = sight.on_plane(face, normal)?;
    let at = built.place.piece_from_world(point);
    let tile = built
        .tiling
        .tiles
        .iter()
        .position(|t| polygon_contains(&t.outline_m, at))?;
    Some(Found {
        on: FoundOn::Tile(tile),
        point,
        normal,
    })
}

/// The thing of the room that was found; floors, walls and ceilings are their space.
pub fn thing_of(room: &RoomFile, built: &BuiltRoom, found: &Found) -> Option<Thing> {
    let label = match found.on {
        FoundOn::Tile(_) => return Some(Thing::Piece),
        FoundOn::Surface(i) => &built.scene.surfaces.get(i)?.label,
        FoundOn::Pane(i) => &built.scene.panes.get(i)?.label,
    };
    // Labels are a name, or a part of it: "top of the desk".
    let bare = ["reveal of ", "shaft of ", "top of ", "underside of "]
        .iter()
        .find_map(|part| label.strip_prefix(part))
        .unwrap_or(label);
    if let Some(i) = room.openings.iter().position(|o| o.name == bare) {
        return Some(Thing::Opening(i));
    }
    if let Some(i) = room.rooflights.iter().position(|r| r.name == bare) {
        return Some(Thing::Rooflight(i));
    }
    if let Some(i) = room.solids.iter().position(|s| s.name == bare) {
        return Some(Thing::Solid(i));
    }
    // "wall 2 of hall" is also the end of "wall 2 of great hall".
    let spaces = room.spaces.iter().enumerate();
    spaces
        .filter(|(_, s)| {
            label.ends_with(&format!(" of {}", s.name))
                || label.ends_with(&format!(" over {}", s.name))
        })
        .max_by_key(|(_, s)| s.name.len())
        .map(|(i, _)| Thing::Space(i))
}

/// What was found, in words.
pub fn words(built: &BuiltRoom, on: FoundOn) -> String {
    match on {
        FoundOn::Tile(i) => built.tiling.tiles.get(i).map_or_else(String::new, |t| {
            format!("tile {}, {}", t.id, built.tiling.materials[t.material])
        }),
        FoundOn::Surface(i) => {
            let surface = built.scene.surfaces.get(i);
            surface.map_or_else(String::new, |s| by_its_side(&built.file, &s.label))
        }
        FoundOn::Pane(i) => built
            .scene
            .panes
            .get(i)
            .map_or_else(String::new, |p| p.label.clone()),
    }
}

/// "wall 2 of hall" as "hall, north wall".
fn by_its_side(room: &RoomFile, label: &str) -> String {
    let wall = label
        .strip_prefix("wall ")
        .and_then(|rest| rest.split_once(" of "));
    match wall.and_then(|(index, space)| Some((index.parse().ok()?, space))) {
        Some((index, space)) => super::edits::wall_words(room, space, index),
        None => label.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        room::{NoFiles, build, parse_room},
        transport::{Progress, RoomLight, RoomLightSettings},
    };

    #[test]
    fn looking_at_things_finds_them_by_name() {
        let file = parse_room(include_str!("../../rooms/ferry-hall.ron"), "hall").unwrap();
        let built = build(file.clone(), &mut NoFiles).unwrap();
        let settings = RoomLightSettings {
            patch_m: 3.0,
            hemisphere_count: 4,
            pane_count: 2,
            ..RoomLightSettings::default()
        };
        let light =
            RoomLight::prepare(built.scene.clone(), settings, &Progress::default()).unwrap();
        let tracer = light.tracer();
        let toward = |from: Vec3, to: Vec3, panes: bool| {
            let sight = Sight {
                origin: from,
                dir: (to - from).normalize(),
            };
            let found = find(&tracer, &built, sight, panes).unwrap();
            (thing_of(&file, &built, &found).unwrap(), found)
        };
        // Plan (x, y, height) is world (x, height, -y).
        let eye = Vec3::new(6.0, 1.6, -5.0);
        let (thing, found) = toward(eye, built.piece.centre, false);
        assert_eq!(thing, Thing::Piece);
        let FoundOn::Tile(tile) = found.on else {
            panic!("{found:?}")
        };
        let at = built.place.piece_from_world(found.point);
        assert!(polygon_contains(&built.tiling.tiles[tile].outline_m, at));
        // The desk, from its south; the gallery is the first solid.
        let (thing, _) = toward(eye, Vec3::new(14.8, 0.6, -7.2), false);
        assert_eq!(thing, Thing::Solid(1));
        let bay = Vec3::new(18.0, 3.0, -5.5);
        assert_eq!(toward(eye, bay, true).0, Thing::Opening(1));
        // Through the glass: the warehouse opposite.
        assert_eq!(toward(eye, bay, false).0, Thing::Solid(5));
        let (thing, found) = toward(eye, Vec3::new(7.0, 0.0, -4.0), false);
        assert_eq!(thing, Thing::Space(0));
        assert_eq!(words(&built, found.on), "floor of hall");
        // From above the roof one looks in through the back of the ceiling.
        let (_, found) = toward(
            Vec3::new(12.0, 100.0, -9.5),
            Vec3::new(12.0, 0.0, -9.5),
            false,
        );
        assert_eq!(words(&built, found.on), "floor of hall");
    }
}
