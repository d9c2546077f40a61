//! What was changed, what could not be met, what was gained: in words.

use glam::Vec2;

use super::{InstantVerdict, LampPlan};
use crate::{
    advice::schedule::from_walls,
    measure::format,
    room::{Aim, BuiltRoom, LampChoices, Leave, RoomFile},
};

/// Share of visitors' time for which a strong pattern counts as a wish met (own choice).
const STRONG_WISHED: f32 = 0.8;
/// Change of a share that is worth a sentence (own choice).
const WORTH_TELLING: f32 = 0.03;

fn percent(share: f32) -> String {
    format::percent(f64::from(share))
}

fn aim_words(aim: &Aim) -> String {
    match aim {
        Aim::Down => "straight down".into(),
        Aim::Up => "straight up".into(),
        Aim::At(x, y, h) => format!("at x {x:.2} m, y {y:.2} m, {h:.2} m up"),
        Aim::Piece { right_m, up_m } => {
            let across = match right_m {
                r if r.abs() < 0.005 => "the middle".to_owned(),
                r if *r > 0.0 => format!("{r:.2} m to the right"),
                r => format!("{:.2} m to the left", -r),
            };
            let up = match up_m {
                u if u.abs() < 0.005 => String::new(),
                u if *u > 0.0 => format!(", {u:.2} m above the middle"),
                u => format!(", {:.2} m below the middle", -u),
            };
            format!("at the piece, {across}{up}")
        }
    }
}

/// One sentence for each fixture that is new or changed.
pub(super) fn changes(room: &BuiltRoom, file: &RoomFile, leaves: &[Leave]) -> Vec<String> {
    let mut words = Vec::new();
    for fixture in &file.fixtures {
        let before = room.file.fixtures.iter().find(|f| f.name == fixture.name);
        let dim = percent(fixture.dimming);
        match before {
            None => words.push(format!(
                "{}: new, {}, {}; aim {}; dim to {dim}",
                fixture.name,
                fixture.kind,
                place_words(room, fixture.at_m),
                aim_words(&fixture.aim)
            )),
            Some(before) if before == fixture => {}
            Some(_) if fixture.dimming < 0.005 => {
                words.push(format!("{}: switch off", fixture.name));
            }
            Some(before) => {
                let aim = if before.aim == fixture.aim {
                    String::new()
                } else {
                    format!("aim {}; ", aim_words(&fixture.aim))
                };
                words.push(format!(
                    "{}: {aim}dim to {dim} instead of {}",
                    fixture.name,
                    percent(before.dimming)
                ));
            }
        }
    }
    let kept: Vec<&str> = room
        .file
        .fixtures
        .iter()
        .zip(leaves)
        .filter(|(_, leave)| **leave == Leave::Untouched)
        .map(|(f, _)| f.name.as_str())
        .collect();
    if !words.is_empty() && !kept.is_empty() {
        words.push(format!("{}: leave as they are", kept.join(", ")));
    }
    words
}

/// "2.90 m from north wall, 5.72 m from west wall, 5.60 m up".
fn place_words(room: &BuiltRoom, (x, y, h): (f32, f32, f32)) -> String {
    let walls: Vec<String> = from_walls(room, Vec2::new(x, y), h)
        .into_iter()
        .map(|(wall, m)| format!("{m:.2} m from {wall}"))
        .collect();
    if walls.is_empty() {
        return format!("at x {x:.2} m, y {y:.2} m, {h:.2} m up");
    }
    format!("{}, {h:.2} m up", walls.join(", "))
}

/// What the advice does not reach, one plain sentence each.
pub(super) fn unmet(plan: &LampPlan, lamps: &LampChoices, has_pattern: bool) -> Vec<String> {
    let mut words = Vec::new();
    for at in &plan.after.instants {
        if has_pattern && at.strong_share < STRONG_WISHED {
            words.push(format!(
                "at {} the pattern is strong for only {} of visitors' time (wished: {})",
                at.when,
                percent(at.strong_share),
                percent(STRONG_WISHED)
            ));
        }
        if at.daylight_lx > 1.02 * plan.most_lx.0 {
            words.push(format!(
                "at {} daylight alone gives {} on a tile, over the limit of {}: dimming cannot help",
                at.when,
                format::lux(f64::from(at.daylight_lx)),
                format::lux(f64::from(plan.most_lx.0))
            ));
        } else if at.most_lx > 1.02 * plan.most_lx.0 {
            words.push(format!(
                "at {} a tile gets {}, over the limit of {}",
                at.when,
                format::lux(f64::from(at.most_lx)),
                format::lux(f64::from(plan.most_lx.0))
            ));
        }
        if at.lamp_in_view_share > 0.005 {
            words.push(format!(
                "at {} visitors look into a fixture or its mirror image for {} of their time: {}",
                at.when,
                percent(at.lamp_in_view_share),
                at.worst_glare.as_deref().unwrap_or("see the study")
            ));
        }
        let (low, high) = at.glow;
        if low < 0.98 * lamps.glow.0 || high > 1.02 * lamps.glow.1 {
            words.push(format!(
                "at {} the piece is {} to {} times as bright as its wall (wished: {} to {})",
                at.when,
                format::significant(f64::from(low), 2),
                format::significant(f64::from(high), 2),
                lamps.glow.0,
                lamps.glow.1
            ));
        }
    }
    for shadow in &plan.after.shadows {
        words.push(format!(
            "{}: a person on {} throws a shadow on {} of the tiles",
            shadow.fixture,
            shadow.place,
            percent(shadow.share_of_tiles)
        ));
    }
    words
}

/// What the advice gains, against the room as it is and against the rule of thumb.
pub(super) fn gains(plan: &LampPlan) -> Vec<String> {
    let mut words = Vec::new();
    let mut compare = |name: &str, other: &[InstantVerdict]| {
        for (after, before) in plan.after.instants.iter().zip(other) {
            let mut parts = Vec::new();
            for (what, a, b) in [
                ("strong", after.strong_share, before.strong_share),
                ("alive", after.alive_share, before.alive_share),
                ("dead", after.dead_share, before.dead_share),
                ("glaring", after.glaring_share, before.glaring_share),
                (
                    "a lamp in view",
                    after.lamp_in_view_share,
                    before.lamp_in_view_share,
                ),
            ] {
                if (a - b).abs() >= WORTH_TELLING {
                    parts.push(format!("{what} {} instead of {}", percent(a), percent(b)));
                }
            }
            let limit = plan.most_lx.0;
            if before.most_lx > 1.02 * limit && after.most_lx < before.most_lx {
                parts.insert(
                    0,
                    format!(
                        "at most {} on a tile instead of {}, with a limit of {}",
                        format::lux(f64::from(after.most_lx)),
                        format::lux(f64::from(before.most_lx)),
                        format::lux(f64::from(limit))
                    ),
                );
            }
            if parts.is_empty() {
                parts.push("no difference worth telling".into());
            }
            words.push(format!(
                "{}, against {name}: {}",
                after.when,
                parts.join(", ")
            ));
        }
    };
    compare("the room as it is", &plan.before.instants);
    if let Some((_, by_rule)) = &plan.by_rule {
        compare("the 30-degree rule", &by_rule.instants);
    }
    let strong = |v: &[InstantVerdict]| v.iter().map(|i| i.strong_share).sum::<f32>();
    if plan.after.lit < plan.before.lit
        && strong(&plan.after.instants) > strong(&plan.before.instants) + WORTH_TELLING
    {
        words.push(
            "fewer fixtures do more here because light from one side sets tiles apart, and light from several sides evens them out"
                .into(),
        );
    }
    words
}
