//! The piece seen from the front: every tile with its number, material and grain arrow.
//!
//! Input: outlines in the plane of the piece [m], x right, y up, origin at its middle, angles
//! counter-clockwise from +x [rad]. Output: SVG text, 1200 px wide. Materials differ by tint and by a
//! pattern of dots, rings or crosses, so that they can be told apart without colours. Each tile carries
//! a title that a browser shows under the pointer.
//! Limits: where tiles are too small for numbers, only some are numbered, and a note says which; beyond
//! [`MOST_NUMBERED`] tiles only the ends of rows are.

#[cfg(test)]
pub(super) mod examples;
mod fit;
mod key;
mod numbers;
#[cfg(test)]
mod tests;

use std::fmt::Write as _;

use glam::Vec2;

use super::page::{self, MARGIN, WIDTH};
use super::plan::contains;
use super::svg::{ID_PREFIX, Svg, escape, num};
use super::{number, palette};
use fit::{Arrow, Shape};
use numbers::{Mode, Numbering};

/// Most tiles that carry numbers inside.
const MOST_NUMBERED: usize = 1500;
/// Greatest height of the piece on the page [px].
const MOST_HIGH_PX: f32 = 1100.0;
/// Space left and right of the piece for the numbers of the ends of rows [px].
const GUTTER_PX: f32 = 52.0;

/// Data of a sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PieceSheet {
    /// Title, for example the name of the room.
    pub title: String,
    /// How it is hung, and the like.
    pub subtitle: String,
    /// Width of the piece [m].
    pub width_m: f32,
    /// Height of the piece [m].
    pub height_m: f32,
    /// Tiles in the order of their numbers.
    pub tiles: Vec<SheetTile>,
    /// Materials by index.
    pub materials: Vec<SheetMaterial>,
    /// Whether it is drawn as seen from the back; outlines and arrows are given that way already.
    pub from_back: bool,
    /// Notes at the foot.
    pub footnote: String,
}

/// A tile.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetTile {
    /// Running number.
    pub id: u32,
    /// Corners [m].
    pub outline_m: Vec<Vec2>,
    /// Centroid [m].
    pub centroid_m: Vec2,
    /// Grain arrow [rad], 0 = right, counter-clockwise.
    pub grain_rad: f32,
    /// Index in [`PieceSheet::materials`].
    pub material: usize,
    /// Lean of the face out of the plane of the piece [rad].
    pub tilt_rad: f32,
    /// Direction in the plane that the face leans toward [rad].
    pub tilt_toward_rad: f32,
}

/// A material.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetMaterial {
    /// Name.
    pub name: String,
    /// Pale tint, sRGB; made paler where ink would be hard to read on it.
    pub colour_rgb: [u8; 3],
}

/// A tile on the page.
struct Drawn<'a> {
    tile: &'a SheetTile,
    shape: Shape,
    arrow: Arrow,
    /// Wedge toward the side that it leans to.
    lean: Option<[Vec2; 3]>,
}

/// Direction of an angle of the piece on the page, y down.
fn page_dir(angle_rad: f32) -> Vec2 {
    if angle_rad.is_finite() {
        Vec2::new(angle_rad.cos(), -angle_rad.sin())
    } else {
        Vec2::X
    }
}

