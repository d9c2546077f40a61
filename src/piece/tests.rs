//! Behaviour of whole pieces: counts, areas, arrows and messages, against values found by hand.

use glam::{DVec2, Vec2};

use super::error::Problems;
use super::overlap::find_overlaps;
use super::polygon::{Polygon, contains_point};
use super::*;

const HERRINGBONE: &str = include_str!("../../tests/data/pieces/herringbone_veneer.ron");
const FAN: &str = include_str!("../../tests/data/pieces/fan_brass.ron");
const GRID: &str = include_str!("../../tests/data/pieces/grid_concrete.ron");

fn tiling_of(text: &str) -> Tiling {
    try_tiling(text).unwrap_or_else(|e| panic!("{e}: {:?}", e.problems()))
}

fn try_tiling(text: &str) -> Result<Tiling, PieceError> {
    parse_piece(text, "test.ron")?.tiling(&mut |file| {
        Err(std::io::Error::new(
            std::io::ErrorKind::NotFound,
            file.to_owned(),
        ))
    })
}

/// A piece of 2 m x 1 m with a layout.
fn with_layout(layout: &str) -> String {
    format!("(version: 1, name: \"t\", width_m: 2, height_m: 1, layout: {layout})")
}

fn outlines(tiling: &Tiling) -> Vec<Polygon> {
    tiling
        .tiles
        .iter()
        .map(|t| t.outline_m.iter().map(|p| p.as_dvec2()).collect())
        .collect()
}

fn assert_area(tiling: &Tiling, expected_m2: f64, tolerance_m2: f64) {
    let found_m2 = tiling.area_m2();
    assert!(
        (found_m2 - expected_m2).abs() <= tolerance_m2,
        "area {found_m2} m2, expected {expected_m2} m2 within {tolerance_m2}"
    );
}

/// No two tiles overlap, none reaches beyond the piece, and the areas add up to the piece.
fn assert_fills(text: &str, tolerance_m2: f64) -> Tiling {
    let tiling = tiling_of(text);
    let mut problems = Problems::default();
    assert!(find_overlaps(
        &outlines(&tiling),
        |i| format!("tile {}", i + 1),
        &mut problems
    ));
    problems
        .into_result("overlaps")
        .unwrap_or_else(|e| panic!("{:?}", e.problems()));
    let (low, high) = tiling.bounds();
    let half = Vec2::new(tiling.width_m, tiling.height_m) / 2.0;
    assert!(
        (low + half).length() < 1e-5 && (high - half).length() < 1e-5,
        "{low} {high}"
    );
    assert_area(
        &tiling,
        f64::from(tiling.width_m * tiling.height_m),
        tolerance_m2,
    );
    // Each point of a lattice lies in one tile; in none or two only on edges (a few).
    let all = outlines(&tiling);
    let mut odd = 0;
    for k in 0..1000_u32 {
        let p = DVec2::new(
            (f64::from(k) * 0.754_877_666 + 0.013).fract() - 0.5,
            (f64::from(k) * 0.569_840_291 + 0.029).fract() - 0.5,
        ) * half.as_dvec2()
            * 2.0;
        odd += usize::from(all.iter().filter(|o| contains_point(o, p)).count() != 1);
    }
    assert!(odd <= 2, "{odd} of 1000 points are not in exactly one tile");
    tiling
}

fn tile_at(tiling: &Tiling, x: f64, y: f64) -> &Tile {
    let all = outlines(tiling);
    let index = all
        .iter()
        .position(|o| contains_point(o, DVec2::new(x, y)))
        .unwrap();
    &tiling.tiles[index]
}

fn grain_deg(tile: &Tile) -> f32 {
    tile.grain_rad.to_degrees()
}

fn assert_deg(found_deg: f32, expected_deg: f32) {
    assert!(
        (found_deg - expected_deg).abs() < 1e-3,
        "{found_deg} deg, expected {expected_deg} deg"
    );
}

