//! Cross-section of a groove: which part of it a direction reaches.
//!
//! y runs across from one edge of the opening (0) to the other (`opening_m`), the depth is positive
//! into the wall, both in metres. The groove's cross-section is convex, so a point sees along a
//! direction of tangent t exactly if the line leaves through the opening: 0 <= y + depth t <= opening.
//! On a straight face that is an interval; on the half circle too.

use serde::{Deserialize, Serialize};

use crate::material::error::{MaterialError, in_range};

/// Shape of one groove; lengths in metres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Groove {
    /// Two straight faces that meet at the bottom.
    V {
        /// Depth [m].
        depth_m: f32,
        /// Where the bottom lies across the opening, 0..=1 from the -Y edge; 0.5 is symmetric.
        apex: f32,
    },
    /// Straight flanks and a flat bottom, symmetric.
    Trapezoid {
        /// Depth [m].
        depth_m: f32,
        /// Width of the bottom [m]; that of the opening for a rectangular groove.
        bottom_m: f32,
    },
    /// A hollow half circle, as deep as half the opening.
    HalfRound,
}

/// A periodic profile: a groove of a given opening and a flat land beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReliefProfile {
    groove: Groove,
    opening_m: f64,
    land_m: f64,
}

/// Lengths of a relief [m].
const LENGTH_RANGE_M: (f32, f32) = (1e-6, 10.0);

/// A straight piece of the profile, walked toward +Y.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Face {
    pub(crate) from: (f64, f64),
    pub(crate) to: (f64, f64),
}

impl Face {
    /// Length [m].
    #[inline]
    pub(crate) fn length_m(&self) -> f64 {
        (self.to.0 - self.from.0).hypot(self.to.1 - self.from.1)
    }

    /// Projected length per unit of the direction's cosine [m]: length x (n . d) / cos.
    #[inline]
    pub(crate) fn projected_m(&self, tangent: f64) -> f64 {
        (self.to.0 - self.from.0) + (self.to.1 - self.from.1) * tangent
    }

    /// Part of the face (0..=1 along it) that a direction reaches; empty where the ends are swapped.
    #[inline]
    pub(crate) fn reached(&self, tangent: f64, opening_m: f64) -> (f64, f64) {
        let projected = self.projected_m(tangent);
        if projected <= 0.0 {
            return (1.0, 0.0);
        }
        let start = self.from.0 + self.from.1 * tangent;
        (
            (-start / projected).max(0.0),
            ((opening_m - start) / projected).min(1.0),
        )
    }

    /// int g_i g_o ds over what two directions both reach, with g the projected length per length [m].
    #[inline]
    fn lit_and_seen_m(&self, light_tangent: f64, eye_tangent: f64, opening_m: f64) -> f64 {
        let (light_from, light_to) = self.reached(light_tangent, opening_m);
        let (eye_from, eye_to) = self.reached(eye_tangent, opening_m);
        let share = light_to.min(eye_to) - light_from.max(eye_from);
        if share <= 0.0 {
            return 0.0;
        }
        self.projected_m(light_tangent) * self.projected_m(eye_tangent) * share / self.length_m()
    }
}

impl ReliefProfile {
    /// Profile of a groove with `opening_m` between its edges and `land_m` of flat wall to the next.
    ///
    /// # Errors
    /// A length out of range, or a bottom wider than the opening.
    pub fn new(groove: Groove, opening_m: f32, land_m: f32) -> Result<Self, MaterialError> {
        in_range("groove opening in m", opening_m, LENGTH_RANGE_M)?;
        in_range("land in m", land_m, (0.0, LENGTH_RANGE_M.1))?;
        match groove {
            Groove::V { depth_m, apex } => {
                in_range("groove depth in m", depth_m, LENGTH_RANGE_M)?;
                in_range("apex of the groove", apex, (0.0, 1.0))?;
            }
            Groove::Trapezoid { depth_m, bottom_m } => {
                in_range("groove depth in m", depth_m, LENGTH_RANGE_M)?;
                in_range("groove bottom in m", bottom_m, LENGTH_RANGE_M)?;
                if bottom_m > opening_m {
                    return Err(MaterialError::DoesNotFit {
                        smaller: "groove bottom",
                        smaller_m: bottom_m,
                        larger: "groove opening",
                        larger_m: opening_m,
                    });
                }
            }
            Groove::HalfRound => {}
        }
        Ok(Self {
            groove,
            opening_m: f64::from(opening_m),
            land_m: f64::from(land_m),
        })
    }

