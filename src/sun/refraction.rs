//! Refraction: how much higher the sun seems to stand than it does, from pressure and temperature.
//!
//! Source: I. Reda and A. Andreas, "Solar position algorithm for solar radiation applications", 2004, equation 42.
//! Limit: a mean atmosphere; the real bending at the horizon varies by several tenths of its value.

/// Half the sun's disc and the refraction at the horizon that rise and set are reckoned with [deg]; Reda and Andreas 2004.
pub(super) const HORIZON_DIP_DEG: f64 = 0.26667 + 0.5667;

/// Height in which the pressure falls by a factor e [m]; from memory.
const PRESSURE_SCALE_HEIGHT_M: f64 = 8434.5;

/// Pressure at sea level in the standard atmosphere [hPa]; ISO 2533:1975.
const SEA_LEVEL_PRESSURE_HPA: f64 = 1013.25;

/// The air that bends the light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Atmosphere {
    /// Pressure at the site, not reduced to sea level [hPa].
    pub pressure_hpa: f64,
    /// Air temperature [degC].
    pub temperature_c: f64,
}

impl Atmosphere {
    /// Mean air at a height above sea level [m]: an exponential fall of the standard pressure, 12 degC.
    #[must_use]
    pub fn at_elevation(elevation_m: f64) -> Self {
        Self {
            pressure_hpa: SEA_LEVEL_PRESSURE_HPA * (-elevation_m / PRESSURE_SCALE_HEIGHT_M).exp(),
            temperature_c: 12.0,
        }
    }

    /// Refraction [rad] of a light at a true elevation [rad]; 0 where the whole disc is below the horizon.
    #[must_use]
    pub fn refraction_rad(&self, true_elevation_rad: f64) -> f64 {
        let e0_deg = true_elevation_rad.to_degrees();
        if e0_deg < -HORIZON_DIP_DEG {
            return 0.0;
        }
        // Reda and Andreas 2004, eq. 42
        let lifted_rad = (e0_deg + 10.3 / (e0_deg + 5.11)).to_radians();
        let refraction_deg =
            (self.pressure_hpa / 1010.0) * (283.0 / (273.0 + self.temperature_c)) * 1.02
                / (60.0 * lifted_rad.tan());
        refraction_deg.to_radians()
    }
}

impl Default for Atmosphere {
    fn default() -> Self {
        Self::at_elevation(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: physics sheet C1.13, equation 42 at factor 1 (1010 mbar, 10 degC). Tolerance: the printed digits.
    #[test]
    fn refraction_at_factor_one_matches_the_list() {
        let air = Atmosphere {
            pressure_hpa: 1010.0,
            temperature_c: 10.0,
        };
        for (elevation_deg, refraction_deg) in [
            (0.0, 0.48303),
            (1.0, 0.36240),
            (5.0, 0.16124),
            (10.0, 0.09013),
            (30.0, 0.02910),
            (45.0, 0.01688),
        ] {
            let got_deg = air
                .refraction_rad(f64::to_radians(elevation_deg))
                .to_degrees();
            assert!(
                (got_deg - refraction_deg).abs() < 6e-6,
                "at {elevation_deg} deg got {got_deg} deg, expected {refraction_deg} deg"
            );
        }
    }
}
