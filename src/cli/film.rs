//! `film`: a walk, a day at one place, or both, as a video and as stills.

use std::path::PathBuf;

use clap::Args;

use super::chosen;

/// Arguments of `film`.
#[derive(Debug, Args)]
pub struct FilmArgs {
    /// Room file.
    room: PathBuf,
    /// The video (.mp4), and the beginning of the stills' names.
    #[arg(long)]
    out: PathBuf,
    /// A second room file, shown beside the first: before and after.
    #[arg(long, value_name = "ROOM")]
    against: Option<PathBuf>,
    /// The walk, by its name or a part of it; the one that most visitors take when left out.
    #[arg(long, value_name = "NAME")]
    walk: Option<String>,
    /// Walk at this civil time of the site, e.g. 2026-06-21T10:00.
    #[arg(long, value_name = "TIME", conflicts_with_all = ["from", "to", "day", "stand"])]
    at: Option<String>,
    /// Stay so many metres along the walk while the day goes by.
    #[arg(long, value_name = "METRES")]
    stand: Option<f32>,
    /// Day that goes by, e.g. 2026-06-21.
    #[arg(long)]
    day: Option<String>,
    /// Clock time at the start of the film; with --to the day goes by during the walk.
    #[arg(long, value_name = "HH:MM")]
    from: Option<String>,
    /// Clock time at the end of the film.
    #[arg(long, value_name = "HH:MM")]
    to: Option<String>,
    /// Sky: clear, overcast, intermediate or hazy.
    #[arg(long)]
    sky: Option<String>,
    /// Width and height in pixels; 1920x1080 on a graphics card, 640x360 on a software adapter when left out.
    #[arg(long, value_name = "WxH", value_parser = chosen::size)]
    size: Option<[u32; 2]>,
    /// Frames a second.
    #[arg(long, default_value_t = 30, value_parser = clap::value_parser!(u32).range(1..=120))]
    fps: u32,
    /// Length of the film; walking speed, or 24 seconds for a day, when left out.
    #[arg(long)]
    seconds: Option<f32>,
    /// Also write so many stills, spread over the film: PNG, and luminances as OpenEXR.
    #[arg(long, value_name = "N", default_value_t = 0)]
    stills: usize,
    /// Write the stills alone.
    #[arg(long, requires = "stills")]
    only_stills: bool,
    /// Leave out the captions.
    #[arg(long)]
    no_captions: bool,
    /// Leave out the small plan.
    #[arg(long)]
    no_plan: bool,
    /// Leave out the title card.
    #[arg(long)]
    no_title: bool,
    /// Go on with a film that was stopped.
    #[arg(long)]
    resume: bool,
    /// Print what was made as JSON.
    #[arg(long)]
    json: bool,
}

#[cfg(not(feature = "app"))]
pub(super) fn run(args: &FilmArgs) -> miette::Result<()> {
    let _ = args;
    Err(super::no_drawing())
}

#[cfg(feature = "app")]
pub(super) use with_drawing::run;

#[cfg(feature = "app")]
mod with_drawing {
    use std::{path::Path, sync::Arc};

    use miette::{IntoDiagnostic, miette};
    use serde_json::json;

    use super::FilmArgs;
    use crate::{
        app::{
            adapter::adapter,
            film::{FilmJob, FilmReport, evenly, prepare, workers},
        },
        cli::{bar::Bar, chosen, files},
        outcome,
        room::BuiltRoom,
        video::{FilmKind, FilmRequest, OverlayWishes, Script, TITLE_S, made_from, script},
    };

