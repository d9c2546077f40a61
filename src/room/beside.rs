//! Reading files from disk: whole, of sensible size, and those that lie beside a room file.

use std::{
    fs,
    io::Read,
    path::{Path, PathBuf},
};

use super::{FileLoader, RoomError, RoomFile, parse_room, validate};

/// Largest file of any kind that is read [bytes].
const MOST_BYTES: u64 = 64 << 20;

/// Reads a whole file, refusing folders and giants.
///
/// # Errors
/// Whatever keeps it from being read.
pub fn read_whole(path: &Path) -> Result<Vec<u8>, std::io::Error> {
    let file = fs::File::open(path)?;
    let meta = file.metadata()?;
    if meta.is_dir() {
        return Err(std::io::Error::new(
            std::io::ErrorKind::IsADirectory,
            "it is a folder",
        ));
    }
    let mut bytes = Vec::new();
    file.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(std::io::Error::new(
            std::io::ErrorKind::FileTooLarge,
            "it is larger than 64 MB",
        ));
    }
    Ok(bytes)
}

/// Reads, parses and validates a room file.
///
/// # Errors
/// The file cannot be read, is no text, or has problems.
pub fn read_room(path: &Path) -> Result<RoomFile, RoomError> {
    let (room, text, name) = read_and_parse(path)?;
    validate(&room, &text, &name)?;
    Ok(room)
}

/// Reads and parses a room file whose values may still have problems: for editing, where they are mended.
///
/// # Errors
/// The file cannot be read, is no text or no room.
pub fn read_as_written(path: &Path) -> Result<RoomFile, RoomError> {
    read_and_parse(path).map(|(room, ..)| room)
}

fn read_and_parse(path: &Path) -> Result<(RoomFile, String, String), RoomError> {
    let name = path.display().to_string();
    let bytes = read_whole(path).map_err(|source| RoomError::Unreadable {
        name: name.clone(),
        source,
    })?;
    let text = String::from_utf8(bytes).map_err(|e| RoomError::NotText {
        name: name.clone(),
        byte: e.utf8_error().valid_up_to(),
    })?;
    let room = parse_room(&text, &name)?;
    Ok((room, text, name))
}

/// Loads files beside a room file.
#[derive(Clone, Debug, Default)]
pub struct Beside {
    folder: PathBuf,
}

impl Beside {
    /// Files beside the room file at a path.
    pub fn new(room: &Path) -> Self {
        Self::in_folder(room.parent().map(Path::to_path_buf).unwrap_or_default())
    }

    /// Files in a folder.
    pub fn in_folder(folder: PathBuf) -> Self {
        Self { folder }
    }
}

impl FileLoader for Beside {
    fn load(&mut self, name: &str) -> Result<Vec<u8>, std::io::Error> {
        read_whole(&self.folder.join(name))
    }
}
