//! Everything that one picture of a room is drawn from: its light at one moment, and the piece for one eye.

use std::sync::Arc;

use glam::Vec3;

use super::{
    ColouredLight, FixtureTexels, LightMap, SkyPicture, SourceColours, SunPatch, sun_patches,
};
use crate::{
    sky::{SkyModel, SkyState},
    study::{EyeReading, Instant},
    sun::Site,
    transport::RoomLight,
};

/// The room's light at one moment, ready to be drawn.
#[derive(Clone)]
pub struct RoomPicture {
    /// Layout of the atlas; the same allocation as long as the building stays.
    pub map: Arc<LightMap>,
    /// Luminance of every texel with its colour [cd/m2, linear Rec. 709]; empty where nothing is shown.
    pub texels_cd_m2: Arc<Vec<Vec3>>,
    /// Sun on surfaces.
    pub sun: Arc<Vec<SunPatch>>,
    /// Sky and ground.
    pub sky: Arc<SkyPicture>,
    /// Colours of the sources.
    pub colours: SourceColours,
    /// Whether the fixtures' light is traced at the fine step.
    pub fine: bool,
}

impl RoomPicture {
    /// The picture of a light. `fixtures` are the traced texels of each fixture where they are ready; `shown` says
    /// whether the atlas is wanted at all.
    pub fn new(
        room: &RoomLight,
        map: &Arc<LightMap>,
        light: &ColouredLight,
        fixtures: &[Option<&FixtureTexels>],
        (model, instant, site): (&SkyModel, &Instant, &Site),
        shown: bool,
    ) -> Self {
        let strengths = &light.state.strengths;
        let fine = fixtures
            .iter()
            .zip(&strengths.fixtures)
            .all(|(texels, strength)| texels.is_some() || *strength <= 0.0);
        let texels_cd_m2 = if shown {
            map.compose(room, light, fixtures)
        } else {
            Vec::new()
        };
        Self {
            map: Arc::clone(map),
            texels_cd_m2: Arc::new(texels_cd_m2),
            sun: Arc::new(sun_patches(room, &light.state)),
            sky: Arc::new(SkyPicture::new(
                &SkyState::new(model, &instant.sun, site),
                strengths.ground_cd_m2,
            )),
            colours: light.sources.clone(),
            fine,
        }
    }
}

/// The piece as one eye sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct PiecePicture {
    /// Luminance of each tile with its light's colour [cd/m2, linear Rec. 709].
    pub tiles_cd_m2: Vec<Vec3>,
    /// Mean luminance of the wall around the piece [cd/m2]; 0 with no wall.
    pub surround_cd_m2: f32,
    /// Luminance that the eye is adapted to, with its colour [cd/m2, linear Rec. 709].
    pub adaptation_cd_m2: Vec3,
    /// The light that reaches the piece's middle, for the grain seen close up: directions to it (unit, world)
    /// and illuminances on a plane facing it [lx].
    pub sources: Arc<Vec<(Vec3, f32)>>,
}

impl PiecePicture {
    /// The picture of a reading that was taken with the parts of `light`.
    pub fn new(
        reading: &EyeReading,
        light: &ColouredLight,
        sources: Arc<Vec<(Vec3, f32)>>,
    ) -> Self {
        let read = &reading.reading;
        let parts = &reading.by_part;
        let whole = |of: f32, mixed: Vec3| {
            // The colour is the parts' mixture, the luminance is the whole's to the last digit.
            let luminance = super::luminance(mixed);
            if luminance > 1e-9 {
                mixed * (of / luminance)
            } else {
                Vec3::splat(of)
            }
        };
        let tiles_cd_m2 = read
            .tiles
            .luminance_cd_m2
            .iter()
            .enumerate()
            .map(|(tile, luminance)| whole(*luminance, light.mixed(|p| parts[p].tiles_cd_m2[tile])))
            .collect();
        Self {
            tiles_cd_m2,
            surround_cd_m2: reading.surround_cd_m2,
            adaptation_cd_m2: whole(
                read.adaptation_cd_m2,
                light.mixed(|p| parts[p].adaptation_cd_m2),
            ),
            sources,
        }
    }
}
