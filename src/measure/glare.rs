//! Discomfort glare of a list of sources: UGR and DGP, their classes and limits.
//!
//! Inputs: luminance toward the eye [cd/m2], solid angle at the eye [sr], position index (see
//! [`super::position`]); background luminance [cd/m2] or vertical illuminance at the eye [lx].
//! Sources: CIE 117:1995 and CIE 147:2002 (UGR), Wienold and Christoffersen 2006 and Wienold 2009 (DGP),
//! EN 17037 and EN 12464-1 (classes). Limits: both indices were fitted for sources far larger than a sun
//! glint on a small tile; for those state luminance, solid angle and duration beside the index.

use serde::Serialize;

/// One source of glare as the eye sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GlareSource {
    /// Mean luminance toward the eye [cd/m2].
    pub luminance_cd_m2: f64,
    /// Solid angle at the eye [sr].
    pub solid_angle_sr: f64,
    /// Guth position index, at least 1.
    pub position_index: f64,
}

/// Smallest projected area [m2] of a source for which UGR holds as it stands; also the nominal area of the small-source rule.
/// Source: CIE 147:2002 (rule from memory).
pub const UGR_SMALL_SOURCE_AREA_M2: f64 = 0.005;

/// Projected area [m2] above which UGR is too lenient. Source: CIE 147:2002, abstract.
pub const UGR_LARGE_SOURCE_AREA_M2: f64 = 1.5;

/// Solid angles [sr] for which UGR was made. Source: CIE 117:1995 (from memory).
pub const UGR_SOLID_ANGLES_SR: std::ops::RangeInclusive<f64> = 0.0003..=0.1;

/// Value below which UGR is printed as "<10". Source: CIE 117:1995 (from memory).
pub const UGR_LOWEST_REPORTED: f64 = 10.0;

/// Least background luminance [cd/m2] put into UGR, so that a black surround gives a number. Own choice.
const UGR_BACKGROUND_FLOOR_CD_M2: f64 = 1e-3;

/// Least vertical illuminance [lx] put into the contrast term of DGP. Own choice.
const DGP_ILLUMINANCE_FLOOR_LX: f64 = 1.0;

/// Range of DGP in which the fit holds. Source: Wienold and Christoffersen 2006 (from memory).
pub const DGP_RANGE: std::ops::RangeInclusive<f64> = 0.2..=0.8;

/// Least vertical illuminance [lx] in the data behind DGP. Source: Wienold and Christoffersen 2006 (from memory).
pub const DGP_LEAST_ILLUMINANCE_LX: f64 = 380.0;

impl GlareSource {
    /// The source as CIE 147:2002 treats a small one (rule from memory): the same intensity spread over a nominal 0.005 m2.
    ///
    /// `distance_m` is the distance from the eye. A source whose projected area is 0.005 m2 or more stays as it
    /// is. The UGR term becomes 200 I^2 / (R^2 P^2).
    pub fn with_small_source_rule(self, distance_m: f64) -> Self {
        let nominal_solid_angle_sr = UGR_SMALL_SOURCE_AREA_M2 / (distance_m * distance_m);
        if self.solid_angle_sr >= nominal_solid_angle_sr || !nominal_solid_angle_sr.is_finite() {
            return self;
        }
        Self {
            luminance_cd_m2: self.luminance_cd_m2 * self.solid_angle_sr / nominal_solid_angle_sr,
            solid_angle_sr: nominal_solid_angle_sr,
            position_index: self.position_index,
        }
    }

    /// L^2 omega / P^2, the part that UGR and DGP share; 0 for a source that gives no light, has no size or is behind the eye.
    #[inline]
    pub fn weight(&self) -> f64 {
        let counts =
            self.luminance_cd_m2 > 0.0 && self.solid_angle_sr > 0.0 && self.position_index > 0.0;
        if counts {
            self.luminance_cd_m2 * self.luminance_cd_m2 * self.solid_angle_sr
                / (self.position_index * self.position_index)
        } else {
            0.0
        }
    }
}

