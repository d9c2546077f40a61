//! Colour of light for pictures: colour temperature to linear RGB, sRGB encoding, tone curves, and V(lambda).
//!
//! Inputs: correlated colour temperature [K], linear RGB with Rec. 709 primaries, luminance [cd/m2]; outputs: linear or
//! encoded RGB. Pictures only, luminances that are reported never pass through here. Sources beside each
//! formula. Limits: three bands are exact for grey, within about 3 % in luminance for warm wood, and clearly
//! wrong for saturated metals under warm lamps.

/// Weights of linear Rec. 709 RGB in luminance. Source: IEC 61966-2-1 (row Y of the inverse of [`linear_rgb_from_xyz`]).
pub const LUMINANCE_WEIGHTS: [f64; 3] = [0.212_672_9, 0.715_152_2, 0.072_175_0];

/// Chromaticity (x, y) of standard illuminant A. Source: CIE 15.
pub const ILLUMINANT_A_XY: [f64; 2] = [0.447_58, 0.407_45];

/// Chromaticity (x, y) of the white of sRGB, illuminant D65. Source: IEC 61966-2-1.
pub const D65_XY: [f64; 2] = [0.3127, 0.3290];

/// Luminance of a linear RGB triple, in the triple's own unit.
#[inline]
pub fn luminance_of_rgb(rgb: [f64; 3]) -> f64 {
    LUMINANCE_WEIGHTS[0] * rgb[0] + LUMINANCE_WEIGHTS[1] * rgb[1] + LUMINANCE_WEIGHTS[2] * rgb[2]
}

/// Chromaticity (x, y) of a black body of `cct_k` [K], 1667 to 25000 (held there).
///
/// Y. Kim et al., "Design of advanced color temperature control system for HDTV applications", J. Korean Physical
/// Society 41, 2002 (from memory; within 1e-3 of Planck's law).
pub fn planck_xy(cct_k: f64) -> [f64; 2] {
    let t = cct_k.clamp(1667.0, 25_000.0);
    let cubic = |c: [f64; 4], v: f64| ((c[0] * v + c[1]) * v + c[2]) * v + c[3];
    let inverse = 1.0 / t;
    let x = if t <= 4000.0 {
        cubic(
            [-0.266_123_9e9, -0.234_358_9e6, 0.877_695_6e3, 0.179_910],
            inverse,
        )
    } else {
        cubic(
            [-3.025_846_9e9, 2.107_037_9e6, 0.222_634_7e3, 0.240_390],
            inverse,
        )
    };
    let y = if t <= 2222.0 {
        cubic(
            [-1.106_381_4, -1.348_110_20, 2.185_558_32, -0.202_196_83],
            x,
        )
    } else if t <= 4000.0 {
        cubic(
            [-0.954_947_6, -1.374_185_93, 2.091_370_15, -0.167_488_67],
            x,
        )
    } else {
        cubic([3.081_758_0, -5.873_386_70, 3.751_129_97, -0.370_014_83], x)
    };
    [x, y]
}

/// Chromaticity (x, y) of a phase of daylight of `cct_k` [K], 4000 to 25000 (held there). Source: CIE 15, daylight locus.
///
/// `cct_k` is on today's temperature scale; the nominal 6500 K of D65 is 6504 K here.
pub fn daylight_xy(cct_k: f64) -> [f64; 2] {
    let t = cct_k.clamp(4000.0, 25_000.0);
    let x = if t <= 7000.0 {
        -4.6070e9 / t.powi(3) + 2.9678e6 / (t * t) + 0.099_11e3 / t + 0.244_063
    } else {
        -2.0064e9 / t.powi(3) + 1.9018e6 / (t * t) + 0.247_48e3 / t + 0.237_040
    };
    [x, -3.000 * x * x + 2.870 * x - 0.275]
}

/// Tristimulus XYZ with Y = 1 of a chromaticity; `xy[1]` above 0.
pub fn xyz_from_xy(xy: [f64; 2]) -> [f64; 3] {
    [xy[0] / xy[1], 1.0, (1.0 - xy[0] - xy[1]) / xy[1]]
}

/// Linear RGB (Rec. 709 primaries, D65 white) of XYZ; components outside 0..=1 are kept. Source: IEC 61966-2-1.
pub fn linear_rgb_from_xyz(xyz: [f64; 3]) -> [f64; 3] {
    let [x, y, z] = xyz;
    [
        3.240_454_2 * x - 1.537_138_5 * y - 0.498_531_4 * z,
        -0.969_266_0 * x + 1.876_010_8 * y + 0.041_556_0 * z,
        0.055_643_4 * x - 0.204_025_9 * y + 1.057_225_2 * z,
    ]
}

