//! The program as a person runs it: exit codes, what stands on stdout and stderr, files.

#![allow(
    clippy::unwrap_used,
    reason = "in helpers of tests a panic is the failure"
)]

use std::{
    fs,
    io::{BufRead, BufReader},
    path::{Path, PathBuf},
    process::{Command, Output, Stdio},
    time::{Duration, Instant},
};

use serde_json::Value;

/// Tiles and stations of the small room.
const TILE_COUNT: usize = 12;
const STATION_COUNT: usize = 5;

fn manifest(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn small_room() -> String {
    manifest("tests/data/small_room.ron").display().to_string()
}

fn program(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lustrewalk"));
    // Narrow enough to wrap nothing that the tests look for.
    command
        .args(args)
        .env("COLUMNS", "100")
        .env("NO_COLOR", "1");
    command
}

fn run(args: &[&str]) -> Output {
    program(args).output().unwrap()
}

/// Output of a run that must succeed, with nothing on stderr.
fn good(args: &[&str]) -> String {
    let output = run(args);
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{args:?}: {stderr}");
    assert_eq!(stderr, "", "{args:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// What a run that must end with `code` says on stderr, blanks and line breaks as single blanks; it prints
/// nothing on stdout and never panics.
fn bad(code: i32, args: &[&str]) -> String {
    let output = run(args);
    let stderr = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(code), "{args:?}: {stderr}");
    assert_eq!(String::from_utf8_lossy(&output.stdout), "", "{args:?}");
    assert!(!stderr.contains("panicked"), "{args:?}: {stderr}");
    assert!(!stderr.is_empty(), "{args:?}");
    // Frames of the report are no words.
    let words: Vec<&str> = stderr
        .split_whitespace()
        .filter(|w| !matches!(*w, "│" | "×" | "|" | "╰─▶" | "├─▶"))
        .collect();
    words.join(" ")
}

fn json(args: &[&str]) -> Value {
    let text = good(args);
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{args:?}: {e}: {text}"))
}

#[test]
fn help_and_version_end_with_0() {
    assert!(good(&["--help"]).contains("study"));
    assert!(good(&["study", "--help"]).contains("--out"));
    assert!(good(&["--version"]).starts_with("lustrewalk "));
}

/// Without a window system, or in a build without a window, `lustrewalk` alone says so in a sentence.
#[test]
fn no_window_is_told_in_a_sentence() {
    let out = Command::new(env!("CARGO_BIN_EXE_lustrewalk"))
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(1), "{said}");
    assert!(
        said.contains("window") && !said.contains("panicked"),
        "{said}"
    );
}

#[test]
fn wrong_usage_ends_with_2_and_names_the_option() {
    assert!(bad(2, &["study", "room.ron", "--colour"]).contains("--colour"));
    assert!(bad(2, &["paint"]).contains("paint"));
    bad(2, &["check"]);
    assert!(bad(2, &["study", "room.ron", "--step", "0"]).contains("1..=720"));
    assert!(bad(2, &["study", "room.ron", "--seed", "x"]).contains("--seed"));
    let eye = [
        "meter",
        "r.ron",
        "--at",
        "2026-06-21T10:00",
        "--eye",
        "1,1,1",
    ];
    assert!(bad(2, &eye).contains("--tile"));
}

#[test]
fn files_that_cannot_be_read_end_with_1_and_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("no such room.ron");
    let missing = missing.to_str().unwrap();
    for args in [
        vec!["check", missing],
        vec!["study", missing],
        vec![
            "meter",
            missing,
            "--at",
            "2026-06-21T10:00",
            "--point",
            "1,1,1,0,0,1",
        ],
    ] {
        assert!(bad(1, &args).contains("no such room.ron"), "{args:?}");
    }
    assert!(bad(1, &["study", folder.path().to_str().unwrap()]).contains("folder"));
    let binary = folder.path().join("binary.ron");
    fs::write(&binary, [b'(', 0xff, 0xfe]).unwrap();
    assert!(bad(1, &["study", binary.to_str().unwrap()]).contains("UTF-8"));
    let strange = folder.path().join("letter.txt");
    fs::write(&strange, "Dear visitor").unwrap();
    assert!(bad(1, &["check", strange.to_str().unwrap()]).contains("not recognised"));
}

