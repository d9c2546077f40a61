//! A film from its takes: frames made, drawn, written over and encoded, each on its own thread where it can be.

use std::{
    path::{Path, PathBuf},
    sync::{Arc, mpsc},
    thread,
};

use super::Drawer;
use crate::{
    app::off_screen::OffScreenError,
    image::{PictureFileError, luminance_exr, rgba_png},
    report::ReportError,
    room::{BuiltRoom, save_atomically},
    transport::{Progress, SolveError},
    video::{
        FilmFile, FilmFileError, FrameLight, Overlay, OverlayWishes, Rgba, Script, Take, Yuv420,
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
        let next = film.as_ref().map_or(count, FilmFile::next);
        progress.announce((count - next + self.stills.len()) as u64);
        let mut report = FilmReport {
            frames: if film.is_some() { count } else { 0 },
            made: count - next,
            ..FilmReport::default()
        };
        let mut drawer = Drawer::new(self.size, self.takes.len())?;
        let mut overlay = Overlay::new(
            first.room(),
            script,
            self.wishes.clone(),
            self.size.map(|s| s as usize),
        )?;
        for (frame, path) in &self.stills {
            report
                .stills
                .push(self.still(*frame, path, &mut drawer, &mut overlay)?);
            progress.step()?;
        }
        if let Some(film) = film.take() {
            let film = if next < count {
                self.frames(film, next, &mut drawer, &mut overlay, progress)?
            } else {
                film
            };
            report.bytes = film.finish()?;
        }
        Ok(report)
    }

    fn still(
        &self,
        number: usize,
        path: &Path,
        drawer: &mut Drawer,
        overlay: &mut Overlay,
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

    /// Draws and encodes the frames from `next` on.
    fn frames(
        &self,
        mut film: FilmFile,
        next: usize,
        drawer: &mut Drawer,
        overlay: &mut Overlay,
        progress: &Progress,
    ) -> Result<FilmFile, FilmError> {
        let take = &self.takes[0];
        let script = take.script();
        let count = script.frames.len();
        thread::scope(|scope| {
            let (to_draw, drawn) =
                mpsc::sync_channel::<Result<Vec<FrameLight>, SolveError>>(WAITING);
            scope.spawn(move || {
                for number in next..count {
                    // Nobody draws any more: the work was stopped.
                    if to_draw.send(lights(&self.takes, number)).is_err() {
                        return;
                    }
                }
            });
            let (to_file, encoded) = mpsc::sync_channel::<Rgba>(WAITING);
            let writer = scope.spawn(move || {
                for picture in encoded {
                    film.push(&Yuv420::from_rgba(&picture.bytes, picture.size))?;
                }
                Ok::<FilmFile, FilmFileError>(film)
            });
            let mut number = next;
            let mut send = |mut picture: Rgba| {
                overlay.draw(take.room(), script, number, &mut picture.bytes)?;
                number += 1;
                progress.step()?;
                // The writer's own error is found when it is joined.
                to_file.send(picture).map_err(|_| FilmError::Stopped)
            };
            let made = drawn
                .iter()
                .try_for_each(|lights| match drawer.draw(lights?)? {
                    Some(before) => send(before),
                    None => Ok(()),
                })
                .and_then(|()| drawer.finish()?.map_or(Ok(()), send));
            drop(drawn);
            drop(to_file);
            let written = writer.join().map_err(|_| FilmError::Stopped)?;
            match (made, written) {
                // What stopped the writer stopped the rest.
                (Err(FilmError::Stopped) | Ok(()), Err(error)) => Err(error.into()),
                (Err(error), _) => Err(error),
                (Ok(()), Ok(film)) => Ok(film),
            }
        })
    }
}
