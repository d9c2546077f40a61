//! The steps themselves: light in the room, lamps at the fine step, the piece for an eye, points, walks, hours.

use std::{collections::BTreeSet, sync::Arc};

use super::{Now, Stages, Tell, Walks, Work, rough_view};
use crate::{
    app::engine::{Answer, Clock, Eye, Glance, Hour, MeterOn, PointAnswer, Wanted},
    image::{
        ColouredLight, FixtureTexels, LightMap, MOST_TEXELS, PiecePicture, RoomPicture, TEXEL_M,
        TEXEL_RAYS,
    },
    room::BuiltRoom,
    study::{EyeReading, Instant, Prepared, StudyRequest, StudySettings, sky_model, strengths},
    sun::day_light,
    transport::{
        LightState, PieceLight, PointReading, RoomLight, RoomLightSettings, SolveError,
        ViewSettings,
    },
};

/// Rays of an asked point.
const POINT_RAYS: u32 = 2048;

/// The instant of a clock; where the clock skips it, the next one that exists.
fn instant_of(clock: &Clock, built: &BuiltRoom) -> Option<Instant> {
    (clock.minute..24 * 60)
        .chain(0..clock.minute)
        .find_map(|m| {
            let request = StudyRequest {
                days: vec![clock.date],
                from_min: m,
                to_min: m,
                step_min: 1,
                skies: vec![clock.sky.clone()],
            };
            let instants = request.instants(clock.date, built, &mut Vec::new()).ok()?;
            instants.into_iter().next()
        })
}

/// The instant of a clock and the light then; `None` where no such instant exists on the day.
fn light_at(
    clock: &Clock,
    built: &BuiltRoom,
    light: &RoomLight,
) -> Result<Option<(Instant, LightState)>, SolveError> {
    let Some(instant) = instant_of(clock, built) else {
        return Ok(None);
    };
    let model = sky_model(&clock.sky, built);
    let state = light.solve(strengths(built, light, &model, &instant))?;
    Ok(Some((instant, state)))
}

impl Stages {
    pub(super) fn prepare(&mut self, work: &Work) -> Result<(), SolveError> {
        let scene = work.built.scene.clone();
        let previous = self.old_light.clone();
        let same_building = previous
            .as_ref()
            .is_some_and(|p| p.scene().has_the_building_of(&scene));
        let light = work.watch.run(false, |progress| {
            RoomLight::prepare_from(
                previous.as_deref(),
                scene,
                RoomLightSettings::default(),
                progress,
            )
        })?;
        if !same_building || self.map.is_none() {
            self.map = Some(Arc::new(LightMap::new(&light, TEXEL_M, MOST_TEXELS)));
            self.texels.clear();
        }
        let fixtures = &light.scene().fixtures;
        self.texels
            .retain(|(known, _)| fixtures.iter().any(|f| f.shines_like(known)));
        self.light = Some(Arc::new(light));
        self.old_light = None;
        self.now = None;
        Ok(())
    }

    /// Solves the light of the wanted moment and tells it.
    pub(super) fn solve(&mut self, work: &Work, tell: Tell) -> Result<bool, SolveError> {
        let Some(light) = self.light.clone() else {
            return Ok(true);
        };
        let clock = &work.wanted.clock;
        let built = &work.built;
        let known_day = self
            .now
            .as_ref()
            .filter(|n| n.clock.date == clock.date)
            .map(|n| n.day_light.clone());
        let Some((instant, state)) = light_at(clock, built, &light)? else {
            tell(Answer::Failed(format!(
                "the time zone {:?} is not known",
                built.file.site.zone
            )));
            return Ok(false);
        };
        let day = known_day.or_else(|| {
            let zone = crate::sun::time_zone(&built.file.site.zone).ok()?;
            day_light(clock.date, &zone, &built.site).ok()
        });
        let Some(day_light) = day else {
            tell(Answer::Failed(
                "the sun cannot be placed on this day".into(),
            ));
            return Ok(false);
        };
        let state = Arc::new(state);
        let model = sky_model(&clock.sky, built);
        self.now = Some(Now {
            clock: clock.clone(),
            instant,
            day_light,
            coloured: ColouredLight::split(&light, Arc::clone(&state), &model)?,
            state,
        });
        self.told_light_fine = false;
        self.tell_light(work, tell);
        Ok(true)
    }

