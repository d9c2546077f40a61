//! One hour of the year: its stamp, its instant with the sun up, and its irradiances with missing codes taken out.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;

use super::findings::{Values, clean_dew_point, clean_irradiance};
use super::raw::{HOUR_COUNT, LEAP_HOUR_COUNT, Row, Stamp, day_index, month_day};
use super::sunlit::sunlit_part;
use super::{Station, WeatherError, WeatherFinding};
use crate::sky::SkyModel;

/// Dew point where the file gives none [degC]; changes the light of the sun and sky by some percent at most.
const DEFAULT_DEW_POINT_C: f64 = 10.0;

/// One hour of a weather file. Irradiances are means over the whole hour [W/m2]
/// (values at `mid_instant` in a file of instants); None where the file has a code for missing
/// or an impossible value.
#[derive(Clone, Debug, PartialEq)]
pub struct WeatherHour {
    /// Year that the row was measured in; differs from month to month in a typical year.
    pub year: i16,
    /// Month, 1..=12, local standard time.
    pub month: u8,
    /// Day of the month, 1..=31.
    pub day: u8,
    /// Hour that it ends with, 1..=24: hour 13 is 12:00 to 13:00.
    pub hour_ending: u8,
    /// The end of the hour.
    pub end_instant: Timestamp,
    /// The middle of the part of the hour with the sun up, where its direction is to be taken; the plain middle when it is
    /// down all hour; the stated instant in a file of instants.
    pub mid_instant: Timestamp,
    /// Share of the hour with the sun up, 0..=1.
    pub sunlit_share: f32,
    /// True where the values belong to `mid_instant` and not to the whole hour.
    pub is_instant: bool,
    /// Direct normal irradiance [W/m2].
    pub direct_normal_w_m2: Option<f32>,
    /// Diffuse horizontal irradiance [W/m2].
    pub diffuse_horizontal_w_m2: Option<f32>,
    /// Global horizontal irradiance [W/m2].
    pub global_horizontal_w_m2: Option<f32>,
    /// Dew point [degC].
    pub dew_point_c: Option<f32>,
}

impl WeatherHour {
    /// The plain middle of the hour.
    #[must_use]
    pub fn clock_middle(&self) -> Timestamp {
        let half_hour = jiff::SignedDuration::from_mins(30);
        self.end_instant
            .checked_sub(half_hour)
            .unwrap_or(self.end_instant)
    }

    /// The all-weather sky of this hour; None where direct or diffuse irradiance is missing, so that the hour is left out.
    #[must_use]
    pub fn sky_model(&self) -> Option<SkyModel> {
        Some(SkyModel::AllWeather {
            direct_normal_w_m2: f64::from(self.direct_normal_w_m2?),
            diffuse_horizontal_w_m2: f64::from(self.diffuse_horizontal_w_m2?),
            dew_point_c: self.dew_point_c.map_or(DEFAULT_DEW_POINT_C, f64::from),
        })
    }
}

/// Hours of the rows of a file, checked to run through one year without a gap.
pub(super) fn hours_of(
    rows: &[Row],
    station: &Station,
    name: &str,
    findings: &mut Vec<WeatherFinding>,
) -> Result<Vec<WeatherHour>, WeatherError> {
    let leap = rows.len() == LEAP_HOUR_COUNT;
    for (index, row) in rows.iter().enumerate() {
        let (month, day) = month_day(index / 24, leap);
        let hour = (index % 24) as u8 + 1;
        if (row.month, row.day, row.hour) != (month, day, hour) {
            return Err(WeatherError::RowOrder {
                name: name.to_owned(),
                line: row.line,
                found_month: row.month,
                found_day: row.day,
                found_hour: row.hour,
                month,
                day,
                hour,
            });
        }
    }
    if rows.len() != HOUR_COUNT && rows.len() != LEAP_HOUR_COUNT {
        return Err(WeatherError::RowCount {
            name: name.to_owned(),
            found: rows.len(),
        });
    }
    let mut values = Values::default();
    let hours = rows
        .iter()
        .filter_map(|row| hour_of(row, station, &mut values))
        .collect();
    values.report(findings);
    Ok(hours)
}

/// None only for instants outside the calendar, which the readers' year limits exclude.
fn hour_of(row: &Row, station: &Station, values: &mut Values) -> Option<WeatherHour> {
    let start = hour_start(row, station)?;
    let end_instant = start
        .checked_add(jiff::SignedDuration::from_hours(1))
        .ok()?;
    let site = station.site(0.0);
    let (mid_instant, sunlit_share) = match row.stamp {
        Stamp::HourEnding => sunlit_part(start, &site),
        Stamp::Instant { after_start_h } => {
            let after = jiff::SignedDuration::from_millis((after_start_h * 3.6e6).round() as i64);
            (start.checked_add(after).ok()?, sunlit_part(start, &site).1)
        }
    };
    let at = (row.month, row.day, row.hour);
    let irradiance = |field, value, values: &mut Values| clean_irradiance(value, field, at, values);
    use super::WeatherField::{DiffuseHorizontal, DirectNormal, GlobalHorizontal};
    Some(WeatherHour {
        year: row.year,
        month: row.month,
        day: row.day,
        hour_ending: row.hour,
        end_instant,
        mid_instant,
        sunlit_share,
        is_instant: row.stamp != Stamp::HourEnding,
        direct_normal_w_m2: irradiance(DirectNormal, row.direct_normal, values),
        diffuse_horizontal_w_m2: irradiance(DiffuseHorizontal, row.diffuse_horizontal, values),
        global_horizontal_w_m2: irradiance(GlobalHorizontal, row.global_horizontal, values),
        dew_point_c: clean_dew_point(row.dew_point, at, values),
    })
}

/// Instant at which the row's hour starts. A 29 February in a year that has none counts from 28 February.
fn hour_start(row: &Row, station: &Station) -> Option<Timestamp> {
    // the row order check leaves only days that some year has
    let leap_day = (row.month, row.day) == (2, 29);
    debug_assert!(day_index(row.month, row.day, leap_day).is_some());
    let date = Date::new(row.year, row.month as i8, row.day as i8)
        .or_else(|_| Date::new(row.year, row.month as i8, 28))
        .ok()?;
    let midnight = Offset::UTC.to_timestamp(date.at(0, 0, 0, 0)).ok()?;
    let after_midnight_h = f64::from(row.hour) - 1.0 - station.utc_offset_h;
    let after = jiff::SignedDuration::from_millis((after_midnight_h * 3.6e6).round() as i64);
    midnight.checked_add(after).ok()
}
