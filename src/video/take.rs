//! A room prepared for a film: the light and the piece of every frame.
//!
//! Input: a room and a script; output: for each frame the room's light laid out for drawing, every tile's luminance
//! for the eye, and the eye's adaptation. Tiles are computed at key eyes [`KEY_M`] apart along the way, all with the same
//! random points, and taken between them as curves in the logarithm (E. Catmull and R. Rom, 1974, held within the
//! neighbours), so that nothing flickers. The light of each moment is solved anew. The adaptation is known for the whole
//! film before it is drawn: a mean over [`ADAPT_S`] both ways, so that it neither lags nor pumps. Limits: lamps that
//! switch take [`SWITCH_S`] of the film.

use std::sync::Arc;

use glam::Vec3;
use rayon::prelude::*;

use super::{
    Frame, Script,
    stage::{Moment, Stage, StageLight, room_light_settings},
};
use crate::{
    image::{Exposure, PiecePicture, RoomPicture, luminance},
    room::BuiltRoom,
    scene::Station,
    transport::{LightState, Progress, RoomLight, SolveError},
};

/// Way between key eyes [m].
pub const KEY_M: f32 = 0.1;
/// Half of the time that the adaptation is a mean over [s].
const ADAPT_S: f32 = 1.5;
/// Time of the film that a lamp takes to switch [s].
const SWITCH_S: f32 = 0.4;
/// Frames a second at which the adaptation is looked up before it is smoothed.
const ADAPT_PER_S: u32 = 4;

/// A room prepared for a script.
pub struct Take {
    stage: Stage,
    script: Arc<Script>,
    /// Way to each key eye [m].
    keys_m: Vec<f32>,
    /// The one light of a film whose clock stands, and what every key eye sees under it.
    still: Option<(StageLight, Arc<RoomPicture>, Vec<PiecePicture>)>,
    exposures: Vec<Exposure>,
}

/// Everything that one frame is drawn from.
#[derive(Clone)]
pub struct FrameLight {
    /// The room.
    pub room: Arc<BuiltRoom>,
    /// Its prepared light.
    pub light: Arc<RoomLight>,
    /// The light of the moment.
    pub state: Arc<LightState>,
    /// The same, laid out.
    pub picture: Arc<RoomPicture>,
    /// The piece for the eye.
    pub piece: Arc<PiecePicture>,
    /// The eye's adaptation.
    pub exposure: Exposure,
    /// The eye.
    pub eye: Station,
    /// Tells lights apart: equal where the light is the same.
    pub serial: u64,
}

impl Take {
    /// Computes the light in the room and on the piece, and the piece from every key eye.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`], [`SolveError::NotFinite`].
    pub fn prepare(
        room: &Arc<BuiltRoom>,
        script: &Arc<Script>,
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let light = RoomLight::prepare(room.scene.clone(), room_light_settings(), progress)?;
        Self::in_light(room, &Arc::new(light), script, progress)
    }

    /// The same where the room's light is prepared already.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`], [`SolveError::NotFinite`].
    pub fn in_light(
        room: &Arc<BuiltRoom>,
        light: &Arc<RoomLight>,
        script: &Arc<Script>,
        progress: &Progress,
    ) -> Result<Self, SolveError> {
        let (keys_m, stations) = key_eyes(&script.frames);
        let count = script.frames.len();
        let probes: Vec<Moment> = [0, count / 2, count - 1]
            .into_iter()
            .take(if script.clock_stands() { 1 } else { 3 })
            .map(|k| moment(room, script, k))
            .collect();
        let mut take = Self {
            stage: Stage::prepare(room, light, stations, &probes, progress)?,
            script: Arc::clone(script),
            keys_m,
            still: None,
            exposures: Vec::new(),
        };
        if script.clock_stands() {
            let light = take.stage.light_at(&probes[0])?;
            let picture = take.stage.picture(&light, &probes[0]);
            progress.announce(take.keys_m.len() as u64);
            let keys = (0..take.keys_m.len())
                .into_par_iter()
                .map(|key| {
                    progress.step()?;
                    take.see(key, &light)
                })
                .collect::<Result<_, _>>()?;
            take.still = Some((light, picture, keys));
        }
        take.exposures = take.adapt(progress)?;
        Ok(take)
    }

    /// The script.
    pub fn script(&self) -> &Arc<Script> {
        &self.script
    }

    /// The room.
    pub fn room(&self) -> &Arc<BuiltRoom> {
        self.stage.room()
    }

    /// Its light.
    pub fn light(&self) -> &Arc<RoomLight> {
        self.stage.light()
    }

