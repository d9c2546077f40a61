//! The weather reader answers any bytes with a year or an error, and never panics.

use lustrewalk::weather::read_weather;
use proptest::prelude::*;

/// Starts of files of each layout, typed after the published ones.
const STARTS: [&str; 4] = [
    "LOCATION,Made up,-,XXX,none,0,50.0,10.0,1.0,100.0\nCOMMENTS 1,Irradiance Time Offset (h):-0.8\nDATA PERIODS,1,1,Data,Sunday,1/1,12/31\n\
     1987,1,1,1,0,flags,10,4.5,60,101325,0,0,0,0,0,0,0,0\n1987,1,1,2,0,flags,10,4.5,60,101325,0,0,0,0,0,0,0,0\n",
    "723170,\"MADE UP, X\",NC,-5.0,36.100,-79.950,273\nDate (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),Dew-point (C)\n\
     01/01/1988,01:00,0,0,0,6.1\n01/01/1988,02:00,0,0,0,6.1\n",
    "Latitude (decimal degrees): 45.000\nLongitude (decimal degrees): 8.000\nElevation (m): 250.0\nIrradiance Time Offset (h): 0.1761\n\
     time(UTC),T2m,RH,G(h),Gb(n),Gd(h)\n20180101:0000,2.0,95.0,0.0,-0.0,0.0\n20180101:0100,1.98,95.45,0.0,-0.0,0.0\n",
    " 12839 MADE UP                FL  -5 N 25 48 W  80 16     2\n \
     62010101000000000000?00000?00000?00000?00000?00000?00000?007A703A70200A70150A7073A71017A7158A7067A70161A777777A70999999999013F8062F8000A788E7\n",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_are_answered(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read_weather(&bytes, "any");
    }

    #[test]
    fn damaged_files_are_answered(
        start in 0usize..4,
        edits in prop::collection::vec((0usize..600, any::<u8>(), 0u8..3), 0..8),
        tail in prop::collection::vec(any::<u8>(), 0..40),
    ) {
        let mut bytes = STARTS[start].as_bytes().to_vec();
        for (at, byte, kind) in edits {
            let at = at % bytes.len().max(1);
            match kind {
                0 if at < bytes.len() => bytes[at] = byte,
                1 if at < bytes.len() => { bytes.remove(at); }
                _ => bytes.insert(at.min(bytes.len()), byte),
            }
        }
        bytes.extend(tail);
        // too short to be a year, so never accepted
        let why = read_weather(&bytes, "damaged");
        prop_assert!(why.is_err());
        if let Err(why) = why {
            prop_assert!(!why.to_string().is_empty() && !why.remedy().is_empty());
        }
    }

    #[test]
    fn any_line_is_answered(start in 0usize..4, line in "[ -~äß0-9,.:/+-]{0,200}") {
        let mut text = STARTS[start].to_owned();
        text.push_str(&line);
        let _ = read_weather(text.as_bytes(), "line");
    }
}

/// A whole made-up year of the second layout.
fn whole_year() -> Vec<u8> {
    let mut text = STARTS[1].lines().take(2).collect::<Vec<_>>().join("\n");
    for (month, days) in [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
        .into_iter()
        .enumerate()
    {
        for day in 1..=days {
            for hour in 1..=24 {
                text.push_str(&format!(
                    "\n{:02}/{day:02}/1988,{hour:02}:00,300,400,100,6.1",
                    month + 1
                ));
            }
        }
    }
    text.into_bytes()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Damage past the header of a whole year: a year with finite values, or an error.
    #[test]
    fn damaged_years_are_answered(
        edits in prop::collection::vec((0usize..1_000_000, "[0-9a-z.,:/-]|1e300|-9900|inf|nan"), 0..4),
    ) {
        let mut bytes = whole_year();
        for (at, text) in edits {
            let at = at % bytes.len();
            bytes.splice(at..at + 1, text.into_bytes());
        }
        if let Ok(year) = read_weather(&bytes, "damaged year") {
            prop_assert_eq!(year.hours.len(), 8760);
            for hour in &year.hours {
                let values = [hour.direct_normal_w_m2, hour.diffuse_horizontal_w_m2, hour.global_horizontal_w_m2, hour.dew_point_c];
                prop_assert!(values.iter().flatten().all(|value| value.is_finite() && *value < 3000.0), "{:?}", hour);
            }
        }
    }
}

/// The starts are what they claim to be: each layout gets as far as counting its rows.
#[test]
fn undamaged_starts_are_only_too_short() {
    for start in STARTS {
        let why = read_weather(start.as_bytes(), "start").unwrap_err();
        assert!(why.to_string().contains("hourly rows"), "{why}");
    }
}
