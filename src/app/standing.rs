//! Where the visitor stands and how the camera follows: no Bevy systems here, only the movements.
//!
//! World metres, +Y up. The visitor walks along a walk or freely on the floor; the outer camera turns about a
//! point; the plan is seen from straight above with plan +y up. Pitch is held short of the vertical so that no
//! camera flips or rolls, and heights are held above the floor.

use bevy::{ecs::resource::Resource, math::Vec3};

use crate::{
    room::{BuiltRoom, BuiltWalk, station_at, walk_length_m},
    scene::Station,
    transport::Tracer,
};

/// One step to the side [m].
pub const STEP_ASIDE_M: f32 = 0.6;
/// Highest and lowest look [rad].
const MOST_PITCH: f32 = 1.45;
/// Distance kept from walls [m].
const BODY_M: f32 = 0.25;
/// Highest step that a visitor climbs [m].
const STEP_UP_M: f32 = 0.35;
/// Height of the lowest obstacle that stops a visitor, above the floor [m].
const KNEE_M: f32 = 0.45;

/// A visitor who left the walk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Free {
    /// Feet [m, world].
    pub feet: Vec3,
    /// Direction of looking about the vertical [rad], 0 along world -Z, growing to the right.
    pub yaw: f32,
    /// Up or down [rad].
    pub pitch: f32,
}

/// The camera that turns about a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Around {
    /// Middle [m, world].
    pub target: Vec3,
    /// Direction from the target to the camera about the vertical [rad].
    pub yaw: f32,
    /// Height of the camera over the target [rad].
    pub pitch: f32,
    /// Distance [m].
    pub distance_m: f32,
}

/// The plan's middle and size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanSheet {
    /// Middle [m, world x and z].
    pub middle: (f32, f32),
    /// Height of what fits [m].
    pub height_m: f32,
}

/// Where the eye is, in all three ways of looking.
#[derive(Resource, Clone, Debug, PartialEq)]
pub struct Standing {
    /// Index of the walk.
    pub walk: usize,
    /// Distance along it [m].
    pub distance_m: f32,
    /// Steps to the right (above 0) or left of the walk.
    pub aside: f32,
    /// Look away from where the walk looks: yaw and pitch [rad].
    pub look: (f32, f32),
    /// Off the walk, if so.
    pub free: Option<Free>,
    /// The camera from outside.
    pub around: Around,
    /// The plan.
    pub plan: PlanSheet,
    /// Field of view, upright [rad].
    pub field_rad: f32,
    /// Walking along the walk by itself.
    pub strolling: bool,
    /// Line of sight that is kept while something is dragged: a view that follows the piece would run away under
    /// the hand.
    pub kept_gaze: Option<Vec3>,
}

impl Default for Standing {
    fn default() -> Self {
        Self {
            walk: 0,
            distance_m: 0.0,
            aside: 0.0,
            look: (0.0, 0.0),
            free: None,
            around: Around {
                target: Vec3::ZERO,
                yaw: 0.6,
                pitch: 0.6,
                distance_m: 20.0,
            },
            plan: PlanSheet {
                middle: (0.0, 0.0),
                height_m: 15.0,
            },
            field_rad: 0.9,
            strolling: false,
            kept_gaze: None,
        }
    }
}

/// Yaw and pitch [rad] of a direction.
pub fn angles(dir: Vec3) -> (f32, f32) {
    let level = (dir.x * dir.x + dir.z * dir.z).sqrt();
    (dir.x.atan2(-dir.z), dir.y.atan2(level))
}

/// Direction of a yaw and pitch [rad].
pub fn direction(yaw: f32, pitch: f32) -> Vec3 {
    let (sin, cos) = yaw.sin_cos();
    Vec3::new(sin * pitch.cos(), pitch.sin(), -cos * pitch.cos())
}

impl Standing {
    /// Puts all cameras where a room is best seen first.
    pub fn frame(&mut self, room: &BuiltRoom) {
        let (low, high) = bounds(room);
        let size = high - low;
        let to_front = room.piece.normal;
        self.around = Around {
            target: (low + high) * 0.5 * Vec3::new(1.0, 0.8, 1.0),
            yaw: to_front.x.atan2(-to_front.z) + 0.5,
            pitch: 0.55,
            distance_m: size.length() * 1.05,
        };
        self.plan = PlanSheet {
            middle: ((low.x + high.x) * 0.5, (low.z + high.z) * 0.5),
            height_m: size.z.max(size.x * 0.6) * 1.15,
        };
        self.walk = self.walk.min(room.walks.len().saturating_sub(1));
        self.free = None;
        self.distance_m = room
            .walks
            .get(self.walk)
            .map_or(0.0, |walk| best_place_m(room, walk));
    }

