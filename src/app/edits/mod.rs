//! Changes of a room that take more than a field: adding, doubling, deleting and renaming things, with whatever
//! refers to them. Pure: a room in, a room out.

mod add;
mod corners;
mod hang;
mod remove;
mod rename;

pub use add::{Addable, add, add_kind_from_file, duplicate};
pub use corners::keep_walls;
pub use hang::{HANG_HEIGHT_M, STEP_M, hang_on, in_line, move_opening};

pub use crate::advice::wall_words;
pub use remove::delete;
pub use rename::{name_of, rename};

use crate::{
    app::state::Thing,
    room::{PlanPoint, RoomFile},
};

/// What was done to the corners of an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CornerChange {
    /// A corner was put in after this one (index).
    PutInAfter(usize),
    /// This corner (index) was taken out; where it was.
    TakenOut(usize, PlanPoint),
}

/// Problems that the format's own check finds.
fn problem_count(room: &RoomFile) -> usize {
    let Ok(text) = crate::room::write_room(room) else {
        return usize::MAX;
    };
    match crate::room::validate(room, &text, "room") {
        Ok(()) => 0,
        Err(error) => error.listing().len().max(1),
    }
}

/// An index may be older than the room.
fn is_there(room: &RoomFile, thing: &Thing) -> Result<(), String> {
    let one_only = [Thing::Piece, Thing::Site, Thing::Limits];
    if one_only.contains(thing) || name_of(room, thing).is_some() {
        Ok(())
    } else {
        Err("it is gone".into())
    }
}

/// `wanted`, or the first of "wanted 2", "wanted 3", ... that is not taken.
fn free_name(wanted: &str, taken: &dyn Fn(&str) -> bool) -> String {
    let stem = wanted
        .trim_end_matches(|c: char| c.is_ascii_digit())
        .trim_end();
    let stem = if stem.is_empty() { wanted } else { stem };
    let glue = if wanted.len() <= 3 && !wanted.contains(' ') {
        ""
    } else {
        " "
    };
    std::iter::once(wanted.to_owned())
        .chain((2..).map(|n| format!("{stem}{glue}{n}")))
        .find(|name| !taken(name))
        .unwrap_or_default()
}
