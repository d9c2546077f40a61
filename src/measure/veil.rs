//! Veiling luminance: the haze that light scattered in the eye lays over everything, and the contrast it costs.
//!
//! Inputs: illuminance at the eye from each source on the plane facing the line of sight [lx], angle between
//! source and line of sight [rad], age [years], eye pigmentation (0 black to 1.2 very light). Output: equivalent
//! veiling luminance [cd/m2]. Source: CIE 146:2002, "CIE equations for disability glare", three forms whose
//! domains are in its abstract; constants from memory, the general one cross-read in five public texts.
//! Limits: healthy eyes; the form for 0.1 deg is also used closer in, where the truth is higher.

/// Colour of the eyes, which sets how much light passes the iris. Source: CIE 146:2002 (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum EyeColour {
    /// Black, 0.
    Black,
    /// Brown, 0.5.
    #[default]
    Brown,
    /// Light, 1.0.
    Light,
    /// Very light blue, 1.2.
    VeryLight,
}

impl EyeColour {
    /// The pigmentation factor p of CIE 146:2002.
    pub fn pigmentation(self) -> f64 {
        match self {
            Self::Black => 0.0,
            Self::Brown => 0.5,
            Self::Light => 1.0,
            Self::VeryLight => 1.2,
        }
    }
}

/// The three forms of CIE 146:2002.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum VeilForm {
    /// 0.1 to 100 deg, with age and pigmentation.
    General,
    /// 0.1 to 30 deg, with age.
    SmallAngle,
    /// 1 to 30 deg, with age.
    StilesHolladay,
}

/// One source of veil as the eye meets it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VeilSource {
    /// Illuminance at the eye, on the plane facing the line of sight [lx]: L omega cos(theta).
    pub illuminance_lx: f64,
    /// Angle between the line of sight and the source [rad].
    pub theta_rad: f64,
}

/// Angles [deg] where the forms begin and end. Source: CIE 146:2002, abstract.
const NEAREST_DEG: f64 = 0.1;
const STILES_HOLLADAY_NEAREST_DEG: f64 = 1.0;
const SMALL_ANGLE_WIDEST_DEG: f64 = 30.0;
const GENERAL_WIDEST_DEG: f64 = 100.0;

/// Play left at the ends of a domain for the rounding of degrees to radians and back [deg].
const DOMAIN_SLACK_DEG: f64 = 1e-9;

/// An eye with its age and colour worked into coefficients, for many angles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VeilObserver {
    age_term: f64,
    stiles_holladay_term: f64,
    pigmentation: f64,
}

impl VeilObserver {
    /// Observer of `age_years` (held at 0 or more) with `pigmentation` 0 to 1.2 (held there).
    pub fn new(age_years: f64, pigmentation: f64) -> Self {
        let age_years = age_years.max(0.0);
        Self {
            age_term: 1.0 + (age_years / 62.5).powi(4),
            stiles_holladay_term: 1.0 + (age_years / 70.0).powi(4),
            pigmentation: pigmentation.clamp(0.0, 1.2),
        }
    }

    /// Veiling luminance per illuminance [cd/m2 per lx] by the general form.
    ///
    /// Nearer than 0.1 deg it keeps the value of 0.1 deg; beyond 100 deg it is 0.
    #[inline]
    pub fn per_lx(&self, theta_rad: f64) -> f64 {
        let theta = theta_rad.abs().to_degrees().max(NEAREST_DEG);
        if theta > GENERAL_WIDEST_DEG + DOMAIN_SLACK_DEG {
            return 0.0;
        }
        // CIE 146:2002, general disability glare equation.
        let inverse = 1.0 / theta;
        let inverse_square = inverse * inverse;
        10.0 * inverse_square * inverse
            + (5.0 * inverse_square + 0.1 * self.pigmentation * inverse) * self.age_term
            + 0.0025 * self.pigmentation
    }

    /// Veiling luminance per illuminance [cd/m2 per lx] by one form; `None` outside its domain.
    ///
    /// The general form never gives `None`, see [`VeilObserver::per_lx`]. The small-angle form also keeps the value
    /// of 0.1 deg nearer in.
    pub fn per_lx_by(&self, form: VeilForm, theta_rad: f64) -> Option<f64> {
        let theta = theta_rad.abs().to_degrees();
        let widest = SMALL_ANGLE_WIDEST_DEG + DOMAIN_SLACK_DEG;
        match form {
            VeilForm::General => Some(self.per_lx(theta_rad)),
            // CIE 146:2002, small angle disability glare equation.
            VeilForm::SmallAngle => (theta <= widest).then(|| {
                let theta = theta.max(NEAREST_DEG);
                10.0 / theta.powi(3) + 5.0 / (theta * theta) * self.age_term
            }),
            // CIE 146:2002, age adjusted Stiles-Holladay equation; J. J. Vos, "On the cause of disability glare and
            // its dependence on glare angle, age and ocular pigmentation", 2003.
            VeilForm::StilesHolladay => (theta >= STILES_HOLLADAY_NEAREST_DEG - DOMAIN_SLACK_DEG
                && theta <= widest)
                .then(|| 10.0 / (theta * theta) * self.stiles_holladay_term),
        }
    }

