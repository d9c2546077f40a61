//! Files around the open room: settings that are kept, work recovered after a crash, changes made outside,
//! native dialogs, and rooms to begin with.

mod along;
mod dialog;
mod home;
mod outside;
mod recovery;
mod settings;
mod templates;

pub use along::carry_along;
pub use dialog::{Dialogs, PathFor};
pub use home::Home;
pub use outside::Watched;
pub use recovery::{Recovered, Recovery};
pub use settings::{MOST_RECENT, Settings};
pub use templates::{TEMPLATES, Template};
