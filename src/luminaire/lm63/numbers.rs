//! The tilt block and the thirteen numbers before the angles of an LM-63 file.

use super::super::axis::MOST_ANGLES;
use super::super::distribution::MOST_INTENSITIES;
use super::super::error::{AngleListKind, PhotometryError};
use super::super::item::Item;
use super::super::photometry::{Lm63Version, PhotometricType, TiltTable};
use super::super::planes::read_angles;
use super::super::source::{Token, Tokens, shorten};
use super::super::warning::PhotometricWarning;
use crate::units::METRES_PER_FOOT;

/// Most pairs in a tilt block.
const MOST_TILT_PAIRS: usize = 1000;
/// Most lamps, a limit against nonsense.
const MOST_LAMPS: f64 = 1.0e6;

pub(super) struct Numbers {
    pub(super) lamp_count: u32,
    /// Rated flux of all lamps [lm]; none for absolute photometry.
    pub(super) lamp_flux_lm: Option<f64>,
    /// All factors on the listed intensities.
    pub(super) factor: f64,
    pub(super) vertical_count: usize,
    pub(super) horizontal_count: usize,
    pub(super) photometric_type: PhotometricType,
    /// Width, length, height with the signs of the file [m].
    pub(super) opening_m: [f64; 3],
    pub(super) watts: Option<f32>,
}

/// Reads the block after `TILT=INCLUDE`.
pub(super) fn read_tilt(
    tokens: &mut Tokens<'_>,
    warnings: &mut Vec<PhotometricWarning>,
) -> Result<TiltTable, PhotometryError> {
    let (geometry, _) = tokens.count(Item::TiltGeometry, 1, 3)?;
    let (count, _) = tokens.count(Item::TiltCount, 1, MOST_TILT_PAIRS)?;
    let angles = read_angles(tokens, count, AngleListKind::Tilt)?;
    let mut factor = Vec::with_capacity(count);
    for index in 1..=count {
        let item = Item::TiltFactor { index, count };
        let (value, token) = tokens.number(item)?;
        if !(0.0..=10.0).contains(&value) {
            return Err(bad_value(tokens, &token, item, "a factor from 0 to 10"));
        }
        factor.push(value);
    }
    let smallest_factor = factor.iter().copied().fold(f64::INFINITY, f64::min);
    if smallest_factor < 1.0 {
        warnings.push(PhotometricWarning::TiltNotApplied { smallest_factor });
    }
    Ok(TiltTable {
        // In 1..=3.
        geometry: geometry as u8,
        angle_deg: angles.angle_deg,
        factor,
    })
}

/// Reads the numbers from the lamp count to the input watts.
pub(super) fn read(
    tokens: &mut Tokens<'_>,
    version: Lm63Version,
    warnings: &mut Vec<PhotometricWarning>,
) -> Result<Numbers, PhotometryError> {
    let (lamps, _) = tokens.number(Item::LampCount)?;
    let (lumens_per_lamp, _) = tokens.number(Item::LumensPerLamp)?;
    let multiplier = read_factor(tokens, Item::CandelaMultiplier)?;
    let (vertical_count, _) = tokens.count(Item::VerticalCount, 2, MOST_ANGLES)?;
    let (horizontal_count, token) = tokens.count(Item::HorizontalCount, 1, MOST_ANGLES)?;
    if vertical_count * horizontal_count > MOST_INTENSITIES {
        return Err(PhotometryError::TooLarge {
            at: tokens.place(&token),
            vertical_count,
            horizontal_count,
            most: MOST_INTENSITIES,
        });
    }
    let (type_number, _) = tokens.count(Item::PhotometricType, 1, 3)?;
    let (units, _) = tokens.count(Item::Units, 1, 2)?;
    let opening_m = read_opening(tokens, if units == 1 { METRES_PER_FOOT } else { 1.0 })?;
    let ballast_factor = read_factor(tokens, Item::BallastFactor)?;
    let twelfth = read_twelfth(tokens, version, warnings)?;
    let (watts, _) = tokens.number(Item::InputWatts)?;
    // A count below 1 is nonsense that changes nothing: the lumens belong to the luminaire's lamps.
    let lamps = lamps.round().clamp(1.0, MOST_LAMPS);
    let lamp_flux_lm = lamps * lumens_per_lamp;
    Ok(Numbers {
        lamp_count: lamps as u32,
        lamp_flux_lm: (lumens_per_lamp > 0.0).then_some(lamp_flux_lm),
        factor: multiplier * ballast_factor * twelfth,
        vertical_count,
        horizontal_count,
        photometric_type: super::photometric_type(type_number),
        opening_m,
        watts: (watts > 0.0).then_some(watts as f32),
    })
}

/// Width, length and height, with their signs [m].
fn read_opening(
    tokens: &mut Tokens<'_>,
    metres_per_unit: f64,
) -> Result<[f64; 3], PhotometryError> {
    let mut opening_m = [0.0; 3];
    let sizes = [Item::OpeningWidth, Item::OpeningLength, Item::OpeningHeight];
    for (size_m, item) in opening_m.iter_mut().zip(sizes) {
        let (size, token) = tokens.number(item)?;
        *size_m = size * metres_per_unit;
        if size.abs() > 1.0e6 {
            return Err(bad_value(tokens, &token, item, "a size up to a million"));
        }
    }
    Ok(opening_m)
}

/// The number after the ballast factor, as a factor: 1 where the version does not multiply by it.
fn read_twelfth(
    tokens: &mut Tokens<'_>,
    version: Lm63Version,
    warnings: &mut Vec<PhotometricWarning>,
) -> Result<f64, PhotometryError> {
    match version {
        Lm63Version::V1986 | Lm63Version::V1991 => read_factor(tokens, Item::TwelfthNumber),
        Lm63Version::V1995 | Lm63Version::V2002 => {
            let (value, _) = tokens.number(Item::TwelfthNumber)?;
            if value != 1.0 {
                warnings.push(PhotometricWarning::ReservedNumberIgnored { value });
            }
            Ok(1.0)
        }
        Lm63Version::V2019 => tokens.number(Item::TwelfthNumber).map(|_| 1.0),
    }
}

/// A factor on the intensities: 0 would leave no light, less would turn it round.
fn read_factor(tokens: &mut Tokens<'_>, item: Item) -> Result<f64, PhotometryError> {
    let (value, token) = tokens.number(item)?;
    if value <= 0.0 {
        return Err(bad_value(
            tokens,
            &token,
            item,
            "a factor above 0 (with 0 the fixture gives no light)",
        ));
    }
    Ok(value)
}

fn bad_value(
    tokens: &Tokens<'_>,
    token: &Token<'_>,
    what: Item,
    allowed: &'static str,
) -> PhotometryError {
    PhotometryError::BadValue {
        at: tokens.place(token),
        what,
        found: shorten(token.text),
        allowed,
    }
}
