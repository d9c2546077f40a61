//! The instants that plans are judged at, with the room's daylight solved once for all of them.

use rayon::prelude::*;

use crate::{
    room::BuiltRoom,
    study::{Instant, StudyRequest, sky_model, strengths},
    transport::{LightState, Progress, RoomLight, SolveError, ViewSettings},
};

/// How finely plans are judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fineness {
    /// Every how manyth station of a walk counts.
    pub station_step: usize,
    /// Minutes between instants.
    pub step_min: u32,
    /// Most (sky, day) that count, spread over those asked for.
    pub most_groups: usize,
    /// Most tiles that stand for the piece.
    pub most_tiles: usize,
    /// The view of the piece.
    pub view: ViewSettings,
}

impl Fineness {
    /// At a glance: for a first order of hundreds of plans within seconds.
    pub fn glance(seed: u32) -> Self {
        Self {
            station_step: 9,
            step_min: 360,
            most_groups: 2,
            most_tiles: 60,
            view: ViewSettings {
                tile_count: 32,
                pane_count: 16,
                lobe_count: 8,
                most_lobe_count: 8,
                wanted_error: 1.0,
                eye_count: 64,
                fixture_count: 1,
                sight_count: 2,
                for_pictures: false,
                seed,
            },
        }
    }

    /// A glimpse: for hundreds of plans.
    pub fn glimpse(seed: u32) -> Self {
        Self {
            station_step: 5,
            step_min: 240,
            most_groups: usize::MAX,
            most_tiles: 90,
            view: ViewSettings {
                tile_count: 64,
                pane_count: 32,
                lobe_count: 16,
                most_lobe_count: 16,
                wanted_error: 1.0,
                eye_count: 96,
                fixture_count: 2,
                sight_count: 4,
                for_pictures: false,
                seed,
            },
        }
    }

    /// For the better ones.
    pub fn look(seed: u32) -> Self {
        Self {
            station_step: 2,
            step_min: 120,
            most_groups: usize::MAX,
            most_tiles: 160,
            view: ViewSettings {
                tile_count: 128,
                pane_count: 64,
                lobe_count: 32,
                most_lobe_count: 64,
                wanted_error: 0.1,
                eye_count: 256,
                fixture_count: 4,
                sight_count: 8,
                for_pictures: false,
                seed,
            },
        }
    }

    /// As a study: for the best.
    pub fn full(seed: u32) -> Self {
        Self {
            station_step: 1,
            step_min: 80,
            most_groups: usize::MAX,
            most_tiles: usize::MAX,
            view: ViewSettings {
                wanted_error: 0.05,
                most_lobe_count: 256,
                seed,
                ..ViewSettings::default()
            },
        }
    }
}

/// One instant under one sky, without any fixture.
pub struct Hour {
    /// Index of its (sky, day).
    pub group: usize,
    /// When.
    pub instant: Instant,
    /// The daylight.
    pub daylight: LightState,
    /// Hours that it stands for in the day's dose [h].
    pub dose_h: f32,
    /// Whether it lies in the hours that are judged; the others count for the dose only.
    pub judged: bool,
}

/// The instants of some days and skies.
pub struct Hours {
    /// Skies and days, in the order asked.
    pub groups: Vec<(String, jiff::civil::Date)>,
    /// Instants, group by group.
    pub entries: Vec<Hour>,
}

impl Hours {
    /// Lays out the instants of a request with another step and solves the daylight of each. The room's fixtures take no part.
    ///
    /// # Errors
    /// A date or zone that cannot be used, or cancellation.
    pub fn solve(
        room: &BuiltRoom,
        light: &RoomLight,
        request: &StudyRequest,
        (step_min, most_groups): (u32, usize),
        progress: &Progress,
    ) -> Result<Self, super::AdviceError> {
        let mut request = request.clone();
        let has_daylight = !room.scene.panes.is_empty();
        if !has_daylight {
            request.skies.truncate(1);
            request.days.truncate(1);
        }
        // Even steps that cover the whole span.
        let span = (request.to_min - request.from_min).max(1);
        request.step_min = span.div_ceil(span.div_ceil(step_min).max(1)).max(1);
        // The middle of each step stands for it.
        if request.to_min > request.from_min {
            request.from_min += request.step_min / 2;
            request.to_min -= 1;
        }
        let mut groups = Vec::new();
        let mut wanted: Vec<(usize, Instant, f32, bool)> = Vec::new();
        let all = request.skies.len() * request.days.len();
        for (s, sky) in request.skies.iter().enumerate() {
            for (d, day) in request.days.iter().enumerate() {
                let index = s * request.days.len() + d;
                let kept = most_groups >= all
                    || (0..most_groups).any(|k| (2 * k + 1) * all / (2 * most_groups) == index);
                if !kept {
                    continue;
                }
                let group = groups.len();
                groups.push((sky.clone(), *day));
                let judged = request.instants(*day, room, &mut Vec::new())?;
                let whole_day = StudyRequest {
                    from_min: step_min / 2,
                    to_min: 24 * 60 - 1,
                    step_min,
                    ..request.clone()
                };
                wanted.extend(judged.into_iter().map(|i| (group, i, 0.0, true)));
                if has_daylight {
                    let hours = step_min as f32 / 60.0;
                    let lit = whole_day
                        .instants(*day, room, &mut Vec::new())?
                        .into_iter()
                        .filter(|i| i.sun.apparent_elevation_rad > 0.0);
                    wanted.extend(lit.map(|i| (group, i, hours, false)));
                }
            }
        }
        progress.announce(wanted.len() as u64);
        let entries: Result<Vec<Hour>, SolveError> = wanted
            .into_par_iter()
            .map(|(group, instant, dose_h, judged)| {
                progress.step()?;
                let model = sky_model(&groups[group].0, room);
                let mut strengths = strengths(room, light, &model, &instant);
                strengths.fixtures.clear();
                Ok(Hour {
                    group,
                    daylight: light.solve(strengths)?,
                    instant,
                    dose_h,
                    judged,
                })
            })
            .collect();
        let entries = entries?;
        if !entries.iter().any(|h| h.judged) {
            return Err(super::AdviceError::NoInstants);
        }
        Ok(Self { groups, entries })
    }
}
