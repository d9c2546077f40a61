//! Sun position, sunrise and sunset.

use jiff::Timestamp;
use jiff::civil::date;
use lustrewalk::sun::compact::compact_sun;
use lustrewalk::sun::delta_t::delta_t_s;
use lustrewalk::sun::spa::Geocentric;
use lustrewalk::sun::{
    Atmosphere, DayLight, Site, TimeError, day_light, parse_local, solar_time_h, sun_position,
    sun_position_with_delta_t, time_zone, transit,
};

use crate::table::{Row, copied, copied_and_full, number};

fn assert_near(what: &str, got: f64, expected: f64, tolerance: f64, unit: &str) {
    assert!(
        (got - expected).abs() <= tolerance,
        "{what}: got {got} {unit}, expected {expected} {unit} within {tolerance}"
    );
}

/// Source: I. Reda and A. Andreas, NREL/TP-560-34302, 2008, table A5.1 (2003-10-17 12:30:30 at UTC-7, delta T 67 s).
/// Tolerance: the printed digits.
#[test]
fn worked_example_matches_in_every_step() {
    let instant: Timestamp = "2003-10-17T19:30:30Z".parse().unwrap();
    let site = Site::from_degrees(39.742476, -105.1786, 1830.14, 0.0);
    let earth = Geocentric::new(instant, 67.0);
    let deg = f64::to_degrees;
    for (what, got, expected, tolerance) in [
        ("Julian day", earth.julian_day, 2_452_930.312_847, 5e-7),
        (
            "L",
            deg(earth.heliocentric_longitude_rad),
            24.018_261_691_7,
            1e-9,
        ),
        (
            "B",
            deg(earth.heliocentric_latitude_rad),
            -0.000_101_121_9,
            1e-10,
        ),
        ("R [au]", earth.distance_au, 0.996_542_297_4, 1e-10),
        (
            "d psi",
            deg(earth.nutation_longitude_rad),
            -0.003_998_40,
            1e-8,
        ),
        (
            "d eps",
            deg(earth.nutation_obliquity_rad),
            0.001_666_57,
            1e-8,
        ),
        ("eps", deg(earth.obliquity_rad), 23.440_465, 1e-6),
        (
            "lambda",
            deg(earth.apparent_longitude_rad),
            204.008_551_928_1,
            1e-9,
        ),
        ("alpha", deg(earth.right_ascension_rad), 202.227_41, 1e-5),
        ("delta", deg(earth.declination_rad), -9.314_34, 1e-5),
        (
            "sidereal time",
            deg(earth.sidereal_time_rad),
            318.5119,
            1e-4,
        ),
        (
            "H",
            deg(earth.hour_angle_rad(site.longitude_rad)),
            11.105_902,
            1e-6,
        ),
        (
            "equation of time [min]",
            earth.equation_of_time_min,
            14.641_511,
            1e-5,
        ),
    ] {
        assert_near(what, got, expected, tolerance, "deg");
    }
    let air = Atmosphere {
        pressure_hpa: 820.0,
        temperature_c: 11.0,
    };
    let sun = sun_position_with_delta_t(instant, &site, air, 67.0);
    assert_near(
        "true elevation",
        deg(sun.true_elevation_rad),
        39.872_045_9,
        1e-6,
        "deg",
    );
    assert_near(
        "zenith angle",
        90.0 - deg(sun.apparent_elevation_rad),
        50.111_62,
        5e-6,
        "deg",
    );
    assert_near("azimuth", deg(sun.azimuth_rad), 194.340_24, 5e-6, "deg");
    // surface tilted 30 deg, turned 10 deg east of south
    let to_sun = sun.to_sun_dir(0.0).as_dvec3();
    let facing = lustrewalk::sun::world_direction(170f64.to_radians(), 60f64.to_radians(), 0.0);
    let incidence = to_sun.dot(facing.as_dvec3()).acos();
    assert_near("incidence angle", deg(incidence), 25.187_00, 2e-5, "deg");
}

