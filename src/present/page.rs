//! The page from one or two rooms: studies, pictures of every station and hour, one file.

use std::sync::Arc;

use super::{NotDrawn, PresentError};
use crate::{
    image::{PictureFileError, rgba_jpeg},
    outcome::{self, Lengths, PageParts, PageState},
    room::BuiltRoom,
    study::{self, Study, StudyRequest, StudySettings},
    transport::Progress,
};

/// Size that a page keeps below by the quality of its pictures, as far as that goes [bytes].
const BUDGET: usize = 15_000_000;

/// Hours of a day at most where no step is given.
const MOST_HOURS: u32 = 13;

/// Minutes between the pictures of one station, an hour or more, so that a day has no more than [`MOST_HOURS`] steps.
pub fn page_step_min(from_min: u32, to_min: u32) -> u32 {
    let even = to_min.saturating_sub(from_min).div_ceil(MOST_HOURS);
    (even.div_ceil(15) * 15).max(60)
}

/// What the page shall show.
#[derive(Clone, Debug)]
pub struct PageWishes {
    /// Index of the walk.
    pub walk: usize,
    /// One day under one sky.
    pub request: StudyRequest,
    /// Most stations that are shown.
    pub most_stations: usize,
    /// Width and height of the pictures [pixels].
    pub size: [u32; 2],
    /// Units of lengths.
    pub lengths: Lengths,
    /// With pictures.
    pub pictures: bool,
}

/// A finished page.
pub struct Page {
    /// The HTML file.
    pub html: String,
    /// Stations in it.
    pub stations: usize,
    /// Hours in it.
    pub hours: usize,
    /// Quality of its pictures, 1..=100; 0 without any.
    pub quality: u8,
    /// Why it has none, where it has none.
    pub no_pictures: Option<String>,
}

/// Studies, draws and writes the page; `names` are a name and a line for each room.
///
/// # Errors
/// [`PresentError`].
pub fn make_page(
    rooms: &[Arc<BuiltRoom>],
    names: Vec<[String; 2]>,
    wishes: &PageWishes,
    progress: &Progress,
) -> Result<Page, PresentError> {
    let studies = rooms
        .iter()
        .map(|room| study::run(room, &wishes.request, &StudySettings::default(), progress))
        .collect::<Result<Vec<Study>, _>>()?;
    let clocks = |study: &Study| -> Vec<u32> {
        let instants = study.days[0].instants.iter();
        instants.map(|i| i.clock_min).collect()
    };
    let first = &rooms[0];
    let alike = |(room, study): (&Arc<BuiltRoom>, &Study)| {
        first.shares_walk(room, wishes.walk) && clocks(study) == clocks(&studies[0])
    };
    if !rooms.iter().zip(&studies).all(alike) {
        return Err(PresentError::Walks);
    }
    let count = studies[0].walks[wishes.walk].stations.len();
    let stations = outcome::spread_stations(count, wishes.most_stations);
    let hours = studies[0].days[0].instants.len();
    let all = stations.len() * hours;
    let mut no_pictures = (!wishes.pictures).then(|| "they were left out on request".to_owned());
    let mut quality = 0;
    let mut pictures: Vec<Vec<Option<Vec<u8>>>> = Vec::new();
    for (room, study) in rooms.iter().zip(&studies) {
        let mut drawn = vec![None; all];
        if no_pictures.is_none() {
            // A letter of base 64 carries six bits; the rest of the page needs a little room.
            let budget = BUDGET / 4 * 3 / 100 * 95 / rooms.len();
            match draw(room, study, wishes, &stations, (budget, quality), progress) {
                Ok((list, came_to)) => (drawn, quality) = (list, came_to),
                Err(why) => no_pictures = Some(why.reason()?),
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
        no_pictures: no_pictures.as_deref(),
    })?;
    Ok(Page {
        html,
        stations: stations.len(),
        hours,
        quality,
        no_pictures,
    })
}

/// JPEG files by hour and station; `None` where nothing was drawn.
type Pictures = Vec<Option<Vec<u8>>>;

/// JPEG files of a set of pictures, all of one quality.
struct Encoded {
    /// At every quality that may still be the one, from the best; picture by picture.
    files: Vec<std::collections::VecDeque<Vec<u8>>>,
    /// Index of the best quality that may still be the one.
    best: usize,
    /// Bytes so far at each quality from `best` on.
    totals: std::collections::VecDeque<usize>,
    budget: usize,
}

/// Tried from the best; below the last, pictures are too poor to send.
const QUALITIES: [u8; 7] = [85, 80, 74, 68, 60, 50, 40];

#[cfg_attr(
    not(feature = "app"),
    expect(dead_code, reason = "nothing is drawn then")
)]
impl Encoded {
    /// Begins with the quality (of [`QUALITIES`]) that another set came to, or with the best.
    fn new(budget: usize, quality: u8) -> Self {
        let best = QUALITIES.iter().position(|q| *q == quality).unwrap_or(0);
        Self {
            files: Vec::new(),
            best,
            totals: vec![0; QUALITIES.len() - best].into(),
            budget,
        }
    }