/// Unified Glare Rating for a background of `background_cd_m2` (without the sources; indirect vertical illuminance over pi).
///
/// 8 log10 (0.25 / L_b x sum L^2 omega / P^2), CIE 117:1995, "Discomfort glare in interior lighting". Never below
/// 0: a smaller value, or no source, has no meaning and gives 0. Print with [`super::format::ugr`].
pub fn ugr(background_cd_m2: f64, sources: &[GlareSource]) -> f64 {
    let sum: f64 = sources.iter().map(GlareSource::weight).sum();
    let rating = 8.0 * (0.25 / background_cd_m2.max(UGR_BACKGROUND_FLOOR_CD_M2) * sum).log10();
    rating.max(0.0)
}

/// Daylight Glare Probability for `vertical_illuminance_lx` at the eye, which includes the sources.
///
/// J. Wienold and J. Christoffersen, "Evaluation methods and development of a new glare prediction model for
/// daylight environments with the use of CCD cameras", Energy and Buildings 38, 2006. Valid from 0.2 to 0.8
/// and above 380 lx; the value outside is the formula's, see [`dgp_low_light_factor`].
pub fn dgp(vertical_illuminance_lx: f64, sources: &[GlareSource]) -> f64 {
    let illuminance_lx = vertical_illuminance_lx.max(0.0);
    let sum: f64 = sources.iter().map(GlareSource::weight).sum();
    let contrast = sum / illuminance_lx.max(DGP_ILLUMINANCE_FLOOR_LX).powf(1.87);
    5.87e-5 * illuminance_lx + 9.18e-2 * (1.0 + contrast).log10() + 0.16
}

/// Factor on DGP for dim scenes, 0.018 in the dark to 1 above about 500 lx of vertical illuminance.
///
/// J. Wienold, "Dynamic daylight glare evaluation", 2009.
pub fn dgp_low_light_factor(vertical_illuminance_lx: f64) -> f64 {
    1.0 / (1.0 + (4.0 - 0.024 * vertical_illuminance_lx.max(0.0)).exp())
}

/// DGP times the low-light factor, at every illuminance (the factor differs from 1 by 2e-9 at 1000 lx).
pub fn dgp_with_low_light(vertical_illuminance_lx: f64, sources: &[GlareSource]) -> f64 {
    dgp(vertical_illuminance_lx, sources) * dgp_low_light_factor(vertical_illuminance_lx)
}

/// Simplified DGP from vertical illuminance alone, for a view without a bright source (Wienold 2009, from memory).
pub fn dgp_simplified(vertical_illuminance_lx: f64) -> f64 {
    6.22e-5 * vertical_illuminance_lx.max(0.0) + 0.184
}

/// DGP for a visitor of `age_years`, 20 to 90 (held there): DGP / (1.1 - 0.5 age / 100), from memory.
pub fn dgp_for_age(dgp: f64, age_years: f64) -> f64 {
    dgp / (1.1 - 0.5 * age_years.clamp(20.0, 90.0) / 100.0)
}

/// How a DGP value feels. Source: EN 17037, annex on glare (limits read in a secondary source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DgpClass {
    /// Up to 0.35.
    Imperceptible,
    /// Above 0.35, up to 0.40.
    Perceptible,
    /// Above 0.40, up to 0.45.
    Disturbing,
    /// Above 0.45.
    Intolerable,
}

impl DgpClass {
    /// Class of a DGP value; one that is not a number is intolerable, so that a fault is seen.
    pub fn of(dgp: f64) -> Self {
        if dgp <= 0.35 {
            Self::Imperceptible
        } else if dgp <= 0.40 {
            Self::Perceptible
        } else if dgp <= 0.45 {
            Self::Disturbing
        } else {
            Self::Intolerable
        }
    }

    /// Largest DGP of the class; `None` for the last one.
    pub fn upper_limit(self) -> Option<f64> {
        match self {
            Self::Imperceptible => Some(0.35),
            Self::Perceptible => Some(0.40),
            Self::Disturbing => Some(0.45),
            Self::Intolerable => None,
        }
    }

