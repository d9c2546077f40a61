//! What every reader makes of its file: the station and rows with their stamps, values as written.

use super::{Station, WeatherFinding};

/// Hours of a year of 365 days.
pub(super) const HOUR_COUNT: usize = 8760;

/// Hours of a year of 366 days.
pub(super) const LEAP_HOUR_COUNT: usize = 8784;

/// Days in the months of a year without leap day.
const MONTH_DAYS: [u8; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// How a row's instant is stated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Stamp {
    /// The mean over the hour that ends at the stamp.
    HourEnding,
    /// A value at an instant this much after the START of the hour [h].
    Instant { after_start_h: f64 },
}

/// One row; irradiances and dew point as they stand in the file, missing codes included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Row {
    pub line: usize,
    pub year: i16,
    pub month: u8,
    pub day: u8,
    /// Hour that the row ends with, 1..=24.
    pub hour: u8,
    pub stamp: Stamp,
    pub global_horizontal: f64,
    pub direct_normal: f64,
    pub diffuse_horizontal: f64,
    /// None where the layout has no such column.
    pub dew_point: Option<f64>,
}

/// A file after its reader.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct RawFile {
    pub station: Station,
    pub rows: Vec<Row>,
    /// What the header says that is worth saying.
    pub findings: Vec<WeatherFinding>,
}

/// Index of a day in its year, from 0; None for a day that no month has.
pub(super) fn day_index(month: u8, day: u8, leap: bool) -> Option<usize> {
    let month_index = usize::from(month).checked_sub(1)?;
    let days = |index: usize| {
        MONTH_DAYS
            .get(index)
            .map(|days| usize::from(*days) + usize::from(leap && index == 1))
    };
    let day_of_month = usize::from(day).checked_sub(1)?;
    if day_of_month >= days(month_index)? {
        return None;
    }
    let before: usize = (0..month_index).filter_map(days).sum();
    Some(before + day_of_month)
}

/// Month and day of a day index from 0.
pub(super) fn month_day(mut day_index: usize, leap: bool) -> (u8, u8) {
    for (index, days) in MONTH_DAYS.iter().enumerate() {
        let days = usize::from(*days) + usize::from(leap && index == 1);
        if day_index < days {
            return (index as u8 + 1, day_index as u8 + 1);
        }
        day_index -= days;
    }
    (12, 31)
}
