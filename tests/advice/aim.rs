//! Which fixtures.

use glam::Vec3;
use lustrewalk::{
    advice::aim::{AimSettings, LampPlan, aim},
    piece::parse_piece,
    room::{FixtureLight, LampPlace, Leave, PieceSource, RoomFile, parse_room},
    transport::Progress,
};

use super::{built, small};

fn advised(file: RoomFile) -> LampPlan {
    let room = built(file);
    let settings = AimSettings::for_room(&room.file);
    aim(&room, &settings, &Progress::default()).unwrap()
}

/// A dark room, one eye, one tile of polished metal on the north wall, and a track on which the mirror law has one point.
fn mirror_room() -> RoomFile {
    let text = r#"(
        version: 2,
        name: "Mirror law",
        note: "Invented for tests.",
        site: (latitude_deg: 50, longitude_deg: 0, zone: "Europe/London"),
        finishes: { "black": (reflectance: 0.05) },
        spaces: [(name: "room", outline_m: [(0, 0), (5, 0), (5, 3), (0, 3)], ceiling: Flat(height_m: 3),
                  walls: "black", floor: "black", ceiling_finish: "black")],
        materials: { "polished": (model: Metal(reflectance: Flat(0.9), alpha_along: 0.05, alpha_across: 0.05),
                     display_rgb: (0.9, 0.9, 0.9), dose_class: 1, source: "invented for tests") },
        fixture_types: { "spot": (light: Beam(beam_deg: 20, centre_cd: 9000), aperture: Disc(diameter_mm: 30)) },
        walks: [(name: "standing", points_m: [(3.66, 1.5), (3.74, 1.5)], eye_m: 1.2, step_m: 0.08)],
        piece: Inline((name: "One plate", width_m: 0.08, height_m: 0.08,
                       layout: Grid(columns: 1, rows: 1, grain: Constant(0), material: One("polished")))),
        placement: (on: Wall(space: "room", wall: 2, along_m: 2.5), centre_m: 1.6),
        limits: (glint_cd_m2: 1e9, glint_over_adaptation: 1e9, glint_least_cd_m2: 1e9, aperture_cd_m2: 1e9),
        advice: (lamps: (
            places: [Track(name: "track", from_m: (0.2, 0.6, 2.24), to_m: (4.8, 0.6, 2.24))],
            most: 1, most_lx: 300, glow: (0.0, 1e9),
            at: [("2026-12-21T20:00", "overcast")],
        )),
    )"#;
    parse_room(text, "mirror").unwrap()
}

/// Closed form, the mirror law: light, normal and eye lie in one plane and make equal angles. The eye at (3.7, 1.5, 1.2) and the
/// tile at (2.5, 3, 1.6) leave the track at x = 0.58. Tolerance half a degree: whole centimetres are 0.2 degrees there, and the peak
/// of a lobe of roughness 0.05 lies 0.2 degrees beside the mirror direction.
#[test]
fn one_spot_and_one_metal_tile_obey_the_mirror_law() {
    let plan = advised(mirror_room());
    assert_eq!(plan.file.fixtures.len(), 1, "{:?}", plan.changes);
    let (x, y, h) = plan.file.fixtures[0].at_m;
    // Plan coordinates do: the normal is -y.
    let tile = Vec3::new(2.5, 3.0, 1.6);
    let eye = (Vec3::new(3.7, 1.5, 1.2) - tile).normalize();
    let light = (Vec3::new(x, y, h) - tile).normalize();
    let mirrored = Vec3::new(-eye.x, eye.y, -eye.z);
    let off_deg = light.dot(mirrored).clamp(-1.0, 1.0).acos().to_degrees();
    assert!(
        off_deg < 0.5,
        "the spot at ({x}, {y}, {h}) is {off_deg} degrees beside the mirror direction"
    );
}

/// The small room in the evening with six points for one new spot.
fn six_points() -> RoomFile {
    let mut file = small();
    file.fixtures.clear();
    file.advice.lamps.most = 1;
    file.advice.lamps.at = vec![("2026-12-21T20:00".into(), "overcast".into())];
    file.advice.lamps.places = [
        (0.6, 0.5, 2.5),
        (0.6, 1.5, 2.5),
        (0.6, 2.5, 2.5),
        (1.5, 0.4, 2.5),
        (2.2, 1.5, 2.5),
        (3.5, 2.6, 2.5),
    ]
    .iter()
    .enumerate()
    .map(|(i, at_m)| LampPlace::Point {
        name: format!("point {i}"),
        at_m: *at_m,
    })
    .collect();
    file
}

