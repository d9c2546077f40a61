//! What a fixture at a spot would give, from one ray a tile: quick enough for thousands of choices.
//!
//! Direct light is exact for a small opening and a tile of one direction; light by way of the room is the even value of
//! Sumpner's rule, E = flux x rho / (area x (1 - rho)) (W. Sumpner, 1892). Whatever is chosen by a sketch is computed in full afterwards.

use std::{f32::consts::PI, sync::Arc};

use glam::{Vec2, Vec3};

use super::{body, spots::Place};
use crate::{
    advice::judge::station_weights,
    geometry::{Frame, polygon_contains},
    luminaire::Aperture,
    material::Brdf,
    room::{BuiltRoom, KindOfLight},
    scene::{Fixture, Surface},
    transport::RoomLight,
};

/// A station with what is known of its visitor.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stand {
    pub eye: Vec3,
    pub gaze: Vec3,
    /// Visitors' time, any scale.
    pub weight: f32,
    /// Floor under the visitor [m].
    pub floor_m: f32,
}

/// A tile, as far as a sketch needs it.
#[derive(Clone, Debug)]
pub(super) struct Tile {
    pub frame: Frame,
    pub area_m2: f32,
    pub albedo: f32,
    /// Index of its material.
    pub material: usize,
}

/// An instant without the fixtures that are to be chosen.
#[derive(Clone, Debug)]
pub(super) struct Base {
    /// Luminance of tiles, station-major [cd/m2].
    pub luminance_cd_m2: Vec<f32>,
    /// Illuminance of tiles, new lamps [lx].
    pub tile_lx: Vec<f32>,
    /// Luminance of the wall around [cd/m2].
    pub wall_cd_m2: f32,
    /// Luminance above which a tile is a glint, by station [cd/m2].
    pub glint_cd_m2: Vec<f32>,
    /// Whether each station's walk is open.
    pub open: Vec<bool>,
}

/// A place with what light from there meets.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    pub place: Place,
    /// Direction from the spot to each tile.
    dirs: Vec<Vec3>,
    /// Illuminance of each tile per intensity toward it [lx/cd].
    reach: Vec<f32>,
    /// Luminance of each tile to each station per intensity, station-major [cd/m2 per cd].
    seen: Vec<f32>,
    /// Direction and illuminance per intensity of each point of the wall around.
    wall: Vec<(Vec3, f32)>,
    /// Per tile: share of visitors' time in which somebody's body shades it.
    pub shaded: Vec<f32>,
    /// Stations whose visitors have the spot in view: index, direction from the spot to the eye, angle from the gaze [rad].
    pub views: Vec<(usize, Vec3, f32)>,
    /// Stations at which a tile shows its mirror image: index, tile, blurred share of its luminance.
    mirrors: Vec<(usize, usize, f32)>,
}

/// A kind of fixture in stock.
#[derive(Clone, Debug)]
pub(super) struct Kind {
    pub name: String,
    pub light: KindOfLight,
    pub maintenance_factor: f32,
    pub flux_lm: f32,
    /// Power [W], a usual one where the maker does not say.
    pub watts: f32,
    /// Price over the mean of the stock; 1 where it is not said.
    pub cost: f32,
}

/// Whether a point [m, world] lies within the plan of the space that the piece hangs in, 0.3 m more on each side; anywhere where it hangs in none.
fn around(room: &BuiltRoom) -> impl Fn(Vec3) -> bool + use<> {
    let before = room.piece.centre + room.piece.normal * 0.2;
    let plan = |p: Vec3| Vec2::new(p.x, -p.z);
    let spaces = room.file.spaces.iter();
    let outlines = spaces.map(|s| {
        s.outline_m
            .iter()
            .map(|c| Vec2::from(*c))
            .collect::<Vec<_>>()
    });
    let own = outlines
        .into_iter()
        .find(|o| polygon_contains(o, plan(before)));
    let bounds = own.map(|o| {
        let low = o.iter().copied().fold(Vec2::MAX, Vec2::min) - 0.3;
        (low, o.iter().copied().fold(Vec2::MIN, Vec2::max) + 0.3)
    });
    move |p| bounds.is_none_or(|(low, high)| plan(p).cmpge(low).all() && plan(p).cmple(high).all())
}

/// What one fixture gives at full maintained output.
#[derive(Clone, Debug)]
pub(super) struct Column {
    /// Illuminance of each tile, new lamp [lx].
    pub new_lx: Vec<f32>,
    /// Luminance of each tile to each station, station-major [cd/m2].
    pub luminance_cd_m2: Vec<f32>,
    /// Luminance of the wall around [cd/m2].
    pub wall_cd_m2: f32,
    /// (station, luminance of the opening [cd/m2], angle from the gaze [rad]).
    pub openings: Vec<(usize, f32, f32)>,
    /// (station, luminance of the image [cd/m2]).
    pub images: Vec<(usize, f32)>,
    /// Share of its light on the piece that bodies take, over visitors' time.
    pub shaded_share: f32,
}

