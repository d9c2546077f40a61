//! What the thread has computed, what it is for, and which step comes next.
//!
//! Order of urgency: the room itself, its light now, the piece for the eye, asked points, the walks now, the
//! day's chart from now outward; first all of it with few samples, then again with many when the hand rests.

mod steps;

use std::{collections::BTreeSet, sync::Arc};

use super::{Answer, Clock, Eye, MeterPoint, ProblemAt, Wanted, thread::Watch};
use crate::{
    image::{ColouredLight, FixtureTexels, LightMap},
    room::{Beside, BuiltRoom, build, parse_room, validate, write_room},
    scene::Fixture,
    study::{Instant, Prepared},
    sun::DayLight,
    transport::{LightState, PieceLight, RoomLight, SolveError, ViewSettings},
};

/// Few samples: an answer while the hand moves.
fn rough_view() -> ViewSettings {
    ViewSettings {
        tile_count: 64,
        pane_count: 32,
        lobe_count: 8,
        most_lobe_count: 64,
        wanted_error: 0.1,
        eye_count: 256,
        ..ViewSettings::default()
    }
}

/// A view of the piece from all walks, and the hours that were read from it.
struct Walks {
    prepared: Prepared,
    rough: bool,
    /// Hours that were told, by moment.
    told: BTreeSet<Clock>,
}

#[derive(Default)]
pub(super) struct Stages {
    /// Revision that was last looked at, sound or not.
    revision: Option<u64>,
    /// The last sound room and its revision.
    built: Option<(u64, Arc<BuiltRoom>)>,
    light: Option<Arc<RoomLight>>,
    /// The light of the room before, to take over from.
    old_light: Option<Arc<RoomLight>>,
    map: Option<Arc<LightMap>>,
    texels: Vec<(Fixture, Arc<FixtureTexels>)>,
    now: Option<Now>,
    on_piece: Option<(bool, Arc<PieceLight>)>,
    glanced: Option<(Clock, Eye, bool)>,
    pointed: Option<(Clock, Option<Eye>, Vec<MeterPoint>, bool)>,
    walks: Option<Walks>,
    told_light_fine: bool,
    /// Revision that the light was last told for.
    told_revision: u64,
}

/// The light of one moment.
struct Now {
    clock: Clock,
    instant: Instant,
    day_light: DayLight,
    state: Arc<LightState>,
    /// The same by colour.
    coloured: ColouredLight,
}

type Tell<'a> = &'a mut dyn FnMut(Answer);

impl Stages {
    /// Does the most urgent missing step; false when nothing is missing.
    pub fn step(&mut self, wanted: &Wanted, watch: &Watch, tell: Tell) -> bool {
        if self.revision != Some(wanted.revision) {
            self.revision = Some(wanted.revision);
            self.build(wanted, tell);
            return true;
        }
        let Some((revision, built)) = self.built.clone() else {
            return false;
        };
        let work = Work {
            wanted,
            watch,
            revision,
            built,
        };
        match self.next(&work, tell) {
            Ok(more) => more,
            // A newer wish is there: the loop looks at it at once.
            Err(SolveError::Cancelled) => true,
            Err(error) => {
                tell(Answer::Failed(error.to_string()));
                false
            }
        }
    }

