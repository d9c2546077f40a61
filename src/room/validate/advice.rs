//! What advice may change, and its weights.

use super::{Check, outline};
use crate::{
    geometry::polygon_area_m2,
    room::schema::{LampPlace, Turns},
};

/// Longest lists of turns and of instants.
const MOST_ENTRIES: usize = 24;

impl Check<'_> {
    pub(super) fn advice(&mut self) {
        self.hang_choices();
        self.lamp_choices();
        self.grain_choices();
        let weights = self.room.advice.weights;
        for (field, value) in [
            ("alive", weights.alive),
            ("shift", weights.shift),
            ("dead", weights.dead),
            ("glaring", weights.glaring),
            ("dose", weights.dose),
        ] {
            let path = format!("advice.weights.{field}");
            self.range(&path, f64::from(value), 0.0, 100.0);
        }
    }

    fn hang_choices(&mut self) {
        let room = self.room;
        let hang = &room.advice.hang;
        for (i, (space, wall)) in hang.walls.iter().enumerate() {
            let path = format!("advice.hang.walls[{i}]");
            let names = room.spaces.iter().map(|s| s.name.as_str());
            self.known(&path, "space", space, names);
            if let Some(space) = room.spaces.iter().find(|s| &s.name == space) {
                self.wall_exists(&path, space, *wall);
            }
        }
        if let Some((low, high)) = hang.heights_m {
            let path = "advice.hang.heights_m";
            self.place(path, &[low, high]);
            if low > high {
                self.list.at(
                    path,
                    format!("the heights from {low} m to {high} m are empty"),
                    Some("the lowest middle of the piece comes first".into()),
                );
            }
        }
        self.count("advice.hang.turns_deg", hang.turns_deg.len());
        for (i, turn) in hang.turns_deg.iter().enumerate() {
            let path = format!("advice.hang.turns_deg[{i}]");
            self.range(&path, f64::from(*turn), -360.0, 360.0);
        }
        if let Some(lean) = hang.leaning_deg {
            self.range("advice.hang.leaning_deg", f64::from(lean), 0.5, 45.0);
        }
        for (i, stand) in hang.stands_m.iter().enumerate() {
            self.place(&format!("advice.hang.stands_m[{i}]"), &[stand.0, stand.1]);
        }
    }

    fn lamp_choices(&mut self) {
        let room = self.room;
        let lamps = &room.advice.lamps;
        let kinds = room.fixture_types.keys().map(String::as_str);
        for (i, kind) in lamps.stock.iter().enumerate() {
            let path = format!("advice.lamps.stock[{i}]");
            self.known(&path, "fixture kind", kind, kinds.clone());
        }
        for name in lamps.existing.keys() {
            let path = format!("advice.lamps.existing[{name:?}]");
            let known = room.fixtures.iter().map(|f| f.name.as_str());
            self.known(&path, "fixture", name, known);
        }
        self.range("advice.lamps.most", lamps.most as f64, 0.0, 24.0);
        let names = lamps.places.iter().map(LampPlace::name);
        self.unique("advice.lamps.places", names);
        for (i, place) in lamps.places.iter().enumerate() {
            let path = format!("advice.lamps.places[{i}]");
            match place {
                LampPlace::Track { from_m, to_m, .. } => {
                    self.place(&format!("{path}.from_m"), &[from_m.0, from_m.1, from_m.2]);
                    self.place(&format!("{path}.to_m"), &[to_m.0, to_m.1, to_m.2]);
                }
                LampPlace::Point { at_m, .. } => {
                    self.place(&format!("{path}.at_m"), &[at_m.0, at_m.1, at_m.2]);
                }
                LampPlace::Zone {
                    outline_m,
                    height_m,
                    ..
                } => {
                    self.place(&format!("{path}.height_m"), &[*height_m]);
                    for p in outline_m {
                        self.place(&format!("{path}.outline_m"), &[p.0, p.1]);
                    }
                    if polygon_area_m2(&outline(outline_m)).abs() < 1e-4 {
                        self.list.at(
                            &format!("{path}.outline_m"),
                            format!("the zone {:?} has no area", place.name()),
                            Some("give at least three corners on the plan".into()),
                        );
                    }
                }
            }
        }
        if !(1..=MOST_ENTRIES).contains(&lamps.at.len()) {
            self.count("advice.lamps.at", lamps.at.len());
        }
        for (i, (time, sky)) in lamps.at.iter().enumerate() {
            let path = format!("advice.lamps.at[{i}]");
            if time.parse::<jiff::civil::DateTime>().is_err() {
                self.list.at(
                    &path,
                    format!("{time:?} is no civil time"),
                    Some("write times as \"2026-12-21T18:00\"".into()),
                );
            }
            self.known(&path, "sky", sky, crate::sky::SKY_NAMES.iter().copied());
        }
        if let Some(lx) = lamps.most_lx {
            self.range("advice.lamps.most_lx", f64::from(lx), 1.0, 1e6);
        }
        let (low, high) = lamps.glow;
        if !(low >= 0.0 && high > low && high.is_finite()) {
            self.list.at(
                "advice.lamps.glow",
                format!("the ratios from {low} to {high} are empty"),
                Some("the least ratio comes first, e.g. (1.5, 15)".into()),
            );
        }
    }

    fn grain_choices(&mut self) {
        let room = self.room;
        let grain = &room.advice.grain;
        if let Turns::Steps(step) = grain.turns {
            self.range("advice.grain.turns", f64::from(step), 1.0, 180.0);
        }
        if let Some(walk) = &grain.walk {
            let names = room.walks.iter().map(|w| w.name.as_str());
            self.known("advice.grain.walk", "walk", walk, names);
        }
    }

    fn count(&mut self, path: &str, count: usize) {
        if !(1..=MOST_ENTRIES).contains(&count) {
            let what = path.rsplit('.').next().unwrap_or(path);
            self.list.at(
                path,
                format!("{what} has {count} entries"),
                Some(format!("give 1 to {MOST_ENTRIES}, or leave the field out")),
            );
        }
    }
}
