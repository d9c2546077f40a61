//! A ranking of places as text, table, JSON, sheet and plan.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::{clock_text, significant, tables::csv, tolerance, wrapped};
use crate::{
    advice::{
        PART_NAMES, Verdict, placement_words,
        rank::{Pass, Ranked, Ranking, dose_words},
        terms,
    },
    measure::{caution, caution::CautionTopics, format},
    report::{Plan, PlanPlace, RankingRow, RankingSheet, SmallCell, SmallChart},
    room::{BuiltRoom, Placement, RoomFile},
};

/// Places told in a terminal.
const MOST_TOLD: usize = 10;
/// Small charts of a place.
const MOST_CHARTS: usize = 4;

/// "1", or "1 =" where places are equal within error.
fn number(ranking: &Ranking, index: usize) -> String {
    rank_number(ranking, &ranking.places[index])
}

/// The same of a place of the ranking.
pub(crate) fn rank_number(ranking: &Ranking, ranked: &Ranked) -> String {
    let rank = ranked.rank;
    let shared = ranking.places.iter().filter(|p| p.rank == rank).count() > 1;
    if shared {
        format!("{rank} =")
    } else {
        rank.to_string()
    }
}

fn pass_word(pass: Pass) -> &'static str {
    match pass {
        Pass::Glance => "glance",
        Pass::Glimpse => "glimpse",
        Pass::Look => "look",
        Pass::Full => "full",
    }
}

fn marks(ranked: &Ranked) -> Vec<String> {
    let mut marks = Vec::new();
    if ranked.present {
        marks.push("hangs here now".to_owned());
    }
    if ranked.undominated {
        marks.push("no other place matches it on every count".to_owned());
    }
    if ranked.pass != Pass::Full {
        marks.push("judged coarsely".to_owned());
    }
    if !ranked.judgement.thrown.is_empty() {
        marks.push("throws the sun out of the building or across stairs".to_owned());
    }
    marks
}

fn name(room: &BuiltRoom, ranked: &Ranked) -> String {
    place_name(&room.file, ranked)
}

/// What a place is called: its own name before its words where it says more than they do.
pub(crate) fn place_name(room: &RoomFile, ranked: &Ranked) -> String {
    placement_name(room, &ranked.placement)
}

/// The same of any placement.
pub(crate) fn placement_name(room: &RoomFile, placement: &Placement) -> String {
    let words = placement_words(room, placement);
    let own = &placement.name;
    if own.is_empty() || words.starts_with(own.as_str()) {
        words
    } else {
        format!("{own}: {words}")
    }
}

/// A share with its error: "62 % ± 1".
fn share(value: f32, error: f32) -> String {
    let value = (value * 100.0).round();
    let error = error * 100.0;
    if error >= 0.5 {
        format!("{value:.0} % ± {error:.0}")
    } else {
        format!("{value:.0} %")
    }
}

/// Parts of a place in words, with errors where they matter.
pub(crate) fn part_words(ranked: &Ranked) -> Vec<(String, String)> {
    let (parts, error) = (&ranked.judgement.parts, &ranked.judgement.error);
    let dose = match ranked.judgement.dose_limit_lx_h {
        Some(_) => dose_words(parts.dose_over_limit),
        None => "no limit".into(),
    };
    vec![
        ("alive".into(), share(parts.alive_share, error.alive_share)),
        (
            "shift".into(),
            format!("{:.2} per metre", parts.shift_per_m),
        ),
        ("dead".into(), share(parts.dead_share, error.dead_share)),
        (
            "glaring".into(),
            share(parts.glaring_share, error.glaring_share),
        ),
        ("light".into(), dose),
    ]
}

