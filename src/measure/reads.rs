//! Does the pattern read? The visibility class of a piece from one place at one time.
//!
//! Inputs: tile luminances at the eye [cd/m2], tile areas [m2], pairs of neighbouring tiles with the angular
//! size of the smaller one [rad], adaptation and veil [cd/m2], age [years]. Output: one class and the numbers it was
//! made of. Limits: tiles are taken as even; all contrast is judged at the one adaptation level of the eye, so a
//! very dark piece in a very bright room is judged too kindly unless `veil_cd_m2` holds the veil of the
//! bright surround.
//!
//! # One pair of neighbours
//! The veil lies over both: R = (L_bright + L_v) / (L_dark + L_v), contrast C = R - 1. The visibility level
//! is VL = C / C_threshold, threshold by Adrian 1989 for the adaptation luminance, the smaller tile's size, the age and
//! the glance time. A pair is
//! - lost when VL < 2, or R < 1.05, or both tiles are below 1 cd/m2;
//! - faint from there;
//! - reading from VL >= 8 together with R >= 1.2;
//! - strong when it reads and R >= 2;
//! - hot when it reads, R >= 10, and its brighter tile exceeds 100 times the adaptation or 5000 cd/m2.
//!
//! # The piece
//! A tile takes part in the best pair that it belongs to. With shares of the whole area of the piece, the first that holds:
//! - overpowering: hot pairs take in 5 % of the area and are at least two (one, where the piece has one pair only);
//! - strong: strong pairs take in a third of the area;
//! - reads: reading pairs take in a fifth of the area;
//! - faint: faint or better pairs take in a fifth of the area;
//! - lost: the rest.
//!
//! So one hot pair among many never decides. R >= 10 alone is not overpowering: crossed brushing
//! differs by a hundred or more between tiles that are all comfortable to look at, and that is what such a piece is
//! made for; the share of area at R >= 10 is reported as a number of its own. Flags of the glare measures
//! make a piece overpowering through [`Reads::or_overpowering`].
//!
//! The visibility level is the CIE's. The class names, the number 8 and the factors 1.05, 1.2, 2 and 10 are this
//! project's own choice, conservative for older visitors, and reports say so ([`CHOICE_NOTE`]).

use serde::{Deserialize, Serialize};

use super::adaptation::{AdrianObserver, COLOUR_FADES_BELOW_CD_M2};
use super::pattern::{LUMINANCE_FLOOR_CD_M2, weighted_quantile};

/// What every report with these classes says about them.
pub const CHOICE_NOTE: &str = "The visibility level is a CIE quantity; the classes lost, faint, reads, strong and \
    overpowering and their limits are this project's own choice";

/// Visibility class of the pattern of a piece, from worst to too much.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Reads {
    /// Neighbouring tiles cannot be told apart.
    #[default]
    Lost,
    /// The pattern can be found by someone who looks for it.
    Faint,
    /// The pattern is seen without effort.
    Reads,
    /// The pattern holds the eye.
    Strong,
    /// Parts of the piece are so bright that they drown the rest.
    Overpowering,
}

impl Reads {
    /// All classes in order.
    pub const ALL: [Self; 5] = [
        Self::Lost,
        Self::Faint,
        Self::Reads,
        Self::Strong,
        Self::Overpowering,
    ];

    /// The word for reports and files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Lost => "lost",
            Self::Faint => "faint",
            Self::Reads => "reads",
            Self::Strong => "strong",
            Self::Overpowering => "overpowering",
        }
    }

    /// One sentence on what a visitor sees.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Lost => "neighbouring tiles cannot be told apart",
            Self::Faint => "the pattern is there for someone who looks for it",
            Self::Reads => "the pattern is seen without effort",
            Self::Strong => "the pattern holds the eye",
            Self::Overpowering => "parts are so bright that they drown the rest",
        }
    }

    /// Whether the pattern works here: reads or strong.
    pub fn works(self) -> bool {
        matches!(self, Self::Reads | Self::Strong)
    }

    /// Overpowering when `flagged` by glare in the view of the piece, else the class itself.
    pub fn or_overpowering(self, flagged: bool) -> Self {
        if flagged { Self::Overpowering } else { self }
    }
}

