//! What the eye is adapted to, contrast, lightness, and the smallest contrast it can see.
//!
//! Inputs: vertical illuminance at the eye [lx], luminances [cd/m2], angular size of the target [rad], age
//! [years], viewing time [s]. Methods: equivalent uniform field; CIE 15 lightness; W. Adrian, "Visibility of
//! targets: model for calculation", Lighting Research & Technology 21(4), 1989; CIE 19/2:1981. The constants of the
//! two threshold models are from memory, their behaviour was checked. Limits: one steady level of adaptation
//! (no walk-in from daylight), photopic and high mesopic light, targets brighter than what is around them.

/// Luminance [cd/m2] below which vision is mesopic. Source: CIE 191:2010 (from memory).
pub const MESOPIC_BELOW_CD_M2: f64 = 5.0;

/// Luminance [cd/m2] below which vision is scotopic. Source: CIE 191:2010 (from memory).
pub const SCOTOPIC_BELOW_CD_M2: f64 = 0.005;

/// Adaptation [cd/m2] below which colour and fine detail fade. Own choice, from general knowledge.
pub const COLOUR_FADES_BELOW_CD_M2: f64 = 3.0;

/// Adaptation luminance [cd/m2]: that of a uniform field giving `vertical_illuminance_lx` on the plane facing the line of sight.
///
/// E / pi, usual definition of the equivalent uniform field (from memory).
#[inline]
pub fn adaptation_cd_m2(vertical_illuminance_lx: f64) -> f64 {
    vertical_illuminance_lx.max(0.0) / std::f64::consts::PI
}

/// What kind of seeing a level of adaptation allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Seeing {
    /// Below 0.005 cd/m2: shapes only.
    Night,
    /// 0.005 to 3 cd/m2: too dark for colour and fine detail.
    ColourFades,
    /// 3 to 5 cd/m2: colours seen, mesopic.
    Dim,
    /// 5 cd/m2 and more: photopic.
    Day,
}

impl Seeing {
    /// The kind of seeing at `adaptation_cd_m2`.
    pub fn at(adaptation_cd_m2: f64) -> Self {
        if adaptation_cd_m2 >= MESOPIC_BELOW_CD_M2 {
            Self::Day
        } else if adaptation_cd_m2 >= COLOUR_FADES_BELOW_CD_M2 {
            Self::Dim
        } else if adaptation_cd_m2 >= SCOTOPIC_BELOW_CD_M2 {
            Self::ColourFades
        } else {
            Self::Night
        }
    }

    /// Whether it is too dark for colour, whatever the contrasts.
    pub fn too_dark_for_colour(self) -> bool {
        self <= Self::ColourFades
    }
}

/// Weber contrast (target - background) / background; `background_cd_m2` above 0.
#[inline]
pub fn weber_contrast(target_cd_m2: f64, background_cd_m2: f64) -> f64 {
    (target_cd_m2 - background_cd_m2) / background_cd_m2
}

/// Michelson contrast (max - min) / (max + min) of two luminances in either order; 0 when both are 0.
#[inline]
pub fn michelson_contrast(a_cd_m2: f64, b_cd_m2: f64) -> f64 {
    let sum = a_cd_m2 + b_cd_m2;
    if sum > 0.0 {
        (a_cd_m2 - b_cd_m2).abs() / sum
    } else {
        0.0
    }
}

/// Ratio of the greater to the smaller of two luminances, at least 1; infinite when one is 0.
#[inline]
pub fn luminance_ratio(a_cd_m2: f64, b_cd_m2: f64) -> f64 {
    a_cd_m2.max(b_cd_m2) / a_cd_m2.min(b_cd_m2)
}

/// Ratio that belongs to a Michelson contrast, (1 + M) / (1 - M).
#[inline]
pub fn ratio_from_michelson(michelson: f64) -> f64 {
    (1.0 + michelson) / (1.0 - michelson)
}

/// Weber contrast left when `veil_cd_m2` lies over both target and background: C L_b / (L_b + L_v).
#[inline]
pub fn contrast_after_veil(contrast: f64, background_cd_m2: f64, veil_cd_m2: f64) -> f64 {
    let lit = background_cd_m2 + veil_cd_m2;
    if lit > 0.0 {
        contrast * background_cd_m2 / lit
    } else {
        0.0
    }
}

