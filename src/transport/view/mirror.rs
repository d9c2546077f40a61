//! Mirror images: what a polished tile or a glossy coat shows to an eye in its mirror direction.

use glam::Vec3;

use crate::{
    material::Brdf,
    scene::{HungPiece, Station},
    transport::{Entry, LightPart, LightState, RoomLight},
};

/// One image in one tile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MirrorImage {
    /// Index of the tile.
    pub tile_index: u32,
    /// What is mirrored.
    pub part: LightPart,
    /// Luminance of a pane's image: weight on the luminance vector.
    seen: Entry,
    /// Luminance of a fixture's image at full output [cd/m2].
    fixture_cd_m2: f32,
}

impl MirrorImage {
    /// Luminance of the image [cd/m2].
    pub fn luminance_cd_m2(&self, state: &LightState) -> f32 {
        match self.part {
            LightPart::Fixture(f) => self.fixture_cd_m2 * state.strengths.fixtures[f],
            _ => self.seen.weight * state.luminance_cd_m2[self.seen.target as usize],
        }
    }
}

/// Images of fixtures and panes that a station sees in the piece.
pub(super) fn images(room: &RoomLight, piece: &HungPiece, station: &Station) -> Vec<MirrorImage> {
    let mut found = Vec::new();
    for (t, tile) in piece.tiles.iter().enumerate() {
        let brdf = piece.brdf(tile);
        let Some(alpha) = brdf.mirror_like() else {
            continue;
        };
        let to_eye = (station.eye - tile.frame.origin).normalize_or_zero();
        let cos = to_eye.dot(tile.frame.z_dir);
        if cos <= 0.02 {
            continue;
        }
        let dir = tile.frame.z_dir * (2.0 * cos) - to_eye;
        let reflectance = match brdf {
            Brdf::Metal(_) => brdf.directional_albedo(tile.frame.local_from_world(to_eye)),
            // A clear coat of index 1.5: C. Schlick's approximation, 1994.
            _ => 0.04 + 0.96 * (1.0 - cos).powi(5),
        };
        let base = MirrorImage {
            tile_index: t as u32,
            part: LightPart::Room,
            seen: Entry {
                target: 0,
                weight: 0.0,
            },
            fixture_cd_m2: 0.0,
        };
        for (f, fixture) in room.scene().fixtures.iter().enumerate() {
            let to_fixture = fixture.position - tile.frame.origin;
            let distance_m = to_fixture.length().max(0.05);
            let along = to_fixture.dot(dir);
            // Within the opening, widened by the blur of the lobe (the half vector moves half as fast).
            let reach_m = 0.5 * fixture.aperture.largest_dimension_m() + 2.0 * alpha * distance_m;
            if along <= 0.0 || (to_fixture - dir * along).length() > reach_m {
                continue;
            }
            let toward = to_fixture / distance_m;
            if room
                .tracer()
                .transmission(tile.frame.origin, toward, distance_m - 2e-3)
                .is_none()
            {
                continue;
            }
            let source_cd_m2 = fixture.luminance_cd_m2(-toward);
            let solid_angle_sr = fixture.projected_area_m2(-toward) / (distance_m * distance_m);
            // The blurred image is at most as bright as the sharp one (mirror limit).
            let blurred = brdf.lobe_per_sr(
                tile.frame.local_from_world(toward),
                tile.frame.local_from_world(to_eye),
            ) * toward.dot(tile.frame.z_dir).max(0.0)
                * solid_angle_sr;
            found.push(MirrorImage {
                part: LightPart::Fixture(f),
                fixture_cd_m2: source_cd_m2 * blurred.min(reflectance),
                ..base
            });
        }
        if let Some((target, transmittance)) = landing(room, tile.frame.origin, dir)
            && let Some(pane) = room.columns().pane_of(target)
        {
            found.push(MirrorImage {
                part: LightPart::Pane(pane),
                seen: Entry {
                    target,
                    weight: transmittance * reflectance,
                },
                ..base
            });
        }
    }
    found
}

fn landing(room: &RoomLight, origin: Vec3, dir: Vec3) -> Option<(u32, f32)> {
    let mut last = None;
    room.tracer().trace(origin, dir, |target, transmittance| {
        last = Some((target, transmittance))
    });
    last
}
