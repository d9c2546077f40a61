//! Choosing an arrow for every tile: exchange of single arrows until none helps, from several starts.

use rayon::prelude::*;

use crate::{room::GrainWish, sampling::hash};

/// Share of the area in strong pairs that makes a pattern strong, see [`crate::measure::reads`].
const STRONG_SHARE: f32 = 1.0 / 3.0;
/// How steeply a pair counts on the way to a strong ratio.
const STEEPNESS: i32 = 6;
/// Ratio beyond which a pair gains no more, as octaves (ten times), and what depth counts beside strength (own choice).
const MOST_OCTAVES: f32 = 3.32;
const DEPTH_WEIGHT: f32 = 0.05;
/// What the change between stations counts beside strength (own choice).
const SHIFT_WEIGHT: f32 = 0.3;
/// Change of the logarithm of luminance per metre that counts in full [1/m] (own choice).
const FULL_SHIFT_PER_M: f32 = 0.7;
/// What glints count beside strength, and the share of the area at which they count in full (own choice).
const GLINT_WEIGHT: f32 = 0.7;
const FULL_GLINT: f32 = 0.01;
/// What a flip counts beside a difference (own choice).
const FLIP_WEIGHT: f32 = 2.0;
/// Least gain of an exchange.
const LEAST_GAIN: f64 = 1e-7;
/// Starts beside the present arrows, and sweeps of each.
const STARTS: u32 = 2;
const MOST_SWEEPS: usize = 30;

/// Luminances of every tile with every arrow.
#[derive(Clone, Debug)]
pub struct ArrowTable {
    /// Arrows; 0 is the present one of each tile.
    pub arrows: usize,
    /// Instants.
    pub instants: usize,
    /// Stations.
    pub stations: usize,
    /// Tiles.
    pub tiles: usize,
    /// Logarithm to base 2 of the luminance [cd/m2]; arrow, instant, station, tile, tile fastest.
    pub log2_luminance: Vec<f32>,
    /// Share of each tile that is seen, station-major.
    pub visible: Vec<f32>,
    /// Luminance that counts as a glint, instant-major over stations [cd/m2].
    pub glint_cd_m2: Vec<f32>,
    /// Weight of each instant.
    pub instant_weights: Vec<f32>,
    /// Visitors' time at each station.
    pub station_weights: Vec<f32>,
    /// Luminance from which a tile ten times as bright as its neighbour drowns the rest, instant-major over stations [cd/m2].
    pub hot_cd_m2: Vec<f32>,
    /// Distance from each station to the next [m].
    pub gaps_m: Vec<f32>,
    /// Areas of the tiles [m2].
    pub areas_m2: Vec<f32>,
    /// Tiles that touch.
    pub neighbours: Vec<(u32, u32)>,
    /// Luminance below which nothing is seen well [cd/m2].
    pub dark_cd_m2: f32,
}

impl ArrowTable {
    #[inline]
    fn log2_at(&self, arrow: usize, instant: usize, station: usize, tile: usize) -> f32 {
        self.log2_luminance
            [((arrow * self.instants + instant) * self.stations + station) * self.tiles + tile]
    }

    #[inline]
    fn sees(&self, station: usize, tile: usize) -> bool {
        self.visible[station * self.tiles + tile] > 0.0
    }

    /// Mean ratio of brighter to darker over pairs, and the share of pairs that flip along the walk at some instant.
    pub fn steadiness(&self, chosen: &[usize], pairs: &[(u32, u32)]) -> (f32, f32) {
        const NOTABLE: f32 = 1.1;
        let (mut sum, mut count, mut flips) = (0.0, 0.0_f32, 0.0);
        for (a, b) in pairs {
            let mut flipped = false;
            for i in 0..self.instants {
                let (mut up, mut down) = (0.0_f32, 0.0_f32);
                for s in 0..self.stations {
                    let Some(log) = self.log_ratio(chosen, (*a, *b), i, s) else {
                        continue;
                    };
                    sum += log.abs();
                    count += 1.0;
                    up = up.max(log);
                    down = down.max(-log);
                }
                flipped |= up.min(down) > NOTABLE.ln();
            }
            flips += f32::from(u8::from(flipped));
        }
        (
            (sum / count.max(1.0)).exp(),
            flips / pairs.len().max(1) as f32,
        )
    }

