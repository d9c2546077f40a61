//! Drawings (SVG) to closed outlines in metres.
//!
//! The text is looked at before anything is expanded (`precheck`); then `usvg` resolves styles,
//! uses, nested views and transforms, and its paths are flattened to chords within 0.1 mm. What is
//! filled, and what is stroked and closed, becomes an outline; contours inside others become holes,
//! inlays or are told as frames; the same outline twice counts once. With `close_lines`, all lines
//! that are only stroked are joined and what they enclose becomes outlines.
//!
//! Result: metres, x to the right, y UP, origin at the centre of the page, seen from the front.
//! Without a view box the user unit is 1/96 inch (CSS Values and Units Level 4, section 6.2).
//! Limits: text, pictures, masks and filters are ignored; clips only where they are convex; no
//! external files are followed; SVGZ is refused.

mod collect;
mod error;
mod faces;
mod flatten;
mod nest;
mod numbers;
mod page;
mod precheck;

use glam::{DVec2, Vec2};
use resvg::usvg;

pub use error::{DrawingError, DrawingWarning};
pub use precheck::{MAX_DRAWING_BYTES, MAX_ELEMENTS, MAX_NESTING};

use super::polygon::Polygon;

/// Curves stay within this of their chords [m].
pub const FLATTEN_TOLERANCE_M: f64 = 1e-4;
/// Ends nearer than this meet [m].
pub const JOIN_TOLERANCE_M: f64 = 2e-4;
/// Most corners of all outlines together.
pub const MAX_CORNERS: usize = 400_000;

/// Most corners of one outline.
pub const MAX_OUTLINE_CORNERS: usize = 20_000;

/// How to read a drawing.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct DrawingOptions {
    /// Width of the whole page [m]; replaces the drawing's own size.
    pub width_m: Option<f32>,
    /// Join all lines that are only stroked and make outlines of what they enclose; without an
    /// open line among them nothing changes.
    pub close_lines: bool,
}

/// One closed outline of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Corners [m], counter-clockwise seen from the front.
    pub polygon_m: Vec<Vec2>,
    /// Holes [m], counter-clockwise.
    pub holes_m: Vec<Vec<Vec2>>,
    /// Id of the element, often empty.
    pub id: String,
    /// Id of the innermost named group, often empty.
    pub layer: String,
    /// Fill colour such as `#a05a2c`, else the stroke's colour, else empty (patterns, gradients).
    pub colour: String,
    /// Whether the outline is filled in the drawing.
    pub is_filled: bool,
}

impl Outline {
    /// Area without the holes [m2].
    pub fn area_m2(&self) -> f64 {
        let area = |p: &[Vec2]| {
            let polygon: Polygon = p.iter().map(|v| v.as_dvec2()).collect();
            super::polygon::signed_area_m2(&polygon).abs()
        };
        area(&self.polygon_m) - self.holes_m.iter().map(|h| area(h)).sum::<f64>()
    }
}

/// A drawing as outlines.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Outlines in the order of the drawing, those from joined lines last.
    pub outlines: Vec<Outline>,
    /// Width of the page [m].
    pub width_m: f32,
    /// Height of the page [m].
    pub height_m: f32,
    /// What a person should know.
    pub warnings: Vec<DrawingWarning>,
}

/// Reads the closed outlines of an SVG drawing.
///
/// `name` is used in messages.
///
/// # Errors
/// Text that is not SVG, is too large, too deep or expands without end, or that has no size in
/// metres while none is given.
pub fn read_drawing(
    bytes: &[u8],
    name: &str,
    options: &DrawingOptions,
) -> Result<Drawing, DrawingError> {
    if let Some(width_m) = options.width_m.filter(|w| !(0.001..=100.0).contains(w)) {
        return Err(DrawingError::WidthOption { width_m });
    }
    let text = precheck::text_of(bytes, name)?;
    let document = precheck::parse(text, name)?;
    precheck::check_expansion(&document, name)?;
    numbers::check_numbers(&document, name)?;
    let tree = resolve(&document, name)?;
    let mut warnings = Vec::new();
    let page = page::page_of(&document, tree.size(), options, name, &mut warnings)?;
    let mut found = collect::collect(&tree, &page, name, &mut warnings)?;
    if options.close_lines {
        close_lines(&mut found, name, &mut warnings)?;
    } else if !found.open_lines.is_empty() {
        warnings.push(DrawingWarning::OpenLines {
            count: found.open_lines.len(),
        });
    }
    let outlines = nest::outlines(found.contours, &page, name, &mut warnings)?;
    Ok(Drawing {
        outlines,
        width_m: page.size_m.x as f32,
        height_m: page.size_m.y as f32,
        warnings,
    })
}

/// The tree with styles, uses, views and transforms resolved.
fn resolve(
    document: &usvg::roxmltree::Document<'_>,
    name: &str,
) -> Result<usvg::Tree, DrawingError> {
    // The reader panics on a few absurd drawings (gradients on boxes that overflow single
    // precision); it shares nothing with us, so nothing can be left half done.
    let read = || usvg::Tree::from_xmltree(document, &usvg_options());
    match std::panic::catch_unwind(std::panic::AssertUnwindSafe(read)) {
        Ok(Ok(tree)) => Ok(tree),
        Ok(Err(error)) => Err(DrawingError::Unreadable {
            name: name.to_owned(),
            why: error.to_string(),
        }),
        Err(_) => Err(DrawingError::Absurd {
            name: name.to_owned(),
        }),
    }
}

/// Replaces all lines that are only stroked, open or closed, by the outlines they enclose.
fn close_lines(
    found: &mut Found,
    name: &str,
    warnings: &mut Vec<DrawingWarning>,
) -> Result<(), DrawingError> {
    let mut lines = std::mem::take(&mut found.open_lines);
    if lines.is_empty() {
        return Ok(());
    }
    found.contours.retain(|contour| {
        if !contour.is_filled {
            let mut line = contour.polygon_m.clone();
            line.extend(contour.polygon_m.first());
            lines.push(line);
        }
        contour.is_filled
    });
    let enclosed = faces::faces(&lines, name)?;
    warnings.push(DrawingWarning::LinesClosed {
        lines: lines.len(),
        outlines: enclosed.len(),
    });
    found.contours.extend(enclosed);
    Ok(())
}

/// No fonts, no files, and nothing that is only for looks.
fn usvg_options() -> usvg::Options<'static> {
    let looks = "* { filter: none !important; mask: none !important; \
                 stroke-dasharray: none !important; marker-start: none !important; \
                 marker-mid: none !important; marker-end: none !important } \
                 text, image { display: none !important }";
    usvg::Options {
        image_href_resolver: usvg::ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        style_sheet: Some(looks.to_owned()),
        ..usvg::Options::default()
    }
}

/// A closed line of the drawing before nesting is resolved.
#[derive(Debug, Clone)]
pub(crate) struct Contour {
    /// Corners [m], counter-clockwise.
    pub polygon_m: Polygon,
    /// Whether the drawing runs counter-clockwise too (seen from the front).
    pub is_ccw: bool,
    /// Running number of the element; contours of one element belong together.
    pub element: usize,
    /// Whether overlapping contours of the element alternate (even-odd rule, or stroke only).
    pub is_even_odd: bool,
    pub id: String,
    pub layer: String,
    pub colour: String,
    pub is_filled: bool,
}

/// What the tree holds.
#[derive(Debug, Default)]
pub(crate) struct Found {
    pub contours: Vec<Contour>,
    /// Open lines [m].
    pub open_lines: Vec<Vec<DVec2>>,
}
