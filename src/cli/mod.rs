//! The command line: arguments, and one file per subcommand. The only part that prints.

mod bar;
mod check;
mod files;
mod meter;
mod study;

use clap::{Parser, Subcommand};

pub use check::CheckArgs;
pub use meter::MeterArgs;
pub use study::StudyArgs;

/// Plans where a wall piece of lustrous material should hang, how it should be turned and lit, from
/// what visitors see of it as they walk past through the day.
#[derive(Debug, Parser)]
#[command(name = "lustrewalk", version, about, max_term_width = 100)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
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
        Command::Check(args) => check::run(args),
        Command::Meter(args) => meter::run(args),
        Command::Study(args) => study::run(args),
    }
}

/// Whether an error only says that nobody reads the output any more.
pub fn is_broken_pipe(report: &miette::Report) -> bool {
    report
        .chain()
        .filter_map(|e| e.downcast_ref::<std::io::Error>())
        .any(|e| e.kind() == std::io::ErrorKind::BrokenPipe)
}
