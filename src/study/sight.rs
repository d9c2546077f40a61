//! What shines into an eye at one instant: illuminance, adaptation, veil, glare sources and indices.

use glam::Vec3;
use serde::Serialize;

use crate::{
    measure::{
        glare::{self, GlareSource},
        position::position_index,
        veil::VeilObserver,
    },
    scene::{HungPiece, Station},
    transport::{EyeField, LightPart, LightState, RoomLight, SeenThrough, TileReading},
};

/// Brightness over the mean of the view above which a part of it counts as a glare source
/// (practice with the daylight glare probability: 4 to 5 times, from memory).
const SOURCE_OVER_MEAN: f32 = 5.0;

/// Pigmentation of brown eyes, the middle of the scale of CIE 146.
const BROWN_EYES: f64 = 0.5;

/// What shines into the eye.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
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
    /// A bright surface of the room, such as a patch of sun.
    Surface,
}

/// A glare source that counted; parts of one pane, and all bright surfaces, are joined.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GlareSourceInView {
    /// Which.
    pub source: SourceKind,
    /// Its mean luminance toward the eye [cd/m2].
    pub luminance_cd_m2: f32,
    /// Its solid angle [sr].
    pub solid_angle_sr: f32,
    /// Angle from the line of sight of its part that counts most [rad].
    pub from_gaze_rad: f32,
    /// Its share of the sum under the logarithm of the daylight glare probability.
    pub share: f32,
}

/// A small bright part of the view.
#[derive(Clone, Copy, Debug)]
struct Part {
    source: SourceKind,
    luminance_cd_m2: f32,
    solid_angle_sr: f32,
    dir: Vec3,
    distance_m: f32,
}

/// An eye's view at one instant.
#[derive(Clone, Debug)]
pub(super) struct Sight {
    /// Luminance that the eye is adapted to [cd/m2]: illuminance at the eye over pi, without the direct
    /// light of lamps and of the sun, whose harm is counted as glare.
    pub adaptation_cd_m2: f32,
    /// Illuminance at the eye across the line of sight, everything counted [lx].
    pub eye_lx: f32,
    /// Veiling luminance over the piece [cd/m2].
    pub veil_cd_m2: f32,
    /// What veils most.
    pub worst_veil: Option<LightPart>,
    /// Unified glare rating of the fixtures, small-source rule of CIE 147 applied.
    pub ugr: Option<f32>,
    /// Daylight glare probability, low-light correction applied.
    pub dgp: f32,
    /// Sources, strongest first.
    pub sources: Vec<GlareSourceInView>,
    /// Fixtures in direct view: index, luminance [cd/m2], angle from the gaze [rad].
    pub openings: Vec<(usize, f32, f32)>,
    /// The sun in direct view: luminance [cd/m2], angle from the gaze [rad], pane that it comes through.
    pub sun: Option<(f32, f32, Option<usize>)>,
}

/// What a sight is made from.
pub(super) struct Looking<'a> {
    pub room: &'a RoomLight,
    pub piece: &'a HungPiece,
    pub station: &'a Station,
    pub eye: &'a EyeField,
    pub state: &'a LightState,
    /// Mean luminance of the wall around the piece [cd/m2]; 0 with no wall.
    pub surround_cd_m2: f32,
    pub age_years: f32,
}

fn angle(a: Vec3, b: Vec3) -> f32 {
    a.dot(b).clamp(-1.0, 1.0).acos()
}