/// Lightness L* of `relative_luminance` = Y / Yn, 0 to 1 and above. Source: CIE 15 (CIELAB, 1976).
pub fn lightness(relative_luminance: f64) -> f64 {
    let y = relative_luminance.max(0.0);
    if y > 216.0 / 24389.0 {
        116.0 * y.cbrt() - 16.0
    } else {
        24389.0 / 27.0 * y
    }
}

/// Relative luminance Y / Yn of a lightness L*, the inverse of [`lightness`].
pub fn relative_luminance_of_lightness(lightness: f64) -> f64 {
    if lightness > 8.0 {
        ((lightness + 16.0) / 116.0).powi(3)
    } else {
        lightness.max(0.0) * 27.0 / 24389.0
    }
}

/// Range of background luminance [cd/m2] of Adrian's formulas as used here.
const ADRIAN_LEAST_CD_M2: f64 = 0.00418;
const ADRIAN_MOST_CD_M2: f64 = 1000.0;

/// Least target size [arcmin] put into Adrian's formulas, to keep them finite. Own choice.
const ADRIAN_LEAST_ARCMIN: f64 = 0.01;

/// Adrian's threshold with background, viewing time and age worked in, for many target sizes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdrianObserver {
    background_cd_m2: f64,
    /// F of the formula, root of the luminous flux function.
    flux_root: f64,
    /// G of the formula, root of the luminance function.
    luminance_root: f64,
    /// Square of the part of Blondel and Rey's constant that depends on luminance.
    blondel_rey_luminance_square: f64,
    exposure_s: f64,
    /// 2.6 x age factor / background [m2/cd].
    scale: f64,
}

impl AdrianObserver {
    /// Observer of `age_years` adapted to `background_cd_m2`, looking for `exposure_s` (held at 1 ms or more).
    ///
    /// Below 0.00418 cd/m2 and above 1000 cd/m2 the threshold CONTRAST of that end is kept. Ages below 23 count as 23.
    pub fn new(background_cd_m2: f64, exposure_s: f64, age_years: f64) -> Self {
        let l = background_cd_m2.clamp(ADRIAN_LEAST_CD_M2, ADRIAN_MOST_CD_M2);
        let log_l = l.log10();
        // Adrian 1989, two of the three luminance ranges (constants from memory).
        let (flux_root, luminance_root) = if l >= 0.6 {
            (
                (4.2841 * l.powf(0.1556)).log10() + 0.1684 * l.powf(0.5867),
                0.05946 * l.powf(0.466),
            )
        } else {
            (
                10_f64.powf(-0.072 + 0.3372 * log_l + 0.0866 * log_l * log_l),
                10_f64.powf(-1.256 + 0.319 * log_l),
            )
        };
        let shifted = (log_l + 6.0) * (log_l + 6.0);
        let blondel_rey = 0.355 - 0.1217 * shifted / (shifted - 10.4 * (log_l + 6.0) + 52.28);
        Self {
            background_cd_m2,
            flux_root,
            luminance_root,
            blondel_rey_luminance_square: blondel_rey * blondel_rey,
            exposure_s: exposure_s.max(1e-3),
            scale: 2.6 * adrian_age_factor(age_years) / l,
        }
    }

    /// Smallest visible Weber contrast of a target of angular size `size_rad`, with 99.9 % probability.
    #[inline]
    pub fn threshold_contrast(&self, size_rad: f64) -> f64 {
        let size_arcmin = (size_rad.to_degrees() * 60.0).max(ADRIAN_LEAST_ARCMIN);
        let x = size_arcmin.log10() + 0.523;
        // Adrian 1989, Blondel-Rey constant after Schmidt-Clausen (constants from memory).
        let a_size = 0.36 - 0.0972 * x * x / (x * x - 2.513 * x + 2.7895);
        let a = (a_size * a_size + self.blondel_rey_luminance_square).sqrt() / 2.1;
        let root = self.flux_root / size_arcmin + self.luminance_root;
        self.scale * root * root * (a + self.exposure_s) / self.exposure_s
    }

    /// Smallest visible luminance difference [cd/m2] of a target of angular size `size_rad`.
    #[inline]
    pub fn threshold_cd_m2(&self, size_rad: f64) -> f64 {
        self.threshold_contrast(size_rad) * self.background_cd_m2
    }
}

