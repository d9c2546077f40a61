//! The page to send: one stand-alone HTML file with a walk through a day, its pictures and its readings.
//!
//! Input: studies of one walk on one day (one a state), and a picture of each station and hour; output: the bundled page
//! with its data. The page reads nothing from anywhere else.

use base64::{Engine as _, engine::general_purpose::STANDARD};
use glam::Vec2;
use serde_json::{Value, json};

use super::Lengths;
use crate::{
    measure::{caution, format, reads::Reads},
    report::{ReportError, png_from_svg, small_plan},
    room::BuiltRoom,
    study::{FlagKind, Study, flag_words, place_words},
    units::METRES_PER_FOOT,
};

/// The page.
const TEMPLATE: &str = include_str!("../../assets/page.html");
/// Where its data go.
const DATA_MARK: &str = "/*PAGE_DATA*/";
/// Where its title goes.
const TITLE_MARK: &str = "/*PAGE_TITLE*/";

/// One state of the room: as it is, or as it could be.
pub struct PageState<'a> {
    /// What it is called.
    pub name: String,
    /// One line on what it is.
    pub sentence: String,
    /// The room.
    pub room: &'a BuiltRoom,
    /// Its study of one day under one sky.
    pub study: &'a Study,
    /// JPEG files, hour-major: hour * stations + station; `None` where nothing was drawn.
    pub pictures: Vec<Option<Vec<u8>>>,
}

/// What the page shows.
pub struct PageParts<'a> {
    /// One state, or two of the same walk.
    pub states: Vec<PageState<'a>>,
    /// Index of the walk.
    pub walk: usize,
    /// Stations (index) of the walk that are shown, rising.
    pub stations: &'a [usize],
    /// Size of the pictures [pixels].
    pub picture_size: [u32; 2],
    /// Units of lengths.
    pub lengths: Lengths,
    /// By what it was made.
    pub made: &'a str,
    /// Why there are no pictures, where there are none.
    pub no_pictures: Option<&'a str>,
}

/// The page as HTML text.
///
/// # Errors
/// The small plan cannot be drawn.
pub fn page(parts: &PageParts) -> Result<String, ReportError> {
    let Some(first) = parts.states.first() else {
        return Ok(String::new());
    };
    let data = data(parts, first)?.to_string();
    // No tag may begin inside the data.
    let data = data.replace('<', "\\u003c");
    let title = first
        .room
        .file
        .name
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;");
    Ok(TEMPLATE
        .replacen(TITLE_MARK, &title, 1)
        .replacen(DATA_MARK, &data, 1))
}

fn data(parts: &PageParts, first: &PageState) -> Result<Value, ReportError> {
    let room = first.room;
    let walk = &room.walks[parts.walk];
    let day = &first.study.days[0];
    let has_daylight = !room.scene.panes.is_empty();
    let points: Vec<Vec2> = walk
        .walk
        .points_m
        .iter()
        .map(|p| Vec2::new(p.0, p.1))
        .collect();
    let plan = small_plan(&super::plan(room, None), &points, Vec2::new(420.0, 300.0));
    let plan_png = png_from_svg(&plan.svg, 2.0)?;
    let at = |m: f32| match parts.lengths {
        Lengths::Metres => f64::from((m * 100.0).round()) / 100.0,
        Lengths::Feet => (f64::from(m) / METRES_PER_FOOT * 10.0).round() / 10.0,
    };
    let stations: Vec<Value> = parts
        .stations
        .iter()
        .map(|s| {
            let station = &walk.stations[*s];
            let place = place_words(&walk.walk, &walk.stations, (*s, *s));
            let spot = plan.place(Vec2::new(station.eye.x, -station.eye.z)) / plan.size;
            json!({
                "at": at(station.distance_m),
                "place": place.strip_prefix("by ").map_or(String::new(), |p| format!("by {p}")),
                "plan": [(spot.x * 1e4).round() / 1e4, (spot.y * 1e4).round() / 1e4],
            })
        })
        .collect();
    let hours: Vec<Value> = day
        .instants
        .iter()
        .map(|instant| {
            let height = instant.sun.apparent_elevation_rad.to_degrees();
            let sun = if !has_daylight {
                "no daylight reaches this room".to_owned()
            } else if height > 0.0 {
                format!(
                    "sun {height:.0}° above the horizon, in the {}",
                    crate::study::compass(instant.sun.azimuth_rad)
                )
            } else {
                "the sun is down".to_owned()
            };
            json!({
                "clock": super::clock_text(instant.clock_min),
                "solar": super::clock_text((instant.solar_time_h * 60.0).round() as u32),
                "sun": sun,
            })
        })
        .collect();
    let cautions = caution::sentences(super::topics(room, first.study));
    Ok(json!({
        "title": room.file.name,
        "piece": room.tiling.name,
        "note": match parts.no_pictures {
            Some(why) => format!("{} No pictures: {why}.", room.file.note).trim().to_owned(),
            None => room.file.note.clone(),
        },
        "made": parts.made,
        "walk": {
            "name": walk.walk.name,
            "length_m": crate::room::walk_length_m(&walk.walk),
            "eye_m": walk.walk.eye_m,
        },
        "day": super::date_words(day.date),
        "sky": if has_daylight { format!("{} sky", day.sky) } else { "no daylight".into() },
        "length_unit": match parts.lengths {
            Lengths::Metres => "m",
            Lengths::Feet => "ft",
        },
        "stations": stations,
        "hours": hours,
        "plan": {
            "image": format!("data:image/png;base64,{}", STANDARD.encode(&plan_png)),
            "width": (plan.size.x * 2.0) as u32,
            "height": (plan.size.y * 2.0) as u32,
        },
        "states": parts.states.iter().map(|s| state(parts, s)).collect::<Vec<Value>>(),
        "picture_size": parts.picture_size,
        "limits": format!(
            "Sampling noise of a tile's luminance {:.1} % (median). {}.",
            first.study.median_relative_error * 100.0,
            super::tolerance(room)
        ),
        "cautions": cautions,
        "sources": [
            "Sun: Reda and Andreas, NREL/TP-560-34302, 2008. Skies: ISO 15469:2004 (CIE S 011).",
            "Glare: CIE 117, Wienold and Christoffersen 2006, CIE 146. Limits of glint and darkness: own choice, in the room file.",
            "Pictures: computed by the same engine as the figures; tone curve by Reinhard et al. 2002.",
        ],
    }))
}