/// Linear RGB of luminance 1 for a lamp of `cct_k` [K] on the black-body locus; a blue below 0 (under about 1900 K) is kept at 0.
pub fn lamp_rgb(cct_k: f64) -> [f64; 3] {
    rgb_of_unit_luminance(planck_xy(cct_k))
}

/// Linear RGB of luminance 1 for daylight of `cct_k` [K].
pub fn daylight_rgb(cct_k: f64) -> [f64; 3] {
    rgb_of_unit_luminance(daylight_xy(cct_k))
}

/// Linear RGB of luminance 1 for a chromaticity, without negative components.
fn rgb_of_unit_luminance(xy: [f64; 2]) -> [f64; 3] {
    let rgb = linear_rgb_from_xyz(xyz_from_xy(xy)).map(|c| c.max(0.0));
    let luminance = luminance_of_rgb(rgb);
    rgb.map(|c| c / luminance)
}

/// Encoded sRGB value 0..=1 of a linear one, held to 0..=1. Source: IEC 61966-2-1.
#[inline]
pub fn srgb_encode(linear: f64) -> f64 {
    let c = linear.clamp(0.0, 1.0);
    if c <= 0.003_130_8 {
        12.92 * c
    } else {
        1.055 * c.powf(1.0 / 2.4) - 0.055
    }
}

/// Linear value 0..=1 of an encoded sRGB one, held to 0..=1. Source: IEC 61966-2-1.
#[inline]
pub fn srgb_decode(encoded: f64) -> f64 {
    let c = encoded.clamp(0.0, 1.0);
    if c <= 0.040_45 {
        c / 12.92
    } else {
        ((c + 0.055) / 1.055).powf(2.4)
    }
}

/// Byte of an encoded sRGB channel for a linear value; one that is not a number is black.
#[inline]
pub fn srgb_byte(linear: f64) -> u8 {
    (srgb_encode(linear) * 255.0).round() as u8
}

/// Key of a picture of middling brightness. Source: Reinhard et al. 2002 (from memory).
pub const MIDDLE_KEY: f64 = 0.18;

/// Tone curve of E. Reinhard et al., "Photographic tone reproduction for digital images", 2002, eq. 2 to 4, for one picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToneCurve {
    scale_m2_per_cd: f64,
    inverse_white_square: f64,
}

impl ToneCurve {
    /// Curve for a picture whose log-average luminance is `average_cd_m2` (above 0), with the given `key` (see [`MIDDLE_KEY`]).
    ///
    /// `white_cd_m2` is the least luminance shown as white; `None` compresses without limit.
    pub fn new(average_cd_m2: f64, key: f64, white_cd_m2: Option<f64>) -> Self {
        let scale_m2_per_cd = key / average_cd_m2;
        let inverse_white_square = white_cd_m2.map_or(0.0, |white_cd_m2| {
            let white = white_cd_m2 * scale_m2_per_cd;
            1.0 / (white * white)
        });
        Self {
            scale_m2_per_cd,
            inverse_white_square,
        }
    }

    /// Scale [m2/cd], and 1 / white^2 after scaling: the curve's two numbers, for shaders.
    pub fn parts(&self) -> (f64, f64) {
        (self.scale_m2_per_cd, self.inverse_white_square)
    }

    /// Linear display value of a luminance [cd/m2]: 0 for black, 1 at the white point, more above it.
    #[inline]
    pub fn display(&self, luminance_cd_m2: f64) -> f64 {
        let x = luminance_cd_m2.max(0.0) * self.scale_m2_per_cd;
        x * (1.0 + x * self.inverse_white_square) / (1.0 + x)
    }
}

/// Log-average of luminances [cd/m2], each held at `floor_cd_m2` (above 0) or more; `None` for an empty list.
pub fn log_average_cd_m2(luminance_cd_m2: &[f32], floor_cd_m2: f64) -> Option<f64> {
    let sum: f64 = luminance_cd_m2
        .iter()
        .map(|&l| f64::from(l).max(floor_cd_m2).ln())
        .sum();
    (!luminance_cd_m2.is_empty()).then(|| (sum / luminance_cd_m2.len() as f64).exp())
}

