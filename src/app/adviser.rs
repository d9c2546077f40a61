//! A search beside the window: one thread that tells what it finds, and can be stopped.

use std::sync::{
    Arc, Mutex, PoisonError,
    mpsc::{Receiver, channel},
};

use super::engine::{Wake, on_workers};
use crate::{
    advice::{
        AdviceError,
        aim::{AimSettings, LampPlan, aim},
        grain::{GrainPlan, GrainSettings, grain},
        rank::{RankSettings, Ranking, rank},
    },
    room::{BuiltRoom, RoomFile},
    study::{StudyRequest, TimeChoiceError},
    transport::{Progress, SolveError},
};

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum AdviceKind {
    /// Where the piece hangs.
    Hang,
    /// Which fixtures light it.
    Lamps,
    /// How its grain lies.
    Grain,
}

impl AdviceKind {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Hang, Self::Lamps, Self::Grain];

    /// What it is called in the window.
    pub fn name(self) -> &'static str {
        match self {
            Self::Hang => "Where to hang it",
            Self::Lamps => "Which fixtures",
            Self::Grain => "How the grain lies",
        }
    }
}

/// What a search tells.
pub enum Told {
    /// Places, so far.
    Hang(Ranking),
    /// Fixtures.
    Lamps(Box<LampPlan>),
    /// Arrows.
    Grain(Box<GrainPlan>),
    /// Why there is none, in words; `None` where it was stopped.
    Failed(Option<String>),
    /// The search is over.
    Done,
}

/// A search under way. Dropping it stops it.
pub struct Adviser {
    /// What is asked.
    pub kind: AdviceKind,
    /// The room that it is asked about.
    pub of: Arc<RoomFile>,
    progress: Arc<Progress>,
    told: Mutex<Receiver<Told>>,
}

impl Adviser {
    /// Starts a search on a room as built; `of` is the room as written.
    pub fn start(kind: AdviceKind, of: Arc<RoomFile>, built: Arc<BuiltRoom>, wake: Wake) -> Self {
        let progress = Arc::new(Progress::default());
        let (tell, told) = channel();
        let watched = Arc::clone(&progress);
        std::thread::spawn(move || {
            let say = |what: Told| {
                // The window may be gone.
                let _ = tell.send(what);
                wake();
            };
            let work = std::panic::AssertUnwindSafe(|| {
                on_workers(|| search(kind, &built, &watched, &say))
            });
            match std::panic::catch_unwind(work) {
                Ok(Ok(())) => {}
                Ok(Err(AdviceError::Solve(SolveError::Cancelled))) => say(Told::Failed(None)),
                Ok(Err(error)) => say(Told::Failed(Some(error.to_string()))),
                Err(_) => say(Told::Failed(Some(
                    "the search stopped; try it again".into(),
                ))),
            }
            say(Told::Done);
        });
        Self {
            kind,
            of,
            progress,
            told: Mutex::new(told),
        }
    }

    /// All that was told since the last call.
    pub fn told(&self) -> Vec<Told> {
        let told = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        told.try_iter().collect()
    }

    /// How far it is, 0..=1.
    pub fn share(&self) -> f32 {
        let (done, total) = self.progress.counts();
        (done as f32 / total.max(1) as f32).min(1.0)
    }

    /// Asks it to stop.
    pub fn stop(&self) {
        self.progress.cancel();
    }
}

impl Drop for Adviser {
    fn drop(&mut self) {
        self.stop();
    }
}

fn search(
    kind: AdviceKind,
    built: &Arc<BuiltRoom>,
    progress: &Progress,
    say: &(dyn Fn(Told) + Sync),
) -> Result<(), AdviceError> {
    let request = || -> Result<StudyRequest, TimeChoiceError> {
        StudyRequest::for_room(built, &[], None, None, None, &[])
    };
    match kind {
        AdviceKind::Hang => {
            let settings = RankSettings::for_room(&built.file);
            rank(built, &request()?, &settings, progress, &mut |so_far| {
                say(Told::Hang(so_far.clone()));
            })?;
        }
        AdviceKind::Lamps => {
            let settings = AimSettings::for_room(&built.file);
            say(Told::Lamps(Box::new(aim(built, &settings, progress)?)));
        }
        AdviceKind::Grain => {
            let settings = GrainSettings::for_room(&built.file);
            let plan = grain(built, &request()?, &settings, progress)?;
            say(Told::Grain(Box::new(plan)));
        }
    }
    Ok(())
}
