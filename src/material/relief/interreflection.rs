//! Light that bounces inside a groove, by strip radiosity in the cross-section.
//!
//! The faces are cut into strips; factors between them come from crossed strings
//! (H. C. Hottel, in W. H. McAdams, "Heat Transmission", 3rd ed. 1954), which are exact for strips of
//! infinite length in a convex groove. With K = (1 - rho F)^-1 - 1 the part of the BRDF that was
//! reflected at least twice is
//! f = rho / (pi p) sum_jk s_j(o) K_jk s_k(i) / L_k,
//! s = projected length of what a direction reaches of the strip, per unit of its cosine [m].
//! Errors fall with the square of the strip count; 60 strips are good for 1e-4 of the total.

use glam::Vec3;

use super::profile::{Face, ReliefProfile};
use super::tangent;

/// Slow evaluation of a ridged wall without a table, for checks.
#[derive(Clone, Debug)]
pub struct ExactRelief {
    profile: ReliefProfile,
    reflectance: f64,
    strips: Vec<Face>,
    /// K / L, row-major, symmetric [1/m].
    coupling: Vec<f64>,
}

impl ExactRelief {
    /// Solution of a profile with about `strip_count` strips per groove.
    #[must_use]
    pub fn new(profile: ReliefProfile, reflectance: f32, strip_count: usize) -> Self {
        let strips = profile.strips(strip_count.max(4));
        let reflectance = f64::from(reflectance);
        let coupling = coupling(&strips, reflectance);
        Self {
            profile,
            reflectance,
            strips,
            coupling,
        }
    }

    /// f [1/sr]; 0 below the horizon.
    #[must_use]
    pub fn per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f64 {
        if to_light.z <= 0.0 || to_eye.z <= 0.0 {
            return 0.0;
        }
        let (i, o) = (tangent(to_light), tangent(to_eye));
        let direct = self.profile.lit_and_seen_m(i, o);
        let lit = self.reached_m(i);
        let seen = self.reached_m(o);
        let bounced: f64 = self
            .bounced(&lit)
            .iter()
            .zip(&seen)
            .map(|(b, s)| b * s)
            .sum();
        self.scale() * (direct + bounced)
    }

    /// rho / (pi p).
    fn scale(&self) -> f64 {
        self.reflectance / (std::f64::consts::PI * self.profile.period_m())
    }

    /// Projected length of what a direction reaches of each strip [m].
    fn reached_m(&self, tangent: f64) -> Vec<f64> {
        let opening_m = self.profile.opening_m();
        self.strips
            .iter()
            .map(|f| {
                let (from, to) = f.reached(tangent, opening_m);
                f.projected_m(tangent) * (to - from).max(0.0)
            })
            .collect()
    }

    fn bounced(&self, lit: &[f64]) -> Vec<f64> {
        self.coupling
            .chunks_exact(self.strips.len())
            .map(|row| row.iter().zip(lit).map(|(k, l)| k * l).sum())
            .collect()
    }

    /// Inter-reflected part at every pair of tangents, row-major, symmetric [1/sr].
    pub(crate) fn indirect_table(&self, tangents: &[f64]) -> Vec<f32> {
        let nodes = tangents.len();
        let reached: Vec<Vec<f64>> = tangents.iter().map(|t| self.reached_m(*t)).collect();
        let mut table = vec![0.0_f32; nodes * nodes];
        for (i, lit) in reached.iter().enumerate() {
            let bounced = self.bounced(lit);
            for (j, seen) in reached.iter().enumerate().take(i + 1) {
                let sum: f64 = bounced.iter().zip(seen).map(|(b, s)| b * s).sum();
                let value = (self.scale() * sum) as f32;
                // Both indices are below the node count.
                table[i * nodes + j] = value;
                table[j * nodes + i] = value;
            }
        }
        table
    }
}