    fn next(&mut self, work: &Work, tell: Tell) -> Result<bool, SolveError> {
        let wanted = work.wanted;
        if self.light.is_none() {
            tell(Answer::Busy(Some(("light in the room", 0.0))));
            self.prepare(work)?;
            return Ok(true);
        }
        if self.now.as_ref().is_none_or(|n| n.clock != wanted.clock) {
            return self.solve(work, tell);
        }
        if self.told_revision != work.revision {
            // The light of an earlier revision still holds; that is told, so that nothing counts as stale.
            self.tell_light(work, tell);
            return Ok(true);
        }
        if self.on_piece.is_none() {
            tell(Answer::Busy(Some(("light on the piece", 0.0))));
            self.light_piece(work, true)?;
            return Ok(true);
        }
        if wanted.picture && self.wants_glance(wanted, false) {
            return self.take_glance(work, false, tell);
        }
        if self.wants_points(wanted) {
            return self.meter(work, tell);
        }
        if self.walks.is_none() {
            tell(Answer::Busy(Some(("the view from the walks", 0.0))));
            self.view(work, true)?;
            return Ok(true);
        }
        if self.read_hour(work, tell)? {
            return Ok(true);
        }
        if !wanted.resting {
            return Ok(false);
        }
        if wanted.picture && !self.told_light_fine {
            tell(Answer::Busy(Some(("lamps on the walls", 0.0))));
            return self.refine_lamps(work, tell);
        }
        if self.on_piece.as_ref().is_some_and(|p| p.0) {
            tell(Answer::Busy(Some(("light on the piece", 0.0))));
            self.light_piece(work, false)?;
            return Ok(true);
        }
        if wanted.picture && self.wants_glance(wanted, true) {
            return self.take_glance(work, true, tell);
        }
        if self.walks.as_ref().is_some_and(|w| w.rough) {
            tell(Answer::Busy(Some(("the view from the walks", 0.0))));
            self.view(work, false)?;
            return Ok(true);
        }
        Ok(false)
    }

    /// Checks and builds the room; keeps whatever stays the same.
    fn build(&mut self, wanted: &Wanted, tell: Tell) {
        match check_and_build(wanted) {
            Ok(built) => {
                let built = Arc::new(built);
                self.keep_what_stays(&built);
                self.built = Some((wanted.revision, Arc::clone(&built)));
                tell(Answer::Built {
                    revision: wanted.revision,
                    built,
                });
            }
            Err(problems) => tell(Answer::Problems {
                revision: wanted.revision,
                problems,
            }),
        }
    }

    fn keep_what_stays(&mut self, built: &BuiltRoom) {
        let Some((_, old)) = &self.built else { return };
        let (scene, before) = (&built.scene, &old.scene);
        let same_building = scene.has_the_building_of(before);
        let shines = scene.fixtures.len() == before.fixtures.len()
            && scene
                .fixtures
                .iter()
                .zip(&before.fixtures)
                .all(|(a, b)| a.shines_like(b));
        let (new, was) = (&built.file, &old.file);
        let same_light = same_building && shines;
        let same_hours = same_light
            && new.site == was.site
            && new.fixtures == was.fixtures
            && new.fixture_types == was.fixture_types;
        if !same_light {
            // The next step takes over from it what it can.
            self.old_light = self.light.take().or_else(|| self.old_light.take());
            self.now = None;
        }
        if !same_hours {
            self.now = None;
        }
        let same_piece = same_light && built.piece == old.piece;
        if !same_piece {
            self.on_piece = None;
        }
        let same_walks = same_piece && new.walks == was.walks && new.limits == was.limits;
        if !same_walks {
            self.walks = None;
        } else if let Some(walks) = &mut self.walks {
            // Read again, so that the hours carry the new revision.
            walks.told.clear();
        }
        self.glanced = None;
        self.pointed = None;
    }
}

/// One step's surroundings.
struct Work<'a> {
    wanted: &'a Wanted,
    watch: &'a Watch<'a>,
    revision: u64,
    built: Arc<BuiltRoom>,
}

fn check_and_build(wanted: &Wanted) -> Result<BuiltRoom, Vec<ProblemAt>> {
    let whole = |message: String| {
        vec![ProblemAt {
            path: String::new(),
            message,
            help: String::new(),
        }]
    };
    let text = write_room(&wanted.room).map_err(|e| whole(e.to_string()))?;
    let listed = |error: crate::room::RoomError| match error {
        crate::room::RoomError::Problems { problems, .. } => problems
            .into_iter()
            .map(|p| ProblemAt {
                path: p.path,
                message: p.message,
                help: p.help.unwrap_or_default(),
            })
            .collect(),
        other => whole(other.to_string()),
    };
    let room = parse_room(&text, "room").map_err(listed)?;
    validate(&room, &text, "room").map_err(listed)?;
    build(room, &mut Beside::in_folder(wanted.folder.clone())).map_err(|error| {
        error
            .listing()
            .into_iter()
            .map(|(message, help)| ProblemAt {
                path: error.section().into(),
                message,
                help,
            })
            .collect()
    })
}
