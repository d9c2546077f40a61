//! Saving that never loses the last good version: write beside, flush to disk, rename.

use std::{
    fs,
    io::Write,
    path::{Path, PathBuf},
};

use super::RoomError;

/// Replaces `path` by `bytes`, whole or not at all. A link stays a link: its target is replaced.
///
/// # Errors
/// [`RoomError::Unwritable`]; the old file is then untouched.
pub fn save_atomically(path: &Path, bytes: &[u8]) -> Result<(), RoomError> {
    save_atomically_with(path, |file| file.write_all(bytes))
}

/// The same with a function that writes, for what is too large to hold twice.
///
/// # Errors
/// [`RoomError::Unwritable`]; the old file is then untouched.
pub fn save_atomically_with(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> std::io::Result<()>,
) -> Result<(), RoomError> {
    let fail = |source| RoomError::Unwritable {
        name: path.display().to_string(),
        source,
    };
    let target: PathBuf = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let folder = target
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(fail)?;
    let mut buffered = std::io::BufWriter::new(&mut file);
    write(&mut buffered)
        .and_then(|()| buffered.flush())
        .map_err(fail)?;
    drop(buffered);
    file.as_file().sync_all().map_err(fail)?;
    if let Ok(old) = fs::metadata(&target) {
        file.as_file()
            .set_permissions(old.permissions())
            .map_err(fail)?;
    } else {
        open_to_reading(file.as_file()).map_err(fail)?;
    }
    // A virus scanner or a share may hold the target for a moment.
    let mut pending = file;
    for attempt in 0..5 {
        match pending.persist(&target) {
            Ok(_) => {
                if let Ok(folder) = fs::File::open(folder) {
                    // Best effort: some file systems cannot flush a folder.
                    let _ = folder.sync_all();
                }
                return Ok(());
            }
            Err(error) if attempt == 4 => return Err(fail(error.error)),
            Err(error) => {
                pending = error.file;
                std::thread::sleep(std::time::Duration::from_millis(20 << attempt));
            }
        }
    }
    Ok(())
}

/// Temporary files start private; a new file should be readable as any other.
#[cfg(unix)]
fn open_to_reading(file: &fs::File) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn open_to_reading(_: &fs::File) -> std::io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn old_text_is_replaced_whole_and_nothing_is_left_beside() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("room.ron");
        save_atomically(&path, b"one").unwrap();
        save_atomically(&path, b"two").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn missing_folder_is_an_error_that_names_the_file() {
        let folder = tempfile::tempdir().unwrap();
        let error = save_atomically(&folder.path().join("no/such.ron"), b"x").unwrap_err();
        assert!(error.to_string().contains("such.ron"), "{error}");
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link() {
        let folder = tempfile::tempdir().unwrap();
        let real = folder.path().join("real.ron");
        let link = folder.path().join("link.ron");
        fs::write(&real, b"one").unwrap();
        std::os::unix::fs::symlink(&real, &link).unwrap();
        save_atomically(&link, b"two").unwrap();
        assert!(
            fs::symlink_metadata(&link)
                .unwrap()
                .file_type()
                .is_symlink()
        );
        assert_eq!(fs::read(&real).unwrap(), b"two");
    }
}