    /// Tells the light of now as a picture.
    pub(super) fn tell_light(&mut self, work: &Work, tell: Tell) {
        let (Some(light), Some(map), Some(now)) = (&self.light, &self.map, &self.now) else {
            return;
        };
        let fixtures: Vec<Option<&FixtureTexels>> = light
            .scene()
            .fixtures
            .iter()
            .map(|f| {
                let known = self.texels.iter().find(|(k, _)| k.shines_like(f));
                known.map(|(_, t)| t.as_ref())
            })
            .collect();
        let model = sky_model(&now.clock.sky, &work.built);
        let picture = RoomPicture::new(
            light,
            map,
            &now.coloured,
            &fixtures,
            (&model, &now.instant, &work.built.site),
            work.wanted.picture,
        );
        self.told_light_fine = picture.fine;
        self.told_revision = work.revision;
        tell(Answer::Light {
            revision: work.revision,
            clock: now.clock.clone(),
            instant: Box::new(now.instant.clone()),
            day_light: now.day_light.clone(),
            light: Arc::clone(light),
            state: Arc::clone(&now.state),
            picture,
        });
    }

    /// Traces the lamps' light at the fine step, one lamp a step, brightest first as they come.
    pub(super) fn refine_lamps(&mut self, work: &Work, tell: Tell) -> Result<bool, SolveError> {
        let (Some(light), Some(map), Some(now)) = (&self.light, &self.map, &self.now) else {
            return Ok(true);
        };
        let missing = light
            .scene()
            .fixtures
            .iter()
            .enumerate()
            .find(|(f, fixture)| {
                now.state.strengths.fixtures[*f] > 0.0
                    && !self.texels.iter().any(|(k, _)| k.shines_like(fixture))
            });
        let Some((index, fixture)) = missing else {
            self.tell_light(work, tell);
            return Ok(true);
        };
        let texels = map.trace_fixture(light, index, TEXEL_RAYS);
        let fixture = fixture.clone();
        self.texels.push((fixture, Arc::new(texels)));
        Ok(true)
    }

    pub(super) fn light_piece(&mut self, work: &Work, rough: bool) -> Result<(), SolveError> {
        let Some(light) = self.light.clone() else {
            return Ok(());
        };
        let settings = if rough {
            rough_view()
        } else {
            ViewSettings::default()
        };
        let stations = work.built.stations();
        let piece = work.built.piece.clone();
        let traced = work.watch.run(!rough, |progress| {
            PieceLight::trace(&light, piece, &stations, &settings, progress)
        })?;
        self.on_piece = Some((rough, Arc::new(traced)));
        Ok(())
    }

    pub(super) fn wants_glance(&self, wanted: &Wanted, fine: bool) -> bool {
        let Some(eye) = wanted.eye else { return false };
        self.glanced.as_ref().is_none_or(|(clock, seen, was_fine)| {
            *clock != wanted.clock || *seen != eye || (fine && !was_fine)
        })
    }

    pub(super) fn take_glance(
        &mut self,
        work: &Work,
        fine: bool,
        tell: Tell,
    ) -> Result<bool, SolveError> {
        let (Some(light), Some(now), Some((_, on_piece)), Some(eye)) =
            (&self.light, &self.now, &self.on_piece, work.wanted.eye)
        else {
            return Ok(true);
        };
        let view = if fine {
            ViewSettings::default()
        } else {
            rough_view()
        };
        let parts: Vec<&LightState> = now.coloured.parts.iter().map(|p| &*p.state).collect();
        let reading = self.look(work, (light, now, on_piece), eye, view, None, &parts)?;
        let sources = light.sources_at(
            work.built.piece.centre + work.built.piece.normal * 0.02,
            work.built.piece.normal,
            &now.state,
        );
        let glance = Glance {
            eye,
            clock: now.clock.clone(),
            piece: Arc::new(PiecePicture::new(
                &reading,
                &now.coloured,
                Arc::new(sources),
            )),
            reading: Arc::new(reading),
        };
        self.glanced = Some((now.clock.clone(), eye, fine));
        tell(Answer::Glance {
            revision: work.revision,
            glance,
        });
        Ok(true)
    }

