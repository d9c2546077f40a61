//! Kinds of fixture, and fixtures in place.

use super::Check;
use crate::room::{
    clock_min,
    schema::{Aim, ApertureFile, FixtureLight, FixtureType},
};

impl Check<'_> {
    pub(super) fn fixture_types(&mut self) {
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
            if let Some(price) = kind.price {
                self.range(&format!("{path}.price"), f64::from(price), 0.0, 1e9);
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
            self.beam(&path, name, kind);
        }
    }

    fn beam(&mut self, path: &str, name: &str, kind: &FixtureType) {
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
                self.list.at(path, format!("fixture kind {name:?} has no luminous opening"), Some("add e.g. `aperture: Disc(diameter_mm: 60)`: lustrous surfaces mirror the opening, so its size matters".into()));
            }
        }
    }

    pub(super) fn fixtures(&mut self) {
        let room = self.room;
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
                && (clock_min(from).is_none() || clock_min(to).is_none())
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
}
