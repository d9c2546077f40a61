//! Sun on the surfaces as sharp outlines.
//!
//! Each lit side is cut to what panes and open holes let through along the sun's direction, and the shadows
//! of everything opaque are cut out of it; all with convex polygons (I. E. Sutherland and G. W. Hodgman,
//! "Reentrant polygon clipping", 1974). The transmittance of each piece is the engine's own, by a ray from its
//! middle, so that the outlines carry the light that the patches carry. Limits: the sun is a point here
//! (its half shadow, about 1 cm a metre of distance, is not drawn); one transmittance a piece.

use glam::{Vec2, Vec3};
use rayon::prelude::*;

use crate::{
    geometry::{Frame, Polygon, cross, polygon_area_m2},
    transport::{LightState, RoomLight},
};

/// Pieces smaller than this are left out [m2].
const LEAST_M2: f32 = 1e-5;
/// What stands nearer than this to the lit plane throws no shadow on it [m].
const CLEAR_M: f32 = 2e-3;
/// Pieces of one triangle after which no more shadows are cut out of it: a hedge of slats is drawn whole.
const MOST_PIECES: usize = 400;

/// A convex patch of sun on a surface.
#[derive(Clone, Debug, PartialEq)]
pub struct SunPatch {
    /// Index of the surface.
    pub surface: usize,
    /// Corners in the surface's frame [m], counter-clockwise.
    pub outline_m: Vec<Vec2>,
    /// Illuminance by the sun alone [lx].
    pub illuminance_lx: f32,
}

impl SunPatch {
    /// Area [m2].
    pub fn area_m2(&self) -> f32 {
        polygon_area_m2(&self.outline_m)
    }
}

/// All patches of sun on the fronts of surfaces; none when the sun is down.
pub fn sun_patches(room: &RoomLight, state: &LightState) -> Vec<SunPatch> {
    let Some(sun_dir) = state.strengths.sun_dir else {
        return Vec::new();
    };
    let scene = room.scene();
    let opaque: Vec<&Polygon> = scene.surfaces.iter().map(|s| &s.polygon).collect();
    let panes: Vec<&Polygon> = scene.panes.iter().map(|p| &p.polygon).collect();
    let lit: Vec<usize> = (0..scene.surfaces.len())
        .filter(|i| {
            let surface = &scene.surfaces[*i];
            surface.reflectance > 0.0 && surface.polygon.normal().dot(sun_dir) > 1e-3
        })
        .collect();
    lit.into_par_iter()
        .flat_map_iter(|surface| {
            let plane = Plane {
                frame: *opaque[surface].frame(),
                sun_dir,
            };
            let cos = plane.frame.z_dir.dot(sun_dir);
            let normal_lx = state.strengths.sun_normal_illuminance_lx;
            plane
                .lit_pieces(
                    opaque[surface],
                    &opaque,
                    &panes,
                    scene.surfaces[surface].indoors,
                )
                .into_iter()
                .filter_map(move |outline_m| {
                    let middle = outline_m.iter().sum::<Vec2>() / outline_m.len() as f32;
                    let point = plane.frame.point(middle.x, middle.y) + plane.frame.z_dir * 1e-3;
                    let through = room.sun_transmission(point, sun_dir);
                    (through > 0.0).then_some(SunPatch {
                        surface,
                        outline_m,
                        illuminance_lx: normal_lx * cos * through,
                    })
                })
        })
        .collect()
}

/// The plane of a lit surface and the direction to the sun.
#[derive(Clone, Copy)]
struct Plane {
    frame: Frame,
    sun_dir: Vec3,
}

impl Plane {
    /// Convex pieces of the surface that the sun reaches.
    fn lit_pieces(
        &self,
        surface: &Polygon,
        opaque: &[&Polygon],
        panes: &[&Polygon],
        indoors: bool,
    ) -> Vec<Vec<Vec2>> {
        let mut pieces: Vec<Vec<Vec2>> = Vec::new();
        for triangle in surface.triangles_m() {
            // Outside, the open sky counts too; inside, only what comes through panes.
            if !indoors {
                pieces.push(triangle.to_vec());
                continue;
            }
            for pane in panes {
                for through in self.shadows(pane) {
                    let piece = intersection(triangle, &through);
                    if is_worth_keeping(&piece) {
                        pieces.push(piece);
                    }
                }
            }
        }
        if pieces.is_empty() {
            return pieces;
        }
        for polygon in opaque {
            if std::ptr::eq(*polygon, surface) {
                continue;
            }
            for shadow in self.shadows(polygon) {
                if pieces.len() > MOST_PIECES {
                    return pieces;
                }
                let (low, high) = bounds(&shadow);
                let mut kept = Vec::with_capacity(pieces.len());
                for piece in pieces {
                    let (a, b) = bounds(&piece);
                    if a.cmpge(high).any() || b.cmple(low).any() {
                        kept.push(piece);
                    } else {
                        subtract(piece, &shadow, &mut kept);
                    }
                }
                pieces = kept;
            }
        }
        pieces
    }

