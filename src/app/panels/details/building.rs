//! Openings, rooflights, solids and spaces.

use bevy_egui::egui;

use super::rows;
use crate::{
    app::{
        edits::{keep_walls, wall_words},
        panels::fields,
        typed::LengthUnit,
    },
    room::{Blind, Ceiling, Filling, RoomFile, WindowFilling},
};

pub(super) fn opening(ui: &mut egui::Ui, room: &mut RoomFile, index: usize, unit: LengthUnit) {
    let Some(mut opening) = room.openings.get(index).cloned() else {
        return;
    };
    rows(ui, "opening", |ui| {
        ui.label("In");
        let walls: Vec<(String, usize)> = room
            .spaces
            .iter()
            .flat_map(|s| (0..s.outline_m.len()).map(|w| (s.name.clone(), w)))
            .collect();
        let current = wall_words(room, &opening.space, opening.wall);
        egui::ComboBox::from_id_salt("wall")
            .width(120.0)
            .selected_text(&current)
            .truncate()
            .show_ui(ui, |ui| {
                for (space, wall) in walls {
                    let words = wall_words(room, &space, wall);
                    if ui.selectable_label(words == current, words).clicked() {
                        (opening.space, opening.wall) = (space, wall);
                    }
                }
            });
        ui.end_row();
        fields::length(
            ui,
            "From the corner",
            "From the wall's first corner to the nearer edge",
            &mut opening.offset_m,
            unit,
        );
        fields::length(ui, "Width", "", &mut opening.width_m, unit);
        fields::length(
            ui,
            "Sill",
            "Height of the lower edge above the floor",
            &mut opening.sill_m,
            unit,
        );
        fields::length(
            ui,
            "Height",
            "From lower to upper edge",
            &mut opening.height_m,
            unit,
        );
        fields::length(
            ui,
            "Reveal",
            "Depth from the wall's face to the glass",
            &mut opening.reveal_m,
            unit,
        );
        ui.label("Filled with");
        let words = match opening.filling {
            Filling::Window(_) => "glass to outside",
            Filling::Inner(_) => "glass to inside",
            Filling::Door { .. } => "a door",
            Filling::Open => "nothing",
        };
        egui::ComboBox::from_id_salt("filled")
            .width(110.0)
            .selected_text(words)
            .show_ui(ui, |ui| {
                // Glass stays the same glass when it looks elsewhere.
                let glazing = room.glazings.keys().next().cloned();
                let glass = match &opening.filling {
                    Filling::Window(filling) | Filling::Inner(filling) => Some(filling.clone()),
                    Filling::Door { .. } | Filling::Open => glazing.map(|glazing| WindowFilling {
                        glazing,
                        frame_share: 0.1,
                        dirt: 0.9,
                        blind: None,
                    }),
                };
                let finish = room.finishes.keys().next().cloned().unwrap_or_default();
                let mut options = vec![
                    (Filling::Door { finish }, "a door"),
                    (Filling::Open, "nothing"),
                ];
                if let Some(glass) = glass {
                    options.push((Filling::Window(glass.clone()), "glass to outside"));
                    options.push((Filling::Inner(glass), "glass to inside"));
                }
                for (filling, option) in options {
                    if ui.selectable_label(option == words, option).clicked() && option != words {
                        opening.filling = filling;
                    }
                }
            });
        ui.end_row();
        match &mut opening.filling {
            Filling::Window(filling) | Filling::Inner(filling) => glass(ui, room, filling),
            Filling::Door { finish } => {
                fields::choice(ui, "Finish", "Of the leaf", finish, room.finishes.keys())
            }
            Filling::Open => {}
        }
    });
    room.openings[index] = opening;
}

fn glass(ui: &mut egui::Ui, room: &RoomFile, filling: &mut WindowFilling) {
    fields::choice(
        ui,
        "Glazing",
        "Its transmittance is set under Glazings",
        &mut filling.glazing,
        room.glazings.keys(),
    );
    fields::share(
        ui,
        "Frame",
        "Share of the opening that is frame",
        &mut filling.frame_share,
    );
    fields::share(
        ui,
        "Dirt leaves",
        "Share of the light that dirt lets through",
        &mut filling.dirt,
    );
    ui.label("Blind")
        .on_hover_text("A fabric blind before the glass");
    let mut has = filling.blind.is_some();
    if ui.checkbox(&mut has, "").changed() {
        filling.blind = has.then_some(Blind {
            drawn: 0.5,
            openness: 0.03,
            scattered: 0.1,
        });
    }
    ui.end_row();
    if let Some(blind) = &mut filling.blind {
        fields::share(
            ui,
            "Drawn",
            "Share of the window that the blind covers",
            &mut blind.drawn,
        );
        fields::share(
            ui,
            "Openness",
            "Share of the fabric that is holes",
            &mut blind.openness,
        );
        fields::share(
            ui,
            "Scattered",
            "Share of light that the fabric passes scattered",
            &mut blind.scattered,
        );
    }
}

