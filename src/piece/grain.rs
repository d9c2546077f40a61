//! Rules that give each tile its grain arrow.
//!
//! Files give degrees, results are radians. The arrow is a direction (0..360 deg), not a line: it
//! points to where the fibres rise out of the face. Angle 0 is to the right, counter-clockwise seen
//! from the front.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use glam::DVec2;
use serde::{Deserialize, Serialize};

/// What a rule may know about a tile.
#[derive(Debug, Clone)]
pub(crate) struct GrainPlace<'a> {
    /// Centroid of the tile [m], origin at the piece's centre.
    pub centroid_m: DVec2,
    /// Centre of the layout [m]: that of the rays or rings, else of the piece.
    pub centre_m: DVec2,
    /// Size of the piece [m].
    pub piece_m: DVec2,
    /// Row from the top or ring from the centre.
    pub row: i64,
    /// First and last row of the layout.
    pub row_range: (i64, i64),
    /// Column from the left or segment counter-clockwise.
    pub column: i64,
    /// First and last column of the layout.
    pub column_range: (i64, i64),
    /// Running index in the layout's own order.
    pub index: i64,
    /// What the layout suggests [rad].
    pub natural_rad: f64,
    /// Fill or stroke colour of a drawing's outline, else empty.
    pub colour: &'a str,
}

/// Along what a graded arrow turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Along {
    /// From the left edge of the piece to the right edge, by the tile's centroid.
    X,
    /// From the bottom edge to the top edge, by the tile's centroid.
    Y,
    /// From the layout's centre to the farthest corner of the piece.
    Radial,
    /// Once around the layout's centre, counter-clockwise from the right.
    Angle,
    /// From the first row (or ring) to the last, both exact.
    Row,
    /// From the first column (or ray) to the last, both exact.
    Column,
}

/// Which seams a book-matched leaf was opened over.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Seam {
    /// Seams between columns: every other column is turned over.
    #[default]
    Columns,
    /// Seams between rows: every other row is turned over.
    Rows,
    /// Both: a four-way match.
    Both,
}

/// How the grain arrow [deg] follows from a tile's place.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum GrainRule {
    /// What the layout suggests: along a plank, outwards along a ray, counter-clockwise around a
    /// ring, to the right elsewhere.
    #[default]
    Natural,
    /// The natural direction turned by so many degrees.
    Turned(f32),
    /// The same arrow everywhere [deg].
    Constant(f32),
    /// Two arrows in turn like a chequer board [deg], the first on row 0, column 0.
    Chequer(f32, f32),
    /// A list taken in turn in the layout's order [deg].
    Alternate(Vec<f32>),
    /// A list taken in turn by row or ring [deg].
    Rows(Vec<f32>),
    /// A list taken in turn by column or ray [deg].
    Columns(Vec<f32>),
    /// An even change from one angle to another [deg].
    Graded {
        /// Arrow at the start [deg].
        from_deg: f32,
        /// Arrow at the end [deg]; turns past 360 are allowed.
        to_deg: f32,
        /// What the change follows.
        along: Along,
    },
    /// Away from the layout's centre.
    Radial,
    /// Counter-clockwise around the layout's centre.
    Tangential,
    /// Leaves opened like a book: the fibre line is mirrored about the seam, and because the other
    /// face of the leaf shows, the fibres rise the other way too. A leaf at angle a becomes -a over
    /// a seam between columns and 180 - a over a seam between rows.
    BookMatch {
        /// Arrow of the first leaf (row 0, column 0) [deg].
        deg: f32,
        /// Seams that leaves are opened over.
        #[serde(default)]
        seam: Seam,
    },
    /// Arrows spread evenly at random about an angle; the same seed gives the same piece.
    Random {
        /// Any number.
        seed: u64,
        /// Middle of the spread [deg].
        #[serde(default)]
        about_deg: f32,
        /// Half width of the spread [deg], 0 to 180.
        spread_deg: f32,
    },
    /// By the colour of a drawing's outline.
    ByColour {
        /// Arrow by colour such as `"#a05a2c"` [deg].
        colours: BTreeMap<String, f32>,
        /// Arrow of all other colours [deg].
        #[serde(default)]
        otherwise_deg: f32,
    },
}

