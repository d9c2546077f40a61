//! The measures of a piece as seen from one place: mean, glow, play, and the shift from place to place.
//!
//! Inputs: one luminance [cd/m2] and one area [m2] a tile, in the same order; outputs are ratios, or per metre.
//! Definitions are this project's own words; the words for accent ratios are museum practice, from memory.
//! Tiles without area do not count; a luminance that is not a number counts as 0. Where slices differ in length, the
//! shortest counts.

use serde::Serialize;

/// Luminance [cd/m2] that stands for a darker tile in ratios and logarithms, so that black gives a number.
/// Own choice: a hundredth of the level at which a tile is too dark to see.
pub const LUMINANCE_FLOOR_CD_M2: f32 = 0.01;

/// Mean luminance [cd/m2] of the tiles, weighted by area; `None` when there is no area.
pub fn area_mean(luminance_cd_m2: &[f32], areas_m2: &[f32]) -> Option<f32> {
    let (mut sum, mut area_sum) = (0.0_f64, 0.0_f64);
    for (&luminance, &area) in luminance_cd_m2.iter().zip(areas_m2) {
        let area = f64::from(area.max(0.0));
        sum += f64::from(luminance.max(0.0)) * area;
        area_sum += area;
    }
    (area_sum > 0.0).then(|| (sum / area_sum) as f32)
}

/// Glow: mean luminance of the piece over that of the wall around it; `None` when the wall gives no light.
pub fn glow(piece_mean_cd_m2: f32, wall_mean_cd_m2: f32) -> Option<f32> {
    (wall_mean_cd_m2 > 0.0).then(|| piece_mean_cd_m2 / wall_mean_cd_m2)
}

/// Play: luminance at the 90th percentile of area over that at the 10th, at least 1; `None` when there is no area.
///
/// Both are held at [`LUMINANCE_FLOOR_CD_M2`] or more.
pub fn play(luminance_cd_m2: &[f32], areas_m2: &[f32]) -> Option<f32> {
    let mut tiles: Vec<(f32, f32)> = luminance_cd_m2
        .iter()
        .zip(areas_m2)
        .map(|(&luminance, &area)| (luminance.max(LUMINANCE_FLOOR_CD_M2), area.max(0.0)))
        .collect();
    let low = weighted_quantile(&mut tiles, 0.1)?;
    let high = weighted_quantile(&mut tiles, 0.9)?;
    Some(high / low)
}

/// Shift [1/m]: area-weighted mean of abs(ln(next / prev)) over `step_m` walked; `None` without area or without a step.
///
/// Luminances are held at [`LUMINANCE_FLOOR_CD_M2`] or more.
pub fn shift_per_m(
    prev_cd_m2: &[f32],
    next_cd_m2: &[f32],
    areas_m2: &[f32],
    step_m: f32,
) -> Option<f32> {
    if step_m.is_nan() || step_m <= 0.0 {
        return None;
    }
    let (mut sum, mut area_sum) = (0.0_f64, 0.0_f64);
    for ((&prev, &next), &area) in prev_cd_m2.iter().zip(next_cd_m2).zip(areas_m2) {
        let area = f64::from(area.max(0.0));
        let change = next.max(LUMINANCE_FLOOR_CD_M2) / prev.max(LUMINANCE_FLOOR_CD_M2);
        sum += f64::from(change.ln().abs()) * area;
        area_sum += area;
    }
    (area_sum > 0.0).then(|| (sum / area_sum / f64::from(step_m)) as f32)
}

/// Smallest value such that at least the share `quantile` (0 to 1) of all weight lies at or below it.
///
/// `items` are (value, weight) and get reordered; `None` when there is no weight. Takes time in proportion to their number.
pub(crate) fn weighted_quantile(items: &mut [(f32, f32)], quantile: f64) -> Option<f32> {
    let total: f64 = items.iter().map(|&(_, weight)| f64::from(weight)).sum();
    if total.is_nan() || total <= 0.0 {
        return None;
    }
    // Slack so that the order of summing does not decide at a boundary.
    let mut wanted = quantile * total - 1e-6 * total;
    let mut rest = items;
    while rest.len() > 1 {
        let middle = rest.len() / 2;
        let (below, at, above) = rest.select_nth_unstable_by(middle, |a, b| a.0.total_cmp(&b.0));
        let weight_below: f64 = below.iter().map(|&(_, weight)| f64::from(weight)).sum();
        if wanted <= weight_below && weight_below > 0.0 {
            rest = below;
        } else if wanted <= weight_below + f64::from(at.1) || above.iter().all(|a| a.1 <= 0.0) {
            return Some(at.0);
        } else {
            wanted -= weight_below + f64::from(at.1);
            rest = above;
        }
    }
    rest.first().map(|item| item.0)
}