    fn log_ratio(
        &self,
        chosen: &[usize],
        pair: (u32, u32),
        instant: usize,
        station: usize,
    ) -> Option<f32> {
        let (a, b) = (pair.0 as usize, pair.1 as usize);
        if !self.sees(station, a) || !self.sees(station, b) {
            return None;
        }
        let l = |t: usize| self.log2_at(chosen[t], instant, station, t);
        Some((l(a) - l(b)) * std::f32::consts::LN_2)
    }
}

/// A search to be made.
pub struct Exchange<'a> {
    /// Luminances.
    pub table: &'a ArrowTable,
    /// Tiles that turn together, as indices.
    pub groups: &'a [Vec<usize>],
    /// What is wanted.
    pub wish: GrainWish,
    /// Pairs that must not flip; for steadiness only.
    pub pairs: &'a [(u32, u32)],
    /// Seed of the starts.
    pub seed: u32,
}

/// The arrow (index) of every tile. The present arrows are one of the starts: the answer is never worse by the table.
pub fn exchange(search: &Exchange) -> Vec<usize> {
    let ends: Vec<(f64, Vec<usize>)> = (0..=STARTS)
        .into_par_iter()
        .map(|start| from_start(search, start))
        .collect();
    // Another start must beat the present arrows' own end clearly: less is to be turned.
    ends.into_iter()
        .reduce(|a, b| if b.0 > a.0 + 1e-4 { b } else { a })
        .map_or_else(|| vec![0; search.table.tiles], |best| best.1)
}

/// The end of one start and its value.
fn from_start(search: &Exchange, start: u32) -> (f64, Vec<usize>) {
    let mut chosen = vec![0_usize; search.table.tiles];
    if start > 0 {
        for (g, group) in search.groups.iter().enumerate() {
            let draw = hash(hash(search.seed, start), g as u32) as usize;
            for t in group {
                chosen[*t] = draw % search.table.arrows;
            }
        }
    }
    let mut state = State::new(search, chosen);
    for _ in 0..MOST_SWEEPS {
        let mut moved = false;
        for group in search.groups {
            moved |= state.improve(group);
        }
        if !moved {
            break;
        }
    }
    // Counted anew, without what rounding has gathered.
    state.sums = state.counted();
    (state.total(), state.chosen)
}

/// A choice with its sums.
struct State<'a> {
    search: &'a Exchange<'a>,
    chosen: Vec<usize>,
    /// Pairs (index in the list that counts) of each tile.
    pairs_of: Vec<Vec<u32>>,
    list: &'a [(u32, u32)],
    area_m2: f32,
    sums: Part,
}

impl<'a> State<'a> {
    fn new(search: &'a Exchange<'a>, chosen: Vec<usize>) -> Self {
        let list = match search.wish {
            GrainWish::Lively => &search.table.neighbours,
            GrainWish::Steady => search.pairs,
        };
        let mut pairs_of = vec![Vec::new(); search.table.tiles];
        for (p, (a, b)) in list.iter().enumerate() {
            pairs_of[*a as usize].push(p as u32);
            pairs_of[*b as usize].push(p as u32);
        }
        let mut state = Self {
            area_m2: search.table.areas_m2.iter().sum::<f32>().max(1e-9),
            search,
            chosen,
            pairs_of,
            list,
            sums: Part::default(),
        };
        state.sums = state.counted();
        state
    }

    /// Puts a group to its best arrow; whether that was another.
    fn improve(&mut self, group: &[usize]) -> bool {
        let touched = self.touched(group);
        let before = self.chosen[group[0]];
        let uniform = group.iter().all(|t| self.chosen[*t] == before);
        let old: Vec<usize> = group.iter().map(|t| self.chosen[*t]).collect();
        let here = self.part(&touched);
        let now = self.value(&here, &here);
        let mut best: (f64, Option<(usize, Part)>) = (now, None);
        for arrow in 0..self.search.table.arrows {
            if uniform && arrow == before {
                continue;
            }
            for t in group {
                self.chosen[*t] = arrow;
            }
            let there = self.part(&touched);
            let value = self.value(&here, &there);
            if value > best.0 + LEAST_GAIN {
                best = (value, Some((arrow, there)));
            }
        }
        let Some((arrow, there)) = best.1 else {
            for (t, old) in group.iter().zip(old) {
                self.chosen[*t] = old;
            }
            return false;
        };
        for t in group {
            self.chosen[*t] = arrow;
        }
        self.sums.replace(&here, &there);
        true
    }

