//! What one tile receives, independent of the eye, and the lobe part of one (tile, station).

use glam::Vec3;

use super::{BATCHES, ViewSettings, point_index};
use crate::{
    material::Brdf,
    sampling::{Sequence, hash},
    scene::{HungPiece, POINTS_PER_TILE, Station},
    transport::{
        Entry, GatherPoint, GatherRequest, LightState, RoomLight, gather::PaneChoice, rows::dot,
    },
};

/// A direction from a tile to a point on a pane.
#[derive(Clone, Copy, Debug)]
pub(super) struct PaneSample {
    /// Index of the tile's point that it starts at.
    pub point: u8,
    /// Local direction.
    pub to_light: Vec3,
    /// Density of choosing it among the pane points [1/sr].
    pub pdf_per_sr: f32,
    first: u32,
    count: u32,
}

/// A direction from a tile to a point on a fixture's opening.
#[derive(Clone, Copy, Debug)]
struct FixtureSample {
    fixture: u32,
    batch: u8,
    point: u8,
    to_light: Vec3,
    /// Illuminance [lx] on the tile by this sample's share of its batch, full output.
    illuminance_lx: f32,
}

/// Light that reaches one tile.
#[derive(Clone, Debug)]
pub(super) struct TileField {
    choice: PaneChoice,
    spread: [Vec<Entry>; BATCHES],
    panes: [Vec<PaneSample>; BATCHES],
    landings: Vec<Entry>,
    fixtures: Vec<FixtureSample>,
    /// Fixture-major: separable part per batch [cd/m2 at full output, before the eye's factor].
    fixture_spread: Vec<[f32; BATCHES]>,
    /// Weights for the illuminance of the tile [sr].
    illuminance: Vec<Entry>,
    /// Illuminance by each fixture at full output [lx].
    fixture_lx: Vec<f32>,
}

impl TileField {
    pub(super) fn trace(
        room: &RoomLight,
        piece: &HungPiece,
        index: usize,
        stations: &[Station],
        settings: &ViewSettings,
    ) -> Self {
        let tile = &piece.tiles[index];
        let brdf = piece.brdf(tile);
        let tracer = room.tracer();
        let choice = PaneChoice::new(room.scene(), tile.frame.origin, tile.frame.z_dir);
        let seed = hash(settings.seed ^ 0x7113, index as u32);
        let has_spread = brdf.spread_in(Vec3::Z) > 0.0;
        let spread = std::array::from_fn(|b| {
            if !has_spread {
                return Vec::new();
            }
            let request = GatherRequest {
                hemisphere_count: settings.tile_count / BATCHES as u32,
                pane_count: settings.pane_count / BATCHES as u32,
                seed: hash(seed, b as u32),
            };
            let at = GatherPoint {
                frame: &tile.frame,
                points: &tile.points,
            };
            tracer.gather(at, request, |d| brdf.spread_in(d) * d.z)
        });
        let request = GatherRequest {
            hemisphere_count: settings.tile_count / 2,
            pane_count: settings.pane_count,
            seed: hash(seed, 0x111),
        };
        let at = GatherPoint {
            frame: &tile.frame,
            points: &tile.points,
        };
        let illuminance = tracer.gather(at, request, |d| d.z);
        let mut field = Self {
            choice,
            illuminance,
            fixture_lx: vec![0.0; room.scene().fixtures.len()],
            spread,
            panes: std::array::from_fn(|_| Vec::new()),
            landings: Vec::new(),
            fixtures: Vec::new(),
            fixture_spread: vec![[0.0; BATCHES]; room.scene().fixtures.len()],
        };
        if brdf.has_lobe() && !field.choice.is_empty() {
            field.sample_panes(room, piece, index, settings);
        }
        field.sample_fixtures(room, piece, index, (stations, settings.fixture_count), seed);
        field
    }

