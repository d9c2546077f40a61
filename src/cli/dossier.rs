//! `dossier`: one PDF for the commissioner, the electrician and the installer.

use std::{path::PathBuf, sync::Arc};

use clap::{Args, ValueEnum};
use miette::{IntoDiagnostic, miette};

use super::{bar::Bar, files};
use crate::{
    outcome::{Lengths, Paper},
    present::{DossierWishes, make_dossier},
    study::{self, StudyRequest, StudySettings},
};

/// Sizes of paper to choose from.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum PaperName {
    A4,
    Letter,
}

/// Units to choose from.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum UnitsName {
    Metric,
    Imperial,
}

/// Arguments of `dossier`.
#[derive(Debug, Args)]
pub struct DossierArgs {
    /// Room file.
    room: PathBuf,
    /// The document (.pdf).
    #[arg(long)]
    out: PathBuf,
    /// Day to study, e.g. 2026-06-21; may be given several times.
    #[arg(long)]
    day: Vec<String>,
    /// First clock time of each day.
    #[arg(long, value_name = "HH:MM")]
    from: Option<String>,
    /// Last clock time of each day.
    #[arg(long, value_name = "HH:MM")]
    to: Option<String>,
    /// Minutes between instants.
    #[arg(long, value_name = "MINUTES", value_parser = clap::value_parser!(u32).range(1..=720))]
    step: Option<u32>,
    /// Sky: clear, overcast, intermediate or hazy; may be given several times.
    #[arg(long)]
    sky: Vec<String>,
    /// Compare every place of the room, not only the present one and those that the room names; takes a minute more.
    #[arg(long)]
    every_place: bool,
    /// Paper.
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperName,
    /// Units of lengths.
    #[arg(long, value_enum, default_value = "metric")]
    units: UnitsName,
    /// Leave out pictures, which need a graphics adapter.
    #[arg(long)]
    no_pictures: bool,
    /// Print what was made as JSON.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &DossierArgs) -> miette::Result<()> {
    let room = Arc::new(files::room(&args.room)?);
    let request = StudyRequest::for_room(
        &room,
        &args.day,
        args.from.as_deref(),
        args.to.as_deref(),
        args.step,
        &args.sky,
    )
    .map_err(|e| {
        miette!(
            help = "days as 2026-06-21, clock times as 09:30; skies: clear, overcast, intermediate, hazy",
            "{e}"
        )
    })?;
    let folder = args.out.parent().filter(|p| !p.as_os_str().is_empty());
    files::writable(folder.unwrap_or(std::path::Path::new(".")))?;
    let bar = Bar::new("light, view, hours");
    let result =
        study::run(&room, &request, &StudySettings::default(), bar.progress()).into_diagnostic()?;
    drop(bar);
    let begin = std::time::Instant::now();
    let paper = match args.paper {
        PaperName::A4 => Paper::A4,
        PaperName::Letter => Paper::Letter,
    };
    let lengths = match args.units {
        UnitsName::Metric => Lengths::Metres,
        UnitsName::Imperial => Lengths::Feet,
    };
    let bar = Bar::new("places, pictures, pages");
    let document = make_dossier(
        &room,
        &result,
        &request,
        &DossierWishes {
            every_place: args.every_place,
            pictures: !args.no_pictures,
            paper,
            lengths,
            issued: Some(jiff::ZonedDateTime::now().date()),
        },
        bar.progress(),
    )
    .into_diagnostic()?;
    drop(bar);
    files::write(&args.out, &document.bytes)?;
    if args.json {
        let json = serde_json::json!({
            "file": args.out.display().to_string(),
            "bytes": document.bytes.len(),
            "pictures": document.pictures,
            "no_pictures": document.no_pictures,
            "seconds_after_the_study": begin.elapsed().as_secs_f32(),
        });
        return files::print(&format!("{json:#}\n"));
    }
    if let Some(why) = &document.no_pictures {
        eprintln!("note: the dossier has no pictures: {why}");
    }
    files::print(&format!(
        "{}: {:.1} MB, {} pictures, made in {:.0} s after the study\n",
        args.out.display(),
        document.bytes.len() as f64 / 1e6,
        document.pictures,
        begin.elapsed().as_secs_f32()
    ))
}
