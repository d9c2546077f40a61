//! The document's sections, in the order in which they are needed.

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
    pub(super) fn sections(&mut self) -> Vec<Value> {
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
    pub(super) fn cover(&mut self) -> Value {
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

    fn plan(&mut self) -> Drawn {
        let svg = plan_svg(&outcome::plan(self.parts.room, Some(self.parts.study)));
        Drawn {
            landscape: is_wide(&svg),
            blocks: vec![self.figure(
                "plan",
                svg,
                "Plan with north, walks, fixtures and the sun of the days studied",
                "Plan of the room with the piece, openings, walks, fixtures and sun directions",
            )],
        }
    }

    fn walks(&self) -> Vec<Value> {
        let room = self.parts.room;
        let rows = room
            .walks
            .iter()
            .map(|built| {
                let walk = &built.walk;
                let open = walk
                    .open
                    .as_ref()
                    .map_or("always".into(), |(a, b)| format!("{a} to {b}"));
                vec![
                    walk.name.clone(),
                    self.length(crate::room::walk_length_m(walk)),
                    self.length(walk.eye_m),
                    built.stations.len().to_string(),
                    open,
                    if walk.stairs { "stairs" } else { "" }.into(),
                ]
            })
            .collect();
        let site = &room.file.site;
        vec![
            text(format!(
                "{}, latitude {:.2}°, longitude {:.2}°, {} m above the sea; plan up is {}° from true north.",
                site.zone,
                site.latitude_deg,
                site.longitude_deg,
                site.elevation_m,
                site.bearing_deg
            )),
            table(
                &[
                    ("Walk", "left", "2fr"),
                    ("Length", "right", "auto"),
                    ("Eye height", "right", "auto"),
                    ("Stations", "right", "auto"),
                    ("Open", "left", "auto"),
                    ("", "left", "auto"),
                ],
                rows,
                "A station is a place along a walk at which everything is computed.",
                false,
            ),
        ]
    }

    fn places(&mut self) -> Vec<Value> {
        let (room, ranking) = (self.parts.room, self.parts.places);
        let part = |ranked: &Ranked| {
            let words = outcome::part_words(ranked);
            words.into_iter().map(|w| w.1).collect::<Vec<String>>()
        };
        let names: Vec<String> = ranking.places.first().map_or(Vec::new(), |p| {
            outcome::part_words(p).into_iter().map(|w| w.0).collect()
        });
        let mut blocks = Vec::new();
        if let Some(best) = ranking.places.first() {
            let name = self.place(&best.placement);
            let ties: Vec<String> = ranking
                .places
                .iter()
                .skip(1)
                .filter(|p| p.rank == best.rank)
                .map(|p| short_name(&p.placement, self.place(&p.placement)))
                .collect();
            let mut words = format!("{}. ", sentence(&self.figures(best)).trim_end_matches('.'));
            words.push_str(&format!("For it: {}. Against it: {}.", best.pro, best.con));
            if let Some(worst) = &best.judgement.worst_glare {
                words.push_str(&format!(" Worst glare: {}.", worst.words));
            }
            if !ties.is_empty() {
                words.push_str(&format!(
                    " Equal to it within the error of this comparison: {}.",
                    ties.join("; ")
                ));
            }
            let title = match ranking.places.len() {
                1 => format!("As drawn: {name}; no other place was compared"),
                _ if best.present => format!("Recommended: as drawn, {name}"),
                _ => format!("Recommended: {name}"),
            };
            let kind = if ranking.places.len() == 1 {
                "attention"
            } else {
                "good"
            };
            blocks.push(note(kind, &title, &words));
        }
        if let Some(words) = self.light_warning() {
            blocks.push(note("caution", "Light over the limit", &words));
        }
        if let Some(still) = self.parts.better {
            let image = self.image(&format!("better.{}", still.ending), still.file.clone());
            blocks.push(json!({ "type": "figure", "image": image, "caption": still.title, "height_share": 0.4, "alt": still.caption }));
        }
        let mut columns = vec![("", "right", "auto"), ("Place", "left", "2fr")];
        columns.extend(names.iter().map(|n| (n.as_str(), "right", "auto")));
        let rows = ranking
            .places
            .iter()
            .take(12)
            .map(|ranked| {
                let now = if ranked.present { ", as drawn" } else { "" };
                let mut row = vec![
                    outcome::rank_number(ranking, ranked),
                    format!("{}{now}", self.place(&ranked.placement)),
                ];
                row.extend(part(ranked));
                row
            })
            .collect();
        blocks.push(table(
            &columns,
            rows,
            "Shares of visitors' time, each station by how many pass it and how long they take. Places with one number are equal within the error.",
            true,
        ));
        for ranked in ranking.places.iter().skip(1).take(4) {
            blocks.push(text(format!(
                "{}: {}. Against it: {}.",
                self.place(&ranked.placement),
                ranked.pro,
                ranked.con
            )));
        }
        let hazards = outcome::thrown_words(ranking);
        if !hazards.is_empty() {
            blocks.push(note("caution", "Sun thrown elsewhere", &hazards.join("; ")));
        }
        blocks.push(heading("What this rests on"));
        blocks.push(list(&outcome::ranking_notes(room, ranking)));
        blocks
    }

    fn stills(&mut self) -> Vec<Value> {
        if let Some(why) = self.parts.no_pictures {
            return vec![note(
                "attention",
                "No pictures could be drawn here",
                &format!("{why}. All figures of this document hold without them."),
            )];
        }
        let stills: &[DossierStill] = self.parts.stills;
        let items: Vec<Value> = stills
            .iter()
            .enumerate()
            .map(|(k, still)| {
                let name = format!("still-{}.{}", k + 1, still.ending);
                let image = self.image(&name, still.file.clone());
                json!({ "image": image, "title": units(&still.title), "caption": still.caption })
            })
            .collect();
        vec![json!({ "type": "stills", "items": items })]
    }

    fn charts(&mut self) -> Drawn {
        let (room, study) = (self.parts.room, self.parts.study);
        let main = main_walk(room);
        let range = outcome::common_range(study, &Quantity::Play);
        let mut wanted: Vec<(usize, &DayStudy)> = study
            .days
            .iter()
            .take(MOST_DAYS)
            .map(|day| (main, day))
            .collect();
        if let Some(first) = study.days.first() {
            wanted.extend(
                (0..study.walks.len())
                    .filter(|w| *w != main)
                    .map(|w| (w, first)),
            );
        }
        let mut drawn = Drawn {
            landscape: false,
            blocks: Vec::new(),
        };
        for (k, (walk, day)) in wanted.into_iter().enumerate() {
            // Title and letters are set as text, so that they can be read and copied.
            let chart = outcome::chart(room, study, day, walk, Quantity::Play, range);
            let alt = format!("{} through {}", chart.title, chart.subtitle);
            let svg = walk_by_day_figure_svg(&chart);
            drawn.landscape |= is_wide(&svg);
            if k > 0 {
                drawn.blocks.push(json!({ "type": "pagebreak" }));
            }
            drawn.blocks.push(heading(&format!(
                "{}: {}, {} sky",
                chart.title,
                outcome::date_words(day.date),
                day.sky
            )));
            let caption = if k == 0 {
                "Play: how many times brighter the light tiles are than the dark ones; hatched where a letter is explained"
            } else {
                ""
            };
            let mut figure = self.figure(&format!("chart-{}", k + 1), svg, caption, &alt);
            figure["height_share"] = json!(if chart.legend.len() > 2 { 0.66 } else { 0.78 });
            drawn.blocks.push(figure);
            let letters: Vec<String> = chart
                .legend
                .iter()
                .take(5)
                .map(|entry| format!("{}  {}", entry.letter, sentence(&entry.sentence)))
                .collect();
            drawn.blocks.push(list(&letters));
        }
        drawn
    }

    fn troubles(&self) -> Vec<Value> {
        let study = self.parts.study;
        let mut blocks = vec![text(
            "The largest stretches of each walk within opening hours, largest first.",
        )];
        for (w, walk) in study.walks.iter().enumerate() {
            let rows: Vec<Vec<String>> = self
                .troubles_of(w)
                .into_iter()
                .take(MOST_STRETCHES)
                .map(|t| {
                    let kind = match t.cause.kind() {
                        FlagKind::Dead => "dead",
                        FlagKind::Glaring => "glaring",
                    };
                    vec![
                        kind.into(),
                        t.when,
                        sentence(&t.sentence),
                        sentence(&t.remedy),
                    ]
                })
                .collect();
            blocks.push(heading(&walk.name));
            if rows.is_empty() {
                blocks.push(text("Nothing dead or glaring on the days studied."));
            } else {
                blocks.push(table(
                    &[
                        ("", "left", "auto"),
                        ("Day, sky", "left", "auto"),
                        ("Where, when and why", "left", "2fr"),
                        ("What to do", "left", "2fr"),
                    ],
                    rows,
                    "",
                    true,
                ));
            }
        }
        blocks
    }

    fn fixtures(&self) -> Vec<Value> {
        let rows = self
            .parts
            .schedule
            .iter()
            .map(|r| {
                let lit = r.lit.as_ref().map_or("always".into(), |(a, b)| {
                    let over = if a > b { ", overnight" } else { "" };
                    format!("{a} to {b}{over}")
                });
                let walls: Vec<String> = r
                    .from_walls_m
                    .iter()
                    .map(|(wall, m)| format!("{} from the {wall}", self.length(*m)))
                    .collect();
                vec![
                    r.order.to_string(),
                    r.name.clone(),
                    r.kind.clone(),
                    walls.join(", "),
                    self.length(r.height_m),
                    format!("{:.0}°", r.beam_deg),
                    format!("{:.0} %", r.dimming * 100.0),
                    format!("{:.0} K", r.cct_k),
                    r.watts.map_or(String::new(), |w| format!("{w:.0} W")),
                    lit,
                ]
            })
            .collect();
        let watts: f32 = self.parts.schedule.iter().filter_map(|r| r.watts).sum();
        let mut blocks: Vec<Value> = self.place_warning().into_iter().collect();
        blocks.push(table(
            &[
                ("", "right", "auto"),
                ("Fixture", "left", "auto"),
                ("Kind", "left", "1fr"),
                ("Place", "left", "2fr"),
                ("Height", "right", "auto"),
                ("Beam", "right", "auto"),
                ("Dim to", "right", "auto"),
                ("CCT", "right", "auto"),
                ("Power", "right", "auto"),
                ("Lit", "left", "auto"),
            ],
            rows,
            &format!(
                "In the order that saves ladder moves; places are of the middle of the luminous opening, from the finished wall and floor. Beam: full angle at half of the peak. Dim to: share of the light, set with a meter. Power at full output, together {watts:.0} W. Pan, tilt and aim are on the aiming sheet."
            ),
            true,
        ));
        blocks.push(text(self.kinds_words()));
        if let Some(most_lx) = self.parts.lamps_most_lx {
            let (limit_lx, source) = crate::advice::aim::most_lx(self.parts.room);
            let computed = format!(
                "Computed with all fixtures of this list lit as listed, new lamps, no daylight: at most {} on a tile; at most {} is wanted ({source}).",
                format::lux(f64::from(most_lx)),
                format::lux(f64::from(limit_lx))
            );
            blocks.push(if most_lx > limit_lx {
                let share = format::percent(f64::from(limit_lx / most_lx));
                note(
                    "caution",
                    "More light than the limit",
                    &format!("{computed} All dimmed to {share} of what is listed, they would keep to it; ask the artist and a conservator before setting them."),
                )
            } else {
                text(computed)
            });
        }
        let open: Vec<String> = self.lamp_troubles();
        if !open.is_empty() {
            blocks.push(note(
                "caution",
                "Open points before these fixtures are ordered",
                "What visitors would see of these lamps, and what to try:",
            ));
            blocks.push(list(&open));
        }
        blocks.push(heading("To be filled in by the electrician"));
        let blank: Vec<Vec<String>> = self
            .parts
            .schedule
            .iter()
            .map(|r| {
                let mut row = vec![r.name.clone()];
                row.resize(7, String::new());
                row
            })
            .collect();
        blocks.push(table(
            &[
                ("Fixture", "left", "auto"),
                ("Maker and code", "left", "2fr"),
                ("Circuit", "left", "1fr"),
                ("Driver, dimmer", "left", "1fr"),
                ("Control, scene", "left", "1fr"),
                ("Accessory", "left", "1fr"),
                ("New or there", "left", "1fr"),
            ],
            blank,
            "",
            true,
        ));
        if let Some(words) = self.mixed_colours() {
            blocks.push(note("attention", "Mixed colours of light", &words));
        }
        blocks.push(note(
            "caution",
            "Electrical and mechanical work",
            &outcome::FIXTURE_CAUTIONS.join(" "),
        ));
        blocks
    }

    /// Kinds of fixture with the light that was computed with.
    fn kinds_words(&self) -> String {
        let file = &self.parts.room.file;
        let used = |name: &str| file.fixtures.iter().any(|f| f.kind == name);
        let kinds: Vec<String> = file
            .fixture_types
            .iter()
            .filter(|(name, _)| used(name))
            .map(|(name, kind)| match &kind.light {
                FixtureLight::File(path) => format!("{name}: photometric file {path}"),
                FixtureLight::Beam {
                    beam_deg,
                    flux_lm,
                    centre_cd,
                    ..
                } => {
                    let light = match (flux_lm, centre_cd) {
                        (Some(lm), _) => format!(", {lm:.0} lm"),
                        (None, Some(cd)) => format!(", {cd:.0} cd in the centre"),
                        (None, None) => String::new(),
                    };
                    format!("{name}: a generic beam of {beam_deg:.0}°{light}, no maker's file")
                }
            })
            .collect();
        format!(
            "Computed with: {}. Another product needs the same beam and light, or a new computation.",
            kinds.join("; ")
        )
    }

    /// Stretches that a lamp causes, with what to do.
    fn lamp_troubles(&self) -> Vec<String> {
        let of_lamp = |cause: Cause| {
            matches!(
                cause,
                Cause::BrightOpening(_)
                    | Cause::BrightFixtures(_)
                    | Cause::Glint(LightPart::Fixture(_))
                    | Cause::MirrorImage(LightPart::Fixture(_))
                    | Cause::Veiled(LightPart::Fixture(_))
            )
        };
        self.told(&of_lamp, 6)
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

    /// A warning where lamps of different colour temperature are lit together.
    fn mixed_colours(&self) -> Option<String> {
        let mut kelvins: Vec<u32> = self
            .parts
            .schedule
            .iter()
            .filter(|r| r.dimming > 0.0)
            .map(|r| r.cct_k.round() as u32)
            .collect();
        kelvins.sort_unstable();
        kelvins.dedup();
        (kelvins.len() > 1).then(|| {
            let words: Vec<String> = kelvins.iter().map(|k| format!("{k} K")).collect();
            format!(
                "The fixtures have {}: in one view, lamps of different colour disturb; one colour for all is calmer.",
                words.join(", ")
            )
        })
    }

    fn aiming(&mut self) -> Drawn {
        let mut sheet =
            outcome::aiming_sheet(self.parts.room, self.parts.schedule, self.parts.lengths);
        // The table is set as text, so that it can be read, searched and copied.
        let titles: Vec<String> = std::mem::take(&mut sheet.header)
            .iter()
            .map(|h| h.replace('\n', " "))
            .collect();
        let columns: Vec<(&str, &str, &str)> = titles
            .iter()
            .zip(&sheet.right)
            .map(|(title, right)| {
                let align = if *right { "right" } else { "left" };
                let width = match title.as_str() {
                    "kind" | "from walls" | "aims at" => "1fr",
                    _ => "auto",
                };
                (title.as_str(), align, width)
            })
            .collect();
        let rows = std::mem::take(&mut sheet.rows);
        let notes = std::mem::take(&mut sheet.notes);
        let mut blocks: Vec<Value> = self.place_warning().into_iter().collect();
        blocks.push(table(&columns, rows, "", true));
        if sheet.points.is_empty() {
            blocks.push(text("No fixture aims at the piece."));
        } else {
            let svg = aiming_sheet_svg(&sheet);
            let mut figure = self.figure(
                "aiming",
                svg,
                "The piece from the front: what each fixture aims at; beams are drawn round, though they meet the wall at a slant",
                "The piece from the front with the point that each fixture aims at",
            );
            figure["height_share"] = json!(0.5);
            blocks.push(figure);
        }
        blocks.push(list(&notes));
        Drawn {
            landscape: true,
            blocks,
        }
    }

    fn dose(&self) -> Vec<Value> {
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

    fn hazards(&self) -> Vec<Value> {
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

    fn hanging(&mut self) -> Drawn {
        let room = self.parts.room;
        let mut blocks: Vec<Value> = self.place_warning().into_iter().collect();
        blocks.push(self.setting_out());
        let sheet = outcome::piece_sheet(room);
        let svg = piece_sheet_svg(&sheet);
        let landscape = is_wide(&svg);
        blocks.push(self.figure(
            "hanging",
            svg,
            "The whole piece from the front, with the grain arrow of every tile; a tile turned end for end may throw the light the other way",
            "The piece from the front with the number and the grain arrow of every tile",
        ));
        let parts = outcome::piece_sheet_parts(&sheet, MOST_PART_TILES);
        if parts.len() > 1 {
            for (k, part) in parts.iter().enumerate() {
                blocks.push(json!({ "type": "pagebreak" }));
                let name = format!("hanging-{}", k + 1);
                blocks.push(self.figure(
                    &name,
                    piece_sheet_svg(part),
                    "",
                    "A part of the piece from the front with numbers and grain arrows",
                ));
            }
        }
        blocks.push(json!({ "type": "pagebreak" }));
        blocks.push(heading("Every tile in figures"));
        blocks.push(self.tile_table());
        Drawn { blocks, landscape }
    }

    /// Edges of the piece from the wall's ends and the floor.
    fn setting_out(&self) -> Value {
        let room = self.parts.room;
        let file = &room.file;
        let place = &file.placement;
        let size = room.size_turned(place.turn_deg);
        let length = |m: f32| self.length(m);
        let mut items = vec![
            format!("Where: {}.", self.place(place)),
            format!(
                "Size as it hangs: {} wide, {} high. Bottom edge {}, middle {}, top edge {} above the floor.",
                length(size.x),
                length(size.y),
                length(place.centre_m - 0.5 * size.y),
                length(place.centre_m),
                length(place.centre_m + 0.5 * size.y)
            ),
        ];
        if let Support::Wall {
            space,
            wall,
            along_m,
        } = &place.on
            && let Some(found) = file.spaces.iter().find(|s| s.name == *space)
        {
            let end = first_end(file, space, *wall);
            let line = crate::room::wall(found, *wall);
            let along = (line.to - line.from).normalize_or_zero();
            let right = glam::Vec3::Y.cross(room.piece.normal);
            // The nearer edge is the left one where the wall runs to the right.
            let runs_right = along.dot(glam::Vec2::new(right.x, -right.z)) > 0.0;
            let (near, far) = if runs_right {
                ("left", "right")
            } else {
                ("right", "left")
            };
            items.push(format!(
                "From the {end} end of the wall, finished face: {near} edge {}, middle {}, {far} edge {} (left and right as seen from the front); the wall is {} long.",
                length(along_m - 0.5 * size.x),
                length(*along_m),
                length(along_m + 0.5 * size.x),
                length(line.from.distance(line.to))
            ));
        }
        items.push(format!(
            "Tiles {} mm thick, joints {} mm. Check the wall for plumb and the floor for level first; what to do where they are not, fixings and adhesive are for those who sign for them.",
            crate::report::number::value(room.tiling.thickness_m * 1000.0),
            crate::report::number::value(room.tiling.joint_m * 1000.0)
        ));
        items.push("Number the backs too: from behind, left and right change places.".into());
        list(&items)
    }

    /// Place and arrow of every tile, three tiles a row.
    fn tile_table(&self) -> Value {
        let tiling = &self.parts.room.tiling;
        let (low, _) = tiling.bounds();
        let mm = |m: f32| format!("{:.0}", m * 1000.0);
        let cells: Vec<[String; 4]> = tiling
            .tiles
            .iter()
            .map(|tile| {
                let at = tile.centroid_m - low;
                [
                    tile.id.to_string(),
                    mm(at.x),
                    mm(at.y),
                    format!("{:.0}°", tile.grain_rad.to_degrees()),
                ]
            })
            .collect();
        let rows = cells.len().div_ceil(3);
        let body = (0..rows)
            .map(|row| {
                (0..3)
                    .flat_map(|group| {
                        let cell = cells.get(row + group * rows).cloned();
                        cell.unwrap_or_default()
                    })
                    .collect()
            })
            .collect();
        let one = [
            ("Tile", "right", "1fr"),
            ("right, mm", "right", "1fr"),
            ("up, mm", "right", "1fr"),
            ("arrow", "right", "1fr"),
        ];
        table(
            &[one, one, one].concat(),
            body,
            "Middle of each tile from the left and from the bottom edge of the piece as made, seen from the front; arrow counter-clockwise from pointing right.",
            true,
        )
    }

    fn basis(&self) -> Vec<Value> {
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
