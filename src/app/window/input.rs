//! Keys, the wheel, files dropped on the window, closing it; the walk and the day that go on by themselves.

use bevy::{
    input::mouse::AccumulatedMouseScroll,
    prelude::*,
    window::{RequestRedraw, WindowCloseRequested},
};

use super::PictureArea;
use crate::app::{
    command::AppCommand,
    engine::Clock,
    files::Settings,
    standing::Standing,
    state::{Asking, Chosen, Desk, Folded, Moment, Showing, Thing, ViewKind},
};

/// What keys change.
#[derive(bevy::ecs::system::SystemParam)]
pub(super) struct Keyed<'w> {
    keys: Res<'w, ButtonInput<KeyCode>>,
    area: Res<'w, PictureArea>,
    asking: Res<'w, Asking>,
    desk: Res<'w, Desk>,
    chosen: Res<'w, Chosen>,
    moment: Res<'w, Moment>,
    showing: Res<'w, Showing>,
    settings: Res<'w, Settings>,
    time: Res<'w, Time<Real>>,
}

pub(super) fn read_keys(
    keyed: Keyed,
    mut standing: ResMut<Standing>,
    mut commands: MessageWriter<AppCommand>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let keys = &keyed.keys;
    if keys.just_pressed(KeyCode::F1) {
        commands.write(AppCommand::Keys(!keyed.asking.keys));
    }
    if keyed.asking.is_open() || keyed.asking.keys || keyed.area.typing {
        return;
    }
    let ctrl = is_down(
        keys,
        [
            KeyCode::ControlLeft,
            KeyCode::ControlRight,
            KeyCode::SuperLeft,
            KeyCode::SuperRight,
        ],
    );
    commands.write_batch(if ctrl {
        with_ctrl(&keyed)
    } else {
        plain(&keyed, &standing)
    });
    if ctrl {
        return;
    }
    let Some((_, built)) = &keyed.desk.live().built else {
        return;
    };
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
    let step_m = speed * keyed.time.delta_secs().min(0.25);
    if pace != 0.0 {
        standing.strolling = false;
        standing.go_along(built, pace * step_m);
        redraw.write(RequestRedraw);
    }
    if (ahead != 0.0 || right != 0.0)
        && let Some(now) = &keyed.desk.live().now
    {
        standing.strolling = false;
        standing.walk_freely(built, &now.light.tracer(), ahead * step_m, right * step_m);
        redraw.write(RequestRedraw);
    }
}

/// Whether one of the keys is held, or went down or up since the last frame: where frames are slow, a chord may be
/// shorter than one.
pub(super) fn is_down<const N: usize>(keys: &ButtonInput<KeyCode>, of: [KeyCode; N]) -> bool {
    keys.any_pressed(of) || keys.any_just_pressed(of) || keys.any_just_released(of)
}

fn with_ctrl(keyed: &Keyed) -> Vec<AppCommand> {
    let keys = &keyed.keys;
    let shift = is_down(keys, [KeyCode::ShiftLeft, KeyCode::ShiftRight]);
    let mut asked = Vec::new();
    let mut on = |key, command| {
        if keys.just_pressed(key) {
            asked.push(command);
        }
    };
    on(
        KeyCode::KeyZ,
        if shift {
            AppCommand::Redo
        } else {
            AppCommand::Undo
        },
    );
    on(KeyCode::KeyY, AppCommand::Redo);
    on(
        KeyCode::KeyS,
        if shift {
            AppCommand::SaveByDialog
        } else {
            AppCommand::Save
        },
    );
    on(KeyCode::KeyO, AppCommand::OpenByDialog);
    on(KeyCode::KeyQ, AppCommand::Quit);
    on(KeyCode::KeyA, AppCommand::ChooseAllTiles(true));
    if let Some(thing) = &keyed.chosen.thing {
        on(KeyCode::KeyD, AppCommand::Duplicate(thing.clone()));
    }
    let scale = keyed.settings.scale;
    on(KeyCode::Equal, AppCommand::Scale(scale + 0.25));
    on(KeyCode::NumpadAdd, AppCommand::Scale(scale + 0.25));
    on(KeyCode::Minus, AppCommand::Scale(scale - 0.25));
    on(KeyCode::NumpadSubtract, AppCommand::Scale(scale - 0.25));
    on(KeyCode::Digit0, AppCommand::Scale(1.0));
    asked
}

