//! Meshes of the room: surfaces with their places in the atlas, patches of sun, panes, tiles, lamps, sky.

use bevy::{
    asset::RenderAssetUsages,
    math::{Vec2, Vec3},
    mesh::{Indices, Mesh, PrimitiveTopology},
};

use super::materials::{PLACE, TINT};
use crate::{
    geometry::Polygon,
    image::{LightMap, SourceColours, SunPatch, luminance},
    room::BuiltRoom,
    scene::Scene,
    transport::LightState,
};

/// No place in the atlas.
const NOWHERE: [f32; 2] = [-1.0, -1.0];
/// Radius of the sky [m].
const SKY_M: f32 = 900.0;
/// Sides of a lamp.
const LAMP_SIDES: usize = 16;

/// Corners being collected.
#[derive(Default)]
struct Corners {
    positions: Vec<[f32; 3]>,
    places: Vec<[f32; 2]>,
    tints: Vec<[f32; 4]>,
}

impl Corners {
    fn push(&mut self, position: Vec3, place: [f32; 2], tint: [f32; 4]) {
        self.positions.push(position.to_array());
        self.places.push(place);
        self.tints.push(tint);
    }

    fn mesh(self) -> Mesh {
        let count = self.positions.len() as u32;
        let mut mesh = Mesh::new(
            PrimitiveTopology::TriangleList,
            RenderAssetUsages::RENDER_WORLD,
        );
        // A mesh without corners cannot be drawn; one without size can.
        let (positions, places, tints, count) = if count == 0 {
            (vec![[0.0; 3]; 3], vec![NOWHERE; 3], vec![[0.0; 4]; 3], 3)
        } else {
            (self.positions, self.places, self.tints, count)
        };
        mesh.insert_attribute(Mesh::ATTRIBUTE_POSITION, positions);
        mesh.insert_attribute(PLACE, places);
        mesh.insert_attribute(TINT, tints);
        mesh.insert_indices(Indices::U32((0..count).collect()));
        mesh
    }
}

/// Colour of luminance 1 of a reflectance.
fn tint_of(reflectance_rgb: Vec3, reflectance: f32) -> [f32; 3] {
    if reflectance > 1e-4 {
        (reflectance_rgb / reflectance).to_array()
    } else {
        [1.0; 3]
    }
}

/// A mesh that shows nothing yet.
pub(super) fn nothing() -> Mesh {
    Corners::default().mesh()
}

/// Fronts of all surfaces, and backs that the building's windows can see.
pub(super) fn surfaces(scene: &Scene, map: &LightMap) -> Mesh {
    let mut corners = Corners::default();
    for (owner, surface) in scene.surfaces.iter().enumerate() {
        let rgb = tint_of(surface.reflectance_rgb, surface.reflectance);
        let front = map.part(owner, false);
        let back = map.part(owner, true);
        let frame = surface.polygon.frame();
        for triangle in surface.polygon.triangles_m() {
            for p in triangle {
                let place = front.map_or(NOWHERE, |part| map.uv(part, *p).to_array());
                corners.push(frame.point(p.x, p.y), place, [rgb[0], rgb[1], rgb[2], 0.0]);
            }
            // The back of a wall is seen from outside only where it faces the open.
            if let Some(part) = back
                && !surface.indoors
            {
                for p in triangle.iter().rev() {
                    corners.push(
                        frame.point(p.x, p.y),
                        map.uv(part, *p).to_array(),
                        [1.0, 1.0, 1.0, 0.0],
                    );
                }
            }
        }
    }
    corners.mesh()
}