    /// The word for reports.
    pub fn word(self) -> &'static str {
        match self {
            Self::Imperceptible => "imperceptible",
            Self::Perceptible => "perceptible",
            Self::Disturbing => "disturbing",
            Self::Intolerable => "intolerable",
        }
    }
}

/// Uses of a space with the UGR limit that goes with them. Source: EN 12464-1 (from memory). Museums have no limit of their own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum UgrUse {
    /// Fine visual tasks.
    FineTask,
    /// Offices and reading.
    Office,
    /// Public areas and receptions.
    Reception,
    /// Corridors and stairs.
    Circulation,
}

impl UgrUse {
    /// Largest UGR that the use allows.
    pub fn limit(self) -> f64 {
        match self {
            Self::FineTask => 16.0,
            Self::Office => 19.0,
            Self::Reception => 22.0,
            Self::Circulation => 25.0,
        }
    }

    /// The strictest use whose limit `ugr` keeps; `None` above 25.
    pub fn strictest_for(ugr: f64) -> Option<Self> {
        [
            Self::FineTask,
            Self::Office,
            Self::Reception,
            Self::Circulation,
        ]
        .into_iter()
        .find(|use_| ugr <= use_.limit())
    }

    /// The words for reports.
    pub fn words(self) -> &'static str {
        match self {
            Self::FineTask => "fine visual tasks",
            Self::Office => "offices and reading",
            Self::Reception => "public areas and receptions",
            Self::Circulation => "corridors and stairs",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOURCE: GlareSource = GlareSource {
        luminance_cd_m2: 20_000.0,
        solid_angle_sr: 2e-4,
        position_index: 1.5,
    };

    #[test]
    fn small_source_rule_is_the_200_i_squared_form() {
        let distance_m = 3.0;
        let small = SOURCE.with_small_source_rule(distance_m);
        let intensity_cd = 20_000.0 * 2e-4 * distance_m * distance_m;
        let expected = 200.0 * intensity_cd * intensity_cd / (distance_m * distance_m * 1.5 * 1.5);
        assert!(
            (small.weight() / expected - 1.0).abs() < 1e-12,
            "{} {expected}",
            small.weight()
        );
        assert!(
            small.weight() < SOURCE.weight(),
            "a small source is judged more gently"
        );
    }

    #[test]
    fn small_source_rule_leaves_larger_sources_alone() {
        assert_eq!(SOURCE.with_small_source_rule(10.0), SOURCE);
        assert_eq!(SOURCE.with_small_source_rule(0.0), SOURCE);
    }

    #[test]
    fn empty_and_dark_views_give_finite_numbers() {
        assert_eq!(ugr(20.0, &[]), 0.0);
        assert!(ugr(0.0, &[SOURCE]).is_finite());
        assert_eq!(dgp(0.0, &[]), 0.16);
        assert!(dgp(0.0, &[SOURCE]).is_finite());
        let behind = GlareSource {
            position_index: f64::INFINITY,
            ..SOURCE
        };
        assert_eq!(ugr(20.0, &[behind]), 0.0);
        let broken = GlareSource {
            luminance_cd_m2: f64::NAN,
            ..SOURCE
        };
        assert_eq!(broken.weight(), 0.0);
    }

    #[test]
    fn classes_change_at_their_limits() {
        assert_eq!(DgpClass::of(0.35), DgpClass::Imperceptible);
        assert_eq!(DgpClass::of(0.351), DgpClass::Perceptible);
        assert_eq!(DgpClass::of(0.45), DgpClass::Disturbing);
        assert_eq!(DgpClass::of(0.451), DgpClass::Intolerable);
        assert_eq!(DgpClass::of(f64::NAN), DgpClass::Intolerable);
        assert_eq!(UgrUse::strictest_for(19.0), Some(UgrUse::Office));
        assert_eq!(UgrUse::strictest_for(25.1), None);
    }

    #[test]
    fn age_raises_dgp() {
        assert!((dgp_for_age(0.3, 20.0) - 0.3).abs() < 1e-12);
        assert!((dgp_for_age(0.3, 70.0) - 0.4).abs() < 1e-12);
    }
}