impl GrainRule {
    /// The arrow [rad], 0..2 pi, or `None` where the rule has no direction (a tile centred on the
    /// centre of a radial rule).
    pub(crate) fn arrow_rad(&self, place: &GrainPlace<'_>) -> Option<f64> {
        let from_centre = place.centroid_m - place.centre_m;
        let outward = (from_centre.length() > 1e-6).then(|| from_centre.to_angle());
        let rad = match self {
            Self::Natural => place.natural_rad,
            Self::Turned(deg) => place.natural_rad + radians(*deg),
            Self::Constant(deg) => radians(*deg),
            Self::Chequer(first, second) => {
                let is_first = (place.row + place.column).rem_euclid(2) == 0;
                radians(if is_first { *first } else { *second })
            }
            Self::Alternate(list) => radians(in_turn(list, place.index)?),
            Self::Rows(list) => radians(in_turn(list, place.row)?),
            Self::Columns(list) => radians(in_turn(list, place.column)?),
            Self::Graded {
                from_deg,
                to_deg,
                along,
            } => {
                let t = fraction(*along, place, from_centre);
                radians(*from_deg) * (1.0 - t) + radians(*to_deg) * t
            }
            Self::Radial => outward?,
            Self::Tangential => outward? + TAU / 4.0,
            Self::BookMatch { deg, seam } => {
                let turned = |n: i64| n.rem_euclid(2) == 1;
                let over_columns = *seam != Seam::Rows && turned(place.column);
                let over_rows = *seam != Seam::Columns && turned(place.row);
                let mut rad = radians(*deg);
                if over_columns {
                    rad = -rad;
                }
                if over_rows {
                    rad = TAU / 2.0 - rad;
                }
                rad
            }
            Self::Random {
                seed,
                about_deg,
                spread_deg,
            } => {
                radians(*about_deg)
                    + radians(*spread_deg) * (2.0 * unit_hash(*seed, place.index) - 1.0)
            }
            Self::ByColour {
                colours,
                otherwise_deg,
            } => radians(colours.get(place.colour).copied().unwrap_or(*otherwise_deg)),
        };
        Some(wrapped(rad))
    }

    /// All angles in the rule with their place in the file [deg], for checking.
    pub(crate) fn angles_deg(&self) -> Vec<(String, f32)> {
        let list = |list: &[f32]| {
            list.iter()
                .enumerate()
                .map(|(i, &deg)| (format!("[{i}]"), deg))
                .collect()
        };
        let named = |pairs: &[(&str, f32)]| {
            pairs
                .iter()
                .map(|(name, deg)| (format!(".{name}"), *deg))
                .collect()
        };
        match self {
            Self::Natural | Self::Radial | Self::Tangential => Vec::new(),
            Self::Turned(deg) | Self::Constant(deg) => vec![(String::new(), *deg)],
            Self::Chequer(a, b) => list(&[*a, *b]),
            Self::Alternate(l) | Self::Rows(l) | Self::Columns(l) => list(l),
            Self::Graded {
                from_deg, to_deg, ..
            } => named(&[("from_deg", *from_deg), ("to_deg", *to_deg)]),
            Self::BookMatch { deg, .. } => named(&[("deg", *deg)]),
            Self::Random {
                about_deg,
                spread_deg,
                ..
            } => named(&[("about_deg", *about_deg), ("spread_deg", *spread_deg)]),
            Self::ByColour {
                colours,
                otherwise_deg,
            } => colours
                .iter()
                .map(|(key, deg)| (format!(".colours[{key:?}]"), *deg))
                .chain([(".otherwise_deg".to_owned(), *otherwise_deg)])
                .collect(),
        }
    }

