//! What can be wrong at a station and an instant, and why.

use serde::Serialize;

use crate::transport::LightPart;

/// The two kinds of trouble.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FlagKind {
    /// The pattern is lost, or the piece too dark or hidden.
    Dead,
    /// Something in view hurts or veils.
    Glaring,
}

/// Why.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// Dead: too little light on the piece.
    TooDark,
    /// Dead: light comes from everywhere, so grain does not show.
    EvenLight,
    /// Dead: this glare source veils the pattern.
    Veiled(LightPart),
    /// Dead: neighbouring tiles throw the light toward here alike.
    EqualTiles,
    /// Dead: tiles are too small to tell apart from here.
    TooSmall,
    /// Dead: something stands between.
    Hidden,
    /// Dead: seen from too far to the side.
    TooFlat,
    /// Dead: the eye is behind the piece.
    Behind,
    /// Glaring: tiles throw this source at the eye.
    Glint(LightPart),
    /// Glaring: the sun itself is in view, through a pane or the open sky.
    SunInView,
    /// Glaring: the windows together are too bright for the eye; the worst is named.
    BrightPane(usize),
    /// Glaring: some tiles are so bright beside their neighbours that they drown the rest.
    Overpowering,
    /// Glaring: the view as a whole is too bright.
    BrightView,
    /// Glaring: a fixture's opening is in direct view.
    BrightOpening(usize),
    /// Glaring: the fixtures together are too bright for the eye; the worst is named.
    BrightFixtures(usize),
    /// Glaring: the mirror image of this source stands in the piece.
    MirrorImage(LightPart),
}

impl Cause {
    /// Dead or glaring.
    pub fn kind(&self) -> FlagKind {
        match self {
            Self::TooDark
            | Self::EvenLight
            | Self::EqualTiles
            | Self::TooSmall
            | Self::Veiled(_)
            | Self::Hidden
            | Self::TooFlat
            | Self::Behind => FlagKind::Dead,
            _ => FlagKind::Glaring,
        }
    }

    /// A short name for tables.
    pub fn name(&self) -> &'static str {
        match self {
            Self::TooDark => "too_dark",
            Self::EvenLight => "even_light",
            Self::EqualTiles => "equal_tiles",
            Self::TooSmall => "too_small",
            Self::Behind => "behind",
            Self::Overpowering => "overpowering",
            Self::BrightView => "bright_view",
            Self::Veiled(_) => "veiled",
            Self::Hidden => "hidden",
            Self::TooFlat => "too_flat",
            Self::Glint(_) => "glint",
            Self::SunInView => "sun_in_view",
            Self::BrightPane(_) => "bright_window",
            Self::BrightOpening(_) => "bright_opening",
            Self::BrightFixtures(_) => "bright_fixtures",
            Self::MirrorImage(_) => "mirror_image",
        }
    }
}

/// One thing wrong at one station and instant.
#[derive(Clone, Debug, PartialEq)]
pub struct Flag {
    /// Why.
    pub cause: Cause,
    /// Ids of the tiles concerned, rising; empty when it is not about tiles.
    pub tiles: Vec<u32>,
    /// How bad: the value over its limit (glaring) or the limit over the value (dead), at least 1.
    pub severity: f32,
    /// Largest luminance concerned [cd/m2], 0 where none is.
    pub luminance_cd_m2: f32,
    /// The pane (index) that the sun comes through, where it is about the sun.
    pub through: Option<usize>,
    /// The surface (index) that stands between, where the piece is hidden.
    pub behind: Option<usize>,
}

impl Flag {
    /// A flag about no tile and no luminance; severity at least 1.
    pub(super) fn new(cause: Cause, severity: f32) -> Self {
        Self {
            cause,
            tiles: Vec::new(),
            severity: severity.max(1.0),
            luminance_cd_m2: 0.0,
            through: None,
            behind: None,
        }
    }

    pub(super) fn with_luminance(mut self, luminance_cd_m2: f32) -> Self {
        self.luminance_cd_m2 = luminance_cd_m2;
        self
    }
}
