//! Finished wood: fibre highlight and diffuse wood under a clear coat, and the coat's own gloss.
//!
//! f = f_coat + T_i T_o ( A_d / (pi T_mean^2) + k_f sum_k w_k f_f,k / eta^2 ), values per steradian,
//! frame +Z normal, +X the grain arrow, directions leaving the surface. The structure is that of
//! Marschner et al. 2005 (see `fibre`), the reciprocal form with 1/eta^2.
//!
//! - `diffuse` A_d: bihemispherical reflectance of the diffuse part as seen OUTSIDE the finish, so
//!   that the sheet's total = A_d + A_f + coat.
//! - `fibre` A_f: bihemispherical reflectance of the highlight for fibres lying flat; k_f follows
//!   from it. Tilted fibres give back less: the rest is lost to internal reflection.
//! - `figure`: the spread of the tilt within the tile.
//!
//! Limits: see `fibre`; a rough coat returns a little less than a flat one (its facets shadow one
//! another) and that light is taken as lost; the parts are checked to return no more than arrives, for every direction.

use std::f32::consts::{FRAC_1_PI, PI};
use std::sync::Arc;

use glam::{Vec2, Vec3};
use serde::{Deserialize, Serialize};

use crate::material::error::{MaterialError, in_range};
use crate::material::fibre::{FibreLobe, Inside, hemisphere_nodes};
use crate::material::figure::Figure;
use crate::material::fresnel::{dielectric, dielectric_diffuse_outside};
use crate::material::ggx::Ggx;
use crate::material::lobe_albedo::CoatAlbedo;
use crate::sampling::ONE_BELOW;

/// Index of lacquers and varnishes. Source: Marschner et al. 2005 used 1.5.
pub const LACQUER_INDEX: f32 = 1.5;

/// What lies on the wood.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Finish {
    /// Raw or oiled: no film, no refraction.
    Raw,
    /// Matt lacquer, alpha 0.38 (from memory: 0.3 to 0.45).
    Matt,
    /// Satin lacquer, alpha 0.25 (from memory: 0.15 to 0.3).
    Satin,
    /// Gloss lacquer, alpha 0.05 (from memory: 0.02 to 0.08).
    Gloss,
    /// A coat of given index and roughness.
    Coat {
        /// Refractive index.
        eta: f32,
        /// GGX roughness.
        alpha: f32,
    },
}

impl Finish {
    /// Index and roughness; None for raw wood.
    fn coat(self) -> Option<(f32, f32)> {
        match self {
            Finish::Raw => None,
            Finish::Matt => Some((LACQUER_INDEX, 0.38)),
            Finish::Satin => Some((LACQUER_INDEX, 0.25)),
            Finish::Gloss => Some((LACQUER_INDEX, 0.05)),
            Finish::Coat { eta, alpha } => Some((eta, alpha)),
        }
    }
}

/// Parameters of finished wood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WoodParameters {
    /// Bihemispherical reflectance of the diffuse part, outside the finish.
    pub diffuse: f32,
    /// Bihemispherical reflectance of the highlight of flat fibres, outside the finish.
    pub fibre: f32,
    /// Standard deviation beta of the highlight [rad].
    pub width_rad: f32,
    /// Mean tilt of the fibre [rad], positive where it rises toward the grain arrow.
    pub tilt_rad: f32,
    /// Spread of the tilt within a tile.
    pub figure: Figure,
    /// What lies on the wood.
    pub finish: Finish,
}

/// Allowed standard deviation of the fibre highlight [rad].
const WIDTH_RANGE_RAD: (f32, f32) = (2.0 * PI / 180.0, 40.0 * PI / 180.0);
/// Allowed mean tilt [rad].
const TILT_RANGE_RAD: (f32, f32) = (-30.0 * PI / 180.0, 30.0 * PI / 180.0);
/// Side of the grid of samples for the albedo of one fibre direction.
const ALBEDO_SIDE: u32 = 16;
/// What rounding and quadrature may add to an albedo of one.
const ALBEDO_SLACK: f32 = 1e-3;

/// The surface gloss of a coat.
#[derive(Clone, Debug, PartialEq)]
struct Coat {
    lobe: Ggx,
    albedo: CoatAlbedo,
}

/// Fibres of one tilt, with k_f w / eta^2.
#[derive(Clone, Copy, Debug, PartialEq)]
struct WeightedFibre {
    lobe: FibreLobe,
    /// Share of the tile.
    share: f32,
}

/// Finished wood.
#[derive(Clone, Debug, PartialEq)]
pub struct FinishedWood {
    fibres: Arc<[WeightedFibre]>,
    coat: Option<Coat>,
    eta: f32,
    /// k_f.
    strength: f32,
    /// k_f / eta^2.
    outside_strength: f32,
    /// A_d / (pi T_mean^2) [1/sr].
    body_per_sr: f32,
    /// 1 - F_out.
    mean_transmittance: f32,
    width_rad: f32,
    /// What the fibres' nodes stand for.
    figure: Figure,
    /// Mean tilt [rad].
    tilt_rad: f32,
    albedo: f32,
}

