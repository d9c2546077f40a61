//! Horizontal illuminance of a relative sky: the integral of pattern x sin h over the hemisphere [sr].
//!
//! Method: rings round the sun, where the glow is a function of the ring alone, cut by the horizon; Gauss-Legendre in
//! the ring's radius, split where rings meet the horizon, and along the ring. Closed cases agree within 1e-6.

use std::f64::consts::{FRAC_PI_2, PI};
use std::sync::LazyLock;

use super::Pattern;

/// Nodes along the radius (in each of three pieces) and along half a ring.
const NODE_COUNT: usize = 32;

/// Nodes and weights on 0..1.
static NODES: LazyLock<[(f64, f64); NODE_COUNT]> = LazyLock::new(gauss_legendre);

/// Integral of pattern x sin h over the upper hemisphere [sr], the sun at an elevation [rad] of 0..=pi/2.
pub(super) fn horizontal_integral_sr(pattern: &Pattern, sun_elevation_rad: f64) -> f64 {
    let elevation = sun_elevation_rad.clamp(0.0, FRAC_PI_2);
    let (sin_sun, cos_sun) = elevation.sin_cos();
    let edges = [0.0, elevation, PI - elevation, PI];
    let mut sum = 0.0;
    for piece in edges.windows(2) {
        let &[low, high] = piece else { continue };
        for &(x, weight) in NODES.iter() {
            let chi = low + (high - low) * x;
            sum += weight * (high - low) * chi.sin() * ring(pattern, chi, sin_sun, cos_sun);
        }
    }
    sum
}

/// Integral of pattern x sin h along the part of a ring above the horizon; psi = 0 points to the zenith.
fn ring(pattern: &Pattern, chi: f64, sin_sun: f64, cos_sun: f64) -> f64 {
    let (sin_chi, cos_chi) = chi.sin_cos();
    let (level, swing) = (cos_chi * sin_sun, sin_chi * cos_sun);
    let end = if level >= swing {
        PI
    } else if level <= -swing {
        return 0.0;
    } else {
        (-level / swing).acos()
    };
    2.0 * end
        * NODES
            .iter()
            .map(|&(x, weight)| {
                let sin_h = (level + swing * (end * x).cos()).max(0.0);
                weight * sin_h * pattern.relative(sin_h, chi)
            })
            .sum::<f64>()
}

/// Gauss-Legendre nodes and weights on 0..1, by Newton's method on the Legendre polynomial.
fn gauss_legendre() -> [(f64, f64); NODE_COUNT] {
    let n = NODE_COUNT as f64;
    std::array::from_fn(|index| {
        let mut x = (PI * (index as f64 + 0.75) / (n + 0.5)).cos();
        let mut slope = 1.0;
        for _ in 0..50 {
            let (mut p0, mut p1) = (1.0, x);
            for k in 2..=NODE_COUNT {
                let k = k as f64;
                (p0, p1) = (p1, ((2.0 * k - 1.0) * x * p1 - (k - 1.0) * p0) / k);
            }
            slope = n * (x * p1 - p0) / (x * x - 1.0);
            let step = p1 / slope;
            x -= step;
            if step.abs() < 1e-15 {
                break;
            }
        }
        ((1.0 - x) / 2.0, 1.0 / ((1.0 - x * x) * slope * slope))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: closed forms, pi for a uniform sky and 7 pi / 9 for the traditional overcast one (C2.4).
    #[test]
    fn closed_forms_are_met_at_any_sun() {
        for elevation_deg in [0.0, 3.0, 45.0, 88.0, 90.0] {
            let elevation_rad = f64::to_radians(elevation_deg);
            for (pattern, expected) in [
                (Pattern::Uniform, PI),
                (Pattern::Traditional, 7.0 * PI / 9.0),
            ] {
                let got = horizontal_integral_sr(&pattern, elevation_rad);
                assert!(
                    (got / expected - 1.0).abs() < 2e-6,
                    "{pattern:?} at {elevation_deg} deg: {got} sr, expected {expected} sr"
                );
            }
        }
    }
}