    /// Tiles whose part changes when a group turns: itself and all its neighbours; pairs for steadiness.
    fn touched(&self, group: &[usize]) -> Touched {
        let mut tiles: Vec<usize> = group.to_vec();
        let mut pairs: Vec<u32> = Vec::new();
        for t in group {
            for p in &self.pairs_of[*t] {
                let (a, b) = self.list[*p as usize];
                tiles.push(a as usize);
                tiles.push(b as usize);
                pairs.push(*p);
            }
        }
        tiles.sort_unstable();
        tiles.dedup();
        pairs.sort_unstable();
        pairs.dedup();
        Touched {
            tiles,
            pairs,
            group: group.to_vec(),
        }
    }

    /// Everything counted anew.
    fn counted(&self) -> Part {
        let all = Touched {
            tiles: (0..self.search.table.tiles).collect(),
            pairs: (0..self.list.len() as u32).collect(),
            group: (0..self.search.table.tiles).collect(),
        };
        self.part(&all)
    }

    fn total(&self) -> f64 {
        self.value(&Part::default(), &Part::default())
    }

    /// What some tiles and pairs add.
    fn part(&self, touched: &Touched) -> Part {
        match self.search.wish {
            GrainWish::Lively => self.lively(touched),
            GrainWish::Steady => self.steady(touched),
        }
    }

    fn lively(&self, touched: &Touched) -> Part {
        let table = self.search.table;
        let mut part = Part::default();
        for i in 0..table.instants {
            for s in 0..table.stations {
                let (mut strong, mut depth, mut glints) = (0.0, 0.0, 0.0);
                let glint = table.glint_cd_m2[i * table.stations + s].log2();
                let overpowering = table.hot_cd_m2[i * table.stations + s].max(1e-3).log2();
                for t in &touched.tiles {
                    let (octaves, hot) = self.best_pair(*t, (i, s), (glint, overpowering));
                    if hot {
                        glints += table.areas_m2[*t];
                    }
                    strong += table.areas_m2[*t] * octaves.min(1.0).powi(STEEPNESS);
                    depth += table.areas_m2[*t] * octaves / MOST_OCTAVES;
                }
                for t in &touched.group {
                    if table.sees(s, *t) && table.log2_at(self.chosen[*t], i, s, *t) > glint {
                        glints += table.areas_m2[*t];
                    }
                }
                part.strong.push(strong);
                part.depth.push(depth);
                part.glint.push(glints);
                let mut shift = 0.0;
                if s + 1 < table.stations {
                    let gap_m = table.gaps_m[s].max(1e-3);
                    for t in &touched.group {
                        if !table.sees(s, *t) || !table.sees(s + 1, *t) {
                            continue;
                        }
                        let a = table.log2_at(self.chosen[*t], i, s, *t);
                        let b = table.log2_at(self.chosen[*t], i, s + 1, *t);
                        let per_m = (a - b).abs() * std::f32::consts::LN_2 / gap_m;
                        shift += table.areas_m2[*t] * (per_m / FULL_SHIFT_PER_M).min(1.0);
                    }
                }
                part.shift.push(shift);
            }
        }
        part
    }

