//! How far fixtures are dimmed for a wanted light: least squares with every output between 0 and 1.

/// Sweeps after which the outputs are taken as they are.
const MOST_SWEEPS: usize = 400;
/// Change of an output below which it is at rest.
const AT_REST: f64 = 1e-7;

/// Outputs x, each in 0..=1, that minimise the sum over points of weight x (sum x column + base - goal)^2.
///
/// `columns`: one list of values a source, one value a point, all as long as `base`, `goal` and `weights`. The problem is convex; its
/// normal equations are solved by going through the outputs one by one, each to its best within the bounds
/// (C. Hildreth, "A quadratic programming procedure", 1957). A source that gives no light stays at 0.
pub fn dimming(columns: &[&[f32]], base: &[f32], goal: &[f32], weights: &[f32]) -> Vec<f32> {
    let count = columns.len();
    let dot = |a: &[f32], b: &dyn Fn(usize) -> f64| -> f64 {
        a.iter()
            .enumerate()
            .map(|(t, v)| f64::from(*v) * f64::from(weights[t]) * b(t))
            .sum()
    };
    let wanted: Vec<f64> = columns
        .iter()
        .map(|c| dot(c, &|t| f64::from(goal[t] - base[t])))
        .collect();
    let gram: Vec<Vec<f64>> = (0..count)
        .map(|i| {
            (0..count)
                .map(|j| dot(columns[i], &|t| f64::from(columns[j][t])))
                .collect()
        })
        .collect();
    let mut x = vec![0.0_f64; count];
    for _ in 0..MOST_SWEEPS {
        let mut change = 0.0_f64;
        for i in 0..count {
            if gram[i][i] <= 0.0 {
                continue;
            }
            let rest: f64 = (0..count).map(|j| gram[i][j] * x[j]).sum();
            let best = (x[i] + (wanted[i] - rest) / gram[i][i]).clamp(0.0, 1.0);
            change = change.max((best - x[i]).abs());
            x[i] = best;
        }
        if change < AT_REST {
            break;
        }
    }
    x.into_iter().map(|v| v as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn solve(columns: &[&[f32]], goal: &[f32]) -> Vec<f32> {
        let ones = vec![1.0; goal.len()];
        dimming(columns, &vec![0.0; goal.len()], goal, &ones)
    }

    /// Two columns at right angles: the optimum is the projection on each, (3, 4) / (5, 10).
    #[test]
    fn columns_at_right_angles_have_the_projection() {
        let x = solve(&[&[5.0, 0.0], &[0.0, 10.0]], &[3.0, 4.0]);
        assert!(
            (x[0] - 0.6).abs() < 1e-5 && (x[1] - 0.4).abs() < 1e-5,
            "{x:?}"
        );
    }

    /// Columns (2, 1) and (1, 2), goal (1, 1): by symmetry x = y, 3 x = 1.
    #[test]
    fn overlapping_columns_share_the_light() {
        let x = solve(&[&[2.0, 1.0], &[1.0, 2.0]], &[1.0, 1.0]);
        assert!(x.iter().all(|v| (v - 1.0 / 3.0).abs() < 1e-5), "{x:?}");
    }

    /// Columns (1, 1) and (0, 1), goal (1, 0): without bounds y would be -1; at the bound y = 0 the best x is
    /// (1 + 0) / 2.
    #[test]
    fn no_output_is_negative() {
        let x = solve(&[&[1.0, 1.0], &[0.0, 1.0]], &[1.0, 0.0]);
        assert!((x[0] - 0.5).abs() < 1e-5 && x[1] == 0.0, "{x:?}");
    }

    #[test]
    fn no_output_is_above_full_and_a_dark_source_stays_off() {
        let x = solve(&[&[1.0, 1.0], &[0.0, 0.0]], &[5.0, 5.0]);
        assert_eq!(x, [1.0, 0.0]);
    }
}
