//! One wall of a space, the holes in it, and what lies inside.

use glam::{Vec2, Vec3};

use super::{
    schema::{Ceiling, Opening, Space},
    walk::world,
};
use crate::geometry::polygon_area_m2;

/// Height of a ceiling (or of the top of the walls) above a plan point [m].
pub(crate) fn ceiling_m(ceiling: &Ceiling, at: Vec2) -> f32 {
    match ceiling {
        Ceiling::Flat { height_m } | Ceiling::Open { height_m } => *height_m,
        Ceiling::Sloped { low, high } => {
            let along = Vec2::new(high.0 - low.0, high.1 - low.1);
            let share =
                (at - Vec2::new(low.0, low.1)).dot(along) / along.length_squared().max(1e-9);
            low.2 + (high.2 - low.2) * share
        }
    }
}

/// One wall of a space on the plan.
#[derive(Clone, Copy, Debug)]
pub(crate) struct WallLine {
    /// First corner on the plan [m].
    pub from: Vec2,
    /// Second corner.
    pub to: Vec2,
    /// Length [m].
    pub length_m: f32,
    /// Direction on the plan into the space, unit.
    pub inward: Vec2,
    /// Height of the floor [m].
    pub floor_m: f32,
    /// Heights of the wall's top at both corners [m].
    pub top_m: (f32, f32),
}

/// Wall `index` of a space; `index` is below the number of corners.
pub(crate) fn wall(space: &Space, index: usize) -> WallLine {
    let corner = |i: usize| {
        let p = space.outline_m[i % space.outline_m.len()];
        Vec2::new(p.0, p.1)
    };
    let (from, to) = (corner(index), corner(index + 1));
    let plan: Vec<Vec2> = space
        .outline_m
        .iter()
        .map(|p| Vec2::new(p.0, p.1))
        .collect();
    let along = (to - from).normalize_or(Vec2::X);
    let left = Vec2::new(-along.y, along.x);
    let inward = if polygon_area_m2(&plan) >= 0.0 {
        left
    } else {
        -left
    };
    WallLine {
        from,
        to,
        length_m: from.distance(to),
        inward,
        floor_m: space.floor_m,
        top_m: (
            ceiling_m(&space.ceiling, from),
            ceiling_m(&space.ceiling, to),
        ),
    }
}

impl WallLine {
    /// Lowest top of the wall over an opening, above the floor [m].
    pub(super) fn lowest_top_m(&self, opening: &Opening) -> f32 {
        let at = |s: f32| {
            self.top_m.0 + (self.top_m.1 - self.top_m.0) * (s / self.length_m).clamp(0.0, 1.0)
        };
        at(opening.offset_m).min(at(opening.offset_m + opening.width_m)) - self.floor_m
    }

    /// Plan point at a distance from the first corner, `outward_m` behind the wall's face.
    pub(crate) fn at(&self, along_m: f32, outward_m: f32) -> Vec2 {
        self.from + (self.to - self.from) * (along_m / self.length_m) - self.inward * outward_m
    }

    /// True azimuth of the direction out of the space [rad], clockwise from north, for a plan whose +y bears
    /// `bearing_rad`.
    pub(crate) fn outward_azimuth_rad(&self, bearing_rad: f64) -> f64 {
        let outward = -self.inward;
        f64::from(outward.x.atan2(outward.y)) + bearing_rad
    }

    /// World normal into the space.
    pub(crate) fn normal(&self) -> Vec3 {
        world(self.inward.x, self.inward.y, 0.0)
    }

    /// Corners of an upright rectangle `outward_m` behind the face, counter-clockwise from inside.
    pub(super) fn rectangle(
        &self,
        span: (f32, f32),
        heights: (f32, f32),
        outward_m: f32,
    ) -> Vec<Vec3> {
        let corner = |s: f32, h: f32| {
            let p = self.at(s, outward_m);
            world(p.x, p.y, h)
        };
        let corners = vec![
            corner(span.0, heights.0),
            corner(span.1, heights.0),
            corner(span.1, heights.1),
            corner(span.0, heights.1),
        ];
        facing(corners, self.normal())
    }
}

/// A hole in one wall's face, along the wall and by height above datum.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hole {
    /// From and to along the wall [m].
    pub span: (f32, f32),
    /// Lower and upper edge [m].
    pub heights: (f32, f32),
}

/// A hole drawn in by a hair where it touches the wall's outline, so that it stays a hole.
pub(super) fn inset(hole: Hole, line: &WallLine) -> Hole {
    const HAIR: f32 = 1e-3;
    let top = |s: f32| line.top_m.0 + (line.top_m.1 - line.top_m.0) * (s / line.length_m);
    let lowest_top = top(hole.span.0).min(top(hole.span.1));
    Hole {
        span: (hole.span.0.max(HAIR), hole.span.1.min(line.length_m - HAIR)),
        heights: (
            hole.heights.0.max(line.floor_m + HAIR),
            hole.heights.1.min(lowest_top - HAIR),
        ),
    }
}

/// The corners turned so that their polygon faces `normal`.
pub(super) fn facing(mut corners: Vec<Vec3>, normal: Vec3) -> Vec<Vec3> {
    let mut area = Vec3::ZERO;
    for (i, a) in corners.iter().enumerate() {
        area += (*a - corners[0]).cross(corners[(i + 1) % corners.len()] - corners[0]);
    }
    if area.dot(normal) < 0.0 {
        corners.reverse();
    }
    corners
}

/// Whether a plan point lies in a space.
pub(super) fn is_inside(space: &Space, at: Vec2) -> bool {
    let outline: Vec<Vec2> = space
        .outline_m
        .iter()
        .map(|p| Vec2::new(p.0, p.1))
        .collect();
    crate::geometry::polygon_contains(&outline, at)
}

/// Whether the outline of a space never turns inward.
pub(super) fn is_convex(space: &Space) -> bool {
    let p: Vec<Vec2> = space
        .outline_m
        .iter()
        .map(|p| Vec2::new(p.0, p.1))
        .collect();
    let n = p.len();
    let turn = |i: usize| {
        let (a, b, c) = (p[i], p[(i + 1) % n], p[(i + 2) % n]);
        (b - a).perp_dot(c - b)
    };
    (0..n).all(|i| turn(i) >= -1e-4) || (0..n).all(|i| turn(i) <= 1e-4)
}
