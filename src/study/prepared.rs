//! A room whose light and view are traced once, to be read at any instant.

use std::sync::Arc;

use rayon::prelude::*;

use super::{
    Instant, ThrownSun,
    reading::{Light, Reader, StationReading},
    thrown,
};
use crate::{
    measure::{
        pattern,
        reads::{Neighbour, ReadsLimits},
    },
    room::{BuiltRoom, Walk},
    scene::Station,
    sky::{SkyModel, SkyState},
    transport::{
        LightPart, LightState, Lustre, PieceLight, Progress, RoomLight, SolveError, Strengths,
        ViewSettings,
    },
};

/// Room light and view of the piece from all walks. Changing the hour, the sky or the dimming only
/// reads it again; moving the piece needs a new one with the same [`RoomLight`].
pub struct Prepared {
    room: Arc<BuiltRoom>,
    light: Arc<RoomLight>,
    lustre: Lustre,
    areas_m2: Vec<f32>,
    pairs: Vec<Vec<Neighbour>>,
    reads: ReadsLimits,
}

/// What one eye sees, wherever it stands.
pub struct EyeReading {
    /// Tiles, adaptation, glare and flags.
    pub reading: StationReading,
    /// Parts of the asked tile's luminance [cd/m2], largest first.
    pub parts: Vec<(LightPart, f32)>,
    /// Mean luminance of the wall around the piece [cd/m2]; 0 with no wall.
    pub surround_cd_m2: f32,
    /// The same eye under each of the asked parts of the light.
    pub by_part: Vec<PartSeen>,
}

/// What one eye sees under a part of the light.
#[derive(Clone, Debug, PartialEq)]
pub struct PartSeen {
    /// Luminance of each tile [cd/m2].
    pub tiles_cd_m2: Vec<f32>,
    /// Luminance that the eye is adapted to [cd/m2].
    pub adaptation_cd_m2: f32,
}

/// One instant, all walks.
#[derive(Clone, Debug)]
pub struct InstantReadings {
    /// Mean illuminance of the wall around the piece [lx].
    pub wall_illuminance_lx: f32,
    /// Illuminance of every tile [lx].
    pub tile_illuminance_lx: Vec<f32>,
    /// What play would be if every tile were alike and matt: the unevenness of the light itself.
    pub play_of_light: f32,
    /// Sun that the piece throws elsewhere.
    pub thrown: Vec<ThrownSun>,
    /// Per walk: its stations in order.
    pub walks: Vec<Vec<StationReading>>,
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
            let to_eye = station.eye - smaller.frame.origin;
            let distance_m = to_eye.length().max(0.1);
            // Tiles seen from the side look smaller.
            let facing = (to_eye.dot(smaller.frame.z_dir) / distance_m).abs();
            Neighbour {
                a: *a,
                b: *b,
                size_rad: (smaller.area_m2 * facing).sqrt() / distance_m,
            }
        })
        .collect()
}

impl Prepared {
    /// Traces the view of the room's piece from all its walks in a light prepared before.
    ///
    /// `probes` decide where more samples are needed.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`].
    pub fn new(
        room: Arc<BuiltRoom>,
        light: Arc<RoomLight>,
        view: ViewSettings,
        probes: &[LightState],
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let stations = room.stations();
        let on_piece = PieceLight::trace(&light, room.piece.clone(), &stations, &view, progress)?;
        Self::in_light(room, light, Arc::new(on_piece), view, probes, progress)
    }

    /// The same where the light on the piece is traced already.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`].
    pub fn in_light(
        room: Arc<BuiltRoom>,
        light: Arc<RoomLight>,
        on_piece: Arc<PieceLight>,
        view: ViewSettings,
        probes: &[LightState],
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let stations = room.stations();
        Self::from_stations(room, light, on_piece, stations, view, probes, progress)
    }

