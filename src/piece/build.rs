//! [`PieceSpec`] to [`Tiling`]: cells cut to the piece, joints, arrows, materials, numbers.

use glam::DVec2;

use super::check::check;
use super::clip::{clip_convex, narrowed};
use super::drawing::{DrawingOptions, read_drawing};
use super::error::{PieceError, PieceProblem, Problems};
use super::from_drawing::{self, DrawingRules};
use super::grain::{GrainPlace, GrainRule};
use super::inline::{self, LEAST_AREA_M2};
use super::layout::{Cell, cells, piece_rectangle};
use super::material_rule::{MaterialPlace, MaterialRule};
use super::polygon::{Bounds, Polygon, centroid_m, signed_area_m2};
use super::reading_order::reading_order;
use super::spec::{Layout, PieceSpec};
use super::tiling::{Frame, MAX_TILES, PieceNote, Tile, Tiling};
use super::tilt::TiltRule;

/// A tile before it has a number.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    /// Where it comes from, for messages.
    pub path: String,
    pub label: String,
    pub outline_m: Polygon,
    pub material: String,
    /// `None` where the rule has no direction.
    pub grain_rad: Option<f64>,
    pub tilt_rad: f64,
    pub tilt_toward_rad: f64,
}

impl PieceSpec {
    /// Checks the piece and cuts it into tiles.
    ///
    /// `load_drawing` fetches the bytes of a drawing by the name in the file; it is called at most
    /// once and only for a [`Layout::Drawing`].
    ///
    /// # Errors
    /// [`PieceError::Problems`] with everything found, or why a drawing cannot be used.
    pub fn tiling(
        &self,
        load_drawing: &mut dyn FnMut(&str) -> Result<Vec<u8>, std::io::Error>,
    ) -> Result<Tiling, PieceError> {
        check(self).into_result(&self.name)?;
        let size_m = DVec2::new(f64::from(self.width_m), f64::from(self.height_m));
        let mut problems = Problems::default();
        let mut notes = Vec::new();
        let (drafts, keeps_order) = match &self.layout {
            Layout::Tiles(tiles) => {
                let drafts = inline::drafts(tiles, size_m, &mut problems, &mut notes);
                (drafts, true)
            }
            Layout::Drawing {
                file,
                width_m,
                offset_m,
                close_lines,
                grain,
                tilt,
                material,
            } => {
                let bytes = load_drawing(file).map_err(|source| PieceError::Load {
                    file: file.clone(),
                    source,
                })?;
                let options = DrawingOptions {
                    width_m: *width_m,
                    close_lines: *close_lines,
                };
                let drawing =
                    read_drawing(&bytes, file, &options).map_err(|source| PieceError::Drawing {
                        file: file.clone(),
                        source,
                    })?;
                notes.extend(drawing.warnings.iter().cloned().map(PieceNote::Drawing));
                let rules = DrawingRules {
                    grain,
                    tilt: *tilt,
                    material,
                    offset_m: DVec2::new(f64::from(offset_m.0), f64::from(offset_m.1)),
                    size_m,
                };
                let drafts = from_drawing::drafts(&drawing, &rules, &mut problems, &mut notes);
                (drafts, false)
            }
            layout => {
                let joint_m = f64::from(self.joint_mm) / 1e3;
                let cut = cut_cells(cells(layout, size_m), size_m, joint_m, &mut notes);
                let drafts = match layout.rules() {
                    Some((grain, tilt, material)) => {
                        dressed(&cut, layout.centre_m(), size_m, &(grain, tilt, material))
                    }
                    None => Vec::new(),
                };
                (drafts, false)
            }
        };
        if problems.is_empty() {
            if drafts.is_empty() {
                problems.push(PieceProblem::NoTiles {
                    path: "layout".to_owned(),
                });
            }
            if drafts.len() > MAX_TILES {
                problems.push(PieceProblem::TooMany {
                    path: format!("layout ({})", self.layout.word()),
                    count: drafts.len(),
                    max: MAX_TILES,
                });
            }
        }
        problems.into_result(&self.name)?;
        Ok(self.numbered(drafts, keeps_order, notes))
    }

