//! The NREL solar position algorithm: the sun's direction at an instant to 0.0003 deg.
//!
//! Inputs: an instant, a site [rad, m], the air, and delta T [s]. Output: [`SunPosition`] [rad, au, min].
//! Source of every equation: I. Reda and A. Andreas, "Solar position algorithm for solar radiation applications",
//! Solar Energy 76(5), 577-589, 2004 (report NREL/TP-560-34302, revised 2008). Valid for the years -2000 to 6000.

use std::f64::consts::TAU;

use jiff::Timestamp;

use super::spa_terms::{LATITUDE, LONGITUDE, NUTATION, RADIUS, Term};
use super::{Atmosphere, Site, SunPosition, delta_t};

/// Julian day of 2000-01-01 12:00.
const J2000_DAY: f64 = 2_451_545.0;

/// Unix time of 2000-01-01 12:00 UT [s].
const J2000_UNIX_S: f64 = 946_728_000.0;

/// Polar over equatorial radius of the Earth; section 3.12.2.
const EARTH_AXIS_RATIO: f64 = 0.996_647_19;

/// Equatorial radius of the Earth [m]; section 3.12.3.
const EARTH_RADIUS_M: f64 = 6_378_140.0;

/// The sun seen from the Earth's centre: the steps of the algorithm that do not depend on the place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Geocentric {
    /// Julian day, UT.
    pub julian_day: f64,
    /// Earth's heliocentric longitude L [rad], 0..2 pi.
    pub heliocentric_longitude_rad: f64,
    /// Earth's heliocentric latitude B [rad].
    pub heliocentric_latitude_rad: f64,
    /// Radius vector R [au].
    pub distance_au: f64,
    /// Nutation in longitude [rad].
    pub nutation_longitude_rad: f64,
    /// Nutation in obliquity [rad].
    pub nutation_obliquity_rad: f64,
    /// True obliquity of the ecliptic [rad].
    pub obliquity_rad: f64,
    /// Apparent longitude of the sun [rad], 0..2 pi.
    pub apparent_longitude_rad: f64,
    /// Geocentric right ascension [rad], 0..2 pi.
    pub right_ascension_rad: f64,
    /// Geocentric declination [rad].
    pub declination_rad: f64,
    /// Apparent sidereal time at Greenwich [rad], 0..2 pi.
    pub sidereal_time_rad: f64,
    /// Equation of time, apparent minus mean [min].
    pub equation_of_time_min: f64,
}

