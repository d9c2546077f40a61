//! How good a choice of fixtures is, by the sketch: a smooth number for the search, never shown.

use super::sketch::{Column, Sketch};
use crate::room::{LampChoices, Limits};

/// Weights of the search (own choice). Harm outweighs any pattern.
const DAZZLE: f32 = 1.5;
const IMAGE: f32 = 1.0;
const GLINT: f32 = 1.0;
const SHADE: f32 = 2.0;
const GLOW: f32 = 0.4;
const UNEVEN: f32 = 0.05;
const EACH: f32 = 0.008;
const PER_WATT: f32 = 2e-4;
/// One over the share of the area that makes a pattern strong, see [`crate::measure::reads`].
const STRONG_SHARE: f32 = 3.0;
/// Least over largest illuminance of the piece that counts as even enough (common practice for a wash is 0.3 to 0.5, no source;
/// raking light cannot have that).
const EVEN_ENOUGH: f32 = 0.25;
/// Luminance of the wall, times this, at which a piece of one tile counts as half bright.
const BRIGHT_OVER_WALL: f32 = 5.0;

/// What a choice of fixtures is held to.
#[derive(Clone, Debug)]
pub(super) struct Wishes {
    pub limits: Limits,
    /// Most illuminance of a tile, new lamps [lx].
    pub most_lx: f32,
    /// Least and most mean luminance over that of the wall.
    pub glow: (f32, f32),
}

impl Wishes {
    pub fn new(limits: &Limits, lamps: &LampChoices, most_lx: f32) -> Self {
        Self {
            limits: limits.clone(),
            most_lx,
            glow: lamps.glow,
        }
    }
}

/// A fixture with its output.
#[derive(Clone, Copy)]
pub(super) struct Lit<'a> {
    pub column: &'a Column,
    pub output: f32,
    /// Power at full output [W].
    pub watts: f32,
    /// Cost over that of a usual fixture in stock; 0 where it is there already.
    pub cost: f32,
    /// Whether its hours include each planned instant.
    pub on: &'a [bool],
}

/// A choice's parts; shares of visitors' time.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Mark {
    pub pattern: f32,
    pub dazzle: f32,
    pub image: f32,
    pub glint: f32,
    pub shade: f32,
    pub glow_off: f32,
    pub uneven: f32,
    pub total: f32,
}

/// Marks a choice. The steeper, the less it counts to come near a strong pattern without reaching it.
pub(super) fn mark(sketch: &Sketch, wishes: &Wishes, steepness: i32, set: &[Lit]) -> Mark {
    let count = sketch.tiles.len();
    let mut added = vec![0.0_f32; sketch.stands.len() * count];
    let mut wall_added = 0.0;
    let mut added_for: Option<Vec<bool>> = None;
    let mut sum = Mark::default();
    let mut total = 0.0;
    let mut seen = vec![0.0_f32; count];
    for (g, base) in sketch.bases.iter().enumerate() {
        let on: Vec<bool> = set.iter().map(|l| l.on[g] && l.output > 0.0).collect();
        if added_for.as_ref() != Some(&on) {
            added.fill(0.0);
            wall_added = 0.0;
            for (lit, _) in set.iter().zip(&on).filter(|(_, on)| **on) {
                for (sum, value) in added.iter_mut().zip(&lit.column.luminance_cd_m2) {
                    *sum += lit.output * value;
                }
                wall_added += lit.output * lit.column.wall_cd_m2;
            }
            added_for = Some(on.clone());
        }
        let lit = || set.iter().zip(&on).filter(|(_, on)| **on).map(|(l, _)| l);
        let wall = (base.wall_cd_m2 + wall_added).max(1e-3);
        for (s, stand) in sketch.stands.iter().enumerate() {
            if !base.open[s] {
                continue;
            }
            let weight = stand.weight;
            total += weight;
            let at = s * count;
            for (t, value) in seen.iter_mut().enumerate() {
                *value = base.luminance_cd_m2[at + t] + added[at + t];
            }
            let shares = &sketch.sees[at..at + count];
            sum.pattern += weight
                * pattern(
                    (sketch, wishes, steepness),
                    &seen,
                    shares,
                    base.glint_cd_m2[s],
                    wall,
                );
            if seen.iter().any(|l| *l > base.glint_cd_m2[s]) {
                sum.glint += weight;
            }
            let (mut bright, mut area) = (0.0, 0.0);
            for ((tile, l), share) in sketch.tiles.iter().zip(&seen).zip(shares) {
                bright += tile.area_m2 * l;
                area += tile.area_m2 * share;
            }
            if area > 0.0 {
                let glow = bright / area / wall;
                let off = (wishes.glow.0 / glow.max(1e-6)).max(glow / wishes.glow.1);
                sum.glow_off += weight * off.max(1.0).ln().min(1.0);
            }
            let image = lit().any(|l| {
                l.column
                    .images
                    .iter()
                    .any(|(at, cd_m2)| *at == s && cd_m2 * l.output > 0.1 * base.glint_cd_m2[s])
            });
            sum.image += if image { weight } else { 0.0 };
            let dazzle = lit().any(|l| {
                l.column.openings.iter().any(|(at, cd_m2, from_gaze_rad)| {
                    *at == s
                        && cd_m2 * l.output > wishes.limits.aperture_cd_m2
                        && *from_gaze_rad < wishes.limits.aperture_within_deg.to_radians()
                })
            });
            sum.dazzle += if dazzle { weight } else { 0.0 };
        }
    }
    let share = 1.0 / total.max(1e-9);
    let (mut lit, mut dark) = (0.0, 0.0);
    for l in set {
        let lx = l.output * l.column.new_lx.iter().sum::<f32>();
        lit += lx;
        dark += lx * l.column.shaded_share;
    }
    let mut mark = Mark {
        pattern: sum.pattern * share,
        dazzle: sum.dazzle * share,
        image: sum.image * share,
        glint: sum.glint * share,
        shade: if lit > 0.0 { dark / lit } else { 0.0 },
        glow_off: sum.glow_off * share,
        uneven: unevenness(count, set),
        total: 0.0,
    };
    let bought: f32 = set.iter().map(|l| l.cost * EACH).sum();
    let power: f32 = set.iter().map(|l| l.watts * l.output * PER_WATT).sum();
    mark.total = mark.pattern
        - DAZZLE * mark.dazzle
        - IMAGE * mark.image
        - GLINT * mark.glint
        - SHADE * mark.shade
        - GLOW * mark.glow_off
        - UNEVEN * mark.uneven
        - bought
        - power;
    mark
}