/// The sheet as SVG text, 1200 px wide.
pub fn piece_sheet_svg(sheet: &PieceSheet) -> String {
    let mut svg = Svg::new();
    let top = page::header(&mut svg, &sheet.title, &sheet.subtitle) + 10.0;
    let top = key::draw_head(&mut svg, sheet, top) + 14.0;
    let half = Vec2::new(sheet.width_m, sheet.height_m) * 0.5;
    let mut corners: Vec<Vec2> = sheet
        .tiles
        .iter()
        .flat_map(|t| t.outline_m.iter().copied())
        .chain([half, -half])
        .filter(|p| p.is_finite())
        .collect();
    corners.push(corners.first().copied().unwrap_or(Vec2::ZERO));
    let (low, high) = fit::bounds(&corners);
    let size_m = (high - low).max(Vec2::splat(1e-4));
    let room_px = WIDTH - 2.0 * (MARGIN + GUTTER_PX);
    let px_per_m = (room_px / size_m.x).min(MOST_HIGH_PX / size_m.y);
    let left = 0.5 * (WIDTH - size_m.x * px_per_m);
    let px = |p: Vec2| {
        Vec2::new(
            left + (p.x - low.x) * px_per_m,
            top + (high.y - p.y) * px_per_m,
        )
    };
    let mut drawn: Vec<Drawn> = sheet
        .tiles
        .iter()
        .filter(|t| t.outline_m.len() > 2 && t.outline_m.iter().all(|p| p.is_finite()))
        .map(|tile| {
            let outline = tile.outline_m.iter().map(|p| px(*p)).collect();
            let mut shape = Shape::new(outline, px(tile.centroid_m));
            let arrow = shape.arrow(page_dir(tile.grain_rad));
            let leans = tile.tilt_rad.abs() > 1e-4;
            let lean = leans.then(|| lean_wedge(&shape, page_dir(tile.tilt_toward_rad)));
            shape.keep_off = lean.map(|wedge| {
                let (low, high) = fit::bounds(&wedge);
                (0.5 * (low + high), 0.5 * (high - low))
            });
            Drawn {
                tile,
                shape,
                arrow,
                lean,
            }
        })
        .collect();
    let numbering = Numbering::new(&mut drawn);
    draw_tiles(&mut svg, sheet, &drawn);
    if numbering.mode == Mode::Some {
        numbering.draw_frames(&mut svg, &drawn);
    }
    draw_arrows(&mut svg, &drawn);
    numbering.draw(&mut svg);
    let bottom = top + size_m.y * px_per_m + 34.0;
    let end = key::draw_foot(&mut svg, sheet, &drawn, px_per_m, bottom);
    let mut notes = numbering.notes();
    let left_out = sheet.tiles.len() - drawn.len();
    if left_out > 0 {
        notes.push(format!(
            "Tiles without an outline, not drawn: {}.",
            number::count(left_out)
        ));
    }
    notes.push(sheet.footnote.clone());
    let names = sheet.materials.iter().map(|m| m.name.as_str());
    let words = [&sheet.title, &sheet.subtitle, &sheet.footnote].map(String::as_str);
    notes.extend(page::missing_letters_note(words.into_iter().chain(names)));
    let height = page::footer(&mut svg, end + 16.0, &notes);
    svg.finish(WIDTH, height, &sheet.title, &sheet.subtitle)
}

