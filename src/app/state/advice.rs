//! What was advised, what is tried of it, and the search under way.

use std::sync::Arc;

use bevy::ecs::resource::Resource;

use crate::{
    advice::{
        aim::LampPlan,
        grain::{GrainPlan, with_arrows},
        rank::{Ranking, taken},
    },
    app::adviser::{AdviceKind, Adviser, Told},
    room::RoomFile,
};

/// One thing that was advised.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Advised {
    /// A place of the ranking (index).
    Place(usize),
    /// The fixtures.
    Lamps,
    /// The fixtures by the rule of thumb.
    ByRule,
    /// The arrows.
    Grain,
}

/// Advice.
#[derive(Resource, Default)]
pub struct Advice {
    /// What is shown in place of the details.
    pub shown: Option<AdviceKind>,
    /// Places, and the room they were judged in.
    pub hang: Option<(Arc<RoomFile>, Ranking)>,
    /// Fixtures.
    pub lamps: Option<(Arc<RoomFile>, Box<LampPlan>)>,
    /// Arrows.
    pub grain: Option<(Arc<RoomFile>, Box<GrainPlan>)>,
    /// The search under way.
    pub running: Option<Adviser>,
    /// What is shown for trial while the pointer rests on it, and the room with it.
    pub preview: Option<(Advised, Arc<RoomFile>)>,
    /// Counts previews, so that the engine sees another room.
    pub previews: u64,
    /// Why a search gave nothing.
    pub failed: Option<String>,
}

/// Revisions of rooms that are only tried begin here, above all that are edited.
const PREVIEW_REVISIONS: u64 = 1 << 40;

impl Advice {
    /// Takes what the search has told; whether anything came.
    pub fn poll(&mut self) -> bool {
        let Some(running) = &self.running else {
            return false;
        };
        let of = Arc::clone(&running.of);
        let told = running.told();
        let any = !told.is_empty();
        for told in told {
            match told {
                Told::Hang(ranking) => self.hang = Some((Arc::clone(&of), ranking)),
                Told::Lamps(plan) => self.lamps = Some((Arc::clone(&of), plan)),
                Told::Grain(plan) => self.grain = Some((Arc::clone(&of), plan)),
                Told::Failed(why) => self.failed = why,
                Told::Done => self.running = None,
            }
        }
        any
    }

    /// The room with something advised in it, and what that is in words; `None` where it is gone or the room's fixtures
    /// are others by now.
    pub fn applied(&self, room: &RoomFile, advised: Advised) -> Option<(RoomFile, String)> {
        let with_fixtures = |source: &RoomFile, next: &RoomFile| {
            let known = room.fixtures == source.fixtures || room.fixtures == next.fixtures;
            known.then(|| RoomFile {
                fixtures: next.fixtures.clone(),
                ..room.clone()
            })
        };
        match advised {
            Advised::Place(index) => {
                let place = &self.hang.as_ref()?.1.places.get(index)?.placement;
                Some((taken(room, place), format!("hang at {}", place.name)))
            }
            Advised::Lamps => {
                let (source, plan) = self.lamps.as_ref()?;
                let next = with_fixtures(source, &plan.file)?;
                Some((next, "fit the fixtures advised".into()))
            }
            Advised::ByRule => {
                let (source, plan) = self.lamps.as_ref()?;
                let next = with_fixtures(source, &plan.by_rule.as_ref()?.0)?;
                Some((next, "fit fixtures by the 30-degree rule".into()))
            }
            Advised::Grain => {
                let (_, plan) = self.grain.as_ref()?;
                let next = with_arrows(room, &plan.turned);
                Some((next, format!("turn {} tiles", plan.turned.len())))
            }
        }
    }

    /// Shows something for trial, or no longer.
    pub fn try_out(&mut self, room: &RoomFile, advised: Option<Advised>) {
        self.preview = advised.and_then(|a| {
            let (next, _) = self.applied(room, a)?;
            // What is in the room already needs no trial.
            (next != *room).then(|| (a, Arc::new(next)))
        });
        self.previews += 1;
    }

    /// The room that is tried and its revision.
    pub fn tried(&self) -> Option<(u64, &Arc<RoomFile>)> {
        let (_, room) = self.preview.as_ref()?;
        Some((PREVIEW_REVISIONS + self.previews, room))
    }

    /// Lets all go, for another room.
    pub fn clear(&mut self) {
        *self = Self {
            shown: self.shown,
            previews: self.previews,
            ..Self::default()
        };
    }
}