pub(super) fn rooflight(ui: &mut egui::Ui, room: &mut RoomFile, index: usize, unit: LengthUnit) {
    let Some(mut light) = room.rooflights.get(index).cloned() else {
        return;
    };
    rows(ui, "rooflight", |ui| {
        let spaces: Vec<String> = room.spaces.iter().map(|s| s.name.clone()).collect();
        fields::choice(
            ui,
            "Over",
            "The space below",
            &mut light.space,
            spaces.iter(),
        );
        fields::length(
            ui,
            "Shaft",
            "Height from ceiling to glass",
            &mut light.shaft_m,
            unit,
        );
        let mut finish = light.shaft_finish.clone().unwrap_or_default();
        fields::choice(
            ui,
            "Shaft's finish",
            "The ceiling's where none is given",
            &mut finish,
            room.finishes.keys(),
        );
        light.shaft_finish = (!finish.is_empty()).then_some(finish);
        glass(ui, room, &mut light.filling);
    });
    ui.label("Corners on the plan");
    let _ = fields::outline(ui, "rooflight corners", &mut light.outline_m, 3, true, unit);
    room.rooflights[index] = light;
}

pub(super) fn solid(ui: &mut egui::Ui, room: &mut RoomFile, index: usize, unit: LengthUnit) {
    let RoomFile {
        solids, finishes, ..
    } = room;
    let Some(solid) = solids.get_mut(index) else {
        return;
    };
    rows(ui, "solid", |ui| {
        fields::length(
            ui,
            "From",
            "Height of its underside above datum",
            &mut solid.from_m,
            unit,
        );
        fields::length(
            ui,
            "To",
            "Height of its top above datum",
            &mut solid.to_m,
            unit,
        );
        fields::choice(
            ui,
            "Finish",
            "Of all its faces",
            &mut solid.finish,
            finishes.keys(),
        );
        ui.label("Outside")
            .on_hover_text("Stands outside: a building opposite, an overhang, a tree");
        ui.checkbox(&mut solid.outside, "");
        ui.end_row();
    });
    ui.label("Corners on the plan");
    let _ = fields::outline(ui, "solid corners", &mut solid.outline_m, 3, true, unit);
}

pub(super) fn space(ui: &mut egui::Ui, room: &mut RoomFile, index: usize, unit: LengthUnit) {
    let names: Vec<String> = room.spaces.get(index).map_or_else(Vec::new, |s| {
        (0..s.outline_m.len())
            .map(|w| wall_words(room, &s.name, w))
            .collect()
    });
    let RoomFile {
        spaces, finishes, ..
    } = room;
    let Some(space) = spaces.get_mut(index) else {
        return;
    };
    rows(ui, "space", |ui| {
        fields::length(
            ui,
            "Floor",
            "Height of the floor above datum",
            &mut space.floor_m,
            unit,
        );
        ui.label("Ceiling");
        let words = match space.ceiling {
            Ceiling::Flat { .. } => "level",
            Ceiling::Sloped { .. } => "sloped",
            Ceiling::Open { .. } => "none, open sky",
        };
        let height_m = match space.ceiling {
            Ceiling::Flat { height_m } | Ceiling::Open { height_m } => height_m,
            Ceiling::Sloped { low, .. } => low.2,
        };
        let at = |k: usize| space.outline_m.get(k).copied().unwrap_or_default();
        let (low, high) = (at(0), at(2));
        let mut taken = None;
        egui::ComboBox::from_id_salt("ceiling")
            .width(110.0)
            .selected_text(words)
            .show_ui(ui, |ui| {
                for (ceiling, words) in [
                    (Ceiling::Flat { height_m }, "level"),
                    (
                        Ceiling::Sloped {
                            low: (low.0, low.1, height_m),
                            high: (high.0, high.1, height_m + 0.5),
                        },
                        "sloped",
                    ),
                    (Ceiling::Open { height_m }, "none, open sky"),
                ] {
                    if ui.button(words).clicked() {
                        taken = Some(ceiling);
                    }
                }
            });
        ui.end_row();
        if let Some(ceiling) = taken {
            space.ceiling = ceiling;
        }
        match &mut space.ceiling {
            Ceiling::Flat { height_m } | Ceiling::Open { height_m } => {
                fields::length(ui, "Its height", "Above datum", height_m, unit);
            }
            Ceiling::Sloped { low, high } => {
                for (label, end) in [("Low end", low), ("High end", high)] {
                    let mut at = (end.0, end.1);
                    fields::plan_point(ui, label, &mut at, unit);
                    (end.0, end.1) = at;
                    fields::length(ui, "Its height", "Above datum", &mut end.2, unit);
                }
            }
        }
        fields::choice(ui, "Walls", "Finish", &mut space.walls, finishes.keys());
        fields::choice(
            ui,
            "Floor's finish",
            "Finish",
            &mut space.floor,
            finishes.keys(),
        );
        fields::choice(
            ui,
            "Ceiling's finish",
            "Finish",
            &mut space.ceiling_finish,
            finishes.keys(),
        );
    });
    egui::CollapsingHeader::new("Finish of single walls")
        .id_salt("single walls")
        .show(ui, |ui| {
            rows(ui, "single walls", |ui| {
                for (w, name) in names.iter().enumerate() {
                    let before = space.wall_finishes.get(&w).unwrap_or(&space.walls).clone();
                    let mut finish = before.clone();
                    fields::choice(
                        ui,
                        name,
                        "As the others unless another is chosen",
                        &mut finish,
                        finishes.keys(),
                    );
                    if finish == before {
                        continue;
                    }
                    if finish == space.walls {
                        space.wall_finishes.remove(&w);
                    } else {
                        space.wall_finishes.insert(w, finish);
                    }
                }
            });
        });
    ui.label("Corners on the plan");
    let change = fields::outline(ui, "space corners", &mut space.outline_m, 3, true, unit);
    if let Some(change) = change {
        keep_walls(room, index, change);
    }
}
