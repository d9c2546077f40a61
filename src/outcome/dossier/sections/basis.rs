//! For those who decide on harm: light over time, hazards, and what the document rests on.

use serde_json::{Value, json};

use super::*;

impl Made<'_> {
    pub(super) fn dose(&self) -> Vec<Value> {
        let (room, study) = (self.parts.room, self.parts.study);
        let mut blocks = Vec::new();
        if let Some(now) = self.parts.places.places.iter().find(|p| p.present) {
            let judgement = &now.judgement;
            let dose = format!(
                "{} lx h a year on the brightest tile, new lamps",
                format::significant(f64::from(judgement.dose_lx_h), 2)
            );
            let words = match judgement.dose_limit_lx_h {
                Some(limit) => format!(
                    "{dose}: {} ({} lx h).",
                    dose_words(judgement.parts.dose_over_limit),
                    format::significant(f64::from(limit), 2)
                ),
                None => format!("{dose}; the material has no limit."),
            };
            let kind = if judgement.parts.dose_over_limit > 1.0 {
                "caution"
            } else {
                "good"
            };
            blocks.push(note(kind, "As drawn", &words));
        }
        let rows = room
            .materials
            .iter()
            .enumerate()
            .map(|(m, material)| {
                let class = light_class(material.dose_class);
                let most = study
                    .days
                    .iter()
                    .map(|day| {
                        let lit = day.tile_exposure_lx_h.iter().zip(&room.piece.tiles);
                        lit.filter(|(_, tile)| tile.material_index as usize == m)
                            .map(|(lx_h, _)| *lx_h)
                            .fold(0.0, f32::max)
                    })
                    .fold(0.0, f32::max);
                let limit = |v: Option<f64>, unit: &str| {
                    v.map_or("none".into(), |v| {
                        format!("{} {unit}", format::significant(v, 2))
                    })
                };
                vec![
                    room.tiling.materials.get(m).cloned().unwrap_or_default(),
                    format!("{}: {}", class.number(), class.materials()),
                    limit(class.limiting_illuminance_lx(), "lx"),
                    limit(class.limiting_exposure_lx_h(), "lx h"),
                    format!("{} lx h", format::significant(f64::from(most), 2)),
                ]
            })
            .collect();
        blocks.push(table(
            &[
                ("Material", "left", "1fr"),
                ("Class", "left", "2fr"),
                ("Limit", "right", "auto"),
                ("Limit a year", "right", "auto"),
                ("Most in the studied hours of a day", "right", "auto"),
            ],
            rows,
            "Classes and limits of CIE 157:2004, quoted from memory; lamps at maintained output in the studied hours. The year counts all hours at which fixtures are lit, with new lamps; it is the mean of the days and skies studied, not a typical year.",
            false,
        ));
        if outcome::topics(room, study).light_sensitive
            && self
                .parts
                .places
                .places
                .iter()
                .any(|p| p.judgement.dose_limit_lx_h.is_some())
        {
            for words in caution::LIGHT_DAMAGE {
                blocks.push(text(*words));
            }
        }
        blocks
    }

    pub(super) fn hazards(&self) -> Vec<Value> {
        let mut blocks = Vec::new();
        let mut items = Vec::new();
        for day in &self.parts.study.days {
            items.extend(outcome::hazards(day).into_iter().map(|words| {
                format!(
                    "{}, {} sky, {words}",
                    outcome::date_words(day.date),
                    day.sky
                )
            }));
        }
        if items.is_empty() {
            blocks.push(text(
                "On the days studied the piece throws no sun out of the building and none across stairs.",
            ));
        } else {
            blocks.push(note(
                "caution",
                "Sun thrown by the piece",
                "Each of these needs a look on site; none is averaged away.",
            ));
            blocks.push(list(&items));
        }
        let mirrored = |cause: Cause| {
            matches!(
                cause,
                Cause::Glint(_)
                    | Cause::MirrorImage(_)
                    | Cause::SunInView
                    | Cause::BrightOpening(_)
            )
        };
        let eyes = self.told(&mirrored, 8);
        if !eyes.is_empty() {
            blocks.push(note(
                "caution",
                "Bright light into visitors' eyes",
                "Eye safety is not certified: look at each of these on site before opening.",
            ));
            blocks.push(list(&eyes));
        }
        let stairs: Vec<&str> = self
            .parts
            .room
            .walks
            .iter()
            .filter(|w| w.walk.stairs)
            .map(|w| w.walk.name.as_str())
            .collect();
        if !stairs.is_empty() {
            blocks.push(note(
                "caution",
                "Glare on stairs",
                &format!(
                    "People walk on stairs here: {}. Whatever glares there must be gone before opening, whatever its share of time.",
                    stairs.join("; ")
                ),
            ));
        }
        blocks.push(note(
            "caution",
            "Weight and fixings",
            "The weight of the piece and everything that it is fixed to are for the building's structural engineer.",
        ));
        blocks
    }

    pub(super) fn basis(&self) -> Vec<Value> {
        let (room, study) = (self.parts.room, self.parts.study);
        let mut assumptions = vec![
            "Room, finishes, glazing and fixtures as in the room file; surfaces are matt, the piece is not.".to_owned(),
            "Standard skies (ISO 15469:2004) and the sun of the place; no typical year.".to_owned(),
            "Fixtures at their dimming and maintenance factor; doses with new lamps.".to_owned(),
            "People, furniture not in the file, and frames throw no shadow.".to_owned(),
        ];
        assumptions.extend(room.notes.iter().map(|n| sentence(n)));
        assumptions.extend(study.notes.iter().map(|n| sentence(n)));
        let sources = [
            "Sun: Reda and Andreas, NREL/TP-560-34302, 2008. Skies: ISO 15469:2004 (CIE S 011).",
            "Fixtures: photometric files (ANSI/IES LM-63, EULUMDAT) where given, else generic beams.",
            "Glare: CIE 117 (unified glare rating), Wienold and Christoffersen 2006 (daylight glare probability), CIE 146 (veil).",
            "Limits of light: CIE 157:2004, from memory. Limits of glint, darkness and flatness: this project's own choice, in the room file.",
        ]
        .map(str::to_owned);
        let mut blocks = vec![
            heading("Assumptions"),
            list(&assumptions),
            heading("Sources"),
            list(&sources),
            heading("Error"),
            text(format!(
                "Sampling noise of a tile's luminance {:.1} % (median). {}.",
                study.median_relative_error * 100.0,
                outcome::tolerance(room)
            )),
            heading("Cautions"),
        ];
        let cautions: Vec<String> = caution::sentences(outcome::topics(room, study))
            .into_iter()
            .map(str::to_owned)
            .collect();
        blocks.push(list(&cautions));
        let who = |who: &str, what: &str| json!({ "who": who, "what": what });
        blocks.push(json!({ "type": "signatures", "rows": [
            who("Commissioner", "place, appearance, opening hours"),
            who("Licensed electrician", "wiring, loads, dimmers, emergency and exit lighting left as they are"),
            who("Structural engineer", "weight, fixings, what the piece and the fixtures hang from"),
            who("Conservator", "dose of light, ultraviolet, heat and drying of wood"),
            who("Installer", "setting out, numbers, arrows, hanging"),
            who("Artist", "grain, place, look on site before opening"),
        ]}));
        if self.parts.lengths == Lengths::Feet {
            blocks.push(text(format!(
                "Lengths in feet and inches to half an inch, 1 ft = {METRES_PER_FOOT} m; distances along a walk, drawings and the table of tiles keep metres and millimetres."
            )));
        }
        blocks
    }
}
