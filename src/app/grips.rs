//! Places of things that can be dragged in the picture and in the plan, and what dragging them does.

use bevy::math::{Vec2, Vec3};

use super::{
    edits::{STEP_M, hang_on, in_line, move_opening},
    pick::{FoundOn, find},
    state::Thing,
    typed::snap,
    view::Sight,
};
use crate::{
    geometry::polygon_contains,
    room::{Aim, BuiltRoom, Filling, PlanPoint, RoomFile, Space, Support, ceiling_m, wall},
    transport::Tracer,
};

/// Something to take hold of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Grip {
    /// The piece: from wall to wall, along and up.
    Piece,
    /// A fixture (index), level.
    Fixture(usize),
    /// Where a fixture (index) aims.
    Aim(usize),
    /// A corner of a walk (walk, corner).
    WalkPoint(usize, usize),
    /// An opening (index) in its wall.
    Opening(usize),
    /// A solid (index) as a whole.
    Solid(usize),
    /// A corner of a solid (solid, corner).
    SolidCorner(usize, usize),
    /// A corner of a space (space, corner).
    SpaceCorner(usize, usize),
    /// A rooflight (index) as a whole.
    Rooflight(usize),
    /// A corner of a rooflight (rooflight, corner).
    RooflightCorner(usize, usize),
}

impl Grip {
    /// What dragging it is called, for undoing.
    pub fn what(self) -> &'static str {
        match self {
            Self::Piece => "move the piece",
            Self::Fixture(_) => "move a fixture",
            Self::Aim(_) => "aim a fixture",
            Self::WalkPoint(..) => "move a corner of a walk",
            Self::Opening(_) => "move an opening",
            Self::Solid(_) => "move a solid",
            Self::SolidCorner(..) => "move a corner of a solid",
            Self::SpaceCorner(..) => "move a corner of a space",
            Self::Rooflight(_) => "move a rooflight",
            Self::RooflightCorner(..) => "move a corner of a rooflight",
        }
    }

    /// The thing that it belongs to.
    pub fn thing(self) -> Thing {
        match self {
            Self::Piece => Thing::Piece,
            Self::Fixture(i) | Self::Aim(i) => Thing::Fixture(i),
            Self::WalkPoint(i, _) => Thing::Walk(i),
            Self::Opening(i) => Thing::Opening(i),
            Self::Solid(i) | Self::SolidCorner(i, _) => Thing::Solid(i),
            Self::SpaceCorner(i, _) => Thing::Space(i),
            Self::Rooflight(i) | Self::RooflightCorner(i, _) => Thing::Rooflight(i),
        }
    }
}

fn world(plan: PlanPoint, height_m: f32) -> Vec3 {
    crate::room::world(plan.0, plan.1, height_m)
}

fn plan(world: Vec3) -> PlanPoint {
    (world.x, -world.z)
}

fn middle(outline: &[PlanPoint]) -> PlanPoint {
    let sum: Vec2 = outline.iter().map(|p| Vec2::from(*p)).sum();
    (sum / outline.len().max(1) as f32).into()
}

/// Height of a space's ceiling over the middle of an outline.
fn over(space: &Space, outline: &[PlanPoint]) -> f32 {
    ceiling_m(&space.ceiling, middle(outline).into())
}

