//! Runs a study: prepares the room once, the view once, then reads every instant.

use jiff::civil;
use rayon::prelude::*;

use super::{
    Cause, Flag, Instant, Stretch, StudyRequest, ThrownSun, TimeChoiceError,
    instant::sky_model,
    reading::{Light, Reader, StationReading},
    stretch, thrown, words,
};
use crate::{
    measure::{
        pattern,
        reads::{Neighbour, ReadsLimits},
    },
    room::BuiltRoom,
    scene::Station,
    sky::SkyState,
    sun::{DayLight, day_light},
    transport::{
        LightPart, LightState, Lustre, Progress, RoomLight, RoomLightSettings, SolveError,
        Strengths, ViewSettings,
    },
};

/// How finely to compute.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct StudySettings {
    /// The room's own light.
    pub room: RoomLightSettings,
    /// The view of the piece.
    pub view: ViewSettings,
}

/// Why a study did not finish.
#[derive(Debug, thiserror::Error)]
pub enum StudyError {
    /// The instants cannot be laid out.
    #[error(transparent)]
    Time(#[from] TimeChoiceError),
    /// The solver stopped.
    #[error(transparent)]
    Solve(#[from] SolveError),
}

/// One walk on one day under one sky.
#[derive(Clone, Debug)]
pub struct WalkDay {
    /// Readings, instant-major: instant * stations + station.
    pub readings: Vec<StationReading>,
    /// Dead and glaring stretches, largest first.
    pub stretches: Vec<Stretch>,
}

/// One day under one sky.
#[derive(Clone, Debug)]
pub struct DayStudy {
    /// The day.
    pub date: civil::Date,
    /// Name of the sky.
    pub sky: String,
    /// The instants.
    pub instants: Vec<Instant>,
    /// When the sun rises and sets.
    pub day_light: DayLight,
    /// Mean illuminance of the wall around the piece at each instant [lx].
    pub wall_illuminance_lx: Vec<f32>,
    /// Light on that wall over the studied hours [lx h].
    pub wall_exposure_lx_h: f32,
    /// Sun that the piece throws elsewhere.
    pub thrown: Vec<ThrownSun>,
    /// One entry per walk.
    pub walks: Vec<WalkDay>,
}

/// A walk of a study.
#[derive(Clone, Debug)]
pub struct WalkStudy {
    /// Its name.
    pub name: String,
    /// Its stations.
    pub stations: Vec<Station>,
}

/// The whole result.
#[derive(Clone, Debug)]
pub struct Study {
    /// The walks, in the room's order.
    pub walks: Vec<WalkStudy>,
    /// Days and skies, in the order asked.
    pub days: Vec<DayStudy>,
    /// Ids of the tiles, in the order of all tile lists.
    pub tile_ids: Vec<u32>,
    /// Median relative standard error of all tile luminances.
    pub median_relative_error: f32,
    /// Findings about the request, in words.
    pub notes: Vec<String>,
}

/// Sizes of tiles and who is whose neighbour, seen from one station.
fn neighbours_from(lustre: &Lustre, station: &Station) -> Vec<Neighbour> {
    let tiles = &lustre.piece().tiles;
    lustre
        .piece()
        .neighbours
        .iter()
        .map(|(a, b)| {
            let (ta, tb) = (&tiles[*a as usize], &tiles[*b as usize]);
            let smaller = if ta.area_m2 < tb.area_m2 { ta } else { tb };
            let distance_m = smaller.frame.origin.distance(station.eye).max(0.1);
            Neighbour {
                a: *a,
                b: *b,
                size_rad: smaller.area_m2.sqrt() / distance_m,
            }
        })
        .collect()
}

/// Light states that decide where the view needs more samples: a few instants spread over the study.
fn probe_states(
    room: &BuiltRoom,
    light: &RoomLight,
    days: &[(civil::Date, Vec<Instant>)],
    request: &StudyRequest,
) -> Result<Vec<LightState>, SolveError> {
    let mut probes = Vec::new();
    for (k, sky) in request.skies.iter().take(2).enumerate() {
        let model = sky_model(sky, room);
        let Some((_, instants)) = days.get(k % days.len().max(1)) else {
            continue;
        };
        for share in [0.2, 0.55, 0.9] {
            let index = (share * instants.len() as f64) as usize;
            if let Some(instant) = instants.get(index) {
                probes.push(light.solve(strengths(room, light, &model, instant))?);
            }
            if light.scene().panes.is_empty() {
                return Ok(probes);
            }
        }
    }
    Ok(probes)
}

fn strengths(
    room: &BuiltRoom,
    light: &RoomLight,
    model: &crate::sky::SkyModel,
    instant: &Instant,
) -> Strengths {
    let sky = SkyState::new(model, &instant.sun, &room.site);
    Strengths::under(&sky, light.scene(), light.columns())
        .with_fixtures(room.fixture_strengths(instant.clock_min))
}

/// Runs the study.
///
/// # Errors
/// A date or time that cannot be used, or cancellation.
pub fn run(
    room: &BuiltRoom,
    request: &StudyRequest,
    settings: &StudySettings,
    progress: &Progress,
) -> Result<Study, StudyError> {
    let mut notes = room.notes.clone();
    let mut request = request.clone();
    if room.scene.panes.is_empty() && request.skies.len() > 1 {
        request.skies.truncate(1);
        notes.push("no daylight reaches this room: one sky stands for all".into());
    }
    let days: Vec<(civil::Date, Vec<Instant>)> = request
        .days
        .iter()
        .map(|day| {
            request
                .instants(*day, room, &mut notes)
                .map(|instants| (*day, instants))
        })
        .collect::<Result<_, _>>()?;
    let light = RoomLight::prepare(room.scene.clone(), settings.room, progress)?;
    let probes = probe_states(room, &light, &days, &request)?;
    let stations: Vec<Station> = room
        .walks
        .iter()
        .flat_map(|w| w.stations.iter().copied())
        .collect();
    let lustre = Lustre::view(
        &light,
        room.piece.clone(),
        stations,
        settings.view,
        &probes,
        progress,
    )?;
    let reader = Whole {
        room,
        light: &light,
        lustre: &lustre,
        areas_m2: room.piece.areas_m2(),
        pairs: lustre
            .stations()
            .iter()
            .map(|s| neighbours_from(&lustre, s))
            .collect(),
        reads: ReadsLimits::default(),
        step_min: request.step_min,
    };
    let instant_count: usize = days.iter().map(|d| d.1.len()).sum();
    progress.announce((instant_count * request.skies.len()) as u64);
    let mut studied = Vec::new();
    for sky in &request.skies {
        for (date, instants) in &days {
            studied.push(reader.day(*date, sky, instants, progress)?);
        }
    }
    let mut errors: Vec<f32> = studied
        .iter()
        .flat_map(|d| &d.walks)
        .flat_map(|w| &w.readings)
        .map(|r| r.relative_error)
        .collect();
    errors.sort_by(f32::total_cmp);
    let median_relative_error = errors.get(errors.len() / 2).copied().unwrap_or(0.0);
    Ok(Study {
        walks: room
            .walks
            .iter()
            .map(|w| WalkStudy {
                name: w.walk.name.clone(),
                stations: w.stations.clone(),
            })
            .collect(),
        days: studied,
        tile_ids: room.piece.tiles.iter().map(|t| t.id).collect(),
        median_relative_error,
        notes,
    })
}

struct Whole<'a> {
    room: &'a BuiltRoom,
    light: &'a RoomLight,
    lustre: &'a Lustre,
    areas_m2: Vec<f32>,
    pairs: Vec<Vec<Neighbour>>,
    reads: ReadsLimits,
    step_min: u32,
}

/// One instant, all walks.
struct InstantReadings {
    wall_lx: f32,
    thrown: Vec<ThrownSun>,
    walks: Vec<Vec<StationReading>>,
}

impl Whole<'_> {
    fn instant(
        &self,
        model: &crate::sky::SkyModel,
        instant: &Instant,
    ) -> Result<InstantReadings, SolveError> {
        let state = self
            .light
            .solve(strengths(self.room, self.light, model, instant))?;
        let sun_on_tiles_lx = self.lustre.sun_on_tiles_lx(self.light, &state);
        let light = Light {
            state: &state,
            sun_on_tiles_lx: &sun_on_tiles_lx,
            surround_cd_m2: self.lustre.surround_luminance_cd_m2(self.light, &state),
        };
        let mut first = 0;
        let mut walks = Vec::new();
        for walk in &self.room.walks {
            let reader = Reader {
                room: self.light,
                lustre: self.lustre,
                walk: &walk.walk,
                limits: self.room.limits(),
                reads: &self.reads,
                areas_m2: &self.areas_m2,
            };
            let mut readings: Vec<StationReading> = (first..first + walk.stations.len())
                .into_par_iter()
                .with_min_len(4)
                .map(|s| reader.read(&light, s, &self.pairs[s]))
                .collect();
            for i in 0..readings.len().saturating_sub(1) {
                let step_m = walk.stations[i + 1].distance_m - walk.stations[i].distance_m;
                let both: Vec<f32> = self
                    .areas_m2
                    .iter()
                    .zip(
                        readings[i]
                            .tiles
                            .visible
                            .iter()
                            .zip(&readings[i + 1].tiles.visible),
                    )
                    .map(|(area, (a, b))| area * a.min(*b))
                    .collect();
                let shift = pattern::shift_per_m(
                    &readings[i].tiles.luminance_cd_m2,
                    &readings[i + 1].tiles.luminance_cd_m2,
                    &both,
                    step_m,
                );
                readings[i].shift_per_m = shift;
            }
            first += walk.stations.len();
            walks.push(readings);
        }
        Ok(InstantReadings {
            wall_lx: self.lustre.surround_illuminance_lx(self.light, &state),
            thrown: thrown::thrown_sun(
                self.room,
                self.light,
                self.lustre,
                &state,
                &sun_on_tiles_lx,
                instant,
            ),
            walks,
        })
    }

