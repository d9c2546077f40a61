//! A summary that fits a terminal.

use std::fmt::Write as _;

use super::clock_text;
use crate::{
    measure::{caution::sentences, format, reads::Reads},
    room::BuiltRoom,
    study::{DayStudy, FlagKind, StationReading, Study, ThrownSun},
    sun::DayLight,
};

/// Stretches told per walk and day.
const MOST_TOLD: usize = 3;

/// Every caution that applies, one a line.
pub fn cautions(room: &BuiltRoom, study: &Study) -> String {
    sentences(super::topics(room, study))
        .into_iter()
        .map(|c| format!("- {}\n", wrapped(c, "  ", 96)))
        .collect()
}

/// Plain text, at most about 100 columns but for long names.
pub fn summary(room: &BuiltRoom, study: &Study) -> String {
    let mut text = String::new();
    let file = &room.file;
    let stations: usize = study.walks.iter().map(|w| w.stations.len()).sum();
    let _ = writeln!(text, "{}", file.name);
    if !file.note.is_empty() {
        let _ = writeln!(text, "{}", wrapped(&file.note, "", 96));
    }
    let _ = writeln!(
        text,
        "{} tiles, {} walks with {stations} stations; latitude {:.2}, longitude {:.2}, {}",
        study.tile_ids.len(),
        study.walks.len(),
        file.site.latitude_deg,
        file.site.longitude_deg,
        file.site.zone
    );
    for note in &study.notes {
        let _ = writeln!(text, "note: {}", wrapped(note, "      ", 92));
    }
    let has_daylight = !room.scene.panes.is_empty();
    for day in &study.days {
        let _ = if has_daylight {
            writeln!(text, "\n{}, {} sky{}", day.date, day.sky, sun_words(day))
        } else {
            writeln!(text, "\n{}, no daylight reaches this room", day.date)
        };
        for (w, walk) in day.walks.iter().enumerate() {
            let readings: Vec<_> = walk.open_readings().collect();
            let count = readings.len().max(1) as f32;
            let share = |test: &dyn Fn(&StationReading) -> bool| {
                (readings.iter().filter(|r| test(r)).count() as f32 / count * 100.0).round()
            };
            let flagged = |r: &StationReading, kind| r.flags.iter().any(|f| f.cause.kind() == kind);
            let alive = share(&|r| {
                r.pattern.class.works() && !r.sun_in_view && !flagged(r, FlagKind::Dead)
            });
            let faint = share(&|r| r.pattern.class == Reads::Faint && !flagged(r, FlagKind::Dead));
            let dead = share(&|r| flagged(r, FlagKind::Dead));
            let glaring = share(&|r| flagged(r, FlagKind::Glaring));
            // What is dark has neither glow nor play.
            let lit = || readings.iter().filter(|r| r.mean_luminance_cd_m2 > 0.05);
            let _ = writeln!(
                text,
                "  {}: alive {alive} %, faint {faint} %, dead {dead} %, glaring {glaring} %; glow {}, play {}",
                study.walks[w].name,
                range(lit().map(|r| r.glow)),
                range(lit().map(|r| r.play)),
            );
            for kind in [FlagKind::Dead, FlagKind::Glaring] {
                let of_kind: Vec<_> = walk
                    .stretches
                    .iter()
                    .filter(|s| s.cause.kind() == kind)
                    .collect();
                for stretch in of_kind.iter().take(MOST_TOLD) {
                    let mark = if kind == FlagKind::Dead {
                        "dead"
                    } else {
                        "glare"
                    };
                    let _ = writeln!(
                        text,
                        "    {:>5} {}",
                        mark,
                        wrapped(&stretch.sentence, "          ", 88)
                    );
                }
                if of_kind.len() > MOST_TOLD {
                    let more = of_kind.len() - MOST_TOLD;
                    let word = if more == 1 { "stretch" } else { "stretches" };
                    let _ = writeln!(text, "          and {more} smaller {word} in the tables");
                }
            }
        }
        let _ = writeln!(text, "  {}", wrapped(&light_words(study, day), "  ", 94));
        for hazard in hazards(day) {
            let _ = writeln!(text, "   hazard {}", wrapped(&hazard, "          ", 88));
        }
    }
    let uncertainty = format!(
        "Sampling noise of a tile's luminance {:.1} % (median). {}.",
        study.median_relative_error * 100.0,
        super::tolerance(room)
    );
    let _ = writeln!(
        text,
        "\nAlive: the pattern reads or is strong. Faint: only for someone who looks for it. Glaring counts beside them.\n{}",
        wrapped(&uncertainty, "", 96)
    );
    let _ = writeln!(
        text,
        "Appearance only: emergency lighting, wiring, loads, fixings and eye safety are for local codes, a licensed\n\
         electrician, the building's engineer and a conservator; all cautions are in cautions.txt with --out."
    );
    text
}