    /// Whether the rule takes in turn from a list that has no entry.
    pub(crate) fn is_empty_list(&self) -> bool {
        matches!(self, Self::Alternate(l) | Self::Rows(l) | Self::Columns(l) if l.is_empty())
    }
}

/// Degrees of a file as radians.
#[inline]
pub(crate) fn radians(deg: f32) -> f64 {
    f64::from(deg).to_radians()
}

/// The same direction in 0..2 pi [rad].
#[inline]
pub(crate) fn wrapped(rad: f64) -> f64 {
    let turned = rad.rem_euclid(TAU);
    // A turn below zero by rounding comes out as a whole turn; so does one that f32 rounds up.
    if (turned as f32) >= std::f32::consts::TAU {
        0.0
    } else {
        turned
    }
}

/// Entry `index` of a list taken in turn.
pub(crate) fn in_turn<T: Copy>(list: &[T], index: i64) -> Option<T> {
    let count = i64::try_from(list.len()).ok().filter(|n| *n > 0)?;
    let at = usize::try_from(index.rem_euclid(count)).ok()?;
    list.get(at).copied()
}

/// Where a tile is between the start (0) and the end (1) of a gradation.
fn fraction(along: Along, place: &GrainPlace<'_>, from_centre: DVec2) -> f64 {
    let of =
        |at: i64, (first, last): (i64, i64)| (at - first) as f64 / (last - first).max(1) as f64;
    let t = match along {
        Along::X => place.centroid_m.x / place.piece_m.x + 0.5,
        Along::Y => place.centroid_m.y / place.piece_m.y + 0.5,
        Along::Radial => {
            let reach = (place.piece_m / 2.0 + place.centre_m.abs()).length();
            from_centre.length() / reach
        }
        Along::Angle => from_centre.to_angle().rem_euclid(TAU) / TAU,
        Along::Row => of(place.row, place.row_range),
        Along::Column => of(place.column, place.column_range),
    };
    t.clamp(0.0, 1.0)
}