    /// Veiling luminance [cd/m2] of all sources together, by the general form; sources without light do not count.
    pub fn veiling_luminance_cd_m2(&self, sources: &[VeilSource]) -> f64 {
        sources
            .iter()
            .filter(|source| source.illuminance_lx > 0.0)
            .map(|source| source.illuminance_lx * self.per_lx(source.theta_rad))
            .sum()
    }

    /// Veiling luminance [cd/m2] of all sources together by one form; `None` when a source lies outside its domain.
    pub fn veiling_luminance_by(&self, form: VeilForm, sources: &[VeilSource]) -> Option<f64> {
        sources
            .iter()
            .filter(|source| source.illuminance_lx > 0.0)
            .map(|source| Some(source.illuminance_lx * self.per_lx_by(form, source.theta_rad)?))
            .sum()
    }
}

/// Veiling luminance per illuminance [cd/m2 per lx], general form of CIE 146:2002; see [`VeilObserver::per_lx`].
pub fn veil_general_per_lx(theta_rad: f64, age_years: f64, pigmentation: f64) -> f64 {
    VeilObserver::new(age_years, pigmentation).per_lx(theta_rad)
}

/// Veiling luminance per illuminance [cd/m2 per lx], small-angle form; `None` beyond 30 deg.
pub fn veil_small_angle_per_lx(theta_rad: f64, age_years: f64) -> Option<f64> {
    VeilObserver::new(age_years, 0.0).per_lx_by(VeilForm::SmallAngle, theta_rad)
}

/// Veiling luminance per illuminance [cd/m2 per lx], age-adjusted Stiles-Holladay form; `None` outside 1 to 30 deg.
pub fn veil_stiles_holladay_per_lx(theta_rad: f64, age_years: f64) -> Option<f64> {
    VeilObserver::new(age_years, 0.0).per_lx_by(VeilForm::StilesHolladay, theta_rad)
}

/// Threshold increment [%]: by how much contrast must grow under the veil to be seen as before.
///
/// 65 L_v / L_b^0.8 for backgrounds from 0.05 to 5 cd/m2, 95 L_v / L_b^1.05 above (road lighting practice, CIE 31
/// and CIE 140, from memory). A background below 0.05 cd/m2 is taken as 0.05.
pub fn threshold_increment(veil_cd_m2: f64, background_cd_m2: f64) -> f64 {
    let background = background_cd_m2.max(0.05);
    if background < 5.0 {
        65.0 * veil_cd_m2 / background.powf(0.8)
    } else {
        95.0 * veil_cd_m2 / background.powf(1.05)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_angles_are_held_and_the_back_is_dark() {
        let eye = VeilObserver::new(60.0, EyeColour::Brown.pigmentation());
        let held = eye.per_lx(0.1_f64.to_radians());
        assert!((eye.per_lx(0.0) / held - 1.0).abs() < 1e-12);
        assert_eq!(eye.per_lx(101.0_f64.to_radians()), 0.0);
        assert!(eye.per_lx(100.0_f64.to_radians()) > 0.0);
    }

    #[test]
    fn forms_say_none_outside_their_domain() {
        assert_eq!(veil_small_angle_per_lx(31.0_f64.to_radians(), 40.0), None);
        assert_eq!(
            veil_stiles_holladay_per_lx(0.5_f64.to_radians(), 40.0),
            None
        );
        let eye = VeilObserver::new(40.0, 0.5);
        let near = VeilSource {
            illuminance_lx: 10.0,
            theta_rad: 0.2,
        };
        let far = VeilSource {
            illuminance_lx: 10.0,
            theta_rad: 0.8,
        };
        assert!(
            eye.veiling_luminance_by(VeilForm::SmallAngle, &[near])
                .is_some()
        );
        assert_eq!(
            eye.veiling_luminance_by(VeilForm::SmallAngle, &[near, far]),
            None
        );
    }

    #[test]
    fn older_and_lighter_eyes_scatter_more() {
        let at =
            |age: f64, colour: EyeColour| VeilObserver::new(age, colour.pigmentation()).per_lx(0.2);
        assert!(at(70.0, EyeColour::Brown) > at(25.0, EyeColour::Brown));
        assert!(at(25.0, EyeColour::VeryLight) > at(25.0, EyeColour::Black));
    }
}
