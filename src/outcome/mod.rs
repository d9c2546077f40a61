//! A finished study as files and texts: tables (CSV), one JSON, charts and a plan (SVG), a summary.
//!
//! Everything here only arranges numbers of [`crate::study`]; it computes no light.

mod cutting;
mod dossier;
mod drawings;
mod json;
mod lamps;
mod page;
mod ranking;
mod summary;
mod tables;

pub use cutting::{Side, cutting_csv, cutting_sheet, grain_json, grain_text};
pub use dossier::{
    DossierParts, DossierStill, Paper, TellingView, dossier, remedy, telling_views, view_words,
};
pub use drawings::{chart, common_range, piece_sheet, piece_sheet_parts, plan};
pub(crate) use drawings::{date_words, piece_ends};
pub use json::write_json;
pub use lamps::{FIXTURE_CAUTIONS, Lengths, aiming_sheet, lamps_json, lamps_text, schedule_csv};
pub use page::{PageParts, PageState, page, spread_stations, state_sentence};
#[cfg(feature = "app")]
pub(crate) use ranking::place_name;
pub use ranking::{
    advice_cautions, ranking_csv, ranking_json, ranking_notes, ranking_plan, ranking_sheet,
    ranking_text, thrown_words,
};
pub(crate) use ranking::{part_words, placement_name, rank_number};
pub use summary::{cautions, summary};
pub(crate) use summary::{hazards, wrapped};
pub use tables::{flags_csv, stations_csv, tiles_csv};

use crate::{
    material::{Brdf, DoseClass},
    measure::caution::CautionTopics,
    room::BuiltRoom,
    study::{Cause, DayStudy, Study},
};

/// What the words of advice mean.
pub(crate) const GLOSSARY: &str = "Alive: the pattern can be seen without effort. Strong: it holds the eye. Dead: it is lost, too dark or hidden. \
    Glaring: something in view hurts or veils. Shift: how much the pattern changes with each metre walked, 0 stands still. Play: how many times \
    brighter the light tiles are than the dark ones. Glow: how many times brighter the piece is than the wall around it.";

/// How uncertain the world is for this room, in one sentence.
pub fn tolerance(room: &BuiltRoom) -> String {
    let has_metal = room
        .piece
        .materials
        .iter()
        .any(|m| matches!(m, Brdf::Metal(_)));
    crate::measure::tolerance::sentence(!room.scene.panes.is_empty(), has_metal)
}

/// What a report on this study must warn of.
pub fn topics(room: &BuiltRoom, study: &Study) -> CautionTopics {
    let causes = || {
        study
            .days
            .iter()
            .flat_map(|d| &d.walks)
            .flat_map(|w| &w.stretches)
            .map(|s| s.cause)
    };
    CautionTopics {
        walks: !room.walks.is_empty(),
        glints: causes().any(|c| {
            matches!(
                c,
                Cause::Glint(_) | Cause::MirrorImage(_) | Cause::BrightOpening(_)
            )
        }),
        sun_on_metal: room
            .piece
            .materials
            .iter()
            .any(|m| matches!(m, Brdf::Metal(_)))
            && study.days.iter().any(|d| !d.thrown.is_empty()),
        light_sensitive: room
            .materials
            .iter()
            .any(|m| m.dose_class > DoseClass::None),
        daylight: !room.scene.panes.is_empty(),
    }
}

/// "2026-06-21-clear": the part of file names that tells day and sky.
pub fn day_slug(day: &DayStudy) -> String {
    format!("{}-{}", day.date, day.sky)
}

/// Letters and digits of a name, the rest as hyphens, for file names.
pub fn slug(name: &str) -> String {
    let mut out = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        if c.is_alphanumeric() {
            out.push(c);
        } else if !out.ends_with('-') && !out.is_empty() {
            out.push('-');
        }
    }
    let out = out.trim_end_matches('-');
    if out.is_empty() {
        "unnamed".into()
    } else {
        out.into()
    }
}

/// "09:30" of minutes after midnight.
pub(crate) fn clock_text(minutes: u32) -> String {
    format!("{:02}:{:02}", (minutes / 60) % 24, minutes % 60)
}

/// Angle [deg], one decimal.
pub(crate) fn degrees(angle_rad: f64) -> f64 {
    (angle_rad.to_degrees() * 10.0).round() / 10.0
}

/// Four significant digits: what the tables carry.
pub(crate) fn significant(value: f32) -> f64 {
    let value = f64::from(value);
    debug_assert!(value.is_finite(), "the study refuses what is not finite");
    if value == 0.0 || !value.is_finite() {
        return 0.0;
    }
    let scale = 10_f64.powi(3 - value.abs().log10().floor() as i32);
    (value * scale).round() / scale
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_become_safe_file_names() {
        assert_eq!(
            slug("From the lift, past Ø1,2 m!"),
            "from-the-lift-past-ø1-2-m"
        );
        assert_eq!(slug("../.."), "unnamed");
    }

    #[test]
    fn tables_carry_four_digits() {
        assert_eq!(significant(1234.56), 1235.0);
        assert_eq!(significant(0.0012344), 0.001234);
        assert_eq!(significant(0.0), 0.0);
    }
}
