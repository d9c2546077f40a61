//! Axis of the table of inter-reflected light.
//!
//! A direction's projected tangent t is laid out as q = t / (1 + |t|), -1 to 1, close to even in the angle.
//! Where a face begins or ceases to be reached the value has a kink; those tangents are made nodes,
//! with even spacing between them, so that linear interpolation never crosses a kink.

/// Largest tangent used: 0.006 deg from grazing.
pub(crate) const TANGENT_MAX: f64 = 1e4;
/// Intervals shared out among the stretches between kinks.
const INTERVALS: f64 = 180.0;
/// Kinks and ends that fit: two for each of two corners, the normal, both ends.
const BREAKS_MAX: usize = 7;

/// A stretch without kinks.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Stretch {
    from: f32,
    first_node: f32,
    nodes_per_q: f32,
}

/// Nodes along one axis of the table.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Axis {
    stretches: [Stretch; BREAKS_MAX],
    stretch_count: usize,
    tangents: Vec<f64>,
}

impl Axis {
    /// Axis with nodes at the given tangents, the normal and both ends.
    pub(crate) fn new(kink_tangents: &[f64]) -> Self {
        let mut breaks: Vec<f64> = kink_tangents
            .iter()
            .map(|t| t / (1.0 + t.abs()))
            .chain([-1.0, 0.0, 1.0])
            .collect();
        breaks.sort_by(f64::total_cmp);
        breaks.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        breaks.truncate(BREAKS_MAX);

        let mut axis = Self {
            stretches: [Stretch::default(); BREAKS_MAX],
            stretch_count: 0,
            tangents: vec![-TANGENT_MAX],
        };
        for (stretch, ends) in axis.stretches.iter_mut().zip(breaks.windows(2)) {
            let (from, to) = (ends[0], ends[1]);
            let count = (0.5 * (to - from) * INTERVALS).ceil().max(2.0);
            *stretch = Stretch {
                from: from as f32,
                first_node: (axis.tangents.len() - 1) as f32,
                nodes_per_q: (count / (to - from)) as f32,
            };
            axis.stretch_count += 1;
            for k in 1..=count as usize {
                let q = from + (to - from) * k as f64 / count;
                let tangent = q / (1.0 - q.abs()).max(1e-9);
                axis.tangents.push(tangent.clamp(-TANGENT_MAX, TANGENT_MAX));
            }
        }
        axis
    }

    /// Number of nodes.
    #[inline]
    pub(crate) fn len(&self) -> usize {
        self.tangents.len()
    }

    /// Tangents of the nodes, rising.
    pub(crate) fn tangents(&self) -> &[f64] {
        &self.tangents
    }

    /// Place between the nodes, 0 to len - 1, of a direction with components `y` across and `z` out.
    #[inline]
    pub(crate) fn place(&self, y: f32, z: f32) -> f32 {
        let q = y / (y.abs() + z).max(f32::MIN_POSITIVE);
        let mut stretch = &self.stretches[0];
        for next in &self.stretches[1..self.stretch_count] {
            if q < next.from {
                break;
            }
            stretch = next;
        }
        stretch.first_node + (q - stretch.from) * stretch.nodes_per_q
    }
}

/// Read access for pictures.
#[cfg(feature = "app")]
impl Axis {
    /// Where each stretch in use begins [q], its first node, and its nodes per q.
    pub(crate) fn stretches(&self) -> impl Iterator<Item = [f32; 3]> {
        self.stretches
            .iter()
            .take(self.stretch_count)
            .map(|stretch| [stretch.from, stretch.first_node, stretch.nodes_per_q])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_whole_at_the_nodes() {
        let axis = Axis::new(&[-1.2, 0.577, 3.0, -0.2]);
        assert!(axis.tangents().windows(2).all(|t| t[0] < t[1]));
        for (node, t) in axis.tangents().iter().enumerate() {
            let place = axis.place(*t as f32, 1.0);
            assert!((place - node as f32).abs() < 0.02, "{t}: {place} {node}");
        }
        assert!(axis.tangents().iter().any(|t| (t - 0.577).abs() < 1e-9));
    }
}
