//! The page from one or two rooms: studies, pictures of every station and hour, one file.

use std::sync::Arc;

use super::PresentError;
use crate::{
    outcome::{self, Lengths, PageParts, PageState},
    room::BuiltRoom,
    study::{self, Study, StudyRequest, StudySettings},
    transport::Progress,
};

/// Largest page that is made [bytes].
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
    let count = |study: &Study| study.walks.get(wishes.walk).map(|w| w.stations.len());
    let stations = match studies.iter().map(count).collect::<Option<Vec<_>>>() {
        Some(counts) if counts.iter().all(|c| *c == counts[0]) => {
            outcome::spread_stations(counts[0], wishes.most_stations)
        }
        _ => {
            return Err(PresentError::Walks);
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
    })?;
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
    wishes: &PageWishes,
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
