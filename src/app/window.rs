//! The window's own systems: cameras, panels, input, and the wishes to the engine.

use std::{path::PathBuf, sync::Arc, time::Duration};

use bevy::{
    camera::{CameraOutputMode, Hdr, ScalingMode, Viewport, visibility::RenderLayers},
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    input::mouse::{AccumulatedMouseMotion, AccumulatedMouseScroll},
    prelude::*,
    render::render_resource::BlendState,
    window::RequestRedraw,
    winit::{EventLoopProxyWrapper, UpdateMode, WinitSettings, WinitUserEvent},
};
use bevy_egui::{
    EguiContexts, EguiGlobalSettings, EguiPlugin, EguiPrimaryContextPass, PrimaryEguiContext, egui,
};

use super::{
    adapter::{Adapter, adapter, display},
    command::{AppCommand, apply_commands, load},
    document::OpenRoom,
    engine::{Clock, Engine, Eye, Wanted},
    panels::{ChartData, chart_ui, details_ui, things_ui},
    picture::{self, Pictures, Stores, Tone, draw_picture},
    standing::Standing,
    state::{Charted, Chosen, Desk, Moment, Notice, Plan, Settings, Showing, ViewKind},
    theme,
};
use crate::{measure::format, scene::Station, sun::DayLight};

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
        Some(path) => load(path).map_err(|why| miette::miette!("{why}"))?,
        None => {
            crate::room::parse_room(include_str!("../../rooms/ferry-hall.ron"), "ferry-hall.ron")?
        }
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

