//! What the window shows and remembers: plain data, changed only by commands.

mod advice;
mod asking;
mod charted;
mod pins;
mod plan;
mod presenting;

use std::collections::BTreeSet;

use bevy::ecs::resource::Resource;

use super::engine::Clock;
use crate::image::Exposure;

pub use advice::{Advice, Advised};
pub use asking::{Asking, Then};
pub use charted::Charted;
pub use pins::{Pin, PinOn, Pins, on_tile};
pub use plan::{Desk, MOST_PLANS, NowLight, Plan};
pub use presenting::Presenting;

/// A thing of the room that can be chosen.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Thing {
    /// The piece and where it hangs.
    Piece,
    /// Another place worth comparing (index).
    Candidate(usize),
    /// A fixture (index).
    Fixture(usize),
    /// A kind of fixture.
    FixtureType(String),
    /// A window, door or opening (index).
    Opening(usize),
    /// A rooflight (index).
    Rooflight(usize),
    /// A walk (index).
    Walk(usize),
    /// A solid (index).
    Solid(usize),
    /// A space (index).
    Space(usize),
    /// A finish.
    Finish(String),
    /// A glazing.
    Glazing(String),
    /// Where the building stands.
    Site,
    /// Limits for flags, and what a study covers.
    Limits,
}

/// What is chosen.
#[derive(Resource, Clone, Debug, Default, PartialEq)]
pub struct Chosen {
    /// The thing whose details are shown.
    pub thing: Option<Thing>,
    /// Tiles of the piece, by number.
    pub tiles: BTreeSet<u32>,
}

/// The moment that is shown.
#[derive(Resource, Clone, Debug, PartialEq)]
pub struct Moment {
    /// Day, time and sky.
    pub clock: Clock,
    /// Minutes of the day that pass in a second while the day plays.
    pub speed_min_s: f32,
    /// Whether the day plays.
    pub playing: bool,
    /// Part of a minute that has passed.
    pub rest_min: f32,
}

/// How the room is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum ViewKind {
    /// With a visitor's eye.
    #[default]
    Visitor,
    /// From outside, turning about the room.
    Around,
    /// From above, as a drawing.
    Plan,
}

/// What is drawn besides the picture.
#[derive(Resource, Clone, Debug, Default, PartialEq)]
pub struct Showing {
    /// Which way the room is looked at.
    pub view: ViewKind,
    /// The eye's adaptation.
    pub exposure: Exposure,
    /// That of the eye in the plan beside.
    pub exposure_beside: Exposure,
    /// Luminances as colours instead of a picture.
    pub false_colour: bool,
    /// The sun's path of the day.
    pub sun_path: bool,
    /// In the chart: the difference to the plan beside instead of both.
    pub difference: bool,
    /// Fixture (index) whose aim the next click sets.
    pub aiming: Option<usize>,
    /// Parts of the window that are folded away.
    pub folded: Folded,
}

/// Parts of the window that are folded away.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Folded {
    /// The list of things.
    pub things: bool,
    /// The details.
    pub details: bool,
    /// Clock and chart.
    pub day: bool,
}

/// A sentence at the foot of the window, for a while.
#[derive(Resource, Clone, Debug, Default, PartialEq)]
pub struct Notice {
    /// What happened.
    pub text: String,
    /// Until when it stays [s of the app's clock].
    pub until_s: f64,
    /// Whether it is about something that went wrong.
    pub wrong: bool,
}
