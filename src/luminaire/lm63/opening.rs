//! Luminous opening of an LM-63 file from the signs of width, length and height.
//!
//! Source: IES LM-63-2002, luminous opening table (from memory): positive = straight side, negative = rounded.
//! Files of 1995 and before mean a disc by a negative width alone and a sphere by a negative width and height.
//! Rule where the table is silent: the magnitude is the size, any negative size makes the outline round.

use super::super::aperture::{Aperture, HorizontalAxis};
use super::super::photometry::Lm63Version;
use super::super::warning::PhotometricWarning;

/// A luminous opening longer than this is probably in another unit [m].
const PLAUSIBLE_M: f32 = 20.0;

/// `size_m`: width, length, height with their signs [m].
pub(super) fn aperture(
    size_m: [f64; 3],
    version: Lm63Version,
    warnings: &mut Vec<PhotometricWarning>,
) -> Option<Aperture> {
    let [width_m, length_m, height_m] = size_m;
    if size_m == [0.0; 3] {
        warnings.push(PhotometricWarning::NoOpening);
        return None;
    }
    let found = if size_m.iter().all(|&size_m| size_m >= 0.0) {
        straight(size_m.map(|size_m| size_m as f32))
    } else {
        rounded(size_m, version)
    };
    match found {
        Some(aperture) => {
            let largest_m = aperture.largest_dimension_m();
            if largest_m > PLAUSIBLE_M {
                warnings.push(PhotometricWarning::OpeningImplausible {
                    largest_m: f64::from(largest_m),
                });
            }
        }
        None => warnings.push(PhotometricWarning::OpeningIncomplete {
            width_m,
            length_m,
            height_m,
        }),
    }
    found
}

fn straight([width_m, length_m, height_m]: [f32; 3]) -> Option<Aperture> {
    let sized = [width_m, length_m, height_m]
        .iter()
        .filter(|&&size_m| size_m > 0.0)
        .count();
    if sized < 2 {
        return None;
    }
    Some(if height_m == 0.0 {
        Aperture::Rectangle { width_m, length_m }
    } else {
        // With no width or no length, a standing rectangle.
        Aperture::Box {
            width_m,
            length_m,
            side_height_m: [height_m; 4],
        }
    })
}

/// Sign of a size, with 0 apart.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    None,
    Straight,
    Round,
}

fn rounded(size_m: [f64; 3], version: Lm63Version) -> Option<Aperture> {
    use Side::{None as Zero, Round, Straight};
    let [width_m, length_m, height_m] = size_m.map(|size_m| size_m.abs() as f32);
    let side = |size_m: f64| {
        if size_m < 0.0 {
            Round
        } else if size_m > 0.0 {
            Straight
        } else {
            Zero
        }
    };
    let disc = |diameter_m| Aperture::Disc { diameter_m };
    let lying = |diameter_m, length_m, axis| Aperture::HorizontalCylinder {
        diameter_m,
        length_m,
        axis,
    };
    let standing = |width_m, facing| Aperture::VerticalEllipse {
        width_m,
        height_m,
        facing,
    };
    let upright = |width_m, length_m| Aperture::Cylinder {
        width_m,
        length_m,
        height_m,
    };
    Some(match size_m.map(side) {
        // Flat.
        [Round, Zero, Zero] => disc(width_m),
        [Zero, Round, Zero] => disc(length_m),
        [_, _, Zero] if width_m == length_m => disc(width_m),
        [_, _, Zero] => Aperture::Ellipse { width_m, length_m },
        // Upright cylinders; with one size, that of old files, round ones.
        [Round, Zero, Straight] => upright(width_m, width_m),
        [Zero, Round, Straight] => upright(length_m, length_m),
        [_, _, Straight] => upright(width_m, length_m),
        // Round in height too.
        [Round, Straight, Round] => lying(width_m, length_m, HorizontalAxis::C0),
        [Straight, Round, Round] => lying(length_m, width_m, HorizontalAxis::C90),
        [Round, Zero, Round] => {
            let old = !matches!(version, Lm63Version::V2002 | Lm63Version::V2019);
            if old && width_m == height_m {
                Aperture::Sphere {
                    diameter_m: width_m,
                }
            } else {
                standing(width_m, HorizontalAxis::C0)
            }
        }
        [Zero, Round, Round] => standing(length_m, HorizontalAxis::C90),
        [Round, Round, Round] if width_m == length_m && length_m == height_m => Aperture::Sphere {
            diameter_m: width_m,
        },
        [Round, Round, Round] | [Straight, Straight, Round] => Aperture::Ellipsoid {
            width_m,
            length_m,
            height_m,
        },
        [Straight, Zero, Round] => standing(width_m, HorizontalAxis::C0),
        [Zero, Straight, Round] => standing(length_m, HorizontalAxis::C90),
        [Zero, Zero, Round] => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of the luminous opening table, and the variants of older files.
    #[test]
    fn signs_give_the_outline() {
        use Aperture::*;
        let new = Lm63Version::V2002;
        let old = Lm63Version::V1995;
        let (width_m, length_m, height_m) = (0.2, 0.5, 0.1);
        let rows = [
            ([0.2, 0.5, 0.0], new, Rectangle { width_m, length_m }),
            (
                [0.2, 0.5, 0.1],
                new,
                Box {
                    width_m,
                    length_m,
                    side_height_m: [0.1; 4],
                },
            ),
            ([-0.2, -0.2, 0.0], new, Disc { diameter_m: 0.2 }),
            ([-0.2, 0.0, 0.0], old, Disc { diameter_m: 0.2 }),
            ([0.0, -0.2, 0.0], old, Disc { diameter_m: 0.2 }),
            ([-0.2, -0.5, 0.0], new, Ellipse { width_m, length_m }),
            (
                [-0.2, -0.5, 0.1],
                new,
                Cylinder {
                    width_m,
                    length_m,
                    height_m,
                },
            ),
            (
                [-0.2, 0.0, 0.1],
                old,
                Cylinder {
                    width_m,
                    length_m: 0.2,
                    height_m,
                },
            ),
            ([-0.2, -0.2, -0.2], new, Sphere { diameter_m: 0.2 }),
            ([-0.2, 0.0, -0.2], old, Sphere { diameter_m: 0.2 }),
            (
                [-0.2, 0.0, -0.2],
                new,
                VerticalEllipse {
                    width_m,
                    height_m: 0.2,
                    facing: HorizontalAxis::C0,
                },
            ),
            (
                [-0.2, -0.5, -0.1],
                new,
                Ellipsoid {
                    width_m,
                    length_m,
                    height_m,
                },
            ),
            (
                [-0.2, 0.5, -0.2],
                new,
                HorizontalCylinder {
                    diameter_m: 0.2,
                    length_m,
                    axis: HorizontalAxis::C0,
                },
            ),
            (
                [0.5, -0.2, -0.2],
                new,
                HorizontalCylinder {
                    diameter_m: 0.2,
                    length_m: 0.5,
                    axis: HorizontalAxis::C90,
                },
            ),
        ];
        for (size_m, version, expected) in rows {
            let mut warnings = Vec::new();
            let found = aperture(size_m, version, &mut warnings);
            assert_eq!(found, Some(expected), "{size_m:?}");
            assert!(warnings.is_empty(), "{size_m:?}");
        }
        let mut warnings = Vec::new();
        assert_eq!(aperture([0.0; 3], new, &mut warnings), None);
        assert_eq!(aperture([0.2, 0.0, 0.0], new, &mut warnings), None);
        assert_eq!(warnings.len(), 2);
    }
}
