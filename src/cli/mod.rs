//! The command line: arguments, and one file per subcommand. The only part that prints.

mod aim;
mod bar;
mod check;
mod chosen;
mod dossier;
mod files;
mod film;
mod grain;
mod meter;
mod page;
mod rank;
mod study;

use clap::{Parser, Subcommand};

pub use aim::AimArgs;
pub use check::CheckArgs;
pub use dossier::DossierArgs;
pub use film::FilmArgs;
pub use grain::GrainArgs;
pub use meter::MeterArgs;
pub use page::PageArgs;
pub use rank::RankArgs;
pub use study::StudyArgs;

/// Plans where a wall piece of lustrous material should hang, how it should be turned and lit, from
/// what visitors see of it as they walk past through the day.
#[derive(Debug, Parser)]
#[command(
    name = "lustrewalk",
    version,
    about,
    max_term_width = 100,
    args_conflicts_with_subcommands = true
)]
pub struct Cli {
    /// What to do; without a command the window opens.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// Room file that the window opens on; the demo hall when left out.
    #[arg(value_parser = room_path)]
    pub room: Option<std::path::PathBuf>,
}

/// A path of a room file; a bare word that is no file is a mistyped command.
fn room_path(text: &str) -> Result<std::path::PathBuf, String> {
    let path = std::path::PathBuf::from(text);
    if path.extension().is_some() || path.exists() {
        return Ok(path);
    }
    Err(format!(
        "{text:?} is neither a command (check, meter, study, rank, aim, grain, film, dossier, page) nor a room file"
    ))
}

/// The subcommands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Check a room, piece, photometric, weather or drawing file and print what is in it.
    Check(CheckArgs),
    /// Measure at points of a room: illuminance with its parts, or the luminance of a tile for an eye.
    Meter(MeterArgs),
    /// Compute what visitors see on every walk through the day: tables, charts, flags with reasons.
    Study(StudyArgs),
    /// Judge every place where the piece could hang: walls, heights, turns, best first, with reasons.
    Rank(RankArgs),
    /// Advise which fixtures to fit, where, aimed and dimmed how; write the aiming schedule.
    Aim(AimArgs),
    /// Advise how the grain of every tile lies, and write the cutting list.
    Grain(GrainArgs),
    /// Film a walk, a day at one place, or both: a video and stills.
    Film(FilmArgs),
    /// Write the dossier for commissioner, electrician and installer: one PDF.
    Dossier(DossierArgs),
    /// Write a stand-alone web page: slide along the walk and through the day.
    Page(PageArgs),
}

/// Runs a parsed command line.
///
/// # Errors
/// Whatever went wrong, ready to print.
pub fn run(cli: &Cli) -> miette::Result<()> {
    // Wrapping would break dates and file names at their hyphens. A hook that somebody set before stays.
    let _ = miette::set_hook(Box::new(|_| {
        Box::new(miette::MietteHandlerOpts::new().wrap_lines(false).build())
    }));
    match &cli.command {
        Some(Command::Check(args)) => check::run(args),
        Some(Command::Meter(args)) => meter::run(args),
        Some(Command::Study(args)) => study::run(args),
        Some(Command::Rank(args)) => rank::run(args),
        Some(Command::Aim(args)) => aim::run(args),
        Some(Command::Grain(args)) => grain::run(args),
        Some(Command::Film(args)) => film::run(args),
        Some(Command::Dossier(args)) => dossier::run(args),
        Some(Command::Page(args)) => page::run(args),
        None => open_window(cli.room.clone()),
    }
}

#[cfg(feature = "app")]
fn open_window(room: Option<std::path::PathBuf>) -> miette::Result<()> {
    crate::app::run(room)
}

#[cfg(not(feature = "app"))]
fn open_window(_: Option<std::path::PathBuf>) -> miette::Result<()> {
    Err(miette::miette!(
        help = "build it with the feature `app`, which is on by default",
        "this build has no window"
    ))
}

/// Why a build without drawing makes no pictures.
#[cfg(not(feature = "app"))]
fn no_drawing() -> miette::Report {
    miette::miette!(
        help = "build it with the feature `app`, which is on by default",
        "this build cannot draw pictures"
    )
}

/// Whether an error only says that nobody reads the output any more.
pub fn is_broken_pipe(report: &miette::Report) -> bool {
    report
        .chain()
        .filter_map(|e| e.downcast_ref::<std::io::Error>())
        .any(|e| e.kind() == std::io::ErrorKind::BrokenPipe)
}
