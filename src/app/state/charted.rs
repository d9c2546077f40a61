//! What the chart shows.

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
                "Play: how far the bright tiles stand out from the dark ones (luminance that a tenth of the piece \
                 exceeds over the luminance that a tenth falls below). 1 is one flat tone."
            }
            Self::Glow => "Glow: mean luminance of the piece over that of the wall around it",
            Self::Shift => {
                "Shift: how much the pattern changes as one walks on, as the mean change of the logarithm of tile \
                 luminance a metre"
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
