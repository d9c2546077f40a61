//! A film from its takes: workers make, draw, write over and encode one part each, side by side.

use std::{
    path::{Path, PathBuf},
    sync::{
        Arc, Mutex, PoisonError,
        atomic::{AtomicUsize, Ordering},
        mpsc,
    },
    thread,
    time::Instant,
};

use super::Drawer;
use crate::{
    app::off_screen::OffScreenError,
    image::{PictureFileError, luminance_exr, rgba_png},
    report::ReportError,
    room::{BuiltRoom, save_atomically},
    transport::{Progress, SolveError},
    video::{
        FilmFile, FilmFileError, FrameLight, Overlay, OverlayWishes, Rgba, Script, ScriptError,
        Take, Yuv420,
    },
};

/// Frames that wait between two threads.
const WAITING: usize = 4;

/// Why there is no film.
#[derive(Debug, thiserror::Error)]
pub enum FilmError {
    /// Nothing draws.
    #[error(transparent)]
    Drawing(#[from] OffScreenError),
    /// The film cannot be laid out.
    #[error(transparent)]
    Script(#[from] ScriptError),
    /// The light cannot be computed.
    #[error(transparent)]
    Light(#[from] SolveError),
    /// The file cannot be written.
    #[error(transparent)]
    File(#[from] FilmFileError),
    /// Words cannot be drawn.
    #[error(transparent)]
    Words(#[from] ReportError),
    /// A still cannot be written.
    #[error(transparent)]
    Picture(#[from] PictureFileError),
    /// A still cannot be written.
    #[error(transparent)]
    Saving(#[from] crate::room::RoomError),
    /// A thread ended too early.
    #[error("a part of the work stopped without a reason")]
    Stopped,
}

/// What to make.
pub struct FilmJob {
    /// One take, or two shown side by side.
    pub takes: Vec<Take>,
    /// Width and height [pixels], even.
    pub size: [u32; 2],
    /// The film; `None` for stills alone.
    pub film: Option<PathBuf>,
    /// Goes on with a film that was stopped.
    pub resume: bool,
    /// What the pictures were made from, in one text: parts of another film are not used.
    pub made_from: String,
    /// What is drawn over the pictures.
    pub wishes: OverlayWishes,
    /// Stills: frame and the file's name without its ending.
    pub stills: Vec<(usize, PathBuf)>,
    /// Parts that are made side by side; see [`workers`].
    pub workers: usize,
}

/// Parts to make side by side: a software adapter uses all cores by itself, a graphics card waits for them.
pub fn workers(is_software: bool) -> usize {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    if is_software {
        1
    } else {
        (cores / 2).clamp(1, 8)
    }
}

/// A still on disk.
#[derive(Clone, Debug, PartialEq)]
pub struct StillFile {
    /// Frame.
    pub frame: usize,
    /// Display-encoded picture.
    pub png: PathBuf,
    /// Luminances [cd/m2] of the first half.
    pub exr: PathBuf,
}

/// What was made.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FilmReport {
    /// Frames of the film.
    pub frames: usize,
    /// Of which made now.
    pub made: usize,
    /// Size of the film's file [bytes].
    pub bytes: u64,
    /// Time that the frames took, without the light before them [s].
    pub frames_s: f32,
    /// Stills.
    pub stills: Vec<StillFile>,
}

/// Prepares one or two rooms for a script; two show luminances alike.
///
/// # Errors
/// [`SolveError`].
pub fn prepare(
    rooms: &[Arc<BuiltRoom>],
    script: &Arc<Script>,
    progress: &Progress,
) -> Result<Vec<Take>, SolveError> {
    let mut takes = rooms
        .iter()
        .take(2)
        .map(|room| Take::prepare(room, script, progress))
        .collect::<Result<Vec<_>, _>>()?;
    if let [first, second] = &mut takes[..] {
        first.share_exposure(second);
    }
    Ok(takes)
}

/// Numbers of `count` frames spread evenly over a film, the middle one for a single still.
pub fn evenly(count: usize, frames: usize) -> Vec<usize> {
    (0..count)
        .map(|k| ((k as f64 + 0.5) / count as f64 * frames as f64) as usize)
        .map(|k| k.min(frames.saturating_sub(1)))
        .collect()
}

fn lights(takes: &[Take], number: usize) -> Result<Vec<FrameLight>, SolveError> {
    takes.iter().map(|take| take.frame(number)).collect()
}

impl FilmJob {
    /// Makes stills and film. Cancelled through `progress`, whose steps are frames.
    ///
    /// # Errors
    /// [`FilmError`]; no file has the film's name then, but for one that had it before.
    pub fn run(&self, progress: &Progress) -> Result<FilmReport, FilmError> {
        let Some(first) = self.takes.first() else {
            return Err(FilmError::Stopped);
        };
        let script = first.script();
        let count = script.frames.len();
        let mut film = self
            .film
            .as_ref()
            .map(|path| {
                FilmFile::begin(
                    path,
                    self.size.map(|s| s as usize),
                    script.request.frames_per_s,
                    count,
                    &self.made_from,
                    self.resume,
                )
            })
            .transpose()?;
        let missing = film.as_ref().map_or(Vec::new(), FilmFile::missing);
        let of_parts = |film: &FilmFile| missing.iter().map(|p| film.frames_of(*p).len()).sum();
        let made = film.as_ref().map_or(0, of_parts);
        progress.announce((made + self.stills.len()) as u64);
        let mut report = FilmReport {
            frames: if film.is_some() { count } else { 0 },
            made,
            ..FilmReport::default()
        };
        let mut desk = self.desk()?;
        for (frame, path) in &self.stills {
            report.stills.push(self.still(*frame, path, &mut desk)?);
            progress.step()?;
        }
        if let Some(film) = film.take() {
            let begin = Instant::now();
            self.parts(&film, &missing, desk, progress)?;
            report.frames_s = begin.elapsed().as_secs_f32();
            report.bytes = film.finish()?;
        }
        Ok(report)
    }

    fn desk(&self) -> Result<Desk, FilmError> {
        let take = &self.takes[0];
        Ok(Desk {
            drawer: Drawer::new(self.size, self.takes.len())?,
            overlay: Overlay::new(
                take.room(),
                take.script(),
                self.wishes.clone(),
                self.size.map(|s| s as usize),
            )?,
        })
    }

    fn still(
        &self,
        number: usize,
        path: &Path,
        Desk { drawer, overlay }: &mut Desk,
    ) -> Result<StillFile, FilmError> {
        let mut picture = drawer.still(lights(&self.takes, number)?)?;
        let luminances = drawer.luminances()?;
        let take = &self.takes[0];
        overlay.draw(take.room(), take.script(), number, &mut picture.bytes)?;
        let with = |ending: &str| {
            let mut name = path.as_os_str().to_owned();
            name.push(ending);
            PathBuf::from(name)
        };
        let still = StillFile {
            frame: number,
            png: with(".png"),
            exr: with(".exr"),
        };
        save_atomically(&still.png, &rgba_png(&picture.bytes, picture.size)?)?;
        let half = [
            self.size[0] as usize / self.takes.len(),
            self.size[1] as usize,
        ];
        save_atomically(&still.exr, &luminance_exr(&luminances, half)?)?;
        Ok(still)
    }

    /// Makes all missing parts, as many side by side as there are workers.
    fn parts(
        &self,
        film: &FilmFile,
        missing: &[usize],
        desk: Desk,
        progress: &Progress,
    ) -> Result<(), FilmError> {
        let next = AtomicUsize::new(0);
        let failed: Mutex<Option<FilmError>> = Mutex::default();
        let stop = |error: FilmError| {
            let mut failed = failed.lock().unwrap_or_else(PoisonError::into_inner);
            // What went wrong first is what is told.
            failed.get_or_insert(error);
            next.store(missing.len(), Ordering::Relaxed);
        };
        let work = |mut desk: Desk| {
            while let Some(part) = missing.get(next.fetch_add(1, Ordering::Relaxed)) {
                if let Err(error) = self.part(film, *part, &mut desk, progress) {
                    stop(error);
                }
            }
        };
        thread::scope(|scope| {
            for _ in 1..self.workers.min(missing.len()) {
                // A card that has no room for one more drawer makes the film with fewer.
                scope.spawn(|| {
                    if let Ok(desk) = self.desk() {
                        work(desk);
                    }
                });
            }
            work(desk);
        });
        let failed = failed.into_inner().unwrap_or_else(PoisonError::into_inner);
        failed.map_or(Ok(()), Err)
    }

    /// Draws and encodes one part; its light is computed and its frames are encoded beside the drawing.
    fn part(
        &self,
        film: &FilmFile,
        part: usize,
        Desk { drawer, overlay }: &mut Desk,
        progress: &Progress,
    ) -> Result<(), FilmError> {
        let take = &self.takes[0];
        let script: &Arc<Script> = take.script();
        let frames = film.frames_of(part);
        let mut open = film.part(part)?;
        thread::scope(|scope| {
            let (to_draw, lit) = mpsc::sync_channel(WAITING);
            let numbers = frames.clone();
            scope.spawn(move || {
                for number in numbers {
                    // Nobody draws any more where the work was stopped.
                    if to_draw.send(lights(&self.takes, number)).is_err() {
                        return;
                    }
                }
            });
            let (to_encode, drawn) = mpsc::sync_channel::<Rgba>(WAITING);
            let writer = scope.spawn(move || {
                for (number, mut picture) in frames.zip(drawn) {
                    overlay.draw(take.room(), script, number, &mut picture.bytes)?;
                    open.push(&Yuv420::from_rgba(&picture.bytes, picture.size))?;
                    progress.step()?;
                }
                open.finish()?;
                Ok::<(), FilmError>(())
            });
            let send = |picture: Option<Rgba>| match picture {
                // The writer's own error is found when it is joined.
                Some(picture) => to_encode.send(picture).map_err(|_| FilmError::Stopped),
                None => Ok(()),
            };
            let made = lit
                .iter()
                .try_for_each(|lights| send(drawer.draw(lights?)?))
                .and_then(|()| send(drawer.finish()?));
            drop(lit);
            drop(to_encode);
            match (made, writer.join()) {
                (_, Err(_)) => Err(FilmError::Stopped),
                // What stopped the writer stopped the rest.
                (Err(FilmError::Stopped) | Ok(()), Ok(written)) => written,
                (Err(error), _) => Err(error),
            }
        })
    }
}

/// What one worker draws with.
struct Desk {
    drawer: Drawer,
    overlay: Overlay,
}
