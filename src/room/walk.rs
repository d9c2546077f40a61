//! Walks to stations.

use glam::{Vec2, Vec3};

use super::schema::{Look, Walk};
use crate::scene::Station;

/// Minutes after midnight of "HH:MM"; `None` when it is no clock time.
pub(crate) fn clock_min(text: &str) -> Option<u32> {
    let (hour, minute) = text.split_once(':')?;
    let (hour, minute): (u32, u32) = (hour.trim().parse().ok()?, minute.trim().parse().ok()?);
    (hour < 24 && minute < 60 || (hour == 24 && minute == 0)).then_some(hour * 60 + minute)
}

/// Whether hours (from, to as "HH:MM"; past midnight where from is later) include a clock time [min after midnight]; always when left out
/// or when they are none.
pub(crate) fn is_lit(hours: Option<&(String, String)>, clock: u32) -> bool {
    let times = hours.map(|(from, to)| (clock_min(from), clock_min(to)));
    let Some((Some(from), Some(to))) = times else {
        return true;
    };
    if from <= to {
        (from..=to).contains(&clock)
    } else {
        clock >= from || clock <= to
    }
}

/// World position [m] of a plan point at a height.
pub fn world(x: f32, y: f32, height_m: f32) -> Vec3 {
    Vec3::new(x, height_m, -y)
}

/// Stations every `step_m` from the start, and one at the end unless the last is within a fifth of a step.
pub(super) fn stations(walk: &Walk, piece_centre: Vec3) -> Vec<Station> {
    let total = walk_length_m(walk);
    let steps = (total / walk.step_m + 1e-4).floor() as usize;
    let mut distances: Vec<f32> = (0..=steps).map(|i| i as f32 * walk.step_m).collect();
    if total - steps as f32 * walk.step_m > 0.2 * walk.step_m {
        distances.push(total);
    }
    distances
        .into_iter()
        .map(|distance_m| station_at(walk, distance_m, piece_centre))
        .collect()
}

/// Length of a walk [m].
pub fn walk_length_m(walk: &Walk) -> f32 {
    walk.points_m
        .windows(2)
        .map(|w| Vec2::from(w[0]).distance(Vec2::from(w[1])))
        .sum()
}

/// The eye at a distance from the walk's start, held between its ends.
pub fn station_at(walk: &Walk, distance_m: f32, piece_centre: Vec3) -> Station {
    let points: Vec<Vec2> = walk.points_m.iter().map(|p| Vec2::new(p.0, p.1)).collect();
    let lengths: Vec<f32> = points.windows(2).map(|w| w[0].distance(w[1])).collect();
    let Along {
        at,
        ahead,
        segment,
        share,
    } = along(&points, &lengths, distance_m.max(0.0));
    let floor = |i: usize| walk.floors_m.get(i).copied().unwrap_or(walk.floor_m);
    let floor_m = floor(segment) * (1.0 - share) + floor(segment + 1) * share;
    let eye = world(at.x, at.y, floor_m + walk.eye_m);
    let ahead = world(ahead.x, ahead.y, 0.0);
    let gaze = match walk.look {
        Look::Piece => piece_centre - eye,
        Look::Ahead => ahead,
        Look::At(x, y, h) => world(x, y, h) - eye,
    };
    Station {
        eye,
        gaze_dir: gaze.normalize_or(ahead.normalize_or(Vec3::X)),
        distance_m,
    }
}

/// A place on a polyline.
struct Along {
    /// Point [m].
    at: Vec2,
    /// Direction ahead, unit.
    ahead: Vec2,
    /// Index of the segment.
    segment: usize,
    /// Share of the segment that is behind, 0..=1.
    share: f32,
}

/// The place of a polyline at a distance from its start.
fn along(points: &[Vec2], lengths: &[f32], distance_m: f32) -> Along {
    let mut rest = distance_m;
    for (segment, length) in lengths.iter().enumerate() {
        if rest <= *length + 1e-4 || segment + 1 == lengths.len() {
            let ahead = (points[segment + 1] - points[segment]).normalize_or(Vec2::X);
            let share = (rest / length.max(1e-6)).clamp(0.0, 1.0);
            return Along {
                at: points[segment] + ahead * (share * length),
                ahead,
                segment,
                share,
            };
        }
        rest -= length;
    }
    Along {
        at: points.first().copied().unwrap_or_default(),
        ahead: Vec2::X,
        segment: 0,
        share: 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clock_times_are_read_or_refused() {
        assert_eq!(clock_min("09:30"), Some(570));
        assert_eq!(clock_min("24:00"), Some(1440));
        for bad in ["9", "25:00", "10:60", "", "a:b", "24:01"] {
            assert_eq!(clock_min(bad), None, "{bad}");
        }
    }
}
