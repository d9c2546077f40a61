//! The open room: what is edited, where it is saved, and every step back.

use std::{path::PathBuf, sync::Arc};

use bevy::ecs::resource::Resource;

use crate::room::RoomFile;

/// Steps that can be taken back.
const MOST_STEPS: usize = 500;

/// What joins changes into one step: the same field of the same thing within one gesture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EditKey {
    /// The field, as the window numbers its parts.
    pub field: u64,
    /// The gesture: counts presses of the pointer and entries typed.
    pub gesture: u64,
}

#[derive(Clone)]
struct Step {
    room: Arc<RoomFile>,
    what: String,
}

/// The open room.
#[derive(Resource)]
pub struct OpenRoom {
    file: Arc<RoomFile>,
    path: Option<PathBuf>,
    /// The demo or template that it came from; its files lie there until it is saved.
    folder: PathBuf,
    revision: u64,
    saved: Option<Arc<RoomFile>>,
    /// Taken up after a crash without a file on disk.
    never_saved: bool,
    undo: Vec<Step>,
    redo: Vec<Step>,
    joining: Option<EditKey>,
}

impl OpenRoom {
    /// A room read from `path`, or a new one without a path whose files lie in `folder`.
    pub fn new(file: RoomFile, path: Option<PathBuf>, folder: PathBuf) -> Self {
        let file = Arc::new(file);
        Self {
            saved: path.is_some().then(|| Arc::clone(&file)),
            file,
            path,
            folder,
            revision: 1,
            never_saved: false,
            undo: Vec::new(),
            redo: Vec::new(),
            joining: None,
        }
    }

    /// A room with changes that were never saved; `saved` is what is on disk, where it is.
    pub fn recovered(
        file: RoomFile,
        saved: Option<RoomFile>,
        path: Option<PathBuf>,
        folder: PathBuf,
    ) -> Self {
        let Some(before) = saved else {
            let mut open = Self::new(file, path, folder);
            open.saved = None;
            open.never_saved = true;
            return open;
        };
        let mut open = Self::new(before, path, folder);
        open.change(file, "changes before the program ended", None);
        open
    }

    /// The room as it is now.
    pub fn file(&self) -> &Arc<RoomFile> {
        &self.file
    }

    /// Where it is saved, if it is.
    pub fn path(&self) -> Option<&PathBuf> {
        self.path.as_ref()
    }

    /// Folder that the files it names lie in.
    pub fn folder(&self) -> &PathBuf {
        &self.folder
    }

    /// Counts every change.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Whether it differs from what is on disk, or was never saved and changed. Not named `is_changed`: on a
    /// borrowed resource that is the graphics library's own question, whether it was touched this frame.
    pub fn is_unsaved(&self) -> bool {
        match &self.saved {
            Some(saved) => !Arc::ptr_eq(saved, &self.file) && **saved != *self.file,
            None => self.never_saved || !self.undo.is_empty(),
        }
    }

    /// Notes that the file on disk is no longer this room: all of it counts as unsaved.
    pub fn disown(&mut self) {
        self.saved = None;
        self.never_saved = true;
    }

    /// Whether a room read from disk is the one that was read or written here last, or the one that is open.
    pub fn is_on_disk(&self, read: &RoomFile) -> bool {
        *read == *self.file || self.saved.as_ref().is_some_and(|s| **s == *read)
    }

    /// Name for the title and for questions.
    pub fn title(&self) -> String {
        match &self.path {
            Some(path) => path
                .file_name()
                .map_or_else(String::new, |n| n.to_string_lossy().into_owned()),
            None => format!("{} (not saved yet)", self.file.name),
        }
    }

    /// Takes a changed room. Changes with the key of the last one join it; `None` never joins.
    pub fn change(&mut self, room: RoomFile, what: impl Into<String>, key: Option<EditKey>) {
        if room == *self.file {
            return;
        }
        let joins = key.is_some() && key == self.joining && !self.undo.is_empty();
        if !joins {
            self.undo.push(Step {
                room: Arc::clone(&self.file),
                what: what.into(),
            });
            if self.undo.len() > MOST_STEPS {
                self.undo.remove(0);
            }
        }
        self.joining = key;
        self.redo.clear();
        self.set(Arc::new(room));
    }

    /// Takes the last step back; what it was.
    pub fn undo(&mut self) -> Option<String> {
        let step = self.undo.pop()?;
        self.redo.push(Step {
            room: Arc::clone(&self.file),
            what: step.what.clone(),
        });
        self.joining = None;
        self.set(step.room);
        Some(step.what)
    }

    /// Takes a step forward again; what it was.
    pub fn redo(&mut self) -> Option<String> {
        let step = self.redo.pop()?;
        self.undo.push(Step {
            room: Arc::clone(&self.file),
            what: step.what.clone(),
        });
        self.joining = None;
        self.set(step.room);
        Some(step.what)
    }