    /// The walk's eye without looking about, stepped aside where there is room.
    fn on_walk(&self, room: &BuiltRoom) -> Option<Station> {
        let walk = &room.walks.get(self.walk)?.walk;
        let mut station = station_at(walk, self.distance_m, room.piece.centre);
        if self.aside != 0.0 {
            let (yaw, _) = angles(station.gaze_dir);
            station.eye +=
                direction(yaw + std::f32::consts::FRAC_PI_2, 0.0) * self.aside * STEP_ASIDE_M;
            if matches!(walk.look, crate::room::Look::Piece) {
                station.gaze_dir = (room.piece.centre - station.eye).normalize_or(station.gaze_dir);
            }
        }
        Some(station)
    }

    /// The visitor's eye and line of sight.
    pub fn visitor(&self, room: &BuiltRoom) -> Station {
        let base = self.on_walk(room).unwrap_or(Station {
            eye: room.piece.centre + room.piece.normal * 3.0,
            gaze_dir: -room.piece.normal,
            distance_m: 0.0,
        });
        if let Some(free) = self.free {
            let eye_m = room.walks.get(self.walk).map_or(1.55, |w| w.walk.eye_m);
            return Station {
                eye: free.feet + Vec3::Y * eye_m,
                gaze_dir: direction(free.yaw, free.pitch),
                distance_m: self.distance_m,
            };
        }
        if let Some(gaze_dir) = self.kept_gaze {
            return Station { gaze_dir, ..base };
        }
        let (yaw, pitch) = angles(base.gaze_dir);
        Station {
            gaze_dir: direction(
                yaw + self.look.0,
                (pitch + self.look.1).clamp(-MOST_PITCH, MOST_PITCH),
            ),
            ..base
        }
    }

    /// Turns the head.
    pub fn turn_head(&mut self, yaw: f32, pitch: f32) {
        match &mut self.free {
            Some(free) => {
                free.yaw += yaw;
                free.pitch = (free.pitch + pitch).clamp(-MOST_PITCH, MOST_PITCH);
            }
            None => {
                self.look.0 = (self.look.0 + yaw).clamp(-3.1, 3.1);
                self.look.1 = (self.look.1 + pitch).clamp(-MOST_PITCH, MOST_PITCH);
            }
        }
    }

    /// Goes along the walk [m], held at its ends. Whether it is at an end.
    pub fn go_along(&mut self, room: &BuiltRoom, metres: f32) -> bool {
        let Some(walk) = room.walks.get(self.walk) else {
            return true;
        };
        self.free = None;
        let length_m = walk_length_m(&walk.walk);
        let wanted = self.distance_m + metres;
        self.distance_m = wanted.clamp(0.0, length_m);
        wanted != self.distance_m
    }

    /// Leaves the walk, if still on it, and walks over the floor: ahead and to the right [m]. Walls stop a
    /// visitor and low steps are climbed.
    pub fn walk_freely(&mut self, room: &BuiltRoom, tracer: &Tracer, ahead_m: f32, right_m: f32) {
        let station = self.visitor(room);
        let eye_m = room.walks.get(self.walk).map_or(1.55, |w| w.walk.eye_m);
        let (yaw, pitch) = angles(station.gaze_dir);
        let mut free = self.free.unwrap_or(Free {
            feet: station.eye - Vec3::Y * eye_m,
            yaw,
            pitch,
        });
        let way = direction(free.yaw, 0.0) * ahead_m
            + direction(free.yaw + std::f32::consts::FRAC_PI_2, 0.0) * right_m;
        // Along walls one slides: each direction of the plan is tried alone.
        for part in [Vec3::new(way.x, 0.0, 0.0), Vec3::new(0.0, 0.0, way.z)] {
            if let Some(feet) = stepped(tracer, free.feet, part, eye_m) {
                free.feet = feet;
            }
        }
        self.free = Some(free);
        self.look = (0.0, 0.0);
    }

    /// Back on the walk, at the place nearest to where the visitor went.
    pub fn back_on_walk(&mut self, room: &BuiltRoom) {
        if let (Some(free), Some(walk)) = (self.free.take(), room.walks.get(self.walk)) {
            let away = |s: &Station| {
                let d = s.eye - free.feet;
                d.x * d.x + d.z * d.z
            };
            let nearest = walk
                .stations
                .iter()
                .min_by(|a, b| away(a).total_cmp(&away(b)));
            if let Some(station) = nearest {
                self.distance_m = station.distance_m;
            }
        }
        self.aside = 0.0;
        self.look = (0.0, 0.0);
    }

