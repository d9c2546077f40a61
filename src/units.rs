//! Physical constants and conversions, each with its source, and the words of the project.
//!
//! # Quantities
//! Numbers are plain floats whose unit is the suffix of their name: `illuminance_lx`,
//! `luminance_cd_m2`, `flux_lm`, `intensity_cd`, `exposure_lx_h`, `irradiance_w_m2`, `cct_k`, `_m`,
//! `_m2`, `_sr`, `_rad`, `_deg`, `brdf_per_sr`, `pdf_per_sr`. Reflectances and transmittances have
//! no suffix and lie in 0..=1.
//!
//! # Space
//! Metres, right-handed, +Y up. A room file's plan (x, y) and height h become world (x, h, -y).
//! Azimuths run clockwise from true north; elevations up from the horizon. Local frames at a
//! surface have +Z along the shading normal and +X along the grain.

/// Maximum luminous efficacy of radiation [lm/W]; SI definition of the candela (540 THz, 2019).
pub const LUMINOUS_EFFICACY_LM_PER_W: f64 = 683.0;

/// Luminous solar constant [lx] that belongs to the CIE standard-sky illuminance system.
/// Source: S. Darula and R. Kittler, "CIE general sky standard defining luminance distributions", 2002, eq. 11.
pub const EXTRATERRESTRIAL_ILLUMINANCE_LX: f64 = 133_800.0;

/// Solar constant [W/m2] used with the hourly all-weather sky.
/// Source: value used with R. Perez et al., Solar Energy 44(5), 1990 (1367 W/m2, World Radiation Centre).
pub const SOLAR_CONSTANT_W_M2: f64 = 1367.0;

/// Angular radius of the sun's disc [rad]: half of 0.533 deg.
/// Source: mean apparent diameter, Astronomical Almanac (from memory).
pub const SUN_ANGULAR_RADIUS_RAD: f64 = 0.533 / 2.0 * std::f64::consts::PI / 180.0;

/// Solid angle of the sun's disc [sr], 2 pi (1 - cos r) with r of [`SUN_ANGULAR_RADIUS_RAD`].
pub const SUN_SOLID_ANGLE_SR: f64 = 6.7967e-5;

/// Metres in one foot, exact (international foot, 1959).
pub const METRES_PER_FOOT: f64 = 0.3048;
