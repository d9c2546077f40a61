//! How a material stands in a file: readable parameters, in degrees and millimetres.
//!
//! [`MaterialSpec::brdf`] turns it into the model; all conversion happens here.

use serde::{Deserialize, Serialize};

use crate::material::Brdf;
use crate::material::coated::CoatedDiffuse;
use crate::material::diffuse::Diffuse;
use crate::material::error::{MaterialError, in_range};
use crate::material::figure::Figure;
use crate::material::metal::{BrushedMetal, MetalParameters};
use crate::material::metal_optics::MetalReflectance;
use crate::material::relief::{Groove, ReliefProfile, RidgedRelief};
use crate::material::wood::{Finish, FinishedWood, LACQUER_INDEX, WoodParameters};

/// A material as a user writes it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MaterialSpec {
    /// The model and its parameters.
    pub model: ModelSpec,
    /// Colour for pictures only, linear Rec. 709; never enters a luminance.
    pub display_rgb: [f32; 3],
    /// How easily light damages it.
    pub dose_class: DoseClass,
    /// Where the numbers come from, in a few words.
    pub source: String,
}

/// Responsivity category of CIE 157:2004, "Control of damage to museum objects by optical radiation".
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub enum DoseClass {
    /// 1: metals, stone, ceramic, glass, concrete.
    None,
    /// 2: wood, lacquer, oil paint.
    Low,
    /// 3: textiles, dyed veneer.
    Medium,
    /// 4: silk, sensitive dyes.
    High,
}

/// A responsivity category that does not exist.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("dose class is {0}, outside 1 to 4")]
pub struct DoseClassError(u8);

impl TryFrom<u8> for DoseClass {
    type Error = DoseClassError;

    fn try_from(class: u8) -> Result<Self, DoseClassError> {
        match class {
            1 => Ok(DoseClass::None),
            2 => Ok(DoseClass::Low),
            3 => Ok(DoseClass::Medium),
            4 => Ok(DoseClass::High),
            other => Err(DoseClassError(other)),
        }
    }
}

impl From<DoseClass> for u8 {
    fn from(class: DoseClass) -> u8 {
        match class {
            DoseClass::None => 1,
            DoseClass::Low => 2,
            DoseClass::Medium => 3,
            DoseClass::High => 4,
        }
    }
}

/// A model with its parameters; angles in degrees, lengths in millimetres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum ModelSpec {
    /// Plaster, raw board.
    Diffuse {
        /// Diffuse reflectance, 0..=1.
        reflectance: f32,
        /// EON roughness, 0..=1; 0 is Lambert.
        #[serde(default)]
        roughness: f32,
    },
    /// A diffuse body under a clear coat.
    CoatedDiffuse {
        /// Reflectance of the body before coating, 0..=1.
        body_reflectance: f32,
        /// Roughness of the coat's surface, 0..=1.
        coat_alpha: f32,
        /// Index of the coat.
        #[serde(default = "lacquer_index")]
        coat_eta: f32,
    },
    /// Wood under a finish.
    Wood {
        /// Diffuse part, bihemispherical, outside the finish, 0..=1.
        diffuse: f32,
        /// Fibre highlight, bihemispherical for flat fibres, outside the finish, 0..=1.
        fibre: f32,
        /// Standard deviation of the highlight [deg].
        width_deg: f32,
        /// Mean tilt of the fibre out of the surface [deg], positive toward the grain arrow.
        #[serde(default)]
        tilt_deg: f32,
        /// Spread of the tilt within a tile.
        #[serde(default)]
        figure: Figure,
        /// What lies on the wood.
        finish: Finish,
    },
    /// Brushed or polished metal.
    Metal {
        /// What the facets reflect.
        reflectance: MetalReflectance,
        /// What oxide, lacquer or anodising leaves of it, 0..=1.
        #[serde(default = "one")]
        scale: f32,
        /// GGX roughness along the brushing, 0..=1.
        alpha_along: f32,
        /// GGX roughness across the brushing, 0..=1.
        alpha_across: f32,
    },
    /// Ridged or grooved wall.
    Relief {
        /// Shape of the groove.
        groove: GrooveSpec,
        /// Width of the opening [mm].
        opening_mm: f32,
        /// Flat land between grooves [mm].
        #[serde(default)]
        land_mm: f32,
        /// Diffuse reflectance of the faces, 0..=1.
        reflectance: f32,
    },
}