/// All problems of a room come at once, each with line, column and help.
#[test]
fn faulty_room_ends_with_1_and_shows_every_fault_with_its_place() {
    let path = manifest("tests/bad_rooms/many_faults_of_value.ron");
    let said = bad(1, &["check", path.to_str().unwrap()]);
    for part in [
        "many_faults_of_value.ron",
        "latitude_deg is 152.5",
        "no finish is named \"gray\"",
        "did you mean \"grey\"?",
        "no fixture kind is named \"spit\"",
        ":13:",
    ] {
        assert!(said.contains(part), "{part:?} is not in {said}");
    }
}

#[test]
fn check_tells_what_is_in_a_room() {
    let found = json(&["check", "--json", &small_room()]);
    assert_eq!(found["room"], "Small room");
    assert_eq!(found["piece"]["tiles"], TILE_COUNT);
    assert_eq!(found["spaces"][0], "room");
    assert_eq!(found["windows_and_rooflights"][0], "the window, 2.08 m2");
    assert_eq!(
        found["walks"][0],
        "past the piece: 5 stations, eye at 1.55 m"
    );
    let text = good(&["check", &small_room()]);
    assert!(
        text.contains("is sound") && text.contains("S1: 700 lm"),
        "{text}"
    );
}

/// A made-up year: the sun shines at 100 W/m2 at noon.
fn weather_year() -> String {
    let mut text = String::from(
        "LOCATION,Made up,-,XXX,none,0,50.0,10.0,1.0,100.0\nDATA PERIODS,1,1,Data,Sunday,1/1,12/31\n",
    );
    for (month, days) in [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
        .iter()
        .enumerate()
    {
        for day in 1..=*days {
            for hour in 1..=24 {
                let (direct, diffuse) = if hour == 12 { (100, 50) } else { (0, 0) };
                let global = direct / 2 + diffuse;
                text.push_str(&format!(
                    "2001,{},{day},{hour},0,flags,10,4.5,60,101325,0,0,0,{global},{direct},{diffuse},0,0\n",
                    month + 1
                ));
            }
        }
    }
    text
}

#[test]
fn check_knows_every_kind_of_file() {
    let folder = tempfile::tempdir().unwrap();
    let weather = folder.path().join("year.epw");
    fs::write(&weather, weather_year()).unwrap();
    for (path, key, value) in [
        (
            manifest("tests/data/small_room.ron"),
            "room",
            "Small room".into(),
        ),
        (
            manifest("tests/data/pieces/herringbone_veneer.ron"),
            "piece",
            Value::Null,
        ),
        (
            manifest("tests/data/photometry/valid/full19.ies"),
            "peak_cd",
            Value::Null,
        ),
        (
            manifest("tests/data/photometry/valid/quad.ldt"),
            "peak_cd",
            Value::Null,
        ),
        (manifest("tests/data/outlines.svg"), "outlines", 3.into()),
        (weather, "hours", 8760.into()),
    ] {
        let path = path.to_str().unwrap();
        let found = json(&["check", "--json", path]);
        assert!(!found[key].is_null(), "{path}: {found}");
        if !value.is_null() {
            assert_eq!(found[key], value, "{path}");
        }
        let text = good(&["check", path]);
        assert!(text.starts_with(&format!("{path} is sound\n")), "{text}");
    }
}

#[test]
fn check_refuses_broken_files_of_every_kind_with_1() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| {
        let path = folder.path().join(name);
        fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    for (path, part) in [
        (
            write(
                "piece.ron",
                "(version: 1, width_m: 1, layout: Grid(columns: 0))",
            ),
            "piece.ron",
        ),
        (write("room.ron", "(version: 2, spaces: [)"), "room.ron"),
        (write("year.epw", "LOCATION,Made up\n"), "year.epw"),
        (write("drawing.svg", "<svg"), "drawing.svg"),
        (write("empty.ron", ""), "empty.ron"),
        (
            manifest("tests/data/photometry/malformed/truncated_candela.ies")
                .display()
                .to_string(),
            "truncated_candela.ies",
        ),
    ] {
        let said = bad(1, &["check", &path]);
        assert!(said.contains(part), "{path}: {said}");
    }
}

const NOON: &str = "2026-06-21T12:00";

#[test]
fn meter_tells_every_quantity_with_its_unit() {
    let room = small_room();
    let args = [
        "meter",
        &room,
        "--at",
        NOON,
        "--point",
        "2,1.5,1.2,0,-1,0",
        "--point",
        "2,1.5,1.2,0,1,0",
        "--eye",
        "2.8,1.6,1.55",
        "--tile",
        "6",
        "--rays",
        "2048",
        "--json",
    ];
    let found = json(&args);
    assert_eq!(found["sky"], "clear");
    assert!(
        found["at"]
            .as_str()
            .unwrap()
            .starts_with("2026-06-21T12:00:00+02:00")
    );
    let points = found["points"].as_array().unwrap();
    assert_eq!(points.len(), 2);
    for p in points {
        let keys: Vec<&str> = p.as_object().unwrap().keys().map(String::as_str).collect();
        assert_eq!(
            keys,
            [
                "point_m",
                "facing",
                "illuminance_lx",
                "sun_lx",
                "sky_lx",
                "fixtures_lx",
                "inter_reflected_lx",
                "standard_error_lx"
            ]
        );
        let lx = |key: &str| p[key].as_f64().unwrap();
        let parts = lx("sun_lx") + lx("sky_lx") + lx("fixtures_lx") + lx("inter_reflected_lx");
        let total = lx("illuminance_lx");
        assert!(
            (parts - total).abs() < 1e-3 * total,
            "parts {parts} lx, total {total} lx"
        );
    }
    // The first meter looks at the window, the second away from it.
    let sky_lx = |i: usize| points[i]["sky_lx"].as_f64().unwrap();
    assert!(sky_lx(0) > 100.0, "{} lx", sky_lx(0));
    assert_eq!(sky_lx(1), 0.0);
    let tile = &found["tile"];
    assert_eq!(tile["tile"], 6);
    let luminance = tile["luminance_cd_m2"].as_f64().unwrap();
    let parts: f64 = tile["parts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["luminance_cd_m2"].as_f64().unwrap())
        .sum();
    assert!(luminance > 1.0, "{luminance} cd/m2");
    assert!(
        (parts - luminance).abs() < 0.01 * luminance,
        "parts {parts}, whole {luminance} cd/m2"
    );
    assert!(tile["standard_error_cd_m2"].as_f64().unwrap() < 0.05 * luminance);
}

#[test]
fn meter_reads_its_points_from_a_table() {
    let folder = tempfile::tempdir().unwrap();
    let table = folder.path().join("points.csv");
    fs::write(
        &table,
        "x_m,y_m,h_m,nx,ny,nh\n1, 1, 0.8, 0, 0, 1\n2,1,0.8,0,0,1\n",
    )
    .unwrap();
    let (room, table) = (small_room(), table.to_str().unwrap());
    let args = [
        "meter", &room, "--at", NOON, "--points", table, "--rays", "256", "--json",
    ];
    let found = json(&args);
    assert_eq!(found["points"].as_array().unwrap().len(), 2);
    assert_eq!(found["tile"], Value::Null);
    fs::write(
        table,
        "x_m,y_m,h_m,nx,ny,nh\n1,1,0.8,0,0,1\n1,1,zero,0,0,1\n",
    )
    .unwrap();
    assert!(bad(1, &args[..]).contains("line 3"));
}

#[test]
fn meter_refuses_what_cannot_be_measured() {
    let room = small_room();
    let meter = |rest: &[&str]| {
        let mut args = vec!["meter", room.as_str(), "--at", NOON];
        args.extend(rest);
        bad(1, &args)
    };
    assert!(meter(&[]).contains("--point"));
    assert!(meter(&["--point", "1,2,3"]).contains("6 numbers"));
    assert!(meter(&["--point", "1,1,NaN,0,0,1"]).contains("6 numbers"));
    assert!(meter(&["--point", "1,1,1,0,0,0"]).contains("facing"));
    assert!(meter(&["--point", "1,1,1,0,0,1", "--sky", "blue"]).contains("overcast"));
    assert!(meter(&["--eye", "2,1,1.5", "--tile", "99"]).contains("1 to 12"));
}

/// In Europe/Stockholm the clock jumps from 02:00 to 03:00 on 29 March 2026 and back on 25 October
/// (tzdata, rules EU).
#[test]
fn times_that_do_not_exist_or_exist_twice_are_refused_with_what_to_write() {
    let room = small_room();
    let at = |at: &str| bad(1, &["meter", &room, "--at", at, "--point", "1,1,1,0,0,1"]);
    let skipped = at("2026-03-29T02:30");
    assert!(
        skipped.contains("does not exist in Europe/Stockholm"),
        "{skipped}"
    );
    assert!(skipped.contains("2026-03-29T03:00+02:00"), "{skipped}");
    let twice = at("2026-10-25T02:30");
    assert!(twice.contains("happens twice"), "{twice}");
    for choice in ["2026-10-25T02:30+02:00", "2026-10-25T02:30+01:00"] {
        assert!(twice.contains(choice), "{choice}: {twice}");
    }
    assert!(at("2026-02-30T12:00").contains("2026-02-30"));
    assert!(at("noon").contains("2026-06-21T10:00"));
    let args = [
        "meter",
        &room,
        "--at",
        "2026-10-25T02:30+01:00",
        "--point",
        "1,1,1,0,0,1",
        "--rays",
        "64",
        "--json",
    ];
    assert!(json(&args)["at"].as_str().unwrap().contains("+01:00"));
}

#[test]
fn study_of_a_day_with_a_jump_of_the_clock_says_what_it_left_out() {
    let args = [
        "study",
        &small_room(),
        "--day",
        "2026-03-29",
        "--from",
        "01:30",
        "--to",
        "03:30",
        "--step",
        "60",
        "--json",
    ];
    let found = json(&args);
    assert_eq!(found["days"][0]["instants"].as_array().unwrap().len(), 2);
    let notes = found["notes"].to_string();
    assert!(notes.contains("2026-03-29 02:30 does not exist"), "{notes}");
}

#[test]
fn study_as_json_has_a_luminance_for_every_tile_station_and_instant() {
    let found = json(&["study", &small_room(), "--json"]);
    assert_eq!(found["room"], "Small room");
    assert_eq!(found["tile_ids"].as_array().unwrap().len(), TILE_COUNT);
    assert_eq!(
        found["walks"][0]["distance_m"].as_array().unwrap().len(),
        STATION_COUNT
    );
    let days = found["days"].as_array().unwrap();
    assert_eq!(days.len(), 1);
    let instants = days[0]["instants"].as_array().unwrap();
    assert_eq!(instants.len(), 3);
    for key in [
        "clock",
        "sun_azimuth_deg",
        "sun_elevation_deg",
        "wall_illuminance_lx",
    ] {
        assert!(!instants[0][key].is_null(), "{key}");
    }
    let readings = days[0]["walks"][0]["readings"].as_array().unwrap();
    assert_eq!(readings.len(), 3 * STATION_COUNT);
    for r in readings {
        let tiles = r["tile_luminance_cd_m2"].as_array().unwrap();
        assert_eq!(tiles.len(), TILE_COUNT);
        // Nothing stands in front of this piece.
        assert!(
            tiles.iter().all(|v| v.as_f64().is_some_and(|v| v > 0.0)),
            "{tiles:?}"
        );
        for key in [
            "glow",
            "play",
            "dgp",
            "eye_illuminance_lx",
            "adaptation_cd_m2",
        ] {
            assert!(r[key].as_f64().is_some(), "{key}: {r}");
        }
    }
}

#[test]
fn study_refuses_days_hours_and_skies_that_are_none() {
    let room = small_room();
    let study = |rest: &[&str]| {
        let mut args = vec!["study", room.as_str()];
        args.extend(rest);
        bad(1, &args)
    };
    assert!(study(&["--day", "2026-02-30"]).contains("2026-02-30"));
    assert!(study(&["--from", "25:00"]).contains("25:00"));
    assert!(study(&["--from", "18:00", "--to", "09:00"]).contains("18:00 to 09:00"));
    assert!(study(&["--sky", "blue"]).contains("overcast"));
    assert!(study(&["--from", "24:00", "--to", "24:00"]).contains("24:00"));
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

#[test]
fn study_writes_plan_charts_and_tables() {
    let folder = tempfile::tempdir().unwrap();
    // Made where it is missing; blanks and letters of other languages are no trouble.
    let out = folder.path().join("Entwürfe für Åsa/study 1");
    let room = folder.path().join("das Zimmer.ron");
    fs::copy(small_room(), &room).unwrap();
    let text = good(&[
        "study",
        room.to_str().unwrap(),
        "--out",
        out.to_str().unwrap(),
    ]);
    assert!(text.contains("study 1"), "{text}");
    let walk = "past-the-piece-2026-06-21-clear";
    let mut expected: Vec<String> = [
        "plan".to_owned(),
        "piece".to_owned(),
        format!("glow-{walk}"),
        format!("play-{walk}"),
    ]
    .iter()
    .flat_map(|name| [format!("{name}.png"), format!("{name}.svg")])
    .collect();
    expected.extend([
        "cautions.txt".into(),
        "study.json".into(),
        "summary.txt".into(),
    ]);
    expected.sort();
    let tables = [
        "flags-2026-06-21-clear.csv".to_owned(),
        format!("stations-{walk}.csv"),
        format!("tiles-{walk}.csv"),
    ];
    assert_eq!(names(&out.join("tables")), tables);
    let mut all = expected.clone();
    all.push("tables".into());
    all.sort();
    assert_eq!(names(&out), all);
    expected.extend(tables.map(|name| format!("tables/{name}")));
    for name in &expected {
        let bytes = fs::read(out.join(name)).unwrap();
        if name.ends_with(".png") {
            // Signature and first chunk: PNG specification, sections 5.2 and 11.2.2.
            assert_eq!(&bytes[..16], b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR", "{name}");
            let size = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
            assert!(
                size(16) >= 300 && size(20) >= 200,
                "{name}: {} by {}",
                size(16),
                size(20)
            );
            assert!(bytes.ends_with(b"IEND\xae\x42\x60\x82"), "{name}");
        } else {
            let text = String::from_utf8(bytes).unwrap();
            if name.ends_with(".svg") {
                assert!(
                    text.contains("<svg") && text.trim_end().ends_with("</svg>"),
                    "{name}"
                );
            }
            assert!(!text.is_empty() && !text.contains("NaN"), "{name}");
        }
    }
    let lines = |name: &str| fs::read_to_string(out.join(name)).unwrap().lines().count();
    assert_eq!(
        lines(&format!("tables/stations-{walk}.csv")),
        1 + 3 * STATION_COUNT
    );
    let json: Value = serde_json::from_slice(&fs::read(out.join("study.json")).unwrap()).unwrap();
    assert_eq!(json["room"], "Small room");

    // Again in the same place: the same files, and without tiles where not wanted.
    let other = folder.path().join("without");
    good(&[
        "study",
        room.to_str().unwrap(),
        "--out",
        other.to_str().unwrap(),
        "--without-tiles",
    ]);
    assert!(
        names(&other.join("tables"))
            .iter()
            .all(|n| !n.starts_with("tiles-"))
    );
    good(&[
        "study",
        room.to_str().unwrap(),
        "--out",
        out.to_str().unwrap(),
    ]);
    assert_eq!(names(&out), all);
}

/// Names of walks that look alike as file names keep their own files.
#[test]
fn walks_with_names_alike_keep_their_own_tables() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(small_room()).unwrap();
    let walk = "(name: \"past the piece\", points_m: [(2.8, 0.6), (2.8, 2.6)])";
    let other = walk
        .replace("past the", "Past: the")
        .replace("2.6)]", "1.6)]");
    let room = folder.path().join("room.ron");
    fs::write(&room, text.replace(walk, &format!("{walk}, {other}"))).unwrap();
    let out = folder.path().join("out");
    good(&[
        "study",
        room.to_str().unwrap(),
        "--out",
        out.to_str().unwrap(),
    ]);
    let mut lines: Vec<usize> = names(&out.join("tables"))
        .iter()
        .filter(|n| n.starts_with("stations-"))
        .map(|n| {
            fs::read_to_string(out.join("tables").join(n))
                .unwrap()
                .lines()
                .count()
        })
        .collect();
    lines.sort_unstable();
    assert_eq!(lines, [1 + 3 * 3, 1 + 3 * STATION_COUNT]);
}

/// A folder that cannot be written is found out before the work: a large room would take far longer.
#[test]
fn unwritable_folder_ends_with_1_before_the_work_and_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a file");
    fs::write(&file, "untouched").unwrap();
    let out = file.join("out");
    let room = manifest("rooms/ferry-hall.ron");
    let start = Instant::now();
    let said = bad(
        1,
        &[
            "study",
            room.to_str().unwrap(),
            "--out",
            out.to_str().unwrap(),
        ],
    );
    let took = start.elapsed();
    assert!(said.contains("cannot write to"), "{said}");
    assert!(took < Duration::from_secs(5), "{took:?}");
    assert_eq!(names(folder.path()), ["a file"]);
    assert_eq!(fs::read_to_string(&file).unwrap(), "untouched");
}

#[test]
fn a_reader_that_stops_reading_is_no_error() {
    let mut child = program(&["study", &small_room(), "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    assert_eq!(output.status.code(), Some(0));

    // And one that stops after the first line.
    let mut child = program(&["check", "--json", &small_room()])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap())
        .read_line(&mut line)
        .unwrap();
    assert_eq!(line, "{\n");
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    assert_eq!(output.status.code(), Some(0));
}

#[test]
fn same_seed_gives_the_same_bytes_on_any_number_of_threads() {
    let study = |threads: &str, seed: &str| {
        let output = program(&["study", &small_room(), "--json", "--seed", seed])
            .env("RAYON_NUM_THREADS", threads)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0));
        output.stdout
    };
    let one = study("1", "7");
    assert!(one == study("2", "7"), "one and two threads differ");
    assert!(one == study("5", "7"), "one and five threads differ");
    assert!(one != study("2", "8"), "two seeds give the same");
}

/// A copy of the small room where a new spot may go to two points, for evening.
fn room_with_places(folder: &Path) -> String {
    let text = fs::read_to_string(small_room()).unwrap();
    let end = text.trim_end().strip_suffix(')').unwrap();
    let advice = r#"    advice: (lamps: (
        places: [Point(name: "a", at_m: (0.6, 0.5, 2.5)), Point(name: "b", at_m: (1.5, 0.4, 2.5))],
        most: 1, at: [("2026-12-21T20:00", "overcast")],
    )),
)
"#;
    let path = folder.join("places.ron");
    fs::write(&path, format!("{end}{advice}")).unwrap();
    path.display().to_string()
}