    /// What a polygon covers of the plane as seen from the sun: convex outlines, counter-clockwise.
    fn shadows(&self, polygon: &Polygon) -> Vec<Vec<Vec2>> {
        polygon
            .triangles_m()
            .iter()
            .filter_map(|triangle| {
                let world = triangle.map(|p| polygon.frame().point(p.x, p.y));
                let above = self.part_above(&world);
                if above.len() < 3 {
                    return None;
                }
                let cos = self.frame.z_dir.dot(self.sun_dir);
                let mut flat: Vec<Vec2> = above
                    .iter()
                    .map(|p| {
                        let d = *p - self.frame.origin;
                        let q = d - self.sun_dir * (d.dot(self.frame.z_dir) / cos);
                        Vec2::new(q.dot(self.frame.x_dir), q.dot(self.frame.y_dir))
                    })
                    .collect();
                if polygon_area_m2(&flat) < 0.0 {
                    flat.reverse();
                }
                (polygon_area_m2(&flat) > LEAST_M2).then_some(flat)
            })
            .collect()
    }

    /// The part of a triangle on the sunny side of the plane.
    fn part_above(&self, corners: &[Vec3; 3]) -> Vec<Vec3> {
        let height = |p: Vec3| (p - self.frame.origin).dot(self.frame.z_dir) - CLEAR_M;
        let mut kept = Vec::with_capacity(4);
        for (i, &a) in corners.iter().enumerate() {
            let b = corners[(i + 1) % 3];
            let (ha, hb) = (height(a), height(b));
            if ha >= 0.0 {
                kept.push(a);
            }
            if (ha >= 0.0) != (hb >= 0.0) {
                kept.push(a + (b - a) * (ha / (ha - hb)));
            }
        }
        kept
    }
}

fn bounds(outline: &[Vec2]) -> (Vec2, Vec2) {
    outline
        .iter()
        .fold((Vec2::MAX, Vec2::MIN), |(low, high), p| {
            (low.min(*p), high.max(*p))
        })
}

fn is_worth_keeping(outline: &[Vec2]) -> bool {
    outline.len() >= 3 && polygon_area_m2(outline) > LEAST_M2
}

/// The parts of a convex outline left and right of the line from `a` to `b`.
fn split(outline: &[Vec2], a: Vec2, b: Vec2) -> (Vec<Vec2>, Vec<Vec2>) {
    let side = |p: Vec2| cross(b - a, p - a);
    let (mut left, mut right) = (Vec::new(), Vec::new());
    for (i, &p) in outline.iter().enumerate() {
        let q = outline[(i + 1) % outline.len()];
        let (sp, sq) = (side(p), side(q));
        if sp >= 0.0 {
            left.push(p);
        }
        if sp <= 0.0 {
            right.push(p);
        }
        if (sp > 0.0 && sq < 0.0) || (sp < 0.0 && sq > 0.0) {
            let at = p + (q - p) * (sp / (sp - sq));
            left.push(at);
            right.push(at);
        }
    }
    (left, right)
}

/// The common part of two convex outlines, both counter-clockwise.
fn intersection(outline: &[Vec2], other: &[Vec2]) -> Vec<Vec2> {
    let mut rest = outline.to_vec();
    for (i, &a) in other.iter().enumerate() {
        if rest.len() < 3 {
            return Vec::new();
        }
        rest = split(&rest, a, other[(i + 1) % other.len()]).0;
    }
    rest
}

/// Appends the convex parts of `outline` outside `other`.
fn subtract(outline: Vec<Vec2>, other: &[Vec2], kept: &mut Vec<Vec<Vec2>>) {
    if !is_worth_keeping(&intersection(&outline, other)) {
        kept.push(outline);
        return;
    }
    let mut rest = outline;
    for (i, &a) in other.iter().enumerate() {
        let (left, right) = split(&rest, a, other[(i + 1) % other.len()]);
        if is_worth_keeping(&right) {
            kept.push(right);
        }
        if left.len() < 3 {
            return;
        }
        rest = left;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(low: f32, high: f32) -> Vec<Vec2> {
        vec![
            Vec2::new(low, low),
            Vec2::new(high, low),
            Vec2::new(high, high),
            Vec2::new(low, high),
        ]
    }

    #[test]
    fn a_hole_is_cut_out_of_the_middle() {
        let mut kept = Vec::new();
        subtract(square(0.0, 3.0), &square(1.0, 2.0), &mut kept);
        let area: f32 = kept.iter().map(|p| polygon_area_m2(p)).sum();
        assert!((area - 8.0).abs() < 1e-5, "area {area}");
    }

    #[test]
    fn what_does_not_touch_stays_whole() {
        let mut kept = Vec::new();
        subtract(square(0.0, 1.0), &square(1.0, 2.0), &mut kept);
        assert_eq!(kept, vec![square(0.0, 1.0)]);
        assert!(!is_worth_keeping(&intersection(
            &square(0.0, 1.0),
            &square(1.0, 2.0)
        )));
    }
}
