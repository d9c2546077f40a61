//! C-plane angles of a EULUMDAT file, and which of the planes have intensities (items 28 and 30).

use super::super::error::{AngleListKind, PhotometryError};
use super::super::item::Item;
use super::super::photometry::PhotometricSymmetry;
use super::super::planes::{ANGLE_TOLERANCE_DEG, AngleList, read_angles};
use super::super::source::Tokens;
use super::super::warning::PhotometricWarning;
use super::items::Items;

/// Reads the C-plane angles. A round luminaire needs none of them, so their order is not checked there.
pub(super) fn read_planes(
    tokens: &mut Tokens<'_>,
    items: &Items,
) -> Result<AngleList, PhotometryError> {
    let count = items.plane_count;
    if items.isym != 1 {
        return read_angles(tokens, count, AngleListKind::Horizontal);
    }
    let at = match tokens.clone().next() {
        Some(token) => tokens.place(&token),
        None => tokens.end(),
    };
    let angle_deg = (1..=count)
        .map(|index| {
            let (angle_deg, _) = tokens.number(Item::HorizontalAngle { index, count })?;
            Ok(angle_deg)
        })
        .collect::<Result<Vec<f64>, PhotometryError>>()?;
    if angle_deg.is_empty() {
        // A round luminaire that lists no plane.
        return Ok(AngleList {
            angle_deg: vec![0.0],
            at,
        });
    }
    Ok(AngleList { angle_deg, at })
}

/// Planes of a symmetry: the first as an index, how many, and the angles they must span [deg].
struct Stored {
    symmetry: PhotometricSymmetry,
    start: usize,
    count: usize,
    span_deg: Option<(f64, f64)>,
    allowed: &'static str,
}

fn stored(isym: u8, plane_count: usize) -> Stored {
    let (symmetry, start, count, span_deg, allowed) = match isym {
        0 => (PhotometricSymmetry::None, 0, plane_count, None, ""),
        1 => (PhotometricSymmetry::Rotational, 0, 1, None, ""),
        2 => (
            PhotometricSymmetry::MirrorC0C180,
            0,
            plane_count / 2 + 1,
            Some((0.0, 180.0)),
            "stored planes from 0 to 180 degrees (symmetry 2)",
        ),
        3 => (
            PhotometricSymmetry::MirrorC90C270,
            3 * plane_count / 4,
            plane_count / 2 + 1,
            Some((-90.0, 90.0)),
            "stored planes from 270 through 0 to 90 degrees (symmetry 3)",
        ),
        _ => (
            PhotometricSymmetry::Quadrant,
            0,
            plane_count / 4 + 1,
            Some((0.0, 90.0)),
            "stored planes from 0 to 90 degrees (symmetry 4)",
        ),
    };
    Stored {
        symmetry,
        start,
        count,
        span_deg,
        allowed,
    }
}

/// The planes that have intensities, by symmetry; C270 to C90 for symmetry 3 are listed as -90 to 90.
pub(super) fn stored_planes(
    tokens: &Tokens<'_>,
    items: &Items,
    listed: &AngleList,
    warnings: &mut Vec<PhotometricWarning>,
) -> Result<(PhotometricSymmetry, AngleList), PhotometryError> {
    let plane_count = items.plane_count.max(1);
    let stored = stored(items.isym, plane_count);
    let with_angles = |angle_deg: Vec<f64>| AngleList {
        angle_deg,
        at: listed.at.clone(),
    };
    if stored.symmetry == PhotometricSymmetry::Rotational {
        return Ok((stored.symmetry, with_angles(vec![0.0])));
    }
    // Some writers store every plane whatever the symmetry.
    let every =
        stored.count != plane_count && tokens.remaining() == plane_count * items.gamma_count;
    if every {
        warnings.push(PhotometricWarning::AllPlanesStored {
            plane_count,
            isym: items.isym,
        });
    }
    if every || stored.symmetry == PhotometricSymmetry::None {
        let symmetry = if plane_count == 1 {
            PhotometricSymmetry::Rotational
        } else {
            PhotometricSymmetry::None
        };
        let planes = check_turn(with_angles(listed.angle_deg.clone()))?;
        return Ok((symmetry, planes));
    }
    let angle_deg = (stored.start..stored.start + stored.count).map(|index| {
        let at = index % plane_count;
        let angle_deg = listed.angle_deg.get(at).copied().unwrap_or(0.0);
        // Symmetry 3 runs through C0: the planes before it count down from 0.
        if stored.start > 0 && index < plane_count {
            angle_deg - 360.0
        } else {
            angle_deg
        }
    });
    let planes = with_angles(angle_deg.collect());
    let close = |a: f64, b: f64| (a - b).abs() <= ANGLE_TOLERANCE_DEG;
    match stored.span_deg {
        Some((first_deg, last_deg))
            if !close(planes.first_deg(), first_deg) || !close(planes.last_deg(), last_deg) =>
        {
            Err(bad_range(planes, stored.allowed))
        }
        _ => Ok((stored.symmetry, planes)),
    }
}

/// Planes without symmetry must lie within one turn from 0.
fn check_turn(planes: AngleList) -> Result<AngleList, PhotometryError> {
    let (first_deg, last_deg) = (planes.first_deg(), planes.last_deg());
    if first_deg < 0.0 || last_deg - first_deg > 360.0 + ANGLE_TOLERANCE_DEG {
        return Err(bad_range(planes, "planes within 0 to 360 degrees"));
    }
    Ok(planes)
}

fn bad_range(planes: AngleList, allowed: &'static str) -> PhotometryError {
    PhotometryError::BadAngleRange {
        first_deg: planes.first_deg(),
        last_deg: planes.last_deg(),
        at: planes.at,
        list: AngleListKind::Horizontal,
        allowed,
    }
}
