//! A beam round about its axis whose intensity falls to one half and to one tenth at given angles.
//!
//! I(t) = I0 exp(-(k q)^m) with q(t) = -ln cos t, 0 at and beyond 90 degrees. With m = 1 this is the
//! cosine-power beam I0 cos^k(t); with q close to t^2 / 2 near the axis, m = 1 is a bell, m > 1 flatter
//! with a steeper edge, m < 1 peaked with a wide skirt. The form is ours: it has both angles exactly and
//! contains the cosine-power beam.

use std::f64::consts::FRAC_PI_2;

use glam::Vec3;

/// See the module.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct BeamProfile {
    peak_cd: f32,
    k: f32,
    m: f32,
    /// Flux of a beam with 1 cd on its axis [lm/cd].
    flux_per_peak_sr: f64,
}

impl BeamProfile {
    /// Cosine-power beam; half angle at 50 % in 0..pi/2 [rad].
    ///
    /// n = ln 0.5 / ln cos(beam / 2) and flux = 2 pi I0 / (n + 1).
    pub(super) fn cosine_power(half_beam_rad: f64) -> Self {
        let n = 0.5_f64.ln() / half_beam_rad.cos().ln();
        Self {
            peak_cd: 1.0,
            k: n as f32,
            m: 1.0,
            flux_per_peak_sr: std::f64::consts::TAU / (n + 1.0),
        }
    }

    /// Beam with 50 % and 10 % at two half angles, 0 < half beam < half field < pi/2 [rad].
    pub(super) fn two_angles(half_beam_rad: f64, half_field_rad: f64) -> Self {
        let m = edge_power(half_beam_rad, half_field_rad);
        let k = 2.0_f64.ln().powf(1.0 / m) / minus_ln_cos(half_beam_rad);
        let relative = |t: f64| (-(k * minus_ln_cos(t)).powf(m)).exp() * t.sin();
        // Simpson's rule between angles where the profile changes character.
        let far = (3.0 * half_field_rad).min(FRAC_PI_2);
        let cuts = [0.0, half_beam_rad, half_field_rad, far, FRAC_PI_2];
        let integral: f64 = cuts
            .windows(2)
            .map(|pair| simpson(relative, pair[0], pair[1]))
            .sum();
        Self {
            peak_cd: 1.0,
            k: k as f32,
            m: m as f32,
            flux_per_peak_sr: std::f64::consts::TAU * integral,
        }
    }

    /// The same beam with another intensity on its axis [cd].
    pub(super) fn with_peak_cd(self, peak_cd: f32) -> Self {
        Self { peak_cd, ..self }
    }

    /// Intensity on the axis [cd].
    pub(super) fn peak_cd(&self) -> f32 {
        self.peak_cd
    }

    /// Flux for 1 cd on the axis [lm/cd].
    pub(super) fn flux_per_peak_sr(&self) -> f64 {
        self.flux_per_peak_sr
    }

    /// Intensity [cd].
    #[inline]
    pub(super) fn intensity_cd(&self, direction: Vec3) -> f32 {
        if direction.z >= 0.0 {
            return 0.0;
        }
        let tangent_squared =
            (direction.x * direction.x + direction.y * direction.y) / (direction.z * direction.z);
        // -ln cos t = ln(1 + tan^2 t) / 2, which keeps its digits near the axis.
        let kq = self.k * 0.5 * tangent_squared.ln_1p();
        let exponent = if self.m == 1.0 { kq } else { kq.powf(self.m) };
        self.peak_cd * (-exponent).exp()
    }
}

/// Power m that puts 50 % and 10 % at the two half angles: ((k q)^m is ln 2 and ln 10 there).
pub(super) fn edge_power(half_beam_rad: f64, half_field_rad: f64) -> f64 {
    let angle_ratio = minus_ln_cos(half_field_rad) / minus_ln_cos(half_beam_rad);
    (10.0_f64.ln() / 2.0_f64.ln()).ln() / angle_ratio.ln()
}

fn minus_ln_cos(angle_rad: f64) -> f64 {
    // Beyond the last angle below 90 degrees the tangent is only large, never infinite.
    0.5 * angle_rad.tan().powi(2).ln_1p()
}

fn simpson(f: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    const HALF_STEPS: usize = 2000;
    let step = (high - low) / HALF_STEPS as f64;
    (0..HALF_STEPS)
        .map(|i| {
            let a = low + step * i as f64;
            (f(a) + 4.0 * f(a + 0.5 * step) + f(a + step)) * step / 6.0
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The general integral against the closed form of its special case.
    #[test]
    fn two_angles_of_a_cosine_beam_give_its_closed_form_flux() {
        for beam_deg in [6.0_f64, 24.0, 60.0, 120.0] {
            let half = (beam_deg / 2.0).to_radians();
            let n = 0.5_f64.ln() / half.cos().ln();
            let half_field = 0.1_f64.powf(1.0 / n).acos();
            let two = BeamProfile::two_angles(half, half_field).flux_per_peak_sr();
            let closed = std::f64::consts::TAU / (n + 1.0);
            assert!(
                (two / closed - 1.0).abs() < 1e-8,
                "beam {beam_deg} deg: by integration {two} sr, closed form {closed} sr"
            );
        }
    }
}
