//! The command `lustrewalk`: reads arguments, runs one subcommand, prints its errors.

use std::process::ExitCode;

use clap::Parser;
use lustrewalk::cli::{Cli, run};

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version are no errors; anything else is usage.
            let code = if error.use_stderr() { 2 } else { 0 };
            let _ = error.print();
            return ExitCode::from(code);
        }
    };
    match run(&cli) {
        Ok(()) => ExitCode::SUCCESS,
        Err(report) if lustrewalk::cli::is_broken_pipe(&report) => ExitCode::SUCCESS,
        Err(report) => {
            eprintln!("{report:?}");
            ExitCode::FAILURE
        }
    }
}
