//! The building that a room file describes lets no light in or out where it should not.

#![allow(
    clippy::unwrap_used,
    reason = "a test room that does not read is a broken checkout"
)]

use std::path::Path;

use glam::Vec3;
use lustrewalk::{
    room::{BuiltRoom, NoFiles, build, parse_room, validate},
    sky::SkyState,
    transport::{Progress, RoomLight, RoomLightSettings, Strengths},
};

fn text() -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/two_spaces.ron"))
        .unwrap()
}

fn room(text: &str) -> BuiltRoom {
    let file = parse_room(text, "two_spaces.ron").unwrap();
    validate(&file, text, "two_spaces.ron").unwrap();
    build(file, &mut NoFiles).unwrap()
}

fn light(room: &BuiltRoom) -> RoomLight {
    let settings = RoomLightSettings {
        patch_m: 0.3,
        points_per_patch: 16,
        ..RoomLightSettings::default()
    };
    RoomLight::prepare(room.scene.clone(), settings, &Progress::default()).unwrap()
}

/// Invariant: what the surfaces of a closed building absorb is what its lamp gives. Walls that do not
/// meet, a hole that does not fit its twin or a missing reveal would lose light. Tolerance 1.5 %: patches
/// of 0.3 m under a lamp 2 m away.
#[test]
fn two_spaces_joined_by_an_opening_keep_all_light() {
    let room = room(&text());
    let light = light(&room);
    assert!(
        room.scene.panes.is_empty(),
        "an opening between spaces is no window"
    );
    let dark = Strengths::dark(light.scene(), light.columns());
    let state = light.solve(dark.with_fixtures(vec![1.0])).unwrap();
    let absorbed: f32 = light
        .patches()
        .list()
        .iter()
        .zip(&state.patch_illuminance_lx)
        .map(|(patch, lx)| patch.area_m2 * lx * (1.0 - patch.reflectance))
        .sum();
    assert!(
        (absorbed / 1000.0 - 1.0).abs() < 0.015,
        "absorbed {absorbed} lm of 1000 lm"
    );
    // Light does get through the opening.
    let beyond = light.meter(&state, Vec3::new(8.5, 0.8, -2.2), Vec3::Y, 4096);
    assert!(beyond.total_lx() > 1.0, "{beyond:?}");
}

/// Invariant: no light from nothing. A closed building under a bright sky with the sun is dark inside.
#[test]
fn closed_building_is_dark_inside_under_a_bright_sky() {
    let room = room(&text());
    let light = light(&room);
    let sky = SkyState::uniform(10_000.0).with_ground_luminance(10_000.0);
    let mut strengths = Strengths::under(&sky, light.scene(), light.columns());
    strengths.fixtures = vec![0.0];
    strengths.sun_dir = Some(Vec3::new(0.4, 0.7, 0.5).normalize());
    strengths.sun_normal_illuminance_lx = 80_000.0;
    let state = light.solve(strengths).unwrap();
    for (x, y, h) in [
        (1.0, 1.0, 0.8),
        (5.5, 2.2, 1.0),
        (6.15, 2.2, 1.0),
        (7.0, 3.0, 1.2),
        (8.7, 1.3, 0.2),
        (3.0, 4.8, 3.5),
    ] {
        for normal in [
            Vec3::Y,
            Vec3::NEG_Y,
            Vec3::X,
            Vec3::NEG_X,
            Vec3::Z,
            Vec3::NEG_Z,
        ] {
            let reading = light.meter(&state, Vec3::new(x, h, -y), normal, 2048);
            // A hundred-thousandth of the 110 klx outside: edges of walls and reveals meet within a micrometre.
            assert!(
                reading.total_lx() < 1.0,
                "{reading:?} at {x}, {y}, {h} facing {normal}"
            );
        }
    }
}

/// The opening as a window to the outside lets daylight into both rooms, and a blind takes it away again,
/// also from what stands behind the window.
#[test]
fn window_blind_and_facing_building_count_together() {
    let window = |blind: &str| {
        text()
            .replace(
                "(name: \"the opening\"",
                &format!(
                    "(name: \"the window\", space: \"large\", wall: 0, offset_m: 1, width_m: 2, sill_m: 0.8, height_m: 1.2,
                      filling: Window((glazing: \"clear\"{blind}))),
                     (name: \"the opening\""
                ),
            )
            .replace("finishes:", "glazings: { \"clear\": (transmittance: 0.8, pane_count: 1) }, finishes:")
            .replace(
                "(name: \"a column\"",
                "(name: \"opposite\", outline_m: [(-9, -12), (15, -12), (15, -10), (-9, -10)], to_m: 12, finish: \"pale\", outside: true),
                 (name: \"a column\"",
            )
    };
    let at = |text: &str| {
        let room = room(text);
        let light = light(&room);
        let sky = SkyState::uniform(5000.0).with_ground_luminance(500.0);
        let mut strengths = Strengths::under(&sky, light.scene(), light.columns());
        strengths.fixtures = vec![0.0];
        let state = light.solve(strengths).unwrap();
        light
            .meter(&state, Vec3::new(2.0, 1.2, -2.5), Vec3::Z, 16_384)
            .total_lx()
    };
    let open = at(&window(""));
    let half = at(&window(", blind: (drawn: 0.5)"));
    let closed = at(&window(", blind: (drawn: 1.0)"));
    assert!(open > 100.0, "{open}");
    assert!(
        (half / open - 0.5).abs() < 0.02,
        "half drawn {half}, open {open}"
    );
    assert!(closed < 1e-3 * open, "closed {closed}, open {open}");
}
