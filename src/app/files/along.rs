//! Files that a room names go with it when it is saved to another folder.

use std::{fs, path::Path};

use crate::{
    piece::Layout,
    room::{FixtureLight, PieceSource, RoomFile, read_whole, save_atomically},
};

/// Copies the files that a room names from the folder of before to the new one, where they are missing there.
/// Nothing is ever replaced. Returns what was copied and what could not be.
pub fn carry_along(room: &RoomFile, from: &Path, to: &Path) -> (Vec<String>, Vec<String>) {
    let same = fs::canonicalize(from).ok() == fs::canonicalize(to).ok();
    if same {
        return (Vec::new(), Vec::new());
    }
    let (mut copied, mut missing) = (Vec::new(), Vec::new());
    for name in files_of(room, from) {
        let (source, target) = (from.join(&name), to.join(&name));
        if Path::new(&name).is_absolute() || target.exists() {
            continue;
        }
        let done = read_whole(&source).ok().and_then(|bytes| {
            fs::create_dir_all(target.parent()?).ok()?;
            save_atomically(&target, &bytes).ok()
        });
        match done {
            Some(()) => copied.push(name),
            None => missing.push(name),
        }
    }
    (copied, missing)
}

fn files_of(room: &RoomFile, folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = room
        .fixture_types
        .values()
        .filter_map(|kind| match &kind.light {
            FixtureLight::File(name) => Some(name.clone()),
            FixtureLight::Beam { .. } => None,
        })
        .collect();
    let drawing = |layout: &Layout| match layout {
        Layout::Drawing { file, .. } => Some(file.clone()),
        _ => None,
    };
    match &room.piece {
        PieceSource::File(name) => {
            let spec = fs::read_to_string(folder.join(name))
                .ok()
                .and_then(|text| crate::piece::parse_piece(&text, name).ok());
            names.extend(spec.and_then(|s| drawing(&s.layout)));
            names.push(name.clone());
        }
        PieceSource::Inline(spec) => names.extend(drawing(&spec.layout)),
    }
    names.sort();
    names.dedup();
    names
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::room::parse_room;

    #[test]
    fn files_go_along_and_nothing_is_replaced() {
        let (from, to) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let mut room = parse_room(include_str!("../../../rooms/ferry-hall.ron"), "hall").unwrap();
        for (kind, name) in [("a", "one.ies"), ("b", "lamps/two.ldt"), ("c", "lost.ies")] {
            let mut fixture = room.fixture_types["pendant"].clone();
            fixture.light = FixtureLight::File(name.into());
            room.fixture_types.insert(kind.into(), fixture);
        }
        fs::write(from.path().join("one.ies"), "mine").unwrap();
        fs::create_dir(from.path().join("lamps")).unwrap();
        fs::write(from.path().join("lamps/two.ldt"), "two").unwrap();
        fs::write(to.path().join("one.ies"), "theirs").unwrap();
        let (copied, missing) = carry_along(&room, from.path(), to.path());
        assert_eq!(copied, ["lamps/two.ldt"]);
        assert_eq!(missing, ["lost.ies"]);
        assert_eq!(
            fs::read_to_string(to.path().join("one.ies")).unwrap(),
            "theirs"
        );
        assert_eq!(
            fs::read_to_string(to.path().join("lamps/two.ldt")).unwrap(),
            "two"
        );
        assert!(carry_along(&room, from.path(), from.path()).1.is_empty());
    }
}
