//! The aiming schedule: every fixture of a room for whoever stands on the ladder.

use glam::{Vec2, Vec3};
use serde::Serialize;

use super::words::wall_words;
use crate::{
    geometry::{Frame, polygon_contains},
    room::{Aim, BuiltRoom, Space, Support, ceiling_m, wall},
    scene::Fixture,
    transport::RoomLight,
};

/// One fixture.
#[derive(Clone, Debug, Serialize)]
pub struct ScheduleRow {
    /// Place in the order that saves ladder moves, from 1.
    pub order: usize,
    /// Name.
    pub name: String,
    /// Kind.
    pub kind: String,
    /// Plan x [m].
    pub x_m: f32,
    /// Plan y [m].
    pub y_m: f32,
    /// Height above the floor below it [m].
    pub height_m: f32,
    /// Distances from two walls that meet at an angle [m], the piece's wall first.
    pub from_walls_m: Vec<(String, f32)>,
    /// Point aimed at on the piece, right and up from its middle as seen from the front [m]; `None` where it aims elsewhere.
    pub target_on_piece_m: Option<(f32, f32)>,
    /// Point aimed at: plan x, plan y, height above datum [m].
    pub target_m: (f32, f32, f32),
    /// Direction of the beam on the plan, clockwise from the top of the plan (plan +y) [deg]; 0 where it shines straight down or up.
    pub pan_deg: f32,
    /// Angle of the beam from straight down [deg].
    pub tilt_deg: f32,
    /// Turn about the beam [deg].
    pub roll_deg: f32,
    /// Distance to the point aimed at [m].
    pub throw_m: f32,
    /// Beam angle at half of the peak [deg].
    pub beam_deg: f32,
    /// Diameter of the beam where it meets the point aimed at, across the beam [m]; `None` for light to more than half of all sides.
    pub beam_diameter_m: Option<f32>,
    /// Illuminance at the point aimed at by this fixture alone, new lamp at its dimming, on the piece or facing the fixture [lx].
    pub target_lx: f32,
    /// Output as a share of full.
    pub dimming: f32,
    /// Colour temperature [K].
    pub cct_k: f32,
    /// Power at full output [W].
    pub watts: Option<f32>,
    /// Clock times between which it is lit.
    pub lit: Option<(String, String)>,
}

/// All fixtures, in an order that saves ladder moves. `light` is the room's, for what stands between.
pub fn schedule(room: &BuiltRoom, light: &RoomLight) -> Vec<ScheduleRow> {
    let places: Vec<Vec2> = room
        .scene
        .fixtures
        .iter()
        .map(|f| Vec2::new(f.position.x, -f.position.z))
        .collect();
    let start = room
        .file
        .walks
        .first()
        .and_then(|w| w.points_m.first())
        .map_or(Vec2::ZERO, |p| Vec2::from(*p));
    ladder_order(&places, start)
        .into_iter()
        .enumerate()
        .map(|(order, index)| row(room, light, index, order + 1))
        .collect()
}

/// The piece's frame as it hangs: right, up, off the wall.
fn piece_frame(room: &BuiltRoom) -> Frame {
    let piece = &room.piece;
    Frame::new(piece.centre, piece.normal, Vec3::Y.cross(piece.normal))
}

/// Right and up from the middle of a point that lies on the piece or right behind it [m]; `None` for others.
fn on_the_piece(room: &BuiltRoom, frame: &Frame, point: Vec3) -> Option<(f32, f32)> {
    /// Thickness of a piece and of the air behind it, at most [m].
    const NEAR_M: f32 = 0.15;
    let local = point - frame.origin;
    let (right, up) = (local.dot(frame.x_dir), local.dot(frame.y_dir));
    let half = 0.5 * room.size_turned(room.file.placement.turn_deg);
    let inside = right.abs() <= half.x && up.abs() <= half.y;
    (inside && local.dot(frame.z_dir).abs() < NEAR_M).then_some((right, up))
}

