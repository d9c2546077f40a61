//! Visitors' paths.

use serde::{Deserialize, Serialize};

use super::{PlanPoint, one};

/// A visitor's path.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Walk {
    /// Name, unique.
    pub name: String,
    /// Corners on the plan.
    pub points_m: Vec<PlanPoint>,
    /// Height of the floor under the walk, above datum.
    #[serde(default)]
    pub floor_m: f32,
    /// Heights of the floor at each of `points_m`, for stairs and ramps; in place of `floor_m`.
    #[serde(default)]
    pub floors_m: Vec<f32>,
    /// Height of the eye above that floor.
    #[serde(default = "standing")]
    pub eye_m: f32,
    /// Walking speed [m/s].
    #[serde(default = "strolling")]
    pub speed_m_s: f32,
    /// Distance between stations.
    #[serde(default = "half")]
    pub step_m: f32,
    /// Where eyes point.
    #[serde(default)]
    pub look: Look,
    /// Hours at which people walk here: from, to, as "HH:MM".
    #[serde(default)]
    pub open: Option<(String, String)>,
    /// Share of all visitors, any scale.
    #[serde(default = "one")]
    pub share: f32,
    /// Age of the observer, for glare and contrast [years].
    #[serde(default = "observer_age")]
    pub age_years: f32,
    /// Names for places along the walk.
    #[serde(default)]
    pub marks: Vec<Mark>,
    /// Whether people walk up or down stairs here.
    #[serde(default)]
    pub stairs: bool,
}

fn standing() -> f32 {
    1.55
}

fn strolling() -> f32 {
    0.8
}

fn half() -> f32 {
    0.5
}

fn observer_age() -> f32 {
    60.0
}

/// A named place along a walk.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// Distance from the start.
    pub at_m: f32,
    /// Name, e.g. "the lift".
    pub name: String,
}

/// Where eyes point.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Look {
    /// At the middle of the piece.
    #[default]
    Piece,
    /// Ahead along the walk.
    Ahead,
    /// At a point: plan x, plan y, height.
    At(f32, f32, f32),
}
