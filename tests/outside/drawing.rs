//! Drawings (SVG): sizes, arcs, references and real files.
//!
//! The real files stay outside the checkout; where they are missing, the invented texts below
//! still cover every trap. Numbers are typed in: closed forms, or element counts found by text
//! search in the files (`expected.csv` beside them).

use std::f64::consts::PI;
use std::path::PathBuf;
use std::time::Instant;

use lustrewalk::piece::drawing::{
    Drawing, DrawingError, DrawingOptions, DrawingWarning, read_drawing,
};
use lustrewalk::piece::parse_piece;

fn read(text: &str) -> Drawing {
    read_drawing(text.as_bytes(), "test.svg", &DrawingOptions::default())
        .unwrap_or_else(|e| panic!("{e}"))
}

fn read_wide(bytes: &[u8], width_m: f32, close_lines: bool) -> Drawing {
    let options = DrawingOptions {
        width_m: Some(width_m),
        close_lines,
    };
    read_drawing(bytes, "test.svg", &options).unwrap_or_else(|e| panic!("{e}"))
}

fn areas_mm2(drawing: &Drawing) -> Vec<f64> {
    drawing.outlines.iter().map(|o| o.area_m2() * 1e6).collect()
}

fn assert_near(what: &str, found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{what}: {found}, expected {expected} within {tolerance}"
    );
}

fn svg(root: &str, body: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" {root}>{body}</svg>"
    )
}

