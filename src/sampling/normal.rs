//! Samples of the standard normal distribution by inversion.
//!
//! Source: P. J. Acklam, "An algorithm for computing the inverse normal cumulative distribution
//! function", 2003; relative error below 1.2e-9 (coefficients from memory, checked below against
//! printed quantiles).

use std::f64::consts::TAU;

const CENTRE_UPPER: [f64; 6] = [
    -3.969_683_028_665_376e1,
    2.209_460_984_245_205e2,
    -2.759_285_104_469_687e2,
    1.383_577_518_672_69e2,
    -3.066_479_806_614_716e1,
    2.506_628_277_459_239,
];
const CENTRE_LOWER: [f64; 5] = [
    -5.447_609_879_822_406e1,
    1.615_858_368_580_409e2,
    -1.556_989_798_598_866e2,
    6.680_131_188_771_972e1,
    -1.328_068_155_288_572e1,
];
const TAIL_UPPER: [f64; 6] = [
    -7.784_894_002_430_293e-3,
    -3.223_964_580_411_365e-1,
    -2.400_758_277_161_838,
    -2.549_732_539_343_734,
    4.374_664_141_464_968,
    2.938_163_982_698_783,
];
const TAIL_LOWER: [f64; 4] = [
    7.784_695_709_041_462e-3,
    3.224_671_290_700_398e-1,
    2.445_134_137_142_996,
    3.754_408_661_907_416,
];
/// Below this probability, and above one less it, the tail form holds.
const TAIL: f64 = 0.024_25;

fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().fold(0.0, |sum, c| sum * x + c)
}

/// Standard normal number for `u` in `[0, 1)`; `u` of 0 and 1 are moved inside by 3e-8.
#[inline]
#[must_use]
pub fn sample_normal(u: f32) -> f32 {
    let p = f64::from(u).clamp(3e-8, 1.0 - 3e-8);
    let tail = |p: f64| {
        let q = (-2.0 * p.ln()).sqrt();
        polynomial(&TAIL_UPPER, q) / (polynomial(&TAIL_LOWER, q) * q + 1.0)
    };
    let x = if p < TAIL {
        tail(p)
    } else if p > 1.0 - TAIL {
        -tail(1.0 - p)
    } else {
        let q = p - 0.5;
        let r = q * q;
        polynomial(&CENTRE_UPPER, r) * q / (polynomial(&CENTRE_LOWER, r) * r + 1.0)
    };
    x as f32
}

/// Density of [`sample_normal`] at `x` (per unit of `x`).
#[inline]
#[must_use]
pub fn normal_pdf(x: f32) -> f32 {
    let x = f64::from(x);
    ((-0.5 * x * x).exp() / TAU.sqrt()) as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_the_printed_ones() {
        // Any table of the normal distribution.
        for (p, x) in [
            (0.5, 0.0),
            (0.841_344_7, 1.0),
            (0.975, 1.959_964),
            (0.99, 2.326_348),
            (0.001, -3.090_232),
        ] {
            let got = sample_normal(p);
            assert!((got - x).abs() < 2e-5, "quantile of {p}: {got}, table {x}");
        }
    }

    #[test]
    fn ends_are_finite() {
        assert!(sample_normal(0.0).is_finite() && sample_normal(1.0).is_finite());
        assert!((normal_pdf(0.0) - 0.398_942_3).abs() < 1e-6);
    }
}