fn spawn_cameras(mut commands: Commands) {
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
fn read_input(
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
fn pick_tile(
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

fn play_day(
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

fn poll_engines(
    mut desk: ResMut<Desk>,
    moment: Res<Moment>,
    mut standing: ResMut<Standing>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut framed: Local<bool>,
) {
    for plan in &mut desk.plans {
        for answer in plan.engine.answers() {
            plan.take(answer, &moment.clock);
            redraw.write(RequestRedraw);
        }
    }
    // A room seen for the first time is put where it is best seen.
    let built = desk.live().built.as_ref();
    if let Some((_, built)) = built.filter(|_| !*framed) {
        standing.frame(built);
    }
    *framed = built.is_some();
}

fn eye_of(standing: &Standing, view: ViewKind, plan: &Plan) -> Option<Eye> {
    let (_, built) = plan.built.as_ref()?;
    let station = match view {
        ViewKind::Visitor | ViewKind::Plan => standing.visitor(built),
        ViewKind::Around => {
            let (eye, gaze_dir) = standing.around_camera(0.0);
            Station {
                eye: before_walls(plan, built, eye),
                gaze_dir,
                distance_m: 0.0,
            }
        }
    };
    Some(Eye {
        station,
        walk: standing.walk,
    })
}

/// The outer camera looks through walls that hide the piece from it: the eye then stands before the wall, on
/// the same line.
fn before_walls(plan: &Plan, built: &crate::room::BuiltRoom, eye: Vec3) -> Vec3 {
    let Some(now) = &plan.now else { return eye };
    let from = built.piece.centre + built.piece.normal * 0.05;
    let away = eye - from;
    let dir = away.normalize_or(built.piece.normal);
    match now.light.tracer().path(from, dir).end {
        Some((_, distance_m)) if distance_m < away.length() => {
            from + dir * (distance_m - 0.05).max(0.1)
        }
        _ => eye,
    }
}

fn hours_of(room: &crate::room::RoomFile) -> (u32, u32, u32) {
    let minutes = |text: &str, or| crate::room::clock_min(text).unwrap_or(or);
    let (from, to) = (
        minutes(&room.study.from, 480),
        minutes(&room.study.to, 1200),
    );
    (from, to.max(from), 30)
}

#[derive(Default)]
struct LastWish(Vec<(u64, Clock, Option<Eye>, bool)>);

fn state_wishes(
    open: Res<OpenRoom>,
    moment: Res<Moment>,
    standing: Res<Standing>,
    showing: Res<Showing>,
    buttons: Res<ButtonInput<MouseButton>>,
    mut desk: ResMut<Desk>,
    mut last: Local<LastWish>,
) {
    let live = desk.live_mut();
    if live.revision != open.revision() {
        live.revision = open.revision();
        live.room = Arc::clone(open.file());
        live.folder = open.folder().clone();
    }
    let resting = !buttons.pressed(MouseButton::Left) && !moment.playing;
    let count = desk.plans.len();
    last.0.resize(count, (0, moment.clock.clone(), None, false));
    for (plan, last) in desk.plans.iter().zip(&mut last.0) {
        let eye = eye_of(&standing, showing.view, plan);
        let wish = (plan.revision, moment.clock.clone(), eye, resting);
        if *last == wish {
            continue;
        }
        *last = wish;
        plan.engine.want(Wanted {
            revision: plan.revision,
            room: Arc::clone(&plan.room),
            folder: plan.folder.clone(),
            clock: moment.clock.clone(),
            hours: hours_of(&plan.room),
            eye,
            points: Vec::new(),
            resting,
            picture: true,
        });
    }
}

fn place_cameras(
    standing: Res<Standing>,
    mut showing: ResMut<Showing>,
    desk: Res<Desk>,
    area: Res<PictureArea>,
    time: Res<Time<Real>>,
    mut cameras: Query<(
        &PlanCamera,
        &mut Camera,
        &mut Projection,
        &mut Transform,
        &mut Tone,
    )>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let seen = desk
        .live()
        .glance
        .as_ref()
        .map(|(_, g)| g.reading.reading.adaptation_cd_m2);
    if let Some(seen) = seen
        && showing.exposure.adapt(seen, time.delta_secs())
    {
        redraw.write(RequestRedraw);
    }
    let held = desk.held().is_some();
    for (plan, mut camera, mut projection, mut transform, mut tone) in &mut cameras {
        let shown = plan.0 == 0 || held;
        camera.is_active = shown && area.size.x > 8;
        let Some((_, built)) = desk.plans.get(plan.0).and_then(|p| p.built.as_ref()) else {
            continue;
        };
        let half = if held { area.size.x / 2 } else { area.size.x };
        let viewport = Viewport {
            physical_position: area.min + UVec2::new(half * plan.0 as u32, 0),
            physical_size: UVec2::new(half, area.size.y).max(UVec2::ONE),
            ..default()
        };
        camera.viewport = Some(viewport);
        // Clearing happens before the tone curve: a calm dark grey for the eye as it is adapted.
        let grey = 0.12 * showing.exposure.middle_cd_m2();
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
        let (scale, inverse_white_square) = showing.exposure.curve().parts();
        tone.scale = scale as f32;
        tone.inverse_white_square = inverse_white_square as f32;
        tone.low_cd_m2 = FALSE_LOW_CD_M2;
        tone.decades = if showing.false_colour {
            FALSE_DECADES
        } else {
            0.0
        };
    }
}

/// Colour scale of luminances: from 0.1 to 10,000 cd/m2.
const FALSE_LOW_CD_M2: f32 = 0.1;
const FALSE_DECADES: f32 = 5.0;

fn draw_plans(
    desk: Res<Desk>,
    showing: Res<Showing>,
    cameras: Query<(&PlanCamera, &Transform)>,
    mut pictures: ResMut<Pictures>,
    mut stores: Stores,
) {
    pictures.keep(desk.plans.len(), &mut stores);
    for (camera, transform) in &cameras {
        if let Some(plan) = desk.plans.get(camera.0) {
            draw_picture(
                &mut pictures,
                camera.0,
                plan,
                transform.translation,
                showing.view,
                &mut stores,
            );
        }
    }
}

#[derive(bevy::ecs::system::SystemParam)]
struct Shown<'w> {
    open: Res<'w, OpenRoom>,
    desk: Res<'w, Desk>,
    chosen: Res<'w, Chosen>,
    moment: ResMut<'w, Moment>,
    standing: Res<'w, Standing>,
    showing: Res<'w, Showing>,
    settings: Res<'w, Settings>,
    notice: Res<'w, Notice>,
    gestures: Res<'w, Gestures>,
    drawn: Res<'w, Drawn>,
    time: Res<'w, Time<Real>>,
}

fn draw_window(
    mut contexts: EguiContexts,
    shown: Shown,
    mut area: ResMut<PictureArea>,
    mut path: ResMut<PathState>,
    mut commands: MessageWriter<AppCommand>,
    mut dressed: Local<bool>,
) -> Result {
    let ctx = contexts.ctx_mut()?.clone();
    if !*dressed {
        theme::apply(&ctx);
        *dressed = true;
    }
    let mut root = egui::Ui::new(
        ctx.clone(),
        "window".into(),
        egui::UiBuilder::new()
            .layer_id(egui::LayerId::background())
            .max_rect(ctx.viewport_rect()),
    );
    let mut asked = Vec::new();
    egui::Panel::top("bar").show(&mut root, |ui| {
        asked.extend(bar_ui(ui, &shown, &mut path.text))
    });
    egui::Panel::bottom("day")
        .default_size(236.0)
        .resizable(true)
        .show(&mut root, |ui| {
            asked.extend(day_ui(ui, &shown));
        });
    egui::Panel::left("things")
        .default_size(190.0)
        .show(&mut root, |ui| {
            asked.extend(things_ui(
                ui,
                shown.open.file(),
                &shown.desk.live().problems,
                &shown.chosen,
            ));
        });
    egui::Panel::right("details")
        .default_size(270.0)
        .show(&mut root, |ui| {
            let built = shown.desk.live().built.as_ref().map(|b| b.1.as_ref());
            asked.extend(details_ui(
                ui,
                shown.open.file(),
                built,
                &shown.chosen,
                shown.settings.unit,
                shown.gestures.count,
            ));
            ui.separator();
            reading_ui(ui, &shown);
        });
    let view = root.allocate_rect(root.available_rect_before_wrap(), egui::Sense::hover());
    over_picture(&root, view.rect, &shown);
    let scale = ctx.pixels_per_point();
    let px = |v: f32| (v * scale).round().max(0.0) as u32;
    *area = PictureArea {
        min: UVec2::new(px(view.rect.min.x), px(view.rect.min.y)),
        size: UVec2::new(px(view.rect.width()), px(view.rect.height())),
        hovered: root.rect_contains_pointer(view.rect)
            && !ctx.egui_is_using_pointer()
            && !ctx.any_popup_open(),
        typing: ctx.text_edit_focused(),
    };
    commands.write_batch(asked);
    Ok(())
}

fn bar_ui(ui: &mut egui::Ui, shown: &Shown, path: &mut String) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    ui.horizontal(|ui| {
        let mark = if shown.open.is_unsaved() { " *" } else { "" };
        ui.label(egui::RichText::new(format!("{}{mark}", shown.open.title())).strong());
        ui.menu_button("Room", |ui| {
            ui.label("Path of the room file");
            ui.text_edit_singleline(path);
            if ui.button("Open").clicked() {
                asked.push(AppCommand::Open(PathBuf::from(path.trim())));
                ui.close();
            }
            if ui.button("Save as").clicked() {
                asked.push(AppCommand::SaveAs(PathBuf::from(path.trim())));
                ui.close();
            }
            if ui.button("Save (Ctrl+S)").clicked() {
                asked.push(AppCommand::Save);
                ui.close();
            }
        });
        let (undo, redo) = shown.open.next_steps();
        let undo_tip = undo.map_or("Nothing to undo".into(), |w| format!("Undo: {w} (Ctrl+Z)"));
        if ui.add_enabled(undo.is_some(), egui::Button::new("Undo")).on_hover_text(undo_tip).clicked() {
            asked.push(AppCommand::Undo);
        }
        if ui.add_enabled(redo.is_some(), egui::Button::new("Redo")).clicked() {
            asked.push(AppCommand::Redo);
        }
        ui.separator();
        for (view, name, tip) in [
            (ViewKind::Visitor, "Visitor's eye", "1: stand on the walk; arrows walk, W A S D leave it, Q and E step aside, R goes back"),
            (ViewKind::Around, "From around", "2: drag to turn, right drag to shift, wheel to come nearer"),
            (ViewKind::Plan, "From above", "3: the plan; drag to shift, wheel to come nearer"),
        ] {
            if ui.selectable_label(shown.showing.view == view, name).on_hover_text(tip).clicked() {
                asked.push(AppCommand::Look(view));
            }
        }
        ui.separator();
        let mut colours = shown.showing.false_colour;
        if ui.toggle_value(&mut colours, "cd/m\u{b2} as colours").clicked() {
            asked.push(AppCommand::FalseColour(colours));
        }
        if shown.desk.held().is_some() {
            if ui.button("Let the held plan go").clicked() {
                asked.push(AppCommand::DropHeld);
            }
        } else if ui.button("Hold this plan beside").on_hover_text("Keeps the plan as it is, to compare with what comes next").clicked() {
            asked.push(AppCommand::Hold);
        }
    });
    asked
}

fn day_ui(ui: &mut egui::Ui, shown: &Shown) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    egui::Panel::left("clock").exact_size(200.0).show(ui, |ui| {
        asked.extend(clock_ui(ui, shown));
    });
    let plans: Vec<&Plan> = std::iter::once(shown.desk.live())
        .chain(shown.desk.held())
        .collect();
    let count = plans.len();
    ui.columns(count, |columns| {
        for (ui, plan) in columns.iter_mut().zip(plans) {
            if let Some((_, built)) = &plan.built {
                if count > 1 {
                    ui.label(&plan.name);
                }
                asked.extend(chart_ui(
                    ui,
                    &ChartData {
                        hours: &plan.hours,
                        built,
                        walk: shown.standing.walk,
                        distance_m: shown.standing.distance_m,
                        clock: &shown.moment.clock,
                        charted: shown.settings.charted,
                        span: hours_of(&plan.room),
                        sun: plan.now.as_ref().and_then(|n| sun_minutes(&n.day_light)),
                        stale: plan.chart_is_stale(),
                    },
                ));
            }
        }
    });
    asked
}

fn sun_minutes(day: &DayLight) -> Option<(f32, f32)> {
    match day {
        DayLight::Normal { sunrise, sunset } => {
            let minutes =
                |t: &jiff::ZonedDateTime| f32::from(t.hour()) * 60.0 + f32::from(t.minute());
            let rise = sunrise.as_ref().map_or(0.0, minutes);
            Some((rise, sunset.as_ref().map_or(1440.0, minutes)))
        }
        DayLight::PolarDay => Some((0.0, 1440.0)),
        DayLight::PolarNight => None,
    }
}

fn clock_ui(ui: &mut egui::Ui, shown: &Shown) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    let clock = &shown.moment.clock;
    ui.horizontal(|ui| {
        ui.label(
            egui::RichText::new(clock.time_words())
                .size(24.0)
                .color(theme::ACCENT),
        );
        if let Some(now) = &shown.desk.live().now {
            let h = now.instant.solar_time_h;
            let minute = ((h.fract() * 60.0).floor() as u32).min(59);
            ui.colored_label(
                theme::SOFT,
                format!("sun time {:02}:{minute:02}", h.floor() as u32),
            )
            .on_hover_text("Time by the sun: 12:00 when it stands highest");
        }
    });
    let mut minute = clock.minute;
    ui.spacing_mut().slider_width = 180.0;
    if ui
        .add(egui::Slider::new(&mut minute, 0..=1439).show_value(false))
        .changed()
    {
        asked.push(AppCommand::SetClock(Clock {
            minute,
            ..clock.clone()
        }));
    }
    ui.colored_label(theme::SOFT, clock.date.to_string());
    let mut day = u32::from(clock.date.day_of_year() as u16);
    let days = u32::from(clock.date.days_in_year() as u16);
    if ui
        .add(egui::Slider::new(&mut day, 1..=days).show_value(false))
        .changed()
    {
        let first = jiff::civil::Date::constant(clock.date.year(), 1, 1);
        let date = first.checked_add(jiff::Span::new().days(i64::from(day) - 1));
        if let Ok(date) = date {
            asked.push(AppCommand::SetClock(Clock {
                date,
                ..clock.clone()
            }));
        }
    }
    ui.horizontal(|ui| {
        let label = if shown.moment.playing {
            "Stop"
        } else {
            "Play the day"
        };
        if ui.button(label).clicked() {
            asked.push(AppCommand::Play(!shown.moment.playing));
        }
        egui::ComboBox::from_id_salt("sky")
            .width(80.0)
            .selected_text(&clock.sky)
            .show_ui(ui, |ui| {
                for sky in crate::sky::SKY_NAMES {
                    if ui.selectable_label(clock.sky == sky, sky).clicked() {
                        asked.push(AppCommand::SetClock(Clock {
                            sky: sky.into(),
                            ..clock.clone()
                        }));
                    }
                }
            });
    });
    egui::ComboBox::from_id_salt("walk")
        .width(180.0)
        .selected_text(
            shown
                .open
                .file()
                .walks
                .get(shown.standing.walk)
                .map_or("", |w| w.name.as_str()),
        )
        .show_ui(ui, |ui| {
            for (i, walk) in shown.open.file().walks.iter().enumerate() {
                if ui
                    .selectable_label(i == shown.standing.walk, &walk.name)
                    .clicked()
                {
                    asked.push(AppCommand::Stand {
                        walk: i,
                        distance_m: 0.0,
                    });
                }
            }
        });
    ui.horizontal(|ui| {
        for charted in Charted::ALL {
            if ui
                .selectable_label(shown.settings.charted == charted, charted.name())
                .on_hover_text(charted.meaning())
                .clicked()
            {
                asked.push(AppCommand::Chart(charted));
            }
        }
    });
    asked
}

