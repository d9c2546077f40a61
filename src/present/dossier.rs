//! The dossier from a study: places compared, views drawn, pages set.

use std::sync::Arc;

use super::{NotDrawn, PresentError};
use crate::{
    advice::{
        Verdict,
        rank::{Pass, RankSettings, Ranking, rank, taken},
        schedule::schedule,
    },
    outcome::{self, DossierParts, DossierStill, Lengths, Paper, TellingView},
    report,
    room::{BuiltRoom, station_at},
    scene::Station,
    study::{Instant, Study, StudyRequest},
    transport::{PieceLight, Progress, RoomLight, Strengths, ViewSettings},
};

/// Pictures at most.
const MOST_STILLS: usize = 6;
/// Width and height of the pictures [pixels]: one size for all, since another drawer would have to warm up.
#[cfg(feature = "app")]
const PICTURE_PX: [u32; 2] = [960, 540];

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
    /// Day of issue.
    pub issued: Option<jiff::civil::Date>,
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
        settings.most = 1;
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
            Err(why) => (Vec::new(), Some(why.reason()?)),
        }
    } else {
        (Vec::new(), Some("They were left out on request".into()))
    };
    let better = match &no_pictures {
        None => better_still(room, &light, &places, progress)?,
        Some(_) => None,
    };
    let made = format!(
        "{}Computed by Lustrewalk {} for {}; room file {}",
        wishes.issued.map_or(String::new(), |day| {
            format!("Issued {}. ", outcome::date_words(day))
        }),
        env!("CARGO_PKG_VERSION"),
        days_words(request),
        fingerprint(room)
    );
    let source = outcome::dossier(&DossierParts {
        room,
        study: result,
        places: &places,
        schedule: &rows,
        cover: stills.first(),
        stills: stills.get(1..).unwrap_or_default(),
        better: better.as_ref(),
        lamps_most_lx: lamps_most_lx(room, &light, progress)?,
        no_pictures: no_pictures.as_deref(),
        lengths: wishes.lengths,
        paper: wishes.paper,
        made: &made,
    });
    Ok(Dossier {
        bytes: report::pdf(&source)?,
        pictures: stills.len().saturating_sub(1),
        no_pictures,
    })
}

