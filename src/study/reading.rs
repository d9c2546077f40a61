//! One station at one instant: what is seen, and what is wrong with it.

use serde::Serialize;

use super::{Cause, Flag};
use crate::{
    measure::{
        glare::{self, GlareSource},
        pattern,
        position::position_index,
        reads::{Neighbour, PatternReading, Reads, ReadsLimits, classify_pattern},
        veil::VeilObserver,
    },
    room::{Limits, Walk},
    scene::{HungPiece, Station},
    transport::{EyeField, LightPart, LightState, Lustre, RoomLight, TileReading},
};

/// What shines into the eye.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SourceKind {
    /// A pane (index).
    Pane(usize),
    /// A fixture (index).
    Fixture(usize),
    /// The sun.
    Sun,
    /// A tile (id).
    Tile(u32),
}

/// A glare source that counted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GlareSourceInView {
    /// Which.
    pub source: SourceKind,
    /// Its luminance toward the eye [cd/m2].
    pub luminance_cd_m2: f32,
    /// Its solid angle [sr].
    pub solid_angle_sr: f32,
    /// Its angle from the line of sight [rad].
    pub from_gaze_rad: f32,
    /// Its share of the sum under the logarithm of the daylight glare probability.
    pub share: f32,
}

/// Everything about one station at one instant.
#[derive(Clone, Debug)]
pub struct StationReading {
    /// Tile luminances.
    pub tiles: TileReading,
    /// Mean luminance of the piece by area [cd/m2].
    pub mean_luminance_cd_m2: f32,
    /// Median over tiles of the relative standard error.
    pub relative_error: f32,
    /// Mean luminance of the piece over that of the wall around.
    pub glow: f32,
    /// Luminance at the 90th percentile by area over the 10th.
    pub play: f32,
    /// Mean change of the logarithm of tile luminance per metre walked to the next station [1/m].
    pub shift_per_m: Option<f32>,
    /// How the pattern reads.
    pub pattern: PatternReading,
    /// Luminance that the eye is adapted to [cd/m2].
    pub adaptation_cd_m2: f32,
    /// Veiling luminance over the piece [cd/m2].
    pub veil_cd_m2: f32,
    /// Illuminance at the eye across the line of sight [lx].
    pub eye_illuminance_lx: f32,
    /// Unified glare rating of the fixtures; `None` with none in view.
    pub ugr: Option<f32>,
    /// Daylight glare probability.
    pub dgp: f32,
    /// Sources that counted, strongest first.
    pub sources: Vec<GlareSourceInView>,
    /// What is wrong.
    pub flags: Vec<Flag>,
}

/// What all readings of one walk share.
pub(super) struct Reader<'a> {
    pub room: &'a RoomLight,
    pub lustre: &'a Lustre,
    pub walk: &'a Walk,
    pub limits: &'a Limits,
    pub reads: &'a ReadsLimits,
    pub areas_m2: &'a [f32],
}

/// What all stations share at one instant.
pub(super) struct Light<'a> {
    pub state: &'a LightState,
    pub sun_on_tiles_lx: &'a [f32],
    pub surround_cd_m2: f32,
}

/// Brightness over the mean of the view above which a surface counts as a glare source
/// (practice with the daylight glare probability: 4 to 5 times, from memory).
const SOURCE_OVER_MEAN: f32 = 5.0;

struct View {
    sources: Vec<(SourceKind, f32, f32, glam::Vec3)>,
    adaptation_cd_m2: f32,
    background_cd_m2: f32,
    eye_lx: f32,
}

