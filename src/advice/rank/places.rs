//! Where the piece could hang: stretches of wall that are wide, high and free enough, and stands.

use glam::{Vec2, Vec3};

use crate::{
    advice::words::{placement_words, wall_words},
    geometry::polygon_contains,
    room::{BuiltRoom, Placement, RoomFile, Space, Support, ceiling_m, wall},
    scene::Scene,
    transport::{Progress, RoomLight, RoomLightSettings, SolveError},
};

/// Middle of a work above the floor [m]; common practice, no source.
const USUAL_HEIGHT_M: f32 = 1.5;
/// Least distance of the piece from the floor, from openings and from a wall's ends [m]; own choice.
const CLEAR_M: f32 = 0.05;
/// How far before the wall nothing may stand in the piece's way [m]; own choice.
const FREE_DEPTH_M: f32 = 0.15;
/// Walls between spaces are at most so thick [m]; own choice.
const THICKEST_WALL_M: f32 = 0.6;
/// Smallest step between places along a wall [m].
const LEAST_STEP_M: f32 = 0.25;
/// Free-standing pieces face this many directions.
const FACINGS: usize = 8;

/// All places to judge: the present one first, then those the room names, then what its walls and stands offer, spread so that no more than
/// `most` are given. Places whose front no station sees are left out. The notes say what was left out and why.
///
/// # Errors
/// Never but for a room that cannot be traced.
pub fn places(room: &BuiltRoom, most: usize) -> Result<(Vec<Placement>, Vec<String>), SolveError> {
    let file = &room.file;
    let mut notes = Vec::new();
    let mut fixed = vec![file.placement.clone()];
    for named in &file.candidates {
        // A name may stand for a place that does not fit; building tells.
        if !fixed.iter().any(|f| same_place(f, named)) {
            fixed.push(named.clone());
        }
    }
    let room_left = most.saturating_sub(fixed.len());
    if room_left == 0 {
        return Ok((fixed, notes));
    }
    let eyes = Eyes::new(room)?;
    let all_stands: Vec<Placement> = stands(room)
        .into_iter()
        .filter(|p| eyes.see(room, p))
        .collect();
    let some_stands = spread(all_stands, room_left.div_ceil(2), &mut notes, "stands");
    let wall_left = room_left.saturating_sub(some_stands.len());
    let mut step_m = (0.25 * room.size_turned(0.0).x).max(LEAST_STEP_M);
    let offered = |step_m: f32| -> Vec<Placement> {
        let mut found = on_walls(room, step_m);
        found.retain(|p| eyes.see(room, p));
        found
    };
    let mut found = offered(step_m);
    if found.is_empty() {
        notes.push(
            "no stretch of wall that a visitor sees is wide and high enough and free for the piece"
                .into(),
        );
    }
    while found.len() > wall_left && step_m < 100.0 {
        step_m *= 1.15;
        found = offered(step_m);
    }
    let found = spread(found, wall_left, &mut notes, "places on walls");
    for mut place in found.into_iter().chain(some_stands) {
        if !fixed.iter().any(|f| same_place(f, &place)) {
            place.name = short_words(file, &place);
            fixed.push(place);
        }
    }
    Ok((fixed, notes))
}

/// At most so many of some, evenly spread, with a note of what was left out.
fn spread(
    found: Vec<Placement>,
    most: usize,
    notes: &mut Vec<String>,
    what: &str,
) -> Vec<Placement> {
    let count = found.len();
    if count <= most {
        return found;
    }
    notes.push(format!(
        "{most} of {count} {what} are judged, spread evenly: allow more for a closer look"
    ));
    (0..most).map(|k| found[k * count / most].clone()).collect()
}

/// Visitors' eyes, and what stands before them.
struct Eyes {
    light: RoomLight,
    eyes: Vec<Vec3>,
}

impl Eyes {
    fn new(room: &BuiltRoom) -> Result<Self, SolveError> {
        // What stands between needs no bounces.
        let settings = RoomLightSettings {
            patch_m: 4.0,
            hemisphere_count: 4,
            pane_count: 4,
            sky_refinement: 1,
            points_per_patch: 1,
            seed: 1,
        };
        let scene = Scene {
            fixtures: Vec::new(),
            ..room.scene.clone()
        };
        Ok(Self {
            light: RoomLight::prepare(scene, settings, &Progress::default())?,
            eyes: room.stations().iter().map(|s| s.eye).collect(),
        })
    }

