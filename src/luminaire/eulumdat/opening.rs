//! Luminous opening of a EULUMDAT file (items 16 to 21).

use super::super::aperture::Aperture;
use super::super::warning::PhotometricWarning;
use super::items::OpeningSize;

/// A luminous opening longer than this is probably in another unit [m].
const PLAUSIBLE_M: f64 = 20.0;

/// Width 0 means round with the length as diameter; heights make a solid.
pub(super) fn aperture(
    size: &OpeningSize,
    warnings: &mut Vec<PhotometricWarning>,
) -> Option<Aperture> {
    let height_m = size.side_height_m.iter().copied().fold(0.0, f64::max);
    if size.length_m == 0.0 && size.width_m == 0.0 {
        warnings.push(PhotometricWarning::NoOpening);
        return None;
    }
    if size.length_m == 0.0 {
        warnings.push(PhotometricWarning::OpeningIncomplete {
            width_m: size.width_m,
            length_m: size.length_m,
            height_m,
        });
        return None;
    }
    let largest_m = size.length_m.max(size.width_m).max(height_m);
    if largest_m > PLAUSIBLE_M {
        warnings.push(PhotometricWarning::OpeningImplausible { largest_m });
    }
    // Their length runs along C90, which is the width of an aperture (see the module of the reader).
    let (width_m, length_m) = (size.length_m as f32, size.width_m as f32);
    Some(match (size.width_m == 0.0, height_m == 0.0) {
        (true, true) => Aperture::Disc {
            diameter_m: width_m,
        },
        (true, false) => Aperture::Cylinder {
            width_m,
            length_m: width_m,
            height_m: height_m as f32,
        },
        (false, true) => Aperture::Rectangle { width_m, length_m },
        (false, false) => Aperture::Box {
            width_m,
            length_m,
            side_height_m: size.side_height_m.map(|height_m| height_m as f32),
        },
    })
}
