//! Tiles written out in the file.

use glam::DVec2;

use super::build::Draft;
use super::check::check_tile_angles;
use super::error::{PieceProblem, Problems};
use super::grain::{radians, wrapped};
use super::overlap::find_overlaps;
use super::polygon::{Bounds, Polygon, cleaned, first_self_crossing, rectangle, signed_area_m2};
use super::spec::InlineTile;
use super::tiling::PieceNote;

/// Most corners of one tile written out.
const MAX_CORNERS: usize = 1000;
/// Smallest tile [m2].
pub(super) const LEAST_AREA_M2: f64 = 1e-6;
/// How far a tile may reach over the edge of the piece [m].
const EDGE_SLACK_M: f64 = 1e-4;

/// Drafts of all tiles; problems are added for those that cannot be.
pub(super) fn drafts(
    tiles: &[InlineTile],
    size_m: DVec2,
    problems: &mut Problems,
    notes: &mut Vec<PieceNote>,
) -> Vec<Draft> {
    let mut drafts = Vec::with_capacity(tiles.len());
    for (index, tile) in tiles.iter().enumerate() {
        let path = format!("layout.tiles[{index}]");
        check_tile_angles(
            &path,
            tile.grain_deg,
            tile.tilt_deg,
            tile.tilt_toward_deg,
            problems,
        );
        if tile.material.trim().is_empty() {
            problems.push(PieceProblem::EmptyName {
                path: format!("{path}.material"),
            });
        }
        let Some((outline_path, outline_m)) = outline_of(tile, &path, problems) else {
            continue;
        };
        if !is_good_outline(&outline_m, &outline_path, size_m, problems) {
            continue;
        }
        drafts.push(Draft {
            path,
            label: tile.label.clone(),
            outline_m,
            material: tile.material.clone(),
            grain_rad: Some(wrapped(radians(tile.grain_deg))),
            tilt_rad: radians(tile.tilt_deg),
            tilt_toward_rad: wrapped(radians(tile.tilt_toward_deg)),
        });
    }
    check_overlaps(&drafts, problems, notes);
    drafts
}

/// Adds a problem for each overlapping pair of drafts.
pub(super) fn check_overlaps(
    drafts: &[Draft],
    problems: &mut Problems,
    notes: &mut Vec<PieceNote>,
) {
    let outlines: Vec<Polygon> = drafts.iter().map(|d| d.outline_m.clone()).collect();
    let path_of = |i: usize| drafts.get(i).map(|d| d.path.clone()).unwrap_or_default();
    if !find_overlaps(&outlines, path_of, problems) {
        notes.push(PieceNote::OverlapsUnchecked);
    }
}

/// Where the outline stands and its corners.
fn outline_of(tile: &InlineTile, path: &str, problems: &mut Problems) -> Option<(String, Polygon)> {
    let point = |x: f32, y: f32| DVec2::new(f64::from(x), f64::from(y));
    match (tile.outline_m.is_empty(), tile.rect_m) {
        (true, Some((left, bottom, width, height))) => {
            let path = format!("{path}.rect_m");
            // Each is looked at, so that all problems are told.
            let mut is_good = true;
            for (value, low, high) in [
                (width, 0.001, 50.0),
                (height, 0.001, 50.0),
                (left, -50.0, 50.0),
                (bottom, -50.0, 50.0),
            ] {
                is_good &= problems.range(&path, value, low, high);
            }
            let low = point(left, bottom);
            is_good.then(|| (path, rectangle(low, low + point(width, height))))
        }
        (false, None) => {
            let path = format!("{path}.outline_m");
            if tile.outline_m.len() > MAX_CORNERS {
                problems.push(PieceProblem::TooMany {
                    path,
                    count: tile.outline_m.len(),
                    max: MAX_CORNERS,
                });
                return None;
            }
            for (k, (x, y)) in tile.outline_m.iter().enumerate() {
                for v in [*x, *y] {
                    if !problems.range(&format!("{path}[{k}]"), v, -50.0, 50.0) {
                        return None;
                    }
                }
            }
            let corners: Polygon = tile.outline_m.iter().map(|p| point(p.0, p.1)).collect();
            Some((path, cleaned(&corners)))
        }
        (is_empty, _) => {
            problems.push(PieceProblem::OutlineOrRect {
                path: path.to_owned(),
                has_both: !is_empty,
            });
            None
        }
    }
}

/// Whether an outline makes a tile on the piece; adds a problem if not.
pub(super) fn is_good_outline(
    outline_m: &[DVec2],
    path: &str,
    size_m: DVec2,
    problems: &mut Problems,
) -> bool {
    let path = || path.to_owned();
    if outline_m.len() < 3 {
        problems.push(PieceProblem::TooFewCorners {
            path: path(),
            count: outline_m.len(),
        });
        return false;
    }
    let area_m2 = signed_area_m2(outline_m);
    if let Some((first, second)) = first_self_crossing(outline_m) {
        problems.push(PieceProblem::SelfCrossing {
            path: path(),
            first,
            second,
        });
        return false;
    }
    if area_m2 < LEAST_AREA_M2 {
        problems.push(PieceProblem::NoArea {
            path: path(),
            area_mm2: area_m2 * 1e6,
        });
        return false;
    }
    let beyond = Bounds::of(outline_m);
    let by_m = (beyond.max_m - size_m / 2.0)
        .max(-beyond.min_m - size_m / 2.0)
        .max_element();
    if by_m > EDGE_SLACK_M {
        problems.push(PieceProblem::OutsidePiece {
            path: path(),
            by_mm: by_m * 1e3,
        });
        return false;
    }
    true
}