/// Source: SVG 2, 8.2, and CSS Values and Units 4, 6.2: 96 units are an inch without a view box.
/// Tolerance: single precision of the reader.
#[test]
fn a_unit_is_a_96th_of_an_inch_without_a_view_box() {
    let rect = r#"<rect width="96" height="96"/>"#;
    let plain = read(&svg(r#"width="100mm" height="100mm""#, rect));
    assert_near(
        "area without view box, mm2",
        areas_mm2(&plain)[0],
        25.4 * 25.4,
        0.01,
    );
    let boxed = read(&svg(
        r#"width="100mm" height="100mm" viewBox="0 0 100 100""#,
        rect,
    ));
    assert_near(
        "area with view box, mm2",
        areas_mm2(&boxed)[0],
        96.0 * 96.0,
        0.05,
    );
    // The rectangle is at the upper left: y runs up, the origin is the middle of the page.
    let corner = boxed.outlines[0]
        .polygon_m
        .iter()
        .copied()
        .reduce(|a, b| a.min(b))
        .unwrap();
    assert_near("left, m", f64::from(corner.x), -0.05, 1e-6);
    assert_near("bottom, m", f64::from(corner.y), 0.05 - 0.096, 1e-6);
}

/// Source: CSS Values and Units 4, 6.2 (1in = 2.54cm = 25.4mm = 72pt = 6pc = 96px).
#[test]
fn every_unit_of_length_gives_the_same_page() {
    for (width, height) in [
        ("25.4mm", "50.8mm"),
        ("2.54cm", "5.08cm"),
        ("1in", "2in"),
        ("72pt", "144pt"),
        ("6pc", "12pc"),
        ("96px", "192px"),
        ("96", "1.92e2"),
    ] {
        let root = format!("width=\"{width}\" height=\"{height}\" viewBox=\"0 0 10 20\"");
        let drawing = read(&svg(&root, r#"<rect width="10" height="20"/>"#));
        assert_near(width, f64::from(drawing.width_m), 0.0254, 1e-7);
        assert_near(height, f64::from(drawing.height_m), 0.0508, 1e-7);
        let is_pixels = drawing
            .warnings
            .iter()
            .any(|w| matches!(w, DrawingWarning::SizeInPixels { .. }));
        assert_eq!(is_pixels, width.ends_with("px") || width == "96", "{width}");
    }
    let blank = svg(r#"width="100 mm" height="100mm""#, "");
    let error = read_drawing(blank.as_bytes(), "a", &DrawingOptions::default()).unwrap_err();
    assert!(matches!(error, DrawingError::BadLength { .. }), "{error}");
    let unsized_page = svg(r#"viewBox="0 0 2 1" width="100%""#, "");
    let error = read_drawing(unsized_page.as_bytes(), "a", &DrawingOptions::default()).unwrap_err();
    assert!(
        matches!(error, DrawingError::NoPhysicalSize { .. }),
        "{error}"
    );
}

/// Source: SVG 2, 9.3.9 (a flag is one digit); half a disc of radius 5 has 25 pi / 2 = 39.27.
/// Tolerance: the reader puts a cubic in place of each quarter of an arc, whose radius is up to
/// 2.7e-4 too large, the area up to 5.4e-4.
#[test]
fn arc_flags_may_be_glued_to_the_next_number() {
    let root = r#"viewBox="-1 -6 12 12""#;
    for d in [
        "M0 0a5 5 0 0110 0z",
        "M0 0 a 5 5 0 0 1 10 0 z",
        "M0,0A5,5 0 0110,0Z",
    ] {
        let drawing = read_wide(
            svg(root, &format!("<path d=\"{d}\"/>")).as_bytes(),
            12.0,
            false,
        );
        assert_near(d, drawing.outlines[0].area_m2(), 12.5 * PI, 0.0212);
        // Sweep 1 from left to right runs over the top.
        assert!(
            drawing.outlines[0].polygon_m.iter().all(|p| p.y > -1e-4),
            "{d}"
        );
    }
}

/// Source: SVG 2, 5.6 (a use must not contain itself); the time is the limit we hold ourselves to.
#[test]
fn references_that_never_end_or_multiply_are_refused_within_a_second() {
    let own = r##"<g id="a"><rect width="1" height="1"/><use href="#a"/></g>"##;
    let ring = r##"<g id="a"><use href="#b"/></g><g id="b"><use xlink:href="#a"/></g>"##;
    let clip = r##"<clipPath id="c" clip-path="url(#c)"><rect width="1" height="1"/></clipPath><rect width="1" height="1" clip-path="url('#c')"/>"##;
    for body in [own, ring, clip] {
        let start = Instant::now();
        let text = svg(r#"width="10mm" height="10mm""#, body);
        let error = read_drawing(text.as_bytes(), "a", &DrawingOptions::default()).unwrap_err();
        assert!(
            matches!(error, DrawingError::SelfReference { .. }),
            "{error}"
        );
        assert!(!error.help().is_empty() && start.elapsed().as_secs_f64() < 1.0);
    }
    // Eight levels of ten uses each: 10^8 rectangles.
    let mut body = r#"<defs><g id="n0"><rect width="1" height="1"/></g>"#.to_owned();
    for level in 1..=8 {
        let below = level - 1;
        let uses = format!("<use href=\"#n{below}\"/>").repeat(10);
        body += &format!("<g id=\"n{level}\">{uses}</g>");
    }
    body += r##"</defs><use href="#n8"/>"##;
    let start = Instant::now();
    let text = svg(r#"width="10mm" height="10mm""#, &body);
    let error = read_drawing(text.as_bytes(), "a", &DrawingOptions::default()).unwrap_err();
    assert!(
        matches!(error, DrawingError::Explosion { count, .. } if count > 100_000_000),
        "{error}"
    );
    assert!(start.elapsed().as_secs_f64() < 1.0, "{:?}", start.elapsed());
    // The same in patterns, entities and depth.
    let pattern: String = (0..8)
        .map(|i| {
            let rects =
                format!("<rect width=\"1\" height=\"1\" fill=\"url(#p{})\"/>", i + 1).repeat(10);
            format!("<pattern id=\"p{i}\" width=\"1\" height=\"1\">{rects}</pattern>")
        })
        .collect();
    let bomb = svg(
        r#"width="10mm" height="10mm""#,
        &format!("{pattern}<rect width=\"9\" height=\"9\" fill=\"url(#p0)\"/>"),
    );
    let deep = svg(
        r#"width="10mm" height="10mm""#,
        &format!("{}{}", "<g>".repeat(5000), "</g>".repeat(5000)),
    );
    let laughs = format!(
        "<!DOCTYPE svg [<!ENTITY a \"<g/>\">{}]>{}",
        (0..9)
            .map(|i| format!(
                "<!ENTITY {} \"{}\">",
                char::from(b'b' + i),
                format!("&{};", char::from(b'a' + i)).repeat(10)
            ))
            .collect::<String>(),
        svg(r#"width="10mm" height="10mm""#, "&j;")
    );
    for text in [bomb, deep, laughs] {
        let start = Instant::now();
        let error = read_drawing(text.as_bytes(), "a", &DrawingOptions::default()).unwrap_err();
        assert!(!error.help().is_empty());
        assert!(start.elapsed().as_secs_f64() < 1.0, "{:?}", start.elapsed());
    }
}

/// Source: the reader cuts an arc into a number of curves that grows with its radius.
#[test]
fn a_radius_that_would_fill_the_memory_is_refused() {
    let text = svg(
        r#"width="10mm" height="10mm""#,
        "\n<path d=\"M0 0A1e108 5 0 0 1 1e3 0z\"/>",
    );
    let error = read_drawing(text.as_bytes(), "a", &DrawingOptions::default()).unwrap_err();
    assert!(
        matches!(error, DrawingError::HugeNumber { line: 2, .. }),
        "{error}"
    );
}

/// Source: SVG 2, 13.4 (fill rules). A square of 20 with one of 10 inside.
#[test]
fn holes_follow_the_fill_rule_and_doubles_count_once() {
    let root = r#"width="100mm" height="100mm" viewBox="0 0 100 100""#;
    let area = |path: &str| {
        let drawing = read(&svg(root, path));
        assert_eq!(drawing.outlines.len(), 1, "{path}");
        areas_mm2(&drawing)[0]
    };
    let same_way = "M0 0h20v20h-20z M5 5h10v10h-10z";
    let other_way = "M0 0h20v20h-20z M5 5v10h10v-10z";
    let even_odd = format!("<path fill-rule=\"evenodd\" d=\"{same_way}\"/>");
    assert_near("even-odd, mm2", area(&even_odd), 300.0, 0.01);
    assert_near(
        "non-zero, same way, mm2",
        area(&format!("<path d=\"{same_way}\"/>")),
        400.0,
        0.01,
    );
    assert_near(
        "non-zero, other way, mm2",
        area(&format!("<path d=\"{other_way}\"/>")),
        300.0,
        0.01,
    );
    let twice = read(&svg(
        root,
        r#"<rect width="20" height="20"/><rect x="0.01" width="20" height="20"/>"#,
    ));
    assert_eq!(twice.outlines.len(), 1);
    assert!(
        twice
            .warnings
            .contains(&DrawingWarning::Duplicates { count: 1 })
    );
}

/// Where the real files lie, if they are there.
fn corpus() -> Option<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/reference/corpus/svg");
    folder.is_dir().then_some(folder)
}

fn corpus_file(name: &str) -> Option<Vec<u8>> {
    std::fs::read(corpus()?.join(name)).ok()
}

/// Source: root sizes and element counts found by text search (`expected.csv`, 11 files).
/// Tolerance: single precision of the reader.
#[test]
fn sizes_of_real_files_are_those_of_their_roots() {
    let Some(folder) = corpus() else { return };
    let table = std::fs::read_to_string(folder.join("expected.csv")).unwrap();
    let mut rows = 0;
    for row in table.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let (name, width, view_box) = (cells[0], cells[1], cells[3]);
        let bytes = std::fs::read(folder.join(name)).unwrap();
        let found = read_drawing(&bytes, name, &DrawingOptions::default());
        let is_sized = !width.is_empty() && !width.ends_with('%');
        match found {
            Ok(drawing) => {
                let number: f64 = width.trim_end_matches(char::is_alphabetic).parse().unwrap();
                let unit_m = if width.ends_with("mm") {
                    1e-3
                } else {
                    0.0254 / 96.0
                };
                assert_near(name, f64::from(drawing.width_m), number * unit_m, 1e-6);
                assert!(is_sized, "{name}");
            }
            Err(DrawingError::NoPhysicalSize { units, .. }) => {
                assert!(!is_sized, "{name}");
                let box_width: f64 = view_box.split(' ').nth(2).unwrap().parse().unwrap();
                assert_near(name, f64::from(units.0), box_width, 1e-3);
            }
            Err(error) => panic!("{name}: {error}"),
        }
        rows += 1;
    }
    assert_eq!(rows, 11);
}

/// Source: closed forms for regular polygons of side 50 (12-gon 3 (2 + sqrt 3) a2, 6-gon
/// 3 sqrt 3 / 2 a2, square a2) in a view box 819.615242 wide; 62 polygons and 204 lines by text
/// search, one of the polygons being the rim of all. Tolerance: coordinates given to 1e-6.
#[test]
fn the_4_6_12_tiling_comes_out_alike_from_polygons_and_from_lines() {
    let Some(bytes) = corpus_file("uniform-4-6-12-lines.svg") else {
        return;
    };
    let side_m2 = (50.0_f64 / 819.615_242).powi(2);
    let root3 = 3.0_f64.sqrt();
    let shapes = [
        side_m2,
        1.5 * root3 * side_m2,
        3.0 * (2.0 + root3) * side_m2,
    ];
    for close_lines in [false, true] {
        let drawing = read_wide(&bytes, 1.0, close_lines);
        assert_eq!(drawing.outlines.len(), 61);
        for outline in &drawing.outlines {
            let found = outline.area_m2();
            let off = shapes
                .iter()
                .map(|s| (found / s - 1.0).abs())
                .fold(1.0, f64::min);
            assert!(off < 1e-4, "area {found} m2 is none of {shapes:?} m2");
        }
        if close_lines {
            assert!(
                drawing
                    .warnings
                    .iter()
                    .any(|w| matches!(w, DrawingWarning::LinesClosed { outlines: 61, .. }))
            );
        } else {
            assert!(
                drawing
                    .warnings
                    .contains(&DrawingWarning::OpenLines { count: 204 })
            );
        }
    }
    // As a piece: grain by place needs nothing but the drawing.
    let text = r#"(version: 1, width_m: 1, height_m: 1.1, layout: Drawing(file: "u.svg", width_m: 1,
        grain: Alternate([0, 45, 90, 135]), material: One("maple satin")))"#;
    let spec = parse_piece(text, "u.ron").unwrap();
    let tiling = spec.tiling(&mut |_| Ok(bytes.clone())).unwrap();
    assert_eq!(tiling.tiles.len(), 61);
    // 204 edges of 1/16.39 m, each between two tiles or on the rim: neighbours share whole edges.
    let edge_m = (50.0 / 819.615_242) as f32;
    let pairs = tiling.neighbours();
    assert!(
        pairs.iter().all(|p| (p.2 - edge_m).abs() < 1e-4),
        "{pairs:?}"
    );
    // Every tile's edges: sum of corners = inner edges twice + rim edges; 204 edges in all.
    let corners: usize = tiling.tiles.iter().map(|t| t.outline_m.len()).sum();
    assert_eq!(
        corners - pairs.len(),
        204,
        "corners {corners}, pairs {}",
        pairs.len()
    );
}

/// Source: nine congruent tiles (one closed curve edge per side, monotile) must have one area;
/// 12 x 13 equal parallelograms in the fold pattern. Tolerance: chords within 0.1 mm of 1 m, and
/// the third decimal of the fold pattern's pixels.
#[test]
fn single_edges_are_joined_to_congruent_tiles() {
    if let Some(bytes) = corpus_file("aperiodic-curved-edges.svg") {
        let drawing = read_wide(&bytes, 1.0, true);
        let large: Vec<f64> = areas_mm2(&drawing)
            .into_iter()
            .filter(|a| *a > 1000.0)
            .collect();
        assert_eq!(large.len(), 9);
        for area in &large {
            assert_near("tile, mm2", *area, large[0], 1e-3 * large[0]);
        }
    }
    if let Some(bytes) = corpus_file("fold-grid-two-programs.svg") {
        let areas = areas_mm2(&read_wide(&bytes, 1.0, true));
        assert_eq!(areas.len(), 12 * 13);
        for area in &areas {
            assert_near("field, mm2", *area, areas[0], 1e-3 * areas[0]);
        }
    }
}

/// Source: closed forms by hand from the files' numbers. Tolerance: chords within 0.1 mm.
#[test]
fn transforms_views_uses_and_arcs_of_real_files_have_their_closed_form_areas() {
    // Three rectangles of 160 x 40 in a page of 200 x 200 with a frame line.
    if let Some(bytes) = corpus_file("use-of-use.svg") {
        let drawing = read_wide(&bytes, 0.2, false);
        assert_eq!(drawing.outlines.len(), 3);
        for area in areas_mm2(&drawing) {
            assert_near("rectangle, mm2", area, 6400.0, 0.1);
        }
    }
    // A circle of 120 at a quarter, clipped by a square of 50 around its centre.
    if let Some(bytes) = corpus_file("nested-viewbox.svg") {
        let areas = areas_mm2(&read_wide(&bytes, 0.2, false));
        let (r, d) = (30.0_f64, 25.0_f64);
        let segment = r * r * (d / r).acos() - d * (r * r - d * d).sqrt();
        assert_eq!(areas.len(), 1);
        assert_near(
            "clipped circle, mm2",
            areas[0],
            PI * r * r - 4.0 * segment,
            6.0,
        );
    }
    // 0.2 mm a unit: straight parts by the shoelace formula (below), two outer half discs of radius
    // 30, two inner ones of 20 (scaled up from 10), two rounded corners of radius 10.
    if let Some(bytes) = corpus_file("mirrored-mm-slot.svg") {
        let drawing = read_drawing(&bytes, "slot", &DrawingOptions::default()).unwrap();
        let straight = 100.0 * 100.0 - 100.0;
        let arcs = 900.0 * PI - 400.0 * PI + 2.0 * (PI / 4.0 - 0.5) * 100.0;
        let expected = (straight + arcs) * 0.04;
        assert_near("slot, mm2", areas_mm2(&drawing)[0], expected, 1.0);
    }
    // A large arc of radius 40 over a chord of 50 sqrt 2, and eight circles of radius 5; three
    // paths with a radius of zero are straight and enclose nothing.
    if let Some(bytes) = corpus_file("zero-radius-arcs.svg") {
        let drawing = read_wide(&bytes, 1.0, false);
        let mut areas = areas_mm2(&drawing);
        areas.sort_by(f64::total_cmp);
        assert_eq!(areas.len(), 9);
        let (r, half) = (40.0_f64, 50.0 / 2.0_f64.sqrt());
        let angle = 2.0 * (half / r).asin();
        let large = PI * r * r - r * r / 2.0 * (angle - angle.sin());
        assert_near("segment, mm2", areas[8], large, 0.1 * 2.0 * PI * r);
        assert_near("circle, mm2", areas[0], 25.0 * PI, 0.1 * 10.0 * PI);
        assert!(
            drawing
                .warnings
                .contains(&DrawingWarning::NoArea { count: 3 })
        );
    }
}

/// Source: a bar of 100 mm x 10 mm drawn in millimetres.
#[test]
fn a_bar_of_100_mm_stays_100_mm() {
    let Some(bytes) = corpus_file("jigsaw-mm-strokes.svg") else {
        return;
    };
    let drawing = read_drawing(&bytes, "bar", &DrawingOptions::default()).unwrap();
    assert_near("bar, mm2", areas_mm2(&drawing)[0], 1000.0, 0.1);
}

/// Times as we hold ourselves to: the largest file allowed is answered in seconds.
#[test]
fn the_largest_drawings_are_answered_in_time() {
    let root = r#"width="1900mm" height="1000mm" viewBox="0 0 1900 1000""#;
    let squares: String = (0..19_000)
        .map(|i| {
            let (x, y) = (i % 190 * 10, i / 190 * 10);
            format!("<path d=\"M{x} {y}h10v10h-10z\"/>")
        })
        .collect();
    let start = Instant::now();
    let text = r#"(version: 1, width_m: 1.9, height_m: 1, layout: Drawing(file: "s.svg", material: One("a")))"#;
    let spec = parse_piece(text, "s.ron").unwrap();
    let tiling = spec
        .tiling(&mut |_| Ok(svg(root, &squares).into_bytes()))
        .unwrap();
    assert_eq!(tiling.tiles.len(), 19_000);
    println!("19,000 squares: {:?}", start.elapsed());
    assert!(
        start.elapsed().as_secs_f64() < 10.0,
        "{:?}",
        start.elapsed()
    );

    let zigzag: String = (0..900_000)
        .map(|i| format!("l{} {}", i % 7, i % 3))
        .collect();
    let comb: String = (0..40_000)
        .map(|i| format!("V{}H{}", i % 2 * 900, i))
        .collect();
    let boxes = "<rect width=\"9\" height=\"9\"/>".repeat(150_000);
    let blades: String = (0..15_000)
        .map(|i| format!("<path d=\"M0 0L{} 900l9 9z\"/>", i % 1500))
        .collect();
    let styles = format!("<style>{}</style>", ".a{fill:red}".repeat(50_000));
    for (what, body) in [
        (
            "zigzag",
            format!("<path d=\"M0 0{zigzag}\" fill=\"none\" stroke=\"red\"/>"),
        ),
        (
            "comb",
            format!("<path d=\"M0 0{comb}\" fill=\"none\" stroke=\"red\"/>"),
        ),
        ("filled comb", format!("<path d=\"M0 0{comb}V1000H0z\"/>")),
        ("boxes", boxes),
        ("blades", blades),
        (
            "styles",
            format!("{styles}{}", "<rect class=\"a\"/>".repeat(10_000)),
        ),
    ] {
        for close_lines in [false, true] {
            let bytes = svg(root, &body).into_bytes();
            let start = Instant::now();
            let options = DrawingOptions {
                width_m: None,
                close_lines,
            };
            let found = read_drawing(&bytes, what, &options);
            println!(
                "{what}, {} bytes, close_lines {close_lines}: {:?}, {:?}",
                bytes.len(),
                start.elapsed(),
                found.map(|d| d.outlines.len()).map_err(|e| e.to_string())
            );
            assert!(
                start.elapsed().as_secs_f64() < 10.0,
                "{what}: {:?}",
                start.elapsed()
            );
        }
    }
}