/// Tint of a material as the SVG writes it: pale enough for ink at 7:1.
pub(super) fn tint(sheet: &PieceSheet, material: usize) -> String {
    let mut colour = sheet
        .materials
        .get(material)
        .map_or([255; 3], |m| m.colour_rgb);
    // Each step takes a tenth of the way to white, so this ends.
    while palette::contrast(palette::rgb(palette::INK), colour) < 7.0 {
        colour = colour.map(|c| c + (255 - c).div_ceil(10));
    }
    let [r, g, b] = colour;
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// The marks of a material's pattern, drawn in a square of 10 px; the first material has none.
fn pattern(material: usize) -> Option<String> {
    let ink = palette::INK_SOFT;
    let marks = match material {
        0 => return None,
        m => match m % 5 {
            1 => format!(r#"<circle cx="5" cy="5" r="1" fill="{ink}"/>"#),
            2 => format!(
                r#"<circle cx="5" cy="5" r="1.7" fill="none" stroke="{ink}" stroke-width="0.7"/>"#
            ),
            3 => format!(r#"<path d="M3 5H7M5 3V7" stroke="{ink}" stroke-width="0.8"/>"#),
            4 => format!(
                r#"<path d="M3.5 3.5L6.5 6.5M3.5 6.5L6.5 3.5" stroke="{ink}" stroke-width="0.8"/>"#
            ),
            _ => format!(r#"<rect x="3.8" y="3.8" width="2.4" height="2.4" fill="{ink}"/>"#),
        },
    };
    Some(format!(
        r#"<pattern id="{ID_PREFIX}m{material}" width="10" height="10" patternUnits="userSpaceOnUse">{marks}</pattern>"#
    ))
}

fn closed(outline: &[Vec2]) -> String {
    let mut d = String::new();
    for (index, p) in outline.iter().enumerate() {
        let _ = write!(
            d,
            "{}{} {}",
            if index == 0 { 'M' } else { 'L' },
            num(p.x),
            num(p.y)
        );
    }
    d.push('Z');
    d
}

/// Line width for a tile of this size [px].
fn line_px(cell_px: f32) -> f32 {
    (0.03 * cell_px).clamp(0.3, 0.9)
}

fn draw_tiles(svg: &mut Svg, sheet: &PieceSheet, drawn: &[Drawn]) {
    for index in 0..sheet.materials.len().max(1) {
        let last = index + 1 >= sheet.materials.len();
        let of: Vec<&Drawn> = drawn
            .iter()
            .filter(|d| d.tile.material == index || (last && d.tile.material > index))
            .collect();
        if of.is_empty() {
            continue;
        }
        let tint = tint(sheet, index);
        let width = line_px(median(of.iter().map(|d| d.shape.cell_px)));
        svg.raw(&format!(
            r#"<g fill="{tint}" stroke="{}" stroke-width="{}" stroke-linejoin="round">"#,
            palette::INK_SOFT,
            num(width)
        ));
        for d in &of {
            svg.raw(&format!(
                r#"<path d="{}"><title>{}</title></path>"#,
                closed(&d.shape.outline),
                escape(&tile_words(d))
            ));
        }
        svg.raw("</g>");
        if let Some(pattern) = pattern(index) {
            svg.define(&pattern);
            let all: String = of.iter().map(|d| closed(&d.shape.outline)).collect();
            svg.raw(&format!(
                r#"<path d="{all}" fill="url(#{ID_PREFIX}m{index})" pointer-events="none" opacity="0.7"/>"#
            ));
        }
    }
}

/// What the pointer finds on a tile.
fn tile_words(d: &Drawn) -> String {
    let degrees = |rad: f32| {
        let whole = rad.to_degrees().round();
        if whole.is_finite() {
            whole.rem_euclid(360.0)
        } else {
            0.0
        }
    };
    let mut words = format!("tile {}, grain {}°", d.tile.id, degrees(d.tile.grain_rad));
    if d.lean.is_some() {
        let _ = write!(
            words,
            ", leans {:.1}° toward {}°",
            d.tile.tilt_rad.to_degrees(),
            degrees(d.tile.tilt_toward_rad)
        );
    }
    words
}

/// Line and head of an arrow as path data.
fn arrow_paths(arrow: &Arrow) -> (String, String) {
    let tip = arrow.middle + arrow.dir * arrow.half_px;
    let tail = arrow.middle - arrow.dir * arrow.half_px;
    let head = (0.9 * arrow.half_px).min(4.5 + 0.12 * arrow.half_px);
    let neck = tip - arrow.dir * head;
    let side = arrow.dir.perp() * (0.46 * head);
    let line = format!(
        "M{} {}L{} {}",
        num(tail.x),
        num(tail.y),
        num(neck.x),
        num(neck.y)
    );
    (line, closed(&[tip, neck + side, neck - side]))
}

fn draw_arrows(svg: &mut Svg, drawn: &[Drawn]) {
    let (mut lines, mut heads, mut leans) = (String::new(), String::new(), String::new());
    for d in drawn {
        let (line, head) = arrow_paths(&d.arrow);
        lines.push_str(&line);
        heads.push_str(&head);
        if let Some(wedge) = &d.lean {
            leans.push_str(&closed(wedge));
        }
    }
    let width = (0.045 * median(drawn.iter().map(|d| d.shape.cell_px))).clamp(0.5, 1.6);
    let (ink, accent) = (palette::INK, palette::ACCENT);
    svg.raw(r#"<g pointer-events="none">"#);
    svg.raw(&format!(
        r#"<path d="{lines}" fill="none" stroke="{ink}" stroke-width="{}"/>"#,
        num(width)
    ));
    svg.raw(&format!(r#"<path d="{heads}" fill="{ink}"/>"#));
    if !leans.is_empty() {
        svg.raw(&format!(r#"<path d="{leans}" fill="{accent}"/>"#));
    }
    svg.raw("</g>");
}

/// A wedge inside the outline, near the side that a tile leans to.
fn lean_wedge(shape: &Shape, toward: Vec2) -> [Vec2; 3] {
    let room = fit::clearance(&shape.outline, shape.anchor);
    let size = (0.1 * shape.cell_px).min(0.5 * room).clamp(1.5, 8.0);
    let wedge = |far: f32| {
        let tip = shape.anchor + toward * far;
        let back = tip - toward * size;
        let side = toward.perp() * (0.8 * size);
        [tip, back + side, back - side]
    };
    let most = (shape.reach(toward) - 1.0).max(0.0);
    let inside = |w: &[Vec2; 3]| w.iter().all(|p| contains(&shape.outline, *p));
    // Near a corner it moves toward the middle until its back lies inside.
    let places = [1.0, 0.85, 0.7, 0.55, 0.4].map(|share| wedge(share * most));
    places
        .into_iter()
        .find(inside)
        .unwrap_or_else(|| wedge(most))
}

/// Middle value; 0 of none.
fn median(values: impl Iterator<Item = f32>) -> f32 {
    let mut values: Vec<f32> = values.collect();
    values.sort_by(f32::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}
