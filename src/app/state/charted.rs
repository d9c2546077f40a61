//! What the chart shows.

use crate::report::{ScaleKind, ValueScale};

/// What the chart shows.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum Charted {
    /// Play: spread between tiles.
    #[default]
    Play,
    /// Glow: the piece over the wall around it.
    Glow,
    /// Shift: change a metre walked.
    Shift,
    /// Mean luminance of the piece.
    Luminance,
}

impl Charted {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Play, Self::Glow, Self::Shift, Self::Luminance];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Play => "Play",
            Self::Glow => "Glow",
            Self::Shift => "Shift",
            Self::Luminance => "Luminance",
        }
    }

    /// What it means.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Play => {
                "How many times brighter the light tiles are than the dark ones. 1:1 is one flat tone."
            }
            Self::Glow => "How many times brighter the piece is than the wall around it",
            Self::Shift => {
                "How much the pattern changes for each metre walked: 0 stands still, 1 is a lively change"
            }
            Self::Luminance => "Mean luminance of the piece toward the eye",
        }
    }

    /// Unit for people, with its space.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Play | Self::Glow => ":1",
            Self::Shift => " per m",
            Self::Luminance => " cd/m\u{b2}",
        }
    }

    /// Ends of its scale, always the same, so that a change of the room never changes what a colour means.
    pub fn scale(self) -> ValueScale {
        let (low, high) = match self {
            Self::Play => (1.0, 30.0),
            Self::Glow => (0.1, 10.0),
            Self::Shift => (0.01, 3.0),
            Self::Luminance => (0.1, 10_000.0),
        };
        ValueScale {
            kind: ScaleKind::Log,
            low,
            high,
        }
    }

    /// The value of a reading.
    pub fn of(self, reading: &crate::study::StationReading) -> Option<f32> {
        match self {
            Self::Play => Some(reading.play),
            Self::Glow => Some(reading.glow),
            Self::Shift => reading.shift_per_m,
            Self::Luminance => Some(reading.mean_luminance_cd_m2),
        }
        .filter(|v| v.is_finite())
    }
}
