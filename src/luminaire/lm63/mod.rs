//! ANSI/IES LM-63 reader, 1986 to 2019.
//!
//! Order of the entries: IES LM-63-2002. Everything after the TILT line is one stream of numbers separated by
//! blanks, tabs, commas or line ends, never read line by line. Candela = listed value x candela multiplier x
//! ballast factor, and x the number after it only in files of 1986 and 1991 (ballast-lamp photometric factor);
//! in 1995 and 2002 that number is reserved, in 2019 it is a code for how the file was made. Lamp count and
//! lumens never multiply.

mod header;
mod numbers;
mod opening;

use super::error::{AngleListKind, PhotometryError};
use super::photometry::{
    LampSet, PhotometricFormat, PhotometricType, Photometry, note_radiometric, stated_cct_k,
};
use super::planes::{ListedTable, lm63_symmetry, note_extra, read_angles, read_intensities};
use super::source::{Comma, Source, Tokens};
use super::warning::PhotometricWarning;

pub(super) use header::{is_format_line, tilt_value};

/// Reads the decoded lines of an LM-63 file.
pub(super) fn read(
    source: &Source<'_>,
    mut warnings: Vec<PhotometricWarning>,
) -> Result<Photometry, PhotometryError> {
    let header = header::read(source, &mut warnings)?;
    let mut tokens = Tokens::new(source, header.number_line_index, Comma::Separator);
    let tilt = if header.tilt_included {
        Some(numbers::read_tilt(&mut tokens, &mut warnings)?)
    } else {
        None
    };
    let numbers = numbers::read(&mut tokens, header.version, &mut warnings)?;
    let vertical = read_angles(&mut tokens, numbers.vertical_count, AngleListKind::Vertical)?;
    let planes = read_angles(
        &mut tokens,
        numbers.horizontal_count,
        AngleListKind::Horizontal,
    )?;
    let symmetry = lm63_symmetry(numbers.photometric_type, &planes, &mut warnings)?;
    let intensity_cd = read_intensities(
        &mut tokens,
        numbers.horizontal_count,
        numbers.vertical_count,
        numbers.factor,
        &mut warnings,
    )?;
    note_extra(&mut tokens, &mut warnings);

    let (vertical_range, horizontal_range) = (vertical.range(), planes.range());
    let table = ListedTable {
        photometric_type: numbers.photometric_type,
        symmetry,
        vertical,
        planes,
        intensity_cd,
    };
    let (distribution, peak) = table.build(&mut warnings)?;
    let flux_lm = distribution.flux_lm();
    let aperture = opening::aperture(numbers.opening_m, header.version, &mut warnings);
    let is_radiometric = note_radiometric(&header.keywords, &mut warnings);
    note_surplus(numbers.lamp_flux_lm, flux_lm, &mut warnings);
    let lamp_flux_lm = numbers.lamp_flux_lm.map(|flux_lm| flux_lm as f32);
    Ok(Photometry {
        file_name: source.file.to_owned(),
        luminaire_name: header.luminaire_name(),
        format: PhotometricFormat::Lm63 {
            version: header.version,
        },
        photometric_type: numbers.photometric_type,
        symmetry,
        vertical: vertical_range,
        horizontal: horizontal_range,
        stored_plane_count: numbers.horizontal_count,
        distribution,
        peak,
        flux_lm,
        lamp_flux_lm,
        lamp_sets: vec![LampSet {
            lamp_count: numbers.lamp_count,
            name: header.text_of(&["LAMP", "LAMPCAT"]).to_owned(),
            flux_lm: lamp_flux_lm,
            colour: String::new(),
            rendering: String::new(),
            watts: numbers.watts,
        }],
        watts: numbers.watts,
        aperture,
        cct_k: cct_k(&header.keywords),
        tilt,
        is_radiometric,
        keywords: header.keywords,
        warnings,
    })
}

/// Notes intensities that add up to more than the lamps give.
fn note_surplus(
    lamp_flux_lm: Option<f64>,
    integrated_lm: f64,
    warnings: &mut Vec<PhotometricWarning>,
) {
    // 5 %: published tables are rounded and integrated in coarse zones.
    if let Some(lamp_flux_lm) = lamp_flux_lm
        && integrated_lm > 1.05 * lamp_flux_lm
    {
        warnings.push(PhotometricWarning::MoreThanLamps {
            lamp_flux_lm,
            integrated_lm,
        });
    }
}

/// Colour temperature from its own keyword, else from the text about lamp and luminaire [K].
fn cct_k(keywords: &[(String, String)]) -> Option<f32> {
    let own = keywords.iter().find_map(|(key, text)| {
        let about_colour = key.contains("CCT") || key.contains("COLORTEMP");
        stated_cct_k(text, about_colour).filter(|_| about_colour)
    });
    own.or_else(|| {
        keywords
            .iter()
            .filter(|(key, _)| key.contains("LAMP") || key.starts_with("LUM"))
            .find_map(|(_, text)| stated_cct_k(text, false))
    })
}

/// Photometric type of its number in the file.
fn photometric_type(number: usize) -> PhotometricType {
    match number {
        2 => PhotometricType::B,
        3 => PhotometricType::A,
        _ => PhotometricType::C,
    }
}