/// What the ranking rests on, one sentence each.
pub fn ranking_notes(room: &BuiltRoom, ranking: &Ranking) -> Vec<String> {
    let weights = ranking.weights;
    let mut notes = vec![
        format!(
            "Shares are of visitors' time: stations weighted by how many pass and how long they take, over the opening hours of \
             {} under {}.",
            days_words(ranking),
            skies_words(ranking)
        ),
        format!(
            "The order weighs alive ({}) and shift ({}) against dead ({}), glaring ({}) and light over the year's limit ({}); shift and light count \
             the less the larger they are. These weights are this project's own choice: change them in the window, in the room file or on the command line.",
            weights.alive, weights.shift, weights.dead, weights.glaring, weights.dose
        ),
        "Places with the same number are equal within twice the sampling error. Errors are of sampling; stations and hours \
         are taken as they are."
            .into(),
        "The year's light is an estimate: the mean of the days and skies studied from sunrise to sunset, lamps at their hours and \
         as new; limits by CIE 157:2004, quoted from memory. A conservator judges it."
            .into(),
        super::GLOSSARY.into(),
        tolerance(room) + ".",
    ];
    if room
        .file
        .fixtures
        .iter()
        .any(|f| matches!(f.aim, crate::room::Aim::Piece { .. }))
    {
        notes.push("Fixtures that aim at the piece follow it from where they are; `aim` finds better ones for a place.".into());
    }
    // Those known best stand first.
    let known = ranking.places.first().map(|p| p.pass);
    let mut best = ranking.places.iter().filter(|p| Some(p.pass) == known);
    let over = |p: &Ranked| {
        p.judgement.dose_limit_lx_h.is_some() && p.judgement.parts.dose_over_limit > 1.0
    };
    if known.is_some() && best.all(over) {
        notes.push(
            "Every place that was judged closely gets more light in a year than the limit for its material: blinds, films, hours in the \
             dark, or another material must be weighed with a conservator."
                .into(),
        );
    }
    notes.extend(ranking.notes.iter().cloned());
    notes
}

fn days_words(ranking: &Ranking) -> String {
    let mut days: Vec<String> = ranking.groups.iter().map(|g| g.1.to_string()).collect();
    days.dedup();
    days.sort();
    days.dedup();
    days.join(", ")
}

fn skies_words(ranking: &Ranking) -> String {
    let mut skies: Vec<&str> = ranking.groups.iter().map(|g| g.0.as_str()).collect();
    skies.dedup();
    let word = if skies.len() == 1 { "sky" } else { "skies" };
    format!("{} {word}", skies.join(" and "))
}

/// Plain text for a terminal.
pub fn ranking_text(room: &BuiltRoom, ranking: &Ranking) -> String {
    let mut text = String::new();
    let full = ranking
        .places
        .iter()
        .filter(|p| p.pass == Pass::Full)
        .count();
    let _ = writeln!(text, "{}: where the piece could hang", room.file.name);
    if !room.file.note.is_empty() {
        let _ = writeln!(text, "{}", wrapped(&room.file.note, "", 96));
    }
    let _ = writeln!(
        text,
        "{} places judged, {full} of them in full; best first\n",
        ranking.judged
    );
    for (i, ranked) in ranking.places.iter().enumerate().take(MOST_TOLD) {
        if i > 0
            && ranked.pass != ranking.places[i - 1].pass
            && ranking.places[i - 1].pass == Pass::Full
        {
            let _ = writeln!(
                text,
                "\nNot judged in full; these may be better or worse than they look:"
            );
        }
        let _ = writeln!(
            text,
            "{:>4}  {}",
            number(ranking, i),
            wrapped(&name(room, ranked), "      ", 90)
        );
        let marks = marks(ranked);
        if !marks.is_empty() {
            let _ = writeln!(text, "      ({})", marks.join("; "));
        }
        let parts: Vec<String> = part_words(ranked)
            .into_iter()
            .map(|(name, value)| format!("{name} {value}"))
            .collect();
        let _ = writeln!(text, "      {}", parts.join(", "));
        let _ = writeln!(
            text,
            "      for: {}",
            wrapped(&ranked.pro, "           ", 86)
        );
        let _ = writeln!(
            text,
            "      against: {}",
            wrapped(&ranked.con, "               ", 84)
        );
        if let Some(worst) = &ranked.judgement.worst_glare {
            let _ = writeln!(
                text,
                "      worst glare, {} times its limit: {}",
                format::significant(f64::from(worst.severity), 2),
                wrapped(&worst.words, "           ", 84)
            );
        }
    }
    if ranking.places.len() > MOST_TOLD {
        let _ = writeln!(
            text,
            "\nand {} more, judged more coarsely, in the table with --out",
            ranking.places.len() - MOST_TOLD
        );
    }
    let _ = writeln!(text);
    for note in ranking_notes(room, ranking) {
        let _ = writeln!(text, "{}", wrapped(&note, "  ", 96));
    }
    for hazard in thrown_words(ranking) {
        let _ = writeln!(text, "hazard: {}", wrapped(&hazard, "  ", 92));
    }
    let _ = writeln!(
        text,
        "Appearance only: what carries the piece, wiring and eye safety are for the building's engineer, a licensed\n\
         electrician and local codes; all cautions are in cautions.txt with --out."
    );
    text
}

