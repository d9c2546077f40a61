//! What the window wants to see.

use std::{path::PathBuf, sync::Arc};

use bevy::math::Vec3;
use jiff::civil;

use crate::{room::RoomFile, scene::Station};

/// A moment under a sky.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Clock {
    /// Civil day of the site.
    pub date: civil::Date,
    /// Minutes of the clock after midnight, 0..1440.
    pub minute: u32,
    /// Name of the sky.
    pub sky: String,
}

impl Clock {
    /// "10:05".
    pub fn time_words(&self) -> String {
        format!("{:02}:{:02}", self.minute / 60 % 24, self.minute % 60)
    }

    /// Whether another moment has the same day and sky.
    pub fn same_day(&self, other: &Self) -> bool {
        self.date == other.date && self.sky == other.sky
    }
}

/// An eye that looks at the piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eye {
    /// Where it is and where it looks.
    pub station: Station,
    /// Index of the walk that it belongs to; gives the age of the observer.
    pub walk: usize,
}

/// A point whose light is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeterPoint {
    /// Number of the pin; 0 is what is under the cursor.
    pub pin: u32,
    /// Place [m, world], on the surface.
    pub point: Vec3,
    /// Normal of the surface, unit.
    pub normal: Vec3,
    /// What it lies on: a tile (index) or else a surface of the room (index).
    pub on: MeterOn,
}

/// What a point lies on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeterOn {
    /// A tile (index).
    Tile(usize),
    /// A surface of the room (index).
    Surface(usize),
}

/// Everything that the window shows.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// Revision of the room.
    pub revision: u64,
    /// The room.
    pub room: Arc<RoomFile>,
    /// Folder that its files lie beside.
    pub folder: PathBuf,
    /// The moment.
    pub clock: Clock,
    /// Step and span of the day's chart [min].
    pub hours: (u32, u32, u32),
    /// The eye that the picture is for.
    pub eye: Option<Eye>,
    /// Points whose light is asked for.
    pub points: Vec<MeterPoint>,
    /// Whether the hand rests: then coarse answers are refined.
    pub resting: bool,
    /// Whether the picture is shown at all (a held plan may show its chart only).
    pub picture: bool,
}
