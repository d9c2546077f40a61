//! Intensities listed by vertical and horizontal angle, read bilinearly by the values of the angles.
//!
//! # Frame
//! Luminaire frame: x = C0 (photometric horizontal), y = C90, z up. Source of Type C: IES LM-63-2002,
//! section 3; gamma from straight down, C counter-clockwise seen from above, so that the direction is
//! (sin g cos C, sin g sin C, -cos g).
//!
//! Types B and A keep their own angles, so that listed values are met exactly. With aim a = -z (H 0, V 0),
//! u = +x (the direction of V 90 for Type B, LM-63-2002: "photometric horizontal is H 0, V 90") and
//! p = a x u = -y (H counts clockwise for A and B, LM-63-2002, seen with u up):
//! - B (polar axis p): d = cos H cos V a + cos H sin V u + sin H p; solid angle cos H dH dV.
//! - A (polar axis u): d = cos V cos H a + cos V sin H p + sin V u; solid angle cos V dH dV.
//!
//! The standard calls V -90 the photometric zero of Type A; here, as for B, the axis H 0, V 0 is put where
//! an unaimed fixture points, straight down. The sense of H is read from one source and matters only for
//! files that are not symmetric about H 0.

use std::f32::consts::{FRAC_PI_2, PI, TAU};

use glam::Vec3;

use super::axis::{AngleAxis, AngleWeight};

/// Which angles the table is listed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Coordinates {
    TypeA,
    TypeB,
    TypeC,
}

/// How the listed planes stand for the rest. Angles [rad].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Spread {
    /// One plane, round about the axis (Type C).
    Round,
    /// 0..90, mirrored twice (Type C).
    Quadrant,
    /// Half a turn from the start angle, mirrored about the plane through it (Type C).
    Half { start_rad: f32 },
    /// A full turn from the start angle, the closing plane included (Type C).
    Turn { start_rad: f32 },
    /// Both signs of the horizontal angle alike (Types A and B).
    MirroredH,
    /// As listed (Types A and B).
    Listed,
}

/// Intensities over two lists of angles.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct IntensityTable {
    pub(super) coordinates: Coordinates,
    pub(super) vertical: AngleAxis,
    /// Absent for a round distribution.
    pub(super) horizontal: Option<AngleAxis>,
    pub(super) spread: Spread,
    /// Both signs of the vertical angle alike (Types A and B that start at 0).
    pub(super) vertical_mirrored: bool,
    /// Plane-major: plane x vertical count, vertical angle fastest. As long as the axes say.
    pub(super) intensity_cd: Vec<f32>,
}

impl IntensityTable {
    /// Intensity [cd]; 0 outside the listed angles.
    #[inline]
    pub(super) fn intensity_cd(&self, direction: Vec3) -> f32 {
        let (vertical_rad, horizontal_rad) = self.angles_of(direction);
        let Some((v, v_fraction)) = self.vertical.locate(vertical_rad) else {
            return 0.0;
        };
        let Some(axis) = &self.horizontal else {
            return self.along_plane(0, v, v_fraction);
        };
        let (h, h_fraction) = match self.spread {
            Spread::MirroredH | Spread::Listed => match axis.locate(horizontal_rad) {
                Some(place) => place,
                None => return 0.0,
            },
            _ => axis.locate_clamped(horizontal_rad),
        };
        let low = self.along_plane(h, v, v_fraction);
        let high = self.along_plane(h + 1, v, v_fraction);
        low + (high - low) * h_fraction
    }

    /// Linear between vertical angles v and v + 1 of a plane.
    #[inline]
    fn along_plane(&self, plane: usize, v: usize, fraction: f32) -> f32 {
        let start = plane * self.vertical.angles_rad().len() + v;
        // locate() gives v <= count - 2 and plane <= planes - 1, and the table has planes x count entries.
        let (low, high) = (self.intensity_cd[start], self.intensity_cd[start + 1]);
        low + (high - low) * fraction
    }

    /// Vertical and horizontal angle of a direction, folded into the listed range by the symmetry [rad].
    #[inline]
    fn angles_of(&self, direction: Vec3) -> (f32, f32) {
        let (x, y, z) = (direction.x, direction.y, direction.z);
        match self.coordinates {
            Coordinates::TypeC => {
                let gamma_rad = (x * x + y * y).sqrt().atan2(-z);
                if self.spread == Spread::Round {
                    return (gamma_rad, 0.0);
                }
                (gamma_rad, fold_plane(self.spread, y.atan2(x)))
            }
            Coordinates::TypeB => {
                let latitude_rad = (-y).atan2((x * x + z * z).sqrt());
                self.mirror(x.atan2(-z), latitude_rad)
            }
            Coordinates::TypeA => {
                let latitude_rad = x.atan2((y * y + z * z).sqrt());
                self.mirror(latitude_rad, (-y).atan2(-z))
            }
        }
    }