/// Sun that the best places throw elsewhere, one sentence a place.
pub fn thrown_words(ranking: &Ranking) -> Vec<String> {
    ranking
        .places
        .iter()
        .enumerate()
        .filter(|(_, p)| p.pass == Pass::Full)
        .filter_map(|(i, p)| {
            let (group, clock, toward) = p.judgement.thrown.first()?;
            let (_, day) = p.judgement.groups.get(*group)?;
            Some(format!(
                "at place {} the piece throws the sun {toward}, e.g. on {day} at {}; never accept this without a check on site",
                number(ranking, i),
                clock_text(*clock)
            ))
        })
        .collect()
}

/// All places, one row each.
pub fn ranking_csv(room: &BuiltRoom, ranking: &Ranking) -> Vec<u8> {
    let header = [
        "rank",
        "place",
        "pass",
        "present",
        "undominated",
        "alive_share",
        "alive_share_se",
        "shift_per_m",
        "shift_per_m_se",
        "dead_share",
        "dead_share_se",
        "glaring_share",
        "glaring_share_se",
        "dose_lx_h",
        "dose_limit_lx_h",
        "worst_glare_over_limit",
        "worst_glare",
        "for",
        "against",
    ];
    let rows = ranking.places.iter().map(|p| {
        let number = |v: f32| significant(v).to_string();
        let (parts, error) = (&p.judgement.parts, &p.judgement.error);
        let known = |v: f32| {
            if p.pass == Pass::Full {
                number(v)
            } else {
                String::new()
            }
        };
        vec![
            p.rank.to_string(),
            name(room, p),
            pass_word(p.pass).into(),
            p.present.to_string(),
            p.undominated.to_string(),
            number(parts.alive_share),
            known(error.alive_share),
            number(parts.shift_per_m),
            known(error.shift_per_m),
            number(parts.dead_share),
            known(error.dead_share),
            number(parts.glaring_share),
            known(error.glaring_share),
            number(p.judgement.dose_lx_h),
            p.judgement.dose_limit_lx_h.map_or(String::new(), number),
            p.judgement
                .worst_glare
                .as_ref()
                .map_or(String::new(), |w| number(w.severity)),
            p.judgement
                .worst_glare
                .as_ref()
                .map_or(String::new(), |w| w.words.clone()),
            p.pro.clone(),
            p.con.clone(),
        ]
    });
    csv(&header, rows)
}

/// The whole ranking. Keys carry units.
pub fn ranking_json(room: &BuiltRoom, ranking: &Ranking) -> Value {
    let places: Vec<Value> = ranking
        .places
        .iter()
        .map(|p| {
            let terms: serde_json::Map<String, Value> = PART_NAMES
                .iter()
                .zip(terms(&p.judgement.parts, &ranking.weights))
                .map(|(name, term)| ((*name).to_owned(), json!(significant(term))))
                .collect();
            json!({
                "rank": p.rank,
                "place": name(room, p),
                "placement": p.placement,
                "pass": pass_word(p.pass),
                "present": p.present,
                "undominated": p.undominated,
                "parts": p.judgement.parts,
                "standard_error": p.judgement.error,
                "weighted": terms,
                "dose_lx_h": significant(p.judgement.dose_lx_h),
                "dose_limit_lx_h": p.judgement.dose_limit_lx_h,
                "worst_glare": p.judgement.worst_glare.as_ref().map(|w| json!({
                    "over_limit": significant(w.severity), "words": w.words,
                })),
                "causes": p.judgement.causes.iter().take(6).map(|(c, s)| json!({
                    "cause": c.name(), "share": significant(*s),
                })).collect::<Vec<_>>(),
                "for": p.pro,
                "against": p.con,
            })
        })
        .collect();
    json!({
        "room": room.file.name,
        "judged": ranking.judged,
        "weights": ranking.weights,
        "days": ranking.groups.iter().map(|(sky, day)| json!({"day": day.to_string(), "sky": sky})).collect::<Vec<_>>(),
        "places": places,
        "notes": ranking_notes(room, ranking),
        "hazards": thrown_words(ranking),
        "cautions": caution::sentences(topics(room)),
    })
}

