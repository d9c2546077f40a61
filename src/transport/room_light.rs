//! The room's own light: patches, who sees whom, and the solve for one set of strengths.
//!
//! Radiosity with point-sampled form factors (C. Goral et al., "Modeling the interaction of light
//! between diffuse surfaces", 1984): each patch gathers with rays, so that E = direct + sum F L, and
//! L = rho E / pi is iterated to rest. Limits: diffuse surfaces except the piece; one luminance per
//! patch; the piece itself does not light the room.

use std::{f32::consts::PI, sync::Arc};

use glam::Vec3;
use rayon::prelude::*;

use super::{
    Columns, Entry, GatherPoint, GatherRequest, Patches, Progress, SolveError, SparseRows,
    Strengths, Tracer, patches::POINTS_PER_PATCH, rows::dot,
};
use crate::{
    geometry::{Frame, RayMesh},
    sampling::hash,
    scene::{Fixture, Scene},
    sky::SkyGrid,
};

/// Bounces after which the solve ends in any case.
const MOST_BOUNCES: usize = 2000;
/// Relative change of all illuminances by one bounce at which the solve is at rest.
const SETTLED: f64 = 1e-6;

/// How finely the room is computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoomLightSettings {
    /// Size of surface patches [m].
    pub patch_m: f32,
    /// Rays per patch over the hemisphere.
    pub hemisphere_count: u32,
    /// Rays per patch to panes.
    pub pane_count: u32,
    /// Refinement of the 145-patch sky: cells = 144 m^2 + 1.
    pub sky_refinement: usize,
    /// Points per patch for sun and fixtures, at most 16.
    pub points_per_patch: usize,
    /// Seed of all randomisations.
    pub seed: u32,
}

impl Default for RoomLightSettings {
    fn default() -> Self {
        Self {
            patch_m: 0.5,
            hemisphere_count: 256,
            pane_count: 64,
            sky_refinement: 3,
            points_per_patch: 8,
            seed: 1,
        }
    }
}

/// A prepared room. What depends on the building alone is shared by all rooms that differ in their
/// fixtures only.
pub struct RoomLight {
    scene: Scene,
    mesh: Arc<RayMesh>,
    patches: Arc<Patches>,
    columns: Arc<Columns>,
    rows: Arc<SparseRows>,
    /// Per fixture and patch: direct illuminance [lx] at full initial output.
    fixture_direct_lx: Vec<Arc<Vec<f32>>>,
    /// Beam angle of each fixture [rad].
    fixture_beams_rad: Vec<f32>,
    settings: RoomLightSettings,
}

/// Luminances of everything under one set of strengths.
#[derive(Clone, Debug)]
pub struct LightState {
    /// Patches, then columns [cd/m2].
    pub luminance_cd_m2: Vec<f32>,
    /// Illuminance of each patch [lx].
    pub patch_illuminance_lx: Vec<f32>,
    /// Of which straight from the sun [lx].
    pub patch_sun_lx: Vec<f32>,
    /// The strengths it was solved for.
    pub strengths: Strengths,
}

/// Illuminance at a point, split by where the light comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PointReading {
    /// Straight from the sun [lx].
    pub sun_lx: f32,
    /// Straight from the sky and the ground outside [lx].
    pub sky_lx: f32,
    /// Straight from fixtures [lx].
    pub fixtures_lx: f32,
    /// After at least one reflection, or through diffusing panes [lx].
    pub inter_reflected_lx: f32,
    /// Standard error of the sum [lx].
    pub standard_error_lx: f32,
}

impl LightState {
    /// This light and another of the same building at once, e.g. daylight solved without fixtures and fixtures solved
    /// in the dark: light adds up. The sky and the sun are this one's, the fixtures' strengths the other's.
    pub fn joined(&self, lamps: &Self) -> Self {
        let sum = |a: &[f32], b: &[f32]| a.iter().zip(b).map(|(x, y)| x + y).collect();
        Self {
            luminance_cd_m2: sum(&self.luminance_cd_m2, &lamps.luminance_cd_m2),
            patch_illuminance_lx: sum(&self.patch_illuminance_lx, &lamps.patch_illuminance_lx),
            patch_sun_lx: self.patch_sun_lx.clone(),
            strengths: self
                .strengths
                .clone()
                .with_fixtures(lamps.strengths.fixtures.clone()),
        }
    }
}

impl PointReading {
    /// All parts together [lx].
    pub fn total_lx(&self) -> f32 {
        self.sun_lx + self.sky_lx + self.fixtures_lx + self.inter_reflected_lx
    }
}

