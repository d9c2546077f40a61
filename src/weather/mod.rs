//! Typical-year weather files: 8760 hours of direct and diffuse irradiance with the instants they belong to.
//!
//! Input: the bytes of an EPW file, a TMY3 CSV, a TM2 file of fixed columns or a PVGIS file of UTC instants, told apart by
//! content. Output: a [`WeatherYear`]: irradiances in W/m2, dew point in degC, instants in UTC, and what was found wrong.
//! Conventions: a row is the mean over the hour ENDING at its stamp in local standard time, all year without clock changes
//! (S. Wilcox and W. Marion, "Users manual for TMY3 data sets", NREL/TP-581-43156, 2008); the minute field moves nothing.
//! PVGIS rows are instants. Limits: hourly rows only; months of a typical year come from different years, so annual sums
//! are meaningful and single days are examples.

mod epw;
mod error;
mod fields;
mod findings;
mod hour;
mod instants;
mod raw;
mod sunlit;
mod tm2;
mod tmy3;

pub use error::WeatherError;
pub use findings::{WeatherField, WeatherFinding};
pub use hour::WeatherHour;

use jiff::Timestamp;

use crate::sun::Site;

/// Layout of a weather file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WeatherFormat {
    /// EnergyPlus weather, eight header lines.
    Epw,
    /// TMY3 comma-separated text.
    Tmy3,
    /// TM2 fixed columns (1961 to 1990).
    Tm2,
    /// PVGIS typical year, rows at UTC instants.
    UtcInstants,
}

impl WeatherFormat {
    /// Name for people.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Self::Epw => "EPW",
            Self::Tmy3 => "TMY3 CSV",
            Self::Tm2 => "TM2 fixed columns",
            Self::UtcInstants => "PVGIS hourly CSV",
        }
    }
}

/// The place of a weather file.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// Name as in the file; may be empty.
    pub name: String,
    /// Latitude, north positive [rad].
    pub latitude_rad: f64,
    /// Longitude, east positive [rad].
    pub longitude_rad: f64,
    /// Standard time minus UTC [h].
    pub utc_offset_h: f64,
    /// Height above sea level [m].
    pub elevation_m: f64,
}

impl Station {
    /// The station as a site, with a true bearing of world -Z [rad].
    #[must_use]
    pub fn site(&self, bearing_rad: f64) -> Site {
        Site {
            latitude_rad: self.latitude_rad,
            longitude_rad: self.longitude_rad,
            elevation_m: self.elevation_m,
            bearing_rad,
        }
    }
}

/// A weather file, read.
#[derive(Clone, Debug, PartialEq)]
pub struct WeatherYear {
    /// Layout it was read from.
    pub format: WeatherFormat,
    /// Where it was measured or modelled.
    pub station: Station,
    /// The hours from 1 January 00:00 to 31 December 24:00 local standard time: 8760, or 8784 with a 29 February.
    pub hours: Vec<WeatherHour>,
    /// What is missing, doubtful or worth saying, in a fixed order.
    pub findings: Vec<WeatherFinding>,
}

impl WeatherYear {
    /// The hour of the typical year that covers an instant of any year, by the station's standard time. 29 February takes
    /// 28 February in a file that has none.
    #[must_use]
    pub fn hour_at(&self, instant: Timestamp) -> Option<&WeatherHour> {
        let local_s = instant.as_second() as f64 + self.station.utc_offset_h * 3600.0;
        let local = Timestamp::from_second(local_s.floor() as i64).ok()?;
        let local = jiff::tz::Offset::UTC.to_datetime(local);
        self.hour_ending(
            local.month().unsigned_abs(),
            local.day().unsigned_abs(),
            local.hour().unsigned_abs() + 1,
        )
    }

    /// The hour ending at `hour` 1..=24 of a day, local standard time. 29 February takes 28 February in a file that has none.
    #[must_use]
    pub fn hour_ending(&self, month: u8, day: u8, hour: u8) -> Option<&WeatherHour> {
        let leap = self.hours.len() == raw::LEAP_HOUR_COUNT;
        let day = if (month, day) == (2, 29) && !leap {
            28
        } else {
            day
        };
        let day_index = raw::day_index(month, day, leap)?;
        let hour_index = usize::from(hour).checked_sub(1).filter(|h| *h < 24)?;
        self.hours.get(day_index * 24 + hour_index)
    }
}

/// Reads a weather file of any of the known layouts; `name` is used in messages only.
///
/// # Errors
/// [`WeatherError`] with line and column of the first thing that cannot be read.
pub fn read_weather(bytes: &[u8], name: &str) -> Result<WeatherYear, WeatherError> {
    if bytes.starts_with(&[0x1f, 0x8b]) || bytes.starts_with(b"PK") {
        return Err(WeatherError::Compressed {
            name: name.to_owned(),
        });
    }
    // names in the header may be in any old encoding; numbers are ASCII in all of them
    let text = String::from_utf8_lossy(bytes);
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let lines: Vec<(usize, &str)> = text
        .lines()
        .enumerate()
        .map(|(index, line)| (index + 1, line.trim_end()))
        .filter(|(_, line)| !line.is_empty())
        .collect();
    let first = lines.first().map_or("", |line| line.1);
    let second = lines.get(1).map_or("", |line| line.1);
    let starts = |line: &str, word: &str| {
        line.get(..word.len())
            .is_some_and(|start| start.eq_ignore_ascii_case(word))
    };
    let (format, file) = if starts(first, "LOCATION,") {
        (WeatherFormat::Epw, epw::read(&lines, name)?)
    } else if starts(second, "Date (MM/DD/YYYY)") {
        (WeatherFormat::Tmy3, tmy3::read(&lines, name)?)
    } else if starts(first, "Latitude (decimal degrees)") {
        (WeatherFormat::UtcInstants, instants::read(&lines, name)?)
    } else if tm2::is_header(first) {
        (WeatherFormat::Tm2, tm2::read(&lines, name)?)
    } else {
        return Err(WeatherError::UnknownFormat {
            name: name.to_owned(),
        });
    };
    let mut findings = file.findings;
    let hours = hour::hours_of(&file.rows, &file.station, name, &mut findings)?;
    findings::judge(&hours, &file.station, &mut findings);
    Ok(WeatherYear {
        format,
        station: file.station,
        hours,
        findings,
    })
}
