//! Photometric files against the rules of their formats and an independent reader.

use std::f32::consts::{PI, TAU};
use std::fs;
use std::path::PathBuf;

use glam::Vec3;
use lustrewalk::luminaire::{
    Aperture, IntensityDistribution, PhotometricFormat, PhotometricSymmetry, PhotometricType,
    PhotometricWarning, Photometry, PhotometryError, direction_from_angles, read_photometry,
};

/// Fails with both values, their name and unit when they differ by more than a share of the expected one.
#[track_caller]
pub fn assert_share(what: &str, unit: &str, found: f64, expected: f64, tolerance: f64) {
    let scale = if expected == 0.0 { 1.0 } else { expected.abs() };
    assert!(
        (found - expected).abs() <= tolerance * scale,
        "{what}: {found} {unit}, expected {expected} {unit} (tolerance {tolerance})"
    );
}

/// Direction of gamma and C [deg], in f64. A pole is missed by 1e-7 rad, so that it keeps its plane: in the
/// invented files the planes do not agree at gamma 0.
pub fn direction_deg(gamma_deg: f64, plane_deg: f64) -> Vec3 {
    let pole = 1e-7;
    let gamma = gamma_deg
        .to_radians()
        .clamp(pole, std::f64::consts::PI - pole);
    let plane = plane_deg.to_radians();
    glam::DVec3::new(
        gamma.sin() * plane.cos(),
        gamma.sin() * plane.sin(),
        -gamma.cos(),
    )
    .as_vec3()
}

fn cd(photometry: &Photometry, plane_deg: f64, gamma_deg: f64) -> f64 {
    let direction = direction_deg(gamma_deg, plane_deg);
    f64::from(photometry.distribution.intensity_cd(direction))
}

/// An LM-63 file with the given version line, numbers before the angles, and the rest.
fn lm63(version: &str, numbers: &str, rest: &str) -> Photometry {
    let text = format!("{version}\n[TEST] typed in\nTILT=NONE\n{numbers}\n{rest}\n");
    read_photometry(text.as_bytes(), "typed.ies").expect("a valid file")
}

/// A EULUMDAT file: symmetry, planes, gammas, lamp count, flux, and the numbers from the C angles on.
fn eulumdat(
    isym: u8,
    planes: &[f64],
    gammas: &[f64],
    lamps: i32,
    flux: f64,
    cd_klm: &[f64],
) -> String {
    let mut lines: Vec<String> = vec!["Nobody".into(), "3".into(), isym.to_string()];
    lines.extend([
        planes.len().to_string(),
        "0".into(),
        gammas.len().to_string(),
        "0".into(),
    ]);
    lines.extend(["r", "name", "number", "file", "date"].map(String::from));
    lines.extend(["200", "100", "50", "180", "90", "0", "0", "0", "0"].map(String::from));
    lines.extend(["100", "100", "1", "0", "1"].map(String::from));
    lines.extend([lamps.to_string(), "lamp".into(), flux.to_string()]);
    lines.extend(["3000 K", "90", "20"].map(String::from));
    lines.extend(std::iter::repeat_n("0".to_owned(), 10));
    for list in [planes, gammas, cd_klm] {
        lines.extend(list.iter().map(f64::to_string));
    }
    lines.join("\r\n")
}

/// Midpoint sum of intensity over the sphere [lm]; shares nothing with the exact integral.
pub fn brute_force_flux_lm(distribution: &IntensityDistribution, steps: usize) -> f64 {
    let gamma_step = f64::from(PI) / steps as f64;
    let mut sum = 0.0;
    for i in 0..steps {
        let gamma = (i as f64 + 0.5) * gamma_step;
        let ring = 2.0 * (0.5 * gamma_step).sin() * gamma.sin();
        let mut mean = 0.0;
        for j in 0..steps {
            let plane = f64::from(TAU) * (j as f64 + 0.5) / steps as f64;
            let direction = direction_from_angles(gamma as f32, plane as f32);
            mean += f64::from(distribution.intensity_cd(direction)) / steps as f64;
        }
        sum += mean * f64::from(TAU) * ring;
    }
    sum
}

