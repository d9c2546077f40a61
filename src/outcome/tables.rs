//! CSV tables. Header names carry units.

use crate::{
    study::{DayStudy, Study},
    transport::TileReading,
};

use super::{clock_text, significant};

/// Writes rows; writing to memory cannot fail but for running out of it.
pub(super) fn csv(header: &[&str], rows: impl Iterator<Item = Vec<String>>) -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut sound = writer.write_record(header).is_ok();
    for row in rows {
        sound &= writer.write_record(&row).is_ok();
    }
    debug_assert!(sound, "rows have the header's length");
    writer.into_inner().unwrap_or_default()
}

/// One row per station and instant of one walk: what is seen there.
pub fn stations_csv(study: &Study, day: &DayStudy, walk: usize) -> Vec<u8> {
    let header = [
        "clock",
        "solar_time_h",
        "sun_azimuth_deg",
        "sun_elevation_deg",
        "distance_m",
        "glow",
        "play",
        "play_of_light",
        "shift_per_m",
        "reads",
        "visibility_level",
        "mean_luminance_cd_m2",
        "relative_standard_error",
        "adaptation_cd_m2",
        "veil_cd_m2",
        "eye_illuminance_lx",
        "dgp",
        "ugr",
        "flags",
    ];
    let stations = &study.walks[walk].stations;
    let rows = day.walks[walk]
        .readings
        .iter()
        .enumerate()
        .map(|(cell, r)| {
            let (instant, station) = (
                &day.instants[cell / stations.len()],
                &stations[cell % stations.len()],
            );
            let number = |v: f32| significant(v).to_string();
            vec![
                clock_text(instant.clock_min),
                format!("{:.3}", instant.solar_time_h),
                format!("{:.2}", instant.sun.azimuth_rad.to_degrees()),
                format!("{:.2}", instant.sun.apparent_elevation_rad.to_degrees()),
                format!("{:.2}", station.distance_m),
                number(r.glow),
                number(r.play),
                number(day.play_of_light[cell / stations.len()]),
                r.shift_per_m.map_or(String::new(), number),
                format!("{:?}", r.pattern.class).to_lowercase(),
                number(r.pattern.visibility_level),
                number(r.mean_luminance_cd_m2),
                number(r.relative_error),
                number(r.adaptation_cd_m2),
                number(r.veil_cd_m2),
                number(r.eye_illuminance_lx),
                number(r.dgp),
                r.ugr.map_or(String::new(), number),
                r.flags
                    .iter()
                    .map(|f| f.cause.name())
                    .collect::<Vec<_>>()
                    .join(" "),
            ]
        });
    csv(&header, rows)
}

/// One row per station and instant of one walk, one column per tile: its luminance [cd/m2].
///
/// A hidden tile has an empty field.
pub fn tiles_csv(study: &Study, day: &DayStudy, walk: usize) -> Vec<u8> {
    let columns: Vec<String> = study
        .tile_ids
        .iter()
        .map(|id| format!("tile_{id}_luminance_cd_m2"))
        .collect();
    let header: Vec<&str> = ["clock", "distance_m"]
        .into_iter()
        .chain(columns.iter().map(String::as_str))
        .collect();
    let stations = &study.walks[walk].stations;
    let rows = day.walks[walk]
        .readings
        .iter()
        .enumerate()
        .map(|(cell, r)| {
            let mut row = vec![
                clock_text(day.instants[cell / stations.len()].clock_min),
                format!("{:.2}", stations[cell % stations.len()].distance_m),
            ];
            row.extend(
                visible_luminances(&r.tiles)
                    .map(|v| v.map_or(String::new(), |v| significant(v).to_string())),
            );
            row
        });
    csv(&header, rows)
}

/// Luminances of tiles that are at least partly visible.
pub(super) fn visible_luminances(tiles: &TileReading) -> impl Iterator<Item = Option<f32>> + '_ {
    tiles
        .luminance_cd_m2
        .iter()
        .zip(&tiles.visible)
        .map(|(l, v)| (*v > 0.0).then_some(*l))
}

/// One row per stretch of a day, all walks.
pub fn flags_csv(study: &Study, day: &DayStudy) -> Vec<u8> {
    let header = [
        "walk",
        "letter",
        "kind",
        "cause",
        "from",
        "to",
        "from_m",
        "to_m",
        "cells",
        "severity",
        "luminance_cd_m2",
        "tiles",
        "sentence",
    ];
    let rows = day.walks.iter().enumerate().flat_map(|(w, walk)| {
        let stations = &study.walks[w].stations;
        walk.stretches.iter().map(move |s| {
            vec![
                study.walks[w].name.clone(),
                s.letter.to_string(),
                format!("{:?}", s.cause.kind()).to_lowercase(),
                s.cause.name().to_owned(),
                clock_text(day.instants[s.instants.0].clock_min),
                clock_text(day.instants[s.instants.1].clock_min),
                format!("{:.2}", stations[s.stations.0].distance_m),
                format!("{:.2}", stations[s.stations.1].distance_m),
                s.cell_count.to_string(),
                significant(s.severity).to_string(),
                significant(s.luminance_cd_m2).to_string(),
                s.tiles
                    .iter()
                    .map(u32::to_string)
                    .collect::<Vec<_>>()
                    .join(" "),
                s.sentence.clone(),
            ]
        })
    });
    csv(&header, rows)
}