/// ((1 - rho F)^-1 - 1) / L, row-major.
fn coupling(strips: &[Face], reflectance: f64) -> Vec<f64> {
    let n = strips.len();
    let lengths: Vec<f64> = strips.iter().map(Face::length_m).collect();
    let mut matrix = vec![0.0; n * n];
    for j in 0..n {
        for k in 0..n {
            // Indices below n on vectors of n and n * n.
            let factor = if j == k {
                0.0
            } else {
                crossed_strings_m(&strips[j], &strips[k]) / lengths[j]
            };
            matrix[j * n + k] = f64::from(u8::from(j == k)) - reflectance * factor;
        }
    }
    let mut inverse = invert(matrix, n);
    for j in 0..n {
        inverse[j * n + j] -= 1.0;
        for k in 0..n {
            inverse[j * n + k] /= lengths[k];
        }
    }
    inverse
}

/// Length x factor between two strips of a convex groove [m]: half the difference of the crossed and
/// the uncrossed strings.
fn crossed_strings_m(a: &Face, b: &Face) -> f64 {
    let distance = |p: (f64, f64), q: (f64, f64)| (p.0 - q.0).hypot(p.1 - q.1);
    let crossed = distance(a.from, b.from) + distance(a.to, b.to);
    let uncrossed = distance(a.from, b.to) + distance(a.to, b.from);
    0.5 * (crossed - uncrossed).abs()
}

/// Inverse by Gauss and Jordan; the matrix is diagonally dominant (1 - rho F, rows of F below 1), so
/// no pivoting is needed.
fn invert(mut matrix: Vec<f64>, n: usize) -> Vec<f64> {
    // In place: column `pivot` of the inverse replaces that of the matrix.
    for pivot in 0..n {
        let scale = 1.0 / matrix[pivot * n + pivot];
        matrix[pivot * n + pivot] = 1.0;
        for k in 0..n {
            matrix[pivot * n + k] *= scale;
        }
        let row: Vec<f64> = matrix[pivot * n..(pivot + 1) * n].to_vec();
        for (j, other) in matrix.chunks_exact_mut(n).enumerate() {
            if j == pivot {
                continue;
            }
            let factor = std::mem::replace(&mut other[pivot], 0.0);
            for (value, pivot_value) in other.iter_mut().zip(&row) {
                *value -= factor * pivot_value;
            }
        }
    }
    matrix
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::relief::Groove;

    #[test]
    fn factor_between_the_faces_of_a_v_is_one_minus_the_sine() {
        // Closed form: F = 1 - sin h for half opening h; h = 30 deg gives 0.5.
        let depth = 0.5 / 30.0_f64.to_radians().tan();
        let left = Face {
            from: (0.0, 0.0),
            to: (0.5, depth),
        };
        let right = Face {
            from: (0.5, depth),
            to: (1.0, 0.0),
        };
        let factor = crossed_strings_m(&left, &right) / left.length_m();
        assert!((factor - 0.5).abs() < 1e-12, "{factor}");
    }

    #[test]
    fn inverse_times_matrix_is_one() {
        let m = vec![1.0, -0.2, 0.1, 0.0, 1.0, -0.3, -0.4, 0.0, 1.0];
        let inverse = invert(m.clone(), 3);
        for j in 0..3 {
            for k in 0..3 {
                let sum: f64 = (0..3).map(|l| m[j * 3 + l] * inverse[l * 3 + k]).sum();
                assert!((sum - f64::from(u8::from(j == k))).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn white_faces_return_everything() {
        // Furnace in the plane: with rho = 1 all light that enters a groove comes out again.
        let profile = ReliefProfile::new(
            Groove::V {
                depth_m: 1.0,
                apex: 0.5,
            },
            1.0,
            0.0,
        )
        .unwrap();
        let wall = super::super::RidgedRelief::new(profile, 1.0).unwrap();
        for z in [1.0_f32, 0.7, 0.3] {
            let v = Vec3::new(0.0, (1.0 - z * z).sqrt(), z);
            let a = wall.directional_albedo(v);
            assert!((a - 1.0).abs() < 3e-3, "cos {z}: {a}");
        }
    }
}
