//! Relative luminance of a sky: gradation from horizon to zenith times a glow round the sun.
//!
//! Input: sine of the elevation of a direction and its angle from the sun [rad]; output: a number without unit, to be
//! scaled by [`super::state`]. The standard skies (ISO 15469:2004) and the all-weather sky (Perez et al. 1993) share one
//! form and differ in one term.

use std::f64::consts::FRAC_PI_2;

/// Gradation a, b and indicatrix c, d, e of a sky: (1 + a exp(b / cos Z)) (base + c exp(d chi) + e cos2 chi).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Graded {
    /// Strength of the gradation.
    pub a: f64,
    /// Steepness of the gradation, at most 0.
    pub b: f64,
    /// Strength of the glow round the sun.
    pub c: f64,
    /// Fall of the glow [1/rad].
    pub d: f64,
    /// Strength of the backscatter.
    pub e: f64,
    /// Constant of the indicatrix: 1 for the all-weather sky, 1 - c exp(d pi/2) for the standard skies.
    pub base: f64,
}

impl Graded {
    /// Standard sky: f(chi) = 1 + c (exp(d chi) - exp(d pi/2)) + e cos2 chi; ISO 15469:2004, formula 3.
    #[must_use]
    pub fn standard([a, b, c, d, e]: [f64; 5]) -> Self {
        Self {
            a,
            b,
            c,
            d,
            e,
            base: 1.0 - c * (d * FRAC_PI_2).exp(),
        }
    }

    /// All-weather sky: f(chi) = 1 + c exp(d chi) + e cos2 chi; Perez et al. 1993, equation 1. A positive b, which the
    /// fit gives for thin skies and which explodes at the horizon, is taken as 0.
    #[must_use]
    pub fn all_weather([a, b, c, d, e]: [f64; 5]) -> Self {
        Self {
            a,
            b: b.min(0.0),
            c,
            d,
            e,
            base: 1.0,
        }
    }

    /// Gradation phi at a sine of elevation.
    #[inline]
    #[must_use]
    pub fn gradation(&self, sin_elevation: f64) -> f64 {
        1.0 + self.a * (self.b / sin_elevation.max(1e-9)).exp()
    }

    /// Indicatrix f at an angle from the sun [rad].
    #[inline]
    #[must_use]
    pub fn indicatrix(&self, from_sun_rad: f64) -> f64 {
        let cos = from_sun_rad.cos();
        self.base + self.c * (self.d * from_sun_rad).exp() + self.e * cos * cos
    }

    /// Relative luminance, at least 0.
    #[inline]
    #[must_use]
    pub fn relative(&self, sin_elevation: f64, from_sun_rad: f64) -> f64 {
        (self.gradation(sin_elevation) * self.indicatrix(from_sun_rad)).max(0.0)
    }
}

/// A relative luminance pattern.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pattern {
    /// The same in all directions.
    Uniform,
    /// Traditional overcast sky, (1 + 2 sin h)/3; P. Moon and D. Spencer, "Illumination from a non-uniform sky", 1942.
    Traditional,
    /// Gradation times indicatrix.
    Graded(Graded),
}

impl Pattern {
    /// Relative luminance at a sine of elevation (above 0) and an angle from the sun [rad].
    #[inline]
    #[must_use]
    pub fn relative(&self, sin_elevation: f64, from_sun_rad: f64) -> f64 {
        match self {
            Self::Uniform => 1.0,
            Self::Traditional => (1.0 + 2.0 * sin_elevation) / 3.0,
            Self::Graded(graded) => graded.relative(sin_elevation, from_sun_rad),
        }
    }

    /// Relative luminance at the zenith with the sun at an elevation [rad].
    #[must_use]
    pub fn relative_at_zenith(&self, sun_elevation_rad: f64) -> f64 {
        self.relative(1.0, FRAC_PI_2 - sun_elevation_rad)
    }
}