/// Patches of sun over the surfaces that they lie on.
pub(super) fn sun(scene: &Scene, map: &LightMap, patches: &[SunPatch]) -> Mesh {
    let mut corners = Corners::default();
    for patch in patches {
        let Some(surface) = scene.surfaces.get(patch.surface) else {
            continue;
        };
        let rgb = tint_of(surface.reflectance_rgb, surface.reflectance);
        let luminance = surface.reflectance * patch.illuminance_lx / std::f32::consts::PI;
        let tint = [rgb[0], rgb[1], rgb[2], luminance];
        let part = map.part(patch.surface, false);
        let frame = surface.polygon.frame();
        for k in 1..patch.outline_m.len().saturating_sub(1) {
            for p in [
                patch.outline_m[0],
                patch.outline_m[k],
                patch.outline_m[k + 1],
            ] {
                let place = part.map_or(NOWHERE, |part| map.uv(part, p).to_array());
                corners.push(frame.point(p.x, p.y), place, tint);
            }
        }
    }
    corners.mesh()
}

/// Panes.
pub(super) fn panes(scene: &Scene, map: &LightMap) -> Mesh {
    let mut corners = Corners::default();
    for (index, pane) in scene.panes.iter().enumerate() {
        let part = map.part(scene.surfaces.len() + index, false);
        let n = pane.polygon.normal();
        let frame = pane.polygon.frame();
        for p in pane.polygon.triangles_m().iter().flatten() {
            let place = part.map_or(NOWHERE, |part| map.uv(part, *p).to_array());
            corners.push(frame.point(p.x, p.y), place, [n.x, n.y, n.z, index as f32]);
        }
    }
    corners.mesh()
}

/// Lamps: discs of each opening with its luminance toward the eye, and a small dark body behind.
pub(super) fn lamps(scene: &Scene, state: &LightState, colours: &SourceColours, eye: Vec3) -> Mesh {
    let mut corners = Corners::default();
    let of_fixtures = state.strengths.fixtures.iter().zip(&colours.fixtures_rgb);
    for (fixture, (strength, rgb)) in scene.fixtures.iter().zip(of_fixtures) {
        let radius_m = (0.5 * fixture.aperture.largest_dimension_m()).max(0.02);
        let aim = fixture.aim_dir();
        let (x, y) = aim.any_orthonormal_pair();
        let toward = (eye - fixture.position).normalize_or(aim);
        let luminance = if toward.dot(aim) > 0.0 {
            fixture.luminance_cd_m2(toward) * strength
        } else {
            0.0
        };
        let ring = |k: usize, r: f32, back_m: f32| {
            let (sin, cos) = (k as f32 / LAMP_SIDES as f32 * std::f32::consts::TAU).sin_cos();
            fixture.position + (x * cos + y * sin) * r - aim * back_m
        };
        let body_m = (radius_m * 2.0).clamp(0.05, 0.2);
        for k in 0..LAMP_SIDES {
            let (a, b) = (ring(k, radius_m, 0.0), ring(k + 1, radius_m, 0.0));
            for p in facing([fixture.position, a, b], aim) {
                corners.push(p, NOWHERE, [rgb.x, rgb.y, rgb.z, luminance]);
            }
            let (c, d) = (
                ring(k, radius_m * 1.15, body_m),
                ring(k + 1, radius_m * 1.15, body_m),
            );
            let out = (a + b) * 0.5 - fixture.position;
            for p in facing([a, b, c], out)
                .into_iter()
                .chain(facing([b, d, c], out))
            {
                corners.push(p, NOWHERE, [1.0, 1.0, 1.0, 1.0]);
            }
            let end = fixture.position - aim * body_m;
            for p in facing([end, c, d], -aim) {
                corners.push(p, NOWHERE, [1.0, 1.0, 1.0, 1.0]);
            }
        }
    }
    corners.mesh()
}

/// A triangle turned so that it faces a direction.
fn facing(mut corners: [Vec3; 3], toward: Vec3) -> [Vec3; 3] {
    if (corners[1] - corners[0])
        .cross(corners[2] - corners[0])
        .dot(toward)
        < 0.0
    {
        corners.swap(1, 2);
    }
    corners
}

