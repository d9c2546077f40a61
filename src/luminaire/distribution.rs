//! Where a luminaire sends its light: luminous intensity [cd] by direction in the luminaire frame.
//!
//! Frame: x = C0, y = C90, z up; an unaimed luminaire points straight down. Direction of the angles
//! (C, gamma): (sin g cos C, sin g sin C, -cos g). Far field only: the distance must be large against the
//! luminous opening (five times its largest dimension for about 1 %).

use std::f32::consts::{PI, TAU};

use glam::Vec3;

use super::axis::{AngleAxis, MOST_ANGLES};
use super::profile::BeamProfile;
use super::table::{Coordinates, IntensityTable, Spread};

/// Most intensities in a table.
pub(super) const MOST_INTENSITIES: usize = 2_000_000;

/// Luminous intensity by direction. See the module for the frame.
#[derive(Debug, Clone, PartialEq)]
pub struct IntensityDistribution {
    shape: Shape,
    /// Factor on every intensity (dimming, maintenance).
    scale: f32,
}

#[derive(Debug, Clone, PartialEq)]
enum Shape {
    Isotropic { intensity_cd: f32 },
    Lambertian { peak_cd: f32 },
    Profile(BeamProfile),
    Table(IntensityTable),
}

/// Why a table of intensities was refused.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum IntensityTableError {
    /// Angles not ascending, fewer than needed, or too many.
    #[error("{what} must be finite and ascending, {least} to {most} of them")]
    Angles {
        /// `"gamma_rad"` or `"plane_rad"`.
        what: &'static str,
        /// Fewest.
        least: usize,
        /// Most.
        most: usize,
    },
    /// gamma outside 0..=pi, or planes over more than a turn.
    #[error("{what} from {first_rad} to {last_rad} rad spans more than {allowed_rad} rad from 0")]
    Range {
        /// `"gamma_rad"` or `"plane_rad"`.
        what: &'static str,
        /// First angle [rad].
        first_rad: f32,
        /// Last angle [rad].
        last_rad: f32,
        /// Allowed span [rad].
        allowed_rad: f32,
    },
    /// Number of intensities is not planes x gammas, or above the limit.
    #[error("{found} intensities, expected {expected}, at most {most}")]
    Length {
        /// Found.
        found: usize,
        /// Planes x gammas.
        expected: usize,
        /// Limit.
        most: usize,
    },
    /// An intensity below zero or not finite.
    #[error("intensity {index} is {found_cd} cd, which is no finite number from 0 up")]
    Intensity {
        /// Index from 0.
        index: usize,
        /// Its value [cd].
        found_cd: f32,
    },
}

impl IntensityDistribution {
    /// Table of Type C intensities; bilinear in (C, gamma), 0 outside the listed gamma.
    ///
    /// - `gamma_rad`: ascending in 0..=pi, 0 = down [rad]; at least 2, steps may be uneven
    /// - `plane_rad`: ascending C angles of a whole turn [rad], the closing plane given or not; one plane
    ///   means round about the axis
    /// - `intensity_cd`: plane-major, planes x gammas, gamma fastest [cd]
    pub fn from_table(
        gamma_rad: Vec<f32>,
        plane_rad: Vec<f32>,
        intensity_cd: Vec<f32>,
    ) -> Result<Self, IntensityTableError> {
        if let Some((index, &found_cd)) = intensity_cd
            .iter()
            .enumerate()
            .find(|&(_, &value)| !value.is_finite() || value < 0.0)
        {
            return Err(IntensityTableError::Intensity { index, found_cd });
        }
        let spread = match plane_rad.first() {
            Some(&start_rad) if plane_rad.len() > 1 => Spread::Turn { start_rad },
            _ => Spread::Round,
        };
        Self::from_listed(
            Coordinates::TypeC,
            spread,
            false,
            gamma_rad,
            plane_rad,
            intensity_cd,
        )
    }

