//! Where the eye is in every frame, where it looks, and what time it is.
//!
//! Input: a walk of a room and what the film is about; output: frames at a constant rate. The walk is taken at walking
//! speed with a soft start and end; corners are rounded by a mean of the path over [`CORNER_M`] about each place, and
//! the direction of looking by a mean over time, widened until no frame turns faster than [`MOST_TURN_RAD_S`]. The clock
//! runs evenly in elapsed time, so that a change of the clock is no jump. Limits: the head neither sways nor bobs.

use glam::Vec3;
use jiff::{ZonedDateTime, civil};

use crate::{
    room::{BuiltRoom, Look, station_at, walk_length_m},
    scene::Station,
    study::Instant,
    sun::{TimeError, resolve},
};

/// Half of the way that a corner is rounded over [m].
pub const CORNER_M: f32 = 0.5;
/// Fastest turn of the eye [rad/s]: 50 degrees a second, calmer than a head (own choice).
pub const MOST_TURN_RAD_S: f32 = 0.873;
/// Time to reach walking speed [s].
const START_S: f32 = 1.2;
/// Still frames at the start and the end of a walk [s].
const HOLD_S: f32 = 0.8;
/// Shortest and longest film [s].
const SHORTEST_S: f32 = 0.01;
const LONGEST_S: f32 = 1800.0;
/// Length of a day in a film, where none is asked for [s].
const DAY_S: f32 = 24.0;

/// What a film is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FilmKind {
    /// A walk at one moment [min after midnight].
    Walk {
        /// The moment.
        at_min: u32,
    },
    /// The day at one place.
    Day {
        /// Distance from the walk's start [m].
        stand_m: f32,
        /// First clock time [min after midnight].
        from_min: u32,
        /// Last clock time [min after midnight].
        to_min: u32,
    },
    /// The walk while the day goes by.
    WalkThroughDay {
        /// First clock time [min after midnight].
        from_min: u32,
        /// Last clock time [min after midnight].
        to_min: u32,
    },
}

/// What to film.
#[derive(Clone, Debug, PartialEq)]
pub struct FilmRequest {
    /// Index of the walk.
    pub walk: usize,
    /// What it is about.
    pub kind: FilmKind,
    /// Civil day of the site.
    pub date: civil::Date,
    /// Name of the sky.
    pub sky: String,
    /// Frames a second.
    pub frames_per_s: u32,
    /// Still frames before anything moves [s], for a title; at most a third of the film.
    pub opening_s: f32,
    /// Length with the opening [s]; walking speed, or a day in [`DAY_S`], where left out.
    pub seconds: Option<f32>,
}

/// One frame.
#[derive(Clone, Debug)]
pub struct Frame {
    /// The eye.
    pub eye: Station,
    /// Way that the eye has gone since the first frame [m].
    pub travel_m: f32,
    /// Sun and time.
    pub instant: Instant,
}

/// All frames.
#[derive(Clone, Debug)]
pub struct Script {
    /// What was asked for.
    pub request: FilmRequest,
    /// Frames before anything moves.
    pub opening: usize,
    /// The frames.
    pub frames: Vec<Frame>,
    /// Clock times that were not as asked, in words.
    pub notes: Vec<String>,
}

/// Why a film cannot be laid out.
#[derive(Debug, thiserror::Error)]
pub enum ScriptError {
    /// No such walk.
    #[error("the room has no walk to film along")]
    NoWalk,
    /// The length is out of range.
    #[error("a film of {seconds} s cannot be made: {SHORTEST_S} to {LONGEST_S} s can")]
    Seconds {
        /// As asked.
        seconds: f32,
    },
    /// The rate is out of range.
    #[error("{frames_per_s} frames a second cannot be made: 1 to 120 can")]
    Rate {
        /// As asked.
        frames_per_s: u32,
    },
    /// The end comes before the beginning.
    #[error("the day of the film ends before it begins")]
    Span,
    /// A clock time is not one instant.
    #[error(transparent)]
    Time(#[from] TimeError),
}

impl Script {
    /// Length [s].
    pub fn seconds(&self) -> f32 {
        self.frames.len() as f32 / self.request.frames_per_s as f32
    }