impl Reader<'_> {
    fn piece(&self) -> &HungPiece {
        self.lustre.piece()
    }

    /// Reads one station; `station_index` counts over all walks of the lustre.
    pub(super) fn read(
        &self,
        light: &Light,
        station_index: usize,
        pairs: &[Neighbour],
    ) -> StationReading {
        let station = &self.lustre.stations()[station_index];
        let eye = &self.lustre.eyes()[station_index];
        let tiles = self
            .lustre
            .read(light.state, light.sun_on_tiles_lx, station_index);
        // What is hidden takes no part in any figure.
        let seen_m2: Vec<f32> = self
            .areas_m2
            .iter()
            .zip(&tiles.visible)
            .map(|(area, visible)| area * visible)
            .collect();
        let mean = pattern::area_mean(&tiles.luminance_cd_m2, &seen_m2).unwrap_or(0.0);
        let view = self.view(light, station, eye, &tiles);
        let to_piece = (self.piece().centre - station.eye).normalize_or(station.gaze_dir);
        let (veil, worst_veil) = self.veil(&view, to_piece);
        let surround = if light.surround_cd_m2 > 0.0 {
            light.surround_cd_m2
        } else {
            view.adaptation_cd_m2
        };
        let classify = |veil_cd_m2: f32| {
            classify_pattern(
                &tiles.luminance_cd_m2,
                pairs,
                &seen_m2,
                f64::from(view.adaptation_cd_m2),
                f64::from(veil_cd_m2),
                f64::from(self.walk.age_years),
                self.reads,
            )
        };
        let read = classify(veil);
        // Only a lost pattern needs the answer without the veil.
        let unveiled = if read.class == Reads::Lost {
            classify(0.0).class
        } else {
            read.class
        };
        let (ugr, dgp, sources) = self.glare(&view, station);
        let mut reading = StationReading {
            mean_luminance_cd_m2: mean,
            relative_error: median_error(&tiles),
            glow: pattern::glow(mean, surround).unwrap_or(0.0),
            play: pattern::play(&tiles.luminance_cd_m2, &seen_m2).unwrap_or(1.0),
            shift_per_m: None,
            pattern: read,
            adaptation_cd_m2: view.adaptation_cd_m2,
            veil_cd_m2: veil,
            eye_illuminance_lx: view.eye_lx,
            ugr,
            dgp,
            sources,
            flags: Vec::new(),
            tiles,
        };
        self.flag_dead(&mut reading, station, worst_veil, unveiled);
        self.flag_glaring(&mut reading, light, station, station_index, &view);
        reading
    }

    /// What shines into the eye, and what the eye is adapted to.
    fn view(&self, light: &Light, station: &Station, eye: &EyeField, tiles: &TileReading) -> View {
        let state = light.state;
        let surroundings_lx = eye.surroundings_lx(state);
        let mut eye_lx = surroundings_lx;
        let mut sources = Vec::new();
        for pane in &eye.panes {
            eye_lx += pane.illuminance_lx(state);
            sources.push((
                SourceKind::Pane(pane.pane_index),
                pane.luminance_cd_m2(state),
                pane.solid_angle_sr,
                pane.dir,
            ));
        }
        for (tile, (luminance, visible)) in self
            .piece()
            .tiles
            .iter()
            .zip(tiles.luminance_cd_m2.iter().zip(&tiles.visible))
        {
            let to_tile = tile.frame.origin - station.eye;
            let distance2 = to_tile.length_squared().max(0.01);
            let dir = to_tile / distance2.sqrt();
            let solid_angle = tile.area_m2 * visible * dir.dot(tile.frame.z_dir).abs() / distance2;
            let cos = dir.dot(station.gaze_dir);
            if cos > 0.0 && solid_angle > 0.0 {
                eye_lx += (luminance - light.surround_cd_m2).max(0.0) * solid_angle * cos;
                sources.push((SourceKind::Tile(tile.id), *luminance, solid_angle, dir));
            }
        }
        let adaptation_cd_m2 = eye_lx / std::f32::consts::PI;
        for fixture in &eye.fixtures {
            let luminance =
                fixture.luminance_cd_m2 * state.strengths.fixtures[fixture.fixture_index];
            if luminance > 0.0 {
                eye_lx +=
                    luminance * fixture.solid_angle_sr * fixture.dir.dot(station.gaze_dir).max(0.0);
                sources.push((
                    SourceKind::Fixture(fixture.fixture_index),
                    luminance,
                    fixture.solid_angle_sr,
                    fixture.dir,
                ));
            }
        }
        if let Some((dir, share)) = eye.sun_transmission(self.room, state) {
            let lx = state.strengths.sun_normal_illuminance_lx * share;
            let solid_angle = crate::units::SUN_SOLID_ANGLE_SR as f32;
            eye_lx += lx * dir.dot(station.gaze_dir).max(0.0);
            sources.push((SourceKind::Sun, lx / solid_angle, solid_angle, dir));
        }
        let threshold = SOURCE_OVER_MEAN * adaptation_cd_m2;
        sources.retain(|(kind, luminance, _, _)| {
            matches!(kind, SourceKind::Fixture(_) | SourceKind::Sun) || *luminance > threshold
        });
        View {
            sources,
            adaptation_cd_m2,
            background_cd_m2: surroundings_lx / std::f32::consts::PI,
            eye_lx,
        }
    }

    /// Veiling luminance over the piece, and its strongest source.
    fn veil(&self, view: &View, to_piece: glam::Vec3) -> (f32, Option<LightPart>) {
        // Brown eyes: the middle of the scale.
        let observer = VeilObserver::new(f64::from(self.walk.age_years), 0.5);
        let (mut veil, mut worst) = (0.0_f64, (0.0_f64, None));
        for (kind, luminance, solid_angle, dir) in &view.sources {
            let part = match kind {
                SourceKind::Pane(p) => LightPart::Pane(*p),
                SourceKind::Fixture(f) => LightPart::Fixture(*f),
                SourceKind::Sun => LightPart::Sun,
                // The piece does not veil itself.
                SourceKind::Tile(_) => continue,
            };
            let cos = dir.dot(to_piece);
            if cos <= 0.0 {
                continue;
            }
            let lx = f64::from(luminance * solid_angle * cos);
            let angle_rad = f64::from(cos.clamp(-1.0, 1.0).acos());
            let value = lx * observer.per_lx(angle_rad);
            veil += value;
            if value > worst.0 {
                worst = (value, Some(part));
            }
        }
        (veil as f32, worst.1)
    }

    fn glare(&self, view: &View, station: &Station) -> (Option<f32>, f32, Vec<GlareSourceInView>) {
        let mut all = Vec::new();
        let mut lamps = Vec::new();
        let mut listed = Vec::new();
        for (kind, luminance, solid_angle, dir) in &view.sources {
            let Some(position_index) = position_index(station.gaze_dir, glam::Vec3::Y, *dir) else {
                continue;
            };
            let source = GlareSource {
                luminance_cd_m2: f64::from(*luminance),
                solid_angle_sr: f64::from(*solid_angle),
                position_index,
            };
            let weight = (f64::from(*luminance).powi(2) * f64::from(*solid_angle)
                / position_index.powi(2)) as f32;
            listed.push(GlareSourceInView {
                source: *kind,
                luminance_cd_m2: *luminance,
                solid_angle_sr: *solid_angle,
                from_gaze_rad: dir.dot(station.gaze_dir).clamp(-1.0, 1.0).acos(),
                share: weight,
            });
            if matches!(kind, SourceKind::Fixture(_)) {
                lamps.push(source);
            }
            all.push(source);
        }
        let total: f32 = listed.iter().map(|s| s.share).sum();
        for source in &mut listed {
            source.share /= total.max(1e-20);
        }
        listed.sort_by(|a, b| b.share.total_cmp(&a.share));
        listed.truncate(6);
        let ugr = (!lamps.is_empty() && view.background_cd_m2 > 0.0)
            .then(|| glare::ugr(f64::from(view.background_cd_m2), &lamps) as f32);
        (
            ugr,
            glare::dgp(f64::from(view.eye_lx.max(1e-3)), &all) as f32,
            listed,
        )
    }

    fn flag_dead(
        &self,
        reading: &mut StationReading,
        station: &Station,
        worst_veil: Option<LightPart>,
        unveiled: Reads,
    ) {
        let mut flag = |cause, severity: f32| {
            reading.flags.push(Flag {
                cause,
                tiles: Vec::new(),
                severity: severity.max(1.0),
                luminance_cd_m2: 0.0,
            });
        };
        let to_eye = (station.eye - self.piece().centre).normalize_or_zero();
        let from_normal_rad = to_eye.dot(self.piece().normal).clamp(-1.0, 1.0).acos();
        let seen = pattern::area_mean(&reading.tiles.visible, self.areas_m2).unwrap_or(0.0);
        if from_normal_rad > self.limits.grazing_deg.to_radians() {
            flag(Cause::TooFlat, 1.0);
        } else if seen < 0.5 {
            flag(Cause::Hidden, 0.5 / seen.max(0.01));
        } else if reading.mean_luminance_cd_m2 < self.limits.dark_cd_m2 {
            flag(
                Cause::TooDark,
                self.limits.dark_cd_m2 / reading.mean_luminance_cd_m2.max(1e-3),
            );
        } else if reading.pattern.class == Reads::Lost {
            let veiled = unveiled != Reads::Lost;
            match worst_veil {
                Some(part) if veiled => flag(Cause::Veiled(part), 1.0),
                _ if reading.pattern.too_dark => flag(Cause::TooDark, 1.0),
                _ => flag(Cause::EvenLight, 1.0),
            }
        }
    }

    fn flag_glaring(
        &self,
        reading: &mut StationReading,
        light: &Light,
        station: &Station,
        station_index: usize,
        view: &View,
    ) {
        let relative = self.limits.glint_over_adaptation * view.adaptation_cd_m2;
        let limit = self
            .limits
            .glint_cd_m2
            .min(relative.max(self.limits.glint_least_cd_m2));
        let mut glints: std::collections::BTreeMap<LightPart, (Vec<u32>, f32)> =
            std::collections::BTreeMap::new();
        for (t, luminance) in reading.tiles.luminance_cd_m2.iter().enumerate() {
            let hidden = reading.tiles.visible[t] <= 0.0;
            if hidden || *luminance <= limit {
                continue;
            }
            let parts = self.lustre.parts(
                self.room,
                light.state,
                light.sun_on_tiles_lx[t],
                station_index,
                t,
            );
            let part = parts.first().map_or(LightPart::Room, |p| p.0);
            let entry = glints.entry(part).or_default();
            entry.0.push(self.piece().tiles[t].id);
            entry.1 = entry.1.max(*luminance);
        }
        for (part, (tiles, peak)) in glints {
            reading.flags.push(Flag {
                cause: Cause::Glint(part),
                tiles,
                severity: peak / limit,
                luminance_cd_m2: peak,
            });
        }
        let within = self.limits.aperture_within_deg.to_radians();
        for (kind, luminance, _, dir) in &view.sources {
            let near = dir.dot(station.gaze_dir) > within.cos();
            match kind {
                SourceKind::Fixture(f) if near && *luminance > self.limits.aperture_cd_m2 => {
                    reading.flags.push(Flag {
                        cause: Cause::BrightOpening(*f),
                        tiles: Vec::new(),
                        severity: luminance / self.limits.aperture_cd_m2,
                        luminance_cd_m2: *luminance,
                    })
                }
                SourceKind::Sun if near => reading.flags.push(Flag {
                    cause: Cause::SunInView,
                    tiles: Vec::new(),
                    severity: 10.0,
                    luminance_cd_m2: *luminance,
                }),
                _ => {}
            }
        }
        if let Some(ugr) = reading.ugr
            && ugr > self.limits.ugr
            && let Some(f) = reading.sources.iter().find_map(|s| match s.source {
                SourceKind::Fixture(f) => Some(f),
                _ => None,
            })
        {
            reading.flags.push(Flag {
                cause: Cause::BrightFixtures(f),
                tiles: Vec::new(),
                severity: ugr / self.limits.ugr,
                luminance_cd_m2: 0.0,
            });
        }
        // Below 380 lx at the eye the daylight glare probability was not tested; low light lowers it.
        let dgp = reading.dgp * glare::dgp_low_light_factor(f64::from(view.eye_lx)) as f32;
        if dgp > self.limits.dgp
            && let Some(SourceKind::Pane(p)) = reading.sources.first().map(|s| s.source)
        {
            reading.flags.push(Flag {
                cause: Cause::BrightPane(p),
                tiles: Vec::new(),
                severity: dgp / self.limits.dgp,
                luminance_cd_m2: 0.0,
            });
        }
        self.flag_mirror_images(reading, light, station_index, view);
    }

    /// Mirror images: polished tiles or coats whose mirror direction meets a lamp or a bright pane.
    fn flag_mirror_images(
        &self,
        reading: &mut StationReading,
        light: &Light,
        station_index: usize,
        view: &View,
    ) {
        let mut found: std::collections::BTreeMap<LightPart, (Vec<u32>, f32)> =
            std::collections::BTreeMap::new();
        for mirror in self.lustre.mirrors(station_index) {
            let luminance = mirror.luminance_cd_m2(light.state);
            // An image is disturbing when it outshines the tile that it stands in and the eye's adaptation.
            let tile = reading.tiles.luminance_cd_m2[mirror.tile_index as usize];
            if luminance > 10.0 * view.adaptation_cd_m2.max(1.0) && luminance > 0.3 * tile {
                let entry = found.entry(mirror.part).or_default();
                entry
                    .0
                    .push(self.piece().tiles[mirror.tile_index as usize].id);
                entry.1 = entry.1.max(luminance);
            }
        }
        for (part, (tiles, peak)) in found {
            if !reading.flags.iter().any(|f| f.cause == Cause::Glint(part)) {
                let severity = peak / (10.0 * view.adaptation_cd_m2.max(1.0));
                reading.flags.push(Flag {
                    cause: Cause::MirrorImage(part),
                    tiles,
                    severity,
                    luminance_cd_m2: peak,
                });
            }
        }
    }
}

fn median_error(tiles: &TileReading) -> f32 {
    let mut errors: Vec<f32> = tiles
        .standard_error_cd_m2
        .iter()
        .zip(&tiles.luminance_cd_m2)
        .zip(&tiles.visible)
        .filter(|((_, l), v)| **l > 0.0 && **v > 0.0)
        .map(|((e, l), _)| e / l)
        .collect();
    if errors.is_empty() {
        return 0.0;
    }
    let middle = errors.len() / 2;
    *errors.select_nth_unstable_by(middle, f32::total_cmp).1
}