/// Rule: candela = listed x multiplier x ballast factor, x the next number only in 1986 and 1991 files, once
/// each; lamp count and lumens do not multiply (IES LM-63-2002; LM-63-1991). Tolerance: f32 rounding.
#[test]
fn factors_apply_once_and_the_twelfth_number_only_in_old_files() {
    for (version, expected_cd) in [
        ("free text of an old file", 100.0 * 2.0 * 0.9 * 0.5),
        ("IESNA91", 100.0 * 2.0 * 0.9 * 0.5),
        ("IESNA:LM-63-1995", 100.0 * 2.0 * 0.9),
        ("IESNA:LM-63-2002", 100.0 * 2.0 * 0.9),
        ("IES:LM-63-2019", 100.0 * 2.0 * 0.9),
    ] {
        let file = lm63(
            version,
            "3 500 2.0 3 1 1 2 0 0 0  0.9 0.5 10",
            "0 45 90  0  100 50 10",
        );
        assert_share(version, "cd", cd(&file, 77.0, 0.0), expected_cd, 1e-6);
        let ratio = cd(&file, 0.0, 45.0) / cd(&file, 0.0, 0.0);
        assert_share("ratio of two listed angles", "", ratio, 0.5, 1e-6);
        assert_eq!(file.lamp_flux_lm, Some(1500.0));
    }
}

/// Invariant of bilinear interpolation by angle value: exact at listed angles, even the last; the mean half
/// way; uneven steps. Tolerance 0.1 % is the product's own promise; measured far below.
#[test]
fn listed_angles_are_exact_and_half_way_is_the_mean() {
    let gamma = [0.0, 1.0, 2.5, 10.0, 35.0, 36.0, 90.0];
    let listed = [1512.0, 1516.0, 1487.0, 1085.0, 141.0, 124.0, 7.0];
    let file = lm63(
        "IESNA91",
        "1 -1 1 7 1 1 1 0 -0.32 0 1 1 75",
        "0 1 2.5 10 35 36 90  0  1512 1516 1487 1085 141 124 7",
    );
    for i in 0..gamma.len() {
        for plane in [0.0, 33.0, 90.0, 180.0, 271.0] {
            assert_share(
                "at a listed angle",
                "cd",
                cd(&file, plane, gamma[i]),
                listed[i],
                1e-5,
            );
            if i > 0 {
                let middle = 0.5 * (gamma[i] + gamma[i - 1]);
                let mean = 0.5 * (listed[i] + listed[i - 1]);
                assert_share("half way", "cd", cd(&file, plane, middle), mean, 1e-5);
            }
        }
    }
    assert_eq!(cd(&file, 0.0, 90.1), 0.0, "above the listed range");
    assert_eq!(
        file.aperture,
        Some(Aperture::Disc {
            diameter_m: 0.32 * 0.3048
        })
    );
    assert_eq!(file.lamp_flux_lm, None, "-1 lumens is absolute photometry");
}

/// Rule: symmetry follows from the first and last horizontal angle (IES LM-63-1991; 90 to 270: LM-63-1995).
/// Each plane p lists 100 + p at gamma 45, so the value tells which plane answered.
#[test]
fn every_arrangement_of_planes_unfolds() {
    let planes = |list: &[f64]| {
        let angles: Vec<String> = list.iter().map(f64::to_string).collect();
        let values: Vec<String> = list
            .iter()
            .map(|p| format!("100 {} 0", 100.0 + p))
            .collect();
        lm63(
            "IESNA:LM-63-2002",
            &format!("1 -1 1 3 {} 1 2 0 0 0 1 1 1", list.len()),
            &format!("0 45 90 {} {}", angles.join(" "), values.join(" ")),
        )
    };
    let check = |list: &[f64], symmetry, probes: &[(f64, f64)]| {
        let file = planes(list);
        assert_eq!(file.symmetry, symmetry, "{list:?}");
        for &(plane, expected) in probes {
            let what = format!("{list:?} at C {plane}");
            assert_share(&what, "cd", cd(&file, plane, 45.0), 100.0 + expected, 1e-5);
        }
    };
    use PhotometricSymmetry::{MirrorC0C180, MirrorC90C270, None, Quadrant, Rotational};
    check(&[0.0], Rotational, &[(0.0, 0.0), (123.0, 0.0)]);
    check(
        &[0.0, 30.0, 90.0],
        Quadrant,
        &[
            (30.0, 30.0),
            (150.0, 30.0),
            (210.0, 30.0),
            (330.0, 30.0),
            (60.0, 60.0),
            (240.0, 60.0),
        ],
    );
    check(
        &[0.0, 20.0, 180.0],
        MirrorC0C180,
        &[(20.0, 20.0), (340.0, 20.0), (180.0, 180.0), (260.0, 100.0)],
    );
    check(
        &[90.0, 100.0, 180.0, 270.0],
        MirrorC90C270,
        &[
            (100.0, 100.0),
            (80.0, 100.0),
            (0.0, 180.0),
            (180.0, 180.0),
            (300.0, 240.0),
            (270.0, 270.0),
        ],
    );
    // Open turn: between 345 and 360 = 0.
    check(
        &[0.0, 120.0, 240.0, 345.0],
        None,
        &[(240.0, 240.0), (352.5, 172.5), (359.999, 0.023)],
    );
    check(
        &[0.0, 180.0, 200.0, 360.0],
        None,
        &[(190.0, 190.0), (200.0, 200.0), (0.0, 0.0)],
    );
}

