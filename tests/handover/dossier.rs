//! The dossier: words that can be found and copied, fonts that are in the file, paper of the right size.

use std::{fs, path::Path};

use super::{good, small_room, tool};

/// Source: the faults that others met: letters outside a font printed as boxes, ligatures lost when copied.
const TITLE: &str = "Łódź – Ø1,2 m · 36° · ≥ 300 lx · τ=0,7 · 寄木";
const NAMES: &str = "profile, fixture, flicker, offset, 36°, m²";

fn text_of(pdf: &Path) -> Option<String> {
    let pdf = pdf.display().to_string();
    let output = tool("pdftotext", &["-layout", &pdf, "-"])?;
    assert!(output.status.success());
    Some(String::from_utf8(output.stdout).unwrap())
}

#[test]
fn words_of_any_language_can_be_found_and_fonts_are_embedded() {
    let folder = tempfile::tempdir().unwrap();
    let room = folder.path().join("room.ron");
    let text = fs::read_to_string(small_room()).unwrap();
    let text = text
        .replace("name: \"Small room\"", &format!("name: \"{TITLE}\""))
        .replace("name: \"past the piece\"", &format!("name: \"{NAMES}\""))
        .replace("\"S1\"", "\"S1 寄木 # * _ $ @ <b>\"");
    fs::write(&room, text).unwrap();
    let pdf = folder.path().join("dossier.pdf");
    good(&[
        "dossier",
        room.to_str().unwrap(),
        "--out",
        pdf.to_str().unwrap(),
        "--no-pictures",
    ]);
    if let Some(found) = text_of(&pdf) {
        let flat = found.split_whitespace().collect::<Vec<_>>().join(" ");
        for words in [
            TITLE,
            NAMES,
            "S1 寄木 # * _ $ @ <b>",
            "licensed electrician",
            "structural engineer",
            "Conservator",
            "CIE 157:2004",
            "who decides",
            "Invented for tests.",
        ] {
            assert!(flat.contains(words), "{words:?} is not found in\n{found}");
        }
        for page in [
            "Where to hang it",
            "Aiming sheet",
            "Hanging sheet",
            "Hazards",
        ] {
            assert!(flat.contains(page), "{page}");
        }
    }
    let path = pdf.display().to_string();
    if let Some(output) = tool("pdffonts", &[&path]) {
        let list = String::from_utf8(output.stdout).unwrap();
        let fonts: Vec<&str> = list.lines().skip(2).collect();
        assert!(fonts.len() > 2, "{list}");
        for font in fonts {
            // Columns: emb, sub, uni.
            assert!(font.contains("yes yes yes"), "not embedded: {font}");
        }
    }
}

/// ISO 216: A4 is 210 by 297 mm, 595.28 by 841.89 points; ANSI Letter is 8.5 by 11 inches, 612 by 792 points.
#[test]
fn paper_and_units_are_those_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let room = small_room();
    for (paper, units, size, length) in [
        ("a4", "metric", "595.276 x 841.89", "1.20 m × 0.90 m"),
        (
            "letter",
            "imperial",
            "612 x 792",
            "3 ft 11 in × 2 ft 11.5 in",
        ),
    ] {
        let pdf = folder.path().join(format!("{paper}.pdf"));
        let path = pdf.display().to_string();
        good(&[
            "dossier",
            room.to_str().unwrap(),
            "--out",
            &path,
            "--no-pictures",
            "--paper",
            paper,
            "--units",
            units,
        ]);
        if let Some(output) = tool("pdfinfo", &[&path]) {
            let info = String::from_utf8(output.stdout).unwrap();
            assert!(info.contains(size), "{paper}: {info}");
            assert!(info.contains("Tagged:          yes"), "{info}");
        }
        if let Some(found) = text_of(&pdf) {
            let flat = found.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(flat.contains(length), "{length} is not in\n{found}");
        }
    }
}