    /// The tiling of drafts, in reading order unless they keep their own.
    fn numbered(&self, drafts: Vec<Draft>, keeps_order: bool, mut notes: Vec<PieceNote>) -> Tiling {
        let order: Vec<usize> = if keeps_order {
            (0..drafts.len()).collect()
        } else {
            let centroids: Vec<DVec2> = drafts.iter().map(|d| centroid_m(&d.outline_m)).collect();
            let heights: Vec<f64> = drafts
                .iter()
                .map(|d| Bounds::of(&d.outline_m).size_m().y)
                .collect();
            reading_order(&centroids, &heights)
        };
        let mut materials: Vec<String> = Vec::new();
        let mut tiles = Vec::with_capacity(drafts.len());
        for (id, draft) in (1_u32..).zip(order.iter().filter_map(|&i| drafts.get(i))) {
            let known = materials.iter().position(|m| *m == draft.material);
            let material = known.unwrap_or_else(|| {
                materials.push(draft.material.clone());
                materials.len() - 1
            });
            if draft.grain_rad.is_none() {
                notes.push(PieceNote::GrainUndefined { tile: id });
            }
            tiles.push(Tile {
                id,
                label: draft.label.clone(),
                outline_m: draft.outline_m.iter().map(|p| p.as_vec2()).collect(),
                centroid_m: centroid_m(&draft.outline_m).as_vec2(),
                area_m2: signed_area_m2(&draft.outline_m) as f32,
                material,
                grain_rad: draft.grain_rad.unwrap_or(0.0) as f32,
                tilt_rad: draft.tilt_rad as f32,
                tilt_toward_rad: draft.tilt_toward_rad as f32,
            });
        }
        Tiling {
            name: self.name.clone(),
            width_m: self.width_m,
            height_m: self.height_m,
            tiles,
            materials,
            thickness_m: self.thickness_mm / 1e3,
            joint_m: self.joint_mm / 1e3,
            frame: self.frame.map(|f| Frame {
                width_m: f.width_mm / 1e3,
                depth_m: f.depth_mm / 1e3,
            }),
            notes,
        }
    }
}

/// Cells cut to the piece, half a joint taken off along inner edges; edges on the rim stay.
fn cut_cells(
    cells: Vec<Cell>,
    size_m: DVec2,
    joint_m: f64,
    notes: &mut Vec<PieceNote>,
) -> Vec<Cell> {
    let window = piece_rectangle(size_m);
    let half = size_m / 2.0;
    let on_rim = |a: DVec2, b: DVec2| {
        let at = |v: f64, w: f64, edge: f64| (v - edge).abs() < 1e-9 && (w - edge).abs() < 1e-9;
        at(a.x, b.x, half.x)
            || at(a.x, b.x, -half.x)
            || at(a.y, b.y, half.y)
            || at(a.y, b.y, -half.y)
    };
    let inset_m = |a: DVec2, b: DVec2| if on_rim(a, b) { 0.0 } else { joint_m / 2.0 };
    let mut cut = Vec::with_capacity(cells.len());
    let (mut lost, mut lost_m2) = (0, 0.0);
    for cell in cells {
        for piece in clip_convex(&cell.outline_m, &window) {
            let piece_m2 = signed_area_m2(&piece);
            let outline_m = if joint_m > 0.0 {
                narrowed(&piece, inset_m)
            } else {
                Some(piece)
            };
            match outline_m {
                Some(outline_m) if signed_area_m2(&outline_m) >= LEAST_AREA_M2 => {
                    cut.push(Cell { outline_m, ..cell });
                }
                // Touching by rounding only is not worth a word.
                _ if piece_m2 < 1e-12 => {}
                _ => {
                    lost += 1;
                    lost_m2 += piece_m2;
                }
            }
        }
    }
    if lost > 0 {
        notes.push(PieceNote::SliversLeftOut {
            count: lost,
            area_mm2: lost_m2 * 1e6,
        });
    }
    cut
}

/// Cells with arrow, tilt and material.
fn dressed(
    cut: &[Cell],
    centre_m: DVec2,
    size_m: DVec2,
    (grain, tilt, material): &(GrainRule, TiltRule, &MaterialRule),
) -> Vec<Draft> {
    let range = |of: fn(&Cell) -> i64| {
        let all = || cut.iter().map(of);
        (all().min().unwrap_or(0), all().max().unwrap_or(0))
    };
    let (row_range, column_range) = (range(|c| c.row), range(|c| c.column));
    (0_i64..)
        .zip(cut)
        .map(|(index, cell)| {
            let grain_rad = grain.arrow_rad(&GrainPlace {
                centroid_m: centroid_m(&cell.outline_m),
                centre_m,
                piece_m: size_m,
                row: cell.row,
                row_range,
                column: cell.column,
                column_range,
                index,
                natural_rad: cell.natural_rad,
                colour: "",
            });
            let (tilt_rad, tilt_toward_rad) =
                tilt.tilt_rad(grain_rad.unwrap_or(0.0), cell.row, cell.column);
            let name = material.name(&MaterialPlace {
                row: cell.row,
                column: cell.column,
                index,
                colour: "",
                layer: "",
            });
            Draft {
                path: format!("layout tile {}", index + 1),
                label: String::new(),
                outline_m: cell.outline_m.clone(),
                material: name.unwrap_or_default().to_owned(),
                grain_rad,
                tilt_rad,
                tilt_toward_rad,
            }
        })
        .collect()
}
