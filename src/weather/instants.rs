//! PVGIS typical year: rows at UTC instants, each with a stated offset of its radiation.
//!
//! Layout: key lines, a list of months and source years, a line of column names starting with `time(UTC)`, rows
//! `20180101:0000,...`, then a legend. The dew point is made from temperature and humidity by the Magnus formula
//! (O. Alduchov and R. Eskridge, "Improved Magnus form approximation of saturation vapor pressure", 1996; from memory).

use super::fields::{Field, Line};
use super::raw::{RawFile, Row, Stamp};
use super::{Station, WeatherError, WeatherFinding};

/// Columns of the values we use.
#[derive(Clone, Copy, Debug)]
struct Columns {
    temperature: Option<usize>,
    humidity: Option<usize>,
    global_horizontal: usize,
    direct_normal: usize,
    diffuse_horizontal: usize,
}

/// Reads the lines of a PVGIS file.
pub(super) fn read(lines: &[(usize, &str)], name: &str) -> Result<RawFile, WeatherError> {
    let header = |what| WeatherError::Header {
        name: name.to_owned(),
        what,
    };
    let mut station = Station {
        name: String::new(),
        latitude_rad: f64::NAN,
        longitude_rad: f64::NAN,
        utc_offset_h: 0.0,
        elevation_m: 0.0,
    };
    let mut offset_h = 0.0;
    let mut columns = None;
    let mut rows = Vec::with_capacity(8784);
    for &(number, text) in lines {
        let line = Line { name, number, text };
        let Some(columns) = columns else {
            if text.starts_with("time(UTC)") {
                columns =
                    Some(find_columns(&line).ok_or_else(|| header("columns G(h), Gb(n), Gd(h)"))?);
            } else if let Some((key, value)) = text.split_once(':') {
                let at = Field {
                    column: key.chars().count() + 2,
                    text: value,
                };
                match key.split('(').next().unwrap_or("").trim() {
                    "Latitude" => {
                        station.latitude_rad =
                            line.number_in(at, "latitude", -90.0, 90.0)?.to_radians();
                    }
                    "Longitude" => {
                        station.longitude_rad =
                            line.number_in(at, "longitude", -180.0, 180.0)?.to_radians();
                    }
                    "Elevation" => {
                        station.elevation_m = line.number_in(at, "elevation", -500.0, 9000.0)?;
                    }
                    "Irradiance Time Offset" => {
                        offset_h = line.number_in(at, "irradiance time offset", -1.0, 1.0)?;
                    }
                    _ => {}
                }
            }
            continue;
        };
        // the legend after the data starts with no digit
        if !text.starts_with(|c: char| c.is_ascii_digit()) {
            break;
        }
        rows.push(row(&line, columns, offset_h)?);
    }
    if columns.is_none() {
        return Err(header("line of column names time(UTC)"));
    }
    if station.latitude_rad.is_nan() || station.longitude_rad.is_nan() {
        return Err(header("latitude and longitude"));
    }
    Ok(RawFile {
        station,
        rows,
        findings: vec![WeatherFinding::UtcInstants { offset_h }],
    })
}

fn find_columns(line: &Line<'_>) -> Option<Columns> {
    let fields = line.fields();
    let find = |name: &str| fields.iter().position(|field| field.text == name);
    Some(Columns {
        temperature: find("T2m"),
        humidity: find("RH"),
        global_horizontal: find("G(h)")?,
        direct_normal: find("Gb(n)")?,
        diffuse_horizontal: find("Gd(h)")?,
    })
}

fn row(line: &Line<'_>, columns: Columns, offset_h: f64) -> Result<Row, WeatherError> {
    let fields = line.fields();
    let stamp = line.field(&fields, 0, "time")?;
    let part = |from: usize, to: usize, field| {
        stamp
            .text
            .get(from..to)
            .map(|text| Field {
                column: stamp.column + from,
                text,
            })
            .ok_or_else(|| line.missing(field))
    };
    let number = |index, field| line.number(line.field(&fields, index, field)?, field);
    let optional =
        |index: Option<usize>, field| index.map(|index| number(index, field)).transpose();
    let minute = line.small(part(11, 13, "minute")?, "minute", 0, 59)?;
    let dew_point = match (
        optional(columns.temperature, "T2m")?,
        optional(columns.humidity, "RH")?,
    ) {
        (Some(temperature_c), Some(humidity)) => Some(dew_point_c(temperature_c, humidity)),
        _ => None,
    };
    Ok(Row {
        line: line.number,
        year: line.number_in(part(0, 4, "year")?, "year", 1800.0, 2200.0)? as i16,
        month: line.small(part(4, 6, "month")?, "month", 1, 12)?,
        day: line.small(part(6, 8, "day")?, "day", 1, 31)?,
        hour: line.small(part(9, 11, "hour")?, "hour", 0, 23)? + 1,
        stamp: Stamp::Instant {
            after_start_h: f64::from(minute) / 60.0 + offset_h,
        },
        global_horizontal: number(columns.global_horizontal, "G(h)")?,
        direct_normal: number(columns.direct_normal, "Gb(n)")?,
        diffuse_horizontal: number(columns.diffuse_horizontal, "Gd(h)")?,
        dew_point,
    })
}

/// Dew point [degC] from temperature [degC] and relative humidity [%]; Alduchov and Eskridge 1996, from memory.
fn dew_point_c(temperature_c: f64, humidity: f64) -> f64 {
    let (b, c) = (17.625, 243.04);
    let gamma = (humidity.clamp(1.0, 100.0) / 100.0).ln()
        + b * temperature_c / (c + temperature_c.max(-200.0));
    c * gamma / (b - gamma)
}
