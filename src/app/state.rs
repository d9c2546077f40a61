//! What the window shows and remembers: plain data, changed only by commands.

use std::{
    collections::{BTreeMap, BTreeSet},
    path::PathBuf,
    sync::Arc,
};

use bevy::ecs::resource::Resource;

use super::{
    engine::{Answer, Clock, Engine, Glance, Hour, PointAnswer, ProblemAt, RoomPicture},
    typed::LengthUnit,
};
use crate::{
    image::Exposure,
    room::{BuiltRoom, RoomFile},
    study::Instant,
    sun::DayLight,
    transport::{LightState, RoomLight},
};

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
    /// Luminances as colours instead of a picture.
    pub false_colour: bool,
}

/// What the chart shows.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum Charted {
    /// Play: spread between tiles.
    #[default]
    Play,
    /// Glow: the piece over the wall around it.
    Glow,
    /// Shift: change a metre walked.
    Shift,
    /// Mean luminance of the piece.
    Luminance,
}

impl Charted {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Play, Self::Glow, Self::Shift, Self::Luminance];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Play => "Play",
            Self::Glow => "Glow",
            Self::Shift => "Shift",
            Self::Luminance => "Luminance",
        }
    }

    /// What it means.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Play => {
                "Play: how far the bright tiles stand out from the dark ones (luminance that a tenth of the piece \
                 exceeds over the luminance that a tenth falls below). 1 is one flat tone."
            }
            Self::Glow => "Glow: mean luminance of the piece over that of the wall around it",
            Self::Shift => {
                "Shift: how much the pattern changes as one walks on, as the mean change of the logarithm of tile \
                 luminance a metre"
            }
            Self::Luminance => "Mean luminance of the piece toward the eye",
        }
    }

    /// Unit for people, with its space.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Play | Self::Glow => ":1",
            Self::Shift => " per m",
            Self::Luminance => " cd/m\u{b2}",
        }
    }

    /// The value of a reading.
    pub fn of(self, reading: &crate::study::StationReading) -> Option<f32> {
        match self {
            Self::Play => Some(reading.play),
            Self::Glow => Some(reading.glow),
            Self::Shift => reading.shift_per_m,
            Self::Luminance => Some(reading.mean_luminance_cd_m2),
        }
        .filter(|v| v.is_finite())
    }
}

/// The light of one moment as told by the engine.
pub struct NowLight {
    /// Revision of the room that it is for.
    pub revision: u64,
    /// The moment.
    pub clock: Clock,
    /// Sun and time.
    pub instant: Instant,
    /// Sunrise and sunset.
    pub day_light: DayLight,
    /// The prepared room.
    pub light: Arc<RoomLight>,
    /// The solved light.
    pub state: Arc<LightState>,
    /// What is drawn.
    pub picture: RoomPicture,
    /// Counts pictures, so that the drawing side sees a new one.
    pub serial: u64,
}

/// One plan of the commission: the one that is edited, or one held for comparison.
pub struct Plan {
    /// What a person calls it.
    pub name: String,
    /// The room.
    pub room: Arc<RoomFile>,
    /// Folder of the files that it names.
    pub folder: PathBuf,
    /// Revision of the room.
    pub revision: u64,
    /// Its engine.
    pub engine: Engine,
    /// The last sound room and its revision.
    pub built: Option<(u64, Arc<BuiltRoom>)>,
    /// Problems of the room as it is now.
    pub problems: Vec<ProblemAt>,
    /// Light of the moment.
    pub now: Option<NowLight>,
    /// What the eye sees, with the revision.
    pub glance: Option<(u64, Glance)>,
    /// The day's chart: hours by minute, of the day and sky of the clock in it.
    pub hours: BTreeMap<u32, Hour>,
    /// Revision that the hours are for.
    pub hours_revision: u64,
    /// Readings at points.
    pub points: BTreeMap<u32, PointAnswer>,
    /// What the engine does, and how far it is.
    pub busy: Option<(&'static str, f32)>,
    /// The last failure.
    pub failed: Option<String>,
    serial: u64,
}

impl Plan {
    /// A plan with its engine.
    pub fn new(
        name: String,
        room: Arc<RoomFile>,
        folder: PathBuf,
        revision: u64,
        engine: Engine,
    ) -> Self {
        Self {
            name,
            room,
            folder,
            revision,
            engine,
            built: None,
            problems: Vec::new(),
            now: None,
            glance: None,
            hours: BTreeMap::new(),
            hours_revision: 0,
            points: BTreeMap::new(),
            busy: None,
            failed: None,
            serial: 0,
        }
    }

