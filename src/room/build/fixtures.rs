//! Fixtures with their light, their opening and their aim.

use std::{collections::BTreeMap, sync::Arc};

use glam::Vec3;

use super::{FileLoader, LoadError};
use crate::{
    geometry::Frame,
    luminaire::{Aperture, Beam, BeamOutput, IntensityDistribution, Photometry, read_photometry},
    room::{
        RoomFile,
        schema::{Aim, ApertureFile, FixtureFile, FixtureLight, FixtureType},
        walk::world,
    },
    scene::{Fixture, HungPiece},
};

/// Intensities and luminous opening of a kind of fixture.
pub type KindOfLight = (Arc<IntensityDistribution>, Aperture);

/// Light of all kinds of fixture, by name.
pub(super) fn kinds(
    file: &RoomFile,
    loader: &mut dyn FileLoader,
    notes: &mut Vec<String>,
) -> Result<BTreeMap<String, KindOfLight>, LoadError> {
    file.fixture_types
        .iter()
        .map(|(name, kind)| Ok((name.clone(), light_of(name, kind, loader, notes)?)))
        .collect()
}

pub(super) fn fixtures(
    file: &RoomFile,
    piece: &HungPiece,
    kinds: &BTreeMap<String, KindOfLight>,
) -> Vec<Fixture> {
    let right = Frame::new(piece.centre, piece.normal, Vec3::Y.cross(piece.normal));
    file.fixtures
        .iter()
        .filter_map(|fixture| {
            let kind = file.fixture_types.get(&fixture.kind)?;
            let (distribution, aperture) = kinds.get(&fixture.kind)?.clone();
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
        .collect()
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
) -> Result<KindOfLight, LoadError> {
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
