//! Colour of light and tone curves against worked values; pictures only.

use lustrewalk::measure::colour::{
    LUMINANCE_WEIGHTS, MIDDLE_KEY, ToneCurve, V_LAMBDA, contrast_scale_m2_per_cd, daylight_xy,
    lamp_rgb, linear_rgb_from_xyz, luminance_of_rgb, planck_xy, srgb_encode, v_lambda, xyz_from_xy,
};

/// (colour temperature [K], x, y, linear R, G, B with Y = 1) of a black body, integrated from Planck's law.
const BLACK_BODY: [(f64, [f64; 2], [f64; 3]); 6] = [
    (2700.0, [0.45986, 0.41060], [1.9348, 0.8036, 0.1918]),
    (3000.0, [0.43693, 0.40408], [1.7706, 0.8443, 0.2721]),
    (3500.0, [0.40531, 0.39072], [1.5640, 0.8923, 0.4056]),
    (4000.0, [0.38044, 0.37675], [1.4138, 0.9240, 0.5335]),
    (5000.0, [0.34510, 0.35161], [1.2133, 0.9605, 0.7625]),
    (6500.0, [0.31353, 0.32363], [1.0432, 0.9836, 1.0352]),
];

/// Source: Planck's law integrated with a colour-science library (C12.1). Tolerance: 1e-3 in x and y, the stated reach
/// of the fit; and 1.5 % of the luminance in each channel, which is what 1e-3 in chromaticity can make.
#[test]
fn lamps_match_plancks_law() {
    let (mut worst_xy, mut worst_rgb) = (0.0_f64, 0.0_f64);
    for (cct_k, xy, rgb) in BLACK_BODY {
        let actual_xy = planck_xy(cct_k);
        let actual_rgb = lamp_rgb(cct_k);
        for i in 0..2 {
            worst_xy = worst_xy.max((actual_xy[i] - xy[i]).abs());
        }
        for i in 0..3 {
            worst_rgb = worst_rgb.max((actual_rgb[i] - rgb[i]).abs());
        }
        assert!(
            worst_xy < 1e-3,
            "{cct_k} K: xy {actual_xy:?}, expected {xy:?}"
        );
        assert!(
            worst_rgb < 0.015,
            "{cct_k} K: rgb {actual_rgb:?}, expected {rgb:?}"
        );
    }
    println!(
        "C12.1: {} rows, worst xy {worst_xy:.1e}, worst rgb {worst_rgb:.1e}",
        BLACK_BODY.len()
    );
}

/// Source: the same table. Tolerance: 4e-4, what half the last printed digit of x and y can make in blue.
#[test]
fn chromaticity_to_rgb_matches_the_table() {
    let mut worst = 0.0_f64;
    for (cct_k, xy, rgb) in BLACK_BODY {
        let actual = linear_rgb_from_xyz(xyz_from_xy(xy));
        for i in 0..3 {
            worst = worst.max((actual[i] - rgb[i]).abs());
        }
        assert!(worst < 4e-4, "{cct_k} K: rgb {actual:?}, expected {rgb:?}");
        let luminance = luminance_of_rgb(actual);
        assert!(
            (luminance - 1.0).abs() < 1e-5,
            "{cct_k} K: luminance {luminance}, expected 1"
        );
    }
    println!("C12.1 conversion: worst {worst:.1e}");
    let sum: f64 = LUMINANCE_WEIGHTS.iter().sum();
    assert!((sum - 1.0).abs() < 1e-6, "weights add to {sum}");
}

/// Source: CIE 15 daylight locus worked out (C12.2), temperatures on today's scale. Tolerance: the printed digits.
#[test]
fn daylight_lies_on_its_locus() {
    let mut worst = 0.0_f64;
    for (cct_k, x, y) in [
        (5000.0, 0.34574, 0.35867),
        (5500.0, 0.33250, 0.34761),
        (6500.0, 0.31278, 0.32918),
        (10_000.0, 0.27880, 0.29197),
    ] {
        let actual = daylight_xy(cct_k);
        worst = worst.max((actual[0] - x).abs()).max((actual[1] - y).abs());
        assert!(worst < 6e-6, "{cct_k} K: xy {actual:?}, expected {x} {y}");
    }
    println!("C12.2: worst {worst:.1e}");
    // The white of sRGB is D65, nominally 6500 K, 6500 x 1.4388 / 1.4380 K today; D65 itself lies
    // 1e-4 below the locus.
    let white = daylight_xy(6503.6);
    assert!(
        (white[0] - 0.3127).abs() < 1e-4 && (white[1] - 0.3290).abs() < 2e-4,
        "{white:?}"
    );
}

/// Source: E. Reinhard et al. 2002 by hand, log-average 30 cd/m2, key 0.18 (C12.3). Tolerance: the printed digits.
#[test]
fn tone_curve_matches_worked_values() {
    let open = ToneCurve::new(30.0, MIDDLE_KEY, None);
    let white = ToneCurve::new(30.0, MIDDLE_KEY, Some(1000.0));
    for (curve, luminance, expected) in [
        (open, 30.0, 0.1525),
        (open, 300.0, 0.6429),
        (white, 30.0, 0.1533),
        (white, 300.0, 0.6750),
        (white, 1000.0, 1.0000),
    ] {
        let actual = curve.display(luminance);
        assert!(
            (actual - expected).abs() < 6e-5,
            "{luminance} cd/m2: {actual}, expected {expected}"
        );
    }
}

/// Source: G. Ward 1994 by hand, display of 100 cd/m2 (C12.4). Tolerance: relative 1e-3, the printed digits.
#[test]
fn contrast_scale_matches_worked_values() {
    for (adaptation, expected) in [
        (1.0, 0.12026),
        (10.0, 0.03281),
        (30.0, 0.01489),
        (100.0, 0.00567),
        (1000.0, 0.000733),
    ] {
        let actual = contrast_scale_m2_per_cd(100.0, adaptation);
        assert!(
            (actual / expected - 1.0).abs() < 1e-3,
            "{adaptation} cd/m2: {actual}, expected {expected}"
        );
    }
}

/// Source: CIE 1924 efficiency, sum over 380 to 780 nm at 5 nm, 21.37133 from a colour-science library. Tolerance: 0.1 %,
/// because our table has every second of those points and runs straight between them.
#[test]
fn efficiency_adds_up() {
    let sum: f64 = (0..=80).map(|i| v_lambda(380.0 + 5.0 * f64::from(i))).sum();
    assert!(
        (sum / 21.37133 - 1.0).abs() < 1e-3,
        "sum {sum}, expected 21.37133"
    );
    let peak = V_LAMBDA.iter().copied().fold(0.0, f64::max);
    assert_eq!(peak, 0.995, "greatest tabulated value, at 560 nm");
}

/// Source: IEC 61966-2-1 by hand: 0.5 linear is 0.735357, the linear part ends at 0.0031308 x 12.92 = 0.04045. Tolerance: digits.
#[test]
fn srgb_curve_matches_worked_values() {
    for (linear, expected) in [(0.5, 0.735_357), (0.003_130_8, 0.040_45), (0.18, 0.461_356)] {
        let actual = srgb_encode(linear);
        assert!(
            (actual - expected).abs() < 1e-5,
            "{linear}: {actual}, expected {expected}"
        );
    }
}