/// Eight letters that tell one room file from another.
fn fingerprint(room: &BuiltRoom) -> String {
    // FNV-1a, 32 bits (from memory): the same on every machine.
    let text = crate::room::write_room(&room.file).unwrap_or_default();
    let hash = text.bytes().fold(0x811c_9dc5_u32, |hash, byte| {
        (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
    });
    format!("{hash:08x}")
}

/// Most light on a tile by all fixtures at their dimming, new lamps, no daylight [lx].
fn lamps_most_lx(
    room: &BuiltRoom,
    light: &RoomLight,
    progress: &Progress,
) -> Result<Option<f32>, PresentError> {
    if room.scene.fixtures.is_empty() {
        return Ok(None);
    }
    let outputs = room.scene.fixtures.iter().map(|f| f.dimming).collect();
    let dark = Strengths::dark(light.scene(), light.columns()).with_fixtures(outputs);
    let state = light.solve(dark)?;
    let settings = ViewSettings::default();
    let on_piece = PieceLight::trace(light, room.piece.clone(), &[], &settings, progress)?;
    let none = vec![0.0; room.piece.tiles.len()];
    let lit = on_piece.tile_illuminances_lx(&state, &none);
    Ok(lit.into_iter().reduce(f32::max))
}

/// The piece at the best place of the comparison, where that is another than the one drawn: from the station and at the
/// hour at which it plays most.
fn better_still(
    room: &Arc<BuiltRoom>,
    light: &Arc<RoomLight>,
    places: &Ranking,
    progress: &Progress,
) -> Result<Option<DossierStill>, PresentError> {
    let Some(best) = places.places.first().filter(|p| !p.present) else {
        return Ok(None);
    };
    let Ok(there) = room.changed(taken(&room.file, &best.placement)) else {
        return Ok(None);
    };
    let there = Arc::new(there);
    let clean = |v: &Verdict| v.open && !v.dead && !v.glaring && v.class.works();
    // From before it, neither at arm's length nor from the far end.
    let before = |walk: usize, distance_m: f32| {
        let piece = &there.piece;
        let eye = station_at(&there.walks[walk].walk, distance_m, piece.centre).eye;
        let away = eye - piece.centre;
        (2.0..8.0).contains(&away.length()) && away.normalize_or_zero().dot(piece.normal) > 0.6
    };
    let most = best
        .judgement
        .walks
        .iter()
        .flat_map(|walk| {
            let stations = walk.distance_m.len().max(1);
            walk.cells
                .iter()
                .enumerate()
                .map(move |(k, v)| (walk, k / stations, k % stations, v))
        })
        .filter(|(walk, _, station, v)| clean(v) && before(walk.walk, walk.distance_m[*station]))
        .max_by(|a, b| a.3.play.total_cmp(&b.3.play));
    let Some((walk, instant, station, _)) = most else {
        return Ok(None);
    };
    let (sky, date) = &best.judgement.groups[walk.group];
    let clock_min = walk.clock_min[instant];
    let request = StudyRequest {
        days: vec![*date],
        from_min: clock_min,
        to_min: clock_min,
        step_min: 60,
        skies: vec![sky.clone()],
    };
    let Some(instant) = request
        .instants(*date, &there, &mut Vec::new())
        .ok()
        .and_then(|list| list.into_iter().next())
    else {
        return Ok(None);
    };
    let eye = station_at(
        &there.walks[walk.walk].walk,
        walk.distance_m[station],
        there.piece.centre,
    );
    let title = format!(
        "{}: {}, {:.1} m along; {}, {}, {sky} sky",
        outcome::placement_name(&there.file, &best.placement),
        there.walks[walk.walk].walk.name,
        walk.distance_m[station],
        outcome::date_words(*date),
        outcome::clock_text(clock_min)
    );
    let lamps = &there.scene;
    let same_lamps = lamps
        .fixtures
        .iter()
        .zip(&light.scene().fixtures)
        .all(|(a, b)| a.shines_like(b));
    let light = if same_lamps {
        Arc::clone(light)
    } else {
        Arc::new(RoomLight::prepare_from(
            Some(light),
            there.scene.clone(),
            crate::video::room_light_settings(),
            progress,
        )?)
    };
    match draw_one(&there, &light, walk.walk, eye, instant, sky, progress) {
        Ok(file) => Ok(Some(DossierStill {
            file,
            ending: "jpg",
            caption: title.clone(),
            title,
        })),
        Err(why) => why.reason().map(|_| None),
    }
}

/// One picture, as a JPEG file.
#[cfg(feature = "app")]
fn draw_one(
    room: &Arc<BuiltRoom>,
    light: &Arc<RoomLight>,
    walk: usize,
    eye: Station,
    instant: Instant,
    sky: &str,
    progress: &Progress,
) -> Result<Vec<u8>, NotDrawn> {
    use crate::{
        app::film::{FilmError, Shot, draw_shots},
        image::rgba_jpeg,
        video::Moment,
    };
    let shot = Shot {
        walk,
        eye,
        moment: Moment {
            instant,
            sky: sky.into(),
            fixtures: None,
        },
        size: PICTURE_PX,
    };
    let mut file = Vec::new();
    draw_shots((room, light), &[shot], progress, &mut |_, picture, _| {
        file = rgba_jpeg(&picture.bytes, picture.size, 88).map_err(FilmError::Picture)?;
        Ok(())
    })?;
    Ok(file)
}

#[cfg(not(feature = "app"))]
fn draw_one(
    _: &Arc<BuiltRoom>,
    _: &Arc<RoomLight>,
    _: usize,
    _: Station,
    _: Instant,
    _: &str,
    _: &Progress,
) -> Result<Vec<u8>, NotDrawn> {
    Err(NotDrawn::Cannot("This build cannot draw pictures".into()))
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
) -> Result<Vec<DossierStill>, NotDrawn> {
    use crate::{
        app::{
            adapter::adapter,
            film::{FilmError, Shot, draw_shots},
        },
        image::rgba_jpeg,
        video::Moment,
    };
    adapter().map_err(|e| NotDrawn::Cannot(e.to_string()))?;
    let shot = |view: &TellingView| Shot {
        size: PICTURE_PX,
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
    let shots: Vec<Shot> = order.iter().map(|view| shot(view)).collect();
    draw_shots((room, light), &shots, progress, &mut |k, picture, _| {
        let (title, caption) = outcome::view_words(room, result, order[k]);
        stills.push(DossierStill {
            file: rgba_jpeg(&picture.bytes, picture.size, 90).map_err(FilmError::Picture)?,
            ending: "jpg",
            title,
            caption,
        });
        Ok(())
    })?;
    Ok(stills)
}

#[cfg(not(feature = "app"))]
fn draw(
    _: &Arc<BuiltRoom>,
    _: &Arc<RoomLight>,
    _: &Study,
    _: &[TellingView],
    _: &Progress,
) -> Result<Vec<DossierStill>, NotDrawn> {
    Err(NotDrawn::Cannot("This build cannot draw pictures".into()))
}
