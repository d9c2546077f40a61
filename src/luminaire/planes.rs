//! From the angles and values of a file to an intensity distribution: arrangement of the planes, factors,
//! and the checks both formats share.

use super::distribution::IntensityDistribution;
use super::error::{AngleListKind, PhotometryError, Place};
use super::item::Item;
use super::photometry::{AngleRange, ListedPeak, PhotometricSymmetry, PhotometricType};
use super::source::{Token, Tokens};
use super::table::{Coordinates, Spread};
use super::warning::PhotometricWarning;

/// Angles in files this close count as equal [deg].
pub(super) const ANGLE_TOLERANCE_DEG: f64 = 0.01;
/// Intensities above this are refused [cd]; the brightest searchlights have some 1e9.
const MOST_INTENSITY_CD: f64 = 1.0e12;
/// Intensities below zero by less than this share of the peak are measuring noise.
const NEGATIVE_NOISE: f64 = 1.0e-3;

/// Angles of a file in degrees, with the place of the first.
pub(super) struct AngleList {
    pub(super) angle_deg: Vec<f64>,
    pub(super) at: Place,
}

impl AngleList {
    pub(super) fn first_deg(&self) -> f64 {
        self.angle_deg.first().copied().unwrap_or(0.0)
    }

    pub(super) fn last_deg(&self) -> f64 {
        self.angle_deg.last().copied().unwrap_or(0.0)
    }

    pub(super) fn range(&self) -> AngleRange {
        AngleRange {
            count: self.angle_deg.len(),
            first_deg: self.first_deg(),
            last_deg: self.last_deg(),
        }
    }

    fn starts_at(&self, angle_deg: f64) -> bool {
        (self.first_deg() - angle_deg).abs() <= ANGLE_TOLERANCE_DEG
    }

    fn ends_at(&self, angle_deg: f64) -> bool {
        (self.last_deg() - angle_deg).abs() <= ANGLE_TOLERANCE_DEG
    }

    fn bad_range(&self, list: AngleListKind, allowed: &'static str) -> PhotometryError {
        PhotometryError::BadAngleRange {
            at: self.at.clone(),
            list,
            first_deg: self.first_deg(),
            last_deg: self.last_deg(),
            allowed,
        }
    }
}

/// Reads `count` (at least 1) strictly ascending angles.
pub(super) fn read_angles(
    tokens: &mut Tokens<'_>,
    count: usize,
    list: AngleListKind,
) -> Result<AngleList, PhotometryError> {
    let mut angle_deg: Vec<f64> = Vec::with_capacity(count);
    let mut at = None;
    for index in 1..=count {
        let item = match list {
            AngleListKind::Vertical => Item::VerticalAngle { index, count },
            AngleListKind::Horizontal => Item::HorizontalAngle { index, count },
            AngleListKind::Tilt => Item::TiltAngle { index, count },
        };
        let (found_deg, token) = tokens.number(item)?;
        let place = || tokens.place(&token);
        if let Some(&previous_deg) = angle_deg.last()
            // Angles that are one number in f32 cannot be told apart later.
            && found_deg as f32 <= previous_deg as f32
        {
            return Err(PhotometryError::NotAscending {
                at: place(),
                list,
                previous_deg,
                found_deg,
            });
        }
        if !(-360.0..=360.0).contains(&found_deg) {
            return Err(PhotometryError::BadValue {
                at: place(),
                what: item,
                found: super::source::shorten(token.text),
                allowed: "an angle from -360 to 360 degrees",
            });
        }
        at.get_or_insert_with(place);
        angle_deg.push(found_deg);
    }
    Ok(AngleList {
        angle_deg,
        at: at.unwrap_or_else(|| Place {
            file: "".into(),
            line: 1,
            column: 1,
        }),
    })
}