#[test]
fn a_grid_with_joints_has_the_area_left_by_the_joints() {
    let tiling = tiling_of(GRID);
    assert_eq!(tiling.tiles.len(), 120);
    // 11 upright joints of 5 mm and 9 level ones; edges on the rim are not cut.
    assert_area(&tiling, (2.4 - 11.0 * 0.005) * (2.0 - 9.0 * 0.005), 1e-6);
    let first = &tiling.tiles[0];
    assert_eq!(first.id, 1);
    // The first column is 0.2 m less half a joint wide, and so is the first row high.
    assert!((first.centroid_m - Vec2::new(-1.2 + 0.09875, 1.0 - 0.09875)).length() < 1e-5);
    assert!((f64::from(first.area_m2) - 0.1975 * 0.1975).abs() < 1e-7);
    assert_deg(grain_deg(&tiling.tiles[0]), 0.0);
    assert_deg(grain_deg(&tiling.tiles[1]), 90.0);
    assert_deg(grain_deg(&tiling.tiles[12]), 90.0);
    // Numbers run along rows: tile 13 begins the second row.
    assert!(tiling.tiles[12].centroid_m.x < -1.0 && tiling.tiles[12].centroid_m.y < 0.9);
    assert_eq!(tiling.materials, ["ridged concrete V"]);
    // 11 x 10 + 12 x 9 pairs, each along a side shortened by joints.
    let pairs = tiling.neighbours();
    assert_eq!(pairs.len(), 218);
    let inner = pairs.iter().find(|p| (p.0, p.1) == (14, 15)).unwrap();
    assert!(
        (inner.2 - 0.195).abs() < 1e-4,
        "shared {} m, expected 0.195 m",
        inner.2
    );
}

