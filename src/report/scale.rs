//! From values to positions on the colour ramp or an axis, with neat ticks.
//!
//! Logarithmic (base 10, ticks at 1, 2, 5) or linear. Values outside the range sit at its ends.

/// How values are spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScaleKind {
    /// Equal ratios are equal steps; values must be above 0.
    Log,
    /// Equal differences are equal steps.
    Linear,
}

/// A range of values and the way it is spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ValueScale {
    /// Logarithmic or linear.
    pub kind: ScaleKind,
    /// Value at position 0; above 0 for a logarithmic scale.
    pub low: f32,
    /// Value at position 1; above `low`.
    pub high: f32,
}

/// Most decades that an automatic logarithmic range spans.
const MAX_DECADES: f64 = 4.0;

impl ValueScale {
    /// A range that holds `values`, widened to neat ends: whole 1-2-5 steps when logarithmic.
    ///
    /// Values that are not finite are left out, and those not above 0 when logarithmic. Without
    /// any value the range is 1..10. A logarithmic range spans four decades at most: smaller values
    /// sit at its lower end.
    pub fn fit(kind: ScaleKind, values: impl Iterator<Item = f32>) -> Self {
        let usable = values.filter(|v| v.is_finite() && (kind == ScaleKind::Linear || *v > 0.0));
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for v in usable {
            low = low.min(f64::from(v));
            high = high.max(f64::from(v));
        }
        if low > high {
            (low, high) = (1.0, 10.0);
        }
        match kind {
            ScaleKind::Log => {
                low = low.max(high / 10_f64.powf(MAX_DECADES));
                // A narrow range is widened to a factor of 2, so that noise is not made to look like a pattern.
                let middle = (low * high).sqrt();
                low = neat_below(low.min(middle / 2_f64.sqrt()));
                high = neat_above(high.max(middle * 2_f64.sqrt()));
            }
            ScaleKind::Linear => {
                let step = neat_step((high - low).max(high.abs() * 0.1).max(1e-9) / 4.0);
                low = (low / step).floor() * step;
                high = (high / step).ceil() * step;
                if high - low < step {
                    high = low + step;
                }
            }
        }
        Self {
            kind,
            low: low as f32,
            high: high as f32,
        }
    }

    /// Position of a value, clamped to 0..=1.
    pub fn position(&self, value: f32) -> f32 {
        let (low, high) = (f64::from(self.low), f64::from(self.high));
        let value = f64::from(value);
        let position = match self.kind {
            ScaleKind::Linear => (value - low) / (high - low),
            ScaleKind::Log if value > 0.0 => (value / low).ln() / (high / low).ln(),
            ScaleKind::Log => 0.0,
        };
        if position.is_nan() {
            0.0
        } else {
            position.clamp(0.0, 1.0) as f32
        }
    }

    /// Values worth a label, rising, about `wanted` of them and two at least.
    pub fn ticks(&self, wanted: usize) -> Vec<f32> {
        let (low, high) = (f64::from(self.low), f64::from(self.high));
        let inside =
            |v: &f64| *v >= low * (1.0 - 1e-6) - 1e-12 && *v <= high * (1.0 + 1e-6) + 1e-12;
        let ticks: Vec<f64> = match self.kind {
            ScaleKind::Linear => {
                let step = neat_step((high - low) / wanted.max(1) as f64);
                let first = (low / step).ceil() as i64;
                let last = (high / step + 1e-6).floor() as i64;
                (first..=last).map(|i| i as f64 * step).collect()
            }
            ScaleKind::Log => {
                let decades = (high / low).log10();
                let mantissas: &[f64] = if decades * 9.0 < wanted as f64 {
                    &[
                        1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0,
                    ]
                } else if decades * 3.0 <= wanted as f64 + 1.0 {
                    &[1.0, 2.0, 5.0]
                } else if decades * 2.0 <= wanted as f64 + 1.0 {
                    &[1.0, 3.0]
                } else {
                    &[1.0]
                };
                (low.log10().floor() as i32 - 1..=high.log10().ceil() as i32)
                    .flat_map(|e| mantissas.iter().map(move |m| m * 10_f64.powi(e)))
                    .filter(inside)
                    .collect()
            }
        };
        if ticks.len() < 2 {
            return vec![self.low, self.high];
        }
        ticks.into_iter().map(|v| v as f32).collect()
    }
}

