//! Reading room files with the files that they name.

use std::{fs, io::Write, path::Path};

use miette::{Context, IntoDiagnostic, miette};

use crate::room::{Beside, BuiltRoom, build, read_room};

/// Reads and builds a room with all that it names.
pub(super) fn room(path: &Path) -> miette::Result<BuiltRoom> {
    let file = read_room(path)?;
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

/// Makes a folder and finds out that it can be written: before the work, not after it.
pub(super) fn writable(folder: &Path) -> miette::Result<()> {
    fs::create_dir_all(folder)
        .and_then(|()| tempfile::tempfile_in(folder).map(|_| ()))
        .map_err(|e| {
            miette!(
                help = "choose a folder that can be written",
                "cannot write to {}: {e}",
                folder.display()
            )
        })
}

/// Writes a drawing as SVG and as PNG.
pub(super) fn draw(folder: &Path, name: &str, svg: String) -> miette::Result<()> {
    let png = crate::report::png_from_svg(&svg, 1.0).into_diagnostic()?;
    write(&folder.join(format!("{name}.png")), &png)?;
    write(&folder.join(format!("{name}.svg")), svg.as_bytes())
}
