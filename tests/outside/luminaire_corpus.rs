//! Photometric files of makers, where the shared corpus lies beside the checkout; skipped elsewhere.
//!
//! The corpus is not part of this repository (its licences allow tests only). `expected.csv` in it was made by
//! an independent reader. The invented files in tests/data/photometry cover the same cases everywhere.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use lustrewalk::luminaire::{
    Lm63Version, PhotometricFormat, PhotometricSymmetry, PhotometricType, PhotometricWarning,
    Photometry, PhotometryError, read_photometry,
};

use super::luminaire::{assert_share, direction_deg};

/// Folder of the corpus beside the checkout, if it is there.
fn corpus() -> Option<PathBuf> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/reference/corpus");
    let found = beside.is_dir().then_some(beside);
    if found.is_none() {
        eprintln!("no ../shared/reference/corpus: skipped");
    }
    found
}

fn read(path: &Path) -> Result<Photometry, PhotometryError> {
    let name = path.file_name().expect("a name").to_string_lossy();
    read_photometry(&fs::read(path).expect("the file"), &name)
}

fn rows(path: &Path) -> Vec<BTreeMap<String, String>> {
    csv::Reader::from_path(path)
        .expect("expected.csv")
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("rows of text")
}

fn find(folder: &Path, name: &str) -> PathBuf {
    let plain = folder.join(name);
    if plain.is_file() {
        plain
    } else {
        folder.join("derived").join(name)
    }
}

/// Source: expected.csv of both folders. Tolerances: 0.1 % intensity, 1 % lumens are the product's promise
/// (both readers integrate exactly, so lumens are held to 0.05 %); angles exact.
#[test]
fn every_corpus_file_reads_like_the_second_reader() {
    let Some(corpus) = corpus() else { return };
    let (mut count, mut worst_cd, mut worst_lm) = (0, 0.0_f64, 0.0_f64);
    for folder in ["ies", "ldt"] {
        let folder = corpus.join(folder);
        for row in rows(&folder.join("expected.csv")) {
            let name = row["file"].as_str();
            assert_eq!(row["status"], "ok", "{name}");
            let file = read(&find(&folder, name)).unwrap_or_else(|error| panic!("{error}"));
            let number = |key: &str| row[key].parse::<f64>().expect("a number");
            let peak_cd = f64::from(file.peak.intensity_cd);
            assert_share(
                &format!("{name}, peak"),
                "cd",
                peak_cd,
                number("peak_cd_scaled"),
                1e-4,
            );
            worst_cd = worst_cd.max((peak_cd / number("peak_cd_scaled") - 1.0).abs());
            assert_share(
                &format!("{name}, peak V"),
                "deg",
                file.peak.vertical_deg,
                number("peak_v"),
                1e-9,
            );
            assert_share(
                &format!("{name}, peak H"),
                "deg",
                file.peak.horizontal_deg,
                number("peak_h"),
                1e-9,
            );
            assert_share(
                &format!("{name}, flux"),
                "lm",
                file.flux_lm,
                number("lumens"),
                5e-4,
            );
            worst_lm = worst_lm.max((file.flux_lm / number("lumens") - 1.0).abs());
            // The peak of this one lies on a pole of its coordinates, where V means nothing.
            if name != "smallest-type-b-2x5.ies" {
                let in_frame_cd =
                    f64::from(file.distribution.intensity_cd(file.distribution.peak_dir()));
                assert_share(
                    &format!("{name}, toward the peak"),
                    "cd",
                    in_frame_cd,
                    peak_cd,
                    1e-3,
                );
            }
            check_header(name, &file, &row);
            count += 1;
        }
    }
    eprintln!("{count} files; worst peak {worst_cd:.2e}, worst lumens {worst_lm:.2e}");
}

