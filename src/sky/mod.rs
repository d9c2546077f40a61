//! Sky models: the luminance of the sky in every direction, the light of the sun, and the ground below the horizon.
//!
//! Input: a [`SkyModel`] that the user chose, a sun position and a site. Output: a [`SkyState`] with luminances [cd/m2] by
//! world direction or by cell of a [`SkyGrid`], the sun's normal illuminance [lx] and the diffuse horizontal illuminance
//! [lx]. Every pattern is normalised by integrating it over the hemisphere, so that its horizontal illuminance is the one
//! asked for. Limits: no cloud edges and no rainbow; skies are means of many real ones, and a real hour may differ by a
//! factor of two. Sources: ISO 15469:2004 (CIE S 011/E:2003), S. Darula and R. Kittler 2002, R. Perez et al. 1990 and 1993,
//! P. R. Tregenza 1987; each at its formula.

pub mod all_weather;
pub mod cie;
pub mod daylight;
pub mod grid;
mod hemisphere;
pub mod intermediate;
pub mod overcast;
pub mod pattern;
mod perez_tables;
pub mod state;
pub mod turbid;

pub use all_weather::SkyCondition;
pub use cie::CieType;
pub use grid::SkyGrid;
pub use pattern::{Graded, Pattern};
pub use state::SkyState;

use crate::sun::SunPosition;

/// Names of the skies that a study can take; see [`SkyModel::named`].
pub const SKY_NAMES: [&str; 4] = ["clear", "overcast", "intermediate", "hazy"];

/// How bright a sky of known pattern is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SkyLevel {
    /// What the publications call typical for the type at this solar elevation, its direct sun included.
    Typical,
    /// A diffuse horizontal illuminance and a direct normal one, whatever the sun's height (none of the latter once the sun
    /// is down).
    DiffuseHorizontal {
        /// Illuminance on a horizontal plane from the sky alone [lx].
        diffuse_horizontal_illuminance_lx: f64,
        /// Illuminance on a plane facing the sun, from the sun alone [lx].
        direct_normal_illuminance_lx: f64,
    },
    /// A zenith luminance and a direct normal illuminance, whatever the sun's height.
    Zenith {
        /// Luminance at the zenith [cd/m2].
        zenith_luminance_cd_m2: f64,
        /// Illuminance on a plane facing the sun, from the sun alone [lx].
        direct_normal_illuminance_lx: f64,
    },
}

/// The sky that the user chose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SkyModel {
    /// One of the fifteen standard skies of ISO 15469:2004.
    CieStandard {
        /// Which of the fifteen.
        kind: CieType,
        /// How bright.
        level: SkyLevel,
    },
    /// The traditional overcast sky, (1 + 2 sin h)/3 of the zenith's luminance.
    TraditionalOvercast {
        /// How bright.
        level: SkyLevel,
    },
    /// Cloudless: standard sky 12 with sun, at a luminous turbidity (2 very clean air, 3 rural, 4 to 5 city).
    ClearTurbid {
        /// Luminous turbidity factor, 1..=12; clamped.
        turbidity: f64,
    },
    /// Cloudless and polluted: standard sky 13 with sun, at a luminous turbidity.
    Hazy {
        /// Luminous turbidity factor, 1..=12; clamped.
        turbidity: f64,
    },
    /// Between clear and overcast: a share of the clear sky and the rest of the overcast one.
    Intermediate {
        /// Luminous turbidity factor of the clear part, 1..=12; clamped.
        turbidity: f64,
        /// Share of the clear sky, 0..=1; clamped.
        clear_fraction: f64,
    },
    /// From an hour of a weather file.
    AllWeather {
        /// Direct normal irradiance [W/m2].
        direct_normal_w_m2: f64,
        /// Diffuse horizontal irradiance [W/m2].
        diffuse_horizontal_w_m2: f64,
        /// Dew point at the ground [degC].
        dew_point_c: f64,
    },
}

impl SkyModel {
    /// The sky of a name of [`SKY_NAMES`] at a site's luminous turbidity; a hazy sky has half as much
    /// turbidity again.
    #[must_use]
    pub fn named(name: &str, turbidity: f64) -> Option<Self> {
        match name {
            "clear" => Some(Self::ClearTurbid { turbidity }),
            "overcast" => Some(Self::overcast()),
            "intermediate" => Some(Self::Intermediate {
                turbidity,
                clear_fraction: 0.5,
            }),
            "hazy" => Some(Self::Hazy {
                turbidity: 1.5 * turbidity,
            }),
            _ => None,
        }
    }

    /// The default clear sky: standard sky 12 at turbidity 3 (rural clear air), with sun.
    #[must_use]
    pub fn clear() -> Self {
        Self::ClearTurbid { turbidity: 3.0 }
    }

    /// The default overcast sky: standard sky 1 at its typical level, a tenth of the light outside the air; no sun.
    /// A bright thin overcast has half as much again (see [`overcast`]).
    #[must_use]
    pub fn overcast() -> Self {
        Self::CieStandard {
            kind: CieType::OVERCAST,
            level: SkyLevel::Typical,
        }
    }

    /// Half clear, half overcast, at turbidity 4.
    #[must_use]
    pub fn intermediate() -> Self {
        Self::Intermediate {
            turbidity: 4.0,
            clear_fraction: 0.5,
        }
    }

    /// Standard sky 13 at turbidity 4.5, its typical value.
    #[must_use]
    pub fn hazy() -> Self {
        Self::Hazy { turbidity: 4.5 }
    }

    /// Pattern and level of this sky under a sun.
    pub(crate) fn daylight(&self, sun: &SunPosition) -> daylight::Daylight {
        match *self {
            Self::CieStandard { kind, level } => cie::daylight(kind, level, sun),
            Self::TraditionalOvercast { level } => overcast::daylight(level, sun),
            Self::ClearTurbid { turbidity } => turbid::daylight(CieType::CLEAR, turbidity, sun),
            Self::Hazy { turbidity } => turbid::daylight(CieType::POLLUTED, turbidity, sun),
            Self::Intermediate {
                turbidity,
                clear_fraction,
            } => intermediate::daylight(turbidity, clear_fraction, sun),
            Self::AllWeather {
                direct_normal_w_m2,
                diffuse_horizontal_w_m2,
                dew_point_c,
            } => all_weather::daylight(
                direct_normal_w_m2,
                diffuse_horizontal_w_m2,
                dew_point_c,
                sun,
            ),
        }
    }
}