    /// Table with its symmetry. The intensities were checked by the caller.
    pub(super) fn from_listed(
        coordinates: Coordinates,
        spread: Spread,
        vertical_mirrored: bool,
        vertical_rad: Vec<f32>,
        mut plane_rad: Vec<f32>,
        mut intensity_cd: Vec<f32>,
    ) -> Result<Self, IntensityTableError> {
        let expected = vertical_rad.len().saturating_mul(plane_rad.len());
        if intensity_cd.len() != expected || expected > MOST_INTENSITIES {
            return Err(IntensityTableError::Length {
                found: intensity_cd.len(),
                expected,
                most: MOST_INTENSITIES,
            });
        }
        let count = vertical_rad.len();
        let vertical = AngleAxis::new(vertical_rad).ok_or(IntensityTableError::Angles {
            what: "gamma_rad",
            least: 2,
            most: MOST_ANGLES,
        })?;
        if coordinates == Coordinates::TypeC {
            check_range(
                "gamma_rad",
                vertical.first_rad(),
                vertical.last_rad(),
                PI,
                0.0,
            )?;
        }
        let plane_error = IntensityTableError::Angles {
            what: "plane_rad",
            least: 1,
            most: MOST_ANGLES,
        };
        if let Spread::Turn { start_rad } = spread {
            let last_rad = *plane_rad.last().ok_or(plane_error)?;
            check_range("plane_rad", start_rad, last_rad, TAU, start_rad)?;
            if last_rad < start_rad + TAU - CLOSING_TOLERANCE_RAD {
                // The closing plane is the first one again; there are count intensities by the length check.
                plane_rad.push(start_rad + TAU);
                intensity_cd.extend_from_within(..count);
            }
        }
        let horizontal = if spread == Spread::Round {
            if plane_rad.len() != 1 {
                return Err(plane_error);
            }
            None
        } else {
            Some(AngleAxis::new(plane_rad).ok_or(plane_error)?)
        };
        Ok(Self {
            shape: Shape::Table(IntensityTable {
                coordinates,
                vertical,
                horizontal,
                spread,
                vertical_mirrored,
                intensity_cd,
            }),
            scale: 1.0,
        })
    }

    /// I = peak x cos(gamma) below the horizon, 0 above; `peak_cd` >= 0 [cd]. Flux is pi x peak.
    pub fn lambertian(peak_cd: f32) -> Self {
        debug_assert!(peak_cd.is_finite() && peak_cd >= 0.0);
        Self {
            shape: Shape::Lambertian { peak_cd },
            scale: 1.0,
        }
    }

    /// The same intensity in every direction; `intensity_cd` >= 0 [cd]. Flux is 4 pi x intensity.
    pub fn isotropic(intensity_cd: f32) -> Self {
        debug_assert!(intensity_cd.is_finite() && intensity_cd >= 0.0);
        Self {
            shape: Shape::Isotropic { intensity_cd },
            scale: 1.0,
        }
    }

    /// Round beam about the downward axis.
    pub(super) fn from_profile(profile: BeamProfile) -> Self {
        Self {
            shape: Shape::Profile(profile),
            scale: 1.0,
        }
    }

    /// The same distribution with every intensity times `factor` (>= 0), such as a maintenance factor.
    #[must_use]
    pub fn scaled(&self, factor: f32) -> Self {
        debug_assert!(factor.is_finite() && factor >= 0.0);
        Self {
            shape: self.shape.clone(),
            scale: self.scale * factor,
        }
    }

    /// Luminous intensity toward a direction that leaves the luminaire [cd].
    ///
    /// `direction` is in the luminaire frame and need not be of unit length (but not zero).
    #[inline]
    pub fn intensity_cd(&self, direction: Vec3) -> f32 {
        let intensity_cd = match &self.shape {
            Shape::Isotropic { intensity_cd } => *intensity_cd,
            Shape::Lambertian { peak_cd } => {
                let length = direction.length();
                if length > 0.0 {
                    peak_cd * (-direction.z / length).max(0.0)
                } else {
                    0.0
                }
            }
            Shape::Profile(profile) => profile.intensity_cd(direction),
            Shape::Table(table) => table.intensity_cd(direction),
        };
        intensity_cd * self.scale
    }

    /// Largest intensity [cd] and its direction as gamma in 0..=pi and C in 0..2 pi [rad].
    ///
    /// Of several equal ones, the first as listed in the file.
    pub fn peak_cd(&self) -> (f32, f32, f32) {
        let (peak_cd, gamma_rad, plane_rad) = match &self.shape {
            Shape::Isotropic { intensity_cd } => (*intensity_cd, 0.0, 0.0),
            Shape::Lambertian { peak_cd } => (*peak_cd, 0.0, 0.0),
            Shape::Profile(profile) => (profile.peak_cd(), 0.0, 0.0),
            Shape::Table(table) => {
                let (peak_cd, vertical_rad, horizontal_rad) = table.peak();
                if table.coordinates == Coordinates::TypeC {
                    (peak_cd, vertical_rad, horizontal_rad.rem_euclid(TAU))
                } else {
                    let (gamma_rad, plane_rad) =
                        angles_from_direction(table.direction(vertical_rad, horizontal_rad));
                    (peak_cd, gamma_rad, plane_rad)
                }
            }
        };
        (peak_cd * self.scale, gamma_rad, plane_rad)
    }

    /// Unit direction of the largest intensity, luminaire frame.
    pub fn peak_dir(&self) -> Vec3 {
        let (_, gamma_rad, plane_rad) = self.peak_cd();
        direction_from_angles(gamma_rad, plane_rad)
    }

