//! Reading room files with the files that they name.

use std::{
    fs,
    io::{Read, Write},
    path::{Path, PathBuf},
};

use miette::{Context, IntoDiagnostic, miette};

use crate::room::{BuiltRoom, FileLoader, RoomError, RoomFile, build, parse_room, validate};

/// Largest file of any kind that is read [bytes].
const MOST_BYTES: u64 = 64 << 20;

/// Reads a whole file, refusing folders and giants.
pub(super) fn read(path: &Path) -> Result<Vec<u8>, std::io::Error> {
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

/// Loads files beside a room file.
pub(super) struct Beside {
    folder: PathBuf,
}

impl Beside {
    pub(super) fn new(room: &Path) -> Self {
        Self {
            folder: room.parent().map(Path::to_path_buf).unwrap_or_default(),
        }
    }
}

impl FileLoader for Beside {
    fn load(&mut self, name: &str) -> Result<Vec<u8>, std::io::Error> {
        read(&self.folder.join(name))
    }
}

/// Parses and validates a room file's text.
pub(super) fn room_file(path: &Path) -> miette::Result<RoomFile> {
    let name = path.display().to_string();
    let bytes = read(path).map_err(|source| RoomError::Unreadable {
        name: name.clone(),
        source,
    })?;
    let text = String::from_utf8(bytes).map_err(|e| {
        miette!(
            help = "save it as UTF-8 text",
            "{name} is not UTF-8 text: byte {} is not",
            e.utf8_error().valid_up_to()
        )
    })?;
    let room = parse_room(&text, &name)?;
    validate(&room, &text, &name)?;
    Ok(room)
}

/// Reads and builds a room with all that it names.
pub(super) fn room(path: &Path) -> miette::Result<BuiltRoom> {
    let file = room_file(path)?;
    build(file, &mut Beside::new(path)).map_err(|error| {
        let found = error.listing();
        let message = |(message, _): &(String, String)| message.clone();
        if let [one] = found.as_slice() {
            return miette!(help = one.1.clone(), "{}: {}", path.display(), one.0);
        }
        let all: Vec<String> = found.iter().map(message).collect();
        let help: Vec<&str> = found.iter().map(|(_, help)| help.as_str()).collect();
        miette!(
            help = help.join("\n"),
            "{}: {} problems\n{}",
            path.display(),
            found.len(),
            all.join("\n")
        )
    })
}

/// Writes a line or a text to stdout. That nobody reads it any more is no error.
pub(super) fn print(text: &str) -> miette::Result<()> {
    print_with(|out| out.write_all(text.as_bytes()))
}

/// Writes to stdout; a reader that stopped reading is no error.
pub(super) fn print_with(
    write: impl FnOnce(&mut dyn Write) -> std::io::Result<()>,
) -> miette::Result<()> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    match write(&mut out).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(error).into_diagnostic()
        }
        _ => Ok(()),
    }
}

/// Writes a file whole or not at all, making its folder.
pub(super) fn write(path: &Path, bytes: &[u8]) -> miette::Result<()> {
    if let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
        fs::create_dir_all(folder)
            .into_diagnostic()
            .wrap_err_with(|| format!("cannot make {}", folder.display()))?;
    }
    crate::room::save_atomically(path, bytes)?;
    Ok(())
}