impl Looking<'_> {
    /// Everything that the eye sees, with the piece's tiles as read.
    pub(super) fn see(&self, tiles: &TileReading) -> Sight {
        let gaze = self.station.gaze_dir;
        let mut field: Vec<Part> = self
            .eye
            .samples()
            .iter()
            .map(|s| Part {
                source: match s.seen {
                    SeenThrough::Surface => SourceKind::Surface,
                    SeenThrough::Pane(p) => SourceKind::Pane(p),
                },
                luminance_cd_m2: self.eye.luminance_cd_m2(s, self.state),
                solid_angle_sr: s.solid_angle_sr,
                dir: s.dir,
                distance_m: f32::INFINITY,
            })
            .collect();
        let lx = |p: &Part| p.luminance_cd_m2 * p.solid_angle_sr * p.dir.dot(gaze).max(0.0);
        let field_lx: f32 = field.iter().map(lx).sum();
        let tile_parts = self.tile_parts(tiles);
        let behind = if self.surround_cd_m2 > 0.0 {
            self.surround_cd_m2
        } else {
            field_lx / std::f32::consts::PI
        };
        // The piece stands before what the eye's rays saw there.
        let replaced: f32 = tile_parts
            .iter()
            .map(|p| (p.luminance_cd_m2 - behind) * p.solid_angle_sr * p.dir.dot(gaze).max(0.0))
            .sum();
        let ambient_lx = (field_lx + replaced).max(0.0);
        let adaptation_cd_m2 = ambient_lx / std::f32::consts::PI;
        let lamps = self.lamp_parts();
        let sun = self
            .eye
            .sun(self.room, self.state)
            .map(|(dir, share, pane)| {
                let lx = self.state.strengths.sun_normal_illuminance_lx * share;
                let solid_angle_sr = crate::units::SUN_SOLID_ANGLE_SR as f32;
                let part = Part {
                    source: SourceKind::Sun,
                    luminance_cd_m2: lx / solid_angle_sr,
                    solid_angle_sr,
                    dir,
                    distance_m: f32::INFINITY,
                };
                (part, pane)
            });
        let sun_part = sun.map(|s| s.0);
        let eye_lx = ambient_lx + lamps.iter().chain(&sun_part).map(lx).sum::<f32>();
        let (veil_cd_m2, worst_veil) = self.veil(field.iter().chain(&lamps).chain(&sun_part));
        let ugr = self.ugr(&lamps, ambient_lx);
        let threshold = SOURCE_OVER_MEAN * adaptation_cd_m2;
        field.extend(tile_parts);
        field.retain(|p| p.luminance_cd_m2 > threshold);
        field.extend(lamps.iter().copied());
        field.extend(sun_part);
        let (dgp, sources) = self.dgp(&field, eye_lx);
        Sight {
            adaptation_cd_m2,
            eye_lx,
            veil_cd_m2,
            worst_veil,
            ugr,
            dgp,
            sources,
            openings: lamps
                .iter()
                .filter_map(|p| match p.source {
                    SourceKind::Fixture(f) => Some((f, p.luminance_cd_m2, angle(p.dir, gaze))),
                    _ => None,
                })
                .collect(),
            sun: sun.map(|(p, pane)| (p.luminance_cd_m2, angle(p.dir, gaze), pane)),
        }
    }

    fn tile_parts(&self, tiles: &TileReading) -> Vec<Part> {
        let seen = tiles.luminance_cd_m2.iter().zip(&tiles.visible);
        self.piece
            .tiles
            .iter()
            .zip(seen)
            .filter_map(|(tile, (luminance_cd_m2, visible))| {
                let to_tile = tile.frame.origin - self.station.eye;
                let distance_m = to_tile.length().max(0.1);
                let dir = to_tile / distance_m;
                let facing = dir.dot(tile.frame.z_dir).abs();
                let solid_angle_sr = tile.area_m2 * visible * facing / (distance_m * distance_m);
                (solid_angle_sr > 0.0 && dir.dot(self.station.gaze_dir) > 0.0).then_some(Part {
                    source: SourceKind::Tile(tile.id),
                    luminance_cd_m2: *luminance_cd_m2,
                    solid_angle_sr,
                    dir,
                    distance_m,
                })
            })
            .collect()
    }

    fn lamp_parts(&self) -> Vec<Part> {
        self.eye
            .fixtures
            .iter()
            .map(|f| Part {
                source: SourceKind::Fixture(f.fixture_index),
                luminance_cd_m2: f.luminance_cd_m2 * self.state.strengths.fixtures[f.fixture_index],
                solid_angle_sr: f.solid_angle_sr,
                dir: f.dir,
                distance_m: f.distance_m,
            })
            .filter(|p| p.luminance_cd_m2 > 0.0)
            .collect()
    }

    /// Veiling luminance over the middle of the piece by all of the view outside it, and what adds most.
    ///
    /// CIE 146:2002, general disability glare equation, summed over the parts of the view.
    fn veil<'p>(&self, parts: impl Iterator<Item = &'p Part>) -> (f32, Option<LightPart>) {
        let to_piece = (self.piece.centre - self.station.eye).normalize_or(self.station.gaze_dir);
        let distance_m = self.piece.centre.distance(self.station.eye).max(0.1);
        let area_m2: f32 = self.piece.tiles.iter().map(|t| t.area_m2).sum();
        let facing = to_piece.dot(self.piece.normal).abs();
        // The circle of the piece's solid angle: what lies inside is the piece.
        let inside_cos = 1.0 - area_m2 * facing / (distance_m * distance_m) / std::f32::consts::TAU;
        let observer = VeilObserver::new(f64::from(self.age_years), BROWN_EYES);
        let mut by_part: std::collections::BTreeMap<LightPart, f64> =
            std::collections::BTreeMap::new();
        for part in parts {
            let cos = part.dir.dot(to_piece);
            let covered = cos > inside_cos && part.source == SourceKind::Surface;
            if cos <= 0.0 || covered {
                continue;
            }
            let lx = f64::from(part.luminance_cd_m2 * part.solid_angle_sr * cos);
            let kind = match part.source {
                SourceKind::Pane(p) => LightPart::Pane(p),
                SourceKind::Fixture(f) => LightPart::Fixture(f),
                SourceKind::Sun => LightPart::Sun,
                SourceKind::Tile(_) | SourceKind::Surface => LightPart::Room,
            };
            *by_part.entry(kind).or_default() +=
                lx * observer.per_lx(f64::from(cos.min(1.0).acos()));
        }
        let total: f64 = by_part.values().sum();
        let worst = by_part
            .iter()
            .max_by(|a, b| a.1.total_cmp(b.1))
            .map(|(part, _)| *part);
        (total as f32, worst)
    }

    fn glare_source(&self, part: &Part) -> Option<GlareSource> {
        let position_index = position_index(self.station.gaze_dir, Vec3::Y, part.dir)?;
        Some(GlareSource {
            luminance_cd_m2: f64::from(part.luminance_cd_m2),
            solid_angle_sr: f64::from(part.solid_angle_sr),
            position_index,
        })
    }

    fn ugr(&self, lamps: &[Part], ambient_lx: f32) -> Option<f32> {
        let sources: Vec<GlareSource> = lamps
            .iter()
            .filter_map(|p| {
                Some(
                    self.glare_source(p)?
                        .with_small_source_rule(f64::from(p.distance_m)),
                )
            })
            .collect();
        let background_cd_m2 = f64::from(ambient_lx) / std::f64::consts::PI;
        (!sources.is_empty() && background_cd_m2 > 0.0)
            .then(|| glare::ugr(background_cd_m2, &sources) as f32)
    }

    fn dgp(&self, parts: &[Part], eye_lx: f32) -> (f32, Vec<GlareSourceInView>) {
        let mut all = Vec::with_capacity(parts.len());
        let mut joined: std::collections::BTreeMap<SourceKind, (GlareSourceInView, f32)> =
            std::collections::BTreeMap::new();
        for part in parts {
            let Some(source) = self.glare_source(part) else {
                continue;
            };
            let weight = source.weight() as f32;
            all.push(source);
            let from_gaze_rad = angle(part.dir, self.station.gaze_dir);
            let (sum, most) = joined.entry(part.source).or_insert((
                GlareSourceInView {
                    source: part.source,
                    luminance_cd_m2: 0.0,
                    solid_angle_sr: 0.0,
                    from_gaze_rad,
                    share: 0.0,
                },
                0.0,
            ));
            // Luminance collects L omega until the end.
            sum.luminance_cd_m2 += part.luminance_cd_m2 * part.solid_angle_sr;
            sum.solid_angle_sr += part.solid_angle_sr;
            sum.share += weight;
            if weight > *most {
                (*most, sum.from_gaze_rad) = (weight, from_gaze_rad);
            }
        }
        let total: f32 = joined.values().map(|(s, _)| s.share).sum();
        let mut sources: Vec<GlareSourceInView> = joined
            .into_values()
            .map(|(mut s, _)| {
                s.luminance_cd_m2 /= s.solid_angle_sr.max(1e-12);
                s.share /= total.max(1e-20);
                s
            })
            .collect();
        sources.sort_by(|a, b| b.share.total_cmp(&a.share));
        sources.truncate(6);
        let eye_lx = f64::from(eye_lx.max(1e-3));
        (glare::dgp_with_low_light(eye_lx, &all) as f32, sources)
    }
}