    pub(in crate::cli) fn run(args: &FilmArgs) -> miette::Result<()> {
        // What cannot work is said before the work.
        let found = adapter().into_diagnostic()?;
        let room = Arc::new(files::room(&args.room)?);
        let mut rooms = vec![Arc::clone(&room)];
        if let Some(against) = &args.against {
            rooms.push(Arc::new(files::room(against)?));
        }
        if args.out.is_dir()
            || !args
                .out
                .extension()
                .is_some_and(|e| e.eq_ignore_ascii_case("mp4"))
        {
            return Err(miette!(
                help = "write e.g. --out walk.mp4",
                "{} is no name of an MP4 file",
                args.out.display()
            ));
        }
        let script = script_of(args, &room)?;
        for note in &script.notes {
            eprintln!("note: {note}");
        }
        if let Some(second) = rooms.get(1)
            && !room.shares_walk(second, script.request.walk)
        {
            return Err(miette!(
                help = "both rooms need the walk that is filmed, at the same place of their list and with the same corners",
                "{} has no such walk",
                second.file.name
            ));
        }
        let folder = args.out.parent().filter(|p| !p.as_os_str().is_empty());
        files::writable(folder.unwrap_or(Path::new(".")))?;
        let asked = args.size.unwrap_or(if found.is_software {
            [640, 360]
        } else {
            [1920, 1080]
        });
        let size = asked.map(|s| s.next_multiple_of(2));
        if size != asked {
            eprintln!(
                "note: {} x {} becomes {} x {}: video needs even sizes",
                asked[0], asked[1], size[0], size[1]
            );
        }
        if found.is_software {
            eprintln!(
                "note: drawn by a software adapter ({}), about {} for this film; a graphics card is many times faster",
                found.name,
                duration(&script, size)
            );
        }
        let wishes = wishes(args, &rooms);
        let made_from = made_from(&rooms, &script, size, &wishes, &found.name);
        let bar = Bar::new("light for the film");
        let takes = prepare(&rooms, &script, bar.progress()).into_diagnostic()?;
        drop(bar);
        let job = FilmJob {
            stills: stills(args, &script),
            film: (!args.only_stills).then(|| args.out.clone()),
            takes,
            size,
            resume: args.resume,
            workers: workers(found.is_software),
            made_from,
            wishes,
        };
        let bar = Bar::with_time_left("frames");
        let report = job.run(bar.progress()).into_diagnostic()?;
        drop(bar);
        tell(args, &script, size, &report)
    }

    fn script_of(args: &FilmArgs, room: &BuiltRoom) -> miette::Result<Arc<Script>> {
        let walk = chosen::walk(room, args.walk.as_deref())?;
        let (open, close) = room.open_span(walk);
        let from = chosen::clock(args.from.as_deref(), open)?;
        let to = chosen::clock(args.to.as_deref(), close)?;
        let (date, kind) = match (&args.at, args.stand) {
            (Some(at), _) => {
                let at = crate::sun::parse_local(at, &room.file.site.zone).into_diagnostic()?;
                let at_min = at.hour() as u32 * 60 + at.minute() as u32;
                (at.date(), FilmKind::Walk { at_min })
            }
            (None, Some(stand_m)) => {
                let length_m = crate::room::walk_length_m(&room.walks[walk].walk);
                if !(0.0..=length_m).contains(&stand_m) {
                    return Err(miette!(
                        help = format!("the walk is {length_m:.1} m long"),
                        "{stand_m} m is not on the walk {:?}",
                        room.walks[walk].walk.name
                    ));
                }
                let kind = FilmKind::Day {
                    stand_m,
                    from_min: from,
                    to_min: to,
                };
                (chosen::day(room, args.day.as_deref())?, kind)
            }
            (None, None) => {
                let date = chosen::day(room, args.day.as_deref())?;
                let kind = if args.from.is_some() || args.to.is_some() {
                    FilmKind::WalkThroughDay {
                        from_min: from,
                        to_min: to,
                    }
                } else {
                    FilmKind::Walk {
                        at_min: (open + close) / 2,
                    }
                };
                (date, kind)
            }
        };
        let request = FilmRequest {
            walk,
            kind,
            date,
            sky: chosen::sky(room, args.sky.as_deref())?,
            frames_per_s: args.fps,
            opening_s: if args.no_title { 0.0 } else { TITLE_S },
            seconds: args.seconds,
        };
        Ok(Arc::new(script(room, request).into_diagnostic()?))
    }

