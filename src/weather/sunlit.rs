//! The part of an hour with the sun up.
//!
//! Input: the start of an hour and a site; output: the middle of the sunlit part and its share of the hour. The sun is up
//! while its apparent centre is above a flat horizon. Method: the short solar formula, sampled every five minutes and
//! bisected at the edges, and only in hours near the horizon.

use jiff::{SignedDuration, Timestamp};

use crate::sun::compact::compact_sun;
use crate::sun::{Atmosphere, Site, delta_t};

/// Samples in an hour that may hold the horizon.
const STEP_COUNT: usize = 12;

/// Kept above the horizon [rad], so that the full position is above it wherever the short one is (0.01 deg).
const MARGIN_RAD: f64 = 0.01 / 180.0 * std::f64::consts::PI;

/// Middle of the sunlit part of the hour from `start` and its share, 0..=1; the plain middle where the sun stays down.
pub(super) fn sunlit_part(start: Timestamp, site: &Site) -> (Timestamp, f32) {
    let start_s = start.as_millisecond() as f64 / 1000.0;
    let delta_t_s = delta_t::delta_t_s(start);
    let air = Atmosphere::at_elevation(site.elevation_m);
    let height = |after_s: f64| {
        let true_rad = compact_sun(start_s + after_s, site, delta_t_s).true_elevation_rad;
        true_rad + air.refraction_rad(true_rad) - MARGIN_RAD
    };
    let at = |after_s: f64| {
        start
            .checked_add(SignedDuration::from_millis(
                (after_s * 1000.0).round() as i64
            ))
            .unwrap_or(start)
    };
    // in an hour the sun moves at most 15 deg in height
    let middle = height(1800.0);
    if middle > 0.14 {
        return (at(1800.0), 1.0);
    }
    if middle < -0.14 {
        return (at(1800.0), 0.0);
    }

    let step_s = 3600.0 / STEP_COUNT as f64;
    let up: Vec<bool> = (0..=STEP_COUNT)
        .map(|k| height(k as f64 * step_s) > 0.0)
        .collect();
    // the longest run of samples with the sun up
    let (mut best, mut run_start) = (None::<(usize, usize)>, None);
    for k in 0..=STEP_COUNT + 1 {
        match (up.get(k).copied().unwrap_or(false), run_start) {
            (true, None) => run_start = Some(k),
            (false, Some(first)) => {
                if best.is_none_or(|(a, b)| k - first > b - a + 1) {
                    best = Some((first, k - 1));
                }
                run_start = None;
            }
            _ => {}
        }
    }
    let Some((first, last)) = best else {
        return (at(1800.0), 0.0);
    };
    let edge = |mut down_s: f64, mut up_s: f64| {
        for _ in 0..20 {
            let half_s = (down_s + up_s) / 2.0;
            if height(half_s) > 0.0 {
                up_s = half_s;
            } else {
                down_s = half_s;
            }
        }
        up_s
    };
    let first_s = first as f64 * step_s;
    let last_s = last as f64 * step_s;
    let rise_s = if first == 0 {
        0.0
    } else {
        edge(first_s - step_s, first_s)
    };
    let set_s = if last == STEP_COUNT {
        3600.0
    } else {
        edge(last_s + step_s, last_s)
    };
    (
        at((rise_s + set_s) / 2.0),
        ((set_s - rise_s) / 3600.0) as f32,
    )
}