/// Scale [m2/cd] from world luminance to linear display value that keeps just visible contrasts just visible.
///
/// G. Ward, "A contrast-based scalefactor for luminance display", Graphics Gems IV, 1994 (from memory).
/// `display_max_cd_m2` is the display's white, `adaptation_cd_m2` that of an eye in the scene.
pub fn contrast_scale_m2_per_cd(display_max_cd_m2: f64, adaptation_cd_m2: f64) -> f64 {
    let display = 1.219 + (display_max_cd_m2 / 2.0).powf(0.4);
    let world = 1.219 + adaptation_cd_m2.powf(0.4);
    (display / world).powf(2.5) / display_max_cd_m2
}

/// First wavelength [nm] of [`V_LAMBDA`].
pub const V_LAMBDA_FIRST_NM: f64 = 380.0;
/// Step [nm] of [`V_LAMBDA`].
pub const V_LAMBDA_STEP_NM: f64 = 10.0;

/// Photopic luminous efficiency, 380 to 780 nm every 10 nm. Source: CIE, 1924.
pub const V_LAMBDA: [f64; 41] = [
    0.000039, 0.000120, 0.000396, 0.001210, 0.004000, 0.011600, 0.023000, 0.038000, 0.060000,
    0.090980, 0.139020, 0.208020, 0.323000, 0.503000, 0.710000, 0.862000, 0.954000, 0.994950,
    0.995000, 0.952000, 0.870000, 0.757000, 0.631000, 0.503000, 0.381000, 0.265000, 0.175000,
    0.107000, 0.061000, 0.032000, 0.017000, 0.008210, 0.004102, 0.002091, 0.001047, 0.000520,
    0.000249, 0.000120, 0.000060, 0.000030, 0.000015,
];

/// Photopic luminous efficiency at `wavelength_nm` [nm], straight between the table's points (up to 0.01 off), 0 outside.
pub fn v_lambda(wavelength_nm: f64) -> f64 {
    let place = (wavelength_nm - V_LAMBDA_FIRST_NM) / V_LAMBDA_STEP_NM;
    let last = (V_LAMBDA.len() - 1) as f64;
    if !(0.0..=last).contains(&place) {
        return 0.0;
    }
    let index = (place as usize).min(V_LAMBDA.len() - 2);
    let share = place - index as f64;
    // `index + 1` is at most the last place.
    V_LAMBDA[index] * (1.0 - share) + V_LAMBDA[index + 1] * share
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lamps_have_unit_luminance_and_warm_ones_are_red() {
        for cct_k in [1000.0, 1667.0, 2700.0, 4000.0, 6500.0, 25_000.0, 1e6] {
            let rgb = lamp_rgb(cct_k);
            let luminance = luminance_of_rgb(rgb);
            assert!(
                (luminance - 1.0).abs() < 1e-9,
                "{cct_k} K: luminance {luminance}"
            );
            assert!(rgb.iter().all(|&c| c >= 0.0), "{rgb:?}");
        }
        let warm = lamp_rgb(2700.0);
        assert!(warm[0] > warm[1] && warm[1] > warm[2]);
    }

    #[test]
    fn middle_grey_is_byte_118_and_ends_are_exact() {
        assert_eq!(
            [0.0, 0.18, 1.0, 5.0, -1.0].map(srgb_byte),
            [0, 118, 255, 255, 0]
        );
        assert_eq!(srgb_byte(f64::NAN), 0);
    }

    #[test]
    fn encoding_and_decoding_agree() {
        for byte in 0..=255_u8 {
            assert_eq!(srgb_byte(srgb_decode(f64::from(byte) / 255.0)), byte);
        }
    }

    #[test]
    fn white_point_is_white() {
        let curve = ToneCurve::new(30.0, MIDDLE_KEY, Some(1000.0));
        assert!((curve.display(1000.0) - 1.0).abs() < 1e-12);
        assert_eq!(curve.display(-1.0), 0.0);
    }

    #[test]
    fn log_average_of_decades_is_the_middle_one() {
        let average = log_average_cd_m2(&[1.0, 10.0, 100.0], 0.01).unwrap();
        assert!((average - 10.0).abs() < 1e-9);
        assert_eq!(log_average_cd_m2(&[], 0.01), None);
    }

    #[test]
    fn efficiency_is_zero_outside_and_hits_the_table() {
        assert_eq!(v_lambda(379.0), 0.0);
        assert_eq!(v_lambda(781.0), 0.0);
        assert_eq!(v_lambda(780.0), 0.000015);
        assert_eq!(v_lambda(f64::NAN), 0.0);
        assert!((v_lambda(550.0) - 0.99495).abs() < 1e-12);
    }
}