    fn look(
        &self,
        work: &Work,
        (light, now, on_piece): (&Arc<RoomLight>, &Now, &Arc<PieceLight>),
        eye: Eye,
        view: ViewSettings,
        part_of: Option<usize>,
        by_part: &[&LightState],
    ) -> Result<EyeReading, SolveError> {
        let walks = &work.built.walks;
        let Some(walk) = walks.get(eye.walk).or_else(|| walks.first()) else {
            return Err(SolveError::Cancelled);
        };
        Prepared::glance(
            (&work.built, light, on_piece),
            (eye.station, &walk.walk),
            view,
            &now.state,
            part_of,
            by_part,
        )
    }

    /// Whether the hand rests and the piece's light is traced finely.
    fn reads_finely(&self, wanted: &Wanted) -> bool {
        wanted.resting && self.on_piece.as_ref().is_some_and(|(rough, _)| !rough)
    }

    /// Whether points are to be read: coarsely while the hand moves, again when it rests.
    pub(super) fn wants_points(&self, wanted: &Wanted) -> bool {
        let fine = self.reads_finely(wanted);
        self.pointed
            .as_ref()
            .is_none_or(|(clock, eye, points, was_fine)| {
                *clock != wanted.clock
                    || *eye != wanted.eye
                    || *points != wanted.points
                    || (fine && !was_fine)
            })
    }

    pub(super) fn meter(&mut self, work: &Work, tell: Tell) -> Result<bool, SolveError> {
        let (Some(light), Some(now), Some((_, on_piece))) =
            (&self.light, &self.now, &self.on_piece)
        else {
            return Ok(true);
        };
        let fine = self.reads_finely(work.wanted);
        let (rays, view) = if fine {
            (POINT_RAYS, ViewSettings::default())
        } else {
            (POINT_RAYS / 8, rough_view())
        };
        let mut points = Vec::new();
        for asked in &work.wanted.points {
            let start = asked.point + asked.normal * 2e-3;
            let illuminance: PointReading = light.meter(&now.state, start, asked.normal, rays);
            let mut answer = PointAnswer {
                asked: *asked,
                clock: now.clock.clone(),
                rough: !fine,
                by_fixture: light.fixtures_at(start, asked.normal, &now.state),
                illuminance,
                luminance_cd_m2: 0.0,
                luminance_error_cd_m2: None,
                parts: Vec::new(),
            };
            match (asked.on, work.wanted.eye) {
                (MeterOn::Tile(tile), Some(eye)) => {
                    let seen =
                        self.look(work, (light, now, on_piece), eye, view, Some(tile), &[])?;
                    let tiles = &seen.reading.tiles;
                    answer.luminance_cd_m2 =
                        tiles.luminance_cd_m2.get(tile).copied().unwrap_or(0.0);
                    answer.luminance_error_cd_m2 = tiles.standard_error_cd_m2.get(tile).copied();
                    answer.parts = seen.parts;
                }
                (MeterOn::Surface(surface), _) => {
                    let reflectance = light
                        .scene()
                        .surfaces
                        .get(surface)
                        .map_or(0.0, |s| s.reflectance);
                    answer.luminance_cd_m2 =
                        reflectance * answer.illuminance.total_lx() / std::f32::consts::PI;
                    answer.luminance_error_cd_m2 = Some(
                        reflectance * answer.illuminance.standard_error_lx / std::f32::consts::PI,
                    );
                }
                (MeterOn::Tile(_), None) => {}
            }
            points.push(answer);
        }
        let wanted = work.wanted;
        self.pointed = Some((now.clock.clone(), wanted.eye, wanted.points.clone(), fine));
        tell(Answer::Points {
            revision: work.revision,
            points,
        });
        Ok(true)
    }