/// Source: the same table: sunrise 06:12:43.46, transit 11:46:04.97, sunset 17:20:19.18 local standard time. The algorithm's
/// sunset is the one inside the UT day 17 October, 00:20 UT, which is the evening of 16 October on the local clock.
/// Tolerance: 1 s; the table interpolates daily positions where we take a root.
#[test]
fn worked_example_rises_and_sets() {
    let zone = time_zone("-07:00").unwrap();
    let site = Site::from_degrees(39.742476, -105.1786, 1830.14, 0.0);
    let events = |day| match day_light(day, &zone, &site).unwrap() {
        DayLight::Normal {
            sunrise: Some(rise),
            sunset: Some(set),
        } => (rise, set),
        other => panic!("a normal day, not {other:?}"),
    };
    let (rise, _) = events(date(2003, 10, 17));
    let (_, set) = events(date(2003, 10, 16));
    let noon = transit(date(2003, 10, 17), &zone, &site).unwrap().unwrap();
    for (what, zoned, [h, m, s]) in [
        ("sunrise", &rise, [6.0, 12.0, 43.46]),
        ("transit", &noon, [11.0, 46.0, 4.97]),
        ("sunset", &set, [17.0, 20.0, 19.18]),
    ] {
        let midnight = zoned.start_of_day().unwrap().timestamp();
        let got_s = (zoned.timestamp().as_millisecond() - midnight.as_millisecond()) as f64 / 1e3;
        assert_near(what, got_s, h * 3600.0 + m * 60.0 + s, 1.0, "s");
    }
}

fn site_of(row: &Row) -> Site {
    Site::from_degrees(
        number(row, "latitude_deg"),
        number(row, "longitude_deg_east"),
        row.get("elevation_m")
            .map_or(0.0, |_| number(row, "elevation_m")),
        0.0,
    )
}

/// Source: NREL SPA rows, 18 places from 78 N to 78 S, 2000 to 2050. Tolerance: 0.0005 deg with the row's delta T, what
/// two implementations of the same algorithm may differ by; the project's own bound is 0.01 deg.
#[test]
fn positions_match_spa_rows() {
    let mut worst = [0.0f64; 4];
    for row in copied_and_full("sun.csv", "checks/sun.csv") {
        let instant: Timestamp = row["utc"].parse().unwrap();
        let site = site_of(&row);
        let air = Atmosphere {
            pressure_hpa: number(&row, "pressure_hPa"),
            temperature_c: number(&row, "temperature_C"),
        };
        let row_delta_t_s = number(&row, "delta_t_s");
        let sun = sun_position_with_delta_t(instant, &site, air, row_delta_t_s);
        let true_deg = number(&row, "true_elevation_deg");
        let azimuth_deg = number(&row, "azimuth_deg_cw_from_north");
        let turn_deg = |got_deg: f64| (got_deg - azimuth_deg + 540.0).rem_euclid(360.0) - 180.0;
        let off = [
            sun.true_elevation_rad.to_degrees() - true_deg,
            sun.apparent_elevation_rad.to_degrees() - number(&row, "apparent_elevation_deg"),
            turn_deg(sun.azimuth_rad.to_degrees()) * true_deg.to_radians().cos(),
            delta_t_s(instant) - row_delta_t_s,
        ];
        for (worst, off) in worst.iter_mut().zip(off) {
            *worst = worst.max(off.abs());
        }
        for (what, off_deg) in ["true elevation", "apparent elevation", "azimuth"]
            .iter()
            .zip(off)
        {
            assert!(
                off_deg.abs() < 0.0005,
                "{what} off by {off_deg} deg in {row:?}"
            );
        }
        // our own delta T moves the sun far less than the bound
        assert!(off[3].abs() < 0.1, "delta T off by {} s in {row:?}", off[3]);
        let own = sun_position(instant, &site, air);
        let moved_deg = (own.true_elevation_rad - sun.true_elevation_rad).to_degrees();
        assert!(
            moved_deg.abs() < 0.0005,
            "own delta T moves the sun by {moved_deg} deg"
        );

        // the short formula for scans: Meeus, low accuracy, 0.02 deg
        let compact = compact_sun(instant.as_second() as f64, &site, row_delta_t_s);
        let off_deg = compact.true_elevation_rad.to_degrees() - true_deg;
        assert!(
            off_deg.abs() < 0.02,
            "short formula off by {off_deg} deg in {row:?}"
        );
        let off_deg = turn_deg(compact.azimuth_rad.to_degrees()) * true_deg.to_radians().cos();
        assert!(
            off_deg.abs() < 0.02,
            "short azimuth off by {off_deg} deg in {row:?}"
        );
    }
    println!(
        "worst: true {} apparent {} azimuth x cos {} deg, delta T {} s",
        worst[0], worst[1], worst[2], worst[3]
    );
}