/// A number in 0..1 from a seed and an index.
/// Method: finaliser of S. Vigna's SplitMix64 (public domain, 2015; constants from memory).
fn unit_hash(seed: u64, index: i64) -> f64 {
    let mut z = seed.wrapping_add(
        (index as u64)
            .wrapping_add(1)
            .wrapping_mul(0x9E37_79B9_7F4A_7C15),
    );
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^= z >> 31;
    (z >> 11) as f64 / (1_u64 << 53) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(row: i64, column: i64, x: f64, y: f64) -> GrainPlace<'static> {
        GrainPlace {
            centroid_m: DVec2::new(x, y),
            centre_m: DVec2::ZERO,
            piece_m: DVec2::new(2.0, 1.0),
            row,
            row_range: (0, 2),
            column,
            column_range: (0, 4),
            index: row * 5 + column,
            natural_rad: 0.5,
            colour: "#102030",
        }
    }

    fn deg(rule: &GrainRule, place: &GrainPlace<'_>) -> f64 {
        rule.arrow_rad(place).unwrap().to_degrees()
    }

    fn assert_deg(rule: &GrainRule, place: &GrainPlace<'_>, expected_deg: f64) {
        let found = deg(rule, place);
        assert!(
            (found - expected_deg).abs() < 1e-9,
            "{rule:?}: {found} deg, expected {expected_deg} deg"
        );
    }

    /// Source: a leaf with fibre (cos p cos a, cos p sin a, sin p) turned over its vertical edge
    /// becomes (-x, y, -z), the same fibre as (x, -y, z): the arrow goes from a to -a. Over its
    /// horizontal edge (x, -y, -z), the same as (-x, y, z): 180 - a.
    #[test]
    fn a_book_match_mirrors_the_line_and_turns_the_arrow() {
        let rule = GrainRule::BookMatch {
            deg: 70.0,
            seam: Seam::Both,
        };
        assert_deg(&rule, &place(0, 0, 0.0, 0.0), 70.0);
        assert_deg(&rule, &place(0, 1, 0.0, 0.0), 290.0);
        assert_deg(&rule, &place(1, 0, 0.0, 0.0), 110.0);
        assert_deg(&rule, &place(1, 1, 0.0, 0.0), 250.0);
        // Fibres along the seam: one leaf up, the next down, hence the light-dark flip.
        let along = GrainRule::BookMatch {
            deg: 90.0,
            seam: Seam::Columns,
        };
        assert_deg(&along, &place(0, 3, 0.0, 0.0), 270.0);
    }

    #[test]
    fn each_rule_gives_the_arrow_found_by_hand() {
        assert_deg(&GrainRule::Constant(-30.0), &place(0, 0, 0.0, 0.0), 330.0);
        assert_deg(
            &GrainRule::Chequer(10.0, 100.0),
            &place(1, 2, 0.0, 0.0),
            100.0,
        );
        assert_deg(
            &GrainRule::Alternate(vec![0., 45., 90.]),
            &place(1, 0, 0.0, 0.0),
            90.0,
        );
        assert_deg(
            &GrainRule::Rows(vec![0., 45.]),
            &place(1, 4, 0.0, 0.0),
            45.0,
        );
        assert_deg(
            &GrainRule::Columns(vec![0., 45., 20.]),
            &place(1, 4, 0.0, 0.0),
            45.0,
        );
        assert_deg(&GrainRule::Radial, &place(0, 0, 0.3, 0.3), 45.0);
        assert_deg(&GrainRule::Tangential, &place(0, 0, -0.3, 0.0), 270.0);
        assert_deg(
            &GrainRule::Turned(90.0),
            &place(0, 0, 0.0, 0.0),
            90.0 + 0.5_f64.to_degrees(),
        );
        let graded = |along| GrainRule::Graded {
            from_deg: 0.0,
            to_deg: 80.0,
            along,
        };
        assert_deg(&graded(Along::X), &place(0, 0, 0.5, 0.0), 60.0);
        assert_deg(&graded(Along::Y), &place(0, 0, 0.5, -0.25), 20.0);
        assert_deg(&graded(Along::Row), &place(2, 0, 0.0, 0.0), 80.0);
        assert_deg(&graded(Along::Column), &place(2, 1, 0.0, 0.0), 20.0);
        assert_deg(&graded(Along::Angle), &place(2, 1, 0.0, -0.2), 60.0);
        let far = (1.0_f64 + 0.25).sqrt();
        assert_deg(&graded(Along::Radial), &place(2, 1, far / 4.0, 0.0), 20.0);
        let by = GrainRule::ByColour {
            colours: BTreeMap::from([("#102030".to_owned(), 33.0)]),
            otherwise_deg: 5.0,
        };
        assert_deg(&by, &place(0, 0, 0.0, 0.0), 33.0);
    }

    #[test]
    fn a_radial_rule_has_no_arrow_at_its_centre() {
        assert!(
            GrainRule::Radial
                .arrow_rad(&place(0, 0, 0.0, 0.0))
                .is_none()
        );
    }

    #[test]
    fn random_arrows_stay_in_the_spread_and_repeat() {
        let rule = GrainRule::Random {
            seed: 9,
            about_deg: 90.0,
            spread_deg: 20.0,
        };
        let all: Vec<f64> = (0..200)
            .map(|i| deg(&rule, &place(0, i, 0.0, 0.0)))
            .collect();
        assert!(all.iter().all(|d| (70.0..=110.0).contains(d)));
        let mean = all.iter().sum::<f64>() / 200.0;
        // Standard error of the mean of an even spread of 40 deg over 200: 0.82 deg; four of them.
        assert!((mean - 90.0).abs() < 3.3, "mean {mean} deg");
        assert_eq!(all[7], deg(&rule, &place(0, 7, 0.0, 0.0)));
    }

    #[test]
    fn an_arrow_just_below_a_turn_is_wrapped_to_zero() {
        assert_eq!(wrapped(-1e-12), 0.0);
        assert!(wrapped(TAU - 1e-3) > 6.2);
    }
}
