//! Choice among a list of weights, with the left-over of the random number for further use.

/// A distribution over `0..len` with probabilities proportional to given weights.
#[derive(Clone, Debug, PartialEq)]
pub struct Discrete {
    /// Upper ends of the slots, increasing; the last one is 1.
    cumulative: Vec<f32>,
}

impl Discrete {
    /// Distribution with probabilities proportional to `weights`.
    ///
    /// Negative and non-finite weights count as zero. None where no weight is above zero.
    #[must_use]
    pub fn new(weights: &[f32]) -> Option<Self> {
        let clean = |w: f32| {
            if w.is_finite() {
                f64::from(w.max(0.0))
            } else {
                0.0
            }
        };
        let total: f64 = weights.iter().map(|&w| clean(w)).sum();
        if total <= 0.0 {
            return None;
        }
        let last_used = weights.iter().rposition(|&w| clean(w) > 0.0)?;
        let mut sum = 0.0;
        let cumulative = weights
            .iter()
            .enumerate()
            .map(|(k, &w)| {
                sum += clean(w);
                if k >= last_used {
                    1.0
                } else {
                    (sum / total) as f32
                }
            })
            .collect();
        Some(Self { cumulative })
    }

    /// Number of slots.
    #[must_use]
    pub fn len(&self) -> usize {
        self.cumulative.len()
    }

    /// Always false: an empty list cannot be built.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.cumulative.is_empty()
    }

    /// Slot for `u` in `[0, 1)`, and a fresh number in `[0, 1)` made of what `u` has left.
    #[inline]
    #[must_use]
    pub fn sample(&self, u: f32) -> (usize, f32) {
        let slot = self
            .cumulative
            .partition_point(|&end| end <= u)
            .min(self.cumulative.len() - 1);
        let start = self.start(slot);
        let width = self.probability(slot);
        let rest = if width > 0.0 {
            (u - start) / width
        } else {
            0.0
        };
        (slot, rest.clamp(0.0, ONE_BELOW))
    }

    /// Probability of `slot`; 0 for a slot that does not exist.
    #[inline]
    #[must_use]
    pub fn probability(&self, slot: usize) -> f32 {
        self.cumulative
            .get(slot)
            .map_or(0.0, |end| end - self.start(slot))
    }

    #[inline]
    fn start(&self, slot: usize) -> f32 {
        if slot == 0 {
            0.0
        } else {
            self.cumulative.get(slot - 1).copied().unwrap_or(1.0)
        }
    }
}

/// Largest `f32` below 1.
pub const ONE_BELOW: f32 = 1.0 - f32::EPSILON / 2.0;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slots_get_their_share_and_the_rest_is_even() {
        let d = Discrete::new(&[1.0, 0.0, 3.0]).unwrap();
        assert_eq!(d.len(), 3);
        assert!((d.probability(0) - 0.25).abs() < 1e-7);
        assert_eq!(d.probability(1), 0.0);
        let (mut counts, mut rest_sum) = ([0; 3], 0.0);
        for k in 0..4000 {
            let (slot, rest) = d.sample((k as f32 + 0.5) / 4000.0);
            counts[slot] += 1;
            rest_sum += rest;
        }
        assert_eq!(counts, [1000, 0, 3000]);
        assert!((rest_sum / 4000.0 - 0.5).abs() < 1e-3);
    }

    #[test]
    fn trailing_zero_weight_is_never_chosen() {
        let d = Discrete::new(&[1.0, 1.0, 0.0]).unwrap();
        assert_eq!(d.sample(ONE_BELOW).0, 1);
        assert!(Discrete::new(&[0.0, -1.0, f32::NAN]).is_none());
        assert!(Discrete::new(&[]).is_none());
    }
}