    #[inline]
    fn mirror(&self, vertical_rad: f32, horizontal_rad: f32) -> (f32, f32) {
        (
            if self.vertical_mirrored {
                vertical_rad.abs()
            } else {
                vertical_rad
            },
            if self.spread == Spread::MirroredH {
                horizontal_rad.abs()
            } else {
                horizontal_rad
            },
        )
    }

    /// Direction of listed angles; the inverse of the lookup.
    pub(super) fn direction(&self, vertical_rad: f32, horizontal_rad: f32) -> Vec3 {
        let (sin_v, cos_v) = vertical_rad.sin_cos();
        let (sin_h, cos_h) = horizontal_rad.sin_cos();
        match self.coordinates {
            Coordinates::TypeC => Vec3::new(sin_v * cos_h, sin_v * sin_h, -cos_v),
            Coordinates::TypeB => Vec3::new(cos_h * sin_v, -sin_h, -cos_h * cos_v),
            Coordinates::TypeA => Vec3::new(sin_v, -cos_v * sin_h, -cos_v * cos_h),
        }
    }

    /// Largest listed intensity, the first of equals, with its listed angles: [cd], [rad], [rad].
    pub(super) fn peak(&self) -> (f32, f32, f32) {
        let mut peak_index = 0;
        let mut peak_cd = f32::NEG_INFINITY;
        for (index, &intensity_cd) in self.intensity_cd.iter().enumerate() {
            if intensity_cd > peak_cd {
                (peak_index, peak_cd) = (index, intensity_cd);
            }
        }
        let angles_rad = self.vertical.angles_rad();
        let plane = peak_index / angles_rad.len();
        let horizontal_rad = match &self.horizontal {
            Some(axis) => axis.angles_rad().get(plane).copied().unwrap_or(0.0),
            None => 0.0,
        };
        // The remainder is below the length.
        (
            peak_cd,
            angles_rad[peak_index % angles_rad.len()],
            horizontal_rad,
        )
    }

    /// Luminous flux [lm]: exact integral over the sphere of the bilinear interpolant.
    pub(super) fn flux_lm(&self) -> f64 {
        let (v_density, h_density) = match self.coordinates {
            Coordinates::TypeC => (AngleWeight::Sine, AngleWeight::One),
            Coordinates::TypeB => (AngleWeight::One, AngleWeight::Cosine),
            Coordinates::TypeA => (AngleWeight::Cosine, AngleWeight::One),
        };
        let copies = match self.spread {
            Spread::Quadrant => 4.0,
            Spread::Half { .. } | Spread::MirroredH => 2.0,
            Spread::Round | Spread::Turn { .. } | Spread::Listed => 1.0,
        };
        let v_weights = self.vertical.integration_weights(v_density);
        let h_weights = match &self.horizontal {
            Some(axis) => axis.integration_weights(h_density),
            None => vec![std::f64::consts::TAU],
        };
        let planes = self.intensity_cd.chunks_exact(v_weights.len());
        let sum: f64 = planes
            .zip(&h_weights)
            .map(|(plane, h_weight)| {
                let along: f64 = plane
                    .iter()
                    .zip(&v_weights)
                    .map(|(&intensity_cd, v_weight)| f64::from(intensity_cd) * v_weight)
                    .sum();
                along * h_weight
            })
            .sum();
        sum * copies * if self.vertical_mirrored { 2.0 } else { 1.0 }
    }
}

/// Folds an angle C in -pi..=pi into the listed planes [rad].
#[inline]
fn fold_plane(spread: Spread, plane_rad: f32) -> f32 {
    match spread {
        Spread::Quadrant => {
            let half = plane_rad.abs();
            if half > FRAC_PI_2 { PI - half } else { half }
        }
        Spread::Half { start_rad } => {
            let beyond = (plane_rad - start_rad).rem_euclid(TAU);
            start_rad + if beyond > PI { TAU - beyond } else { beyond }
        }
        Spread::Turn { start_rad } => start_rad + (plane_rad - start_rad).rem_euclid(TAU),
        Spread::Round | Spread::MirroredH | Spread::Listed => plane_rad,
    }
}
