//! Fresnel reflectance of dielectrics and metals, unpolarised.
//!
//! Inputs are cosines with the surface normal, no unit; outputs are reflectances in 0..=1.
//! Source: the Fresnel equations (A. Fresnel, 1823; for metals see [`conductor`]).

use std::sync::Arc;

/// Reflectance of a dielectric for light in air.
///
/// `cos_theta` in 0..=1 (clamped), `eta` the index of the dielectric over that of air, at least 1.
/// F = (r_s^2 + r_p^2) / 2, Fresnel 1823.
#[inline]
#[must_use]
pub fn dielectric(cos_theta: f32, eta: f32) -> f32 {
    let c = cos_theta.clamp(0.0, 1.0);
    dielectric_from_inside_cosine(c, refracted_cosine(c, eta), eta)
}

/// Cosine inside the dielectric of a ray that leaves with `cos_theta` outside (Snell).
#[inline]
#[must_use]
pub fn refracted_cosine(cos_theta: f32, eta: f32) -> f32 {
    (1.0 - (1.0 - cos_theta * cos_theta) / (eta * eta))
        .max(0.0)
        .sqrt()
}

/// [`dielectric`] where the cosine inside is known already.
#[inline]
#[must_use]
pub(crate) fn dielectric_from_inside_cosine(c: f32, inside: f32, eta: f32) -> f32 {
    let s = (c - eta * inside) / (c + eta * inside).max(f32::MIN_POSITIVE);
    let p = (eta * c - inside) / (eta * c + inside).max(f32::MIN_POSITIVE);
    0.5 * (s * s + p * p)
}

/// Reflectance of a dielectric for diffuse light arriving from air, F_out.
#[must_use]
pub fn dielectric_diffuse_outside(eta: f32) -> f32 {
    hemisphere_mean(|c| f64::from(dielectric(c as f32, eta))) as f32
}

/// Reflectance of a dielectric's surface for diffuse light arriving from inside, F_in.
///
/// 1 - F_in = (1 - F_out) / eta^2, from the conservation of etendue.
#[must_use]
pub fn dielectric_diffuse_inside(eta: f32) -> f32 {
    1.0 - (1.0 - dielectric_diffuse_outside(eta)) / (eta * eta)
}

/// Reflectance of a metal of complex index n + ik for light in air, exact.
///
/// M. Born and E. Wolf, "Principles of Optics", 7th ed. 1999, section 14.2, written without complex
/// numbers: N cos_t = a + ib.
#[must_use]
pub fn conductor(cos_theta: f64, n: f64, k: f64) -> f64 {
    let c = cos_theta.clamp(0.0, 1.0);
    let sin2 = 1.0 - c * c;
    let real = n * n - k * k - sin2;
    let modulus = (real * real + 4.0 * n * n * k * k).sqrt();
    let a = (0.5 * (modulus + real)).max(0.0).sqrt();
    let b2 = (0.5 * (modulus - real)).max(0.0);
    let s = ((a - c).powi(2) + b2) / ((a + c).powi(2) + b2);
    // r_p / r_s in the same terms; sin * tan = sin2 / c, multiplied through by c against c = 0.
    let p = s * ((a * c - sin2).powi(2) + b2 * c * c) / ((a * c + sin2).powi(2) + b2 * c * c);
    0.5 * (s + p)
}

/// Cosine-weighted mean over the hemisphere, 2 x integral of f(c) c dc, midpoint rule.
pub(crate) fn hemisphere_mean(f: impl Fn(f64) -> f64) -> f64 {
    // Midpoints in sqrt(c) so that steep rises near grazing are resolved.
    let n = 4000;
    (0..n)
        .map(|k| {
            let q = (f64::from(k) + 0.5) / f64::from(n);
            4.0 * q * q * q * f(q * q)
        })
        .sum::<f64>()
        / f64::from(n)
}

/// Intervals of a [`ReflectanceCurve`]; even in the cosine.
const CURVE_INTERVALS: usize = 512;

/// Reflectance against the cosine of incidence, tabulated for speed.
///
/// 513 values, linear between; worst departure from the exact curve of the metals here is 2e-5.
#[derive(Clone, Debug, PartialEq)]
pub struct ReflectanceCurve {
    values: Arc<[f32]>,
    mean: f32,
}

impl ReflectanceCurve {
    /// Curve through `reflectance(cosine)`.
    #[must_use]
    pub fn new(reflectance: impl Fn(f64) -> f64) -> Self {
        let values = (0..=CURVE_INTERVALS)
            .map(|k| reflectance(k as f64 / CURVE_INTERVALS as f64) as f32)
            .collect();
        let mean = hemisphere_mean(reflectance) as f32;
        Self { values, mean }
    }

    /// Reflectance at a cosine, clamped to 0..=1.
    #[inline]
    #[must_use]
    pub fn at(&self, cos_theta: f32) -> f32 {
        let x = cos_theta.clamp(0.0, 1.0) * CURVE_INTERVALS as f32;
        let k = (x as usize).min(CURVE_INTERVALS - 1);
        let f = x - k as f32;
        // k + 1 <= CURVE_INTERVALS, the last of the CURVE_INTERVALS + 1 values.
        self.values[k] * (1.0 - f) + self.values[k + 1] * f
    }

    /// Cosine-weighted mean over the hemisphere.
    #[must_use]
    pub fn mean(&self) -> f32 {
        self.mean
    }
}

/// Read access for pictures.
#[cfg(feature = "app")]
impl ReflectanceCurve {
    /// Reflectance at cosines even from 0 to 1.
    pub(crate) fn values(&self) -> &[f32] {
        &self.values
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curve_follows_the_exact_metal() {
        let curve = ReflectanceCurve::new(|c| conductor(c, 0.789, 5.852));
        let mut worst: f64 = 0.0;
        for k in 0..5000 {
            let c = f64::from(k) / 5000.0;
            worst = worst.max((f64::from(curve.at(c as f32)) - conductor(c, 0.789, 5.852)).abs());
        }
        assert!(worst < 3e-5, "worst departure {worst}");
    }

    #[test]
    fn ends_are_right() {
        assert!((dielectric(0.0, 1.5) - 1.0).abs() < 1e-6);
        assert!(dielectric(0.3, 1.0) < 1e-12);
        assert!((conductor(0.0, 0.5, 3.0) - 1.0).abs() < 1e-12);
        assert!((conductor(1.0, 1.5, 0.0) - 0.04).abs() < 1e-12);
    }
}
