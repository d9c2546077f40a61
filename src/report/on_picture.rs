//! Words on a picture: a caption, a title card, names of two halves; light letters on a dark translucent plate.
//!
//! Input: texts and the picture's size [px]; output: SVG text without a ground, as large as it needs. Sizes follow the
//! picture's height, so that words are as readable in a small film as in a large one.

use super::{
    palette::{LIGHT, LIGHT_SOFT, PLATE},
    svg::{Lettering, Look, Svg},
    typeface::{Weight, width_px, wrap},
};

/// What is written.
#[derive(Clone, Debug, PartialEq)]
pub enum PictureWords {
    /// Up to two lines in a corner; the first is the larger.
    Caption {
        /// Where and what.
        first: String,
        /// When.
        second: String,
    },
    /// A card over the whole picture.
    Title {
        /// The largest words.
        title: String,
        /// Lines below.
        lines: Vec<String>,
        /// The sentence at the foot.
        foot: String,
    },
}

/// Height of running words over the picture's height.
const SIZE: f32 = 0.030;

/// The words as a drawing for a picture of a size [px].
pub fn words_on_picture(words: &PictureWords, size: [f32; 2]) -> String {
    // A narrow picture has smaller words rather than more lines.
    let unit = SIZE * size[1].min(size[0] * 0.75);
    match words {
        PictureWords::Caption { first, second } => caption(first, second, unit, size[0]),
        PictureWords::Title { title, lines, foot } => title_card(title, lines, foot, unit, size),
    }
}

fn caption(first: &str, second: &str, unit: f32, most: f32) -> String {
    let room = 0.6 * most;
    let mut lines: Vec<(String, Lettering)> = Vec::new();
    for (text, look, weight) in [
        (
            first,
            Lettering::new(unit).bold().colour(LIGHT),
            Weight::SemiBold,
        ),
        (
            second,
            Lettering::new(0.86 * unit).colour(LIGHT_SOFT),
            Weight::Regular,
        ),
    ] {
        if !text.is_empty() {
            let wrapped = wrap(text, look.size_px, weight, room);
            lines.extend(wrapped.into_iter().map(|line| (line, look)));
        }
    }
    let width = lines
        .iter()
        .map(|(line, look)| width_px(line, look.size_px, look.weight))
        .fold(0.0, f32::max)
        + 1.4 * unit;
    let step = 1.32 * unit;
    let height = lines.len() as f32 * step + 0.7 * unit;
    let mut svg = Svg::new();
    let plate = Look::fill(PLATE).extra(r#" rx="5" fill-opacity="0.62""#);
    svg.rect(0.0, 0.0, width, height, plate);
    for (k, (line, look)) in lines.iter().enumerate() {
        svg.text(
            0.7 * unit,
            0.35 * unit + (k as f32 + 0.76) * step,
            line,
            *look,
        );
    }
    svg.finish_over(None, width, height, first, second)
}

fn title_card(title: &str, lines: &[String], foot: &str, unit: f32, size: [f32; 2]) -> String {
    let [width, height] = size;
    let mut svg = Svg::new();
    let plate = Look::fill(PLATE).extra(r#" fill-opacity="0.72""#);
    svg.rect(0.0, 0.0, width, height, plate);
    let left = 0.08 * width;
    let room = width - 2.0 * left;
    let head = Lettering::new(2.3 * unit).bold().colour(LIGHT);
    let wrapped = wrap(title, head.size_px, Weight::SemiBold, room);
    let mut y = svg.lines(left, 0.34 * height, &wrapped, 2.7 * unit, head) - 0.6 * unit;
    let look = Lettering::new(1.15 * unit).colour(LIGHT);
    for line in lines {
        let wrapped = wrap(line, look.size_px, Weight::Regular, room);
        y = svg.lines(left, y, &wrapped, 1.6 * unit, look);
    }
    let look = Lettering::new(0.95 * unit).colour(LIGHT_SOFT);
    let wrapped = wrap(foot, look.size_px, Weight::Regular, room);
    let step = 1.35 * unit;
    let top = (height - 0.08 * height - wrapped.len() as f32 * step).max(y + unit);
    svg.lines(left, top, &wrapped, step, look);
    svg.finish_over(None, width, height, title, foot)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::draw_svg;

    #[test]
    fn words_fit_into_small_and_large_pictures() {
        for size in [[320.0, 180.0], [1920.0, 1080.0], [360.0, 640.0]] {
            let svg = words_on_picture(
                &PictureWords::Caption {
                    first: "From the west door to the desk · 7.2 m, by the column".into(),
                    second: "20 March 2026, 10:05 · solar time 09:47 · clear sky".into(),
                },
                size,
            );
            let drawing = draw_svg(&svg, 1.0).unwrap();
            assert!(
                drawing.size[0] as f32 <= 0.68 * size[0],
                "{:?}",
                drawing.size
            );
            assert!(
                drawing.size[1] as f32 <= 0.3 * size[1],
                "{:?}",
                drawing.size
            );
            let card = words_on_picture(
                &PictureWords::Title {
                    title: "Ferry hall".into(),
                    lines: vec!["Herringbone in ribbon sycamore".into(); 3],
                    foot: "Brightness on a screen is not the brightness on site.".into(),
                },
                size,
            );
            let drawing = draw_svg(&card, 1.0).unwrap();
            assert_eq!(drawing.size, size.map(|s| s as usize));
            let light = drawing.rgba.chunks(4).filter(|p| p[0] > 200).count();
            assert!(light > 50, "{light} light pixels");
        }
    }
}
