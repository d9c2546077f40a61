//! Making what is handed over, beside the room.

use std::sync::Arc;

use super::Hands;
use crate::{
    app::{
        presenter::{Handout, HandoutWish, Presenter},
        typed::LengthUnit,
    },
    outcome::Lengths,
};

impl Hands<'_> {
    pub(super) fn present(&mut self, kind: Handout) {
        if let Some(running) = &self.presenting.running {
            let name = running.kind.name();
            self.warn(format!("{name} is being made: wait for it, or stop it"));
            return;
        }
        let Some(path) = self.open.path().map(|p| kind.path(p)) else {
            self.warn("Save the room first: what is made is written beside it");
            return;
        };
        let live = self.desk.live();
        let built = live
            .built
            .as_ref()
            .filter(|(revision, _)| *revision == self.open.revision());
        let Some((_, built)) = built else {
            self.warn("The room is still being built, or something in it is to be mended first");
            return;
        };
        let mut rooms = vec![("As it is".to_owned(), Arc::clone(built))];
        if let Some(held) = self.desk.held()
            && let Some((_, before)) = &held.built
            && before.walks.len() > self.standing.walk
        {
            // What was held came first; what is edited is what is proposed.
            rooms[0].0 = "As proposed".into();
            rooms.insert(0, (held.name.clone(), Arc::clone(before)));
        }
        if kind == Handout::Dossier {
            rooms.drain(..rooms.len() - 1);
        }
        let wish = HandoutWish {
            kind,
            path,
            walk: self.standing.walk,
            distance_m: self.standing.distance_m,
            clock: self.moment.clock.clone(),
            lengths: match self.settings.unit {
                LengthUnit::Feet => Lengths::Feet,
                _ => Lengths::Metres,
            },
            rooms,
        };
        self.tell(format!("Making {}", wish.path.display()));
        self.presenting.running = Some(Presenter::start(wish, self.waker.0.clone()));
    }
}