impl Geocentric {
    /// The sun from the Earth's centre at an instant, with delta T [s]; Reda and Andreas 2004, sections 3.1 to 3.10.
    #[must_use]
    pub fn new(instant: Timestamp, delta_t_s: f64) -> Self {
        let unix_s = unix_seconds(instant);
        let days = (unix_s - J2000_UNIX_S) / 86_400.0;
        let jc = days / 36_525.0;
        let jce = (days + delta_t_s / 86_400.0) / 36_525.0;
        let jme = jce / 10.0;

        // 3.2: heliocentric position
        let longitude = (series(LONGITUDE, jme) / 1e8).rem_euclid(TAU);
        let latitude = series(LATITUDE, jme) / 1e8;
        let distance_au = series(RADIUS, jme) / 1e8;

        // 3.4 and 3.5: nutation and obliquity
        let (nutation_longitude, nutation_obliquity) = nutation_rad(jce);
        let obliquity = mean_obliquity_rad(jme / 10.0) + nutation_obliquity;

        // 3.3, 3.6, 3.7: geocentric longitude, aberration, apparent longitude
        let aberration = (-20.4898 / (3600.0 * distance_au)).to_radians();
        let apparent_longitude =
            (longitude + std::f64::consts::PI + nutation_longitude + aberration).rem_euclid(TAU);

        // 3.8: sidereal time
        let mean_sidereal_deg = 280.460_618_37
            + 360.985_647_366_29 * days
            + jc * jc * (0.000_387_933 - jc / 38_710_000.0);
        let sidereal_shift = nutation_longitude * obliquity.cos();
        let sidereal_time = (mean_sidereal_deg.to_radians() + sidereal_shift).rem_euclid(TAU);

        // 3.9 and 3.10: right ascension and declination, with beta = -B
        let beta = -latitude;
        let (sin_lambda, cos_lambda) = apparent_longitude.sin_cos();
        let (sin_eps, cos_eps) = obliquity.sin_cos();
        let right_ascension = (sin_lambda * cos_eps - beta.tan() * sin_eps)
            .atan2(cos_lambda)
            .rem_euclid(TAU);
        let declination = (beta.sin() * cos_eps + beta.cos() * sin_eps * sin_lambda).asin();

        // A.1: equation of time; M is the sun's mean longitude [deg], reduced to the turn nearest zero
        let mean_longitude_deg = 280.466_456_7
            + jme
                * (360_007.698_277_9
                    + jme
                        * (0.030_320_28
                            + jme
                                * (1.0 / 49_931.0 + jme * (-1.0 / 15_300.0 - jme / 2_000_000.0))));
        let difference_deg = mean_longitude_deg - 0.005_718_3 - right_ascension.to_degrees()
            + sidereal_shift.to_degrees();
        let equation_of_time_min =
            4.0 * (difference_deg - 360.0 * (difference_deg / 360.0).round());

        Self {
            julian_day: J2000_DAY + days,
            heliocentric_longitude_rad: longitude,
            heliocentric_latitude_rad: latitude,
            distance_au,
            nutation_longitude_rad: nutation_longitude,
            nutation_obliquity_rad: nutation_obliquity,
            obliquity_rad: obliquity,
            apparent_longitude_rad: apparent_longitude,
            right_ascension_rad: right_ascension,
            declination_rad: declination,
            sidereal_time_rad: sidereal_time,
            equation_of_time_min,
        }
    }

    /// Hour angle of the sun at a longitude (east positive) [rad], -pi..pi, positive after noon; section 3.11.
    #[must_use]
    pub fn hour_angle_rad(&self, longitude_rad: f64) -> f64 {
        let angle =
            (self.sidereal_time_rad + longitude_rad - self.right_ascension_rad).rem_euclid(TAU);
        if angle > std::f64::consts::PI {
            angle - TAU
        } else {
            angle
        }
    }

    /// Azimuth, clockwise from north 0..2 pi, and true elevation [rad] of the sun at a site; sections 3.12 to 3.15.
    #[must_use]
    pub fn topocentric_rad(&self, site: &Site) -> (f64, f64) {
        let hour_angle = self.hour_angle_rad(site.longitude_rad);
        let (sin_phi, cos_phi) = site.latitude_rad.sin_cos();
        let height = site.elevation_m / EARTH_RADIUS_M;

        // 3.12: parallax in right ascension and declination
        let sin_xi = (8.794 / (3600.0 * self.distance_au)).to_radians().sin();
        let u = (EARTH_AXIS_RATIO * site.latitude_rad.tan()).atan();
        let x = u.cos() + height * cos_phi;
        let y = EARTH_AXIS_RATIO * u.sin() + height * sin_phi;
        let (sin_delta, cos_delta) = self.declination_rad.sin_cos();
        let side = cos_delta - x * sin_xi * hour_angle.cos();
        let parallax = (-x * sin_xi * hour_angle.sin()).atan2(side);
        let declination = ((sin_delta - y * sin_xi) * parallax.cos()).atan2(side);

        // 3.13 to 3.15: local hour angle, elevation without refraction, azimuth
        let (sin_h, cos_h) = (hour_angle - parallax).sin_cos();
        let elevation = (sin_phi * declination.sin() + cos_phi * declination.cos() * cos_h)
            .clamp(-1.0, 1.0)
            .asin();
        let azimuth = (sin_h.atan2(cos_h * sin_phi - declination.tan() * cos_phi)
            + std::f64::consts::PI)
            .rem_euclid(TAU);
        (azimuth, elevation)
    }
}

/// The sun at an instant, with delta T by [`delta_t::delta_t_s`].
#[must_use]
pub fn sun_position(instant: Timestamp, site: &Site, atmosphere: Atmosphere) -> SunPosition {
    sun_position_with_delta_t(instant, site, atmosphere, delta_t::delta_t_s(instant))
}

