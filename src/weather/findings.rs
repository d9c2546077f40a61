//! What is missing or doubtful in a weather file: codes for missing values, impossible values, and clocks that do not fit
//! the sun. Irradiances in W/m2, shifts in h.

use std::f64::consts::FRAC_PI_2;

use super::{Station, WeatherHour};
use crate::sun::Site;
use crate::sun::compact::{CompactSun, compact_sun};
use crate::sun::delta_t;
use crate::units::SOLAR_CONSTANT_W_M2;

/// A column of a weather file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WeatherField {
    /// Direct normal irradiance.
    DirectNormal,
    /// Diffuse horizontal irradiance.
    DiffuseHorizontal,
    /// Global horizontal irradiance.
    GlobalHorizontal,
    /// Dew point.
    DewPoint,
}

impl WeatherField {
    const ALL: [Self; 4] = [
        Self::DirectNormal,
        Self::DiffuseHorizontal,
        Self::GlobalHorizontal,
        Self::DewPoint,
    ];

    /// Name for people.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Self::DirectNormal => "direct normal irradiance",
            Self::DiffuseHorizontal => "diffuse horizontal irradiance",
            Self::GlobalHorizontal => "global horizontal irradiance",
            Self::DewPoint => "dew point",
        }
    }
}

/// Month, day and hour ending of a row.
pub type HourStamp = (u8, u8, u8);

/// Something worth saying about a weather file.
#[derive(Clone, Debug, PartialEq)]
pub enum WeatherFinding {
    /// Rows are UTC instants, this much after the full hour [h]; they are used so.
    UtcInstants {
        /// Stated offset of the radiation [h].
        offset_h: f64,
    },
    /// A comment states that the radiation is shifted against the clock [h]. Not applied: see [`Self::ClockShift`].
    StatedTimeOffset {
        /// Stated offset [h].
        offset_h: f64,
    },
    /// Codes for missing values; those hours have no value.
    Missing {
        /// Column.
        field: WeatherField,
        /// Hours.
        count: usize,
        /// First of them: month, day, hour ending.
        first: HourStamp,
    },
    /// Values that cannot be (below 0, or a direct sun stronger than outside the air), taken as missing.
    Impossible {
        /// Column.
        field: WeatherField,
        /// Hours.
        count: usize,
        /// First of them: month, day, hour ending.
        first: HourStamp,
    },
    /// Hours whose global irradiance differs from direct x sin h + diffuse by more than 50 W/m2, sun at the middle.
    PartsDisagree {
        /// Hours.
        count: usize,
        /// The largest difference, global minus the parts [W/m2].
        worst_w_m2: f32,
        /// Where: month, day, hour ending.
        worst: HourStamp,
    },
    /// Hours with direct sun though it is down all hour: that part is not used.
    DirectWithSunDown {
        /// Hours.
        count: usize,
        /// Sum over the year [Wh/m2].
        sum_wh_m2: f32,
    },
    /// Hours with global irradiance though the sun is more than 3 deg below the horizon at the middle; some tens are normal.
    RadiationInDark {
        /// Hours.
        count: usize,
    },
    /// Hours without global irradiance though the sun is more than 8 deg up at the middle.
    DarkInDaylight {
        /// Hours.
        count: usize,
    },
    /// The radiation fits the sun better when the clock is moved: the zone or the meaning of the stamps may be wrong.
    /// Nothing is moved.
    ClockShift {
        /// Shift that fits best, in quarter hours, added to the middle of the hours [h].
        best_shift_h: f64,
    },
}

