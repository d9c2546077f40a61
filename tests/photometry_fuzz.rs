//! Photometric readers against hostile bytes: no panic, no long run, and nothing but finite numbers.

use std::fs;
use std::path::PathBuf;
use std::sync::LazyLock;
use std::time::{Duration, Instant};

use lustrewalk::luminaire::{PhotometryError, direction_from_angles, read_photometry};
use proptest::prelude::*;

/// The invented valid files.
static FILES: LazyLock<Vec<(String, Vec<u8>)>> = LazyLock::new(|| {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/photometry/valid");
    let mut files: Vec<_> = fs::read_dir(folder)
        .expect("the folder")
        .map(|entry| entry.expect("an entry").path())
        .map(|path| {
            let name = path
                .file_name()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            (name, fs::read(&path).expect("the file"))
        })
        .collect();
    files.sort();
    files
});

/// Far above what any of these small files needs, so a slow machine does not fail the test.
const PATIENCE: Duration = Duration::from_secs(5);

fn survive(bytes: &[u8], name: &str) -> Result<(), TestCaseError> {
    let start = Instant::now();
    match read_photometry(bytes, name) {
        Ok(file) => {
            prop_assert!(
                file.flux_lm.is_finite() && file.flux_lm >= 0.0,
                "{} lm",
                file.flux_lm
            );
            for (gamma, plane) in [(0.0, 0.0), (0.7, 2.0), (1.6, -1.0), (3.1, 9.0)] {
                let cd = file
                    .distribution
                    .intensity_cd(direction_from_angles(gamma, plane));
                prop_assert!(cd.is_finite() && cd >= 0.0, "{cd} cd");
            }
            let (peak_cd, gamma_rad, plane_rad) = file.distribution.peak_cd();
            prop_assert!(peak_cd.is_finite() && gamma_rad.is_finite() && plane_rad.is_finite());
            prop_assert!(file.distribution.beam_angle_rad().is_finite());
            for warning in &file.warnings {
                prop_assert!(!warning.to_string().is_empty());
            }
        }
        Err(error) => {
            prop_assert!(
                error.to_string().len() < 1000,
                "a message of a page: {error}"
            );
            prop_assert!(!error.help().is_empty());
            prop_assert_eq!(error.file(), name);
        }
    }
    prop_assert!(start.elapsed() < PATIENCE, "took {:?}", start.elapsed());
    Ok(())
}

/// Words that break readers.
fn nasty_word() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![
        "1e9",
        "-1e9",
        "1e400",
        "-1e400",
        "NaN",
        "inf",
        "0",
        "-1",
        "1e-40",
        "2147483648",
        "4000",
        "18446744073709551616",
        "999999",
        "",
        ",",
        "1,5",
        "TILT=INCLUDE",
        "\u{1A}",
        "é",
        "1D+05",
        "360",
        "2",
    ])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_bytes_never_panic(
        bytes in prop::collection::vec(any::<u8>(), 0..2000),
        extension in prop::sample::select(vec!["ies", "ldt", "txt"]),
    ) {
        survive(&bytes, &format!("x.{extension}"))?;
    }

    #[test]
    fn arbitrary_text_after_a_valid_start_never_panics(
        text in "[0-9 .,eE+\\-\\n\\r\\tA-Z\\[\\]=é]{0,600}",
        start in prop::sample::select(vec![
            "", "IESNA91\nTILT=NONE\n", "IESNA:LM-63-2002\nTILT=INCLUDE\n", "\u{FEFF}a\n1\n0\n4\n",
            "TILT=NONE\n1 -1 1 4 4 1 2 0 0 0 1 1 1\n", "TILT=NONE\n1 -1 1 4 4 2 2 0 0 0 1 1 1\n",
            "TILT=NONE\n1 -1 1 4000 500 3 2 0 0 0 1 1 1\n",
        ]),
    ) {
        survive(format!("{start}{text}").as_bytes(), "x.ies")?;
    }

    #[test]
    fn flipped_and_cut_files_never_panic(
        which in 0..10_usize,
        flips in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..12),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let (name, bytes) = &FILES[which % FILES.len()];
        let mut bytes = bytes.clone();
        for (index, byte) in flips {
            let at = index.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(index) = cut {
            bytes.truncate(index.index(bytes.len()));
        }
        survive(&bytes, name)?;
    }

    #[test]
    fn replaced_words_never_panic(
        which in 0..10_usize,
        changes in prop::collection::vec((0..120_usize, nasty_word()), 1..4),
    ) {
        let (name, bytes) = &FILES[which % FILES.len()];
        let text = String::from_utf8_lossy(bytes);
        // The header numbers and angles sit in the first lines and words.
        let mut lines: Vec<Vec<&str>> = text.lines().map(|line| line.split(' ').collect()).collect();
        for (position, word) in changes {
            let mut left = position;
            for line in &mut lines {
                if left < line.len() {
                    line[left] = word;
                    break;
                }
                left -= line.len();
            }
        }
        let text: Vec<String> = lines.iter().map(|line| line.join(" ")).collect();
        survive(text.join("\n").as_bytes(), name)?;
    }
}

/// Counts that would need gigabytes are refused as counts, before anything is read or allocated for them;
/// counts at the limit are not.
#[test]
fn huge_counts_fail_at_once() {
    for (vertical, horizontal, within) in [
        ("1e9", "1e9", false),
        ("4000", "4000", false),
        ("4000", "1e9", false),
        ("4000", "501", false),
        ("4000", "500", true),
    ] {
        let lm63 =
            format!("IESNA91\nTILT=NONE\n1 -1 1 {vertical} {horizontal} 1 2 0 0 0 1 1 1\n0 1 2");
        let ldt = format!("a\n1\n0\n{horizontal}\n0\n{vertical}\n0\n");
        for text in [lm63, ldt] {
            let start = Instant::now();
            let error = read_photometry(text.as_bytes(), "x").expect_err("incomplete");
            let by_count = matches!(
                error,
                PhotometryError::BadCount { .. } | PhotometryError::TooLarge { .. }
            );
            assert_eq!(by_count, !within, "{vertical} x {horizontal}: {error}");
            assert!(start.elapsed() < Duration::from_secs(1));
        }
    }
}

/// A line of a megabyte and a megabyte of lines are read in time that grows with their length only.
#[test]
fn long_lines_and_many_lines_finish() {
    let head = "IESNA91\nTILT=NONE\n1 -1 1 3 1 1 2 0 0 0 1 1 1\n0 45 90 0 1 1 1 ";
    let start = Instant::now();
    for filler in ["7 ", "7\n", "\r", "\n", "[MORE] x\n", ", "] {
        let long = format!("{head}{}", filler.repeat(500_000));
        assert!(
            read_photometry(long.as_bytes(), "x.ies").is_ok(),
            "{filler:?}"
        );
        let long = format!("{}{head}", filler.repeat(500_000));
        let _ = read_photometry(long.as_bytes(), "x.ies");
        let _ = read_photometry(long.as_bytes(), "x.ldt");
    }
    assert!(
        start.elapsed() < Duration::from_secs(20),
        "took {:?}",
        start.elapsed()
    );
}
