//! `rank`: where the piece hangs best.

use std::path::PathBuf;

use clap::Args;
use miette::{IntoDiagnostic, miette};

use super::{bar::Bar, files};
use crate::{
    advice::rank::{RankSettings, Ranking, rank},
    outcome,
    report::{plan_svg, ranking_sheet_svg},
    room::write_room,
    study::StudyRequest,
};

/// Arguments of `rank`.
#[derive(Debug, Args)]
pub struct RankArgs {
    /// Room file.
    room: PathBuf,
    /// Folder for the sheet, the plan and the table.
    #[arg(long)]
    out: Option<PathBuf>,
    /// Day to judge, e.g. 2026-06-21; may be given several times.
    #[arg(long)]
    day: Vec<String>,
    /// First clock time of each day.
    #[arg(long, value_name = "HH:MM")]
    from: Option<String>,
    /// Last clock time of each day.
    #[arg(long, value_name = "HH:MM")]
    to: Option<String>,
    /// Sky: clear, overcast, intermediate or hazy; may be given several times.
    #[arg(long)]
    sky: Vec<String>,
    /// Most places to judge.
    #[arg(long, default_value_t = 240, value_parser = clap::value_parser!(u32).range(1..=5000))]
    most: u32,
    /// Places to judge in full.
    #[arg(long, default_value_t = 6, value_parser = clap::value_parser!(u32).range(1..=100))]
    best: u32,
    /// Judge by daylight alone: the room's fixtures stay dark.
    #[arg(long)]
    without_fixtures: bool,
    /// What a part counts, e.g. glaring=2; parts: alive, shift, dead, glaring, dose. May be given several times.
    #[arg(long, value_name = "PART=NUMBER")]
    weight: Vec<String>,
    /// Write the room with the piece at the best place to this file.
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// Print the whole result as JSON instead of the summary.
    #[arg(long)]
    json: bool,
    /// Seed of all random points.
    #[arg(long, default_value_t = 1)]
    seed: u32,
}

pub(super) fn run(args: &RankArgs) -> miette::Result<()> {
    let room = std::sync::Arc::new(files::room(&args.room)?);
    let request = StudyRequest::for_room(
        &room,
        &args.day,
        args.from.as_deref(),
        args.to.as_deref(),
        None,
        &args.sky,
    )
    .map_err(|e| {
        miette!(
            help = "days as 2026-06-21, clock times as 09:30; skies: clear, overcast, intermediate, hazy",
            "{e}"
        )
    })?;
    let mut settings = RankSettings::for_room(&room.file);
    settings.most = args.most as usize;
    settings.finalists = args.best as usize;
    settings.looked_at = settings.looked_at.max(settings.finalists);
    settings.with_fixtures = !args.without_fixtures;
    settings.seed = args.seed;
    for text in &args.weight {
        set_weight(&mut settings.weights, text)?;
    }
    if let Some(out) = &args.out {
        files::writable(out)?;
    }
    let bar = Bar::new("places");
    let ranking =
        rank(&room, &request, &settings, bar.progress(), &mut |_| {}).into_diagnostic()?;
    drop(bar);
    if let Some(out) = &args.out {
        let sheet = outcome::ranking_sheet(&room, &ranking);
        files::draw(out, "ranking", ranking_sheet_svg(&sheet))?;
        files::draw(
            out,
            "places",
            plan_svg(&outcome::ranking_plan(&room, &ranking)),
        )?;
        files::write(
            &out.join("ranking.csv"),
            &outcome::ranking_csv(&room, &ranking),
        )?;
        files::write(
            &out.join("cautions.txt"),
            outcome::advice_cautions(&room).as_bytes(),
        )?;
    }
    if let Some(path) = &args.write {
        files::write(path, taken(&room.file, &ranking)?.as_bytes())?;
    }
    if args.json {
        let json = outcome::ranking_json(&room, &ranking);
        return files::print(&format!("{json:#}\n"));
    }
    let mut text = outcome::ranking_text(&room, &ranking);
    match &args.out {
        Some(out) => text.push_str(&format!(
            "\nThe sheet is {}, the plan {}\n",
            out.join("ranking.png").display(),
            out.join("places.png").display()
        )),
        None => text.push_str("\nAdd --out FOLDER for the sheet, the plan and the table.\n"),
    }
    files::print(&text)
}

/// The room with the piece at the best place, and where it was among its candidates.
fn taken(file: &crate::room::RoomFile, ranking: &Ranking) -> miette::Result<String> {
    let mut file = file.clone();
    if let Some(best) = ranking.places.first() {
        file = crate::advice::rank::taken(&file, &best.placement);
    }
    write_room(&file).into_diagnostic()
}

/// Reads "part=number".
fn set_weight(weights: &mut crate::room::Weights, text: &str) -> miette::Result<()> {
    let wrong = || {
        miette!(
            help = "write e.g. --weight glaring=2; parts are alive, shift, dead, glaring and dose, numbers 0 to 100",
            "{text:?} is no weight"
        )
    };
    let (part, number) = text.split_once('=').ok_or_else(wrong)?;
    let number: f32 = number
        .trim()
        .parse()
        .ok()
        .filter(|n| (0.0..=100.0).contains(n))
        .ok_or_else(wrong)?;
    *match part.trim() {
        "alive" => &mut weights.alive,
        "shift" => &mut weights.shift,
        "dead" => &mut weights.dead,
        "glaring" => &mut weights.glaring,
        "dose" => &mut weights.dose,
        _ => return Err(wrong()),
    } = number;
    Ok(())
}
