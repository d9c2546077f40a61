//! [`RoomFile`] to the solver's scene, hung piece and stations. All defaults, names and units are
//! resolved here.

mod error;
mod fixtures;
mod hang;
mod misplaced;
mod surround;

use std::{collections::BTreeMap, sync::Arc};

use glam::Vec2;

use super::{
    RoomFile,
    schema::{Limits, PieceSource, TileChange, Walk},
    shell::Shell,
    walk::stations,
};
use crate::{
    material::MaterialSpec,
    piece::{PieceSpec, Tiling, parse_piece},
    scene::{HungPiece, Pane, Scene, Station, Surface},
    sun::Site,
};
pub use fixtures::KindOfLight;
use fixtures::{fixtures, kinds};
pub use hang::PiecePlace;
use hang::{Flat, Models, hang};
use misplaced::misplaced;

pub use error::LoadError;
pub(super) use hang::near_materials;

/// Distance of the piece's points in front of its face [m].
const IN_FRONT_M: f32 = 1.5e-3;

/// Reads files that a room file names.
pub trait FileLoader {
    /// Bytes of the file `name`, relative to the room file.
    ///
    /// # Errors
    /// Whatever keeps it from being read.
    fn load(&mut self, name: &str) -> Result<Vec<u8>, std::io::Error>;
}

/// For a room that stands alone: whatever file it names is not found.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoFiles;

impl FileLoader for NoFiles {
    fn load(&mut self, name: &str) -> Result<Vec<u8>, std::io::Error> {
        Err(std::io::Error::new(std::io::ErrorKind::NotFound, name))
    }
}

/// A walk with its stations.
#[derive(Clone, Debug)]
pub struct BuiltWalk {
    /// As written.
    pub walk: Walk,
    /// Its stations.
    pub stations: Vec<Station>,
}

impl BuiltWalk {
    /// Whether people walk here at a clock time [min after midnight].
    pub fn is_open(&self, clock_min: u32) -> bool {
        self.walk.open.as_ref().is_none_or(|(from, to)| {
            let minutes = |text: &str, or| super::clock_min(text).unwrap_or(or);
            (minutes(from, 0)..=minutes(to, 1440)).contains(&clock_min)
        })
    }
}

/// Everything that the solver and the reports need.
#[derive(Clone, Debug)]
pub struct BuiltRoom {
    /// As written.
    pub file: RoomFile,
    /// What light meets.
    pub scene: Scene,
    /// The piece in place.
    pub piece: HungPiece,
    /// The piece on its own.
    pub tiling: Tiling,
    /// Where the piece's own plane lies.
    pub place: PiecePlace,
    /// Definitions of the piece's materials, in the order of `piece.materials`.
    pub materials: Vec<MaterialSpec>,
    /// The walks.
    pub walks: Vec<BuiltWalk>,
    /// Where on earth.
    pub site: Site,
    /// Light and opening of every kind of fixture, by name.
    pub kinds: BTreeMap<String, KindOfLight>,
    /// The piece as its layout says, before changes of single tiles.
    laid: Tiling,
    flat: Arc<Flat>,
    models: Arc<Models>,
    /// Findings that do not stop the work, in words.
    pub notes: Vec<String>,
}

impl BuiltRoom {
    /// Output of each fixture at a clock time [min after midnight]: dimming and maintenance, or 0 outside
    /// its hours.
    pub fn fixture_strengths(&self, clock_min: u32) -> Vec<f32> {
        self.file
            .fixtures
            .iter()
            .zip(&self.scene.fixtures)
            .map(|(file, fixture)| {
                if super::is_lit(file.lit.as_ref(), clock_min) {
                    fixture.maintained_strength()
                } else {
                    0.0
                }
            })
            .collect()
    }

    /// Whether another room has the same walk (index): its name and every place on it.
    pub fn shares_walk(&self, other: &Self, walk: usize) -> bool {
        match (self.walks.get(walk), other.walks.get(walk)) {
            (Some(a), Some(b)) => {
                let same_eyes = || {
                    let eyes = a.stations.iter().zip(&b.stations);
                    eyes.into_iter().all(|(a, b)| a.eye.distance(b.eye) < 1e-3)
                };
                a.walk.name == b.walk.name && a.stations.len() == b.stations.len() && same_eyes()
            }
            _ => false,
        }
    }

    /// First and last clock time [min after midnight] at which a walk (index) is open, within the hours of the room's
    /// study; those hours where the walk is closed then.
    pub fn open_span(&self, walk: usize) -> (u32, u32) {
        let study = &self.file.study;
        let minutes = |text: &str, other| super::clock_min(text).unwrap_or(other);
        let (from, to) = (minutes(&study.from, 480), minutes(&study.to, 1200));
        let open = self.walks.get(walk).and_then(|w| w.walk.open.as_ref());
        let within = open.and_then(|(a, b)| {
            let (a, b) = (minutes(a, from), minutes(b, to));
            let span = (a.max(from), b.min(to));
            (a <= b && span.0 < span.1).then_some(span)
        });
        within.unwrap_or((from, to))
    }