/// Rule: EULUMDAT stores C0 to C180, C270 through C0 to C90, or C0 to C90 for symmetry 2, 3, 4 (format
/// description, item 3 and 30). Values name their plane as above.
#[test]
fn eulumdat_symmetries_unfold_and_the_half_of_symmetry_3_starts_at_c270() {
    let planes: Vec<f64> = (0..24).map(|i| 15.0 * f64::from(i)).collect();
    let gammas = [0.0, 45.0, 90.0];
    let stored: [&[usize]; 5] = [
        &(0..24).collect::<Vec<_>>(),
        &[0],
        &(0..13).collect::<Vec<_>>(),
        &(18..31).map(|i| i % 24).collect::<Vec<_>>(),
        &(0..7).collect::<Vec<_>>(),
    ];
    let mirrored: [fn(f64) -> f64; 5] = [
        |c| c,
        |_| 0.0,
        |c| if c > 180.0 { 360.0 - c } else { c },
        |c| {
            if c > 90.0 && c < 270.0 {
                (540.0 - c) % 360.0
            } else {
                c
            }
        },
        |c| {
            let half = if c > 180.0 { 360.0 - c } else { c };
            if half > 90.0 { 180.0 - half } else { half }
        },
    ];
    for isym in 0..5_u8 {
        let values: Vec<f64> = stored[usize::from(isym)]
            .iter()
            .flat_map(|&i| [100.0, 100.0 + planes[i], 0.0])
            .collect();
        // Lamp count -1: absolute, and the sign changes nothing.
        for lamps in [2, -1] {
            let text = eulumdat(isym, &planes, &gammas, lamps, 2000.0, &values);
            for text in [text.clone(), format!("\u{FEFF}{text}\r\n\u{1A}")] {
                let file = read_photometry(text.as_bytes(), "typed.ldt").expect("a valid file");
                assert_eq!(file.is_absolute(), lamps < 0);
                assert_eq!(file.watts, Some(20.0));
                assert_eq!(file.cct_k, Some(3000.0));
                assert_eq!(file.format, PhotometricFormat::Eulumdat { isym });
                for &plane in &planes {
                    let expected = 2.0 * (100.0 + mirrored[usize::from(isym)](plane));
                    let what = format!("symmetry {isym} at C {plane}");
                    assert_share(&what, "cd", cd(&file, plane, 45.0), expected, 1e-5);
                }
                assert_eq!(
                    file.aperture,
                    Some(Aperture::Rectangle {
                        width_m: 0.18,
                        length_m: 0.09
                    }),
                    "EULUMDAT length runs along C90"
                );
            }
        }
    }
}

