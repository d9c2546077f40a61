//! The fields of a room file, as written. Lengths in metres, angles in degrees unless a name says so.

mod advice;
mod building;
mod fixture;
mod placement;
mod study;
mod walk;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::material::MaterialSpec;

pub use advice::{
    AdviceChoices, GrainChoices, GrainWish, HangChoices, LampChoices, LampPlace, Leave, Turns,
    Weights,
};
pub use building::{
    Blind, Ceiling, Filling, Finish, GlazingFile, Opening, Rooflight, SiteFile, Solid, Space,
    WindowFilling,
};
pub use fixture::{Aim, ApertureFile, FixtureFile, FixtureLight, FixtureType};
pub use placement::{PieceSource, Placement, Support, TileChange};
pub use study::{Limits, StudyDefaults};
pub use walk::{Look, Mark, Walk};

/// A point on the plan: (x to the right, y up the page) [m].
pub type PlanPoint = (f32, f32);

fn one() -> f32 {
    1.0
}

/// A whole room file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RoomFile {
    /// Version of the format; see [`super::ROOM_VERSION`].
    pub version: u32,
    /// Name of the project.
    pub name: String,
    /// Anything worth saying; demos say here that they are invented.
    #[serde(default)]
    pub note: String,
    /// Where on earth, and how the plan lies.
    pub site: SiteFile,
    /// Named surface finishes.
    pub finishes: BTreeMap<String, Finish>,
    /// Named glazings.
    #[serde(default)]
    pub glazings: BTreeMap<String, GlazingFile>,
    /// Materials of this project, beside the library's.
    #[serde(default)]
    pub materials: BTreeMap<String, MaterialSpec>,
    /// Rooms, halls, corridors, courts.
    pub spaces: Vec<Space>,
    /// Windows, doors and openings in walls.
    #[serde(default)]
    pub openings: Vec<Opening>,
    /// Openings in ceilings.
    #[serde(default)]
    pub rooflights: Vec<Rooflight>,
    /// Columns, counters, benches, stairs, balconies; and outside: facing buildings, overhangs, trees.
    #[serde(default)]
    pub solids: Vec<Solid>,
    /// Named kinds of fixture.
    #[serde(default)]
    pub fixture_types: BTreeMap<String, FixtureType>,
    /// Fixtures in place.
    #[serde(default)]
    pub fixtures: Vec<FixtureFile>,
    /// Visitors' paths.
    pub walks: Vec<Walk>,
    /// The artwork.
    pub piece: PieceSource,
    /// Single tiles that differ from their layout, by rising number; each tile once.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tile_changes: Vec<TileChange>,
    /// Where it hangs.
    pub placement: Placement,
    /// Other places worth comparing: drawn on the plan, judged by `rank`.
    #[serde(default)]
    pub candidates: Vec<Placement>,
    /// Limits for flags.
    #[serde(default)]
    pub limits: Limits,
    /// What the study covers when the command line does not say.
    #[serde(default)]
    pub study: StudyDefaults,
    /// What advice may change, and what counts in it.
    #[serde(default, skip_serializing_if = "is_default")]
    pub advice: AdviceChoices,
}

fn is_default(advice: &AdviceChoices) -> bool {
    *advice == AdviceChoices::default()
}
