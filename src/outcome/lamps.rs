//! Advice on fixtures and the aiming schedule as text, tables, JSON and a sheet.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::{significant, tables::csv, tolerance, wrapped};
use crate::{
    advice::{
        aim::{InstantVerdict, LampPlan, LampVerdict},
        placement_words,
        schedule::ScheduleRow,
    },
    measure::format,
    report::{AimPoint, AimingSheet},
    room::BuiltRoom,
    units::METRES_PER_FOOT,
};

/// Units that lengths are given in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Lengths {
    /// Metres.
    #[default]
    Metres,
    /// Feet and inches.
    Feet,
}

impl Lengths {
    /// A length for people: "2.45 m", "8 ft 0.5 in" (to half an inch).
    pub fn words(self, length_m: f32) -> String {
        match self {
            Self::Metres => format!("{length_m:.2} m"),
            Self::Feet => {
                let half_inches = (f64::from(length_m) / METRES_PER_FOOT * 24.0).round() as i64;
                let sign = if half_inches < 0 { "-" } else { "" };
                let half_inches = half_inches.abs();
                let (feet, rest) = (half_inches / 24, half_inches % 24);
                let inches = if rest % 2 == 0 {
                    format!("{}", rest / 2)
                } else {
                    format!("{}.5", rest / 2)
                };
                format!("{sign}{feet} ft {inches} in")
            }
        }
    }

    /// A length for tables, in metres or decimal feet, whole millimetres.
    fn number(self, length_m: f32) -> String {
        match self {
            Self::Metres => format!("{length_m:.3}"),
            Self::Feet => format!("{:.3}", f64::from(length_m) / METRES_PER_FOOT),
        }
    }

    fn unit(self) -> &'static str {
        match self {
            Self::Metres => "m",
            Self::Feet => "ft",
        }
    }
}

/// Cautions that go with any advice on fixtures.
pub const FIXTURE_CAUTIONS: &[&str] = &[
    "Wiring, loads on tracks and circuits, dimmers and fixings are for a licensed electrician under the local code; switch off before \
     touching a fixture, and work from a safe ladder or lift.",
    "Keep fixtures at their maker's least distance from wood and fabric: beams heat what they meet.",
    "Before opening, walk every path at every eye height and look for glare; then measure the light on the piece and dim to the limit.",
    "Emergency and exit lighting are not covered and must stay as they are.",
];

fn percent(share: f32) -> String {
    format::percent(f64::from(share))
}

fn verdict_lines(verdict: &LampVerdict) -> String {
    let mut text = String::new();
    for at in &verdict.instants {
        let _ = writeln!(text, "    {}", instant_words(at));
    }
    text
}

/// "1 fixture lit, 16 W".
fn lit_words(verdict: &LampVerdict) -> String {
    let word = if verdict.lit == 1 {
        "fixture"
    } else {
        "fixtures"
    };
    format!("{} {word} lit, {:.0} W", verdict.lit, verdict.watts)
}

fn instant_words(at: &InstantVerdict) -> String {
    let two = |v: f32| format::significant(f64::from(v), 2);
    format!(
        "{}: strong {}, alive {}, dead {}, glaring {}, a lamp in view {}; glow {} to {}, at most {} on a tile",
        at.when,
        percent(at.strong_share),
        percent(at.alive_share),
        percent(at.dead_share),
        percent(at.glaring_share),
        percent(at.lamp_in_view_share),
        two(at.glow.0),
        two(at.glow.1),
        format::lux(f64::from(at.most_lx))
    )
}

/// Plain text for a terminal.
pub fn lamps_text(room: &BuiltRoom, plan: &LampPlan) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{}: fixtures for the piece", room.file.name);
    if !room.file.note.is_empty() {
        let _ = writeln!(text, "{}", wrapped(&room.file.note, "", 96));
    }
    let _ = writeln!(
        text,
        "the piece on {}; {} choices of kind, place and aim were open; at most {} on a tile ({})\n",
        placement_words(&room.file, &room.file.placement),
        plan.choices,
        format::lux(f64::from(plan.most_lx.0)),
        plan.most_lx.1
    );
    if plan.changes.is_empty() {
        let _ = writeln!(text, "Nothing is to be changed.");
    } else {
        let _ = writeln!(text, "To do:");
        for change in &plan.changes {
            let _ = writeln!(text, "  {}", wrapped(change, "    ", 92));
        }
    }
    let _ = writeln!(text, "\nAs advised ({}):", lit_words(&plan.after));
    text += &verdict_lines(&plan.after);
    let _ = writeln!(text, "As it is now ({}):", lit_words(&plan.before));
    text += &verdict_lines(&plan.before);
    if let Some((_, by_rule)) = &plan.by_rule {
        let off = plan.rule_off_rad.to_degrees().round();
        let as_near = if off >= 1.0 {
            format!(", as near as the allowed places come: up to {off} deg off")
        } else {
            String::new()
        };
        let _ = writeln!(
            text,
            "By the trade's 30-degree rule (beams meet the piece 30 deg from plumb){as_near} ({}):",
            lit_words(by_rule)
        );
        text += &verdict_lines(by_rule);
    }
    if !plan.gains.is_empty() {
        let _ = writeln!(text, "\nGained:");
        for gain in &plan.gains {
            let _ = writeln!(text, "  {}", wrapped(gain, "    ", 92));
        }
    }
    if plan.unmet.is_empty() {
        let _ = writeln!(text, "\nAll wishes are met.");
    } else {
        let _ = writeln!(text, "\nCannot be met with what is allowed:");
        for unmet in &plan.unmet {
            let _ = writeln!(text, "  {}", wrapped(unmet, "    ", 92));
        }
    }
    for note in &plan.notes {
        let _ = writeln!(text, "note: {}", wrapped(note, "      ", 92));
    }
    let _ = writeln!(text, "\n{}", wrapped(super::GLOSSARY, "  ", 96));
    let _ = writeln!(text, "{}", wrapped(&(tolerance(room) + "."), "", 96));
    for caution in FIXTURE_CAUTIONS {
        let _ = writeln!(text, "{}", wrapped(caution, "  ", 96));
    }
    text
}

