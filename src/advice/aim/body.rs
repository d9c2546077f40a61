//! The shadow of a person who stands on a walk.

use glam::{Vec2, Vec3};

/// Radius of a standing body [m] (common practice, no source).
pub const BODY_RADIUS_M: f32 = 0.25;
/// How far the top of the head is above the eye [m] (common practice, no source).
pub const ABOVE_EYE_M: f32 = 0.12;

/// Whether the body of a person keeps light from `from` off `to` [m, world]: an upright cylinder from the floor to the top
/// of the head. A lamp or a point inside the body's own circle counts as shaded below its top.
pub fn shades(eye: Vec3, floor_m: f32, to: Vec3, from: Vec3) -> bool {
    let flat = |p: Vec3| Vec2::new(p.x, p.z);
    let (start, end, axis) = (flat(to), flat(from), flat(eye));
    let along = end - start;
    let length_2 = along.length_squared();
    let middle = if length_2 > 1e-9 {
        ((axis - start).dot(along) / length_2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let apart_2 = (start + along * middle - axis).length_squared();
    let radius_2 = BODY_RADIUS_M * BODY_RADIUS_M;
    if apart_2 >= radius_2 {
        return false;
    }
    // The chord inside the circle: heights of the ray at both of its ends.
    let half = if length_2 > 1e-9 {
        ((radius_2 - apart_2) / length_2).sqrt()
    } else {
        1.0
    };
    let height = |share: f32| to.y + (from.y - to.y) * share.clamp(0.0, 1.0);
    let (a, b) = (height(middle - half), height(middle + half));
    a.min(b) < eye.y + ABOVE_EYE_M && a.max(b) > floor_m
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Similar triangles: a lamp 3 m up and 2 m from the wall, a person with eyes at 1.6 m (top 1.72 m) 1 m from the wall. The ray over
    /// the near side of the head, 1.25 m from the wall, meets the wall at 3 - (3 - 1.72) / 0.75 x 2 = -0.413 m; over the far
    /// side, 0.75 m from the wall, at 3 - 1.28 / 1.25 x 2 = 0.952 m: below that height the wall is dark.
    #[test]
    fn shadow_of_a_person_ends_where_similar_triangles_say() {
        let eye = Vec3::new(0.0, 1.6, 1.0);
        let lamp = Vec3::new(0.0, 3.0, 2.0);
        let at = |h: f32| shades(eye, 0.0, Vec3::new(0.0, h, 0.0), lamp);
        assert!(at(0.94), "0.94 m up must be in shadow");
        assert!(!at(0.97), "0.97 m up must be lit");
    }

    #[test]
    fn a_person_beside_the_ray_throws_no_shadow() {
        let lamp = Vec3::new(0.0, 3.0, 2.0);
        let wall = Vec3::new(0.0, 0.3, 0.0);
        assert!(shades(Vec3::new(0.2, 1.6, 1.0), 0.0, wall, lamp));
        assert!(!shades(Vec3::new(0.3, 1.6, 1.0), 0.0, wall, lamp));
        // Somebody on a gallery above the ray.
        assert!(!shades(Vec3::new(0.0, 5.0, 1.0), 3.4, wall, lamp));
    }
}
