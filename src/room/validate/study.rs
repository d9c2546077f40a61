//! Limits for flags, and what the study covers.

use super::Check;
use crate::room::clock_min;

impl Check<'_> {
    pub(super) fn limits(&mut self) {
        let limits = &self.room.limits;
        for (field, value, high) in [
            ("glint_cd_m2", limits.glint_cd_m2, 1e10),
            ("glint_over_adaptation", limits.glint_over_adaptation, 1e10),
            ("glint_least_cd_m2", limits.glint_least_cd_m2, 1e10),
            ("dgp", limits.dgp, 1.0),
            ("ugr", limits.ugr, 100.0),
            ("aperture_cd_m2", limits.aperture_cd_m2, 1e10),
            ("aperture_within_deg", limits.aperture_within_deg, 180.0),
            ("sun_within_deg", limits.sun_within_deg, 180.0),
            ("dark_cd_m2", limits.dark_cd_m2, 1e10),
            ("grazing_deg", limits.grazing_deg, 90.0),
            (
                "exposure_lx_h",
                limits.exposure_lx_h.unwrap_or_default(),
                1e12,
            ),
        ] {
            // A limit of nothing would make every severity infinite.
            let low = if field == "exposure_lx_h" { 0.0 } else { 1e-3 };
            self.range(&format!("limits.{field}"), f64::from(value), low, high);
        }
    }

    pub(super) fn study(&mut self) {
        let study = &self.room.study;
        for (field, count) in [("days", study.days.len()), ("skies", study.skies.len())] {
            if !(1..=400).contains(&count) {
                self.list.at(
                    &format!("study.{field}"),
                    format!("the study has {count} {field}"),
                    Some("give 1 to 400, or leave the field out".into()),
                );
            }
        }
        for (i, day) in study.days.iter().enumerate() {
            if day.parse::<jiff::civil::Date>().is_err() {
                self.list.at(
                    &format!("study.days[{i}]"),
                    format!("{day:?} is no date"),
                    Some("write days as \"2026-06-21\"".into()),
                );
            }
        }
        for (field, value) in [("from", &study.from), ("to", &study.to)] {
            if clock_min(value).is_none() {
                self.list.at(
                    &format!("study.{field}"),
                    format!("{value:?} is no clock time"),
                    Some("write clock times as \"09:30\"".into()),
                );
            }
        }
        let hours = (clock_min(&study.from), clock_min(&study.to));
        if let (Some(from), Some(to)) = hours
            && (from > to || from == 24 * 60)
        {
            self.list.at(
                "study.from",
                format!(
                    "the hours from {:?} to {:?} are empty",
                    study.from, study.to
                ),
                Some("the first clock time comes before the last".into()),
            );
        }
        self.range("study.step_min", f64::from(study.step_min), 1.0, 720.0);
        for (i, sky) in study.skies.iter().enumerate() {
            self.known(
                &format!("study.skies[{i}]"),
                "sky",
                sky,
                crate::sky::SKY_NAMES.iter().copied(),
            );
        }
    }
}
