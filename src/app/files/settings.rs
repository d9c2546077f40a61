//! What the user prefers and which rooms were open, kept between sessions.

use std::{
    fs,
    path::{Path, PathBuf},
};

use serde::{Deserialize, Serialize};

use super::Home;
use crate::{
    app::{state::Charted, typed::LengthUnit},
    room::save_atomically,
};

/// Most rooms that are remembered.
pub const MOST_RECENT: usize = 10;
const FILE: &str = "settings.ron";

/// Settings as they are kept.
#[derive(bevy::ecs::resource::Resource, Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Unit of lengths.
    pub unit: LengthUnit,
    /// What the chart shows.
    pub charted: Charted,
    /// Size of letters and panels, 1 to 2.5.
    pub scale: f32,
    /// Rooms that were open, the last first.
    pub recent: Vec<PathBuf>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            unit: LengthUnit::default(),
            charted: Charted::default(),
            scale: 1.0,
            recent: Vec::new(),
        }
    }
}

impl Settings {
    /// The kept settings; the usual ones where there are none or they cannot be read.
    pub fn read(home: &Home) -> Self {
        let text = fs::read_to_string(home.config.join(FILE)).unwrap_or_default();
        let mut kept: Self = ron::from_str(&text).unwrap_or_default();
        kept.scale = if kept.scale.is_finite() {
            kept.scale.clamp(1.0, 2.5)
        } else {
            1.0
        };
        kept.recent.truncate(MOST_RECENT);
        kept
    }

    /// Keeps them.
    ///
    /// # Errors
    /// The folder cannot be written to, in words.
    pub fn write(&self, home: &Home) -> Result<(), String> {
        let text = ron::ser::to_string_pretty(self, ron::ser::PrettyConfig::default())
            .map_err(|e| e.to_string())?;
        fs::create_dir_all(&home.config).map_err(|e| e.to_string())?;
        save_atomically(&home.config.join(FILE), text.as_bytes()).map_err(|e| e.to_string())
    }

    /// Notes a room as the last one that was open.
    pub fn note(&mut self, path: &Path) {
        let whole = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
        self.recent.retain(|p| *p != whole);
        self.recent.insert(0, whole);
        self.recent.truncate(MOST_RECENT);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_come_back_and_broken_ones_are_the_usual() {
        let folder = tempfile::tempdir().unwrap();
        let home = Home::in_folder(folder.path());
        assert_eq!(Settings::read(&home), Settings::default());
        let mut kept = Settings {
            unit: LengthUnit::Feet,
            scale: 1.75,
            ..Settings::default()
        };
        for i in 0..14 {
            kept.note(Path::new(&format!("room-{i}.ron")));
        }
        kept.note(Path::new("room-9.ron"));
        kept.write(&home).unwrap();
        let read = Settings::read(&home);
        assert_eq!(read, kept);
        assert_eq!(read.recent.len(), MOST_RECENT);
        assert_eq!(read.recent[0], Path::new("room-9.ron"));
        assert_eq!(read.recent[1], Path::new("room-13.ron"));
        fs::write(home.config.join(FILE), "(scale: nonsense").unwrap();
        assert_eq!(Settings::read(&home), Settings::default());
        fs::write(home.config.join(FILE), "(scale: 900.0)").unwrap();
        assert_eq!(Settings::read(&home).scale, 2.5);
    }
}
