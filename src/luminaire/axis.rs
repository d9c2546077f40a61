//! A list of ascending angles, even or uneven, with a fast search for the interval that holds an angle,
//! and the exact weights that integrate a function that is linear between the listed angles.

/// An angle this far outside the list still counts as its end [rad]: far below any measuring step, far
/// above the rounding of f32 directions.
const EDGE_TOLERANCE_RAD: f32 = 1.0e-5;

/// Most angles in a list.
pub(super) const MOST_ANGLES: usize = 4000;

/// Ascending angles [rad], at least two, at most [`MOST_ANGLES`].
#[derive(Debug, Clone, PartialEq)]
pub(super) struct AngleAxis {
    angle_rad: Vec<f32>,
    /// Interval in which the lower edge of each bucket lies; buckets divide the range evenly.
    interval_of_bucket: Vec<u16>,
    bucket_per_rad: f32,
}

/// Density against which a list of angles is integrated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum AngleWeight {
    /// Plain angle.
    One,
    /// Polar angle from the pole: sin x.
    Sine,
    /// Latitude: cos x.
    Cosine,
}

impl AngleAxis {
    /// None unless there are 2 to [`MOST_ANGLES`] finite, strictly ascending angles.
    pub(super) fn new(angle_rad: Vec<f32>) -> Option<Self> {
        let first = *angle_rad.first()?;
        let last = *angle_rad.last()?;
        let ascending = angle_rad.windows(2).all(|pair| pair[0] < pair[1]);
        if !ascending || !(2..=MOST_ANGLES).contains(&angle_rad.len()) {
            return None;
        }
        if !first.is_finite() || !last.is_finite() {
            return None;
        }
        let bucket_count = 2 * (angle_rad.len() - 1);
        let bucket_per_rad = bucket_count as f32 / (last - first);
        if !bucket_per_rad.is_finite() {
            return None;
        }
        let mut interval = 0;
        let interval_of_bucket = (0..bucket_count)
            .map(|bucket| {
                let edge_rad = first + bucket as f32 / bucket_per_rad - EDGE_TOLERANCE_RAD;
                // interval + 1 <= len - 1 by the first condition.
                while interval + 2 < angle_rad.len() && angle_rad[interval + 1] <= edge_rad {
                    interval += 1;
                }
                // Below MOST_ANGLES, so it fits.
                interval as u16
            })
            .collect();
        Some(Self {
            angle_rad,
            interval_of_bucket,
            bucket_per_rad,
        })
    }

    /// The listed angles [rad].
    pub(super) fn angles_rad(&self) -> &[f32] {
        &self.angle_rad
    }

    /// First listed angle [rad].
    #[inline]
    pub(super) fn first_rad(&self) -> f32 {
        // At least two angles by construction.
        self.angle_rad[0]
    }

    /// Last listed angle [rad].
    #[inline]
    pub(super) fn last_rad(&self) -> f32 {
        // At least two angles by construction.
        self.angle_rad[self.angle_rad.len() - 1]
    }

    /// Interval i and fraction in 0..=1 between angles i and i + 1; none outside the list and for NaN.
    #[inline]
    pub(super) fn locate(&self, angle_rad: f32) -> Option<(usize, f32)> {
        let inside = angle_rad >= self.first_rad() - EDGE_TOLERANCE_RAD
            && angle_rad <= self.last_rad() + EDGE_TOLERANCE_RAD;
        inside.then(|| self.locate_clamped(angle_rad))
    }

    /// As [`Self::locate`], with the ends continued outward. The angle is finite.
    #[inline]
    pub(super) fn locate_clamped(&self, angle_rad: f32) -> (usize, f32) {
        let angle_rad = angle_rad.clamp(self.first_rad(), self.last_rad());
        let bucket = ((angle_rad - self.first_rad()) * self.bucket_per_rad) as usize;
        let last_bucket = self.interval_of_bucket.len() - 1;
        // Intervals are at most len - 2, so i + 1 below is an index.
        let mut i = usize::from(self.interval_of_bucket[bucket.min(last_bucket)]);
        while i + 2 < self.angle_rad.len() && angle_rad >= self.angle_rad[i + 1] {
            i += 1;
        }
        let (low, high) = (self.angle_rad[i], self.angle_rad[i + 1]);
        (i, ((angle_rad - low) / (high - low)).clamp(0.0, 1.0))
    }

    /// Weights w with sum(w[i] f[i]) = integral of f x density, f linear between the listed angles. Exact.
    pub(super) fn integration_weights(&self, density: AngleWeight) -> Vec<f64> {
        let mut weights = vec![0.0; self.angle_rad.len()];
        for (i, pair) in self.angle_rad.windows(2).enumerate() {
            let (low, high) = (f64::from(pair[0]), f64::from(pair[1]));
            let step = high - low;
            // Integrals of (x - low) w(x) and (high - x) w(x) over the interval, in closed form.
            let (rising, falling) = match density {
                AngleWeight::One => (0.5 * step * step, 0.5 * step * step),
                AngleWeight::Sine => {
                    let rise = high.sin() - low.sin();
                    (rise - step * high.cos(), step * low.cos() - rise)
                }
                AngleWeight::Cosine => {
                    let fall = low.cos() - high.cos();
                    (step * high.sin() - fall, fall - step * low.sin())
                }
            };
            // windows(2) of n angles gives i <= n - 2.
            weights[i] += falling / step;
            weights[i + 1] += rising / step;
        }
        weights
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_angle_of_an_uneven_list_is_found_exactly() {
        let angles = vec![0.0, 0.001, 0.002, 0.5, 0.500_01, 1.5, 3.0];
        let axis = AngleAxis::new(angles.clone()).expect("ascending");
        for (i, &angle) in angles.iter().enumerate() {
            let (interval, fraction) = axis.locate(angle).expect("inside");
            assert_eq!(interval as f32 + fraction, i as f32, "angle {angle}");
        }
        for k in 0..=3000 {
            let angle = k as f32 * 0.001;
            let (i, fraction) = axis.locate(angle).expect("inside");
            let back = angles[i] + fraction * (angles[i + 1] - angles[i]);
            assert!((back - angle).abs() < 1e-6, "{angle} came back as {back}");
        }
        assert!(axis.locate(-0.001).is_none());
        assert!(axis.locate(3.001).is_none());
        assert!(axis.locate(f32::NAN).is_none());
    }

    #[test]
    fn weights_integrate_a_constant_over_the_sphere() {
        let axis = AngleAxis::new(vec![0.0, 0.3, 1.0, std::f32::consts::PI]).expect("ascending");
        let sum: f64 = axis.integration_weights(AngleWeight::Sine).iter().sum();
        assert!(
            (sum - 2.0).abs() < 1e-7,
            "sin over 0..pi: {sum}, expected 2"
        );
    }
}
