//! The document's sections, in the order in which they are needed.

use serde_json::{Value, json};

use super::{DossierStill, Made, heading, list, note, remedy, sentence, table, text, units};
use crate::{
    advice::{
        light_class, main_walk,
        rank::{Ranked, dose_words},
    },
    measure::{caution, format},
    outcome::{self, Lengths},
    report::{Quantity, aiming_sheet_svg, piece_sheet_svg, plan_svg, walk_by_day_figure_svg},
    study::{Cause, DayStudy, FlagKind, StationReading},
    units::METRES_PER_FOOT,
};

/// Days of the walk that most visitors take with a chart of their own.
const MOST_DAYS: usize = 6;
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

    fn readings(&self) -> impl Iterator<Item = &StationReading> {
        let days = &self.parts.study.days;
        days.iter()
            .flat_map(|d| &d.walks)
            .flat_map(|w| w.open_readings())
    }

    fn share(&self, test: impl Fn(&StationReading) -> bool) -> f64 {
        let (mut count, mut all) = (0_usize, 0_usize);
        for reading in self.readings() {
            all += 1;
            count += usize::from(test(reading));
        }
        count as f64 / all.max(1) as f64
    }

    fn shares(&self) -> [f64; 3] {
        let flagged = |r: &StationReading, kind| r.flags.iter().any(|f| f.cause.kind() == kind);
        [
            self.share(|r| {
                r.pattern.class.works() && !r.sun_in_view && !flagged(r, FlagKind::Dead)
            }),
            self.share(|r| flagged(r, FlagKind::Dead)),
            self.share(|r| flagged(r, FlagKind::Glaring)),
        ]
    }

    fn verdict(&self) -> String {
        let [alive, dead, glaring] = self.shares().map(format::percent);
        let mut words = format!(
            "Over the days studied the pattern is alive at {alive} of all stations and hours, dead at {dead}, and something glares at {glaring}."
        );
        if let Some(best) = self.parts.places.places.first() {
            if best.present {
                words.push_str(" No place that was compared does better than where it hangs now.");
            } else {
                words.push_str(&format!(
                    " Of the places compared, {} does best.",
                    outcome::placement_name(&self.parts.room.file, &best.placement)
                ));
            }
        }
        words
    }

    fn facts(&self) -> Value {
        let room = self.parts.room;
        let [alive, dead, glaring] = self.shares().map(format::percent);
        let (low, high) = room.tiling.bounds();
        let size = high - low;
        let fixtures = room.file.fixtures.len();
        json!([
            { "label": "Alive", "value": alive, "note": "of stations and hours" },
            { "label": "Dead", "value": dead, "note": "of stations and hours" },
            { "label": "Glaring", "value": glaring, "note": "of stations and hours" },
            { "label": "The piece", "value": format!("{} × {}", self.length(size.x), self.length(size.y)),
              "note": format!("{} tiles", room.tiling.tiles.len()) },
            { "label": "Fixtures", "value": fixtures.to_string(), "note": "in the room" },
            { "label": "Days studied", "value": self.parts.study.days.len().to_string(), "note": "days and skies" },
        ])
    }

    fn in_short(&self) -> Vec<Value> {
        let mut blocks = vec![text(self.verdict()), text(outcome::GLOSSARY)];
        let most = self.troubles_by_size();
        if !most.is_empty() {
            blocks.push(heading("What matters most"));
            let items: Vec<String> = most.into_iter().take(4).collect();
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
        all.into_iter()
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
                            letter: stretch.letter,
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

    fn places(&self) -> Vec<Value> {
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
            let name = outcome::placement_name(&room.file, &best.placement);
            let words = format!("For it: {}. Against it: {}.", best.pro, best.con);
            let title = if best.present {
                format!("Recommended: where it hangs now ({name})")
            } else {
                format!("Recommended: {name}")
            };
            blocks.push(note("good", &title, &words));
        }
        let mut columns = vec![("", "right", "auto"), ("Place", "left", "2fr")];
        columns.extend(names.iter().map(|n| (n.as_str(), "right", "auto")));
        let rows = ranking
            .places
            .iter()
            .take(12)
            .map(|ranked| {
                let now = if ranked.present { " (now)" } else { "" };
                let mut row = vec![
                    outcome::rank_number(ranking, ranked),
                    format!(
                        "{}{now}",
                        outcome::placement_name(&room.file, &ranked.placement)
                    ),
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
                outcome::placement_name(&room.file, &ranked.placement),
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
            figure["height_share"] = json!(0.74);
            drawn.blocks.push(figure);
            let letters: Vec<String> = chart
                .legend
                .iter()
                .take(3)
                .map(|entry| format!("{}  {}", entry.letter, sentence(&entry.sentence)))
                .collect();
            drawn.blocks.push(list(&letters));
        }
        drawn
    }

    fn troubles(&self) -> Vec<Value> {
        let study = self.parts.study;
        let mut blocks = vec![text(
            "The largest stretches of each walk within opening hours; the letters are those of the charts. Smaller ones are in the tables of a study.",
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
                        t.letter.to_string(),
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
                let lit = r
                    .lit
                    .as_ref()
                    .map_or("always".into(), |(a, b)| format!("{a} to {b}"));
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
        let mut blocks = vec![table(
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
            "In the order that saves ladder moves. Beam: full angle at half of the peak. Power at full output. Pan, tilt and aim are on the aiming sheet.",
            true,
        )];
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

    /// A warning where lamps of different colour temperature are lit together.
    fn mixed_colours(&self) -> Option<String> {
        let mut kelvins: Vec<u32> = self
            .parts
            .schedule
            .iter()
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
        let svg = aiming_sheet_svg(&sheet);
        let mut figure = self.figure(
            "aiming",
            svg,
            "The piece from the front: what each fixture aims at, with the circle of its beam",
            "The piece from the front with the point that each fixture aims at",
        );
        figure["height_share"] = json!(0.5);
        Drawn {
            landscape: true,
            blocks: vec![table(&columns, rows, "", true), figure, list(&notes)],
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
            blocks.push(note(kind, "Where it hangs now", &words));
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
                ("Most on a studied day", "right", "auto"),
            ],
            rows,
            "Classes and limits of CIE 157:2004, quoted from memory; lamps at maintained output on studied days. The year is the mean of the days and skies studied, not a typical year.",
            false,
        ));
        for words in caution::LIGHT_DAMAGE {
            blocks.push(text(*words));
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
        let (room, place) = (self.parts.room, &self.parts.room.file.placement);
        let svg = piece_sheet_svg(&outcome::piece_sheet(room));
        let landscape = is_wide(&svg);
        let figure = self.figure(
            "hanging",
            svg,
            "Seen from the front. Each arrow is the grain of its tile; a tile turned end for end throws the light the other way",
            "The piece from the front with the number and the grain arrow of every tile",
        );
        let turned = if place.turn_deg == 0.0 {
            String::new()
        } else {
            format!(", turned {:.0}° counter-clockwise", place.turn_deg)
        };
        let words = format!(
            "Hang it at: {}. Middle {} above the floor{turned}.",
            outcome::placement_name(&room.file, place),
            self.length(place.centre_m),
        );
        Drawn {
            blocks: vec![text(words), figure],
            landscape,
        }
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
            who("Artist", "grain, hanging, look on site before opening"),
        ]}));
        if self.parts.lengths == Lengths::Feet {
            blocks.push(text(format!(
                "Lengths in feet and inches to half an inch, 1 ft = {METRES_PER_FOOT} m; drawings keep metres."
            )));
        }
        blocks
    }
}

/// A dead or glaring stretch, and on which days.
struct Trouble {
    walk: String,
    letter: char,
    cause: Cause,
    sentence: String,
    remedy: String,
    when: String,
    weight: f32,
}
