//! The whole result as one JSON value. Keys are the names of the quantities with their units.

use serde::{Serialize, Serializer, ser::SerializeMap};
use serde_json::{Value, json};

use super::{clock_text, degrees, significant, tables::visible_luminances};
use crate::{
    measure::caution::sentences,
    room::BuiltRoom,
    study::{DayStudy, StationReading, Study, WalkDay, WalkStudy},
    sun::DayLight,
};

/// Writes the result, reading by reading, so that large studies need no second copy in memory; instant-major,
/// then station-major. With `tiles`, every tile's luminance too.
///
/// # Errors
/// What keeps the writer from writing.
pub fn write_json(
    room: &BuiltRoom,
    study: &Study,
    tiles: bool,
    writer: impl std::io::Write,
) -> serde_json::Result<()> {
    let whole = Headed {
        head: study_head(room, study),
        rest: Days { study, tiles },
    };
    serde_json::to_writer(writer, &whole)
}

/// An object whose first fields are at hand and whose last is written as it comes.
#[derive(Serialize)]
struct Headed<T> {
    #[serde(flatten)]
    head: Value,
    #[serde(flatten)]
    rest: T,
}

struct Days<'a> {
    study: &'a Study,
    tiles: bool,
}

impl Serialize for Days<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let days = self.study.days.iter().map(|day| Headed {
            head: day_head(day),
            rest: Walks {
                study: self.study,
                day,
                tiles: self.tiles,
            },
        });
        one_field(serializer, "days", Each::new(days))
    }
}

struct Walks<'a> {
    study: &'a Study,
    day: &'a DayStudy,
    tiles: bool,
}

impl Serialize for Walks<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let walks = self
            .day
            .walks
            .iter()
            .zip(&self.study.walks)
            .map(|(walk, plan)| Headed {
                head: walk_head(self.day, walk, plan),
                rest: Readings {
                    walk,
                    tiles: self.tiles,
                },
            });
        one_field(serializer, "walks", Each::new(walks))
    }
}

struct Readings<'a> {
    walk: &'a WalkDay,
    tiles: bool,
}

impl Serialize for Readings<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let readings = self
            .walk
            .readings
            .iter()
            .map(|r| reading_json(r, self.tiles));
        one_field(serializer, "readings", Each::new(readings))
    }
}

/// A list that is made while it is written.
struct Each<I>(std::cell::RefCell<Option<I>>);

impl<I> Each<I> {
    fn new(items: I) -> Self {
        Self(std::cell::RefCell::new(Some(items)))
    }
}

impl<I: Iterator<Item: Serialize>> Serialize for Each<I> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.borrow_mut().take().into_iter().flatten())
    }
}

fn one_field<S: Serializer>(
    serializer: S,
    name: &'static str,
    value: impl Serialize,
) -> Result<S::Ok, S::Error> {
    let mut map = serializer.serialize_map(Some(1))?;
    map.serialize_entry(name, &value)?;
    map.end()
}