    /// Position and line of sight of the outer camera, kept above `floor_m`.
    pub fn around_camera(&self, floor_m: f32) -> (Vec3, Vec3) {
        let a = &self.around;
        let back = direction(a.yaw, a.pitch);
        let mut eye = a.target + back * a.distance_m;
        eye.y = eye.y.max(floor_m + 0.15);
        (eye, (a.target - eye).normalize_or(-back))
    }

    /// Turns the outer camera.
    pub fn turn_around(&mut self, yaw: f32, pitch: f32) {
        self.around.yaw += yaw;
        self.around.pitch = (self.around.pitch + pitch).clamp(-0.2, MOST_PITCH);
    }

    /// Moves the outer camera's middle across the view [shares of its distance].
    pub fn shift_around(&mut self, right: f32, up: f32, floor_m: f32) {
        let a = &mut self.around;
        let back = direction(a.yaw, a.pitch);
        let right_dir = Vec3::Y.cross(back).normalize_or(Vec3::X);
        let up_dir = back.cross(right_dir);
        a.target += (right_dir * right + up_dir * up) * a.distance_m;
        a.target.y = a.target.y.max(floor_m);
    }

    /// Nearer (below 1) or farther.
    pub fn zoom(&mut self, view: super::state::ViewKind, factor: f32) {
        use super::state::ViewKind;
        match view {
            ViewKind::Around => {
                self.around.distance_m = (self.around.distance_m * factor).clamp(0.4, 300.0);
            }
            ViewKind::Plan => self.plan.height_m = (self.plan.height_m * factor).clamp(1.0, 400.0),
            ViewKind::Visitor => self.field_rad = (self.field_rad * factor).clamp(0.12, 1.5),
        }
    }
}

/// Place along a walk [m] from which the piece is seen best: as a whole and not small, from its front, near the line
/// of sight.
fn best_place_m(room: &BuiltRoom, walk: &BuiltWalk) -> f32 {
    /// Half of the piece's width over its distance when it fills the picture well.
    const FILLS: f32 = 0.35;
    let (low, high) = room.tiling.bounds();
    let half_m = 0.5 * (high - low).length();
    let seen = |s: &Station| {
        let to = room.piece.centre - s.eye;
        let dir = to.normalize_or(Vec3::X);
        let front = -dir.dot(room.piece.normal);
        // Beyond about 35 degrees off the line of sight it leaves the picture.
        let inside = ((dir.dot(s.gaze_dir) - 0.8) / 0.15).clamp(0.0, 1.0);
        let size = half_m / to.length().max(0.1);
        front.max(0.0) * inside * (size / FILLS).min(FILLS / size)
    };
    let middle_m = 0.5 * walk_length_m(&walk.walk);
    let best = walk
        .stations
        .iter()
        .max_by(|a, b| seen(a).total_cmp(&seen(b)));
    best.filter(|s| seen(s) > 0.0)
        .map_or(middle_m, |s| s.distance_m)
}

/// Where a step over the floor leads; `None` where something stands in the way or there is no floor.
fn stepped(tracer: &Tracer, feet: Vec3, way: Vec3, eye_m: f32) -> Option<Vec3> {
    let length = way.length();
    if length < 1e-6 {
        return None;
    }
    let dir = way / length;
    for height_m in [KNEE_M.min(0.5 * eye_m), eye_m] {
        let path = tracer.path(feet + Vec3::Y * height_m, dir);
        let glass = path.last_pane.is_some();
        let near = path.end.is_some_and(|(_, d)| d < length + BODY_M);
        // A closed window stops a visitor as a wall does.
        if near || (glass && pane_ahead(tracer, feet + Vec3::Y * height_m, dir, length + BODY_M)) {
            return None;
        }
    }
    let above = feet + way + Vec3::Y * (STEP_UP_M + 0.02);
    let (_, drop_m) = tracer.path(above, Vec3::NEG_Y).end?;
    let floor = above - Vec3::Y * drop_m;
    (feet.y - floor.y < 0.6).then_some(floor)
}

fn pane_ahead(tracer: &Tracer, from: Vec3, dir: Vec3, reach_m: f32) -> bool {
    tracer
        .scene
        .panes
        .iter()
        .any(|p| p.polygon.crossing(from, dir).is_some_and(|t| t < reach_m))
}