fn check_header(name: &str, file: &Photometry, row: &BTreeMap<String, String>) {
    let version = match file.format {
        PhotometricFormat::Lm63 { version } => match version {
            Lm63Version::V1986 => "1986 (no format line)",
            Lm63Version::V1991 => "1991",
            Lm63Version::V1995 => "1995",
            Lm63Version::V2002 => "2002",
            Lm63Version::V2019 => "2019",
        }
        .to_owned(),
        PhotometricFormat::Eulumdat { isym } => format!("Isym {isym}"),
    };
    assert!(
        row["version"].ends_with(&version),
        "{name}: {version}, expected {}",
        row["version"]
    );
    let photometric_type = match file.photometric_type {
        PhotometricType::A => "A",
        PhotometricType::B => "B",
        PhotometricType::C => "C",
    };
    assert_eq!(photometric_type, row["type"], "{name}");
    assert_eq!(file.vertical.count.to_string(), row["n_vertical"], "{name}");
    assert_eq!(
        file.horizontal.count.to_string(),
        row["n_horizontal"],
        "{name}"
    );
    let range = format!("{}..{}", file.vertical.first_deg, file.vertical.last_deg);
    assert_eq!(range, row["v_range"], "{name}");
    let symmetry = match (file.symmetry, row["format"].as_str()) {
        (PhotometricSymmetry::Rotational, _) => "axial",
        (PhotometricSymmetry::Quadrant, "LDT") => "both mirrors",
        (PhotometricSymmetry::Quadrant, _) => "quadrant",
        (PhotometricSymmetry::MirrorC0C180, "LDT") => "mirror about C0-C180",
        (PhotometricSymmetry::MirrorC0C180, _) => "bilateral 0-180",
        (PhotometricSymmetry::MirrorC90C270, "LDT") => "mirror about C90-C270",
        (PhotometricSymmetry::MirrorC90C270, _) => "bilateral 90-270",
        (PhotometricSymmetry::MirrorH, _) => "mirrored in H",
        (PhotometricSymmetry::None, _) => "none",
    };
    assert!(
        row["symmetry"].starts_with(symmetry),
        "{name}: {symmetry}, expected {}",
        row["symmetry"]
    );
    let watts: f64 = row["watts"].replace(',', ".").parse().expect("watts");
    assert_share(
        &format!("{name}, power"),
        "W",
        f64::from(file.watts.unwrap_or(0.0)),
        watts,
        1e-6,
    );
    let absolute = row["notes"].contains("absolute photometry") || row["lamp_lumens"] == "0";
    assert_eq!(file.is_absolute(), absolute, "{name}");
    let has_size = row["opening"] != "0 x 0 x 0";
    assert_eq!(
        file.aperture.is_some(),
        has_size,
        "{name}: {:?}",
        file.aperture
    );
    let radiometric = name.contains("radiometric") || name.starts_with("very-large");
    assert_eq!(
        file.is_radiometric, radiometric,
        "{name}: {:?}",
        file.warnings
    );
    assert_eq!(file.tilt.is_some(), row["tilt"] == "INCLUDE", "{name}");
}

/// Every value of every Type C LM-63 file of the corpus with TILT=NONE at its own angles, split here by hand.
/// Tolerance 0.1 % (the product's promise), and a millionth of the peak for values near 0.
#[test]
fn every_listed_value_of_the_corpus_comes_back_at_its_angles() {
    let Some(corpus) = corpus() else { return };
    let (mut files, mut values, mut worst) = (0, 0_usize, 0.0_f64);
    for row in rows(&corpus.join("ies/expected.csv")) {
        if row["type"] != "C" || row["tilt"] != "NONE" {
            continue;
        }
        let path = corpus.join("ies").join(&row["file"]);
        let bytes = fs::read(&path).expect("the file");
        let text: String = bytes.iter().map(|&byte| char::from(byte)).collect();
        let tilt = text.find("\nTILT=NONE").expect("a TILT line");
        let numbers: Vec<f64> = text[tilt + 10..]
            .split(|c: char| c.is_whitespace() || c == ',' || c == '\u{1A}')
            .filter(|word| !word.is_empty())
            .map(|word| word.parse().expect("a number"))
            .collect();
        let (count, planes) = (numbers[3] as usize, numbers[4] as usize);
        let old = row["version"].starts_with("1986") || row["version"] == "1991";
        let factor = numbers[2] * numbers[10] * if old { numbers[11] } else { 1.0 };
        let gamma = &numbers[13..13 + count];
        let plane = &numbers[13 + count..13 + count + planes];
        let table = &numbers[13 + count + planes..];
        let photometry = read(&path).expect("valid");
        let peak_cd = f64::from(photometry.peak.intensity_cd);
        for p in 0..planes {
            for g in 0..count {
                let direction = direction_deg(gamma[g], plane[p]);
                let found = f64::from(photometry.distribution.intensity_cd(direction));
                let wanted = table[p * count + g] * factor;
                let off = (found - wanted).abs() / wanted.max(1e-3 * peak_cd);
                worst = worst.max(off);
                assert!(
                    off < 1e-3,
                    "{}: C {} gamma {}: {found} cd, expected {wanted} cd",
                    row["file"],
                    plane[p],
                    gamma[g]
                );
                values += 1;
            }
        }
        files += 1;
    }
    eprintln!("{files} files, {values} values, worst {worst:.2e}");
}

