//! `page`: one HTML file to send: slide along the walk and through the day.

use std::{path::PathBuf, sync::Arc};

use clap::Args;
use miette::{IntoDiagnostic, miette};

use super::{bar::Bar, chosen, files};
use crate::{
    outcome::{self, Lengths, PageParts, PageState},
    room::BuiltRoom,
    study::{self, Study, StudyRequest, StudySettings},
    transport::Progress,
};

/// Largest page that is made without being told to [bytes].
const BUDGET: usize = 15_000_000;
/// Hours of a day at most where no step is given.
const MOST_HOURS: u32 = 13;

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
    let (open, close) = chosen::open_span(&room, walk);
    let from_min = chosen::clock(args.from.as_deref(), open)?;
    let to_min = chosen::clock(args.to.as_deref(), close)?;
    if from_min > to_min || from_min >= 24 * 60 {
        return Err(miette!(
            help = "the first clock time comes before the last, 23:59 at the latest",
            "the hours asked for are empty"
        ));
    }
    let hourly = ((to_min - from_min).div_ceil(MOST_HOURS)).div_ceil(15) * 15;
    let request = StudyRequest {
        days: vec![chosen::day(&room, args.day.as_deref())?],
        from_min,
        to_min,
        step_min: args.step.unwrap_or(hourly.max(60)),
        skies: vec![chosen::sky(&room, args.sky.as_deref())?],
    };
    let folder = args.out.parent().filter(|p| !p.as_os_str().is_empty());
    files::writable(folder.unwrap_or(std::path::Path::new(".")))?;
    let names = state_names(&rooms, args);
    let bar = Bar::new("light and pictures");
    let made = make(
        &rooms,
        names,
        &Wishes {
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
    )?;
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
    let stem = |path: &PathBuf| {
        path.file_stem()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned()
    };
    match (&rooms, &args.against) {
        ([first, second], Some(against)) => vec![
            ["As it is".into(), of_room(first, &stem(&args.room))],
            ["As proposed".into(), of_room(second, &stem(against))],
        ],
        _ => vec![["As it is".into(), of_room(&rooms[0], &stem(&args.room))]],
    }
}

/// One line on a state: where the piece hangs, and how many fixtures light the room.
fn of_room(room: &BuiltRoom, file: &str) -> String {
    format!(
        "{}; {} fixtures; from {file}.ron",
        outcome::placement_name(&room.file, &room.file.placement),
        room.file.fixtures.len()
    )
}

/// What the page shall show.
pub(crate) struct Wishes {
    pub(crate) walk: usize,
    pub(crate) request: StudyRequest,
    pub(crate) most_stations: usize,
    pub(crate) size: [u32; 2],
    pub(crate) lengths: Lengths,
    pub(crate) pictures: bool,
}

/// A finished page.
pub(crate) struct Page {
    pub(crate) html: String,
    pub(crate) stations: usize,
    pub(crate) hours: usize,
    pub(crate) quality: u8,
    pub(crate) no_pictures: Option<String>,
}

/// Studies, draws and writes the page; `names` are a name and a line for each room.
pub(crate) fn make(
    rooms: &[Arc<BuiltRoom>],
    names: Vec<[String; 2]>,
    wishes: &Wishes,
    progress: &Progress,
) -> miette::Result<Page> {
    let studies = rooms
        .iter()
        .map(|room| study::run(room, &wishes.request, &StudySettings::default(), progress))
        .collect::<Result<Vec<Study>, _>>()
        .into_diagnostic()?;
    let count = |study: &Study| study.walks.get(wishes.walk).map(|w| w.stations.len());
    let stations = match studies.iter().map(count).collect::<Option<Vec<_>>>() {
        Some(counts) if counts.iter().all(|c| *c == counts[0]) => {
            outcome::spread_stations(counts[0], wishes.most_stations)
        }
        _ => {
            return Err(miette!(
                help = "both rooms need the same walk with the same stations",
                "the two states cannot be compared along this walk"
            ));
        }
    };
    let hours = studies[0].days[0].instants.len();
    let all = stations.len() * hours;
    let mut no_pictures = (!wishes.pictures).then(|| "they were left out on request".to_owned());
    let mut quality = 0;
    let mut pictures: Vec<Vec<Option<Vec<u8>>>> = Vec::new();
    for (room, study) in rooms.iter().zip(&studies) {
        let mut drawn = vec![None; all];
        if no_pictures.is_none() {
            let budget = BUDGET / rooms.len();
            match draw(
                room,
                study,
                wishes,
                &stations,
                (budget, &mut quality),
                progress,
            ) {
                Ok(list) => drawn = list,
                Err(why) => no_pictures = Some(why),
            }
        }
        pictures.push(drawn);
    }
    let made = format!("Computed by Lustrewalk {}", env!("CARGO_PKG_VERSION"));
    let states = rooms
        .iter()
        .zip(&studies)
        .zip(names)
        .zip(pictures)
        .map(|(((room, study), [name, sentence]), pictures)| PageState {
            name,
            sentence,
            room,
            study,
            pictures,
        })
        .collect();
    let html = outcome::page(&PageParts {
        states,
        walk: wishes.walk,
        stations: &stations,
        picture_size: wishes.size,
        lengths: wishes.lengths,
        made: &made,
    })
    .into_diagnostic()?;
    Ok(Page {
        html,
        stations: stations.len(),
        hours,
        quality,
        no_pictures,
    })
}

