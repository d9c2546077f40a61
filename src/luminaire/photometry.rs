//! What a photometric file says, in one plain record.
//!
//! Angles in this record are the file's own and so in degrees; everything else is in SI and photometric units.

use std::fmt;

use super::aperture::Aperture;
use super::distribution::IntensityDistribution;
use super::warning::PhotometricWarning;

/// Year of an LM-63 file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lm63Version {
    /// No format line.
    V1986,
    /// `IESNA91`.
    V1991,
    /// `IESNA:LM-63-1995`.
    V1995,
    /// `IESNA:LM-63-2002`, and format lines of unknown years.
    V2002,
    /// `IES:LM-63-2019`.
    V2019,
}

/// File format.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhotometricFormat {
    /// ANSI/IES LM-63.
    Lm63 {
        /// Its year.
        version: Lm63Version,
    },
    /// EULUMDAT.
    Eulumdat {
        /// Symmetry indicator, 0 to 4 (item 3).
        isym: u8,
    },
}

impl fmt::Display for PhotometricFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let year = match self {
            Self::Eulumdat { isym } => return write!(f, "EULUMDAT (symmetry {isym})"),
            Self::Lm63 { version } => match version {
                Lm63Version::V1986 => 1986,
                Lm63Version::V1991 => 1991,
                Lm63Version::V1995 => 1995,
                Lm63Version::V2002 => 2002,
                Lm63Version::V2019 => 2019,
            },
        };
        write!(f, "LM-63-{year}")
    }
}

/// Which angles a goniometer counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhotometricType {
    /// Upright polar axis, latitude and longitude about the aim (vehicle lamps).
    A,
    /// Horizontal polar axis (floodlights).
    B,
    /// Polar axis through the nadir (nearly all others).
    C,
}

impl fmt::Display for PhotometricType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::A => "A",
            Self::B => "B",
            Self::C => "C",
        })
    }
}

/// How the listed planes stand for the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhotometricSymmetry {
    /// One plane, round about the axis.
    Rotational,
    /// Mirrored about C0-C180 and C90-C270.
    Quadrant,
    /// Mirrored about the plane C0-C180.
    MirrorC0C180,
    /// Mirrored about the plane C90-C270.
    MirrorC90C270,
    /// Types A and B: mirrored about H 0.
    MirrorH,
    /// None.
    None,
}

impl fmt::Display for PhotometricSymmetry {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Rotational => "round about the axis",
            Self::Quadrant => "mirrored about C0-C180 and C90-C270",
            Self::MirrorC0C180 => "mirrored about C0-C180",
            Self::MirrorC90C270 => "mirrored about C90-C270",
            Self::MirrorH => "mirrored about H 0",
            Self::None => "none",
        })
    }
}

/// An angle list as the file has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AngleRange {
    /// Number of angles stated.
    pub count: usize,
    /// First listed [deg].
    pub first_deg: f64,
    /// Last listed [deg].
    pub last_deg: f64,
}

/// Largest intensity, with the angles under which the file lists it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ListedPeak {
    /// With all factors [cd].
    pub intensity_cd: f32,
    /// gamma, or V of Types A and B [deg].
    pub vertical_deg: f64,
    /// C in 0..360, or H of Types A and B [deg].
    pub horizontal_deg: f64,
}

/// `TILT=INCLUDE` block: lamp output against lamp tilt. Kept, never applied.
#[derive(Debug, Clone, PartialEq)]
pub struct TiltTable {
    /// 1 lamp base up or down when the luminaire points down, 2 and 3 lamp horizontal.
    pub geometry: u8,
    /// Lamp tilt angles, ascending [deg].
    pub angle_deg: Vec<f64>,
    /// Share of the lamp output at each.
    pub factor: Vec<f64>,
}

impl TiltTable {
    /// Share of the lamp output at a tilt [deg], linear between and constant beyond the listed angles.
    pub fn factor_at(&self, tilt_deg: f64) -> f64 {
        let mut before: Option<(f64, f64)> = None;
        for (&angle_deg, &factor) in self.angle_deg.iter().zip(&self.factor) {
            if tilt_deg <= angle_deg {
                return match before {
                    Some((low_deg, low)) => {
                        low + (factor - low) * (tilt_deg - low_deg) / (angle_deg - low_deg)
                    }
                    None => factor,
                };
            }
            before = Some((angle_deg, factor));
        }
        before.map_or(1.0, |(_, factor)| factor)
    }
}

/// One set of lamps a EULUMDAT file offers, or the lamps of an LM-63 file.
#[derive(Debug, Clone, PartialEq)]
pub struct LampSet {
    /// Number of lamps (the sign of absolute photometry removed).
    pub lamp_count: u32,
    /// Type, as text.
    pub name: String,
    /// Flux of the whole set; none for absolute photometry [lm].
    pub flux_lm: Option<f32>,
    /// Colour appearance, as text.
    pub colour: String,
    /// Colour rendering, as text.
    pub rendering: String,
    /// Power with ballast, if stated [W].
    pub watts: Option<f32>,
}