    fn sample_panes(
        &mut self,
        room: &RoomLight,
        piece: &HungPiece,
        index: usize,
        settings: &ViewSettings,
    ) {
        let tile = &piece.tiles[index];
        let per_batch = settings.pane_count / BATCHES as u32;
        for batch in 0..BATCHES {
            let sequence = Sequence::new(hash(
                hash(settings.seed ^ 0x9A2E, index as u32),
                batch as u32,
            ));
            for j in 0..per_batch {
                let point = point_index(batch, j);
                let origin = tile.points[point];
                let u = Vec3::new(
                    sequence.value(j, 0),
                    sequence.value(j, 1),
                    sequence.value(j, 2),
                );
                let sampled = self.choice.sample(room.scene(), origin, u);
                let (to_light, pdf_per_sr, first) = match sampled {
                    Some(dir) => {
                        let first = self.landings.len() as u32;
                        let to_light = tile.frame.local_from_world(dir);
                        if to_light.z > 1e-5 {
                            let landings = &mut self.landings;
                            room.tracer().trace(origin, dir, |target, weight| {
                                landings.push(Entry { target, weight })
                            });
                        }
                        (
                            to_light,
                            self.choice.pdf_per_sr(room.scene(), origin, dir),
                            first,
                        )
                    }
                    None => (Vec3::NEG_Z, 0.0, self.landings.len() as u32),
                };
                // A sample below the horizon stays in the count, with a reflection of zero.
                let count = self.landings.len() as u32 - first;
                self.panes[batch].push(PaneSample {
                    point: point as u8,
                    to_light,
                    pdf_per_sr: pdf_per_sr.max(1e-12),
                    first,
                    count,
                });
            }
        }
    }

    fn sample_fixtures(
        &mut self,
        room: &RoomLight,
        piece: &HungPiece,
        index: usize,
        (stations, most): (&[Station], u32),
        seed: u32,
    ) {
        let tile = &piece.tiles[index];
        let brdf = piece.brdf(tile);
        let reach_m = tile
            .points
            .iter()
            .map(|p| p.distance(tile.frame.origin))
            .fold(0.0, f32::max);
        let nearest_eye_m = stations
            .iter()
            .map(|s| s.eye.distance(tile.frame.origin))
            .fold(f32::MAX, f32::min)
            .max(0.3);
        let beams_rad: &[f32] = room.fixture_beams_rad();
        for (f, fixture) in room.scene().fixtures.iter().enumerate() {
            // As many points as the spread of directions is wider than the lobe, and as the tile is
            // wider than a quarter of the beam, squared.
            let distance_m = fixture.position.distance(tile.frame.origin).max(0.1);
            let tile_rad = 2.0 * reach_m / distance_m;
            let spread_rad = tile_rad
                + fixture.aperture.largest_dimension_m() / distance_m
                + 2.0 * reach_m / nearest_eye_m;
            let lobe = if brdf.has_lobe() {
                spread_rad / brdf.lobe_width_rad().max(0.01)
            } else {
                0.0
            };
            let beam = 4.0 * tile_rad / beams_rad[f].max(0.02);
            let per_batch = ((2.0 * lobe * lobe).max(beam * beam).ceil() as u32)
                .clamp(most.min(8), most.max(1));
            for batch in 0..BATCHES {
                let seed = hash(hash(seed, f as u32), batch as u32 + 91);
                for j in 0..per_batch {
                    let point = point_index(batch, j);
                    let Some((dir, lx)) = room.fixture_beam(f, tile.points[point], j, seed) else {
                        continue;
                    };
                    let to_light = tile.frame.local_from_world(dir);
                    if to_light.z <= 0.0 {
                        continue;
                    }
                    let illuminance_lx = lx * to_light.z / per_batch as f32;
                    self.fixture_lx[f] += illuminance_lx / BATCHES as f32;
                    self.fixture_spread[f][batch] += brdf.spread_in(to_light) * illuminance_lx;
                    if brdf.has_lobe() {
                        self.fixtures.push(FixtureSample {
                            fixture: f as u32,
                            batch: batch as u8,
                            point: point as u8,
                            to_light,
                            illuminance_lx,
                        });
                    }
                }
            }
        }
    }