impl RoomLight {
    /// Builds tree, patches and gather rows. Independent of hour, sky, dimming and piece.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`].
    pub fn prepare(
        scene: Scene,
        settings: RoomLightSettings,
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        Self::prepare_from(None, scene, settings, progress)
    }

    /// The same, taking over from `previous` whatever the scenes have in common: the building with all its
    /// bounces where no surface or pane differs, and the light of each fixture that has not changed. Settings may differ
    /// from the previous ones in their points per patch; fixtures taken over keep theirs.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`].
    pub fn prepare_from(
        previous: Option<&Self>,
        scene: Scene,
        settings: RoomLightSettings,
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let alike = |p: &Self| {
            RoomLightSettings {
                points_per_patch: settings.points_per_patch,
                ..p.settings
            } == settings
        };
        let previous = previous.filter(|p| alike(p) && p.scene.has_the_building_of(&scene));
        let mut room = match previous {
            Some(previous) => Self {
                mesh: Arc::clone(&previous.mesh),
                patches: Arc::clone(&previous.patches),
                columns: Arc::clone(&previous.columns),
                rows: Arc::clone(&previous.rows),
                fixture_direct_lx: Vec::new(),
                fixture_beams_rad: Vec::new(),
                settings,
                scene,
            },
            None => Self::without_fixtures(scene, settings, progress)?,
        };
        let known: Vec<Option<Arc<Vec<f32>>>> = room
            .scene
            .fixtures
            .iter()
            .map(|fixture| {
                let previous = previous?;
                let same = |f: &Fixture| f.shines_like(fixture);
                let index = previous.scene.fixtures.iter().position(same)?;
                previous.fixture_direct_lx.get(index).map(Arc::clone)
            })
            .collect();
        progress.announce(known.len() as u64);
        let direct: Result<Vec<_>, _> = known
            .into_par_iter()
            .enumerate()
            .map(|(f, known)| {
                progress.step()?;
                Ok(known.unwrap_or_else(|| Arc::new(room.direct_from(f))))
            })
            .collect();
        room.fixture_direct_lx = direct?;
        room.fixture_beams_rad = room
            .scene
            .fixtures
            .iter()
            .map(|f| f.distribution.beam_angle_rad())
            .collect();
        Ok(room)
    }

    /// Tree, patches and gather rows of the building.
    fn without_fixtures(
        scene: Scene,
        settings: RoomLightSettings,
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let mesh = RayMesh::new(
            scene
                .surfaces
                .iter()
                .map(|s| &s.polygon)
                .chain(scene.panes.iter().map(|p| &p.polygon)),
        );
        let patches = Patches::new(&scene, settings.patch_m);
        let columns = Columns::new(
            SkyGrid::new(settings.sky_refinement),
            patches.list().len(),
            scene.panes.len(),
        );
        let mut room = Self {
            scene,
            mesh: Arc::new(mesh),
            patches: Arc::new(patches),
            columns: Arc::new(columns),
            rows: Arc::new(SparseRows::default()),
            fixture_direct_lx: Vec::new(),
            fixture_beams_rad: Vec::new(),
            settings,
        };
        progress.announce(room.patches.list().len() as u64);
        let rows: Result<Vec<_>, _> = (0..room.patches.list().len())
            .into_par_iter()
            .map(|i| progress.step().map(|()| room.patch_row(i)))
            .collect();
        room.rows = Arc::new(SparseRows::from_rows(rows?));
        Ok(room)
    }

    /// The scene that was prepared.
    pub fn scene(&self) -> &Scene {
        &self.scene
    }

    /// The columns of the luminance vector.
    pub fn columns(&self) -> &Columns {
        &self.columns
    }

    /// The patches.
    pub fn patches(&self) -> &Patches {
        &self.patches
    }

    /// Settings it was prepared with.
    pub fn settings(&self) -> &RoomLightSettings {
        &self.settings
    }

    /// Beam angle of each fixture [rad].
    pub(super) fn fixture_beams_rad(&self) -> &[f32] {
        &self.fixture_beams_rad
    }

    /// Triangles in the ray tree.
    pub fn triangle_count(&self) -> usize {
        self.mesh.triangle_count()
    }