/// The whole advice. Keys carry units.
pub fn lamps_json(room: &BuiltRoom, plan: &LampPlan, schedule: &[ScheduleRow]) -> Value {
    json!({
        "room": room.file.name,
        "placement": room.file.placement,
        "fixtures": plan.file.fixtures,
        "changes": plan.changes,
        "after": plan.after,
        "before": plan.before,
        "by_30_degree_rule": plan.by_rule.as_ref().map(|r| &r.1),
        "rule_off_deg": significant(plan.rule_off_rad.to_degrees()),
        "most_lx": plan.most_lx.0,
        "most_lx_source": plan.most_lx.1,
        "gains": plan.gains,
        "unmet": plan.unmet,
        "notes": plan.notes,
        "choices": plan.choices,
        "schedule": schedule,
        "cautions": FIXTURE_CAUTIONS,
    })
}

/// The schedule as a table, a row a fixture in the order of work.
pub fn schedule_csv(rows: &[ScheduleRow], lengths: Lengths) -> Vec<u8> {
    let unit = lengths.unit();
    let header: Vec<String> = [
        "order",
        "fixture",
        "kind",
        "x_{}",
        "y_{}",
        "height_{}",
        "wall_1",
        "from_wall_1_{}",
        "wall_2",
        "from_wall_2_{}",
        "target_right_{}",
        "target_up_{}",
        "target_x_{}",
        "target_y_{}",
        "target_height_{}",
        "pan_deg",
        "tilt_deg",
        "roll_deg",
        "throw_{}",
        "beam_deg",
        "beam_diameter_{}",
        "target_lx",
        "dimming_percent",
        "cct_k",
        "watts",
        "lit_from",
        "lit_to",
    ]
    .map(|h| h.replace("{}", unit))
    .to_vec();
    let header: Vec<&str> = header.iter().map(String::as_str).collect();
    let body = rows.iter().map(|r| {
        let wall = |i: usize| r.from_walls_m.get(i);
        let length = |m: f32| lengths.number(m);
        let maybe = |m: Option<f32>| m.map_or(String::new(), length);
        vec![
            r.order.to_string(),
            r.name.clone(),
            r.kind.clone(),
            length(r.x_m),
            length(r.y_m),
            length(r.height_m),
            wall(0).map_or(String::new(), |w| w.0.clone()),
            maybe(wall(0).map(|w| w.1)),
            wall(1).map_or(String::new(), |w| w.0.clone()),
            maybe(wall(1).map(|w| w.1)),
            maybe(r.target_on_piece_m.map(|t| t.0)),
            maybe(r.target_on_piece_m.map(|t| t.1)),
            length(r.target_m.0),
            length(r.target_m.1),
            length(r.target_m.2),
            format!("{:.1}", r.pan_deg),
            format!("{:.1}", r.tilt_deg),
            format!("{:.1}", r.roll_deg),
            length(r.throw_m),
            format!("{:.1}", r.beam_deg),
            maybe(r.beam_diameter_m),
            significant(r.target_lx).to_string(),
            format!("{:.0}", r.dimming * 100.0),
            format!("{:.0}", r.cct_k),
            r.watts
                .map_or(String::new(), |w| significant(w).to_string()),
            r.lit.as_ref().map_or(String::new(), |l| l.0.clone()),
            r.lit.as_ref().map_or(String::new(), |l| l.1.clone()),
        ]
    });
    csv(&header, body)
}

