//! Checks of a piece that is written in the room file itself, each problem at its place there.
//!
//! A piece in a file of its own is checked when the room is built: its places are not in this text.

use std::ops::Range;

use super::{RoomFile, parse::ProblemList, schema::PieceSource};
use crate::{
    material::Library,
    piece::{PieceError, Tiling},
};

/// Checks the piece of a room, where it is written there.
pub(super) fn check(room: &RoomFile, list: &mut ProblemList) {
    let PieceSource::Inline(spec) = &room.piece else {
        return;
    };
    let unread = |_: &str| Err(std::io::Error::from(std::io::ErrorKind::NotFound));
    match spec.tiling(&mut { unread }) {
        Ok(tiling) => materials(room, &tiling, list),
        Err(error) => {
            // A drawing is read when the room is built.
            for problem in error.problems() {
                let said = problem.to_string();
                let path = said.split([':', ' ']).next().unwrap_or_default();
                list.at(&in_room(path), said.clone(), Some(problem.help()));
            }
            debug_assert!(
                !error.problems().is_empty() || matches!(error, PieceError::Load { .. }),
                "{error}"
            );
        }
    }
}

/// Path in the room file of a path in the piece: the piece is the value inside `Inline(...)`, written tiles
/// the value inside `Tiles(...)`.
fn in_room(path: &str) -> String {
    format!("piece[0].{}", path.replacen("layout.tiles", "layout[0]", 1))
}

fn materials(room: &RoomFile, tiling: &Tiling, list: &mut ProblemList) {
    // A library that is broken is reported when the room is built.
    let Ok(library) = Library::built_in() else {
        return;
    };
    for name in &tiling.materials {
        if room.materials.contains_key(name) || library.get(name).is_ok() {
            continue;
        }
        let help = super::build::near_materials(name, &library);
        let message = format!("no material is named {name:?}");
        match list.quoted(name, "piece") {
            Some(range) => list.push(range, message, Some(help)),
            None => list.at("piece", message, Some(help)),
        }
    }
}

impl ProblemList {
    /// Where a text stands in double quotes within the value at a path.
    fn quoted(&self, word: &str, path: &str) -> Option<Range<usize>> {
        let within = self.located().find(path)?;
        let quoted = format!("\"{word}\"");
        let start = within.start + self.text().get(within)?.find(&quoted)?;
        Some(start..start + quoted.len())
    }
}
