//! Details of what is chosen: the piece and its place, tiles, fixtures, walks.

use std::hash::{Hash, Hasher};

use bevy_egui::egui;

use crate::{
    app::{
        command::AppCommand,
        document::EditKey,
        state::{Chosen, Thing},
        theme,
        typed::{self, LengthUnit},
    },
    room::{BuiltRoom, RoomFile, Support, TileChange},
};

/// A length that is dragged or typed with its unit.
fn length(ui: &mut egui::Ui, label: &str, value: &mut f32, unit: LengthUnit) -> egui::Response {
    ui.label(label);
    let response = ui.add(
        egui::DragValue::new(value)
            .speed(0.01)
            .clamp_existing_to_range(false)
            .custom_formatter(move |v, _| typed::length_words(v, unit))
            .custom_parser(move |text| typed::length_m(text, unit))
            .update_while_editing(false),
    );
    ui.end_row();
    response.on_hover_text("Drag, or type with a unit: 1.2 m, 120 cm, 4 ft 2 in")
}

fn angle(ui: &mut egui::Ui, label: &str, value: &mut f32) {
    ui.label(label);
    ui.add(
        egui::DragValue::new(value)
            .speed(0.5)
            .suffix(" deg")
            .custom_parser(typed::angle_deg)
            .update_while_editing(false),
    );
    ui.end_row();
}

/// The panel; `gesture` counts presses, so that a drag becomes one step.
pub fn details_ui(
    ui: &mut egui::Ui,
    room: &RoomFile,
    built: Option<&BuiltRoom>,
    chosen: &Chosen,
    unit: LengthUnit,
    gesture: u64,
) -> Vec<AppCommand> {
    let mut draft = room.clone();
    let what;
    match &chosen.thing {
        Some(Thing::Fixture(i)) if *i < draft.fixtures.len() => {
            what = "change a fixture";
            fixture(ui, &mut draft, *i, unit);
        }
        Some(Thing::Walk(i)) if *i < draft.walks.len() => {
            what = "change a walk";
            let walk = &mut draft.walks[*i];
            ui.label(egui::RichText::new(&walk.name).strong());
            egui::Grid::new("walk").num_columns(2).show(ui, |ui| {
                length(ui, "Eye height", &mut walk.eye_m, unit);
                length(ui, "Between stations", &mut walk.step_m, unit);
            });
        }
        _ => {
            what = "move the piece";
            piece(ui, &mut draft, unit);
            if !chosen.tiles.is_empty() {
                ui.separator();
                tiles(ui, &mut draft, built, chosen);
            }
        }
    }
    if draft == *room {
        return Vec::new();
    }
    let field = ui.ctx().dragged_id().or_else(|| ui.memory(|m| m.focused()));
    let key = field.map(|id| {
        let mut hasher = std::hash::DefaultHasher::new();
        id.hash(&mut hasher);
        EditKey {
            field: hasher.finish(),
            gesture,
        }
    });
    vec![AppCommand::Edit {
        room: Box::new(draft),
        what: what.into(),
        key,
    }]
}

fn piece(ui: &mut egui::Ui, room: &mut RoomFile, unit: LengthUnit) {
    ui.label(egui::RichText::new("The piece and its place").strong());
    let walls: Vec<(String, usize)> = room
        .spaces
        .iter()
        .flat_map(|s| (0..s.outline_m.len()).map(|w| (s.name.clone(), w)))
        .collect();
    let bearing = room.site.bearing_deg.to_radians();
    let spaces = room.spaces.clone();
    let wall_words = move |space: &str, index: usize| {
        let Some(found) = spaces.iter().find(|s| s.name == space) else {
            return format!("{space}, wall {index}");
        };
        let outward = crate::room::wall(found, index).outward_azimuth_rad(bearing);
        let toward = crate::study::compass(outward);
        format!("{space}, {toward} wall")
    };
    egui::Grid::new("piece").num_columns(2).show(ui, |ui| {
        ui.label("Wall");
        let current = match &room.placement.on {
            Support::Wall { space, wall, .. } => wall_words(space, *wall),
            Support::Stand { .. } => "a stand".into(),
        };
        let mut taken = None;
        egui::ComboBox::from_id_salt("wall")
            .selected_text(&current)
            .show_ui(ui, |ui| {
                for (space, wall) in &walls {
                    if ui
                        .selectable_label(false, wall_words(space, *wall))
                        .clicked()
                    {
                        taken = Some((space.clone(), *wall));
                    }
                }
            });
        ui.end_row();
        if let Some((space, wall)) = taken {
            let found = room.spaces.iter().find(|s| s.name == space);
            let along_m = found.map_or(1.0, |s| 0.5 * crate::room::wall(s, wall).length_m);
            room.placement.name = wall_words(&space, wall);
            room.placement.on = Support::Wall {
                space,
                wall,
                along_m,
            };
        }
        match &mut room.placement.on {
            Support::Wall { along_m, .. } => {
                length(ui, "Along the wall", along_m, unit);
            }
            Support::Stand {
                facing_deg,
                lean_deg,
                at_m,
            } => {
                length(ui, "Plan x", &mut at_m.0, unit);
                length(ui, "Plan y", &mut at_m.1, unit);
                angle(ui, "Faces", facing_deg);
                angle(ui, "Leans", lean_deg);
            }
        }
        length(ui, "Middle above floor", &mut room.placement.centre_m, unit);
        angle(ui, "Turn", &mut room.placement.turn_deg);
    });
    ui.horizontal(|ui| {
        if ui.button("Turn by 90 deg").clicked() {
            room.placement.turn_deg = (room.placement.turn_deg + 90.0).rem_euclid(360.0);
        }
        ui.checkbox(&mut room.placement.mirrored, "Mirrored");
    });
    if !room.candidates.is_empty() {
        ui.colored_label(theme::SOFT, "Or hang it at");
        let mut swap = None;
        for (i, place) in room.candidates.iter().enumerate() {
            if ui.button(&place.name).clicked() {
                swap = Some(i);
            }
        }
        if let Some(i) = swap {
            std::mem::swap(&mut room.placement, &mut room.candidates[i]);
        }
    }
}

