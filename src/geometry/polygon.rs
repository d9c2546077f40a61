//! Planar polygons with holes: area, containment, triangles, clipping to grid cells.
//!
//! Outlines are lists of corners in the polygon's own frame [m]; the last corner joins the first.
//! Counter-clockwise as seen from the front (the side that the normal points to).

use glam::{Vec2, Vec3};

use super::Frame;

/// A planar polygon with holes in the world.
#[derive(Clone, Debug, PartialEq)]
pub struct Polygon {
    frame: Frame,
    outline_m: Vec<Vec2>,
    holes_m: Vec<Vec<Vec2>>,
    triangles_m: Vec<[Vec2; 3]>,
}

/// Why a polygon cannot be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PolygonError {
    /// Fewer than three corners, or all on one line.
    #[error("outline of {corner_count} corners encloses no area")]
    NoArea {
        /// How many corners were given.
        corner_count: usize,
    },
    /// A corner is farther from the plane of the others than the tolerance.
    #[error("corner {corner_index} lies {distance_m:.3} m off the plane of the others")]
    NotPlanar {
        /// Index of the offending corner.
        corner_index: usize,
        /// Its distance from the plane [m].
        distance_m: f32,
    },
}

/// z component of the cross product of two plane vectors.
#[inline]
pub fn cross(a: Vec2, b: Vec2) -> f32 {
    a.x * b.y - a.y * b.x
}

/// Signed area [m2] of a plane outline, positive when counter-clockwise.
pub fn polygon_area_m2(outline: &[Vec2]) -> f32 {
    let mut sum = 0.0_f64;
    for (i, a) in outline.iter().enumerate() {
        let b = outline[(i + 1) % outline.len()];
        sum += f64::from(a.x) * f64::from(b.y) - f64::from(b.x) * f64::from(a.y);
    }
    (sum / 2.0) as f32
}

/// Whether a point lies inside an outline (even-odd rule).
pub fn polygon_contains(outline: &[Vec2], point: Vec2) -> bool {
    let mut inside = false;
    for (i, a) in outline.iter().enumerate() {
        let b = outline[(i + 1) % outline.len()];
        if (a.y > point.y) != (b.y > point.y) {
            let x = a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x);
            if point.x < x {
                inside = !inside;
            }
        }
    }
    inside
}

/// The part of a convex outline inside the box from `low` to `high` (Sutherland and Hodgman 1974).
pub fn clip_to_box(outline: &[Vec2], low: Vec2, high: Vec2) -> Vec<Vec2> {
    let mut points = outline.to_vec();
    let sides: [(Vec2, f32); 4] = [
        (Vec2::X, -low.x),
        (Vec2::NEG_X, high.x),
        (Vec2::Y, -low.y),
        (Vec2::NEG_Y, high.y),
    ];
    for (inward, offset) in sides {
        let mut kept = Vec::with_capacity(points.len() + 2);
        for (i, &a) in points.iter().enumerate() {
            let b = points[(i + 1) % points.len()];
            let (da, db) = (a.dot(inward) + offset, b.dot(inward) + offset);
            if da >= 0.0 {
                kept.push(a);
            }
            if (da >= 0.0) != (db >= 0.0) {
                kept.push(a + (b - a) * (da / (da - db)));
            }
        }
        points = kept;
        if points.len() < 3 {
            return Vec::new();
        }
    }
    points
}

