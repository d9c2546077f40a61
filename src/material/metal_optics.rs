//! Optical constants of metals and their luminous reflectance against angle.
//!
//! n + ik at 450, 500, 550, 600, 650 nm, read from a public-domain database of optical constants;
//! the source of each row is named. The luminous reflectance is the mean of the exact Fresnel
//! reflectance (`fresnel::conductor`) at the five wavelengths, weighted by V(lambda) (CIE 1924) times
//! the relative power of daylight D65 (CIE 15), good to 0.01 against 5 nm sums. No unit.
//! Limits: polished pure metal in air; oxide, lacquer and anodising are a scale of the user's.

use serde::{Deserialize, Serialize};

use crate::material::fresnel::{ReflectanceCurve, conductor};

/// A metal with tabulated constants.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum MetalName {
    /// Aluminium (McPeak et al. 2015).
    Aluminium,
    /// Silver (McPeak et al. 2015).
    Silver,
    /// Gold (McPeak et al. 2015).
    Gold,
    /// Copper (McPeak et al. 2015).
    Copper,
    /// Brass, 70 % copper and 30 % zinc (Querry 1985).
    Brass70,
    /// Brass, 85 % copper and 15 % zinc, red brass (Querry 1985).
    Brass85,
    /// Iron (Johnson and Christy 1974).
    Iron,
    /// Chromium (Johnson and Christy 1974).
    Chromium,
    /// Nickel (Johnson and Christy 1974).
    Nickel,
}

/// V(lambda) x D65 at the five wavelengths: CIE 1924 V, CIE 15 D65.
const LUMINOUS_WEIGHT: [f64; 5] = [
    0.038 * 117.008,
    0.323 * 109.354,
    0.994_95 * 104.046,
    0.631 * 90.006,
    0.107 * 80.027,
];

impl MetalName {
    /// (n, k) at 450, 500, 550, 600, 650 nm.
    #[must_use]
    pub fn index_nk(self) -> [(f64, f64); 5] {
        match self {
            MetalName::Aluminium => [
                (0.489, 4.778),
                (0.626, 5.320),
                (0.789, 5.852),
                (0.992, 6.369),
                (1.246, 6.852),
            ],
            MetalName::Silver => [
                (0.041, 2.676),
                (0.041, 3.159),
                (0.044, 3.610),
                (0.047, 4.042),
                (0.051, 4.460),
            ],
            MetalName::Gold => [
                (1.538, 1.911),
                (0.848, 1.828),
                (0.324, 2.597),
                (0.189, 3.242),
                (0.125, 3.792),
            ],
            MetalName::Copper => [
                (1.048, 2.414),
                (1.029, 2.601),
                (0.797, 2.564),
                (0.153, 3.125),
                (0.104, 3.776),
            ],
            MetalName::Brass70 => [
                (1.094, 1.829),
                (0.686, 2.250),
                (0.527, 2.765),
                (0.450, 3.253),
                (0.444, 3.695),
            ],
            MetalName::Brass85 => [
                (0.929, 1.729),
                (0.737, 1.970),
                (0.500, 2.337),
                (0.405, 2.792),
                (0.390, 3.187),
            ],
            MetalName::Iron => [
                (2.584, 2.767),
                (2.759, 2.885),
                (2.950, 2.932),
                (2.909, 3.021),
                (2.911, 3.089),
            ],
            MetalName::Chromium => [
                (2.323, 3.135),
                (2.780, 3.305),
                (3.181, 3.329),
                (3.194, 3.300),
                (3.107, 3.331),
            ],
            MetalName::Nickel => [
                (1.729, 2.944),
                (1.825, 3.277),
                (1.921, 3.616),
                (1.975, 3.913),
                (1.990, 4.209),
            ],
        }
    }

    /// Luminous reflectance at a cosine of incidence, daylight.
    #[must_use]
    pub fn luminous_reflectance(self, cos_theta: f64) -> f64 {
        let total: f64 = LUMINOUS_WEIGHT.iter().sum();
        self.index_nk()
            .iter()
            .zip(LUMINOUS_WEIGHT)
            .map(|(&(n, k), weight)| weight * conductor(cos_theta, n, k))
            .sum::<f64>()
            / total
    }
}

/// What a metal's facets reflect.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum MetalReflectance {
    /// A metal of the table.
    Named(MetalName),
    /// One complex index n + ik.
    Index {
        /// Refractive index.
        n: f32,
        /// Extinction coefficient.
        k: f32,
    },
    /// The same reflectance at every angle, 0..=1, for metals without good constants; 1 is the
    /// perfect reflector of the furnace test.
    Flat(f32),
}

impl MetalReflectance {
    /// The curve against angle, times `scale` (oxide, lacquer, anodising; 0..=1).
    #[must_use]
    pub(crate) fn curve(self, scale: f32) -> ReflectanceCurve {
        let scale = f64::from(scale);
        match self {
            MetalReflectance::Named(name) => {
                ReflectanceCurve::new(|c| scale * name.luminous_reflectance(c))
            }
            MetalReflectance::Index { n, k } => {
                ReflectanceCurve::new(|c| scale * conductor(c, f64::from(n), f64::from(k)))
            }
            MetalReflectance::Flat(value) => ReflectanceCurve::new(|_| scale * f64::from(value)),
        }
    }
}