fn tiles(ui: &mut egui::Ui, room: &mut RoomFile, built: Option<&BuiltRoom>, chosen: &Chosen) {
    let Some(built) = built else { return };
    let ids: Vec<u32> = chosen.tiles.iter().copied().collect();
    ui.label(egui::RichText::new(crate::study::tile_words(&ids)).strong());
    let grain_of = |id: u32| {
        built
            .tiling
            .tile(id)
            .map_or(0.0, |t| t.grain_rad.to_degrees())
    };
    let mut change = |id: u32, grain_deg: f32| {
        let grain_deg = Some(grain_deg.rem_euclid(360.0));
        match room.tile_changes.iter_mut().find(|c| c.tile == id) {
            Some(known) => known.grain_deg = grain_deg,
            None => room.tile_changes.push(TileChange {
                tile: id,
                grain_deg,
                material: None,
            }),
        }
    };
    ui.horizontal(|ui| {
        for (label, turn_deg, tip) in [
            (
                "End for end",
                180.0,
                "Turns the leaf by 180 degrees: light and dark change places",
            ),
            (
                "+90 deg",
                90.0,
                "Turns the grain a quarter turn to the left",
            ),
            ("+15 deg", 15.0, "Turns the grain a little to the left"),
        ] {
            if ui.button(label).on_hover_text(tip).clicked() {
                for id in &ids {
                    change(*id, grain_of(*id) + turn_deg);
                }
            }
        }
    });
    room.tile_changes.sort_by_key(|c| c.tile);
}

fn fixture(ui: &mut egui::Ui, room: &mut RoomFile, index: usize, unit: LengthUnit) {
    let kinds: Vec<String> = room.fixture_types.keys().cloned().collect();
    let mut asked = None;
    let fixture = &mut room.fixtures[index];
    ui.label(egui::RichText::new(format!("Fixture {}", fixture.name)).strong());
    egui::Grid::new("fixture").num_columns(2).show(ui, |ui| {
        ui.label("Kind");
        egui::ComboBox::from_id_salt("kind")
            .selected_text(&fixture.kind)
            .show_ui(ui, |ui| {
                for kind in kinds {
                    ui.selectable_value(&mut fixture.kind, kind.clone(), kind);
                }
            });
        ui.end_row();
        length(ui, "Plan x", &mut fixture.at_m.0, unit);
        length(ui, "Plan y", &mut fixture.at_m.1, unit);
        length(ui, "Height", &mut fixture.at_m.2, unit);
        angle(ui, "Roll", &mut fixture.roll_deg);
        ui.label("Dimmed to");
        ui.add(
            egui::Slider::new(&mut fixture.dimming, 0.0..=1.0)
                .custom_formatter(|v, _| format!("{:.0} %", v * 100.0))
                .custom_parser(typed::share),
        );
        ui.end_row();
    });
    if let crate::room::Aim::Piece { right_m, up_m } = &mut fixture.aim {
        egui::Grid::new("aim").num_columns(2).show(ui, |ui| {
            length(ui, "Aim right of the middle", right_m, unit);
            length(ui, "Aim above the middle", up_m, unit);
        });
    } else if ui.button("Aim at the piece").clicked() {
        fixture.aim = crate::room::Aim::Piece {
            right_m: 0.0,
            up_m: 0.0,
        };
    }
    ui.horizontal(|ui| {
        for label in ["Duplicate", "Delete"] {
            if ui.button(label).clicked() {
                asked = Some(label);
            }
        }
    });
    match asked {
        Some("Delete") => {
            room.fixtures.remove(index);
        }
        Some(_) => {
            let mut copy = room.fixtures[index].clone();
            let taken = |name: &str| room.fixtures.iter().any(|f| f.name == name);
            let free = (2..)
                .map(|n| format!("{} {n}", copy.name))
                .find(|n| !taken(n));
            copy.name = free.unwrap_or_default();
            copy.at_m.0 += 0.3;
            room.fixtures.push(copy);
        }
        None => {}
    }
}
