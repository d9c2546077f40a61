//! Walks the resolved tree and gathers closed and open lines with their layer and colour.

use resvg::usvg::{self, Group, Node, Paint};

use super::error::{DrawingError, DrawingWarning};
use super::flatten::{Line, lines_of};
use super::page::Page;
use super::{Contour, Found, MAX_CORNERS, MAX_OUTLINE_CORNERS};
use crate::piece::clip::clip_convex;
use crate::piece::polygon::{Polygon, cleaned, edges, first_self_crossing, signed_area_m2};

/// Closed lines that enclose less are specks [m2].
const LEAST_AREA_M2: f64 = 1e-6;

/// All lines of the tree.
pub(super) fn collect(
    tree: &usvg::Tree,
    page: &Page,
    name: &str,
    warnings: &mut Vec<DrawingWarning>,
) -> Result<Found, DrawingError> {
    let mut walk = Walk {
        page,
        found: Found::default(),
        element: 0,
        corners: 0,
        largest: 0,
        counts: Counts::default(),
    };
    walk.group(tree.root(), "", &[]);
    if walk.corners > MAX_CORNERS {
        return Err(DrawingError::TooMany {
            name: name.to_owned(),
            what: "corners",
            count: walk.corners as u64,
            max: MAX_CORNERS as u64,
        });
    }
    let largest = walk.largest;
    if largest > MAX_OUTLINE_CORNERS {
        return Err(DrawingError::TooMany {
            name: name.to_owned(),
            what: "corners in one outline",
            count: largest as u64,
            max: MAX_OUTLINE_CORNERS as u64,
        });
    }
    let counts = walk.counts;
    for (count, warning) in [
        (
            counts.text,
            DrawingWarning::TextOrPictures { count: counts.text },
        ),
        (
            counts.invisible,
            DrawingWarning::Invisible {
                count: counts.invisible,
            },
        ),
        (
            counts.clips,
            DrawingWarning::ClipsIgnored {
                count: counts.clips,
            },
        ),
        (counts.far, DrawingWarning::FarAway { count: counts.far }),
        (
            counts.no_area,
            DrawingWarning::NoArea {
                count: counts.no_area,
            },
        ),
        (
            counts.crossing,
            DrawingWarning::SelfCrossing {
                count: counts.crossing,
            },
        ),
    ] {
        if count > 0 {
            warnings.push(warning);
        }
    }
    Ok(walk.found)
}

#[derive(Debug, Default)]
struct Counts {
    text: usize,
    invisible: usize,
    clips: usize,
    no_area: usize,
    far: usize,
    crossing: usize,
}

struct Walk<'a> {
    page: &'a Page,
    found: Found,
    element: usize,
    corners: usize,
    /// Most corners of one closed line.
    largest: usize,
    counts: Counts,
}

impl Walk<'_> {
    /// Walks a group; `windows` are convex clips from outside [m].
    fn group(&mut self, group: &Group, layer: &str, windows: &[Polygon]) {
        let layer = if group.id().is_empty() {
            layer
        } else {
            group.id()
        };
        let mut windows = windows.to_vec();
        if let Some(clip) = group.clip_path() {
            match self.window(clip, group) {
                Some(window) => windows.push(window),
                None => self.counts.clips += 1,
            }
        }
        for node in group.children() {
            if self.corners > MAX_CORNERS {
                return;
            }
            match node {
                Node::Group(inner) => self.group(inner, layer, &windows),
                Node::Path(path) => self.path(path, layer, &windows),
                Node::Image(_) | Node::Text(_) => self.counts.text += 1,
            }
        }
    }

    /// A clip that is one convex outline [m].
    fn window(&self, clip: &usvg::ClipPath, group: &Group) -> Option<Polygon> {
        let mut node = clip.root().children();
        let path = loop {
            match node {
                [Node::Path(path)] => break path,
                [Node::Group(inner)] if inner.clip_path().is_none() => node = inner.children(),
                _ => return None,
            }
        };
        if clip.clip_path().is_some() {
            return None;
        }
        // Transforms in a clip start at the clip, so the group's own comes first.
        let transform = group
            .abs_transform()
            .pre_concat(clip.transform())
            .pre_concat(path.abs_transform());
        let lines = lines_of(path.data(), transform, self.page);
        let [line] = lines.as_slice() else {
            return None;
        };
        if line.is_far {
            return None;
        }
        let window = cleaned(&line.points_m);
        let sides: Vec<glam::DVec2> = edges(&window).map(|(a, b)| b - a).collect();
        let is_convex = edges(&sides).all(|(side, next)| side.perp_dot(next) > -1e-9);
        (window.len() >= 3 && is_convex).then_some(window)
    }

    fn path(&mut self, path: &usvg::Path, layer: &str, windows: &[Polygon]) {
        if !path.is_visible() {
            self.counts.invisible += 1;
            return;
        }
        self.element += 1;
        let colour = path
            .fill()
            .map(usvg::Fill::paint)
            .or(path.stroke().map(usvg::Stroke::paint))
            .map(colour_of)
            .unwrap_or_default();
        let is_filled = path.fill().is_some();
        let is_even_odd = path
            .fill()
            .is_none_or(|fill| fill.rule() == usvg::FillRule::EvenOdd);
        for line in lines_of(path.data(), path.abs_transform(), self.page) {
            if line.is_far {
                self.counts.far += 1;
                continue;
            }
            self.corners += line.points_m.len();
            if self.corners > MAX_CORNERS {
                return;
            }
            // A fill closes its lines by itself.
            let is_outline = line.is_closed || (is_filled && encloses(&line));
            if !is_outline {
                self.found.open_lines.push(line.points_m);
                continue;
            }
            self.largest = self.largest.max(line.points_m.len());
            if self.largest > MAX_OUTLINE_CORNERS {
                return;
            }
            let is_ccw = signed_area_m2(&line.points_m) > 0.0;
            let mut pieces = vec![cleaned(&line.points_m)];
            for window in windows {
                pieces = pieces.iter().flat_map(|p| clip_convex(p, window)).collect();
            }
            for polygon_m in pieces {
                if polygon_m.len() < 3 || signed_area_m2(&polygon_m) < LEAST_AREA_M2 {
                    self.counts.no_area += 1;
                    continue;
                }
                if first_self_crossing(&polygon_m).is_some() {
                    self.counts.crossing += 1;
                }
                self.found.contours.push(Contour {
                    polygon_m,
                    is_ccw,
                    element: self.element,
                    is_even_odd,
                    id: path.id().to_owned(),
                    layer: layer.to_owned(),
                    colour: colour.clone(),
                    is_filled,
                });
            }
        }
    }
}

/// Whether a line that the drawing leaves open encloses an area when filled.
fn encloses(line: &Line) -> bool {
    line.points_m.len() >= 3 && signed_area_m2(&line.points_m).abs() >= LEAST_AREA_M2
}

fn colour_of(paint: &Paint) -> String {
    match paint {
        Paint::Color(c) => format!("#{:02x}{:02x}{:02x}", c.red, c.green, c.blue),
        Paint::LinearGradient(_) | Paint::RadialGradient(_) | Paint::Pattern(_) => String::new(),
    }
}
