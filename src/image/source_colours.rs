//! Colour of the light: the sources' colours, and the room's light split by colour.
//!
//! Input: a solved light with its sky; output: linear Rec. 709 triples whose luminance is the engine's, so that no
//! number changes with the colour. Sources of one colour are solved together; light adds up, so their sum is the
//! light that was given. Colours are correlated colour temperatures: lamps from the room file, the sun from its height
//! and the sky from its kind (real skies spread by thousands of kelvins). Limits:
//! surfaces tint what the eye sees of them, not the light that they throw on.

use std::sync::Arc;

use glam::Vec3;

use crate::{
    measure::colour::{daylight_rgb, lamp_rgb},
    sky::SkyModel,
    transport::{LightState, RoomLight, SolveError, Strengths},
};

/// Colours of luminance 1 of everything that shines, linear Rec. 709.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceColours {
    /// The sun.
    pub sun_rgb: Vec3,
    /// The sky.
    pub sky_rgb: Vec3,
    /// The ground outside, lit by both.
    pub ground_rgb: Vec3,
    /// Each fixture.
    pub fixtures_rgb: Vec<Vec3>,
}

/// Light of one colour.
#[derive(Clone, Debug)]
pub struct ColourPart {
    /// Colour of luminance 1, linear Rec. 709.
    pub rgb: Vec3,
    /// The light of all sources that have it.
    pub state: Arc<LightState>,
}

/// The light of a room with its colours.
#[derive(Clone, Debug)]
pub struct ColouredLight {
    /// All of it.
    pub state: Arc<LightState>,
    /// The sources.
    pub sources: SourceColours,
    /// Parts that add up to it; one at least.
    pub parts: Vec<ColourPart>,
}

fn vec3(rgb: [f64; 3]) -> Vec3 {
    Vec3::from_array(rgb.map(|c| c as f32))
}

/// Correlated colour temperature of the direct sun [K] at a sine of its height: about 5300 K at 30 degrees, toward
/// 5500 K (D55) when high, 3500 K at 5 degrees, 2200 K on the horizon (common practice, no source).
pub fn sun_cct_k(sine_of_height: f32) -> f64 {
    let height_deg = f64::from(sine_of_height.clamp(0.0, 1.0).asin().to_degrees());
    2200.0 + 3300.0 * (1.0 - (-height_deg / 10.0).exp())
}

/// Correlated colour temperature of the whole sky without the sun [K]: that of the illuminant D75, which stands for
/// north-sky daylight, when clear, of D65 when overcast (CIE 15; which of them stands for what is common practice).
pub fn sky_cct_k(model: &SkyModel) -> f64 {
    match model {
        SkyModel::ClearTurbid { .. } => 7_500.0,
        SkyModel::Hazy { .. } | SkyModel::Intermediate { .. } => 7_000.0,
        _ => 6_500.0,
    }
}

impl SourceColours {
    /// Colours of a room's sources under a light.
    pub fn new(room: &RoomLight, strengths: &Strengths, sky: &SkyModel) -> Self {
        let sine = strengths.sun_dir.map_or(0.0, |d| d.y);
        let sun_cct = sun_cct_k(sine);
        // The daylight locus begins at 4000 K; a lower sun is as red as a glowing body, and between them nothing jumps.
        let daylight = ((sun_cct - 4000.0) / 1000.0).clamp(0.0, 1.0) as f32;
        let sun_rgb = vec3(lamp_rgb(sun_cct)).lerp(vec3(daylight_rgb(sun_cct)), daylight);
        let sky_rgb = vec3(daylight_rgb(sky_cct_k(sky)));
        let by_sun = ground_share_of_sun(room, strengths);
        Self {
            sun_rgb,
            sky_rgb,
            ground_rgb: sky_rgb.lerp(sun_rgb, by_sun),
            fixtures_rgb: room
                .scene()
                .fixtures
                .iter()
                .map(|f| vec3(lamp_rgb(f64::from(f.cct_k))))
                .collect(),
        }
    }
}

