//! Numbering of tiles like words on a page.

use glam::DVec2;

/// Indices of tiles row by row from the top, each row from left to right.
///
/// A row holds all centroids less than half a median tile height below its topmost one. Positions
/// are compared in micrometres, so that equal rows do not part by rounding.
pub(super) fn reading_order(centroids_m: &[DVec2], heights_m: &[f64]) -> Vec<usize> {
    let micro = |v: f64| (v * 1e6).round() as i64;
    let mut heights: Vec<i64> = heights_m.iter().map(|h| micro(*h)).collect();
    heights.sort_unstable();
    let band = heights.get(heights.len() / 2).copied().unwrap_or(0) / 2;
    let mut places: Vec<(i64, i64, usize)> = centroids_m
        .iter()
        .enumerate()
        .map(|(index, p)| (-micro(p.y), micro(p.x), index))
        .collect();
    places.sort_unstable();
    let mut top = None;
    for place in &mut places {
        let row = *top.get_or_insert(place.0);
        if place.0 - row < band.max(1) {
            place.0 = row;
        } else {
            top = Some(place.0);
        }
    }
    places.sort_unstable();
    places.into_iter().map(|(_, _, index)| index).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn uneven_rows_are_read_from_the_top_left() {
        let centroids = [
            DVec2::new(1.0, 0.0),
            DVec2::new(0.0, 0.04),
            DVec2::new(0.5, -1.0),
            DVec2::new(0.2, -0.96),
        ];
        assert_eq!(reading_order(&centroids, &[0.2; 4]), vec![1, 0, 3, 2]);
    }
}
