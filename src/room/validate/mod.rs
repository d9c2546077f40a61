//! Checks beyond shape: ranges, names, geometry. All problems together, each at its place.

mod advice;
mod fixtures;
mod openings;
mod study;
mod surfaces;
mod walks;

use std::collections::BTreeSet;

use glam::Vec2;

use super::{
    RoomError, RoomFile, inline_piece,
    parse::{ProblemList, current, without_mark},
    schema::{PlanPoint, Space},
};
use crate::geometry::polygon_area_m2;
use crate::spelling::nearest;

/// Farthest place from the plan's origin [m].
const MOST_DISTANCE_M: f32 = 5000.0;

/// Least height of a space [m].
const LEAST_HEIGHT_M: f32 = 0.5;

struct Check<'a> {
    room: &'a RoomFile,
    list: ProblemList,
}

/// Checks a parsed room against its text.
///
/// # Errors
/// [`RoomError::Problems`] with all that was found.
pub fn validate(room: &RoomFile, text: &str, name: &str) -> Result<(), RoomError> {
    let mut check = Check {
        room,
        list: ProblemList::new(name, &current(without_mark(text))),
    };
    check.repeated();
    check.site();
    check.finishes();
    check.glazings();
    check.materials();
    check.spaces();
    check.openings();
    check.rooflights();
    check.solids();
    check.fixture_types();
    check.fixtures();
    check.walks();
    check.tile_changes();
    check.placements();
    inline_piece::check(room, &mut check.list);
    check.limits();
    check.study();
    check.advice();
    check.list.finish()
}

/// A number as the file gives it: most fields are single precision, and show their shortest form.
fn as_written(value: f64) -> String {
    let single = value as f32;
    if f64::from(single) == value {
        single.to_string()
    } else {
        value.to_string()
    }
}

fn outline(points: &[PlanPoint]) -> Vec<Vec2> {
    points.iter().map(|p| Vec2::new(p.0, p.1)).collect()
}

/// Whether two edges of a closed outline cross.
fn crosses_itself(points: &[Vec2]) -> Option<(usize, usize)> {
    let n = points.len();
    let side = |a: Vec2, b: Vec2, c: Vec2| (b - a).perp_dot(c - a);
    for i in 0..n {
        for j in i + 2..n {
            if i == 0 && j == n - 1 {
                continue;
            }
            let (a, b, c, d) = (
                points[i],
                points[(i + 1) % n],
                points[j],
                points[(j + 1) % n],
            );
            if side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0 {
                return Some((i, j));
            }
        }
    }
    None
}

impl Check<'_> {
    fn range(&mut self, path: &str, value: f64, low: f64, high: f64) {
        if !(low..=high).contains(&value) {
            let what = path
                .rsplit(['.', '['])
                .next()
                .unwrap_or(path)
                .trim_end_matches(']')
                .to_owned();
            self.list.at(
                path,
                format!("{what} is {}", as_written(value)),
                Some(format!("it lies between {low} and {high}")),
            );
        }
    }

    fn share(&mut self, path: &str, value: f32) {
        self.range(path, f64::from(value), 0.0, 1.0);
    }

    /// Coordinates and heights: numbers within 5 km.
    fn place(&mut self, path: &str, values: &[f32]) {
        let near = -MOST_DISTANCE_M..=MOST_DISTANCE_M;
        if let Some(value) = values.iter().find(|v| !near.contains(*v)) {
            self.list.at(
                path,
                format!("no place in a building is at {value} m"),
                Some("coordinates and heights are finite numbers within 5 km".into()),
            );
        }
    }

    /// Keys that a map gives twice; the reader would keep the last.
    fn repeated(&mut self) {
        for (path, place) in self.list.located().repeated().to_vec() {
            let (section, name) = path.split_once('[').unwrap_or((&path, ""));
            let message = format!(
                "the name {} is used twice in {section}",
                name.trim_end_matches(']')
            );
            self.list.push(
                place,
                message,
                Some("names are unique in their list".into()),
            );
        }
    }

    fn known<'k>(
        &mut self,
        path: &str,
        kind: &str,
        name: &str,
        known: impl Iterator<Item = &'k str> + Clone,
    ) {
        if known.clone().any(|k| k == name) {
            return;
        }
        let near = nearest(name, known.clone())
            .map(|n| format!("did you mean {n:?}? "))
            .unwrap_or_default();
        let all: Vec<&str> = known.collect();
        let all = if all.is_empty() {
            format!("the file defines no {kind}")
        } else {
            format!("known: {}", all.join(", "))
        };
        self.list.at(
            path,
            format!("no {kind} is named {name:?}"),
            Some(format!("{near}{all}")),
        );
    }

    fn finish(&mut self, path: &str, name: &str) {
        let room = self.room;
        self.known(
            path,
            "finish",
            name,
            room.finishes.keys().map(String::as_str),
        );
    }

    /// Whether a space has a wall; told when not, unless its outline is too short to have any (told already).
    fn wall_exists(&mut self, path: &str, space: &Space, wall: usize) -> bool {
        let count = space.outline_m.len();
        if count < 3 {
            return false;
        }
        if wall >= count {
            let message = format!("space {:?} has no wall {wall}", space.name);
            let help = format!("walls are numbered 0 to {}", count - 1);
            self.list.at(path, message, Some(help));
        }
        wall < count
    }

    fn unique<'n>(&mut self, section: &str, names: impl Iterator<Item = &'n str>) {
        let mut seen = BTreeSet::new();
        for (i, name) in names.enumerate() {
            if !seen.insert(name) {
                let message = format!("the name {name:?} is used twice in {section}");
                self.list.at(
                    &format!("{section}[{i}].name"),
                    message,
                    Some("names are unique in their list".into()),
                );
            }
        }
    }

    fn polygon(&mut self, path: &str, points: &[PlanPoint]) -> bool {
        let plan = outline(points);
        if points.len() < 3 || polygon_area_m2(&plan).abs() < 1e-3 {
            let message = format!("the outline of {} corners encloses no area", points.len());
            self.list.at(
                path,
                message,
                Some("give at least three corners, not all on one line".into()),
            );
            return false;
        }
        if points.len() > 512
            || plan
                .iter()
                .any(|p| !p.is_finite() || p.abs().max_element() > MOST_DISTANCE_M)
        {
            self.list.at(
                path,
                "the outline is too large".into(),
                Some("at most 512 corners, within 5 km".into()),
            );
            return false;
        }
        let doubled =
            (0..plan.len()).find(|i| plan[*i].distance(plan[(i + 1) % plan.len()]) < 1e-3);
        if let Some(i) = doubled {
            let message = format!("corners {i} and {} are one place", (i + 1) % plan.len());
            self.list.at(
                &format!("{path}[{i}]"),
                message,
                Some("leave one of them out; the last corner joins the first by itself".into()),
            );
            return false;
        }
        if let Some((i, j)) = crosses_itself(&plan) {
            let message = format!("the outline crosses itself: edges {i} and {j}");
            self.list.at(
                path,
                message,
                Some("list the corners in order round the outline".into()),
            );
            return false;
        }
        true
    }
}
