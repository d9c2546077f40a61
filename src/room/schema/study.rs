//! Limits for flags, and what a study covers when the command line does not say.

use serde::{Deserialize, Serialize};

/// Limits for flags. Each names where its default comes from; change them for the project.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Limits {
    /// Tile luminance that counts as a glint [cd/m2] (own choice).
    pub glint_cd_m2: f32,
    /// Tile luminance over adaptation that counts as a glint (own choice).
    pub glint_over_adaptation: f32,
    /// Tile luminance below which nothing is a glint [cd/m2] (older European practice for reflections, from memory).
    pub glint_least_cd_m2: f32,
    /// Daylight glare probability above which a view is glaring (EN 17037: 0.40 is disturbing above).
    pub dgp: f32,
    /// Unified glare rating above which a view is glaring (EN 12464-1 practice, from memory: 22 for public areas).
    pub ugr: f32,
    /// Luminance of an opening in direct view that dazzles [cd/m2] (own choice).
    pub aperture_cd_m2: f32,
    /// Angle from the gaze within which an opening counts [deg] (own choice).
    pub aperture_within_deg: f32,
    /// Angle from the gaze within which the sun counts as seen [deg] (own choice: the edge of the useful field).
    pub sun_within_deg: f32,
    /// Mean luminance below which the piece is too dark to see [cd/m2] (physics of vision: colour fades near 3; own choice).
    pub dark_cd_m2: f32,
    /// Angle of view from the normal above which the piece is seen too flat [deg] (own choice: there it looks
    /// narrower than a fifth of its width).
    pub grazing_deg: f32,
    /// Year's light allowed on the material [lx h]; `None` takes the material's class.
    pub exposure_lx_h: Option<f32>,
}

impl Limits {
    /// Luminance above which a tile is a glint [cd/m2] for an eye adapted to `adaptation_cd_m2`.
    pub fn glint_from_cd_m2(&self, adaptation_cd_m2: f32) -> f32 {
        let relative = self.glint_over_adaptation * adaptation_cd_m2;
        self.glint_cd_m2.min(relative.max(self.glint_least_cd_m2))
    }
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            glint_cd_m2: 5000.0,
            glint_over_adaptation: 100.0,
            glint_least_cd_m2: 1000.0,
            dgp: 0.40,
            ugr: 22.0,
            aperture_cd_m2: 30_000.0,
            aperture_within_deg: 40.0,
            sun_within_deg: 60.0,
            dark_cd_m2: 1.0,
            grazing_deg: 78.0,
            exposure_lx_h: None,
        }
    }
}

/// What a study covers by default.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct StudyDefaults {
    /// Days as "YYYY-MM-DD".
    pub days: Vec<String>,
    /// First instant of each day, "HH:MM".
    pub from: String,
    /// Last instant of each day, "HH:MM".
    pub to: String,
    /// Minutes between instants.
    pub step_min: u32,
    /// Skies: "clear", "overcast", "intermediate", "hazy".
    pub skies: Vec<String>,
}

impl Default for StudyDefaults {
    fn default() -> Self {
        Self {
            days: ["2026-03-20", "2026-06-21", "2026-12-21"]
                .map(String::from)
                .to_vec(),
            from: "08:00".into(),
            to: "20:00".into(),
            step_min: 30,
            skies: ["clear", "overcast"].map(String::from).to_vec(),
        }
    }
}
