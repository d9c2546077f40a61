//! Frames a second of the picture while the eye walks, drawn off screen with the engine at work beside it.
//!
//! `cargo bench --bench frames -- [WIDTH HEIGHT]`. Drawn as in the window (four samples a pixel, tone curve), without
//! the panels. Each frame is waited for, so the figures are times of whole frames.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a benchmark prints its figures and stops at a fault"
)]

use std::{
    sync::Arc,
    time::{Duration, Instant},
};

use bevy::{
    camera::{Hdr, RenderTarget},
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    prelude::*,
    render::{
        render_resource::{PollType, TextureFormat},
        renderer::RenderDevice,
    },
};
use lustrewalk::{
    app::{
        adapter::adapter,
        engine::{Clock, Engine, Eye, Wanted},
        off_screen::{off_screen_app, start},
        picture::{Looking, Pictures, Shown, Stores, Tone, draw_picture},
        standing::Standing,
        state::{Desk, ViewKind},
    },
    image::Exposure,
    piece::Layout,
    room::{PieceSource, RoomFile, parse_room},
};

/// Frames that are timed.
const FRAMES: usize = 300;

#[derive(Resource)]
struct Walker(Standing, Clock, u32);

fn follow(
    mut desk: ResMut<Desk>,
    mut walker: ResMut<Walker>,
    mut pictures: ResMut<Pictures>,
    mut cameras: Query<(&mut Transform, &mut Tone), With<Camera3d>>,
    mut stores: Stores,
) {
    let clock = walker.1.clone();
    let answers = desk.live().engine.answers();
    for answer in answers {
        desk.live_mut().take(answer, &clock);
    }
    let plan = desk.live();
    let mut eye = None;
    if let Some((_, built)) = &plan.built {
        if walker.0.go_along(built, 0.02) {
            walker.0.distance_m = 0.0;
        }
        let station = walker.0.visitor(built);
        eye = Some(Eye { station, walk: 0 });
        let mut exposure = Exposure::default();
        exposure.adapt(Vec3::splat(300.0), 0.0);
        for (mut transform, mut tone) in &mut cameras {
            *transform =
                Transform::from_translation(station.eye).looking_to(station.gaze_dir, Vec3::Y);
            tone.show(&exposure);
        }
        if let Some(shown) = Shown::of_plan(plan) {
            let looking = Looking::new(station.eye, 0.9, walker.2, ViewKind::Visitor);
            draw_picture(&mut pictures, 0, shown, looking, &mut stores);
        }
    }
    plan.engine.want(Wanted {
        revision: plan.revision,
        room: Arc::clone(&plan.room),
        folder: plan.folder.clone(),
        clock: clock.clone(),
        hours: (clock.minute, clock.minute, 60),
        eye,
        points: Vec::new(),
        resting: false,
        picture: true,
    });
}

fn time(name: &str, room: RoomFile, size: [u32; 2]) {
    let mut app = off_screen_app().unwrap();
    let clock = Clock {
        date: "2026-03-20".parse().unwrap(),
        minute: 600,
        sky: "clear".into(),
    };
    let tiles = lustrewalk::room::build(room.clone(), &mut lustrewalk::room::NoFiles)
        .unwrap()
        .tiling
        .tiles
        .len();
    let engine = Engine::start(Arc::new(|| {}));
    app.insert_resource(Desk::new(Arc::new(room), "rooms".into(), 1, engine))
        .insert_resource(Walker(Standing::default(), clock, size[1]))
        .add_systems(Update, follow);
    let image = Image::new_target_texture(size[0], size[1], TextureFormat::Rgba8UnormSrgb, None);
    let target = app.world_mut().resource_mut::<Assets<Image>>().add(image);
    app.world_mut().spawn((
        Camera3d::default(),
        RenderTarget::Image(target.into()),
        Projection::Perspective(PerspectiveProjection {
            fov: 0.9,
            near: 0.03,
            far: 3000.0,
            ..default()
        }),
        Hdr,
        Tone::default(),
        Tonemapping::None,
        DebandDither::Disabled,
        Msaa::Sample4,
    ));
    start(&mut app);
    let begin = Instant::now();
    let mut warm = 0;
    while warm < 40 {
        app.update();
        let desk = app.world().resource::<Desk>();
        warm += usize::from(desk.live().glance.is_some());
        assert!(
            begin.elapsed() < Duration::from_secs(120),
            "nothing is drawn"
        );
    }
    let opened = begin.elapsed();
    let mut times: Vec<f64> = Vec::with_capacity(FRAMES);
    for _ in 0..FRAMES {
        let begin = Instant::now();
        app.update();
        let device = app.world().resource::<RenderDevice>();
        device.poll(PollType::wait_indefinitely()).unwrap();
        times.push(begin.elapsed().as_secs_f64() * 1e3);
        if times.iter().sum::<f64>() > 60e3 {
            break;
        }
    }
    times.sort_by(f64::total_cmp);
    let at = |share: f64| times[(share * (times.len() - 1) as f64) as usize];
    println!(
        "{name}, {tiles} tiles, {} x {}: median {:.1} ms ({:.0} frames a second), 19 in 20 within {:.1} ms; first picture after {:.1} s",
        size[0],
        size[1],
        at(0.5),
        1e3 / at(0.5),
        at(0.95),
        opened.as_secs_f64()
    );
}

fn main() {
    let numbers: Vec<u32> = std::env::args().filter_map(|a| a.parse().ok()).collect();
    let size = match numbers[..] {
        [width, height] => [width, height],
        _ => [1920, 1080],
    };
    let found = adapter().unwrap();
    println!(
        "{}{}",
        found.name,
        if found.is_software { " (software)" } else { "" }
    );
    let hall = parse_room(include_str!("../../rooms/ferry-hall.ron"), "hall").unwrap();
    let tunnel = parse_room(include_str!("../../rooms/tunnel-walk.ron"), "tunnel").unwrap();
    let court = parse_room(include_str!("../../rooms/stair-court.ron"), "court").unwrap();
    let mut many = hall.clone();
    if let PieceSource::Inline(spec) = &mut many.piece
        && let Layout::Herringbone { material, .. } = spec.layout.clone()
    {
        spec.layout = Layout::Grid {
            columns: 50,
            rows: 40,
            stagger: 0.0,
            grain: Default::default(),
            tilt: Default::default(),
            material,
        };
    }
    time("Ferry hall", hall, size);
    time("Tunnel walk", tunnel, size);
    time("Stair court", court, size);
    time("Ferry hall with a fine grid", many, size);
}