/// A photometric file, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Photometry {
    /// File name as given to the reader.
    pub file_name: String,
    /// Name of the luminaire in the file; empty if none.
    pub luminaire_name: String,
    /// Format and version.
    pub format: PhotometricFormat,
    /// Type A, B or C.
    pub photometric_type: PhotometricType,
    /// How the planes stand for the rest.
    pub symmetry: PhotometricSymmetry,
    /// Vertical angles (gamma).
    pub vertical: AngleRange,
    /// Horizontal angles (C-planes); for EULUMDAT all that are listed, stored or not.
    pub horizontal: AngleRange,
    /// Planes with intensities of their own.
    pub stored_plane_count: usize,
    /// Intensities with every factor of the file, luminaire frame.
    pub distribution: IntensityDistribution,
    /// Largest intensity.
    pub peak: ListedPeak,
    /// Flux of the luminaire, by integration [lm].
    pub flux_lm: f64,
    /// Rated flux of all lamps [lm]; none for absolute photometry.
    pub lamp_flux_lm: Option<f32>,
    /// The lamps; the first set is the one used. Never empty.
    pub lamp_sets: Vec<LampSet>,
    /// Input power, if stated [W].
    pub watts: Option<f32>,
    /// Luminous opening; none when the file has no usable size.
    pub aperture: Option<Aperture>,
    /// Colour temperature, if the text states one [K].
    pub cct_k: Option<f32>,
    /// `TILT=INCLUDE` block, if any.
    pub tilt: Option<TiltTable>,
    /// Header text: keyword and text (continuation lines joined by line ends), free text with an empty keyword;
    /// for EULUMDAT the text items under their names.
    pub keywords: Vec<(String, String)>,
    /// Whether the file says that its values are radiometric (mW/sr), so that candela and lumens have no meaning.
    pub is_radiometric: bool,
    /// Findings for the person who lights the room.
    pub warnings: Vec<PhotometricWarning>,
}

impl Photometry {
    /// Whether the intensities are the luminaire's own, not tied to a lamp flux.
    pub fn is_absolute(&self) -> bool {
        self.lamp_flux_lm.is_none()
    }
}

/// Colour temperature stated in a text: a number from 1500 to 20000 followed by K, or, with `bare`, alone [K].
pub(super) fn stated_cct_k(text: &str, bare: bool) -> Option<f32> {
    let bytes = text.as_bytes();
    let mut start = 0;
    while start < bytes.len() {
        let digits = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
        if !digits(start) {
            start += 1;
            continue;
        }
        let mut end = start;
        while digits(end) {
            end += 1;
        }
        // Bounded by the digits found, which are ASCII.
        let number = text
            .get(start..end)
            .and_then(|word| word.parse::<f32>().ok());
        let rest = text.get(end..).unwrap_or("").trim_start();
        let mut after = rest.chars();
        let kelvin = matches!(after.next(), Some('K' | 'k'))
            && !after.next().is_some_and(char::is_alphanumeric);
        let alone = bare && start == 0 && rest.is_empty();
        if let Some(cct_k) = number
            && (1500.0..=20_000.0).contains(&cct_k)
            && (kelvin || alone)
            && !(start > 0 && bytes.get(start - 1).is_some_and(u8::is_ascii_alphanumeric))
        {
            return Some(cct_k);
        }
        start = end;
    }
    None
}

/// Notes header text that says the values are radiometric, and whether there is such text.
pub(super) fn note_radiometric(
    keywords: &[(String, String)],
    warnings: &mut Vec<PhotometricWarning>,
) -> bool {
    const HINTS: [&str; 5] = [
        "mw/sr",
        "w/sr",
        "radiometric unit",
        "watts/steradian",
        "watts per steradian",
    ];
    let found = keywords.iter().find_map(|(_, text)| {
        let lower = text.to_ascii_lowercase();
        HINTS.into_iter().find(|hint| lower.contains(hint))
    });
    if let Some(hint) = found {
        warnings.push(PhotometricWarning::Radiometric {
            hint: hint.to_owned(),
        });
    }
    found.is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colour_temperature_is_found_in_text() {
        assert_eq!(stated_cct_k("LED 3000K CRI 90", false), Some(3000.0));
        assert_eq!(stated_cct_k("4000 K", false), Some(4000.0));
        assert_eq!(stated_cct_k("5079", true), Some(5079.0));
        assert_eq!(stated_cct_k("5079", false), None);
        for text in [
            "50899.2K3",
            "",
            "nw",
            "X3000K",
            "1 x LED",
            "1212 KH",
            "Ra > 80",
        ] {
            assert_eq!(stated_cct_k(text, true), None, "{text}");
        }
    }

    #[test]
    fn tilt_factor_is_linear_between_listed_angles() {
        let tilt = TiltTable {
            geometry: 1,
            angle_deg: vec![0.0, 90.0],
            factor: vec![1.0, 0.8],
        };
        assert_eq!(tilt.factor_at(0.0), 1.0);
        assert!((tilt.factor_at(45.0) - 0.9).abs() < 1e-12);
        assert_eq!(tilt.factor_at(180.0), 0.8);
    }
}
