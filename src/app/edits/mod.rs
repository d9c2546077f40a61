//! Changes of a room that take more than a field: adding, doubling, deleting and renaming things, with whatever
//! refers to them. Pure: a room in, a room out.

mod add;
mod hang;
mod remove;
mod rename;

pub use add::{Addable, add, add_kind_from_file, duplicate};
pub use hang::{HANG_HEIGHT_M, STEP_M, hang_on, in_line, move_opening, wall_words};
pub use remove::delete;
pub use rename::{name_of, rename};

use crate::room::RoomFile;

/// Whether the format's own check passes; the reason where it does not.
fn is_sound(room: &RoomFile) -> bool {
    crate::room::write_room(room)
        .is_ok_and(|text| crate::room::validate(room, &text, "room").is_ok())
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
