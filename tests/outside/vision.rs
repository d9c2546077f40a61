//! What the eye sees: adaptation, contrast, thresholds, lightness; and the dose of light, against worked values.

use lustrewalk::measure::adaptation::{
    adaptation_cd_m2, adrian_threshold_cd_m2, cie19_threshold_contrast, contrast_after_veil,
    lightness, luminance_ratio, michelson_contrast, ratio_from_michelson,
    relative_contrast_sensitivity, relative_luminance_of_lightness, weber_contrast,
};
use lustrewalk::measure::hazard::{LightClass, annual_exposure_lx_h, share_of_budget};

/// One arcminute [rad].
const ARCMIN_RAD: f64 = 2.908_882_086_657_216e-4;

fn assert_close(what: &str, actual: f64, expected: f64, tolerance: f64) {
    assert!(
        (actual - expected).abs() <= tolerance,
        "{what}: {actual}, expected {expected} within {tolerance}"
    );
}

/// Source: E / pi for a wall of reflectance 0.3 at 50 and 200 lx, by hand. Tolerance: the printed digits.
#[test]
fn adaptation_of_museum_walls() {
    // A wall gives 0.3 of what falls on it; a view full of it lights the eye with 15 and 60 lx.
    assert_close(
        "adaptation_cd_m2 at 15 lx",
        adaptation_cd_m2(15.0),
        4.8,
        0.05,
    );
    assert_close(
        "adaptation_cd_m2 at 60 lx",
        adaptation_cd_m2(60.0),
        19.0,
        0.2,
    );
}

/// Source: definitions, by hand (C9.1, C9.2). Tolerance: the printed digits.
#[test]
fn contrasts_of_two_luminances() {
    for (ratio, michelson) in [(1.1, 0.0476), (2.0, 0.333), (5.0, 0.667)] {
        assert_close(
            "michelson",
            michelson_contrast(20.0 * ratio, 20.0),
            michelson,
            5e-4,
        );
        assert_close(
            "ratio back",
            ratio_from_michelson((ratio - 1.0) / (ratio + 1.0)),
            ratio,
            1e-9,
        );
        assert_close(
            "weber is ratio - 1",
            weber_contrast(20.0 * ratio, 20.0),
            ratio - 1.0,
            1e-9,
        );
        assert_close(
            "ratio in either order",
            luminance_ratio(20.0, 20.0 * ratio),
            ratio,
            1e-9,
        );
    }
    assert_close(
        "contrast under veil",
        contrast_after_veil(0.3, 20.0, 1.369),
        0.2808,
        5e-5,
    );
}

