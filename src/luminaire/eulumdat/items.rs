//! Items 1 to 27 of a EULUMDAT file: everything before the angles, one item a line.

use super::super::axis::MOST_ANGLES;
use super::super::distribution::MOST_INTENSITIES;
use super::super::error::PhotometryError;
use super::super::item::Item;
use super::super::photometry::LampSet;
use super::super::source::{Comma, Source, parse_number, whole_number};
use super::super::warning::PhotometricWarning;
use super::{found_text, within_limit};

/// Most lamp sets; the format description allows 20.
const MOST_LAMP_SETS: usize = 100;
/// Largest flux of a lamp set [lm].
const MOST_FLUX_LM: f64 = 1.0e9;
const MILLIMETRES_PER_METRE: f64 = 1000.0;

/// Luminous area as in items 16 to 21 [m].
pub(super) struct OpeningSize {
    pub(super) length_m: f64,
    pub(super) width_m: f64,
    /// At C0, C90, C180, C270.
    pub(super) side_height_m: [f64; 4],
}

pub(super) struct Items {
    pub(super) isym: u8,
    pub(super) plane_count: usize,
    pub(super) gamma_count: usize,
    pub(super) opening_m: OpeningSize,
    pub(super) light_output_percent: f64,
    pub(super) conversion_factor: f64,
    /// Flux of the first lamp set [lm].
    pub(super) flux_lm: f64,
    pub(super) lamp_sets: Vec<LampSet>,
    pub(super) keywords: Vec<(String, String)>,
    /// Line of the first C-plane angle.
    pub(super) angle_line_index: usize,
}

const fn item(number: &'static str, name: &'static str) -> Item {
    Item::Eulumdat { number, name }
}

/// Text items and their line indices.
const TEXTS: [(&str, usize); 6] = [
    ("company", 0),
    ("report number", 7),
    ("luminaire name", 8),
    ("luminaire number", 9),
    ("file name", 10),
    ("date and user", 11),
];

/// Line index of item 26.
const SET_COUNT_LINE: usize = 25;
const LINES_PER_SET: usize = 6;
const RATIO_LINES: usize = 10;

impl Items {
    pub(super) fn read(
        source: &Source<'_>,
        warnings: &mut Vec<PhotometricWarning>,
    ) -> Result<Self, PhotometryError> {
        let reader = Lines { source };
        let isym = reader.symmetry()?;
        let (plane_count, gamma_count) = reader.counts(isym)?;
        let mut optional = |line_index: usize, item: Item, default: f64| {
            reader.optional(line_index, item, default, warnings)
        };
        let mut metres = |line_index: usize, name: &'static str, number: &'static str| {
            optional(line_index, item(number, name), 0.0).max(0.0) / MILLIMETRES_PER_METRE
        };
        let opening_m = OpeningSize {
            length_m: metres(15, "length of the luminous area", "16"),
            width_m: metres(16, "width of the luminous area", "17"),
            side_height_m: [
                metres(17, "luminous height at C0", "18"),
                metres(18, "luminous height at C90", "19"),
                metres(19, "luminous height at C180", "20"),
                metres(20, "luminous height at C270", "21"),
            ],
        };
        let light_output_percent = optional(22, item("23", "light output ratio"), 0.0);
        let conversion = item("24", "conversion factor");
        let mut conversion_factor = optional(23, conversion, 1.0);
        if conversion_factor < 0.0 {
            return Err(reader.bad_value(23, conversion, "a factor above 0, or 0 for 1"));
        }
        if conversion_factor == 0.0 {
            conversion_factor = 1.0;
        }
        let tilt_deg = optional(24, item("25", "tilt during measurement"), 0.0);
        if tilt_deg != 0.0 {
            warnings.push(PhotometricWarning::MeasuredTilted { tilt_deg });
        }
        let set_count_item = item("26", "number of lamp sets");
        let set_count = reader.count(SET_COUNT_LINE, set_count_item, 1, MOST_LAMP_SETS)?;
        let lamp_sets = (0..set_count)
            .map(|set| reader.lamp_set(SET_COUNT_LINE + 1 + LINES_PER_SET * set))
            .collect::<Result<Vec<_>, _>>()?;
        if let (Some(first), true) = (lamp_sets.first(), set_count > 1) {
            warnings.push(PhotometricWarning::MoreLampSets {
                count: set_count,
                used: first.name.clone(),
            });
        }
        let flux_lm = reader.number(SET_COUNT_LINE + 3, FLUX)?;
        let keywords = TEXTS
            .iter()
            .map(|&(name, index)| {
                let text = source.line(index).trim().trim_matches('"').trim();
                (name.to_owned(), text.to_owned())
            })
            .filter(|(_, text)| !text.is_empty())
            .collect();
        Ok(Self {
            isym,
            plane_count,
            gamma_count,
            opening_m,
            light_output_percent,
            conversion_factor,
            flux_lm,
            lamp_sets,
            keywords,
            angle_line_index: SET_COUNT_LINE + 1 + LINES_PER_SET * set_count + RATIO_LINES,
        })
    }

