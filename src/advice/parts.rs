//! The parts that a judgement is made of, and their weighted sum.

use serde::Serialize;

use crate::room::Weights;

/// Names of the parts, in the order of [`Parts::values`].
pub const PART_NAMES: [&str; 5] = ["alive", "shift", "dead", "glaring", "dose"];

/// What a plan is judged by. Shares are of visitors' time: each station weighted by how many pass it and how long
/// they take, over the opening hours of all days and skies studied.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Parts {
    /// Share in which the pattern reads or is strong and nothing makes it dead, 0..=1.
    pub alive_share: f32,
    /// Mean change of the logarithm of tile luminance per metre walked [1/m].
    pub shift_per_m: f32,
    /// Share in which the piece is dead, 0..=1.
    pub dead_share: f32,
    /// Share with something glaring in view, 0..=1.
    pub glaring_share: f32,
    /// Year's light on the brightest tile, new lamps, over its limit; 0 where there is no limit.
    pub dose_over_limit: f32,
}

impl Parts {
    /// All parts, in the order of [`PART_NAMES`].
    pub fn values(&self) -> [f32; 5] {
        [
            self.alive_share,
            self.shift_per_m,
            self.dead_share,
            self.glaring_share,
            self.dose_over_limit,
        ]
    }

    /// The inverse of [`Parts::values`].
    pub fn from_values(values: [f32; 5]) -> Self {
        let [
            alive_share,
            shift_per_m,
            dead_share,
            glaring_share,
            dose_over_limit,
        ] = values;
        Self {
            alive_share,
            shift_per_m,
            dead_share,
            glaring_share,
            dose_over_limit,
        }
    }

    /// Whether more of a part is better, in the order of [`PART_NAMES`].
    pub const MORE_IS_BETTER: [bool; 5] = [true, true, false, false, false];

    /// The parts turned so that more is better, each between -1 and 1.
    fn goodness(&self) -> [f32; 5] {
        let eased = |v: f32| v / (1.0 + v);
        [
            self.alive_share,
            eased(self.shift_per_m.max(0.0)),
            -self.dead_share,
            -self.glaring_share,
            -eased(self.dose_over_limit.max(0.0)),
        ]
    }
}

/// What each part adds to the weighted sum, in the order of [`PART_NAMES`].
pub fn terms(parts: &Parts, weights: &Weights) -> [f32; 5] {
    let weights = [
        weights.alive,
        weights.shift,
        weights.dead,
        weights.glaring,
        weights.dose,
    ];
    let good = parts.goodness();
    std::array::from_fn(|i| weights[i] * good[i])
}

/// The weighted sum; only for ordering, never shown without its parts.
pub fn worth(parts: &Parts, weights: &Weights) -> f32 {
    terms(parts, weights).iter().sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_part_moves_the_sum_the_right_way() {
        let base = Parts {
            alive_share: 0.5,
            shift_per_m: 0.5,
            dead_share: 0.2,
            glaring_share: 0.2,
            dose_over_limit: 0.5,
        };
        let weights = Weights::default();
        for (i, more_is_better) in Parts::MORE_IS_BETTER.into_iter().enumerate() {
            let mut values = base.values();
            values[i] += 0.1;
            let change = worth(&Parts::from_values(values), &weights) - worth(&base, &weights);
            assert_eq!(
                change > 0.0,
                more_is_better,
                "{} changed the sum by {change}",
                PART_NAMES[i]
            );
        }
    }
}
