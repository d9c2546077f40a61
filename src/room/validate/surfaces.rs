//! The site, finishes, glazings, materials and spaces.

use glam::Vec2;

use super::{Check, LEAST_HEIGHT_M};
use crate::room::{
    schema::{Ceiling, Space},
    wall::ceiling_m,
};

impl Check<'_> {
    pub(super) fn site(&mut self) {
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

    pub(super) fn finishes(&mut self) {
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
    }

    pub(super) fn glazings(&mut self) {
        let room = self.room;
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
                && let Err(error) = glazing.glazing()
            {
                let help = "pairs of degrees and transmittance, rising from 0 degrees".to_owned();
                self.list
                    .at(&format!("{path}.by_angle"), error.to_string(), Some(help));
            }
            self.share(&format!("{path}.diffusing"), glazing.diffusing);
        }
    }

    /// Changes of single tiles: each tile once, sound angles. Whether the piece has the tile shows at building.
    pub(super) fn tile_changes(&mut self) {
        let mut seen = std::collections::BTreeSet::new();
        for (i, change) in self.room.tile_changes.iter().enumerate() {
            let path = format!("tile_changes[{i}]");
            if let Some(deg) = change.grain_deg {
                self.range(&format!("{path}.grain_deg"), f64::from(deg), -720.0, 720.0);
            }
            if !seen.insert(change.tile) {
                self.list.at(
                    &format!("{path}.tile"),
                    format!("tile {} is changed twice", change.tile),
                    Some("write both changes into one entry".to_owned()),
                );
            }
        }
    }

    pub(super) fn materials(&mut self) {
        let room = self.room;
        for (name, material) in &room.materials {
            if let Err(error) = material.brdf() {
                self.list
                    .at(&format!("materials[{name:?}]"), error.to_string(), None);
            }
        }
    }

    pub(super) fn spaces(&mut self) {
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
                self.wall_exists(&format!("{path}.wall_finishes[{wall}]"), space, *wall);
                self.finish(&format!("{path}.wall_finishes[{wall}]"), name);
            }
            self.place(&format!("{path}.floor_m"), &[space.floor_m]);
            self.ceiling(&path, space, sound);
        }
    }

    fn ceiling(&mut self, path: &str, space: &Space, sound: bool) {
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
                .map(|p| ceiling_m(&space.ceiling, Vec2::new(p.0, p.1)))
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
