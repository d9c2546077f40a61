//! Traditional overcast sky, three times as bright at the zenith as at the horizon.
//!
//! Pattern: P. Moon and D. Spencer, "Illumination from a non-uniform sky", 1942; kept in ISO 15469:2004. Typical level:
//! the horizontal illuminance of an overcast sky, "Recommended practice for the calculation of daylight availability",
//! J. IES 13(4), 1984: 0.3 + 21 sin h klx (coefficients from memory), half as much again as the typical standard sky 1.

use super::daylight::{Daylight, pattern_elevation_rad, twilight};
use super::{Pattern, SkyLevel};
use crate::sun::SunPosition;

/// Pattern and level of the traditional overcast sky; no sun unless the level states one.
pub(super) fn daylight(level: SkyLevel, sun: &SunPosition) -> Daylight {
    match level {
        SkyLevel::Typical => Daylight::of_one(
            Pattern::Traditional,
            overcast_horizontal_lx(pattern_elevation_rad(sun)) * twilight(sun),
            0.0,
        ),
        SkyLevel::DiffuseHorizontal { .. } | SkyLevel::Zenith { .. } => {
            Daylight::at_level(Pattern::Traditional, level, sun)
        }
    }
}

/// Horizontal illuminance of an overcast sky [lx] at a solar elevation [rad]; IES 1984 (from memory).
#[must_use]
pub fn overcast_horizontal_lx(sun_elevation_rad: f64) -> f64 {
    300.0 + 21_000.0 * sun_elevation_rad.sin()
}