/// What a ratio of piece to wall amounts to, in the words of the trade. A word, not a limit.
///
/// 3:1 least accent and 1:10 significant differentiation: trade guides; 2:1, 5:1 and 15:1: museum practice, from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Accent {
    /// Darker than the wall.
    Darker,
    /// Below 2:1.
    Level,
    /// From 2:1.
    Noticeable,
    /// From 3:1.
    Accented,
    /// From 5:1.
    Clear,
    /// From 10:1.
    Strong,
    /// From 15:1.
    Theatrical,
}

impl Accent {
    /// The accent of a glow.
    pub fn of(glow: f32) -> Self {
        match glow {
            g if g >= 15.0 => Self::Theatrical,
            g if g >= 10.0 => Self::Strong,
            g if g >= 5.0 => Self::Clear,
            g if g >= 3.0 => Self::Accented,
            g if g >= 2.0 => Self::Noticeable,
            g if g >= 1.0 => Self::Level,
            _ => Self::Darker,
        }
    }

    /// The words for reports.
    pub fn words(self) -> &'static str {
        match self {
            Self::Darker => "darker than the wall",
            Self::Level => "level with the wall",
            Self::Noticeable => "just noticeably brighter than the wall",
            Self::Accented => "an accent",
            Self::Clear => "a clear accent",
            Self::Strong => "a strong accent",
            Self::Theatrical => "a theatrical accent",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mean_is_weighted_by_area() {
        assert_eq!(area_mean(&[10.0, 40.0], &[3.0, 1.0]), Some(17.5));
        assert_eq!(area_mean(&[10.0], &[0.0]), None);
        assert_eq!(area_mean(&[], &[]), None);
    }

    #[test]
    fn glow_needs_a_lit_wall() {
        assert_eq!(glow(30.0, 10.0), Some(3.0));
        assert_eq!(glow(30.0, 0.0), None);
        assert_eq!(Accent::of(3.0), Accent::Accented);
        assert_eq!(Accent::of(0.9), Accent::Darker);
    }

    #[test]
    fn play_ignores_a_small_hot_tile() {
        // 5 % of the area at 1000, the rest half at 10 and half at 40: L90 is 40, L10 is 10.
        let play = play(&[1000.0, 10.0, 40.0], &[0.05, 0.475, 0.475]).unwrap();
        assert!((play - 4.0).abs() < 1e-6, "play {play}, expected 4");
    }

    #[test]
    fn play_of_one_to_a_hundred_is_nine() {
        // Equal areas, luminances 1..=100: L90 = 90, L10 = 10. In a scrambled order.
        let luminance: Vec<f32> = (0..100).map(|i| ((i * 37) % 100 + 1) as f32).collect();
        let play = play(&luminance, &[0.01; 100]).unwrap();
        assert!((play - 9.0).abs() < 1e-5, "play {play}, expected 9");
    }

    #[test]
    fn play_of_black_is_finite() {
        assert_eq!(play(&[0.0, 0.0], &[1.0, 1.0]), Some(1.0));
        let half_black = play(&[0.0, 10.0], &[1.0, 1.0]).unwrap();
        assert!((half_black - 1000.0).abs() < 0.1, "{half_black}");
        assert_eq!(play(&[1.0], &[0.0]), None);
    }

    #[test]
    fn shift_is_the_mean_log_change_over_the_step() {
        // Areas 1 and 3; ln 2 and 0; step 0.5 m: 0.25 ln 2 / 0.5 = 0.346574.
        let shift = shift_per_m(&[10.0, 5.0], &[20.0, 5.0], &[1.0, 3.0], 0.5).unwrap();
        assert!(
            (shift - 0.346_574).abs() < 1e-5,
            "shift {shift} per m, expected 0.346574"
        );
        let back = shift_per_m(&[20.0, 5.0], &[10.0, 5.0], &[1.0, 3.0], 0.5).unwrap();
        assert!(
            (shift - back).abs() < 1e-6,
            "walking back {back}, there {shift}"
        );
        assert!(shift_per_m(&[0.0], &[0.0], &[1.0], 0.5) == Some(0.0));
        assert_eq!(shift_per_m(&[1.0], &[2.0], &[1.0], 0.0), None);
    }

    #[test]
    fn weighted_quantile_equals_sorting() {
        // A fixed scrambled sequence with ties and zero weights.
        let items: Vec<(f32, f32)> = (0_u32..257)
            .map(|i| (((i * 7919) % 101) as f32, ((i * 104_729) % 5) as f32))
            .collect();
        let total: f64 = items.iter().map(|i| f64::from(i.1)).sum();
        let mut sorted = items.clone();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        for quantile in [0.0, 0.1, 0.333, 0.5, 0.9, 1.0] {
            let mut sum = 0.0;
            let expected = sorted
                .iter()
                .filter(|item| item.1 > 0.0)
                .find(|item| {
                    sum += f64::from(item.1);
                    sum >= (quantile - 1e-6) * total
                })
                .map(|item| item.0);
            let actual = weighted_quantile(&mut items.clone(), quantile);
            assert_eq!(actual, expected, "quantile {quantile}");
        }
    }
}