/// Source: roots of the SPA elevation at -0.8333 deg inside the local civil day, IANA 2025b, two methods.
/// Tolerance: 5 s below 60 deg latitude, 60 s above, where the sun moves along the horizon.
#[test]
fn sunrise_and_sunset_match_the_table() {
    let mut worst = [0i64; 2];
    for row in copied("sunrise_sunset.csv") {
        let site = site_of(&row);
        let zone = time_zone(&row["iana_zone"]).unwrap();
        let day = row["local_date"].parse().unwrap();
        let light = day_light(day, &zone, &site).unwrap();
        match row["state"].as_str() {
            "sun always up" => assert_eq!(light, DayLight::PolarDay, "{row:?}"),
            "sun always down" => assert_eq!(light, DayLight::PolarNight, "{row:?}"),
            _ => {
                let DayLight::Normal { sunrise, sunset } = light else {
                    panic!("{light:?} for {row:?}");
                };
                let north = number(&row, "latitude_deg").abs() > 60.0;
                for (what, got) in [("sunrise", sunrise), ("sunset", sunset)] {
                    let expected = &row[&format!("{what}_utc")];
                    assert_eq!(got.is_some(), !expected.is_empty(), "{what} in {row:?}");
                    let Some(got) = got else { continue };
                    let expected: Timestamp = expected.parse().unwrap();
                    let off_s =
                        (got.timestamp().as_millisecond() - expected.as_millisecond()).abs() / 1000;
                    worst[usize::from(north)] = worst[usize::from(north)].max(off_s);
                    let bound_s = if north { 60 } else { 5 };
                    assert!(
                        off_s <= bound_s,
                        "{what} {got} off by {off_s} s from {expected}"
                    );
                    let offset_s = number(&row, &format!("{what}_utc_offset_s"));
                    assert_eq!(f64::from(got.offset().seconds()), offset_s, "{what} {got}");
                }
            }
        }
    }
    println!("worst: {} s below 60 deg, {} s above", worst[0], worst[1]);
}

