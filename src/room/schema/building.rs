//! The site and the building: finishes, glazings, spaces, openings, rooflights, solids.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{PlanPoint, one};
use crate::material::{Glazing, MaterialError};

/// Where the building stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SiteFile {
    /// Latitude, north positive [deg].
    pub latitude_deg: f64,
    /// Longitude, east positive [deg].
    pub longitude_deg: f64,
    /// Height above the sea [m].
    #[serde(default)]
    pub elevation_m: f64,
    /// IANA time zone, e.g. "Europe/Lisbon".
    pub zone: String,
    /// True bearing of plan +y, clockwise from north [deg].
    #[serde(default)]
    pub bearing_deg: f64,
    /// Reflectance of the ground outside.
    #[serde(default = "default_ground")]
    pub ground_reflectance: f32,
    /// Reflectance of the building's own outside, where its windows can see it.
    #[serde(default = "default_ground")]
    pub facade_reflectance: f32,
    /// Luminous turbidity of clear skies: about 2.5 clean, 3 rural, 4.5 city.
    #[serde(default = "default_turbidity")]
    pub turbidity: f64,
}

fn default_ground() -> f32 {
    0.2
}

fn default_turbidity() -> f64 {
    3.0
}

/// A diffuse finish.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Finish {
    /// Share of light thrown back, 0..=1.
    pub reflectance: f32,
    /// Hue for pictures: linear Rec. 709, any scale.
    #[serde(default = "grey")]
    pub hue_rgb: (f32, f32, f32),
}

fn grey() -> (f32, f32, f32) {
    (1.0, 1.0, 1.0)
}

/// A named glazing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GlazingFile {
    /// Visible transmittance straight through, 0..=1.
    pub transmittance: f32,
    /// Panes of glass, 1 to 3: sets how transmittance falls with angle.
    #[serde(default = "two")]
    pub pane_count: u8,
    /// Transmittance at angles of incidence, (degrees, value) rising from 0, where the maker gives it; in place
    /// of `transmittance` and `pane_count`.
    #[serde(default)]
    pub by_angle: Vec<(f32, f32)>,
    /// Share of the transmitted light that is scattered (etched or fritted glass), 0..=1.
    #[serde(default)]
    pub diffusing: f32,
}

fn two() -> u8 {
    2
}

impl GlazingFile {
    /// The glazing of its description.
    pub(in crate::room) fn glazing(&self) -> Result<Glazing, MaterialError> {
        if self.by_angle.is_empty() {
            Glazing::new(self.transmittance, self.pane_count)
        } else {
            Glazing::by_angle(&self.by_angle)
        }
    }
}

/// A part of the building with one floor and one ceiling.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Space {
    /// Name, unique.
    pub name: String,
    /// Corners of the plan; wall i runs from corner i to the next.
    pub outline_m: Vec<PlanPoint>,
    /// Height of the floor.
    #[serde(default)]
    pub floor_m: f32,
    /// The ceiling.
    pub ceiling: Ceiling,
    /// Finish of the walls.
    pub walls: String,
    /// Finishes of single walls, by index.
    #[serde(default)]
    pub wall_finishes: BTreeMap<usize, String>,
    /// Finish of the floor.
    pub floor: String,
    /// Finish of the ceiling.
    pub ceiling_finish: String,
}

/// Shape of a ceiling. Heights above datum, as floors.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Ceiling {
    /// Level.
    Flat {
        /// Height.
        height_m: f32,
    },
    /// A plane that rises from one place to another on the plan.
    Sloped {
        /// Plan point and height at the low end.
        low: (f32, f32, f32),
        /// Plan point and height at the high end.
        high: (f32, f32, f32),
    },
    /// None: open to the sky.
    Open {
        /// Height of the walls.
        height_m: f32,
    },
}

/// A window, door or plain opening in a wall.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// Name, unique.
    pub name: String,
    /// Name of the space.
    pub space: String,
    /// Index of the wall.
    pub wall: usize,
    /// Distance from the wall's first corner to the nearer edge.
    pub offset_m: f32,
    /// Width.
    pub width_m: f32,
    /// Height of the lower edge above the space's floor.
    #[serde(default)]
    pub sill_m: f32,
    /// Height from lower to upper edge.
    pub height_m: f32,
    /// Depth from the wall's face to the glass.
    #[serde(default)]
    pub reveal_m: f32,
    /// What fills it.
    pub filling: Filling,
}

/// What fills an opening.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Filling {
    /// Glass to the outside.
    Window(WindowFilling),
    /// Glass to another space, or to no space that is modelled (a lit void).
    Inner(WindowFilling),
    /// A closed door.
    Door {
        /// Finish of the leaf.
        finish: String,
    },
    /// Nothing; to another space where one touches, else to the outside.
    Open,
}

/// A glazed filling.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WindowFilling {
    /// Name of the glazing.
    pub glazing: String,
    /// Share of the opening that is frame, 0..1.
    #[serde(default)]
    pub frame_share: f32,
    /// What dirt leaves of the light, 0..=1.
    #[serde(default = "one")]
    pub dirt: f32,
    /// Blind, where there is one.
    #[serde(default)]
    pub blind: Option<Blind>,
}

/// A fabric blind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Blind {
    /// Share of the window that is covered, 0..=1.
    pub drawn: f32,
    /// Share of the fabric that is open holes: passes light unscattered, 0..=1.
    #[serde(default)]
    pub openness: f32,
    /// Share of light that the fabric passes scattered, 0..=1.
    #[serde(default)]
    pub scattered: f32,
}

/// An opening in the ceiling of a space.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rooflight {
    /// Name, unique.
    pub name: String,
    /// Name of the space.
    pub space: String,
    /// Corners on the plan, inside the space.
    pub outline_m: Vec<PlanPoint>,
    /// Height of the shaft from ceiling to glass.
    #[serde(default)]
    pub shaft_m: f32,
    /// Finish of the shaft's sides.
    #[serde(default)]
    pub shaft_finish: Option<String>,
    /// What fills it.
    pub filling: WindowFilling,
}

/// A box or a prism.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solid {
    /// Name, unique.
    pub name: String,
    /// Corners on the plan.
    pub outline_m: Vec<PlanPoint>,
    /// Height of its underside.
    #[serde(default)]
    pub from_m: f32,
    /// Height of its top.
    pub to_m: f32,
    /// Finish of all its faces.
    pub finish: String,
    /// Whether it stands outside.
    #[serde(default)]
    pub outside: bool,
}