impl std::fmt::Display for WeatherFinding {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let at = |(month, day, hour): HourStamp| format!("{month}-{day} hour {hour}");
        match self {
            Self::UtcInstants { offset_h } => write!(
                f,
                "rows are UTC instants {offset_h} h after the full hour, used so"
            ),
            Self::StatedTimeOffset { offset_h } => write!(
                f,
                "a comment says that the radiation is {offset_h} h off the stamp; not applied"
            ),
            Self::Missing {
                field,
                count,
                first,
            } => write!(
                f,
                "{} is missing in {count} hours, first {}; these hours are left out",
                field.label(),
                at(*first)
            ),
            Self::Impossible {
                field,
                count,
                first,
            } => write!(
                f,
                "{} is impossible in {count} hours, first {}; taken as missing",
                field.label(),
                at(*first)
            ),
            Self::PartsDisagree {
                count,
                worst_w_m2,
                worst,
            } => write!(
                f,
                "global irradiance and its parts differ by more than 50 W/m2 in {count} hours, most by {worst_w_m2:.0} W/m2 at {}",
                at(*worst)
            ),
            Self::DirectWithSunDown { count, sum_wh_m2 } => write!(
                f,
                "{count} hours have direct sun while it is down ({sum_wh_m2:.0} Wh/m2 a year), not used"
            ),
            Self::RadiationInDark { count } => write!(
                f,
                "{count} hours have radiation with the sun more than 3 deg below the horizon"
            ),
            Self::DarkInDaylight { count } => write!(
                f,
                "{count} hours have no radiation with the sun more than 8 deg up"
            ),
            Self::ClockShift { best_shift_h } => write!(
                f,
                "the radiation fits the sun best when the clock is moved by {best_shift_h:+} h: the zone or the hours of the file may be wrong; nothing was moved"
            ),
        }
    }
}

/// Counts of missing and impossible values while a file is read.
#[derive(Clone, Debug, Default)]
pub(super) struct Values {
    missing: [Option<(usize, HourStamp)>; 4],
    impossible: [Option<(usize, HourStamp)>; 4],
}

impl Values {
    fn count(slots: &mut [Option<(usize, HourStamp)>; 4], field: WeatherField, at: HourStamp) {
        for (slot, known) in slots.iter_mut().zip(WeatherField::ALL) {
            if known == field {
                slot.get_or_insert((0, at)).0 += 1;
            }
        }
    }

    /// Appends the counts as findings.
    pub fn report(&self, findings: &mut Vec<WeatherFinding>) {
        for (slot, field) in self.missing.iter().zip(WeatherField::ALL) {
            if let Some((count, first)) = *slot {
                findings.push(WeatherFinding::Missing {
                    field,
                    count,
                    first,
                });
            }
        }
        for (slot, field) in self.impossible.iter().zip(WeatherField::ALL) {
            if let Some((count, first)) = *slot {
                findings.push(WeatherFinding::Impossible {
                    field,
                    count,
                    first,
                });
            }
        }
    }
}

/// An irradiance [W/m2] without codes for missing (9999 and above, -99 and below) and without impossible values. The bound
/// of a direct sun is the one outside the air at the nearest sun (E0 x 1.035), of the others one and a half times that,
/// which cloud edges do not reach over an hour.
pub(super) fn clean_irradiance(
    value: f64,
    field: WeatherField,
    at: HourStamp,
    values: &mut Values,
) -> Option<f32> {
    if value >= 9999.0 || value <= -99.0 {
        Values::count(&mut values.missing, field, at);
        return None;
    }
    let nearest_sun_w_m2 = SOLAR_CONSTANT_W_M2 * 1.035;
    let greatest_w_m2 = match field {
        WeatherField::DirectNormal => nearest_sun_w_m2,
        WeatherField::DiffuseHorizontal
        | WeatherField::GlobalHorizontal
        | WeatherField::DewPoint => 1.5 * nearest_sun_w_m2,
    };
    if value < -0.5 || value > greatest_w_m2 {
        Values::count(&mut values.impossible, field, at);
        return None;
    }
    // -0 and the noise of a sensor at night become 0
    Some(value.max(0.0) as f32)
}

/// A dew point [degC] without codes for missing; None without a note where the layout has no such column.
pub(super) fn clean_dew_point(
    value: Option<f64>,
    at: HourStamp,
    values: &mut Values,
) -> Option<f32> {
    let value = value?;
    if (-90.0..=70.0).contains(&value) {
        return Some(value as f32);
    }
    Values::count(&mut values.missing, WeatherField::DewPoint, at);
    None
}

