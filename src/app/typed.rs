//! Numbers as people type them: lengths in m, cm, mm, ft and in, angles in degrees, with a point or a comma.
//!
//! Output is always metres or degrees. A bare number is in the unit that is shown. Feet and inches: the
//! international foot of 0.3048 m (exact, 1959).

/// Metres in a foot.
pub const METRES_PER_FOOT: f64 = 0.3048;
/// Metres in an inch.
pub const METRES_PER_INCH: f64 = 0.0254;

/// The units that lengths are shown in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum LengthUnit {
    /// Metres.
    #[default]
    Metres,
    /// Feet and inches.
    Feet,
}

/// A value rounded to a step.
pub fn snap(value: f32, step: f32) -> f32 {
    // In double precision, so that 0.05 steps read as they are typed.
    let step = f64::from(step);
    let rounded = (f64::from(value) / step).round() * step;
    ((rounded * 1e6).round() / 1e6) as f32
}

/// A length typed by a person [m]; `None` where it is none.
///
/// "1.2", "1,2 m", "120 cm", "1200mm", "3 ft 4 in", "3' 4 1/2\"", "-0.5".
pub fn length_m(text: &str, bare: LengthUnit) -> Option<f64> {
    let text = text.trim().replace(',', ".").to_lowercase();
    let (sign, text) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (-1.0, rest.trim_start().to_owned()),
        None => (1.0, text),
    };
    if text.is_empty() {
        return None;
    }
    let mut total = 0.0;
    let mut rest = text.as_str();
    let mut parts = 0;
    while !rest.is_empty() {
        let (number, after) = number(rest)?;
        let (unit_m, after) = unit(after);
        let unit_m = match unit_m {
            Some(unit_m) => unit_m,
            // A second bare number after feet are inches: 5' 3.
            None if parts > 0 => METRES_PER_INCH,
            None => match bare {
                LengthUnit::Metres => 1.0,
                LengthUnit::Feet => METRES_PER_FOOT,
            },
        };
        total += number * unit_m;
        parts += 1;
        if parts > 3 {
            return None;
        }
        rest = after.trim_start();
    }
    let value = sign * total;
    value.is_finite().then_some(value)
}

/// An angle typed by a person [deg]; `None` where it is none.
pub fn angle_deg(text: &str) -> Option<f64> {
    plain(text, &["degrees", "deg", "\u{b0}"])
}

/// A number typed by a person, with one of some words after it or none.
pub fn plain(text: &str, units: &[&str]) -> Option<f64> {
    let text = text.trim().replace(',', ".").to_lowercase();
    let text = text.replace('\u{2212}', "-");
    let bare = units
        .iter()
        .find_map(|u| text.strip_suffix(&u.to_lowercase()))
        .unwrap_or(&text)
        .trim();
    let value: f64 = bare.parse().ok()?;
    value.is_finite().then_some(value)
}

/// A share typed by a person as 0..1 or in percent; "40 %", "0.4".
pub fn share(text: &str) -> Option<f64> {
    match text.trim().strip_suffix('%') {
        Some(percent) => plain(percent, &[]).map(|v| v / 100.0),
        None => plain(text, &[]).map(|v| if v > 1.0 { v / 100.0 } else { v }),
    }
}

/// A leading number, with a fraction where there is one ("4 1/2"), and what follows.
fn number(text: &str) -> Option<(f64, &str)> {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(text.len());
    let mut value: f64 = text.get(..end)?.parse().ok()?;
    let mut rest = text.get(end..)?;
    if let Some(below) = rest.strip_prefix('/') {
        let (divisor, after) = number(below)?;
        return (divisor != 0.0).then_some((value / divisor, after));
    }
    let next = rest.trim_start();
    if next.starts_with(|c: char| c.is_ascii_digit())
        && let Some(end) = next.find(|c: char| !c.is_ascii_digit())
        && next[end..].starts_with('/')
    {
        let (fraction, after) = number(next)?;
        value += fraction;
        rest = after;
    }
    Some((value, rest))
}