/// The sheet for whoever stands on the ladder. `room` is the room with the fixtures of `rows`.
pub fn aiming_sheet(room: &BuiltRoom, rows: &[ScheduleRow], lengths: Lengths) -> AimingSheet {
    let length = |m: f32| lengths.words(m);
    let size_m = room.size_turned(room.file.placement.turn_deg).into();
    let header = [
        "order",
        "fixture",
        "kind",
        "from walls",
        "height",
        "aims at",
        "pan",
        "tilt",
        "roll",
        "throw",
        "beam there",
        "lux at\ntarget",
        "dim\nto",
        "CCT",
        "done",
    ];
    let right = [
        false, false, false, false, true, false, true, true, true, true, true, true, true, true,
        false,
    ];
    let table = rows
        .iter()
        .map(|r| {
            let walls: Vec<String> = r
                .from_walls_m
                .iter()
                .map(|(wall, m)| format!("{} {}", length(*m), wall.replace(" wall", "")))
                .collect();
            vec![
                r.order.to_string(),
                r.name.clone(),
                kind_words(r),
                walls.join(", "),
                length(r.height_m),
                target_words(r, lengths),
                format!("{:.0}°", r.pan_deg),
                format!("{:.0}°", r.tilt_deg),
                format!("{:.0}°", r.roll_deg),
                length(r.throw_m),
                // A wide beam that shines down has no edge to look for.
                r.beam_diameter_m
                    .filter(|_| r.target_on_piece_m.is_some())
                    .map_or(String::new(), length),
                format::significant(f64::from(r.target_lx), 2),
                format!("{:.0} %", r.dimming * 100.0),
                format!("{:.0} K", r.cct_k),
                String::new(),
            ]
        })
        .collect();
    let mut notes = vec![
        "In the order that saves ladder moves. Places and heights are of the middle of the luminous opening, from the finished wall and the floor \
         below. Left and right as seen standing before the piece."
            .to_owned(),
        "Pan: direction of the beam on the plan drawing, clockwise from the top of the sheet. Tilt: of the beam from straight down. Roll: turn about \
         the beam, counter-clockwise as seen from behind the fixture; at 0° the long side of a fixture that shines down runs left to right on the \
         plan. Beam there: diameter at half of the peak, across the beam; on the wall it is longer where the beam comes at a slant."
            .to_owned(),
        "Lux at target: by this fixture alone, new lamp, at its dimming, with daylight and all others off.".to_owned(),
        limit_note(room),
        tolerance(room) + ".",
    ];
    notes.extend(FIXTURE_CAUTIONS.iter().map(|c| (*c).to_owned()));
    AimingSheet {
        title: format!("{}: aiming sheet", room.file.name),
        subtitle: format!(
            "{} fixtures · the piece on {}",
            rows.len(),
            placement_words(&room.file, &room.file.placement)
        ),
        size_m,
        size_words: (
            format!("{} wide", length(size_m.0)),
            format!("{} high", length(size_m.1)),
        ),
        points: rows
            .iter()
            .filter_map(|r| {
                Some(AimPoint {
                    label: r.name.clone(),
                    at_m: r.target_on_piece_m?,
                    beam_m: r.beam_diameter_m.unwrap_or(0.0),
                })
            })
            .collect(),
        header: header.map(str::to_owned).to_vec(),
        right: right.to_vec(),
        rows: table,
        notes,
    }
}

/// "track spot, 18° beam, 13 W".
fn kind_words(row: &ScheduleRow) -> String {
    let watts = row.watts.map_or(String::new(), |w| {
        format!(", {} W", format::significant(f64::from(w), 2))
    });
    format!("{}, {:.0}° beam{watts}", row.kind, row.beam_deg)
}

/// What dimming is held to.
fn limit_note(room: &BuiltRoom) -> String {
    let (lx, source) = crate::advice::aim::most_lx(room);
    format!(
        "All together, no tile may get more than {} ({source}): measure after dark with all of them lit as listed, and dim until it is so.",
        format::lux(f64::from(lx))
    )
}

fn target_words(row: &ScheduleRow, lengths: Lengths) -> String {
    let length = |m: f32| lengths.words(m.abs());
    let Some((right, up)) = row.target_on_piece_m else {
        return match row.tilt_deg {
            t if t < 0.5 => "straight down".into(),
            t if t > 179.5 => "straight up".into(),
            _ => format!(
                "x {}, y {}, {} up",
                lengths.words(row.target_m.0),
                lengths.words(row.target_m.1),
                lengths.words(row.target_m.2)
            ),
        };
    };
    let side = match right {
        r if r.abs() < 0.005 => String::new(),
        r if r > 0.0 => format!("{} right", length(r)),
        r => format!("{} left", length(r)),
    };
    let height = match up {
        u if u.abs() < 0.005 => String::new(),
        u if u > 0.0 => format!("{} above", length(u)),
        u => format!("{} below", length(u)),
    };
    match (side.is_empty(), height.is_empty()) {
        (true, true) => "middle of the piece".into(),
        (false, true) => format!("{side} of the middle"),
        (true, false) => format!("{height} the middle"),
        (false, false) => format!("{side}, {height} the middle"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn feet_are_rounded_to_half_inches() {
        // 1 ft = 0.3048 m exactly; 2.45 m = 8.0381 ft = 8 ft 0.457 in.
        for (m, words) in [
            (0.3048, "1 ft 0 in"),
            (2.45, "8 ft 0.5 in"),
            (0.0, "0 ft 0 in"),
            (-0.3048, "-1 ft 0 in"),
            (0.3047, "1 ft 0 in"),
        ] {
            assert_eq!(Lengths::Feet.words(m), words);
        }
        assert_eq!(Lengths::Metres.words(2.454), "2.45 m");
    }
}
