//! What a film's pictures depend on, as one short text.

use std::{
    fmt::Write as _,
    hash::{DefaultHasher, Hash, Hasher},
    sync::Arc,
};

use super::{OverlayWishes, Script, room_light_settings, stage::view_settings};
use crate::room::BuiltRoom;

/// Raised whenever shaders, words or anything else compiled in changes what a frame looks like.
const LOOK_VERSION: u32 = 1;

/// A text that differs wherever the rooms (with all files that they name), the script, the size, the words over the pictures, the adapter,
/// the settings of the light
/// or the program's version do. Only compared with itself on one machine; another release of the
/// compiler may hash otherwise, and then everything is made anew.
pub fn made_from(
    rooms: &[Arc<BuiltRoom>],
    script: &Script,
    size: [u32; 2],
    wishes: &OverlayWishes,
    adapter: &str,
) -> String {
    let mut text = format!(
        "Lustrewalk {}, look {LOOK_VERSION}, {} x {}, {adapter}\n{:?}\n{wishes:?}\n{:?}\n{:?}\n",
        env!("CARGO_PKG_VERSION"),
        size[0],
        size[1],
        script.request,
        room_light_settings(),
        view_settings()
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