#[test]
fn rank_orders_places_and_writes_its_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let hung = folder.path().join("hung.ron");
    let (out_text, hung_text) = (out.to_str().unwrap(), hung.to_str().unwrap());
    let args = [
        "rank",
        &small_room(),
        "--most",
        "16",
        "--best",
        "3",
        "--out",
        out_text,
        "--write",
        hung_text,
        "--json",
    ];
    let value = json(&args);
    let places = value["places"].as_array().unwrap();
    assert!(places.len() > 8, "{}", places.len());
    assert_eq!(places[0]["rank"], 1);
    assert_eq!(places.iter().filter(|p| p["pass"] == "full").count(), 3);
    for key in [
        "parts",
        "standard_error",
        "weighted",
        "for",
        "against",
        "placement",
    ] {
        assert!(!places[0][key].is_null(), "{key} is missing");
    }
    let texts = value["cautions"].to_string();
    assert!(texts.contains("structural engineer"), "{texts}");
    for name in [
        "ranking.png",
        "ranking.svg",
        "ranking.csv",
        "places.png",
        "cautions.txt",
    ] {
        assert!(fs::metadata(out.join(name)).unwrap().len() > 200, "{name}");
    }
    // What is written is a room that hangs at the first place.
    let checked = json(&["check", hung_text, "--json"]);
    assert!(checked.is_object());
    let written = fs::read_to_string(&hung).unwrap();
    assert!(
        written.contains("candidates"),
        "where it hung is kept: {written}"
    );
    let text = good(&["rank", &small_room(), "--most", "6", "--best", "2"]);
    assert!(text.contains("for:") && text.contains("against:"), "{text}");
}

