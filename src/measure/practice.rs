//! Rules of thumb of the trade: defaults and yardsticks, never limits.
//!
//! Each with its range, unit and mark. All are common practice without a document behind them, save the aiming
//! angle, which trade articles give.

use super::format::Unit;

/// One rule of thumb.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RuleOfThumb {
    /// What it is about.
    pub what: &'static str,
    /// Low end, in the unit.
    pub low: f64,
    /// High end, in the unit; equal to the low end for a single value.
    pub high: f64,
    /// Unit of both; `None` for a plain factor.
    pub unit: Option<Unit>,
    /// Where it comes from.
    pub source: &'static str,
}

impl RuleOfThumb {
    /// Whether `value`, in the unit of the rule, lies within it.
    pub fn holds_for(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

const COMMON_PRACTICE: &str = "common practice, no document";

const fn practice(what: &'static str, low: f64, high: f64, unit: Option<Unit>) -> RuleOfThumb {
    RuleOfThumb {
        what,
        low,
        high,
        unit,
        source: COMMON_PRACTICE,
    }
}

/// Angle between the beam axis and the vertical at the piece.
pub const AIMING_ANGLE: RuleOfThumb = RuleOfThumb {
    what: "aiming angle from the vertical onto flat wall art",
    low: 30.0,
    high: 30.0,
    unit: Some(Unit::Degree),
    source: "trade articles; a smaller angle brings out texture, a larger one flattens and risks reflections",
};
/// Spacing of wall-washers over their distance from the wall.
pub const WALL_WASH_SPACING: RuleOfThumb = practice(
    "wall-wash spacing over distance from the wall",
    1.0,
    1.2,
    None,
);
/// Distance of grazing fixtures from the wall.
pub const GRAZING_OFFSET: RuleOfThumb = practice(
    "distance of grazing fixtures from the wall",
    0.15,
    0.30,
    Some(Unit::Metre),
);
/// Eye height of a standing visitor.
pub const STANDING_EYE_HEIGHT: RuleOfThumb =
    practice("eye height, standing", 1.5, 1.6, Some(Unit::Metre));
/// Eye height of a seated visitor.
pub const SEATED_EYE_HEIGHT: RuleOfThumb =
    practice("eye height, seated", 1.2, 1.2, Some(Unit::Metre));
/// Eye height of a visitor in a wheelchair.
pub const WHEELCHAIR_EYE_HEIGHT: RuleOfThumb =
    practice("eye height, in a wheelchair", 1.15, 1.25, Some(Unit::Metre));
/// Walking speed [m/s] in passing.
pub const WALKING_SPEED_M_S: RuleOfThumb =
    practice("walking speed in metres a second, passing", 1.2, 1.4, None);
/// Walking speed [m/s] when looking at things.
pub const BROWSING_SPEED_M_S: RuleOfThumb =
    practice("walking speed in metres a second, looking", 0.3, 0.8, None);
/// Height of the centre of a hung piece.
pub const HANG_CENTRE_HEIGHT: RuleOfThumb = practice(
    "height of the centre of a piece",
    1.45,
    1.55,
    Some(Unit::Metre),
);
/// Distance at which people stand to look, over the diagonal of the piece.
pub const VIEWING_DISTANCE: RuleOfThumb = practice(
    "viewing distance over the diagonal of the piece",
    1.5,
    2.5,
    None,
);
/// Least vertical over horizontal illuminance of a lively room.
pub const WALL_TO_FLOOR: RuleOfThumb = practice(
    "illuminance of walls over that of the floor, at least",
    0.5,
    f64::INFINITY,
    None,
);
/// Least over greatest illuminance on a washed piece.
pub const UNIFORMITY: RuleOfThumb = practice(
    "least over greatest illuminance on a washed piece",
    0.3,
    0.5,
    None,
);
/// Share of diffuse light that keeps shadows readable.
pub const DIFFUSE_FILL: RuleOfThumb =
    practice("share of diffuse light, at least", 0.2, f64::INFINITY, None);

/// All of them, in the order in which a report lists them.
pub const ALL: [RuleOfThumb; 13] = [
    AIMING_ANGLE,
    WALL_WASH_SPACING,
    GRAZING_OFFSET,
    STANDING_EYE_HEIGHT,
    SEATED_EYE_HEIGHT,
    WHEELCHAIR_EYE_HEIGHT,
    WALKING_SPEED_M_S,
    BROWSING_SPEED_M_S,
    HANG_CENTRE_HEIGHT,
    VIEWING_DISTANCE,
    WALL_TO_FLOOR,
    UNIFORMITY,
    DIFFUSE_FILL,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_are_ranges() {
        for rule in ALL {
            assert!(
                rule.low <= rule.high && rule.holds_for(rule.low),
                "{rule:?}"
            );
        }
        assert!(!GRAZING_OFFSET.holds_for(0.5));
    }
}
