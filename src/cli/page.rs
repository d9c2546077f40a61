//! `page`: one HTML file to send: slide along the walk and through the day.

use std::{path::PathBuf, sync::Arc};

use clap::Args;
use miette::{IntoDiagnostic, miette};

use super::{bar::Bar, chosen, files};
use crate::{
    outcome::{self, Lengths},
    present::{self, PageWishes, make_page},
    room::BuiltRoom,
    study::StudyRequest,
};

/// Arguments of `page`.
#[derive(Debug, Args)]
pub struct PageArgs {
    /// Room file.
    room: PathBuf,
    /// The page (.html).
    #[arg(long)]
    out: PathBuf,
    /// A second room file: the page switches between both.
    #[arg(long, value_name = "ROOM")]
    against: Option<PathBuf>,
    /// The walk, by its name or a part of it; the one that most visitors take when left out.
    #[arg(long, value_name = "NAME")]
    walk: Option<String>,
    /// Day, e.g. 2026-06-21.
    #[arg(long)]
    day: Option<String>,
    /// First clock time.
    #[arg(long, value_name = "HH:MM")]
    from: Option<String>,
    /// Last clock time.
    #[arg(long, value_name = "HH:MM")]
    to: Option<String>,
    /// Minutes between pictures of one station; an hour or more when left out.
    #[arg(long, value_name = "MINUTES", value_parser = clap::value_parser!(u32).range(1..=720))]
    step: Option<u32>,
    /// Sky: clear, overcast, intermediate or hazy.
    #[arg(long)]
    sky: Option<String>,
    /// Most stations that are shown.
    #[arg(long, default_value_t = 40, value_parser = clap::value_parser!(u32).range(1..=400))]
    stations: u32,
    /// Width and height of the pictures.
    #[arg(long, value_name = "WxH", default_value = "640x360", value_parser = chosen::size)]
    size: [u32; 2],
    /// Lengths in feet.
    #[arg(long)]
    feet: bool,
    /// Leave out the pictures, which need a graphics adapter.
    #[arg(long)]
    no_pictures: bool,
    /// Print what was made as JSON.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &PageArgs) -> miette::Result<()> {
    let room = Arc::new(files::room(&args.room)?);
    let mut rooms = vec![Arc::clone(&room)];
    if let Some(against) = &args.against {
        rooms.push(Arc::new(files::room(against)?));
    }
    let walk = chosen::walk(&room, args.walk.as_deref())?;
    let (open, close) = room.open_span(walk);
    let from_min = chosen::clock(args.from.as_deref(), open)?;
    let to_min = chosen::clock(args.to.as_deref(), close)?;
    if from_min > to_min || from_min >= 24 * 60 {
        return Err(miette!(
            help = "the first clock time comes before the last, 23:59 at the latest",
            "the hours asked for are empty"
        ));
    }
    let request = StudyRequest {
        days: vec![chosen::day(&room, args.day.as_deref())?],
        from_min,
        to_min,
        step_min: args
            .step
            .unwrap_or(present::page_step_min(from_min, to_min)),
        skies: vec![chosen::sky(&room, args.sky.as_deref())?],
    };
    let folder = args.out.parent().filter(|p| !p.as_os_str().is_empty());
    files::writable(folder.unwrap_or(std::path::Path::new(".")))?;
    let names = state_names(&rooms, args);
    let bar = Bar::new("light and pictures");
    let made = make_page(
        &rooms,
        names,
        &PageWishes {
            walk,
            request,
            most_stations: args.stations as usize,
            size: args.size,
            lengths: if args.feet {
                Lengths::Feet
            } else {
                Lengths::Metres
            },
            pictures: !args.no_pictures,
        },
        bar.progress(),
    )
    .into_diagnostic()?;
    drop(bar);
    files::write(&args.out, made.html.as_bytes())?;
    if let Some(why) = &made.no_pictures {
        eprintln!("note: the page has no pictures: {why}");
    }
    if args.json {
        let json = serde_json::json!({
            "file": args.out.display().to_string(),
            "bytes": made.html.len(),
            "stations": made.stations,
            "hours": made.hours,
            "states": rooms.len(),
            "jpeg_quality": made.quality,
        });
        return files::print(&format!("{json:#}\n"));
    }
    files::print(&format!(
        "{}: {:.1} MB, {} stations x {} hours x {} states; open it in any browser\n",
        args.out.display(),
        made.html.len() as f64 / 1e6,
        made.stations,
        made.hours,
        rooms.len()
    ))
}

/// What both states are called and what each is.
fn state_names(rooms: &[Arc<BuiltRoom>], args: &PageArgs) -> Vec<[String; 2]> {
    let of_room = |room: &BuiltRoom| outcome::state_sentence(room);
    match (&rooms, &args.against) {
        ([first, second], Some(_)) => vec![
            ["As it is".into(), of_room(first)],
            ["As proposed".into(), of_room(second)],
        ],
        _ => vec![["As it is".into(), of_room(&rooms[0])]],
    }
}
