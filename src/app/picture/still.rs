//! One picture of a room without a window, as luminances before any tone curve.

use bevy::prelude::*;

use super::{Looking, Pictures, Shown, Stores, draw_picture};
use crate::{
    app::{
        off_screen::{
            OffScreenError, float_target, off_screen_app, spawn_bare_camera, start, take_floats,
        },
        state::{Desk, ViewKind},
        view::View,
    },
    image::luminance,
    scene::Station,
};

/// Luminances of a picture, row-major from the top.
#[derive(Clone, Debug)]
pub struct Still {
    /// Width and height [pixels].
    pub size: [u32; 2],
    /// Luminance of each pixel [cd/m2].
    pub luminance_cd_m2: Vec<f32>,
    /// Where points of the room are drawn; one point of it is a pixel.
    pub view: View,
}

impl Still {
    /// Luminance at a place of the picture [pixels]; `None` beside it.
    pub fn at(&self, place: Vec2) -> Option<f32> {
        let (x, y) = (place.x.floor(), place.y.floor());
        let inside = x >= 0.0 && y >= 0.0 && x < self.size[0] as f32 && y < self.size[1] as f32;
        inside.then(|| self.luminance_cd_m2[y as usize * self.size[0] as usize + x as usize])
    }
}

/// The eye of the still.
#[derive(Resource, Clone, Copy)]
struct StillEye(Looking);

fn draw(desk: Res<Desk>, eye: Res<StillEye>, mut pictures: ResMut<Pictures>, mut stores: Stores) {
    if let Some(shown) = Shown::of_plan(desk.live()) {
        draw_picture(&mut pictures, 0, shown, eye.0, &mut stores);
    }
}

/// What the eye sees of the edited plan as its engine told it last.
///
/// # Errors
/// Nothing can draw, or the picture did not come.
pub fn still(
    desk: Desk,
    eye: Station,
    field_rad: f32,
    size: [u32; 2],
) -> Result<Still, OffScreenError> {
    let mut app = off_screen_app()?;
    app.insert_resource(desk)
        .insert_resource(StillEye(Looking::new(
            eye.eye,
            field_rad,
            size[1],
            ViewKind::Visitor,
        )))
        .add_systems(Update, draw);
    let target = float_target(&mut app, size);
    let projection = Projection::Perspective(PerspectiveProjection {
        fov: field_rad,
        near: 0.03,
        far: 3000.0,
        ..default()
    });
    let camera = Transform::from_translation(eye.eye).looking_to(eye.gaze_dir, Vec3::Y);
    spawn_bare_camera(&mut app, &target, projection.clone(), camera);
    start(&mut app);
    let pixels = take_floats(&mut app, &target, size)?;
    Ok(Still {
        size,
        luminance_cd_m2: pixels
            .iter()
            .map(|p| luminance(Vec3::new(p[0], p[1], p[2])))
            .collect(),
        view: View::new(
            &camera,
            &projection,
            Vec2::ZERO,
            Vec2::new(size[0] as f32, size[1] as f32),
        ),
    })
}
