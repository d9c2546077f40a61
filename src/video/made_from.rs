//! What a film's pictures depend on, as one short text.

use std::{
    fmt::Write as _,
    hash::{DefaultHasher, Hash, Hasher},
    sync::Arc,
};

use super::Script;
use crate::room::BuiltRoom;

/// A text that differs wherever the rooms (with all files that they name), the script, the size or the program's version
/// do. Only compared with itself on one machine.
pub fn made_from(rooms: &[Arc<BuiltRoom>], script: &Script, size: [u32; 2]) -> String {
    let mut text = format!(
        "Lustrewalk {}, {} x {}\n{:?}\n",
        env!("CARGO_PKG_VERSION"),
        size[0],
        size[1],
        script.request
    );
    for room in rooms {
        let mut hasher = DefaultHasher::new();
        format!("{:?}", room.file).hash(&mut hasher);
        format!("{:?}", room.scene.fixtures).hash(&mut hasher);
        format!("{:?}", room.tiling).hash(&mut hasher);
        format!("{:?}", room.materials).hash(&mut hasher);
        let _ = writeln!(text, "{}: {:016x}", room.file.name, hasher.finish());
    }
    text
}
