//! What is handed over, made by the program and looked at with other people's tools: films, the dossier, the page.
//!
//! ffmpeg and ffprobe (FFmpeg), pdftotext, pdffonts and pdfinfo (Poppler) and Chromium are used where they are found; what
//! needs one that is not there says so and is left out. Drawing needs a graphics adapter; the software one will do.
#![cfg(feature = "app")]
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
#![allow(clippy::print_stdout, reason = "what is left out is said")]

mod dossier;
mod film;
mod page;
mod reference;

use std::{
    path::{Path, PathBuf},
    process::{Command, Output},
};

fn manifest(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn small_room() -> PathBuf {
    manifest("tests/data/small_room.ron")
}

fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lustrewalk"));
    command.env("NO_COLOR", "1").env("COLUMNS", "100");
    command
}

/// Runs the program, which must succeed; stdout.
fn good(args: &[&str]) -> String {
    let output = program().args(args).output().unwrap();
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{args:?}: {stderr}");
    String::from_utf8(output.stdout).unwrap()
}

/// Runs somebody else's tool; `None`, said aloud, where it is not installed.
fn tool(name: &str, args: &[&str]) -> Option<Output> {
    match Command::new(name).args(args).output() {
        Ok(output) => Some(output),
        Err(error) => {
            println!("{name} is not here ({error}): not checked");
            None
        }
    }
}

/// Whether pictures can be drawn here.
fn can_draw() -> bool {
    let found = lustrewalk::app::adapter::adapter();
    if let Err(error) = &found {
        println!("{error}: not checked");
    }
    found.is_ok()
}
