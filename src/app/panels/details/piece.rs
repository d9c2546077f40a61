//! The piece and its place, and other places for it.

use bevy_egui::egui;

use super::{DetailsData, rows};
use crate::{
    app::{
        command::AppCommand,
        edits::{Addable, hang_on, wall_words},
        panels::fields,
        theme,
        typed::LengthUnit,
    },
    room::{Placement, RoomFile, Support, wall},
};

pub(super) fn piece(
    ui: &mut egui::Ui,
    room: &mut RoomFile,
    data: &DetailsData,
    asked: &mut Vec<AppCommand>,
) {
    ui.weak("Drag it in the picture to any wall, or set it here.");
    rows(ui, "piece", |ui| {
        ui.label("Hangs on");
        let current = match &room.placement.on {
            Support::Wall { space, wall, .. } => wall_words(room, space, *wall),
            Support::Stand { .. } => "a stand".into(),
        };
        let mut taken = None;
        egui::ComboBox::from_id_salt("wall")
            .width(120.0)
            .selected_text(&current)
            .truncate()
            .show_ui(ui, |ui| {
                for (space, index) in walls(room) {
                    let words = wall_words(room, &space, index);
                    if ui.selectable_label(words == current, words).clicked() {
                        taken = Some(Some((space, index)));
                    }
                }
                if ui
                    .selectable_label(current == "a stand", "a stand")
                    .clicked()
                {
                    taken = Some(None);
                }
            });
        ui.end_row();
        match (taken, data.built) {
            (Some(Some((space, index))), Some(built)) => {
                let found = room.spaces.iter().find(|s| s.name == space);
                let along_m = found.map_or(1.0, |s| 0.5 * wall(s, index).length_m);
                hang_on(room, built, (&space, index), (along_m, None), false);
            }
            (Some(None), Some(built)) if !matches!(room.placement.on, Support::Stand { .. }) => {
                // A stand a little before the wall that it hung on, facing the same way.
                let at = built.piece.centre + built.piece.normal * 0.6;
                let n = built.piece.normal;
                room.placement.name = "a stand".into();
                room.placement.on = Support::Stand {
                    at_m: (
                        crate::app::typed::snap(at.x, 0.05),
                        crate::app::typed::snap(-at.z, 0.05),
                    ),
                    facing_deg: n.x.atan2(-n.z).to_degrees().round(),
                    lean_deg: 0.0,
                };
            }
            _ => {}
        }
        place(ui, &mut room.placement, data.unit);
    });
    turn(ui, &mut room.placement);
    ui.horizontal_wrapped(|ui| {
        if ui
            .button("Choose all tiles")
            .on_hover_text("To give them all another grain or material (Ctrl+A)")
            .clicked()
        {
            asked.push(AppCommand::ChooseAllTiles(true));
        }
        if ui
            .button("Note this place")
            .on_hover_text("Keeps this place of the piece among those worth comparing")
            .clicked()
        {
            asked.push(AppCommand::Add(Addable::Place));
        }
    });
    if !room.candidates.is_empty() {
        ui.colored_label(theme::SOFT, "Or hang it at");
        let mut swap = None;
        for (i, place) in room.candidates.iter().enumerate() {
            if ui
                .button(&place.name)
                .on_hover_text("The two places change roles; nothing is lost")
                .clicked()
            {
                swap = Some(i);
            }
        }
        if let Some(i) = swap {
            std::mem::swap(&mut room.placement, &mut room.candidates[i]);
        }
    }
}

fn walls(room: &RoomFile) -> Vec<(String, usize)> {
    room.spaces
        .iter()
        .flat_map(|s| (0..s.outline_m.len()).map(|w| (s.name.clone(), w)))
        .collect()
}

fn place(ui: &mut egui::Ui, place: &mut Placement, unit: LengthUnit) {
    match &mut place.on {
        Support::Wall { along_m, .. } => {
            fields::length(
                ui,
                "Along the wall",
                "From the wall's first corner to the middle of the piece",
                along_m,
                unit,
            );
        }
        Support::Stand {
            at_m,
            facing_deg,
            lean_deg,
        } => {
            fields::plan_point(ui, "Stands at", at_m, unit);
            fields::angle(ui, "Faces", "Clockwise from the plan's +y", facing_deg);
            fields::angle(ui, "Leans", "Above 0 tips the front upward", lean_deg);
        }
    }
    fields::length(
        ui,
        "Middle above floor",
        "Height of the middle of the piece",
        &mut place.centre_m,
        unit,
    );
    fields::angle(
        ui,
        "Turn",
        "In its plane, counter-clockwise seen from the front",
        &mut place.turn_deg,
    );
}

fn turn(ui: &mut egui::Ui, place: &mut Placement) {
    ui.horizontal(|ui| {
        if ui.button("Turn by 90 deg").clicked() {
            place.turn_deg = (place.turn_deg + 90.0).rem_euclid(360.0);
        }
        ui.checkbox(&mut place.mirrored, "Mirrored").on_hover_text(
            "Left and right change places, and the grain with them: another piece to cut",
        );
    });
}

pub(super) fn candidate(
    ui: &mut egui::Ui,
    room: &mut RoomFile,
    index: usize,
    unit: LengthUnit,
    asked: &mut Vec<AppCommand>,
) {
    let Some(candidate) = room.candidates.get_mut(index) else {
        return;
    };
    rows(ui, "candidate", |ui| place(ui, candidate, unit));
    turn(ui, candidate);
    if ui.button("Hang the piece here").clicked() {
        std::mem::swap(&mut room.placement, &mut room.candidates[index]);
        asked.push(AppCommand::Choose(None));
    }
}
