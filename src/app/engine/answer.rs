//! What the engine thread answers.

use std::sync::Arc;

use super::{Clock, Eye, MeterPoint};
use crate::{
    image::{PiecePicture, RoomPicture},
    room::BuiltRoom,
    study::{EyeReading, Instant, InstantReadings},
    sun::DayLight,
    transport::{LightPart, LightState, PointReading, RoomLight},
};

/// A problem of the room, at the thing that it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProblemAt {
    /// Path of the field, such as `walks[2].eye_m`, or of a section; empty where it is about the whole.
    pub path: String,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: String,
}

/// What one eye sees.
#[derive(Clone)]
pub struct Glance {
    /// The eye.
    pub eye: Eye,
    /// The moment.
    pub clock: Clock,
    /// What it sees.
    pub reading: Arc<EyeReading>,
    /// What is drawn of the piece.
    pub piece: Arc<PiecePicture>,
}

/// One moment of the day, all walks.
#[derive(Clone)]
pub struct Hour {
    /// The moment.
    pub clock: Clock,
    /// Sun and time.
    pub instant: Instant,
    /// Readings of all stations.
    pub readings: Arc<InstantReadings>,
    /// Whether it was computed with few samples and will be refined.
    pub rough: bool,
    /// Revision of the room that it is for.
    pub revision: u64,
    /// Whether it is one of the chart's own moments, not only that of the clock.
    pub on_grid: bool,
}

/// Light at a point.
#[derive(Clone, Debug)]
pub struct PointAnswer {
    /// What was asked.
    pub asked: MeterPoint,
    /// The moment.
    pub clock: Clock,
    /// Whether it was read with few samples and will be refined.
    pub rough: bool,
    /// Straight from each fixture (index) [lx], strongest first.
    pub by_fixture: Vec<(usize, f32)>,
    /// Illuminance with its parts.
    pub illuminance: PointReading,
    /// Luminance toward the eye [cd/m2].
    pub luminance_cd_m2: f32,
    /// Its standard error [cd/m2]; `None` for surfaces, whose value is the patch's.
    pub luminance_error_cd_m2: Option<f32>,
    /// Parts of a tile's luminance [cd/m2], largest first.
    pub parts: Vec<(LightPart, f32)>,
}

/// Something new from the engine.
pub enum Answer {
    /// The room is sound.
    Built {
        /// Revision of the room.
        revision: u64,
        /// The room.
        built: Arc<BuiltRoom>,
    },
    /// The room is not sound; the last sound one stays in view.
    Problems {
        /// Revision of the room.
        revision: u64,
        /// All problems.
        problems: Vec<ProblemAt>,
    },
    /// Light in the room at a moment.
    Light {
        /// Revision of the room.
        revision: u64,
        /// The moment.
        clock: Clock,
        /// Sun and time.
        instant: Box<Instant>,
        /// Sunrise and sunset.
        day_light: DayLight,
        /// The prepared room.
        light: Arc<RoomLight>,
        /// The solved light.
        state: Arc<LightState>,
        /// What is drawn.
        picture: RoomPicture,
    },
    /// What the eye sees.
    Glance {
        /// Revision of the room.
        revision: u64,
        /// What it sees.
        glance: Glance,
    },
    /// A moment of the day's chart.
    Hour {
        /// The moment.
        hour: Box<Hour>,
    },
    /// Light at points.
    Points {
        /// Revision of the room.
        revision: u64,
        /// One answer a point.
        points: Vec<PointAnswer>,
    },
    /// What is being done, and how far it is, 0..=1 where it is known; `None` when nothing is.
    Busy(Option<(&'static str, f32)>),
    /// A computation failed.
    Failed(String),
}