impl Polygon {
    /// Polygon from world corners (counter-clockwise seen from the front) and holes in its plane.
    ///
    /// # Errors
    /// No area, or a corner more than 2 mm off the plane.
    pub fn from_world(outline: &[Vec3], holes: &[Vec<Vec3>]) -> Result<Self, PolygonError> {
        let mut normal = Vec3::ZERO;
        for (i, a) in outline.iter().enumerate() {
            normal += (*a - outline[0]).cross(outline[(i + 1) % outline.len()] - outline[0]);
        }
        if outline.len() < 3 || normal.length() < 1e-8 {
            return Err(PolygonError::NoArea {
                corner_count: outline.len(),
            });
        }
        let along = outline[1] - outline[0];
        let frame = Frame::new(outline[0], normal, along);
        for (corner_index, p) in outline.iter().chain(holes.iter().flatten()).enumerate() {
            let distance_m = (*p - frame.origin).dot(frame.z_dir).abs();
            if distance_m > 2e-3 {
                return Err(PolygonError::NotPlanar {
                    corner_index,
                    distance_m,
                });
            }
        }
        let flat = |p: &Vec3| {
            let d = *p - frame.origin;
            Vec2::new(d.dot(frame.x_dir), d.dot(frame.y_dir))
        };
        let outline_m = outline.iter().map(flat).collect();
        let holes_m = holes.iter().map(|h| h.iter().map(flat).collect()).collect();
        Ok(Self::in_frame(frame, outline_m, holes_m))
    }

    /// Polygon from an outline in the plane of `frame`; holes of any orientation.
    pub fn in_frame(frame: Frame, outline_m: Vec<Vec2>, holes_m: Vec<Vec<Vec2>>) -> Self {
        let mut data: Vec<[f32; 2]> = outline_m.iter().map(|p| [p.x, p.y]).collect();
        let mut hole_indices: Vec<u32> = Vec::new();
        for hole in &holes_m {
            hole_indices.push(data.len() as u32);
            data.extend(hole.iter().map(|p| [p.x, p.y]));
        }
        let mut indices: Vec<u32> = Vec::new();
        earcut::Earcut::new().earcut(data.iter().copied(), &hole_indices, &mut indices);
        let corner = |i: u32| Vec2::from(data[i as usize]);
        let triangles_m = indices
            .chunks_exact(3)
            .map(|t| {
                let (a, b, c) = (corner(t[0]), corner(t[1]), corner(t[2]));
                if cross(b - a, c - a) < 0.0 {
                    [a, c, b]
                } else {
                    [a, b, c]
                }
            })
            .filter(|[a, b, c]| cross(*b - *a, *c - *a) > 1e-10)
            .collect();
        Self {
            frame,
            outline_m,
            holes_m,
            triangles_m,
        }
    }

    /// The polygon's frame; its +Z is the front normal.
    pub fn frame(&self) -> &Frame {
        &self.frame
    }

    /// Front normal, unit.
    pub fn normal(&self) -> Vec3 {
        self.frame.z_dir
    }

    /// The outline in the frame [m].
    pub fn outline_m(&self) -> &[Vec2] {
        &self.outline_m
    }

    /// The outline in the world [m].
    pub fn world_outline(&self) -> Vec<Vec3> {
        self.outline_m
            .iter()
            .map(|p| self.frame.point(p.x, p.y))
            .collect()
    }

    /// Triangles that cover the polygon, in the frame [m], counter-clockwise.
    pub fn triangles_m(&self) -> &[[Vec2; 3]] {
        &self.triangles_m
    }

    /// Area [m2], holes taken out.
    pub fn area_m2(&self) -> f32 {
        self.triangles_m
            .iter()
            .map(|[a, b, c]| 0.5 * cross(*b - *a, *c - *a))
            .sum()
    }

    /// Whether a point of the plane (frame coordinates, m) is in the polygon and in no hole.
    pub fn contains(&self, point: Vec2) -> bool {
        polygon_contains(&self.outline_m, point)
            && !self.holes_m.iter().any(|h| polygon_contains(h, point))
    }

    /// Lowest and highest frame coordinates of the outline [m].
    pub fn bounds_m(&self) -> (Vec2, Vec2) {
        self.outline_m
            .iter()
            .fold((Vec2::MAX, Vec2::MIN), |(low, high), p| {
                (low.min(*p), high.max(*p))
            })
    }

