//! The aiming schedule.

use lustrewalk::{
    advice::schedule::{ScheduleRow, schedule},
    room::{Aim, FixtureLight},
    transport::{Progress, RoomLight, RoomLightSettings},
};

use super::{built, small};

fn rows(change: impl FnOnce(&mut lustrewalk::room::RoomFile)) -> Vec<ScheduleRow> {
    let mut file = small();
    change(&mut file);
    let room = built(file);
    let light = RoomLight::prepare(
        room.scene.clone(),
        RoomLightSettings::default(),
        &Progress::default(),
    )
    .unwrap();
    schedule(&room, &light)
}

/// Source: closed form, and the worked value of the project's reference sheet (6.3): 3000 cd, 3 m, incidence 30 degrees give
/// 3000 / 9 x cos 30 = 288.68 lx. The piece is on the west wall and faces plan +x.
#[test]
fn pan_tilt_throw_and_lux_follow_from_geometry() {
    let (sin, cos) = 30.0_f32.to_radians().sin_cos();
    let rows = rows(|file| {
        let kind = file.fixture_types.get_mut("spot").unwrap();
        kind.light = FixtureLight::Beam {
            beam_deg: 20.0,
            field_deg: None,
            flux_lm: None,
            centre_cd: Some(3000.0),
        };
        // 30 degrees to the side of the normal, level, 3 m away; the piece's middle is at (0, 1.5, 1.5).
        file.fixtures[0].at_m = (3.0 * cos, 1.5 - 3.0 * sin, 1.5);
        file.fixtures[0].aim = Aim::Piece {
            right_m: 0.0,
            up_m: 0.0,
        };
    });
    let row = &rows[0];
    assert!((row.throw_m - 3.0).abs() < 2e-3, "throw {}", row.throw_m);
    assert!((row.tilt_deg - 90.0).abs() < 0.05, "tilt {}", row.tilt_deg);
    // Toward plan (-cos 30, +sin 30): clockwise from plan +y that is 300 degrees.
    assert!((row.pan_deg - 300.0).abs() < 0.05, "pan {}", row.pan_deg);
    assert!(
        (row.target_lx - 288.68).abs() < 0.3,
        "lux {}",
        row.target_lx
    );
    // 2 x 3 m x tan 10 deg.
    let beam_m = 2.0 * 3.0 * 10.0_f32.to_radians().tan();
    assert!(
        (row.beam_diameter_m.unwrap() - beam_m).abs() < 2e-2,
        "beam {}",
        row.beam_diameter_m.unwrap()
    );
}

/// Distances are from the piece's wall and the one beside its first corner, by the tape: (1.8, 1.5) in a room of 4 by 3 m is 1.8 m from the
/// west wall and 1.5 m from the north wall.
#[test]
fn places_are_told_from_two_walls() {
    let rows = rows(|_| {});
    let walls = &rows[0].from_walls_m;
    assert_eq!(walls.len(), 2, "{walls:?}");
    assert!(
        walls[0].0.contains("west") && (walls[0].1 - 1.8).abs() < 1e-3,
        "{walls:?}"
    );
    assert!(
        walls[1].0.contains("north") && (walls[1].1 - 1.5).abs() < 1e-3,
        "{walls:?}"
    );
    assert!((rows[0].height_m - 2.5).abs() < 1e-3);
}

/// A fixture that shines straight down is aimed at the floor below it.
#[test]
fn a_fixture_that_shines_down_reaches_the_floor() {
    let rows = rows(|file| file.fixtures[0].aim = Aim::Down);
    assert!((rows[0].throw_m - 2.5).abs() < 1e-2, "{}", rows[0].throw_m);
    assert!(rows[0].tilt_deg < 0.1 && rows[0].pan_deg == 0.0);
    assert_eq!(rows[0].target_on_piece_m, None);
}