    /// Width and height of the piece turned by so many degrees where it hangs [m].
    pub fn size_turned(&self, turn_deg: f32) -> Vec2 {
        let (low, high) = self.tiling.bounds();
        let size = high - low;
        let (sin, cos) = turn_deg.to_radians().sin_cos();
        Vec2::new(
            size.x * cos.abs() + size.y * sin.abs(),
            size.x * sin.abs() + size.y * cos.abs(),
        )
    }

    /// Stations of all walks, in the room's order.
    pub fn stations(&self) -> Vec<Station> {
        self.walks
            .iter()
            .flat_map(|w| w.stations.iter().copied())
            .collect()
    }

    /// The same building with what hangs and shines in it changed: fixtures, placement, walks, changes of tiles and
    /// limits are those of `file`, which must have this room's site, spaces, openings, solids, finishes, materials,
    /// kinds of fixture and piece. Reads no files.
    ///
    /// # Errors
    /// The piece does not fit, or a tile or material is unknown.
    pub fn changed(&self, file: RoomFile) -> Result<Self, LoadError> {
        assemble(
            file,
            (
                self.laid.clone(),
                Arc::clone(&self.flat),
                Arc::clone(&self.models),
            ),
            self.kinds.clone(),
            (self.scene.surfaces.clone(), self.scene.panes.clone()),
            Vec::new(),
        )
    }

    /// Limits for flags.
    pub fn limits(&self) -> &Limits {
        &self.file.limits
    }
}

/// Builds a validated room.
///
/// # Errors
/// A file that it names cannot be used, a material is unknown, or the piece does not fit.
pub fn build(file: RoomFile, loader: &mut dyn FileLoader) -> Result<BuiltRoom, LoadError> {
    let mut notes = Vec::new();
    let spec = piece_spec(&file.piece, loader)?;
    let tiling = spec
        .tiling(&mut |name: &str| loader.load(name))
        .map_err(|source| LoadError::Piece {
            source: Box::new(source),
        })?;
    let kinds = kinds(&file, loader, &mut notes)?;
    let Shell {
        surfaces, panes, ..
    } = Shell::new(&file)?;
    let flat = Arc::new(Flat::new(&tiling));
    let piece = (tiling, flat, Arc::new(Models::default()));
    assemble(file, piece, kinds, (surfaces, panes), notes)
}

/// Puts together what the room's own files have given.
fn assemble(
    file: RoomFile,
    (laid, flat, models): (Tiling, Arc<Flat>, Arc<Models>),
    kinds: BTreeMap<String, KindOfLight>,
    (surfaces, panes): (Vec<Surface>, Vec<Pane>),
    mut notes: Vec<String>,
) -> Result<BuiltRoom, LoadError> {
    let mut tiling = laid.clone();
    change_tiles(&mut tiling, &file.tile_changes)?;
    let (materials, piece) = hang(
        &file,
        (&tiling, &flat, &models),
        &file.placement,
        &mut notes,
    )?;
    let scene = Scene {
        surfaces,
        panes,
        fixtures: fixtures(&file, &piece, &kinds),
        ground_reflectance: file.site.ground_reflectance,
    };
    let walks: Vec<BuiltWalk> = file
        .walks
        .iter()
        .map(|walk| BuiltWalk {
            walk: walk.clone(),
            stations: stations(walk, piece.centre),
        })
        .collect();
    notes.extend(misplaced(&file, &scene, &walks));
    let site = Site {
        latitude_rad: file.site.latitude_deg.to_radians(),
        longitude_rad: file.site.longitude_deg.to_radians(),
        elevation_m: file.site.elevation_m,
        bearing_rad: file.site.bearing_deg.to_radians(),
    };
    Ok(BuiltRoom {
        place: PiecePlace::new(&file, &file.placement),
        scene,
        piece,
        tiling,
        materials,
        walks,
        site,
        kinds,
        laid,
        flat,
        models,
        notes,
        file,
    })
}

/// Applies what the maker changed on single tiles.
fn change_tiles(tiling: &mut Tiling, changes: &[TileChange]) -> Result<(), LoadError> {
    let count = tiling.tiles.len();
    for change in changes {
        let index = (change.tile as usize).wrapping_sub(1);
        let Some(tile) = tiling.tiles.get_mut(index) else {
            return Err(LoadError::UnknownTile {
                tile: change.tile,
                count,
            });
        };
        if let Some(deg) = change.grain_deg {
            tile.grain_rad = deg.to_radians().rem_euclid(std::f32::consts::TAU);
        }
        if let Some(name) = &change.material {
            let known = tiling.materials.iter().position(|m| m == name);
            tile.material = known.unwrap_or(tiling.materials.len());
            if known.is_none() {
                tiling.materials.push(name.clone());
            }
        }
    }
    Ok(())
}

fn piece_spec(source: &PieceSource, loader: &mut dyn FileLoader) -> Result<PieceSpec, LoadError> {
    match source {
        PieceSource::Inline(spec) => Ok(spec.clone()),
        PieceSource::File(name) => {
            let bytes = loader.load(name).map_err(|source| LoadError::File {
                name: name.clone(),
                path: "piece".into(),
                source,
            })?;
            parse_piece(&String::from_utf8_lossy(&bytes), name).map_err(|source| LoadError::Piece {
                source: Box::new(source),
            })
        }
    }
}
