//! From the room's light to the eye: luminance of every tile from every station.
//!
//! Each tile's reflection is split into a part that factors into light and eye (gathered once per
//! tile) and a lobe (gathered per tile and station). The lobe is sampled in two ways, by the lobe and
//! by points on panes, weighted together with the balance heuristic; fixtures are sampled over their
//! openings; the sun is taken in its true direction at reading time. Four independent batches of each
//! give a standard error, and cells whose error is too large get more samples.

use std::sync::Arc;

use glam::Vec3;
use rayon::prelude::*;

use super::{
    Entry, GatherPoint, GatherRequest, LightState, Progress, RoomLight, SolveError,
    room_light::batch_error, rows::dot,
};
use crate::{
    sampling::hash,
    scene::{HungPiece, POINTS_PER_TILE, Station},
};

mod cell;
mod eye;
mod field;
mod mirror;
mod sun;

use cell::{Cell, Place};
pub use eye::{EyeField, FixtureInView, SeenThrough, ViewSample};
use field::TileField;
pub use mirror::MirrorImage;
use sun::{sun_luminance, tile_suns};

/// Independent batches of samples.
pub(super) const BATCHES: usize = 4;

/// The tile's point that sample `sample` of a batch starts at.
///
/// Points run evenly in one direction with their index and in the other with its lowest bits. Rows
/// are taken in bit-reversed order, a quarter apart from batch to batch, and the lowest bits change
/// with the row: so the first samples of all batches cover the tile, and so does each batch alone.
#[inline]
fn point_index(batch: usize, sample: u32) -> usize {
    const ROWS: [usize; POINTS_PER_TILE / BATCHES] = [0, 4, 2, 6, 1, 5, 3, 7];
    let row = (ROWS[sample as usize % ROWS.len()] + 2 * batch) % ROWS.len();
    row * BATCHES + (batch + row) % BATCHES
}

/// How finely the view is sampled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ViewSettings {
    /// Directions per tile for the part that does not depend on the eye, all batches together.
    pub tile_count: u32,
    /// Points on panes per tile, all batches together.
    pub pane_count: u32,
    /// Lobe directions per tile and station to begin with, all batches together.
    pub lobe_count: u32,
    /// Most lobe directions per tile and station.
    pub most_lobe_count: u32,
    /// Relative standard error above which a cell gets more samples.
    pub wanted_error: f32,
    /// Directions per eye for what fills the view.
    pub eye_count: u32,
    /// Most points on a fixture's opening per tile and batch.
    pub fixture_count: u32,
    /// Points per tile that tell whether the eye sees it, at most [`POINTS_PER_TILE`].
    pub sight_count: usize,
    /// Whether it is for pictures: all stations take the same random points, so that errors go along smoothly from each
    /// to the next, and tiles that are hidden are computed as if nothing stood between, since a sliver may show.
    pub for_pictures: bool,
    /// Seed of all randomisations.
    pub seed: u32,
}

impl Default for ViewSettings {
    fn default() -> Self {
        Self {
            tile_count: 256,
            pane_count: 64,
            lobe_count: 32,
            most_lobe_count: 512,
            wanted_error: 0.03,
            eye_count: 768,
            fixture_count: 16,
            sight_count: POINTS_PER_TILE,
            for_pictures: false,
            seed: 2,
        }
    }
}

/// What the piece and the wall around it receive, whatever the eye: the part of the view stage that all
/// stations share.
pub struct PieceLight {
    piece: HungPiece,
    tiles: Vec<TileField>,
    surround: Vec<Vec<Entry>>,
    surround_fixtures: Vec<Vec<f32>>,
}

/// The view stage's result: weights on luminances for every (station, tile).
pub struct Lustre {
    stations: Vec<Station>,
    light: Arc<PieceLight>,
    /// Station-major: station * tile count + tile.
    cells: Vec<Cell>,
    eyes: Vec<EyeField>,
    mirrors: Vec<Vec<MirrorImage>>,
}

/// Luminances of all tiles from one station at one instant.
#[derive(Clone, Debug, Default)]
pub struct TileReading {
    /// Luminance of each tile [cd/m2]; what the eye would see if nothing stood between.
    pub luminance_cd_m2: Vec<f32>,
    /// Standard error of each [cd/m2].
    pub standard_error_cd_m2: Vec<f32>,
    /// Share of each tile that is not hidden, 0..=1.
    pub visible: Vec<f32>,
}

impl PieceLight {
    /// Traces the light on every tile and on the wall around. `stations` only tell how near an eye comes.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`].
    pub fn trace(
        room: &RoomLight,
        piece: HungPiece,
        stations: &[Station],
        settings: &ViewSettings,
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let tile_count = piece.tiles.len();
        progress.announce(tile_count as u64);
        let tiles: Result<Vec<_>, _> = (0..tile_count)
            .into_par_iter()
            .map(|t| {
                progress
                    .step()
                    .map(|()| TileField::trace(room, &piece, t, stations, settings))
            })
            .collect();
        let tiles = tiles?;
        let (surround, surround_fixtures) = trace_surround(room, &piece, settings);
        Ok(Self {
            piece,
            tiles,
            surround,
            surround_fixtures,
        })
    }

