//! Keys and pointer over the picture: walking, turning, choosing tiles; and the day that plays.

use bevy::{
    input::mouse::{AccumulatedMouseMotion, AccumulatedMouseScroll},
    prelude::*,
    window::RequestRedraw,
};

use super::{Gestures, PictureArea, PlanCamera};
use crate::app::{
    command::AppCommand,
    standing::Standing,
    state::{Desk, Moment, Showing, ViewKind},
};

#[expect(
    clippy::too_many_arguments,
    reason = "a system's arguments are what it touches"
)]
pub(super) fn read_input(
    keys: Res<ButtonInput<KeyCode>>,
    buttons: Res<ButtonInput<MouseButton>>,
    motion: Res<AccumulatedMouseMotion>,
    scroll: Res<AccumulatedMouseScroll>,
    area: Res<PictureArea>,
    desk: Res<Desk>,
    showing: Res<Showing>,
    time: Res<Time<Real>>,
    mut standing: ResMut<Standing>,
    mut gestures: ResMut<Gestures>,
    mut commands: MessageWriter<AppCommand>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if buttons.any_just_pressed([MouseButton::Left, MouseButton::Right]) {
        gestures.count += 1;
    }
    let Some((_, built)) = &desk.live().built else {
        return;
    };
    let ctrl = keys.any_pressed([KeyCode::ControlLeft, KeyCode::ControlRight]);
    if !area.typing && ctrl {
        let shift = keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]);
        if keys.just_pressed(KeyCode::KeyZ) {
            commands.write(if shift {
                AppCommand::Redo
            } else {
                AppCommand::Undo
            });
        }
        if keys.just_pressed(KeyCode::KeyS) {
            commands.write(AppCommand::Save);
        }
    } else if !area.typing {
        for (key, view) in [
            (KeyCode::Digit1, ViewKind::Visitor),
            (KeyCode::Digit2, ViewKind::Around),
            (KeyCode::Digit3, ViewKind::Plan),
        ] {
            if keys.just_pressed(key) {
                commands.write(AppCommand::Look(view));
            }
        }
        if keys.just_pressed(KeyCode::KeyQ) {
            standing.aside = (standing.aside - 1.0).max(-1.0);
        }
        if keys.just_pressed(KeyCode::KeyE) {
            standing.aside = (standing.aside + 1.0).min(1.0);
        }
        if keys.just_pressed(KeyCode::KeyR) {
            standing.back_on_walk(built);
        }
        let held = |key| f32::from(u8::from(keys.pressed(key)));
        let pace = held(KeyCode::ArrowRight) - held(KeyCode::ArrowLeft);
        let ahead = held(KeyCode::KeyW) - held(KeyCode::KeyS);
        let right = held(KeyCode::KeyD) - held(KeyCode::KeyA);
        let speed = built
            .walks
            .get(standing.walk)
            .map_or(0.9, |w| w.walk.speed_m_s);
        let step_m = speed * time.delta_secs().min(0.25);
        if pace != 0.0 {
            standing.go_along(built, pace * step_m);
            redraw.write(RequestRedraw);
        }
        if (ahead != 0.0 || right != 0.0)
            && let Some(now) = &desk.live().now
        {
            standing.walk_freely(built, &now.light.tracer(), ahead * step_m, right * step_m);
            redraw.write(RequestRedraw);
        }
    }
    if !area.hovered {
        return;
    }
    let d = motion.delta * 0.005;
    if buttons.pressed(MouseButton::Left) && d != Vec2::ZERO {
        match showing.view {
            ViewKind::Visitor => standing.turn_head(-d.x, d.y),
            ViewKind::Around => standing.turn_around(d.x, d.y),
            ViewKind::Plan => {
                let scale = standing.plan.height_m / area.size.y.max(1) as f32 / 0.005;
                standing.plan.middle.0 -= d.x * scale;
                standing.plan.middle.1 -= d.y * scale;
            }
        }
    }
    if buttons.pressed(MouseButton::Right) && showing.view == ViewKind::Around {
        let floor_m = built
            .scene
            .surfaces
            .iter()
            .map(|s| s.polygon.frame().origin.y)
            .fold(0.0, f32::min);
        standing.shift_around(-d.x * 0.3, d.y * 0.3, floor_m);
    }
    if scroll.delta.y != 0.0 {
        standing.zoom(showing.view, 0.9_f32.powf(scroll.delta.y.clamp(-3.0, 3.0)));
    }
}

/// A click on a tile chooses it; with Shift it joins those chosen.
#[expect(
    clippy::too_many_arguments,
    reason = "a system's arguments are what it touches"
)]
pub(super) fn pick_tile(
    buttons: Res<ButtonInput<MouseButton>>,
    keys: Res<ButtonInput<KeyCode>>,
    window: Single<&Window>,
    cameras: Query<(&PlanCamera, &Camera, &GlobalTransform)>,
    area: Res<PictureArea>,
    desk: Res<Desk>,
    mut pressed_at: Local<Vec2>,
    mut commands: MessageWriter<AppCommand>,
) {
    let Some(cursor) = window.cursor_position().filter(|_| area.hovered) else {
        return;
    };
    if buttons.just_pressed(MouseButton::Left) {
        *pressed_at = cursor;
    }
    if !buttons.just_released(MouseButton::Left) || pressed_at.distance(cursor) > 4.0 {
        return;
    }
    let Some((_, built)) = &desk.live().built else {
        return;
    };
    let Some((_, camera, place)) = cameras.iter().find(|c| c.0.0 == 0) else {
        return;
    };
    let Ok(ray) = camera.viewport_to_world(place, cursor) else {
        return;
    };
    let facing = ray.direction.dot(built.piece.normal);
    let face = built.piece.centre + built.piece.normal * built.tiling.thickness_m;
    let distance_m = (face - ray.origin).dot(built.piece.normal) / facing;
    if facing >= 0.0 || distance_m <= 0.0 {
        return;
    }
    let at = built
        .place
        .piece_from_world(ray.origin + *ray.direction * distance_m);
    let tile = built
        .tiling
        .tiles
        .iter()
        .find(|t| crate::geometry::polygon_contains(&t.outline_m, at));
    if let Some(tile) = tile {
        commands.write(AppCommand::ChooseTile {
            tile: tile.id,
            add: keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]),
        });
    }
}

pub(super) fn play_day(
    time: Res<Time<Real>>,
    mut moment: ResMut<Moment>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if !moment.playing {
        return;
    }
    let passed = moment.rest_min + moment.speed_min_s * time.delta_secs().min(0.5);
    let whole = passed.floor();
    moment.rest_min = passed - whole;
    moment.clock.minute = (moment.clock.minute + whole as u32) % 1440;
    redraw.write(RequestRedraw);
}