/// Corners of the box around everything indoors [m, world].
pub fn bounds(room: &BuiltRoom) -> (Vec3, Vec3) {
    let indoors = room.scene.surfaces.iter().filter(|s| s.indoors);
    let any = indoors.clone().next().is_some();
    let all = room.scene.surfaces.iter().filter(|s| !any || s.indoors);
    let (low, high) = all
        .flat_map(|s| s.polygon.world_outline())
        .fold((Vec3::MAX, Vec3::MIN), |(low, high), p| {
            (low.min(p), high.max(p))
        });
    if low.x > high.x {
        (Vec3::ZERO, Vec3::splat(3.0))
    } else {
        (low, high)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        room::{NoFiles, build, parse_room},
        transport::{Progress, RoomLight, RoomLightSettings},
    };

    fn hall() -> BuiltRoom {
        let file = parse_room(include_str!("../../rooms/ferry-hall.ron"), "hall").unwrap();
        build(file, &mut NoFiles).unwrap()
    }

    fn quick(room: &BuiltRoom) -> RoomLight {
        let settings = RoomLightSettings {
            patch_m: 2.0,
            hemisphere_count: 16,
            pane_count: 4,
            ..RoomLightSettings::default()
        };
        RoomLight::prepare(room.scene.clone(), settings, &Progress::default()).unwrap()
    }

    #[test]
    fn no_turning_flips_a_camera_or_takes_it_below_the_floor() {
        let room = hall();
        let mut standing = Standing::default();
        standing.frame(&room);
        for i in 0..2000 {
            let turn = (i as f32 * 0.7).sin() * 3.0;
            standing.turn_around(turn, -turn * 0.8);
            standing.turn_head(turn, turn);
            standing.shift_around(turn * 0.1, -turn * 0.3, 0.0);
            standing.zoom(super::super::state::ViewKind::Around, 1.0 + turn * 0.1);
            let (eye, look) = standing.around_camera(0.0);
            assert!(eye.is_finite() && eye.y >= 0.1, "{eye}");
            assert!(look.is_finite() && look.y.abs() < 0.999_9, "{look}");
            let gaze = standing.visitor(&room).gaze_dir;
            assert!(gaze.is_finite() && gaze.y.abs() < 0.999, "{gaze}");
        }
    }

    #[test]
    fn a_visitor_stays_on_the_walk_and_comes_to_its_end() {
        let room = hall();
        let mut standing = Standing::default();
        assert!(!standing.go_along(&room, 5.0));
        assert!(standing.go_along(&room, 500.0));
        let end = walk_length_m(&room.walks[0].walk);
        assert!((standing.distance_m - end).abs() < 1e-4);
        let eye = standing.visitor(&room).eye;
        assert!((eye.y - 1.6).abs() < 1e-4, "{eye}");
    }

    #[test]
    fn at_first_the_piece_is_in_view_in_every_demo() {
        for text in [
            include_str!("../../rooms/ferry-hall.ron"),
            include_str!("../../rooms/tunnel-walk.ron"),
            include_str!("../../rooms/stair-court.ron"),
        ] {
            let room = build(parse_room(text, "demo").unwrap(), &mut NoFiles).unwrap();
            let mut standing = Standing::default();
            standing.frame(&room);
            let station = standing.visitor(&room);
            let to = (room.piece.centre - station.eye).normalize();
            let ahead = to.dot(station.gaze_dir);
            assert!(ahead > 0.8, "{}: {ahead}", room.file.name);
            let front = -to.dot(room.piece.normal);
            assert!(front > 0.25, "{}: {front}", room.file.name);
        }
    }

    #[test]
    fn a_step_aside_moves_across_the_line_of_sight() {
        let room = hall();
        let mut standing = Standing {
            distance_m: 6.0,
            ..Standing::default()
        };
        let straight = standing.visitor(&room);
        standing.aside = 1.0;
        let right = standing.visitor(&room);
        let moved = right.eye - straight.eye;
        assert!((moved.length() - STEP_ASIDE_M).abs() < 1e-4);
        assert!(moved.dot(straight.gaze_dir.cross(Vec3::Y)) > 0.5);
    }

    #[test]
    fn walls_and_glass_stop_a_visitor() {
        let room = hall();
        let light = quick(&room);
        let mut standing = Standing {
            distance_m: 3.0,
            ..Standing::default()
        };
        for yaw in [0.0, 1.2, 2.5, 4.0, 5.5] {
            for i in 0..400 {
                let mut here = standing.free;
                if let Some(free) = &mut here {
                    free.yaw = yaw + i as f32 * 0.001;
                    standing.free = here;
                }
                standing.walk_freely(&room, &light.tracer(), 0.12, 0.02);
                let feet = standing.free.unwrap().feet;
                // The hall: x 0 to 18, plan y 0 to 11 (world z 0 to -11).
                assert!((0.0..=18.0).contains(&feet.x), "{feet}");
                assert!((-11.0..=0.0).contains(&feet.z), "{feet}");
                assert!(feet.y > -0.05 && feet.y < 0.6, "{feet}");
            }
        }
        standing.back_on_walk(&room);
        assert_eq!(standing.free, None);
    }
}
