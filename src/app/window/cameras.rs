//! The cameras of the plans, their tone curve, and the pictures that they see.

use bevy::{
    camera::{CameraOutputMode, Hdr, ScalingMode, Viewport, visibility::RenderLayers},
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    prelude::*,
    render::render_resource::BlendState,
    window::RequestRedraw,
};
use bevy_egui::PrimaryEguiContext;

use super::{FALSE_DECADES, PictureArea, PlanCamera, false_low_cd_m2};
use crate::app::{
    picture::{Looking, Pictures, Shown, Stores, Tone, draw_picture},
    standing::Standing,
    state::{Desk, Plan, Showing, ViewKind},
    view::{View, Views},
};

pub(super) fn spawn_cameras(mut commands: Commands) {
    for index in 0..2 {
        commands.spawn((
            PlanCamera(index),
            Camera3d::default(),
            Camera {
                order: index as isize,
                is_active: index == 0,
                ..default()
            },
            Hdr,
            Tone::default(),
            Tonemapping::None,
            DebandDither::Disabled,
            Msaa::Sample4,
            RenderLayers::layer(index),
            Transform::default(),
        ));
    }
    commands.spawn((
        PrimaryEguiContext,
        Camera2d,
        RenderLayers::none(),
        Msaa::Off,
        Camera {
            order: 100,
            clear_color: ClearColorConfig::Custom(Color::NONE),
            output_mode: CameraOutputMode::Write {
                blend_state: Some(BlendState::PREMULTIPLIED_ALPHA_BLENDING),
                clear_color: ClearColorConfig::None,
            },
            ..default()
        },
    ));
}

#[expect(
    clippy::too_many_arguments,
    reason = "a system's arguments are what it touches"
)]
pub(super) fn place_cameras(
    standing: Res<Standing>,
    mut showing: ResMut<Showing>,
    desk: Res<Desk>,
    area: Res<PictureArea>,
    time: Res<Time<Real>>,
    mut views: ResMut<Views>,
    mut cameras: Query<(
        &PlanCamera,
        &mut Camera,
        &mut Projection,
        &mut Transform,
        &mut Tone,
    )>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    // Each eye adapts to its own plan; what is looked at stays a change of the user's.
    let seen = |plan: &Plan| {
        let glance = plan.glance.as_ref()?;
        Some(glance.1.piece.adaptation_cd_m2)
    };
    let settings = showing.exposure.settings;
    let eyes = showing.bypass_change_detection();
    eyes.exposure_beside.settings = settings;
    let mut moves = false;
    if let Some(seen) = seen(desk.live()) {
        moves |= eyes.exposure.adapt(seen, time.delta_secs());
    }
    if let Some(seen) = desk.held().and_then(seen) {
        moves |= eyes.exposure_beside.adapt(seen, time.delta_secs());
    }
    if moves {
        redraw.write(RequestRedraw);
    }
    let shown: Vec<usize> = desk.shown().collect();
    views.0.clear();
    let scale = area.pixels_per_point;
    for (plan, mut camera, mut projection, mut transform, mut tone) in &mut cameras {
        camera.is_active = plan.0 < shown.len() && area.size.x > 8;
        let plan_index = shown.get(plan.0);
        let Some((_, built)) = plan_index.and_then(|i| desk.plans[*i].built.as_ref()) else {
            continue;
        };
        let half = area.size.x / shown.len() as u32;
        let viewport = Viewport {
            physical_position: area.min + UVec2::new(half * plan.0 as u32, 0),
            physical_size: UVec2::new(half, area.size.y).max(UVec2::ONE),
            ..default()
        };
        camera.viewport = Some(viewport);
        // Clearing happens before the tone curve: a calm dark grey for the eye as it is adapted.
        let eye = if plan.0 == 0 {
            &showing.exposure
        } else {
            &showing.exposure_beside
        };
        let grey = 0.12 * eye.middle_cd_m2();
        camera.clear_color = ClearColorConfig::Custom(Color::linear_rgb(grey, grey, grey));
        let perspective = Projection::Perspective(PerspectiveProjection {
            fov: standing.field_rad,
            near: 0.03,
            far: 3000.0,
            ..default()
        });
        match showing.view {
            ViewKind::Visitor => {
                let station = standing.visitor(built);
                *transform =
                    Transform::from_translation(station.eye).looking_to(station.gaze_dir, Vec3::Y);
                *projection = perspective;
            }
            ViewKind::Around => {
                let (eye, look) = standing.around_camera(0.0);
                *transform = Transform::from_translation(eye).looking_to(look, Vec3::Y);
                *projection = perspective;
            }
            ViewKind::Plan => {
                let (x, z) = standing.plan.middle;
                *transform = Transform::from_xyz(x, 100.0, z).looking_to(Vec3::NEG_Y, Vec3::NEG_Z);
                *projection = Projection::Orthographic(OrthographicProjection {
                    scaling_mode: ScalingMode::FixedVertical {
                        viewport_height: standing.plan.height_m,
                    },
                    near: 0.1,
                    far: 300.0,
                    ..OrthographicProjection::default_3d()
                });
            }
        }
        if plan.0 == 0 {
            let to_points = |v: UVec2| v.as_vec2() / scale;
            let size = UVec2::new(half, area.size.y);
            let view = View::new(
                &transform,
                &projection,
                to_points(area.min),
                to_points(size),
            );
            views.0.push(view);
        }
        tone.show(eye);
        tone.low_cd_m2 = false_low_cd_m2(showing.exposure.adapted_cd_m2());
        tone.decades = if showing.false_colour {
            FALSE_DECADES as f32
        } else {
            0.0
        };
    }
}

pub(super) fn draw_plans(
    desk: Res<Desk>,
    standing: Res<Standing>,
    area: Res<PictureArea>,
    showing: Res<Showing>,
    cameras: Query<(&PlanCamera, &Transform)>,
    mut pictures: ResMut<Pictures>,
    mut stores: Stores,
) {
    let shown: Vec<usize> = desk.shown().collect();
    pictures.keep(shown.len(), &mut stores);
    for (camera, transform) in &cameras {
        let plan = shown.get(camera.0).and_then(|i| desk.plans.get(*i));
        if let Some(shown) = plan.and_then(Shown::of_plan) {
            draw_picture(
                &mut pictures,
                camera.0,
                shown,
                Looking::new(
                    transform.translation,
                    standing.field_rad,
                    area.size.y.max(1),
                    showing.view,
                ),
                &mut stores,
            );
        }
    }
}
