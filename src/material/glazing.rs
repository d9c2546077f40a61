//! Windows: transmittance against the angle of incidence.
//!
//! A pane or unit is given by its normal visible transmittance and its count of panes. The shape
//! against angle is the exact Fresnel and ray-series result for that count of clear 6 mm panes, scaled
//! to the given normal value. Source: J. A. Duffie and W. A. Beckman, "Solar Engineering of Thermal
//! Processes", chapter 5 (Fresnel, internal series, per polarisation). No unit; cosines with the
//! pane's normal. Limits: coatings and tints keep the shape of clear glass (they differ by up to 0.06
//! of the normal value at 60 to 80 deg); no spectrum, no scattering except [`diffusing_luminance_cd_m2`].

use std::sync::Arc;

use crate::material::error::{MaterialError, in_range};
use crate::material::fresnel::hemisphere_mean;

/// Refractive index of soda-lime glass.
pub const GLASS_INDEX: f64 = 1.526;
/// Extinction times thickness of a clear 6 mm pane: 0.882 at normal incidence.
pub const CLEAR_6MM_EXTINCTION: f64 = 0.0386;
/// Intervals of the table, 0 to 90 deg.
const INTERVALS: usize = 180;

/// A window's glass.
#[derive(Clone, Debug, PartialEq)]
pub struct Glazing {
    normal_transmittance: f32,
    pane_count: u8,
    /// Transmittance at 0, 0.5, ... 90 deg.
    transmittance: Arc<[f32]>,
    reflectance: Arc<[f32]>,
    diffuse_transmittance: f32,
}

/// Transmittance and reflectance of a stack of equal panes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PaneStack {
    /// Share that passes.
    pub transmittance: f64,
    /// Share that is reflected.
    pub reflectance: f64,
}

impl PaneStack {
    /// `pane_count` panes of index `n` and extinction x thickness `extinction`, at a cosine of
    /// incidence.
    ///
    /// Per polarisation T = (1-r)^2 a / (1 - r^2 a^2), R = r + (1-r)^2 r a^2 / (1 - r^2 a^2); panes are
    /// added by T' = T1 T2 / (1 - R1 R2), R' = R1 + T1^2 R2 / (1 - R1 R2); then the mean of both.
    #[must_use]
    pub fn at(cos_incidence: f64, pane_count: u8, n: f64, extinction: f64) -> Self {
        let c = cos_incidence.clamp(0.0, 1.0);
        let inside = (1.0 - (1.0 - c * c) / (n * n)).max(0.0).sqrt();
        let absorbed = (-extinction / inside).exp();
        let r_s = ((c - n * inside) / (c + n * inside)).powi(2);
        let r_p = ((n * c - inside) / (n * c + inside)).powi(2);
        let mut sum = Self {
            transmittance: 0.0,
            reflectance: 0.0,
        };
        for r in [r_s, r_p] {
            let series = 1.0 - r * r * absorbed * absorbed;
            // r is 1 at grazing: nothing enters, everything is reflected.
            let (t1, r1) = if series > 1e-12 {
                let through = (1.0 - r) * (1.0 - r) * absorbed / series;
                (through, r + through * r * absorbed)
            } else {
                (0.0, 1.0)
            };
            let (mut t, mut back) = (t1, r1);
            for _ in 1..pane_count {
                let between = (1.0 - back * r1).max(1e-12);
                back += t * t * r1 / between;
                t *= t1 / between;
            }
            sum.transmittance += 0.5 * t;
            sum.reflectance += 0.5 * back;
        }
        sum
    }
}

impl Glazing {
    /// Glass of `normal_transmittance` (0..=1, visible) with 1, 2 or 3 panes.
    ///
    /// # Errors
    /// A parameter out of range.
    pub fn new(normal_transmittance: f32, pane_count: u8) -> Result<Self, MaterialError> {
        let tau = in_range("normal transmittance", normal_transmittance, (0.0, 1.0))?;
        in_range("pane count", f32::from(pane_count), (1.0, 3.0))?;
        let stack = |c: f64| PaneStack::at(c, pane_count, GLASS_INDEX, CLEAR_6MM_EXTINCTION);
        let scale = f64::from(tau) / stack(1.0).transmittance;
        let pass = |c: f64| (scale * stack(c).transmittance).min(1.0);
        let cosine = |k: usize| {
            (k as f64 / INTERVALS as f64 * std::f64::consts::FRAC_PI_2)
                .cos()
                .max(0.0)
        };
        let transmittance: Arc<[f32]> = (0..=INTERVALS)
            .map(|k| {
                if k == INTERVALS {
                    0.0
                } else {
                    pass(cosine(k)) as f32
                }
            })
            .collect();
        let reflectance = (0..=INTERVALS)
            .map(|k| {
                // Whatever was passed cannot be reflected too.
                let c = cosine(k);
                stack(c).reflectance.min(1.0 - pass(c)) as f32
            })
            .collect();
        Ok(Self {
            normal_transmittance: tau,
            pane_count,
            transmittance,
            reflectance,
            diffuse_transmittance: hemisphere_mean(pass) as f32,
        })
    }

