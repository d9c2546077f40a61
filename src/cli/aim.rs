//! `aim`: which fixtures, where, aimed how, dimmed how far; and the schedule.

use std::path::PathBuf;

use clap::Args;
use miette::{IntoDiagnostic, miette};

use super::{bar::Bar, files};
use crate::{
    advice::{
        aim::{AimSettings, aim},
        schedule::schedule,
    },
    outcome::{self, Lengths},
    report::{aiming_sheet_svg, plan_svg},
    room::{BuiltRoom, write_room},
    transport::{Progress, RoomLight, RoomLightSettings},
};

/// Arguments of `aim`.
#[derive(Debug, Args)]
pub struct AimArgs {
    /// Room file; its section `advice.lamps` says what may be changed.
    room: PathBuf,
    /// Folder for the aiming sheet, the plan and the schedule.
    #[arg(long)]
    out: Option<PathBuf>,
    /// Planned instant with its sky, e.g. 2026-12-21T18:00=overcast; may be given several times.
    #[arg(long, value_name = "TIME=SKY")]
    at: Vec<String>,
    /// Most new fixtures.
    #[arg(long, value_parser = clap::value_parser!(u32).range(0..=24))]
    most: Option<u32>,
    /// Only the schedule of the fixtures that the room has: nothing is searched.
    #[arg(long)]
    as_is: bool,
    /// Lengths in feet and inches.
    #[arg(long)]
    feet: bool,
    /// Write the room with the fixtures advised to this file.
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// Print the whole result as JSON instead of the summary.
    #[arg(long)]
    json: bool,
    /// Seed of all random points.
    #[arg(long, default_value_t = 1)]
    seed: u32,
}

pub(super) fn run(args: &AimArgs) -> miette::Result<()> {
    let room = std::sync::Arc::new(files::room(&args.room)?);
    if let Some(out) = &args.out {
        files::writable(out)?;
    }
    let lengths = if args.feet {
        Lengths::Feet
    } else {
        Lengths::Metres
    };
    if args.as_is {
        return schedule_alone(args, &room, lengths);
    }
    let mut settings = AimSettings::for_room(&room.file);
    settings.seed = args.seed;
    if let Some(most) = args.most {
        settings.lamps.most = most as usize;
    }
    if !args.at.is_empty() {
        settings.lamps.at = args
            .at
            .iter()
            .map(|text| instant(text))
            .collect::<miette::Result<_>>()?;
    }
    let bar = Bar::new("fixtures");
    let plan = aim(&room, &settings, bar.progress()).into_diagnostic()?;
    drop(bar);
    let advised = room.changed(plan.file.clone()).into_diagnostic()?;
    let rows = rows(&advised)?;
    if let Some(out) = &args.out {
        write_sheets(out, &advised, &rows, lengths)?;
    }
    if let Some(path) = &args.write {
        let text = write_room(&plan.file).into_diagnostic()?;
        files::write(path, text.as_bytes())?;
    }
    if args.json {
        let json = outcome::lamps_json(&room, &plan, &rows);
        return files::print(&format!("{json:#}\n"));
    }
    let mut text = outcome::lamps_text(&room, &plan);
    text.push_str(&where_to_look(args));
    files::print(&text)
}

fn where_to_look(args: &AimArgs) -> String {
    match &args.out {
        Some(out) => format!(
            "\nThe aiming sheet is {}, the table {}\n",
            out.join("aiming.png").display(),
            out.join("aiming.csv").display()
        ),
        None => "\nAdd --out FOLDER for the aiming sheet, the plan and the schedule.\n".into(),
    }
}

fn rows(room: &BuiltRoom) -> miette::Result<Vec<crate::advice::schedule::ScheduleRow>> {
    // What stands in a beam needs no bounces.
    let settings = RoomLightSettings {
        patch_m: 4.0,
        hemisphere_count: 4,
        pane_count: 4,
        points_per_patch: 1,
        sky_refinement: 1,
        ..RoomLightSettings::default()
    };
    let light =
        RoomLight::prepare(room.scene.clone(), settings, &Progress::default()).into_diagnostic()?;
    Ok(schedule(room, &light))
}

fn schedule_alone(args: &AimArgs, room: &BuiltRoom, lengths: Lengths) -> miette::Result<()> {
    let rows = rows(room)?;
    if let Some(out) = &args.out {
        write_sheets(out, room, &rows, lengths)?;
    }
    if args.json {
        let json = serde_json::json!({"room": room.file.name, "schedule": rows, "cautions": outcome::FIXTURE_CAUTIONS});
        return files::print(&format!("{json:#}\n"));
    }
    let table = outcome::schedule_csv(&rows, lengths);
    files::print(&String::from_utf8_lossy(&table))
}

fn write_sheets(
    out: &std::path::Path,
    room: &BuiltRoom,
    rows: &[crate::advice::schedule::ScheduleRow],
    lengths: Lengths,
) -> miette::Result<()> {
    let sheet = outcome::aiming_sheet(room, rows, lengths);
    files::draw(out, "aiming", aiming_sheet_svg(&sheet))?;
    files::draw(out, "plan", plan_svg(&outcome::plan(room, None)))?;
    files::write(
        &out.join("aiming.csv"),
        &outcome::schedule_csv(rows, lengths),
    )?;
    files::write(
        &out.join("cautions.txt"),
        outcome::advice_cautions(room).as_bytes(),
    )
}

/// Reads "time=sky".
fn instant(text: &str) -> miette::Result<(String, String)> {
    let wrong = || {
        miette!(
            help = "write e.g. --at 2026-12-21T18:00=overcast; skies: clear, overcast, intermediate, hazy",
            "{text:?} is no instant with a sky"
        )
    };
    let (time, sky) = text.split_once('=').ok_or_else(wrong)?;
    let (time, sky) = (time.trim(), sky.trim().to_lowercase());
    let known = crate::sky::SKY_NAMES.contains(&sky.as_str());
    if !known || time.parse::<jiff::civil::DateTime>().is_err() {
        return Err(wrong());
    }
    Ok((time.to_owned(), sky))
}
