//! `dossier`: one PDF for the commissioner, the electrician and the installer.

use std::{path::PathBuf, sync::Arc};

use clap::{Args, ValueEnum};
use miette::{IntoDiagnostic, miette};

use super::{bar::Bar, files};
use crate::{
    advice::{
        rank::{Pass, RankSettings, rank},
        schedule::schedule,
    },
    outcome::{self, DossierParts, DossierStill, Lengths, Paper, TellingView},
    report,
    room::BuiltRoom,
    study::{self, Study, StudyRequest, StudySettings},
    transport::{Progress, RoomLight},
};

/// Pictures at most.
const MOST_STILLS: usize = 8;

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
    let document = make(
        &room,
        &result,
        &request,
        &Wishes {
            every_place: args.every_place,
            pictures: !args.no_pictures,
            paper,
            lengths,
        },
        bar.progress(),
    )?;
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

/// What a dossier shall be like.
pub(crate) struct Wishes {
    pub(crate) every_place: bool,
    pub(crate) pictures: bool,
    pub(crate) paper: Paper,
    pub(crate) lengths: Lengths,
}

/// A finished document.
pub(crate) struct Document {
    pub(crate) bytes: Vec<u8>,
    pub(crate) pictures: usize,
    pub(crate) no_pictures: Option<String>,
}

/// Compares places, draws, and sets the pages.
pub(crate) fn make(
    room: &Arc<BuiltRoom>,
    result: &Study,
    request: &StudyRequest,
    wishes: &Wishes,
    progress: &Progress,
) -> miette::Result<Document> {
    let mut settings = RankSettings::for_room(&room.file);
    if !wishes.every_place {
        // A few named places are compared alike, by a look at each: what differs between them shows there.
        settings.most = 1 + room.file.candidates.len();
        settings.last = Pass::Look;
    }
    let places = rank(room, request, &settings, progress, &mut |_| {}).into_diagnostic()?;
    let light = Arc::new(
        RoomLight::prepare(
            room.scene.clone(),
            crate::video::room_light_settings(),
            progress,
        )
        .into_diagnostic()?,
    );
    let rows = schedule(room, &light);
    let views = outcome::telling_views(room, result, MOST_STILLS);
    let (stills, no_pictures) = if wishes.pictures {
        match draw(room, &light, result, &views, progress) {
            Ok(stills) => (stills, None),
            Err(why) => (Vec::new(), Some(why)),
        }
    } else {
        (Vec::new(), Some("They were left out on request".into()))
    };
    let made = format!(
        "Computed by Lustrewalk {} for {}",
        env!("CARGO_PKG_VERSION"),
        days_words(request)
    );
    let source = outcome::dossier(&DossierParts {
        room,
        study: result,
        places: &places,
        schedule: &rows,
        cover: stills.first(),
        stills: stills.get(1..).unwrap_or_default(),
        no_pictures: no_pictures.as_deref(),
        lengths: wishes.lengths,
        paper: wishes.paper,
        made: &made,
    });
    Ok(Document {
        bytes: report::pdf(&source).into_diagnostic()?,
        pictures: stills.len(),
        no_pictures,
    })
}

fn days_words(request: &StudyRequest) -> String {
    let days: Vec<String> = request
        .days
        .iter()
        .map(|d| outcome::date_words(*d))
        .collect();
    days.join(", ")
}

/// The views as pictures, the first one large: the cover. Or why there are none.
#[cfg(feature = "app")]
fn draw(
    room: &Arc<BuiltRoom>,
    light: &Arc<RoomLight>,
    result: &Study,
    views: &[TellingView],
    progress: &Progress,
) -> Result<Vec<DossierStill>, String> {
    use crate::{
        app::{
            adapter::adapter,
            film::{FilmError, Shot, draw_shots},
        },
        image::rgba_jpeg,
        video::Moment,
    };
    adapter().map_err(|e| e.to_string())?;
    let shot = |view: &TellingView, size: [u32; 2]| Shot {
        size,
        walk: view.walk,
        eye: result.walks[view.walk].stations[view.station],
        moment: Moment {
            instant: result.days[view.day].instants[view.instant].clone(),
            sky: result.days[view.day].sky.clone(),
            fixtures: None,
        },
    };
    let mut stills: Vec<DossierStill> = Vec::new();
    // The first stands on the cover and again among the others.
    let order: Vec<&TellingView> = views.first().into_iter().chain(views).collect();
    let shots: Vec<Shot> = order
        .iter()
        .enumerate()
        .map(|(k, view)| shot(view, if k == 0 { [1440, 810] } else { [880, 495] }))
        .collect();
    draw_shots((room, light), &shots, progress, &mut |k, picture, _| {
        let (title, caption) = outcome::view_words(room, result, order[k]);
        stills.push(DossierStill {
            file: rgba_jpeg(&picture.bytes, picture.size, 90).map_err(FilmError::Picture)?,
            ending: "jpg",
            title,
            caption,
        });
        Ok(())
    })
    .map_err(|e| e.to_string())?;
    Ok(stills)
}

#[cfg(not(feature = "app"))]
fn draw(
    _: &Arc<BuiltRoom>,
    _: &Arc<RoomLight>,
    _: &Study,
    _: &[TellingView],
    _: &Progress,
) -> Result<Vec<DossierStill>, String> {
    Err("This build cannot draw pictures".into())
}
