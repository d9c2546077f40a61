//! SVG text to PNG bytes, with the bundled typeface only.
//!
//! Pixels are display-encoded sRGB with 8 bits a channel, exactly the codes that the SVG names:
//! `#767676` (18 % grey) comes out as 118. References to files inside the SVG are not followed.

use std::sync::{Arc, OnceLock};

use resvg::{tiny_skia, usvg};

use super::{ReportError, typeface};

/// Largest side of a picture [px].
const LIMIT_PX: u32 = 16_384;

/// A drawing as pixels, to be laid over a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Width and height [px].
    pub size: [usize; 2],
    /// Display-encoded RGB times coverage, and coverage; row-major from the top.
    pub rgba: Vec<u8>,
}

impl Drawing {
    /// Lays it over an opaque RGBA picture with its upper left corner at a pixel; what lies outside is left out.
    pub fn over(&self, picture: &mut [u8], size: [usize; 2], at: [i64; 2]) {
        for y in 0..self.size[1] {
            let row = at[1] + y as i64;
            if row < 0 || row >= size[1] as i64 {
                continue;
            }
            for x in 0..self.size[0] {
                let column = at[0] + x as i64;
                if column < 0 || column >= size[0] as i64 {
                    continue;
                }
                let from = &self.rgba[(y * self.size[0] + x) * 4..][..4];
                if from[3] == 0 {
                    continue;
                }
                let to = (row as usize * size[0] + column as usize) * 4;
                let left = 255 - u32::from(from[3]);
                for c in 0..3 {
                    let under = u32::from(picture[to + c]) * left + 127;
                    picture[to + c] = (u32::from(from[c]) + under / 255).min(255) as u8;
                }
            }
        }
    }
}

/// Draws `svg` as pixels, `scale` picture pixels per drawing pixel (above 0).
///
/// # Errors
/// As [`png_from_svg`].
pub fn draw_svg(svg: &str, scale: f32) -> Result<Drawing, ReportError> {
    let pixels = pixels_of(svg, scale)?;
    Ok(Drawing {
        size: [pixels.width() as usize, pixels.height() as usize],
        rgba: pixels.take(),
    })
}

/// Draws `svg` as a PNG file in memory, `scale` picture pixels per drawing pixel (above 0; 2 suits print).
///
/// # Errors
/// When the text is not SVG, or the picture would be empty or more than 16 384 px a side.
pub fn png_from_svg(svg: &str, scale: f32) -> Result<Vec<u8>, ReportError> {
    pixels_of(svg, scale)?
        .encode_png()
        .map_err(|error| ReportError::Encode {
            why: error.to_string(),
        })
}

fn pixels_of(svg: &str, scale: f32) -> Result<tiny_skia::Pixmap, ReportError> {
    if !(scale.is_finite() && scale > 0.0) {
        return Err(ReportError::Scale { scale });
    }
    let tree = usvg::Tree::from_str(svg, &options())?;
    let (width, height) = (tree.size().width() * scale, tree.size().height() * scale);
    let too_big = || ReportError::Size {
        width,
        height,
        limit: LIMIT_PX,
    };
    if !(width <= LIMIT_PX as f32 && height <= LIMIT_PX as f32) {
        return Err(too_big());
    }
    // Both are finite, above 0 and at most LIMIT_PX here, so the conversion keeps the value.
    let (columns, rows) = (width.ceil() as u32, height.ceil() as u32);
    let mut pixels = tiny_skia::Pixmap::new(columns, rows).ok_or_else(too_big)?;
    resvg::render(
        &tree,
        tiny_skia::Transform::from_scale(scale, scale),
        &mut pixels.as_mut(),
    );
    Ok(pixels)
}

/// Parser settings: bundled fonts, those for other scripts too, no files.
pub(super) fn options() -> usvg::Options<'static> {
    static FONTS: OnceLock<Arc<usvg::fontdb::Database>> = OnceLock::new();
    let fonts = FONTS.get_or_init(|| {
        let mut fonts = usvg::fontdb::Database::new();
        let own = [typeface::REGULAR_TTF, typeface::SEMI_BOLD_TTF];
        for data in own.into_iter().chain(super::pdf::FALLBACK) {
            fonts.load_font_source(usvg::fontdb::Source::Binary(Arc::new(data)));
        }
        fonts.set_serif_family(typeface::FAMILY);
        fonts.set_sans_serif_family(typeface::FAMILY);
        Arc::new(fonts)
    });
    usvg::Options {
        font_family: typeface::FAMILY.to_owned(),
        fontdb: Arc::clone(fonts),
        image_href_resolver: usvg::ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..usvg::Options::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pixel(png: &[u8], x: u32, y: u32) -> [u8; 4] {
        let picture = tiny_skia::Pixmap::decode_png(png).unwrap();
        let colour = picture.pixel(x, y).unwrap().demultiply();
        [colour.red(), colour.green(), colour.blue(), colour.alpha()]
    }

    /// 18 % grey in sRGB is 1.055 x 0.18^(1/2.4) - 0.055 = 0.4613, code 118 (IEC 61966-2-1).
    /// Tolerance 1 code; red and blue must not trade places.
    #[test]
    fn grey_red_and_blue_keep_their_codes() {
        let svg = r##"<svg xmlns="http://www.w3.org/2000/svg" width="30" height="10"><rect width="10" height="10" fill="#767676"/><rect x="10" width="10" height="10" fill="#ff0000"/><rect x="20" width="10" height="10" fill="#0000ff"/></svg>"##;
        let png = png_from_svg(svg, 2.0).unwrap();
        let grey = pixel(&png, 10, 10);
        assert!(
            grey[0].abs_diff(118) <= 1,
            "grey code {} is not 118",
            grey[0]
        );
        assert_eq!(grey[0], grey[1]);
        assert_eq!(pixel(&png, 30, 10), [255, 0, 0, 255]);
        assert_eq!(pixel(&png, 50, 10), [0, 0, 255, 255]);
    }

    #[test]
    fn text_is_drawn_with_the_bundled_typeface() {
        let svg = format!(
            r##"<svg xmlns="http://www.w3.org/2000/svg" width="60" height="20"><rect width="60" height="20" fill="#fff"/><text x="2" y="16" font-size="16" font-family="{}">Łódź</text></svg>"##,
            typeface::FAMILY_LIST
        );
        let png = png_from_svg(&svg, 1.0).unwrap();
        let picture = tiny_skia::Pixmap::decode_png(&png).unwrap();
        let dark = picture.pixels().iter().filter(|p| p.red() < 100).count();
        assert!(dark > 40, "only {dark} dark pixels");
    }

    #[test]
    fn bad_input_is_an_error() {
        assert!(matches!(
            png_from_svg("no svg", 1.0),
            Err(ReportError::Parse(_))
        ));
        let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="1200" height="800"/>"#;
        assert!(matches!(
            png_from_svg(svg, 0.0),
            Err(ReportError::Scale { .. })
        ));
        assert!(matches!(
            png_from_svg(svg, f32::NAN),
            Err(ReportError::Scale { .. })
        ));
        assert!(matches!(
            png_from_svg(svg, 100.0),
            Err(ReportError::Size { .. })
        ));
    }
}