    fn from_stations(
        room: Arc<BuiltRoom>,
        light: Arc<RoomLight>,
        on_piece: Arc<PieceLight>,
        stations: Vec<Station>,
        view: ViewSettings,
        probes: &[LightState],
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let lustre = Lustre::view_in(&light, on_piece, stations, view, probes, progress)?;
        let pairs = lustre
            .stations()
            .iter()
            .map(|s| neighbours_from(&lustre, s))
            .collect();
        Ok(Self {
            light,
            lustre,
            areas_m2: room.piece.areas_m2(),
            pairs,
            reads: ReadsLimits::default(),
            room,
        })
    }

    /// What one eye sees at one instant, on a walk or anywhere else; `walk` gives the age of the observer.
    /// `part_of` asks for the parts of one tile (index), `by_part` for what the eye sees under each of some parts of
    /// the light.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`], [`SolveError::NotFinite`].
    pub fn glance(
        (room, light, on_piece): (&Arc<BuiltRoom>, &Arc<RoomLight>, &Arc<PieceLight>),
        (station, walk): (Station, &Walk),
        view: ViewSettings,
        state: &LightState,
        part_of: Option<usize>,
        by_part: &[&LightState],
    ) -> Result<EyeReading, SolveError> {
        let eye = Self::from_stations(
            Arc::clone(room),
            Arc::clone(light),
            Arc::clone(on_piece),
            vec![station],
            view,
            std::slice::from_ref(state),
            &Progress::default(),
        )?;
        let mut reading = eye.read_eye(0, walk, state, by_part)?;
        if let Some(tile) = part_of.filter(|t| *t < room.piece.tiles.len()) {
            let (sun_on_tiles_lx, _) = eye.on_piece(state);
            reading.parts = eye
                .lustre
                .parts(light, state, sun_on_tiles_lx[tile], 0, tile);
        }
        Ok(reading)
    }

    /// Eyes anywhere, looked from at once; read with [`Self::read_eye`].
    ///
    /// # Errors
    /// [`SolveError::Cancelled`].
    pub fn for_eyes(
        (room, light, on_piece): (&Arc<BuiltRoom>, &Arc<RoomLight>, &Arc<PieceLight>),
        eyes: Vec<Station>,
        view: ViewSettings,
        probes: &[LightState],
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        Self::from_stations(
            Arc::clone(room),
            Arc::clone(light),
            Arc::clone(on_piece),
            eyes,
            view,
            probes,
            progress,
        )
    }

    /// What one of its eyes (index) sees under a light, and under each of some parts of it.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`].
    pub fn read_eye(
        &self,
        eye: usize,
        walk: &Walk,
        state: &LightState,
        by_part: &[&LightState],
    ) -> Result<EyeReading, SolveError> {
        let reader = self.reader(walk);
        let look = |state: &LightState| {
            let (sun_on_tiles_lx, surround_cd_m2) = self.on_piece(state);
            let under = Light {
                state,
                sun_on_tiles_lx: &sun_on_tiles_lx,
                surround_cd_m2,
            };
            (reader.read(&under, eye, &self.pairs[eye]), surround_cd_m2)
        };
        let (reading, surround_cd_m2) = look(state);
        all_finite(&reading)?;
        let by_part = by_part
            .iter()
            .map(|part| {
                // A part that is all of it need not be read twice.
                let again = (!std::ptr::eq(*part, state)).then(|| look(part).0);
                let seen = again.as_ref().unwrap_or(&reading);
                PartSeen {
                    tiles_cd_m2: seen.tiles.luminance_cd_m2.clone(),
                    adaptation_cd_m2: seen.adaptation_cd_m2,
                }
            })
            .collect();
        Ok(EyeReading {
            reading,
            parts: Vec::new(),
            surround_cd_m2,
            by_part,
        })
    }

    /// The sun on each tile [lx] and the luminance of the wall around [cd/m2].
    fn on_piece(&self, state: &LightState) -> (Vec<f32>, f32) {
        let on_piece = self.lustre.light();
        (
            on_piece.sun_on_tiles_lx(&self.light, state),
            on_piece.surround_luminance_cd_m2(&self.light, state),
        )
    }

