//! Rules that let the faces of tiles lean out of the plane of the piece.
//!
//! Files give degrees, results are radians.

use std::f64::consts::TAU;

use serde::{Deserialize, Serialize};

use super::grain::{radians, wrapped};

/// How the faces of the tiles lean out of the piece's plane.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum TiltRule {
    /// All faces in the plane of the piece.
    #[default]
    Flat,
    /// All faces lean alike: angle and direction [deg].
    Constant(f32, f32),
    /// Faces lean by so many degrees toward their grain arrow.
    AlongGrain(f32),
    /// Faces lean by so many degrees to the left of their grain arrow.
    AcrossGrain(f32),
    /// Faces lean by so many degrees, opposite ways on a chequer board: angle, direction [deg].
    Chequer(f32, f32),
}

impl TiltRule {
    /// Tilt and the direction the face leans toward [rad].
    pub(crate) fn tilt_rad(self, grain_rad: f64, row: i64, column: i64) -> (f64, f64) {
        match self {
            Self::Flat => (0.0, 0.0),
            Self::Constant(tilt, toward) => (radians(tilt), wrapped(radians(toward))),
            Self::AlongGrain(tilt) => (radians(tilt), wrapped(grain_rad)),
            Self::AcrossGrain(tilt) => (radians(tilt), wrapped(grain_rad + TAU / 4.0)),
            Self::Chequer(tilt, toward) => {
                let turn = (row + column).rem_euclid(2) as f64 * TAU / 2.0;
                (radians(tilt), wrapped(radians(toward) + turn))
            }
        }
    }

    /// The tilt of the rule [deg] and its direction [deg], for checking.
    pub(crate) fn angles_deg(self) -> (f32, f32) {
        match self {
            Self::Flat => (0.0, 0.0),
            Self::Constant(tilt, toward) | Self::Chequer(tilt, toward) => (tilt, toward),
            Self::AlongGrain(tilt) | Self::AcrossGrain(tilt) => (tilt, 0.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tilts_lean_where_the_rule_says() {
        let (tilt, toward) = TiltRule::AcrossGrain(5.0).tilt_rad(TAU / 4.0, 0, 0);
        assert!((tilt.to_degrees() - 5.0).abs() < 1e-9 && (toward - TAU / 2.0).abs() < 1e-9);
        let (_, toward) = TiltRule::Chequer(5.0, 30.0).tilt_rad(0.0, 1, 0);
        assert!((toward.to_degrees() - 210.0).abs() < 1e-9);
    }
}
