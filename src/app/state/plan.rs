//! Plans of the commission: the one that is edited and those held beside it, with what their engines told.

use std::{collections::BTreeMap, path::PathBuf, sync::Arc};

use bevy::ecs::resource::Resource;

use crate::{
    app::engine::{Answer, Clock, Engine, Glance, Hour, PointAnswer, ProblemAt},
    image::RoomPicture,
    room::{BuiltRoom, RoomFile},
    study::Instant,
    sun::DayLight,
    transport::{LightState, RoomLight},
};

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
    /// Tells plans apart as long as the window is open.
    pub id: u64,
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
        id: u64,
        name: String,
        room: Arc<RoomFile>,
        folder: PathBuf,
        revision: u64,
        engine: Engine,
    ) -> Self {
        Self {
            id,
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
        self.hours
            .values()
            .any(|h| h.on_grid && h.revision != self.revision)
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
            Answer::Hour { hour } => {
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
                // Moments of the clock between those of the chart go when the room is another.
                self.hours
                    .retain(|_, h| h.on_grid || h.revision == hour.revision);
                self.hours.insert(hour.clock.minute, *hour);
            }
            Answer::Points { points, .. } => {
                self.points = points.into_iter().map(|p| (p.asked.pin, p)).collect();
            }
            Answer::Busy(busy) => self.busy = busy,
            Answer::Failed(why) => self.failed = Some(why),
        }
    }

    /// The light of a spot (number), where it was read there, in this room and at this moment.
    pub fn spot(
        &self,
        pin: u32,
        at: Option<bevy::math::Vec3>,
        clock: &Clock,
    ) -> Option<&PointAnswer> {
        let answer = self.points.get(&pin)?;
        let same_place = at.is_none_or(|at| at.distance(answer.asked.point) < 1e-3);
        (answer.clock == *clock && same_place).then_some(answer)
    }
}

/// Most plans at a time, the one that is edited among them.
pub const MOST_PLANS: usize = 7;

/// All plans: the first is the one that is edited, the others are held.
#[derive(Resource)]
pub struct Desk {
    /// The plans.
    pub plans: Vec<Plan>,
    /// The held plan that is shown beside (index, from 1).
    pub beside: Option<usize>,
    /// Whether computing was stopped by the user.
    pub stopped: bool,
    next_id: u64,
}

impl Desk {
    /// A desk with the plan that is edited.
    pub fn new(room: Arc<RoomFile>, folder: PathBuf, revision: u64, engine: Engine) -> Self {
        Self {
            plans: vec![Plan::new(0, "Now".into(), room, folder, revision, engine)],
            beside: None,
            stopped: false,
            next_id: 1,
        }
    }

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

    /// Indices of the plans that are shown, from the left.
    pub fn shown(&self) -> impl Iterator<Item = usize> {
        std::iter::once(0).chain(self.beside.filter(|i| *i < self.plans.len()))
    }

    /// Holds a copy of the plan that is edited, and shows it beside; its index. `None` where there are as many
    /// as can be.
    pub fn hold(&mut self, name: String, engine: Engine) -> Option<usize> {
        if self.plans.len() >= MOST_PLANS {
            return None;
        }
        let live = self.live();
        let mut held = Plan::new(
            self.next_id,
            name,
            Arc::clone(&live.room),
            live.folder.clone(),
            live.revision,
            engine,
        );
        held.hours = live.hours.clone();
        self.next_id += 1;
        self.plans.push(held);
        let index = self.plans.len() - 1;
        self.beside = Some(index);
        Some(index)
    }

    /// Lets a held plan (index, from 1) go.
    pub fn let_go(&mut self, index: usize) {
        if index == 0 || index >= self.plans.len() {
            return;
        }
        self.plans.remove(index);
        self.beside = match self.beside {
            Some(shown) if shown == index => None,
            Some(shown) if shown > index => Some(shown - 1),
            other => other,
        };
    }

    /// Lets all held plans go and starts the edited one afresh, for another room.
    pub fn clear(&mut self) {
        self.plans.truncate(1);
        self.beside = None;
        self.stopped = false;
        let live = self.live_mut();
        live.built = None;
        live.now = None;
        live.glance = None;
        live.hours.clear();
        live.points.clear();
        live.problems.clear();
        live.failed = None;
    }
}
