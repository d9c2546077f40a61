//! The luminous opening: its outline, how large it looks from a direction, and points on it.
//!
//! Luminaire frame: x = C0, y = C90, z up; the photometric centre (origin) is the middle of the opening.
//! Flat openings face down. Following IES LM-63-2002, section 3, the width of an opening runs along y
//! (C90 to C270), its length along x (C0 to C180), its height along z.
//!
//! Sizes are seen from both sides (an uplight shines out of the other face), so projected areas take the
//! absolute cosine; a flat opening seen edge-on has none. Lengths [m], areas [m2].

use std::f32::consts::{FRAC_PI_4, PI};

use glam::{Vec2, Vec3};

use super::aperture_point::{
    box_areas_m2, concentric_disc, cylinder_areas_m2, on_ellipse, point_on_box, point_on_cylinder,
    point_on_ellipsoid,
};

/// A horizontal axis of the luminaire.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HorizontalAxis {
    /// x, toward C0.
    C0,
    /// y, toward C90.
    C90,
}

impl HorizontalAxis {
    fn dir(self) -> Vec3 {
        match self {
            Self::C0 => Vec3::X,
            Self::C90 => Vec3::Y,
        }
    }

    /// The other horizontal axis.
    fn across(self) -> Vec3 {
        match self {
            Self::C0 => Vec3::Y,
            Self::C90 => Vec3::X,
        }
    }
}

/// The luminous opening of a luminaire. See the module for the frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aperture {
    /// Flat disc facing down.
    Disc {
        /// Diameter [m].
        diameter_m: f32,
    },
    /// Flat ellipse facing down.
    Ellipse {
        /// Across, along y [m].
        width_m: f32,
        /// Along C0, x [m].
        length_m: f32,
    },
    /// Flat rectangle facing down.
    Rectangle {
        /// Across, along y [m].
        width_m: f32,
        /// Along C0, x [m].
        length_m: f32,
    },
    /// Rectangle whose sides are luminous too.
    Box {
        /// Across, along y [m].
        width_m: f32,
        /// Along C0, x [m].
        length_m: f32,
        /// Luminous height of the sides facing C0, C90, C180, C270 [m].
        side_height_m: [f32; 4],
    },
    /// Upright cylinder, round or elliptic, luminous on caps and side.
    Cylinder {
        /// Across, along y [m].
        width_m: f32,
        /// Along C0, x [m].
        length_m: f32,
        /// Along z [m].
        height_m: f32,
    },
    /// Lying round cylinder, luminous all over.
    HorizontalCylinder {
        /// Diameter [m].
        diameter_m: f32,
        /// Length of the axis [m].
        length_m: f32,
        /// Direction of the axis.
        axis: HorizontalAxis,
    },
    /// Sphere.
    Sphere {
        /// Diameter [m].
        diameter_m: f32,
    },
    /// Ellipsoid.
    Ellipsoid {
        /// Across, along y [m].
        width_m: f32,
        /// Along C0, x [m].
        length_m: f32,
        /// Along z [m].
        height_m: f32,
    },
    /// Standing flat ellipse.
    VerticalEllipse {
        /// Horizontal size [m].
        width_m: f32,
        /// Vertical size [m].
        height_m: f32,
        /// Where it faces.
        facing: HorizontalAxis,
    },
}

impl Aperture {
    /// Area that the opening shows toward a direction of any length but 0 [m2].
    pub fn projected_area_m2(&self, direction: Vec3) -> f32 {
        let d = direction.normalize_or_zero();
        match *self {
            Self::Disc { diameter_m } => FRAC_PI_4 * diameter_m * diameter_m * d.z.abs(),
            Self::Ellipse { width_m, length_m } => FRAC_PI_4 * width_m * length_m * d.z.abs(),
            Self::Rectangle { width_m, length_m } => width_m * length_m * d.z.abs(),
            Self::Box {
                width_m,
                length_m,
                side_height_m,
            } => box_areas_m2(width_m, length_m, side_height_m, d)
                .iter()
                .sum(),
            Self::Cylinder {
                width_m,
                length_m,
                height_m,
            } => {
                let (caps, side) = cylinder_areas_m2(width_m, length_m, height_m, d);
                caps + side
            }
            Self::HorizontalCylinder {
                diameter_m,
                length_m,
                axis,
            } => {
                let along = d.dot(axis.dir());
                let across = (1.0 - along * along).max(0.0).sqrt();
                FRAC_PI_4 * diameter_m * diameter_m * along.abs() + diameter_m * length_m * across
            }
            Self::Sphere { diameter_m } => FRAC_PI_4 * diameter_m * diameter_m * d.length_squared(),
            Self::Ellipsoid {
                width_m,
                length_m,
                height_m,
            } => {
                // Area of the shadow of an ellipsoid with half axes a, b, c: pi |(b c dx, a c dy, a b dz)|.
                let (a, b, c) = (0.5 * length_m, 0.5 * width_m, 0.5 * height_m);
                PI * Vec3::new(b * c * d.x, a * c * d.y, a * b * d.z).length()
            }
            Self::VerticalEllipse {
                width_m,
                height_m,
                facing,
            } => FRAC_PI_4 * width_m * height_m * d.dot(facing.dir()).abs(),
        }
    }