    /// The view from all walks, with few or many samples.
    pub(super) fn view(&mut self, work: &Work, rough: bool) -> Result<(), SolveError> {
        let (Some(light), Some(now), Some((_, on_piece))) =
            (&self.light, &self.now, &self.on_piece)
        else {
            return Ok(());
        };
        let settings = if rough {
            rough_view()
        } else {
            StudySettings::default().view
        };
        let probes = if rough {
            vec![now.state.as_ref().clone()]
        } else {
            self.probes(work, light)?
        };
        let prepared = work.watch.run(!rough, |progress| {
            Prepared::in_light(
                Arc::clone(&work.built),
                Arc::clone(light),
                Arc::clone(on_piece),
                settings,
                &probes,
                progress,
            )
        })?;
        self.walks = Some(Walks {
            prepared,
            rough,
            told: BTreeSet::new(),
        });
        Ok(())
    }

    /// Lights of a few moments of the day that decide where the view needs more samples.
    fn probes(&self, work: &Work, light: &RoomLight) -> Result<Vec<LightState>, SolveError> {
        let (from, to, _) = work.wanted.hours;
        let clock = &work.wanted.clock;
        let minutes = [0.2, 0.55, 0.9].map(|share| from + ((to - from) as f32 * share) as u32);
        let mut states = Vec::new();
        for minute in minutes.into_iter().chain([clock.minute]) {
            let at = Clock {
                minute,
                ..clock.clone()
            };
            if let Some((_, state)) = light_at(&at, &work.built, light)? {
                states.push(state);
            }
        }
        Ok(states)
    }

    /// Reads the next moment of the day that is missing, the nearest to now first; false when none is.
    pub(super) fn read_hour(&mut self, work: &Work, tell: Tell) -> Result<bool, SolveError> {
        let (Some(light), Some(now)) = (self.light.clone(), &self.now) else {
            return Ok(false);
        };
        let Some(walks) = &mut self.walks else {
            return Ok(false);
        };
        let clock = &work.wanted.clock;
        // The window keeps the hours of one day only.
        walks.told.retain(|told| told.same_day(clock));
        let (from, to, step) = work.wanted.hours;
        let grid = (from..=to.min(24 * 60 - 1)).step_by(step.max(1) as usize);
        let missing = std::iter::once(clock.minute)
            .chain(grid)
            .map(|minute| Clock {
                minute,
                ..clock.clone()
            })
            .filter(|c| !walks.told.contains(c))
            .min_by_key(|c| c.minute.abs_diff(clock.minute));
        let Some(missing) = missing else {
            return Ok(false);
        };
        walks.told.insert(missing.clone());
        let missing_minute = missing.minute;
        let (instant, readings) = if missing == now.clock {
            let readings = walks.prepared.read_in(&now.state, &now.instant)?;
            (now.instant.clone(), readings)
        } else {
            let Some((instant, state)) = light_at(&missing, &work.built, &light)? else {
                return Ok(true);
            };
            let readings = walks.prepared.read_in(&state, &instant)?;
            (instant, readings)
        };
        let done = walks.told.len() as f32;
        let total = ((to - from) / step.max(1) + 2) as f32;
        let hour = Hour {
            clock: missing,
            instant,
            readings: Arc::new(readings),
            rough: walks.rough,
            on_grid: missing_minute >= from
                && missing_minute <= to
                && (missing_minute - from).is_multiple_of(step.max(1)),
            revision: work.revision,
        };
        tell(Answer::Busy(Some((
            "the day's chart",
            (done / total).min(1.0),
        ))));
        tell(Answer::Hour {
            hour: Box::new(hour),
        });
        Ok(true)
    }
}
