//! What may be changed when advice is asked for, and what counts in it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::PlanPoint;

/// What advice may change, and what it is judged by.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct AdviceChoices {
    /// Where the piece may hang.
    pub hang: HangChoices,
    /// Which fixtures may be fitted, and where.
    pub lamps: LampChoices,
    /// Which tiles may turn.
    pub grain: GrainChoices,
    /// What counts how much.
    pub weights: Weights,
}

/// Where the piece may hang.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct HangChoices {
    /// Walls that are offered, as (space, index); all when empty.
    pub walls: Vec<(String, usize)>,
    /// Lowest and highest middle of the piece above the floor [m]; the usual height of hanging and the present one when left out.
    pub heights_m: Option<(f32, f32)>,
    /// Turns that the piece allows [deg].
    pub turns_deg: Vec<f32>,
    /// Whether the piece may be made mirrored.
    pub mirror: bool,
    /// Lean of a piece that stands on the floor against a wall, where it may [deg from upright].
    pub leaning_deg: Option<f32>,
    /// Places on the plan where it may stand free, facing any of eight directions.
    pub stands_m: Vec<PlanPoint>,
}

impl Default for HangChoices {
    fn default() -> Self {
        Self {
            walls: Vec::new(),
            heights_m: None,
            turns_deg: vec![0.0, 90.0, 180.0, 270.0],
            mirror: false,
            leaning_deg: None,
            stands_m: Vec::new(),
        }
    }
}

/// Which fixtures may be fitted, and where.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct LampChoices {
    /// Kinds in stock; all of the room's kinds when empty.
    pub stock: Vec<String>,
    /// Where new fixtures may go; none when empty.
    pub places: Vec<LampPlace>,
    /// Most new fixtures.
    pub most: usize,
    /// What may be done to fixtures that are there. Those not named: aimed and dimmed where they aim at the piece,
    /// else untouched.
    pub existing: BTreeMap<String, Leave>,
    /// Instants that the light is planned for, as (civil time, sky).
    pub at: Vec<(String, String)>,
    /// Most illuminance on a tile, new lamps [lx]; the limit of the material's class when left out.
    pub most_lx: Option<f32>,
    /// Least and most mean luminance of the piece over that of the wall around (own choice, after accent practice).
    pub glow: (f32, f32),
}

impl Default for LampChoices {
    fn default() -> Self {
        Self {
            stock: Vec::new(),
            places: Vec::new(),
            most: 4,
            existing: BTreeMap::new(),
            at: [
                ("2026-12-21T18:00", "overcast"),
                ("2026-03-20T12:00", "overcast"),
            ]
            .map(|(time, sky)| (time.to_owned(), sky.to_owned()))
            .to_vec(),
            most_lx: None,
            glow: (1.5, 15.0),
        }
    }
}

/// A place where fixtures may go. Plan x, plan y, height [m].
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum LampPlace {
    /// Anywhere on a track.
    Track {
        /// Name.
        name: String,
        /// One end.
        from_m: (f32, f32, f32),
        /// The other end.
        to_m: (f32, f32, f32),
    },
    /// At one point.
    Point {
        /// Name.
        name: String,
        /// Where.
        at_m: (f32, f32, f32),
    },
    /// Anywhere within an outline at one height.
    Zone {
        /// Name.
        name: String,
        /// Corners on the plan.
        outline_m: Vec<PlanPoint>,
        /// Height.
        height_m: f32,
    },
}

impl LampPlace {
    /// Its name.
    pub fn name(&self) -> &str {
        match self {
            Self::Track { name, .. } | Self::Point { name, .. } | Self::Zone { name, .. } => name,
        }
    }
}

/// What may be done to a fixture that is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Leave {
    /// Nothing.
    Untouched,
    /// Dimmed, not aimed.
    DimOnly,
    /// Aimed and dimmed where it is.
    AimAndDim,
}

/// Which tiles may turn.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct GrainChoices {
    /// Numbers of the tiles that may turn; all when empty.
    pub tiles: Vec<u32>,
    /// How.
    pub turns: Turns,
    /// Whether tiles that have the same arrow and material now go on having the same arrow.
    pub together: bool,
    /// What is wanted.
    pub wish: GrainWish,
    /// Pairs that must not flip, as numbers of tiles; all neighbours when empty.
    pub pairs: Vec<(u32, u32)>,
    /// Name of the walk that counts; the one with most visitors when left out.
    pub walk: Option<String>,
}

impl Default for GrainChoices {
    fn default() -> Self {
        Self {
            tiles: Vec::new(),
            turns: Turns::Steps(15.0),
            together: false,
            wish: GrainWish::Lively,
            pairs: Vec::new(),
            walk: None,
        }
    }
}

/// How a tile may turn.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Turns {
    /// To any multiple of a step [deg].
    Steps(f32),
    /// End for end only.
    Flips,
}

/// What the grain is chosen for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum GrainWish {
    /// As many stations as possible are strong, and neighbouring stations differ.
    Lively,
    /// Matched pairs look alike from everywhere.
    Steady,
}

/// What counts how much when places are compared; every part lies between 0 and 1. Own choice: change them for the project.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Weights {
    /// Share of visitors' time in which the pattern reads or is strong: for.
    pub alive: f32,
    /// Shift s per metre walked, as s / (1 + s): for.
    pub shift: f32,
    /// Share of visitors' time in which the piece is dead: against.
    pub dead: f32,
    /// Share of visitors' time with something glaring in view: against.
    pub glaring: f32,
    /// Year's light over its limit d, as d / (1 + d): against.
    pub dose: f32,
}

impl Default for Weights {
    fn default() -> Self {
        Self {
            alive: 1.0,
            shift: 0.5,
            dead: 0.5,
            glaring: 1.0,
            dose: 0.5,
        }
    }
}
