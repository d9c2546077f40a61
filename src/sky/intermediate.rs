//! Between clear and overcast: the clear sky for a share of the time, the overcast one for the rest.
//!
//! Sky and sun are the weighted sums of standard sky 12 at a turbidity and standard sky 1 at its typical level
//! (illuminances in lx). A mean of many moments, of our own making: no single moment looks like it, since the sun is
//! either out or not.

use super::cie::cloudless_lx;
use super::daylight::Daylight;
use super::turbid::clamp_turbidity;
use super::{CieType, SkyLevel, cie};
use crate::sun::SunPosition;

/// Patterns and levels of the mix; the share of the clear sky is clamped to 0..=1.
pub(super) fn daylight(turbidity: f64, clear_fraction: f64, sun: &SunPosition) -> Daylight {
    let clear_share = clear_fraction.clamp(0.0, 1.0);
    let (direct_lx, clear_lx) = cloudless_lx(CieType::CLEAR, clamp_turbidity(turbidity), sun);
    let [(overcast, overcast_lx), _] =
        cie::daylight(CieType::OVERCAST, SkyLevel::Typical, sun).parts;
    Daylight {
        parts: [
            (CieType::CLEAR.pattern(), clear_share * clear_lx),
            (overcast, (1.0 - clear_share) * overcast_lx),
        ],
        direct_normal_illuminance_lx: clear_share * direct_lx,
    }
}