/// Closed form: cd/klm of 1000/pi cos(gamma) with 1000 lm is a Lambertian of 318.31 cd and 1000 lm.
/// Tolerance 0.1 %: linear interpolation of a cosine in 5 degree steps loses 0.06 %.
#[test]
fn lambertian_eulumdat_file_gives_its_lamp_flux() {
    let gammas: Vec<f64> = (0..19).map(|i| 5.0 * f64::from(i)).collect();
    let values: Vec<f64> = gammas
        .iter()
        .map(|g| (1000.0 / std::f64::consts::PI * g.to_radians().cos()).max(0.0))
        .collect();
    let planes: Vec<f64> = (0..24).map(|i| 15.0 * f64::from(i)).collect();
    let text = eulumdat(1, &planes, &gammas, 1, 1000.0, &values);
    let file = read_photometry(text.as_bytes(), "typed.ldt").expect("a valid file");
    assert_share("flux", "lm", file.flux_lm, 1000.0, 1e-3);
    assert_share("straight down", "cd", cd(&file, 0.0, 0.0), 318.31, 1e-5);
    assert!(
        !file
            .warnings
            .iter()
            .any(|w| matches!(w, PhotometricWarning::FluxDisagrees { .. }))
    );
}

/// Source: tests/data/photometry/expected.json (independent reader, numpy). Tolerances of that file: 1e-5 for
/// intensities (six digits; 2e-5 here for f32), 1e-4 for lumens, Type B 1e-3.
#[test]
fn invented_files_read_as_the_second_reader_reads_them() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/photometry");
    let text = fs::read_to_string(folder.join("expected.json")).expect("expected.json");
    let expected: serde_json::Value = serde_json::from_str(&text).expect("valid JSON");
    let mut worst_cd: f64 = 0.0;
    let mut worst_lm: f64 = 0.0;
    let mut probes = 0;
    for entry in expected["valid_files"].as_array().expect("a list") {
        let name = entry["file"].as_str().expect("a name");
        let bytes = fs::read(folder.join(name)).expect("the file");
        let file = read_photometry(&bytes, name).unwrap_or_else(|error| panic!("{error}"));
        let number = |key: &str| entry[key].as_f64();
        let type_b = entry["photometric_type"] == "B";
        let list = if type_b {
            "intensities_B"
        } else {
            "intensities"
        };
        for probe in entry[list].as_array().expect("a list") {
            let value = |key: &str| probe[key].as_f64().expect("a number");
            let direction = if type_b {
                let (h, v) = (value("H_deg").to_radians(), value("V_deg").to_radians());
                // Polar axis horizontal, H in the plane turned by V; aim straight down, V 90 toward C0,
                // H clockwise, that is toward C270.
                Vec3::new(
                    (h.cos() * v.sin()) as f32,
                    -h.sin() as f32,
                    -(h.cos() * v.cos()) as f32,
                )
            } else {
                direction_deg(value("gamma_deg"), value("C_deg"))
            };
            // Any length must do.
            let found = f64::from(file.distribution.intensity_cd(direction * 3.7));
            let wanted = value("cd");
            let what = format!("{name}, {probe}");
            assert_share(&what, "cd", found, wanted, 2e-5);
            worst_cd = worst_cd.max(if wanted > 0.0 {
                (found / wanted - 1.0).abs()
            } else {
                found
            });
            probes += 1;
        }
        let wanted = number("luminaire_lumens_by_integration").expect("lumens");
        let tolerance = if type_b { 1e-3 } else { 1e-4 };
        assert_share(
            &format!("{name}, flux"),
            "lm",
            file.flux_lm,
            wanted,
            tolerance,
        );
        worst_lm = worst_lm.max((file.flux_lm / wanted - 1.0).abs());
        let brute = brute_force_flux_lm(&file.distribution, 720);
        assert_share(
            &format!("{name}, flux against midpoint sum"),
            "lm",
            file.flux_lm,
            brute,
            2e-3,
        );
        if let Some(count) = number("n_vertical").or(number("n_gamma")) {
            assert_eq!(file.vertical.count as f64, count, "{name}");
        }
        if let Some(count) = number("n_horizontal").or(number("n_c_planes")) {
            assert_eq!(file.horizontal.count as f64, count, "{name}");
        }
        if let Some(absolute) = entry["absolute_photometry"].as_bool() {
            assert_eq!(file.is_absolute(), absolute, "{name}");
        }
        if let Some(watts) = number("input_watts") {
            assert_eq!(file.watts, Some(watts as f32), "{name}");
        }
        if let Some(factors) = entry["tilt"]["factors"].as_array() {
            let tilt = file.tilt.as_ref().expect("a tilt block");
            let factors: Vec<f64> = factors
                .iter()
                .filter_map(serde_json::Value::as_f64)
                .collect();
            assert_eq!(tilt.factor, factors, "{name}");
            assert_eq!(tilt.factor_at(0.0), 1.0, "{name}");
        }
    }
    eprintln!("{probes} intensities, worst {worst_cd:.2e}; lumens worst {worst_lm:.2e}");
}