    /// Rays through this room.
    pub fn tracer(&self) -> Tracer<'_> {
        Tracer {
            scene: &self.scene,
            mesh: &self.mesh,
            patches: &self.patches,
            columns: &self.columns,
        }
    }

    fn patch_row(&self, index: usize) -> Vec<Entry> {
        let patch = &self.patches.list()[index];
        let frame = Frame::new(patch.centre, patch.normal, Vec3::X);
        let request = GatherRequest {
            hemisphere_count: self.settings.hemisphere_count,
            pane_count: if patch.indoors {
                self.settings.pane_count
            } else {
                0
            },
            seed: hash(self.settings.seed, index as u32),
        };
        self.tracer().gather(
            GatherPoint {
                frame: &frame,
                points: &patch.points,
            },
            request,
            |d| d.z,
        )
    }

    fn direct_from(&self, fixture: usize) -> Vec<f32> {
        let count = self.settings.points_per_patch.clamp(1, POINTS_PER_PATCH);
        self.patches
            .list()
            .iter()
            .enumerate()
            .map(|(i, patch)| {
                let seed = hash(hash(self.settings.seed, i as u32), 7 + fixture as u32);
                let points = &patch.points[..count];
                let sum: f32 = points
                    .iter()
                    .enumerate()
                    .map(|(k, p)| self.fixture_at(fixture, *p, patch.normal, k as u32, seed))
                    .sum();
                sum / count as f32
            })
            .collect()
    }

    /// Points of a fixture's opening that a reading at a place takes: more where the opening looks large.
    fn opening_points(&self, fixture: usize, point: Vec3) -> u32 {
        let fixture = &self.scene.fixtures[fixture];
        let size_m = fixture.aperture.largest_dimension_m();
        let ratio = size_m
            / (fixture.position.distance(point) - 0.5 * size_m)
                .max(0.05 * size_m)
                .max(1e-3);
        (256.0 * ratio * ratio).clamp(32.0, 4096.0) as u32
    }

    /// Direct illuminance [lx] at a point by one point of a fixture's opening, full output.
    pub(crate) fn fixture_at(
        &self,
        fixture: usize,
        point: Vec3,
        normal: Vec3,
        sample: u32,
        seed: u32,
    ) -> f32 {
        self.fixture_beam(fixture, point, sample, seed)
            .map_or(0.0, |(dir, normal_illuminance_lx)| {
                normal_illuminance_lx * dir.dot(normal).max(0.0)
            })
    }

    /// Direction to one point of a fixture's opening and the illuminance [lx] it would give on a
    /// plane facing it, at full output; `None` when hidden or dark. Inverse square law.
    pub(super) fn fixture_beam(
        &self,
        fixture: usize,
        point: Vec3,
        sample: u32,
        seed: u32,
    ) -> Option<(Vec3, f32)> {
        let f = &self.scene.fixtures[fixture];
        let source = f.aperture_point(crate::sampling::Sequence::new(seed).pair(sample, 0), point);
        let to_source = source - point;
        let distance_m = to_source.length();
        if distance_m < 1e-3 {
            return None;
        }
        let dir = to_source / distance_m;
        let intensity_cd = f.intensity_cd(-dir);
        if intensity_cd <= 0.0 {
            return None;
        }
        let (transmittance, _) = self.tracer().transmission(point, dir, distance_m)?;
        Some((
            dir,
            intensity_cd * transmittance / (distance_m * distance_m),
        ))
    }

    /// Share of the sun's light that reaches a point, panes and blinds included.
    pub fn sun_transmission(&self, point: Vec3, sun_dir: Vec3) -> f32 {
        self.sun_path(point, sun_dir).map_or(0.0, |(t, _)| t)
    }

    /// The same, with the pane (index) next to the sun; `None` in shadow.
    pub fn sun_path(&self, point: Vec3, sun_dir: Vec3) -> Option<(f32, Option<usize>)> {
        self.tracer().transmission(point, sun_dir, 1e4)
    }

    /// A short list of what lights a point that faces `normal`: direction to each source (unit) and the
    /// illuminance on a plane that faces it [lx], strongest first.
    ///
    /// For pictures that show how a surface answers to its sources; sums over it are estimates.
    pub fn sources_at(&self, point: Vec3, normal: Vec3, state: &LightState) -> Vec<(Vec3, f32)> {
        const PANE_POINTS: u32 = 6;
        const ROOM_DIRECTIONS: u32 = 24;
        let mut sources = Vec::new();
        let tracer = self.tracer();
        let seen = |dir: Vec3| {
            let mut sum = 0.0;
            tracer.trace(point, dir, |target, weight| {
                sum += weight * state.luminance_cd_m2[target as usize];
            });
            sum
        };
        if let Some(sun_dir) = state.strengths.sun_dir {
            let share = self.sun_transmission(point, sun_dir);
            sources.push((sun_dir, share * state.strengths.sun_normal_illuminance_lx));
        }
        for (f, strength) in state.strengths.fixtures.iter().enumerate() {
            if *strength > 0.0
                && let Some((dir, lx)) = self.fixture_beam(f, point, 0, self.settings.seed)
            {
                sources.push((dir, lx * strength));
            }
        }
        let sequence = crate::sampling::Sequence::new(self.settings.seed);
        for (pane_index, pane) in self.scene.panes.iter().enumerate() {
            for k in 0..PANE_POINTS {
                let to_pane = pane.polygon.point(sequence.pair(k, 0)) - point;
                let r2 = to_pane.length_squared().max(1e-4);
                let dir = to_pane / r2.sqrt();
                let at_pane = super::tracer::FirstLanding::Pane(pane_index);
                if dir.dot(normal) > 0.0 && tracer.trace_to_pane(point, dir) == at_pane {
                    let facing = dir.dot(pane.polygon.normal()).abs();
                    let sr = pane.polygon.area_m2() * facing / (r2 * PANE_POINTS as f32);
                    sources.push((dir, seen(dir) * sr));
                }
            }
        }
        let frame = Frame::new(point, normal, Vec3::X);
        for k in 0..ROOM_DIRECTIONS {
            let local = crate::sampling::cosine::sample_cosine_hemisphere(sequence.pair(k, 2));
            let dir = frame.world_from_local(local);
            let is_pane = matches!(
                tracer.trace_to_pane(point, dir),
                super::tracer::FirstLanding::Pane(_)
            );
            if !is_pane {
                let sr = PI / (ROOM_DIRECTIONS as f32 * local.z.max(0.05));
                sources.push((dir, seen(dir) * sr));
            }
        }
        sources.retain(|s| s.1 > 0.0 && s.0.dot(normal) > 0.0);
        sources.sort_by(|a, b| b.1.total_cmp(&a.1));
        sources
    }

    /// Solves for the luminance of every patch under the strengths.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`] if a value is not finite.
    pub fn solve(&self, strengths: Strengths) -> Result<LightState, SolveError> {
        self.solve_until(strengths, SETTLED)
    }

    /// The same, at rest when one more bounce changes all illuminances together by less than `settled`, relative. For searches that ask for
    /// hundreds of rough answers.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`] if a value is not finite.
    pub fn solve_until(
        &self,
        strengths: Strengths,
        settled: f64,
    ) -> Result<LightState, SolveError> {
        let list = self.patches.list();
        let mut luminance = vec![0.0_f32; self.columns.len()];
        self.columns.fill(&strengths, &mut luminance);
        let points = self.settings.points_per_patch.clamp(1, POINTS_PER_PATCH);
        let patch_count = list.len();
        let patch_sun_lx: Vec<f32> = list
            .par_iter()
            .with_min_len(32)
            .map(|patch| {
                let Some(sun_dir) = strengths.sun_dir else {
                    return 0.0;
                };
                let cos = patch.normal.dot(sun_dir);
                if cos <= 0.0 {
                    return 0.0;
                }
                let seen: f32 = patch.points[..points]
                    .iter()
                    .map(|p| self.sun_transmission(*p, sun_dir))
                    .sum();
                strengths.sun_normal_illuminance_lx * cos * seen / points as f32
            })
            .collect();
        // Light that arrives without reflection.
        let direct: Vec<f32> = (0..patch_count)
            .into_par_iter()
            .with_min_len(32)
            .map(|i| {
                let outward = self.rows.row(i);
                let first = outward.partition_point(|e| (e.target as usize) < patch_count);
                let mut sum = dot(&outward[first..], &luminance);
                for (fixture, strength) in strengths.fixtures.iter().enumerate() {
                    if *strength > 0.0 {
                        sum += strength * self.fixture_direct_lx[fixture][i];
                    }
                }
                sum + patch_sun_lx[i]
            })
            .collect();
        let mut arriving = direct.clone();
        // Reflectances stay below 1, so this ends; the count bounds a room of white walls without openings.
        for _ in 0..MOST_BOUNCES {
            for i in 0..patch_count {
                let patch = &list[i];
                let through = patch
                    .twin
                    .map_or(0.0, |(twin, t)| t * arriving[twin as usize]);
                luminance[i] = (patch.reflectance * arriving[i] + through) / PI;
            }
            let next: Vec<f32> = (0..patch_count)
                .into_par_iter()
                .with_min_len(64)
                .map(|i| {
                    let row = self.rows.row(i);
                    let end = row.partition_point(|e| (e.target as usize) < patch_count);
                    direct[i] + dot(&row[..end], &luminance)
                })
                .collect();
            let (mut change, mut total) = (0.0_f64, 0.0_f64);
            for (a, b) in next.iter().zip(&arriving) {
                change += f64::from((a - b).abs());
                total += f64::from(a.abs());
            }
            arriving = next;
            if change <= settled * total {
                break;
            }
        }
        for i in 0..patch_count {
            let through = list[i]
                .twin
                .map_or(0.0, |(twin, t)| t * arriving[twin as usize]);
            luminance[i] = (list[i].reflectance * arriving[i] + through) / PI;
        }
        if luminance.iter().any(|v| !v.is_finite()) {
            return Err(SolveError::NotFinite {
                quantity: "patch luminance",
            });
        }
        Ok(LightState {
            luminance_cd_m2: luminance,
            patch_illuminance_lx: arriving,
            patch_sun_lx,
            strengths,
        })
    }

    /// Direct illuminance [lx] of each patch by a fixture (index) at full initial output.
    pub fn fixture_direct_lx(&self, fixture: usize) -> &[f32] {
        &self.fixture_direct_lx[fixture]
    }

    /// Illuminance [lx] straight from each fixture (index) at a point facing `normal` (unit), strongest first;
    /// those that do not reach it are left out.
    pub fn fixtures_at(&self, point: Vec3, normal: Vec3, state: &LightState) -> Vec<(usize, f32)> {
        const SAMPLES: u32 = 32;
        let mut list: Vec<(usize, f32)> = Vec::new();
        for (f, strength) in state.strengths.fixtures.iter().enumerate() {
            let mut sum = 0.0;
            for k in 0..SAMPLES {
                if let Some((dir, lx)) = self.fixture_beam(f, point, k, self.settings.seed) {
                    sum += lx * dir.dot(normal).max(0.0);
                }
            }
            let lx = sum * strength / SAMPLES as f32;
            if lx > 0.0 {
                list.push((f, lx));
            }
        }
        list.sort_by(|a, b| b.1.total_cmp(&a.1));
        list
    }

    /// Illuminance [lx] at a point facing `normal` (unit), with its parts.
    ///
    /// `sample_count` rays; four independent batches give the standard error.
    pub fn meter(
        &self,
        state: &LightState,
        point: Vec3,
        normal: Vec3,
        sample_count: u32,
    ) -> PointReading {
        const BATCHES: u32 = 4;
        let frame = Frame::new(point, normal, Vec3::X);
        let points = [point];
        let mut reading = PointReading::default();
        let mut totals = [0.0_f32; BATCHES as usize];
        for (batch, total) in totals.iter_mut().enumerate() {
            let request = GatherRequest {
                hemisphere_count: sample_count / BATCHES,
                pane_count: sample_count / BATCHES,
                seed: hash(self.settings.seed ^ 0x51ED, batch as u32),
            };
            let row = self.tracer().gather(
                GatherPoint {
                    frame: &frame,
                    points: &points,
                },
                request,
                |d| d.z,
            );
            let first = row.partition_point(|e| !self.columns.is_outward(e.target));
            let inter = dot(&row[..first], &state.luminance_cd_m2);
            let sky = dot(&row[first..], &state.luminance_cd_m2);
            let mut fixtures = 0.0;
            for (fixture, strength) in state.strengths.fixtures.iter().enumerate() {
                if *strength > 0.0 {
                    let count = self.opening_points(fixture, point);
                    let sum: f32 = (0..count)
                        .map(|k| {
                            self.fixture_at(
                                fixture,
                                point,
                                normal,
                                k,
                                hash(batch as u32, fixture as u32),
                            )
                        })
                        .sum();
                    fixtures += strength * sum / count as f32;
                }
            }
            reading.inter_reflected_lx += inter / BATCHES as f32;
            reading.sky_lx += sky / BATCHES as f32;
            reading.fixtures_lx += fixtures / BATCHES as f32;
            *total = inter + sky + fixtures;
        }
        if let Some(sun_dir) = state.strengths.sun_dir {
            let cos = normal.dot(sun_dir).max(0.0);
            reading.sun_lx = state.strengths.sun_normal_illuminance_lx
                * cos
                * self.sun_transmission(point, sun_dir);
        }
        reading.standard_error_lx = batch_error(&totals);
        reading
    }
}

/// Standard error of the mean of independent batches.
pub(super) fn batch_error(values: &[f32]) -> f32 {
    let n = values.len() as f32;
    let mean = values.iter().sum::<f32>() / n;
    let sum: f32 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
    (sum / (n * (n - 1.0))).sqrt()
}
