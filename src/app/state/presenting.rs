//! What is being made to hand over.

use bevy::ecs::resource::Resource;

use crate::app::presenter::Presenter;

/// What is being made to hand over.
#[derive(Resource, Default)]
pub struct Presenting {
    /// The work under way.
    pub running: Option<Presenter>,
}

impl Presenting {
    /// How the work ended, in words for the user, and whether it went wrong; `None` while nothing has ended.
    pub fn poll(&mut self) -> Option<(String, bool)> {
        let running = self.running.as_ref()?;
        let told = running.ended()?;
        let name = running.kind.name();
        let words = match told {
            Ok(None) => (format!("{name}: {}", running.path.display()), false),
            Ok(Some(why)) => (
                format!(
                    "{name}: {}, without pictures: {why}",
                    running.path.display()
                ),
                false,
            ),
            Err(None) => (
                format!("{name}: stopped. What is done of a film is kept: make it again to go on"),
                false,
            ),
            Err(Some(why)) => (format!("{name} could not be made: {why}"), true),
        };
        self.running = None;
        Some(words)
    }
}