    /// Luminance [cd/m2] that the eye at each station is adapted to, over all walks in order.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`].
    pub fn read_adaptations(&self, state: &LightState) -> Result<Vec<f32>, SolveError> {
        let (sun_on_tiles_lx, surround_cd_m2) = self.on_piece(state);
        let light = Light {
            state,
            sun_on_tiles_lx: &sun_on_tiles_lx,
            surround_cd_m2,
        };
        let mut adaptations = Vec::new();
        for walk in &self.room.walks {
            let reader = self.reader(&walk.walk);
            for _ in &walk.stations {
                let station = adaptations.len();
                let reading = reader.read(&light, station, &self.pairs[station]);
                all_finite(&reading)?;
                adaptations.push(reading.adaptation_cd_m2);
            }
        }
        Ok(adaptations)
    }

    fn reader<'a>(&'a self, walk: &'a Walk) -> Reader<'a> {
        Reader {
            room: &self.light,
            lustre: &self.lustre,
            walk,
            limits: self.room.limits(),
            reads: &self.reads,
            areas_m2: &self.areas_m2,
        }
    }

    /// The room.
    pub fn room(&self) -> &Arc<BuiltRoom> {
        &self.room
    }

    /// Its light.
    pub fn light(&self) -> &Arc<RoomLight> {
        &self.light
    }

    /// The view of the piece.
    pub fn lustre(&self) -> &Lustre {
        &self.lustre
    }

    /// Reads every station of every walk at one instant: one solve for the room and sparse products.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`].
    pub fn read(
        &self,
        model: &crate::sky::SkyModel,
        instant: &Instant,
    ) -> Result<InstantReadings, SolveError> {
        let state = self
            .light
            .solve(strengths(&self.room, &self.light, model, instant))?;
        self.read_in(&state, instant)
    }

    /// The same under a light that is solved already.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`].
    pub fn read_in(
        &self,
        state: &LightState,
        instant: &Instant,
    ) -> Result<InstantReadings, SolveError> {
        let (sun_on_tiles_lx, surround_cd_m2) = self.on_piece(state);
        let light = Light {
            state,
            sun_on_tiles_lx: &sun_on_tiles_lx,
            surround_cd_m2,
        };
        let on_piece = self.lustre.light();
        let tile_illuminance_lx = on_piece.tile_illuminances_lx(state, &sun_on_tiles_lx);
        let play_of_light = pattern::play(&tile_illuminance_lx, &self.areas_m2).unwrap_or(1.0);
        let mut first = 0;
        let mut walks = Vec::new();
        for walk in &self.room.walks {
            let reader = self.reader(&walk.walk);
            let mut readings: Vec<StationReading> = (first..first + walk.stations.len())
                .into_par_iter()
                .with_min_len(4)
                .map(|s| reader.read(&light, s, &self.pairs[s]))
                .collect();
            readings.iter().try_for_each(all_finite)?;
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
            tile_illuminance_lx,
            play_of_light,
            wall_illuminance_lx: on_piece.surround_illuminance_lx(&self.light, state),
            thrown: thrown::thrown_sun(
                &self.room,
                &self.light,
                &self.lustre,
                state,
                &sun_on_tiles_lx,
                instant,
            ),
            walks,
        })
    }
}

fn all_finite(reading: &StationReading) -> Result<(), SolveError> {
    let tiles = &reading.tiles.luminance_cd_m2;
    if tiles.iter().all(|l| l.is_finite()) {
        return Ok(());
    }
    Err(SolveError::NotFinite {
        quantity: "tile luminance",
    })
}

/// Strengths of all sources at an instant under a sky.
pub fn strengths(
    room: &BuiltRoom,
    light: &RoomLight,
    model: &SkyModel,
    instant: &Instant,
) -> Strengths {
    let sky = SkyState::new(model, &instant.sun, &room.site);
    Strengths::under(&sky, light.scene(), light.columns())
        .with_fixtures(room.fixture_strengths(instant.clock_min))
}
