//! Numbers for people: two or three significant digits, ranges and units, in one place.
//!
//! Files that machines read (CSV, JSON) do not come through here. English notation: full stop for decimals, comma
//! between thousands. A value that is not a number prints as "no value", an infinite one as "beyond measure".

use super::glare::UGR_LOWEST_REPORTED;

/// Text of a value that is not a number.
pub const NO_VALUE: &str = "no value";

/// Text of an infinite value.
pub const BEYOND: &str = "beyond measure";

/// `value` rounded to `digits` significant digits (1 to 15), never in powers of ten; from a million on with the word.
pub fn significant(value: f64, digits: usize) -> String {
    if value.is_nan() {
        return NO_VALUE.to_owned();
    }
    if value.is_infinite() {
        return BEYOND.to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let digits = digits.clamp(1, 15);
    // Rounding first: 999.7 with three digits is 1000, and its exponent is the rounded one's.
    let rounded_text = format!("{:.*e}", digits - 1, value);
    let rounded: f64 = rounded_text.parse().unwrap_or(value);
    let exponent: i32 = rounded_text
        .split_once('e')
        .and_then(|(_, exponent)| exponent.parse().ok())
        .unwrap_or(0);
    if exponent >= 6 {
        let decimals = decimals_for(digits, exponent - 6);
        return format!("{} million", grouped(rounded / 1e6, decimals));
    }
    grouped(rounded, decimals_for(digits, exponent))
}

/// Decimals that show `digits` significant digits of a number with a power of ten.
fn decimals_for(digits: usize, exponent: i32) -> usize {
    usize::try_from(digits as i32 - 1 - exponent).unwrap_or(0)
}

/// The number with fixed decimals and commas between thousands.
fn grouped(value: f64, decimals: usize) -> String {
    let text = format!("{:.*}", decimals, value.abs());
    let (whole, fraction) = match text.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (text.as_str(), None),
    };
    let mut out = String::with_capacity(text.len() + 4);
    if value < 0.0 {
        out.push('-');
    }
    for (place, digit) in whole.chars().enumerate() {
        // Four digits stand without a comma, as in a year.
        if place > 0 && whole.len() > 4 && (whole.len() - place).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    if let Some(fraction) = fraction {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

/// What a number counts, with its sign for people.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Illuminance, "lux".
    Lux,
    /// Luminance, "cd/m2".
    CandelaPerSquareMetre,
    /// Luminous flux, "lm".
    Lumen,
    /// Luminous intensity, "cd".
    Candela,
    /// Luminous exposure, "lux hours".
    LuxHour,
    /// Length, "m".
    Metre,
    /// Angle, "deg".
    Degree,
    /// Share, "%"; the value is a share of 1.
    Percent,
    /// Ratio to one, ":1".
    Ratio,
    /// Duration, "min".
    Minute,
    /// Duration, "h".
    Hour,
    /// Change per metre walked, "per m".
    PerMetre,
}

impl Unit {
    /// The sign that stands after the number, with its space.
    pub fn suffix(self) -> &'static str {
        match self {
            Self::Lux => " lux",
            Self::CandelaPerSquareMetre => " cd/m2",
            Self::Lumen => " lm",
            Self::Candela => " cd",
            Self::LuxHour => " lux hours",
            Self::Metre => " m",
            Self::Degree => " deg",
            Self::Percent => " %",
            Self::Ratio => ":1",
            Self::Minute => " min",
            Self::Hour => " h",
            Self::PerMetre => " per m",
        }
    }

    /// Significant digits that the unit is printed with.
    pub fn digits(self) -> usize {
        match self {
            Self::Percent | Self::Ratio | Self::PerMetre | Self::LuxHour => 2,
            Self::Lux | Self::CandelaPerSquareMetre | Self::Lumen | Self::Candela => 3,
            Self::Metre | Self::Degree | Self::Minute | Self::Hour => 3,
        }
    }

    fn number(self, value: f64) -> String {
        match self {
            Self::Percent => significant(value * 100.0, self.digits()),
            _ => significant(value, self.digits()),
        }
    }
}

/// `value` with its unit, such as "12.3 lux" or "3.2:1".
pub fn quantity(value: f64, unit: Unit) -> String {
    let number = unit.number(value);
    if value.is_finite() {
        number + unit.suffix()
    } else {
        number
    }
}

/// Illuminance [lx] for people.
pub fn lux(illuminance_lx: f64) -> String {
    quantity(illuminance_lx, Unit::Lux)
}

/// Luminance [cd/m2] for people.
pub fn luminance(luminance_cd_m2: f64) -> String {
    quantity(luminance_cd_m2, Unit::CandelaPerSquareMetre)
}

/// Ratio for people, such as "3.2:1".
pub fn ratio(value: f64) -> String {
    quantity(value, Unit::Ratio)
}

/// Share of 1 as a percentage.
pub fn percent(share: f64) -> String {
    quantity(share, Unit::Percent)
}

/// A range such as "12 to 18 lux", two significant digits; "about 12 lux" where both ends print alike.
pub fn range(low: f64, high: f64, unit: Unit) -> String {
    let (low, high) = if low <= high {
        (low, high)
    } else {
        (high, low)
    };
    if !low.is_finite() || !high.is_finite() {
        return format!("{} to {}", quantity(low, unit), quantity(high, unit));
    }
    let scale = if unit == Unit::Percent { 100.0 } else { 1.0 };
    let (from, to) = (significant(low * scale, 2), significant(high * scale, 2));
    if from == to {
        return format!("about {to}{}", unit.suffix());
    }
    // "1.2 million to 1.8 million" says the word once.
    let from = match (from.strip_suffix(" million"), to.ends_with(" million")) {
        (Some(number), true) => number.to_owned(),
        _ => from,
    };
    match unit {
        Unit::Ratio => format!("{from}:1 to {to}:1"),
        _ => format!("{from} to {to}{}", unit.suffix()),
    }
}

/// The range that a relative tolerance leaves around `value`, such as "80 to 120 cd/m2" for 100 and 0.2.
pub fn with_tolerance(value: f64, relative: f64, unit: Unit) -> String {
    let (low, high) = super::tolerance::range_of(value, relative);
    range(low, high, unit)
}

/// UGR for people: one decimal, "<10" below ten.
pub fn ugr(value: f64) -> String {
    if value.is_nan() {
        NO_VALUE.to_owned()
    } else if value < UGR_LOWEST_REPORTED {
        "<10".to_owned()
    } else {
        format!("{value:.1}")
    }
}

/// DGP for people: two decimals.
pub fn dgp(value: f64) -> String {
    if value.is_nan() {
        NO_VALUE.to_owned()
    } else {
        format!("{value:.2}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn significant_digits_round_and_pad() {
        for (value, digits, expected) in [
            (0.0, 3, "0"),
            (-0.0, 3, "0"),
            (12.345, 3, "12.3"),
            (12.0, 3, "12.0"),
            (999.7, 3, "1000"),
            (0.012_345, 2, "0.012"),
            (0.099_96, 3, "0.100"),
            (1234.0, 2, "1200"),
            (12_345.0, 3, "12,300"),
            (987_654.0, 3, "988,000"),
            (999_950.0, 3, "1.00 million"),
            (1.471e9, 3, "1470 million"),
            (1.234e6, 2, "1.2 million"),
            (-45.67, 2, "-46"),
            (1.5, 1, "2"),
            (f64::NAN, 2, "no value"),
            (f64::INFINITY, 2, "beyond measure"),
        ] {
            assert_eq!(
                significant(value, digits),
                expected,
                "{value} with {digits} digits"
            );
        }
    }

    #[test]
    fn units_stand_after_their_numbers() {
        assert_eq!(lux(123.4), "123 lux");
        assert_eq!(luminance(0.256), "0.256 cd/m2");
        assert_eq!(ratio(3.21), "3.2:1");
        assert_eq!(percent(0.056), "5.6 %");
        assert_eq!(percent(1.0), "100 %");
        assert_eq!(quantity(480_000.0, Unit::LuxHour), "480,000 lux hours");
        assert_eq!(quantity(0.5, Unit::Metre), "0.500 m");
        assert_eq!(lux(f64::NAN), "no value");
    }

    #[test]
    fn ranges_read_as_sentences() {
        assert_eq!(range(12.1, 17.9, Unit::Lux), "12 to 18 lux");
        assert_eq!(range(17.9, 12.1, Unit::Lux), "12 to 18 lux");
        assert_eq!(range(12.1, 12.2, Unit::Lux), "about 12 lux");
        assert_eq!(range(2.0, 3.5, Unit::Ratio), "2.0:1 to 3.5:1");
        assert_eq!(range(0.1, 0.25, Unit::Percent), "10 to 25 %");
        assert_eq!(
            range(1.2e6, 1.8e6, Unit::LuxHour),
            "1.2 to 1.8 million lux hours"
        );
        assert_eq!(
            with_tolerance(100.0, 0.2, Unit::CandelaPerSquareMetre),
            "80 to 120 cd/m2"
        );
        assert_eq!(
            range(1.0, f64::INFINITY, Unit::Ratio),
            "1.0:1 to beyond measure"
        );
    }

    #[test]
    fn glare_indices_have_their_own_digits() {
        assert_eq!(ugr(9.99), "<10");
        assert_eq!(ugr(21.96), "22.0");
        assert_eq!(dgp(0.2971), "0.30");
        assert_eq!(ugr(f64::NAN), "no value");
    }
}