fn plain(keyed: &Keyed, standing: &Standing) -> Vec<AppCommand> {
    let keys = &keyed.keys;
    let mut asked = Vec::new();
    let mut on = |key, command| {
        if keys.just_pressed(key) {
            asked.push(command);
        }
    };
    let (moment, showing) = (&keyed.moment, &keyed.showing);
    on(KeyCode::Digit1, AppCommand::Look(ViewKind::Visitor));
    on(KeyCode::Digit2, AppCommand::Look(ViewKind::Around));
    on(KeyCode::Digit3, AppCommand::Look(ViewKind::Plan));
    on(KeyCode::Space, AppCommand::Stroll(!standing.strolling));
    on(KeyCode::KeyP, AppCommand::Play(!moment.playing));
    on(KeyCode::KeyH, AppCommand::Hold);
    on(
        KeyCode::KeyF,
        AppCommand::FalseColour(!showing.false_colour),
    );
    on(KeyCode::KeyU, AppCommand::SunPath(!showing.sun_path));
    let folded = showing.folded;
    on(
        KeyCode::F2,
        AppCommand::Fold(Folded {
            things: !folded.things,
            ..folded
        }),
    );
    on(
        KeyCode::F3,
        AppCommand::Fold(Folded {
            details: !folded.details,
            ..folded
        }),
    );
    on(
        KeyCode::F4,
        AppCommand::Fold(Folded {
            day: !folded.day,
            ..folded
        }),
    );
    let clock = &moment.clock;
    let at = |minute: u32| {
        AppCommand::SetClock(Clock {
            minute,
            ..clock.clone()
        })
    };
    on(KeyCode::PageUp, at(clock.minute.saturating_sub(15)));
    on(KeyCode::PageDown, at((clock.minute + 15).min(1439)));
    for (key, months) in [(KeyCode::Home, -1), (KeyCode::End, 1)] {
        if let Ok(date) = clock.date.checked_add(jiff::Span::new().months(months)) {
            on(
                key,
                AppCommand::SetClock(Clock {
                    date,
                    ..clock.clone()
                }),
            );
        }
    }
    if keys.just_pressed(KeyCode::Escape) {
        asked.push(AppCommand::AimByClick(None));
        asked.push(AppCommand::Stroll(false));
        asked.push(AppCommand::Play(false));
        if showing.aiming.is_none() {
            asked.push(AppCommand::Choose(None));
            asked.push(AppCommand::ShowAdvice(None));
        }
    }
    if keys.just_pressed(KeyCode::Delete)
        && let Some(thing) = keyed.chosen.thing.clone().filter(|t| *t != Thing::Piece)
    {
        asked.push(AppCommand::Delete(thing));
    }
    asked
}

pub(super) fn read_wheel(
    scroll: Res<AccumulatedMouseScroll>,
    area: Res<PictureArea>,
    showing: Res<Showing>,
    mut standing: ResMut<Standing>,
) {
    if area.hovered && scroll.delta.y != 0.0 {
        standing.zoom(showing.view, 0.9_f32.powf(scroll.delta.y.clamp(-3.0, 3.0)));
    }
}

pub(super) fn take_files(
    mut dropped: MessageReader<bevy::window::FileDragAndDrop>,
    mut area: ResMut<PictureArea>,
    mut commands: MessageWriter<AppCommand>,
) {
    use bevy::window::FileDragAndDrop;
    for event in dropped.read() {
        match event {
            FileDragAndDrop::DroppedFile { path_buf, .. } => {
                area.file_over = false;
                commands.write(AppCommand::TakeFile(path_buf.clone()));
            }
            FileDragAndDrop::HoveredFile { .. } => area.file_over = true,
            FileDragAndDrop::HoveredFileCanceled { .. } => area.file_over = false,
        }
    }
}

pub(super) fn ask_to_close(
    mut wanted: MessageReader<WindowCloseRequested>,
    mut commands: MessageWriter<AppCommand>,
) {
    if wanted.read().next().is_some() {
        commands.write(AppCommand::Quit);
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

pub(super) fn stroll(
    time: Res<Time<Real>>,
    desk: Res<Desk>,
    mut standing: ResMut<Standing>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if !standing.strolling {
        return;
    }
    let Some((_, built)) = &desk.live().built else {
        return;
    };
    let speed = built
        .walks
        .get(standing.walk)
        .map_or(0.9, |w| w.walk.speed_m_s);
    if standing.go_along(built, speed * time.delta_secs().min(0.25)) {
        standing.strolling = false;
    }
    redraw.write(RequestRedraw);
}