    /// Point of the opening for `u` in 0..1 x 0..1, uniform by area, luminaire frame [m].
    ///
    /// For solids this is the horizontal section through the middle; [`Self::point_toward`] suits them better.
    pub fn point(&self, u: Vec2) -> Vec3 {
        match *self {
            Self::Disc { diameter_m } | Self::Sphere { diameter_m } => {
                on_ellipse(u, diameter_m, diameter_m)
            }
            Self::Ellipse { width_m, length_m }
            | Self::Cylinder {
                width_m, length_m, ..
            }
            | Self::Ellipsoid {
                width_m, length_m, ..
            } => on_ellipse(u, length_m, width_m),
            Self::Rectangle { width_m, length_m }
            | Self::Box {
                width_m, length_m, ..
            } => Vec3::new((u.x - 0.5) * length_m, (u.y - 0.5) * width_m, 0.0),
            Self::HorizontalCylinder {
                diameter_m,
                length_m,
                axis,
            } => axis.dir() * ((u.x - 0.5) * length_m) + axis.across() * ((u.y - 0.5) * diameter_m),
            Self::VerticalEllipse {
                width_m,
                height_m,
                facing,
            } => {
                let disc = concentric_disc(u);
                facing.across() * (0.5 * width_m * disc.x) + Vec3::Z * (0.5 * height_m * disc.y)
            }
        }
    }

    /// Point of the part that a direction sees, uniform over the projected area, luminaire frame [m].
    ///
    /// `u` in 0..1 x 0..1; `direction` of any length but 0, from the opening toward the receiver. Flat
    /// openings give [`Self::point`].
    pub fn point_toward(&self, u: Vec2, direction: Vec3) -> Vec3 {
        let d = direction.normalize_or_zero();
        match *self {
            Self::Box {
                width_m,
                length_m,
                side_height_m,
            } => point_on_box(u, width_m, length_m, side_height_m, d),
            Self::Cylinder {
                width_m,
                length_m,
                height_m,
            } => point_on_cylinder(u, width_m, length_m, height_m, d),
            Self::HorizontalCylinder {
                diameter_m,
                length_m,
                axis,
            } => {
                // The upright round cylinder, laid down: its z is the axis.
                let (axis_dir, across) = (axis.dir(), axis.across());
                let local = Vec3::new(d.dot(across), d.z, d.dot(axis_dir));
                let p = point_on_cylinder(u, diameter_m, diameter_m, length_m, local);
                across * p.x + Vec3::Z * p.y + axis_dir * p.z
            }
            Self::Sphere { diameter_m } => point_on_ellipsoid(u, Vec3::splat(0.5 * diameter_m), d),
            Self::Ellipsoid {
                width_m,
                length_m,
                height_m,
            } => point_on_ellipsoid(u, 0.5 * Vec3::new(length_m, width_m, height_m), d),
            Self::Disc { .. }
            | Self::Ellipse { .. }
            | Self::Rectangle { .. }
            | Self::VerticalEllipse { .. } => self.point(u),
        }
    }

