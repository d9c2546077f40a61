//! Openings in walls, rooflights and solids.

use glam::Vec2;

use super::{Check, LEAST_HEIGHT_M, outline};
use crate::{
    geometry::polygon_contains,
    room::{
        schema::{Ceiling, Filling, Opening, Space, WindowFilling},
        wall::wall,
    },
};

impl Check<'_> {
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

    pub(super) fn openings(&mut self) {
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
            if !self.wall_exists(&format!("{path}.wall"), space, opening.wall) {
                continue;
            }
            self.opening_fits(&path, space, opening);
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

    /// Whether an opening has a size, and lies within its wall.
    fn opening_fits(&mut self, path: &str, space: &Space, opening: &Opening) {
        let wall = wall(space, opening.wall);
        let sized = opening.width_m > 0.0 && opening.height_m > 0.0;
        if !(sized && opening.offset_m >= 0.0 && opening.sill_m >= 0.0) {
            self.list.at(
                path,
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
    }

    pub(super) fn rooflights(&mut self) {
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

    pub(super) fn solids(&mut self) {
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
}