    /// Where a ray meets the plane inside the polygon: distance along `dir` in multiples of its length.
    pub fn crossing(&self, origin: Vec3, dir: Vec3) -> Option<f32> {
        let facing = dir.dot(self.frame.z_dir);
        if facing.abs() < 1e-9 {
            return None;
        }
        let t = (self.frame.origin - origin).dot(self.frame.z_dir) / facing;
        if t <= 0.0 {
            return None;
        }
        let d = origin + dir * t - self.frame.origin;
        let p = Vec2::new(d.dot(self.frame.x_dir), d.dot(self.frame.y_dir));
        self.contains(p).then_some(t)
    }

    /// A point [m, world] spread evenly over the polygon for `u` in the unit square.
    pub fn point(&self, u: Vec2) -> Vec3 {
        let total = self.area_m2();
        let mut target = u.x * total;
        for (i, [a, b, c]) in self.triangles_m.iter().enumerate() {
            let area = 0.5 * cross(*b - *a, *c - *a);
            if target < area || i + 1 == self.triangles_m.len() {
                let u0 = (target / area).clamp(0.0, 1.0);
                let root = u0.sqrt();
                let p = *a * (1.0 - root) + (*b * (1.0 - u.y) + *c * u.y) * root;
                return self.frame.point(p.x, p.y);
            }
            target -= area;
        }
        self.frame.origin
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wall_with_window() -> Polygon {
        let outline = [
            Vec3::new(0.0, 0.0, 0.0),
            Vec3::new(4.0, 0.0, 0.0),
            Vec3::new(4.0, 3.0, 0.0),
            Vec3::new(0.0, 3.0, 0.0),
        ];
        let hole = vec![
            Vec3::new(1.0, 1.0, 0.0),
            Vec3::new(2.0, 1.0, 0.0),
            Vec3::new(2.0, 2.5, 0.0),
            Vec3::new(1.0, 2.5, 0.0),
        ];
        Polygon::from_world(&outline, &[hole]).unwrap()
    }

    #[test]
    fn hole_is_taken_out_of_area_and_of_containment() {
        let wall = wall_with_window();
        assert!(
            (wall.area_m2() - (12.0 - 1.5)).abs() < 1e-4,
            "area {}",
            wall.area_m2()
        );
        assert!(wall.contains(Vec2::new(0.5, 0.5)));
        assert!(!wall.contains(Vec2::new(1.5, 1.5)));
        assert!((wall.normal() - Vec3::Z).length() < 1e-6);
    }

    #[test]
    fn points_are_never_in_the_hole() {
        let wall = wall_with_window();
        for i in 0..200 {
            let u = Vec2::new(
                (i as f32 * 0.618_034).fract(),
                (i as f32 * 0.754_877).fract(),
            );
            let p = wall.point(u);
            assert!(wall.contains(Vec2::new(p.x, p.y)), "point {p:?} for {u:?}");
        }
    }

    #[test]
    fn clipping_a_triangle_keeps_the_shared_area() {
        let triangle = [Vec2::ZERO, Vec2::new(2.0, 0.0), Vec2::new(0.0, 2.0)];
        let cut = clip_to_box(&triangle, Vec2::ZERO, Vec2::ONE);
        assert!((polygon_area_m2(&cut) - 1.0).abs() < 1e-6);
        let cut = clip_to_box(&triangle, Vec2::new(0.5, 0.5), Vec2::new(2.0, 2.0));
        assert!((polygon_area_m2(&cut) - 0.5).abs() < 1e-6);
    }

    #[test]
    fn bent_outline_is_refused() {
        let bent = [Vec3::ZERO, Vec3::X, Vec3::new(1.0, 0.1, 1.0), Vec3::Z];
        assert!(matches!(
            Polygon::from_world(&bent, &[]),
            Err(PolygonError::NotPlanar { .. })
        ));
        assert!(matches!(
            Polygon::from_world(&[Vec3::ZERO, Vec3::X, Vec3::X * 2.0], &[]),
            Err(PolygonError::NoArea { .. })
        ));
    }
}