    pub(super) fn luminaire_name(&self) -> &str {
        ["luminaire name", "luminaire number", "company"]
            .iter()
            .find_map(|name| self.keywords.iter().find(|(key, _)| key == name))
            .map_or("", |(_, text)| text.as_str())
    }
}

const FLUX: Item = item("26c", "total flux of the lamp set");

/// Reads numbers from whole lines.
struct Lines<'s, 'a> {
    source: &'s Source<'a>,
}

impl Lines<'_, '_> {
    fn symmetry(&self) -> Result<u8, PhotometryError> {
        let symmetry = item("3", "symmetry indicator");
        match whole_number(self.number(2, symmetry)?, 0, 4) {
            // At most 4.
            Some(isym) => Ok(isym as u8),
            None => Err(self.bad_value(
                2,
                symmetry,
                "0 none, 1 about the axis, 2 C0-C180, 3 C90-C270, 4 both planes",
            )),
        }
    }

    fn counts(&self, isym: u8) -> Result<(usize, usize), PhotometryError> {
        let least = usize::from(isym != 1);
        let plane_count = self.count(3, Item::HorizontalCount, least, MOST_ANGLES)?;
        let gamma_count = self.count(5, Item::VerticalCount, 2, MOST_ANGLES)?;
        if !within_limit(plane_count, gamma_count) {
            return Err(PhotometryError::TooLarge {
                at: self.source.place_of_text(5),
                vertical_count: gamma_count,
                horizontal_count: plane_count,
                most: MOST_INTENSITIES,
            });
        }
        let (divisor, allowed) = match isym {
            2 => (2, "a multiple of 2 for symmetry 2"),
            3 | 4 => (4, "a multiple of 4 for symmetry 3 or 4"),
            _ => (1, ""),
        };
        if plane_count % divisor != 0 {
            return Err(self.bad_value(3, Item::HorizontalCount, allowed));
        }
        Ok((plane_count, gamma_count))
    }

    /// A line that must hold a number.
    fn number(&self, line_index: usize, expected: Item) -> Result<f64, PhotometryError> {
        if line_index >= self.source.lines.len() {
            return Err(PhotometryError::Truncated {
                at: self.source.end(),
                expected,
            });
        }
        parse_number(self.source.line(line_index), Comma::Decimal).ok_or_else(|| {
            PhotometryError::BadNumber {
                at: self.source.place_of_text(line_index),
                found: found_text(self.source, line_index),
                expected,
            }
        })
    }

    fn count(
        &self,
        line_index: usize,
        what: Item,
        least: usize,
        most: usize,
    ) -> Result<usize, PhotometryError> {
        let value = self.number(line_index, what)?;
        whole_number(value, least, most).ok_or_else(|| PhotometryError::BadCount {
            at: self.source.place_of_text(line_index),
            what,
            found: found_text(self.source, line_index),
            least,
            most,
        })
    }

    /// A line whose number has a default; notes when that is used for want of one.
    fn optional(
        &self,
        line_index: usize,
        item: Item,
        default: f64,
        warnings: &mut Vec<PhotometricWarning>,
    ) -> f64 {
        parse_number(self.source.line(line_index), Comma::Decimal).unwrap_or_else(|| {
            warnings.push(PhotometricWarning::DefaultUsed {
                line: line_index + 1,
                item,
                found: found_text(self.source, line_index),
                default,
            });
            default
        })
    }

    fn bad_value(&self, line_index: usize, what: Item, allowed: &'static str) -> PhotometryError {
        PhotometryError::BadValue {
            at: self.source.place_of_text(line_index),
            what,
            found: found_text(self.source, line_index),
            allowed,
        }
    }

    /// Six lines from `start`: count, type, flux, colour, rendering, watts.
    fn lamp_set(&self, start: usize) -> Result<LampSet, PhotometryError> {
        let lamps = self.number(start, item("26a", "number of lamps"))?;
        let flux_lm = self.number(start + 2, FLUX)?;
        if !(flux_lm > 0.0 && flux_lm <= MOST_FLUX_LM) {
            return Err(self.bad_value(
                start + 2,
                FLUX,
                "lumens above 0 and up to 1e9 (the intensities are listed per 1000 lm of it)",
            ));
        }
        let text = |index: usize| {
            let line = self.source.line(index).trim();
            line.trim_matches('"').trim().to_owned()
        };
        let watts = leading_number(self.source.line(start + 5)).filter(|&watts| watts > 0.0);
        Ok(LampSet {
            lamp_count: lamps.abs().round().clamp(1.0, 1.0e6) as u32,
            name: text(start + 1),
            flux_lm: (lamps >= 0.0).then_some(flux_lm as f32),
            colour: text(start + 3),
            rendering: text(start + 4),
            watts: watts.map(|watts| watts as f32),
        })
    }
}

/// Number at the start of a text such as `29,5 W`.
fn leading_number(text: &str) -> Option<f64> {
    let text = text.trim();
    let end = text
        .find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ',' | '+' | '-'))
        .unwrap_or(text.len());
    parse_number(text.get(..end)?, Comma::Decimal)
}