impl FinishedWood {
    /// Wood of given parameters; takes 20 to 60 ms.
    ///
    /// # Errors
    /// A parameter out of range, or parts that add up to more than arrives.
    pub fn new(parameters: &WoodParameters) -> Result<Self, MaterialError> {
        let diffuse = in_range("diffuse reflectance", parameters.diffuse, (0.0, 1.0))?;
        let fibre = in_range("fibre reflectance", parameters.fibre, (0.0, 1.0))?;
        let width_rad = in_range("fibre width in rad", parameters.width_rad, WIDTH_RANGE_RAD)?;
        let tilt_rad = in_range("fibre tilt in rad", parameters.tilt_rad, TILT_RANGE_RAD)?;
        let (eta, coat) = match parameters.finish.coat() {
            None => (1.0, None),
            Some((eta, alpha)) => {
                let eta = in_range("coat index", eta, super::coated::COAT_INDEX_RANGE)?;
                let alpha = in_range("coat roughness", alpha, (0.0, 1.0))?;
                let lobe = Ggx::new(Vec2::splat(alpha));
                let albedo = CoatAlbedo::new(&lobe, eta);
                (eta, Some(Coat { lobe, albedo }))
            }
        };
        let fibres = parameters
            .figure
            .nodes(tilt_rad, width_rad)?
            .iter()
            .map(|node| WeightedFibre {
                lobe: FibreLobe::new(node.tilt_rad, width_rad, eta),
                share: node.weight,
            })
            .collect();
        let strength = fibre / FibreLobe::new(0.0, width_rad, eta).albedo();
        let mean_transmittance = 1.0 - dielectric_diffuse_outside(eta);
        let mut wood = Self {
            fibres,
            coat,
            eta,
            strength,
            outside_strength: strength / (eta * eta),
            body_per_sr: diffuse * FRAC_1_PI / (mean_transmittance * mean_transmittance),
            mean_transmittance,
            width_rad,
            figure: parameters.figure,
            tilt_rad,
            albedo: 0.0,
        };
        wood.albedo = wood.checked_albedo()?;
        Ok(wood)
    }

    /// Bihemispherical albedo; fails where a direction returns more than arrives.
    fn checked_albedo(&self) -> Result<f32, MaterialError> {
        let check = |v: Vec3| {
            let albedo = self.directional_albedo(v);
            if albedo > 1.0 + ALBEDO_SLACK {
                return Err(MaterialError::TooBright {
                    model: "wood",
                    albedo,
                    from_normal_deg: v.z.clamp(-1.0, 1.0).acos().to_degrees(),
                });
            }
            Ok(albedo)
        };
        let mut sum = 0.0;
        for (v, weight) in hemisphere_nodes() {
            sum += weight * check(v)?;
        }
        // The normal, and grazing along, against and across the grain.
        for v in [
            Vec3::Z,
            Vec3::new(0.995, 0.0, 0.099_9),
            Vec3::new(-0.995, 0.0, 0.099_9),
            Vec3::new(0.0, 0.995, 0.099_9),
        ] {
            check(v)?;
        }
        Ok(sum)
    }

    /// The factor k_f of the fibre highlight (inside the coat).
    #[must_use]
    pub fn fibre_strength(&self) -> f32 {
        self.strength
    }

    /// Coat index; 1 for raw wood.
    #[must_use]
    pub fn eta(&self) -> f32 {
        self.eta
    }