/// Source: class of error in tests/data/photometry/expected.json. UTF-16 may be read instead of refused if the
/// numbers come out right: here they are those of its sibling rotdown91.ies.
#[test]
fn malformed_files_are_refused_with_their_class_and_a_place() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/photometry");
    let text = fs::read_to_string(folder.join("expected.json")).expect("expected.json");
    let expected: serde_json::Value = serde_json::from_str(&text).expect("valid JSON");
    for entry in expected["malformed_files"].as_array().expect("a list") {
        let name = entry["file"].as_str().expect("a name");
        let class = entry["error_class"].as_str().expect("a class");
        let bytes = fs::read(folder.join(name)).expect("the file");
        let error = match read_photometry(&bytes, name) {
            Ok(file) => {
                assert_eq!(class, "encoding", "{name} was read");
                let bytes = fs::read(folder.join("valid/rotdown91.ies")).expect("the sibling");
                let sibling = read_photometry(&bytes, name).expect("valid");
                assert_eq!(file.distribution, sibling.distribution);
                continue;
            }
            Err(error) => error,
        };
        let found = match &error {
            PhotometryError::Truncated { .. } => "truncated",
            PhotometryError::BadNumber { .. } => "bad_number",
            PhotometryError::BadCount { .. } | PhotometryError::TooLarge { .. } => "bad_count",
            PhotometryError::NotAscending { .. } => "non_monotonic_angles",
            PhotometryError::Empty { .. } => "empty",
            PhotometryError::Binary { .. } | PhotometryError::NotPhotometry { .. } => {
                "not_photometry"
            }
            PhotometryError::BadValue { .. } => "bad_value",
            _ => "other",
        };
        assert_eq!(found, class, "{error}");
        assert!(error.to_string().contains(name), "no file name in {error}");
        assert!(!error.help().is_empty());
        assert!(
            error.place().is_some() || class == "empty",
            "no place in {error}"
        );
    }
}

/// The message names file, line, column, what was found and what belongs there.
#[test]
fn a_wrong_word_is_pointed_at() {
    let text = "IESNA91\nTILT=NONE\nfile format error\n1 0 1 2 5 2 1 0 0 0\n";
    let error = read_photometry(text.as_bytes(), "my lamp.ies").expect_err("a word");
    assert_eq!(
        error.to_string(),
        "my lamp.ies:3:1: found \"file\" where the number of lamps should be"
    );
    let text = "IESNA91\nTILT=NONE\n1 -1 1 3 1 1 2 0 0 0 1 1 1\n0 10 9\n0 1 1 1";
    let error = read_photometry(text.as_bytes(), "x").expect_err("angles");
    assert_eq!(
        error.place().map(|p| (p.line, p.column)),
        Some((4, 6)),
        "{error}"
    );
    for (numbers, angles) in [
        ("1 -1 0 3 1 1 2 0 0 0 1 1 1", "0 45 90 0 1 1 1"),
        ("1 -1 1 3 1 1 2 0 0 0 0 1 1", "0 45 90 0 1 1 1"),
        ("1 -1 1 3 1 4 2 0 0 0 1 1 1", "0 45 90 0 1 1 1"),
        ("1 -1 1 3 2 1 2 0 0 0 1 1 1", "0 45 90 0 45 1 1 1 1 1 1"),
        ("1 -1 1 3 1 1 2 0 0 0 1 1 1", "0 45 90 0 1 -1 1"),
        ("1 -1 1 3 1 1 2 0 0 0 1 1 1", "-10 45 90 0 1 1 1"),
        ("1 -1 1e9 3 1 1 2 0 0 0 1 1 1", "0 45 90 0 1e9 1 1"),
    ] {
        let text = format!("IESNA91\nTILT=NONE\n{numbers}\n{angles}");
        let error = read_photometry(text.as_bytes(), "x").expect_err(&text);
        assert!(error.place().is_some_and(|p| p.line >= 3), "{error}");
    }
}

