//! The document's sections, in the order in which they are needed.

mod basis;
mod place;
mod work;

use serde_json::{Value, json};

use super::{DossierStill, Made, heading, list, note, remedy, sentence, table, text, units};
use crate::{
    advice::{
        first_end, light_class, main_walk, placement_words_in,
        rank::{Ranked, dose_words},
    },
    measure::{caution, format},
    outcome::{self, Lengths},
    report::{Quantity, aiming_sheet_svg, piece_sheet_svg, plan_svg, walk_by_day_figure_svg},
    room::{FixtureLight, Placement, Support},
    study::{Cause, DayStudy, FlagKind},
    transport::LightPart,
    units::METRES_PER_FOOT,
};

/// Days of the walk that most visitors take with a chart of their own.
const MOST_DAYS: usize = 4;
/// Most tiles on one part of the hanging sheet.
const MOST_PART_TILES: usize = 80;
/// Stretches told of each walk.
const MOST_STRETCHES: usize = 8;

fn section(title: &str, reader: &str, blocks: Vec<Value>) -> Value {
    json!({ "title": title, "for": reader, "new_page": true, "landscape": false, "blocks": blocks })
}

/// Blocks around drawings, on the paper turned as suits them.
struct Drawn {
    blocks: Vec<Value>,
    landscape: bool,
}

impl Drawn {
    fn section(self, title: &str, reader: &str) -> Value {
        let mut section = section(title, reader, self.blocks);
        section["landscape"] = json!(self.landscape);
        section
    }
}

/// Whether a drawing is larger on paper turned wide. A4 without margins and headings: 170 by 222 mm upright, 257 by
/// 135 mm wide.
fn is_wide(svg: &str) -> bool {
    let side = |name: &str| -> Option<f32> {
        let from = svg.find(&format!("{name}=\""))? + name.len() + 2;
        svg[from..].split('"').next()?.parse().ok()
    };
    let (Some(width), Some(height)) = (side("width"), side("height")) else {
        return false;
    };
    let scale = |w: f32, h: f32| (w / width).min(h / height);
    // Upright pages are read more easily.
    scale(257.0, 135.0) > 1.2 * scale(170.0, 222.0)
}