/// All that does not depend on the choice.
pub(super) struct Sketch {
    pub room: Arc<BuiltRoom>,
    pub light: Arc<RoomLight>,
    pub stands: Vec<Stand>,
    pub tiles: Vec<Tile>,
    /// Share of each tile that each station sees, station-major.
    pub sees: Vec<f32>,
    /// Neighbours.
    pub pairs: Vec<(u32, u32)>,
    pub bases: Vec<Base>,
    /// Illuminance by way of the room per flux [lx/lm].
    pub indirect_per_lm: f32,
    /// Frame of the piece as it hangs: right, up, off the face.
    pub piece: Frame,
}

impl Sketch {
    /// Stations, tiles and pairs of a room (its stations thinned already).
    pub fn new(room: Arc<BuiltRoom>, light: Arc<RoomLight>) -> Self {
        let mut stands = Vec::new();
        for walk in &room.walks {
            let weights = station_weights(walk);
            for (station, weight) in walk.stations.iter().zip(weights) {
                stands.push(Stand {
                    eye: station.eye,
                    gaze: station.gaze_dir,
                    weight,
                    floor_m: station.eye.y - walk.walk.eye_m,
                });
            }
        }
        let piece = &room.piece;
        let tiles: Vec<Tile> = piece
            .tiles
            .iter()
            .map(|t| Tile {
                frame: t.frame,
                area_m2: t.area_m2,
                albedo: piece.brdf(t).albedo(),
                material: t.material_index as usize,
            })
            .collect();
        let pairs = piece.neighbours.clone();
        let (mut lit, mut area) = (0.0, 0.0);
        let near = around(&room);
        let own = |s: &&Surface| s.indoors && s.polygon.world_outline().into_iter().all(&near);
        for surface in light.scene().surfaces.iter().filter(own) {
            lit += surface.polygon.area_m2() * surface.reflectance;
            area += surface.polygon.area_m2();
        }
        // Panes take light away.
        let panes: f32 = light
            .scene()
            .panes
            .iter()
            .map(|p| p.polygon.area_m2())
            .sum();
        let area = (area + panes).max(1.0);
        let rho = (lit / area).clamp(0.0, 0.95);
        let frame = Frame::new(piece.centre, piece.normal, Vec3::Y.cross(piece.normal));
        let mut sketch = Self {
            sees: Vec::new(),
            stands,
            tiles,
            pairs,
            bases: Vec::new(),
            indirect_per_lm: rho / (area * (1.0 - rho)),
            piece: frame,
            light,
            room,
        };
        sketch.sees = sketch.seen_shares();
        sketch
    }

    fn seen_shares(&self) -> Vec<f32> {
        let tracer = self.light.tracer();
        let mut shares = Vec::with_capacity(self.stands.len() * self.tiles.len());
        for stand in &self.stands {
            for tile in &self.tiles {
                let to_eye = stand.eye - tile.frame.origin;
                let distance_m = to_eye.length();
                let dir = to_eye / distance_m.max(1e-6);
                let front = dir.dot(tile.frame.z_dir) > 1e-3;
                let seen = front
                    .then(|| tracer.transmission(tile.frame.origin, dir, distance_m))
                    .flatten();
                shares.push(seen.map_or(0.0, |s| s.0));
            }
        }
        shares
    }

    /// The model of a tile.
    pub fn brdf(&self, tile: &Tile) -> &Brdf {
        &self.room.piece.materials[tile.material]
    }

    /// World point [m] of a point of the piece, right and up from its middle as it hangs.
    pub fn aim_point(&self, aim: Vec2) -> Vec3 {
        self.piece.point(aim.x, aim.y)
    }