    /// Shape of the groove.
    #[must_use]
    pub fn groove(&self) -> Groove {
        self.groove
    }

    /// Width of the opening [m].
    #[must_use]
    pub fn opening_m(&self) -> f64 {
        self.opening_m
    }

    /// Width of the flat land [m].
    #[must_use]
    pub fn land_m(&self) -> f64 {
        self.land_m
    }

    /// Opening and land together [m].
    #[inline]
    #[must_use]
    pub fn period_m(&self) -> f64 {
        self.opening_m + self.land_m
    }

    /// Greatest depth [m].
    #[must_use]
    pub fn depth_m(&self) -> f64 {
        match self.groove {
            Groove::V { depth_m, .. } | Groove::Trapezoid { depth_m, .. } => f64::from(depth_m),
            Groove::HalfRound => 0.5 * self.opening_m,
        }
    }

    /// Tangents of the directions at which a face begins or ceases to be reached as a whole: those of the
    /// lines from the edges of the opening through the corners at the bottom.
    pub(crate) fn kink_tangents(&self) -> Vec<f64> {
        let (w, depth) = (self.opening_m, self.depth_m());
        let corners = match self.groove {
            Groove::V { apex, .. } => vec![f64::from(apex) * w],
            Groove::Trapezoid { bottom_m, .. } => {
                let flank = 0.5 * (w - f64::from(bottom_m));
                vec![flank, w - flank]
            }
            Groove::HalfRound => vec![],
        };
        corners
            .iter()
            .flat_map(|y| [-y / depth, (w - y) / depth])
            .collect()
    }

    /// int g_i g_o ds over one period, land included [m].
    #[inline]
    pub(crate) fn lit_and_seen_m(&self, light_tangent: f64, eye_tangent: f64) -> f64 {
        let w = self.opening_m;
        let on = |from, to| Face { from, to }.lit_and_seen_m(light_tangent, eye_tangent, w);
        let groove = match self.groove {
            Groove::V { depth_m, apex } => {
                let bottom = (f64::from(apex) * w, f64::from(depth_m));
                on((0.0, 0.0), bottom) + on(bottom, (w, 0.0))
            }
            Groove::Trapezoid { depth_m, bottom_m } => {
                let depth = f64::from(depth_m);
                let flank = 0.5 * (w - f64::from(bottom_m));
                let (left, right) = ((flank, depth), (w - flank, depth));
                on((0.0, 0.0), left) + on(left, right) + on(right, (w, 0.0))
            }
            Groove::HalfRound => half_round_m(0.5 * w, light_tangent, eye_tangent),
        };
        self.land_m + groove
    }

    /// Straight faces of the groove, about `count` of them, short near the edges of a flat face.
    pub(crate) fn strips(&self, count: usize) -> Vec<Face> {
        let w = self.opening_m;
        let depth = self.depth_m();
        let corners: Vec<(f64, f64)> = match self.groove {
            Groove::V { apex, .. } => vec![(0.0, 0.0), (f64::from(apex) * w, depth), (w, 0.0)],
            Groove::Trapezoid { bottom_m, .. } => {
                let flank = 0.5 * (w - f64::from(bottom_m));
                vec![(0.0, 0.0), (flank, depth), (w - flank, depth), (w, 0.0)]
            }
            Groove::HalfRound => {
                return arc_chords(0.5 * w, count);
            }
        };
        let faces = corners.len() - 1;
        let per_face = (count / faces).max(2);
        corners
            .windows(2)
            .flat_map(|ends| {
                let (a, b) = (ends[0], ends[1]);
                let at = move |k: usize| {
                    // Chebyshev spacing: light and shadow change fastest at edges and corners.
                    let phase = k as f64 / per_face as f64 * std::f64::consts::PI;
                    let t = 0.5 * (1.0 - phase.cos());
                    (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t)
                };
                (0..per_face).map(move |k| Face {
                    from: at(k),
                    to: at(k + 1),
                })
            })
            .collect()
    }
}

