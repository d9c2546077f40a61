//! The window's own systems: cameras, panels, input, and the wishes to the engine.

mod cameras;
mod input;
mod layout;
mod wishes;

use std::{path::PathBuf, sync::Arc, time::Duration};

use bevy::{
    prelude::*,
    winit::{EventLoopProxyWrapper, UpdateMode, WinitSettings, WinitUserEvent},
};
use bevy_egui::{EguiGlobalSettings, EguiPlugin, EguiPrimaryContextPass};

use self::{
    cameras::{draw_plans, place_cameras, spawn_cameras},
    input::{pick_tile, play_day, read_input},
    layout::draw_window,
    wishes::{poll_engines, state_wishes},
};
use super::{
    adapter::{Adapter, adapter, display},
    command::{AppCommand, apply_commands},
    document::OpenRoom,
    engine::{Clock, Engine},
    picture::{self},
    standing::Standing,
    state::{Chosen, Desk, Moment, Notice, Plan, Settings, Showing},
};

/// Colour scale of luminances: from 0.1 to 10,000 cd/m2.
const FALSE_LOW_CD_M2: f32 = 0.1;
const FALSE_DECADES: f32 = 5.0;

/// Wakes the window from the engine's thread.
#[derive(Resource, Clone)]
pub(super) struct Waker(pub Arc<dyn Fn() + Send + Sync>);

/// Counts presses of the pointer.
#[derive(Resource, Default)]
struct Gestures {
    count: u64,
}

/// Where the picture lies, and whether the pointer is in it.
#[derive(Resource, Default, Clone, Copy)]
struct PictureArea {
    min: UVec2,
    size: UVec2,
    hovered: bool,
    typing: bool,
}

/// Text being typed for paths.
#[derive(Resource, Default)]
struct PathState {
    text: String,
}

#[derive(Resource)]
struct Drawn(Adapter);

/// The camera of a plan (index).
#[derive(Component)]
struct PlanCamera(usize);

/// Order of the window's work in a frame.
#[derive(SystemSet, Clone, Debug, PartialEq, Eq, Hash)]
enum AppSystems {
    ReadInput,
    ApplyCommands,
    PollJobs,
    SyncScene,
}

/// Opens the window on a room file, or on the demo hall.
///
/// # Errors
/// A room that cannot be opened, no display or no graphics adapter.
pub fn run(path: Option<PathBuf>) -> miette::Result<()> {
    let room = match &path {
        Some(path) => crate::room::read_room(path)?,
        None => crate::room::parse_room(
            include_str!("../../../rooms/ferry-hall.ron"),
            "ferry-hall.ron",
        )?,
    };
    let explain = |e: super::adapter::AdapterError| miette::miette!(help = e.help(), "{e}");
    display().map_err(explain)?;
    let found = adapter().map_err(explain)?;
    let folder = path
        .as_ref()
        .and_then(|p| p.parent())
        .map(PathBuf::from)
        .unwrap_or_default();
    let open = OpenRoom::new(room, path, folder);
    let date = open.file().study.days.first().and_then(|d| d.parse().ok());
    let sky = open.file().study.skies.first().cloned();
    let mut app = App::new();
    app.add_plugins(DefaultPlugins.set(WindowPlugin {
        primary_window: Some(Window {
            title: "Lustrewalk".into(),
            resolution: (1280, 720).into(),
            ..default()
        }),
        ..default()
    }));
    app.insert_resource(EguiGlobalSettings {
        auto_create_primary_context: false,
        ..default()
    })
    .add_plugins(EguiPlugin {
        bindless_mode_array_size: None,
    })
    .add_plugins(picture::plugin);
    let wait = |ms| UpdateMode::reactive_low_power(Duration::from_millis(ms));
    app.insert_resource(WinitSettings {
        focused_mode: wait(50),
        unfocused_mode: wait(500),
    });
    let proxy = app
        .world()
        .get_resource::<EventLoopProxyWrapper>()
        .map(|p| (**p).clone());
    let waker = Waker(Arc::new(move || {
        if let Some(proxy) = &proxy {
            // The window may be gone already.
            let _ = proxy.send_event(WinitUserEvent::WakeUp);
        }
    }));
    let live = Plan::new(
        "Now".into(),
        Arc::clone(open.file()),
        open.folder().clone(),
        open.revision(),
        Engine::start(waker.0.clone()),
    );
    app.insert_resource(Desk {
        plans: vec![live],
        beside: None,
    })
    .insert_resource(PathState {
        text: open
            .path()
            .map_or_else(|| "my-room.ron".into(), |p| p.display().to_string()),
    })
    .insert_resource(open)
    .insert_resource(Moment {
        clock: Clock {
            date: date.unwrap_or(jiff::civil::Date::constant(2026, 3, 20)),
            minute: 600,
            sky: sky.unwrap_or_else(|| "clear".into()),
        },
        speed_min_s: 30.0,
        playing: false,
        rest_min: 0.0,
    })
    .insert_resource(waker)
    .insert_resource(Drawn(found))
    .init_resource::<Chosen>()
    .init_resource::<Standing>()
    .init_resource::<Showing>()
    .init_resource::<Settings>()
    .init_resource::<Notice>()
    .init_resource::<Gestures>()
    .init_resource::<PictureArea>()
    .add_message::<AppCommand>()
    .add_systems(Startup, spawn_cameras)
    .configure_sets(
        Update,
        (
            AppSystems::ReadInput,
            AppSystems::ApplyCommands,
            AppSystems::PollJobs,
            AppSystems::SyncScene,
        )
            .chain(),
    )
    .add_systems(
        Update,
        (read_input, pick_tile, play_day).in_set(AppSystems::ReadInput),
    )
    .add_systems(Update, apply_commands.in_set(AppSystems::ApplyCommands))
    .add_systems(
        Update,
        (poll_engines, state_wishes)
            .chain()
            .in_set(AppSystems::PollJobs),
    )
    .add_systems(
        Update,
        (place_cameras, draw_plans)
            .chain()
            .in_set(AppSystems::SyncScene),
    )
    .add_systems(EguiPrimaryContextPass, draw_window);
    app.run();
    Ok(())
}

/// First and last minute of the chart and its step [min].
fn hours_of(room: &crate::room::RoomFile) -> (u32, u32, u32) {
    let minutes = |text: &str, or| crate::room::clock_min(text).unwrap_or(or);
    let (from, to) = (
        minutes(&room.study.from, 480),
        minutes(&room.study.to, 1200),
    );
    (from, to.max(from), 30)
}
