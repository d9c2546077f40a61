//! Grain and material of the chosen tiles.

use bevy_egui::egui;

use super::DetailsData;
use crate::{
    app::{command::AppCommand, theme, typed},
    material::Library,
    room::{RoomFile, TileChange},
};

pub(super) fn tiles(
    ui: &mut egui::Ui,
    room: &mut RoomFile,
    data: &DetailsData,
    asked: &mut Vec<AppCommand>,
) {
    let Some(built) = data.built else { return };
    let ids: Vec<u32> = data.chosen.tiles.iter().copied().collect();
    ui.horizontal(|ui| {
        let words = if ids.len() > 6 {
            format!("{} tiles", ids.len())
        } else {
            exact_words(&ids)
        };
        ui.label(egui::RichText::new(words).strong());
        if ui
            .button("Choose none")
            .on_hover_text("Chooses no tile (Esc)")
            .clicked()
        {
            asked.push(AppCommand::ChooseAllTiles(false));
        }
    });
    let known: Vec<_> = ids.iter().filter_map(|id| built.tiling.tile(*id)).collect();
    let Some(first) = known.first() else { return };
    let grain_deg = first.grain_rad.to_degrees().rem_euclid(360.0);
    let same = known
        .iter()
        .all(|t| (t.grain_rad - first.grain_rad).abs() < 1e-3);
    arrow(ui, grain_deg, same);
    ui.horizontal_wrapped(|ui| {
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
            (
                "\u{2212}15 deg",
                -15.0,
                "Turns the grain a little to the right",
            ),
        ] {
            if ui.button(label).on_hover_text(tip).clicked() {
                for tile in &known {
                    // What was changed already may not be built yet.
                    let own = change(room, tile.id).grain_deg;
                    let deg = own.unwrap_or(tile.grain_rad.to_degrees()) + turn_deg;
                    change(room, tile.id).grain_deg = Some(deg.rem_euclid(360.0));
                }
            }
        }
    });
    ui.horizontal(|ui| {
        ui.label("Grain arrow")
            .on_hover_text("Counter-clockwise from the right, seen from the front: 0 to 360 deg");
        let mut deg = grain_deg;
        let response = ui.add(
            egui::DragValue::new(&mut deg)
                .speed(1.0)
                .max_decimals(1)
                .suffix(if same { " deg" } else { " deg (differ)" })
                .custom_parser(typed::angle_deg)
                .update_while_editing(false),
        );
        if response.changed() {
            for tile in &known {
                change(room, tile.id).grain_deg = Some(deg.rem_euclid(360.0));
            }
        }
    });
    material(ui, room, data, &known);
    let changed = ids
        .iter()
        .any(|id| room.tile_changes.iter().any(|c| c.tile == *id));
    if ui
        .add_enabled(changed, egui::Button::new("As laid out"))
        .on_hover_text("Takes back what was changed on these tiles")
        .clicked()
    {
        room.tile_changes.retain(|c| !ids.contains(&c.tile));
    }
    room.tile_changes.sort_by_key(|c| c.tile);
}

fn material(
    ui: &mut egui::Ui,
    room: &mut RoomFile,
    data: &DetailsData,
    known: &[&crate::piece::Tile],
) {
    let Some(built) = data.built else { return };
    let name_of = |t: &crate::piece::Tile| built.tiling.materials[t.material].clone();
    let current = name_of(known[0]);
    let same = known.iter().all(|t| name_of(t) == current);
    let names: Vec<String> = room
        .materials
        .keys()
        .cloned()
        .chain(library_names().iter().cloned())
        .collect();
    ui.horizontal(|ui| {
        ui.label("Material");
        let shown = if same {
            current.clone()
        } else {
            "they differ".into()
        };
        egui::ComboBox::from_id_salt("material")
            .width(150.0)
            .selected_text(shown)
            .truncate()
            .show_ui(ui, |ui| {
                for name in names {
                    if ui
                        .selectable_label(same && name == current, &name)
                        .clicked()
                    {
                        for tile in known {
                            change(room, tile.id).material = Some(name.clone());
                        }
                    }
                }
            });
    });
}

/// "Tile 7", "Tiles 79 and 81".
fn exact_words(ids: &[u32]) -> String {
    let names: Vec<String> = ids.iter().map(u32::to_string).collect();
    match names.split_last() {
        Some((last, [])) => format!("Tile {last}"),
        Some((last, rest)) => format!("Tiles {} and {last}", rest.join(", ")),
        None => String::new(),
    }
}

/// Names of the library's materials, read once.
fn library_names() -> &'static [String] {
    static NAMES: std::sync::OnceLock<Vec<String>> = std::sync::OnceLock::new();
    NAMES.get_or_init(|| {
        // The library is tested; without it the room's own materials are left.
        let library = Library::built_in();
        library.map_or_else(|_| Vec::new(), |l| l.names().map(str::to_owned).collect())
    })
}

/// The arrow of the first tile.
fn arrow(ui: &mut egui::Ui, deg: f32, same: bool) {
    let (rect, response) = ui.allocate_exact_size(egui::vec2(56.0, 56.0), egui::Sense::hover());
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 3.0, theme::WELL);
    let (sin, cos) = deg.to_radians().sin_cos();
    let along = egui::vec2(cos, -sin) * 22.0;
    let colour = if same { theme::ACCENT } else { theme::SOFT };
    painter.arrow(rect.center() - along, along * 2.0, (2.0, colour));
    response
        .on_hover_text("Grain arrow of the tile, seen from the front, before the piece is turned");
}

fn change(room: &mut RoomFile, id: u32) -> &mut TileChange {
    let index = match room.tile_changes.iter().position(|c| c.tile == id) {
        Some(index) => index,
        None => {
            room.tile_changes.push(TileChange {
                tile: id,
                ..TileChange::default()
            });
            room.tile_changes.len() - 1
        }
    };
    &mut room.tile_changes[index]
}
