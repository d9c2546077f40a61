//! TMY3 comma-separated text: a station line, a line of column names, then rows ENDING at 01:00 to 24:00.
//!
//! Source: S. Wilcox and W. Marion, "Users manual for TMY3 data sets", NREL/TP-581-43156, 2008 (from memory). Columns are
//! found by name, since each value is followed by its source and uncertainty.

use super::fields::{Field, Line};
use super::raw::{RawFile, Row, Stamp};
use super::{Station, WeatherError};

/// Columns of the values we use.
#[derive(Clone, Copy, Debug)]
struct Columns {
    global_horizontal: usize,
    direct_normal: usize,
    diffuse_horizontal: usize,
    dew_point: Option<usize>,
}

/// Reads the lines of a TMY3 file.
pub(super) fn read(lines: &[(usize, &str)], name: &str) -> Result<RawFile, WeatherError> {
    let mut lines = lines
        .iter()
        .map(|&(number, text)| Line { name, number, text });
    let header = |what| WeatherError::Header {
        name: name.to_owned(),
        what,
    };
    let station = station(&lines.next().ok_or_else(|| header("station line"))?)?;
    let names = lines.next().ok_or_else(|| header("line of column names"))?;
    let fields = names.fields();
    let find = |start: &str| {
        fields
            .iter()
            .position(|field| field.text.starts_with(start))
    };
    let columns = Columns {
        global_horizontal: find("GHI (W/m").ok_or_else(|| header("column GHI (W/m^2)"))?,
        direct_normal: find("DNI (W/m").ok_or_else(|| header("column DNI (W/m^2)"))?,
        diffuse_horizontal: find("DHI (W/m").ok_or_else(|| header("column DHI (W/m^2)"))?,
        dew_point: find("Dew-point (C)"),
    };
    Ok(RawFile {
        station,
        rows: lines
            .map(|line| row(&line, columns))
            .collect::<Result<_, _>>()?,
        findings: Vec::new(),
    })
}

/// Number, name, state, zone, latitude, longitude, elevation.
fn station(line: &Line<'_>) -> Result<Station, WeatherError> {
    let fields = line.fields();
    let number_in = |index, field, limit: f64| {
        line.number_in(line.field(&fields, index, field)?, field, -limit, limit)
    };
    Ok(Station {
        name: line.field(&fields, 1, "station name")?.text.to_owned(),
        utc_offset_h: number_in(3, "time zone", 15.0)?,
        latitude_rad: number_in(4, "latitude", 90.0)?.to_radians(),
        longitude_rad: number_in(5, "longitude", 180.0)?.to_radians(),
        elevation_m: number_in(6, "elevation", 9000.0)?,
    })
}

fn row(line: &Line<'_>, columns: Columns) -> Result<Row, WeatherError> {
    let fields = line.fields();
    let number = |index, field| line.number(line.field(&fields, index, field)?, field);
    let [month, day, year] = split(line, line.field(&fields, 0, "date")?, '/', "date")?;
    let [hour, _minute] = split(line, line.field(&fields, 1, "time")?, ':', "time")?;
    Ok(Row {
        line: line.number,
        year: line.number_in(year, "year", 1800.0, 2200.0)? as i16,
        month: line.small(month, "month", 1, 12)?,
        day: line.small(day, "day", 1, 31)?,
        hour: line.small(hour, "hour", 1, 24)?,
        stamp: Stamp::HourEnding,
        global_horizontal: number(columns.global_horizontal, "GHI")?,
        direct_normal: number(columns.direct_normal, "DNI")?,
        diffuse_horizontal: number(columns.diffuse_horizontal, "DHI")?,
        dew_point: columns
            .dew_point
            .map(|index| number(index, "dew point"))
            .transpose()?,
    })
}

/// Splits a date or a time into its N parts.
fn split<'a, const N: usize>(
    line: &Line<'_>,
    at: Field<'a>,
    separator: char,
    field: &'static str,
) -> Result<[Field<'a>; N], WeatherError> {
    let mut column = at.column;
    let parts: Vec<Field<'a>> = at
        .text
        .split(separator)
        .map(|text| {
            let part = Field { column, text };
            column += text.chars().count() + 1;
            part
        })
        .collect();
    parts.try_into().map_err(|_| WeatherError::Number {
        name: line.name.to_owned(),
        line: line.number,
        column: at.column,
        field,
        text: at.text.chars().take(40).collect(),
    })
}