    /// The strongest of a tile's pairs in octaves, 1 at the ratio of a strong pattern, and whether one of them overpowers; none with a glint. All by
    /// logarithms to base 2.
    fn best_pair(
        &self,
        tile: usize,
        (instant, station): (usize, usize),
        (glint, overpowering): (f32, f32),
    ) -> (f32, bool) {
        let table = self.search.table;
        if !table.sees(station, tile) {
            return (0.0, false);
        }
        let own = table.log2_at(self.chosen[tile], instant, station, tile);
        let dark = table.dark_cd_m2.max(1e-3).log2();
        let (mut best, mut hot) = (0.0_f32, false);
        for p in &self.pairs_of[tile] {
            let (a, b) = self.list[*p as usize];
            let other = if a as usize == tile { b } else { a } as usize;
            if !table.sees(station, other) {
                continue;
            }
            let theirs = table.log2_at(self.chosen[other], instant, station, other);
            let high = own.max(theirs);
            let apart = (own - theirs).abs();
            if high > overpowering && apart >= MOST_OCTAVES {
                hot = true;
                continue;
            }
            if high > glint {
                continue;
            }
            let mut octaves = apart.min(MOST_OCTAVES);
            if high < dark {
                octaves *= (high - dark).exp2();
            }
            best = best.max(octaves);
        }
        (best, hot)
    }

    fn steady(&self, touched: &Touched) -> Part {
        let table = self.search.table;
        let mut part = Part::default();
        let mut sum = 0.0;
        for p in &touched.pairs {
            let pair = self.list[*p as usize];
            for i in 0..table.instants {
                let (mut up, mut down) = (0.0_f32, 0.0_f32);
                for s in 0..table.stations {
                    if let Some(log) = table.log_ratio(&self.chosen, pair, i, s) {
                        sum +=
                            f64::from(table.instant_weights[i] * log.abs()) / table.stations as f64;
                        up = up.max(log);
                        down = down.max(-log);
                    }
                }
                sum += f64::from(table.instant_weights[i] * FLIP_WEIGHT * up.min(down));
            }
        }
        part.differ = sum;
        part
    }

    /// The value of the whole when a part of it is replaced.
    fn value(&self, old: &Part, new: &Part) -> f64 {
        let (table, sums) = (self.search.table, &self.sums);
        let at = |list: &[f32], k: usize| list.get(k).copied().unwrap_or(0.0);
        match self.search.wish {
            GrainWish::Steady => {
                let count = (self.list.len() * table.instants).max(1) as f64;
                -(sums.differ - old.differ + new.differ) / count
            }
            GrainWish::Lively => {
                let (mut value, mut weights) = (0.0_f64, 0.0_f64);
                for i in 0..table.instants {
                    for s in 0..table.stations {
                        let k = i * table.stations + s;
                        let weight = f64::from(table.instant_weights[i] * table.station_weights[s]);
                        let strong = (sums.strong[k] - at(&old.strong, k) + at(&new.strong, k))
                            / self.area_m2;
                        let shift =
                            (sums.shift[k] - at(&old.shift, k) + at(&new.shift, k)) / self.area_m2;
                        let depth =
                            (sums.depth[k] - at(&old.depth, k) + at(&new.depth, k)) / self.area_m2;
                        // Past a third of the area more strength adds little.
                        let strength = (strong / STRONG_SHARE).min(1.0) + DEPTH_WEIGHT * depth;
                        let glint =
                            (sums.glint[k] - at(&old.glint, k) + at(&new.glint, k)) / self.area_m2;
                        let harm = GLINT_WEIGHT * (glint / FULL_GLINT).clamp(0.0, 1.0);
                        value += weight * f64::from(strength + SHIFT_WEIGHT * shift - harm);
                        weights += weight;
                    }
                }
                value / weights.max(1e-12)
            }
        }
    }
}

/// Sums over some tiles.
#[derive(Clone, Debug, Default)]
struct Part {
    strong: Vec<f32>,
    depth: Vec<f32>,
    shift: Vec<f32>,
    glint: Vec<f32>,
    differ: f64,
}

impl Part {
    /// Takes one part out and puts another in.
    fn replace(&mut self, old: &Self, new: &Self) {
        let lists = [
            (&mut self.strong, &old.strong, &new.strong),
            (&mut self.depth, &old.depth, &new.depth),
            (&mut self.shift, &old.shift, &new.shift),
            (&mut self.glint, &old.glint, &new.glint),
        ];
        for (sums, old, new) in lists {
            for ((sum, old), new) in sums.iter_mut().zip(old).zip(new) {
                *sum += new - old;
            }
        }
        self.differ += new.differ - old.differ;
    }
}

