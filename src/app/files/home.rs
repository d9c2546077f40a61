//! Folders of the user that settings and recovered work are kept in.

use std::path::PathBuf;

/// Where this program keeps its own files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Home {
    /// Folder of the settings.
    pub config: PathBuf,
    /// Folder of work that is not saved yet.
    pub recovery: PathBuf,
}

impl Home {
    /// The usual folders of the user; `None` where there is no home.
    pub fn of_user() -> Option<Self> {
        let dirs = directories::ProjectDirs::from("", "", "lustrewalk")?;
        Some(Self {
            config: dirs.config_dir().to_path_buf(),
            recovery: dirs.data_local_dir().join("recovery"),
        })
    }

    /// Both in one folder.
    pub fn in_folder(folder: &std::path::Path) -> Self {
        Self {
            config: folder.join("config"),
            recovery: folder.join("recovery"),
        }
    }
}