    fn push(&mut self, rgba: &[u8], size: [usize; 2]) -> Result<(), PictureFileError> {
        let files = QUALITIES[self.best..]
            .iter()
            .map(|q| rgba_jpeg(rgba, size, *q))
            .collect::<Result<std::collections::VecDeque<_>, _>>()?;
        for (total, file) in self.totals.iter_mut().zip(&files) {
            *total += file.len();
        }
        self.files.push(files);
        // What cannot fit any more is let go.
        while self.totals[0] > self.budget && self.totals.len() > 1 {
            self.totals.pop_front();
            self.best += 1;
            for list in &mut self.files {
                list.pop_front();
            }
        }
        Ok(())
    }

    fn finish(self) -> (Pictures, u8) {
        let files = self.files.into_iter().map(|mut f| f.pop_front()).collect();
        (files, QUALITIES[self.best])
    }
}

/// Pictures of all stations and hours as JPEG files that fit the budget [bytes], no better than `quality` where it is one,
/// and the quality that they came to; or why there are none.
#[cfg(feature = "app")]
fn draw(
    room: &Arc<BuiltRoom>,
    study: &Study,
    wishes: &PageWishes,
    stations: &[usize],
    (budget, quality): (usize, u8),
    progress: &Progress,
) -> Result<(Pictures, u8), NotDrawn> {
    use crate::{
        app::{
            adapter::adapter,
            film::{FilmError, Shot, draw_shots},
        },
        transport::RoomLight,
        video::{Moment, room_light_settings},
    };
    adapter().map_err(|e| NotDrawn::Cannot(e.to_string()))?;
    let light = RoomLight::prepare(room.scene.clone(), room_light_settings(), progress)
        .map_err(NotDrawn::Light)?;
    let day = &study.days[0];
    let shots: Vec<Shot> = day
        .instants
        .iter()
        .flat_map(|instant| stations.iter().map(move |s| (instant, *s)))
        .map(|(instant, station)| Shot {
            walk: wishes.walk,
            eye: study.walks[wishes.walk].stations[station],
            moment: Moment {
                instant: instant.clone(),
                sky: day.sky.clone(),
                fixtures: None,
            },
            size: wishes.size,
        })
        .collect();
    let mut encoded = Encoded::new(budget, quality);
    draw_shots(
        (room, &Arc::new(light)),
        &shots,
        progress,
        &mut |_, picture, _| {
            encoded
                .push(&picture.bytes, picture.size)
                .map_err(FilmError::Picture)
        },
    )?;
    Ok(encoded.finish())
}

#[cfg(not(feature = "app"))]
fn draw(
    _: &Arc<BuiltRoom>,
    _: &Study,
    _: &PageWishes,
    _: &[usize],
    _: (usize, u8),
    _: &Progress,
) -> Result<(Pictures, u8), NotDrawn> {
    Err(NotDrawn::Cannot("this build cannot draw pictures".into()))
}