/// The same lamp in both formats, and turned by a quarter. Values in the files are rounded to 0.01 cd of some
/// hundreds: 0.2 % of the peak; lumens 0.1 %. (C of the turned file is C of the other plus 270.)
#[test]
fn the_same_lamp_in_both_formats_agrees() {
    let Some(corpus) = corpus() else { return };
    let mut worst = 0.0_f64;
    for (first, second, turn_deg) in [
        ("ies/street-pair-a.ies", "ldt/street-pair-a.ldt", 0.0),
        (
            "ies/street-pair-a.ies",
            "ies/street-pair-a-turned.ies",
            -90.0,
        ),
        (
            "ies/ceiling-uplight-pair.ies",
            "ldt/ceiling-uplight-pair.ldt",
            0.0,
        ),
        ("ies/tube-pair-tabs.ies", "ldt/tube-pair.ldt", 0.0),
        (
            "ies/step-light-crlf-321lm.ies",
            "ldt/step-light-axial.ldt",
            0.0,
        ),
    ] {
        let (one, two) = (
            read(&corpus.join(first)).expect("valid"),
            read(&corpus.join(second)).expect("valid"),
        );
        assert_share(
            &format!("{first} and {second}, flux"),
            "lm",
            one.flux_lm,
            two.flux_lm,
            1e-3,
        );
        let peak_cd = f64::from(one.peak.intensity_cd);
        for gamma in 0..36 {
            for plane in 0..36 {
                let gamma_deg = f64::from(gamma) * 5.0 + 2.0;
                let plane_deg = f64::from(plane) * 10.0 + 3.0;
                let at = |file: &Photometry, plane_deg: f64| {
                    let direction = direction_deg(gamma_deg, plane_deg);
                    f64::from(file.distribution.intensity_cd(direction))
                };
                let (a, b) = (at(&one, plane_deg), at(&two, plane_deg + turn_deg));
                worst = worst.max((a - b).abs() / peak_cd);
                assert!(
                    (a - b).abs() < 2e-3 * peak_cd,
                    "{first} and {second} at C {plane_deg}, gamma {gamma_deg}: {a} and {b} cd"
                );
            }
        }
        if turn_deg == 0.0 && !first.contains("tube") {
            let (a, b) = (one.aperture.expect("a size"), two.aperture.expect("a size"));
            let off = (a.largest_dimension_m() - b.largest_dimension_m()).abs();
            assert!(off < 1e-4, "{first}: {a:?} and {b:?}");
        }
    }
    eprintln!("worst {worst:.2e} of the peak");
}

/// Files derived by changing bytes only read exactly like their parents.
#[test]
fn derived_eulumdat_files_read_like_their_parents() {
    let Some(corpus) = corpus() else { return };
    for (derived, parent) in [
        ("continuous-line-wide-crlf.ldt", "continuous-line-wide.ldt"),
        (
            "continuous-line-wide-decimal-comma.ldt",
            "continuous-line-wide.ldt",
        ),
        (
            "wall-washer-latin1-name-dos-eof.ldt",
            "wall-washer-asymmetric.ldt",
        ),
    ] {
        let one = read(&corpus.join("ldt/derived").join(derived)).expect("valid");
        let two = read(&corpus.join("ldt").join(parent)).expect("valid");
        assert_eq!(one.distribution, two.distribution, "{derived}");
        assert_eq!(one.aperture, two.aperture, "{derived}");
    }
}