/// Grips of the chosen thing, and in the plan those of all fixtures, with their places [m, world].
pub fn grips(
    room: &RoomFile,
    built: &BuiltRoom,
    chosen: Option<&Thing>,
    from_above: bool,
) -> Vec<(Grip, Vec3)> {
    let mut list = Vec::new();
    match chosen {
        None | Some(Thing::Piece) => {
            list.push((Grip::Piece, built.piece.centre + built.piece.normal * 0.05))
        }
        Some(Thing::Fixture(i)) => {
            if let Some(fixture) = room.fixtures.get(*i) {
                let (x, y, h) = fixture.at_m;
                list.push((
                    Grip::Aim(*i),
                    aimed_at(built, fixture.aim.clone(), fixture.at_m),
                ));
                list.push((Grip::Fixture(*i), world((x, y), h)));
            }
        }
        Some(Thing::Walk(i)) => {
            if let Some(walk) = room.walks.get(*i) {
                for (k, p) in walk.points_m.iter().enumerate() {
                    let floor_m = walk.floors_m.get(k).copied().unwrap_or(walk.floor_m);
                    list.push((Grip::WalkPoint(*i, k), world(*p, floor_m)));
                }
            }
        }
        Some(Thing::Opening(i)) => {
            if let Some(opening) = room.openings.get(*i)
                && let Some(space) = room.spaces.iter().find(|s| s.name == opening.space)
                && opening.wall < space.outline_m.len()
            {
                let line = wall(space, opening.wall);
                let at = line.at(opening.offset_m + 0.5 * opening.width_m, 0.0);
                let height_m = line.floor_m + opening.sill_m + 0.5 * opening.height_m;
                list.push((Grip::Opening(*i), world(at.into(), height_m)));
            }
        }
        Some(Thing::Solid(i)) => {
            if let Some(solid) = room.solids.get(*i) {
                for (k, p) in solid.outline_m.iter().enumerate() {
                    list.push((Grip::SolidCorner(*i, k), world(*p, solid.to_m)));
                }
                list.push((Grip::Solid(*i), world(middle(&solid.outline_m), solid.to_m)));
            }
        }
        Some(Thing::Space(i)) => {
            if let Some(space) = room.spaces.get(*i) {
                for (k, p) in space.outline_m.iter().enumerate() {
                    list.push((Grip::SpaceCorner(*i, k), world(*p, space.floor_m)));
                }
            }
        }
        Some(Thing::Rooflight(i)) => {
            if let Some(light) = room.rooflights.get(*i) {
                let space = room.spaces.iter().find(|s| s.name == light.space);
                let height_m = space.map_or(3.0, |s| over(s, &light.outline_m));
                for (k, p) in light.outline_m.iter().enumerate() {
                    list.push((Grip::RooflightCorner(*i, k), world(*p, height_m)));
                }
                list.push((
                    Grip::Rooflight(*i),
                    world(middle(&light.outline_m), height_m),
                ));
            }
        }
        _ => {}
    }
    if from_above {
        for (i, fixture) in room.fixtures.iter().enumerate() {
            if chosen != Some(&Thing::Fixture(i)) {
                let (x, y, h) = fixture.at_m;
                list.push((Grip::Fixture(i), world((x, y), h)));
            }
        }
    }
    list
}

/// The point that a fixture aims at [m, world]; for up and down a metre away.
pub fn aimed_at(built: &BuiltRoom, aim: Aim, at_m: (f32, f32, f32)) -> Vec3 {
    let from = world((at_m.0, at_m.1), at_m.2);
    match aim {
        Aim::Down => from - Vec3::Y,
        Aim::Up => from + Vec3::Y,
        Aim::At(x, y, h) => world((x, y), h),
        Aim::Piece { right_m, up_m } => built.place.frame.point(right_m, up_m),
    }
}

/// A hand that drags.
pub struct Pull<'a> {
    /// The room as it is.
    pub room: &'a RoomFile,
    /// The room in the picture.
    pub built: &'a BuiltRoom,
    /// Its rays, where its light is there.
    pub tracer: Option<Tracer<'a>>,
    /// What the pointer looks along.
    pub sight: Sight,
    /// Whether one looks from above.
    pub from_above: bool,
    /// Whether nothing snaps.
    pub free: bool,
}