    /// Makes two takes of one script show luminances alike: both eyes take the mean of both adaptations.
    pub fn share_exposure(&mut self, other: &mut Self) {
        for (a, b) in self.exposures.iter_mut().zip(&mut other.exposures) {
            let mean = Exposure::settled((a.light_cd_m2() * b.light_cd_m2()).map(f32::sqrt));
            *a = mean;
            *b = mean;
        }
    }

    /// One frame.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`].
    pub fn frame(&self, number: usize) -> Result<FrameLight, SolveError> {
        let (light, picture, serial) = match &self.still {
            Some((light, picture, _)) => (light.clone(), Arc::clone(picture), 1),
            None => {
                let moment = moment(self.room(), &self.script, number);
                let light = self.stage.light_at(&moment)?;
                let picture = self.stage.picture(&light, &moment);
                (light, picture, number as u64 + 1)
            }
        };
        let piece = self.piece(number, &light)?;
        Ok(FrameLight {
            room: Arc::clone(self.room()),
            light: Arc::clone(self.light()),
            state: Arc::clone(light.state()),
            picture,
            piece: Arc::new(piece),
            exposure: self.exposures[number],
            eye: self.script.frames[number].eye,
            serial,
        })
    }

    /// What a key eye sees.
    fn see(&self, key: usize, light: &StageLight) -> Result<PiecePicture, SolveError> {
        let seen = self.stage.see(key, self.script.request.walk, light)?;
        Ok(seen.1)
    }

