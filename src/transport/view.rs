//! From the room's light to the eye: luminance of every tile from every station.
//!
//! Each tile's reflection is split into a part that factors into light and eye (gathered once per
//! tile) and a lobe (gathered per tile and station). The lobe is sampled in two ways, by the lobe and
//! by points on panes, weighted together with the balance heuristic; fixtures are sampled over their
//! openings; the sun is taken in its true direction at reading time. Four independent batches of each
//! give a standard error, and cells whose error is too large get more samples.

use glam::Vec3;
use rayon::prelude::*;

use super::{
    Entry, GatherPoint, GatherRequest, LightState, Progress, RoomLight, SolveError, Tracer,
    room_light::batch_error,
    rows::{dot, merge},
};
use crate::{
    material::Brdf,
    sampling::{Sequence, hash},
    scene::{HungPiece, HungTile, POINTS_PER_TILE, Station},
};

mod eye;
mod field;
mod mirror;

pub use eye::{EyeField, FixtureInView, PaneInView};
use field::{LobePart, TileField};
pub use mirror::MirrorImage;

/// Independent batches of samples.
pub(super) const BATCHES: usize = 4;

/// The tile's point that sample `sample` of a batch starts at.
///
/// Points run evenly in one direction with their index and in the other with its lowest bits; the
/// lowest two bits change along the samples, so that each batch alone covers the tile both ways.
#[inline]
fn point_index(batch: usize, sample: u32) -> usize {
    let row = sample as usize % (POINTS_PER_TILE / BATCHES);
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
            seed: 2,
        }
    }
}

/// The view stage's result: weights on luminances for every (station, tile).
pub struct Lustre {
    stations: Vec<Station>,
    piece: HungPiece,
    tiles: Vec<TileField>,
    /// Station-major: station * tile count + tile.
    cells: Vec<Cell>,
    eyes: Vec<EyeField>,
    mirrors: Vec<Vec<MirrorImage>>,
    surround: Vec<Vec<Entry>>,
    surround_fixtures: Vec<Vec<f32>>,
}