/// Faces and sides of all tiles. Places: index of the tile; 1 on its sides, 0.25 on the first corner of a face's
/// triangle, where the shader works out what all of it shares.
pub(super) fn tiles(room: &BuiltRoom) -> Mesh {
    let mut corners = Corners::default();
    let face_m = room.tiling.thickness_m;
    for (index, tile) in room.tiling.tiles.iter().enumerate() {
        let frame = crate::geometry::Frame::new(Vec3::ZERO, Vec3::Z, Vec3::X);
        let flat = Polygon::in_frame(frame, tile.outline_m.clone(), Vec::new());
        // A leaning face turns about the tile's middle.
        let normal = room
            .piece
            .tiles
            .get(index)
            .map_or(room.piece.normal, |t| t.frame.z_dir);
        let world = |p: Vec2| {
            let on_face = room.place.point(p, face_m);
            let middle = room.place.point(tile.centroid_m, face_m);
            let lean = (middle - on_face).dot(normal) / normal.dot(room.place.frame.z_dir).max(0.1);
            on_face + room.place.frame.z_dir * lean
        };
        for triangle in flat.triangles_m() {
            for (k, p) in facing(triangle.map(world), normal).into_iter().enumerate() {
                let first = if k == 0 { 0.25 } else { 0.0 };
                corners.push(p, [index as f32, first], [0.0; 4]);
            }
        }
        let count = tile.outline_m.len();
        for k in 0..count {
            let (p, q) = (tile.outline_m[k], tile.outline_m[(k + 1) % count]);
            let (a, b) = (world(p), world(q));
            let (c, d) = (room.place.point(p, 0.0), room.place.point(q, 0.0));
            let out = (a + b) * 0.5 - room.place.point(tile.centroid_m, face_m);
            for p in facing([a, b, c], out)
                .into_iter()
                .chain(facing([b, d, c], out))
            {
                corners.push(p, [index as f32, 1.0], [0.0; 4]);
            }
        }
    }
    corners.mesh()
}

/// A triangle that covers a whole picture, in clip space.
pub(super) fn whole_picture() -> Mesh {
    let mut corners = Corners::default();
    for (x, y) in [(-1.0, -1.0), (3.0, -1.0), (-1.0, 3.0)] {
        corners.push(Vec3::new(x, y, 0.0), NOWHERE, [0.0; 4]);
    }
    corners.mesh()
}

/// A box far away whose inside is the sky.
pub(super) fn sky() -> Mesh {
    let mut corners = Corners::default();
    let axes = [Vec3::X, Vec3::Y, Vec3::Z, -Vec3::X, -Vec3::Y, -Vec3::Z];
    for (i, n) in axes.into_iter().enumerate() {
        let (u, v) = (axes[(i + 1) % 3], axes[(i + 2) % 3]);
        let at = |a: f32, b: f32| (n + u * a + v * b) * SKY_M;
        for p in [
            at(-1.0, -1.0),
            at(1.0, -1.0),
            at(1.0, 1.0),
            at(-1.0, -1.0),
            at(1.0, 1.0),
            at(-1.0, 1.0),
        ] {
            corners.push(p, NOWHERE, [0.0; 4]);
        }
    }
    corners.mesh()
}

/// Columns of the table of transmittances.
pub(super) const ANGLES: usize = 32;

/// Transmittance of each pane (row) on the cosine 0..=1 (column), all factors included.
pub(super) fn transmittances(scene: &Scene) -> Vec<f32> {
    scene
        .panes
        .iter()
        .flat_map(|pane| {
            (0..ANGLES).map(|k| {
                let cos = k as f32 / (ANGLES - 1) as f32;
                pane.glazing.transmittance(cos.max(1e-3)) * pane.clear_factor * pane.blind_open
            })
        })
        .collect()
}

/// Colour of luminance 1 of something of a colour under a light; the light's own where it has none.
pub(super) fn unit_luminance(reflectance_rgb: Vec3, light_rgb: Vec3) -> Vec3 {
    let seen = reflectance_rgb * light_rgb;
    let one = |rgb: Vec3| {
        let of = luminance(rgb);
        (of > 1e-9).then(|| rgb / of)
    };
    one(seen)
        .or_else(|| one(reflectance_rgb))
        .unwrap_or(Vec3::ONE)
}
