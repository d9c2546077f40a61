//! Whether the open file was changed by another program.

use std::{
    fs,
    path::{Path, PathBuf},
    time::SystemTime,
};

/// What a file looked like when it was read or written here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Watched {
    path: PathBuf,
    seen: Option<(SystemTime, u64)>,
}

fn look(path: &Path) -> Option<(SystemTime, u64)> {
    let meta = fs::metadata(path).ok()?;
    Some((meta.modified().ok()?, meta.len()))
}

impl Watched {
    /// The file as it is now.
    pub fn now(path: &Path) -> Self {
        Self {
            path: path.to_path_buf(),
            seen: look(path),
        }
    }

    /// Whether it has changed since, and is there; then it counts as seen.
    pub fn take_change(&mut self) -> bool {
        let now = look(&self.path);
        let changed = now.is_some() && now != self.seen;
        if changed {
            self.seen = now;
        }
        changed
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_is_seen_once() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("room.ron");
        fs::write(&path, "one").unwrap();
        let mut watched = Watched::now(&path);
        assert!(!watched.take_change());
        fs::write(&path, "another").unwrap();
        assert!(watched.take_change());
        assert!(!watched.take_change());
        fs::remove_file(&path).unwrap();
        assert!(
            !watched.take_change(),
            "gone is not changed: it can be saved again"
        );
    }
}
