//! Speed of the stages on the demo rooms, and how cost grows with tiles, stations and triangles.
//!
//! `cargo bench --profile dev` runs them as the README's profile does. Names are subject/room/setting.

#![allow(
    missing_docs,
    reason = "criterion's macro makes a public function without one"
)]

use std::{hint::black_box, path::Path, sync::Arc, time::Duration};

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use glam::Vec3;
use lustrewalk::{
    advice::{
        aim::{AimSettings, aim},
        grain::{GrainSettings, grain},
        rank::{RankSettings, rank},
    },
    geometry::{Polygon, RayMesh},
    room::{BuiltRoom, NoFiles, build, parse_room},
    study::{self, Prepared, StudyRequest, StudySettings, sky_model},
    transport::{Progress, RoomLight},
};

const ROOMS: [&str; 3] = ["tunnel-walk", "ferry-hall", "stair-court"];

fn text(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("rooms")
        .join(format!("{name}.ron"));
    std::fs::read_to_string(path).expect("a demo room")
}

fn room_of(text: &str) -> BuiltRoom {
    build(parse_room(text, "room").expect("parses"), &mut NoFiles).expect("builds")
}

fn one_day(room: &BuiltRoom) -> StudyRequest {
    StudyRequest::for_room(
        room,
        &["2026-03-20".into()],
        None,
        None,
        Some(30),
        &["clear".into()],
    )
    .expect("a request")
}

fn room_light(room: &BuiltRoom) -> Arc<RoomLight> {
    Arc::new(
        RoomLight::prepare(
            room.scene.clone(),
            StudySettings::default().room,
            &Progress::default(),
        )
        .expect("light"),
    )
}

/// Only what a moved piece needs anew.
fn view(room: &Arc<BuiltRoom>, light: &Arc<RoomLight>) -> Prepared {
    Prepared::new(
        Arc::clone(room),
        Arc::clone(light),
        StudySettings::default().view,
        &[],
        &Progress::default(),
    )
    .expect("view")
}

fn whole_study(c: &mut Criterion) {
    let mut group = c.benchmark_group("cold_study");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(20));
    for name in ROOMS {
        let room = Arc::new(room_of(&text(name)));
        let request = one_day(&room);
        group.bench_function(BenchmarkId::new(name, "one day of half-hours"), |b| {
            b.iter(|| {
                study::run(
                    &room,
                    &request,
                    &StudySettings::default(),
                    &Progress::default(),
                )
                .expect("a study")
            });
        });
    }
    group.finish();
}

fn stages(c: &mut Criterion) {
    let mut group = c.benchmark_group("stage");
    group.sample_size(10);
    for name in ROOMS {
        let room = Arc::new(room_of(&text(name)));
        group.bench_function(BenchmarkId::new(name, "room light"), |b| {
            b.iter(|| room_light(&room));
        });
        let ready = view(&room, &room_light(&room));
        group.bench_function(BenchmarkId::new(name, "move the piece (view only)"), |b| {
            b.iter(|| view(&room, ready.light()));
        });
        let instants = one_day(&room)
            .instants(
                "2026-03-20".parse().expect("a date"),
                &room,
                &mut Vec::new(),
            )
            .expect("instants");
        let model = sky_model("clear", &room);
        let mut turn = 0;
        group.bench_function(BenchmarkId::new(name, "another hour, all walks"), |b| {
            b.iter(|| {
                turn += 1;
                black_box(
                    ready
                        .read(&model, &instants[turn % instants.len()])
                        .expect("readings"),
                );
            });
        });
    }
    group.finish();
}

/// The three searches as the command line makes them.
fn advice(c: &mut Criterion) {
    let mut group = c.benchmark_group("advice");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(20));
    for name in ROOMS {
        let room = Arc::new(room_of(&text(name)));
        let request = StudyRequest::for_room(&room, &[], None, None, None, &[]).expect("a request");
        let none = Progress::default();
        group.bench_function(BenchmarkId::new(name, "rank"), |b| {
            let settings = RankSettings::for_room(&room.file);
            b.iter(|| rank(&room, &request, &settings, &none, &mut |_| {}).expect("a ranking"));
        });
        group.bench_function(BenchmarkId::new(name, "aim"), |b| {
            let settings = AimSettings::for_room(&room.file);
            b.iter(|| aim(&room, &settings, &none).expect("fixtures"));
        });
        group.bench_function(BenchmarkId::new(name, "grain"), |b| {
            let settings = GrainSettings::for_room(&room.file);
            b.iter(|| grain(&room, &request, &settings, &none).expect("arrows"));
        });
    }
    group.finish();
}

/// Tiles and stations scaled in one room: cost should grow in proportion.
fn growth(c: &mut Criterion) {
    let mut group = c.benchmark_group("growth");
    group.sample_size(10);
    let base = text("tunnel-walk");
    for columns in [10, 20, 40, 80] {
        let room = Arc::new(room_of(
            &base.replace("columns: 40", &format!("columns: {columns}")),
        ));
        let light = room_light(&room);
        group.bench_function(BenchmarkId::new("tiles", columns * 10), |b| {
            b.iter(|| view(&room, &light));
        });
    }
    for step in ["2.0", "1.0", "0.5", "0.25"] {
        let room = Arc::new(room_of(&base.replace(
            "speed_m_s: 0.8, ",
            &format!("speed_m_s: 0.8, step_m: {step}, "),
        )));
        let light = room_light(&room);
        let stations: usize = room.walks.iter().map(|w| w.stations.len()).sum();
        group.bench_function(BenchmarkId::new("stations", stations), |b| {
            b.iter(|| view(&room, &light));
        });
    }
    group.finish();
}

/// A thousand rays among more and more boxes in one hall: at most logarithmic growth.
fn rays(c: &mut Criterion) {
    let mut group = c.benchmark_group("rays");
    for per_side in [2_u32, 6, 18, 54] {
        let mut faces = Vec::new();
        for i in 0..per_side {
            for j in 0..per_side {
                let step = 20.0 / per_side as f32;
                let centre = Vec3::new(
                    (i as f32 + 0.5) * step - 10.0,
                    1.0,
                    (j as f32 + 0.5) * step - 10.0,
                );
                let half = 0.15 * step;
                let corner = |x: f32, y: f32| centre + Vec3::new(x * half, y, half);
                faces.push(
                    Polygon::from_world(
                        &[
                            corner(-1.0, -1.0),
                            corner(1.0, -1.0),
                            corner(1.0, 1.0),
                            corner(-1.0, 1.0),
                        ],
                        &[],
                    )
                    .expect("a face"),
                );
            }
        }
        let mesh = RayMesh::new(&faces);
        group.bench_function(BenchmarkId::new("triangles", mesh.triangle_count()), |b| {
            b.iter(|| {
                for k in 0..1000 {
                    let a = k as f32 * 2.399_963;
                    let dir =
                        Vec3::new(a.cos(), 0.2 * (k as f32 * 0.37).sin(), a.sin()).normalize();
                    black_box(mesh.closest(Vec3::new(0.3, 1.0, 0.2), dir, 1e-4, f32::INFINITY));
                }
            });
        });
    }
    group.finish();
}

criterion_group!(benches, advice, whole_study, stages, growth, rays);
criterion_main!(benches);