    /// The piece.
    pub fn piece(&self) -> &HungPiece {
        &self.piece
    }

    /// Illuminance of each tile by the sun on a plane facing the sun [lx]: the part of the tile in
    /// sun, panes and blinds included. Needed once per instant for [`Lustre::read`].
    pub fn sun_on_tiles_lx(&self, room: &RoomLight, state: &LightState) -> Vec<f32> {
        tile_suns(room, &self.piece, state)
    }

    /// Illuminance of every tile [lx], the sun included.
    pub fn tile_illuminances_lx(&self, state: &LightState, sun_on_tiles_lx: &[f32]) -> Vec<f32> {
        let sun_dir = state.strengths.sun_dir.unwrap_or(Vec3::ZERO);
        self.piece
            .tiles
            .iter()
            .zip(&self.tiles)
            .zip(sun_on_tiles_lx)
            .map(|((tile, field), sun_lx)| {
                field.illuminance_lx(state) + sun_lx * tile.frame.z_dir.dot(sun_dir).max(0.0)
            })
            .collect()
    }

    /// Mean luminance of the wall around the piece [cd/m2]; 0 where the piece hangs on no wall.
    pub fn surround_luminance_cd_m2(&self, room: &RoomLight, state: &LightState) -> f32 {
        self.surround_illuminance_lx(room, state) * self.piece.surround_reflectance
            / std::f32::consts::PI
    }

    /// Mean illuminance of the wall around the piece [lx]; 0 where the piece hangs on no wall.
    pub fn surround_illuminance_lx(&self, room: &RoomLight, state: &LightState) -> f32 {
        let count = self.surround.len();
        if count == 0 {
            return 0.0;
        }
        let mut sum = 0.0;
        for (i, row) in self.surround.iter().enumerate() {
            let mut lx = dot(row, &state.luminance_cd_m2);
            for (f, strength) in state.strengths.fixtures.iter().enumerate() {
                lx += strength * self.surround_fixtures[i][f];
            }
            if let Some(sun_dir) = state.strengths.sun_dir {
                let cos = self.piece.normal.dot(sun_dir);
                if cos > 0.0 {
                    lx += state.strengths.sun_normal_illuminance_lx
                        * cos
                        * room.sun_transmission(self.piece.surround_points[i], sun_dir);
                }
            }
            sum += lx;
        }
        sum / count as f32
    }
}

impl Lustre {
    /// Traces the view of the piece from all stations.
    ///
    /// `probes` are light states that decide where more samples are needed.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`].
    pub fn view(
        room: &RoomLight,
        piece: HungPiece,
        stations: Vec<Station>,
        settings: ViewSettings,
        probes: &[LightState],
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let light = Arc::new(PieceLight::trace(
            room, piece, &stations, &settings, progress,
        )?);
        Self::view_in(room, light, stations, settings, probes, progress)
    }

    /// The same where the light on the piece is traced already.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`].
    pub fn view_in(
        room: &RoomLight,
        light: Arc<PieceLight>,
        stations: Vec<Station>,
        settings: ViewSettings,
        probes: &[LightState],
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let piece = &light.piece;
        let tile_count = piece.tiles.len();
        progress.announce((stations.len() + tile_count * stations.len()) as u64);
        let suns: Vec<Vec<f32>> = probes.iter().map(|p| tile_suns(room, piece, p)).collect();
        let cells: Result<Vec<_>, _> = (0..tile_count * stations.len())
            .into_par_iter()
            .map(|i| {
                progress.step()?;
                let (s, t) = (i / tile_count, i % tile_count);
                let station_index = if settings.for_pictures { 0 } else { s };
                let place = Place {
                    room,
                    piece,
                    tile_index: t,
                    station: &stations[s],
                    station_index,
                };
                Ok(place.cell(&light.tiles[t], &settings, probes, &suns))
            })
            .collect();
        let cells = cells?;
        let eyes: Result<Vec<_>, _> = stations
            .par_iter()
            .enumerate()
            .map(|(s, station)| {
                progress.step().map(|()| {
                    let seed_index = if settings.for_pictures { 0 } else { s };
                    EyeField::trace(room, station, seed_index, &settings)
                })
            })
            .collect();
        let mirrors = stations
            .par_iter()
            .map(|station| mirror::images(room, piece, station))
            .collect();
        Ok(Self {
            stations,
            cells,
            eyes: eyes?,
            mirrors,
            light,
        })
    }

    /// The stations, in order.
    pub fn stations(&self) -> &[Station] {
        &self.stations
    }

    /// The piece that was viewed.
    pub fn piece(&self) -> &HungPiece {
        &self.light.piece
    }

    /// What else each station's eye sees.
    pub fn eyes(&self) -> &[EyeField] {
        &self.eyes
    }

    /// Mirror images that a station sees in the piece.
    pub fn mirrors(&self, station_index: usize) -> &[MirrorImage] {
        &self.mirrors[station_index]
    }

