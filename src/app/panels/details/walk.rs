//! Walks of visitors.

use bevy_egui::egui;

use super::rows;
use crate::{
    app::{edits::CornerChange, panels::fields, typed::LengthUnit},
    room::{Look, Mark, RoomFile, walk_length_m},
};

pub(super) fn walk(ui: &mut egui::Ui, room: &mut RoomFile, index: usize, unit: LengthUnit) {
    let Some(walk) = room.walks.get_mut(index) else {
        return;
    };
    rows(ui, "walk", |ui| {
        fields::length(
            ui,
            "Eye height",
            "Above the floor: standing about 1.6 m, seated 1.2 m, a child 1.05 m",
            &mut walk.eye_m,
            unit,
        );
        fields::length(
            ui,
            "Floor",
            "Height of the floor under the walk, above datum",
            &mut walk.floor_m,
            unit,
        );
        fields::number(
            ui,
            "Pace",
            "Walking speed",
            &mut walk.speed_m_s,
            "m/s",
            0.02,
        );
        fields::length(
            ui,
            "Between stations",
            "Distance between the places that are computed",
            &mut walk.step_m,
            unit,
        );
        ui.label("Looks");
        let words = match walk.look {
            Look::Piece => "at the piece",
            Look::Ahead => "ahead",
            Look::At(..) => "at a point",
        };
        egui::ComboBox::from_id_salt("looks")
            .width(110.0)
            .selected_text(words)
            .show_ui(ui, |ui| {
                for (look, words) in [(Look::Piece, "at the piece"), (Look::Ahead, "ahead")] {
                    if ui.button(words).clicked() {
                        walk.look = look;
                    }
                }
            });
        ui.end_row();
        fields::hours(
            ui,
            "Open",
            "Hours at which people walk here",
            &mut walk.open,
        );
        fields::number(
            ui,
            "Visitors",
            "Share of all visitors, on any scale",
            &mut walk.share,
            "",
            0.1,
        );
        fields::number(
            ui,
            "Age",
            "Of the observer: older eyes see less contrast and suffer more from glare",
            &mut walk.age_years,
            "years",
            1.0,
        );
        ui.label("Stairs")
            .on_hover_text("People walk up or down stairs here: glare there is a hazard");
        ui.checkbox(&mut walk.stairs, "");
        ui.end_row();
    });
    ui.label("Corners on the plan");
    let change = fields::outline(ui, "walk corners", &mut walk.points_m, 2, false, unit);
    // Heights go with their corners; a new one lies between its neighbours.
    match change {
        Some(CornerChange::PutInAfter(k)) if k + 1 < walk.floors_m.len() => {
            let between = 0.5 * (walk.floors_m[k] + walk.floors_m[k + 1]);
            walk.floors_m.insert(k + 1, between);
        }
        Some(CornerChange::TakenOut(k, _)) if k < walk.floors_m.len() => {
            walk.floors_m.remove(k);
        }
        _ => {}
    }
    ui.label("Named places")
        .on_hover_text("Shown under the chart and in sentences: \"from the lift\"");
    let mut gone = None;
    egui::Grid::new("marks").num_columns(3).show(ui, |ui| {
        for (k, mark) in walk.marks.iter_mut().enumerate() {
            ui.add(
                egui::DragValue::new(&mut mark.at_m)
                    .speed(0.05)
                    .custom_formatter(move |v, _| crate::app::typed::length_words(v, unit))
                    .custom_parser(move |t| crate::app::typed::length_m(t, unit))
                    .update_while_editing(false),
            );
            ui.add(egui::TextEdit::singleline(&mut mark.name).desired_width(100.0));
            if ui.button("\u{2212}").clicked() {
                gone = Some(k);
            }
            ui.end_row();
        }
    });
    if let Some(k) = gone {
        walk.marks.remove(k);
    }
    if ui.button("Add a named place").clicked() {
        let at_m = crate::app::typed::snap(0.5 * walk_length_m(walk), 0.1);
        walk.marks.push(Mark {
            at_m,
            name: "a place".into(),
        });
    }
}