    /// Whether any of them looks at the front of a place: at its middle or at one of four points halfway to its corners.
    fn see(&self, room: &BuiltRoom, placement: &Placement) -> bool {
        let place = crate::room::PiecePlace::new(&room.file, placement);
        let half = room.size_turned(placement.turn_deg) * 0.25;
        let least = room.limits().grazing_deg.to_radians().cos();
        let frame = place.frame;
        let points = [
            (0.0, 0.0),
            (1.0, 1.0),
            (1.0, -1.0),
            (-1.0, 1.0),
            (-1.0, -1.0),
        ]
        .map(|(x, y)| frame.point(x * half.x, y * half.y) + frame.z_dir * 0.05);
        self.eyes.iter().any(|eye| {
            points.iter().any(|point| {
                let to_eye = *eye - *point;
                let distance_m = to_eye.length().max(1e-3);
                let dir = to_eye / distance_m;
                dir.dot(frame.z_dir) > least
                    && self
                        .light
                        .tracer()
                        .transmission(*point, dir, distance_m)
                        .is_some()
            })
        })
    }
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
    let mut found: Vec<Placement> = Vec::new();
    for space in &file.spaces {
        for index in 0..space.outline_m.len() {
            let offered =
                only.is_empty() || only.iter().any(|(s, w)| *s == space.name && *w == index);
            if !offered {
                continue;
            }
            for (turn_deg, mirrored) in turns(room) {
                let half = 0.5 * room.size_turned(turn_deg);
                for along_m in along(wall(space, index).length_m, half.x, step_m) {
                    for place in at(room, (space, index), along_m, (turn_deg, mirrored), half) {
                        // A leaning place comes once for every height; one is enough.
                        if !found.iter().any(|f| same_place(f, &place)) {
                            found.push(place);
                        }
                    }
                }
            }
        }
    }
    found
}

/// Middles of a piece of half a width along a wall, in whole centimetres, as a maker would measure: both ends, and between them no farther apart than
/// the step; the middle where one would do.
fn along(length_m: f32, half_m: f32, step_m: f32) -> Vec<f32> {
    let (from, to) = (half_m + CLEAR_M, length_m - half_m - CLEAR_M);
    if from > to {
        return Vec::new();
    }
    let count = ((to - from) / step_m).ceil() as usize;
    let centi = |m: f32| (m * 100.0).round() / 100.0;
    match count {
        0 | 1 => vec![centi(0.5 * (from + to))],
        _ => (0..=count)
            .map(|k| centi(from + (to - from) * k as f32 / count as f32))
            .collect(),
    }
}

/// What fits at one place along a wall: upright at every height that suits, and leaning where that is allowed.
fn at(
    room: &BuiltRoom,
    (space, index): (&Space, usize),
    along_m: f32,
    (turn_deg, mirrored): (f32, bool),
    half: Vec2,
) -> Vec<Placement> {
    let file = &room.file;
    let line = wall(space, index);
    let top_at = |m: f32| {
        let share = (m / line.length_m).clamp(0.0, 1.0);
        line.top_m.0 + (line.top_m.1 - line.top_m.0) * share - line.floor_m
    };
    let top_m = top_at(along_m - half.x).min(top_at(along_m + half.x));
    let mut found = Vec::new();
    for centre_m in heights(room, half.y, top_m) {
        let stretch = Stretch {
            along_m,
            half_m: half.x,
            heights_m: (centre_m - half.y, centre_m + half.y),
            depth_m: FREE_DEPTH_M,
        };
        if stretch.is_free(file, space, index) {
            found.push(Placement {
                name: String::new(),
                on: Support::Wall {
                    space: space.name.clone(),
                    wall: index,
                    along_m,
                },
                centre_m: (centre_m * 100.0).round() / 100.0,
                turn_deg,
                mirrored,
            });
        }
    }
    if let Some(lean_deg) = file.advice.hang.leaning_deg {
        let (sin, cos) = lean_deg.to_radians().sin_cos();
        let high_m = 2.0 * half.y * cos;
        let stretch = Stretch {
            along_m,
            half_m: half.x,
            heights_m: (CLEAR_M, high_m),
            depth_m: 2.0 * half.y * sin + FREE_DEPTH_M,
        };
        if high_m <= top_m && stretch.is_free(file, space, index) {
            // Its middle is half of what its foot stands off the wall.
            let on_floor = line.at(along_m, -(half.y * sin + 0.02));
            let centi = |m: f32| (m * 100.0).round() / 100.0;
            found.push(Placement {
                name: String::new(),
                on: Support::Stand {
                    at_m: (centi(on_floor.x), centi(on_floor.y)),
                    facing_deg: line.inward.x.atan2(line.inward.y).to_degrees(),
                    lean_deg,
                },
                centre_m: half.y * cos,
                turn_deg,
                mirrored,
            });
        }
    }
    found
}

