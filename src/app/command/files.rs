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
    room::{RoomError, parse_room, read_room, save_atomically, write_room},
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
        match read_room(&path) {
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
        self.keeper.dialogs.ask(what, folder, name, move || wake());
    }

    pub(super) fn save(&mut self) {
        match self.open.path().cloned() {
            Some(path) => self.save_as(path),
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
            Err(why) => self.warn(why),
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
        let list = std::mem::take(&mut self.asking.recovered);
        let Some(index) = index else {
            for left in &list {
                left.remove();
            }
            return;
        };
        for (i, left) in list.into_iter().enumerate() {
            if i != index {
                self.asking.recovered.push(left);
                continue;
            }
            left.remove();
            self.keeper.watched = left.path.as_deref().map(Watched::now);
            // What is on disk is the room before the lost changes.
            let saved = left.path.as_deref().and_then(|p| read_room(p).ok());
            let next = OpenRoom::recovered(left.room, saved, left.path, left.folder);
            self.show(next);
            self.tell("Taken up where it was left; it is not saved yet");
        }
    }

    pub(super) fn read_again(&mut self, again: bool) {
        self.asking.changed_outside = false;
        if again && let Some(path) = self.open.path().cloned() {
            self.open_now(path);
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

    /// Answers of dialogs, files changed outside, and writing work down; once in a while.
    fn look_after_files(&mut self) {
        if let Some((what, path)) = self.keeper.dialogs.answer() {
            match (what, path) {
                (PathFor::Open, Some(path)) => self.unless_unsaved(Then::Open(path)),
                (PathFor::SaveAs, Some(path)) => self.save_as(path),
                (_, None) => {
                    self.asking.after_saving = None;
                    self.tell("No file was chosen; a path can be typed under Room");
                }
            }
        }
        if let Some(watched) = &mut self.keeper.watched
            && watched.take_change()
        {
            let same = read_room(watched.path()).is_ok_and(|r| r == **self.open.file());
            if !same {
                self.asking.changed_outside = true;
            }
        }
        self.write_down();
    }

    fn write_down(&mut self) {
        if !self.open.is_unsaved()
            && let Some(recovery) = &mut self.keeper.recovery
        {
            recovery.forget();
        }
        if !self.open.is_unsaved() || self.keeper.kept_revision == self.open.revision() {
            return;
        }
        self.keeper.kept_revision = self.open.revision();
        let Some(home) = self.keeper.home.clone() else {
            return;
        };
        if self.keeper.recovery.is_none() {
            match Recovery::start(&home) {
                Ok(recovery) => self.keeper.recovery = Some(recovery),
                Err(why) => {
                    self.warn(format!("Unsaved work is not written down: {why}"));
                    return;
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
        if let Some(Err(why)) = kept {
            self.warn(format!("Unsaved work is not written down: {why}"));
        }
    }
}

/// How often files are looked after [s].
const FILES_EVERY_S: f64 = 2.0;

/// Looks after files once in a while, at once when a dialog has answered.
pub(in crate::app) fn look_after_files(mut hands: Hands, mut last_s: Local<f64>) {
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
