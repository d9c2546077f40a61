//! EULUMDAT reader.
//!
//! Source: A. Stockmar, "EULUMDAT - ein Leuchtendatenformat fuer den europaeischen Beleuchtungsplaner",
//! Licht '90, 641-644, 1990 (items 26 to 30 from memory). One item a line, blank lines count up to the room
//! index ratios; the angles and intensities after them are read as one stream, so that blank lines there do no
//! harm. Decimal commas are accepted.
//!
//! Intensity = listed value [cd/klm] x flux of the first lamp set / 1000 x conversion factor (1 where it is 0).
//! A negative lamp count marks absolute photometry and changes nothing else. Length of the opening runs along
//! C90 to C270, as in files of the same lamp in both formats: the C0 plane lies across a linear luminaire.

mod items;
mod opening;
mod stored;

use super::axis::MOST_ANGLES;
use super::distribution::MOST_INTENSITIES;
use super::error::{AngleListKind, PhotometryError};
use super::photometry::{
    PhotometricFormat, PhotometricType, Photometry, note_radiometric, stated_cct_k,
};
use super::planes::{ListedTable, note_extra, read_angles, read_intensities};
use super::source::{Comma, Source, Tokens, shorten};
use super::warning::PhotometricWarning;
use items::Items;
use stored::{read_planes, stored_planes};

/// Reads the decoded lines of a EULUMDAT file.
pub(super) fn read(
    source: &Source<'_>,
    mut warnings: Vec<PhotometricWarning>,
) -> Result<Photometry, PhotometryError> {
    let items = Items::read(source, &mut warnings)?;
    let mut tokens = Tokens::new(source, items.angle_line_index, Comma::Decimal);
    let listed = read_planes(&mut tokens, &items)?;
    let vertical = read_angles(&mut tokens, items.gamma_count, AngleListKind::Vertical)?;
    let (symmetry, planes) = stored_planes(&tokens, &items, &listed, &mut warnings)?;
    let intensity_cd = read_intensities(
        &mut tokens,
        planes.angle_deg.len(),
        items.gamma_count,
        items.flux_lm / 1000.0 * items.conversion_factor,
        &mut warnings,
    )?;
    note_extra(&mut tokens, &mut warnings);

    let (vertical_range, mut horizontal_range) = (vertical.range(), listed.range());
    horizontal_range.count = items.plane_count;
    let stored_plane_count = planes.angle_deg.len();
    let table = ListedTable {
        photometric_type: PhotometricType::C,
        symmetry,
        vertical,
        planes,
        intensity_cd,
    };
    let (distribution, peak) = table.build(&mut warnings)?;
    let flux_lm = distribution.flux_lm();
    check_flux(&items, flux_lm, &mut warnings);
    let is_radiometric = note_radiometric(&items.keywords, &mut warnings);
    let aperture = opening::aperture(&items.opening_m, &mut warnings);
    let first_set = items.lamp_sets.first();
    Ok(Photometry {
        file_name: source.file.to_owned(),
        luminaire_name: items.luminaire_name().to_owned(),
        format: PhotometricFormat::Eulumdat { isym: items.isym },
        photometric_type: PhotometricType::C,
        symmetry,
        vertical: vertical_range,
        horizontal: horizontal_range,
        stored_plane_count,
        distribution,
        peak,
        flux_lm,
        lamp_flux_lm: first_set.and_then(|set| set.flux_lm),
        watts: first_set.and_then(|set| set.watts),
        cct_k: first_set.and_then(|set| {
            stated_cct_k(&set.colour, true).or_else(|| stated_cct_k(&set.name, false))
        }),
        lamp_sets: items.lamp_sets,
        aperture,
        tilt: None,
        is_radiometric,
        keywords: items.keywords,
        warnings,
    })
}

/// Integration against lamp flux x light output ratio.
fn check_flux(items: &Items, flux_lm: f64, warnings: &mut Vec<PhotometricWarning>) {
    let stated_lm = items.flux_lm * items.light_output_percent / 100.0;
    // 5 %: coarse planes and rounded ratios.
    if stated_lm > 0.0 && (flux_lm / stated_lm - 1.0).abs() > 0.05 {
        warnings.push(PhotometricWarning::FluxDisagrees {
            stated_lm,
            integrated_lm: flux_lm,
        });
    }
}

/// Whether planes x gammas stay under the limit; both counts are at most [`MOST_ANGLES`].
fn within_limit(plane_count: usize, gamma_count: usize) -> bool {
    debug_assert!(plane_count <= MOST_ANGLES && gamma_count <= MOST_ANGLES);
    plane_count * gamma_count <= MOST_INTENSITIES
}

/// Text of a line for messages.
fn found_text(source: &Source<'_>, line_index: usize) -> String {
    shorten(source.line(line_index))
}
