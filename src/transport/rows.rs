//! Sparse rows of weights on the luminance vector.

use std::ops::Range;

/// One weight: `value += weight * luminance[target]`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry {
    /// Index in the luminance vector.
    pub target: u32,
    /// Weight; [sr] for illuminance rows, [1] for luminance rows.
    pub weight: f32,
}

/// Sorts by target and adds up equal targets, dropping zeros.
pub(super) fn merge(entries: &mut Vec<Entry>) {
    entries.sort_unstable_by_key(|e| e.target);
    let mut kept = 0;
    for i in 0..entries.len() {
        if kept > 0 && entries[kept - 1].target == entries[i].target {
            entries[kept - 1].weight += entries[i].weight;
        } else {
            entries[kept] = entries[i];
            kept += 1;
        }
    }
    entries.truncate(kept);
    entries.retain(|e| e.weight != 0.0);
}

/// Sum of weight times luminance.
#[inline]
pub(super) fn dot(entries: &[Entry], luminance_cd_m2: &[f32]) -> f32 {
    entries
        .iter()
        .map(|e| e.weight * luminance_cd_m2[e.target as usize])
        .sum()
}

/// Rows stored end to end.
#[derive(Clone, Debug, Default)]
pub struct SparseRows {
    ends: Vec<u32>,
    entries: Vec<Entry>,
}

impl SparseRows {
    /// Rows in the order given.
    pub fn from_rows(rows: Vec<Vec<Entry>>) -> Self {
        let mut all = Self {
            ends: Vec::with_capacity(rows.len()),
            entries: Vec::new(),
        };
        all.entries.reserve_exact(rows.iter().map(Vec::len).sum());
        for row in rows {
            all.entries.extend_from_slice(&row);
            all.ends.push(all.entries.len() as u32);
        }
        all
    }

    /// How many rows there are.
    pub fn row_count(&self) -> usize {
        self.ends.len()
    }

    /// How many weights there are in all.
    pub fn entry_count(&self) -> usize {
        self.entries.len()
    }

    fn range(&self, row: usize) -> Range<usize> {
        let start = if row == 0 {
            0
        } else {
            self.ends[row - 1] as usize
        };
        start..self.ends[row] as usize
    }

    /// The weights of one row, by rising target.
    #[inline]
    pub fn row(&self, row: usize) -> &[Entry] {
        &self.entries[self.range(row)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn merging_keeps_the_product_and_sorts() {
        let e = |target, weight| Entry { target, weight };
        let mut row = vec![e(3, 1.0), e(1, 2.0), e(3, 0.5), e(0, 0.0)];
        let luminance = [10.0, 20.0, 0.0, 4.0];
        let before = dot(&row, &luminance);
        merge(&mut row);
        assert_eq!(row, vec![e(1, 2.0), e(3, 1.5)]);
        assert_eq!(dot(&row, &luminance), before);
    }
}
