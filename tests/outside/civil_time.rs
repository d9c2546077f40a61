//! Clock readings and zones.

use jiff::Timestamp;
use jiff::civil::DateTime;
use lustrewalk::sun::{TimeError, parse_local, resolve, time_zone};

use crate::table::copied;

/// Source: IANA time zone data 2025b through the Python standard library. Tolerance: exact.
#[test]
fn civil_times_match_the_table() {
    for row in copied("civil_times.csv") {
        let zone = &row["iana_zone"];
        let local: DateTime = row["local_civil_time"].parse().unwrap();
        let result = resolve(local, zone);
        match row["kind"].as_str() {
            "unique" => {
                let expected: Timestamp = row["utc_first"].parse().unwrap();
                assert_eq!(result.unwrap().timestamp(), expected, "{row:?}");
            }
            "ambiguous" => {
                let Err(TimeError::Repeated { first, second, .. }) = result else {
                    panic!("{result:?} for {row:?}");
                };
                for (got, column) in [(first, "utc_first"), (second, "utc_second_if_ambiguous")] {
                    let expected: Timestamp = row[column].parse().unwrap();
                    assert_eq!(got.0.timestamp(), expected, "{row:?}");
                    // what the message shows must choose that instant
                    let chosen = parse_local(&got.to_string(), zone).unwrap();
                    assert_eq!(chosen.timestamp(), expected, "{got}");
                }
            }
            "nonexistent" => {
                let Err(TimeError::Skipped { next, .. }) = result else {
                    panic!("{result:?} for {row:?}");
                };
                assert!(next.0.datetime() > local, "{next} after {local}");
                assert!(resolve(next.0.datetime(), zone).is_ok(), "{next} exists");
            }
            other => panic!("kind {other}"),
        }
    }
}

/// Source: the clock rules of those nights, typed in. Tolerance: exact.
#[test]
fn messages_say_what_to_write() {
    for (text, zone, message) in [
        (
            "2024-03-31T02:00",
            "Europe/Paris",
            "2024-03-31T02:00:00 does not exist in Europe/Paris: the clock jumps from 2024-03-31T02:00:00 to \
             2024-03-31T03:00+02:00; use 2024-03-31T03:00+02:00 or later",
        ),
        (
            "2024-03-31T02:30",
            "Europe/Paris",
            "2024-03-31T02:30:00 does not exist in Europe/Paris: the clock jumps from 2024-03-31T02:00:00 to \
             2024-03-31T03:00+02:00; use 2024-03-31T03:00+02:00 or later",
        ),
        (
            "2026-10-25T02:30",
            "Europe/Berlin",
            "2026-10-25T02:30:00 happens twice in Europe/Berlin: write 2026-10-25T02:30+02:00 or \
             2026-10-25T02:30+01:00",
        ),
        (
            "2011-12-30T12:00",
            "Pacific/Apia",
            "2011-12-30T12:00:00 does not exist in Pacific/Apia: the clock jumps from 2011-12-30T00:00:00 to \
             2011-12-31T00:00+14:00; use 2011-12-31T00:00+14:00 or later",
        ),
        (
            "2026-06-21T10:00+01:00",
            "Europe/Berlin",
            "2026-06-21T10:00:00 in Europe/Berlin has the UTC offset +02:00, not +01",
        ),
        (
            "2026-06-21",
            "Europe/Berlin",
            "\"2026-06-21\" is no local date and time; write it as 2026-06-21T10:00",
        ),
        (
            "21.6.2026 10:00",
            "Europe/Berlin",
            "\"21.6.2026 10:00\" is no local date and time; write it as 2026-06-21T10:00",
        ),
        (
            "2026-06-21T10:00",
            "Europe/Berlim",
            "no time zone named \"Europe/Berlim\"; the nearest name is \"Europe/Berlin\"",
        ),
        (
            "2026-06-21T10:00",
            "berlin",
            "no time zone named \"berlin\"; the nearest name is \"Europe/Berlin\"",
        ),
    ] {
        assert_eq!(parse_local(text, zone).unwrap_err().to_string(), message);
    }
}

#[test]
fn readings_are_taken_in_their_forms() {
    for (text, zone, utc) in [
        ("2026-06-21T10:00", "Europe/Berlin", "2026-06-21T08:00:00Z"),
        (
            "2026-06-21 10:00:30",
            "Europe/Berlin",
            "2026-06-21T08:00:30Z",
        ),
        ("2026-06-21T10:00", "+05:30", "2026-06-21T04:30:00Z"),
        ("2026-06-21T10:00", "UTC", "2026-06-21T10:00:00Z"),
        (
            "2026-10-25T02:30+02:00",
            "Europe/Berlin",
            "2026-10-25T00:30:00Z",
        ),
        (
            "2026-10-25T02:30+0100",
            "Europe/Berlin",
            "2026-10-25T01:30:00Z",
        ),
        ("2026-06-21T10:00Z", "UTC", "2026-06-21T10:00:00Z"),
    ] {
        let expected: Timestamp = utc.parse().unwrap();
        let got = parse_local(text, zone).unwrap();
        assert_eq!(got.timestamp(), expected, "{text} in {zone}");
    }
}

#[test]
fn impossible_dates_are_refused_plainly() {
    for text in [
        "2025-02-29T10:00",
        "2026-13-01T10:00",
        "2026-06-31T10:00",
        "2026-06-21T24:30",
    ] {
        let why = parse_local(text, "Europe/Berlin");
        assert!(
            matches!(why, Err(TimeError::NoSuchDate { .. })),
            "{text}: {why:?}"
        );
    }
    for text in [
        "",
        "T",
        "noon",
        "2026-06-21T",
        "2026-06-21T10",
        "2026-06-21T1O:00",
        "２０26-06-21T10:00",
        "-2026-06-21T10:00",
    ] {
        let why = parse_local(text, "Europe/Berlin");
        assert!(
            matches!(why, Err(TimeError::Syntax { .. })),
            "{text}: {why:?}"
        );
    }
    assert!(time_zone("").is_err());
}