/// Share of the ground's light that comes straight from the sun, 0..=1.
fn ground_share_of_sun(room: &RoomLight, strengths: &Strengths) -> f32 {
    let Some(sun_dir) = strengths.sun_dir else {
        return 0.0;
    };
    let by_sun_cd_m2 =
        room.scene().ground_reflectance * strengths.sun_normal_illuminance_lx * sun_dir.y.max(0.0)
            / std::f32::consts::PI;
    if strengths.ground_cd_m2 > 0.0 {
        (by_sun_cd_m2 / strengths.ground_cd_m2).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

impl ColouredLight {
    /// Splits a solved light by colour.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`] of a part's solve.
    pub fn split(
        room: &RoomLight,
        state: Arc<LightState>,
        sky: &SkyModel,
    ) -> Result<Self, SolveError> {
        let all = &state.strengths;
        let sources = SourceColours::new(room, all, sky);
        let dark = || Strengths::dark(room.scene(), room.columns());
        let by_sun = ground_share_of_sun(room, all);
        let mut wanted: Vec<(Vec3, Strengths)> = Vec::new();
        if all.sun_dir.is_some() && all.sun_normal_illuminance_lx > 0.0 {
            wanted.push((
                sources.sun_rgb,
                Strengths {
                    sun_dir: all.sun_dir,
                    sun_normal_illuminance_lx: all.sun_normal_illuminance_lx,
                    ground_cd_m2: all.ground_cd_m2 * by_sun,
                    ..dark()
                },
            ));
        }
        if all.ground_cd_m2 > 0.0 || all.sky_cd_m2.iter().any(|l| *l > 0.0) {
            wanted.push((
                sources.sky_rgb,
                Strengths {
                    sky_cd_m2: all.sky_cd_m2.clone(),
                    ground_cd_m2: all.ground_cd_m2 * (1.0 - by_sun),
                    ..dark()
                },
            ));
        }
        for (index, strength) in all.fixtures.iter().enumerate() {
            if *strength <= 0.0 {
                continue;
            }
            let rgb = sources.fixtures_rgb[index];
            let known = wanted
                .iter_mut()
                .find(|(known, of)| *known == rgb && of.fixtures.iter().any(|s| *s > 0.0));
            match known {
                Some((_, of)) => of.fixtures[index] = *strength,
                None => {
                    let mut of = dark();
                    of.fixtures[index] = *strength;
                    wanted.push((rgb, of));
                }
            }
        }
        let parts = match wanted.len() {
            0 => vec![ColourPart {
                rgb: Vec3::ONE,
                state: Arc::clone(&state),
            }],
            1 => vec![ColourPart {
                rgb: wanted[0].0,
                state: Arc::clone(&state),
            }],
            _ => wanted
                .into_iter()
                .map(|(rgb, strengths)| {
                    Ok(ColourPart {
                        rgb,
                        state: Arc::new(room.solve(strengths)?),
                    })
                })
                .collect::<Result<_, SolveError>>()?,
        };
        Ok(Self {
            state,
            sources,
            parts,
        })
    }

    /// A luminance with its colour [cd/m2]: the sum over all parts of what each gives.
    pub fn mixed(&self, of_part: impl Fn(usize) -> f32) -> Vec3 {
        self.parts
            .iter()
            .enumerate()
            .map(|(i, part)| part.rgb * of_part(i))
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sun_is_red_on_the_horizon_and_nearly_white_when_high() {
        assert!((sun_cct_k(0.0) - 2200.0).abs() < 1.0);
        assert!(sun_cct_k(0.087) > 3300.0 && sun_cct_k(0.087) < 3700.0);
        assert!(sun_cct_k(0.9) > 5300.0 && sun_cct_k(1.0) <= 5500.0);
    }
}