fn topics(room: &BuiltRoom) -> CautionTopics {
    CautionTopics {
        walks: true,
        glints: true,
        sun_on_metal: room
            .piece
            .materials
            .iter()
            .any(|m| matches!(m, crate::material::Brdf::Metal(_)))
            && !room.scene.panes.is_empty(),
        light_sensitive: room
            .materials
            .iter()
            .any(|m| m.dose_class > crate::material::DoseClass::None),
        daylight: !room.scene.panes.is_empty(),
    }
}

/// Every caution that goes with advice on this room, one a line.
pub fn advice_cautions(room: &BuiltRoom) -> String {
    caution::sentences(topics(room))
        .into_iter()
        .map(|c| format!("- {}\n", wrapped(c, "  ", 96)))
        .collect()
}

/// "07:00 to 20:00".
fn hours_words(clocks: &[u32]) -> String {
    match (clocks.first(), clocks.last()) {
        (Some(from), Some(to)) => format!("{} to {}", clock_text(*from), clock_text(*to)),
        _ => String::new(),
    }
}

/// A small chart of the walk with most visitors in one (sky, day).
fn small_chart(ranked: &Ranked, walk: usize, group: usize) -> Option<SmallChart> {
    let verdicts = ranked
        .judgement
        .walks
        .iter()
        .find(|v| v.walk == walk && v.group == group)?;
    let (sky, day) = ranked.judgement.groups.get(group)?;
    let cell = |v: &Verdict| SmallCell {
        play: v.open.then_some(v.play),
        dead: v.dead,
        glaring: v.glaring,
    };
    Some(SmallChart {
        caption: format!("{day}, {sky}, {}", hours_words(&verdicts.clock_min)),
        columns: verdicts.distance_m.len(),
        cells: verdicts.cells.iter().map(cell).collect(),
    })
}

/// The places that were judged in full, with small charts.
pub fn ranking_sheet(room: &BuiltRoom, ranking: &Ranking) -> RankingSheet {
    let walk = crate::advice::main_walk(room);
    let count = ranking.groups.len();
    // Spread over days and skies.
    let groups: Vec<usize> = if count <= MOST_CHARTS {
        (0..count).collect()
    } else {
        (0..MOST_CHARTS)
            .map(|k| k * (count - 1) / (MOST_CHARTS - 1))
            .collect()
    };
    let rows = ranking
        .places
        .iter()
        .enumerate()
        .filter(|(_, p)| p.pass == Pass::Full)
        .map(|(i, p)| RankingRow {
            number: number(ranking, i),
            name: format!("{}: {}", letter(i), name(room, p)),
            marks: marks(p),
            parts: part_words(p),
            pro: p.pro.clone(),
            con: p.con.clone(),
            charts: groups
                .iter()
                .filter_map(|g| small_chart(p, walk, *g))
                .collect(),
        })
        .collect();
    let walk_name = room.walks.get(walk).map_or("", |w| w.walk.name.as_str());
    RankingSheet {
        title: format!("{}: where the piece could hang", room.file.name),
        subtitle: format!(
            "{} places judged, the best in full · small charts of the walk \"{walk_name}\"",
            ranking.judged
        ),
        rows,
        notes: ranking_notes(room, ranking)
            .into_iter()
            .chain(thrown_words(ranking))
            .collect(),
    }
}

/// The letter of a place on sheet and plan: A for the first.
fn letter(index: usize) -> String {
    let letter = char::from(b'A' + (index % 26) as u8);
    match index / 26 {
        0 => letter.to_string(),
        round => format!("{letter}{round}"),
    }
}

/// The plan with the best places marked by their letters.
pub fn ranking_plan(room: &BuiltRoom, ranking: &Ranking) -> Plan {
    let mut plan = super::plan(room, None);
    plan.title = format!("{}: places in order", room.file.name);
    plan.candidates = ranking
        .places
        .iter()
        .enumerate()
        .filter(|(_, p)| p.pass == Pass::Full)
        .filter_map(|(i, p)| {
            let (a, b) = super::piece_ends(room, &p.placement)?;
            Some(PlanPlace {
                a,
                b,
                label: letter(i),
            })
        })
        .collect();
    plan
}