    /// What undo and redo would do, in words.
    pub fn next_steps(&self) -> (Option<&str>, Option<&str>) {
        (
            self.undo.last().map(|s| s.what.as_str()),
            self.redo.last().map(|s| s.what.as_str()),
        )
    }

    /// Notes that the room was written to a path.
    pub fn saved_as(&mut self, path: PathBuf, written: Arc<RoomFile>) {
        self.folder = path.parent().map(PathBuf::from).unwrap_or_default();
        self.path = Some(path);
        self.saved = Some(written);
        self.never_saved = false;
        self.joining = None;
    }

    /// Keeps the revision rising when another room takes this one's place.
    pub fn follow(&mut self, before: &Self) {
        self.revision = before.revision + 1;
    }

    fn set(&mut self, room: Arc<RoomFile>) {
        self.file = room;
        self.revision += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::room::{parse_room, write_room};

    fn room() -> RoomFile {
        parse_room(include_str!("../../rooms/ferry-hall.ron"), "hall").unwrap()
    }

    fn key(field: u64, gesture: u64) -> Option<EditKey> {
        Some(EditKey { field, gesture })
    }

    fn with_height(room: &RoomFile, centre_m: f32) -> RoomFile {
        let mut room = room.clone();
        room.placement.centre_m = centre_m;
        room
    }

    #[test]
    fn a_drag_is_one_step_and_two_fields_in_one_moment_are_two() {
        let mut open = OpenRoom::new(room(), None, PathBuf::new());
        let start = open.file().clone();
        for i in 1..50 {
            let next = with_height(open.file(), 2.0 + i as f32 * 0.01);
            open.change(next, "height", key(1, 7));
        }
        let mut next = open.file().as_ref().clone();
        next.placement.turn_deg = 5.0;
        open.change(next, "turn", key(2, 7));
        assert_eq!(open.undo().as_deref(), Some("turn"));
        assert_eq!(open.undo().as_deref(), Some("height"));
        assert_eq!(open.undo(), None);
        assert_eq!(*open.file(), start);
        assert!(!open.is_unsaved());
    }

    #[test]
    fn the_same_field_in_a_later_gesture_is_another_step() {
        let mut open = OpenRoom::new(room(), None, PathBuf::new());
        open.change(with_height(&room(), 2.1), "height", key(1, 1));
        open.change(with_height(&room(), 2.2), "height", key(1, 2));
        open.undo();
        assert_eq!(open.file().placement.centre_m, 2.1);
    }

    #[test]
    fn deleted_things_come_back_to_the_byte() {
        let mut open = OpenRoom::new(room(), None, PathBuf::new());
        let before = write_room(open.file()).unwrap();
        for _ in 0..3 {
            let mut next = open.file().as_ref().clone();
            next.fixtures.remove(1);
            open.change(next, "delete a fixture", None);
        }
        let after = write_room(open.file()).unwrap();
        for _ in 0..3 {
            open.undo();
        }
        assert_eq!(write_room(open.file()).unwrap(), before);
        for _ in 0..3 {
            open.redo();
        }
        assert_eq!(write_room(open.file()).unwrap(), after);
    }

    #[test]
    fn undoing_back_to_what_is_saved_is_no_change() {
        let mut open = OpenRoom::new(room(), Some("hall.ron".into()), PathBuf::new());
        open.change(with_height(&room(), 2.5), "height", None);
        assert!(open.is_unsaved());
        open.undo();
        assert!(!open.is_unsaved());
        open.change(with_height(&room(), 2.5), "height", None);
        let written = open.file().clone();
        open.saved_as("other.ron".into(), written);
        assert!(!open.is_unsaved());
        open.undo();
        assert!(open.is_unsaved(), "what is on disk has the new height");
    }

    #[test]
    fn recovered_work_is_unsaved_whether_its_file_is_there_or_not() {
        let changed = with_height(&room(), 2.7);
        let path = || Some(PathBuf::from("hall.ron"));
        let mut open = OpenRoom::recovered(changed.clone(), Some(room()), path(), PathBuf::new());
        assert!(open.is_unsaved());
        assert_eq!(**open.file(), changed);
        open.undo();
        assert!(!open.is_unsaved(), "back to what is on disk");
        for path in [path(), None] {
            let open = OpenRoom::recovered(changed.clone(), None, path, PathBuf::new());
            assert!(open.is_unsaved());
        }
    }

    #[test]
    fn a_change_that_changes_nothing_is_no_step() {
        let mut open = OpenRoom::new(room(), None, PathBuf::new());
        let revision = open.revision();
        open.change(room(), "nothing", None);
        assert_eq!(open.revision(), revision);
        assert_eq!(open.undo(), None);
    }
}
