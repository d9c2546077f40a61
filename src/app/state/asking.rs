//! Questions that are open.

use std::path::PathBuf;

use bevy::ecs::resource::Resource;

use crate::app::files::Recovered;

/// What to do once the question about unsaved changes is answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Then {
    /// Open a room file.
    Open(PathBuf),
    /// Begin with a template (index).
    Begin(usize),
    /// End the program.
    Quit,
}

/// What the user is asked.
#[derive(Resource, Default)]
pub struct Asking {
    /// Changes are not saved; what was wanted.
    pub unsaved: Option<Then>,
    /// Saving under a path is awaited before the rest goes on.
    pub after_saving: Option<Then>,
    /// A typed path is that of another file: whether to replace it.
    pub replace: Option<PathBuf>,
    /// Another program changed the file that is open.
    pub changed_outside: bool,
    /// Work of a program that ended without saving.
    pub recovered: Vec<Recovered>,
    /// Keys are explained.
    pub keys: bool,
}

impl Asking {
    /// Whether a question stands before everything else.
    pub fn is_open(&self) -> bool {
        self.unsaved.is_some()
            || self.replace.is_some()
            || self.changed_outside
            || !self.recovered.is_empty()
    }
}
