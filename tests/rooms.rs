//! The rooms that come with the program: sound, invented, of the right size, and with something to find in them.

#![allow(
    clippy::unwrap_used,
    reason = "in helpers of tests a panic is the failure"
)]

use std::{fs, path::Path};

use lustrewalk::{
    room::{Beside, BuiltRoom, RoomFile, build, parse_room, validate},
    study::{FlagKind, Study, StudyRequest, StudySettings, run},
    transport::{Progress, RoomLightSettings, ViewSettings},
};

/// A room of the folder `rooms`.
struct Demo {
    name: String,
    text: String,
    file: RoomFile,
    built: BuiltRoom,
}

fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("rooms")
}

/// Every room; one that does not load fails the test that asks.
fn demos() -> Vec<Demo> {
    let mut names: Vec<String> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".ron"))
        .collect();
    names.sort();
    assert!(names.len() >= 3, "{names:?}");
    names
        .into_iter()
        .map(|name| {
            let text = fs::read_to_string(folder().join(&name)).unwrap();
            let file = parse_room(&text, &name).unwrap_or_else(|e| panic!("{:?}", e.listing()));
            validate(&file, &text, &name).unwrap_or_else(|e| panic!("{:?}", e.listing()));
            let built = build(file.clone(), &mut Beside::in_folder(folder()))
                .unwrap_or_else(|e| panic!("{name}: {:?}", e.listing()));
            Demo {
                name,
                text,
                file,
                built,
            }
        })
        .collect()
}

#[test]
fn every_room_says_that_it_is_invented() {
    for demo in demos() {
        let note = demo.file.note.to_lowercase();
        assert!(note.contains("invented"), "{}: {note:?}", demo.name);
    }
}

#[test]
fn every_piece_has_100_to_600_tiles() {
    for demo in demos() {
        let count = demo.built.tiling.tiles.len();
        assert!((100..=600).contains(&count), "{}: {count} tiles", demo.name);
    }
}

#[test]
fn every_room_builds_without_a_finding() {
    for demo in demos() {
        assert!(
            demo.built.notes.is_empty(),
            "{}: {:?}",
            demo.name,
            demo.built.notes
        );
        let notes = &demo.built.tiling.notes;
        assert!(notes.is_empty(), "{}: {notes:?}", demo.name);
    }
}

/// Written again, as a program that changes rooms writes them, a file means the same.
#[test]
fn rooms_written_again_read_the_same() {
    for demo in demos() {
        let plain = ron::to_string(&demo.file).unwrap();
        let pretty = ron::ser::to_string_pretty(&demo.file, ron::ser::PrettyConfig::new()).unwrap();
        for text in [plain, pretty] {
            let again =
                parse_room(&text, &demo.name).unwrap_or_else(|e| panic!("{:?}", e.listing()));
            assert_eq!(again, demo.file, "{}", demo.name);
            validate(&again, &text, &demo.name).unwrap_or_else(|e| panic!("{:?}", e.listing()));
        }
        // The comparison itself notices a change.
        let other = demo.text.replacen("eye_m: 1.", "eye_m: 1.9", 1);
        assert_ne!(parse_room(&other, &demo.name).unwrap(), demo.file);
    }
}

/// A quick study of the room's own days and skies: few samples, an instant every two hours.
fn study(demo: &Demo) -> Study {
    let request = StudyRequest::for_room(&demo.built, &[], None, None, Some(120), &[]).unwrap();
    let settings = StudySettings {
        room: RoomLightSettings {
            patch_m: 1.0,
            hemisphere_count: 64,
            pane_count: 16,
            sky_refinement: 2,
            points_per_patch: 4,
            seed: 1,
        },
        view: ViewSettings {
            tile_count: 64,
            pane_count: 16,
            lobe_count: 8,
            most_lobe_count: 32,
            wanted_error: 0.2,
            eye_count: 128,
            fixture_count: 8,
            sight_count: 16,
            for_pictures: false,
            seed: 2,
        },
    };
    run(
        &std::sync::Arc::new(demo.built.clone()),
        &request,
        &settings,
        &Progress::default(),
    )
    .unwrap()
}

fn assert_finite(demo: &Demo, study: &Study) {
    let tile_count = demo.built.tiling.tiles.len();
    assert_eq!(study.tile_ids.len(), tile_count, "{}", demo.name);
    let mut brightest_cd_m2 = 0.0_f32;
    for day in &study.days {
        for lx in &day.wall_illuminance_lx {
            assert!(lx.is_finite() && *lx >= 0.0, "{}: wall {lx} lx", demo.name);
        }
        for (walk, plan) in day.walks.iter().zip(&study.walks) {
            let cells = day.instants.len() * plan.stations.len();
            assert_eq!(walk.readings.len(), cells, "{}: {}", demo.name, plan.name);
            for (cell, r) in walk.readings.iter().enumerate() {
                let at = format!(
                    "{}: {} {}, {}, cell {cell}",
                    demo.name, day.date, day.sky, plan.name
                );
                assert_eq!(r.tiles.luminance_cd_m2.len(), tile_count, "{at}");
                for (name, values) in [
                    ("luminance_cd_m2", &r.tiles.luminance_cd_m2),
                    ("standard_error_cd_m2", &r.tiles.standard_error_cd_m2),
                    ("visible", &r.tiles.visible),
                ] {
                    for v in values {
                        assert!(v.is_finite() && *v >= 0.0, "{at}: {name} {v}");
                    }
                }
                for (name, value) in [
                    ("mean_luminance_cd_m2", r.mean_luminance_cd_m2),
                    ("relative_error", r.relative_error),
                    ("glow", r.glow),
                    ("play", r.play),
                    ("shift_per_m", r.shift_per_m.unwrap_or(0.0)),
                    ("adaptation_cd_m2", r.adaptation_cd_m2),
                    ("veil_cd_m2", r.veil_cd_m2),
                    ("eye_illuminance_lx", r.eye_illuminance_lx),
                    ("dgp", r.dgp),
                ] {
                    assert!(value.is_finite() && value >= 0.0, "{at}: {name} {value}");
                }
                assert!(r.ugr.unwrap_or(0.0).is_finite(), "{at}: ugr {:?}", r.ugr);
                for flag in &r.flags {
                    assert!(
                        flag.severity.is_finite() && flag.severity >= 1.0,
                        "{at}: {flag:?}"
                    );
                }
                brightest_cd_m2 = brightest_cd_m2.max(r.mean_luminance_cd_m2);
            }
            for s in &walk.stretches {
                assert!(!s.sentence.is_empty(), "{}: {s:?}", demo.name);
            }
        }
    }
    assert!(
        brightest_cd_m2 > 1.0,
        "{}: all is dark, {brightest_cd_m2} cd/m2",
        demo.name
    );
}

#[test]
fn every_room_shows_a_dead_and_a_glaring_stretch_and_finite_values_everywhere() {
    for demo in demos() {
        let study = study(&demo);
        assert_finite(&demo, &study);
        for kind in [FlagKind::Dead, FlagKind::Glaring] {
            let found: Vec<&str> = study
                .days
                .iter()
                .flat_map(|d| &d.walks)
                .flat_map(|w| &w.stretches)
                .filter(|s| s.cause.kind() == kind)
                .map(|s| s.sentence.as_str())
                .collect();
            println!(
                "{}: {kind:?} {} stretches, first: {:?}",
                demo.name,
                found.len(),
                found.first()
            );
            assert!(!found.is_empty(), "{}: nothing is {kind:?}", demo.name);
        }
    }
}