/// Sun thrown elsewhere, runs of the clock joined. Sun that a polished tile throws is told wherever it
/// goes; sun that a brushed one throws, where it leaves the building or crosses stairs.
pub(crate) fn hazards(day: &DayStudy) -> Vec<String> {
    struct Run {
        last: ThrownSun,
        from_min: u32,
        most_tiles: usize,
    }
    // A run is broken by an instant without.
    let step_min = day
        .instants
        .windows(2)
        .map(|w| w[1].clock_min - w[0].clock_min)
        .min()
        .unwrap_or(60);
    let mut runs: Vec<Run> = Vec::new();
    for thrown in &day.thrown {
        let same = runs.iter_mut().rev().find(|r| {
            r.last.toward == thrown.toward && thrown.clock_min <= r.last.clock_min + step_min
        });
        match same {
            Some(run) => {
                run.most_tiles = run.most_tiles.max(thrown.tiles.len());
                let near_stairs = run.last.near_stairs || thrown.near_stairs;
                run.last = ThrownSun {
                    near_stairs,
                    ..thrown.clone()
                };
            }
            None => runs.push(Run {
                last: thrown.clone(),
                from_min: thrown.clock_min,
                most_tiles: thrown.tiles.len(),
            }),
        }
    }
    runs.retain(|r| r.last.leaves_building || r.last.near_stairs || r.last.polished);
    runs.sort_by_key(|r| (!r.last.leaves_building, !r.last.near_stairs, r.from_min));
    runs.into_iter()
        .map(|r| {
            let to_min = r.last.clock_min;
            let when = if r.from_min == to_min {
                format!("about {}", clock_text(to_min))
            } else {
                format!("{} to {}", clock_text(r.from_min), clock_text(to_min))
            };
            let who = if r.last.leaves_building {
                "check for roads, neighbours and glass opposite"
            } else if r.last.near_stairs {
                "it crosses stairs: nobody must be dazzled there"
            } else {
                "nobody must stand in it and look up: check on site"
            };
            let tiles = if r.most_tiles == 1 {
                "1 tile throws".into()
            } else {
                format!("up to {} tiles throw", r.most_tiles)
            };
            format!("{when}: {tiles} the sun {}; {who}", r.last.toward)
        })
        .collect()
}

/// Light on the piece, and how uneven it is by itself.
fn light_words(study: &Study, day: &DayStudy) -> String {
    let most = day
        .tile_exposure_lx_h
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(b.1));
    let Some((tile, exposure)) = most else {
        return String::new();
    };
    format!(
        "light on the piece over these hours: at most {} lx h, on tile {}; play that the light alone would make on a \
         plain board: {}",
        format::significant(f64::from(*exposure), 2),
        study.tile_ids[tile],
        range(day.play_of_light.iter().copied()),
    )
}

fn sun_words(day: &DayStudy) -> String {
    match &day.day_light {
        DayLight::Normal { sunrise, sunset } => {
            let time = |z: &Option<jiff::ZonedDateTime>| {
                z.as_ref().map_or("none".into(), |z| {
                    clock_text(
                        z.hour() as u32 * 60 + z.minute() as u32 + u32::from(z.second() >= 30),
                    )
                })
            };
            format!(", sunrise {}, sunset {}", time(sunrise), time(sunset))
        }
        DayLight::PolarDay => ", the sun does not set".into(),
        DayLight::PolarNight => ", the sun does not rise".into(),
    }
}

fn range(values: impl Iterator<Item = f32>) -> String {
    let (low, high) = values.fold((f32::MAX, 0.0_f32), |(l, h), v| (l.min(v), h.max(v)));
    if high <= 0.0 {
        return "0".into();
    }
    let (low, high) = (
        format::significant(f64::from(low), 2),
        format::significant(f64::from(high), 2),
    );
    if low == high {
        low
    } else {
        format!("{low}-{high}")
    }
}

/// Breaks a text into lines of at most `width` characters with a hanging indent.
pub(crate) fn wrapped(text: &str, indent: &str, width: usize) -> String {
    let mut out = String::new();
    let mut length = 0;
    for word in text.split_whitespace() {
        let word_length = word.chars().count();
        if length > 0 && length + 1 + word_length > width {
            out.push('\n');
            out.push_str(indent);
            length = 0;
        } else if length > 0 {
            out.push(' ');
            length += 1;
        }
        out.push_str(word);
        length += word_length;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapping_loses_no_word_and_keeps_to_the_width() {
        let text = "one two three four five six seven";
        let lines = wrapped(text, "  ", 12);
        assert!(lines.lines().all(|l| l.chars().count() <= 14), "{lines}");
        assert_eq!(
            lines.split_whitespace().collect::<Vec<_>>(),
            text.split_whitespace().collect::<Vec<_>>()
        );
    }
}
