//! The sun: where it stands at an instant, when it rises and sets, and civil time.
//!
//! Inputs are an instant and a [`Site`]; outputs are angles in radians (f64), azimuth clockwise from true north, elevation
//! up from the horizon, and a unit direction in world space (+Y up, world -Z at the site's bearing).
//! Method: the NREL solar position algorithm (I. Reda and A. Andreas, Solar Energy 76(5), 2004) in full, [`spa`];
//! a shorter formula, [`compact`], for scans of thousands of hours.
//! Limits: a flat sea-level horizon; refraction of a standard atmosphere, which fails for real air within a degree of it.

pub mod civil;
pub mod compact;
pub mod day_light;
pub mod delta_t;
pub mod refraction;
pub mod spa;
mod spa_terms;

use glam::Vec3;

pub use civil::{TimeError, parse_local, resolve, time_zone};
pub use day_light::{DayLight, day_light, transit};
pub use refraction::Atmosphere;
pub use spa::{solar_time_h, sun_position, sun_position_with_delta_t};

/// A place on Earth and how the room's plan is turned there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Site {
    /// Latitude, north positive [rad], -pi/2..=pi/2.
    pub latitude_rad: f64,
    /// Longitude, EAST positive [rad].
    pub longitude_rad: f64,
    /// Height above sea level [m].
    pub elevation_m: f64,
    /// True bearing of world -Z (plan +y), clockwise from true north [rad].
    pub bearing_rad: f64,
}

impl Site {
    /// A site from degrees as they stand in files: latitude north positive, longitude east positive, bearing of plan +y.
    #[must_use]
    pub fn from_degrees(
        latitude_deg: f64,
        longitude_deg: f64,
        elevation_m: f64,
        bearing_deg: f64,
    ) -> Self {
        Self {
            latitude_rad: latitude_deg.to_radians(),
            longitude_rad: longitude_deg.to_radians(),
            elevation_m,
            bearing_rad: bearing_deg.to_radians(),
        }
    }
}

/// Where the sun stands, seen from a place on the ground (topocentric).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunPosition {
    /// Azimuth clockwise from true north [rad], 0..2 pi.
    pub azimuth_rad: f64,
    /// Elevation of the centre of the disc without refraction [rad].
    pub true_elevation_rad: f64,
    /// Elevation of the centre of the disc with refraction [rad]; equals the true one well below the horizon.
    pub apparent_elevation_rad: f64,
    /// Distance from the Earth [au].
    pub distance_au: f64,
    /// Equation of time, apparent minus mean solar time [min], within +-20.
    pub equation_of_time_min: f64,
    /// Geocentric declination [rad].
    pub declination_rad: f64,
}

impl SunPosition {
    /// Unit direction from the scene to the sun's apparent place in world space, for a `bearing_rad` of world -Z.
    #[must_use]
    pub fn to_sun_dir(&self, bearing_rad: f64) -> Vec3 {
        world_direction(self.azimuth_rad, self.apparent_elevation_rad, bearing_rad)
    }
}

/// Unit direction in world space of an azimuth (clockwise from true north) and an elevation [rad], for the true bearing
/// of world -Z [rad]. With a = azimuth - bearing and h = elevation: (sin a cos h, sin h, -cos a cos h).
#[must_use]
pub fn world_direction(azimuth_rad: f64, elevation_rad: f64, bearing_rad: f64) -> Vec3 {
    let (sin_a, cos_a) = (azimuth_rad - bearing_rad).sin_cos();
    let (sin_h, cos_h) = elevation_rad.sin_cos();
    glam::DVec3::new(sin_a * cos_h, sin_h, -cos_a * cos_h).as_vec3()
}

#[cfg(test)]
mod tests {
    use std::f32::consts::FRAC_1_SQRT_2;

    use super::*;

    /// Source: physics sheet C1.14 (plan x, plan y, height), which become world (x, height, -plan y).
    #[test]
    fn plan_directions_become_world_directions() {
        for (az, alt, bearing, plan) in [
            (180.0, 45.0, 0.0, [0.0, -FRAC_1_SQRT_2, FRAC_1_SQRT_2]),
            (90.0, 0.0, 0.0, [1.0, 0.0, 0.0]),
            (180.0, 45.0, 30.0, [0.35355, -0.61237, FRAC_1_SQRT_2]),
            (194.34024, 39.88838, 0.0, [-0.19004, -0.74339, 0.64129]),
            (194.34024, 39.88838, 25.0, [0.14193, -0.75405, 0.64129]),
        ] {
            let dir = world_direction(
                f64::to_radians(az),
                f64::to_radians(alt),
                f64::to_radians(bearing),
            );
            let expected = Vec3::new(plan[0], plan[2], -plan[1]);
            assert!(
                (dir - expected).length() < 1.5e-5,
                "direction {dir} expected {expected}"
            );
        }
    }
}