struct Touched {
    tiles: Vec<usize>,
    pairs: Vec<u32>,
    group: Vec<usize>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A strip of tiles whose luminance with arrow k is drawn from a hash.
    fn drawn(tiles: usize, arrows: usize, seed: u32) -> ArrowTable {
        let (instants, stations) = (2, 3);
        let count = arrows * instants * stations * tiles;
        ArrowTable {
            arrows,
            instants,
            stations,
            tiles,
            log2_luminance: (0..count)
                .map(|k| (3.0 + (hash(seed, k as u32) % 1000) as f32 / 40.0).log2())
                .collect(),
            visible: vec![1.0; stations * tiles],
            glint_cd_m2: vec![1e4; instants * stations],
            hot_cd_m2: vec![5e3; instants * stations],
            instant_weights: vec![1.0, 2.0],
            station_weights: vec![1.0, 1.0, 0.5],
            gaps_m: vec![0.5, 0.5],
            areas_m2: (0..tiles).map(|t| 0.1 + 0.02 * t as f32).collect(),
            neighbours: (1..tiles as u32).map(|t| (t - 1, t)).collect(),
            dark_cd_m2: 1.0,
        }
    }

    fn value_of(search: &Exchange, chosen: Vec<usize>) -> f64 {
        State::new(search, chosen).total()
    }

    /// All combinations of four arrows on five tiles against the exchange, for both wishes and ten tables.
    #[test]
    fn exchange_finds_what_brute_force_finds() {
        let groups: Vec<Vec<usize>> = (0..5).map(|t| vec![t]).collect();
        for wish in [GrainWish::Lively, GrainWish::Steady] {
            let mut found_best = 0;
            for seed in 0..10 {
                let table = drawn(5, 4, seed);
                let search = Exchange {
                    table: &table,
                    groups: &groups,
                    wish,
                    pairs: &table.neighbours,
                    seed: 1,
                };
                let best = (0..4_usize.pow(5))
                    .map(|code| {
                        let chosen = (0..5).map(|t| code / 4_usize.pow(t) % 4).collect();
                        value_of(&search, chosen)
                    })
                    .fold(f64::MIN, f64::max);
                let found = value_of(&search, exchange(&search));
                assert!(
                    found >= best - 0.05 * best.abs().max(0.1),
                    "{wish:?}, table {seed}: the exchange came to {found}, all combinations to {best}"
                );
                found_best += u32::from(found >= best - 1e-3);
            }
            assert!(
                found_best >= 6,
                "{wish:?}: the best was found {found_best} times of 10"
            );
        }
    }

    /// What the sums say after an exchange is what counting anew says.
    #[test]
    fn exchanged_sums_are_the_sums() {
        let table = drawn(6, 3, 5);
        let groups: Vec<Vec<usize>> = (0..6).map(|t| vec![t]).collect();
        for wish in [GrainWish::Lively, GrainWish::Steady] {
            let search = Exchange {
                table: &table,
                groups: &groups,
                wish,
                pairs: &table.neighbours,
                seed: 1,
            };
            let mut state = State::new(&search, vec![0; 6]);
            let group = vec![2, 3];
            let touched = state.touched(&group);
            let old = state.part(&touched);
            state.chosen[2] = 2;
            state.chosen[3] = 2;
            let new = state.part(&touched);
            let quick = state.value(&old, &new);
            state.sums = state.counted();
            let whole = state.total();
            assert!(
                (quick - whole).abs() < 1e-5,
                "{wish:?}: {quick} against {whole}"
            );
        }
    }

    /// The present arrows where nothing is better.
    #[test]
    fn nothing_turns_without_gain() {
        let mut table = drawn(4, 3, 2);
        table.log2_luminance.fill(3.0);
        let groups: Vec<Vec<usize>> = (0..4).map(|t| vec![t]).collect();
        let search = Exchange {
            table: &table,
            groups: &groups,
            wish: GrainWish::Lively,
            pairs: &[],
            seed: 1,
        };
        assert_eq!(exchange(&search), vec![0; 4]);
    }
}