/// Source: table worked out from Adrian 1989 with the constants of the reference sheet (C9.3), 2 s, ages 23 and 60.
/// Tolerance: half a unit of the last printed digit and a little for its rounding.
#[test]
fn adrian_thresholds_match_the_table() {
    let sizes_young = [1.0, 2.0, 4.0, 10.0, 30.0, 60.0];
    let sizes_old = [4.0, 10.0, 60.0];
    let table: [(f64, [f64; 6], [f64; 3]); 7] = [
        (
            1.0,
            [2.095, 0.595, 0.188, 0.0536, 0.0203, 0.0145],
            [0.333, 0.0950, 0.0257],
        ),
        (
            3.0,
            [1.196, 0.352, 0.118, 0.0373, 0.0162, 0.0123],
            [0.208, 0.0661, 0.0218],
        ),
        (
            10.0,
            [0.734, 0.224, 0.079, 0.0276, 0.0134, 0.0106],
            [0.140, 0.0490, 0.0188],
        ),
        (
            20.0,
            [0.594, 0.184, 0.067, 0.0243, 0.0123, 0.0099],
            [0.118, 0.0430, 0.0176],
        ),
        (
            30.0,
            [0.537, 0.168, 0.061, 0.0228, 0.0117, 0.0095],
            [0.109, 0.0404, 0.0169],
        ),
        (
            100.0,
            [0.442, 0.140, 0.052, 0.0199, 0.0105, 0.0087],
            [0.092, 0.0353, 0.0154],
        ),
        (
            1000.0,
            [0.425, 0.133, 0.048, 0.0179, 0.0092, 0.0075],
            [0.086, 0.0318, 0.0133],
        ),
    ];
    let mut worst: (f64, String) = (0.0, String::new());
    let mut rows = 0;
    for (background, young, old) in table {
        let young = sizes_young
            .iter()
            .zip(young)
            .map(|(&size, c)| (23.0, size, c));
        let old = sizes_old.iter().zip(old).map(|(&size, c)| (60.0, size, c));
        for (age, size, expected) in young.chain(old) {
            let actual =
                adrian_threshold_cd_m2(background, size * ARCMIN_RAD, 2.0, age) / background;
            // Printed with three decimals down to 4 arcmin, with four from 10 arcmin.
            let last_digit = if size <= 4.0 { 1e-3 } else { 1e-4 };
            let deviation = (actual - expected).abs() / last_digit;
            rows += 1;
            if deviation > worst.0 {
                worst = (
                    deviation,
                    format!(
                        "contrast at {background} cd/m2, {size} arcmin, age {age}: {actual}, expected {expected}"
                    ),
                );
            }
        }
    }
    println!(
        "C9.3 Adrian: {rows} rows, worst {:.2} last digits ({})",
        worst.0, worst.1
    );
    assert!(worst.0 <= 0.55, "{} ({:.2} last digits)", worst.1, worst.0);
}

/// Source: worked out from CIE 19/2:1981 (C9.4). Tolerance: the printed digits.
#[test]
fn cie_19_thresholds_match_worked_values() {
    for (background, expected) in [
        (1.0, 0.4352),
        (3.0, 0.2528),
        (10.0, 0.1595),
        (20.0, 0.1298),
        (30.0, 0.1172),
        (100.0, 0.0923),
        (1000.0, 0.0714),
    ] {
        let actual = cie19_threshold_contrast(background);
        assert_close(
            &format!("threshold at {background} cd/m2"),
            actual,
            expected,
            6e-5,
        );
    }
    for (background, expected) in [(1.0, 0.212), (10.0, 0.579), (100.0, 1.000)] {
        let actual = relative_contrast_sensitivity(background);
        assert_close(
            &format!("sensitivity at {background} cd/m2"),
            actual,
            expected,
            6e-4,
        );
    }
}

/// Source: worked out from CIE 15 (C9.6). Tolerance: the printed digits.
#[test]
fn lightness_matches_worked_values() {
    for (y, expected) in [
        (0.01, 8.99),
        (0.05, 26.73),
        (0.1, 37.84),
        (0.18, 49.50),
        (0.5, 76.07),
    ] {
        assert_close(&format!("L* of {y}"), lightness(y), expected, 0.006);
    }
    let ratio = relative_luminance_of_lightness(60.0) / relative_luminance_of_lightness(50.0);
    assert_close("ratio from L* 50 to 60", ratio, 1.527, 6e-4);
}

/// Source: arithmetic on the limits of CIE 157:2004 as remembered (C11.1). Tolerance: exact.
#[test]
fn doses_of_a_museum_year() {
    let wood = annual_exposure_lx_h(200.0, 8.0, 300.0);
    assert_eq!(wood, 480_000.0, "exposure_lx_h");
    assert_eq!(share_of_budget(wood, LightClass::Low), Some(0.8));
    let textile = annual_exposure_lx_h(50.0, 10.0, 300.0);
    assert_eq!(share_of_budget(textile, LightClass::Medium), Some(1.0));
    let sun = annual_exposure_lx_h(50_000.0, 20.0, 1.0);
    assert!(
        share_of_budget(sun, LightClass::Low).unwrap() > 1.0,
        "{sun} lx h"
    );
}
