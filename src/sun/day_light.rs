//! When the sun rises, sets and stands highest on a local civil day.
//!
//! Rise and set are the instants when the TRUE elevation of the disc's centre crosses -0.8333 deg (half a disc and the
//! refraction at the horizon; Reda and Andreas 2004, appendix A.2), found by root search on the full position.
//! The day is the civil day of the zone, 23, 24 or 25 hours long; at high latitude it can hold a sunset before its
//! sunrise, or only one of them. Limits: sea-level horizon; of two sunrises in one day the first is given.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};

use super::refraction::HORIZON_DIP_DEG;
use super::spa::{Geocentric, solar_time_h};
use super::{Site, TimeError, delta_t};

/// Distance of the scanned instants [ms].
const STEP_MS: i64 = 600_000;

/// Light of one civil day.
#[derive(Clone, Debug, PartialEq)]
pub enum DayLight {
    /// The sun crosses the horizon: the first sunrise and the first sunset inside the day, in either order, at least one.
    Normal {
        /// First sunrise inside the civil day, if any.
        sunrise: Option<ZonedDateTime>,
        /// First sunset inside the civil day, if any; can lie before the sunrise.
        sunset: Option<ZonedDateTime>,
    },
    /// The sun stays up all day.
    PolarDay,
    /// The sun stays down all day.
    PolarNight,
}

/// Sunrise and sunset inside the local civil day `date` of a zone.
///
/// # Errors
/// [`TimeError::SkippedDay`] for a date that the zone left out, [`TimeError::Range`] outside the calendar's years.
pub fn day_light(date: Date, zone: &TimeZone, site: &Site) -> Result<DayLight, TimeError> {
    let (start_ms, end_ms) = civil_day_ms(date, zone)?;
    let instant_of = |ms: i64| {
        Timestamp::from_millisecond(ms)
            .map(|instant| instant.to_zoned_datetime(zone.clone()))
            .map_err(|_| TimeError::Range)
    };
    let height = |ms: i64| height_above_rise_rad(ms, site);

    let mut samples: Vec<(i64, f64)> = Vec::with_capacity(160);
    let mut ms = start_ms;
    while ms < end_ms {
        samples.push((ms, height(ms)));
        ms += STEP_MS;
    }
    samples.push((end_ms, height(end_ms)));
    let samples = with_grazing_extrema(&samples, height);

    let (mut sunrise, mut sunset) = (None, None);
    for pair in samples.windows(2) {
        let &[(a_ms, a), (b_ms, b)] = pair else {
            continue;
        };
        if a < 0.0 && b >= 0.0 && sunrise.is_none() {
            sunrise = Some(instant_of(crossing_ms(a_ms, b_ms, height))?);
        } else if a >= 0.0 && b < 0.0 && sunset.is_none() {
            sunset = Some(instant_of(crossing_ms(a_ms, b_ms, height))?);
        }
    }
    Ok(if sunrise.is_some() || sunset.is_some() {
        DayLight::Normal { sunrise, sunset }
    } else if samples.first().is_some_and(|sample| sample.1 >= 0.0) {
        DayLight::PolarDay
    } else {
        DayLight::PolarNight
    })
}

/// The instant in the local civil day when the sun crosses the meridian (apparent solar noon); None on the rare short
/// day that holds none.
///
/// # Errors
/// As [`day_light`].
pub fn transit(
    date: Date,
    zone: &TimeZone,
    site: &Site,
) -> Result<Option<ZonedDateTime>, TimeError> {
    let (start_ms, end_ms) = civil_day_ms(date, zone)?;
    let mut ms = (start_ms + end_ms) / 2;
    // solar time runs within 30 s a day of the clock, so three corrections leave nothing
    for _ in 0..4 {
        let instant = Timestamp::from_millisecond(ms).map_err(|_| TimeError::Range)?;
        ms += ((12.0 - solar_time_h(instant, site)) * 3_600_000.0).round() as i64;
    }
    if ms < start_ms || ms >= end_ms {
        return Ok(None);
    }
    let instant = Timestamp::from_millisecond(ms).map_err(|_| TimeError::Range)?;
    Ok(Some(instant.to_zoned_datetime(zone.clone())))
}

/// First instant of the civil day and of the next one [ms since 1970]. Where midnight does not exist the day starts at
/// its first existing instant.
fn civil_day_ms(date: Date, zone: &TimeZone) -> Result<(i64, i64), TimeError> {
    let first_instant = |day: Date| {
        day.to_zoned_datetime(zone.clone())
            .and_then(|midnight| midnight.start_of_day())
            .map_err(|_| TimeError::Range)
    };
    let start = first_instant(date)?;
    if start.date() != date {
        return Err(TimeError::SkippedDay {
            date,
            next: start.date(),
        });
    }
    let end = first_instant(date.tomorrow().map_err(|_| TimeError::Range)?)?;
    Ok((
        start.timestamp().as_millisecond(),
        end.timestamp().as_millisecond(),
    ))
}

/// True elevation above that of rise and set [rad].
fn height_above_rise_rad(ms: i64, site: &Site) -> f64 {
    let Ok(instant) = Timestamp::from_millisecond(ms) else {
        return -1.0;
    };
    let (_, elevation_rad) =
        Geocentric::new(instant, delta_t::delta_t_s(instant)).topocentric_rad(site);
    elevation_rad + HORIZON_DIP_DEG.to_radians()
}

/// Adds the extremum near every sample that is one, where the curve may touch the horizon between two samples.
fn with_grazing_extrema(samples: &[(i64, f64)], height: impl Fn(i64) -> f64) -> Vec<(i64, f64)> {
    let mut out: Vec<(i64, f64)> = samples.to_vec();
    for triple in samples.windows(3) {
        let &[(a_ms, a), (_, b), (c_ms, c)] = triple else {
            continue;
        };
        let (peak, dip) = (b >= a && b >= c && b < 0.0, b <= a && b <= c && b >= 0.0);
        // in 10 minutes near an extremum the sun moves under 0.2 deg in height
        if !(peak || dip) || b.abs() > 0.01 {
            continue;
        }
        let sign = if peak { 1.0 } else { -1.0 };
        let (mut low_ms, mut high_ms) = (a_ms, c_ms);
        while high_ms - low_ms > 500 {
            let third = (high_ms - low_ms) / 3;
            if sign * height(low_ms + third) < sign * height(high_ms - third) {
                low_ms += third;
            } else {
                high_ms -= third;
            }
        }
        let at_ms = (low_ms + high_ms) / 2;
        out.push((at_ms, height(at_ms)));
    }
    out.sort_by_key(|sample| sample.0);
    out
}

/// Bisects the one change of sign between two instants to a millisecond.
fn crossing_ms(mut low_ms: i64, mut high_ms: i64, height: impl Fn(i64) -> f64) -> i64 {
    let up_at_low = height(low_ms) >= 0.0;
    while high_ms - low_ms > 1 {
        let middle_ms = (low_ms + high_ms) / 2;
        if (height(middle_ms) >= 0.0) == up_at_low {
            low_ms = middle_ms;
        } else {
            high_ms = middle_ms;
        }
    }
    high_ms
}
