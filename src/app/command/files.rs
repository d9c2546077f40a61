//! Opening, saving, and what must not be lost on the way.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use bevy::prelude::*;

use super::{Hands, Unsaved};
use crate::{
    app::{
        document::OpenRoom,
        files::{PathFor, Recovery, TEMPLATES, Watched, carry_along},
        standing::Standing,
        state::{Chosen, Pins, Then},
    },
    room::{RoomError, parse_room, read_as_written, save_atomically, write_room},
};

impl Hands<'_> {
    /// Does it, or asks first where changes would be lost.
    pub(super) fn unless_unsaved(&mut self, then: Then) {
        if self.open.is_unsaved() {
            self.asking.unsaved = Some(then);
        } else {
            self.go(then);
        }
    }

    fn go(&mut self, then: Then) {
        match then {
            Then::Open(path) => self.open_now(path),
            Then::Begin(template) => self.begin(template),
            Then::Quit => {
                if let Some(recovery) = &mut self.keeper.recovery {
                    recovery.forget();
                }
                self.exit.write(AppExit::Success);
            }
        }
    }

    pub(super) fn answer_unsaved(&mut self, answer: Unsaved) {
        let Some(then) = self.asking.unsaved.take() else {
            return;
        };
        match answer {
            Unsaved::Stay => {}
            Unsaved::LetGo => self.go(then),
            Unsaved::Save if self.open.path().is_some() => {
                self.save();
                // A save that failed keeps the changes and says so.
                if !self.open.is_unsaved() {
                    self.go(then);
                }
            }
            Unsaved::Save => {
                self.asking.after_saving = Some(then);
                self.save_by_dialog();
                self.tell("Where should it be saved? Or type a path under Room");
            }
        }
    }

    fn open_now(&mut self, path: PathBuf) {
        let path = std::path::absolute(&path).unwrap_or(path);
        // What is wrong with it is listed in the window, to be mended there.
        match read_as_written(&path) {
            Ok(room) => {
                let folder = path.parent().map(PathBuf::from).unwrap_or_default();
                self.settings.note(&path);
                self.keep_settings();
                self.keeper.watched = Some(Watched::now(&path));
                self.show(OpenRoom::new(room, Some(path), folder));
                let title = self.open.title();
                self.tell(format!("Opened {title}"));
            }
            Err(error) => self.warn(first_problem(&error)),
        }
    }

    fn begin(&mut self, index: usize) {
        let Some(template) = TEMPLATES.get(index) else {
            return;
        };
        match parse_room(template.text, template.name) {
            Ok(room) => {
                self.keeper.watched = None;
                self.show(OpenRoom::new(room, None, PathBuf::new()));
                self.tell(format!("A new room: {}", template.about));
            }
            Err(error) => self.warn(first_problem(&error)),
        }
    }

    /// Puts another room in the window.
    fn show(&mut self, mut next: OpenRoom) {
        next.follow(&self.open);
        self.asking.after_saving = None;
        self.asking.changed_outside = false;
        self.asking.replace = None;
        self.keeper.rooms += 1;
        if let Some(recovery) = &mut self.keeper.recovery {
            recovery.forget();
        }
        let study = &next.file().study;
        if let Some(date) = study.days.first().and_then(|d| d.parse().ok()) {
            self.moment.clock.date = date;
        }
        if let Some(sky) = study.skies.first() {
            self.moment.clock.sky = sky.clone();
        }
        *self.open = next;
        self.desk.clear();
        self.advice.clear();
        for plan in &self.desk.plans {
            plan.engine.pause(false);
        }
        *self.chosen = Chosen::default();
        *self.pins = Pins::default();
        *self.standing = Standing::default();
        self.showing.difference = false;
        self.showing.aiming = None;
    }

    pub(super) fn open_by_dialog(&mut self) {
        self.ask_for_path(PathFor::Open);
    }

    pub(super) fn save_by_dialog(&mut self) {
        self.ask_for_path(PathFor::SaveAs);
    }

    fn ask_for_path(&mut self, what: PathFor) {
        let folder = self.open.folder().clone();
        let name = match self.open.path() {
            Some(path) => path.file_name().map(|n| n.to_string_lossy().into_owned()),
            None => None,
        };
        let name = name.unwrap_or_else(|| {
            let plain = self.open.file().name.to_lowercase();
            format!("{}.ron", plain.replace(|c: char| !c.is_alphanumeric(), "-"))
        });
        let wake = self.waker.0.clone();
        let of = self.keeper.rooms;
        self.keeper
            .dialogs
            .ask((what, of), folder, name, move || wake());
    }

    pub(super) fn save(&mut self) {
        match self.open.path().cloned() {
            Some(path) => {
                // Another program may have written it a moment ago.
                if self.changed_outside() {
                    self.asking.changed_outside = true;
                } else {
                    self.save_as(path);
                }
            }
            None => {
                self.save_by_dialog();
                self.tell("Where should it be saved? Or type a path under Room");
            }
        }
    }

    pub(super) fn save_as(&mut self, path: PathBuf) {
        match self.write(&path) {
            Ok(text) => {
                self.settings.note(&path);
                self.keep_settings();
                self.keeper.watched = Some(Watched::now(&path));
                if let Some(recovery) = &mut self.keeper.recovery {
                    recovery.forget();
                }
                self.tell(text);
                if let Some(then) = self.asking.after_saving.take() {
                    self.go(then);
                }
            }
            Err(why) => {
                self.asking.after_saving = None;
                self.warn(why);
            }
        }
    }

    fn write(&mut self, path: &Path) -> Result<String, String> {
        let text = write_room(self.open.file()).map_err(|e| e.to_string())?;
        save_atomically(path, text.as_bytes())
            .map_err(|e| format!("{}; nothing was lost", first_problem(&e)))?;
        let folder = path.parent().map(PathBuf::from).unwrap_or_default();
        let (copied, missing) = carry_along(self.open.file(), self.open.folder(), &folder);
        let written = Arc::clone(self.open.file());
        self.open.saved_as(path.to_path_buf(), written);
        let mut told = format!("Saved {}", self.open.title());
        if !copied.is_empty() {
            told.push_str(&format!(", and beside it {}", copied.join(", ")));
        }
        if !missing.is_empty() {
            told.push_str(&format!("; not found to go along: {}", missing.join(", ")));
        }
        Ok(told)
    }

    pub(super) fn take_up(&mut self, index: Option<usize>) {
        let mut list = std::mem::take(&mut self.asking.recovered);
        let Some(index) = index else {
            for left in &list {
                left.remove();
            }
            return;
        };
        // The others are asked about at the next start.
        if index < list.len() {
            let left = list.swap_remove(index);
            self.keeper.watched = left.path.as_deref().map(Watched::now);
            // What is on disk is the room before the lost changes.
            let saved = left.path.as_deref().and_then(|p| read_as_written(p).ok());
            let (room, path, folder) = (left.room.clone(), left.path.clone(), left.folder.clone());
            self.show(OpenRoom::recovered(room, saved, path, folder));
            if self.write_down() {
                left.remove();
            }
            self.tell("Taken up where it was left; it is not saved yet");
        }
    }

    pub(super) fn read_again(&mut self, again: bool) {
        self.asking.changed_outside = false;
        match self.open.path().cloned() {
            Some(path) if again => self.unless_unsaved(Then::Open(path)),
            // What is here is no longer what is on disk.
            _ => self.open.disown(),
        }
    }

    /// A room file is opened; a photometric file becomes a kind of fixture.
    pub(super) fn take_file(&mut self, path: PathBuf) {
        let kind = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        match kind.as_deref() {
            Some("ron") => self.unless_unsaved(Then::Open(path)),
            Some("ies" | "ldt") => self.add_photometric_file(&path),
            _ => self.warn(format!(
                "{} is neither a room (.ron) nor a photometric file (.ies, .ldt)",
                path.display()
            )),
        }
    }

    pub(super) fn keep_settings(&mut self) {
        if let Some(home) = &self.keeper.home
            && let Err(why) = self.settings.write(home)
        {
            self.warn(format!("Settings could not be kept: {why}"));
        }
    }

    /// Saves under a typed path; asks first where that would replace another file.
    pub(super) fn save_there(&mut self, path: PathBuf) {
        let own = self.open.path().is_some_and(|own| {
            std::fs::canonicalize(own).ok() == std::fs::canonicalize(&path).ok()
        });
        if path.exists() && !own {
            self.asking.replace = Some(path);
        } else {
            self.save_as(path);
        }
    }

    pub(super) fn replace(&mut self, yes: bool) {
        if let Some(path) = self.asking.replace.take().filter(|_| yes) {
            self.save_as(path);
        }
    }

    /// Whether the open file holds another room than the one that was read or written here.
    fn changed_outside(&mut self) -> bool {
        let Some(watched) = &mut self.keeper.watched else {
            return false;
        };
        watched.take_change()
            && !read_as_written(watched.path()).is_ok_and(|r| self.open.is_on_disk(&r))
    }

    /// Answers of dialogs.
    fn take_answers(&mut self) {
        let Some(((what, of), path)) = self.keeper.dialogs.answer() else {
            return;
        };
        match (what, path) {
            (PathFor::Open, Some(path)) => self.unless_unsaved(Then::Open(path)),
            (PathFor::SaveAs, Some(_)) if of != self.keeper.rooms => {
                self.warn("Another room is open now: nothing was saved there");
            }
            (PathFor::SaveAs, Some(path)) => self.save_as(path),
            (_, None) => {
                self.asking.after_saving = None;
                self.tell("No file was chosen; a path can be typed under Room");
            }
        }
    }

    /// Files changed outside, and writing work down; once in a while.
    fn look_after_files(&mut self) {
        if self.changed_outside() {
            self.asking.changed_outside = true;
        }
        self.write_down();
    }

    /// Writes unsaved work down where it has changed; whether all of it is on disk now.
    fn write_down(&mut self) -> bool {
        if !self.open.is_unsaved() {
            if let Some(recovery) = &mut self.keeper.recovery {
                recovery.forget();
            }
            return true;
        }
        if self.keeper.kept_revision == self.open.revision() {
            return true;
        }
        self.keeper.kept_revision = self.open.revision();
        let Some(home) = self.keeper.home.clone() else {
            return false;
        };
        if self.keeper.recovery.is_none() {
            match Recovery::start(&home) {
                Ok(recovery) => self.keeper.recovery = Some(recovery),
                Err(why) => {
                    self.warn(format!("Unsaved work is not written down: {why}"));
                    return false;
                }
            }
        }
        let kept = self.keeper.recovery.as_mut().map(|recovery| {
            recovery.keep(
                self.open.file(),
                self.open.path().map(PathBuf::as_path),
                self.open.folder(),
            )
        });
        match kept {
            Some(Ok(())) => true,
            Some(Err(why)) => {
                self.warn(format!("Unsaved work is not written down: {why}"));
                false
            }
            None => false,
        }
    }
}

/// How often files are looked after [s].
const FILES_EVERY_S: f64 = 2.0;

/// Looks after files once in a while, at once when a dialog has answered.
pub(in crate::app) fn look_after_files(mut hands: Hands, mut last_s: Local<f64>) {
    hands.take_answers();
    let now_s = hands.time.elapsed_secs_f64();
    if now_s - *last_s >= FILES_EVERY_S {
        *last_s = now_s;
        hands.look_after_files();
    }
}

/// What keeps a room from being opened, in one sentence: the first problem with its place.
fn first_problem(error: &RoomError) -> String {
    let cause = std::error::Error::source(error).map_or(String::new(), |s| format!(": {s}"));
    match error.listing().first() {
        Some((line, column, message, help)) => {
            format!("{error}; line {line}, column {column}: {message} ({help})")
        }
        None => format!("{error}{cause}"),
    }
}
