//! A fixture known only by its beam: beam angle, perhaps field angle, and lumens or centre candela.
//!
//! Method: with the beam angle alone, the cosine-power beam I = I0 cos^n(t), n = ln 0.5 / ln cos(beam / 2),
//! flux 2 pi I0 / (n + 1) (general photometric practice; closed forms). With both angles, the profile of the
//! private module `profile`: exactly 50 % at half the beam angle, exactly 10 % at half the field angle, and
//! the cosine-power beam again when the field angle is that beam's own.
//!
//! Limits: beam 1 to 160 degrees, field up to 175 degrees, and a field angle that is neither so close to the
//! beam angle that the edge would be a knife cut, nor so wide that the axis would be a spike. Beams with
//! cut-off, rings or a glare tail need a photometric file.

use super::distribution::IntensityDistribution;
use super::profile::{BeamProfile, edge_power};

/// Smallest beam angle [rad] (1 degree).
pub const LEAST_BEAM_ANGLE_RAD: f32 = std::f32::consts::PI / 180.0;
/// Largest beam angle [rad] (160 degrees).
pub const MOST_BEAM_ANGLE_RAD: f32 = 160.0 * std::f32::consts::PI / 180.0;
/// Largest field angle [rad] (175 degrees).
pub const MOST_FIELD_ANGLE_RAD: f32 = 175.0 * std::f32::consts::PI / 180.0;
/// Limits of the edge power (see the private module `profile`): 0.5 is a spike falling linearly from the
/// axis, 12 an edge within about a tenth of the beam angle.
const EDGE_POWER: std::ops::RangeInclusive<f64> = 0.5..=12.0;
/// Angles typed at a limit in degrees must pass after conversion [rad].
const ROUNDING_RAD: f32 = 1.0e-6;

/// How much light a beam has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BeamOutput {
    /// Luminous flux of the fixture [lm].
    FluxLm(f32),
    /// Intensity on the axis [cd].
    CentreCd(f32),
}

/// A beam round about its axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beam {
    /// Full angle at 50 % of the centre intensity [rad], 1 to 160 degrees.
    pub beam_angle_rad: f32,
    /// Full angle at 10 % of the centre intensity [rad], if known.
    pub field_angle_rad: Option<f32>,
    /// Lumens or centre candela.
    pub output: BeamOutput,
}

/// Why a beam was refused.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BeamError {
    /// Beam angle out of range.
    #[error("beam angle is {found_deg} degrees, allowed are {least_deg} to {most_deg}")]
    BeamAngle {
        /// As given [deg].
        found_deg: f32,
        /// Smallest [deg].
        least_deg: f32,
        /// Largest [deg].
        most_deg: f32,
    },
    /// Field angle out of the range that belongs to the beam angle.
    #[error(
        "field angle is {found_deg} degrees, for a beam angle of {beam_deg} degrees allowed are {least_deg:.1} to {most_deg:.1}"
    )]
    FieldAngle {
        /// As given [deg].
        found_deg: f32,
        /// Beam angle [deg].
        beam_deg: f32,
        /// Smallest [deg].
        least_deg: f32,
        /// Largest [deg].
        most_deg: f32,
    },
    /// Lumens or candela not a finite number from 0 up.
    #[error("{what} is {found}, which is no finite number from 0 to {most:e}")]
    Output {
        /// `"flux in lm"` or `"centre intensity in cd"`.
        what: &'static str,
        /// As given [lm or cd].
        found: f32,
        /// Largest allowed [lm or cd].
        most: f32,
    },
}

impl BeamError {
    /// What to do about it, one sentence.
    pub fn help(&self) -> &'static str {
        match self {
            Self::BeamAngle { .. } => {
                "give the full angle between the directions at half the centre intensity, in degrees; use a photometric file for anything else"
            }
            Self::FieldAngle { .. } => {
                "give the full angle between the directions at a tenth of the centre intensity, or leave it out"
            }
            Self::Output { .. } => "give the lumens of the fixture or its centre candela",
        }
    }
}

/// Largest lumens or candela accepted.
const MOST_OUTPUT: f32 = 1.0e9;

impl Beam {
    /// Intensity distribution about the downward axis of the luminaire frame.
    pub fn distribution(&self) -> Result<IntensityDistribution, BeamError> {
        let beam_rad = self.beam_angle_rad;
        let allowed = LEAST_BEAM_ANGLE_RAD - ROUNDING_RAD..=MOST_BEAM_ANGLE_RAD + ROUNDING_RAD;
        if !allowed.contains(&beam_rad) {
            return Err(BeamError::BeamAngle {
                found_deg: beam_rad.to_degrees(),
                least_deg: LEAST_BEAM_ANGLE_RAD.to_degrees(),
                most_deg: MOST_BEAM_ANGLE_RAD.to_degrees(),
            });
        }
        let (what, amount) = match self.output {
            BeamOutput::FluxLm(flux_lm) => ("flux in lm", flux_lm),
            BeamOutput::CentreCd(centre_cd) => ("centre intensity in cd", centre_cd),
        };
        if !(0.0..=MOST_OUTPUT).contains(&amount) {
            return Err(BeamError::Output {
                what,
                found: amount,
                most: MOST_OUTPUT,
            });
        }
        let half_beam = 0.5 * f64::from(beam_rad);
        let profile = match self.field_angle_rad {
            None => BeamProfile::cosine_power(half_beam),
            Some(field_rad) => {
                let (least_rad, most_rad) = field_limits_rad(beam_rad);
                let allowed = least_rad - ROUNDING_RAD..=most_rad + ROUNDING_RAD;
                if !allowed.contains(&field_rad) {
                    return Err(BeamError::FieldAngle {
                        found_deg: field_rad.to_degrees(),
                        beam_deg: beam_rad.to_degrees(),
                        least_deg: least_rad.to_degrees(),
                        most_deg: most_rad.to_degrees(),
                    });
                }
                BeamProfile::two_angles(half_beam, 0.5 * f64::from(field_rad))
            }
        };
        let peak_cd = match self.output {
            BeamOutput::CentreCd(centre_cd) => centre_cd,
            BeamOutput::FluxLm(flux_lm) => (f64::from(flux_lm) / profile.flux_per_peak_sr()) as f32,
        };
        Ok(IntensityDistribution::from_profile(
            profile.with_peak_cd(peak_cd),
        ))
    }
}

/// Smallest and largest field angle for a beam angle within its limits [rad].
pub fn field_limits_rad(beam_angle_rad: f32) -> (f32, f32) {
    let half_beam = 0.5 * f64::from(beam_angle_rad);
    // The edge power falls as the field widens; bisect for both limits.
    let field_at = |power: f64| {
        let (mut low, mut high) = (half_beam, 0.5 * f64::from(MOST_FIELD_ANGLE_RAD));
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if edge_power(half_beam, middle) > power {
                low = middle;
            } else {
                high = middle;
            }
        }
        (2.0 * low) as f32
    };
    (field_at(*EDGE_POWER.end()), field_at(*EDGE_POWER.start()))
}