    /// What light from a place meets.
    pub fn spot(&self, place: Place) -> Spot {
        let at = place.at;
        let tracer = self.light.tracer();
        let count = self.tiles.len();
        let mut dirs = Vec::with_capacity(count);
        let mut reach = Vec::with_capacity(count);
        let mut seen = vec![0.0; self.stands.len() * count];
        let mut shaded = vec![0.0; count];
        let mut mirrors = Vec::new();
        let total: f32 = self.stands.iter().map(|s| s.weight).sum();
        for (t, tile) in self.tiles.iter().enumerate() {
            let to_light = at - tile.frame.origin;
            let distance_m = to_light.length().max(0.05);
            let dir = to_light / distance_m;
            dirs.push(-dir);
            let local = tile.frame.local_from_world(dir);
            let open = (local.z > 0.0)
                .then(|| tracer.transmission(tile.frame.origin, dir, distance_m - 2e-3))
                .flatten();
            let Some((transmittance, _)) = open else {
                reach.push(0.0);
                continue;
            };
            let per_cd = transmittance * local.z / (distance_m * distance_m);
            reach.push(per_cd);
            let brdf = self.brdf(tile);
            let alpha = brdf.mirror_like();
            for (s, stand) in self.stands.iter().enumerate() {
                let share = self.sees[s * count + t];
                if body::shades(stand.eye, stand.floor_m, tile.frame.origin, at) {
                    shaded[t] += stand.weight / total.max(1e-9);
                }
                if share <= 0.0 {
                    continue;
                }
                let to_eye = (stand.eye - tile.frame.origin).normalize_or_zero();
                let eye = tile.frame.local_from_world(to_eye);
                seen[s * count + t] = share * per_cd * brdf.brdf_per_sr(local, eye);
                if let Some(alpha) = alpha {
                    let mirror = Vec3::new(-eye.x, -eye.y, eye.z);
                    let off = (local - mirror).length();
                    // Within the blur of the surface and the size of a usual opening.
                    let near = 2.0 * alpha + 0.04 / distance_m;
                    if off < near {
                        let share = match brdf {
                            Brdf::Metal(_) => 0.6,
                            _ => 0.04 + 0.96 * (1.0 - eye.z).powi(5),
                        };
                        mirrors.push((s, t, share));
                    }
                }
            }
        }
        let wall = self
            .room
            .piece
            .surround_points
            .iter()
            .map(|p| {
                let to_light = at - *p;
                let distance_m = to_light.length().max(0.05);
                let dir = to_light / distance_m;
                let cos = dir.dot(self.room.piece.normal).max(0.0);
                let share = if cos > 0.0 {
                    tracer
                        .transmission(*p, dir, distance_m - 2e-3)
                        .map_or(0.0, |t| t.0)
                } else {
                    0.0
                };
                (-dir, share * cos / (distance_m * distance_m))
            })
            .collect();
        let views = self
            .stands
            .iter()
            .enumerate()
            .filter_map(|(s, stand)| {
                let to_spot = at - stand.eye;
                let distance_m = to_spot.length().max(0.05);
                let dir = to_spot / distance_m;
                let cos = dir.dot(stand.gaze);
                if cos <= 0.0 {
                    return None;
                }
                tracer.transmission(stand.eye, dir, distance_m - 2e-3)?;
                Some((s, -dir, cos.min(1.0).acos()))
            })
            .collect();
        Spot {
            place,
            dirs,
            reach,
            seen,
            wall,
            shaded,
            views,
            mirrors,
        }
    }

    /// A fixture of a kind at a spot, aimed at a point of the piece.
    pub fn fixture(&self, kind: &Kind, at: Vec3, aim: Vec3, roll_rad: f32) -> Fixture {
        let (distribution, aperture): (_, Aperture) = kind.light.clone();
        let aim_dir = (aim - at).normalize_or(Vec3::NEG_Y);
        Fixture {
            distribution,
            aperture,
            position: at,
            world_from_luminaire: Fixture::rotation(aim_dir, Vec3::X, roll_rad),
            dimming: 1.0,
            maintenance_factor: kind.maintenance_factor,
            cct_k: 0.0,
            label: String::new(),
        }
    }

    /// What a fixture at a spot gives.
    pub fn column(&self, kind: &Kind, spot: &Spot, fixture: &Fixture) -> Column {
        let count = self.tiles.len();
        let kept = kind.maintenance_factor;
        let intensity: Vec<f32> = spot.dirs.iter().map(|d| fixture.intensity_cd(*d)).collect();
        let indirect_lx = kind.flux_lm * self.indirect_per_lm;
        let direct: Vec<f32> = intensity
            .iter()
            .zip(&spot.reach)
            .map(|(i, r)| i * r)
            .collect();
        let lit: f32 = direct.iter().sum();
        let dark: f32 = direct.iter().zip(&spot.shaded).map(|(l, s)| l * s).sum();
        let mut luminance_cd_m2 = Vec::with_capacity(spot.seen.len());
        for s in 0..self.stands.len() {
            for (t, (tile, intensity_cd)) in self.tiles.iter().zip(&intensity).enumerate() {
                let i = s * count + t;
                let even = indirect_lx * tile.albedo / PI * self.sees[i];
                luminance_cd_m2.push(kept * (intensity_cd * spot.seen[i] + even));
            }
        }
        let points = spot.wall.len().max(1) as f32;
        let wall_lx: f32 = spot
            .wall
            .iter()
            .map(|(dir, reach)| fixture.intensity_cd(*dir) * reach)
            .sum::<f32>()
            / points
            + indirect_lx;
        let openings = spot
            .views
            .iter()
            .map(|(s, dir, angle)| (*s, kept * fixture.luminance_cd_m2(*dir), *angle))
            .filter(|o| o.1 > 0.0)
            .collect();
        let images = spot
            .mirrors
            .iter()
            .map(|(s, t, share)| (*s, kept * share * fixture.luminance_cd_m2(spot.dirs[*t])))
            .filter(|i| i.1 > 0.0)
            .collect();
        Column {
            new_lx: direct.iter().map(|l| l + indirect_lx).collect(),
            luminance_cd_m2,
            wall_cd_m2: kept * wall_lx * self.room.piece.surround_reflectance / PI,
            openings,
            images,
            shaded_share: if lit > 0.0 { dark / lit } else { 0.0 },
        }
    }
}
