//! Cloudless sky: a standard type with its sun, at a luminous turbidity.
//!
//! Diffuse light: zenith luminance from turbidity (S. Darula and R. Kittler, "CIE general sky standard defining luminance
//! distributions", 2002, eq. 13) times the integral of the pattern; direct light: eq. 15 to 17. Illuminances in lx.
//! The luminous turbidity is not the Linke factor of a solar-energy map, which is a little larger in clear weather.

use super::CieType;
use super::cie::cloudless_lx;
use super::daylight::Daylight;
use crate::sun::SunPosition;

/// Pattern and level of a cloudless standard type (7 to 15) at a turbidity, clamped to 1..=12.
pub(super) fn daylight(kind: CieType, turbidity: f64, sun: &SunPosition) -> Daylight {
    let (direct_lx, diffuse_lx) = cloudless_lx(kind, clamp_turbidity(turbidity), sun);
    Daylight::of_one(kind.pattern(), diffuse_lx, direct_lx)
}

/// 1 is the cleanest air there can be; above 12 the zenith formula is not fitted.
pub(super) fn clamp_turbidity(turbidity: f64) -> f64 {
    turbidity.clamp(1.0, 12.0)
}