/// Appends what the hours show against the sun: parts that disagree, light in the dark, a clock that does not fit.
pub(super) fn judge(hours: &[WeatherHour], station: &Station, findings: &mut Vec<WeatherFinding>) {
    let site = station.site(0.0);
    let mut disagree: Option<(usize, f32, HourStamp)> = None;
    let (mut down_count, mut down_sum) = (0, 0.0);
    let (mut in_dark, mut in_daylight) = (0, 0);
    for hour in hours {
        let at = (hour.month, hour.day, hour.hour_ending);
        let sun = compact_at(hour, 0.0, &site);
        let elevation_rad = sun.true_elevation_rad;
        let global = hour.global_horizontal_w_m2;
        if let (Some(direct), Some(diffuse), Some(global)) = (
            hour.direct_normal_w_m2,
            hour.diffuse_horizontal_w_m2,
            global,
        ) {
            let parts = direct * elevation_rad.sin().max(0.0) as f32 + diffuse;
            let difference = global - parts;
            if difference.abs() > 50.0 {
                let entry = disagree.get_or_insert((0, 0.0, at));
                entry.0 += 1;
                if difference.abs() > entry.1.abs() {
                    (entry.1, entry.2) = (difference, at);
                }
            }
        }
        if let Some(direct) = hour.direct_normal_w_m2
            && direct > 0.0
            && hour.sunlit_share == 0.0
        {
            down_count += 1;
            down_sum += direct;
        }
        let lit = global.is_some_and(|global| global > 0.0);
        in_dark += usize::from(lit && elevation_rad.to_degrees() < -3.0);
        in_daylight += usize::from(global == Some(0.0) && elevation_rad.to_degrees() > 8.0);
    }
    if let Some((count, worst_w_m2, worst)) = disagree {
        findings.push(WeatherFinding::PartsDisagree {
            count,
            worst_w_m2,
            worst,
        });
    }
    if down_count > 0 {
        findings.push(WeatherFinding::DirectWithSunDown {
            count: down_count,
            sum_wh_m2: down_sum,
        });
    }
    if in_dark > 0 {
        findings.push(WeatherFinding::RadiationInDark { count: in_dark });
    }
    if in_daylight > 0 {
        findings.push(WeatherFinding::DarkInDaylight { count: in_daylight });
    }
    let best_shift_h = best_clock_shift_h(hours, &site);
    if best_shift_h != 0.0 {
        findings.push(WeatherFinding::ClockShift { best_shift_h });
    }
}

/// Shift of the clock, in quarter hours within 2 h, with which global irradiance is most nearly in proportion to sin h.
fn best_clock_shift_h(hours: &[WeatherHour], site: &Site) -> f64 {
    let mut best = (0.0, f64::NEG_INFINITY);
    // the unshifted clock first, so that it wins a draw
    for quarter in [0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6, 7, -7, 8, -8] {
        let shift_h = f64::from(quarter) / 4.0;
        let (mut product, mut square) = (0.0, 0.0);
        for hour in hours {
            let Some(global) = hour.global_horizontal_w_m2 else {
                continue;
            };
            let sun = compact_at(hour, shift_h, site);
            let sin_h = sun.true_elevation_rad.min(FRAC_PI_2).sin().max(0.0);
            product += f64::from(global) * sin_h;
            square += sin_h * sin_h;
        }
        let fit = if square > 0.0 {
            product * product / square
        } else {
            0.0
        };
        if fit > best.1 * (1.0 + 1e-9) || best.1 == f64::NEG_INFINITY {
            best = (shift_h, fit);
        }
    }
    best.0
}

/// The sun a shift [h] after the hour's middle, or its instant in a file of instants.
fn compact_at(hour: &WeatherHour, shift_h: f64, site: &Site) -> CompactSun {
    let middle = if hour.is_instant {
        hour.mid_instant
    } else {
        hour.clock_middle()
    };
    let unix_s = middle.as_millisecond() as f64 / 1000.0 + shift_h * 3600.0;
    compact_sun(unix_s, site, delta_t::delta_t_s(middle))
}