/// One tile from one station.
#[derive(Clone, Debug)]
struct Cell {
    /// Share of the tile that the eye sees.
    visible: f32,
    /// The eye's factor of the separable part.
    spread_out: f32,
    lobe: LobePart,
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
        let tile_count = piece.tiles.len();
        progress
            .announce((tile_count + stations.len()) as u64 + (tile_count * stations.len()) as u64);
        let tiles: Result<Vec<_>, _> = (0..tile_count)
            .into_par_iter()
            .map(|t| {
                progress
                    .step()
                    .map(|()| TileField::trace(room, &piece, t, &stations, &settings))
            })
            .collect();
        let tiles = tiles?;
        let suns: Vec<Vec<f32>> = probes.iter().map(|p| tile_suns(room, &piece, p)).collect();
        let cells: Result<Vec<_>, _> = (0..tile_count * stations.len())
            .into_par_iter()
            .map(|i| {
                progress.step()?;
                let (s, t) = (i / tile_count, i % tile_count);
                let place = Place {
                    room,
                    piece: &piece,
                    tile_index: t,
                    station: &stations[s],
                    station_index: s,
                };
                Ok(place.cell(&tiles[t], &settings, probes, &suns))
            })
            .collect();
        let cells = cells?;
        let eyes: Result<Vec<_>, _> = stations
            .par_iter()
            .enumerate()
            .map(|(s, station)| {
                progress
                    .step()
                    .map(|()| EyeField::trace(room, station, s, &settings))
            })
            .collect();
        let mirrors = stations
            .par_iter()
            .map(|station| mirror::images(room, &piece, station))
            .collect();
        let (surround, surround_fixtures) = trace_surround(room, &piece, &settings);
        Ok(Self {
            stations,
            piece,
            tiles,
            cells,
            eyes: eyes?,
            mirrors,
            surround,
            surround_fixtures,
        })
    }

    /// The stations, in order.
    pub fn stations(&self) -> &[Station] {
        &self.stations
    }

    /// The piece that was viewed.
    pub fn piece(&self) -> &HungPiece {
        &self.piece
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
            + self.tiles.iter().map(TileField::entry_count).sum::<usize>()
    }

    /// Illuminance of each tile by the sun on a plane facing the sun [lx]: the part of the tile in
    /// sun, panes and blinds included. Needed once per instant for [`Lustre::read`].
    pub fn sun_on_tiles_lx(&self, room: &RoomLight, state: &LightState) -> Vec<f32> {
        tile_suns(room, &self.piece, state)
    }

    /// Tile luminances from one station.
    pub fn read(
        &self,
        state: &LightState,
        sun_on_tiles_lx: &[f32],
        station_index: usize,
    ) -> TileReading {
        let count = self.piece.tiles.len();
        let mut reading = TileReading::default();
        for (t, tile) in self.piece.tiles.iter().enumerate() {
            let cell = &self.cells[station_index * count + t];
            let batches = cell.batches(&self.tiles[t], state);
            let sun = sun_luminance(
                self.piece.brdf(tile),
                tile,
                &self.stations[station_index],
                state,
                sun_on_tiles_lx[t],
            );
            reading
                .luminance_cd_m2
                .push(batches.iter().sum::<f32>() / BATCHES as f32 + sun);
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
        let tile = &self.piece.tiles[tile_index];
        let cell = &self.cells[station_index * self.piece.tiles.len() + tile_index];
        let field = &self.tiles[tile_index];
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
            *value = state.strengths.fixtures[f]
                * (cell.spread_out * field.fixture(f) + cell.lobe.fixture(f));
        }
        let sun = sun_luminance(
            self.piece.brdf(tile),
            tile,
            &self.stations[station_index],
            state,
            sun_lx,
        );
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
                        * room.sun_transmission(
                            self.piece.surround_points[i],
                            sun_dir,
                            &state.strengths.pane_open,
                        );
                }
            }
            sum += lx;
        }
        sum / count as f32
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

/// One (tile, station) being traced.
struct Place<'a> {
    room: &'a RoomLight,
    piece: &'a HungPiece,
    tile_index: usize,
    station: &'a Station,
    station_index: usize,
}

