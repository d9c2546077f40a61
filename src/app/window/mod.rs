//! The window's own systems: cameras, panels, input, and the wishes to the engine.

mod cameras;
mod hand;
mod input;
mod layout;
mod overlay;
mod sun_of_day;
mod wishes;

use std::{path::PathBuf, sync::Arc, time::Duration};

use bevy::{
    prelude::*,
    winit::{EventLoopProxyWrapper, UpdateMode, WinitSettings, WinitUserEvent},
};
use bevy_egui::{EguiGlobalSettings, EguiPlugin, EguiPrimaryContextPass};

use self::{
    cameras::{draw_plans, place_cameras, spawn_cameras},
    hand::{Hand, forget_spot, read_spot, use_hand},
    input::{ask_to_close, play_day, read_keys, read_wheel, stroll, take_files},
    layout::draw_window,
    sun_of_day::{SunOfDay, place_sun},
    wishes::{poll_engines, state_wishes},
};
use super::{
    adapter::{Adapter, adapter, display},
    command::{AppCommand, Keeper, apply_commands, look_after_files},
    document::OpenRoom,
    engine::{Clock, Engine},
    files::{Home, Recovery, Settings, Watched},
    picture::{self},
    standing::Standing,
    state::{Advice, Asking, Chosen, Desk, Moment, Notice, Pins, Presenting, Showing},
    view::Views,
};

/// Decades of the colour scale of luminances.
const FALSE_DECADES: u32 = 3;

/// Lowest luminance of the colour scale [cd/m2]: a whole decade, so that what the eye is adapted to lies in the
/// middle one.
fn false_low_cd_m2(adapted_cd_m2: f32) -> f32 {
    10_f32.powf((adapted_cd_m2.max(1e-3) / 10.0).log10().floor())
}

/// Wakes the window from the engine's thread.
#[derive(Resource, Clone)]
pub(super) struct Waker(pub Arc<dyn Fn() + Send + Sync>);

/// Counts presses of the pointer.
#[derive(Resource, Default)]
struct Gestures {
    count: u64,
}

/// Where the picture lies, and whether the pointer is in it.
#[derive(Resource, Clone, Copy)]
struct PictureArea {
    /// Upper left corner [pixels].
    min: UVec2,
    /// Width and height [pixels].
    size: UVec2,
    /// Pixels in one point of the window's parts.
    pixels_per_point: f32,
    hovered: bool,
    typing: bool,
    /// A file is held over the window.
    file_over: bool,
}

impl Default for PictureArea {
    fn default() -> Self {
        Self {
            min: UVec2::ZERO,
            size: UVec2::ZERO,
            pixels_per_point: 1.0,
            hovered: false,
            typing: false,
            file_over: false,
        }
    }
}

/// Text being typed for paths.
#[derive(Resource, Default)]
struct PathState {
    text: String,
    /// Path of the room that the text was taken from.
    of: Option<PathBuf>,
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
        // What is wrong with it is listed in the window, to be mended there.
        Some(path) => crate::room::read_as_written(path)?,
        None => crate::room::parse_room(
            include_str!("../../../rooms/ferry-hall.ron"),
            "ferry-hall.ron",
        )?,
    };
    let path = path.map(|p| std::path::absolute(&p).unwrap_or(p));
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
        // Unsaved changes are asked about first.
        close_when_requested: false,
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
        // Events and the engine wake it at once; at rest it draws a few times a second.
        focused_mode: wait(250),
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
    let desk = Desk::new(
        Arc::clone(open.file()),
        open.folder().clone(),
        open.revision(),
        Engine::start(waker.0.clone()),
    );
    let home = Home::of_user();
    let mut settings = home.as_ref().map(Settings::read).unwrap_or_default();
    if let (Some(home), Some(path)) = (&home, open.path()) {
        settings.note(path);
        // What cannot be kept now is told when the user changes a setting.
        let _ = settings.write(home);
    }
    let asking = Asking {
        recovered: home.as_ref().map(Recovery::left_behind).unwrap_or_default(),
        ..Asking::default()
    };
    let keeper = Keeper {
        watched: open.path().map(|p| Watched::now(p)),
        home,
        ..Keeper::default()
    };
    app.insert_resource(desk)
        .insert_resource(settings)
        .insert_resource(asking)
        .insert_resource(keeper)
        .insert_resource(PathState {
            text: "my-room.ron".into(),
            of: None,
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
        .init_resource::<Advice>()
        .init_resource::<Presenting>()
        .init_resource::<Chosen>()
        .init_resource::<Standing>()
        .init_resource::<Showing>()
        .init_resource::<Notice>()
        .init_resource::<Pins>()
        .init_resource::<Views>()
        .init_resource::<Hand>()
        .init_resource::<SunOfDay>()
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
            (
                (read_keys, read_wheel, use_hand, forget_spot, read_spot).chain(),
                (take_files, ask_to_close, play_day, stroll),
            )
                .in_set(AppSystems::ReadInput),
        )
        .add_systems(
            Update,
            (apply_commands, look_after_files)
                .chain()
                .in_set(AppSystems::ApplyCommands),
        )
        .add_systems(
            Update,
            (poll_engines, state_wishes)
                .chain()
                .in_set(AppSystems::PollJobs),
        )
        .add_systems(
            Update,
            (place_sun, name_window, (place_cameras, draw_plans).chain())
                .in_set(AppSystems::SyncScene),
        )
        .add_systems(EguiPrimaryContextPass, draw_window);
    app.run();
    Ok(())
}

/// The title says which room is open and whether it is saved.
fn name_window(open: Res<OpenRoom>, mut windows: Query<&mut Window>) {
    let mark = if open.is_unsaved() { " *" } else { "" };
    let title = format!("{}{mark} - Lustrewalk", open.title());
    for mut window in &mut windows {
        if window.title != title {
            window.title.clone_from(&title);
        }
    }
}

/// First and last minute of the chart and its step [min].
fn hours_of(room: &crate::room::RoomFile) -> (u32, u32, u32) {
    let minutes = |text: &str, or| crate::room::clock_min(text).unwrap_or(or);
    let (from, to) = (
        minutes(&room.study.from, 480),
        minutes(&room.study.to, 1200),
    );
    (from, to.max(from), room.study.step_min.clamp(5, 720))
}
