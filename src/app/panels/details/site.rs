//! The site, and what is studied under which limits.

use bevy_egui::egui;

use super::rows;
use crate::{
    app::{panels::fields, theme, typed::LengthUnit},
    room::RoomFile,
};

pub(super) fn site(ui: &mut egui::Ui, room: &mut RoomFile, unit: LengthUnit) {
    let site = &mut room.site;
    rows(ui, "site", |ui| {
        degrees(
            ui,
            "Latitude",
            "North above 0",
            &mut site.latitude_deg,
            -90.0..=90.0,
        );
        degrees(
            ui,
            "Longitude",
            "East above 0",
            &mut site.longitude_deg,
            -180.0..=180.0,
        );
        let mut elevation = site.elevation_m as f32;
        fields::length(ui, "Above the sea", "", &mut elevation, unit);
        if elevation != site.elevation_m as f32 {
            site.elevation_m = f64::from(elevation);
        }
        ui.label("Time zone")
            .on_hover_text("As in the IANA list: Europe/Lisbon, America/Toronto");
        zone(ui, &mut site.zone);
        ui.end_row();
        degrees(
            ui,
            "Plan's bearing",
            "True bearing of the plan's +y, clockwise from north",
            &mut site.bearing_deg,
            -360.0..=360.0,
        );
        fields::share(
            ui,
            "Ground",
            "Reflectance of the ground outside: grass 20 %, snow 70 % (from memory)",
            &mut site.ground_reflectance,
        );
        fields::share(
            ui,
            "Facade",
            "Reflectance of the building's own outside, where its windows see it",
            &mut site.facade_reflectance,
        );
        ui.label("Turbidity")
            .on_hover_text("Haze of clear skies: about 2.5 clean, 3 rural, 4.5 city (from memory)");
        ui.add(
            egui::DragValue::new(&mut site.turbidity)
                .speed(0.05)
                .max_decimals(2),
        );
        ui.end_row();
    });
    let id = ui.id().with("note");
    ui.label("Note");
    ui.add(
        egui::TextEdit::multiline(&mut room.note)
            .desired_rows(3)
            .id_salt(id),
    );
}

fn degrees(
    ui: &mut egui::Ui,
    label: &str,
    tip: &str,
    value: &mut f64,
    range: std::ops::RangeInclusive<f64>,
) {
    let response = ui.label(label);
    if !tip.is_empty() {
        response.on_hover_text(tip);
    }
    ui.add(
        egui::DragValue::new(value)
            .speed(0.1)
            .range(range)
            .max_decimals(4)
            .suffix(" deg")
            .custom_parser(crate::app::typed::angle_deg)
            .update_while_editing(false),
    );
    ui.end_row();
}

/// A zone is taken when it is whole: half a name is none.
fn zone(ui: &mut egui::Ui, zone: &mut String) {
    let id = ui.id().with(("zone text", zone.as_str()));
    let mut text = ui
        .data_mut(|d| d.get_temp::<String>(id))
        .unwrap_or_else(|| zone.clone());
    let response = ui.add(
        egui::TextEdit::singleline(&mut text)
            .desired_width(120.0)
            .id_salt(id),
    );
    if response.lost_focus() {
        *zone = text.trim().to_owned();
        ui.data_mut(|d| d.remove::<String>(id));
    } else if response.has_focus() {
        ui.data_mut(|d| d.insert_temp(id, text));
    }
}

pub(super) fn limits(ui: &mut egui::Ui, room: &mut RoomFile) {
    ui.label("What counts as dead or glaring")
        .on_hover_text("Own choices and handbook values; change them for the project");
    let limits = &mut room.limits;
    rows(ui, "limits", |ui| {
        fields::number(
            ui,
            "Too dark below",
            "Mean luminance of the piece: colour fades near 3 cd/m2 (physics of vision; the limit is our own choice)",
            &mut limits.dark_cd_m2,
            "cd/m2",
            0.1,
        );
        fields::number(
            ui,
            "Glint above",
            "Luminance of a tile (own choice)",
            &mut limits.glint_cd_m2,
            "cd/m2",
            20.0,
        );
        fields::number(
            ui,
            "and times the eye",
            "Luminance of a tile over what the eye is adapted to (own choice)",
            &mut limits.glint_over_adaptation,
            "",
            1.0,
        );
        fields::number(
            ui,
            "DGP above",
            "Daylight glare probability: above 0.40 is disturbing (EN 17037)",
            &mut limits.dgp,
            "",
            0.005,
        );
        fields::number(
            ui,
            "UGR above",
            "Unified glare rating of the fixtures: 22 for public areas (EN 12464-1 practice, from memory)",
            &mut limits.ugr,
            "",
            0.1,
        );
        fields::number(
            ui,
            "Opening above",
            "Luminance of a lamp's opening in direct view (own choice)",
            &mut limits.aperture_cd_m2,
            "cd/m2",
            100.0,
        );
        fields::angle(
            ui,
            "Seen too flat",
            "Angle from straight on above which the piece is a strip (own choice)",
            &mut limits.grazing_deg,
        );
        fields::optional(
            ui,
            "Light a year",
            "Allowed on the material; that of its class where none is given. A conservator decides.",
            &mut limits.exposure_lx_h,
            (150_000.0, "lx h", 1000.0),
        );
    });
    ui.separator();
    ui.label("The day's chart")
        .on_hover_text("Also what the command \"study\" covers");
    let study = &mut room.study;
    rows(ui, "study", |ui| {
        fields::clock(ui, "From", "First hour", &mut study.from);
        fields::clock(ui, "To", "Last hour", &mut study.to);
        ui.label("Every");
        let mut step = study.step_min;
        let drag = egui::DragValue::new(&mut step)
            .range(1..=720)
            .clamp_existing_to_range(false)
            .suffix(" min");
        if ui.add(drag).changed() {
            study.step_min = step;
        }
        ui.end_row();
    });
    ui.colored_label(theme::SOFT, format!("Days: {}", study.days.join(", ")));
}
