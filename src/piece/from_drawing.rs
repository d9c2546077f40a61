//! Tiles from the outlines of a drawing.

use glam::DVec2;

use super::build::Draft;
use super::drawing::Drawing;
use super::error::{PieceProblem, Problems};
use super::grain::{GrainPlace, GrainRule};
use super::inline::{check_overlaps, is_good_outline};
use super::material_rule::{MaterialPlace, MaterialRule};
use super::polygon::{Polygon, bridged, centroid_m};
use super::tiling::{MAX_TILES, PieceNote};
use super::tilt::TiltRule;

/// The rules and the place of a drawing on a piece.
pub(super) struct DrawingRules<'a> {
    pub grain: &'a GrainRule,
    pub tilt: TiltRule,
    pub material: &'a MaterialRule,
    /// Where the drawing's centre lies [m].
    pub offset_m: DVec2,
    /// Size of the piece [m].
    pub size_m: DVec2,
}

/// Drafts of all outlines; problems are added for those that cannot be tiles.
pub(super) fn drafts(
    drawing: &Drawing,
    rules: &DrawingRules<'_>,
    problems: &mut Problems,
    notes: &mut Vec<PieceNote>,
) -> Vec<Draft> {
    if drawing.outlines.is_empty() {
        problems.push(PieceProblem::NoTiles {
            path: "layout.file".to_owned(),
        });
    }
    if drawing.outlines.len() > MAX_TILES {
        problems.push(PieceProblem::TooMany {
            path: "layout.file".to_owned(),
            count: drawing.outlines.len(),
            max: MAX_TILES,
        });
        return Vec::new();
    }
    let last = i64::try_from(drawing.outlines.len()).unwrap_or(i64::MAX) - 1;
    let mut drafts = Vec::with_capacity(drawing.outlines.len());
    for (index, outline) in (0_i64..).zip(&drawing.outlines) {
        let moved = |polygon: &[glam::Vec2]| -> Polygon {
            polygon
                .iter()
                .map(|p| p.as_dvec2() + rules.offset_m)
                .collect()
        };
        let path = if outline.id.is_empty() {
            format!("layout.file outline {}", index + 1)
        } else {
            format!("layout.file outline {} ({:?})", index + 1, outline.id)
        };
        let rim = moved(&outline.polygon_m);
        if !is_good_outline(&rim, &path, rules.size_m, problems) {
            continue;
        }
        let holes: Vec<Polygon> = outline.holes_m.iter().map(|h| moved(h)).collect();
        let outline_m = if holes.is_empty() {
            rim
        } else {
            bridged(&rim, &holes)
        };
        let place = GrainPlace {
            centroid_m: centroid_m(&outline_m),
            centre_m: DVec2::ZERO,
            piece_m: rules.size_m,
            row: 0,
            row_range: (0, 0),
            column: index,
            column_range: (0, last),
            index,
            natural_rad: 0.0,
            colour: &outline.colour,
        };
        let grain_rad = rules.grain.arrow_rad(&place);
        let (tilt_rad, tilt_toward_rad) = rules.tilt.tilt_rad(grain_rad.unwrap_or(0.0), 0, index);
        let material = rules.material.name(&MaterialPlace {
            row: 0,
            column: index,
            index,
            colour: &outline.colour,
            layer: &outline.layer,
        });
        drafts.push(Draft {
            path,
            label: outline.id.clone(),
            outline_m,
            material: material.unwrap_or_default().to_owned(),
            grain_rad,
            tilt_rad,
            tilt_toward_rad,
        });
    }
    check_overlaps(&drafts, problems, notes);
    drafts
}