/// Odd spellings that occur in the field: blanks before the format line, lower case, CR line ends, commas,
/// Fortran exponents, a trailing DOS byte, TILT with blanks, a missing tilt file, too many numbers.
#[test]
fn odd_spellings_read_like_the_plain_file() {
    let plain = lm63(
        "IESNA:LM-63-1995",
        "1 -1 1 3 1 1 2 0.1 0.1 0 1 1 5",
        "0 45 90 0 1200 50 0.5",
    );
    let odd = " iesna:lm-63-1995\r [TEST]typed in\r TILT = none\r1,-1,,1.0 3.0\t1 1 2 .1 +.1 0\r\
               1 1\r5 0,45,90,0\r1.2D+03 5e1\r.5\r\u{1A}\0\0";
    let file = read_photometry(odd.as_bytes(), "typed.ies").expect("odd but valid");
    assert_eq!(file.distribution, plain.distribution);
    assert_eq!(file.aperture, plain.aperture);
    let text = "IESNA91\nTILT=lamp.tlt\n1 -1 1 3 1 1 2 0 0 0 1 1 1\n0 45 90 0\n1 -0.0001 1 7 8 9";
    let file = read_photometry(text.as_bytes(), "x").expect("valid with warnings");
    let has = |wanted: fn(&PhotometricWarning) -> bool| file.warnings.iter().any(wanted);
    assert!(has(|w| matches!(
        w,
        PhotometricWarning::TiltFileNotRead { .. }
    )));
    assert!(has(|w| matches!(
        w,
        PhotometricWarning::ExtraEntries { count: 3, line: 5 }
    )));
    assert!(has(|w| matches!(
        w,
        PhotometricWarning::SmallNegatives { .. }
    )));
    assert!(has(|w| matches!(w, PhotometricWarning::NoOpening)));
    assert_eq!(cd(&file, 0.0, 45.0), 0.0);
}

/// Convention: an unaimed luminaire points straight down, Type B and A at H 0, V 0; cos(gamma) = cos V cos H
/// for Type B (relation of the two coordinate systems).
#[test]
fn types_a_and_b_point_down_and_keep_their_listed_values() {
    for (type_number, photometric_type) in [(2, PhotometricType::B), (3, PhotometricType::A)] {
        let file = lm63(
            "IESNA:LM-63-2002",
            &format!("1 -1 1 3 3 {type_number} 2 0 0 0 1 1 1"),
            "-40 0 40  -60 0 60  1 2 3  4 100 6  7 8 9",
        );
        assert_eq!(file.photometric_type, photometric_type);
        let at = |x: f32, y: f32, z: f32| file.distribution.intensity_cd(Vec3::new(x, y, z));
        assert_share("H 0 V 0", "cd", f64::from(at(0.0, 0.0, -1.0)), 100.0, 1e-6);
        let (sin40, cos40) = 40.0_f32.to_radians().sin_cos();
        let (sin60, cos60) = 60.0_f32.to_radians().sin_cos();
        assert_share(
            "H 0 V 40",
            "cd",
            f64::from(at(sin40, 0.0, -cos40)),
            6.0,
            1e-5,
        );
        assert_share(
            "H 60 V 0",
            "cd",
            f64::from(at(0.0, -sin60, -cos60)),
            8.0,
            1e-5,
        );
        let corner = if type_number == 2 {
            at(cos60 * sin40, -sin60, -cos60 * cos40)
        } else {
            at(sin40, -cos40 * sin60, -cos40 * cos60)
        };
        assert_share("H 60 V 40", "cd", f64::from(corner), 9.0, 1e-4);
        assert_eq!(at(0.0, 0.0, 1.0), 0.0, "behind");
        // Midpoint sum over cells at the listed edge: 0.5 %.
        let brute = brute_force_flux_lm(&file.distribution, 1000);
        assert_share("flux against midpoint sum", "lm", file.flux_lm, brute, 5e-3);
    }
}