/// Two neighbouring tiles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Neighbour {
    /// Index of the one tile.
    pub a: u32,
    /// Index of the other tile.
    pub b: u32,
    /// Angular size of the smaller tile at this eye [rad].
    pub size_rad: f32,
}

/// Limits of the classes. All own choice (see the module) unless a source is named.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ReadsLimits {
    /// Visibility level below which a pair is lost. 2: own choice, 1 being detection in a laboratory.
    pub faint_visibility_level: f32,
    /// Visibility level from which a pair can read. 8: after the IES visual performance term "VL8"; the use here is own choice.
    pub reads_visibility_level: f32,
    /// Ratio below which a pair is lost. 1.05: own choice.
    pub faint_ratio: f32,
    /// Ratio from which a pair can read. 1.2: own choice.
    pub reads_ratio: f32,
    /// Ratio from which a pair is strong. 2: own choice.
    pub strong_ratio: f32,
    /// Ratio from which a pair can be hot. 10: own choice.
    pub hot_ratio: f32,
    /// Luminance of the brighter tile from which a pair can be hot [cd/m2]. 5000: own choice, the glint limit.
    pub hot_luminance_cd_m2: f32,
    /// Luminance of the brighter tile over the adaptation from which a pair can be hot. 100: own choice, the glint limit.
    pub hot_times_adaptation: f32,
    /// Luminance below which a tile is too dark to see [cd/m2]. 1: own choice.
    pub dark_cd_m2: f32,
    /// Share of the area that must take part for faint and for reads, and be lit for a piece not too dark. 0.2: own choice.
    pub reads_share: f32,
    /// Share of the area that must take part for strong. One third: own choice.
    pub strong_share: f32,
    /// Share of the area that must take part for overpowering. 0.05: own choice.
    pub hot_share: f32,
    /// Number of hot pairs for overpowering, or all pairs where there are fewer. 2: own choice.
    pub hot_pair_count: u32,
    /// Time of one glance [s]. 2: own choice, within what Adrian's model covers.
    pub exposure_s: f32,
}

impl Default for ReadsLimits {
    fn default() -> Self {
        Self {
            faint_visibility_level: 2.0,
            reads_visibility_level: 8.0,
            faint_ratio: 1.05,
            reads_ratio: 1.2,
            strong_ratio: 2.0,
            hot_ratio: 10.0,
            hot_luminance_cd_m2: 5000.0,
            hot_times_adaptation: 100.0,
            dark_cd_m2: 1.0,
            reads_share: 0.2,
            strong_share: 1.0 / 3.0,
            hot_share: 0.05,
            hot_pair_count: 2,
            exposure_s: 2.0,
        }
    }
}

/// Age [years] that stands for the visitors where none is given. Own choice, conservative.
pub const DEFAULT_AGE_YEARS: f64 = 60.0;

/// The class of a piece and the numbers it was made of.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct PatternReading {
    /// Class of the piece.
    pub class: Reads,
    /// Luminance ratio of neighbours after the veil, area-weighted median over the pairs; 1 without pairs.
    pub median_ratio: f32,
    /// Greatest luminance ratio of neighbours after the veil; 1 without pairs.
    pub max_ratio: f32,
    /// Share of the area in strong pairs.
    pub share_strong: f32,
    /// Share of the area in reading pairs, strong ones included.
    pub share_reads: f32,
    /// Share of the area in pairs that are at least faint.
    pub share_faint: f32,
    /// Share of the area in pairs that read with a ratio of 10 or more, comfortable or not.
    pub share_extreme: f32,
    /// Share of the area in hot pairs.
    pub share_hot: f32,
    /// Visibility level, area-weighted median over the pairs; 0 without pairs.
    pub visibility_level: f32,
    /// Whether the piece is lost or faint with less than a fifth of its area above the dark limit.
    pub too_dark: bool,
    /// Whether the eye is adapted to so little light that colours fade (below 3 cd/m2).
    pub too_dark_for_colour: bool,
}