    /// Illuminance of the tile without the sun's direct part [lx].
    pub(super) fn illuminance_lx(&self, state: &LightState) -> f32 {
        let lamps: f32 = self
            .fixture_lx
            .iter()
            .zip(&state.strengths.fixtures)
            .map(|(lx, share)| lx * share)
            .sum();
        dot(&self.illuminance, &state.luminance_cd_m2) + lamps
    }

    pub(super) fn choice(&self) -> &PaneChoice {
        &self.choice
    }

    pub(super) fn pane_samples(&self, batch: usize) -> &[PaneSample] {
        &self.panes[batch]
    }

    pub(super) fn landings(&self, sample: &PaneSample) -> &[Entry] {
        &self.landings[sample.first as usize..(sample.first + sample.count) as usize]
    }

    pub(super) fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.spread.iter().flatten()
    }

    pub(super) fn entry_count(&self) -> usize {
        self.spread.iter().map(Vec::len).sum::<usize>() + self.landings.len()
    }

    /// Separable part of one batch before the eye's factor [cd/m2].
    pub(super) fn spread(&self, batch: usize, state: &LightState) -> f32 {
        let mut value = dot(&self.spread[batch], &state.luminance_cd_m2);
        for (part, strength) in self.fixture_spread.iter().zip(&state.strengths.fixtures) {
            value += part[batch] * strength;
        }
        value
    }

    /// Separable part of one fixture at full output, before the eye's factor [cd/m2].
    pub(super) fn fixture(&self, fixture: usize) -> f32 {
        self.fixture_spread[fixture].iter().sum::<f32>() / BATCHES as f32
    }

    /// Adds the fixtures' lobe reflections toward an eye.
    pub(super) fn add_lobe_fixtures(
        &self,
        brdf: &Brdf,
        eyes: &[Vec3; POINTS_PER_TILE],
        part: &mut LobePart,
    ) {
        for sample in &self.fixtures {
            let value = brdf.lobe_per_sr(sample.to_light, eyes[sample.point as usize])
                * sample.illuminance_lx;
            if value > 0.0 {
                part.add_fixture(sample.fixture, sample.batch as usize, value);
            }
        }
    }
}

/// Lobe weights of one (tile, station).
#[derive(Clone, Debug, Default)]
pub(super) struct LobePart {
    entries: Vec<Entry>,
    ends: [u32; BATCHES],
    filled: usize,
    /// (fixture, luminance per batch [cd/m2] at full output), by rising fixture.
    fixtures: Vec<(u32, [f32; BATCHES])>,
}

impl LobePart {
    pub(super) fn push_batch(&mut self, entries: &[Entry]) {
        self.entries.extend_from_slice(entries);
        self.ends[self.filled] = self.entries.len() as u32;
        self.filled += 1;
        if self.filled == BATCHES {
            self.entries.shrink_to_fit();
        }
    }

    fn add_fixture(&mut self, fixture: u32, batch: usize, value: f32) {
        match self.fixtures.last_mut() {
            Some(last) if last.0 == fixture => last.1[batch] += value,
            _ => {
                let mut batches = [0.0; BATCHES];
                batches[batch] = value;
                self.fixtures.push((fixture, batches));
            }
        }
    }

    #[inline]
    pub(super) fn batch(&self, batch: usize) -> &[Entry] {
        let start = if batch == 0 {
            0
        } else {
            self.ends[batch - 1] as usize
        };
        &self.entries[start..self.ends[batch] as usize]
    }

    pub(super) fn entries(&self) -> &[Entry] {
        &self.entries
    }

    pub(super) fn entry_count(&self) -> usize {
        self.entries.len()
    }

    /// Lobe part of one fixture at full output [cd/m2].
    pub(super) fn fixture(&self, fixture: usize) -> f32 {
        self.fixtures
            .iter()
            .filter(|(f, _)| *f as usize == fixture)
            .map(|(_, b)| b.iter().sum::<f32>() / BATCHES as f32)
            .sum()
    }

    /// Lobe part of all fixtures at their strengths, one batch [cd/m2].
    pub(super) fn fixture_sum(&self, batch: usize, strengths: &[f32]) -> f32 {
        self.fixtures
            .iter()
            .map(|(f, b)| b[batch] * strengths[*f as usize])
            .sum()
    }
}