    /// Whether what is shown belongs to an earlier room or moment.
    pub fn is_stale(&self, clock: &Clock) -> bool {
        let now = self.now.as_ref();
        now.is_none_or(|n| n.revision != self.revision || n.clock != *clock)
            && self.problems.is_empty()
    }

    /// Whether the chart is of this room.
    pub fn chart_is_stale(&self) -> bool {
        self.hours_revision != self.revision
    }

    /// Takes an answer of the engine. Answers for rooms that are no longer there are let go, but for the
    /// picture while the hand moves: an old picture is better than none.
    pub fn take(&mut self, answer: Answer, clock: &Clock) {
        match answer {
            Answer::Built { revision, built } => {
                if revision == self.revision {
                    self.problems.clear();
                    self.failed = None;
                }
                self.built = Some((revision, built));
            }
            Answer::Problems { revision, problems } => {
                if revision == self.revision {
                    self.problems = problems;
                }
            }
            Answer::Light {
                revision,
                clock,
                instant,
                day_light,
                light,
                state,
                picture,
            } => {
                self.serial += 1;
                self.now = Some(NowLight {
                    revision,
                    clock,
                    instant: *instant,
                    day_light,
                    light,
                    state,
                    picture,
                    serial: self.serial,
                });
            }
            Answer::Glance { revision, glance } => self.glance = Some((revision, glance)),
            Answer::Hour { revision, hour } => {
                if !hour.clock.same_day(clock) {
                    return;
                }
                let other_day = self
                    .hours
                    .values()
                    .next()
                    .is_some_and(|h| !h.clock.same_day(&hour.clock));
                let other_stations = self.hours.values().next().is_some_and(|h| {
                    let counts =
                        |h: &Hour| h.readings.walks.iter().map(Vec::len).collect::<Vec<_>>();
                    counts(h) != counts(&hour)
                });
                if other_day || other_stations {
                    self.hours.clear();
                }
                self.hours_revision = revision;
                self.hours.insert(hour.clock.minute, *hour);
            }
            Answer::Points { points, .. } => {
                self.points = points.into_iter().map(|p| (p.pin, p)).collect();
            }
            Answer::Busy(busy) => self.busy = busy,
            Answer::Failed(why) => self.failed = Some(why),
        }
    }

    /// The reading of a station of a walk at the moment, or at the nearest studied time of the day.
    pub fn hour_at(&self, minute: u32) -> Option<&Hour> {
        self.hours.get(&minute).or_else(|| {
            self.hours
                .values()
                .min_by_key(|h| h.clock.minute.abs_diff(minute))
        })
    }
}

/// All plans: the first is the one that is edited, the others are held.
#[derive(Resource)]
pub struct Desk {
    /// The plans.
    pub plans: Vec<Plan>,
    /// The held plan that is shown beside (index, from 1).
    pub beside: Option<usize>,
}

impl Desk {
    /// The plan that is edited.
    pub fn live(&self) -> &Plan {
        &self.plans[0]
    }

    /// The plan that is edited.
    pub fn live_mut(&mut self) -> &mut Plan {
        &mut self.plans[0]
    }

    /// The held plan that is shown beside.
    pub fn held(&self) -> Option<&Plan> {
        self.plans.get(self.beside?)
    }
}

/// What the user prefers.
#[derive(Resource, Clone, Debug, Default, PartialEq)]
pub struct Settings {
    /// Unit of lengths.
    pub unit: LengthUnit,
    /// What the chart shows.
    pub charted: Charted,
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
