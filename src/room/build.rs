//! [`RoomFile`] to the solver's scene, hung piece and stations. All defaults, names and units are
//! resolved here.

use std::{collections::BTreeMap, sync::Arc};

use glam::{Vec2, Vec3};

use super::{
    RoomFile,
    schema::{
        Aim, ApertureFile, FixtureFile, FixtureLight, FixtureType, Limits, PieceSource, Placement,
        Support, Walk,
    },
    shell::{self, Shell},
    walk::{stations, world},
};
use crate::{
    geometry::{Frame, PolygonError},
    luminaire::{
        Aperture, Beam, BeamError, BeamOutput, IntensityDistribution, Photometry, PhotometryError,
        read_photometry,
    },
    material::{Library, MaterialError, MaterialSpec},
    piece::{PieceError, PieceSpec, Tiling, parse_piece},
    scene::{Fixture, HungPiece, HungTile, POINTS_PER_TILE, Scene, Station},
    sun::Site,
};

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

/// Why a valid room file cannot be built.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// A named file cannot be read.
    #[error("{name} cannot be read, named at {path}")]
    File {
        /// The file.
        name: String,
        /// Path of the field that names it.
        path: String,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// A photometric file is not sound.
    #[error("photometric file of {kind:?}")]
    Photometry {
        /// Kind of fixture.
        kind: String,
        /// Why.
        #[source]
        source: Box<PhotometryError>,
    },
    /// A photometric file has no size of opening and the room file gives none.
    #[error("fixture kind {kind:?}: its photometric file gives no size of the luminous opening")]
    NoAperture {
        /// Kind of fixture.
        kind: String,
    },
    /// A generic beam is not possible.
    #[error("fixture kind {kind:?}")]
    Beam {
        /// Kind of fixture.
        kind: String,
        /// Why.
        #[source]
        source: Box<BeamError>,
    },
    /// The piece is not sound.
    #[error("the piece")]
    Piece {
        /// Why.
        #[source]
        source: Box<PieceError>,
    },
    /// A tile's material is not known.
    #[error("no material is named {name:?}")]
    UnknownMaterial {
        /// The name.
        name: String,
        /// Nearest known names.
        near: String,
    },
    /// A material's parameters are not possible.
    #[error("material {name:?}")]
    Material {
        /// The name.
        name: String,
        /// Why.
        #[source]
        source: Box<MaterialError>,
    },
    /// An outline encloses no area.
    #[error("a surface of the room")]
    Polygon(#[from] PolygonError),
    /// The piece does not fit on its wall.
    #[error("the piece does not fit: {what}")]
    DoesNotFit {
        /// Which edge by how much.
        what: String,
    },
}

impl LoadError {
    /// Everything that was found, each with its causes and with what would be right.
    pub fn listing(&self) -> Vec<(String, String)> {
        if let Self::Piece { source } = self
            && !source.problems().is_empty()
        {
            return source
                .problems()
                .iter()
                .map(|p| (format!("the piece: {p}"), p.help()))
                .collect();
        }
        let mut chain = self.to_string();
        let mut cause = std::error::Error::source(self);
        while let Some(c) = cause {
            chain = format!("{chain}: {c}");
            cause = c.source();
        }
        vec![(chain, self.help())]
    }

    /// What would be right.
    pub fn help(&self) -> String {
        match self {
            Self::File { name, .. } => {
                format!("put {name:?} beside the room file, or correct its name")
            }
            Self::Photometry { source, .. } => source.help(),
            Self::NoAperture { .. } => {
                "add e.g. `aperture: Disc(diameter_mm: 60)`; the maker's sheet gives the size"
                    .into()
            }
            Self::Beam { source, .. } => source.help().into(),
            Self::Piece { source } => source.help(),
            Self::UnknownMaterial { near, .. } => near.clone(),
            Self::Material { .. } => "correct its parameters".into(),
            Self::Polygon(_) => "check the outlines".into(),
            Self::DoesNotFit { .. } => {
                "move it along the wall, change its height, or choose another wall".into()
            }
        }
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
    /// Definitions of the piece's materials, in the order of `piece.materials`.
    pub materials: Vec<MaterialSpec>,
    /// The walks.
    pub walks: Vec<BuiltWalk>,
    /// Where on earth.
    pub site: Site,
    /// Findings that do not stop the work, in words.
    pub notes: Vec<String>,
}

impl BuiltRoom {
    /// Output of each fixture at a clock time [min after midnight]: dimming and maintenance, or 0 outside
    /// its hours.
    pub fn fixture_strengths(&self, clock_min: u32) -> Vec<f32> {
        let lit = |fixture: &FixtureFile| {
            let Some((from, to)) = &fixture.lit else {
                return true;
            };
            let (Some(from), Some(to)) = (super::clock_min(from), super::clock_min(to)) else {
                return true;
            };
            if from <= to {
                (from..=to).contains(&clock_min)
            } else {
                clock_min >= from || clock_min <= to
            }
        };
        self.file
            .fixtures
            .iter()
            .zip(&self.scene.fixtures)
            .map(|(file, fixture)| {
                if lit(file) {
                    fixture.maintained_strength()
                } else {
                    0.0
                }
            })
            .collect()
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
    let (materials, piece) = hang(&file, &tiling, &file.placement, &mut notes)?;
    let shell = Shell::new(&file)?;
    let fixtures = fixtures(&file, &piece, loader, &mut notes)?;
    let scene = Scene {
        surfaces: shell.surfaces,
        panes: shell.panes,
        fixtures,
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
        scene,
        piece,
        tiling,
        materials,
        walks,
        site,
        notes,
        file,
    })
}

/// Stations and fixtures outside all spaces or inside a solid: nothing forbids them, but a person wants
/// to know.
fn misplaced(file: &RoomFile, scene: &Scene, walks: &[BuiltWalk]) -> Vec<String> {
    let what_is_wrong = |p: Vec3| {
        let at = Vec2::new(p.x, -p.z);
        let solid = file.solids.iter().find(|s| {
            let outline: Vec<Vec2> = s.outline_m.iter().map(|c| Vec2::new(c.0, c.1)).collect();
            (s.from_m..=s.to_m).contains(&p.y) && crate::geometry::polygon_contains(&outline, at)
        });
        if let Some(solid) = solid {
            return Some(format!("is inside {:?}", solid.name));
        }
        let in_a_space = file.spaces.iter().any(|s| {
            shell::is_inside(s, at)
                && p.y >= s.floor_m
                && p.y <= shell::ceiling_m(&s.ceiling, at) + 1e-3
        });
        (!in_a_space).then(|| "is outside all spaces".to_owned())
    };
    let mut notes: Vec<String> = scene
        .fixtures
        .iter()
        .filter_map(|f| {
            Some(format!(
                "fixture {:?} {}",
                f.label,
                what_is_wrong(f.position)?
            ))
        })
        .collect();
    for walk in walks {
        let wrong: Vec<(f32, String)> = walk
            .stations
            .iter()
            .filter_map(|s| Some((s.distance_m, what_is_wrong(s.eye)?)))
            .collect();
        if let Some((distance_m, what)) = wrong.first() {
            let count = wrong.len();
            notes.push(format!(
                "walk {:?}: {count} stations, the first at {distance_m:.1} m; its eye {what}",
                walk.walk.name
            ));
        }
    }
    notes
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

/// World frame of a placement: origin at the piece's middle on its support, +X to the right as seen
/// from the front, +Y up the piece, +Z off its face; before turn and mirroring.
fn support_frame(file: &RoomFile, placement: &Placement) -> Frame {
    match &placement.on {
        Support::Wall {
            space,
            wall,
            along_m,
        } => {
            // Validation has checked both.
            let Some(space) = file.spaces.iter().find(|s| &s.name == space) else {
                return Frame::new(Vec3::ZERO, Vec3::Z, Vec3::X);
            };
            let line = shell::wall(space, *wall);
            let at = line.at(*along_m, 0.0);
            let normal = line.normal();
            Frame::new(
                world(at.x, at.y, line.floor_m + placement.centre_m),
                normal,
                Vec3::Y.cross(normal),
            )
        }
        Support::Stand {
            at_m,
            facing_deg,
            lean_deg,
        } => {
            let (sin, cos) = facing_deg.to_radians().sin_cos();
            let level = world(sin, cos, 0.0);
            let (up, out) = lean_deg.to_radians().sin_cos();
            let normal = level * out + Vec3::Y * up;
            let floor_m = file
                .spaces
                .iter()
                .find(|s| shell::is_inside(s, Vec2::new(at_m.0, at_m.1)))
                .map_or(0.0, |s| s.floor_m);
            Frame::new(
                world(at_m.0, at_m.1, floor_m + placement.centre_m),
                normal,
                Vec3::Y.cross(level),
            )
        }
    }
}

/// Hangs a tiling: tiles in the world, the wall around, and the materials' models.
pub(crate) fn hang(
    file: &RoomFile,
    tiling: &Tiling,
    placement: &Placement,
    notes: &mut Vec<String>,
) -> Result<(Vec<MaterialSpec>, HungPiece), LoadError> {
    let library = Library::built_in().map_err(|source| LoadError::Material {
        name: "library".into(),
        source: Box::new(source),
    })?;
    let mut specs = Vec::new();
    let mut models = Vec::new();
    for name in &tiling.materials {
        let spec = file
            .materials
            .get(name)
            .or_else(|| library.get(name).ok())
            .ok_or_else(|| LoadError::UnknownMaterial {
                name: name.clone(),
                near: near_materials(name, &library),
            })?;
        let spec = if placement.mirrored {
            spec.mirrored()
        } else {
            spec.clone()
        };
        models.push(spec.brdf().map_err(|source| LoadError::Material {
            name: name.clone(),
            source: Box::new(source),
        })?);
        specs.push(spec);
    }
    let frame = support_frame(file, placement);
    let (sin, cos) = placement.turn_deg.to_radians().sin_cos();
    let flip = if placement.mirrored { -1.0 } else { 1.0 };
    // From the piece's own plane to the support's plane.
    let place = |p: Vec2| {
        let p = Vec2::new(p.x * flip, p.y);
        Vec2::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos)
    };
    let face_m = tiling.thickness_m;
    let to_world = |p: Vec2, out_m: f32| {
        let q = place(p);
        frame.point(q.x, q.y) + frame.z_dir * out_m
    };
    let dir_world = |angle: f32| {
        let q = place(Vec2::from_angle(angle));
        frame.x_dir * q.x + frame.y_dir * q.y
    };
    let tiles = tiling
        .tiles
        .iter()
        .enumerate()
        .map(|(index, tile)| {
            let lean = dir_world(tile.tilt_toward_rad);
            let normal = frame.z_dir * tile.tilt_rad.cos() + lean * tile.tilt_rad.sin();
            let centre = to_world(tile.centroid_m, face_m);
            let flat = tiling.sample_points(index, POINTS_PER_TILE, u64::from(tile.id));
            HungTile {
                id: tile.id,
                frame: Frame::new(
                    centre + frame.z_dir * IN_FRONT_M,
                    normal,
                    dir_world(tile.grain_rad),
                ),
                points: std::array::from_fn(|k| {
                    to_world(
                        flat.get(k).copied().unwrap_or(tile.centroid_m),
                        face_m + IN_FRONT_M,
                    )
                }),
                area_m2: tile.area_m2,
                material_index: tile.material as u32,
            }
        })
        .collect();
    let (low, high) = tiling.bounds();
    let corners = [
        low,
        high,
        Vec2::new(low.x, high.y),
        Vec2::new(high.x, low.y),
    ]
    .map(place);
    let low = corners.iter().fold(Vec2::MAX, |a, b| a.min(*b));
    let high = corners.iter().fold(Vec2::MIN, |a, b| a.max(*b));
    let (surround_points, surround_reflectance) =
        surround(file, placement, &frame, low, high, notes)?;
    Ok((
        specs,
        HungPiece {
            tiles,
            materials: models,
            material_names: tiling.materials.clone(),
            centre: frame.origin,
            normal: frame.z_dir,
            surround_points,
            surround_reflectance,
            neighbours: tiling
                .neighbours()
                .iter()
                // Tiles are numbered from 1 in their own order.
                .map(|(a, b, _)| (a - 1, b - 1))
                .collect(),
        },
    ))
}

/// The library's materials that are nearest to an unknown name, or all.
pub(super) fn near_materials(name: &str, library: &Library) -> String {
    let near = library.suggestions(name);
    if near.is_empty() {
        format!("known: {}", library.names().collect::<Vec<_>>().join(", "))
    } else {
        format!("did you mean {}?", near.join(" or "))
    }
}

/// Points on the wall around the piece and the wall's reflectance; checks that the piece fits.
fn surround(
    file: &RoomFile,
    placement: &Placement,
    frame: &Frame,
    low: Vec2,
    high: Vec2,
    notes: &mut Vec<String>,
) -> Result<(Vec<Vec3>, f32), LoadError> {
    let Support::Wall {
        space,
        wall,
        along_m,
    } = &placement.on
    else {
        return Ok((Vec::new(), 0.0));
    };
    let Some(space_file) = file.spaces.iter().find(|s| &s.name == space) else {
        return Ok((Vec::new(), 0.0));
    };
    let line = shell::wall(space_file, *wall);
    // Whether the frame's +X (to the right as seen from the front) runs along the wall or against it.
    let wall_dir = world(line.to.x - line.from.x, line.to.y - line.from.y, 0.0);
    let sign = frame.x_dir.dot(wall_dir).signum();
    let along = |x_m: f32| along_m + sign * x_m;
    let reach = [along(low.x), along(high.x)];
    for end in reach {
        if end < -1e-3 || end > line.length_m + 1e-3 {
            let over = (-end).max(end - line.length_m);
            return Err(LoadError::DoesNotFit {
                what: format!("it reaches {over:.2} m past the end of wall {wall} of {space:?}"),
            });
        }
    }
    let bottom = placement.centre_m + low.y;
    let top = placement.centre_m + high.y;
    let highest = line.top_m.0.min(line.top_m.1) - line.floor_m;
    if bottom < 0.0 || top > highest {
        let what = if bottom < 0.0 {
            format!("it reaches {:.2} m below the floor", -bottom)
        } else {
            format!("it reaches {:.2} m above the wall's top", top - highest)
        };
        return Err(LoadError::DoesNotFit { what });
    }
    let covered = |p: Vec2, o: &super::schema::Opening| {
        // p in the support's plane: back to distance along the wall and height.
        let s = along(p.x);
        let h = placement.centre_m + p.y;
        o.space == *space
            && o.wall == *wall
            && (o.offset_m..=o.offset_m + o.width_m).contains(&s)
            && (o.sill_m..=o.sill_m + o.height_m).contains(&h)
    };
    for opening in &file.openings {
        let clash = (0..=8).any(|i| {
            (0..=8).any(|j| {
                covered(
                    low + (high - low) * Vec2::new(i as f32 / 8.0, j as f32 / 8.0),
                    opening,
                )
            })
        });
        if clash {
            notes.push(format!(
                "the piece covers part of the opening {:?}",
                opening.name
            ));
        }
    }
    let mut points = Vec::new();
    for margin in [0.12, 0.3] {
        let m = Vec2::splat(margin * (high - low).min_element().clamp(0.4, 1.5));
        let (l, h) = (low - m, high + m);
        for i in 0..8 {
            let t = (i as f32 + 0.5) / 8.0;
            for p in [
                Vec2::new(l.x + (h.x - l.x) * t, l.y),
                Vec2::new(l.x + (h.x - l.x) * t, h.y),
                Vec2::new(l.x, l.y + (h.y - l.y) * t),
                Vec2::new(h.x, l.y + (h.y - l.y) * t),
            ] {
                let height = placement.centre_m + p.y;
                let s = along(p.x);
                let on_wall = height > 0.02
                    && height < highest - 0.02
                    && s > 0.02
                    && s < line.length_m - 0.02;
                if on_wall && !file.openings.iter().any(|o| covered(p, o)) {
                    points.push(frame.point(p.x, p.y) + frame.z_dir * IN_FRONT_M);
                }
            }
        }
    }
    let finish = space_file
        .wall_finishes
        .get(wall)
        .unwrap_or(&space_file.walls);
    Ok((
        points,
        file.finishes.get(finish).map_or(0.5, |f| f.reflectance),
    ))
}

fn fixtures(
    file: &RoomFile,
    piece: &HungPiece,
    loader: &mut dyn FileLoader,
    notes: &mut Vec<String>,
) -> Result<Vec<Fixture>, LoadError> {
    let mut kinds: BTreeMap<&str, (Arc<IntensityDistribution>, Aperture)> = BTreeMap::new();
    for (name, kind) in &file.fixture_types {
        kinds.insert(name, light_of(name, kind, loader, notes)?);
    }
    let right = Frame::new(piece.centre, piece.normal, Vec3::Y.cross(piece.normal));
    Ok(file
        .fixtures
        .iter()
        .filter_map(|fixture| {
            let kind = file.fixture_types.get(&fixture.kind)?;
            let (distribution, aperture) = kinds.get(fixture.kind.as_str())?.clone();
            let position = world(fixture.at_m.0, fixture.at_m.1, fixture.at_m.2);
            let aim_dir = aim(fixture, position, &right);
            // Roll zero: C0 as near as possible to plan +x.
            let world_from_luminaire =
                Fixture::rotation(aim_dir, Vec3::X, fixture.roll_deg.to_radians());
            Some(Fixture {
                distribution,
                aperture,
                position,
                world_from_luminaire,
                dimming: fixture.dimming,
                maintenance_factor: kind.maintenance_factor,
                cct_k: kind.cct_k,
                label: fixture.name.clone(),
            })
        })
        .collect())
}

fn aim(fixture: &FixtureFile, position: Vec3, piece: &Frame) -> Vec3 {
    match fixture.aim {
        Aim::Down => Vec3::NEG_Y,
        Aim::Up => Vec3::Y,
        Aim::At(x, y, h) => (world(x, y, h) - position).normalize_or(Vec3::NEG_Y),
        Aim::Piece { right_m, up_m } => {
            (piece.point(right_m, up_m) - position).normalize_or(Vec3::NEG_Y)
        }
    }
}

fn light_of(
    name: &str,
    kind: &FixtureType,
    loader: &mut dyn FileLoader,
    notes: &mut Vec<String>,
) -> Result<(Arc<IntensityDistribution>, Aperture), LoadError> {
    let given = kind.aperture.as_ref().map(|a| match a {
        ApertureFile::Disc { diameter_mm } => Aperture::Disc {
            diameter_m: diameter_mm / 1000.0,
        },
        ApertureFile::Rectangle {
            length_mm,
            width_mm,
        } => Aperture::Rectangle {
            width_m: width_mm / 1000.0,
            length_m: length_mm / 1000.0,
        },
    });
    let (distribution, own) = match &kind.light {
        FixtureLight::File(path) => {
            let bytes = loader.load(path).map_err(|source| LoadError::File {
                name: path.clone(),
                path: format!("fixture_types[{name:?}].light"),
                source,
            })?;
            let Photometry {
                distribution,
                aperture,
                warnings,
                ..
            } = read_photometry(&bytes, path).map_err(|source| LoadError::Photometry {
                kind: name.into(),
                source: Box::new(source),
            })?;
            notes.extend(warnings.iter().map(|w| format!("{path}: {w}")));
            (distribution, aperture)
        }
        FixtureLight::Beam {
            beam_deg,
            field_deg,
            flux_lm,
            centre_cd,
        } => {
            let beam = Beam {
                beam_angle_rad: beam_deg.to_radians(),
                field_angle_rad: field_deg.map(f32::to_radians),
                output: match (flux_lm, centre_cd) {
                    (Some(lm), _) => BeamOutput::FluxLm(*lm),
                    (None, cd) => BeamOutput::CentreCd(cd.unwrap_or(0.0)),
                },
            };
            let distribution = beam.distribution().map_err(|source| LoadError::Beam {
                kind: name.into(),
                source: Box::new(source),
            })?;
            (distribution, None)
        }
    };
    let aperture = given
        .or(own)
        .ok_or_else(|| LoadError::NoAperture { kind: name.into() })?;
    Ok((Arc::new(distribution), aperture))
}
