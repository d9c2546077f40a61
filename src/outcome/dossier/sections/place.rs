//! For everybody and the commissioner: the place, where to hang it, what visitors see, and what is wrong.

use serde_json::{Value, json};

use super::*;

impl Made<'_> {
    pub(super) fn plan(&mut self) -> Drawn {
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

    pub(super) fn walks(&self) -> Vec<Value> {
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

    pub(super) fn places(&mut self) -> Vec<Value> {
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

    pub(super) fn stills(&mut self) -> Vec<Value> {
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

    pub(super) fn charts(&mut self) -> Drawn {
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

    pub(super) fn troubles(&self) -> Vec<Value> {
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
}