impl Place<'_> {
    fn tile(&self) -> &HungTile {
        &self.piece.tiles[self.tile_index]
    }

    /// Traces the cell, again with four times the samples while its error is too large.
    fn cell(
        &self,
        field: &TileField,
        settings: &ViewSettings,
        probes: &[LightState],
        suns: &[Vec<f32>],
    ) -> Cell {
        let tile = self.tile();
        let brdf = self.piece.brdf(tile);
        let to_eye = tile
            .frame
            .local_from_world((self.station.eye - tile.frame.origin).normalize_or_zero());
        let visible = self.visible();
        if to_eye.z <= 0.0 || visible <= 0.0 {
            return Cell {
                visible: 0.0,
                spread_out: 0.0,
                lobe: LobePart::default(),
            };
        }
        let spread_out = brdf.spread_out(to_eye);
        let trace = |count: u32| Cell {
            visible,
            spread_out,
            lobe: if brdf.has_lobe() {
                self.lobe(field, settings, count)
            } else {
                LobePart::default()
            },
        };
        let cell = trace(settings.lobe_count);
        if !brdf.has_lobe() {
            return cell;
        }
        // As many samples as the first error asks for, at least twice the first.
        let excess = self.excess_error(&cell, field, settings, probes, suns);
        if excess <= 1.0 {
            return cell;
        }
        let first = settings.lobe_count as f32;
        let wanted = (first * excess * excess).max(2.0 * first);
        trace(
            (wanted as u32)
                .min(settings.most_lobe_count)
                .max(settings.lobe_count),
        )
    }

    /// Largest error of the cell under the probes over the wanted one.
    fn excess_error(
        &self,
        cell: &Cell,
        field: &TileField,
        settings: &ViewSettings,
        probes: &[LightState],
        suns: &[Vec<f32>],
    ) -> f32 {
        let tile = self.tile();
        let brdf = self.piece.brdf(tile);
        probes
            .iter()
            .zip(suns)
            .map(|(state, sun)| {
                let batches = cell.batches(field, state);
                let direct = sun_luminance(brdf, tile, self.station, state, sun[self.tile_index]);
                let mean = batches.iter().sum::<f32>() / BATCHES as f32 + direct;
                // Below a hundredth of a cd/m2 nothing is seen anyway.
                batch_error(&batches) / (settings.wanted_error * mean.max(0.01))
            })
            .fold(0.0, f32::max)
    }

    fn visible(&self) -> f32 {
        let tracer = self.room.tracer();
        let picks = [3, 12, 17, 26];
        let seen = picks
            .iter()
            .filter(|k| {
                let to_eye = self.station.eye - self.tile().points[**k];
                let distance = to_eye.length();
                tracer
                    .transmission(
                        self.tile().points[**k],
                        to_eye / distance.max(1e-6),
                        distance,
                    )
                    .is_some()
            })
            .count();
        seen as f32 / picks.len() as f32
    }

    fn lobe(&self, field: &TileField, settings: &ViewSettings, count: u32) -> LobePart {
        let tile = self.tile();
        let brdf = self.piece.brdf(tile);
        let tracer = self.room.tracer();
        let per_batch = (count / BATCHES as u32).max(1);
        let mut part = LobePart::default();
        let mut entries = Vec::new();
        let eyes: [Vec3; POINTS_PER_TILE] = std::array::from_fn(|k| {
            tile.frame
                .local_from_world((self.station.eye - tile.points[k]).normalize_or_zero())
        });
        for batch in 0..BATCHES {
            entries.clear();
            let seed = hash(
                hash(settings.seed, self.tile_index as u32),
                (self.station_index * BATCHES + batch) as u32,
            );
            let sequence = Sequence::new(seed);
            let pane_samples = field.pane_samples(batch);
            let pane_count = pane_samples.len() as f32;
            for j in 0..per_batch {
                let k = point_index(batch, j);
                let u = Vec3::new(
                    sequence.value(j, 0),
                    sequence.value(j, 1),
                    sequence.value(j, 2),
                );
                let Some(to_light) = brdf.sample_lobe(eyes[k], u) else {
                    continue;
                };
                if to_light.z <= 1e-5 {
                    continue;
                }
                let value = brdf.lobe_per_sr(to_light, eyes[k]) * to_light.z;
                if value <= 0.0 {
                    continue;
                }
                let dir = tile.frame.world_from_local(to_light);
                let pdf_pane = if pane_count > 0.0 {
                    field
                        .choice()
                        .pdf_per_sr(self.room.scene(), tile.points[k], dir)
                } else {
                    0.0
                };
                let density = per_batch as f32 * brdf.lobe_pdf_per_sr(to_light, eyes[k])
                    + pane_count * pdf_pane;
                push(&tracer, tile.points[k], dir, value / density, &mut entries);
            }
            for sample in pane_samples {
                let to_eye = eyes[sample.point as usize];
                let value = brdf.lobe_per_sr(sample.to_light, to_eye) * sample.to_light.z;
                let density = per_batch as f32 * brdf.lobe_pdf_per_sr(sample.to_light, to_eye)
                    + pane_count * sample.pdf_per_sr;
                let weight = value / density;
                if weight > 1e-8 {
                    entries.extend(field.landings(sample).iter().map(|e| Entry {
                        target: e.target,
                        weight: e.weight * weight,
                    }));
                }
            }
            merge(&mut entries);
            part.push_batch(&entries);
        }
        field.add_lobe_fixtures(brdf, &eyes, &mut part);
        part
    }
}

