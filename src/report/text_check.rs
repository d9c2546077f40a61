//! What all drawings must keep: they parse, text stays on the page and does not meet other text, the
//! same data gives the same bytes, the picture is not blank.

use resvg::{tiny_skia, usvg};

use super::{examples, png, png_from_svg};

/// Texts of a drawing with their boxes: left, top, right, bottom [px].
pub(super) fn text_boxes(svg: &str) -> (usvg::Size, Vec<(String, [f32; 4])>) {
    let tree = usvg::Tree::from_str(svg, &png::options()).unwrap();
    let mut found = Vec::new();
    collect(tree.root(), &mut found);
    (tree.size(), found)
}

fn collect(group: &usvg::Group, found: &mut Vec<(String, [f32; 4])>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => collect(group, found),
            usvg::Node::Text(text) => {
                // The ink of the glyphs, not the line box.
                let area = text.flattened().abs_bounding_box();
                let words: String = text.chunks().iter().map(|c| c.text()).collect();
                found.push((
                    words,
                    [area.left(), area.top(), area.right(), area.bottom()],
                ));
            }
            _ => {}
        }
    }
}

#[test]
fn text_stays_on_the_page() {
    for (name, svg) in examples::all() {
        let (size, texts) = text_boxes(&svg);
        assert!(texts.len() > 5, "{name}: only {} texts", texts.len());
        for (text, [left, top, right, bottom]) in texts {
            assert!(
                left >= 10.0
                    && top >= 10.0
                    && right <= size.width() - 10.0
                    && bottom <= size.height() - 10.0,
                "{name}: {text:?} at {left} {top} {right} {bottom} leaves a page of {size:?}"
            );
        }
    }
}

#[test]
fn texts_do_not_meet() {
    for (name, svg) in examples::all() {
        let (_, texts) = text_boxes(&svg);
        for (index, (a, box_a)) in texts.iter().enumerate() {
            for (b, box_b) in texts.iter().skip(index + 1) {
                let width = box_a[2].min(box_b[2]) - box_a[0].max(box_b[0]);
                let height = box_a[3].min(box_b[3]) - box_a[1].max(box_b[1]);
                assert!(
                    width <= 0.5 || height <= 0.5,
                    "{name}: {a:?} {box_a:?} meets {b:?} {box_b:?}"
                );
            }
        }
    }
}

#[test]
fn same_data_give_the_same_bytes() {
    for ((name, first), (_, second)) in examples::all().into_iter().zip(examples::all()) {
        assert!(first == second, "{name} differs from run to run");
    }
}

#[test]
fn pictures_are_not_blank() {
    for (name, svg) in examples::all() {
        let picture = tiny_skia::Pixmap::decode_png(&png_from_svg(&svg, 0.5).unwrap()).unwrap();
        let paper = picture.pixel(1, 1).unwrap();
        let drawn = picture.pixels().iter().filter(|p| **p != paper).count();
        let share = drawn as f32 / picture.pixels().len() as f32;
        assert!(share > 0.05, "{name}: {share} of the picture is drawn on");
    }
}

#[test]
fn ids_are_unique_in_each_drawing_and_between_drawings() {
    let mut seen = std::collections::BTreeSet::new();
    for (name, svg) in examples::all() {
        assert!(!svg.contains('\u{1}'), "{name}: placeholder left");
        for id in svg
            .split(" id=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
        {
            assert!(seen.insert(id.to_owned()), "{name}: {id} used twice");
        }
    }
}

#[test]
fn every_colour_comes_from_the_palette_or_the_ramp() {
    let palette = include_str!("palette.rs");
    let ramp: Vec<String> = (0..256)
        .map(|i| super::ramp::hex(i as f32 / 255.0))
        .collect();
    // Tints of materials come from the data.
    let tints: Vec<String> = super::piece_sheet::examples::all()
        .iter()
        .flat_map(|(_, sheet)| {
            (0..sheet.materials.len()).map(|m| super::piece_sheet::tint(sheet, m))
        })
        .collect();
    for (name, svg) in examples::all() {
        for colour in svg.split("\"#").skip(1).filter_map(|rest| rest.get(..6)) {
            let colour = format!("#{colour}");
            assert!(
                palette.contains(&colour) || ramp.contains(&colour) || tints.contains(&colour),
                "{name}: {colour}"
            );
        }
    }
}
