//! What fills a station's view besides the piece: room, panes, fixtures.

use std::f32::consts::{PI, TAU};

use glam::{Vec2, Vec3};

use super::ViewSettings;
use crate::{
    geometry::Frame,
    sampling::{Sequence, cosine::sample_cosine_hemisphere, hash},
    scene::Station,
    transport::{Entry, LightState, RoomLight, rows::dot, tracer::FirstLanding},
};

/// What a part of the view belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SeenThrough {
    /// A surface of the room, or what lies behind an open side of it.
    Surface,
    /// A pane (index).
    Pane(usize),
}

/// A small part of the view.
#[derive(Clone, Copy, Debug)]
pub struct ViewSample {
    /// Direction, unit.
    pub dir: Vec3,
    /// Solid angle that it stands for [sr].
    pub solid_angle_sr: f32,
    /// What it belongs to.
    pub seen: SeenThrough,
    first: u32,
    count: u32,
}

/// A fixture's opening in direct view.
#[derive(Clone, Copy, Debug)]
pub struct FixtureInView {
    /// Index of the fixture.
    pub fixture_index: usize,
    /// Direction to it, unit.
    pub dir: Vec3,
    /// Distance from the eye [m].
    pub distance_m: f32,
    /// Solid angle of the opening [sr].
    pub solid_angle_sr: f32,
    /// Luminance toward the eye at full initial output [cd/m2].
    pub luminance_cd_m2: f32,
}

/// The view of one station.
#[derive(Clone, Debug)]
pub struct EyeField {
    samples: Vec<ViewSample>,
    entries: Vec<Entry>,
    /// Fixtures in view.
    pub fixtures: Vec<FixtureInView>,
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
        let mut field = Self {
            samples: Vec::new(),
            entries: Vec::new(),
            fixtures: (0..room.scene().fixtures.len())
                .filter_map(|f| Self::fixture(room, station, f))
                .collect(),
            eye: station.eye,
            gaze_dir: station.gaze_dir,
        };
        let frame = Frame::new(station.eye, station.gaze_dir, Vec3::Y);
        let tracer = room.tracer();
        let sequence = Sequence::new(hash(settings.seed ^ 0xE1E, index as u32));
        for i in 0..settings.eye_count {
            // Cosine-weighted about the gaze: each ray carries pi / count of the illuminance.
            let local = sample_cosine_hemisphere(sequence.pair(i, 0));
            let dir = frame.world_from_local(local);
            match tracer.trace_to_pane(station.eye, dir) {
                FirstLanding::Patch(target) | FirstLanding::Outward(target) => {
                    let solid_angle_sr = PI / (settings.eye_count as f32 * local.z.max(0.02));
                    let entries = [Entry {
                        target,
                        weight: 1.0,
                    }];
                    field.push(dir, solid_angle_sr, SeenThrough::Surface, entries);
                }
                FirstLanding::Pane(_) | FirstLanding::Dark => {}
            }
        }
        for pane in 0..room.scene().panes.len() {
            field.look_through(room, pane, hash(settings.seed, index as u32));
        }
        field
    }

    fn push(
        &mut self,
        dir: Vec3,
        solid_angle_sr: f32,
        seen: SeenThrough,
        entries: impl IntoIterator<Item = Entry>,
    ) {
        let first = self.entries.len() as u32;
        self.entries.extend(entries);
        let count = self.entries.len() as u32 - first;
        self.samples.push(ViewSample {
            dir,
            solid_angle_sr,
            seen,
            first,
            count,
        });
    }

    /// Samples the visible part of a pane by points spread over it.
    fn look_through(&mut self, room: &RoomLight, pane_index: usize, seed: u32) {
        const COUNT: u32 = 48;
        let polygon = &room.scene().panes[pane_index].polygon;
        let area = polygon.area_m2();
        let tracer = room.tracer();
        let sequence = Sequence::new(hash(seed, 0x9A9E + pane_index as u32));
        for i in 0..COUNT {
            let point = polygon.point(Vec2::new(sequence.value(i, 0), sequence.value(i, 1)));
            let to_pane = point - self.eye;
            let r2 = to_pane.length_squared().max(1e-4);
            let dir = to_pane / r2.sqrt();
            if dir.dot(self.gaze_dir) <= 0.0
                || tracer.trace_to_pane(self.eye, dir) != FirstLanding::Pane(pane_index)
            {
                continue;
            }
            let solid_angle_sr = area * dir.dot(polygon.normal()).abs() / (r2 * COUNT as f32);
            let mut entries = Vec::with_capacity(2);
            tracer.trace(self.eye, dir, |target, weight| {
                entries.push(Entry { target, weight })
            });
            self.push(
                dir,
                solid_angle_sr.min(TAU),
                SeenThrough::Pane(pane_index),
                entries,
            );
        }
    }

    /// The parts of the view: surfaces by rays about the gaze, panes by points on them.
    pub fn samples(&self) -> &[ViewSample] {
        &self.samples
    }

    /// Luminance of a part [cd/m2].
    #[inline]
    pub fn luminance_cd_m2(&self, sample: &ViewSample, state: &LightState) -> f32 {
        let range = sample.first as usize..(sample.first + sample.count) as usize;
        dot(&self.entries[range], &state.luminance_cd_m2)
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
            distance_m,
            solid_angle_sr: area_m2 / (distance_m * distance_m),
            luminance_cd_m2: luminance_cd_m2 * transmittance,
        })
    }

    /// Sun in direct view: its direction, the share that reaches the eye, and the pane (index) that it
    /// comes through; `None` behind the eye or in shadow.
    pub fn sun(&self, room: &RoomLight, state: &LightState) -> Option<(Vec3, f32, Option<usize>)> {
        let sun_dir = state.strengths.sun_dir?;
        if sun_dir.dot(self.gaze_dir) <= 0.0 {
            return None;
        }
        let (share, pane) = room.sun_path(self.eye, sun_dir)?;
        (share > 0.0).then_some((sun_dir, share, pane))
    }
}
