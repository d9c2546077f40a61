//! How the grain lies.

use lustrewalk::{
    advice::grain::{GrainPlan, GrainSettings, grain},
    room::{GrainWish, RoomFile, Turns, parse_room},
    transport::Progress,
};

use super::{built, request};

/// Two plates of brushed aluminium side by side, one spot above the eye, another behind it.
fn two_plates(grain_deg: (f32, f32)) -> RoomFile {
    let text = format!(
        r#"(
        version: 2,
        name: "Two plates",
        note: "Invented for tests.",
        site: (latitude_deg: 50, longitude_deg: 0, zone: "Europe/London"),
        finishes: {{ "dark": (reflectance: 0.3) }},
        spaces: [(name: "room", outline_m: [(0, 0), (5, 0), (5, 4), (0, 4)], ceiling: Flat(height_m: 3),
                  walls: "dark", floor: "dark", ceiling_finish: "dark")],
        fixture_types: {{ "spot": (light: Beam(beam_deg: 30, centre_cd: 250), aperture: Disc(diameter_mm: 60)) }},
        fixtures: [
            (name: "S1", kind: "spot", at_m: (2.5, 2.2, 2.8), aim: Piece()),
            // The room behind the eye, so that it is adapted as in a gallery.
            (name: "S2", kind: "spot", at_m: (2.5, 1.0, 2.9), aim: At(2.5, 0.0, 1.0)),
        ],
        walks: [(name: "before it", points_m: [(2.4, 1.6), (2.6, 1.6)], step_m: 0.1)],
        piece: Inline((name: "Two plates", width_m: 0.4, height_m: 0.2,
                       layout: Grid(columns: 2, rows: 1, grain: Alternate([{}, {}]), material: One("brushed aluminium")))),
        placement: (on: Wall(space: "room", wall: 2, along_m: 2.5), centre_m: 1.5),
        study: (days: ["2026-03-20"], from: "10:00", to: "12:00", step_min: 60, skies: ["overcast"]),
    )"#,
        grain_deg.0, grain_deg.1
    );
    parse_room(&text, "two plates").unwrap()
}

fn advised(file: RoomFile) -> GrainPlan {
    let room = built(file);
    let settings = GrainSettings::for_room(&room.file);
    grain(&room, &request(&room), &settings, &Progress::default()).unwrap()
}

/// Arrows of both plates after the advice [deg].
fn arrows(file: &RoomFile) -> (f32, f32) {
    let room = built(file.clone());
    let deg = |i: usize| {
        room.tiling.tiles[i]
            .grain_rad
            .to_degrees()
            .rem_euclid(360.0)
    };
    (deg(0), deg(1))
}

/// Mirror law of brushed metal: brushing spreads light across its lines. With lamp and eye in one upright plane a plate brushed level is
/// bright and one brushed upright is dark, so the strongest pair is crossed. Tolerance one step of 15 degrees.
#[test]
fn crossed_grains_are_found_under_one_spot() {
    let mut file = two_plates((0.0, 0.0));
    file.advice.grain.turns = Turns::Steps(15.0);
    let plan = advised(file);
    let (a, b) = arrows(&plan.file);
    // Brushed metal has no front or back end: arrows count by half turns.
    let apart = (a - b).rem_euclid(180.0);
    assert!(
        (apart - 90.0).abs() <= 15.1,
        "arrows {a} and {b} are {apart} degrees apart"
    );
    assert!(
        plan.after.strong_share > plan.before.strong_share + 0.5,
        "before {}, after {}",
        plan.before.strong_share,
        plan.after.strong_share
    );
}

/// The other way round: steady brings crossed plates to one arrow.
#[test]
fn steady_lays_a_pair_alike() {
    let mut file = two_plates((0.0, 90.0));
    file.advice.grain.wish = GrainWish::Steady;
    let plan = advised(file);
    let (a, b) = arrows(&plan.file);
    let apart = (a - b).rem_euclid(180.0);
    let apart = apart.min(180.0 - apart);
    assert!(
        apart <= 15.1,
        "arrows {a} and {b} are {apart} degrees apart"
    );
    let (before, after) = (plan.before.pairs.unwrap(), plan.after.pairs.unwrap());
    assert!(after.0 < before.0 && after.0 < 1.2, "{before:?}, {after:?}");
}

/// Only the tiles that may turn do, and only end for end where that is asked.
#[test]
fn what_may_not_turn_stays() {
    let mut file = two_plates((0.0, 0.0));
    file.advice.grain.tiles = vec![2];
    let plan = advised(file.clone());
    assert!(plan.turned.iter().all(|t| t.tile == 2), "{:?}", plan.turned);
    file.advice.grain.turns = Turns::Flips;
    for turn in advised(file).turned {
        let by = (turn.to_deg - turn.from_deg).rem_euclid(360.0);
        assert!((by - 180.0).abs() < 0.1, "{turn:?}");
    }
}

/// Unknown tiles and walks are named, with what there is.
#[test]
fn unknown_tiles_are_named() {
    let mut file = two_plates((0.0, 0.0));
    file.advice.grain.tiles = vec![7];
    let room = built(file);
    let settings = GrainSettings::for_room(&room.file);
    let error = grain(&room, &request(&room), &settings, &Progress::default())
        .err()
        .unwrap()
        .to_string();
    assert!(
        error.contains("no tile 7") && error.contains("1 to 2"),
        "{error}"
    );
}