fn row(room: &BuiltRoom, light: &RoomLight, index: usize, order: usize) -> ScheduleRow {
    let file = &room.file.fixtures[index];
    let fixture = &room.scene.fixtures[index];
    let at = fixture.position;
    let frame = piece_frame(room);
    let (target, on_piece) = match file.aim {
        Aim::Piece { right_m, up_m } => (frame.point(right_m, up_m), Some((right_m, up_m))),
        Aim::At(x, y, h) => {
            let point = crate::room::world(x, y, h);
            (point, on_the_piece(room, &frame, point))
        }
        Aim::Down | Aim::Up => (at + fixture.aim_dir() * first_hit_m(light, fixture), None),
    };
    let beam = (target - at).normalize_or(fixture.aim_dir());
    let throw_m = target.distance(at);
    let level = Vec2::new(beam.x, -beam.z);
    let beam_rad = fixture.distribution.beam_angle_rad();
    let facing = if on_piece.is_some() {
        frame.z_dir
    } else {
        -beam
    };
    let cos = facing.dot(-beam).max(0.0);
    let open = light
        .tracer()
        .transmission(target + facing * 2e-3, -beam, (throw_m - 4e-3).max(0.0))
        .map_or(0.0, |t| t.0);
    let type_ = room.file.fixture_types.get(&file.kind);
    let plan = Vec2::new(at.x, -at.z);
    let space = space_of(room, plan, at.y);
    ScheduleRow {
        order,
        name: file.name.clone(),
        kind: file.kind.clone(),
        x_m: plan.x,
        y_m: plan.y,
        height_m: at.y - space.map_or(0.0, |s| s.floor_m),
        from_walls_m: from_walls(room, plan, at.y),
        target_on_piece_m: on_piece,
        target_m: (target.x, -target.z, target.y),
        pan_deg: if level.length() < 1e-4 {
            0.0
        } else {
            level.x.atan2(level.y).to_degrees().rem_euclid(360.0)
        },
        tilt_deg: beam.dot(Vec3::NEG_Y).clamp(-1.0, 1.0).acos().to_degrees(),
        roll_deg: file.roll_deg,
        throw_m,
        beam_deg: beam_rad.to_degrees(),
        beam_diameter_m: (beam_rad < 0.99 * std::f32::consts::PI)
            .then(|| 2.0 * throw_m * (0.5 * beam_rad).tan()),
        target_lx: file.dimming * open * fixture.intensity_cd(beam) * cos
            / (throw_m * throw_m).max(1e-4),
        dimming: file.dimming,
        cct_k: fixture.cct_k,
        watts: type_.and_then(|t| t.watts),
        lit: file.lit.clone(),
    }
}

