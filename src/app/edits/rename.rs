//! Names of things, and new ones wherever they are used.

use crate::{
    app::state::Thing,
    room::{Filling, RoomFile, Support},
};

/// What a thing is called; `None` where it is gone or has no name of its own.
pub fn name_of(room: &RoomFile, thing: &Thing) -> Option<String> {
    match thing {
        Thing::Fixture(i) => room.fixtures.get(*i).map(|f| f.name.clone()),
        Thing::Opening(i) => room.openings.get(*i).map(|o| o.name.clone()),
        Thing::Rooflight(i) => room.rooflights.get(*i).map(|r| r.name.clone()),
        Thing::Walk(i) => room.walks.get(*i).map(|w| w.name.clone()),
        Thing::Solid(i) => room.solids.get(*i).map(|s| s.name.clone()),
        Thing::Space(i) => room.spaces.get(*i).map(|s| s.name.clone()),
        Thing::Candidate(i) => room.candidates.get(*i).map(|c| c.name.clone()),
        Thing::FixtureType(name) => room.fixture_types.contains_key(name).then(|| name.clone()),
        Thing::Finish(name) => room.finishes.contains_key(name).then(|| name.clone()),
        Thing::Glazing(name) => room.glazings.contains_key(name).then(|| name.clone()),
        Thing::Piece | Thing::Site | Thing::Limits => None,
    }
}

/// A room where a thing has another name, there and wherever it is used, and the thing.
///
/// # Errors
/// The name is empty or taken, in words.
pub fn rename(room: &RoomFile, thing: &Thing, name: &str) -> Result<(RoomFile, Thing), String> {
    let name = name.trim();
    if name.is_empty() {
        return Err("a name has one letter at least".into());
    }
    super::is_there(room, thing)?;
    if name_of(room, thing).as_deref() == Some(name) {
        return Ok((room.clone(), thing.clone()));
    }
    let taken = match thing {
        Thing::Fixture(_) => room.fixtures.iter().any(|f| f.name == name),
        Thing::Opening(_) => room.openings.iter().any(|o| o.name == name),
        Thing::Rooflight(_) => room.rooflights.iter().any(|r| r.name == name),
        Thing::Walk(_) => room.walks.iter().any(|w| w.name == name),
        Thing::Solid(_) => room.solids.iter().any(|s| s.name == name),
        Thing::Space(_) => room.spaces.iter().any(|s| s.name == name),
        Thing::FixtureType(_) => room.fixture_types.contains_key(name),
        Thing::Finish(_) => room.finishes.contains_key(name),
        Thing::Glazing(_) => room.glazings.contains_key(name),
        Thing::Candidate(_) | Thing::Piece | Thing::Site | Thing::Limits => false,
    };
    if taken {
        return Err(format!("the name {name:?} is taken"));
    }
    let mut next = room.clone();
    let new = name.to_owned();
    let mut renamed = thing.clone();
    match &mut renamed {
        Thing::Fixture(i) => {
            let old = std::mem::replace(&mut next.fixtures[*i].name, new.clone());
            if let Some(leave) = next.advice.lamps.existing.remove(&old) {
                next.advice.lamps.existing.insert(new, leave);
            }
        }
        Thing::Opening(i) => next.openings[*i].name = new,
        Thing::Rooflight(i) => next.rooflights[*i].name = new,
        Thing::Walk(i) => {
            let old = std::mem::replace(&mut next.walks[*i].name, new.clone());
            let named = &mut next.advice.grain.walk;
            if named.as_ref() == Some(&old) {
                *named = Some(new);
            }
        }
        Thing::Solid(i) => next.solids[*i].name = new,
        Thing::Candidate(i) => next.candidates[*i].name = new,
        Thing::Space(i) => {
            let old = std::mem::replace(&mut next.spaces[*i].name, new.clone());
            rename_space(&mut next, &old, &new);
        }
        Thing::FixtureType(old) => {
            if let Some(kind) = next.fixture_types.remove(old.as_str()) {
                next.fixture_types.insert(new.clone(), kind);
            }
            for fixture in next.fixtures.iter_mut().filter(|f| f.kind == *old) {
                fixture.kind = new.clone();
            }
            let stock = next.advice.lamps.stock.iter_mut();
            for kind in stock.filter(|k| *k == old) {
                kind.clone_from(&new);
            }
            *old = new;
        }
        Thing::Finish(old) => {
            if let Some(finish) = next.finishes.remove(old.as_str()) {
                next.finishes.insert(new.clone(), finish);
            }
            rename_finish(&mut next, old, &new);
            *old = new;
        }
        Thing::Glazing(old) => {
            if let Some(glazing) = next.glazings.remove(old.as_str()) {
                next.glazings.insert(new.clone(), glazing);
            }
            rename_glazing(&mut next, old, &new);
            *old = new;
        }
        Thing::Piece | Thing::Site | Thing::Limits => {}
    }
    Ok((next, renamed))
}

fn rename_space(room: &mut RoomFile, old: &str, new: &str) {
    let places = std::iter::once(&mut room.placement).chain(&mut room.candidates);
    for place in places {
        if let Support::Wall { space, .. } = &mut place.on
            && space == old
        {
            *space = new.to_owned();
        }
    }
    for (space, _) in &mut room.advice.hang.walls {
        if space == old {
            *space = new.to_owned();
        }
    }
    let named = room.openings.iter_mut().map(|o| &mut o.space);
    for space in named.chain(room.rooflights.iter_mut().map(|r| &mut r.space)) {
        if space == old {
            *space = new.to_owned();
        }
    }
}

fn rename_finish(room: &mut RoomFile, old: &str, new: &str) {
    let mut swap = |finish: &mut String| {
        if finish == old {
            *finish = new.to_owned();
        }
    };
    for space in &mut room.spaces {
        swap(&mut space.walls);
        swap(&mut space.floor);
        swap(&mut space.ceiling_finish);
        space.wall_finishes.values_mut().for_each(&mut swap);
    }
    for solid in &mut room.solids {
        swap(&mut solid.finish);
    }
    for opening in &mut room.openings {
        if let Filling::Door { finish } = &mut opening.filling {
            swap(finish);
        }
    }
    for light in &mut room.rooflights {
        if let Some(finish) = &mut light.shaft_finish {
            swap(finish);
        }
    }
}

fn rename_glazing(room: &mut RoomFile, old: &str, new: &str) {
    let openings = room
        .openings
        .iter_mut()
        .filter_map(|o| match &mut o.filling {
            Filling::Window(filling) | Filling::Inner(filling) => Some(filling),
            Filling::Door { .. } | Filling::Open => None,
        });
    for filling in openings.chain(room.rooflights.iter_mut().map(|r| &mut r.filling)) {
        if filling.glazing == old {
            filling.glazing = new.to_owned();
        }
    }
}