fn stands(room: &BuiltRoom) -> Vec<Placement> {
    let file = &room.file;
    let mut found = Vec::new();
    for at_m in &file.advice.hang.stands_m {
        for (turn_deg, mirrored) in turns(room) {
            let half = 0.5 * room.size_turned(turn_deg);
            let centre_m = USUAL_HEIGHT_M.max(half.y + CLEAR_M);
            for k in 0..FACINGS {
                let facing_deg = 360.0 * k as f32 / FACINGS as f32;
                if !stand_is_free(file, *at_m, facing_deg, (half, centre_m)) {
                    continue;
                }
                found.push(Placement {
                    name: String::new(),
                    on: Support::Stand {
                        at_m: *at_m,
                        facing_deg,
                        lean_deg: 0.0,
                    },
                    centre_m,
                    turn_deg,
                    mirrored,
                });
            }
        }
    }
    found
}

/// Whether a piece can stand somewhere: inside one space, under its ceiling, in no solid.
fn stand_is_free(
    file: &RoomFile,
    at_m: (f32, f32),
    facing_deg: f32,
    (half, centre_m): (Vec2, f32),
) -> bool {
    let (sin, cos) = facing_deg.to_radians().sin_cos();
    let (right, front) = (Vec2::new(cos, -sin), Vec2::new(sin, cos));
    let middle = Vec2::from(at_m);
    let corner = |x: f32, y: f32| middle + right * (x * half.x) + front * (y * FREE_DEPTH_M);
    let foot = [
        corner(-1.0, -1.0),
        corner(1.0, -1.0),
        corner(1.0, 1.0),
        corner(-1.0, 1.0),
    ];
    let in_space = |space: &Space| {
        let outline = outline(&space.outline_m);
        foot.iter().all(|p| {
            polygon_contains(&outline, *p)
                && ceiling_m(&space.ceiling, *p) - space.floor_m >= centre_m + half.y
        })
    };
    let Some(space) = file.spaces.iter().find(|s| in_space(s)) else {
        return false;
    };
    let heights_m = (space.floor_m + CLEAR_M, space.floor_m + centre_m + half.y);
    !meets_solid(file, &foot, heights_m)
}

fn outline(points: &[(f32, f32)]) -> Vec<Vec2> {
    points.iter().map(|p| Vec2::from(*p)).collect()
}

/// Whether a footprint between two heights above datum runs into a solid of the room.
fn meets_solid(file: &RoomFile, foot: &[Vec2], heights_m: (f32, f32)) -> bool {
    file.solids.iter().filter(|s| !s.outside).any(|s| {
        s.from_m < heights_m.1 && s.to_m > heights_m.0 && overlap(foot, &outline(&s.outline_m))
    })
}

/// A stretch of wall that a piece would take.
struct Stretch {
    /// Its middle from the wall's first corner [m].
    along_m: f32,
    /// Half of its length [m].
    half_m: f32,
    /// Lower and upper edge above the floor [m].
    heights_m: (f32, f32),
    /// How far before the wall nothing may stand [m].
    depth_m: f32,
}

impl Stretch {
    /// Whether it is free: no opening in it, from either side, nothing before it, and the ceiling above it.
    fn is_free(&self, file: &RoomFile, space: &Space, index: usize) -> bool {
        let line = wall(space, index);
        let (left, right) = (
            self.along_m - self.half_m - CLEAR_M,
            self.along_m + self.half_m + CLEAR_M,
        );
        let (bottom, top) = (
            line.floor_m + self.heights_m.0 - CLEAR_M,
            line.floor_m + self.heights_m.1 + CLEAR_M,
        );
        let opening = file.openings.iter().any(|o| {
            let Some(own) = file.spaces.iter().find(|s| s.name == o.space) else {
                return false;
            };
            let other = wall(own, o.wall);
            let ends = [o.offset_m, o.offset_m + o.width_m].map(|m| other.at(m, 0.0));
            let dir = (line.to - line.from).normalize_or(Vec2::X);
            // Of this wall, or of a neighbour's wall that lies against it.
            let here = own.name == space.name && o.wall == index
                || ends
                    .iter()
                    .all(|p| (*p - line.from).dot(line.inward).abs() < THICKEST_WALL_M)
                    && other.inward.dot(line.inward) < -0.99;
            let spans = ends.map(|p| (p - line.from).dot(dir));
            here && spans[0].min(spans[1]) < right
                && spans[0].max(spans[1]) > left
                && own.floor_m + o.sill_m < top
                && own.floor_m + o.sill_m + o.height_m > bottom
        });
        if opening {
            return false;
        }
        // A strip of floor before the wall, a hair off its ends and face.
        let strip = [
            line.at(left + 0.01, -0.01),
            line.at(right - 0.01, -0.01),
            line.at(right - 0.01, -self.depth_m),
            line.at(left + 0.01, -self.depth_m),
        ];
        let plan = outline(&space.outline_m);
        let under_ceiling = strip
            .iter()
            .all(|p| ceiling_m(&space.ceiling, *p) >= line.floor_m + self.heights_m.1);
        let inside = strip.iter().all(|p| polygon_contains(&plan, *p));
        under_ceiling
            && inside
            && !meets_solid(file, &strip, (bottom.max(line.floor_m + 1e-3), top))
    }
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