/// Pictures of all stations and hours as JPEG files of one quality that fits the budget [bytes], or why there are none.
#[cfg(feature = "app")]
fn draw(
    room: &Arc<BuiltRoom>,
    study: &Study,
    wishes: &Wishes,
    stations: &[usize],
    (budget, quality): (usize, &mut u8),
    progress: &Progress,
) -> Result<Vec<Option<Vec<u8>>>, String> {
    use crate::{
        app::{
            adapter::adapter,
            film::{Shot, draw_shots},
        },
        image::rgba_jpeg,
        transport::RoomLight,
        video::Moment,
    };
    /// Tried from the best; below the last, pictures are too poor to send.
    const QUALITIES: [u8; 7] = [85, 80, 74, 68, 60, 50, 40];
    adapter().map_err(|e| e.to_string())?;
    let light = RoomLight::prepare(
        room.scene.clone(),
        crate::video::room_light_settings(),
        progress,
    )
    .map_err(|e| e.to_string())?;
    let day = &study.days[0];
    // A few hours spread over the day tell how large pictures come out; they are drawn once more in their turn.
    let shot = |hour: usize, station: usize| Shot {
        walk: wishes.walk,
        eye: study.walks[wishes.walk].stations[station],
        moment: Moment {
            instant: day.instants[hour].clone(),
            sky: day.sky.clone(),
            fixtures: None,
        },
        size: wishes.size,
    };
    let shots: Vec<Shot> = (0..day.instants.len())
        .flat_map(|hour| stations.iter().map(move |s| (hour, *s)))
        .map(|(hour, station)| shot(hour, station))
        .collect();
    let room_of = (room, &Arc::new(light));
    let each = budget * 3 / 4 * 95 / 100 / shots.len().max(1);
    let mut files: Vec<Vec<Vec<u8>>> = Vec::new();
    draw_shots(room_of, &shots, progress, &mut |_, picture, _| {
        // Every quality that may still be the one; the others are given up as soon as they cannot fit.
        let start = QUALITIES.iter().position(|q| *q == *quality).unwrap_or(0);
        let list = QUALITIES[start..]
            .iter()
            .map(|q| rgba_jpeg(&picture.bytes, picture.size, *q))
            .collect::<Result<Vec<_>, _>>()?;
        files.push(list);
        Ok(())
    })
    .map_err(|e| e.to_string())?;
    let start = QUALITIES.iter().position(|q| *q == *quality).unwrap_or(0);
    let tried = QUALITIES.len() - start;
    let total = |k: usize| files.iter().map(|f| f[k].len()).sum::<usize>();
    let best = (0..tried)
        .find(|k| total(*k) <= each * files.len())
        .unwrap_or(tried - 1);
    *quality = QUALITIES[start + best];
    Ok(files
        .into_iter()
        .map(|mut list| Some(list.swap_remove(best)))
        .collect())
}

#[cfg(not(feature = "app"))]
fn draw(
    _: &Arc<BuiltRoom>,
    _: &Study,
    _: &Wishes,
    _: &[usize],
    _: (usize, &mut u8),
    _: &Progress,
) -> Result<Vec<Option<Vec<u8>>>, String> {
    Err("this build cannot draw pictures".into())
}