/// Shape of a groove in millimetres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum GrooveSpec {
    /// Two straight faces.
    V {
        /// Depth [mm].
        depth_mm: f32,
        /// Where the bottom lies across the opening, 0..=1; 0.5 is symmetric.
        #[serde(default = "half")]
        apex: f32,
    },
    /// Straight flanks and a flat bottom.
    Trapezoid {
        /// Depth [mm].
        depth_mm: f32,
        /// Width of the bottom [mm].
        bottom_mm: f32,
    },
    /// A hollow half circle.
    HalfRound,
}

fn lacquer_index() -> f32 {
    LACQUER_INDEX
}

fn one() -> f32 {
    1.0
}

fn half() -> f32 {
    0.5
}

const METRES_PER_MM: f32 = 1e-3;

impl GrooveSpec {
    fn groove(self) -> Groove {
        match self {
            GrooveSpec::V { depth_mm, apex } => Groove::V {
                depth_m: depth_mm * METRES_PER_MM,
                apex,
            },
            GrooveSpec::Trapezoid {
                depth_mm,
                bottom_mm,
            } => Groove::Trapezoid {
                depth_m: depth_mm * METRES_PER_MM,
                bottom_m: bottom_mm * METRES_PER_MM,
            },
            GrooveSpec::HalfRound => Groove::HalfRound,
        }
    }
}

impl MaterialSpec {
    /// The material as its mirror image: a ridge that leans to one side leans to the other.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let mut mirrored = self.clone();
        if let ModelSpec::Relief {
            groove: GrooveSpec::V { apex, .. },
            ..
        } = &mut mirrored.model
        {
            *apex = 1.0 - *apex;
        }
        mirrored
    }

    /// The model, ready for use; takes up to 60 ms, so make it once a material.
    ///
    /// # Errors
    /// A parameter out of range, parts that do not fit, or a material brighter than white.
    pub fn brdf(&self) -> Result<Brdf, MaterialError> {
        for channel in self.display_rgb {
            // Saturated metals pass 1 a little in Rec. 709 red.
            in_range("display colour", channel, (0.0, 1.2))?;
        }
        self.model.brdf()
    }
}

impl ModelSpec {
    /// The model, ready for use.
    ///
    /// # Errors
    /// See [`MaterialSpec::brdf`].
    pub fn brdf(&self) -> Result<Brdf, MaterialError> {
        Ok(match *self {
            ModelSpec::Diffuse {
                reflectance,
                roughness,
            } => Brdf::Diffuse(Diffuse::new(reflectance, roughness)?),
            ModelSpec::CoatedDiffuse {
                body_reflectance,
                coat_alpha,
                coat_eta,
            } => Brdf::CoatedDiffuse(CoatedDiffuse::new(body_reflectance, coat_eta, coat_alpha)?),
            ModelSpec::Wood {
                diffuse,
                fibre,
                width_deg,
                tilt_deg,
                figure,
                finish,
            } => Brdf::Wood(FinishedWood::new(&WoodParameters {
                diffuse,
                fibre,
                width_rad: width_deg.to_radians(),
                tilt_rad: tilt_deg.to_radians(),
                figure,
                finish,
            })?),
            ModelSpec::Metal {
                reflectance,
                scale,
                alpha_along,
                alpha_across,
            } => Brdf::Metal(BrushedMetal::new(&MetalParameters {
                alpha_along,
                alpha_across,
                reflectance,
                scale,
            })?),
            ModelSpec::Relief {
                groove,
                opening_mm,
                land_mm,
                reflectance,
            } => {
                let profile = ReliefProfile::new(
                    groove.groove(),
                    opening_mm * METRES_PER_MM,
                    land_mm * METRES_PER_MM,
                )?;
                Brdf::Relief(RidgedRelief::new(profile, reflectance)?)
            }
        })
    }
}