/// What a tile takes part in, as bits.
const FAINT: u8 = 1;
const READS: u8 = 2;
const STRONG: u8 = 4;
const EXTREME: u8 = 8;
const HOT: u8 = 16;

/// One pair under the veil: ratio, visibility level and what it is.
struct PairJudge<'a> {
    observer: AdrianObserver,
    veil_cd_m2: f32,
    hot_cd_m2: f32,
    limits: &'a ReadsLimits,
}

impl PairJudge<'_> {
    #[inline]
    fn judge(&self, a_cd_m2: f32, b_cd_m2: f32, size_rad: f32) -> (f32, f32, u8) {
        let limits = self.limits;
        let bright = a_cd_m2.max(b_cd_m2);
        let ratio = (bright + self.veil_cd_m2).max(LUMINANCE_FLOOR_CD_M2)
            / (a_cd_m2.min(b_cd_m2) + self.veil_cd_m2).max(LUMINANCE_FLOOR_CD_M2);
        let threshold = self.observer.threshold_contrast(f64::from(size_rad));
        let level = (f64::from(ratio - 1.0) / threshold) as f32;
        let lost = level < limits.faint_visibility_level
            || ratio < limits.faint_ratio
            || bright < limits.dark_cd_m2;
        if lost {
            return (ratio, level, 0);
        }
        if level < limits.reads_visibility_level || ratio < limits.reads_ratio {
            return (ratio, level, FAINT);
        }
        let mut bits = FAINT | READS;
        if ratio >= limits.strong_ratio {
            bits |= STRONG;
        }
        if ratio >= limits.hot_ratio {
            bits |= EXTREME;
            if bright > self.hot_cd_m2 {
                bits |= HOT;
            }
        }
        (ratio, level, bits)
    }
}