    #[inline]
    pub(crate) fn lobe_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        self.under_coat_per_sr(to_light, to_eye, 0.0) + self.coat_per_sr(to_light, to_eye)
    }

    /// Lobe and product part together, sharing the passage through the coat.
    #[inline]
    pub(crate) fn per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        self.under_coat_per_sr(to_light, to_eye, self.body_per_sr)
            + self.coat_per_sr(to_light, to_eye)
    }

    /// T_i T_o (body + k_f / eta^2 sum of highlights).
    #[inline]
    fn under_coat_per_sr(&self, to_light: Vec3, to_eye: Vec3, body_per_sr: f32) -> f32 {
        let (light, eye) = (
            Inside::new(to_light, self.eta),
            Inside::new(to_eye, self.eta),
        );
        let highlight: f32 = self
            .fibres
            .iter()
            .map(|f| f.share * f.lobe.inside_per_sr(light.dir, eye.dir))
            .sum();
        light.transmittance * eye.transmittance * (body_per_sr + self.outside_strength * highlight)
    }

    #[inline]
    fn coat_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        self.coat.as_ref().map_or(0.0, |coat| {
            let (value, half) = coat.lobe.per_sr_and_half_cosine(to_light, to_eye);
            value * dielectric(half, self.eta)
        })
    }

    #[inline]
    pub(crate) fn spread_in(&self, to_light: Vec3) -> f32 {
        self.body_per_sr * self.spread_out(to_light)
    }

    #[inline]
    pub(crate) fn spread_out(&self, to_eye: Vec3) -> f32 {
        1.0 - dielectric(to_eye.z, self.eta)
    }

    /// Probability of sampling the coat rather than the fibres, for an eye.
    #[inline]
    fn coat_probability(&self, to_eye: Vec3) -> f32 {
        if self.coat.is_none() {
            return 0.0;
        }
        if self.strength <= 0.0 {
            return 1.0;
        }
        let reflected = dielectric(to_eye.z, self.eta);
        (reflected / (reflected + (1.0 - reflected) * self.strength)).clamp(0.1, 0.9)
    }

    pub(crate) fn sample_lobe(&self, to_eye: Vec3, u: Vec3) -> Option<Vec3> {
        let coat_probability = self.coat_probability(to_eye);
        let xy = Vec2::new(u.x, u.y);
        match &self.coat {
            Some(coat) if u.z < coat_probability => coat.lobe.sample(to_eye, xy),
            _ if self.strength > 0.0 => {
                let mut rest = (u.z - coat_probability) / (1.0 - coat_probability);
                rest = rest.clamp(0.0, ONE_BELOW);
                let fibre = self
                    .fibres
                    .iter()
                    .find(|f| {
                        rest -= f.share;
                        rest < 0.0
                    })
                    .or(self.fibres.last())?;
                fibre.lobe.sample(to_eye, xy)
            }
            _ => None,
        }
    }

    pub(crate) fn lobe_pdf_per_sr(&self, to_light: Vec3, to_eye: Vec3) -> f32 {
        let coat_probability = self.coat_probability(to_eye);
        let coat_pdf = self
            .coat
            .as_ref()
            .map_or(0.0, |coat| coat.lobe.pdf_per_sr(to_light, to_eye));
        if coat_probability >= 1.0 || self.strength <= 0.0 {
            return coat_probability * coat_pdf;
        }
        let (light, eye) = (
            Inside::new(to_light, self.eta),
            Inside::new(to_eye, self.eta),
        );
        let inside: f32 = self
            .fibres
            .iter()
            .map(|f| f.share * f.lobe.inside_pdf(light.dir, eye.dir))
            .sum();
        let fibre_pdf = inside * to_light.z / (self.eta * self.eta * light.dir.z);
        coat_probability * coat_pdf + (1.0 - coat_probability) * fibre_pdf
    }

    pub(crate) fn has_lobe(&self) -> bool {
        self.coat.is_some() || self.strength > 0.0
    }

    pub(crate) fn width_rad(&self) -> f32 {
        // Half width at half height is 1.18 standard deviations; the coat widens it by its index.
        let fibre_rad = 1.177 * self.width_rad * self.eta;
        self.coat
            .as_ref()
            .map_or(fibre_rad, |coat| coat.lobe.width_rad().min(fibre_rad))
    }

    pub(crate) fn mirror_like(&self) -> Option<f32> {
        self.coat.as_ref().and_then(|coat| coat.lobe.mirror_like())
    }

    pub(crate) fn directional_albedo(&self, to_eye: Vec3) -> f32 {
        let fibres: f32 = self
            .fibres
            .iter()
            .map(|f| f.share * f.lobe.directional_albedo(to_eye, ALBEDO_SIDE))
            .sum();
        let coat = self.coat.as_ref().map_or(0.0, |c| c.albedo.at(to_eye.z));
        let spread = PI * self.body_per_sr * self.mean_transmittance * self.spread_out(to_eye);
        coat + self.strength * fibres + spread
    }

    pub(crate) fn albedo(&self) -> f32 {
        self.albedo
    }
}

/// Read access for pictures.
#[cfg(feature = "app")]
impl FinishedWood {
    pub(crate) fn figure(&self) -> Figure {
        self.figure
    }

    /// Mean tilt of the fibre [rad].
    pub(crate) fn tilt_rad(&self) -> f32 {
        self.tilt_rad
    }

    /// The coat's surface lobe; None for raw wood.
    pub(crate) fn coat_lobe(&self) -> Option<&Ggx> {
        self.coat.as_ref().map(|coat| &coat.lobe)
    }

    /// The body's factor [1/sr].
    pub(crate) fn body_per_sr(&self) -> f32 {
        self.body_per_sr
    }

    /// k_f / eta^2.
    pub(crate) fn outside_strength(&self) -> f32 {
        self.outside_strength
    }

    /// Share of the tile and lobe of each node of the figure.
    pub(crate) fn fibres(&self) -> impl ExactSizeIterator<Item = (f32, &FibreLobe)> {
        self.fibres.iter().map(|fibre| (fibre.share, &fibre.lobe))
    }
}