fn arc_chords(radius_m: f64, count: usize) -> Vec<Face> {
    let at = |k: usize| {
        let a = k as f64 / count as f64 * std::f64::consts::PI;
        (radius_m * (1.0 - a.cos()), radius_m * a.sin())
    };
    (0..count)
        .map(|k| Face {
            from: at(k),
            to: at(k + 1),
        })
        .collect()
}

/// int g_i g_o ds over a half circle [m].
///
/// A point at arc angle a (0 at the -Y edge, pi at the +Y edge) has n . d = sin(a + theta) and its line
/// passes the opening where |cos(a + theta)| <= cos theta: for theta > 0 from a = 0 to pi - 2 theta,
/// for theta < 0 from -2 theta to pi.
#[inline]
fn half_round_m(radius_m: f64, light_tangent: f64, eye_tangent: f64) -> f64 {
    let (i, o) = (light_tangent.atan(), eye_tangent.atan());
    let pi = std::f64::consts::PI;
    let from = (-2.0 * i).max(-2.0 * o).max(0.0);
    let to = (pi - 2.0 * i).min(pi - 2.0 * o).min(pi);
    if to <= from {
        return 0.0;
    }
    // int sin(a + i) sin(a + o) da.
    let swing = (2.0 * to + i + o).sin() - (2.0 * from + i + o).sin();
    // cos(i - o) and 1 / (cos i cos o), without more angles.
    let inverse_cosines =
        ((1.0 + light_tangent * light_tangent) * (1.0 + eye_tangent * eye_tangent)).sqrt();
    let between = (1.0 + light_tangent * eye_tangent) / inverse_cosines;
    radius_m * (0.5 * (to - from) * between - 0.25 * swing) * inverse_cosines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_seen_has_the_width_of_the_period() {
        // Looking along the light nothing is in shadow: int g ds = period for every direction.
        for groove in [
            Groove::V {
                depth_m: 0.3,
                apex: 0.8,
            },
            Groove::Trapezoid {
                depth_m: 0.3,
                bottom_m: 0.2,
            },
            Groove::HalfRound,
        ] {
            let profile = ReliefProfile::new(groove, 1.0, 0.4).unwrap();
            for tangent in [-3.0, -0.5, 0.0, 0.2, 1.0, 8.0] {
                let seen: f64 = profile
                    .strips(400)
                    .iter()
                    .map(|f| {
                        let (a, b) = f.reached(tangent, 1.0);
                        f.projected_m(tangent) * (b - a).max(0.0)
                    })
                    .sum();
                assert!((seen - 1.0).abs() < 1e-9, "{groove:?} {tangent}: {seen}");
            }
        }
    }

    #[test]
    fn half_circle_agrees_with_its_chords() {
        let profile = ReliefProfile::new(Groove::HalfRound, 1.0, 0.0).unwrap();
        for (i, o) in [
            (0.0, 0.0),
            (0.5, 0.5),
            (1.0, -0.3),
            (-0.7, -2.0),
            (3.0, 1.0),
        ] {
            let chords: f64 = profile
                .strips(4000)
                .iter()
                .map(|f| f.lit_and_seen_m(i, o, 1.0))
                .sum();
            let closed = profile.lit_and_seen_m(i, o);
            assert!((chords - closed).abs() < 1e-5, "{i} {o}: {chords} {closed}");
        }
    }

    #[test]
    fn a_bottom_wider_than_the_opening_is_refused() {
        let groove = Groove::Trapezoid {
            depth_m: 0.1,
            bottom_m: 0.3,
        };
        assert!(ReliefProfile::new(groove, 0.2, 0.0).is_err());
    }
}
