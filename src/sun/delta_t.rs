//! Delta T: terrestrial time minus universal time [s], by year.
//!
//! Source: F. Espenak and J. Meeus, "Five millennium canon of solar eclipses", NASA/TP-2006-214141, 2006, polynomial
//! expressions (from memory). Limit: a prediction after 2005, some 4 s too large by 2025; 5 s move the sun by 0.0001 deg.

use jiff::Timestamp;

/// Seconds in the mean Gregorian year.
const SECONDS_PER_YEAR: f64 = 365.2425 * 86_400.0;

/// Delta T [s] at an instant.
#[must_use]
pub fn delta_t_s(instant: Timestamp) -> f64 {
    delta_t_of_year_s(1970.0 + instant.as_second() as f64 / SECONDS_PER_YEAR)
}

/// Delta T [s] for a decimal year.
#[must_use]
pub fn delta_t_of_year_s(year: f64) -> f64 {
    // Espenak and Meeus 2006, by era; coefficients by rising power
    let polynomial = |t: f64, coefficients: &[f64]| {
        coefficients
            .iter()
            .rev()
            .fold(0.0, |sum, coefficient| sum * t + coefficient)
    };
    let parabola = -20.0 + 32.0 * ((year - 1820.0) / 100.0).powi(2);
    match year {
        y if y < 1900.0 => parabola,
        y if y < 1920.0 => polynomial(
            y - 1900.0,
            &[-2.79, 1.494_119, -0.059_893_9, 0.006_196_6, -0.000_197],
        ),
        y if y < 1941.0 => polynomial(y - 1920.0, &[21.20, 0.844_93, -0.076_100, 0.002_093_6]),
        y if y < 1961.0 => polynomial(y - 1950.0, &[29.07, 0.407, -1.0 / 233.0, 1.0 / 2547.0]),
        y if y < 1986.0 => polynomial(y - 1975.0, &[45.45, 1.067, -1.0 / 260.0, -1.0 / 718.0]),
        y if y < 2005.0 => polynomial(
            y - 2000.0,
            &[
                63.86,
                0.3345,
                -0.060_374,
                0.001_727_5,
                0.000_651_814,
                0.000_023_735_99,
            ],
        ),
        y if y < 2050.0 => polynomial(y - 2000.0, &[62.92, 0.322_17, 0.005_589]),
        y if y < 2150.0 => parabola - 0.5628 * (2150.0 - y),
        _ => parabola,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Eras meet within 1.5 s from 1920 on: a mistyped coefficient would open a gap of many seconds.
    #[test]
    fn eras_join() {
        for year in [1920.0, 1941.0, 1961.0, 1986.0, 2005.0, 2050.0, 2150.0] {
            let before_s = delta_t_of_year_s(year - 1e-6);
            let after_s = delta_t_of_year_s(year);
            assert!(
                (before_s - after_s).abs() < 1.5,
                "at {year}: {before_s} s before, {after_s} s after"
            );
        }
    }
}