    /// Largest side or diameter [m], the one of the five-times rule.
    pub fn largest_dimension_m(&self) -> f32 {
        match *self {
            Self::Disc { diameter_m } | Self::Sphere { diameter_m } => diameter_m,
            Self::Ellipse { width_m, length_m } | Self::Rectangle { width_m, length_m } => {
                width_m.max(length_m)
            }
            Self::Box {
                width_m,
                length_m,
                side_height_m,
            } => side_height_m
                .iter()
                .fold(width_m.max(length_m), |a, &b| a.max(b)),
            Self::Cylinder {
                width_m,
                length_m,
                height_m,
            }
            | Self::Ellipsoid {
                width_m,
                length_m,
                height_m,
            } => width_m.max(length_m).max(height_m),
            Self::HorizontalCylinder {
                diameter_m,
                length_m,
                ..
            } => diameter_m.max(length_m),
            Self::VerticalEllipse {
                width_m, height_m, ..
            } => width_m.max(height_m),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::f32::consts::TAU;

    use super::*;

    /// Mean luminance of 3000 cd on the axis of a 50 mm disc: 1.528e6 cd/m2 (closed form I / (pi D^2 / 4)).
    #[test]
    fn luminance_of_a_50_mm_disc_with_3000_cd() {
        let area_m2 = Aperture::Disc { diameter_m: 0.05 }.projected_area_m2(Vec3::NEG_Z);
        let luminance_cd_m2 = 3000.0 / area_m2;
        assert!(
            (luminance_cd_m2 / 1.528e6 - 1.0).abs() < 5e-4,
            "{luminance_cd_m2} cd/m2"
        );
    }

    /// Invariant: a point toward a direction lies on the surface, on a part that faces that way.
    #[test]
    fn points_toward_lie_on_the_surface_and_face_the_viewer() {
        let (a, b, c) = (0.5, 0.25, 1.0);
        let ellipsoid = Aperture::Ellipsoid {
            width_m: 2.0 * b,
            length_m: 2.0 * a,
            height_m: 2.0 * c,
        };
        let d = Vec3::new(0.3, -0.5, -0.4);
        for i in 0..20 {
            for j in 0..20 {
                let u = Vec2::new((i as f32 + 0.5) / 20.0, (j as f32 + 0.5) / 20.0);
                let p = ellipsoid.point_toward(u, d);
                let on = (p.x / a).powi(2) + (p.y / b).powi(2) + (p.z / c).powi(2);
                assert!((on - 1.0).abs() < 1e-4, "off the surface: {on}");
                let normal = Vec3::new(p.x / (a * a), p.y / (b * b), p.z / (c * c));
                assert!(normal.dot(d) > -1e-4, "{p} faces away");
                let cylinder = Aperture::Cylinder {
                    width_m: 2.0 * b,
                    length_m: 2.0 * a,
                    height_m: 2.0 * c,
                };
                let q = cylinder.point_toward(u, d);
                let ring = (q.x / a).powi(2) + (q.y / b).powi(2);
                assert!(ring < 1.0001 && q.z.abs() < 1.0001, "outside: {q}");
                let side_normal = Vec3::new(q.x / (a * a), q.y / (b * b), 0.0);
                assert!(
                    q.z <= -0.9999 || (ring > 0.999 && side_normal.dot(d) > -1e-4),
                    "{q}"
                );
            }
        }
    }

    /// Closed forms: areas along the axes and, for the box, the mean over directions (Cauchy: surface / 4).
    #[test]
    fn projected_areas_match_closed_forms() {
        let solid = Aperture::Box {
            width_m: 2.0,
            length_m: 3.0,
            side_height_m: [0.5; 4],
        };
        let close = |aperture: Aperture, direction: Vec3, expected_m2: f32| {
            let found_m2 = aperture.projected_area_m2(direction);
            assert!(
                (found_m2 - expected_m2).abs() < 1e-4,
                "{aperture:?} toward {direction}: {found_m2} m2, expected {expected_m2} m2"
            );
        };
        close(solid, Vec3::NEG_Z, 6.0);
        close(solid, Vec3::X, 1.0);
        close(solid, Vec3::Y, 1.5);
        close(Aperture::Sphere { diameter_m: 2.0 }, Vec3::ONE, PI);
        let lying = Aperture::HorizontalCylinder {
            diameter_m: 1.0,
            length_m: 4.0,
            axis: HorizontalAxis::C90,
        };
        close(lying, Vec3::NEG_Z, 4.0);
        close(lying, Vec3::Y, FRAC_PI_4);
        let upright = Aperture::Cylinder {
            width_m: 1.0,
            length_m: 2.0,
            height_m: 3.0,
        };
        close(upright, Vec3::X, 3.0);
        close(upright, Vec3::Y, 6.0);
        close(upright, Vec3::Z, FRAC_PI_4 * 2.0);
        let mut mean_m2 = 0.0;
        for i in 0..100 {
            for j in 0..100 {
                let z = (i as f32 + 0.5) / 50.0 - 1.0;
                let around =
                    Vec2::from_angle(TAU * (j as f32 + 0.5) / 100.0) * (1.0 - z * z).sqrt();
                mean_m2 += solid.projected_area_m2(around.extend(z)) / 1e4;
            }
        }
        let expected_m2 = (2.0 * 6.0 + 2.0 * 1.0 + 2.0 * 1.5) / 4.0;
        assert!(
            (mean_m2 / expected_m2 - 1.0).abs() < 1e-3,
            "{mean_m2} against {expected_m2} m2"
        );
    }

    #[test]
    fn rectangle_points_are_uniform_with_width_along_y() {
        let opening = Aperture::Rectangle {
            width_m: 0.2,
            length_m: 1.2,
        };
        assert_eq!(opening.point(Vec2::ONE), Vec3::new(0.6, 0.1, 0.0));
        let mut mean_radius = 0.0;
        for i in 0..64 {
            for j in 0..64 {
                let u = Vec2::new((i as f32 + 0.5) / 64.0, (j as f32 + 0.5) / 64.0);
                mean_radius += Aperture::Disc { diameter_m: 2.0 }.point(u).length() / 4096.0;
            }
        }
        // Mean distance from the centre of a unit disc is 2/3.
        assert!((mean_radius - 2.0 / 3.0).abs() < 1e-3, "{mean_radius}");
    }
}
