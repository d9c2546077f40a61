//! Swatches drawn off screen: each a material under one source for one eye, to be held against the engine.

use bevy::{
    camera::{ScalingMode, visibility::NoFrustumCulling},
    math::{Vec2, Vec3, Vec4},
    mesh::{Indices, PrimitiveTopology},
    prelude::*,
    render::storage::ShaderBuffer,
};

use super::{
    material_data,
    materials::{PLACE, TileEntry, TileMaterial, TileSettings},
};
use crate::{
    app::off_screen::{
        OffScreenError, float_target, off_screen_app, spawn_bare_camera, start, take_floats,
    },
    material::Brdf,
};

/// Side of a swatch [pixels].
const SIDE: u32 = 5;
/// Swatches in a row.
const COLUMNS: u32 = 64;
/// Height of the camera over the swatches.
const CAMERA_M: f32 = 10.0;

/// One swatch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swatch {
    /// Index of the material.
    pub material: usize,
    /// Direction to the source, in the material's frame, unit.
    pub to_light: Vec3,
    /// Direction to the eye, in the material's frame, unit.
    pub to_eye: Vec3,
    /// Illuminance by the source on a plane that faces it [lx].
    pub normal_illuminance_lx: f32,
}

/// Luminance [cd/m2] of each swatch as the shader draws it, before any tone curve.
///
/// # Errors
/// Nothing can draw, or the picture did not come.
pub fn swatch_luminances(
    materials: &[Brdf],
    swatches: &[Swatch],
) -> Result<Vec<f32>, OffScreenError> {
    let mut app = off_screen_app()?;
    let rows = (swatches.len() as u32).div_ceil(COLUMNS).max(1);
    let size = [COLUMNS * SIDE, rows * SIDE];
    let mut records = Vec::new();
    let offsets: Vec<u32> = materials
        .iter()
        .map(|m| material_data::encode(m, &mut records))
        .collect();
    // One unit of the world is one pixel; the picture's middle is the origin.
    let corner = |column: u32, row: u32| {
        Vec2::new(
            (column * SIDE) as f32 - 0.5 * size[0] as f32,
            0.5 * size[1] as f32 - (row * SIDE) as f32,
        )
    };
    let mut positions = Vec::new();
    let mut places = Vec::new();
    let mut entries = Vec::new();
    let mut sources = Vec::new();
    for (i, swatch) in swatches.iter().enumerate() {
        let (column, row) = (i as u32 % COLUMNS, i as u32 / COLUMNS);
        let (low, high) = (corner(column, row + 1), corner(column + 1, row));
        let at = |x: f32, y: f32| [x, y, 0.0];
        positions.extend([
            at(low.x, low.y),
            at(high.x, low.y),
            at(high.x, high.y),
            at(low.x, low.y),
            at(high.x, high.y),
            at(low.x, high.y),
        ]);
        places.extend([[i as f32, 0.0]; 6]);
        // The frame is turned so that the camera stands where the swatch's eye is.
        let middle = ((low + high) * 0.5).extend(0.0);
        let eye = (Vec3::Z * CAMERA_M * 100.0 - middle).normalize();
        let turn = Quat::from_rotation_arc(swatch.to_eye, eye);
        entries.push(TileEntry {
            middle: middle.extend(0.0),
            grain: (turn * Vec3::X)
                .extend(offsets.get(swatch.material).copied().unwrap_or(0) as f32),
            across: (turn * Vec3::Y).extend(0.0),
            normal: (turn * Vec3::Z).extend(0.0),
            tint: Vec4::ONE,
        });
        sources.push((turn * swatch.to_light).extend(swatch.normal_illuminance_lx));
    }
    let mut mesh = Mesh::new(
        PrimitiveTopology::TriangleList,
        bevy::asset::RenderAssetUsages::RENDER_WORLD,
    );
    mesh.insert_indices(Indices::U32((0..positions.len() as u32).collect()));
    mesh.insert_attribute(Mesh::ATTRIBUTE_POSITION, positions);
    mesh.insert_attribute(PLACE, places);
    let no_means = float_target(&mut app, [1, 1]);
    let world = app.world_mut();
    let mut buffers = world.resource_mut::<Assets<ShaderBuffer>>();
    let material = TileMaterial {
        settings: TileSettings {
            source_count: sources.len() as u32,
            close_m: 0.0,
            bare: 1,
            ..TileSettings::default()
        },
        models: buffers.add(ShaderBuffer::from(records)),
        tiles: buffers.add(ShaderBuffer::from(entries)),
        sources: buffers.add(ShaderBuffer::from(sources)),
        spots: buffers.add(ShaderBuffer::from(vec![Vec2::ZERO])),
        means: no_means,
    };
    let material = world.resource_mut::<Assets<TileMaterial>>().add(material);
    let mesh = world.resource_mut::<Assets<Mesh>>().add(mesh);
    world.spawn((
        Mesh3d(mesh),
        MeshMaterial3d(material),
        NoFrustumCulling,
        Transform::default(),
    ));
    let target = float_target(&mut app, size);
    let projection = Projection::Orthographic(OrthographicProjection {
        scaling_mode: ScalingMode::Fixed {
            width: size[0] as f32,
            height: size[1] as f32,
        },
        near: 0.0,
        far: CAMERA_M * 200.0,
        ..OrthographicProjection::default_3d()
    });
    let above = Transform::from_xyz(0.0, 0.0, CAMERA_M * 100.0).looking_at(Vec3::ZERO, Vec3::Y);
    spawn_bare_camera(&mut app, &target, projection, above);
    start(&mut app);
    let pixels = take_floats(&mut app, &target, size)?;
    Ok((0..swatches.len())
        .map(|i| {
            let (column, row) = (i as u32 % COLUMNS, i as u32 / COLUMNS);
            let (x, y) = (column * SIDE + SIDE / 2, row * SIDE + SIDE / 2);
            pixels
                .get((y * size[0] + x) as usize)
                .map_or(f32::NAN, |p| p[0])
        })
        .collect())
}
