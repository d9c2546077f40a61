//! A fixture in the world: where it is, where it aims, what it throws.

use std::sync::Arc;

use glam::{Mat3, Vec2, Vec3};

use crate::luminaire::{Aperture, IntensityDistribution};

/// One electric fixture.
#[derive(Clone, Debug)]
pub struct Fixture {
    /// Intensities in the luminaire frame, initial (new lamp), full output.
    pub distribution: Arc<IntensityDistribution>,
    /// Luminous opening in the luminaire frame.
    pub aperture: Aperture,
    /// Photometric centre [m], world.
    pub position: Vec3,
    /// Columns: world directions of the luminaire frame's x (C0), y (C90) and z (against the aim).
    pub world_from_luminaire: Mat3,
    /// Output as a share of full, 0..=1.
    pub dimming: f32,
    /// Maintained over initial light, 0..=1.
    pub maintenance_factor: f32,
    /// Correlated colour temperature [K].
    pub cct_k: f32,
    /// What a person would call it.
    pub label: String,
}

impl Fixture {
    /// Rotation whose -Z is the aim, rolled by `roll_rad` about it.
    ///
    /// At roll zero the C0 axis lies as near as possible to `zero_roll`, or to world +X where the
    /// aim is parallel to it.
    pub fn rotation(aim_dir: Vec3, zero_roll: Vec3, roll_rad: f32) -> Mat3 {
        let frame = crate::geometry::Frame::new(Vec3::ZERO, -aim_dir, zero_roll);
        let (sin, cos) = roll_rad.sin_cos();
        let x = frame.x_dir * cos + frame.y_dir * sin;
        let y = frame.z_dir.cross(x);
        Mat3::from_cols(x, y, frame.z_dir)
    }

    /// Intensity [cd] at full initial output toward a world direction (unit).
    #[inline]
    pub fn intensity_cd(&self, direction: Vec3) -> f32 {
        self.distribution
            .intensity_cd(self.world_from_luminaire.transpose() * direction)
    }

    /// A point [m, world] of the luminous opening as seen from `receiver` [m, world], evenly spread over
    /// the visible area for `u` in the unit square.
    #[inline]
    pub fn aperture_point(&self, u: Vec2, receiver: Vec3) -> Vec3 {
        let toward = self.world_from_luminaire.transpose() * (receiver - self.position);
        self.position + self.world_from_luminaire * self.aperture.point_toward(u, toward)
    }

    /// Area [m2] of the opening as seen from a world direction (from the fixture outward).
    pub fn projected_area_m2(&self, direction: Vec3) -> f32 {
        self.aperture
            .projected_area_m2(self.world_from_luminaire.transpose() * direction)
    }

    /// Mean luminance [cd/m2] of the opening toward a world direction, full initial output.
    ///
    /// The projected area is kept above 2 % of the opening's largest so that the value stays finite
    /// edge-on.
    pub fn luminance_cd_m2(&self, direction: Vec3) -> f32 {
        let size = self.aperture.largest_dimension_m();
        let area = self
            .projected_area_m2(direction)
            .max(0.02 * size * size)
            .max(1e-8);
        self.intensity_cd(direction) / area
    }

    /// Aim in the world, unit.
    pub fn aim_dir(&self) -> Vec3 {
        -self.world_from_luminaire.z_axis
    }

    /// Whether another fixture gives the same light at full output: same file, opening, place and aim.
    pub fn shines_like(&self, other: &Self) -> bool {
        self.position == other.position
            && self.world_from_luminaire == other.world_from_luminaire
            && self.aperture == other.aperture
            && (Arc::ptr_eq(&self.distribution, &other.distribution)
                || self.distribution == other.distribution)
    }

    /// Factor on the full initial output for what people see: dimming and maintenance.
    pub fn maintained_strength(&self) -> f32 {
        self.dimming * self.maintenance_factor
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rotation_sends_minus_z_to_the_aim_and_roll_turns_c0() {
        let aim = Vec3::new(0.3, -0.8, 0.2).normalize();
        for roll in [0.0_f32, 0.7, 3.0] {
            let r = Fixture::rotation(aim, Vec3::X, roll);
            assert!((r * Vec3::NEG_Z - aim).length() < 1e-6);
            assert!((r.determinant() - 1.0).abs() < 1e-5);
        }
        let down = Fixture::rotation(Vec3::NEG_Y, Vec3::X, 0.0);
        assert!((down * Vec3::X - Vec3::X).length() < 1e-6);
        let turned = Fixture::rotation(Vec3::NEG_Y, Vec3::X, std::f32::consts::FRAC_PI_2);
        // Counter-clockwise seen from above: from +X toward -Z.
        assert!(
            (turned * Vec3::X - Vec3::NEG_Z).length() < 1e-6,
            "{:?}",
            turned * Vec3::X
        );
    }
}
