//! Things of the room, pins and held plans.

use std::path::Path;

use super::Hands;
use crate::{
    app::{
        edits::{self, Addable, name_of},
        pick::Found,
        state::{MOST_PLANS, Thing},
    },
    room::RoomFile,
};

/// Names of what is kept by its index, before a step.
pub(super) struct Names {
    chosen: Option<String>,
    walk: Option<String>,
    aiming: Option<String>,
}

/// The thing of a kind that has a name.
fn find_thing(room: &RoomFile, like: &Thing, name: &str) -> Option<Thing> {
    let count = |n: usize, thing: fn(usize) -> Thing| {
        (0..n)
            .map(thing)
            .find(|t| name_of(room, t).as_deref() == Some(name))
    };
    match like {
        Thing::Fixture(_) => count(room.fixtures.len(), Thing::Fixture),
        Thing::Opening(_) => count(room.openings.len(), Thing::Opening),
        Thing::Rooflight(_) => count(room.rooflights.len(), Thing::Rooflight),
        Thing::Walk(_) => count(room.walks.len(), Thing::Walk),
        Thing::Solid(_) => count(room.solids.len(), Thing::Solid),
        Thing::Space(_) => count(room.spaces.len(), Thing::Space),
        Thing::Candidate(_) => count(room.candidates.len(), Thing::Candidate),
        other => name_of(room, other).map(|_| other.clone()),
    }
}

/// Most pins at a time: each is read at every moment.
const MOST_PINS: usize = 12;

impl Hands<'_> {
    fn take(&mut self, room: RoomFile, what: &str) {
        self.go_on();
        self.open.change(room, what, None);
    }

    pub(super) fn add(&mut self, what: Addable) {
        match edits::add(self.open.file(), what) {
            Ok((room, thing)) => {
                self.take(room, "add a thing");
                self.choose_new(thing);
            }
            Err(why) => self.warn(format!("Nothing was added: {why}")),
        }
    }

    pub(super) fn duplicate(&mut self, thing: &Thing) {
        match edits::duplicate(self.open.file(), thing) {
            Ok((room, copy)) => {
                self.take(room, "duplicate a thing");
                self.choose_new(copy);
            }
            Err(why) => self.warn(format!("It was not duplicated: {why}")),
        }
    }

    /// A maker's photometric file as a kind of fixture; named as seen from the room's folder where it lies there.
    pub(super) fn add_photometric_file(&mut self, path: &Path) {
        let whole = |p: &Path| std::fs::canonicalize(p).unwrap_or_else(|_| p.to_path_buf());
        let folder = whole(self.open.folder());
        let file = whole(path);
        let name = file
            .strip_prefix(&folder)
            .unwrap_or(&file)
            .to_string_lossy()
            .into_owned();
        match edits::add_kind_from_file(self.open.file(), &name) {
            Ok((room, kind)) => {
                self.take(room, "add a kind of fixture");
                self.choose_new(kind);
            }
            Err(why) => self.warn(format!("Nothing was added: {why}")),
        }
    }

    fn choose_new(&mut self, thing: Thing) {
        let room = self.open.file();
        let name = name_of(room, &thing).unwrap_or_default();
        let place = match &thing {
            Thing::Opening(i) => room
                .openings
                .get(*i)
                .map(|o| format!(" in {}", edits::wall_words(room, &o.space, o.wall))),
            _ => None,
        };
        self.tell(format!("Added {name}{}", place.unwrap_or_default()));
        self.chosen.thing = Some(thing);
        self.chosen.tiles.clear();
    }

    pub(super) fn delete(&mut self, thing: &Thing) {
        let name = name_of(self.open.file(), thing).unwrap_or_default();
        match edits::delete(self.open.file(), thing) {
            Ok(room) => {
                let before = self.names();
                self.take(room, &format!("delete {name}"));
                self.find_again(&before);
                self.chosen.thing = None;
                self.showing.aiming = None;
                self.tell(format!("Deleted {name}; undo brings it back"));
            }
            Err(why) => self.warn(format!("{name} was not deleted: {why}")),
        }
    }

    pub(super) fn rename(&mut self, thing: &Thing, name: &str) {
        match edits::rename(self.open.file(), thing, name) {
            Ok((room, renamed)) => {
                self.take(room, "give another name");
                self.chosen.thing = Some(renamed);
            }
            Err(why) => self.warn(format!("The name stays as it was: {why}")),
        }
    }

    /// Names of what is kept by its index.
    pub(super) fn names(&self) -> Names {
        let room = self.open.file();
        Names {
            chosen: self.chosen.thing.as_ref().and_then(|t| name_of(room, t)),
            walk: room.walks.get(self.standing.walk).map(|w| w.name.clone()),
            aiming: self
                .showing
                .aiming
                .and_then(|i| room.fixtures.get(i))
                .map(|f| f.name.clone()),
        }
    }

    /// Things are found again by their names after a step that moved their indices; what is gone is let go.
    pub(super) fn find_again(&mut self, before: &Names) {
        let room = self.open.file();
        if let (Some(name), Some(thing)) = (&before.chosen, &self.chosen.thing) {
            let again = find_thing(room, thing, name);
            if again.is_none() {
                self.chosen.tiles.clear();
            }
            self.chosen.thing = again;
        }
        let walk = |name: &String| room.walks.iter().position(|w| w.name == *name);
        let last = room.walks.len().saturating_sub(1);
        self.standing.walk = before
            .walk
            .as_ref()
            .and_then(walk)
            .unwrap_or(self.standing.walk.min(last));
        let fixture = |name: &String| room.fixtures.iter().position(|f| f.name == *name);
        self.showing.aiming = before.aiming.as_ref().and_then(fixture);
    }

    pub(super) fn pin(&mut self, found: &Found) {
        if self.pins.list.len() >= MOST_PINS {
            self.warn(format!(
                "{MOST_PINS} pins are as many as there can be: take one out first"
            ));
            return;
        }
        let Some((_, built)) = &self.desk.live().built else {
            return;
        };
        let built = std::sync::Arc::clone(built);
        match self.pins.stick(&built, found) {
            Some(number) => self.tell(format!("Pin {number}: read at every hour")),
            None => self.warn("Glass has no luminance of its own: pin what is seen through it"),
        }
    }

    pub(super) fn hold(&mut self) {
        let engine = self.engine();
        // The wish for the newest room may still be to come.
        let (room, revision) = (
            std::sync::Arc::clone(self.open.file()),
            self.open.revision(),
        );
        let live = self.desk.live_mut();
        (live.room, live.revision) = (room, revision);
        // A letter for each, and what they differ in is best said by the user.
        let letters = b'A'..=b'Z';
        let used: Vec<String> = self.desk.plans.iter().map(|p| p.name.clone()).collect();
        let name = letters
            .map(|l| format!("Plan {}", char::from(l)))
            .find(|n| !used.contains(n))
            .unwrap_or_default();
        match self.desk.hold(name.clone(), engine) {
            Some(_) => self.tell(format!(
                "{name} is held as it is now; go on changing the other"
            )),
            None => self.warn(format!(
                "{} plans are as many as can be held: let one go first",
                MOST_PLANS - 1
            )),
        }
    }

    pub(super) fn go_back_to(&mut self, index: usize) {
        let Some(plan) = self.desk.plans.get(index) else {
            return;
        };
        let (room, name) = (plan.room.as_ref().clone(), plan.name.clone());
        let before = self.names();
        self.take(room, &format!("go back to {name}"));
        self.find_again(&before);
        self.tell(format!("Now as in {name}; undo takes it back"));
    }
}
