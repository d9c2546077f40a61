//! Runs a study: prepares the room once, the view once, then reads every instant.

use std::sync::Arc;

use jiff::civil;
use rayon::prelude::*;

use super::{
    Flag, Instant, InstantReadings, Prepared, Stretch, StudyRequest, ThrownSun, TimeChoiceError,
    instant::sky_model, prepared::strengths, reading::StationReading, stretch, words,
};
use crate::{
    room::BuiltRoom,
    scene::Station,
    sun::{DayLight, day_light},
    transport::{LightState, Progress, RoomLight, RoomLightSettings, SolveError, ViewSettings},
};

/// How finely to compute.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct StudySettings {
    /// The room's own light.
    pub room: RoomLightSettings,
    /// The view of the piece.
    pub view: ViewSettings,
}

/// Most (station, tile) pairs of one study: about a gigabyte and a half of weights.
const MOST_VIEWS: usize = 2_000_000;
/// Most (station, tile, instant) readings of one study: about a gigabyte and a half.
const MOST_READINGS: usize = 120_000_000;

/// Why a study did not finish.
#[derive(Debug, thiserror::Error)]
pub enum StudyError {
    /// The instants cannot be laid out.
    #[error(transparent)]
    Time(#[from] TimeChoiceError),
    /// More than the machine should be asked for.
    #[error(
        "{stations} stations x {tiles} tiles x {instants} instants are more than one study holds; at most {} million \
         tile views and {} million tile readings",
        MOST_VIEWS / 1_000_000,
        MOST_READINGS / 1_000_000
    )]
    TooLarge {
        /// Stations of all walks.
        stations: usize,
        /// Tiles.
        tiles: usize,
        /// Instants of all days and skies.
        instants: usize,
    },
    /// No instant is left to study.
    #[error("no instant is left: the clock skips the only one")]
    NoInstants,
    /// The solver stopped.
    #[error(transparent)]
    Solve(#[from] SolveError),
}

/// One walk on one day under one sky.
#[derive(Clone, Debug)]
pub struct WalkDay {
    /// Readings, instant-major: instant * stations + station.
    pub readings: Vec<StationReading>,
    /// Dead and glaring stretches within opening hours, largest first.
    pub stretches: Vec<Stretch>,
    /// Per instant: whether people walk here then.
    pub open: Vec<bool>,
}

impl WalkDay {
    /// Readings within opening hours.
    pub fn open_readings(&self) -> impl Iterator<Item = &StationReading> {
        let stations = self.readings.len() / self.open.len().max(1);
        let open = &self.open;
        self.readings
            .iter()
            .enumerate()
            .filter(move |(cell, _)| open[cell / stations.max(1)])
            .map(|(_, r)| r)
    }
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
    /// Light on each tile over the studied hours, lamps at maintained output [lx h].
    pub tile_exposure_lx_h: Vec<f32>,
    /// What play would be at each instant if every tile were alike and matt.
    pub play_of_light: Vec<f32>,
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

/// Runs the study.
///
/// # Errors
/// A date or time that cannot be used, or cancellation.
pub fn run(
    room: &Arc<BuiltRoom>,
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
    if room.piece.neighbours.is_empty() {
        notes.push("no two tiles touch: there is no pattern to judge".into());
    }
    let stations: usize = room.walks.iter().map(|w| w.stations.len()).sum();
    let tiles = room.piece.tiles.len();
    let instants = days.iter().map(|d| d.1.len()).sum::<usize>() * request.skies.len();
    let views = stations.saturating_mul(tiles);
    if views > MOST_VIEWS || views.saturating_mul(instants) > MOST_READINGS {
        return Err(StudyError::TooLarge {
            stations,
            tiles,
            instants,
        });
    }
    if instants == 0 {
        return Err(StudyError::NoInstants);
    }
    let light = Arc::new(RoomLight::prepare(
        room.scene.clone(),
        settings.room,
        progress,
    )?);
    let probes = probe_states(room, &light, &days, &request)?;
    let prepared = Prepared::new(Arc::clone(room), light, settings.view, &probes, progress)?;
    let reader = Days {
        prepared: &prepared,
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

/// A prepared study being laid out in days.
struct Days<'a> {
    prepared: &'a Prepared,
}

impl Days<'_> {
    fn day(
        &self,
        date: civil::Date,
        sky: &str,
        instants: &[Instant],
        progress: &Progress,
    ) -> Result<DayStudy, StudyError> {
        let model = sky_model(sky, self.prepared.room());
        let read: Result<Vec<InstantReadings>, SolveError> = instants
            .par_iter()
            .map(|instant| {
                progress.step()?;
                self.prepared.read(&model, instant)
            })
            .collect();
        let mut read = read?;
        let wall_illuminance_lx: Vec<f32> = read.iter().map(|r| r.wall_illuminance_lx).collect();
        // Trapezoids between the instants.
        let over_the_day = |values: &[f32]| -> f32 {
            values
                .windows(2)
                .zip(instants.windows(2))
                .map(|(lx, i)| {
                    {
                        // By instants, not by the clock, which may jump.
                        let from = i[0].civil.timestamp().as_second();
                        let to = i[1].civil.timestamp().as_second();
                        0.5 * (lx[0] + lx[1]) * (to - from) as f32 / 3600.0
                    }
                })
                .sum()
        };
        let wall_exposure_lx_h = over_the_day(&wall_illuminance_lx);
        let tile_count = self.prepared.lustre().piece().tiles.len();
        let tile_exposure_lx_h = (0..tile_count)
            .map(|t| {
                over_the_day(
                    &read
                        .iter()
                        .map(|r| r.tile_illuminance_lx[t])
                        .collect::<Vec<f32>>(),
                )
            })
            .collect();
        let play_of_light = read.iter().map(|r| r.play_of_light).collect();
        let thrown = read
            .iter_mut()
            .flat_map(|r| std::mem::take(&mut r.thrown))
            .collect();
        let mut walks = Vec::new();
        for w in 0..self.prepared.room().walks.len() {
            let readings: Vec<StationReading> = read
                .iter_mut()
                .flat_map(|r| std::mem::take(&mut r.walks[w]))
                .collect();
            walks.push(self.walk_day(w, instants, readings));
        }
        let zone = &self.prepared.room().file.site.zone;
        Ok(DayStudy {
            date,
            sky: sky.to_owned(),
            instants: instants.to_vec(),
            day_light: crate::sun::time_zone(zone)
                .and_then(|zone| day_light(date, &zone, &self.prepared.room().site))
                .map_err(TimeChoiceError::from)?,
            wall_illuminance_lx,
            wall_exposure_lx_h,
            tile_exposure_lx_h,
            play_of_light,
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
        let walk = &self.prepared.room().walks[walk_index];
        let count = walk.stations.len();
        let open: Vec<bool> = instants.iter().map(|i| walk.is_open(i.clock_min)).collect();
        let flags: Vec<Vec<Flag>> = readings
            .iter()
            .enumerate()
            .map(|(cell, r)| {
                if open[cell / count] {
                    r.flags.clone()
                } else {
                    Vec::new()
                }
            })
            .collect();
        let mut stretches = stretch::merge(&flags, count);
        for s in &mut stretches {
            s.sentence = words::sentence(
                self.prepared.room(),
                &walk.walk,
                &walk.stations,
                instants,
                s,
            );
        }
        WalkDay {
            readings,
            stretches,
            open,
        }
    }
}