/// Source: physics sheet C1.2 to C1.12 (SPA, sea level, 12 degC, delta T 69.2 s): true and apparent elevation and azimuth
/// at clock times, transit. Tolerance: the printed digits and the delta T; transit 2 s.
#[test]
fn clock_time_rows_match() {
    let london = (51.5074, -0.1278, "Europe/London");
    let new_york = (40.7128, -74.006, "America/New_York");
    let sydney = (-33.8688, 151.2093, "Australia/Sydney");
    for ((latitude, longitude, zone), text, true_deg, apparent_deg, azimuth_deg) in [
        (london, "2024-03-20T12:00", 38.611, 38.632, 177.498),
        (london, "2024-06-20T16:30", 41.557, 41.576, 254.882),
        (london, "2024-12-21T09:00", 5.431, 5.582, 139.602),
        (
            (52.52, 13.405, "Europe/Berlin"),
            "2024-06-20T12:00",
            58.154,
            58.164,
            149.409,
        ),
        (new_york, "2024-06-20T09:00", 37.812, 37.833, 90.205),
        (new_york, "2024-12-21T16:30", -0.504, 0.056, 238.854),
        (sydney, "2024-12-21T12:00", 74.369, 74.374, 51.608),
        (sydney, "2024-06-20T16:30", 3.442, 3.650, 301.351),
        (
            (1.3521, 103.8198, "Asia/Singapore"),
            "2024-03-20T16:30",
            40.505,
            40.525,
            268.962,
        ),
        (
            (69.6492, 18.9553, "Europe/Oslo"),
            "2024-06-20T12:00",
            43.283,
            43.301,
            165.489,
        ),
    ] {
        let site = Site::from_degrees(latitude, longitude, 0.0, 0.0);
        let air = Atmosphere {
            pressure_hpa: 1013.25,
            temperature_c: 12.0,
        };
        let zoned = parse_local(text, zone).unwrap();
        let sun = sun_position_with_delta_t(zoned.timestamp(), &site, air, 69.2);
        for (what, got_rad, expected_deg) in [
            ("true elevation", sun.true_elevation_rad, true_deg),
            (
                "apparent elevation",
                sun.apparent_elevation_rad,
                apparent_deg,
            ),
            ("azimuth", sun.azimuth_rad, azimuth_deg),
        ] {
            assert_near(
                &format!("{what} {zone} {text}"),
                got_rad.to_degrees(),
                expected_deg,
                6e-4,
                "deg",
            );
        }
    }
    for ((latitude, longitude, zone), day, clock) in [
        (london, date(2024, 3, 20), "12:07:49"),
        (new_york, date(2024, 6, 20), "12:57:46"),
        (sydney, date(2024, 12, 21), "12:53:14"),
        (
            (69.6492, 18.9553, "Europe/Oslo"),
            date(2024, 12, 21),
            "11:42:26",
        ),
    ] {
        let site = Site::from_degrees(latitude, longitude, 0.0, 0.0);
        let noon = transit(day, &time_zone(zone).unwrap(), &site)
            .unwrap()
            .unwrap();
        let expected = parse_local(&format!("{day}T{clock}"), zone).unwrap();
        let off_s = (noon.timestamp().as_second() - expected.timestamp().as_second()).abs();
        assert!(off_s <= 2, "transit {noon}, expected {expected}");
        let solar_h = solar_time_h(noon.timestamp(), &site);
        assert_near("solar time at transit", solar_h, 12.0, 1e-5, "h");
    }
}

/// Source: physics sheet 1.4 and 1.7: equinox and solstices of 2024, the obliquity, the extremes of the equation of time.
/// Tolerance: longitude moves 0.04 deg an hour, so 0.0005 deg is 45 s; the equation of time as "about".
#[test]
fn seasons_are_in_place() {
    for (text, longitude_deg, declination_deg) in [
        ("2024-03-20T03:06:25Z", 0.0, 0.0),
        ("2024-06-20T20:50:55Z", 90.0, 23.44),
        ("2024-09-22T12:43:39Z", 180.0, 0.0),
        ("2024-12-21T09:20:27Z", 270.0, -23.44),
    ] {
        let sun = Geocentric::new(text.parse().unwrap(), 69.2);
        let off_deg = (sun.apparent_longitude_rad.to_degrees() - longitude_deg + 180.0)
            .rem_euclid(360.0)
            - 180.0;
        assert!(
            off_deg.abs() < 0.0005,
            "longitude at {text} off by {off_deg} deg"
        );
        assert_near(
            "declination",
            sun.declination_rad.to_degrees(),
            declination_deg,
            0.005,
            "deg",
        );
    }
    for (text, minutes) in [
        ("2025-02-11T12:00:00Z", -14.2),
        ("2025-11-03T12:00:00Z", 16.4),
    ] {
        let sun = Geocentric::new(text.parse().unwrap(), 69.2);
        assert_near(
            "equation of time",
            sun.equation_of_time_min,
            minutes,
            0.1,
            "min",
        );
    }
    // noon height of London, 90 - |latitude - declination|
    let site = Site::from_degrees(51.51, -0.1278, 0.0, 0.0);
    let zone = time_zone("Europe/London").unwrap();
    for (day, noon_deg) in [
        (date(2024, 6, 20), 61.9),
        (date(2024, 3, 20), 38.6),
        (date(2024, 12, 21), 15.1),
    ] {
        let noon = transit(day, &zone, &site).unwrap().unwrap();
        let sun = sun_position(noon.timestamp(), &site, Atmosphere::default());
        assert_near(
            "noon height",
            sun.true_elevation_rad.to_degrees(),
            noon_deg,
            0.06,
            "deg",
        );
    }
}