/// Multiples of a neat step from `low` to `high`, at most about `wanted`; none when an end is not finite.
pub(super) fn neat_values(low: f32, high: f32, wanted: f32) -> Vec<f32> {
    if !(low.is_finite() && high.is_finite() && low <= high) {
        return Vec::new();
    }
    let (low, high) = (f64::from(low), f64::from(high));
    let step = neat_step((high - low).max(0.5) / f64::from(wanted.max(1.0)));
    let (from, to) = (
        (low / step - 1e-3).ceil() as i64,
        (high / step + 1e-3).floor() as i64,
    );
    (from..=to).map(|i| (i as f64 * step) as f32).collect()
}

/// Step of 1, 2 or 5 times a power of ten, not below `rough`.
pub(super) fn neat_step(rough: f64) -> f64 {
    neat_above(rough.max(1e-12))
}

/// Largest of 1, 2, 5 times a power of ten that is not above `value`.
fn neat_below(value: f64) -> f64 {
    let unit = 10_f64.powf(value.log10().floor());
    let mantissa = value / unit * (1.0 + 1e-6);
    unit * if mantissa >= 5.0 {
        5.0
    } else if mantissa >= 2.0 {
        2.0
    } else {
        1.0
    }
}

/// Smallest of 1, 2, 5 times a power of ten that is not below `value`.
fn neat_above(value: f64) -> f64 {
    let unit = 10_f64.powf(value.log10().floor());
    let mantissa = value / unit * (1.0 - 1e-6);
    unit * if mantissa <= 1.0 {
        1.0
    } else if mantissa <= 2.0 {
        2.0
    } else if mantissa <= 5.0 {
        5.0
    } else {
        10.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn log_ranges_end_at_1_2_5() {
        let scale = ValueScale::fit(
            ScaleKind::Log,
            [0.31, 17.0, f32::NAN, -3.0, 0.0].into_iter(),
        );
        assert!(
            (scale.low - 0.2).abs() < 1e-6 && (scale.high - 20.0).abs() < 1e-4,
            "{scale:?}"
        );
        let ticks: Vec<String> = scale
            .ticks(7)
            .iter()
            .map(|t| super::super::number::value(*t))
            .collect();
        assert_eq!(ticks, ["0.2", "0.5", "1", "2", "5", "10", "20"]);
    }

    #[test]
    fn middle_of_a_log_scale_is_the_geometric_mean() {
        let scale = ValueScale {
            kind: ScaleKind::Log,
            low: 0.1,
            high: 10.0,
        };
        assert!((scale.position(1.0) - 0.5).abs() < 1e-6);
        assert_eq!(scale.position(0.0), 0.0);
        assert_eq!(scale.position(1e9), 1.0);
        assert_eq!(scale.position(f32::NAN), 0.0);
    }

    #[test]
    fn odd_data_still_give_a_range_with_ticks() {
        let sets: [&[f32]; 6] = [
            &[],
            &[3.0],
            &[0.0, 0.0],
            &[1e-30, 1e30],
            &[-4.0, -4.0],
            &[1.0, 1.000_001],
        ];
        for set in sets {
            for kind in [ScaleKind::Log, ScaleKind::Linear] {
                let scale = ValueScale::fit(kind, set.iter().copied());
                assert!(scale.low < scale.high, "{set:?} {kind:?}: {scale:?}");
                let ticks = scale.ticks(7);
                assert!(
                    (2..=14).contains(&ticks.len()),
                    "{set:?} {kind:?}: {ticks:?}"
                );
                assert!(ticks.windows(2).all(|t| t[0] < t[1]), "{ticks:?}");
            }
        }
    }
}
