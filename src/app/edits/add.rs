//! New things where they fit, and second ones beside what is there.

use bevy::math::Vec2;

use super::{free_name, name_of, problem_count};
use crate::{
    app::{state::Thing, typed::snap},
    geometry::polygon_contains,
    room::{
        Aim, ApertureFile, Ceiling, Filling, Finish, FixtureFile, FixtureLight, FixtureType,
        GlazingFile, Look, Opening, Placement, PlanPoint, Rooflight, RoomFile, Solid, Space,
        Support, Walk, WindowFilling, wall,
    },
};

/// What can be added.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Addable {
    /// A fixture.
    Fixture,
    /// A kind of fixture.
    FixtureType,
    /// A window.
    Window,
    /// A door.
    Door,
    /// A rooflight.
    Rooflight,
    /// A walk.
    Walk,
    /// A solid.
    Solid,
    /// A space.
    Space,
    /// A finish.
    Finish,
    /// A glazing.
    Glazing,
    /// The piece's present place, as one worth comparing.
    Place,
}

impl Addable {
    /// All of them, in the order of the list.
    pub const ALL: [Self; 11] = [
        Self::Fixture,
        Self::FixtureType,
        Self::Walk,
        Self::Place,
        Self::Window,
        Self::Door,
        Self::Rooflight,
        Self::Solid,
        Self::Space,
        Self::Finish,
        Self::Glazing,
    ];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Fixture => "Fixture",
            Self::FixtureType => "Kind of fixture",
            Self::Window => "Window",
            Self::Door => "Door",
            Self::Rooflight => "Rooflight",
            Self::Walk => "Walk",
            Self::Solid => "Solid (column, desk, bench, building opposite)",
            Self::Space => "Space",
            Self::Finish => "Finish",
            Self::Glazing => "Glazing",
            Self::Place => "This place of the piece, to compare",
        }
    }
}

/// The space that the piece hangs or stands in.
fn home(room: &RoomFile) -> Option<&Space> {
    let named = match &room.placement.on {
        Support::Wall { space, .. } => room.spaces.iter().find(|s| &s.name == space),
        Support::Stand { at_m, .. } => room.spaces.iter().find(|s| contains(s, *at_m)),
    };
    named.or_else(|| room.spaces.first())
}

fn contains(space: &Space, at: PlanPoint) -> bool {
    let outline: Vec<Vec2> = space.outline_m.iter().map(|p| Vec2::from(*p)).collect();
    polygon_contains(&outline, Vec2::from(at))
}

/// Middle of the piece on the plan, and the direction that its front faces.
fn front(room: &RoomFile) -> (Vec2, Vec2) {
    match &room.placement.on {
        Support::Wall {
            space,
            wall: index,
            along_m,
        } => room
            .spaces
            .iter()
            .find(|s| &s.name == space)
            .map_or((Vec2::ZERO, Vec2::Y), |found| {
                let line = wall(found, *index);
                (line.at(*along_m, 0.0), line.inward)
            }),
        Support::Stand {
            at_m, facing_deg, ..
        } => {
            let (sin, cos) = facing_deg.to_radians().sin_cos();
            (Vec2::from(*at_m), Vec2::new(sin, cos))
        }
    }
}

fn bounds(space: &Space) -> (Vec2, Vec2) {
    space
        .outline_m
        .iter()
        .map(|p| Vec2::from(*p))
        .fold((Vec2::MAX, Vec2::MIN), |(low, high), p| {
            (low.min(p), high.max(p))
        })
}

fn ceiling_m(space: &Space) -> f32 {
    match space.ceiling {
        Ceiling::Flat { height_m } | Ceiling::Open { height_m } => height_m,
        Ceiling::Sloped { low, .. } => low.2,
    }
}

/// Plan points of a space, from its middle outward.
fn places(space: &Space) -> Vec<Vec2> {
    let (low, high) = bounds(space);
    let middle = (low + high) * 0.5;
    let mut list: Vec<Vec2> = (0..17 * 17)
        .map(|k| {
            let share = Vec2::new((k % 17) as f32 + 0.5, (k / 17) as f32 + 0.5) / 17.0;
            low + (high - low) * share
        })
        .filter(|p| contains(space, (p.x, p.y)))
        .collect();
    list.push(middle);
    list.sort_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle)));
    list
}

