//! A program that is killed in the middle of saving leaves one of two whole versions.
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use std::{
    fs,
    path::Path,
    process::{Command, Stdio},
    time::{Duration, Instant},
};

use lustrewalk::room::{RoomFile, parse_room, save_atomically, write_room};

/// Times that the program is killed.
const KILLS: usize = 200;
/// Names the file to the program that saves until it is killed.
const FILE: &str = "LUSTREWALK_TEST_SAVES_TO";
const THIS: &str = "killed_while_saving_the_file_is_always_one_of_two_whole_versions";

/// Two versions of a room, large enough that writing takes a while.
fn versions() -> [String; 2] {
    let hall = parse_room(include_str!("../rooms/ferry-hall.ron"), "hall").unwrap();
    ["before ", "after "].map(|word| {
        let room = RoomFile {
            note: word.repeat(120_000),
            ..hall.clone()
        };
        write_room(&room).unwrap()
    })
}

fn save_until_killed(path: &Path) -> ! {
    let versions = versions();
    for turn in 0.. {
        save_atomically(path, versions[turn % 2].as_bytes()).unwrap();
    }
    unreachable!("it is killed before")
}

#[test]
fn killed_while_saving_the_file_is_always_one_of_two_whole_versions() {
    if let Some(path) = std::env::var_os(FILE) {
        save_until_killed(Path::new(&path));
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("room.ron");
    let versions = versions();
    let (mut found, mut torn) = ([0_usize; 2], 0);
    for kill in 0..KILLS {
        fs::write(&path, &versions[0]).unwrap();
        let before = fs::metadata(&path).unwrap().modified().unwrap();
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", THIS])
            .env(FILE, &path)
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        // Once it has saved for the first time it is killed at any moment of the next ones.
        let begin = Instant::now();
        while fs::metadata(&path).unwrap().modified().unwrap() == before {
            assert!(
                begin.elapsed() < Duration::from_secs(20),
                "it does not save"
            );
            std::thread::sleep(Duration::from_micros(200));
        }
        std::thread::sleep(Duration::from_micros((kill as u64 * 7919) % 9000));
        child.kill().unwrap();
        child.wait().unwrap();
        let text = fs::read_to_string(&path).unwrap();
        let whole = versions.iter().position(|v| *v == text);
        let Some(whole) = whole else {
            panic!("kill {kill}: {} bytes that are neither version", text.len())
        };
        found[whole] += 1;
        parse_room(&text, "room").unwrap();
        // What it was writing when it died lies beside and is no room.
        for entry in fs::read_dir(folder.path()).unwrap() {
            let entry = entry.unwrap().path();
            if entry != path {
                torn += 1;
                fs::remove_file(entry).unwrap();
            }
        }
    }
    println!("{found:?} of the two versions, {torn} killed while writing");
    assert!(
        torn > KILLS / 20,
        "hardly ever killed while writing: {torn}"
    );
    assert!(found.iter().all(|n| *n > 0), "{found:?}");
}
