//! Something to hand over, made beside the window: a film, the dossier or the page, written beside the room file.

use std::{
    path::{Path, PathBuf},
    sync::{
        Arc, Mutex, PoisonError,
        mpsc::{Receiver, TryRecvError, channel},
    },
};

use super::{
    adapter::adapter,
    engine::{Clock, Wake, on_workers},
    film::{FilmError, FilmJob, prepare, workers},
};
use crate::{
    outcome::{self, Lengths, Paper},
    present::{DossierWishes, PageWishes, PresentError, make_dossier, make_page, page_step_min},
    room::{BuiltRoom, save_atomically},
    study::{self, StudyRequest, StudySettings},
    transport::{Progress, SolveError},
    video::{FilmKind, FilmRequest, OverlayWishes, TITLE_S, made_from, script},
};

/// What is handed over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Handout {
    /// A film of the walk at the clock's time.
    WalkFilm,
    /// A film of the day where the visitor stands.
    DayFilm,
    /// The dossier.
    Dossier,
    /// The page.
    Page,
}

impl Handout {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::WalkFilm, Self::DayFilm, Self::Dossier, Self::Page];

    /// What it is called in the window.
    pub fn name(self) -> &'static str {
        match self {
            Self::WalkFilm => "Film of this walk",
            Self::DayFilm => "Film of the day here",
            Self::Dossier => "Dossier",
            Self::Page => "Page to send",
        }
    }

    /// What it is, in a sentence.
    pub fn about(self) -> &'static str {
        match self {
            Self::WalkFilm => {
                "An MP4 of this walk at the time of the clock; with a plan held beside, both"
            }
            Self::DayFilm => {
                "An MP4 of this day from where the visitor stands; with a plan held beside, both"
            }
            Self::Dossier => "A PDF for the commissioner, the electrician and the installer",
            Self::Page => {
                "One web page that opens anywhere: slide along this walk and through this day"
            }
        }
    }

    /// Ending of its file's name.
    fn ending(self) -> &'static str {
        match self {
            Self::WalkFilm => "walk.mp4",
            Self::DayFilm => "day.mp4",
            Self::Dossier => "dossier.pdf",
            Self::Page => "page.html",
        }
    }

    /// Where it is written for a room file.
    pub fn path(self, room: &Path) -> PathBuf {
        let stem = room.file_stem().unwrap_or_default().to_string_lossy();
        room.with_file_name(format!("{stem}-{}", self.ending()))
    }
}

/// What it is made from.
pub struct HandoutWish {
    /// What.
    pub kind: Handout,
    /// Where it is written.
    pub path: PathBuf,
    /// The room, and one that is held beside it, each with its name.
    pub rooms: Vec<(String, Arc<BuiltRoom>)>,
    /// The walk (index).
    pub walk: usize,
    /// Where the visitor stands on it [m].
    pub distance_m: f32,
    /// The moment.
    pub clock: Clock,
    /// Units of lengths.
    pub lengths: Lengths,
}

/// Work under way. Dropping it stops it.
pub struct Presenter {
    /// What is made.
    pub kind: Handout,
    /// Where it is written.
    pub path: PathBuf,
    progress: Arc<Progress>,
    begin: std::time::Instant,
    done: Mutex<Receiver<Result<Option<String>, Option<String>>>>,
}

impl Presenter {
    /// Starts.
    pub fn start(wish: HandoutWish, wake: Wake) -> Self {
        let progress = Arc::new(Progress::default());
        let watched = Arc::clone(&progress);
        let (tell, done) = channel();
        let (kind, path) = (wish.kind, wish.path.clone());
        std::thread::spawn(move || {
            let work = std::panic::AssertUnwindSafe(|| make(&wish, &watched));
            let told = std::panic::catch_unwind(work)
                .unwrap_or_else(|_| Err(Some("the work stopped; try it again".into())));
            // The window may be gone.
            let _ = tell.send(told);
            wake();
        });
        Self {
            kind,
            path,
            progress,
            begin: std::time::Instant::now(),
            done: Mutex::new(done),
        }
    }

    /// How it ended, once it has: well, and why without pictures where there are none; or why not, in words, where it was
    /// not stopped by the user.
    pub fn ended(&self) -> Option<Result<Option<String>, Option<String>>> {
        let done = self.done.lock().unwrap_or_else(PoisonError::into_inner);
        match done.try_recv() {
            Ok(told) => Some(told),
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => {
                Some(Err(Some("the work stopped; try it again".into())))
            }
        }
    }

    /// How long it has been at work [s].
    pub fn seconds(&self) -> f32 {
        self.begin.elapsed().as_secs_f32()
    }