impl Made<'_> {
    pub(in crate::outcome::dossier) fn sections(&mut self) -> Vec<Value> {
        let mut first = section("In short", "everybody", self.in_short());
        // The contents stand on the same page.
        first["new_page"] = json!(false);
        let mut place = self.plan();
        let walks = self.walks();
        if place.landscape {
            place.blocks.push(json!({ "type": "pagebreak" }));
        }
        place.blocks.extend(walks);
        let mut sections = vec![
            first,
            place.section("The place", "everybody"),
            section(
                "Where to hang it, and why",
                "the commissioner",
                self.places(),
            ),
            section("What visitors see", "the commissioner", self.stills()),
            self.charts()
                .section("The walk through the day", "the commissioner"),
            section(
                "Dead and glaring, and what to do",
                "everybody",
                self.troubles(),
            ),
        ];
        if !self.parts.schedule.is_empty() {
            sections.push(section("Fixtures", "the electrician", self.fixtures()));
            sections.push(self.aiming().section("Aiming sheet", "the electrician"));
        }
        let mut hazards = section("Hazards", "everybody", self.hazards());
        hazards["new_page"] = json!(false);
        sections.extend([
            section(
                "Light on the piece over time",
                "the conservator",
                self.dose(),
            ),
            hazards,
            self.hanging().section("Hanging sheet", "the installer"),
            section(
                "How sure, from what, and who decides",
                "everybody",
                self.basis(),
            ),
        ]);
        sections
    }

    fn length(&self, length_m: f32) -> String {
        self.parts.lengths.words(length_m)
    }

    /// Picture, sentence and figures of the cover.
    pub(in crate::outcome::dossier) fn cover(&mut self) -> Value {
        let image = self
            .parts
            .cover
            .map(|still| self.image(&format!("cover.{}", still.ending), still.file.clone()));
        let caption = self.parts.cover.map_or("", |still| still.title.as_str());
        json!({
            "image": image,
            "caption": caption,
            "sentence": self.verdict(),
            "facts": self.facts(),
        })
    }

    /// The place that the sheets are drawn for, as judged.
    fn drawn_place(&self) -> Option<&Ranked> {
        self.parts.places.places.iter().find(|p| p.present)
    }

    /// The best of the places compared, where it is another than the one drawn.
    fn better_place(&self) -> Option<&Ranked> {
        self.parts.places.places.first().filter(|p| !p.present)
    }

    /// A place as this document calls it.
    fn place(&self, placement: &Placement) -> String {
        let words = placement_words_in(&self.parts.room.file, placement, &|m| self.length(m));
        if placement.name.is_empty() {
            words
        } else {
            format!("{} ({words})", placement.name)
        }
    }

    /// "alive 52 %, dead 8 %, glaring 3 % of visitors' time, 11 times the year's limit of light".
    fn figures(&self, ranked: &Ranked) -> String {
        let parts = &ranked.judgement.parts;
        let share = |v: f32| format::percent(f64::from(v));
        let light = match ranked.judgement.dose_limit_lx_h {
            Some(_) => format!("; light: {}", dose_words(parts.dose_over_limit)),
            None => String::new(),
        };
        format!(
            "alive {}, dead {}, glaring {} of visitors' time{light}",
            share(parts.alive_share),
            share(parts.dead_share),
            share(parts.glaring_share)
        )
    }

    fn verdict(&self) -> String {
        let Some(drawn) = self.drawn_place() else {
            return String::new();
        };
        let mut words = format!(
            "As drawn here, at {}: {}.",
            short_name(&drawn.placement, self.place(&drawn.placement)),
            self.figures(drawn)
        );
        let others = self.parts.places.places.len() - 1;
        match self.better_place() {
            Some(best) => words.push_str(&format!(
                " Of {} places compared, {} does best: {}.",
                others + 1,
                short_name(&best.placement, self.place(&best.placement)),
                self.figures(best)
            )),
            None if others > 0 => words.push_str(&format!(
                " None of the {others} other places compared does better."
            )),
            None => words.push_str(" No other place was compared."),
        }
        words
    }

    fn facts(&self) -> Value {
        let room = self.parts.room;
        let (low, high) = room.tiling.bounds();
        let size = high - low;
        let mut facts = Vec::new();
        if let Some(drawn) = self.drawn_place() {
            let parts = &drawn.judgement.parts;
            for (label, share) in [
                ("Alive", parts.alive_share),
                ("Dead", parts.dead_share),
                ("Glaring", parts.glaring_share),
            ] {
                let value = format::percent(f64::from(share));
                facts.push(json!({ "label": label, "value": value, "note": "of visitors' time, as drawn" }));
            }
            let light = match drawn.judgement.dose_limit_lx_h {
                Some(_) => format::ratio(f64::from(parts.dose_over_limit)),
                None => "no limit".into(),
            };
            facts.push(json!({ "label": "Light in a year over its limit", "value": light, "note": "1 is the limit; brightest tile" }));
        }
        facts.push(json!({ "label": "The piece", "value": format!("{} × {}", self.length(size.x), self.length(size.y)),
              "note": format!("{} tiles", room.tiling.tiles.len()) }));
        facts.push(json!({ "label": "Fixtures", "value": room.file.fixtures.len().to_string(), "note": "in the room" }));
        json!(facts)
    }

    /// What stands before sheets that people work from, where another place does better.
    fn place_warning(&self) -> Option<Value> {
        let (drawn, best) = (self.drawn_place()?, self.better_place()?);
        Some(note(
            "caution",
            "Drawn for the place in the room file, not for the one recommended",
            &format!(
                "This sheet is for {}. Of the places compared, {} does better. Start only when the commissioner has signed for a place; another place needs a new sheet.",
                self.place(&drawn.placement),
                self.place(&best.placement)
            ),
        ))
    }

    /// What the light does over a year, where it is more than the limit.
    fn light_warning(&self) -> Option<String> {
        let drawn = self.drawn_place()?;
        let over = drawn.judgement.parts.dose_over_limit;
        (drawn.judgement.dose_limit_lx_h.is_some() && over > 1.0).then(|| {
            format!(
                "Light on the piece is {} as drawn: wood and dyes fade and yellow sooner than the limit allows for. Blinds, films, fewer hours of lamps or another place bring it down; how much is too much, a conservator says.",
                dose_words(over)
            )
        })
    }

    fn in_short(&self) -> Vec<Value> {
        let mut blocks = vec![text(self.verdict()), text(outcome::GLOSSARY)];
        let mut most: Vec<String> = self.light_warning().into_iter().collect();
        most.extend(self.troubles_by_size());
        if !most.is_empty() {
            blocks.push(heading("What matters most"));
            let items: Vec<String> = most.into_iter().take(5).collect();
            blocks.push(list(&items));
        }
        blocks.push(note(
            "attention",
            "A screen or a print cannot show brightness",
            "Pictures are adjusted as an eye adapts; the figures beside them are the measure. All pictures are computed, none is a photograph.",
        ));
        blocks
    }

    /// The largest stretches of all walks and days, with what to do about each.
    fn troubles_by_size(&self) -> Vec<String> {
        let mut all: Vec<Trouble> = (0..self.parts.study.walks.len())
            .flat_map(|walk| self.troubles_of(walk))
            .collect();
        all.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        // Several eyes on one path see much the same: it is told once.
        let mut told: Vec<(Cause, String)> = Vec::new();
        all.into_iter()
            .filter(|t| {
                let key = (t.cause, t.sentence.clone());
                let new = !told.contains(&key);
                told.push(key);
                new
            })
            .map(|t| {
                format!(
                    "{} ({}): {} To do: {}.",
                    t.walk,
                    t.when,
                    sentence(&t.sentence),
                    t.remedy
                )
            })
            .collect()
    }

    /// Stretches of a walk, alike ones of several days together, largest first.
    fn troubles_of(&self, walk: usize) -> Vec<Trouble> {
        let study = self.parts.study;
        let mut found: Vec<Trouble> = Vec::new();
        let mut days: Vec<Vec<usize>> = Vec::new();
        for (d, day) in study.days.iter().enumerate() {
            for stretch in &day.walks[walk].stretches {
                let weight = stretch.cell_count as f32 * stretch.severity.clamp(1.0, 3.0);
                let known = found
                    .iter()
                    .position(|t| t.sentence == stretch.sentence && t.cause == stretch.cause);
                match known {
                    Some(k) => {
                        found[k].weight += weight;
                        days[k].push(d);
                    }
                    None => {
                        days.push(vec![d]);
                        found.push(Trouble {
                            walk: study.walks[walk].name.clone(),
                            cause: stretch.cause,
                            sentence: stretch.sentence.clone(),
                            remedy: remedy(self.parts.room, stretch.cause),
                            when: String::new(),
                            weight,
                        });
                    }
                }
            }
        }
        for (trouble, days) in found.iter_mut().zip(days) {
            trouble.when = if days.len() == study.days.len() && days.len() > 1 {
                "all days studied".into()
            } else {
                let words: Vec<String> = days
                    .iter()
                    .map(|d| {
                        let day = &study.days[*d];
                        format!("{}, {}", outcome::date_words(day.date), day.sky)
                    })
                    .collect();
                words.join("; ")
            };
        }
        found.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        found
    }

    /// The largest stretches of some causes over all walks, one sentence each.
    fn told(&self, wanted: &dyn Fn(Cause) -> bool, most: usize) -> Vec<String> {
        let mut found: Vec<Trouble> = (0..self.parts.study.walks.len())
            .flat_map(|walk| self.troubles_of(walk))
            .filter(|t| wanted(t.cause))
            .collect();
        found.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        found
            .into_iter()
            .take(most)
            .map(|t| {
                format!(
                    "{} ({}): {} To do: {}.",
                    t.walk,
                    t.when,
                    sentence(&t.sentence),
                    t.remedy
                )
            })
            .collect()
    }
}

/// The name of a place alone, where it has one.
fn short_name(placement: &Placement, words: String) -> String {
    if placement.name.is_empty() {
        words
    } else {
        placement.name.clone()
    }
}

/// A dead or glaring stretch, and on which days.
struct Trouble {
    walk: String,
    cause: Cause,
    sentence: String,
    remedy: String,
    when: String,
    weight: f32,
}
