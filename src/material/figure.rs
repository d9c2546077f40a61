//! Figure of wood: how the fibre's tilt out of the surface is spread over a tile.
//!
//! A tile's luminance is the mean over its figure, so the figure enters as a distribution of tilts,
//! given by a few nodes: Gauss-Hermite for a straight grain, Chebyshev (equal weights, exact for the
//! arcsine law of a sine wave) for ribbon and curl. Tilts are radians, positive where the fibre
//! rises toward the grain arrow.

use serde::{Deserialize, Serialize};

use crate::material::error::{MaterialError, in_range};

/// Largest amplitude and spread of the fibre's tilt [deg].
pub(crate) const FIGURE_DEG_RANGE: (f32, f32) = (0.0, 30.0);
/// Most nodes of a wave.
const WAVE_NODES_MAX: usize = 9;

/// How the tilt varies within a tile; in degrees, as it stands in material files.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Figure {
    /// All fibres at the mean tilt.
    #[default]
    Even,
    /// Plain straight grain: a normal spread about the mean.
    Straight {
        /// Standard deviation of the tilt [deg].
        sd_deg: f32,
    },
    /// Quartered interlocked grain: stripes along the grain whose tilt swings as a sine.
    Ribbon {
        /// Amplitude of the tilt [deg].
        amplitude_deg: f32,
    },
    /// Curl, fiddleback: waves across the grain whose tilt swings as a sine.
    Curl {
        /// Amplitude of the tilt [deg].
        amplitude_deg: f32,
    },
}

/// One tilt and its share of the tile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TiltNode {
    /// Share, all shares adding to 1.
    pub weight: f32,
    /// Tilt of the fibre [rad].
    pub tilt_rad: f32,
}

impl Figure {
    /// Nodes about `mean_tilt_rad` for a lobe of width `width_rad`.
    ///
    /// # Errors
    /// A spread or amplitude out of range.
    pub fn nodes(
        &self,
        mean_tilt_rad: f32,
        width_rad: f32,
    ) -> Result<Vec<TiltNode>, MaterialError> {
        let node = |weight, offset_rad: f32| TiltNode {
            weight,
            tilt_rad: mean_tilt_rad + offset_rad,
        };
        Ok(match *self {
            Figure::Even => vec![node(1.0, 0.0)],
            Figure::Straight { sd_deg } => {
                let sd_rad = in_range("tilt spread in deg", sd_deg, FIGURE_DEG_RANGE)?.to_radians();
                // Gauss-Hermite, three points: 0 and +-sqrt(3) sd (Abramowitz and Stegun, table 25.10).
                let far_rad = 3.0_f32.sqrt() * sd_rad;
                vec![
                    node(1.0 / 6.0, -far_rad),
                    node(2.0 / 3.0, 0.0),
                    node(1.0 / 6.0, far_rad),
                ]
            }
            Figure::Ribbon { amplitude_deg } | Figure::Curl { amplitude_deg } => {
                let amplitude_rad =
                    in_range("tilt amplitude in deg", amplitude_deg, FIGURE_DEG_RANGE)?
                        .to_radians();
                // psi_h moves by twice the tilt: nodes no further apart than 1.8 widths of the lobe.
                let wanted = (3.5 * amplitude_rad / width_rad).ceil() as usize;
                let count = wanted.clamp(3, WAVE_NODES_MAX);
                (0..count)
                    .map(|k| {
                        let phase = (k as f32 + 0.5) * std::f32::consts::PI / count as f32;
                        node(1.0 / count as f32, -amplitude_rad * phase.cos())
                    })
                    .collect()
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nodes_have_the_moments_of_their_law() {
        // Normal: variance sd^2. Sine of amplitude A: variance A^2 / 2.
        for (figure, variance_deg2) in [
            (Figure::Straight { sd_deg: 3.0 }, 9.0),
            (
                Figure::Ribbon {
                    amplitude_deg: 12.0,
                },
                72.0,
            ),
            (Figure::Curl { amplitude_deg: 5.0 }, 12.5),
        ] {
            let nodes = figure.nodes(0.05, 0.17).unwrap();
            let mean: f32 = nodes.iter().map(|n| n.weight * n.tilt_rad).sum();
            let variance: f32 = nodes
                .iter()
                .map(|n| n.weight * (n.tilt_rad - mean).to_degrees().powi(2))
                .sum();
            let weight: f32 = nodes.iter().map(|n| n.weight).sum();
            assert!((weight - 1.0).abs() < 1e-6);
            assert!((mean - 0.05).abs() < 1e-6, "{figure:?} mean {mean}");
            assert!(
                (variance / variance_deg2 - 1.0).abs() < 1e-4,
                "{figure:?} {variance}"
            );
        }
    }

    #[test]
    fn too_large_a_swing_is_refused() {
        assert!(
            Figure::Curl {
                amplitude_deg: 60.0
            }
            .nodes(0.0, 0.17)
            .is_err()
        );
        assert!(Figure::Straight { sd_deg: -1.0 }.nodes(0.0, 0.17).is_err());
    }
}
