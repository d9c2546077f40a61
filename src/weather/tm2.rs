//! TM2: fixed columns with two-digit years, rows ENDING at hours 1 to 24.
//!
//! Source: W. Marion and K. Urban, "User's manual for TMY2s", NREL, 1995, tables 3-1 and 3-2 (column numbers from memory,
//! sums checked against an independent reader). Years are 1961 to 1990.

use super::fields::Line;
use super::raw::{RawFile, Row, Stamp};
use super::{Station, WeatherError};

/// True for a station line: hemisphere letters at their columns.
pub(super) fn is_header(line: &str) -> bool {
    let at = |column: usize| line.as_bytes().get(column - 1).copied();
    line.is_ascii() && matches!(at(38), Some(b'N' | b'S')) && matches!(at(46), Some(b'E' | b'W'))
}

/// Reads the lines of a TM2 file.
pub(super) fn read(lines: &[(usize, &str)], name: &str) -> Result<RawFile, WeatherError> {
    let mut lines = lines
        .iter()
        .map(|&(number, text)| Line { name, number, text });
    let header = lines.next().ok_or_else(|| WeatherError::Header {
        name: name.to_owned(),
        what: "station line",
    })?;
    Ok(RawFile {
        station: station(&header)?,
        rows: lines.map(|line| row(&line)).collect::<Result<_, _>>()?,
        findings: Vec::new(),
    })
}

fn station(line: &Line<'_>) -> Result<Station, WeatherError> {
    let number = |from, to, field, least, greatest| {
        line.number_in(line.columns(from, to, field)?, field, least, greatest)
    };
    let sign = |column, negative: &str, field| {
        Ok::<f64, WeatherError>(if line.columns(column, column, field)?.text == negative {
            -1.0
        } else {
            1.0
        })
    };
    let latitude_deg = number(40, 41, "latitude", 0.0, 90.0)?
        + number(43, 44, "latitude minutes", 0.0, 60.0)? / 60.0;
    let longitude_deg = number(48, 50, "longitude", 0.0, 180.0)?
        + number(52, 53, "longitude minutes", 0.0, 60.0)? / 60.0;
    Ok(Station {
        name: line.columns(8, 29, "city")?.text.trim().to_owned(),
        utc_offset_h: number(34, 36, "time zone", -15.0, 15.0)?,
        latitude_rad: (sign(38, "S", "hemisphere")? * latitude_deg).to_radians(),
        longitude_rad: (sign(46, "W", "hemisphere")? * longitude_deg).to_radians(),
        elevation_m: line.number_in(
            line.columns(56, line.text.len().min(59), "elevation")?,
            "elevation",
            -500.0,
            9000.0,
        )?,
    })
}

fn row(line: &Line<'_>) -> Result<Row, WeatherError> {
    let number = |from, to, field| line.number(line.columns(from, to, field)?, field);
    let small = |from, to, field, least, greatest| {
        line.small(line.columns(from, to, field)?, field, least, greatest)
    };
    Ok(Row {
        line: line.number,
        year: 1900 + i16::from(small(2, 3, "year", 0, 99)?),
        month: small(4, 5, "month", 1, 12)?,
        day: small(6, 7, "day", 1, 31)?,
        hour: small(8, 9, "hour", 1, 24)?,
        stamp: Stamp::HourEnding,
        global_horizontal: number(18, 21, "global horizontal radiation")?,
        direct_normal: number(24, 27, "direct normal radiation")?,
        diffuse_horizontal: number(30, 33, "diffuse horizontal radiation")?,
        // tenths of a degree
        dew_point: Some(number(74, 77, "dew point")? / 10.0),
    })
}
