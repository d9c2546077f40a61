//! The room file: what the user wrote, checked, and turned into the solver's scene.
//!
//! ```text
//! text --parse--> RoomFile --validate--> (all problems, each with its place) --build--> BuiltRoom { Scene, piece, walks }
//! ```
//! Plan coordinates as on a drawing: x to the right, y up the page, metres, height apart. The bearing
//! is the true bearing of plan +y. Angles in degrees. Times are local civil times of the site's zone.

mod beside;
mod build;
mod error;
mod inline_piece;
mod locate;
mod parse;
mod save;
mod schema;
mod shell;
mod validate;
mod walk;
mod wall;

pub use beside::{Beside, read_as_written, read_room, read_whole};
pub use build::{
    BuiltRoom, BuiltWalk, FileLoader, KindOfLight, LoadError, NoFiles, PiecePlace, build,
};
pub use error::{Problem, RoomError};
pub use locate::{Located, locate};
pub use parse::{ROOM_VERSION, parse_room, write_room};
pub use save::{save_atomically, save_atomically_with};
pub use schema::*;
pub use validate::validate;
pub(crate) use walk::{clock_min, is_lit};
pub use walk::{station_at, walk_length_m, world};
pub(crate) use wall::{ceiling_m, wall};
