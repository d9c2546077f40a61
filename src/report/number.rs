//! Numbers, clock times and distances as people read them.
//!
//! Two or three digits (the world is not known better), a thin space between thousands, a true minus.

/// A value with three digits at most: `0.034`, `1.25`, `36`, `12 000`.
pub fn value(value: f32) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let value = f64::from(value);
    let exponent = value.abs().log10().floor() as i32;
    let decimals = (2 - exponent).max(0) as usize;
    let unit = 10_f64.powi((exponent - 2).max(0));
    let rounded = if exponent >= 2 {
        (value.abs() / unit).round() * unit
    } else {
        value.abs()
    };
    let text = format!("{rounded:.*}", decimals.min(9));
    let text = match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => &text,
    };
    let sign = if value < 0.0 { "−" } else { "" };
    format!("{sign}{}", grouped(text))
}

/// A value with two digits at most.
pub fn short(number: f32) -> String {
    if !number.is_finite() || number == 0.0 {
        return value(number);
    }
    let unit = 10_f64.powi(f64::from(number.abs()).log10().floor() as i32 - 1);
    value(((f64::from(number) / unit).round() * unit) as f32)
}

/// A count with a thin space between thousands.
pub fn count(number: usize) -> String {
    grouped(&number.to_string())
}

/// Clock time `09:05` from minutes of the day; other days wrap round.
pub fn clock(minutes: f32) -> String {
    if !minutes.is_finite() {
        return "–".to_owned();
    }
    let whole = (minutes.round() as i64).rem_euclid(24 * 60);
    format!("{:02}:{:02}", whole / 60, whole % 60)
}

/// Thin spaces between thousands of the whole part, from 10 000 on.
fn grouped(text: &str) -> String {
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    if whole.len() < 5 {
        return text.to_owned();
    }
    let mut out = String::new();
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index).is_multiple_of(3) {
            out.push('\u{2009}');
        }
        out.push(digit);
    }
    out + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_have_three_digits() {
        let cases = [
            (0.034_26, "0.0343"),
            (1.254, "1.25"),
            (1.0, "1"),
            (36.04, "36"),
            (99.96, "100"),
            (123.4, "123"),
            (1234.0, "1230"),
            (12_345.0, "12\u{2009}300"),
            (-2.5, "−2.5"),
            (0.0, "0"),
            (f32::NAN, "–"),
        ];
        for (number, text) in cases {
            assert_eq!(value(number), text, "{number}");
        }
        assert_eq!(short(0.127), "0.13");
        assert_eq!(short(1.27), "1.3");
        assert_eq!(count(12_345), "12\u{2009}345");
    }

    #[test]
    fn clock_times_wrap_round_midnight() {
        assert_eq!(clock(545.0), "09:05");
        assert_eq!(clock(1440.0), "00:00");
        assert_eq!(clock(-1.0), "23:59");
        assert_eq!(clock(59.6), "01:00");
    }
}
