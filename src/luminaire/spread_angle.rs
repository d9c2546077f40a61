//! Beam and field angle of any distribution: the full angle between directions at a share of the peak.
//!
//! Source: definitions of beam angle (50 %) and field angle (10 %) of the CIE and the IES (from memory).
//! The published definitions leave open what to do with a hollow or lopsided beam. Here: the axis is
//! straight down (or up, if brighter) where that has at least half the peak intensity or the distribution is
//! hollow and symmetric about it; otherwise the direction of the peak. In half-planes about that axis, every
//! 5 degrees, the angle is where intensity falls below the share for the first time outside the largest
//! intensity of that half-plane; the mean of them counts twice. A best effort for people, never used in light
//! transport.

use std::f32::consts::{PI, TAU};

use glam::Vec3;

use super::distribution::IntensityDistribution;

const HALF_PLANES: usize = 72;
/// March of 0.2 degrees.
const STEPS: usize = 900;

/// Mean full angle at `share` of the peak [rad], in 0..=2 pi; 0 for a distribution without light.
pub(super) fn full_angle_rad(distribution: &IntensityDistribution, share: f32) -> f32 {
    let (peak_cd, _, _) = distribution.peak_cd();
    if peak_cd <= 0.0 {
        return 0.0;
    }
    let threshold_cd = share * peak_cd;
    let axis_dir = axis(distribution, peak_cd);
    let (side, other) = axis_dir.any_orthonormal_pair();
    let sum_rad: f32 = (0..HALF_PLANES)
        .map(|k| {
            let (sin, cos) = (TAU * k as f32 / HALF_PLANES as f32).sin_cos();
            half_angle_rad(
                distribution,
                axis_dir,
                side * cos + other * sin,
                threshold_cd,
            )
        })
        .sum();
    2.0 * sum_rad / HALF_PLANES as f32
}

fn axis(distribution: &IntensityDistribution, peak_cd: f32) -> Vec3 {
    let down_cd = distribution.intensity_cd(Vec3::NEG_Z);
    let up_cd = distribution.intensity_cd(Vec3::Z);
    let vertical = if up_cd > down_cd {
        Vec3::Z
    } else {
        Vec3::NEG_Z
    };
    if down_cd.max(up_cd) >= 0.5 * peak_cd {
        return vertical;
    }
    let peak_dir = distribution.peak_dir();
    // Opposite the peak across the vertical axis: as bright there means a hollow beam.
    let opposite = Vec3::new(-peak_dir.x, -peak_dir.y, peak_dir.z);
    if distribution.intensity_cd(opposite) >= 0.9 * peak_cd {
        return if peak_dir.z > 0.0 {
            Vec3::Z
        } else {
            Vec3::NEG_Z
        };
    }
    peak_dir
}

fn half_angle_rad(
    distribution: &IntensityDistribution,
    axis_dir: Vec3,
    outward_dir: Vec3,
    threshold_cd: f32,
) -> f32 {
    let at = |angle_rad: f32| {
        let (sin, cos) = angle_rad.sin_cos();
        distribution.intensity_cd(axis_dir * cos + outward_dir * sin)
    };
    let step_rad = PI / STEPS as f32;
    let mut brightest = (0, at(0.0));
    for i in 1..=STEPS {
        let intensity_cd = at(i as f32 * step_rad);
        if intensity_cd > brightest.1 {
            brightest = (i, intensity_cd);
        }
    }
    let start = if brightest.1 >= threshold_cd {
        brightest.0
    } else {
        0
    };
    for i in start + 1..=STEPS {
        if at(i as f32 * step_rad) < threshold_cd {
            let (mut low, mut high) = ((i - 1) as f32 * step_rad, i as f32 * step_rad);
            for _ in 0..20 {
                let middle = 0.5 * (low + high);
                if at(middle) < threshold_cd {
                    high = middle;
                } else {
                    low = middle;
                }
            }
            return low;
        }
    }
    PI
}
