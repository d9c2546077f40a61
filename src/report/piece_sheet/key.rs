//! What stands around the piece: which side is seen, up, size, scale, materials and signs.

use glam::{Vec2, vec2};

use super::fit::Arrow;
use super::{Drawn, PieceSheet, arrow_paths, closed, pattern, tint};
use crate::report::number;
use crate::report::page::{MARGIN, WIDTH};
use crate::report::palette;
use crate::report::plan::scale_bar;
use crate::report::svg::{Anchor, ID_PREFIX, Lettering, Look, Svg};
use crate::report::typeface::{Weight, width_px, wrap};

/// Inch [m], exact.
const METRES_PER_INCH: f32 = 0.0254;
/// Left edge of the signs [px].
const SIGNS_X: f32 = 660.0;
/// Widest line of the key [px].
const KEY_WIDTH_PX: f32 = 440.0;
/// Distance of baselines in the key [px].
const LEADING_PX: f32 = 20.0;

/// Draws side, size and the sign for up; returns the y below [px].
pub(super) fn draw_head(svg: &mut Svg, sheet: &PieceSheet, top: f32) -> f32 {
    let y = top + 18.0;
    let seen = if sheet.from_back {
        "Seen from the BACK, for laying face down"
    } else {
        "Seen from the front"
    };
    svg.text(MARGIN, y, seen, Lettering::new(16.0).bold());
    let [w, h] = [sheet.width_m, sheet.height_m].map(|m| (m, m / METRES_PER_INCH));
    let words = format!(
        "{} · {} m × {} m ({} in × {} in)",
        tiles(sheet.tiles.len()),
        number::value(w.0),
        number::value(h.0),
        number::value(w.1),
        number::value(h.1)
    );
    let x = MARGIN + width_px(seen, 16.0, Weight::SemiBold) * 1.04 + 18.0;
    svg.text(x, y, &words, Lettering::new(16.0).colour(palette::INK_SOFT));
    let right = WIDTH - MARGIN - 8.0;
    let arrow = Arrow {
        middle: vec2(right, y - 6.0),
        dir: Vec2::NEG_Y,
        half_px: 14.0,
    };
    draw_arrow(svg, &arrow, 2.0);
    let look = Lettering::new(16.0).bold().anchor(Anchor::End);
    svg.text(right - 12.0, y, "up", look);
    y + 8.0
}

fn tiles(count: usize) -> String {
    let words = if count == 1 { "tile" } else { "tiles" };
    format!("{} {words}", number::count(count))
}

fn draw_arrow(svg: &mut Svg, arrow: &Arrow, width_px: f32) {
    let (line, head) = arrow_paths(arrow);
    svg.path(&line, Look::line(palette::INK, width_px));
    svg.path(&head, Look::fill(palette::INK));
}

/// Draws materials, scale and signs below the piece; returns the y below [px].
pub(super) fn draw_foot(
    svg: &mut Svg,
    sheet: &PieceSheet,
    drawn: &[Drawn],
    px_per_m: f32,
    top: f32,
) -> f32 {
    let mut y = top + 14.0;
    svg.text(MARGIN, y, "Materials", Lettering::new(14.0).bold());
    y += 26.0;
    let last = sheet.materials.len().saturating_sub(1);
    for (index, material) in sheet.materials.iter().enumerate() {
        let count = sheet.tiles.iter().filter(|t| t.material.min(last) == index);
        let count = count.count();
        if count == 0 {
            continue;
        }
        draw_swatch(svg, sheet, index, y - 13.0);
        let words = format!("{} · {}", material.name, tiles(count));
        let lines = wrap(&words, 14.0, Weight::Regular, KEY_WIDTH_PX);
        y = svg.lines(MARGIN + 54.0, y, &lines, LEADING_PX, Lettering::new(14.0)) + 4.0;
    }
    let mut signs_y = scale_bar(svg, SIGNS_X, top + 10.0, px_per_m) + 22.0;
    let arrow = Arrow {
        middle: vec2(SIGNS_X + 18.0, signs_y - 5.0),
        dir: Vec2::X,
        half_px: 16.0,
    };
    draw_arrow(svg, &arrow, 1.4);
    let x = SIGNS_X + 54.0;
    let mut sign = |svg: &mut Svg, words: &str| {
        let lines = wrap(words, 14.0, Weight::Regular, WIDTH - MARGIN - x);
        let at = signs_y;
        signs_y = svg.lines(x, signs_y, &lines, LEADING_PX, Lettering::new(14.0)) + 4.0;
        at
    };
    sign(
        svg,
        "grain arrow: along the fibres, the brushing or the ridges, head and tail as they must lie",
    );
    let leaning = drawn.iter().filter(|d| d.lean.is_some()).count();
    if leaning > 0 {
        let at = sign(
            svg,
            &format!("the face leans this way · {}", tiles(leaning)),
        );
        let tip = vec2(SIGNS_X + 26.0, at - 5.0);
        let wedge = [tip, tip + vec2(-8.0, 8.0), tip + vec2(-8.0, -8.0)];
        svg.path(&closed(&wedge), Look::fill(palette::ACCENT));
    }
    y.max(signs_y)
}

fn draw_swatch(svg: &mut Svg, sheet: &PieceSheet, index: usize, top: f32) {
    let (width, height) = (40.0, 18.0);
    let d = format!("M{MARGIN} {top}h{width}v{height}h-{width}Z");
    let (fill, line) = (tint(sheet, index), palette::INK_SOFT);
    svg.raw(&format!(
        r#"<path d="{d}" fill="{fill}" stroke="{line}" stroke-width="0.8"/>"#
    ));
    if pattern(index).is_some() {
        svg.raw(&format!(
            r#"<path d="{d}" fill="url(#{ID_PREFIX}m{index})" opacity="0.7"/>"#
        ));
    }
}