/// Classifies the pattern of a piece; the rules are in the module's text.
///
/// `luminance_cd_m2` and `areas_m2` have one value a tile in the same order; a luminance that is not a number counts as 0, a pair
/// that names a missing tile or the same tile twice does not count. `adaptation_cd_m2` and `veil_cd_m2` are the eye's, see
/// [`super::adaptation`] and [`super::veil`]. Takes about 50 microseconds for a thousand pairs.
pub fn classify_pattern(
    luminance_cd_m2: &[f32],
    pairs: &[Neighbour],
    areas_m2: &[f32],
    adaptation_cd_m2: f64,
    veil_cd_m2: f64,
    age_years: f64,
    limits: &ReadsLimits,
) -> PatternReading {
    let tile_count = luminance_cd_m2.len().min(areas_m2.len());
    let tile = |index: u32| {
        let index = index as usize;
        (index < tile_count).then_some(index)
    };
    let judge = PairJudge {
        observer: AdrianObserver::new(adaptation_cd_m2, f64::from(limits.exposure_s), age_years),
        veil_cd_m2: veil_cd_m2.max(0.0) as f32,
        hot_cd_m2: limits
            .hot_luminance_cd_m2
            .min(limits.hot_times_adaptation * adaptation_cd_m2.max(0.0) as f32),
        limits,
    };

    // How many pairs each tile belongs to: its area is shared out among them for the medians.
    let mut pair_counts = vec![0.0_f32; tile_count];
    let mut bits = vec![0_u8; tile_count];
    for pair in pairs {
        if let (Some(a), Some(b)) = (tile(pair.a), tile(pair.b))
            && a != b
        {
            pair_counts[a] += 1.0;
            pair_counts[b] += 1.0;
        }
    }

    // `a` and `b` come from `tile`, so they are below `tile_count`, the length of every list here.
    let mut ratios = Vec::with_capacity(pairs.len());
    let mut levels = Vec::with_capacity(pairs.len());
    let mut max_ratio = 1.0_f32;
    let mut hot_pair_count = 0_usize;
    for pair in pairs {
        let (Some(a), Some(b)) = (tile(pair.a), tile(pair.b)) else {
            continue;
        };
        if a == b {
            continue;
        }
        let (ratio, level, pair_bits) = judge.judge(
            luminance_cd_m2[a].max(0.0),
            luminance_cd_m2[b].max(0.0),
            pair.size_rad,
        );
        let weight = areas_m2[a].max(0.0) / pair_counts[a] + areas_m2[b].max(0.0) / pair_counts[b];
        ratios.push((ratio, weight));
        levels.push((level, weight));
        max_ratio = max_ratio.max(ratio);
        bits[a] |= pair_bits;
        bits[b] |= pair_bits;
        hot_pair_count += usize::from(pair_bits & HOT != 0);
    }

    let shares = AreaShares::new(&bits, luminance_cd_m2, areas_m2, limits.dark_cd_m2);
    let hot_enough = hot_pair_count >= (limits.hot_pair_count as usize).min(ratios.len()).max(1);
    let class = if hot_enough && shares.hot >= limits.hot_share - SHARE_SLACK {
        Reads::Overpowering
    } else if shares.strong >= limits.strong_share - SHARE_SLACK {
        Reads::Strong
    } else if shares.reads >= limits.reads_share - SHARE_SLACK {
        Reads::Reads
    } else if shares.faint >= limits.reads_share - SHARE_SLACK {
        Reads::Faint
    } else {
        Reads::Lost
    };
    PatternReading {
        class,
        median_ratio: weighted_quantile(&mut ratios, 0.5).unwrap_or(1.0),
        max_ratio,
        share_strong: shares.strong,
        share_reads: shares.reads,
        share_faint: shares.faint,
        share_extreme: shares.extreme,
        share_hot: shares.hot,
        visibility_level: weighted_quantile(&mut levels, 0.5).unwrap_or(0.0),
        too_dark: class <= Reads::Faint && shares.lit < limits.reads_share - SHARE_SLACK,
        too_dark_for_colour: adaptation_cd_m2 < COLOUR_FADES_BELOW_CD_M2,
    }
}

/// Slack on shares of area, so that a third of equal tiles is a third.
const SHARE_SLACK: f32 = 1e-5;

/// Shares of the area of the piece by what its tiles take part in.
struct AreaShares {
    faint: f32,
    reads: f32,
    strong: f32,
    extreme: f32,
    hot: f32,
    lit: f32,
}

impl AreaShares {
    fn new(bits: &[u8], luminance_cd_m2: &[f32], areas_m2: &[f32], dark_cd_m2: f32) -> Self {
        let mut total = 0.0_f64;
        let mut sums = [0.0_f64; 6];
        let wanted = [FAINT, READS, STRONG, EXTREME, HOT];
        for ((&tile_bits, &luminance), &area) in bits.iter().zip(luminance_cd_m2).zip(areas_m2) {
            let area = f64::from(area.max(0.0));
            total += area;
            for (sum, bit) in sums.iter_mut().zip(wanted) {
                if tile_bits & bit != 0 {
                    *sum += area;
                }
            }
            if luminance >= dark_cd_m2 {
                sums[5] += area;
            }
        }
        let [faint, reads, strong, extreme, hot, lit] = sums.map(|sum| {
            if total > 0.0 {
                (sum / total) as f32
            } else {
                0.0
            }
        });
        Self {
            faint,
            reads,
            strong,
            extreme,
            hot,
            lit,
        }
    }
}

#[cfg(test)]
mod tests;
