//! A short formula for the sun's elevation, within 0.01 deg of the full algorithm between 2000 and 2060.
//!
//! For scans of many instants (hours of a year with the sun up); everything shown to a person uses [`super::spa`].
//! Source: J. Meeus, "Astronomical algorithms", 2nd ed. 1998, chapters 12, 22 and 25 (low accuracy).

use super::Site;

/// The sun by the short formula.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CompactSun {
    /// True (unrefracted) elevation [rad].
    pub true_elevation_rad: f64,
    /// Azimuth clockwise from true north [rad], 0..2 pi.
    pub azimuth_rad: f64,
    /// Declination [rad].
    pub declination_rad: f64,
    /// Distance from the Earth [au].
    pub distance_au: f64,
}

/// The sun at a Unix time [s] with delta T [s].
#[must_use]
pub fn compact_sun(unix_s: f64, site: &Site, delta_t_s: f64) -> CompactSun {
    let days = unix_s / 86_400.0 + 2_440_587.5 - 2_451_545.0;
    let t = (days + delta_t_s / 86_400.0) / 36_525.0;
    // Meeus 1998, chapter 25
    let mean_longitude = (280.466_46 + 36_000.769_83 * t + 0.000_303_2 * t * t).to_radians();
    let anomaly = (357.529_11 + 35_999.050_29 * t - 0.000_153_7 * t * t).to_radians();
    let centre = ((1.914_602 - 0.004_817 * t - 0.000_014 * t * t) * anomaly.sin()
        + (0.019_993 - 0.000_101 * t) * (2.0 * anomaly).sin()
        + 0.000_289 * (3.0 * anomaly).sin())
    .to_radians();
    let node = (125.04 - 1_934.136 * t).to_radians();
    let lambda = mean_longitude + centre - (0.005_69 + 0.004_78 * node.sin()).to_radians();
    let obliquity = (23.439_291 - 0.013_004_2 * t + 0.002_56 * node.cos()).to_radians();
    let declination_rad = (obliquity.sin() * lambda.sin()).asin();
    let right_ascension = (obliquity.cos() * lambda.sin()).atan2(lambda.cos());
    // chapter 12
    let tu = days / 36_525.0;
    let sidereal = (280.460_618_37 + 360.985_647_366_29 * days + 0.000_387_933 * tu * tu
        - 0.004_78 * node.sin() * obliquity.cos())
    .to_radians();
    let (sin_h, cos_h) = (sidereal + site.longitude_rad - right_ascension).sin_cos();
    let (sin_phi, cos_phi) = site.latitude_rad.sin_cos();
    let geocentric = (sin_phi * declination_rad.sin() + cos_phi * declination_rad.cos() * cos_h)
        .clamp(-1.0, 1.0)
        .asin();
    let eccentricity = 0.016_708_634 - 0.000_042_037 * t;
    CompactSun {
        true_elevation_rad: geocentric - (8.794_f64 / 3600.0).to_radians() * geocentric.cos(),
        azimuth_rad: (sin_h.atan2(cos_h * sin_phi - declination_rad.tan() * cos_phi)
            + std::f64::consts::PI)
            .rem_euclid(std::f64::consts::TAU),
        declination_rad,
        distance_au: 1.000_001_018 * (1.0 - eccentricity * eccentricity)
            / (1.0 + eccentricity * (anomaly + centre).cos()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: physics sheet C1.1 (2003-10-17 19:30:30 UT, delta T 67 s). Tolerance: the printed digits.
    #[test]
    fn compact_sun_matches_its_worked_example() {
        let site = Site::from_degrees(39.742476, -105.1786, 0.0, 0.0);
        let sun = compact_sun(1_066_419_030.0, &site, 67.0);
        let got =
            [sun.true_elevation_rad, sun.azimuth_rad, sun.declination_rad].map(f64::to_degrees);
        for (got_deg, expected_deg) in got.into_iter().zip([39.87110, 194.33469, -9.31609]) {
            assert!(
                (got_deg - expected_deg).abs() < 1.5e-5,
                "got {got_deg} deg, expected {expected_deg} deg"
            );
        }
    }
}