    /// Asks it to stop.
    pub fn stop(&self) {
        self.progress.cancel();
    }
}

impl Drop for Presenter {
    fn drop(&mut self) {
        self.stop();
    }
}

fn make(wish: &HandoutWish, progress: &Progress) -> Result<Option<String>, Option<String>> {
    match wish.kind {
        Handout::WalkFilm | Handout::DayFilm => {
            film(wish, progress).map(|()| None).map_err(|e| match e {
                FilmError::Light(SolveError::Cancelled) => None,
                other => Some(other.to_string()),
            })
        }
        Handout::Dossier => on_workers(|| dossier(wish, progress)),
        Handout::Page => on_workers(|| page(wish, progress)),
    }
}

fn film(wish: &HandoutWish, progress: &Progress) -> Result<(), FilmError> {
    let found = adapter().map_err(crate::app::off_screen::OffScreenError::from)?;
    let size = if found.is_software {
        [640, 360]
    } else {
        [1920, 1080]
    };
    let (_, room) = &wish.rooms[0];
    let request = FilmRequest {
        walk: wish.walk,
        kind: match wish.kind {
            Handout::DayFilm => {
                let (from_min, to_min) = room.open_span(wish.walk);
                FilmKind::Day {
                    stand_m: wish.distance_m,
                    from_min,
                    to_min,
                }
            }
            _ => FilmKind::Walk {
                at_min: wish.clock.minute,
            },
        },
        date: wish.clock.date,
        sky: wish.clock.sky.clone(),
        frames_per_s: 30,
        opening_s: TITLE_S,
        seconds: None,
    };
    let script = Arc::new(script(room, request)?);
    let rooms: Vec<Arc<BuiltRoom>> = wish.rooms.iter().map(|r| Arc::clone(&r.1)).collect();
    let takes = on_workers(|| prepare(&rooms, &script, progress))?;
    let halves = match &wish.rooms[..] {
        [(first, _), (second, _)] => Some([first.clone(), second.clone()]),
        _ => None,
    };
    let wishes = OverlayWishes {
        captions: true,
        plan: true,
        title: true,
        halves,
    };
    let job = FilmJob {
        takes,
        size,
        film: Some(wish.path.clone()),
        resume: true,
        made_from: made_from(&rooms, &script, size, &wishes, &found.name),
        wishes,
        stills: Vec::new(),
        workers: workers(found.is_software),
    };
    job.run(progress).map(|_| ())
}

fn words(error: PresentError) -> Option<String> {
    (!error.is_cancelled()).then(|| error.to_string())
}

fn dossier(wish: &HandoutWish, progress: &Progress) -> Result<Option<String>, Option<String>> {
    let (_, room) = &wish.rooms[0];
    let request = StudyRequest::for_room(room, &[], None, None, None, &[])
        .map_err(|e| Some(e.to_string()))?;
    let result = study::run(room, &request, &StudySettings::default(), progress)
        .map_err(|e| words(e.into()))?;
    let wishes = DossierWishes {
        every_place: false,
        pictures: true,
        paper: match wish.lengths {
            Lengths::Metres => Paper::A4,
            Lengths::Feet => Paper::Letter,
        },
        lengths: wish.lengths,
        issued: Some(jiff::ZonedDateTime::now().date()),
    };
    let made = make_dossier(room, &result, &request, &wishes, progress).map_err(words)?;
    save_atomically(&wish.path, &made.bytes).map_err(|e| Some(e.to_string()))?;
    Ok(made.no_pictures)
}

fn page(wish: &HandoutWish, progress: &Progress) -> Result<Option<String>, Option<String>> {
    let (_, room) = &wish.rooms[0];
    let (from_min, to_min) = room.open_span(wish.walk);
    let wishes = PageWishes {
        walk: wish.walk,
        request: StudyRequest {
            days: vec![wish.clock.date],
            from_min,
            to_min,
            step_min: page_step_min(from_min, to_min),
            skies: vec![wish.clock.sky.clone()],
        },
        most_stations: 40,
        size: [640, 360],
        lengths: wish.lengths,
        pictures: true,
    };
    let rooms: Vec<Arc<BuiltRoom>> = wish.rooms.iter().map(|r| Arc::clone(&r.1)).collect();
    let names = wish
        .rooms
        .iter()
        .map(|(name, room)| [name.clone(), outcome::state_sentence(room)])
        .collect();
    let made = make_page(&rooms, names, &wishes, progress).map_err(words)?;
    save_atomically(&wish.path, made.html.as_bytes()).map_err(|e| Some(e.to_string()))?;
    Ok(made.no_pictures)
}