/// What the eye sees now, with reasons and errors.
fn reading_ui(ui: &mut egui::Ui, shown: &Shown) {
    let plan = shown.desk.live();
    ui.label(egui::RichText::new("From here, now").strong());
    let (Some((_, glance)), Some((_, built)), Some(now)) = (&plan.glance, &plan.built, &plan.now)
    else {
        ui.label("...");
        return;
    };
    let r = &glance.reading.reading;
    use crate::measure::reads::Reads;
    ui.label(match r.pattern.class {
        Reads::Lost => "The pattern is lost",
        Reads::Faint => "The pattern is faint",
        Reads::Reads => "The pattern reads",
        Reads::Strong => "The pattern is strong",
        Reads::Overpowering => "The pattern overpowers",
    });
    ui.label(format!(
        "{} on average, play {}, glow {}",
        format::luminance(f64::from(r.mean_luminance_cd_m2)),
        format::ratio(f64::from(r.play)),
        format::ratio(f64::from(r.glow))
    ));
    ui.colored_label(
        theme::SOFT,
        format!("error of sampling about {:.0} %", 100.0 * r.relative_error),
    );
    for flag in &r.flags {
        ui.colored_label(
            theme::WRONG,
            crate::study::flag_words(built, &now.instant, flag),
        );
    }
}

