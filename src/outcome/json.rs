//! The whole result as one JSON value. Keys are the names of the quantities with their units.

use serde_json::{Value, json};

use super::{clock_text, degrees, significant, tables::visible_luminances};
use crate::{
    measure::{caution::sentences, tolerance},
    room::BuiltRoom,
    study::{DayStudy, Study},
    sun::DayLight,
};

/// The result with every tile's luminance, instant-major then station-major.
pub fn study_json(room: &BuiltRoom, study: &Study) -> Value {
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
        "tolerance": tolerance::SENTENCE,
        "cautions": sentences(super::topics(room, study)),
        "notes": study.notes,
        "tile_ids": study.tile_ids,
        "walks": study.walks.iter().map(|w| json!({
            "name": w.name,
            "distance_m": w.stations.iter().map(|s| significant(s.distance_m)).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "days": study.days.iter().map(|d| day_json(study, d)).collect::<Vec<_>>(),
    })
}

fn day_json(study: &Study, day: &DayStudy) -> Value {
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
        "wall_exposure_lx_h": significant(day.wall_exposure_lx_h),
        "thrown_sun": day.thrown.iter().map(|t| json!({
            "clock": clock_text(t.clock_min),
            "tiles": t.tiles,
            "toward": t.toward,
            "leaves_building": t.leaves_building,
            "near_stairs": t.near_stairs,
        })).collect::<Vec<_>>(),
        "walks": day.walks.iter().zip(&study.walks).map(|(walk, plan)| json!({
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
            "readings": walk.readings.iter().map(|r| json!({
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
                "tile_luminance_cd_m2": visible_luminances(&r.tiles)
                    .map(|v| v.map(significant)).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
    })
}