fn push(tracer: &Tracer, origin: Vec3, dir: Vec3, weight: f32, entries: &mut Vec<Entry>) {
    if weight > 0.0 && weight.is_finite() {
        tracer.trace(origin, dir, |target, transmittance| {
            entries.push(Entry {
                target,
                weight: weight * transmittance,
            });
        });
    }
}

impl Cell {
    /// Luminance without the sun's direct part, each batch's estimate [cd/m2].
    #[inline]
    fn batches(&self, field: &TileField, state: &LightState) -> [f32; BATCHES] {
        if self.visible <= 0.0 {
            return [0.0; BATCHES];
        }
        std::array::from_fn(|b| {
            let mut value = dot(self.lobe.batch(b), &state.luminance_cd_m2);
            if self.spread_out > 0.0 {
                value += self.spread_out * field.spread(b, state);
            }
            value + self.lobe.fixture_sum(b, &state.strengths.fixtures)
        })
    }
}

/// Direct reflection of the sun by a tile toward a station [cd/m2], averaged over the tile's face.
fn sun_luminance(
    brdf: &Brdf,
    tile: &HungTile,
    station: &Station,
    state: &LightState,
    sun_lx: f32,
) -> f32 {
    let Some(sun_dir) = state.strengths.sun_dir else {
        return 0.0;
    };
    if sun_lx <= 0.0 {
        return 0.0;
    }
    let to_light = tile.frame.local_from_world(sun_dir);
    if to_light.z <= 0.0 {
        return 0.0;
    }
    let picks = [3, 12, 17, 26];
    let mean: f32 = picks
        .iter()
        .map(|k| {
            let to_eye = tile
                .frame
                .local_from_world((station.eye - tile.points[*k]).normalize_or_zero());
            disc_mean(brdf, to_light, to_eye)
        })
        .sum::<f32>()
        / picks.len() as f32;
    mean * sun_lx * to_light.z
}

/// Reflection averaged over the sun's disc where the lobe is nearly as narrow as the disc.
fn disc_mean(brdf: &Brdf, to_light: Vec3, to_eye: Vec3) -> f32 {
    if brdf.lobe_width_rad() > 0.06 {
        return brdf.brdf_per_sr(to_light, to_eye);
    }
    let radius = crate::units::SUN_ANGULAR_RADIUS_RAD as f32;
    let (a, b) = to_light.any_orthonormal_pair();
    let mut sum = 0.0;
    for k in 0..7 {
        // Centre and six points at the radius that halves the disc's area on either side.
        let angle = k as f32 * std::f32::consts::TAU / 6.0;
        let r = if k == 6 { 0.0 } else { radius * 0.764 };
        let dir = (to_light + (a * angle.cos() + b * angle.sin()) * r).normalize();
        sum += brdf.brdf_per_sr(dir, to_eye);
    }
    sum / 7.0
}

fn tile_suns(room: &RoomLight, piece: &HungPiece, state: &LightState) -> Vec<f32> {
    let Some(sun_dir) = state.strengths.sun_dir else {
        return vec![0.0; piece.tiles.len()];
    };
    piece
        .tiles
        .par_iter()
        .with_min_len(16)
        .map(|tile| {
            if tile.frame.z_dir.dot(sun_dir) <= 0.0 {
                return 0.0;
            }
            let picks = [3, 12, 17, 26];
            let seen: f32 = picks
                .iter()
                .map(|k| {
                    room.sun_transmission(tile.points[*k], sun_dir, &state.strengths.pane_open)
                })
                .sum();
            state.strengths.sun_normal_illuminance_lx * seen / picks.len() as f32
        })
        .collect()
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
                        .map(|k| room.fixture_at(f, *point, piece.normal, k, f as u32))
                        .sum::<f32>()
                        / 4.0
                })
                .collect();
            (row, fixtures)
        })
        .unzip()
}