    /// Glass by its transmittance at angles of incidence [deg], rising from 0; linear between, falling to
    /// nothing at 90 deg after the last. Reflectance is what clear glass of two panes has, within what is left.
    ///
    /// # Errors
    /// Fewer than two angles, angles that do not rise from 0 to at most 90, or a value outside 0..=1.
    pub fn by_angle(values: &[(f32, f32)]) -> Result<Self, MaterialError> {
        let mut previous = -1.0;
        for (angle_deg, transmittance) in values {
            in_range("angle of incidence", *angle_deg, (0.0, 90.0))?;
            in_range("transmittance", *transmittance, (0.0, 1.0))?;
            in_range("step to the next angle", angle_deg - previous, (1e-3, 90.0))?;
            previous = if previous < 0.0 {
                0.0_f32.max(*angle_deg)
            } else {
                *angle_deg
            };
        }
        in_range("number of angles", values.len() as f32, (2.0, 181.0))?;
        let (first_deg, first) = values[0];
        in_range("first angle", first_deg, (0.0, 0.0))?;
        let at = |deg: f32| {
            let next = values
                .iter()
                .position(|(a, _)| *a >= deg)
                .unwrap_or(values.len());
            let (low, high) = match (next.checked_sub(1).map(|i| values[i]), values.get(next)) {
                (Some(low), Some(high)) => (low, *high),
                (None, Some(high)) => (*high, *high),
                (Some(low), None) => (low, (90.0, 0.0)),
                (None, None) => ((0.0, first), (90.0, 0.0)),
            };
            let width = high.0 - low.0;
            if width <= 0.0 {
                high.1
            } else {
                low.1 + (high.1 - low.1) * ((deg - low.0) / width).clamp(0.0, 1.0)
            }
        };
        let angle_deg = |k: usize| k as f32 * 90.0 / INTERVALS as f32;
        let transmittance: Arc<[f32]> = (0..=INTERVALS)
            .map(|k| {
                if k == INTERVALS {
                    0.0
                } else {
                    at(angle_deg(k))
                }
            })
            .collect();
        let clear = Self::new(0.78, 2)?;
        let reflectance = clear
            .reflectance
            .iter()
            .zip(transmittance.iter())
            .map(|(r, t)| r.min(1.0 - t))
            .collect();
        let diffuse = hemisphere_mean(|c| f64::from(at(c.acos().to_degrees() as f32)));
        Ok(Self {
            normal_transmittance: first,
            pane_count: 0,
            transmittance,
            reflectance,
            diffuse_transmittance: diffuse as f32,
        })
    }

    /// A hole without glass: lets everything through at any angle.
    #[must_use]
    pub fn open() -> Self {
        Self {
            normal_transmittance: 1.0,
            pane_count: 0,
            transmittance: vec![1.0; INTERVALS + 1].into(),
            reflectance: vec![0.0; INTERVALS + 1].into(),
            diffuse_transmittance: 1.0,
        }
    }

    /// Transmittance at a cosine of incidence; 0 at and beyond grazing.
    #[inline]
    #[must_use]
    pub fn transmittance(&self, cos_incidence: f32) -> f32 {
        interpolate(&self.transmittance, cos_incidence)
    }

    /// Reflectance at a cosine of incidence, that of clear glass of the same count of panes.
    #[inline]
    #[must_use]
    pub fn reflectance(&self, cos_incidence: f32) -> f32 {
        interpolate(&self.reflectance, cos_incidence)
    }

    /// Transmittance for diffuse light.
    #[must_use]
    pub fn diffuse_transmittance(&self) -> f32 {
        self.diffuse_transmittance
    }

    /// Transmittance at normal incidence.
    #[must_use]
    pub fn normal_transmittance(&self) -> f32 {
        self.normal_transmittance
    }

    /// Count of panes.
    #[must_use]
    pub fn pane_count(&self) -> u8 {
        self.pane_count
    }
}

/// Value of a table that is even in the angle, 0 to 90 deg.
#[inline]
fn interpolate(table: &[f32], cosine: f32) -> f32 {
    let x = cosine.clamp(0.0, 1.0).acos() * (INTERVALS as f32 / std::f32::consts::FRAC_PI_2);
    let k = (x as usize).min(INTERVALS - 1);
    let f = x - k as f32;
    // k + 1 <= INTERVALS, the last of the INTERVALS + 1 values.
    table[k] * (1.0 - f) + table[k + 1] * f
}

/// Luminance of the inside of a perfect diffuser [cd/m2].
///
/// `diffuse_transmittance` 0..=1 of the pane or blind (for a fabric: the total less the openness),
/// `illuminance_lx` on its outside. L = tau E / pi.
#[must_use]
pub fn diffusing_luminance_cd_m2(diffuse_transmittance: f32, illuminance_lx: f32) -> f32 {
    diffuse_transmittance * illuminance_lx * std::f32::consts::FRAC_1_PI
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_passes_at_grazing_and_no_value_is_odd() {
        for panes in 1..=3 {
            let glass = Glazing::new(0.7, panes).unwrap();
            assert_eq!(glass.transmittance(0.0), 0.0);
            assert_eq!(glass.transmittance(-0.5), 0.0);
            for k in 0..=1000 {
                let c = k as f32 / 1000.0;
                let (t, r) = (glass.transmittance(c), glass.reflectance(c));
                assert!(
                    (0.0..=0.7001).contains(&t) && t + r <= 1.000_01,
                    "{c}: {t} {r}"
                );
            }
        }
    }

    #[test]
    fn four_panes_are_refused() {
        assert!(Glazing::new(0.5, 4).is_err());
        assert!(Glazing::new(1.2, 1).is_err());
        assert!(Glazing::new(f32::NAN, 1).is_err());
    }
}
