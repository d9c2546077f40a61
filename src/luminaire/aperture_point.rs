//! Points on the shapes of luminous openings, uniform by area or by projected area. Sizes and points [m].
//!
//! Luminaire frame; width along y, length along x, height along z; the middle at the origin.

use std::f32::consts::FRAC_PI_4;

use glam::{Vec2, Vec3};

/// Square to unit disc, area-preserving.
/// Source: P. Shirley and K. Chiu, "A low distortion map between disk and square", J. Graphics Tools 2(3), 1997.
pub(super) fn concentric_disc(u: Vec2) -> Vec2 {
    let p = 2.0 * u - Vec2::ONE;
    if p == Vec2::ZERO {
        return Vec2::ZERO;
    }
    let (radius, angle_rad) = if p.x.abs() > p.y.abs() {
        (p.x, FRAC_PI_4 * (p.y / p.x))
    } else {
        (p.y, 2.0 * FRAC_PI_4 - FRAC_PI_4 * (p.x / p.y))
    };
    radius * Vec2::from_angle(angle_rad)
}

/// Uniform point of a horizontal ellipse with full sizes along x and y [m].
pub(super) fn on_ellipse(u: Vec2, x_size_m: f32, y_size_m: f32) -> Vec3 {
    let disc = concentric_disc(u);
    Vec3::new(0.5 * x_size_m * disc.x, 0.5 * y_size_m * disc.y, 0.0)
}

/// Projected areas of the horizontal face, the face across x and the face across y that `d` sees [m2].
pub(super) fn box_areas_m2(
    width_m: f32,
    length_m: f32,
    side_height_m: [f32; 4],
    d: Vec3,
) -> [f32; 3] {
    let [c0, c90, c180, c270] = side_height_m;
    let x_height_m = if d.x >= 0.0 { c0 } else { c180 };
    let y_height_m = if d.y >= 0.0 { c90 } else { c270 };
    [
        width_m * length_m * d.z.abs(),
        width_m * x_height_m * d.x.abs(),
        length_m * y_height_m * d.y.abs(),
    ]
}

/// Uniform over the projected area of the faces that `d` (unit length) sees [m].
pub(super) fn point_on_box(
    u: Vec2,
    width_m: f32,
    length_m: f32,
    side_height_m: [f32; 4],
    d: Vec3,
) -> Vec3 {
    let [c0, c90, c180, c270] = side_height_m;
    let height_m = c0.max(c90).max(c180).max(c270);
    let [flat, across_x, across_y] = box_areas_m2(width_m, length_m, side_height_m, d);
    let total = flat + across_x + across_y;
    // u.x picks the face and is stretched back to 0..1 inside it.
    let pick = u.x * total;
    let half = 0.5 * Vec3::new(length_m, width_m, height_m);
    if pick < flat || total <= 0.0 {
        let s = if flat > 0.0 { pick / flat } else { u.x };
        let z = half.z.copysign(d.z);
        return Vec3::new((s - 0.5) * length_m, (u.y - 0.5) * width_m, z);
    }
    if pick < flat + across_x {
        let s = (pick - flat) / across_x;
        let (x, side_m) = if d.x >= 0.0 {
            (half.x, c0)
        } else {
            (-half.x, c180)
        };
        return Vec3::new(x, (s - 0.5) * width_m, (u.y - 0.5) * side_m);
    }
    let s = ((pick - flat - across_x) / across_y).min(1.0);
    let (y, side_m) = if d.y >= 0.0 {
        (half.y, c90)
    } else {
        (-half.y, c270)
    };
    Vec3::new((s - 0.5) * length_m, y, (u.y - 0.5) * side_m)
}

/// Projected area of the visible cap and of the side of an upright elliptic cylinder [m2].
pub(super) fn cylinder_areas_m2(width_m: f32, length_m: f32, height_m: f32, d: Vec3) -> (f32, f32) {
    let outline_m = Vec2::new(width_m * d.x, length_m * d.y).length();
    (
        FRAC_PI_4 * width_m * length_m * d.z.abs(),
        height_m * outline_m,
    )
}

/// Uniform over the projected area of an upright elliptic cylinder seen from `d` (unit length) [m].
pub(super) fn point_on_cylinder(
    u: Vec2,
    width_m: f32,
    length_m: f32,
    height_m: f32,
    d: Vec3,
) -> Vec3 {
    let (cap, side) = cylinder_areas_m2(width_m, length_m, height_m, d);
    let pick = u.x * (cap + side);
    if pick < cap || side <= 0.0 {
        let s = if cap > 0.0 { pick / cap } else { u.x };
        let mut p = on_ellipse(Vec2::new(s, u.y), length_m, width_m);
        p.z = 0.5 * height_m.copysign(d.z);
        return p;
    }
    // Scaled to a unit circle, the visible half shows its diameter: sin of the angle from the view is uniform.
    let s = ((pick - cap) / side).min(1.0);
    let view = Vec2::new(d.x * width_m, d.y * length_m).normalize_or_zero();
    let off = 2.0 * s - 1.0;
    let on_circle = view * (1.0 - off * off).max(0.0).sqrt() + view.perp() * off;
    Vec3::new(
        0.5 * length_m * on_circle.x,
        0.5 * width_m * on_circle.y,
        (u.y - 0.5) * height_m,
    )
}

/// Uniform over the projected area of an ellipsoid seen from `d` (unit length) [m].
pub(super) fn point_on_ellipsoid(u: Vec2, half_m: Vec3, d: Vec3) -> Vec3 {
    // Scaled to the unit sphere, parallel rays stay parallel and equal shadows stay equal.
    let view = (d / half_m.max(Vec3::splat(f32::MIN_POSITIVE))).normalize_or_zero();
    if view == Vec3::ZERO {
        return Vec3::ZERO;
    }
    let (side, other) = view.any_orthonormal_pair();
    let disc = concentric_disc(u);
    let toward = (1.0 - disc.length_squared()).max(0.0).sqrt();
    half_m * (side * disc.x + other * disc.y + view * toward)
}