/// The sun at an instant, with a given delta T [s].
#[must_use]
pub fn sun_position_with_delta_t(
    instant: Timestamp,
    site: &Site,
    atmosphere: Atmosphere,
    delta_t_s: f64,
) -> SunPosition {
    let geocentric = Geocentric::new(instant, delta_t_s);
    let (azimuth_rad, true_elevation_rad) = geocentric.topocentric_rad(site);
    SunPosition {
        azimuth_rad,
        true_elevation_rad,
        apparent_elevation_rad: true_elevation_rad + atmosphere.refraction_rad(true_elevation_rad),
        distance_au: geocentric.distance_au,
        equation_of_time_min: geocentric.equation_of_time_min,
        declination_rad: geocentric.declination_rad,
    }
}

/// Apparent solar time at a site [h], 0..24: 12 when the sun crosses the meridian. Mean solar time plus the equation of time.
#[must_use]
pub fn solar_time_h(instant: Timestamp, site: &Site) -> f64 {
    let geocentric = Geocentric::new(instant, delta_t::delta_t_s(instant));
    (12.0 + geocentric.hour_angle_rad(site.longitude_rad) * 24.0 / TAU).rem_euclid(24.0)
}

/// Seconds since 1970-01-01 UT.
pub(super) fn unix_seconds(instant: Timestamp) -> f64 {
    instant.as_nanosecond() as f64 / 1e9
}

/// Sum over powers of t of the sums A cos(B + C t); equations 9 and 10.
fn series(tables: &[&[Term]], t: f64) -> f64 {
    tables.iter().rev().fold(0.0, |sum, terms| {
        let inner: f64 = terms.iter().map(|[a, b, c]| a * (b + c * t).cos()).sum();
        sum * t + inner
    })
}

/// Nutation in longitude and in obliquity [rad] at a Julian ephemeris century; section 3.4.
fn nutation_rad(jce: f64) -> (f64, f64) {
    let cubic_deg = |c0: f64, c1: f64, c2: f64, c3: f64| {
        (c0 + jce * (c1 + jce * (c2 + jce * c3)))
            .rem_euclid(360.0)
            .to_radians()
    };
    // equations 15 to 19
    let arguments = [
        cubic_deg(297.850_36, 445_267.111_480, -0.001_914_2, 1.0 / 189_474.0),
        cubic_deg(357.527_72, 35_999.050_340, -0.000_160_3, -1.0 / 300_000.0),
        cubic_deg(134.962_98, 477_198.867_398, 0.008_697_2, 1.0 / 56_250.0),
        cubic_deg(93.271_91, 483_202.017_538, -0.003_682_5, 1.0 / 327_270.0),
        cubic_deg(125.044_52, -1_934.136_261, 0.002_070_8, 1.0 / 450_000.0),
    ];
    let (mut longitude, mut obliquity) = (0.0, 0.0);
    for [y0, y1, y2, y3, y4, a, b, c, d] in NUTATION {
        let angle: f64 = arguments
            .iter()
            .zip([y0, y1, y2, y3, y4])
            .map(|(x, y)| x * y)
            .sum();
        longitude += (a + b * jce) * angle.sin();
        obliquity += (c + d * jce) * angle.cos();
    }
    // equations 20 to 22: units of 1/36e6 deg
    (
        (longitude / 36e6).to_radians(),
        (obliquity / 36e6).to_radians(),
    )
}

/// Mean obliquity of the ecliptic [rad], u in units of 10 000 Julian years; equation 24.
fn mean_obliquity_rad(u: f64) -> f64 {
    const ARCSEC: [f64; 11] = [
        84_381.448, -4_680.93, -1.55, 1_999.25, -51.38, -249.67, -39.05, 7.12, 27.87, 5.79, 2.45,
    ];
    let arcsec = ARCSEC.iter().rev().fold(0.0, |sum, c| sum * u + c);
    (arcsec / 3600.0).to_radians()
}
