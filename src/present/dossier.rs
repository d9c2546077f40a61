//! The dossier from a study: places compared, views drawn, pages set.

use std::sync::Arc;

use super::PresentError;
use crate::{
    advice::{
        rank::{Pass, RankSettings, rank},
        schedule::schedule,
    },
    outcome::{self, DossierParts, DossierStill, Lengths, Paper, TellingView},
    report,
    room::BuiltRoom,
    study::{Study, StudyRequest},
    transport::{Progress, RoomLight},
};

/// Pictures at most.
const MOST_STILLS: usize = 8;

/// What a dossier shall be like.
#[derive(Clone, Copy, Debug)]
pub struct DossierWishes {
    /// Compare every place of the room, not only the present one and those that it names.
    pub every_place: bool,
    /// With pictures.
    pub pictures: bool,
    /// Paper.
    pub paper: Paper,
    /// Units of lengths.
    pub lengths: Lengths,
}

/// A finished document.
pub struct Dossier {
    /// The PDF file.
    pub bytes: Vec<u8>,
    /// Pictures in it.
    pub pictures: usize,
    /// Why it has none, where it has none.
    pub no_pictures: Option<String>,
}

/// Compares places, draws, and sets the pages.
///
/// # Errors
/// [`PresentError`].
pub fn make_dossier(
    room: &Arc<BuiltRoom>,
    result: &Study,
    request: &StudyRequest,
    wishes: &DossierWishes,
    progress: &Progress,
) -> Result<Dossier, PresentError> {
    let mut settings = RankSettings::for_room(&room.file);
    if !wishes.every_place {
        // A few named places are compared alike, by a look at each: what differs between them shows there.
        settings.most = 1 + room.file.candidates.len();
        settings.last = Pass::Look;
    }
    let places = rank(room, request, &settings, progress, &mut |_| {})?;
    let light = Arc::new(RoomLight::prepare(
        room.scene.clone(),
        crate::video::room_light_settings(),
        progress,
    )?);
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
    Ok(Dossier {
        bytes: report::pdf(&source)?,
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