    /// The piece for the eye of a frame, between the key eyes about it.
    fn piece(&self, number: usize, light: &StageLight) -> Result<PiecePicture, SolveError> {
        let at_m = self.script.frames[number].travel_m;
        let last = self.keys_m.len() - 1;
        let after = self.keys_m.partition_point(|m| *m <= at_m).min(last);
        let before = after.saturating_sub(1);
        let span_m = self.keys_m[after] - self.keys_m[before];
        let share = if span_m > 1e-6 {
            ((at_m - self.keys_m[before]) / span_m).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let look = |key: usize| match &self.still {
            Some((_, _, keys)) => Ok(keys[key].clone()),
            None => self.see(key, light),
        };
        if share == 0.0 || before == after {
            return look(if share == 0.0 { before } else { after });
        }
        let seen = [
            look(before.saturating_sub(1))?,
            look(before)?,
            look(after)?,
            look((after + 1).min(last))?,
        ];
        Ok(between(&seen, share))
    }

    /// The adaptation of all frames.
    fn adapt(&self, progress: &Progress) -> Result<Vec<Exposure>, SolveError> {
        let frames = self.script.frames.len();
        let rate = self.script.request.frames_per_s;
        let every = if self.still.is_some() {
            1
        } else {
            (rate / ADAPT_PER_S).max(1) as usize
        };
        let mut looked: Vec<usize> = (0..frames).step_by(every).collect();
        if looked.last() != Some(&(frames - 1)) {
            looked.push(frames - 1);
        }
        progress.announce(looked.len() as u64);
        let seen: Vec<Vec3> = looked
            .par_iter()
            .map(|number| {
                progress.step()?;
                let light = match &self.still {
                    Some((light, ..)) => light.clone(),
                    None => self
                        .stage
                        .light_at(&moment(self.room(), &self.script, *number))?,
                };
                Ok(logarithm(self.piece(*number, &light)?.adaptation_cd_m2))
            })
            .collect::<Result<_, SolveError>>()?;
        let every_frame: Vec<Vec3> = (0..frames)
            .map(|k| {
                let after = looked.partition_point(|l| *l <= k).min(looked.len() - 1);
                let before = after.saturating_sub(1);
                let span = (looked[after] - looked[before]).max(1);
                let share = (k.saturating_sub(looked[before])) as f32 / span as f32;
                seen[before].lerp(seen[after], share.min(1.0))
            })
            .collect();
        let half = (ADAPT_S * rate as f32) as i64;
        Ok((0..frames as i64)
            .map(|k| {
                let (mut sum, mut weights) = (Vec3::ZERO, 0.0);
                for j in -half..=half {
                    let x = j as f32 / (half as f32 + 1.0);
                    let weight = 0.5 + 0.5 * (std::f32::consts::PI * x).cos();
                    sum += every_frame[(k + j).clamp(0, frames as i64 - 1) as usize] * weight;
                    weights += weight;
                }
                Exposure::settled((sum / weights).map(f32::exp))
            })
            .collect())
    }
}

/// The natural logarithm of each channel, of darkness a small number's.
fn logarithm(rgb: Vec3) -> Vec3 {
    rgb.map(|c| c.max(1e-4).ln())
}

/// Key eyes about [`KEY_M`] apart on the way of the frames, the first and last among them; way to each and eye.
fn key_eyes(frames: &[Frame]) -> (Vec<f32>, Vec<Station>) {
    let whole_m = frames.last().map_or(0.0, |f| f.travel_m);
    let steps = (whole_m / KEY_M).ceil() as usize;
    (0..=steps)
        .map(|k| {
            let at_m = if steps == 0 {
                0.0
            } else {
                whole_m * k as f32 / steps as f32
            };
            let after = frames
                .partition_point(|f| f.travel_m < at_m)
                .min(frames.len() - 1);
            let (a, b) = (&frames[after.saturating_sub(1)], &frames[after]);
            let span_m = b.travel_m - a.travel_m;
            let share = if span_m > 1e-6 {
                ((at_m - a.travel_m) / span_m).clamp(0.0, 1.0)
            } else {
                1.0
            };
            let eye = Station {
                eye: a.eye.eye.lerp(b.eye.eye, share),
                gaze_dir: a
                    .eye
                    .gaze_dir
                    .lerp(b.eye.gaze_dir, share)
                    .normalize_or(b.eye.gaze_dir),
                distance_m: a.eye.distance_m + (b.eye.distance_m - a.eye.distance_m) * share,
            };
            (at_m, eye)
        })
        .unzip()
}

/// The moment of a frame. Lamps that switch do so over [`SWITCH_S`].
fn moment(room: &BuiltRoom, script: &Script, number: usize) -> Moment {
    let frames = &script.frames;
    let half = if script.clock_stands() {
        0
    } else {
        (0.5 * SWITCH_S * script.request.frames_per_s as f32) as usize
    };
    let about = number.saturating_sub(half)..=(number + half).min(frames.len() - 1);
    let mut fixtures = vec![0.0; room.scene.fixtures.len()];
    let count = about.clone().count() as f32;
    for k in about {
        let then = room.fixture_strengths(frames[k].instant.clock_min);
        for (sum, strength) in fixtures.iter_mut().zip(then) {
            *sum += strength / count;
        }
    }
    Moment {
        instant: frames[number].instant.clone(),
        sky: script.request.sky.clone(),
        fixtures: Some(fixtures),
    }
}

/// The curve through four values at a share of the way from the second to the third, held within them.
fn curve([a, b, c, d]: [f32; 4], share: f32) -> f32 {
    let t = share;
    let value = b + 0.5
        * t
        * ((c - a) + t * ((2.0 * a - 5.0 * b + 4.0 * c - d) + t * (3.0 * (b - c) + d - a)));
    value.clamp(a.min(b).min(c).min(d), a.max(b).max(c).max(d))
}

/// The piece between the second and the third of four key eyes.
fn between(seen: &[PiecePicture; 4], share: f32) -> PiecePicture {
    let light = |of: &dyn Fn(&PiecePicture) -> f32| {
        let logarithms = [0, 1, 2, 3].map(|k| of(&seen[k]).max(1e-6).ln());
        curve(logarithms, share).exp()
    };
    let coloured = |of: &dyn Fn(&PiecePicture) -> Vec3| {
        let mixed = of(&seen[1]).lerp(of(&seen[2]), share);
        let wanted = light(&|p| luminance(of(p)));
        mixed * (wanted / luminance(mixed).max(1e-9))
    };
    PiecePicture {
        tiles_cd_m2: (0..seen[1].tiles_cd_m2.len())
            .map(|tile| coloured(&|p| p.tiles_cd_m2[tile]))
            .collect(),
        surround_cd_m2: seen[1].surround_cd_m2,
        adaptation_cd_m2: coloured(&|p| p.adaptation_cd_m2),
        sources: Arc::clone(&seen[1].sources),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_passes_through_its_keys_and_stays_within_them() {
        let keys = [0.0, 1.0, 5.0, 5.0];
        assert_eq!(curve(keys, 0.0), 1.0);
        assert!((curve(keys, 1.0) - 5.0).abs() < 1e-6);
        for k in 0..=20 {
            let value = curve(keys, k as f32 / 20.0);
            assert!((0.0..=5.0).contains(&value), "{value}");
        }
        // A straight line stays straight.
        assert!((curve([0.0, 1.0, 2.0, 3.0], 0.3) - 1.3).abs() < 1e-6);
    }
}
