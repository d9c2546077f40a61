//! EPW: eight header lines, then rows of at least 16 comma-separated fields, hours 1 to 24 ENDING at the stamp.
//!
//! Field order: EnergyPlus "Auxiliary programs" manual, weather file data dictionary. The minute field (0, 60 or 00) moves
//! nothing. Irradiances in Wh/m2 over the hour, that is W/m2.

use super::fields::Line;
use super::raw::{RawFile, Row, Stamp};
use super::{Station, WeatherError, WeatherFinding};

/// Words before a stated shift of the radiation against the clock, in a comment line of some modelled files.
const OFFSET_WORDS: &str = "Irradiance Time Offset (h):";

/// Reads the lines of an EPW file.
pub(super) fn read(lines: &[(usize, &str)], name: &str) -> Result<RawFile, WeatherError> {
    let mut findings = Vec::new();
    let mut station = None;
    let mut rows = Vec::with_capacity(8784);
    let mut in_data = false;
    for &(number, text) in lines {
        let line = Line { name, number, text };
        if in_data {
            rows.push(row(&line)?);
            continue;
        }
        let keyword = text.split(',').next().unwrap_or("").trim().to_uppercase();
        match keyword.as_str() {
            "LOCATION" => station = Some(location(&line)?),
            "DATA PERIODS" => {
                in_data = true;
                one_row_an_hour(&line)?;
            }
            "COMMENTS 1" | "COMMENTS 2" => {
                let offset_h = text
                    .split_once(OFFSET_WORDS)
                    .and_then(|(_, rest)| rest.trim().trim_matches('"').parse::<f64>().ok())
                    .filter(|offset_h| offset_h.is_finite());
                if let Some(offset_h) = offset_h {
                    findings.push(WeatherFinding::StatedTimeOffset { offset_h });
                }
            }
            _ => {}
        }
    }
    let header = |what| WeatherError::Header {
        name: name.to_owned(),
        what,
    };
    if !in_data {
        return Err(header("line DATA PERIODS"));
    }
    Ok(RawFile {
        station: station.ok_or_else(|| header("line LOCATION"))?,
        rows,
        findings,
    })
}

/// LOCATION, city, state, country, source, number, latitude, longitude, zone, elevation.
fn location(line: &Line<'_>) -> Result<Station, WeatherError> {
    let fields = line.fields();
    let number_in = |index, field, limit: f64| {
        line.number_in(line.field(&fields, index, field)?, field, -limit, limit)
    };
    Ok(Station {
        name: line.field(&fields, 1, "city")?.text.to_owned(),
        latitude_rad: number_in(6, "latitude", 90.0)?.to_radians(),
        longitude_rad: number_in(7, "longitude", 180.0)?.to_radians(),
        utc_offset_h: number_in(8, "time zone", 15.0)?,
        elevation_m: number_in(9, "elevation", 9000.0)?,
    })
}

/// DATA PERIODS, number of periods, records an hour, ...
fn one_row_an_hour(line: &Line<'_>) -> Result<(), WeatherError> {
    let fields = line.fields();
    let field = "records an hour";
    let per_hour = line.small(line.field(&fields, 2, field)?, field, 1, 60)?;
    if per_hour == 1 {
        return Ok(());
    }
    Err(WeatherError::SubHourly {
        name: line.name.to_owned(),
        per_hour: u32::from(per_hour),
    })
}

fn row(line: &Line<'_>) -> Result<Row, WeatherError> {
    let fields = line.fields();
    let number = |index, field| line.number(line.field(&fields, index, field)?, field);
    let small = |index, field, least, greatest| {
        line.small(line.field(&fields, index, field)?, field, least, greatest)
    };
    let year = line.number_in(line.field(&fields, 0, "year")?, "year", 1800.0, 2200.0)?;
    Ok(Row {
        line: line.number,
        year: year as i16,
        month: small(1, "month", 1, 12)?,
        day: small(2, "day", 1, 31)?,
        hour: small(3, "hour", 1, 24)?,
        stamp: Stamp::HourEnding,
        dew_point: Some(number(7, "dew point")?),
        global_horizontal: number(13, "global horizontal radiation")?,
        direct_normal: number(14, "direct normal radiation")?,
        diffuse_horizontal: number(15, "diffuse horizontal radiation")?,
    })
}