impl Pull<'_> {
    fn step(&self, metres: f32) -> f32 {
        if self.free {
            metres
        } else {
            snap(metres, STEP_M)
        }
    }

    /// The plan point under the pointer at a height.
    fn level(&self, height_m: f32) -> Option<PlanPoint> {
        let point = self.sight.on_plane(Vec3::Y * height_m, Vec3::Y)?;
        // Near the horizon a hair of the pointer is a kilometre.
        let near = point.distance(self.built.piece.centre) < 200.0;
        near.then(|| plan(point))
    }

    /// The room with the grip dragged to the pointer; `None` where the pointer is nowhere.
    pub fn drag(&self, grip: Grip) -> Option<RoomFile> {
        let mut room = self.room.clone();
        match grip {
            Grip::Piece => self.drag_piece(&mut room)?,
            Grip::Fixture(i) => {
                let at = room.fixtures.get(i)?.at_m;
                let to = self.level(at.2)?;
                let others = |axis: fn(&(f32, f32, f32)) -> f32| {
                    let list = self.room.fixtures.iter().enumerate();
                    list.filter(move |(k, _)| *k != i)
                        .map(move |(_, f)| axis(&f.at_m))
                };
                room.fixtures[i].at_m = (
                    in_line(to.0, others(|p| p.0), self.free),
                    in_line(to.1, others(|p| p.1), self.free),
                    at.2,
                );
            }
            Grip::Aim(i) => {
                let aim = self.aim(room.fixtures.get(i)?.aim.clone())?;
                room.fixtures[i].aim = aim;
            }
            Grip::WalkPoint(i, k) => {
                let walk = room.walks.get_mut(i)?;
                let floor_m = walk.floors_m.get(k).copied().unwrap_or(walk.floor_m);
                let to = self.level(floor_m)?;
                *walk.points_m.get_mut(k)? = (self.step(to.0), self.step(to.1));
            }
            Grip::Opening(i) => self.drag_opening(&mut room, i)?,
            Grip::Solid(i) => {
                let solid = room.solids.get_mut(i)?;
                let to = self.level(solid.to_m)?;
                self.shift(&mut solid.outline_m, to);
            }
            Grip::SolidCorner(i, k) => {
                let solid = room.solids.get_mut(i)?;
                let to = self.level(solid.to_m)?;
                *solid.outline_m.get_mut(k)? = (self.step(to.0), self.step(to.1));
            }
            Grip::SpaceCorner(i, k) => {
                let space = room.spaces.get_mut(i)?;
                let to = self.level(space.floor_m)?;
                let others = |axis: fn(&PlanPoint) -> f32| {
                    let list = self.room.spaces[i].outline_m.iter().enumerate();
                    list.filter(move |(j, _)| *j != k)
                        .map(move |(_, p)| axis(p))
                };
                *space.outline_m.get_mut(k)? = (
                    in_line(to.0, others(|p| p.0), self.free),
                    in_line(to.1, others(|p| p.1), self.free),
                );
            }
            Grip::Rooflight(i) | Grip::RooflightCorner(i, _) => {
                let light = room.rooflights.get_mut(i)?;
                let space = self.room.spaces.iter().find(|s| s.name == light.space)?;
                let to = self.level(over(space, &light.outline_m))?;
                match grip {
                    Grip::RooflightCorner(_, k) => {
                        *light.outline_m.get_mut(k)? = (self.step(to.0), self.step(to.1));
                    }
                    _ => self.shift(&mut light.outline_m, to),
                }
            }
        }
        Some(room)
    }

    fn shift(&self, outline: &mut [PlanPoint], to: PlanPoint) {
        let from = middle(outline);
        let by = (self.step(to.0 - from.0), self.step(to.1 - from.1));
        for p in outline {
            *p = (p.0 + by.0, p.1 + by.1);
        }
    }

    fn drag_piece(&self, room: &mut RoomFile) -> Option<()> {
        if let Support::Stand { at_m, .. } = &mut room.placement.on {
            let outline = |s: &Space| {
                s.outline_m
                    .iter()
                    .map(|p| Vec2::from(*p))
                    .collect::<Vec<_>>()
            };
            let home = self
                .room
                .spaces
                .iter()
                .find(|s| polygon_contains(&outline(s), Vec2::from(*at_m)));
            let to = self.level(home.map_or(0.0, |s| s.floor_m))?;
            *at_m = (self.step(to.0), self.step(to.1));
            return Some(());
        }
        let (space, index, along_m, height_m) = if self.from_above {
            let floor_m = self.built.piece.centre.y;
            let to = Vec2::from(self.level(floor_m)?);
            let (space, index, along_m) = self.nearest_wall(to)?;
            (space, index, along_m, None)
        } else {
            let (space, index, along_m, height_m) = self.wall_under_pointer()?;
            (space, index, along_m, Some(height_m))
        };
        hang_on(
            room,
            self.built,
            (&space, index),
            (along_m, height_m),
            self.free,
        );
        Some(())
    }

    /// The wall that is nearest to a plan point, and the distance along it.
    fn nearest_wall(&self, to: Vec2) -> Option<(String, usize, f32)> {
        let walls = self
            .room
            .spaces
            .iter()
            .flat_map(|s| (0..s.outline_m.len()).map(move |w| (s, w)));
        let found = walls
            .map(|(space, index)| {
                let line = wall(space, index);
                let along = (line.to - line.from).normalize_or(Vec2::X);
                let along_m = (to - line.from).dot(along).clamp(0.0, line.length_m);
                (space, index, along_m, line.at(along_m, 0.0).distance(to))
            })
            .min_by(|a, b| a.3.total_cmp(&b.3))?;
        Some((found.0.name.clone(), found.1, found.2))
    }

    /// The nearest wall whose face the pointer is on: its space, index, distance along it and height.
    fn wall_under_pointer(&self) -> Option<(String, usize, f32, f32)> {
        let walls = self
            .room
            .spaces
            .iter()
            .flat_map(|s| (0..s.outline_m.len()).map(move |w| (s, w)));
        let found = walls
            .filter_map(|(space, index)| {
                let line = wall(space, index);
                let normal = line.normal();
                if self.sight.dir.dot(normal) >= 0.0 {
                    return None;
                }
                let point = self
                    .sight
                    .on_plane(world(line.from.into(), line.floor_m), normal)?;
                let along = (line.to - line.from).normalize_or(Vec2::X);
                let along_m = (Vec2::from(plan(point)) - line.from).dot(along);
                let share = (along_m / line.length_m).clamp(0.0, 1.0);
                let top_m = line.top_m.0 + (line.top_m.1 - line.top_m.0) * share;
                let on = (0.0..=line.length_m).contains(&along_m)
                    && (line.floor_m..=top_m).contains(&point.y);
                let height_m = point.y - line.floor_m;
                on.then(|| {
                    (
                        space,
                        index,
                        along_m,
                        height_m,
                        point.distance(self.sight.origin),
                    )
                })
            })
            .min_by(|a, b| a.4.total_cmp(&b.4))?;
        Some((found.0.name.clone(), found.1, found.2, found.3))
    }

    fn drag_opening(&self, room: &mut RoomFile, i: usize) -> Option<()> {
        let opening = room.openings.get_mut(i)?;
        let space = self.room.spaces.iter().find(|s| s.name == opening.space)?;
        if opening.wall >= space.outline_m.len() {
            return None;
        }
        let line = wall(space, opening.wall);
        let along = (line.to - line.from).normalize_or(Vec2::X);
        let to = if self.from_above {
            let to = Vec2::from(self.level(line.floor_m)?);
            ((to - line.from).dot(along), None)
        } else {
            let at = self
                .sight
                .on_plane(world(line.from.into(), line.floor_m), line.normal())?;
            // A door stays on the floor.
            let height_m = match opening.filling {
                Filling::Door { .. } => None,
                _ => Some(at.y - line.floor_m),
            };
            ((Vec2::from(plan(at)) - line.from).dot(along), height_m)
        };
        let top_m = line.top_m.0.min(line.top_m.1) - line.floor_m;
        move_opening(opening, line.length_m, top_m, to, self.free);
        Some(())
    }

    /// The aim at what is under the pointer.
    pub fn aim(&self, before: Aim) -> Option<Aim> {
        if self.from_above {
            // From above the piece is a line: near it one aims along it, elsewhere at the height of before.
            let height_m = match before {
                Aim::At(_, _, h) => h,
                _ => self.built.piece.centre.y,
            };
            let to = self.level(height_m)?;
            let d = world(to, self.built.piece.centre.y) - self.built.piece.centre;
            let frame = &self.built.place.frame;
            let (right_m, off_m) = (d.dot(frame.x_dir), d.dot(frame.z_dir));
            let (low, high) = self.built.tiling.bounds();
            if off_m.abs() < 0.5 && right_m.abs() < (high - low).length() * 0.5 {
                let up_m = match before {
                    Aim::Piece { up_m, .. } => up_m,
                    _ => 0.0,
                };
                return Some(Aim::Piece {
                    right_m: self.step(right_m),
                    up_m,
                });
            }
            return Some(Aim::At(self.step(to.0), self.step(to.1), height_m));
        }
        let found = find(self.tracer.as_ref()?, self.built, self.sight, false)?;
        Some(match found.on {
            FoundOn::Tile(_) => {
                let d = found.point - self.built.place.frame.origin;
                let frame = &self.built.place.frame;
                Aim::Piece {
                    right_m: self.step(d.dot(frame.x_dir)),
                    up_m: self.step(d.dot(frame.y_dir)),
                }
            }
            FoundOn::Surface(_) | FoundOn::Pane(_) => {
                let (x, y) = plan(found.point);
                Aim::At(self.step(x), self.step(y), self.step(found.point.y))
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        room::{NoFiles, build, parse_room},
        transport::{Progress, RoomLight, RoomLightSettings},
    };

    struct Setting {
        room: RoomFile,
        built: BuiltRoom,
        light: RoomLight,
    }

    fn hall() -> Setting {
        let room = parse_room(include_str!("../../rooms/ferry-hall.ron"), "hall").unwrap();
        let built = build(room.clone(), &mut NoFiles).unwrap();
        let settings = RoomLightSettings {
            patch_m: 3.0,
            hemisphere_count: 4,
            pane_count: 2,
            ..RoomLightSettings::default()
        };
        let light =
            RoomLight::prepare(built.scene.clone(), settings, &Progress::default()).unwrap();
        Setting { room, built, light }
    }

    impl Setting {
        fn pull(&self, from: Vec3, to: Vec3, from_above: bool) -> Pull<'_> {
            Pull {
                room: &self.room,
                built: &self.built,
                tracer: Some(self.light.tracer()),
                sight: Sight {
                    origin: from,
                    dir: (to - from).normalize(),
                },
                from_above,
                free: false,
            }
        }
    }

    const EYE: Vec3 = Vec3::new(9.0, 1.6, -4.0);

    #[test]
    fn the_piece_goes_from_wall_to_wall_and_snaps_to_heights_and_middles() {
        let s = hall();
        // The west wall is at x = 0; plan y 7 is 4 m from its first corner (0, 11).
        let room = s
            .pull(EYE, Vec3::new(0.0, 1.56, -7.02), false)
            .drag(Grip::Piece)
            .unwrap();
        let Support::Wall { wall, along_m, .. } = room.placement.on else {
            panic!()
        };
        assert_eq!(wall, 3);
        assert!((along_m - 4.0).abs() < 1e-4, "{along_m}");
        assert!(
            (room.placement.centre_m - 1.6).abs() < 1e-4,
            "the eye of the first walk"
        );
        assert_eq!(room.placement.name, "hall, west wall");
        // Into the corner: it stays on the wall. It is 3.6 m wide.
        let room = s
            .pull(EYE, Vec3::new(0.0, 0.3, -0.2), false)
            .drag(Grip::Piece)
            .unwrap();
        let Support::Wall { along_m, .. } = room.placement.on else {
            panic!()
        };
        assert!((along_m - 9.2).abs() < 1e-3, "{along_m}");
        assert!((room.placement.centre_m - 1.2).abs() < 1e-3);
        // From above, near the middle of the south wall.
        let above = Vec3::new(9.05, 100.0, -0.6);
        let room = s
            .pull(above, above - Vec3::Y, true)
            .drag(Grip::Piece)
            .unwrap();
        let Support::Wall { wall, along_m, .. } = room.placement.on else {
            panic!()
        };
        assert_eq!((wall, along_m), (0, 9.0));
        // Looking at the sky through the roof is nowhere.
        assert!(
            s.pull(EYE, EYE + Vec3::Y, false)
                .drag(Grip::Piece)
                .is_none()
        );
    }

    #[test]
    fn a_fixture_moves_level_and_falls_in_line_with_others() {
        let s = hall();
        let target = Vec3::new(5.43, 5.6, -8.16);
        let room = s.pull(EYE, target, false).drag(Grip::Fixture(1)).unwrap();
        assert_eq!(room.fixtures[1].at_m, (5.45, 8.1, 5.6));
        assert_eq!(room.fixtures[0], s.room.fixtures[0]);
    }

    #[test]
    fn aiming_at_a_tile_is_kept_with_the_piece_and_elsewhere_with_the_room() {
        let s = hall();
        let on_piece = s.built.place.frame.point(0.62, -0.41);
        let room = s.pull(EYE, on_piece, false).drag(Grip::Aim(0)).unwrap();
        let Aim::Piece { right_m, up_m } = room.fixtures[0].aim else {
            panic!()
        };
        assert!(
            (right_m - 0.6).abs() < 0.03 && (up_m + 0.4).abs() < 0.03,
            "{right_m} {up_m}"
        );
        let room = s
            .pull(EYE, Vec3::new(6.0, 0.0, -5.0), false)
            .drag(Grip::Aim(0))
            .unwrap();
        assert_eq!(room.fixtures[0].aim, Aim::At(6.0, 5.0, 0.0));
    }

    #[test]
    fn grips_of_every_thing_lie_on_it_and_move_it_to_the_pointer() {
        let s = hall();
        let things = [
            Thing::Piece,
            Thing::Fixture(2),
            Thing::Walk(0),
            Thing::Opening(0),
            Thing::Solid(1),
            Thing::Space(0),
        ];
        for thing in things {
            let list = grips(&s.room, &s.built, Some(&thing), false);
            assert!(!list.is_empty(), "{thing:?}");
            for (grip, at) in list {
                assert_eq!(grip.thing(), thing);
                // A hand over the grip from right above or from the eye leaves the room as it is, up to snapping.
                let pull = s.pull(EYE, at, false);
                let Some(room) = pull.drag(grip) else {
                    panic!("{grip:?} is nowhere")
                };
                let again = grips(&room, &s.built, Some(&thing), false);
                let (_, after) = again.iter().find(|(g, _)| *g == grip).unwrap();
                assert!(after.distance(at) < 0.15, "{grip:?}: {at} to {after}");
            }
        }
        let above = grips(&s.room, &s.built, None, true);
        assert_eq!(above.len(), 1 + s.room.fixtures.len());
    }

    #[test]
    fn an_opening_stays_in_its_wall() {
        let s = hall();
        let room = s
            .pull(EYE, Vec3::new(18.0, 7.0, -0.2), false)
            .drag(Grip::Opening(0))
            .unwrap();
        let opening = &room.openings[0];
        assert_eq!(opening.offset_m, 0.0);
        assert!((opening.sill_m + opening.height_m) <= 7.2 + 1e-4);
    }
}
