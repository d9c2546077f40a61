//! Flags that touch in space and time become one stretch.

use std::collections::BTreeMap;

use super::{Cause, Flag};

/// A connected part of a walk-by-day chart with one cause.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Letter in the chart.
    pub letter: char,
    /// Why.
    pub cause: Cause,
    /// First and last station (index).
    pub stations: (usize, usize),
    /// First and last instant (index).
    pub instants: (usize, usize),
    /// Cells in it.
    pub cell_count: usize,
    /// Ids of all tiles concerned, rising.
    pub tiles: Vec<u32>,
    /// Worst severity in it.
    pub severity: f32,
    /// Largest luminance concerned [cd/m2].
    pub luminance_cd_m2: f32,
    /// The pane (index) that the sun comes through, where it is about the sun.
    pub through: Option<usize>,
    /// The surface (index) that stands between, where the piece is hidden.
    pub behind: Option<usize>,
    /// One sentence for a client; filled by [`super::words`].
    pub sentence: String,
}

/// Joins flags of one cause over neighbouring stations and instants (also across a corner).
///
/// `flags` is instant-major. Stretches come largest first; letters follow causes, so that all
/// stretches of one cause share a letter.
pub(super) fn merge(flags: &[Vec<Flag>], station_count: usize) -> Vec<Stretch> {
    let mut by_cause: BTreeMap<Cause, BTreeMap<usize, &Flag>> = BTreeMap::new();
    for (cell, list) in flags.iter().enumerate() {
        for flag in list {
            by_cause.entry(flag.cause).or_default().insert(cell, flag);
        }
    }
    let mut stretches = Vec::new();
    for (cause, mut cells) in by_cause {
        while let Some((&start, _)) = cells.iter().next() {
            let mut open = vec![start];
            let mut stretch = Stretch::empty(cause);
            while let Some(cell) = open.pop() {
                let Some(flag) = cells.remove(&cell) else {
                    continue;
                };
                let (t, s) = (cell / station_count, cell % station_count);
                stretch.take(flag, s, t);
                for dt in -1_i64..=1 {
                    for ds in -1_i64..=1 {
                        let (nt, ns) = (t as i64 + dt, s as i64 + ds);
                        if nt >= 0 && ns >= 0 && (ns as usize) < station_count {
                            let next = nt as usize * station_count + ns as usize;
                            if cells.contains_key(&next) {
                                open.push(next);
                            }
                        }
                    }
                }
            }
            stretch.tiles.sort_unstable();
            stretch.tiles.dedup();
            stretches.push(stretch);
        }
    }
    stretches.sort_by(|a, b| {
        b.cell_count
            .cmp(&a.cell_count)
            .then(a.cause.cmp(&b.cause))
            .then(a.instants.cmp(&b.instants))
            .then(a.stations.cmp(&b.stations))
    });
    let mut letters: BTreeMap<Cause, char> = BTreeMap::new();
    for stretch in &mut stretches {
        let next = letters.len();
        let letter = *letters.entry(stretch.cause).or_insert_with(|| letter(next));
        stretch.letter = letter;
    }
    stretches
}

/// The letter of the n-th cause: A to Z, then a to z, then an asterisk.
fn letter(index: usize) -> char {
    let index = index as u32;
    match index {
        0..26 => char::from_u32('A' as u32 + index),
        26..52 => char::from_u32('a' as u32 + index - 26),
        _ => None,
    }
    .unwrap_or('*')
}

impl Stretch {
    fn empty(cause: Cause) -> Self {
        Self {
            letter: ' ',
            cause,
            stations: (usize::MAX, 0),
            instants: (usize::MAX, 0),
            cell_count: 0,
            tiles: Vec::new(),
            severity: 0.0,
            luminance_cd_m2: 0.0,
            through: None,
            behind: None,
            sentence: String::new(),
        }
    }

    /// One flag alone, at the first station and instant.
    pub(super) fn of(flag: &Flag) -> Self {
        let mut stretch = Self::empty(flag.cause);
        stretch.take(flag, 0, 0);
        stretch
    }

    fn take(&mut self, flag: &Flag, station: usize, instant: usize) {
        self.stations = (self.stations.0.min(station), self.stations.1.max(station));
        self.instants = (self.instants.0.min(instant), self.instants.1.max(instant));
        self.cell_count += 1;
        self.tiles.extend_from_slice(&flag.tiles);
        self.through = self.through.or(flag.through);
        self.behind = self.behind.or(flag.behind);
        self.severity = self.severity.max(flag.severity);
        self.luminance_cd_m2 = self.luminance_cd_m2.max(flag.luminance_cd_m2);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flag(cause: Cause) -> Flag {
        Flag {
            tiles: vec![3],
            ..Flag::new(cause, 2.0)
        }
    }

    #[test]
    fn touching_cells_join_and_distant_ones_do_not() {
        // 4 stations x 3 instants.
        let mut flags = vec![Vec::new(); 12];
        for cell in [0, 1, 6, 11] {
            flags[cell].push(flag(Cause::TooDark));
        }
        flags[3].push(flag(Cause::TooDark));
        flags[8].push(flag(Cause::SunInView));
        let merged = merge(&flags, 4);
        // 0, 1, 6 (diagonal), 11 (diagonal) and 3 (touches 6) are one; the sun is another.
        assert_eq!(merged.len(), 2);
        assert_eq!(merged[0].cell_count, 5);
        assert_eq!(merged[0].stations, (0, 3));
        assert_eq!(merged[0].instants, (0, 2));
        assert_eq!(merged[0].letter, 'A');
        assert_eq!(merged[1].letter, 'B');
        assert_eq!(merged[0].tiles, vec![3]);
    }

    #[test]
    fn cells_at_the_two_ends_of_a_row_do_not_touch() {
        let mut flags = vec![Vec::new(); 8];
        flags[3].push(flag(Cause::Hidden));
        flags[4].push(flag(Cause::Hidden));
        assert_eq!(merge(&flags, 4).len(), 2);
    }
}
