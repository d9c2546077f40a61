//! One sentence for a place and one against it, from the parts that set it apart.

use super::Ranked;
use crate::{
    advice::{Judgement, Parts},
    measure::format,
    room::BuiltRoom,
    study::{Cause, FlagKind, source_words},
};

/// Writes both sentences of every place, against the middle of its pass.
pub(super) fn sentences(places: &mut [Ranked], room: &BuiltRoom) {
    let passes: Vec<_> = places.iter().map(|p| p.pass).collect();
    let middles: Vec<[f32; 5]> = passes
        .iter()
        .map(|pass| {
            std::array::from_fn(|i| {
                let mut values: Vec<f32> = places
                    .iter()
                    .filter(|p| p.pass == *pass)
                    .map(|p| p.judgement.parts.values()[i])
                    .collect();
                let middle = values.len() / 2;
                *values.select_nth_unstable_by(middle, f32::total_cmp).1
            })
        })
        .collect();
    for (place, middle) in places.iter_mut().zip(middles) {
        place.pro = pro(&place.judgement, &middle);
        place.con = con(&place.judgement, &middle, room);
    }
}

/// How far each part lies on the good side of the middle, in units that a person would call a difference.
fn leads(judgement: &Judgement, middle: &[f32; 5]) -> [f32; 5] {
    const NOTABLE: [f32; 5] = [0.10, 0.15, 0.10, 0.05, 0.25];
    let values = judgement.parts.values();
    std::array::from_fn(|i| {
        let sign = if Parts::MORE_IS_BETTER[i] { 1.0 } else { -1.0 };
        sign * (values[i] - middle[i]) / NOTABLE[i]
    })
}

fn percent(share: f32) -> String {
    format::percent(f64::from(share))
}

/// "40 % of the year's limit", "7.1 times the year's limit".
pub(crate) fn dose_words(over_limit: f32) -> String {
    if over_limit < 1.0 {
        format!("{} of the year's limit", percent(over_limit))
    } else {
        let times = format::significant(f64::from(over_limit), 2);
        format!("{times} times the year's limit")
    }
}

fn pro(judgement: &Judgement, middle: &[f32; 5]) -> String {
    let parts = &judgement.parts;
    let lead = leads(judgement, middle);
    // More light than the limit is no merit, however much others get.
    let parts_count = if parts.dose_over_limit > 1.0 { 4 } else { 5 };
    let best = (0..parts_count)
        .max_by(|a, b| lead[*a].total_cmp(&lead[*b]))
        .unwrap_or(0);
    let place = judgement
        .best_place
        .as_ref()
        .filter(|p| *p != "along the whole walk")
        .map_or(String::new(), |p| format!(", most of all {p}"));
    match best {
        _ if lead[best] <= 0.0 && parts.alive_share > 0.0 => format!(
            "the pattern is alive for {} of visitors' time{place}",
            percent(parts.alive_share)
        ),
        _ if lead[best] <= 0.0 => "nothing speaks for it beside the others".into(),
        0 => format!(
            "the pattern is alive for {} of visitors' time{place}",
            percent(parts.alive_share)
        ),
        1 => format!(
            "the pattern changes much as one walks, {:.2} per metre",
            parts.shift_per_m
        ),
        2 => format!(
            "it is dead for only {} of visitors' time",
            percent(parts.dead_share)
        ),
        3 if parts.glaring_share < 0.005 => "nothing glares from any station".into(),
        3 => format!(
            "something glares for only {} of visitors' time",
            percent(parts.glaring_share)
        ),
        _ => format!(
            "it gets less light than most other places, {}",
            dose_words(parts.dose_over_limit)
        ),
    }
}

fn con(judgement: &Judgement, middle: &[f32; 5], room: &BuiltRoom) -> String {
    let parts = &judgement.parts;
    let lead = leads(judgement, middle);
    // Harm that other places do not do weighs before comparison.
    if parts.dose_over_limit > 1.0 && middle[4] <= 1.0 {
        return format!(
            "the year's light is {} for the material: a conservator must judge it",
            dose_words(parts.dose_over_limit)
        );
    }
    let worst = (0..5)
        .min_by(|a, b| lead[*a].total_cmp(&lead[*b]))
        .unwrap_or(0);
    let cause = |kind: FlagKind| {
        judgement
            .causes
            .iter()
            .find(|(c, _)| c.kind() == kind)
            .map(|(c, _)| format!(", mostly because {}", cause_words(room, *c)))
            .unwrap_or_default()
    };
    let glaring = || {
        format!(
            "something glares for {} of visitors' time{}",
            percent(parts.glaring_share),
            cause(FlagKind::Glaring)
        )
    };
    let dead = || {
        format!(
            "it is dead for {} of visitors' time{}",
            percent(parts.dead_share),
            cause(FlagKind::Dead)
        )
    };
    match worst {
        3 if parts.glaring_share > 0.005 => glaring(),
        2 if parts.dead_share > 0.005 => dead(),
        1 if lead[1] < -0.5 => format!(
            "the pattern changes little as one walks, {:.2} per metre",
            parts.shift_per_m
        ),
        0 if lead[0] < 0.0 => format!(
            "the pattern is alive for only {} of visitors' time{}",
            percent(parts.alive_share),
            cause(FlagKind::Dead)
        ),
        4 if lead[4] < 0.0 => format!(
            "it gets more light than most other places, {}",
            dose_words(parts.dose_over_limit)
        ),
        _ if parts.dead_share >= parts.glaring_share && parts.dead_share > 0.005 => dead(),
        _ if parts.glaring_share > 0.005 => glaring(),
        _ if parts.dose_over_limit > 1.0 => format!(
            "it gets {}: a conservator must judge it",
            dose_words(parts.dose_over_limit)
        ),
        _ => "nothing speaks against it".into(),
    }
}

/// A cause without place and time.
pub(crate) fn cause_words(room: &BuiltRoom, cause: Cause) -> String {
    let lamp = |f: usize| {
        room.scene
            .fixtures
            .get(f)
            .map_or("a fixture", |f| f.label.as_str())
            .to_owned()
    };
    let pane = |p: usize| {
        room.scene
            .panes
            .get(p)
            .map_or("a window", |p| p.label.as_str())
            .to_owned()
    };
    match cause {
        Cause::TooDark => "too little light falls on it".into(),
        Cause::EvenLight => "light comes from all sides alike".into(),
        Cause::Veiled(part) => format!("{} veils it", source_words(room, part, None)),
        Cause::EqualTiles => "neighbouring tiles throw the light alike".into(),
        Cause::TooSmall => "its tiles are too small to tell apart".into(),
        Cause::Hidden => "something stands before it".into(),
        Cause::TooFlat => "it is seen almost edge-on".into(),
        Cause::Behind => "it is seen from behind".into(),
        Cause::Glint(part) => format!("its tiles throw {}", source_words(room, part, None)),
        Cause::SunInView => "the sun stands in the view".into(),
        Cause::BrightPane(p) => format!("{} is too bright", pane(p)),
        Cause::Overpowering => "a few tiles drown the rest".into(),
        Cause::BrightView => "the whole view is too bright".into(),
        Cause::BrightOpening(f) => format!("the eye looks into {}", lamp(f)),
        Cause::BrightFixtures(f) => format!("the lamps are too bright, most of all {}", lamp(f)),
        Cause::MirrorImage(part) => {
            format!(
                "{} stands in it as in a mirror",
                source_words(room, part, None)
            )
        }
    }
}