fn state(parts: &PageParts, state: &PageState) -> Value {
    let day = &state.study.days[0];
    let walked = &day.walks[parts.walk];
    let all = state.study.walks[parts.walk].stations.len();
    let count = parts.stations.len();
    let mut pictures = Vec::new();
    let mut readings = Vec::new();
    for (hour, instant) in day.instants.iter().enumerate() {
        let row: Vec<Value> = (0..count)
            .map(|k| {
                state.pictures[hour * count + k]
                    .as_ref()
                    .map_or(Value::Null, |jpeg| {
                        json!(format!("data:image/jpeg;base64,{}", STANDARD.encode(jpeg)))
                    })
            })
            .collect();
        pictures.push(row);
        let row: Vec<Value> = parts
            .stations
            .iter()
            .map(|s| {
                let reading = &walked.readings[hour * all + s];
                let flags: Vec<Value> = reading
                    .flags
                    .iter()
                    .map(|flag| {
                        json!({
                            "kind": match flag.cause.kind() {
                                FlagKind::Dead => "dead",
                                FlagKind::Glaring => "glaring",
                            },
                            "words": words(&flag_words(state.room, instant, flag)),
                        })
                    })
                    .collect();
                let dead = reading
                    .flags
                    .iter()
                    .any(|f| f.cause.kind() == FlagKind::Dead);
                let two = |v: f32| format::significant(f64::from(v), 2);
                // What is dark has neither glow nor play.
                let lit = reading.mean_luminance_cd_m2 > 0.05;
                let or_none = |v: String| if lit { v } else { "–".into() };
                json!({
                    // What is dead is not strong at once.
                    "class": match reading.pattern.class {
                        _ if dead => "lost",
                        Reads::Lost => "lost",
                        Reads::Faint => "faint",
                        Reads::Reads => "reads",
                        Reads::Strong => "strong",
                        Reads::Overpowering => "overpowering",
                    },
                    "alive": reading.pattern.class.works() && !reading.sun_in_view && !dead,
                    "mean": words(&format::luminance(f64::from(reading.mean_luminance_cd_m2))),
                    "glow": or_none(two(reading.glow)),
                    "play": or_none(two(reading.play)),
                    "shift": reading.shift_per_m.map_or("–".into(), |s| format!("{} per m", two(s))),
                    "open": walked.open[hour],
                    "flags": flags,
                })
            })
            .collect();
        readings.push(row);
    }
    json!({
        "name": state.name,
        "sentence": state.sentence,
        "pictures": pictures,
        "readings": readings,
    })
}

/// With a large first letter and printed units.
fn words(text: &str) -> String {
    let text = text.replace("cd/m2", "cd/m²");
    let mut letters = text.chars();
    let first: String = letters
        .next()
        .map(|c| c.to_uppercase().collect())
        .unwrap_or_default();
    first + letters.as_str()
}

/// One line on a room as a state: where the piece hangs, and how many fixtures light it.
pub fn state_sentence(room: &BuiltRoom) -> String {
    let count = room
        .file
        .fixtures
        .iter()
        .filter(|f| f.dimming > 0.0)
        .count();
    let word = if count == 1 { "fixture" } else { "fixtures" };
    format!(
        "{}; {count} {word} in use",
        super::placement_name(&room.file, &room.file.placement)
    )
}

/// Stations of a walk (index), at most `most`, evenly spread, the first and last among them.
pub fn spread_stations(count: usize, most: usize) -> Vec<usize> {
    let most = most.clamp(1, count.max(1));
    if most == 1 {
        return vec![0];
    }
    (0..most)
        .map(|k| (k as f64 * (count - 1) as f64 / (most - 1) as f64).round() as usize)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_has_one_place_for_data_and_one_for_its_title() {
        assert_eq!(TEMPLATE.matches(DATA_MARK).count(), 1);
        assert_eq!(TEMPLATE.matches(TITLE_MARK).count(), 1);
        for outside in ["http://", "https://"] {
            let found = TEMPLATE.matches(outside).count();
            let names = TEMPLATE.matches("http://www.w3.org/").count();
            assert_eq!(
                found,
                if outside == "http://" { names } else { 0 },
                "{outside}"
            );
        }
    }

    #[test]
    fn stations_are_spread_from_end_to_end() {
        assert_eq!(spread_stations(5, 40), [0, 1, 2, 3, 4]);
        let some = spread_stations(101, 40);
        assert_eq!((some.len(), some[0], some[39]), (40, 0, 100));
        assert!(some.is_sorted_by(|a, b| a < b));
        assert_eq!(spread_stations(1, 40), [0]);
    }
}