fn rectangle(middle: Vec2, size: Vec2) -> Vec<PlanPoint> {
    let h = size * 0.5;
    [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        .map(|(x, y)| (middle.x + x * h.x, middle.y + y * h.y))
        .to_vec()
}

/// The first of some rooms that has no more problems than the room of before.
fn first_sound(before: &RoomFile, mut tries: impl Iterator<Item = RoomFile>) -> Option<RoomFile> {
    const MOST_TRIES: usize = 400;
    let allowed = problem_count(before);
    tries
        .by_ref()
        .take(MOST_TRIES)
        .find(|room| problem_count(room) <= allowed)
}

/// A room with one thing more, and the thing.
///
/// # Errors
/// No place for it, in words.
pub fn add(room: &RoomFile, what: Addable) -> Result<(RoomFile, Thing), String> {
    let space = home(room).ok_or("there is no space to put it in")?;
    let mut next = room.clone();
    let thing = match what {
        Addable::Fixture => {
            let kind = match next.fixture_types.keys().next() {
                Some(kind) => kind.clone(),
                None => {
                    next.fixture_types.insert("spot".into(), spot());
                    "spot".into()
                }
            };
            let (at, facing) = front(room);
            let height_m = ceiling_m(space) - 0.3;
            let away = [1.5, 1.0, 0.6, 2.5]
                .into_iter()
                .map(|d| at + facing * d)
                .chain(places(space))
                .find(|p| contains(space, (p.x, p.y)))
                .ok_or("there is no room before the piece")?;
            next.fixtures.push(FixtureFile {
                name: free_name("F1", &|n| room.fixtures.iter().any(|f| f.name == n)),
                kind,
                at_m: (cm(away.x), cm(away.y), cm(height_m)),
                aim: Aim::Piece {
                    right_m: 0.0,
                    up_m: 0.0,
                },
                roll_deg: 0.0,
                dimming: 1.0,
                lit: None,
            });
            Thing::Fixture(next.fixtures.len() - 1)
        }
        Addable::FixtureType => {
            let name = free_name("spot", &|n| room.fixture_types.contains_key(n));
            next.fixture_types.insert(name.clone(), spot());
            Thing::FixtureType(name)
        }
        Addable::Window => return add_opening(room, space, "window", (1.2, 0.9, 1.4)),
        Addable::Door => return add_opening(room, space, "door", (1.0, 0.0, 2.1)),
        Addable::Rooflight => {
            if matches!(space.ceiling, Ceiling::Open { .. }) {
                return Err(format!("{:?} has no ceiling", space.name));
            }
            let name = free_name("rooflight", &|n| {
                room.rooflights.iter().any(|r| r.name == n)
            });
            let glazing = glazing_of(&mut next);
            let tries = places(space).into_iter().map(|middle| {
                let mut next = next.clone();
                next.rooflights.push(Rooflight {
                    name: name.clone(),
                    space: space.name.clone(),
                    outline_m: rectangle(middle, Vec2::splat(1.0)),
                    shaft_m: 0.3,
                    shaft_finish: None,
                    filling: window(glazing.clone()),
                });
                next
            });
            next = first_sound(room, tries)
                .ok_or("no place in the ceiling is free for a rooflight of 1 m by 1 m")?;
            Thing::Rooflight(next.rooflights.len() - 1)
        }
        Addable::Walk => {
            let name = free_name("a new walk", &|n| room.walks.iter().any(|w| w.name == n));
            let (at, facing) = front(room);
            let side = Vec2::new(facing.y, -facing.x);
            let tries = [(3.0, 2.0), (2.0, 1.5), (4.0, 2.0), (1.2, 0.8), (0.8, 0.5)]
                .into_iter()
                .map(|(away, half)| {
                    let ends = [
                        at + facing * away - side * half,
                        at + facing * away + side * half,
                    ];
                    ends.map(|p| (cm(p.x), cm(p.y)))
                })
                .filter(|ends| ends.iter().all(|p| contains(space, *p)))
                .map(|ends| {
                    let mut next = next.clone();
                    next.walks.push(Walk {
                        name: name.clone(),
                        points_m: ends.to_vec(),
                        floor_m: space.floor_m,
                        floors_m: Vec::new(),
                        eye_m: 1.55,
                        speed_m_s: 0.8,
                        step_m: 0.5,
                        look: Look::Piece,
                        open: None,
                        share: 1.0,
                        age_years: 60.0,
                        marks: Vec::new(),
                        stairs: false,
                    });
                    next
                });
            next =
                first_sound(room, tries).ok_or("there is no room for a walk before the piece")?;
            Thing::Walk(next.walks.len() - 1)
        }
        Addable::Solid => {
            let name = free_name("a new solid", &|n| room.solids.iter().any(|s| s.name == n));
            let tries = places(space).into_iter().map(|middle| {
                let mut next = next.clone();
                next.solids.push(Solid {
                    name: name.clone(),
                    outline_m: rectangle(middle, Vec2::new(1.0, 0.5)),
                    from_m: space.floor_m,
                    to_m: space.floor_m + 0.9,
                    finish: space.walls.clone(),
                    outside: false,
                });
                next
            });
            next = first_sound(room, tries).ok_or("there is no free floor for a solid")?;
            Thing::Solid(next.solids.len() - 1)
        }
        Addable::Space => {
            let name = free_name("a new space", &|n| room.spaces.iter().any(|s| s.name == n));
            let east = room
                .spaces
                .iter()
                .map(|s| bounds(s).1.x)
                .fold(f32::MIN, f32::max);
            let middle = Vec2::new(east + 3.3, (bounds(space).0.y + bounds(space).1.y) * 0.5);
            next.spaces.push(Space {
                name,
                outline_m: rectangle(middle, Vec2::new(6.0, 4.0)),
                floor_m: space.floor_m,
                ceiling: Ceiling::Flat {
                    height_m: space.floor_m + 3.0,
                },
                walls: space.walls.clone(),
                wall_finishes: Default::default(),
                floor: space.floor.clone(),
                ceiling_finish: space.ceiling_finish.clone(),
            });
            Thing::Space(next.spaces.len() - 1)
        }
        Addable::Finish => {
            let name = free_name("a new finish", &|n| room.finishes.contains_key(n));
            next.finishes.insert(
                name.clone(),
                Finish {
                    reflectance: 0.5,
                    hue_rgb: (1.0, 1.0, 1.0),
                },
            );
            Thing::Finish(name)
        }
        Addable::Glazing => {
            let name = free_name("a new glazing", &|n| room.glazings.contains_key(n));
            next.glazings.insert(name.clone(), clear_double());
            Thing::Glazing(name)
        }
        Addable::Place => {
            let taken = |n: &str| room.candidates.iter().any(|c| c.name == n);
            let wanted = if room.placement.name.is_empty() {
                "a place"
            } else {
                &room.placement.name
            };
            next.candidates.push(Placement {
                name: free_name(wanted, &taken),
                ..room.placement.clone()
            });
            Thing::Candidate(next.candidates.len() - 1)
        }
    };
    Ok((next, thing))
}

/// A room with a kind of fixture whose light is read from a photometric file, and the kind.
///
/// # Errors
/// A file without a name, in words.
pub fn add_kind_from_file(room: &RoomFile, file: &str) -> Result<(RoomFile, Thing), String> {
    let stem = std::path::Path::new(file)
        .file_stem()
        .ok_or("the file has no name")?
        .to_string_lossy()
        .into_owned();
    let name = free_name(&stem, &|n| room.fixture_types.contains_key(n));
    let mut next = room.clone();
    next.fixture_types.insert(
        name.clone(),
        FixtureType {
            light: FixtureLight::File(file.to_owned()),
            aperture: None,
            ..spot()
        },
    );
    Ok((next, Thing::FixtureType(name)))
}

/// Whole centimetres.
fn cm(metres: f32) -> f32 {
    snap(metres, 0.01)
}

/// An ordinary accent spot (invented: a rounded middle of makers' lists, from memory).
fn spot() -> FixtureType {
    FixtureType {
        light: FixtureLight::Beam {
            beam_deg: 24.0,
            field_deg: None,
            flux_lm: Some(1500.0),
            centre_cd: None,
        },
        aperture: Some(ApertureFile::Disc { diameter_mm: 70.0 }),
        cct_k: 3000.0,
        watts: None,
        price: None,
        maintenance_factor: 0.8,
    }
}

/// Double clear glass (common practice: about 0.78, from memory).
fn clear_double() -> GlazingFile {
    GlazingFile {
        transmittance: 0.78,
        pane_count: 2,
        by_angle: Vec::new(),
        diffusing: 0.0,
    }
}

/// The first glazing of the room; a new one where there is none.
fn glazing_of(room: &mut RoomFile) -> String {
    match room.glazings.keys().next() {
        Some(name) => name.clone(),
        None => {
            room.glazings.insert("double clear".into(), clear_double());
            "double clear".into()
        }
    }
}

fn window(glazing: String) -> WindowFilling {
    WindowFilling {
        glazing,
        frame_share: 0.1,
        dirt: 0.9,
        blind: None,
    }
}

/// An opening of a width, sill and height on the first free stretch of wall, walls without the piece first.
fn add_opening(
    room: &RoomFile,
    space: &Space,
    stem: &str,
    (width_m, sill_m, height_m): (f32, f32, f32),
) -> Result<(RoomFile, Thing), String> {
    let mut base = room.clone();
    let filling = if stem == "door" {
        Filling::Door {
            finish: space.walls.clone(),
        }
    } else {
        Filling::Window(window(glazing_of(&mut base)))
    };
    let name = free_name(&format!("a new {stem}"), &|n| {
        room.openings.iter().any(|o| o.name == n)
    });
    let with_piece = match &room.placement.on {
        Support::Wall { space: s, wall, .. } if *s == space.name => Some(*wall),
        _ => None,
    };
    let mut walls: Vec<usize> = (0..space.outline_m.len()).collect();
    walls.sort_by_key(|w| Some(*w) == with_piece);
    let tries = walls.iter().flat_map(|&index| {
        let length_m = wall(space, index).length_m;
        let middle = 0.5 * (length_m - width_m);
        // From the wall's middle outward to both sides.
        let steps = (middle.max(0.0) / 0.5) as i32;
        (0..=2 * steps).map(move |k| {
            let off = (k + 1) / 2 * if k % 2 == 0 { 1 } else { -1 };
            (index, cm(middle + off as f32 * 0.5))
        })
    });
    let tries = tries.map(|(index, offset_m)| {
        let mut next = base.clone();
        next.openings.push(Opening {
            name: name.clone(),
            space: space.name.clone(),
            wall: index,
            offset_m,
            width_m,
            sill_m,
            height_m,
            reveal_m: if stem == "door" { 0.0 } else { 0.15 },
            filling: filling.clone(),
        });
        next
    });
    let next = first_sound(room, tries).ok_or(format!(
        "no wall of {:?} has {width_m} m free for a {stem}",
        space.name
    ))?;
    let index = next.openings.len() - 1;
    Ok((next, Thing::Opening(index)))
}

/// A room with a second thing like one that is there, a little beside it, and the new thing.
///
/// # Errors
/// The thing cannot be doubled or there is no place beside it, in words.
pub fn duplicate(room: &RoomFile, thing: &Thing) -> Result<(RoomFile, Thing), String> {
    super::is_there(room, thing)?;
    let mut next = room.clone();
    let name = name_of(room, thing).unwrap_or_default();
    match thing {
        Thing::Fixture(i) => {
            let mut copy = room.fixtures[*i].clone();
            copy.name = free_name(&name, &|n| room.fixtures.iter().any(|f| f.name == n));
            copy.at_m.0 += 0.3;
            next.fixtures.push(copy);
            Ok((next, Thing::Fixture(room.fixtures.len())))
        }
        Thing::FixtureType(kind) => {
            let free = free_name(kind, &|n| room.fixture_types.contains_key(n));
            let copy = room.fixture_types.get(kind).cloned().ok_or("it is gone")?;
            next.fixture_types.insert(free.clone(), copy);
            Ok((next, Thing::FixtureType(free)))
        }
        Thing::Walk(i) => {
            let mut copy = room.walks[*i].clone();
            copy.name = free_name(&name, &|n| room.walks.iter().any(|w| w.name == n));
            next.walks.push(copy);
            Ok((next, Thing::Walk(room.walks.len())))
        }
        Thing::Solid(i) => {
            let free = free_name(&name, &|n| room.solids.iter().any(|s| s.name == n));
            let copy = &room.solids[*i];
            let tries = shifts().into_iter().map(|(dx, dy)| {
                let mut next = next.clone();
                let mut copy = copy.clone();
                copy.name = free.clone();
                for p in &mut copy.outline_m {
                    *p = (p.0 + dx, p.1 + dy);
                }
                next.solids.push(copy);
                next
            });
            let next = first_sound(room, tries).ok_or("there is no room beside it")?;
            Ok((next, Thing::Solid(room.solids.len())))
        }
        Thing::Opening(i) => {
            let free = free_name(&name, &|n| room.openings.iter().any(|o| o.name == n));
            let copy = &room.openings[*i];
            let tries = (1..40).flat_map(|k| {
                let step = copy.width_m + 0.1 * k as f32;
                [step, -step].map(|by| {
                    let mut next = next.clone();
                    let mut copy = copy.clone();
                    copy.name = free.clone();
                    copy.offset_m = cm(copy.offset_m + by);
                    next.openings.push(copy);
                    next
                })
            });
            let next = first_sound(room, tries).ok_or("its wall has no room for a second one")?;
            Ok((next, Thing::Opening(room.openings.len())))
        }
        Thing::Rooflight(i) => {
            let free = free_name(&name, &|n| room.rooflights.iter().any(|r| r.name == n));
            let copy = &room.rooflights[*i];
            let tries = shifts().into_iter().map(|(dx, dy)| {
                let mut next = next.clone();
                let mut copy = copy.clone();
                copy.name = free.clone();
                for p in &mut copy.outline_m {
                    *p = (p.0 + dx, p.1 + dy);
                }
                next.rooflights.push(copy);
                next
            });
            let next = first_sound(room, tries).ok_or("the ceiling has no room beside it")?;
            Ok((next, Thing::Rooflight(room.rooflights.len())))
        }
        Thing::Finish(finish) => {
            let free = free_name(finish, &|n| room.finishes.contains_key(n));
            let copy = room.finishes.get(finish).cloned().ok_or("it is gone")?;
            next.finishes.insert(free.clone(), copy);
            Ok((next, Thing::Finish(free)))
        }
        Thing::Glazing(glazing) => {
            let free = free_name(glazing, &|n| room.glazings.contains_key(n));
            let copy = room.glazings.get(glazing).cloned().ok_or("it is gone")?;
            next.glazings.insert(free.clone(), copy);
            Ok((next, Thing::Glazing(free)))
        }
        Thing::Candidate(i) => {
            let mut copy = room.candidates[*i].clone();
            copy.name = free_name(&name, &|n| room.candidates.iter().any(|c| c.name == n));
            next.candidates.push(copy);
            Ok((next, Thing::Candidate(room.candidates.len())))
        }
        Thing::Space(i) => {
            let free = free_name(&name, &|n| room.spaces.iter().any(|s| s.name == n));
            let (low, high) = bounds(&room.spaces[*i]);
            let east = room
                .spaces
                .iter()
                .map(|s| bounds(s).1.x)
                .fold(high.x, f32::max);
            let mut copy = room.spaces[*i].clone();
            copy.name = free;
            for p in &mut copy.outline_m {
                p.0 += east - low.x + 0.3;
            }
            next.spaces.push(copy);
            Ok((next, Thing::Space(room.spaces.len())))
        }
        Thing::Piece | Thing::Site | Thing::Limits => Err("there is one only".into()),
    }
}

/// Steps aside, near ones first [m].
fn shifts() -> Vec<(f32, f32)> {
    (1..30)
        .flat_map(|k| {
            let d = 0.3 * k as f32;
            [(d, 0.0), (0.0, d), (-d, 0.0), (0.0, -d)]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        app::edits::{delete, rename},
        room::{NoFiles, build, parse_room},
    };

    fn demos() -> [RoomFile; 3] {
        [
            include_str!("../../../rooms/ferry-hall.ron"),
            include_str!("../../../rooms/tunnel-walk.ron"),
            include_str!("../../../rooms/stair-court.ron"),
        ]
        .map(|text| parse_room(text, "demo").unwrap())
    }

    #[test]
    fn whatever_is_added_to_a_demo_leaves_it_sound_and_is_the_thing_that_is_named() {
        for room in demos() {
            for what in Addable::ALL {
                let (next, thing) = match add(&room, what) {
                    Ok(done) => done,
                    Err(why) => {
                        assert_eq!(what, Addable::Rooflight, "{}: {why}", room.name);
                        continue;
                    }
                };
                assert!(problem_count(&next) == 0, "{}: {what:?}", room.name);
                build(next.clone(), &mut NoFiles).unwrap();
                let name = name_of(&next, &thing).unwrap();
                assert_ne!(name_of(&room, &thing), Some(name), "{what:?} is new");
                // And it goes again, with nothing left but a glazing that there was none of.
                let mut back = delete(&next, &thing).unwrap();
                if room.glazings.is_empty() {
                    back.glazings.clear();
                }
                assert!(back == room, "{}: {what:?} left something", room.name);
            }
        }
    }

    #[test]
    fn second_ones_are_sound_and_named_apart() {
        let [room, ..] = demos();
        let things = [
            Thing::Fixture(0),
            Thing::FixtureType("pendant".into()),
            Thing::Walk(0),
            Thing::Solid(1),
            Thing::Opening(3),
            Thing::Finish("oak floor".into()),
            Thing::Glazing("triple".into()),
            Thing::Candidate(0),
            Thing::Space(0),
        ];
        for thing in things {
            let (next, copy) =
                duplicate(&room, &thing).unwrap_or_else(|e| panic!("{thing:?}: {e}"));
            assert!(problem_count(&next) == 0, "{thing:?}");
            assert_ne!(name_of(&next, &copy), name_of(&room, &thing));
        }
        assert!(duplicate(&room, &Thing::Piece).is_err());
    }

    #[test]
    fn a_new_name_goes_everywhere() {
        let [room, ..] = demos();
        for (thing, name) in [
            (Thing::Finish("lime plaster".into()), "chalk"),
            (Thing::Glazing("double clear".into()), "new glass"),
            (Thing::FixtureType("pendant".into()), "globe"),
            (Thing::Space(0), "the great hall"),
        ] {
            let (next, thing) = rename(&room, &thing, name).unwrap();
            assert!(problem_count(&next) == 0, "{thing:?}");
            assert_eq!(name_of(&next, &thing).as_deref(), Some(name));
        }
        let taken = rename(&room, &Thing::Finish("oak floor".into()), "dark oak");
        assert!(taken.is_err(), "{taken:?}");
        assert!(rename(&room, &Thing::Fixture(0), " ").is_err());
    }

    #[test]
    fn what_is_used_is_not_deleted_and_the_users_are_named() {
        let [room, ..] = demos();
        let why = delete(&room, &Thing::Finish("dark oak".into())).unwrap_err();
        assert!(why.contains("the desk"), "{why}");
        let why = delete(&room, &Thing::FixtureType("pendant".into())).unwrap_err();
        assert!(why.contains("P1"), "{why}");
        let why = delete(&room, &Thing::Glazing("triple".into())).unwrap_err();
        assert!(why.contains("high south window"), "{why}");
        assert!(delete(&room, &Thing::Space(0)).is_err());
        assert!(delete(&room, &Thing::Piece).is_err());
        let mut one = room.clone();
        one.walks.truncate(1);
        assert!(delete(&one, &Thing::Walk(0)).is_err());
    }
}
