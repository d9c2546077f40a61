//! What fills a station's view besides the piece: room, panes, fixtures.

use std::f32::consts::{PI, TAU};

use glam::{Vec2, Vec3};

use super::ViewSettings;
use crate::{
    geometry::Frame,
    sampling::{Sequence, cosine::sample_cosine_hemisphere, hash},
    scene::Station,
    transport::{
        Entry, LightState, RoomLight,
        rows::{dot, merge},
        tracer::FirstLanding,
    },
};

/// A pane as seen from a station.
#[derive(Clone, Debug)]
pub struct PaneInView {
    /// Index of the pane.
    pub pane_index: usize,
    /// Solid angle of the visible part in front of the eye [sr].
    pub solid_angle_sr: f32,
    /// Direction to the middle of the visible part, unit.
    pub dir: Vec3,
    /// Weights for the solid-angle integral of luminance [sr].
    radiance: Vec<Entry>,
    /// Weights for its illuminance at the eye [sr].
    illuminance: Vec<Entry>,
}

impl PaneInView {
    /// Mean luminance [cd/m2] of the visible part.
    pub fn luminance_cd_m2(&self, state: &LightState) -> f32 {
        dot(&self.radiance, &state.luminance_cd_m2) / self.solid_angle_sr
    }

    /// Illuminance at the eye on a plane facing the gaze [lx].
    pub fn illuminance_lx(&self, state: &LightState) -> f32 {
        dot(&self.illuminance, &state.luminance_cd_m2)
    }
}

/// A fixture's opening in direct view.
#[derive(Clone, Copy, Debug)]
pub struct FixtureInView {
    /// Index of the fixture.
    pub fixture_index: usize,
    /// Direction to it, unit.
    pub dir: Vec3,
    /// Solid angle of the opening [sr].
    pub solid_angle_sr: f32,
    /// Luminance toward the eye at full initial output [cd/m2].
    pub luminance_cd_m2: f32,
}

/// The view of one station.
#[derive(Clone, Debug)]
pub struct EyeField {
    /// Weights for the illuminance at the eye by surfaces of the room (not panes) [sr].
    surroundings: Vec<Entry>,
    /// Panes in view.
    pub panes: Vec<PaneInView>,
    /// Fixtures in view.
    pub fixtures: Vec<FixtureInView>,
    /// Share of the sun's directions that could be seen is found at reading time.
    eye: Vec3,
    gaze_dir: Vec3,
}

impl EyeField {
    pub(super) fn trace(
        room: &RoomLight,
        station: &Station,
        index: usize,
        settings: &ViewSettings,
    ) -> Self {
        let frame = Frame::new(station.eye, station.gaze_dir, Vec3::Y);
        let tracer = room.tracer();
        let sequence = Sequence::new(hash(settings.seed ^ 0xE1E, index as u32));
        let mut surroundings = Vec::new();
        for i in 0..settings.eye_count {
            // Cosine-weighted about the gaze, so that each ray carries pi / count.
            let local = sample_cosine_hemisphere(sequence.pair(i, 0));
            let weight = PI / settings.eye_count as f32;
            match tracer.trace_to_pane(station.eye, frame.world_from_local(local)) {
                FirstLanding::Patch(target) | FirstLanding::Outward(target) => {
                    surroundings.push(Entry { target, weight });
                }
                FirstLanding::Pane(_) | FirstLanding::Dark => {}
            }
        }
        merge(&mut surroundings);
        let panes = (0..room.scene().panes.len())
            .filter_map(|p| Self::pane(room, station, p, index))
            .collect();
        let fixtures = (0..room.scene().fixtures.len())
            .filter_map(|f| Self::fixture(room, station, f))
            .collect();
        Self {
            surroundings,
            panes,
            fixtures,
            eye: station.eye,
            gaze_dir: station.gaze_dir,
        }
    }

    fn pane(
        room: &RoomLight,
        station: &Station,
        pane_index: usize,
        index: usize,
    ) -> Option<PaneInView> {
        const COUNT: u32 = 48;
        let polygon = &room.scene().panes[pane_index].polygon;
        let area = polygon.area_m2();
        let tracer = room.tracer();
        let sequence = Sequence::new(hash(0x9A9E + pane_index as u32, index as u32));
        let (mut radiance, mut illuminance) = (Vec::new(), Vec::new());
        let (mut solid_angle_sr, mut dir_sum) = (0.0, Vec3::ZERO);
        for i in 0..COUNT {
            let point = polygon.point(Vec2::new(sequence.value(i, 0), sequence.value(i, 1)));
            let to_pane = point - station.eye;
            let r2 = to_pane.length_squared().max(1e-4);
            let dir = to_pane / r2.sqrt();
            let cos_gaze = dir.dot(station.gaze_dir);
            if cos_gaze <= 0.0
                || tracer.trace_to_pane(station.eye, dir) != FirstLanding::Pane(pane_index)
            {
                continue;
            }
            let weight = area * dir.dot(polygon.normal()).abs() / (r2 * COUNT as f32);
            solid_angle_sr += weight;
            dir_sum += dir * weight;
            tracer.trace(station.eye, dir, |target, transmittance| {
                radiance.push(Entry {
                    target,
                    weight: weight * transmittance,
                });
                illuminance.push(Entry {
                    target,
                    weight: weight * transmittance * cos_gaze,
                });
            });
        }
        if solid_angle_sr <= 1e-7 {
            return None;
        }
        merge(&mut radiance);
        merge(&mut illuminance);
        Some(PaneInView {
            pane_index,
            solid_angle_sr: solid_angle_sr.min(TAU),
            dir: dir_sum.normalize_or(station.gaze_dir),
            radiance,
            illuminance,
        })
    }

    fn fixture(room: &RoomLight, station: &Station, fixture_index: usize) -> Option<FixtureInView> {
        let fixture = &room.scene().fixtures[fixture_index];
        let to_fixture = fixture.position - station.eye;
        let distance_m = to_fixture.length();
        if distance_m < 0.05 {
            return None;
        }
        let dir = to_fixture / distance_m;
        if dir.dot(station.gaze_dir) <= 0.0 {
            return None;
        }
        let luminance_cd_m2 = fixture.luminance_cd_m2(-dir);
        let area_m2 = fixture.projected_area_m2(-dir);
        if luminance_cd_m2 <= 0.0 || area_m2 <= 0.0 {
            return None;
        }
        let (transmittance, _) = room
            .tracer()
            .transmission(station.eye, dir, distance_m - 2e-3)?;
        Some(FixtureInView {
            fixture_index,
            dir,
            solid_angle_sr: area_m2 / (distance_m * distance_m),
            luminance_cd_m2: luminance_cd_m2 * transmittance,
        })
    }

    /// Illuminance at the eye by the room's surfaces on a plane facing the gaze [lx].
    pub fn surroundings_lx(&self, state: &LightState) -> f32 {
        dot(&self.surroundings, &state.luminance_cd_m2)
    }

    /// Sun in direct view: share that reaches the eye through panes, when it is in front of the eye.
    pub fn sun_transmission(&self, room: &RoomLight, state: &LightState) -> Option<(Vec3, f32)> {
        let sun_dir = state.strengths.sun_dir?;
        if sun_dir.dot(self.gaze_dir) <= 0.0 {
            return None;
        }
        let share = room.sun_transmission(self.eye, sun_dir, &state.strengths.pane_open);
        (share > 0.0).then_some((sun_dir, share))
    }
}
