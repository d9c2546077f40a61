//! Finishes and glazings.

use bevy_egui::egui;

use super::rows;
use crate::{
    app::{panels::fields, theme},
    room::RoomFile,
};

pub(super) fn finish(ui: &mut egui::Ui, room: &mut RoomFile, name: &str) {
    let Some(finish) = room.finishes.get_mut(name) else {
        return;
    };
    rows(ui, "finish", |ui| {
        fields::share(
            ui,
            "Reflectance",
            "Share of light that it throws back, matt: white paint about 80 %, oak 30 %, slate 8 % (from memory)",
            &mut finish.reflectance,
        );
        ui.label("Hue")
            .on_hover_text("For the picture only; how bright it is follows from the reflectance");
        let (r, g, b) = finish.hue_rgb;
        let most = r.max(g).max(b).max(1e-3);
        let mut rgb = [r / most, g / most, b / most];
        if ui.color_edit_button_rgb(&mut rgb).changed() {
            finish.hue_rgb = (rgb[0], rgb[1], rgb[2]);
        }
        ui.end_row();
    });
    ui.colored_label(
        theme::SOFT,
        "Hold a white and a grey card of known reflectance beside it to estimate.",
    );
}

pub(super) fn glazing(ui: &mut egui::Ui, room: &mut RoomFile, name: &str) {
    let Some(glazing) = room.glazings.get_mut(name) else {
        return;
    };
    if !glazing.by_angle.is_empty() {
        ui.weak("Given by the maker at angles; change it in the room file.");
        return;
    }
    rows(ui, "glazing", |ui| {
        fields::share(
            ui,
            "Transmittance",
            "Share of visible light that passes straight through; on the maker's sheet",
            &mut glazing.transmittance,
        );
        ui.label("Panes")
            .on_hover_text("Panes of glass, 1 to 3: sets how less passes aslant");
        let mut count = glazing.pane_count;
        ui.add(egui::Slider::new(&mut count, 1..=3));
        glazing.pane_count = count;
        ui.end_row();
        fields::share(
            ui,
            "Diffusing",
            "Share of the transmitted light that is scattered: etched or fritted glass",
            &mut glazing.diffusing,
        );
    });
}
