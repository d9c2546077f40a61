//! The colour ramp of values: dark slate, teal, sage, pale gold.
//!
//! Input: a position 0..=1; output: an sRGB colour. Lightness rises evenly, and equal steps of
//! position are equal distances in OKLab (B. Ottosson, "A perceptual color space for image
//! processing", 2020; matrices from memory). Order is carried by lightness, so it survives colour
//! blindness and grey printing; the tests simulate it.

use std::sync::OnceLock;

/// Anchors of the ramp in OKLCh: lightness, chroma, hue [deg].
const ANCHORS: [[f64; 3]; 6] = [
    [0.255, 0.034, 268.0],
    [0.400, 0.064, 240.0],
    [0.545, 0.074, 200.0],
    [0.690, 0.085, 160.0],
    [0.825, 0.098, 112.0],
    [0.955, 0.068, 92.0],
];

/// Steps of the table that the ramp is read from.
const STEPS: usize = 256;

/// Colour at `position`, clamped to 0..=1; not a number counts as 0.
pub fn colour(position: f32) -> [u8; 3] {
    static TABLE: OnceLock<Vec<[u8; 3]>> = OnceLock::new();
    let table = TABLE.get_or_init(table);
    let position = if position.is_nan() {
        0.0
    } else {
        position.clamp(0.0, 1.0)
    };
    let index = (position * (STEPS - 1) as f32).round() as usize;
    table.get(index).copied().unwrap_or([0; 3])
}

