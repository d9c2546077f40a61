//! One tile from one station: visibility, the lobe's samples, and when they are enough.

use glam::Vec3;

use super::{
    BATCHES, ViewSettings,
    field::{LobePart, TileField},
    point_index,
    sun::sun_luminance,
};
use crate::{
    sampling::{Sequence, hash},
    scene::{HungPiece, HungTile, POINTS_PER_TILE, Station},
    transport::{
        Entry, LightState, RoomLight, Tracer,
        room_light::batch_error,
        rows::{dot, merge},
    },
};

/// One tile from one station.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    /// Share of the tile that the eye sees.
    pub(super) visible: f32,
    /// What panes between tile and eye leave of the light, 0..=1.
    pub(super) clearness: f32,
    /// The eye's factor of the separable part.
    pub(super) spread_out: f32,
    /// Lobe weights.
    pub(super) lobe: LobePart,
}

impl Cell {
    /// Luminance toward the eye, each batch's estimate [cd/m2]; `sun` is the sun's direct part.
    #[inline]
    pub(super) fn batches(
        &self,
        field: &TileField,
        state: &LightState,
        sun: &[f32; BATCHES],
    ) -> [f32; BATCHES] {
        if self.clearness <= 0.0 {
            return [0.0; BATCHES];
        }
        std::array::from_fn(|b| {
            let mut value = dot(self.lobe.batch(b), &state.luminance_cd_m2);
            if self.spread_out > 0.0 {
                value += self.spread_out * field.spread(b, state);
            }
            self.clearness * (value + self.lobe.fixture_sum(b, &state.strengths.fixtures) + sun[b])
        })
    }
}

/// One (tile, station) being traced.
pub(super) struct Place<'a> {
    pub(super) room: &'a RoomLight,
    pub(super) piece: &'a HungPiece,
    pub(super) tile_index: usize,
    pub(super) station: &'a Station,
    pub(super) station_index: usize,
}

impl Place<'_> {
    fn tile(&self) -> &HungTile {
        &self.piece.tiles[self.tile_index]
    }

    /// Traces the cell, and once more with as many samples as its first error asks for.
    pub(super) fn cell(
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
        let (visible, mut clearness) = self.visible(settings.sight_count);
        if settings.for_pictures && visible <= 0.0 {
            clearness = 1.0;
        }
        if to_eye.z <= 0.0 || clearness <= 0.0 {
            return Cell {
                visible: 0.0,
                clearness: 0.0,
                spread_out: 0.0,
                lobe: LobePart::default(),
            };
        }
        let spread_out = brdf.spread_out(to_eye);
        let trace = |count: u32| Cell {
            visible,
            clearness,
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

    /// Largest error of the lobe's samples under the probes over the wanted one; what comes straight from
    /// lamps has its own fixed points.
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
                let sun = sun_luminance(brdf, tile, self.station, state, sun[self.tile_index]);
                let batches = cell.batches(field, state, &sun);
                let mean = batches.iter().sum::<f32>() / BATCHES as f32;
                // Below a hundredth of a cd/m2 nothing is seen anyway.
                let lobe: [f32; BATCHES] = std::array::from_fn(|b| {
                    cell.clearness * dot(cell.lobe.batch(b), &state.luminance_cd_m2)
                });
                batch_error(&lobe) / (settings.wanted_error * mean.max(0.01))
            })
            .fold(0.0, f32::max)
    }

    /// Share of the tile that the eye sees, and what panes between leave of its light.
    fn visible(&self, count: usize) -> (f32, f32) {
        let tracer = self.room.tracer();
        let (mut seen, mut left) = (0.0, 0.0);
        let count = count.clamp(1, POINTS_PER_TILE);
        let step = POINTS_PER_TILE / count;
        for k in 0..count {
            // Along the points' order and across it at once, so that few points cover the tile too.
            let point = &self.tile().points[k * step + k % step];
            let to_eye = self.station.eye - *point;
            let distance = to_eye.length();
            let dir = to_eye / distance.max(1e-6);
            if let Some((transmittance, _)) = tracer.transmission(*point, dir, distance) {
                seen += 1.0;
                left += transmittance;
            }
        }
        if seen > 0.0 {
            (seen / count as f32, left / seen)
        } else {
            (0.0, 0.0)
        }
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
