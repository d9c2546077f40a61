//! How much light museum objects may get: classes, limits, and the dose over a year.
//!
//! Inputs: illuminance [lx], hours; output: exposure [lx h]. Source: CIE 157:2004, "Control of damage to museum
//! objects by optical radiation" (classes published, the numbers from memory; CEN/TS 16163:2014 carries the same
//! classes). Limits: visible light only, no spectra; the choice of the class and of a higher budget is a
//! conservator's. Doses are made with INITIAL lumens and the brightest tile.

use serde::{Deserialize, Serialize};

/// Responsivity class of CIE 157:2004.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum LightClass {
    /// Class 1: metal, stone, ceramic, glass, concrete.
    None,
    /// Class 2: wood, oil and tempera painting, lacquer, undyed leather, horn, bone.
    #[default]
    Low,
    /// Class 3: dyed or ebonised veneer, straw with fugitive dye, textile, watercolour, dyed leather.
    Medium,
    /// Class 4: silk, sensitive dyes, some photographs.
    High,
}

impl LightClass {
    /// Limiting illuminance [lx], CIE 157:2004 (from memory); `None` where there is no limit.
    pub fn limiting_illuminance_lx(self) -> Option<f64> {
        match self {
            Self::None => None,
            Self::Low => Some(200.0),
            Self::Medium | Self::High => Some(50.0),
        }
    }

    /// Limiting annual exposure [lx h], CIE 157:2004 (from memory); `None` where there is no limit.
    pub fn limiting_exposure_lx_h(self) -> Option<f64> {
        match self {
            Self::None => None,
            Self::Low => Some(600_000.0),
            Self::Medium => Some(150_000.0),
            Self::High => Some(15_000.0),
        }
    }

    /// Number of the class in CIE 157:2004, 1 to 4.
    pub fn number(self) -> u8 {
        match self {
            Self::None => 1,
            Self::Low => 2,
            Self::Medium => 3,
            Self::High => 4,
        }
    }

    /// What belongs to the class, for reports.
    pub fn materials(self) -> &'static str {
        match self {
            Self::None => "metal, stone, ceramic, glass, concrete",
            Self::Low => "wood, oil and tempera painting, lacquer, undyed leather, horn, bone",
            Self::Medium => {
                "dyed or ebonised veneer, dyed straw, textile, watercolour, dyed leather"
            }
            Self::High => "silk, sensitive dyes, some photographs",
        }
    }
}

/// Ultraviolet content [uW/lm] that older museum practice allows (from memory).
pub const UV_OLDER_LIMIT_UW_PER_LM: f64 = 75.0;

/// Ultraviolet content [uW/lm] of current good practice (from memory).
pub const UV_GOOD_PRACTICE_UW_PER_LM: f64 = 10.0;

/// Ultraviolet content [uW/lm] of daylight before filtering (from memory).
pub const UV_DAYLIGHT_UW_PER_LM: (f64, f64) = (300.0, 600.0);

/// Exposure over a year [lx h] of a steady illuminance.
pub fn annual_exposure_lx_h(illuminance_lx: f64, hours_per_day: f64, days_per_year: f64) -> f64 {
    illuminance_lx * hours_per_day * days_per_year
}

/// Exposure [lx h] of (illuminance [lx], duration [h]) pairs, summed in order.
pub fn exposure_lx_h(spans: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    spans
        .into_iter()
        .map(|(illuminance_lx, duration_h)| illuminance_lx * duration_h)
        .sum()
}

/// Exposure over the year's budget of the class, 1 at the limit; `None` where the class has no limit.
pub fn share_of_budget(exposure_lx_h: f64, class: LightClass) -> Option<f64> {
    class
        .limiting_exposure_lx_h()
        .map(|limit| exposure_lx_h / limit)
}

/// Hours [h] after which a steady illuminance has used up the year's budget; `None` without a limit or without light.
pub fn hours_to_budget_h(illuminance_lx: f64, class: LightClass) -> Option<f64> {
    class
        .limiting_exposure_lx_h()
        .filter(|_| illuminance_lx > 0.0)
        .map(|limit| limit / illuminance_lx)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_get_stricter() {
        let classes = [
            LightClass::None,
            LightClass::Low,
            LightClass::Medium,
            LightClass::High,
        ];
        let budgets = classes.map(|c| c.limiting_exposure_lx_h().unwrap_or(f64::INFINITY));
        assert!(budgets.is_sorted_by(|a, b| a > b), "{budgets:?}");
        assert_eq!(classes.map(LightClass::number), [1, 2, 3, 4]);
    }

    #[test]
    fn metal_has_no_budget() {
        assert_eq!(share_of_budget(1e9, LightClass::None), None);
        assert_eq!(hours_to_budget_h(1e9, LightClass::None), None);
        assert_eq!(hours_to_budget_h(0.0, LightClass::High), None);
        assert_eq!(hours_to_budget_h(50.0, LightClass::Medium), Some(3000.0));
    }

    #[test]
    fn spans_add_up() {
        assert_eq!(exposure_lx_h([(50.0, 10.0), (200.0, 0.5)]), 600.0);
    }
}