/// How strongly neighbours differ, 0..=1: 1 where all do by the factor of a strong pattern. A piece without neighbours: how bright it is over its wall.
fn pattern(
    (sketch, wishes, steepness): (&Sketch, &Wishes, i32),
    seen: &[f32],
    shares: &[f32],
    glint_cd_m2: f32,
    wall_cd_m2: f32,
) -> f32 {
    if sketch.pairs.is_empty() {
        let (mut sum, mut area) = (0.0, 0.0);
        for (tile, l) in sketch.tiles.iter().zip(seen) {
            sum += tile.area_m2 * l / (l + BRIGHT_OVER_WALL * wall_cd_m2);
            area += tile.area_m2;
        }
        return sum / area.max(1e-9);
    }
    // As the classes count: a tile takes part in the best of its pairs, and a third of the area is enough.
    let mut best = vec![0.0_f32; seen.len()];
    for (a, b) in &sketch.pairs {
        let (a, b) = (*a as usize, *b as usize);
        if shares[a] <= 0.0 || shares[b] <= 0.0 {
            continue;
        }
        let (high, low) = (seen[a].max(seen[b]), seen[a].min(seen[b]));
        if high <= 0.0 || high > glint_cd_m2 {
            continue;
        }
        let bright = (high / wishes.limits.dark_cd_m2).min(1.0);
        let octaves = ((high / low.max(1e-4)).ln() * std::f32::consts::LOG2_E).min(1.2);
        let part = bright * octaves;
        best[a] = best[a].max(part);
        best[b] = best[b].max(part);
    }
    let (mut strong, mut soft, mut area) = (0.0, 0.0, 0.0);
    for (tile, best) in sketch.tiles.iter().zip(best) {
        area += tile.area_m2;
        let part = best.min(1.0);
        strong += tile.area_m2 * part.powi(steepness);
        soft += tile.area_m2 * best / 1.2;
    }
    let area = area.max(1e-9);
    0.8 * (STRONG_SHARE * strong / area).min(1.0) + 0.2 * soft / area
}

/// How far the light of a choice is from even, 0..=1, by the logarithm of least over largest illuminance of a tile.
fn unevenness(count: usize, set: &[Lit]) -> f32 {
    let (mut low, mut high) = (f32::MAX, 0.0_f32);
    for t in 0..count {
        let lx: f32 = set.iter().map(|l| l.output * l.column.new_lx[t]).sum();
        (low, high) = (low.min(lx), high.max(lx));
    }
    if high <= 0.0 {
        return 0.0;
    }
    let evenness = low / high;
    // A twentieth of what is enough counts in full.
    ((EVEN_ENOUGH / evenness.max(1e-6)).ln() / 20.0_f32.ln()).clamp(0.0, 1.0)
}

/// Largest illuminance of a tile by a choice, new lamps, over a base [lx].
pub(super) fn most_lx(base_lx: &[f32], set: &[Lit]) -> f32 {
    (0..base_lx.len())
        .map(|t| {
            base_lx[t]
                + set
                    .iter()
                    .map(|l| l.output * l.column.new_lx[t])
                    .sum::<f32>()
        })
        .fold(0.0, f32::max)
}
