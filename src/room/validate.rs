//! Checks beyond shape: ranges, names, geometry. All problems together, each at its place.

use std::collections::BTreeSet;

use glam::Vec2;

use super::{
    RoomError, RoomFile, inline_piece,
    parse::{ProblemList, current, nearest, without_mark},
    schema::{
        Aim, ApertureFile, Ceiling, Filling, FixtureLight, GlazingFile, Look, Opening, PlanPoint,
        Support, WindowFilling,
    },
    shell,
};
use crate::{
    geometry::{polygon_area_m2, polygon_contains},
    material::{Glazing, MaterialError},
};

/// Farthest place from the plan's origin [m].
const MOST_DISTANCE_M: f32 = 5000.0;

/// Least height of a space [m].
const LEAST_HEIGHT_M: f32 = 0.5;

/// Largest number of stations that a walk may have.
const MOST_STATIONS: f32 = 2000.0;

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
    check.spaces();
    check.openings();
    check.rooflights();
    check.solids();
    check.fixtures();
    check.walks();
    check.placements();
    inline_piece::check(room, &mut check.list);
    check.limits();
    check.study();
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

/// The glazing of its description.
pub(super) fn glazing(file: &GlazingFile) -> Result<Glazing, MaterialError> {
    if file.by_angle.is_empty() {
        Glazing::new(file.transmittance, file.pane_count)
    } else {
        Glazing::by_angle(&file.by_angle)
    }
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

    fn site(&mut self) {
        let site = &self.room.site;
        self.range("site.latitude_deg", site.latitude_deg, -90.0, 90.0);
        self.range("site.longitude_deg", site.longitude_deg, -180.0, 180.0);
        self.range("site.elevation_m", site.elevation_m, -500.0, 9000.0);
        self.range("site.bearing_deg", site.bearing_deg, -360.0, 360.0);
        self.range("site.turbidity", site.turbidity, 1.0, 12.0);
        self.share("site.ground_reflectance", site.ground_reflectance);
        self.share("site.facade_reflectance", site.facade_reflectance);
        if let Err(error) = crate::sun::time_zone(&site.zone) {
            self.list.at(
                "site.zone",
                error.to_string(),
                Some("use a name like \"Europe/Lisbon\"".into()),
            );
        }
    }

    fn finishes(&mut self) {
        let room = self.room;
        for (name, finish) in &room.finishes {
            self.range(
                &format!("finishes[{name:?}].reflectance"),
                f64::from(finish.reflectance),
                0.0,
                0.95,
            );
            let (r, g, b) = finish.hue_rgb;
            if ![r, g, b].iter().all(|v| (0.0..=1e6).contains(v)) || r + g + b <= 0.0 {
                self.list.at(
                    &format!("finishes[{name:?}].hue_rgb"),
                    "the hue is no colour".into(),
                    Some("three numbers from 0, not all of them 0".into()),
                );
            }
        }
        for (name, glazing) in &room.glazings {
            let path = format!("glazings[{name:?}]");
            self.range(
                &format!("{path}.transmittance"),
                f64::from(glazing.transmittance),
                0.01,
                0.99,
            );
            self.range(
                &format!("{path}.pane_count"),
                f64::from(glazing.pane_count),
                1.0,
                3.0,
            );
            if !glazing.by_angle.is_empty()
                && let Err(error) = self::glazing(glazing)
            {
                let help = "pairs of degrees and transmittance, rising from 0 degrees".to_owned();
                self.list
                    .at(&format!("{path}.by_angle"), error.to_string(), Some(help));
            }
            self.share(&format!("{path}.diffusing"), glazing.diffusing);
        }
        for (name, material) in &room.materials {
            if let Err(error) = material.brdf() {
                self.list
                    .at(&format!("materials[{name:?}]"), error.to_string(), None);
            }
        }
    }

    fn spaces(&mut self) {
        let room = self.room;
        if room.spaces.is_empty() {
            self.list.at(
                "spaces",
                "the room has no space".into(),
                Some("describe at least one space".into()),
            );
        }
        self.unique("spaces", room.spaces.iter().map(|s| s.name.as_str()));
        for (i, space) in room.spaces.iter().enumerate() {
            let path = format!("spaces[{i}]");
            let sound = self.polygon(&format!("{path}.outline_m"), &space.outline_m);
            for (field, name) in [
                ("walls", &space.walls),
                ("floor", &space.floor),
                ("ceiling_finish", &space.ceiling_finish),
            ] {
                self.finish(&format!("{path}.{field}"), name);
            }
            for (wall, name) in &space.wall_finishes {
                if *wall >= space.outline_m.len() {
                    let message = format!("space {:?} has no wall {wall}", space.name);
                    self.list.at(
                        &format!("{path}.wall_finishes[{wall}]"),
                        message,
                        Some(format!(
                            "walls are numbered 0 to {}",
                            space.outline_m.len().saturating_sub(1)
                        )),
                    );
                }
                self.finish(&format!("{path}.wall_finishes[{wall}]"), name);
            }
            self.place(&format!("{path}.floor_m"), &[space.floor_m]);
            match &space.ceiling {
                Ceiling::Flat { height_m } | Ceiling::Open { height_m } => {
                    self.place(&format!("{path}.ceiling.height_m"), &[*height_m]);
                }
                Ceiling::Sloped { low, high } => {
                    self.place(&format!("{path}.ceiling.low"), &[low.0, low.1, low.2]);
                    self.place(&format!("{path}.ceiling.high"), &[high.0, high.1, high.2]);
                }
            }
            if sound && space.floor_m.is_finite() {
                let lowest = space
                    .outline_m
                    .iter()
                    .map(|p| shell::ceiling_m(&space.ceiling, Vec2::new(p.0, p.1)))
                    .fold(f32::MAX, f32::min);
                if lowest - space.floor_m < LEAST_HEIGHT_M {
                    let message = format!(
                        "the ceiling of {:?} is less than {LEAST_HEIGHT_M} m above its floor",
                        space.name
                    );
                    self.list.at(
                        &format!("{path}.ceiling"),
                        message,
                        Some("heights are above datum, like floor_m".into()),
                    );
                }
            }
            if let Ceiling::Sloped { low, high } = &space.ceiling
                && Vec2::new(low.0 - high.0, low.1 - high.1).length() < 0.01
            {
                self.list.at(
                    &format!("{path}.ceiling"),
                    "the low and high points of the slope are one place".into(),
                    Some("choose two places on the plan".into()),
                );
            }
        }
    }

    fn filling(&mut self, path: &str, filling: &WindowFilling) {
        let room = self.room;
        self.known(
            &format!("{path}.glazing"),
            "glazing",
            &filling.glazing,
            room.glazings.keys().map(String::as_str),
        );
        self.range(
            &format!("{path}.frame_share"),
            f64::from(filling.frame_share),
            0.0,
            0.95,
        );
        self.share(&format!("{path}.dirt"), filling.dirt);
        if let Some(blind) = &filling.blind {
            self.share(&format!("{path}.blind.drawn"), blind.drawn);
            self.share(&format!("{path}.blind.openness"), blind.openness);
            self.share(&format!("{path}.blind.scattered"), blind.scattered);
            if blind.openness + blind.scattered > 1.0 {
                self.list.at(
                    &format!("{path}.blind"),
                    "the blind passes more light than falls on it".into(),
                    Some("openness and scattered add up to at most 1".into()),
                );
            }
        }
    }

    fn openings(&mut self) {
        let room = self.room;
        self.unique("openings", room.openings.iter().map(|o| o.name.as_str()));
        for (i, opening) in room.openings.iter().enumerate() {
            let path = format!("openings[{i}]");
            match &opening.filling {
                Filling::Window(filling) | Filling::Inner(filling) => {
                    // The value inside `Window(...)`.
                    self.filling(&format!("{path}.filling[0]"), filling);
                }
                Filling::Door { finish } => self.finish(&format!("{path}.filling.finish"), finish),
                Filling::Open => {}
            }
            self.range(
                &format!("{path}.reveal_m"),
                f64::from(opening.reveal_m),
                0.0,
                3.0,
            );
            self.known(
                &format!("{path}.space"),
                "space",
                &opening.space,
                room.spaces.iter().map(|s| s.name.as_str()),
            );
            let Some(space) = room.spaces.iter().find(|s| s.name == opening.space) else {
                continue;
            };
            if opening.wall >= space.outline_m.len() {
                let message = format!("space {:?} has no wall {}", space.name, opening.wall);
                self.list.at(
                    &format!("{path}.wall"),
                    message,
                    Some(format!(
                        "walls are numbered 0 to {}",
                        space.outline_m.len().saturating_sub(1)
                    )),
                );
                continue;
            }
            let wall = shell::wall(space, opening.wall);
            let sized = opening.width_m > 0.0 && opening.height_m > 0.0;
            if !(sized && opening.offset_m >= 0.0 && opening.sill_m >= 0.0) {
                self.list.at(
                    &path,
                    format!(
                        "opening {:?} has no size, or a size or place below zero",
                        opening.name
                    ),
                    Some("width and height are positive, offset and sill not negative".into()),
                );
            } else if opening.offset_m + opening.width_m > wall.length_m + 1e-3 {
                let message = format!(
                    "opening {:?} ends at {:.2} m; the wall is {:.2} m long",
                    opening.name,
                    opening.offset_m + opening.width_m,
                    wall.length_m
                );
                self.list.at(
                    &format!("{path}.width_m"),
                    message,
                    Some("make it narrower or move it toward the wall's first corner".into()),
                );
            } else if wall.lowest_top_m(opening) >= LEAST_HEIGHT_M
                && opening.sill_m + opening.height_m > wall.lowest_top_m(opening) + 1e-3
            {
                let message = format!(
                    "opening {:?} reaches {:.2} m above the floor; the wall there is {:.2} m high",
                    opening.name,
                    opening.sill_m + opening.height_m,
                    wall.lowest_top_m(opening)
                );
                self.list.at(
                    &format!("{path}.height_m"),
                    message,
                    Some("lower its sill or its height".into()),
                );
            }
            let overlaps = |o: &Opening| {
                o.space == opening.space
                    && o.wall == opening.wall
                    && o.offset_m < opening.offset_m + opening.width_m - 1e-3
                    && opening.offset_m < o.offset_m + o.width_m - 1e-3
                    && o.sill_m < opening.sill_m + opening.height_m - 1e-3
                    && opening.sill_m < o.sill_m + o.height_m - 1e-3
            };
            if let Some(other) = room.openings[..i].iter().find(|o| overlaps(o)) {
                let message = format!("opening {:?} overlaps {:?}", opening.name, other.name);
                self.list.at(
                    &path,
                    message,
                    Some("move one of them along the wall".into()),
                );
            }
        }
    }

    fn rooflights(&mut self) {
        let room = self.room;
        self.unique(
            "rooflights",
            room.rooflights.iter().map(|o| o.name.as_str()),
        );
        for (i, light) in room.rooflights.iter().enumerate() {
            let path = format!("rooflights[{i}]");
            self.filling(&format!("{path}.filling"), &light.filling);
            if let Some(finish) = &light.shaft_finish {
                self.finish(&format!("{path}.shaft_finish"), finish);
            }
            self.range(
                &format!("{path}.shaft_m"),
                f64::from(light.shaft_m),
                0.0,
                10.0,
            );
            self.known(
                &format!("{path}.space"),
                "space",
                &light.space,
                room.spaces.iter().map(|s| s.name.as_str()),
            );
            let sound = self.polygon(&format!("{path}.outline_m"), &light.outline_m);
            if let Some(space) = room.spaces.iter().find(|s| s.name == light.space)
                && sound
            {
                let around = outline(&space.outline_m);
                let centre =
                    outline(&light.outline_m).iter().sum::<Vec2>() / light.outline_m.len() as f32;
                let inside = outline(&light.outline_m)
                    .iter()
                    .all(|p| polygon_contains(&around, *p + (centre - *p) * 1e-3));
                if !inside {
                    self.list.at(
                        &format!("{path}.outline_m"),
                        format!("rooflight {:?} reaches outside its space", light.name),
                        Some(format!(
                            "keep its corners inside the outline of {:?}",
                            space.name
                        )),
                    );
                }
                if matches!(space.ceiling, Ceiling::Open { .. }) {
                    self.list.at(
                        &path,
                        format!("space {:?} has no ceiling for a rooflight", space.name),
                        Some("give it a Flat or Sloped ceiling".into()),
                    );
                }
            }
        }
    }

    fn solids(&mut self) {
        let room = self.room;
        self.unique("solids", room.solids.iter().map(|o| o.name.as_str()));
        for (i, solid) in room.solids.iter().enumerate() {
            let path = format!("solids[{i}]");
            self.finish(&format!("{path}.finish"), &solid.finish);
            self.polygon(&format!("{path}.outline_m"), &solid.outline_m);
            self.place(&format!("{path}.from_m"), &[solid.from_m]);
            self.place(&format!("{path}.to_m"), &[solid.to_m]);
            if solid.to_m <= solid.from_m {
                self.list.at(
                    &format!("{path}.to_m"),
                    format!("solid {:?} has no height", solid.name),
                    Some("to_m is above from_m".into()),
                );
            }
        }
    }

    fn fixtures(&mut self) {
        let room = self.room;
        for (name, kind) in &room.fixture_types {
            let path = format!("fixture_types[{name:?}]");
            self.share(
                &format!("{path}.maintenance_factor"),
                kind.maintenance_factor,
            );
            self.range(
                &format!("{path}.cct_k"),
                f64::from(kind.cct_k),
                1667.0,
                25_000.0,
            );
            if let Some(watts) = kind.watts {
                self.range(&format!("{path}.watts"), f64::from(watts), 0.0, 1e6);
            }
            let sides = match &kind.aperture {
                None => Vec::new(),
                Some(ApertureFile::Disc { diameter_mm }) => vec![("diameter_mm", *diameter_mm)],
                Some(ApertureFile::Rectangle {
                    length_mm,
                    width_mm,
                }) => vec![("length_mm", *length_mm), ("width_mm", *width_mm)],
            };
            for (field, side_mm) in sides {
                let path = format!("{path}.aperture.{field}");
                self.range(&path, f64::from(side_mm), 0.1, 20_000.0);
            }
            if let FixtureLight::Beam {
                beam_deg,
                field_deg,
                flux_lm,
                centre_cd,
            } = &kind.light
            {
                self.range(
                    &format!("{path}.light.beam_deg"),
                    f64::from(*beam_deg),
                    1.0,
                    160.0,
                );
                if let Some(field) = field_deg {
                    self.range(
                        &format!("{path}.light.field_deg"),
                        f64::from(*field),
                        f64::from(*beam_deg),
                        179.0,
                    );
                }
                if flux_lm.is_some() == centre_cd.is_some() {
                    self.list.at(
                        &format!("{path}.light"),
                        "a beam needs its light once".into(),
                        Some("give either flux_lm or centre_cd".into()),
                    );
                }
                if flux_lm
                    .or(*centre_cd)
                    .is_some_and(|v| !(v > 0.0 && v < 1e7))
                {
                    self.list.at(
                        &format!("{path}.light"),
                        "the beam's light is not a positive number".into(),
                        Some("flux_lm or centre_cd, above 0".into()),
                    );
                }
                if kind.aperture.is_none() {
                    self.list.at(&path, format!("fixture kind {name:?} has no luminous opening"), Some("add e.g. `aperture: Disc(diameter_mm: 60)`: lustrous surfaces mirror the opening, so its size matters".into()));
                }
            }
        }
        self.unique("fixtures", room.fixtures.iter().map(|o| o.name.as_str()));
        for (i, fixture) in room.fixtures.iter().enumerate() {
            let path = format!("fixtures[{i}]");
            self.known(
                &format!("{path}.kind"),
                "fixture kind",
                &fixture.kind,
                room.fixture_types.keys().map(String::as_str),
            );
            self.share(&format!("{path}.dimming"), fixture.dimming);
            let (x, y, h) = fixture.at_m;
            self.place(&format!("{path}.at_m"), &[x, y, h]);
            match fixture.aim {
                Aim::At(x, y, h) => self.place(&format!("{path}.aim"), &[x, y, h]),
                Aim::Piece { right_m, up_m } => {
                    self.place(&format!("{path}.aim"), &[right_m, up_m]);
                }
                Aim::Down | Aim::Up => {}
            }
            if let Some((from, to)) = &fixture.lit
                && (super::walk::clock_min(from).is_none() || super::walk::clock_min(to).is_none())
            {
                self.list.at(
                    &format!("{path}.lit"),
                    format!("{from:?} to {to:?} are no hours"),
                    Some("two clock times like (\"16:00\", \"23:00\")".into()),
                );
            }
            self.range(
                &format!("{path}.roll_deg"),
                f64::from(fixture.roll_deg),
                -360.0,
                360.0,
            );
            if let Aim::At(x, y, h) = fixture.aim
                && glam::Vec3::new(x - fixture.at_m.0, y - fixture.at_m.1, h - fixture.at_m.2)
                    .length()
                    < 0.01
            {
                self.list.at(
                    &format!("{path}.aim"),
                    format!("fixture {:?} aims at itself", fixture.name),
                    Some("aim at another point".into()),
                );
            }
        }
    }

    fn walks(&mut self) {
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
                let times = (super::walk::clock_min(from), super::walk::clock_min(to));
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
    }

    fn placements(&mut self) {
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
                if *wall >= space.outline_m.len() {
                    let message = format!("space {:?} has no wall {wall}", space.name);
                    self.list.at(
                        &format!("{path}.on.wall"),
                        message,
                        Some(format!(
                            "walls are numbered 0 to {}",
                            space.outline_m.len().saturating_sub(1)
                        )),
                    );
                } else {
                    let length = shell::wall(space, *wall).length_m;
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

    fn limits(&mut self) {
        let limits = &self.room.limits;
        for (field, value, high) in [
            ("glint_cd_m2", limits.glint_cd_m2, 1e10),
            ("glint_over_adaptation", limits.glint_over_adaptation, 1e10),
            ("glint_least_cd_m2", limits.glint_least_cd_m2, 1e10),
            ("dgp", limits.dgp, 1.0),
            ("ugr", limits.ugr, 100.0),
            ("aperture_cd_m2", limits.aperture_cd_m2, 1e10),
            ("aperture_within_deg", limits.aperture_within_deg, 180.0),
            ("sun_within_deg", limits.sun_within_deg, 180.0),
            ("dark_cd_m2", limits.dark_cd_m2, 1e10),
            ("grazing_deg", limits.grazing_deg, 90.0),
            (
                "exposure_lx_h",
                limits.exposure_lx_h.unwrap_or_default(),
                1e12,
            ),
        ] {
            // A limit of nothing would make every severity infinite.
            let low = if field == "exposure_lx_h" { 0.0 } else { 1e-3 };
            self.range(&format!("limits.{field}"), f64::from(value), low, high);
        }
    }

    fn study(&mut self) {
        let study = &self.room.study;
        for (field, count) in [("days", study.days.len()), ("skies", study.skies.len())] {
            if !(1..=400).contains(&count) {
                self.list.at(
                    &format!("study.{field}"),
                    format!("the study has {count} {field}"),
                    Some("give 1 to 400, or leave the field out".into()),
                );
            }
        }
        for (i, day) in study.days.iter().enumerate() {
            if day.parse::<jiff::civil::Date>().is_err() {
                self.list.at(
                    &format!("study.days[{i}]"),
                    format!("{day:?} is no date"),
                    Some("write days as \"2026-06-21\"".into()),
                );
            }
        }
        for (field, value) in [("from", &study.from), ("to", &study.to)] {
            if super::walk::clock_min(value).is_none() {
                self.list.at(
                    &format!("study.{field}"),
                    format!("{value:?} is no clock time"),
                    Some("write clock times as \"09:30\"".into()),
                );
            }
        }
        let hours = (
            super::walk::clock_min(&study.from),
            super::walk::clock_min(&study.to),
        );
        if let (Some(from), Some(to)) = hours
            && (from > to || from == 24 * 60)
        {
            self.list.at(
                "study.from",
                format!(
                    "the hours from {:?} to {:?} are empty",
                    study.from, study.to
                ),
                Some("the first clock time comes before the last".into()),
            );
        }
        self.range("study.step_min", f64::from(study.step_min), 1.0, 720.0);
        for (i, sky) in study.skies.iter().enumerate() {
            self.known(
                &format!("study.skies[{i}]"),
                "sky",
                sky,
                crate::sky::SKY_NAMES.iter().copied(),
            );
        }
    }
}