    fn day(
        &self,
        date: civil::Date,
        sky: &str,
        instants: &[Instant],
        progress: &Progress,
    ) -> Result<DayStudy, StudyError> {
        let model = sky_model(sky, self.room);
        let read: Result<Vec<InstantReadings>, SolveError> = instants
            .par_iter()
            .map(|instant| {
                progress.step()?;
                self.instant(&model, instant)
            })
            .collect();
        let mut read = read?;
        let wall_illuminance_lx: Vec<f32> = read.iter().map(|r| r.wall_lx).collect();
        let wall_exposure_lx_h =
            wall_illuminance_lx.iter().sum::<f32>() * self.step_min as f32 / 60.0;
        let thrown = read
            .iter_mut()
            .flat_map(|r| std::mem::take(&mut r.thrown))
            .collect();
        let mut walks = Vec::new();
        for w in 0..self.room.walks.len() {
            let readings: Vec<StationReading> = read
                .iter_mut()
                .flat_map(|r| std::mem::take(&mut r.walks[w]))
                .collect();
            walks.push(self.walk_day(w, instants, readings));
        }
        let zone = &self.room.file.site.zone;
        Ok(DayStudy {
            date,
            sky: sky.to_owned(),
            instants: instants.to_vec(),
            day_light: crate::sun::time_zone(zone)
                .and_then(|zone| day_light(date, &zone, &self.room.site))
                .map_err(TimeChoiceError::from)?,
            wall_illuminance_lx,
            wall_exposure_lx_h,
            thrown,
            walks,
        })
    }