#[test]
fn weights_are_read_or_refused_kindly() {
    let room = small_room();
    let wrong = bad(1, &["rank", &room, "--weight", "beauty=3"]);
    assert!(
        wrong.contains("beauty=3") && wrong.contains("glaring"),
        "{wrong}"
    );
    let value = json(&[
        "rank",
        &room,
        "--most",
        "4",
        "--best",
        "2",
        "--weight",
        "glaring=3",
        "--json",
    ]);
    assert_eq!(value["weights"]["glaring"], 3.0);
}

#[test]
fn aim_advises_and_writes_the_schedule() {
    let folder = tempfile::tempdir().unwrap();
    let room = room_with_places(folder.path());
    let out = folder.path().join("out");
    let value = json(&["aim", &room, "--out", out.to_str().unwrap(), "--json"]);
    assert!(!value["changes"].as_array().unwrap().is_empty());
    for key in [
        "after",
        "before",
        "by_30_degree_rule",
        "unmet",
        "most_lx_source",
        "schedule",
    ] {
        assert!(!value[key].is_null(), "{key} is missing");
    }
    let table = fs::read_to_string(out.join("aiming.csv")).unwrap();
    assert!(
        table.starts_with("order,fixture,kind,x_m,y_m,height_m"),
        "{table}"
    );
    assert_eq!(
        table.lines().count(),
        1 + value["fixtures"].as_array().unwrap().len()
    );
    assert!(fs::metadata(out.join("aiming.png")).unwrap().len() > 1000);
    // The schedule alone, in feet: 2.5 m are 8.202 ft.
    let feet = good(&["aim", &small_room(), "--as-is", "--feet"]);
    assert!(
        feet.contains("height_ft") && feet.contains("8.202"),
        "{feet}"
    );
    let wrong = bad(1, &["aim", &room, "--at", "tomorrow=clear"]);
    assert!(
        wrong.contains("tomorrow=clear") && wrong.contains("2026-12-21T18:00"),
        "{wrong}"
    );
}

#[test]
fn grain_advises_and_writes_the_cutting_list() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let value = json(&[
        "grain",
        &small_room(),
        "--step",
        "45",
        "--out",
        out.to_str().unwrap(),
        "--json",
    ]);
    assert!(value["before"]["parts"].is_object() && value["after"]["parts"].is_object());
    let table = fs::read_to_string(out.join("cutting.csv")).unwrap();
    assert_eq!(table.lines().count(), 1 + TILE_COUNT);
    for line in table.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (front, back): (f64, f64) = (cells[5].parse().unwrap(), cells[6].parse().unwrap());
        // Left and right change places from the back.
        let sum = (front + back).rem_euclid(360.0);
        assert!((sum - 180.0).abs() < 0.11, "{line}");
    }
    for name in ["cutting-front.png", "cutting-back.png"] {
        assert!(fs::metadata(out.join(name)).unwrap().len() > 1000, "{name}");
    }
    let wrong = bad(1, &["grain", &small_room(), "--walk", "round the back"]);
    assert!(wrong.contains("round the back"), "{wrong}");
}
