//! `grain`: how the grain of every tile lies, for the light that is there.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use miette::{IntoDiagnostic, miette};

use super::{bar::Bar, files};
use crate::{
    advice::grain::{GrainSettings, grain},
    outcome,
    report::piece_sheet_svg,
    room::{GrainWish, Turns, write_room},
    study::StudyRequest,
};

/// What the grain is chosen for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Wish {
    /// A strong pattern that changes as one walks.
    Lively,
    /// Matched pairs that look alike from everywhere.
    Steady,
}

/// Arguments of `grain`.
#[derive(Debug, Args)]
pub struct GrainArgs {
    /// Room file; its section `advice.grain` says which tiles may turn.
    room: PathBuf,
    /// Folder for the cutting list and the sheets of both sides.
    #[arg(long)]
    out: Option<PathBuf>,
    /// What the grain is chosen for.
    #[arg(long, value_enum)]
    wish: Option<Wish>,
    /// Step between arrows [deg].
    #[arg(long, value_name = "DEGREES", conflicts_with = "flips")]
    step: Option<f32>,
    /// Tiles may only be turned end for end.
    #[arg(long)]
    flips: bool,
    /// Tiles that have the same arrow now keep having the same.
    #[arg(long)]
    together: bool,
    /// Walk that counts; the one with most visitors when left out.
    #[arg(long)]
    walk: Option<String>,
    /// Day to plan for, e.g. 2026-06-21; may be given several times.
    #[arg(long)]
    day: Vec<String>,
    /// Sky: clear, overcast, intermediate or hazy; may be given several times.
    #[arg(long)]
    sky: Vec<String>,
    /// Write the room with the arrows advised to this file.
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// Print the whole result as JSON instead of the summary.
    #[arg(long)]
    json: bool,
    /// Seed of all random points.
    #[arg(long, default_value_t = 1)]
    seed: u32,
}

pub(super) fn run(args: &GrainArgs) -> miette::Result<()> {
    let room = std::sync::Arc::new(files::room(&args.room)?);
    let request =
        StudyRequest::for_room(&room, &args.day, None, None, None, &args.sky).map_err(|e| {
            miette!(
                help = "days as 2026-06-21; skies: clear, overcast, intermediate, hazy",
                "{e}"
            )
        })?;
    if let Some(out) = &args.out {
        files::writable(out)?;
    }
    let mut settings = GrainSettings::for_room(&room.file);
    settings.seed = args.seed;
    let choices = &mut settings.choices;
    if args.flips {
        choices.turns = Turns::Flips;
    }
    if let Some(step) = args.step {
        if !(1.0..=180.0).contains(&step) {
            return Err(miette!(
                help = "a step lies between 1 and 180 degrees",
                "no step of {step} degrees"
            ));
        }
        choices.turns = Turns::Steps(step);
    }
    choices.together |= args.together;
    if args.walk.is_some() {
        choices.walk.clone_from(&args.walk);
    }
    match args.wish {
        Some(Wish::Lively) => choices.wish = GrainWish::Lively,
        Some(Wish::Steady) => choices.wish = GrainWish::Steady,
        None => {}
    }
    let bar = Bar::new("arrows");
    let plan = grain(&room, &request, &settings, bar.progress()).into_diagnostic()?;
    drop(bar);
    let advised = room.changed(plan.file.clone()).into_diagnostic()?;
    if let Some(out) = &args.out {
        let front = outcome::cutting_sheet(&advised, &plan.turned, outcome::Side::Front);
        let back = outcome::cutting_sheet(&advised, &plan.turned, outcome::Side::Back);
        files::draw(out, "cutting-front", piece_sheet_svg(&front))?;
        files::draw(out, "cutting-back", piece_sheet_svg(&back))?;
        files::write(
            &out.join("cutting.csv"),
            &outcome::cutting_csv(&advised, &plan.turned),
        )?;
    }
    if let Some(path) = &args.write {
        let text = write_room(&plan.file).into_diagnostic()?;
        files::write(path, text.as_bytes())?;
    }
    if args.json {
        let json = outcome::grain_json(&room, &plan);
        return files::print(&format!("{json:#}\n"));
    }
    let mut text = outcome::grain_text(&room, &plan);
    match &args.out {
        Some(out) => text.push_str(&format!(
            "\nThe cutting list is {}, its sheets lie beside it\n",
            out.join("cutting.csv").display()
        )),
        None => text.push_str("\nAdd --out FOLDER for the cutting list and its sheets.\n"),
    }
    files::print(&text)
}
