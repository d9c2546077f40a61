//! Taking things out, unless something needs them.

use crate::{
    app::state::Thing,
    room::{Filling, RoomFile, Support, WindowFilling},
};

/// A room without a thing.
///
/// # Errors
/// Something still needs it, or there must be one; in words.
pub fn delete(room: &RoomFile, thing: &Thing) -> Result<RoomFile, String> {
    super::is_there(room, thing)?;
    let mut next = room.clone();
    match thing {
        Thing::Fixture(i) => {
            let gone = next.fixtures.remove(*i);
            next.advice.lamps.existing.remove(&gone.name);
        }
        Thing::Walk(_) if room.walks.len() < 2 => {
            return Err("a room needs one walk at least: without one there is no eye".into());
        }
        Thing::Walk(i) => {
            let gone = next.walks.remove(*i);
            next.advice.grain.walk = next.advice.grain.walk.filter(|w| *w != gone.name);
        }
        Thing::Solid(i) => {
            next.solids.remove(*i);
        }
        Thing::Opening(i) => {
            next.openings.remove(*i);
        }
        Thing::Rooflight(i) => {
            next.rooflights.remove(*i);
        }
        Thing::Candidate(i) => {
            next.candidates.remove(*i);
        }
        Thing::FixtureType(kind) => {
            let users = room.fixtures.iter().filter(|f| &f.kind == kind);
            unused(users.map(|f| f.name.clone()))?;
            next.fixture_types.remove(kind);
            next.advice.lamps.stock.retain(|k| k != kind);
        }
        Thing::Finish(finish) => {
            unused(users_of_finish(room, finish).into_iter())?;
            next.finishes.remove(finish);
        }
        Thing::Glazing(glazing) => {
            unused(users_of_glazing(room, glazing).into_iter())?;
            next.glazings.remove(glazing);
        }
        Thing::Space(i) => {
            if room.spaces.len() < 2 {
                return Err("a room needs one space at least".into());
            }
            let name = &room.spaces[*i].name;
            let hangs = |on: &Support| matches!(on, Support::Wall { space, .. } if space == name);
            if hangs(&room.placement.on) {
                return Err("the piece hangs there: hang it elsewhere first".into());
            }
            // What is in its walls and ceiling goes with it.
            next.openings.retain(|o| &o.space != name);
            next.rooflights.retain(|r| &r.space != name);
            next.candidates.retain(|c| !hangs(&c.on));
            next.advice.hang.walls.retain(|(space, _)| space != name);
            next.spaces.remove(*i);
        }
        Thing::Piece => return Err("a room is about its piece; hang it elsewhere instead".into()),
        Thing::Site | Thing::Limits => return Err("every room has one".into()),
    }
    Ok(next)
}

fn unused(users: impl Iterator<Item = String>) -> Result<(), String> {
    let users: Vec<String> = users.collect();
    if users.is_empty() {
        return Ok(());
    }
    Err(format!("it is used by {}", users.join(", ")))
}

fn users_of_finish(room: &RoomFile, finish: &str) -> Vec<String> {
    let spaces = room.spaces.iter().filter(|s| {
        [&s.walls, &s.floor, &s.ceiling_finish]
            .into_iter()
            .chain(s.wall_finishes.values())
            .any(|f| f == finish)
    });
    let doors = room
        .openings
        .iter()
        .filter(|o| matches!(&o.filling, Filling::Door { finish: f } if f == finish));
    let shafts = room
        .rooflights
        .iter()
        .filter(|r| r.shaft_finish.as_deref() == Some(finish));
    spaces
        .map(|s| s.name.clone())
        .chain(doors.map(|o| o.name.clone()))
        .chain(shafts.map(|r| r.name.clone()))
        .chain(
            room.solids
                .iter()
                .filter(|s| s.finish == finish)
                .map(|s| s.name.clone()),
        )
        .collect()
}

fn users_of_glazing(room: &RoomFile, glazing: &str) -> Vec<String> {
    let uses = |filling: &WindowFilling| filling.glazing == glazing;
    let openings = room.openings.iter().filter(|o| match &o.filling {
        Filling::Window(filling) | Filling::Inner(filling) => uses(filling),
        Filling::Door { .. } | Filling::Open => false,
    });
    openings
        .map(|o| o.name.clone())
        .chain(
            room.rooflights
                .iter()
                .filter(|r| uses(&r.filling))
                .map(|r| r.name.clone()),
        )
        .collect()
}
