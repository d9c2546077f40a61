//! Tests of the sheet as a whole; those common to all drawings are in `report::text_check`.

use std::f32::consts::FRAC_PI_2;

use glam::vec2;

use super::*;
use crate::report::text_check::text_boxes;

fn texts(svg: &str) -> Vec<String> {
    text_boxes(svg).1.into_iter().map(|t| t.0).collect()
}

#[test]
fn every_tile_is_drawn_with_its_title() {
    for (name, sheet) in examples::all() {
        let svg = piece_sheet_svg(&sheet);
        for tile in &sheet.tiles {
            let title = format!("<title>tile {}, grain ", tile.id);
            assert_eq!(svg.matches(&title).count(), 1, "{name}: tile {}", tile.id);
        }
    }
}

#[test]
fn tiles_with_room_all_carry_their_numbers() {
    let of = examples::all();
    for (name, sheet) in of.iter().filter(|(n, _)| {
        [
            "piece-one",
            "piece-squares",
            "piece-strips",
            "piece-herringbone",
            "piece-hexagons",
        ]
        .contains(n)
    }) {
        let texts = texts(&piece_sheet_svg(sheet));
        for tile in &sheet.tiles {
            let id = tile.id.to_string();
            assert!(texts.contains(&id), "{name}: {id} is not on the sheet");
        }
    }
}

#[test]
fn small_tiles_are_numbered_in_steps_and_at_the_ends_of_rows() {
    let some = texts(&piece_sheet_svg(&examples::grid(50, 24, 2.5, 1.2)));
    for id in ["1", "51", "1200", "160", "500"] {
        assert!(some.iter().any(|t| t == id), "{id}");
    }
    assert!(
        some.iter()
            .any(|t| t.starts_with("The tiles are too small for all numbers"))
    );
    let ends = texts(&piece_sheet_svg(&examples::grid(50, 40, 2.5, 2.0)));
    assert!(ends.iter().any(|t| t == "51") && ends.iter().any(|t| t == "100"));
    assert!(!ends.iter().any(|t| t == "160"));
    assert!(
        ends.iter()
            .any(|t| t.starts_with("The tiles are too small for numbers"))
    );
}

#[test]
fn head_and_key_tell_side_up_size_materials_and_scale() {
    let all = texts(&piece_sheet_svg(&examples::grid(16, 10, 1.6, 1.0))).join("|");
    for words in [
        "Seen from the front|",
        "|up|",
        "160 tiles · 1.6 m × 1 m (63 in × 39.4 in)",
        "brushed steel <2B> & oil · ",
        "metres",
        "feet",
        "grain arrow",
    ] {
        assert!(all.contains(words), "{words:?} is not in {all}");
    }
}

/// Up the piece is up the page, and the head lies toward the grain.
#[test]
fn arrows_point_along_the_grain() {
    for (grain_rad, toward) in [(0.0, vec2(1.0, 0.0)), (FRAC_PI_2, vec2(0.0, -1.0))] {
        let arrow = Arrow {
            middle: Vec2::ZERO,
            dir: page_dir(grain_rad),
            half_px: 10.0,
        };
        let tip = toward * 10.0;
        let start = format!("M{} {}L", num(tip.x), num(tip.y));
        let (_, head) = arrow_paths(&arrow);
        assert!(head.starts_with(&start), "{head} does not start at {start}");
    }
}

#[test]
fn dark_materials_become_pale_and_users_words_are_escaped() {
    let mut sheet = examples::grid(3, 2, 0.6, 0.4);
    sheet.materials[0].colour_rgb = [0; 3];
    sheet.materials[1].name = "a <b> & \u{0}c".to_owned();
    let tint = palette::rgb(&tint(&sheet, 0));
    assert!(palette::contrast(palette::rgb(palette::INK), tint) >= 7.0);
    let all = texts(&piece_sheet_svg(&sheet)).join("|");
    assert!(all.contains("a <b> & c · "), "{all}");
}

#[test]
fn odd_data_do_not_break_the_sheet() {
    text_boxes(&piece_sheet_svg(&PieceSheet::default()));
    let mut sheet = examples::grid(3, 2, 0.6, 0.4);
    sheet.width_m = f32::NAN;
    sheet.tiles[0].outline_m[0] = vec2(f32::NAN, 0.0);
    sheet.tiles[1].outline_m = vec![Vec2::ZERO; 4];
    sheet.tiles[2].grain_rad = f32::INFINITY;
    sheet.tiles[3].material = 99;
    sheet.tiles[4].outline_m.clear();
    let all = texts(&piece_sheet_svg(&sheet)).join("|");
    assert!(all.contains("not drawn: 2"), "{all}");
    sheet.materials.clear();
    text_boxes(&piece_sheet_svg(&sheet));
}

#[test]
fn twenty_thousand_tiles_are_drawn() {
    let svg = piece_sheet_svg(&examples::grid(200, 100, 4.0, 2.0));
    assert_eq!(svg.matches("<title>tile ").count(), 20_000);
}