#[test]
fn a_staggered_grid_fills_the_piece_with_cut_ends() {
    let text = with_layout(r#"Grid(columns: 4, rows: 4, stagger: 0.5, material: One("a"))"#);
    let tiling = assert_fills(&text, 1e-6);
    assert_eq!(tiling.tiles.len(), 4 + 5 + 4 + 5);
    assert!((tiling.tiles[4].area_m2 - 0.25 * 0.25).abs() < 1e-6);
}

#[test]
fn a_graded_strip_turns_evenly_from_first_to_last() {
    let text = with_layout(
        r#"GradedStrip(count: 7, from_deg: 350, to_deg: 410, material: Alternate(["a", "b"]))"#,
    );
    let tiling = assert_fills(&text, 1e-6);
    let found: Vec<f32> = tiling.tiles.iter().map(grain_deg).collect();
    for (found, expected) in found.iter().zip([350.0, 0.0, 10.0, 20.0, 30.0, 40.0, 50.0]) {
        let apart = (found - expected).abs();
        assert!(
            apart.min(360.0 - apart) < 1e-3,
            "{found} deg, expected {expected} deg"
        );
    }
    assert_eq!(tiling.tiles[1].material, 1);
}

#[test]
fn herringbone_fills_the_piece_and_its_arrows_cross() {
    let tiling = assert_fills(HERRINGBONE, 1e-6);
    let count = tiling.tiles.len();
    assert!(
        (170..=230).contains(&count),
        "{count} tiles, expected about 200"
    );
    let whole = tiling
        .tiles
        .iter()
        .filter(|t| (t.area_m2 - 0.24 * 0.06).abs() < 1e-6)
        .count();
    // Planks that meet the rim number about perimeter / 0.1; more than half must be whole.
    assert!(whole * 2 > count, "{whole} of {count} whole");
    for tile in &tiling.tiles {
        let walnut = tiling.material_name(tile) == "walnut satin";
        assert_deg(grain_deg(tile), if walnut { 135.0 } else { 45.0 });
    }
    assert_eq!(tiling.materials.len(), 2);
}

#[test]
fn a_herringbone_of_any_proportion_fills_the_piece() {
    for (length, width, angle) in [(0.3, 0.3, 45.0), (0.31, 0.07, 0.0), (0.5, 0.11, 20.0)] {
        let layout = format!(
            "Herringbone(length_m: {length:?}, plank_width_m: {width:?}, angle_deg: {angle:?}, material: One(\"a\"))"
        );
        assert_fills(&with_layout(&layout), 1e-4);
    }
}

#[test]
fn hexagons_have_their_closed_form_area_with_and_without_joint() {
    for flat in ["false", "true"] {
        let layout = format!("Hexagons(across_m: 0.2, flat_top: {flat}, material: One(\"a\"))");
        let tiling = assert_fills(&with_layout(&layout), 1e-4);
        let centre = tile_at(&tiling, 0.0, 0.0);
        // Area of a hexagon from the distance of its sides: sqrt(3) / 2 d2.
        let expected_m2 = 0.75_f32.sqrt() * 0.04;
        assert!((centre.area_m2 - expected_m2).abs() < 1e-6);
        let jointed = with_layout(&layout).replace("layout:", "joint_mm: 4, layout:");
        let tiling = tiling_of(&jointed);
        let expected_m2 = 0.75_f32.sqrt() * 0.196 * 0.196;
        let found_m2 = tile_at(&tiling, 0.0, 0.0).area_m2;
        assert!(
            (found_m2 - expected_m2).abs() < 1e-6,
            "{found_m2} m2, expected {expected_m2} m2"
        );
    }
}

#[test]
fn a_sunburst_fills_the_piece_and_its_arrows_point_outwards() {
    let text = with_layout(
        r#"Sunburst(rays: 36, rings: 3, centre_m: (0.2, -0.1), from_deg: -5, material: Rows(["a", "b"]))"#,
    );
    let tiling = assert_fills(&text, 2e-5);
    assert_deg(grain_deg(tile_at(&tiling, 0.3, -0.1)), 0.0);
    assert_deg(grain_deg(tile_at(&tiling, 0.2, 0.3)), 90.0);
    assert_deg(grain_deg(tile_at(&tiling, -0.9, -0.1)), 180.0);
    // A centre outside the piece works too.
    let text =
        with_layout(r#"Sunburst(rays: 90, rings: 4, centre_m: (0, -1.5), material: One("a"))"#);
    assert_fills(&text, 2e-5);
}

#[test]
fn rings_fill_the_piece_and_their_arrows_run_around() {
    let text =
        with_layout(r#"Rings(count: 6, segments: [6, 12, 18], stagger: 0.5, material: One("a"))"#);
    let tiling = assert_fills(&text, 5e-4);
    let tile = tile_at(&tiling, 0.3, 0.0);
    // Second ring (radius 0.186 to 0.373): 12 segments turned by half, so one is centred on 30 deg
    // less the stagger: middles at 15 + 15 = 30 deg steps, the one over 0 deg runs from -15 to 15.
    assert_deg(grain_deg(tile), 90.0);
}

#[test]
fn the_fan_has_its_blades_its_area_and_its_turned_arrows() {
    let text = FAN.replace("joint_mm: 1,", "");
    let tiling = tiling_of(&text);
    assert_eq!(tiling.tiles.len(), 150);
    // Half an annulus; chords lie within 0.05 mm of the arcs, pi r 0.05 mm at most.
    let expected_m2 = std::f64::consts::FRAC_PI_2 * (0.81 - 0.01);
    assert_area(&tiling, expected_m2, 1.5e-4);
    assert!(tiling.area_m2() < expected_m2);
    // Straight up from the centre: outwards is 90 deg, turned by 45.
    let tile = tile_at(&tiling, 0.0, 0.2);
    assert_deg(grain_deg(tile), 135.0);
    assert_deg(tile.tilt_rad.to_degrees(), 2.0);
    assert_deg(tile.tilt_toward_rad.to_degrees(), 135.0);
    let with_joint = tiling_of(FAN);
    assert_eq!(with_joint.tiles.len(), 150);
    // 14 cuts of 0.8 m and 9 arcs of mean radius 0.5 m, each 1 mm wide, plus the two straight sides
    // and the two outer arcs, each half a millimetre; crossings counted twice are below 1e-4 m2.
    let joints_m2 = 1e-3 * (14.0 * 0.8 + 9.0 * 0.5 * std::f64::consts::PI)
        + 5e-4 * (2.0 * 0.8 + (0.9 + 0.1) * std::f64::consts::PI);
    assert_area(&with_joint, expected_m2 - joints_m2, 3e-4);
    let frame = with_joint.frame.unwrap();
    assert!((frame.width_m - 0.02).abs() < 1e-6 && (frame.depth_m - 0.015).abs() < 1e-6);
}

#[test]
fn a_book_match_runs_through_a_whole_grid() {
    let text = with_layout(
        r#"Grid(columns: 4, rows: 1, grain: BookMatch(deg: 80), material: One("walnut satin"))"#,
    );
    let found: Vec<f32> = tiling_of(&text).tiles.iter().map(grain_deg).collect();
    for (found, expected) in found.iter().zip([80.0, 280.0, 80.0, 280.0]) {
        assert_deg(*found, expected);
    }
}

#[test]
fn a_tile_without_a_direction_is_named() {
    let text = with_layout(r#"Grid(columns: 3, rows: 1, grain: Radial, material: One("a"))"#);
    let tiling = tiling_of(&text);
    assert_eq!(tiling.notes, [PieceNote::GrainUndefined { tile: 2 }]);
    assert_eq!(tiling.tiles[1].grain_rad, 0.0);
    assert_deg(grain_deg(&tiling.tiles[0]), 180.0);
}

#[test]
fn sample_points_are_even_and_inside() {
    // An L of area 3 with a third of it in each square.
    let text = with_layout(
        r#"Tiles([(outline_m: [(-1, -0.5), (0, -0.5), (0, 0), (-0.5, 0), (-0.5, 0.5), (-1, 0.5)], material: "a")])"#,
    );
    let tiling = tiling_of(&text);
    let points = tiling.sample_points(0, 300, 7);
    assert_eq!(points.len(), 300);
    let outline = &outlines(&tiling)[0];
    assert!(points.iter().all(|p| contains_point(outline, p.as_dvec2())));
    let upper = points.iter().filter(|p| p.y > 0.0).count();
    assert!(
        (98..=102).contains(&upper),
        "{upper} of 300 points in the upper third"
    );
    let mean = points.iter().sum::<Vec2>() / 300.0;
    assert!((mean - tiling.tiles[0].centroid_m).length() < 0.005);
    assert_eq!(points, tiling.sample_points(0, 300, 7));
    assert_ne!(points, tiling.sample_points(0, 300, 8));
    assert!(tiling.sample_points(5, 10, 0).is_empty());
}

#[test]
fn all_problems_of_written_tiles_are_listed_with_their_paths() {
    let text = with_layout(
        r#"Tiles([
            (rect_m: (-1, -0.5, 0.5, 0.5), material: "a"),
            (rect_m: (-0.6, -0.5, 0.5, 0.5), material: "a"),
            (outline_m: [(0, 0), (0.5, 0.5), (0.5, 0), (0, 0.5)], material: "a"),
            (outline_m: [(0, 0), (0.5, 0)], material: "a"),
            (rect_m: (0.8, 0, 0.5, 0.2), material: "a"),
            (material: "a"),
            (rect_m: (0.5, -0.5, 0.2, 0.2), material: " ", grain_deg: 1000, tilt_deg: 40),
            (outline_m: [(0, 0), (0.5, 0), (NaN, 1)], material: "a"),
        ])"#,
    );
    let error = try_tiling(&text).unwrap_err();
    let found: Vec<String> = error.problems().iter().map(ToString::to_string).collect();
    for expected in [
        "layout.tiles[2].outline_m: the outline meets itself",
        "layout.tiles[3].outline_m: 2 different corners",
        "layout.tiles[4].rect_m: the tile reaches 300.00 mm beyond",
        "layout.tiles[5]: a tile needs either",
        "layout.tiles[6].grain_deg: 1000 is not within -720 to 720",
        "layout.tiles[6].tilt_deg: 40 is not within 0 to 30",
        "layout.tiles[6].material: the name is empty",
        "layout.tiles[7].outline_m[2]: NaN is not within",
        "layout.tiles[0] and layout.tiles[1] overlap by 50000.0",
    ] {
        assert!(
            found.iter().any(|f| f.starts_with(expected)),
            "{expected} not in {found:#?}"
        );
    }
    assert_eq!(found.len(), 9, "{found:#?}");
    assert!(error.problems().iter().all(|p| !p.help().is_empty()));
}

#[test]
fn tiles_that_share_an_edge_do_not_overlap_and_keep_their_order() {
    let text = with_layout(
        r#"Tiles([
            (rect_m: (0, -0.5, 1, 1), material: "b", grain_deg: 350, label: "right"),
            (outline_m: [(-1, -0.5), (-1, 0.5), (0, 0.5), (0, -0.5)], material: "a"),
        ])"#,
    );
    let tiling = tiling_of(&text);
    assert_eq!(
        (tiling.tiles[0].label.as_str(), tiling.tiles[0].id),
        ("right", 1)
    );
    assert_deg(grain_deg(&tiling.tiles[0]), 350.0);
    assert_eq!(tiling.materials, ["b", "a"]);
    // Written clockwise, kept counter-clockwise.
    assert!(tiling.tiles[1].area_m2 > 0.99);
    assert_eq!(tiling.neighbours(), [(1, 2, 1.0)]);
}