/// Reads planes x count intensities and applies one factor [cd per listed unit].
pub(super) fn read_intensities(
    tokens: &mut Tokens<'_>,
    plane_count: usize,
    count: usize,
    factor: f64,
    warnings: &mut Vec<PhotometricWarning>,
) -> Result<Vec<f32>, PhotometryError> {
    let mut intensity_cd = Vec::with_capacity(plane_count * count);
    let mut peak_cd = 0.0_f64;
    let mut lowest: Option<(f64, Token<'_>)> = None;
    let mut first_negative_line = 0;
    let mut negative_count = 0;
    for plane in 1..=plane_count {
        for index in 1..=count {
            let (listed, token) = tokens.number(Item::Intensity {
                index,
                count,
                plane,
                plane_count,
            })?;
            let found_cd = listed * factor;
            if found_cd.is_nan() || found_cd.abs() > MOST_INTENSITY_CD {
                return Err(PhotometryError::IntensityTooLarge {
                    at: tokens.place(&token),
                    found_cd,
                    limit_cd: MOST_INTENSITY_CD,
                });
            }
            peak_cd = peak_cd.max(found_cd);
            if found_cd < 0.0 {
                if negative_count == 0 {
                    first_negative_line = token.line_index + 1;
                }
                negative_count += 1;
                if lowest.is_none_or(|(low_cd, _)| found_cd < low_cd) {
                    lowest = Some((found_cd, token));
                }
            }
            intensity_cd.push(found_cd.max(0.0) as f32);
        }
    }
    if let Some((lowest_cd, token)) = lowest {
        if lowest_cd < -NEGATIVE_NOISE * peak_cd {
            return Err(PhotometryError::NegativeIntensity {
                at: tokens.place(&token),
                found_cd: lowest_cd,
            });
        }
        warnings.push(PhotometricWarning::SmallNegatives {
            line: first_negative_line,
            count: negative_count,
            lowest_cd,
        });
    }
    if peak_cd == 0.0 {
        warnings.push(PhotometricWarning::NoLight);
    }
    Ok(intensity_cd)
}

/// Notes text that follows the table.
pub(super) fn note_extra(tokens: &mut Tokens<'_>, warnings: &mut Vec<PhotometricWarning>) {
    let count = tokens.remaining();
    if let Some(token) = tokens.next() {
        warnings.push(PhotometricWarning::ExtraEntries {
            line: token.line_index + 1,
            count,
        });
    }
}

/// A file's table, ready to become a distribution.
pub(super) struct ListedTable {
    pub(super) photometric_type: PhotometricType,
    pub(super) symmetry: PhotometricSymmetry,
    pub(super) vertical: AngleList,
    /// The planes that have intensities.
    pub(super) planes: AngleList,
    pub(super) intensity_cd: Vec<f32>,
}

impl ListedTable {
    /// Checks the vertical angles and builds the distribution and its peak in the file's angles.
    pub(super) fn build(
        mut self,
        warnings: &mut Vec<PhotometricWarning>,
    ) -> Result<(IntensityDistribution, ListedPeak), PhotometryError> {
        let vertical_mirrored = self.check_vertical(warnings)?;
        let start_rad = self.planes.first_deg().to_radians() as f32;
        let spread = match self.symmetry {
            PhotometricSymmetry::Rotational => Spread::Round,
            PhotometricSymmetry::Quadrant => Spread::Quadrant,
            PhotometricSymmetry::MirrorC0C180 | PhotometricSymmetry::MirrorC90C270 => {
                Spread::Half { start_rad }
            }
            PhotometricSymmetry::MirrorH => Spread::MirroredH,
            PhotometricSymmetry::None if self.photometric_type == PhotometricType::C => {
                self.close_turn(warnings);
                Spread::Turn { start_rad }
            }
            PhotometricSymmetry::None => Spread::Listed,
        };
        let coordinates = match self.photometric_type {
            PhotometricType::A => Coordinates::TypeA,
            PhotometricType::B => Coordinates::TypeB,
            PhotometricType::C => Coordinates::TypeC,
        };
        let peak = self.peak();
        let radians = |list: &AngleList| -> Vec<f32> {
            list.angle_deg
                .iter()
                .map(|angle_deg| angle_deg.to_radians() as f32)
                .collect()
        };
        let distribution = IntensityDistribution::from_listed(
            coordinates,
            spread,
            vertical_mirrored,
            radians(&self.vertical),
            radians(&self.planes),
            self.intensity_cd,
        )
        // Only angles that merge in radians can still fail here.
        .map_err(|_| {
            self.vertical.bad_range(
                AngleListKind::Vertical,
                "steps of at least a thousandth of a degree",
            )
        })?;
        Ok((distribution, peak))
    }

    /// Whether the vertical angles are mirrored.
    fn check_vertical(
        &self,
        warnings: &mut Vec<PhotometricWarning>,
    ) -> Result<bool, PhotometryError> {
        let list = &self.vertical;
        let photometric_type = self.photometric_type;
        let (least, most, allowed) = match photometric_type {
            PhotometricType::C => (0.0, 180.0, "angles within 0 to 180 degrees"),
            PhotometricType::B => (-180.0, 180.0, "angles within -180 to 180 degrees"),
            PhotometricType::A => (-90.0, 90.0, "angles within -90 to 90 degrees"),
        };
        if list.first_deg() < least || list.last_deg() > most {
            return Err(list.bad_range(AngleListKind::Vertical, allowed));
        }
        let usual = match photometric_type {
            PhotometricType::C => {
                (list.starts_at(0.0) || list.starts_at(90.0))
                    && (list.ends_at(90.0) || list.ends_at(180.0))
            }
            PhotometricType::A | PhotometricType::B => {
                warnings.push(PhotometricWarning::TurnedToAim { photometric_type });
                true
            }
        };
        if !usual {
            warnings.push(PhotometricWarning::UnusualVerticalRange {
                first_deg: list.first_deg(),
                last_deg: list.last_deg(),
            });
        }
        let mirrored = photometric_type != PhotometricType::C && list.starts_at(0.0);
        if mirrored {
            warnings.push(PhotometricWarning::VerticalMirrored { photometric_type });
        }
        Ok(mirrored)
    }

    /// Makes the closing plane of a full turn equal to the first, and notes differences and gaps.
    fn close_turn(&mut self, warnings: &mut Vec<PhotometricWarning>) {
        let count = self.vertical.angle_deg.len();
        let (first_deg, last_deg) = (self.planes.first_deg(), self.planes.last_deg());
        let gap_deg = first_deg + 360.0 - last_deg;
        if gap_deg.abs() > ANGLE_TOLERANCE_DEG {
            let widest_deg = self
                .planes
                .angle_deg
                .windows(2)
                .map(|pair| pair[1] - pair[0])
                .fold(0.0, f64::max);
            if gap_deg > 1.5 * widest_deg {
                warnings.push(PhotometricWarning::WideClosingGap { last_deg });
            }
            return;
        }
        let last_start = self.intensity_cd.len().saturating_sub(count);
        let (before, closing) = self.intensity_cd.split_at_mut(last_start);
        let mut difference_cd = 0.0_f32;
        let mut peak_cd = 0.0_f32;
        for (end, start) in closing.iter_mut().zip(before.iter()) {
            difference_cd = difference_cd.max((*end - start).abs());
            peak_cd = peak_cd.max(*start);
            *end = *start;
        }
        if difference_cd > 0.01 * peak_cd {
            warnings.push(PhotometricWarning::ClosingPlanesDiffer {
                difference_cd: f64::from(difference_cd),
            });
        }
    }

    fn peak(&self) -> ListedPeak {
        let mut best = (0, 0.0_f32);
        for (index, &intensity_cd) in self.intensity_cd.iter().enumerate() {
            if intensity_cd > best.1 {
                best = (index, intensity_cd);
            }
        }
        let count = self.vertical.angle_deg.len().max(1);
        let at = |list: &AngleList, index: usize| list.angle_deg.get(index).copied().unwrap_or(0.0);
        let mut horizontal_deg = at(&self.planes, best.0 / count);
        if self.photometric_type == PhotometricType::C {
            horizontal_deg = horizontal_deg.rem_euclid(360.0);
        }
        ListedPeak {
            intensity_cd: best.1,
            vertical_deg: at(&self.vertical, best.0 % count),
            horizontal_deg,
        }
    }
}

/// Symmetry that an LM-63 list of horizontal angles means.
/// Source: IES LM-63-1991 (0 to 0, 90, 180, 360) and LM-63-1995 (90 to 270, from memory).
pub(super) fn lm63_symmetry(
    photometric_type: PhotometricType,
    planes: &AngleList,
    warnings: &mut Vec<PhotometricWarning>,
) -> Result<PhotometricSymmetry, PhotometryError> {
    let refused = |allowed| Err(planes.bad_range(AngleListKind::Horizontal, allowed));
    if photometric_type != PhotometricType::C {
        let limit_deg = if photometric_type == PhotometricType::B {
            90.0
        } else {
            180.0
        };
        if planes.angle_deg.len() < 2 {
            return refused("at least two angles for Types A and B");
        }
        if planes.first_deg() < -limit_deg || planes.last_deg() > limit_deg {
            return refused(if photometric_type == PhotometricType::B {
                "angles within -90 to 90 degrees"
            } else {
                "angles within -180 to 180 degrees"
            });
        }
        return Ok(if planes.starts_at(0.0) {
            PhotometricSymmetry::MirrorH
        } else {
            PhotometricSymmetry::None
        });
    }
    if planes.angle_deg.len() == 1 {
        if !planes.starts_at(0.0) {
            warnings.push(PhotometricWarning::SinglePlaneElsewhere {
                plane_deg: planes.first_deg(),
            });
        }
        return Ok(PhotometricSymmetry::Rotational);
    }
    let last_deg = planes.last_deg();
    if planes.starts_at(0.0) {
        if planes.ends_at(90.0) {
            return Ok(PhotometricSymmetry::Quadrant);
        }
        if planes.ends_at(180.0) {
            return Ok(PhotometricSymmetry::MirrorC0C180);
        }
        if last_deg > 180.0 && last_deg <= 360.0 + ANGLE_TOLERANCE_DEG {
            return Ok(PhotometricSymmetry::None);
        }
    }
    if planes.starts_at(90.0) && planes.ends_at(270.0) {
        return Ok(PhotometricSymmetry::MirrorC90C270);
    }
    refused("0 alone, 0 to 90, 0 to 180, 90 to 270, or 0 to more than 180 and at most 360 degrees")
}