    fn wishes(args: &FilmArgs, rooms: &[Arc<BuiltRoom>]) -> OverlayWishes {
        OverlayWishes {
            captions: !args.no_captions,
            plan: !args.no_plan,
            title: !args.no_title,
            halves: match rooms {
                [first, second] => Some(half_names(first, second)),
                _ => None,
            },
        }
    }

    /// Names of the rooms, where they differ.
    fn half_names(first: &BuiltRoom, second: &BuiltRoom) -> [String; 2] {
        if first.file.name == second.file.name {
            ["As it is".into(), "As proposed".into()]
        } else {
            [first.file.name.clone(), second.file.name.clone()]
        }
    }

    fn stills(args: &FilmArgs, script: &Script) -> Vec<(usize, std::path::PathBuf)> {
        let count = script.frames.len();
        evenly(args.stills.min(count), count)
            .into_iter()
            .enumerate()
            .map(|(k, frame)| {
                let stem = args.out.file_stem().unwrap_or_default().to_string_lossy();
                let name = format!("{stem}-still-{:02}", k + 1);
                (frame, args.out.with_file_name(name))
            })
            .collect()
    }

    /// How long a software adapter takes, roughly: 12 frames of 640 x 360 a second on two cores.
    fn duration(script: &Script, size: [u32; 2]) -> String {
        let pixels = f64::from(size[0]) * f64::from(size[1]) * script.frames.len() as f64;
        let seconds = pixels / (640.0 * 360.0 * 12.0) + 20.0;
        if seconds < 90.0 {
            format!("{} s", (seconds / 10.0).ceil() * 10.0)
        } else {
            format!("{} min", (seconds / 60.0).ceil())
        }
    }

    fn tell(
        args: &FilmArgs,
        script: &Script,
        size: [u32; 2],
        report: &FilmReport,
    ) -> miette::Result<()> {
        let stills: Vec<_> = report
            .stills
            .iter()
            .map(|s| {
                let frame = &script.frames[s.frame];
                json!({
                    "png": s.png.display().to_string(),
                    "exr_cd_m2": s.exr.display().to_string(),
                    "frame": s.frame,
                    "at_m": frame.eye.distance_m,
                    "time": frame.instant.civil.datetime().to_string(),
                })
            })
            .collect();
        if args.json {
            let film = (!args.only_stills).then(|| {
                json!({
                    "file": args.out.display().to_string(),
                    "frames": report.frames,
                    "frames_made_now": report.made,
                    "frames_per_s": args.fps,
                    "seconds": script.seconds(),
                    "width_px": size[0],
                    "height_px": size[1],
                    "bytes": report.bytes,
                    "frames_made_a_second": report.made as f32 / report.frames_s.max(1e-3),
                })
            });
            let all = json!({ "film": film, "stills": stills });
            return files::print(&format!("{all:#}\n"));
        }
        let mut text = String::new();
        if !args.only_stills {
            text.push_str(&format!(
                "{}: {:.1} s, {} frames of {} x {}, {:.1} MB, {:.0} frames made a second\n",
                args.out.display(),
                script.seconds(),
                report.frames,
                size[0],
                size[1],
                report.bytes as f64 / 1e6,
                report.made as f32 / report.frames_s.max(1e-3)
            ));
            if report.made < report.frames {
                text.push_str(&format!(
                    "{} frames were there already, {} were made now\n",
                    report.frames - report.made,
                    report.made
                ));
            }
        }
        for still in &report.stills {
            let frame = &script.frames[still.frame];
            text.push_str(&format!(
                "{} and .exr: {:.1} m along, {}\n",
                still.png.display(),
                frame.eye.distance_m,
                outcome::clock_text(frame.instant.clock_min)
            ));
        }
        text.push_str(
            "Brightness on a screen is not the brightness on site; luminances are in the .exr files and in `study`.\n",
        );
        files::print(&text)
    }
}