/// Illuminance below and beside a fixture by the point formula, traps of other readers: absolute level, one
/// plane only, wall washer, mirror about C90-C270, uplight.
#[test]
fn floor_below_corpus_files_is_lit_as_their_tables_say() {
    let Some(corpus) = corpus() else { return };
    let lux = |file: &Photometry, x_m: f32, y_m: f32, height_m: f32| {
        let to_point = glam::Vec3::new(x_m, y_m, -height_m);
        let distance_m = to_point.length();
        file.distribution.intensity_cd(to_point) * height_m / distance_m.powi(3)
    };
    let spot = read(&corpus.join("ies/track-display-spot-15-multiplier.ies")).expect("valid");
    let below_lx = f64::from(lux(&spot, 0.0, 0.0, 3.0));
    assert_share("spot, 3 m", "lx", below_lx, 14_635.2 / 9.0, 1e-4);
    let round = read(&corpus.join("ies/downlight-led-775lm.ies")).expect("valid");
    let north_lx = lux(&round, 1.0, 0.0, 2.0);
    assert!(north_lx > 1.0);
    for (x_m, y_m) in [(-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
        assert!((lux(&round, x_m, y_m, 2.0) / north_lx - 1.0).abs() < 1e-5);
    }
    let washer = read(&corpus.join("ldt/wall-washer-asymmetric.ldt")).expect("valid");
    let (front_lx, back_lx) = (lux(&washer, 1.0, 0.0, 3.0), lux(&washer, -1.0, 0.0, 3.0));
    assert!(
        front_lx > 1.5 * back_lx,
        "C0 {front_lx} lx, C180 {back_lx} lx"
    );
    let (left_lx, right_lx) = (lux(&washer, 0.0, 1.0, 3.0), lux(&washer, 0.0, -1.0, 3.0));
    assert!(
        (left_lx / right_lx - 1.0).abs() < 1e-5,
        "C90 {left_lx} lx, C270 {right_lx} lx"
    );
    let street = read(&corpus.join("ies/street-bilateral-90-270.ies")).expect("valid");
    assert!((lux(&street, 4.0, 3.0, 5.0) / lux(&street, -4.0, 3.0, 5.0) - 1.0).abs() < 1e-5);
    assert!((lux(&street, 4.0, 3.0, 5.0) / lux(&street, 4.0, -3.0, 5.0) - 1.0).abs() > 0.05);
    let uplight = read(&corpus.join("ies/ceiling-uplight-pair.ies")).expect("valid");
    assert_eq!(lux(&uplight, 0.5, 0.5, 2.0), 0.0);
    assert!(uplight.distribution.intensity_cd(glam::Vec3::Z) > 300.0);
    // This one lists 0.22 to 0.9 cd downward beside 9.85 cd upward.
    let ground = read(&corpus.join("ies/ground-uplight-40lm-quadrant.ies")).expect("valid");
    assert_share(
        "ground uplight, down",
        "cd",
        f64::from(lux(&ground, 0.0, 0.0, 1.0)),
        0.22,
        1e-4,
    );
    assert!(ground.peak.vertical_deg > 90.0);
}

/// A word among the numbers is refused at its line; a path with blanks and accents is only a name.
#[test]
fn the_malformed_corpus_file_is_refused_at_its_line() {
    let Some(corpus) = corpus() else { return };
    let path = corpus.join("ies/malformed/word-among-numbers.ies");
    let error = read(&path).expect_err("a word among the numbers");
    assert!(
        matches!(error, PhotometryError::BadNumber { .. }),
        "{error}"
    );
    assert_eq!(error.place().map(|place| place.line), Some(3), "{error}");
    let bytes = fs::read(corpus.join("ies/smallest-type-b-2x5.ies")).expect("the file");
    let file = read_photometry(&bytes, "a folder/Spot 36 deg Ä.ies").expect("valid");
    assert!(
        file.warnings
            .iter()
            .any(|w| matches!(w, PhotometricWarning::TurnedToAim { .. }))
    );
}
