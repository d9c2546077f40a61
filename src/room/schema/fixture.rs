//! Kinds of fixture, and fixtures in place.

use serde::{Deserialize, Serialize};

use super::one;

/// A kind of fixture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FixtureType {
    /// Where its intensities come from.
    pub light: FixtureLight,
    /// Luminous opening, where the file has none or it should be another.
    #[serde(default)]
    pub aperture: Option<ApertureFile>,
    /// Colour temperature [K].
    #[serde(default = "warm")]
    pub cct_k: f32,
    /// Power [W], for schedules.
    #[serde(default)]
    pub watts: Option<f32>,
    /// Price of one, in whatever money the project counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f32>,
    /// Share of initial light left when maintained, 0..=1.
    #[serde(default = "default_maintenance")]
    pub maintenance_factor: f32,
}

fn warm() -> f32 {
    3000.0
}

fn default_maintenance() -> f32 {
    0.8
}

/// Source of a fixture's intensities.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum FixtureLight {
    /// A photometric file beside the room file.
    File(String),
    /// A generic round beam.
    Beam {
        /// Full angle at half of the centre intensity.
        beam_deg: f32,
        /// Full angle at a tenth of the centre intensity.
        #[serde(default)]
        field_deg: Option<f32>,
        /// Light of the fixture [lm]; give this or `centre_cd`.
        #[serde(default)]
        flux_lm: Option<f32>,
        /// Intensity in the centre [cd].
        #[serde(default)]
        centre_cd: Option<f32>,
    },
}

/// A luminous opening.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum ApertureFile {
    /// Round.
    Disc {
        /// Diameter [mm].
        diameter_mm: f32,
    },
    /// Rectangular.
    Rectangle {
        /// Along the C0 axis [mm].
        length_mm: f32,
        /// Across [mm].
        width_mm: f32,
    },
}

/// A fixture in place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FixtureFile {
    /// Name or number, unique.
    pub name: String,
    /// Name of its kind.
    pub kind: String,
    /// Place: plan x, plan y, height.
    pub at_m: (f32, f32, f32),
    /// Where it aims.
    #[serde(default)]
    pub aim: Aim,
    /// Turn about the aim, counter-clockwise as seen from behind the fixture.
    #[serde(default)]
    pub roll_deg: f32,
    /// Output as a share of full, 0..=1.
    #[serde(default = "one")]
    pub dimming: f32,
    /// Hours at which it is lit: from, to, as "HH:MM"; past midnight where from is later. Always when left out.
    #[serde(default)]
    pub lit: Option<(String, String)>,
}

/// Where a fixture aims.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Aim {
    /// Straight down.
    #[default]
    Down,
    /// Straight up.
    Up,
    /// At a point: plan x, plan y, height.
    At(f32, f32, f32),
    /// At the middle of the piece, or to the side and up from it [m], as seen from its front.
    Piece {
        /// To the right.
        #[serde(default)]
        right_m: f32,
        /// Up.
        #[serde(default)]
        up_m: f32,
    },
}