    fn walk_day(
        &self,
        walk_index: usize,
        instants: &[Instant],
        readings: Vec<StationReading>,
    ) -> WalkDay {
        let walk = &self.room.walks[walk_index];
        let count = walk.stations.len();
        let open = self.open_minutes(walk_index);
        let flags: Vec<Vec<Flag>> = readings
            .iter()
            .enumerate()
            .map(|(cell, r)| {
                let clock = instants[cell / count].clock_min;
                if (open.0..=open.1).contains(&clock) {
                    r.flags.clone()
                } else {
                    Vec::new()
                }
            })
            .collect();
        let mut stretches = stretch::merge(&flags, count);
        for s in &mut stretches {
            let through = self.sun_pane(s, instants);
            s.sentence = words::sentence(
                self.room,
                &walk.walk,
                &walk.stations,
                instants,
                s,
                through,
                self.step_min,
            );
        }
        WalkDay {
            readings,
            stretches,
        }
    }

    /// Clock minutes between which people walk here.
    fn open_minutes(&self, walk_index: usize) -> (u32, u32) {
        let minutes = |text: &str| crate::room::clock_min(text);
        match &self.room.walks[walk_index].walk.open {
            Some((from, to)) => (minutes(from).unwrap_or(0), minutes(to).unwrap_or(1440)),
            None => (0, 1440),
        }
    }

    /// The pane that the sun comes through to the piece (or to the eye) in a stretch about the sun.
    fn sun_pane(&self, stretch: &Stretch, instants: &[Instant]) -> Option<usize> {
        let about_sun = matches!(
            stretch.cause,
            Cause::SunInView
                | Cause::Glint(LightPart::Sun)
                | Cause::Veiled(LightPart::Sun)
                | Cause::MirrorImage(LightPart::Sun)
        );
        let middle = (stretch.instants.0 + stretch.instants.1) / 2;
        let instant = instants.get(middle).filter(|_| about_sun)?;
        let sun_dir = crate::sun::world_direction(
            instant.sun.azimuth_rad,
            instant.sun.apparent_elevation_rad,
            self.room.site.bearing_rad,
        );
        let piece = self.lustre.piece();
        let tracer = self.light.tracer();
        let concerned = piece
            .tiles
            .iter()
            .filter(|t| stretch.tiles.is_empty() || stretch.tiles.contains(&t.id));
        concerned
            .filter_map(|t| tracer.transmission(t.frame.origin, sun_dir, 1e4))
            .find_map(|(_, pane)| pane)
    }
}
