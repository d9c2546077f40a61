//! A room prepared for pictures from given eyes: the light of any moment, and the piece for each eye.
//!
//! Input: a room, its light, the eyes; output: what is drawn. All eyes take the same random points, so that their errors
//! go along smoothly from one to the next.

use std::sync::Arc;

use glam::Vec3;

use super::FrameLight;
use crate::{
    image::{
        ColouredLight, Exposure, FixtureTexels, LightMap, MOST_TEXELS, PiecePicture, RoomPicture,
        TEXEL_M,
    },
    room::BuiltRoom,
    scene::Station,
    sky::SkyState,
    study::{Instant, Prepared, StationReading, sky_model},
    transport::{
        LightState, PieceLight, Progress, RoomLight, RoomLightSettings, SolveError, Strengths,
        ViewSettings,
    },
};

/// How the piece is computed for pictures: finer than a study.
pub(super) fn view_settings() -> ViewSettings {
    ViewSettings {
        tile_count: 512,
        lobe_count: 64,
        most_lobe_count: 1024,
        wanted_error: 0.015,
        eye_count: 1024,
        for_pictures: true,
        ..ViewSettings::default()
    }
}

/// Rays to each fixture's opening from each texel, more than in the window: nobody waits for the first picture.
const PICTURE_TEXEL_RAYS: u32 = 12;

/// How the room's light is computed for pictures: with more rays than for figures, since the eye sees blotches that no
/// figure tells of.
pub fn room_light_settings() -> RoomLightSettings {
    RoomLightSettings {
        hemisphere_count: 1024,
        pane_count: 128,
        ..RoomLightSettings::default()
    }
}

/// A moment under a sky.
#[derive(Clone, Debug)]
pub struct Moment {
    /// Sun and time.
    pub instant: Instant,
    /// Name of the sky.
    pub sky: String,
    /// Output of each fixture; that of the room at the moment's clock time where left out.
    pub fixtures: Option<Vec<f32>>,
}

/// A room prepared for pictures.
pub struct Stage {
    room: Arc<BuiltRoom>,
    light: Arc<RoomLight>,
    map: Arc<LightMap>,
    texels: Vec<Option<FixtureTexels>>,
    eyes: Prepared,
    stations: Vec<Station>,
}

/// The light of one moment.
#[derive(Clone)]
pub struct StageLight {
    coloured: Arc<ColouredLight>,
    sources: Arc<Vec<(Vec3, f32)>>,
}

impl StageLight {
    /// The light of all sources together.
    pub fn state(&self) -> &Arc<LightState> {
        &self.coloured.state
    }
}

impl Stage {
    /// Traces what eyes need. `moments` are those that decide where more samples are taken, and which fixtures are ever
    /// lit.
    ///
    /// # Errors
    /// [`SolveError`].
    pub fn prepare(
        room: &Arc<BuiltRoom>,
        light: &Arc<RoomLight>,
        stations: Vec<Station>,
        moments: &[Moment],
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let map = Arc::new(LightMap::new(light, TEXEL_M, MOST_TEXELS));
        let probes = moments
            .iter()
            .map(|moment| light.solve(strengths(room, light, moment)))
            .collect::<Result<Vec<LightState>, _>>()?;
        let hours = room.file.fixtures.iter().map(|f| f.lit.is_some());
        let texels = hours
            .enumerate()
            .map(|(f, has_hours)| {
                // One that has hours may be lit at a moment that is not among the probes.
                let ever = has_hours || probes.iter().any(|p| p.strengths.fixtures[f] > 0.0);
                ever.then(|| map.trace_fixture(light, f, PICTURE_TEXEL_RAYS))
            })
            .collect();
        let settings = view_settings();
        let on_piece =
            PieceLight::trace(light, room.piece.clone(), &stations, &settings, progress)?;
        let eyes = Prepared::for_eyes(
            (room, light, &Arc::new(on_piece)),
            stations.clone(),
            settings,
            &probes,
            progress,
        )?;
        Ok(Self {
            room: Arc::clone(room),
            light: Arc::clone(light),
            map,
            texels,
            eyes,
            stations,
        })
    }

    /// The room.
    pub fn room(&self) -> &Arc<BuiltRoom> {
        &self.room
    }

    /// Its light.
    pub fn light(&self) -> &Arc<RoomLight> {
        &self.light
    }

    /// Solves the light of a moment.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`].
    pub fn light_at(&self, moment: &Moment) -> Result<StageLight, SolveError> {
        let state = Arc::new(
            self.light
                .solve(strengths(&self.room, &self.light, moment))?,
        );
        let piece = &self.room.piece;
        let sources =
            self.light
                .sources_at(piece.centre + piece.normal * 0.02, piece.normal, &state);
        let model = sky_model(&moment.sky, &self.room);
        Ok(StageLight {
            coloured: Arc::new(ColouredLight::split(&self.light, state, &model)?),
            sources: Arc::new(sources),
        })
    }

    /// Lays the light of a moment out for drawing.
    pub fn picture(&self, light: &StageLight, moment: &Moment) -> Arc<RoomPicture> {
        let texels: Vec<Option<&FixtureTexels>> = self.texels.iter().map(Option::as_ref).collect();
        let model = sky_model(&moment.sky, &self.room);
        Arc::new(RoomPicture::new(
            &self.light,
            &self.map,
            &light.coloured,
            &texels,
            (&model, &moment.instant, &self.room.site),
            true,
        ))
    }

    /// What one of its eyes (index) sees, as on a walk (index).
    ///
    /// # Errors
    /// [`SolveError::NotFinite`].
    pub fn see(
        &self,
        eye: usize,
        walk: usize,
        light: &StageLight,
    ) -> Result<(StationReading, PiecePicture), SolveError> {
        let coloured = &light.coloured;
        let parts: Vec<&LightState> = coloured.parts.iter().map(|p| &*p.state).collect();
        let walk = &self.room.walks[walk].walk;
        let reading = self.eyes.read_eye(eye, walk, &coloured.state, &parts)?;
        let piece = PiecePicture::new(&reading, coloured, Arc::clone(&light.sources));
        Ok((reading.reading, piece))
    }

    /// One of its eyes (index) with what it sees, to be drawn as it is adapted. `serial` tells lights apart.
    pub fn shot(
        &self,
        eye: usize,
        light: &StageLight,
        picture: &Arc<RoomPicture>,
        piece: PiecePicture,
        serial: u64,
    ) -> FrameLight {
        FrameLight {
            room: Arc::clone(&self.room),
            light: Arc::clone(&self.light),
            state: Arc::clone(light.state()),
            picture: Arc::clone(picture),
            exposure: Exposure::settled(piece.adaptation_cd_m2),
            piece: Arc::new(piece),
            eye: self.stations[eye],
            serial,
        }
    }
}

/// Output of all sources at a moment.
fn strengths(room: &BuiltRoom, light: &RoomLight, moment: &Moment) -> Strengths {
    let model = sky_model(&moment.sky, room);
    let sky = SkyState::new(&model, &moment.instant.sun, &room.site);
    let fixtures = moment
        .fixtures
        .clone()
        .unwrap_or_else(|| room.fixture_strengths(moment.instant.clock_min));
    Strengths::under(&sky, light.scene(), light.columns()).with_fixtures(fixtures)
}
