//! Civil time: a clock reading and a zone become one instant, or a plain reason why they do not.
//!
//! An hour that the clock skips or shows twice is said, never guessed; where it is shown twice the UTC offset behind the
//! reading chooses. Zone rules are the bundled IANA table, so that every machine gives the same answer.

use std::sync::LazyLock;

use jiff::civil::{Date, DateTime};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone, TimeZoneDatabase};
use jiff::{SignedDuration, ZonedDateTime};

/// The zone rules compiled into the program.
static ZONES: LazyLock<TimeZoneDatabase> = LazyLock::new(TimeZoneDatabase::bundled);

/// Why a clock reading is not one instant.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TimeError {
    /// The clock jumps over the reading.
    #[error(
        "{local} does not exist in {zone}: the clock jumps from {jumps_from} to {next}; use {next} or later"
    )]
    Skipped {
        /// The reading asked for.
        local: DateTime,
        /// Zone name.
        zone: String,
        /// Clock reading at which the jump happens.
        jumps_from: DateTime,
        /// The next reading that exists, with its offset.
        next: ReadingWithOffset,
    },
    /// The clock shows the reading twice.
    #[error("{local} happens twice in {zone}: write {first} or {second}")]
    Repeated {
        /// The reading asked for.
        local: DateTime,
        /// Zone name.
        zone: String,
        /// The earlier instant.
        first: ReadingWithOffset,
        /// The later instant.
        second: ReadingWithOffset,
    },
    /// The offset given does not belong to the reading.
    #[error("{local} in {zone} has the UTC offset {valid}, not {given}")]
    WrongOffset {
        /// The reading asked for.
        local: DateTime,
        /// Zone name.
        zone: String,
        /// Offset given.
        given: Offset,
        /// The offset, or the two, that would be right.
        valid: String,
    },
    /// No zone of that name.
    #[error("no time zone named {name:?}; the nearest name is {nearest:?}")]
    UnknownZone {
        /// The name given.
        name: String,
        /// The IANA name nearest to it.
        nearest: String,
    },
    /// The text is no date and time.
    #[error("{text:?} is no local date and time; write it as 2026-06-21T10:00")]
    Syntax {
        /// The text given.
        text: String,
    },
    /// Date or hour that no calendar or clock has.
    #[error("{text:?} is on no calendar or clock: {why}")]
    NoSuchDate {
        /// The text given.
        text: String,
        /// What is out of range.
        why: String,
    },
    /// The zone left out the whole date.
    #[error("the date {date} was left out in this zone; the next day is {next}")]
    SkippedDay {
        /// The date asked for.
        date: Date,
        /// The next date that exists.
        next: Date,
    },
    /// Outside the years that the calendar covers.
    #[error("the date is outside the years -9999 to 9999")]
    Range,
}

/// A clock reading with its UTC offset, shown as `2026-10-25T02:30+02:00`: the form that chooses between two instants.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingWithOffset(pub ZonedDateTime);

impl std::fmt::Display for ReadingWithOffset {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let reading = self.0.datetime();
        write!(
            f,
            "{}T{:02}:{:02}",
            reading.date(),
            reading.hour(),
            reading.minute()
        )?;
        if reading.second() != 0 {
            write!(f, ":{:02}", reading.second())?;
        }
        write!(f, "{}", offset_text(self.0.offset()))
    }
}

/// The zone of an IANA name (`Europe/Berlin`), of `UTC`, or of a fixed offset (`+05:30`).
///
/// # Errors
/// [`TimeError::UnknownZone`] with the nearest IANA name.
pub fn time_zone(zone_name: &str) -> Result<TimeZone, TimeError> {
    let name = zone_name.trim();
    if let Some(offset) = parse_offset(name) {
        return Ok(offset.to_time_zone());
    }
    ZONES.get(name).map_err(|_| TimeError::UnknownZone {
        name: name.to_owned(),
        nearest: nearest_zone(name),
    })
}

/// The one instant of a clock reading in a zone.
///
/// # Errors
/// [`TimeError::Skipped`], [`TimeError::Repeated`], [`TimeError::UnknownZone`], [`TimeError::Range`].
pub fn resolve(local: DateTime, zone_name: &str) -> Result<ZonedDateTime, TimeError> {
    let zone = time_zone(zone_name)?;
    match zone.to_ambiguous_timestamp(local).offset() {
        AmbiguousOffset::Unambiguous { offset } => at_offset(local, offset, &zone),
        AmbiguousOffset::Gap { before, .. } => {
            // read with the old offset the instant lies after the jump, so the jump is the last one before it
            // (or at it, hence the second more)
            let beyond = at_offset(local, before, &zone)?.timestamp();
            let after_jump = beyond
                .checked_add(SignedDuration::from_secs(1))
                .map_err(|_| TimeError::Range)?;
            let jump = zone
                .preceding(after_jump)
                .next()
                .map_or(beyond, |transition| transition.timestamp());
            Err(TimeError::Skipped {
                local,
                zone: zone_name.to_owned(),
                jumps_from: before.to_datetime(jump),
                next: ReadingWithOffset(jump.to_zoned_datetime(zone.clone())),
            })
        }
        AmbiguousOffset::Fold { before, after } => Err(TimeError::Repeated {
            local,
            zone: zone_name.to_owned(),
            first: ReadingWithOffset(at_offset(local, before, &zone)?),
            second: ReadingWithOffset(at_offset(local, after, &zone)?),
        }),
    }
}

