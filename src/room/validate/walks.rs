//! Walks, and where the piece hangs.

use glam::Vec2;

use super::Check;
use crate::room::{
    clock_min,
    schema::{Look, Support, Walk},
    wall,
};

/// Largest number of stations that a walk may have.
const MOST_STATIONS: f32 = 2000.0;

impl Check<'_> {
    pub(super) fn walks(&mut self) {
        let room = self.room;
        if room.walks.is_empty() {
            self.list.at(
                "walks",
                "the room has no walk".into(),
                Some("describe at least one path of a visitor".into()),
            );
        }
        self.unique("walks", room.walks.iter().map(|o| o.name.as_str()));
        for (i, walk) in room.walks.iter().enumerate() {
            let path = format!("walks[{i}]");
            self.walk(&path, walk);
        }
    }

    fn walk(&mut self, path: &str, walk: &Walk) {
        let length: f32 = walk
            .points_m
            .windows(2)
            .map(|w| Vec2::new(w[1].0 - w[0].0, w[1].1 - w[0].1).length())
            .sum();
        for (k, (x, y)) in walk.points_m.iter().enumerate() {
            self.place(&format!("{path}.points_m[{k}]"), &[*x, *y]);
        }
        for (k, height_m) in walk.floors_m.iter().enumerate() {
            self.place(&format!("{path}.floors_m[{k}]"), &[*height_m]);
        }
        self.place(&format!("{path}.floor_m"), &[walk.floor_m]);
        for (k, mark) in walk.marks.iter().enumerate() {
            self.place(&format!("{path}.marks[{k}].at_m"), &[mark.at_m]);
            if mark.at_m > length + 0.05 || mark.at_m < 0.0 {
                let message = format!(
                    "mark {:?} lies at {} m of a walk of {length:.1} m",
                    mark.name, mark.at_m
                );
                let help = "marks lie between the start and the end of their walk".to_owned();
                self.list
                    .at(&format!("{path}.marks[{k}].at_m"), message, Some(help));
            }
        }
        if walk.points_m.len() < 2 || length <= 0.05 {
            self.list.at(
                &format!("{path}.points_m"),
                format!("walk {:?} goes nowhere", walk.name),
                Some("give at least two different points".into()),
            );
        }
        if !walk.floors_m.is_empty() && walk.floors_m.len() != walk.points_m.len() {
            let message = format!(
                "{} heights for {} points",
                walk.floors_m.len(),
                walk.points_m.len()
            );
            self.list.at(
                &format!("{path}.floors_m"),
                message,
                Some("give one height a point, or none".into()),
            );
        }
        self.pace(path, walk, length);
    }

    /// How a walk of a length [m] is walked.
    fn pace(&mut self, path: &str, walk: &Walk, length: f32) {
        self.range(&format!("{path}.eye_m"), f64::from(walk.eye_m), 0.4, 2.5);
        self.range(
            &format!("{path}.speed_m_s"),
            f64::from(walk.speed_m_s),
            0.05,
            5.0,
        );
        self.range(
            &format!("{path}.step_m"),
            f64::from(walk.step_m),
            0.05,
            10.0,
        );
        self.range(
            &format!("{path}.age_years"),
            f64::from(walk.age_years),
            5.0,
            100.0,
        );
        self.range(&format!("{path}.share"), f64::from(walk.share), 0.0, 1e9);
        if length.is_finite() && walk.step_m >= 0.05 && length / walk.step_m > MOST_STATIONS {
            self.list.at(
                &format!("{path}.step_m"),
                format!(
                    "walk {:?} would have {:.0} stations",
                    walk.name,
                    length / walk.step_m
                ),
                Some(format!("at most {MOST_STATIONS}: choose a longer step")),
            );
        }
        if let Some((from, to)) = &walk.open {
            let times = (clock_min(from), clock_min(to));
            if !matches!(times, (Some(a), Some(b)) if a < b) {
                self.list.at(
                    &format!("{path}.open"),
                    format!("{from:?} to {to:?} is no span of hours"),
                    Some("two clock times like (\"09:00\", \"18:00\")".into()),
                );
            }
        }
        if let Look::At(x, y, h) = walk.look {
            self.place(&format!("{path}.look"), &[x, y, h]);
        }
    }

    pub(super) fn placements(&mut self) {
        let room = self.room;
        let all = std::iter::once(("placement".to_owned(), &room.placement)).chain(
            room.candidates
                .iter()
                .enumerate()
                .map(|(i, c)| (format!("candidates[{i}]"), c)),
        );
        for (path, placement) in all {
            self.range(
                &format!("{path}.centre_m"),
                f64::from(placement.centre_m),
                -10.0,
                100.0,
            );
            let turn_deg = f64::from(placement.turn_deg);
            self.range(&format!("{path}.turn_deg"), turn_deg, -360.0, 360.0);
            if let Support::Stand {
                at_m,
                facing_deg,
                lean_deg,
            } = &placement.on
            {
                self.place(&format!("{path}.on.at_m"), &[at_m.0, at_m.1]);
                let facing_deg = f64::from(*facing_deg);
                self.range(&format!("{path}.on.facing_deg"), facing_deg, -360.0, 360.0);
                let lean_deg = f64::from(*lean_deg);
                self.range(&format!("{path}.on.lean_deg"), lean_deg, -90.0, 90.0);
            }
            if let Support::Wall {
                space,
                wall,
                along_m,
            } = &placement.on
            {
                self.known(
                    &format!("{path}.on.space"),
                    "space",
                    space,
                    room.spaces.iter().map(|s| s.name.as_str()),
                );
                let Some(space) = room.spaces.iter().find(|s| &s.name == space) else {
                    continue;
                };
                if self.wall_exists(&format!("{path}.on.wall"), space, *wall) {
                    let length = wall::wall(space, *wall).length_m;
                    self.range(
                        &format!("{path}.on.along_m"),
                        f64::from(*along_m),
                        0.0,
                        f64::from(length),
                    );
                }
            }
        }
    }
}