    /// Weights held for all cells, as a measure of memory.
    pub fn entry_count(&self) -> usize {
        self.cells
            .iter()
            .map(|c| c.lobe.entry_count())
            .sum::<usize>()
            + self
                .light
                .tiles
                .iter()
                .map(TileField::entry_count)
                .sum::<usize>()
    }

    /// What the piece and the wall around it receive.
    pub fn light(&self) -> &Arc<PieceLight> {
        &self.light
    }

    /// Tile luminances from one station.
    pub fn read(
        &self,
        state: &LightState,
        sun_on_tiles_lx: &[f32],
        station_index: usize,
    ) -> TileReading {
        let count = self.piece().tiles.len();
        let mut reading = TileReading::default();
        for (t, tile) in self.piece().tiles.iter().enumerate() {
            let cell = &self.cells[station_index * count + t];
            let sun = sun_luminance(
                self.piece().brdf(tile),
                tile,
                &self.stations[station_index],
                state,
                sun_on_tiles_lx[t],
            );
            let batches = cell.batches(&self.light.tiles[t], state, &sun);
            reading
                .luminance_cd_m2
                .push(batches.iter().sum::<f32>() / BATCHES as f32);
            reading.standard_error_cd_m2.push(batch_error(&batches));
            reading.visible.push(cell.visible);
        }
        reading
    }

    /// Parts of one tile's luminance from one station [cd/m2], largest first.
    pub fn parts(
        &self,
        room: &RoomLight,
        state: &LightState,
        sun_lx: f32,
        station_index: usize,
        tile_index: usize,
    ) -> Vec<(LightPart, f32)> {
        let tile = &self.piece().tiles[tile_index];
        let cell = &self.cells[station_index * self.piece().tiles.len() + tile_index];
        let field = &self.light.tiles[tile_index];
        let mut room_part = 0.0;
        let mut panes = vec![0.0_f32; room.scene().panes.len()];
        let mut open_sky = 0.0;
        let mut fixtures = vec![0.0_f32; room.scene().fixtures.len()];
        let mut add = |e: &Entry, factor: f32| {
            let value =
                e.weight * factor * state.luminance_cd_m2[e.target as usize] / BATCHES as f32;
            match room.columns().pane_of(e.target) {
                Some(pane) => panes[pane] += value,
                None if room.columns().is_outward(e.target) => open_sky += value,
                None => room_part += value,
            }
        };
        for e in field.entries() {
            add(e, cell.spread_out);
        }
        for e in cell.lobe.entries() {
            add(e, 1.0);
        }
        for (f, value) in fixtures.iter_mut().enumerate() {
            *value = cell.clearness
                * state.strengths.fixtures[f]
                * (cell.spread_out * field.fixture(f) + cell.lobe.fixture(f));
        }
        let sun = sun_luminance(
            self.piece().brdf(tile),
            tile,
            &self.stations[station_index],
            state,
            sun_lx,
        );
        let sun = cell.clearness * sun.iter().sum::<f32>() / BATCHES as f32;
        let mut parts: Vec<(LightPart, f32)> = vec![
            (LightPart::Sun, sun),
            (LightPart::Room, room_part),
            (LightPart::OpenSky, open_sky),
        ];
        parts.extend(
            panes
                .into_iter()
                .enumerate()
                .map(|(i, v)| (LightPart::Pane(i), v)),
        );
        parts.extend(
            fixtures
                .into_iter()
                .enumerate()
                .map(|(i, v)| (LightPart::Fixture(i), v)),
        );
        parts.retain(|p| p.1 > 0.0);
        parts.sort_by(|a, b| b.1.total_cmp(&a.1));
        parts
    }
}

/// Where a part of a tile's luminance comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LightPart {
    /// Straight from the sun.
    Sun,
    /// From sky and ground through a pane (index).
    Pane(usize),
    /// From sky and ground with nothing between.
    OpenSky,
    /// Straight from a fixture (index).
    Fixture(usize),
    /// From surfaces of the room.
    Room,
}

fn trace_surround(
    room: &RoomLight,
    piece: &HungPiece,
    settings: &ViewSettings,
) -> (Vec<Vec<Entry>>, Vec<Vec<f32>>) {
    let frame = crate::geometry::Frame::new(piece.centre, piece.normal, Vec3::X);
    piece
        .surround_points
        .par_iter()
        .enumerate()
        .map(|(i, point)| {
            let request = GatherRequest {
                hemisphere_count: settings.tile_count,
                pane_count: settings.pane_count,
                seed: hash(settings.seed ^ 0xA11, i as u32),
            };
            let points = [*point];
            let row = room.tracer().gather(
                GatherPoint {
                    frame: &frame,
                    points: &points,
                },
                request,
                |d| d.z,
            );
            let fixtures = (0..room.scene().fixtures.len())
                .map(|f| {
                    (0..4)
                        .map(|k| {
                            room.fixture_at(
                                f,
                                *point,
                                piece.normal,
                                k,
                                hash(settings.seed, f as u32),
                            )
                        })
                        .sum::<f32>()
                        / 4.0
                })
                .collect();
            (row, fixtures)
        })
        .unzip()
}