/// Source: spherical trigonometry: at an equinox the sun's centre passes the true horizon within half a degree of due east
/// and west; at rise and set it is 0.83 deg below, up to 1.1 deg further along at 51 deg latitude. Tolerance: the sum.
#[test]
fn equinox_sun_rises_in_the_east() {
    for (latitude, longitude, zone) in [
        (51.5, 0.0, "Europe/London"),
        (-33.9, 151.2, "Australia/Sydney"),
        (1.35, 103.8, "Asia/Singapore"),
    ] {
        let site = Site::from_degrees(latitude, longitude, 0.0, 0.0);
        let light = day_light(date(2024, 3, 20), &time_zone(zone).unwrap(), &site).unwrap();
        let DayLight::Normal {
            sunrise: Some(rise),
            sunset: Some(set),
        } = light
        else {
            panic!("{light:?}")
        };
        for (event, azimuth_deg) in [(rise, 90.0), (set, 270.0)] {
            let sun = sun_position(event.timestamp(), &site, Atmosphere::default());
            assert_near(
                "azimuth",
                sun.azimuth_rad.to_degrees(),
                azimuth_deg,
                1.6,
                "deg",
            );
        }
    }
}

/// Source: traps list 22: Berlin, last Sunday of March; sunrise on the clock jumps by about 58 min, the sun at the same
/// standard time moves by less than 0.6 deg.
#[test]
fn clock_change_moves_the_clock_and_not_the_sun() {
    let site = Site::from_degrees(52.52, 13.405, 34.0, 0.0);
    let zone = time_zone("Europe/Berlin").unwrap();
    let clock_min = |day| {
        let DayLight::Normal {
            sunrise: Some(rise),
            ..
        } = day_light(day, &zone, &site).unwrap()
        else {
            panic!("a sunrise")
        };
        f64::from(rise.hour()) * 60.0 + f64::from(rise.minute()) + f64::from(rise.second()) / 60.0
    };
    let jump_min = clock_min(date(2024, 3, 31)) - clock_min(date(2024, 3, 30));
    assert_near("jump of the sunrise", jump_min, 58.0, 1.0, "min");
    let at = |text: &str| {
        sun_position(text.parse().unwrap(), &site, Atmosphere::default()).to_sun_dir(0.0)
    };
    let moved_deg = at("2024-03-30T09:00:00Z")
        .angle_between(at("2024-03-31T09:00:00Z"))
        .to_degrees();
    assert!(moved_deg < 0.6, "the sun moved {moved_deg} deg");
}

/// Source: traps list 23: the day starts at the first instant that exists; a day that was left out is said.
#[test]
fn days_without_midnight_work() {
    let cairo = time_zone("Africa/Cairo").unwrap();
    let site = Site::from_degrees(30.0444, 31.2357, 0.0, 0.0);
    assert!(matches!(
        day_light(date(2023, 4, 28), &cairo, &site),
        Ok(DayLight::Normal {
            sunrise: Some(_),
            sunset: Some(_)
        })
    ));
    let apia = time_zone("Pacific/Apia").unwrap();
    let site = Site::from_degrees(-13.8333, -171.7667, 0.0, 0.0);
    assert_eq!(
        day_light(date(2011, 12, 30), &apia, &site),
        Err(TimeError::SkippedDay {
            date: date(2011, 12, 30),
            next: date(2011, 12, 31)
        })
    );
    assert!(day_light(date(9999, 12, 31), &apia, &site).is_err());
}

/// Invariant: at the poles and at any instant the position is finite and the direction a unit vector.
#[test]
fn poles_give_finite_directions() {
    for latitude in [-90.0, 90.0, 0.0] {
        for hour in 0..24 {
            let instant = Timestamp::from_second(1_718_000_000 + hour * 3600).unwrap();
            let site = Site::from_degrees(latitude, 180.0, 0.0, 30.0);
            let sun = sun_position(instant, &site, Atmosphere::default());
            let dir = sun.to_sun_dir(site.bearing_rad);
            assert!(
                dir.is_finite() && (dir.length() - 1.0).abs() < 1e-6,
                "{dir} at {instant}"
            );
        }
    }
}
