//! `study`: the main job.

use std::path::{Path, PathBuf};

use clap::Args;
use miette::{IntoDiagnostic, miette};
use rayon::prelude::*;

use super::{bar::Bar, files};
use crate::{
    outcome,
    report::{Quantity, piece_sheet_svg, plan_svg, walk_by_day_svg},
    room::BuiltRoom,
    study::{self, Study, StudyRequest, StudySettings},
};

/// Arguments of `study`.
#[derive(Debug, Args)]
pub struct StudyArgs {
    /// Room file.
    room: PathBuf,
    /// Folder for tables, charts and the plan.
    #[arg(long)]
    out: Option<PathBuf>,
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
    /// Leave out the tables of single tiles, which are large.
    #[arg(long)]
    without_tiles: bool,
    /// Print the whole result as JSON instead of the summary.
    #[arg(long)]
    json: bool,
    /// Seed of all random points.
    #[arg(long, default_value_t = 1)]
    seed: u32,
}

pub(super) fn run(args: &StudyArgs) -> miette::Result<()> {
    let room = files::room(&args.room)?;
    let request = StudyRequest::for_room(&room, &args.day, args.from.as_deref(), args.to.as_deref(), args.step, &args.sky)
        .map_err(|e| miette!(help = "days as 2026-06-21, clock times as 09:30; skies: clear, overcast, intermediate, hazy", "{e}"))?;
    if request.from_min >= 24 * 60 {
        return Err(miette!(
            help = "the first clock time of a day is 23:59 at the latest",
            "no hours are left of a day from 24:00"
        ));
    }
    if let Some(out) = &args.out {
        files::writable(out)?;
    }
    let mut settings = StudySettings::default();
    settings.room.seed = args.seed;
    settings.view.seed = args.seed.wrapping_add(1);
    let bar = Bar::new("light, view, hours");
    let room = std::sync::Arc::new(room);
    let result = study::run(&room, &request, &settings, bar.progress()).into_diagnostic()?;
    drop(bar);
    if let Some(out) = &args.out {
        write_all(out, &room, &result, !args.without_tiles)?;
    }
    if args.json {
        return files::print_with(|out| {
            outcome::write_json(&room, &result, !args.without_tiles, &mut *out)?;
            out.write_all(
                b"
",
            )
        });
    }
    let mut text = outcome::summary(&room, &result);
    match &args.out {
        Some(out) => text.push_str(&format!(
            "\nStart with {}; piece.png has the numbers of the tiles, the charts lie beside it, tables in {}\n",
            out.join("plan.png").display(),
            out.join("tables").display()
        )),
        None => text.push_str("\nAdd --out FOLDER for charts, the plan and all tables.\n"),
    }
    files::print(&text)
}

fn write_all(out: &Path, room: &BuiltRoom, result: &Study, tiles: bool) -> miette::Result<()> {
    let tables = out.join("tables");
    let quantities = [("glow", Quantity::Glow), ("play", Quantity::Play)]
        .map(|(word, q)| (word, outcome::common_range(result, &q), q));
    let mut work: Vec<Box<dyn Fn() -> miette::Result<()> + Send + Sync + '_>> = Vec::new();
    work.push(Box::new(|| {
        files::draw(out, "plan", plan_svg(&outcome::plan(room, Some(result))))
    }));
    work.push(Box::new(|| {
        files::draw(out, "piece", piece_sheet_svg(&outcome::piece_sheet(room)))
    }));
    let walks = walk_slugs(result);
    for day in &result.days {
        let slug = outcome::day_slug(day);
        files::write(
            &tables.join(format!("flags-{slug}.csv")),
            &outcome::flags_csv(result, day),
        )?;
        for (w, walk) in walks.iter().enumerate() {
            let name = format!("{walk}-{slug}");
            let stations = outcome::stations_csv(result, day, w);
            files::write(&tables.join(format!("stations-{name}.csv")), &stations)?;
            if tiles {
                let path = tables.join(format!("tiles-{name}.csv"));
                work.push(Box::new(move || {
                    files::write(&path, &outcome::tiles_csv(result, day, w))
                }));
            }
            for (word, range, quantity) in &quantities {
                let name = format!("{word}-{name}");
                work.push(Box::new(move || {
                    let chart = outcome::chart(room, result, day, w, quantity.clone(), *range);
                    files::draw(out, &name, walk_by_day_svg(&chart))
                }));
            }
        }
    }
    work.push(Box::new(|| {
        let path = out.join("study.json");
        crate::room::save_atomically_with(&path, |file| {
            Ok(outcome::write_json(room, result, tiles, file)?)
        })?;
        Ok(())
    }));
    work.par_iter().try_for_each(|part| part())?;
    files::write(
        &out.join("cautions.txt"),
        outcome::cautions(room, result).as_bytes(),
    )?;
    files::write(
        &out.join("summary.txt"),
        outcome::summary(room, result).as_bytes(),
    )
}

/// The walks' names as parts of file names; of names that come out alike, the later ones are numbered.
fn walk_slugs(result: &Study) -> Vec<String> {
    let mut slugs: Vec<String> = Vec::new();
    for walk in &result.walks {
        let plain = outcome::slug(&walk.name);
        let numbered = (2..).map(|n| format!("{plain}-{n}"));
        let free = std::iter::once(plain.clone())
            .chain(numbered)
            .find(|name| !slugs.contains(name));
        slugs.push(free.unwrap_or(plain));
    }
    slugs
}
