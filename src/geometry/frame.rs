//! Right-handed orthonormal frames: +Z along a normal, +X along a chosen direction in the plane.

use glam::Vec3;

/// A right-handed orthonormal frame at a point in the world.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Origin [m], world.
    pub origin: Vec3,
    /// Local +X in world, unit.
    pub x_dir: Vec3,
    /// Local +Y in world, unit.
    pub y_dir: Vec3,
    /// Local +Z (the normal) in world, unit.
    pub z_dir: Vec3,
}

impl Frame {
    /// The frame with +Z along `normal` and +X as near to `along` as the plane allows.
    ///
    /// When `along` is parallel to the normal (or zero) +X falls back to an arbitrary but fixed
    /// direction in the plane, so the frame never holds a NaN.
    pub fn new(origin: Vec3, normal: Vec3, along: Vec3) -> Self {
        let z_dir = normal.normalize_or(Vec3::Y);
        let in_plane = along - z_dir * along.dot(z_dir);
        let x_dir = if in_plane.length_squared() > 1e-10 * along.length_squared().max(1e-20) {
            in_plane.normalize_or(z_dir.any_orthonormal_vector())
        } else {
            z_dir.any_orthonormal_vector()
        };
        let y_dir = z_dir.cross(x_dir);
        Self {
            origin,
            x_dir,
            y_dir,
            z_dir,
        }
    }

    /// Direction from world to local.
    #[inline]
    pub fn local_from_world(&self, direction: Vec3) -> Vec3 {
        Vec3::new(
            direction.dot(self.x_dir),
            direction.dot(self.y_dir),
            direction.dot(self.z_dir),
        )
    }

    /// Direction from local to world.
    #[inline]
    pub fn world_from_local(&self, direction: Vec3) -> Vec3 {
        self.x_dir * direction.x + self.y_dir * direction.y + self.z_dir * direction.z
    }

    /// World position [m] of the local point (x, y, 0).
    #[inline]
    pub fn point(&self, x_m: f32, y_m: f32) -> Vec3 {
        self.origin + self.x_dir * x_m + self.y_dir * y_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frame_is_orthonormal_even_when_along_is_the_normal() {
        for along in [Vec3::X, Vec3::Y, Vec3::ZERO, Vec3::new(0.3, -2.0, 0.1)] {
            let f = Frame::new(Vec3::ZERO, Vec3::Y, along);
            assert!((f.x_dir.length() - 1.0).abs() < 1e-6, "x_dir {:?}", f.x_dir);
            assert!(f.x_dir.dot(f.z_dir).abs() < 1e-6);
            assert!((f.x_dir.cross(f.y_dir) - f.z_dir).length() < 1e-6);
        }
    }

    #[test]
    fn local_and_world_invert_each_other() {
        let f = Frame::new(Vec3::new(1.0, 2.0, 3.0), Vec3::new(1.0, 1.0, 0.2), Vec3::Z);
        let d = Vec3::new(0.2, -0.5, 0.84);
        assert!((f.world_from_local(f.local_from_world(d)) - d).length() < 1e-6);
    }
}
