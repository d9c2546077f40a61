//! Work that is not saved is written down beside, so that a crash loses nothing but the last seconds.
//!
//! Each running program holds a lock on its own file; whatever lies there without a lock belongs to a program
//! that ended without saving.

use std::{
    fs::{self, File},
    path::{Path, PathBuf},
};

use serde::{Deserialize, Serialize};

use super::Home;
use crate::room::{RoomFile, parse_room, save_atomically, write_room};

#[derive(Serialize, Deserialize)]
struct Written {
    /// Where the room is saved, if it is.
    path: Option<PathBuf>,
    /// Folder of the files that it names.
    folder: PathBuf,
    /// When, for people.
    when: String,
    /// The room file.
    text: String,
}

/// Work of a program that ended without saving.
#[derive(Clone, Debug)]
pub struct Recovered {
    /// The room.
    pub room: RoomFile,
    /// Where it is saved, if it is.
    pub path: Option<PathBuf>,
    /// Folder of the files that it names.
    pub folder: PathBuf,
    /// When it was written down, for people.
    pub when: String,
    file: PathBuf,
}

/// This program's own place to write work down.
#[derive(Debug)]
pub struct Recovery {
    file: PathBuf,
    lock: PathBuf,
    /// Held as long as the program runs.
    _held: File,
    written: bool,
}

impl Recovery {
    /// Takes a free place.
    ///
    /// # Errors
    /// The folder cannot be written to, in words.
    pub fn start(home: &Home) -> Result<Self, String> {
        let fail = |e: std::io::Error| e.to_string();
        fs::create_dir_all(&home.recovery).map_err(fail)?;
        for n in 0..10_000_u32 {
            let name = format!("{}-{n}", std::process::id());
            let lock = home.recovery.join(format!("{name}.lock"));
            let file = home.recovery.join(format!("{name}.ron"));
            if file.exists() {
                continue;
            }
            let held = File::create(&lock).map_err(fail)?;
            if held.try_lock().is_ok() {
                return Ok(Self {
                    file,
                    lock,
                    _held: held,
                    written: false,
                });
            }
        }
        Err("no free place to write work down".into())
    }

    /// Writes work down.
    ///
    /// # Errors
    /// The disk cannot be written to, in words.
    pub fn keep(
        &mut self,
        room: &RoomFile,
        path: Option<&Path>,
        folder: &Path,
    ) -> Result<(), String> {
        let absolute = |p: &Path| std::path::absolute(p).unwrap_or_else(|_| p.to_path_buf());
        let written = Written {
            path: path.map(absolute),
            folder: absolute(folder),
            when: jiff::ZonedDateTime::now()
                .strftime("%Y-%m-%d %H:%M")
                .to_string(),
            text: write_room(room).map_err(|e| e.to_string())?,
        };
        let text = ron::to_string(&written).map_err(|e| e.to_string())?;
        save_atomically(&self.file, text.as_bytes()).map_err(|e| e.to_string())?;
        self.written = true;
        Ok(())
    }

    /// Forgets what was written down: it is saved, or was let go.
    pub fn forget(&mut self) {
        if self.written {
            // Nothing worse than a question at the next start comes of a file that stays.
            let _ = fs::remove_file(&self.file);
            self.written = false;
        }
    }

    /// Work of programs that ended without saving, the last first.
    pub fn left_behind(home: &Home) -> Vec<Recovered> {
        let Ok(entries) = fs::read_dir(&home.recovery) else {
            return Vec::new();
        };
        let mut list = Vec::new();
        for file in entries.flatten().map(|e| e.path()) {
            if file.extension().is_none_or(|e| e != "ron") {
                continue;
            }
            let lock = file.with_extension("lock");
            let alive = File::open(&lock).is_ok_and(|f| f.try_lock().is_err());
            if alive {
                continue;
            }
            let text = fs::read_to_string(&file).unwrap_or_default();
            let read = ron::from_str::<Written>(&text).ok();
            let Some((written, room)) = read.and_then(|w| {
                let room = parse_room(&w.text, "recovered work").ok()?;
                Some((w, room))
            }) else {
                continue;
            };
            list.push(Recovered {
                room,
                path: written.path,
                folder: written.folder,
                when: written.when,
                file,
            });
        }
        list.sort_by(|a, b| b.when.cmp(&a.when));
        list
    }
}

impl Recovered {
    /// Removes it from the disk.
    pub fn remove(&self) {
        // It is asked about once more if it stays.
        let _ = fs::remove_file(&self.file);
        let _ = fs::remove_file(self.file.with_extension("lock"));
    }
}

impl Drop for Recovery {
    fn drop(&mut self) {
        // What was written down stays unless it was forgotten on purpose: a fault ends here too.
        let _ = fs::remove_file(&self.lock);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hall() -> RoomFile {
        parse_room(include_str!("../../../rooms/ferry-hall.ron"), "hall").unwrap()
    }

    #[test]
    fn work_of_a_program_that_died_is_found_and_that_of_a_living_one_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let home = Home::in_folder(folder.path());
        let mut room = hall();
        room.placement.centre_m = 2.345;
        let mut living = Recovery::start(&home).unwrap();
        living
            .keep(&room, Some(Path::new("/a/hall.ron")), Path::new("/a"))
            .unwrap();
        assert!(Recovery::left_behind(&home).is_empty(), "it still runs");
        // A program that is killed runs no destructor; its lock goes with it.
        fs::copy(&living.file, home.recovery.join("dead-0.ron")).unwrap();
        File::create(home.recovery.join("dead-0.lock")).unwrap();
        let found = Recovery::left_behind(&home);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].room, room);
        assert_eq!(found[0].path.as_deref(), Some(Path::new("/a/hall.ron")));
        found[0].remove();
        assert!(Recovery::left_behind(&home).is_empty());
        living.forget();
        drop(living);
        let rest: Vec<_> = fs::read_dir(&home.recovery).unwrap().collect();
        assert!(rest.is_empty(), "{rest:?}");
    }

    #[test]
    fn a_fault_that_unwinds_leaves_the_work() {
        let folder = tempfile::tempdir().unwrap();
        let home = Home::in_folder(folder.path());
        let fault = std::panic::catch_unwind(|| {
            let mut recovery = Recovery::start(&home).unwrap();
            recovery.keep(&hall(), None, Path::new("")).unwrap();
            panic!("a fault");
        });
        assert!(fault.is_err());
        assert_eq!(Recovery::left_behind(&home).len(), 1);
    }

    #[test]
    fn what_was_saved_is_forgotten_and_two_programs_do_not_mix() {
        let folder = tempfile::tempdir().unwrap();
        let home = Home::in_folder(folder.path());
        let mut one = Recovery::start(&home).unwrap();
        let two = Recovery::start(&home).unwrap();
        assert_ne!(one.file, two.file);
        one.keep(&hall(), None, Path::new("")).unwrap();
        assert!(one.file.exists());
        one.forget();
        assert!(!one.file.exists());
    }
}