/// Colour at `position` as `#rrggbb`.
pub fn hex(position: f32) -> String {
    let [r, g, b] = colour(position);
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Even steps along the arc length of the anchor curve in OKLab.
fn table() -> Vec<[u8; 3]> {
    const FINE: usize = 4096;
    let curve: Vec<[f64; 3]> = (0..=FINE)
        .map(|i| on_curve(i as f64 / FINE as f64))
        .collect();
    let mut lengths = vec![0.0];
    let mut total = 0.0;
    for pair in curve.windows(2) {
        if let [from, to] = pair {
            total += distance(*from, *to);
            lengths.push(total);
        }
    }
    (0..STEPS)
        .map(|step| {
            let wanted = total * step as f64 / (STEPS - 1) as f64;
            let index = lengths.partition_point(|length| *length < wanted).min(FINE);
            srgb_from_oklab(curve.get(index).copied().unwrap_or([0.0; 3]))
        })
        .collect()
}

/// Point of the anchor curve (Catmull-Rom through the anchors in OKLab a, b; straight in lightness).
fn on_curve(t: f64) -> [f64; 3] {
    let last = ANCHORS.len() - 1;
    let scaled = t * last as f64;
    let index = (scaled as usize).min(last - 1);
    let u = scaled - index as f64;
    let anchor = |offset: isize| {
        let at = index.saturating_add_signed(offset).min(last);
        let [l, c, h] = ANCHORS.get(at).copied().unwrap_or([0.0; 3]);
        let h = h.to_radians();
        [l, c * h.cos(), c * h.sin()]
    };
    let (p0, p1, p2, p3) = (anchor(-1), anchor(0), anchor(1), anchor(2));
    let mut point = [0.0; 3];
    for ((((out, a), b), c), d) in point.iter_mut().zip(p0).zip(p1).zip(p2).zip(p3) {
        *out = 0.5
            * (2.0 * b
                + (c - a) * u
                + (2.0 * a - 5.0 * b + 4.0 * c - d) * u * u
                + (3.0 * b - a - 3.0 * c + d) * u * u * u);
    }
    // The first and last lightness steps equal the inner ones, so straight is smooth.
    point[0] = p1[0] + (p2[0] - p1[0]) * u;
    point
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter()
        .zip(b)
        .map(|(a, b)| (a - b) * (a - b))
        .sum::<f64>()
        .sqrt()
}

/// sRGB code to linear light 0..=1 (IEC 61966-2-1).
pub(super) fn linear_from_srgb(code: u8) -> f32 {
    let value = f32::from(code) / 255.0;
    if value <= 0.04045 {
        value / 12.92
    } else {
        ((value + 0.055) / 1.055).powf(2.4)
    }
}

/// OKLab to sRGB codes; Ottosson 2020, inverse matrices (from memory); IEC 61966-2-1 encoding.
fn srgb_from_oklab([l, a, b]: [f64; 3]) -> [u8; 3] {
    let long = (l + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
    let medium = (l - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
    let short = (l - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
    [
        4.076_741_662_1 * long - 3.307_711_591_3 * medium + 0.230_969_929_2 * short,
        -1.268_438_004_6 * long + 2.609_757_401_1 * medium - 0.341_319_396_5 * short,
        -0.004_196_086_3 * long - 0.703_418_614_7 * medium + 1.707_614_701_0 * short,
    ]
    .map(|linear| {
        let linear = linear.clamp(0.0, 1.0);
        let encoded = if linear <= 0.003_130_8 {
            12.92 * linear
        } else {
            1.055 * linear.powf(1.0 / 2.4) - 0.055
        };
        (encoded * 255.0).round() as u8
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Linear sRGB to OKLab, forward matrices of Ottosson 2020 (from memory), written apart from the inverse above.
    fn oklab(linear: [f64; 3]) -> [f64; 3] {
        let [r, g, b] = linear;
        let l = (0.412_221_470_8 * r + 0.536_332_536_3 * g + 0.051_445_992_9 * b).cbrt();
        let m = (0.211_903_498_2 * r + 0.680_699_545_1 * g + 0.107_396_956_6 * b).cbrt();
        let s = (0.088_302_461_9 * r + 0.281_718_837_6 * g + 0.629_978_700_5 * b).cbrt();
        [
            0.210_454_255_3 * l + 0.793_617_785_0 * m - 0.004_072_046_8 * s,
            1.977_998_495_1 * l - 2.428_592_205_0 * m + 0.450_593_709_9 * s,
            0.025_904_037_1 * l + 0.782_771_766_2 * m - 0.808_675_766_0 * s,
        ]
    }

    fn linear(position: f32) -> [f64; 3] {
        colour(position).map(|code| f64::from(linear_from_srgb(code)))
    }

    #[test]
    fn white_has_oklab_lightness_one() {
        let white = oklab([1.0; 3]);
        assert!((white[0] - 1.0).abs() < 1e-6 && white[1].abs() < 1e-6 && white[2].abs() < 1e-6);
    }

    #[test]
    fn lightness_rises_at_every_step() {
        let mut previous = -1.0;
        for step in 0..64 {
            let lightness = oklab(linear(step as f32 / 63.0))[0];
            assert!(
                lightness > previous,
                "step {step}: {lightness} after {previous}"
            );
            previous = lightness;
        }
        assert!(previous > 0.94, "last lightness {previous}");
    }

    /// Tolerance 6 % of the mean step: 17 steps of 15 table entries, each channel rounded by half a code.
    #[test]
    fn equal_steps_are_equal_distances() {
        let points: Vec<_> = (0..=17).map(|i| oklab(linear(i as f32 / 17.0))).collect();
        let steps: Vec<f64> = points.windows(2).map(|p| distance(p[0], p[1])).collect();
        let mean = steps.iter().sum::<f64>() / steps.len() as f64;
        for (index, step) in steps.iter().enumerate() {
            let off = (step / mean - 1.0).abs();
            assert!(off < 0.06, "step {index}: {step} against a mean of {mean}");
        }
    }

    #[test]
    fn no_colour_is_out_of_gamut() {
        for step in 0..=100 {
            let lab = on_curve(f64::from(step) / 100.0);
            let back = oklab(srgb_from_oklab(lab).map(|code| f64::from(linear_from_srgb(code))));
            assert!(
                distance(lab, back) < 0.006,
                "step {step}: {lab:?} became {back:?}"
            );
        }
    }

    /// Source: G. M. Machado, M. M. Oliveira and L. A. F. Fernandes, "A physiologically-based model for
    /// simulation of color vision deficiency", IEEE TVCG 15(6), 2009, severity 1.0 (matrices from memory).
    #[test]
    fn order_is_kept_for_colour_blind_readers() {
        let protanopia = [
            [0.152_286, 1.052_583, -0.204_868],
            [0.114_503, 0.786_281, 0.099_216],
            [-0.003_882, -0.048_116, 1.051_998],
        ];
        let deuteranopia = [
            [0.367_322, 0.860_646, -0.227_968],
            [0.280_085, 0.672_501, 0.047_413],
            [-0.011_820, 0.042_940, 0.968_881],
        ];
        let tritanopia = [
            [1.255_528, -0.076_749, -0.178_779],
            [-0.078_411, 0.930_809, 0.147_602],
            [0.004_733, 0.691_367, 0.303_900],
        ];
        for (name, matrix) in [
            ("protanopia", protanopia),
            ("deuteranopia", deuteranopia),
            ("tritanopia", tritanopia),
        ] {
            let seen = |position: f32| {
                let rgb = linear(position);
                oklab(matrix.map(|row: [f64; 3]| {
                    row.iter()
                        .zip(rgb)
                        .map(|(m, c)| m * c)
                        .sum::<f64>()
                        .clamp(0.0, 1.0)
                }))
            };
            let points: Vec<_> = (0..=24).map(|i| seen(i as f32 / 24.0)).collect();
            for (index, pair) in points.windows(2).enumerate() {
                let (rise, step) = (pair[1][0] - pair[0][0], distance(pair[0], pair[1]));
                assert!(
                    rise > 0.01,
                    "{name}, step {index}: lightness rises by {rise}"
                );
                assert!(step > 0.015, "{name}, step {index}: distance {step}");
            }
        }
    }
}