/// Words over the picture: the eye's state, what is computed, notices.
fn over_picture(root: &egui::Ui, rect: egui::Rect, shown: &Shown) {
    let painter = root.painter_at(rect);
    let font = egui::FontId::proportional(13.0);
    let line = |pos: egui::Pos2, align: egui::Align2, text: String, colour: egui::Color32| {
        let galley = painter.layout_no_wrap(text, font.clone(), colour);
        let at = align.anchor_size(pos, galley.size());
        painter.rect_filled(at.expand(4.0), 3.0, egui::Color32::from_black_alpha(150));
        painter.galley(at.min, galley, colour);
    };
    let eye = &shown.showing.exposure;
    line(
        rect.left_bottom() + egui::vec2(10.0, -10.0),
        egui::Align2::LEFT_BOTTOM,
        format!(
            "Eye adapted to {}, white at {}",
            format::luminance(f64::from(eye.adapted_cd_m2())),
            format::luminance(f64::from(eye.white_cd_m2()))
        ),
        theme::SOFT,
    );
    let plan = shown.desk.live();
    let state = match (&plan.failed, plan.busy) {
        (Some(why), _) => Some((why.clone(), theme::WRONG)),
        (None, Some((what, _))) => {
            let share = plan
                .engine
                .progress()
                .map_or(String::new(), |p| format!(" {:.0} %", 100.0 * p));
            Some((format!("Computing {what}{share}"), theme::ACCENT))
        }
        (None, None) if plan.is_stale(&shown.moment.clock) => {
            Some(("Catching up".into(), theme::ACCENT))
        }
        (None, None) => None,
    };
    if let Some((text, colour)) = state {
        line(
            rect.right_bottom() + egui::vec2(-10.0, -10.0),
            egui::Align2::RIGHT_BOTTOM,
            text,
            colour,
        );
    }
    if shown.drawn.0.is_software {
        let text = format!("Drawn by the processor ({}): slower", shown.drawn.0.name);
        line(
            rect.right_top() + egui::vec2(-10.0, 10.0),
            egui::Align2::RIGHT_TOP,
            text,
            theme::SOFT,
        );
    }
    if shown.notice.until_s > shown.time.elapsed_secs_f64() {
        let colour = if shown.notice.wrong {
            theme::WRONG
        } else {
            theme::INK
        };
        line(
            rect.center_top() + egui::vec2(0.0, 34.0),
            egui::Align2::CENTER_TOP,
            shown.notice.text.clone(),
            colour,
        );
    }
    if shown.showing.false_colour {
        for k in 0..=5 {
            let value = FALSE_LOW_CD_M2 * 10_f32.powi(k);
            let y = rect.bottom() - 50.0 - k as f32 * 24.0;
            let [r, g, b] = crate::report::ramp::colour(k as f32 / FALSE_DECADES);
            let swatch = egui::Rect::from_min_size(
                egui::pos2(rect.left() + 10.0, y - 10.0),
                egui::vec2(20.0, 20.0),
            );
            painter.rect_filled(swatch, 0.0, egui::Color32::from_rgb(r, g, b));
            line(
                egui::pos2(rect.left() + 38.0, y),
                egui::Align2::LEFT_CENTER,
                format::luminance(f64::from(value)),
                theme::INK,
            );
        }
    }
}