/// Factor on the threshold for age, about 1 at 23 and 3.0 at 70. Source: Adrian 1989 (from memory).
pub fn adrian_age_factor(age_years: f64) -> f64 {
    if age_years <= 64.0 {
        (age_years.max(23.0) - 19.0).powi(2) / 2160.0 + 0.99
    } else {
        (age_years - 56.6).powi(2) / 116.3 + 1.43
    }
}

/// Smallest visible luminance difference [cd/m2] by Adrian 1989; see [`AdrianObserver`].
pub fn adrian_threshold_cd_m2(
    background_cd_m2: f64,
    size_rad: f64,
    exposure_s: f64,
    age_years: f64,
) -> f64 {
    AdrianObserver::new(background_cd_m2, exposure_s, age_years).threshold_cd_m2(size_rad)
}

/// Threshold contrast of a 4 arcmin disc shown for 0.2 s to a young observer. Source: CIE 19/2:1981 (from memory).
///
/// `background_cd_m2` above 0.
pub fn cie19_threshold_contrast(background_cd_m2: f64) -> f64 {
    0.05936 * ((1.639 / background_cd_m2).powf(0.4) + 1.0).powf(2.5)
}

/// Relative contrast sensitivity, 1 at 100 cd/m2. Source: CIE 19/2:1981 (from memory).
pub fn relative_contrast_sensitivity(background_cd_m2: f64) -> f64 {
    1.555 * ((1.639 / background_cd_m2).powf(0.4) + 1.0).powf(-2.5)
}

/// Visibility level: how many times `contrast` exceeds `threshold_contrast`. Source: CIE e-ILV 17-22-085.
#[inline]
pub fn visibility_level(contrast: f64, threshold_contrast: f64) -> f64 {
    contrast.abs() / threshold_contrast
}

#[cfg(test)]
mod tests {
    use super::*;

    const ARCMIN: f64 = std::f64::consts::PI / 180.0 / 60.0;

    #[test]
    fn threshold_has_no_step_where_the_formulas_change() {
        for size_arcmin in [2.0, 10.0, 60.0] {
            let below = adrian_threshold_cd_m2(0.5999, size_arcmin * ARCMIN, 2.0, 30.0);
            let above = adrian_threshold_cd_m2(0.6001, size_arcmin * ARCMIN, 2.0, 30.0);
            assert!((above / below - 1.0).abs() < 0.02, "{below} {above} cd/m2");
        }
        let young = adrian_age_factor(63.99);
        let old = adrian_age_factor(64.01);
        assert!((young / old - 1.0).abs() < 0.02, "age factor {young} {old}");
    }

    #[test]
    fn odd_inputs_give_numbers() {
        for background in [0.0, 1e-6, 1e7] {
            for size_rad in [0.0, 1e-9, 1.0] {
                let c = AdrianObserver::new(background, 0.0, 90.0).threshold_contrast(size_rad);
                assert!(c.is_finite() && c > 0.0, "{background} {size_rad}: {c}");
            }
        }
        assert_eq!(contrast_after_veil(0.3, 0.0, 0.0), 0.0);
        assert_eq!(michelson_contrast(0.0, 0.0), 0.0);
    }

    #[test]
    fn shorter_glances_need_more_contrast() {
        let at = |s: f64| adrian_threshold_cd_m2(20.0, 10.0 * ARCMIN, s, 40.0);
        assert!(at(0.2) > at(2.0));
    }

    #[test]
    fn lightness_and_its_inverse_agree() {
        for l in [0.0, 3.0, 7.9, 8.1, 50.0, 100.0] {
            let back = lightness(relative_luminance_of_lightness(l));
            assert!((back - l).abs() < 1e-9, "{back} {l}");
        }
    }

    #[test]
    fn seeing_changes_at_its_limits() {
        assert_eq!(Seeing::at(5.0), Seeing::Day);
        assert_eq!(Seeing::at(4.0), Seeing::Dim);
        assert!(Seeing::at(2.9).too_dark_for_colour());
        assert!(!Seeing::at(3.0).too_dark_for_colour());
        assert_eq!(Seeing::at(0.0), Seeing::Night);
    }
}