/// The instant of a written reading, `2026-06-21T10:00` or, to choose, `2026-10-25T02:30+02:00`; seconds may follow, a
/// blank may stand for the T, Z is UTC.
///
/// # Errors
/// As [`resolve`], and [`TimeError::Syntax`], [`TimeError::NoSuchDate`], [`TimeError::WrongOffset`].
pub fn parse_local(text: &str, zone_name: &str) -> Result<ZonedDateTime, TimeError> {
    let (local, offset) = split_reading(text)?;
    let Some(given) = offset else {
        return resolve(local, zone_name);
    };
    let zone = time_zone(zone_name)?;
    let valid = match zone.to_ambiguous_timestamp(local).offset() {
        AmbiguousOffset::Unambiguous { offset } => vec![offset],
        AmbiguousOffset::Fold { before, after } => vec![before, after],
        AmbiguousOffset::Gap { .. } => return resolve(local, zone_name),
    };
    if valid.contains(&given) {
        return at_offset(local, given, &zone);
    }
    let valid: Vec<String> = valid.into_iter().map(offset_text).collect();
    Err(TimeError::WrongOffset {
        local,
        zone: zone_name.to_owned(),
        given,
        valid: valid.join(" or "),
    })
}

/// Splits a written reading into clock reading and offset.
fn split_reading(text: &str) -> Result<(DateTime, Option<Offset>), TimeError> {
    let syntax = || TimeError::Syntax {
        text: text.to_owned(),
    };
    let trimmed = text.trim();
    let (date, rest) = trimmed.split_once(['T', 't', ' ']).ok_or_else(syntax)?;
    let (clock, offset) = match rest.find(['+', '-', 'Z', 'z']) {
        None => (rest, None),
        Some(at) => {
            let (clock, offset) = rest.split_at(at);
            (clock, Some(parse_offset(offset).ok_or_else(syntax)?))
        }
    };
    let date = numbers(date, '-').ok_or_else(syntax)?;
    let clock = numbers(clock.trim(), ':').ok_or_else(syntax)?;
    let (&[year, month, day], (&[hour, minute], second)) = (
        date.as_slice(),
        match clock.as_slice() {
            [hour, minute] => (&[*hour, *minute], 0),
            [hour, minute, second] => (&[*hour, *minute], *second),
            _ => return Err(syntax()),
        },
    ) else {
        return Err(syntax());
    };
    let small = |n: u16| i8::try_from(n).unwrap_or(i8::MAX);
    let year = i16::try_from(year).map_err(|_| TimeError::Range)?;
    DateTime::new(
        year,
        small(month),
        small(day),
        small(hour),
        small(minute),
        small(second),
        0,
    )
    .map(|local| (local, offset))
    .map_err(|why| TimeError::NoSuchDate {
        text: text.to_owned(),
        why: why.to_string(),
    })
}

/// Unsigned numbers of two or four digits between separators.
fn numbers(text: &str, separator: char) -> Option<Vec<u16>> {
    text.split(separator)
        .map(|part| {
            let digits = part.bytes().all(|byte| byte.is_ascii_digit());
            (digits && (part.len() == 2 || part.len() == 4))
                .then(|| part.parse().ok())
                .flatten()
        })
        .collect()
}

/// `Z`, `+05:30`, `+0530` or `+05`.
fn parse_offset(text: &str) -> Option<Offset> {
    if matches!(text, "Z" | "z") {
        return Some(Offset::UTC);
    }
    let sign = match text.chars().next()? {
        '+' => 1,
        '-' => -1,
        _ => return None,
    };
    let digits: String = text.get(1..)?.chars().filter(|c| *c != ':').collect();
    if !digits.bytes().all(|byte| byte.is_ascii_digit()) || !matches!(digits.len(), 2 | 4) {
        return None;
    }
    let hours: i32 = digits.get(..2)?.parse().ok()?;
    let minutes: i32 = match digits.get(2..) {
        Some("") | None => 0,
        Some(minutes) => minutes.parse().ok()?,
    };
    (minutes < 60)
        .then(|| Offset::from_seconds(sign * (hours * 3600 + minutes * 60)).ok())
        .flatten()
}

/// `+05:30`.
fn offset_text(offset: Offset) -> String {
    let seconds = offset.seconds();
    let (sign, size) = if seconds < 0 {
        ('-', -seconds)
    } else {
        ('+', seconds)
    };
    format!("{sign}{:02}:{:02}", size / 3600, size / 60 % 60)
}

fn at_offset(local: DateTime, offset: Offset, zone: &TimeZone) -> Result<ZonedDateTime, TimeError> {
    offset
        .to_timestamp(local)
        .map(|instant| instant.to_zoned_datetime(zone.clone()))
        .map_err(|_| TimeError::Range)
}

/// The IANA name with the fewest edits to `name`, compared whole and by its last part, without regard to case.
fn nearest_zone(name: &str) -> String {
    let wanted = name.to_lowercase().replace(' ', "_");
    let mut best = (usize::MAX, String::from("UTC"));
    for zone in ZONES.available() {
        let zone = zone.to_string();
        let lower = zone.to_lowercase();
        let city = lower.rsplit('/').next().unwrap_or(&lower);
        let distance = crate::spelling::edit_distance(&wanted, &lower)
            .min(crate::spelling::edit_distance(&wanted, city));
        // of equals the first in the alphabet, whatever the order of the table
        if (distance, &zone) < (best.0, &best.1) {
            best = (distance, zone);
        }
    }
    best.1
}