#[test]
fn ranges_are_told_with_value_and_limits() {
    let text = "(version: 1, width_m: 0, height_m: 99, joint_mm: -1, layout: Fan(blades: 0, \
                from_deg: 10, to_deg: 5, outer_m: 0, material: Rows([])))";
    let error = try_tiling(text).unwrap_err();
    let found: Vec<String> = error.problems().iter().map(ToString::to_string).collect();
    for expected in [
        "width_m: 0 is not within",
        "height_m: 99 is not within",
        "joint_mm: -1 is not within 0 to 50",
        "layout.blades: 0 is not within 1 to 2000",
        "layout.outer_m: 0 does not lie beyond 0",
        "layout.to_deg: 5 does not lie beyond 10",
        "layout.material: the list is empty",
    ] {
        assert!(
            found.iter().any(|f| f.starts_with(expected)),
            "{expected} not in {found:#?}"
        );
    }
}

#[test]
fn too_many_tiles_are_refused_before_they_are_made() {
    let text = with_layout(r#"Grid(columns: 1000, rows: 1000, material: One("a"))"#);
    let error = try_tiling(&text).unwrap_err();
    assert!(matches!(
        error.problems(),
        [PieceProblem::TooMany {
            count: 1_000_000,
            ..
        }]
    ));
}

#[test]
fn a_misspelt_key_is_pointed_at_by_line_and_column() {
    let text = "(\n    version: 1,\n    width_m: 2,\n    hieght_m: 1,\n    layout: Tiles([]),\n)";
    let error = parse_piece(text, "x.ron").unwrap_err();
    assert_eq!(error.position().map(|p| p.0), Some(4), "{error}");
    assert!(error.to_string().contains("hieght_m"), "{error}");
    let error = parse_piece("(\n  version: 1,\n  width_m: 1,8,\n)", "x.ron").unwrap_err();
    assert_eq!(error.position().map(|p| p.0), Some(3), "{error}");
    assert!(error.help().contains("point"));
}

#[test]
fn versions_are_told_by_number() {
    let missing = GRID.replace("version: 1,", "");
    let error = parse_piece(&missing, "x.ron").unwrap_err();
    assert!(
        matches!(error, PieceError::MissingVersion { .. }),
        "{error}"
    );
    assert!(error.help().contains("version: 1"));
    // A newer file is refused by its number even with keys unknown here.
    let newer = GRID.replace("version: 1,", "version: 999, glow: 3,");
    let error = parse_piece(&newer, "x.ron").unwrap_err();
    assert!(
        matches!(
            error,
            PieceError::NewerVersion {
                version: 999,
                line: 3,
                ..
            }
        ),
        "{error}"
    );
}

#[test]
fn a_saved_piece_reads_back_the_same() {
    for text in [HERRINGBONE, FAN, GRID] {
        let spec = parse_piece(text, "x.ron").unwrap();
        let saved = ron::ser::to_string_pretty(&spec, ron::ser::PrettyConfig::default()).unwrap();
        assert_eq!(parse_piece(&saved, "saved").unwrap(), spec);
    }
}

#[test]
fn a_drawing_gives_tiles_with_materials_and_grain_by_colour() {
    let svg = br##"<svg xmlns="http://www.w3.org/2000/svg" width="2000mm" height="1000mm" viewBox="0 0 2000 1000">
        <g id="left"><rect id="A" width="1000" height="1000" fill="#A05A2C"/></g>
        <path d="M1000 0h1000v1000h-1000z M1250 250v500h500v-500z" fill="#ffffff"/>
    </svg>"##;
    let text = with_layout(
        r##"Drawing(file: "a.svg",
            grain: ByColour(colours: {"#a05a2c": 30}, otherwise_deg: 120),
            material: ByLayer(layers: {"left": "walnut satin"}, otherwise: "maple satin"))"##,
    );
    let spec = parse_piece(&text, "x.ron").unwrap();
    let mut asked = Vec::new();
    let tiling = spec
        .tiling(&mut |file| {
            asked.push(file.to_owned());
            Ok(svg.to_vec())
        })
        .unwrap();
    assert_eq!(asked, ["a.svg"]);
    assert_eq!(tiling.tiles.len(), 2);
    let (left, right) = (&tiling.tiles[0], &tiling.tiles[1]);
    assert!((left.centroid_m - Vec2::new(-0.5, 0.0)).length() < 1e-5);
    assert_eq!(
        (left.label.as_str(), tiling.material_name(left)),
        ("A", "walnut satin")
    );
    assert_deg(grain_deg(left), 30.0);
    // The right one has a square hole of half its side.
    assert!(
        (right.area_m2 - 0.75).abs() < 1e-5,
        "{} m2, expected 0.75 m2",
        right.area_m2
    );
    assert_eq!(tiling.material_name(right), "maple satin");
    assert_deg(grain_deg(right), 120.0);
    assert!(
        right
            .sample_points(50, 1)
            .iter()
            .all(|p| (*p - Vec2::new(0.5, 0.0)).abs().max_element() > 0.2499)
    );
}

#[test]
fn a_drawing_that_cannot_be_fetched_says_which() {
    let text = with_layout(r#"Drawing(file: "gone.svg", material: One("a"))"#);
    let error = try_tiling(&text).unwrap_err();
    assert!(error.to_string().contains("gone.svg") && !error.help().is_empty());
}

#[test]
fn twenty_thousand_tiles_are_made_and_paired_in_time() {
    let text = with_layout(r#"Grid(columns: 200, rows: 100, material: Chequer("a", "b"))"#);
    let start = std::time::Instant::now();
    let tiling = tiling_of(&text);
    let pairs = tiling.neighbours();
    assert_eq!(pairs.len(), 199 * 100 + 200 * 99);
    // 0.1 s on the machine it was written on.
    assert!(start.elapsed().as_secs_f64() < 5.0, "{:?}", start.elapsed());
}