    /// Whether the clock stands still.
    pub fn clock_stands(&self) -> bool {
        matches!(self.request.kind, FilmKind::Walk { .. })
    }
}

/// Lays out a film.
///
/// # Errors
/// A walk, length, rate or clock time that is none.
pub fn script(room: &BuiltRoom, request: FilmRequest) -> Result<Script, ScriptError> {
    let walk = &room
        .walks
        .get(request.walk)
        .ok_or(ScriptError::NoWalk)?
        .walk;
    if !(1..=120).contains(&request.frames_per_s) {
        return Err(ScriptError::Rate {
            frames_per_s: request.frames_per_s,
        });
    }
    let length_m = walk_length_m(walk);
    let own_s = request.opening_s
        + match request.kind {
            FilmKind::Day { .. } => DAY_S,
            _ => length_m / walk.speed_m_s.max(0.05) + START_S + 2.0 * HOLD_S,
        };
    let seconds = request.seconds.unwrap_or(own_s.min(LONGEST_S));
    if !(SHORTEST_S..=LONGEST_S).contains(&seconds) {
        return Err(ScriptError::Seconds { seconds });
    }
    let rate = request.frames_per_s as f32;
    let count = ((seconds * rate).round() as usize).max(1);
    let opening = (request.opening_s.clamp(0.0, seconds / 3.0) * rate).round() as usize;
    let moving = count - opening.min(count - 1);
    let opening = count - moving;
    let begin_end = match request.kind {
        FilmKind::Walk { at_min } => (at_min, at_min),
        FilmKind::Day {
            from_min, to_min, ..
        }
        | FilmKind::WalkThroughDay { from_min, to_min } => (from_min, to_min),
    };
    if begin_end.0 > begin_end.1 {
        return Err(ScriptError::Span);
    }
    let mut notes = Vec::new();
    let mut moment = |minutes| clock_time(room, request.date, minutes, &mut notes);
    let (begin, end) = (moment(begin_end.0)?, moment(begin_end.1)?);
    let distance = |frame: usize| match request.kind {
        FilmKind::Day { stand_m, .. } => stand_m.clamp(0.0, length_m),
        _ => eased(frame.saturating_sub(opening), moving, moving as f32 / rate) * length_m,
    };
    let eyes = eyes(room, &request, opening, (0..count).map(distance));
    let mut travel_m = 0.0;
    let mut frames: Vec<Frame> = Vec::with_capacity(count);
    for (k, eye) in eyes.into_iter().enumerate() {
        if let Some(before) = frames.last() {
            travel_m += before.eye.eye.distance(eye.eye);
        }
        let share = k.saturating_sub(opening) as f64 / (moving - 1).max(1) as f64;
        let instant = match frames.last() {
            Some(before) if begin == end => before.instant.clone(),
            _ => Instant::at(between(&begin, &end, share), room),
        };
        frames.push(Frame {
            eye,
            travel_m,
            instant,
        });
    }
    Ok(Script {
        request,
        opening,
        frames,
        notes,
    })
}

/// The instant of a clock time of a day; of a reading that the clock shows twice, the first; of one that it skips, the
/// next that exists. 24:00 is the last minute of the day.
fn clock_time(
    room: &BuiltRoom,
    date: civil::Date,
    minutes: u32,
    notes: &mut Vec<String>,
) -> Result<ZonedDateTime, TimeError> {
    let minutes = minutes.min(24 * 60 - 1);
    let time = civil::Time::constant((minutes / 60) as i8, (minutes % 60) as i8, 0, 0);
    match resolve(date.to_datetime(time), &room.file.site.zone) {
        Err(TimeError::Repeated { local, first, .. }) => {
            notes.push(format!("{local} exists twice: the first is taken"));
            Ok(first.0)
        }
        Err(TimeError::Skipped { local, next, .. }) => {
            notes.push(format!("{local} does not exist: {next} is taken"));
            Ok(next.0)
        }
        other => other,
    }
}

/// A moment between two, to the second.
fn between(begin: &ZonedDateTime, end: &ZonedDateTime, share: f64) -> ZonedDateTime {
    let whole_s = end.timestamp().as_second() - begin.timestamp().as_second();
    let seconds = (whole_s as f64 * share).round() as i64;
    begin
        .checked_add(jiff::SignedDuration::from_secs(seconds))
        .unwrap_or_else(|_| begin.clone())
}

/// Share of the way at a frame: still, then faster, even, slower, still; its speed has no jumps.
fn eased(frame: usize, count: usize, seconds: f32) -> f32 {
    if count < 2 {
        return 0.0;
    }
    let hold_s = HOLD_S.min(0.1 * seconds);
    let moving_s = (seconds - 2.0 * hold_s).max(1e-3);
    let start_s = START_S.min(0.25 * moving_s);
    let t = frame as f32 / (count - 1) as f32 * seconds - hold_s;
    let t = t.clamp(0.0, moving_s);
    // Speed rises as 0.5 - 0.5 cos; what it has covered after x of the start:
    let risen = |x: f32| {
        let angle = std::f32::consts::PI * x / start_s;
        0.5 * x - 0.5 * start_s / std::f32::consts::PI * angle.sin()
    };
    let whole = moving_s - start_s;
    let gone = if t < start_s {
        risen(t)
    } else if t > moving_s - start_s {
        whole - risen(moving_s - t)
    } else {
        t - 0.5 * start_s
    };
    (gone / whole).clamp(0.0, 1.0)
}

/// Eyes at distances along the walk, corners rounded and turns slowed.
fn eyes(
    room: &BuiltRoom,
    request: &FilmRequest,
    opening: usize,
    distances: impl Iterator<Item = f32>,
) -> Vec<Station> {
    let walk = &room.walks[request.walk].walk;
    let length_m = walk_length_m(walk);
    let centre = room.piece.centre;
    let mut stations: Vec<Station> = distances
        .map(|distance_m| {
            // The ends stay where they are; between them the eye takes the mean of the path about it.
            let half_m = CORNER_M.min(distance_m).min(length_m - distance_m).max(0.0);
            const POINTS: i32 = 8;
            let (mut eye, mut ahead, mut weights) = (Vec3::ZERO, Vec3::ZERO, 0.0);
            for k in -POINTS..=POINTS {
                let x = k as f32 / (POINTS as f32 + 0.5);
                let weight = 1.0 - x * x;
                let at = station_at(walk, distance_m + x * half_m, centre);
                eye += at.eye * weight;
                ahead += at.gaze_dir * weight;
                weights += weight;
            }
            let eye = eye / weights;
            let gaze = match walk.look {
                Look::Piece => centre - eye,
                Look::At(x, y, h) => crate::room::world(x, y, h) - eye,
                Look::Ahead => ahead,
            };
            let plain = station_at(walk, distance_m, centre);
            Station {
                eye,
                gaze_dir: gaze.normalize_or(plain.gaze_dir),
                distance_m,
            }
        })
        .collect();
    // Nothing moves behind a title.
    let (before, moving) = stations.split_at_mut(opening);
    slow_turns(moving, request.frames_per_s);
    if let Some(first) = moving.first() {
        for station in before {
            station.gaze_dir = first.gaze_dir;
        }
    }
    stations
}

/// Takes the mean of the headings over ever longer times until no frame turns too fast. Headings are followed the short
/// way round from frame to frame, so that a turn about is a turn and not a flip.
fn slow_turns(stations: &mut [Station], frames_per_s: u32) {
    let mut heading = 0.0_f32;
    let given: Vec<[f32; 2]> = stations
        .iter()
        .enumerate()
        .map(|(k, station)| {
            let d = station.gaze_dir;
            let yaw = d.x.atan2(-d.z);
            let away = yaw - heading;
            let turn = std::f32::consts::TAU;
            heading = if k == 0 {
                yaw
            } else {
                heading + away - turn * (away / turn).round()
            };
            [heading, d.y.clamp(-1.0, 1.0).asin()]
        })
        .collect();
    let direction = |[yaw, pitch]: [f32; 2]| {
        let level = pitch.cos();
        Vec3::new(yaw.sin() * level, pitch.sin(), -yaw.cos() * level)
    };
    let most = MOST_TURN_RAD_S / frames_per_s as f32;
    let mut half = (0.25 * frames_per_s as f32) as usize;
    let last = given.len().saturating_sub(1);
    loop {
        let smooth: Vec<Vec3> = (0..given.len())
            .map(|k| {
                let (mut sum, mut weights) = ([0.0_f32; 2], 0.0);
                for j in -(half as i64)..=half as i64 {
                    let x = j as f32 / (half as f32 + 1.0);
                    let at = (k as i64 + j).clamp(0, last as i64) as usize;
                    let weight = 0.5 + 0.5 * (std::f32::consts::PI * x).cos();
                    sum = [0, 1].map(|i| sum[i] + given[at][i] * weight);
                    weights += weight;
                }
                direction(sum.map(|s| s / weights))
            })
            .collect();
        let fastest = smooth
            .windows(2)
            .map(|w| w[0].angle_between(w[1]))
            .fold(0.0, f32::max);
        if fastest <= most || half > 4 * given.len() {
            for (station, dir) in stations.iter_mut().zip(smooth) {
                station.gaze_dir = dir.normalize_or(station.gaze_dir);
            }
            return;
        }
        half = half * 5 / 4 + 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::room::{NoFiles, build, parse_room};

    fn hall() -> BuiltRoom {
        let text = include_str!("../../rooms/ferry-hall.ron");
        build(parse_room(text, "hall").unwrap(), &mut NoFiles).unwrap()
    }

    fn request(kind: FilmKind) -> FilmRequest {
        FilmRequest {
            walk: 0,
            kind,
            date: "2026-03-20".parse().unwrap(),
            sky: "clear".into(),
            frames_per_s: 30,
            opening_s: 0.0,
            seconds: None,
        }
    }

    #[test]
    fn nothing_moves_during_the_opening() {
        let room = hall();
        let mut wish = request(FilmKind::WalkThroughDay {
            from_min: 600,
            to_min: 700,
        });
        wish.opening_s = 3.0;
        let film = script(&room, wish).unwrap();
        let first = &film.frames[0];
        for frame in &film.frames[..90] {
            assert_eq!(frame.eye, first.eye);
            assert_eq!(frame.instant.civil, first.instant.civil);
        }
        assert!(film.frames[150].travel_m > 0.1);
        assert_eq!(film.frames.last().unwrap().instant.clock_min, 700);
    }

    #[test]
    fn the_walk_is_walked_at_its_speed_from_end_to_end_without_jerks() {
        let room = hall();
        let film = script(&room, request(FilmKind::Walk { at_min: 600 })).unwrap();
        let walk = &room.walks[0].walk;
        let (first, last) = (&film.frames[0].eye, &film.frames.last().unwrap().eye);
        let start = station_at(walk, 0.0, room.piece.centre).eye;
        let end = station_at(walk, 1e9, room.piece.centre).eye;
        assert!(first.eye.distance(start) < 1e-4 && last.eye.distance(end) < 1e-3);
        let steps: Vec<f32> = film
            .frames
            .windows(2)
            .map(|w| (w[1].eye.eye - w[0].eye.eye).length() * 30.0)
            .collect();
        let fastest = steps.iter().copied().fold(0.0, f32::max);
        assert!(
            (fastest / walk.speed_m_s - 1.0).abs() < 0.1,
            "{fastest} m/s"
        );
        // Starting takes longer than a second: at most the speed over 36 frames, twice that at its steepest.
        let jerk = steps
            .windows(2)
            .map(|w| (w[1] - w[0]).abs())
            .fold(0.0, f32::max);
        assert!(jerk < 0.07, "{jerk} m/s from frame to frame");
    }

    /// Source: traps: headings 350 and 10 degrees turn 20 degrees; two points 5 cm apart with a quarter turn.
    #[test]
    fn a_sharp_corner_is_turned_at_a_bounded_speed() {
        let mut room = hall();
        let walk = &mut room.walks[0].walk;
        walk.points_m = vec![(2.0, 2.0), (8.0, 2.0), (8.0, 2.05), (2.0, 2.1)];
        walk.look = Look::Ahead;
        let film = script(&room, request(FilmKind::Walk { at_min: 600 })).unwrap();
        let fastest = film
            .frames
            .windows(2)
            .map(|w| w[0].eye.gaze_dir.angle_between(w[1].eye.gaze_dir) * 30.0)
            .fold(0.0, f32::max);
        assert!(fastest <= MOST_TURN_RAD_S * 1.001, "{fastest} rad/s");
        assert!(fastest > 0.5 * MOST_TURN_RAD_S, "{fastest} rad/s");
    }

    #[test]
    fn a_day_at_one_place_runs_evenly_and_stands_still() {
        let room = hall();
        let kind = FilmKind::Day {
            stand_m: 5.0,
            from_min: 420,
            to_min: 1200,
        };
        let film = script(&room, request(kind)).unwrap();
        assert_eq!(film.frames.len(), (DAY_S * 30.0) as usize);
        let times: Vec<i64> = film
            .frames
            .iter()
            .map(|f| f.instant.civil.timestamp().as_second())
            .collect();
        assert_eq!(times[times.len() - 1] - times[0], 780 * 60);
        let steps: Vec<i64> = times.windows(2).map(|w| w[1] - w[0]).collect();
        assert!(steps.iter().max().unwrap() - steps.iter().min().unwrap() <= 1);
        assert!(film.frames.iter().all(|f| f.travel_m == 0.0));
    }

    #[test]
    fn one_frame_and_bad_wishes() {
        let room = hall();
        let mut wish = request(FilmKind::Walk { at_min: 600 });
        wish.seconds = Some(0.02);
        assert_eq!(script(&room, wish.clone()).unwrap().frames.len(), 1);
        for seconds in [0.0, -1.0, f32::NAN, 1e9] {
            wish.seconds = Some(seconds);
            assert!(matches!(
                script(&room, wish.clone()),
                Err(ScriptError::Seconds { .. })
            ));
        }
        wish.seconds = None;
        wish.frames_per_s = 0;
        assert!(matches!(
            script(&room, wish.clone()),
            Err(ScriptError::Rate { .. })
        ));
        wish.walk = 99;
        assert!(matches!(script(&room, wish), Err(ScriptError::NoWalk)));
    }
}