    /// Luminous flux [lm]: the integral over the sphere. Exact for the bilinear interpolant of a table and in
    /// closed form for the rest, save beams with both angles given (numeric, better than 1e-6).
    pub fn flux_lm(&self) -> f64 {
        let flux_lm = match &self.shape {
            Shape::Isotropic { intensity_cd } => {
                4.0 * std::f64::consts::PI * f64::from(*intensity_cd)
            }
            Shape::Lambertian { peak_cd } => std::f64::consts::PI * f64::from(*peak_cd),
            Shape::Profile(profile) => profile.flux_per_peak_sr() * f64::from(profile.peak_cd()),
            Shape::Table(table) => table.flux_lm(),
        };
        flux_lm * f64::from(self.scale)
    }

    /// Full angle at 50 % of the peak [rad], as [`super::spread_angle`] says.
    pub fn beam_angle_rad(&self) -> f32 {
        super::spread_angle::full_angle_rad(self, 0.5)
    }

    /// Full angle at 10 % of the peak [rad], as [`super::spread_angle`] says.
    pub fn field_angle_rad(&self) -> f32 {
        super::spread_angle::full_angle_rad(self, 0.1)
    }
}

/// Planes this close to a whole turn need no closing plane [rad] (0.01 degrees).
const CLOSING_TOLERANCE_RAD: f32 = 1.75e-4;

fn check_range(
    what: &'static str,
    first_rad: f32,
    last_rad: f32,
    allowed_rad: f32,
    start_rad: f32,
) -> Result<(), IntensityTableError> {
    if first_rad < start_rad - CLOSING_TOLERANCE_RAD
        || last_rad - start_rad > allowed_rad + CLOSING_TOLERANCE_RAD
    {
        return Err(IntensityTableError::Range {
            what,
            first_rad,
            last_rad,
            allowed_rad,
        });
    }
    Ok(())
}

/// Unit direction of gamma (0 = down) and C [rad], luminaire frame (x = C0, y = C90, z up).
#[inline]
pub fn direction_from_angles(gamma_rad: f32, plane_rad: f32) -> Vec3 {
    let (sin_gamma, cos_gamma) = gamma_rad.sin_cos();
    let (sin_plane, cos_plane) = plane_rad.sin_cos();
    Vec3::new(sin_gamma * cos_plane, sin_gamma * sin_plane, -cos_gamma)
}

/// gamma in 0..=pi and C in 0..2 pi [rad] of a direction of any length but 0.
#[inline]
pub fn angles_from_direction(direction: Vec3) -> (f32, f32) {
    let across = (direction.x * direction.x + direction.y * direction.y).sqrt();
    let plane_rad = direction.y.atan2(direction.x);
    (
        across.atan2(-direction.z),
        if plane_rad < 0.0 {
            plane_rad + TAU
        } else {
            plane_rad
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn open_and_closed_turns_read_alike() {
        let gamma = vec![0.0, 1.0, 2.0];
        let open = IntensityDistribution::from_table(
            gamma.clone(),
            vec![0.0, 2.0, 4.0],
            vec![5.0, 1.0, 0.0, 5.0, 2.0, 0.0, 5.0, 3.0, 0.0],
        )
        .expect("valid table");
        let closed = IntensityDistribution::from_table(
            gamma,
            vec![0.0, 2.0, 4.0, TAU],
            vec![5.0, 1.0, 0.0, 5.0, 2.0, 0.0, 5.0, 3.0, 0.0, 5.0, 1.0, 0.0],
        )
        .expect("valid table");
        for k in 0..100 {
            let direction = direction_from_angles(0.9, k as f32 * 0.07);
            assert_eq!(open.intensity_cd(direction), closed.intensity_cd(direction));
        }
        assert_eq!(open.flux_lm(), closed.flux_lm());
    }

    #[test]
    fn bad_tables_are_refused() {
        let table = IntensityDistribution::from_table;
        for (gamma, plane, cd) in [
            (vec![0.0], vec![0.0], vec![1.0]),
            (vec![0.0, 1.0], vec![], vec![]),
            (vec![0.0, 1.0], vec![0.0], vec![1.0]),
            (vec![1.0, 0.0], vec![0.0], vec![1.0, 1.0]),
            (vec![0.0, f32::NAN], vec![0.0], vec![1.0, 1.0]),
            (vec![0.0, 4.0], vec![0.0], vec![1.0, 1.0]),
            (vec![0.0, 1.0], vec![0.0], vec![1.0, -1.0]),
            (vec![0.0, 1.0], vec![0.0, 7.0], vec![1.0; 4]),
        ] {
            assert!(table(gamma.clone(), plane, cd).is_err(), "gamma {gamma:?}");
        }
    }

    #[test]
    fn scaling_scales_intensity_peak_and_flux() {
        let whole = IntensityDistribution::lambertian(100.0);
        let part = whole.scaled(0.8);
        let direction = direction_from_angles(0.4, 1.0);
        assert!((part.intensity_cd(direction) / whole.intensity_cd(direction) - 0.8).abs() < 1e-6);
        assert!((part.flux_lm() / whole.flux_lm() - 0.8).abs() < 1e-6);
        assert!((part.peak_cd().0 - 80.0).abs() < 1e-4);
    }
}