/// The unit at the start of a text [m], and what follows.
fn unit(text: &str) -> (Option<f64>, &str) {
    const UNITS: [(&str, f64); 13] = [
        ("metres", 1.0),
        ("meters", 1.0),
        ("mm", 1e-3),
        ("cm", 1e-2),
        ("m", 1.0),
        ("feet", METRES_PER_FOOT),
        ("foot", METRES_PER_FOOT),
        ("ft", METRES_PER_FOOT),
        ("'", METRES_PER_FOOT),
        ("\u{2032}", METRES_PER_FOOT),
        ("inches", METRES_PER_INCH),
        ("in", METRES_PER_INCH),
        ("\"", METRES_PER_INCH),
    ];
    let text = text.trim_start();
    for (name, metres) in UNITS {
        if let Some(rest) = text.strip_prefix(name) {
            return (Some(metres), rest);
        }
    }
    (None, text)
}

/// A length for people in the unit that is shown: "1.25 m", "4 ft 1.2 in".
pub fn length_words(length_m: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Metres => {
            format!("{length_m:.3}")
                .trim_end_matches('0')
                .trim_end_matches('.')
                .to_owned()
                + " m"
        }
        LengthUnit::Feet => {
            let tenths = (length_m.abs() / METRES_PER_INCH * 10.0).round() as i64;
            let (feet, inches) = (tenths / 120, (tenths % 120) as f64 / 10.0);
            let sign = if length_m < 0.0 && tenths > 0 {
                "-"
            } else {
                ""
            };
            format!("{sign}{feet} ft {inches} in")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_in_every_unit() {
        for (text, metres) in [
            ("1.5", 1.5),
            ("1,5", 1.5),
            (" 1,5 m", 1.5),
            ("150 cm", 1.5),
            ("1500mm", 1.5),
            ("-0.25 m", -0.25),
            ("\u{2212}25 cm", -0.25),
            ("5 ft", 1.524),
            ("5'", 1.524),
            ("5' 6\"", 1.6764),
            ("5 ft 6 in", 1.6764),
            ("5' 6", 1.6764),
            ("66 in", 1.6764),
            ("1/2 in", 0.0127),
            ("4 1/2 in", 0.1143),
            ("0", 0.0),
        ] {
            let got = length_m(text, LengthUnit::Metres).unwrap_or(f64::NAN);
            assert!((got - metres).abs() < 1e-9, "{text:?}: {got}");
        }
        let bare = length_m("5", LengthUnit::Feet).unwrap();
        assert!(
            (bare - 1.524).abs() < 1e-9,
            "a bare number is in what is shown: {bare}"
        );
    }

    #[test]
    fn what_is_no_length_is_refused() {
        for text in [
            "", "-", "m", "1.2.3", "five", "1 2 3 4", "1/0 in", "nan", "inf", "3 stone",
        ] {
            assert_eq!(length_m(text, LengthUnit::Metres), None, "{text:?}");
        }
    }

    #[test]
    fn angles_and_shares_take_their_signs() {
        assert_eq!(angle_deg("-12,5 deg"), Some(-12.5));
        assert_eq!(angle_deg("30\u{b0}"), Some(30.0));
        assert_eq!(angle_deg("x"), None);
        assert_eq!(share("40 %"), Some(0.4));
        assert_eq!(share("0,4"), Some(0.4));
        assert_eq!(share("70"), Some(0.7));
    }

    #[test]
    fn lengths_read_back_what_was_shown() {
        for metres in [0.0, 0.005, 1.524, 2.345, -0.6] {
            for (unit, off) in [(LengthUnit::Metres, 6e-4), (LengthUnit::Feet, 1.4e-3)] {
                let text = length_words(metres, unit);
                let back = length_m(&text, unit).unwrap_or(f64::NAN);
                assert!((back - metres).abs() < off, "{metres} as {text:?}: {back}");
            }
        }
        assert_eq!(length_words(1.8288, LengthUnit::Feet), "6 ft 0 in");
    }
}