/// Trying everything: the search over six points must do as well as the best of six searches over one point each.
#[test]
fn search_over_points_agrees_with_each_point_alone() {
    let together = advised(six_points());
    let alone: Vec<f32> = (0..6)
        .map(|i| {
            let mut file = six_points();
            let place = file.advice.lamps.places.swap_remove(i);
            file.advice.lamps.places = vec![place];
            advised(file).search_value
        })
        .collect();
    let best = alone.iter().copied().fold(f32::MIN, f32::max);
    assert!(
        together.search_value >= best - 0.01,
        "together {}, alone {alone:?}",
        together.search_value
    );
}

/// The advice never lights a tile above the limit, and the engine confirms it (2 %: whole percents of dimming).
#[test]
fn no_tile_exceeds_the_limit_of_light() {
    for most_lx in [40.0, 150.0] {
        let mut file = six_points();
        // A narrow beam: its middle is far above the mean of the piece.
        file.fixture_types.get_mut("spot").unwrap().light = FixtureLight::Beam {
            beam_deg: 9.0,
            field_deg: None,
            flux_lm: Some(900.0),
            centre_cd: None,
        };
        file.advice.lamps.most = 3;
        file.advice.lamps.most_lx = Some(most_lx);
        let plan = advised(file);
        assert!(!plan.file.fixtures.is_empty());
        for at in &plan.after.instants {
            assert!(
                at.most_lx <= 1.02 * most_lx + 0.5,
                "{} lx at a limit of {most_lx} lx",
                at.most_lx
            );
        }
    }
}

/// A room where everything is locked says so, and what is not met.
#[test]
fn a_locked_room_says_what_cannot_be_met() {
    let mut file = small();
    // A spot that lights the far wall, and nothing that may be done about it.
    file.fixtures[0].aim = lustrewalk::room::Aim::At(3.9, 1.5, 1.0);
    file.advice
        .lamps
        .existing
        .insert("S1".into(), Leave::Untouched);
    file.advice.lamps.at = vec![("2026-12-21T20:00".into(), "overcast".into())];
    let plan = advised(file.clone());
    assert_eq!(plan.file.fixtures, file.fixtures);
    assert!(plan.changes.is_empty() && plan.by_rule.is_none());
    let notes = plan.notes.join(" ");
    assert!(notes.contains("nothing may be changed"), "{notes}");
    let unmet = plan.unmet.join(" ");
    assert!(unmet.contains("strong for only"), "{unmet}");
}

/// A fixture that may only be dimmed keeps its place and aim.
#[test]
fn a_fixture_that_may_be_dimmed_is_only_dimmed() {
    let mut file = small();
    file.advice
        .lamps
        .existing
        .insert("S1".into(), Leave::DimOnly);
    file.advice.lamps.most_lx = Some(60.0);
    file.advice.lamps.at = vec![("2026-12-21T20:00".into(), "overcast".into())];
    let plan = advised(file.clone());
    let (before, after) = (&file.fixtures[0], &plan.file.fixtures[0]);
    assert_eq!((before.at_m, &before.aim), (after.at_m, &after.aim));
    assert!(after.dimming < before.dimming, "{}", after.dimming);
    assert!(
        plan.after.instants[0].most_lx <= 62.0,
        "{:?}",
        plan.after.instants
    );
}

/// A place over a walk where every visitor stands in the light is told.
#[test]
fn the_shadow_of_a_visitor_is_told() {
    let mut file = small();
    // Right behind the walk, low: whoever passes stands in the beam.
    file.fixtures[0].at_m = (3.8, 1.5, 1.8);
    file.advice
        .lamps
        .existing
        .insert("S1".into(), Leave::DimOnly);
    file.advice.lamps.at = vec![("2026-12-21T20:00".into(), "overcast".into())];
    let plan = advised(file);
    assert!(
        plan.unmet.iter().any(|u| u.contains("throws a shadow")),
        "{:?}",
        plan.unmet
    );
}

/// A piece file of its own still parses with the changes that advice makes: nothing of the room is lost in writing.
#[test]
fn the_room_advised_reads_back_as_it_was_written() {
    let mut file = six_points();
    let text = "(version: 1, name: \"p\", width_m: 1.2, height_m: 0.9, layout: Grid(columns: 4, rows: 3, grain: Constant(0), material: One(\"brushed aluminium\")))";
    file.piece = PieceSource::Inline(parse_piece(text, "p").unwrap());
    let plan = advised(file);
    let written = lustrewalk::room::write_room(&plan.file).unwrap();
    assert_eq!(parse_room(&written, "again").unwrap(), plan.file);
}