/// Distance [m] to what the beam meets first, 2 m where it meets nothing.
fn first_hit_m(light: &RoomLight, fixture: &Fixture) -> f32 {
    let (mut low, mut high) = (0.0_f32, 100.0_f32);
    let dir = fixture.aim_dir();
    let open = |m: f32| {
        light
            .tracer()
            .transmission(fixture.position, dir, m)
            .is_some()
    };
    if open(high) {
        return 2.0;
    }
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if open(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

/// The space that a place lies in: by its height too, where one space lies above another.
fn space_of(room: &BuiltRoom, plan: Vec2, height_m: f32) -> Option<&Space> {
    let under = |s: &&Space| {
        let outline: Vec<Vec2> = s.outline_m.iter().map(|p| Vec2::from(*p)).collect();
        polygon_contains(&outline, plan)
    };
    let spaces = &room.file.spaces;
    let within = |s: &&Space| {
        under(s) && height_m >= s.floor_m && height_m <= ceiling_m(&s.ceiling, plan) + 1e-3
    };
    spaces
        .iter()
        .find(within)
        .or_else(|| spaces.iter().find(under))
}

/// Distances [m] from two walls that meet at more than 30 degrees: the piece's wall and the one beside its first corner where the place
/// lies in the piece's space, else the two nearest. Nothing outside all spaces.
pub(super) fn from_walls(room: &BuiltRoom, plan: Vec2, height_m: f32) -> Vec<(String, f32)> {
    let Some(space) = space_of(room, plan, height_m) else {
        return Vec::new();
    };
    let count = space.outline_m.len();
    let mut walls: Vec<(f32, usize, Vec2)> = (0..count)
        .map(|i| {
            let line = wall(space, i);
            let dir = (line.to - line.from).normalize_or(Vec2::X);
            ((plan - line.from).dot(line.inward), i, dir)
        })
        // Behind a wall, or beyond its ends, in a room that turns inward: not what a tape can reach.
        .filter(|(distance, i, dir)| {
            let line = wall(space, *i);
            let beside_m = (plan - line.from).dot(*dir);
            *distance >= -1e-3 && (-1e-3..=line.length_m + 1e-3).contains(&beside_m)
        })
        .collect();
    // One datum for all fixtures that light the piece.
    let datum = match &room.file.placement.on {
        Support::Wall {
            space: hung, wall, ..
        } if *hung == space.name => Some(*wall),
        _ => None,
    };
    let order = |i: usize| match datum {
        Some(wall) if i == wall => 0,
        Some(wall) if (i + 1) % count == wall => 1,
        _ => 2,
    };
    walls.sort_by(|a, b| order(a.1).cmp(&order(b.1)).then(a.0.total_cmp(&b.0)));
    let Some(first) = walls.first().copied() else {
        return Vec::new();
    };
    let second = walls
        .iter()
        .copied()
        .find(|w| w.2.perp_dot(first.2).abs() > 0.5);
    std::iter::once(first)
        .chain(second)
        .map(|(distance, i, _)| {
            let words = wall_words(&room.file, &space.name, i);
            let short = words
                .strip_prefix(&format!("{}, ", space.name))
                .map_or(words.clone(), str::to_owned);
            (short, distance.max(0.0))
        })
        .collect()
}

/// Indices of places in the order of a short way from `start`: to the nearest each time, then parts turned round as long as that
/// shortens the way (two-opt; G. Croes, "A method for solving traveling-salesman problems", 1958).
pub fn ladder_order(places: &[Vec2], start: Vec2) -> Vec<usize> {
    let mut left: Vec<usize> = (0..places.len()).collect();
    let mut order = Vec::with_capacity(places.len());
    let mut at = start;
    while !left.is_empty() {
        let mut nearest = 0;
        for k in 1..left.len() {
            if places[left[k]].distance(at) < places[left[nearest]].distance(at) - 1e-6 {
                nearest = k;
            }
        }
        let next = left.remove(nearest);
        at = places[next];
        order.push(next);
    }
    let at =
        |order: &[usize], k: usize| -> Vec2 { if k == 0 { start } else { places[order[k - 1]] } };
    let mut better = true;
    while better {
        better = false;
        for i in 1..order.len() {
            for j in i + 1..=order.len() {
                // Turning round what lies between i and j.
                let before = at(&order, i - 1).distance(at(&order, i))
                    + if j < order.len() {
                        at(&order, j).distance(at(&order, j + 1))
                    } else {
                        0.0
                    };
                let after = at(&order, i - 1).distance(at(&order, j))
                    + if j < order.len() {
                        at(&order, i).distance(at(&order, j + 1))
                    } else {
                        0.0
                    };
                if after < before - 1e-5 {
                    order[i - 1..j].reverse();
                    better = true;
                }
            }
        }
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Brute force over all orders of six places: the way is at most 10 % longer than the shortest.
    #[test]
    fn the_way_is_nearly_the_shortest() {
        let places = [
            Vec2::new(0.0, 5.0),
            Vec2::new(8.0, 5.2),
            Vec2::new(4.0, 5.0),
            Vec2::new(2.0, 1.0),
            Vec2::new(6.0, 1.2),
            Vec2::new(8.0, 1.0),
        ];
        let length = |order: &[usize]| {
            let mut at = Vec2::ZERO;
            order
                .iter()
                .map(|i| {
                    let step = at.distance(places[*i]);
                    at = places[*i];
                    step
                })
                .sum::<f32>()
        };
        fn all(left: Vec<usize>, done: Vec<usize>, out: &mut Vec<Vec<usize>>) {
            if left.is_empty() {
                out.push(done);
                return;
            }
            for i in &left {
                let rest = left.iter().copied().filter(|k| k != i).collect();
                let mut next = done.clone();
                next.push(*i);
                all(rest, next, out);
            }
        }
        let mut orders = Vec::new();
        all((0..6).collect(), Vec::new(), &mut orders);
        let shortest = orders.iter().map(|o| length(o)).fold(f32::MAX, f32::min);
        let found = length(&ladder_order(&places, Vec2::ZERO));
        assert!(
            found <= 1.1 * shortest,
            "the way is {found} m, the shortest {shortest} m"
        );
    }
}