fn study_head(room: &BuiltRoom, study: &Study) -> Value {
    json!({
        "room": room.file.name,
        "note": room.file.note,
        "site": {
            "latitude_deg": room.file.site.latitude_deg,
            "longitude_deg": room.file.site.longitude_deg,
            "zone": room.file.site.zone,
            "bearing_deg": room.file.site.bearing_deg,
        },
        "median_relative_standard_error": significant(study.median_relative_error),
        "tolerance": super::tolerance(room),
        "cautions": sentences(super::topics(room, study)),
        "notes": study.notes,
        "tile_ids": study.tile_ids,
        "walks": study.walks.iter().map(|w| json!({
            "name": w.name,
            "distance_m": w.stations.iter().map(|s| significant(s.distance_m)).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
    })
}

fn day_head(day: &DayStudy) -> Value {
    let (sunrise, sunset) = match &day.day_light {
        DayLight::Normal { sunrise, sunset } => (
            sunrise.as_ref().map(|z| z.time().to_string()),
            sunset.as_ref().map(|z| z.time().to_string()),
        ),
        DayLight::PolarDay | DayLight::PolarNight => (None, None),
    };
    json!({
        "date": day.date.to_string(),
        "sky": day.sky,
        "sunrise": sunrise,
        "sunset": sunset,
        "instants": day.instants.iter().zip(&day.wall_illuminance_lx).map(|(i, lx)| json!({
            "clock": clock_text(i.clock_min),
            "utc": i.civil.timestamp().to_string(),
            "solar_time_h": (i.solar_time_h * 1000.0).round() / 1000.0,
            "sun_azimuth_deg": degrees(i.sun.azimuth_rad),
            "sun_elevation_deg": degrees(i.sun.apparent_elevation_rad),
            "wall_illuminance_lx": significant(*lx),
        })).collect::<Vec<_>>(),
        "play_of_light": day.play_of_light.iter().map(|p| significant(*p)).collect::<Vec<_>>(),
        "wall_exposure_lx_h": significant(day.wall_exposure_lx_h),
        "tile_exposure_lx_h": day.tile_exposure_lx_h.iter().map(|e| significant(*e)).collect::<Vec<_>>(),
        "thrown_sun": day.thrown.iter().map(|t| json!({
            "clock": clock_text(t.clock_min),
            "tiles": t.tiles,
            "toward": t.toward,
            "leaves_building": t.leaves_building,
            "near_stairs": t.near_stairs,
        })).collect::<Vec<_>>(),
    })
}

fn walk_head(day: &DayStudy, walk: &WalkDay, plan: &WalkStudy) -> Value {
    json!({
        "name": plan.name,
            "stretches": walk.stretches.iter().map(|s| json!({
                "letter": s.letter.to_string(),
                "kind": s.cause.kind(),
                "cause": s.cause.name(),
                "from": clock_text(day.instants[s.instants.0].clock_min),
                "to": clock_text(day.instants[s.instants.1].clock_min),
                "from_m": significant(plan.stations[s.stations.0].distance_m),
                "to_m": significant(plan.stations[s.stations.1].distance_m),
                "cell_count": s.cell_count,
                "severity": significant(s.severity),
                "luminance_cd_m2": significant(s.luminance_cd_m2),
                "tiles": s.tiles,
                "sentence": s.sentence,
            })).collect::<Vec<_>>(),
    })
}

fn reading_json(r: &StationReading, tiles: bool) -> Value {
    let mut value = json!({
        "glow": significant(r.glow),
        "play": significant(r.play),
        "shift_per_m": r.shift_per_m.map(significant),
        "reads": format!("{:?}", r.pattern.class).to_lowercase(),
        "mean_luminance_cd_m2": significant(r.mean_luminance_cd_m2),
        "relative_standard_error": significant(r.relative_error),
        "adaptation_cd_m2": significant(r.adaptation_cd_m2),
        "veil_cd_m2": significant(r.veil_cd_m2),
        "eye_illuminance_lx": significant(r.eye_illuminance_lx),
        "dgp": significant(r.dgp),
        "ugr": r.ugr.map(significant),
        "glare_sources": r.sources.iter().map(|s| json!({
            "source": s.source,
            "luminance_cd_m2": significant(s.luminance_cd_m2),
            "solid_angle_sr": significant(s.solid_angle_sr),
            "from_gaze_deg": degrees(f64::from(s.from_gaze_rad)),
            "share": significant(s.share),
        })).collect::<Vec<_>>(),
        "flags": r.flags.iter().map(|f| f.cause.name()).collect::<Vec<_>>(),
    });
    if tiles && let Value::Object(map) = &mut value {
        let luminances: Vec<Option<f64>> = visible_luminances(&r.tiles)
            .map(|v| v.map(significant))
            .collect();
        map.insert("tile_luminance_cd_m2".into(), json!(luminances));
    }
    value
}
