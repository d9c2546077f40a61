//! Advice in place of the details: where to hang it, which fixtures, how the grain lies.

mod grain;
mod hang;
mod lamps;
#[cfg(test)]
mod tests;

use std::collections::BTreeSet;

use bevy_egui::egui;

use crate::{
    app::{
        adviser::AdviceKind,
        command::AppCommand,
        state::{Advice, Advised},
        theme,
        typed::LengthUnit,
    },
    room::{BuiltRoom, RoomFile},
};

/// What the advice is drawn from.
pub struct AdviceData<'a> {
    /// Advice.
    pub advice: &'a Advice,
    /// Which is shown.
    pub kind: AdviceKind,
    /// The room as it is.
    pub room: &'a RoomFile,
    /// Its revision.
    pub revision: u64,
    /// The room as built, where it is sound.
    pub built: Option<&'a BuiltRoom>,
    /// Tiles that are chosen.
    pub tiles: &'a BTreeSet<u32>,
    /// Unit of lengths.
    pub unit: LengthUnit,
    /// Where the sheets are written; `None` before the room is saved.
    pub sheets: Option<String>,
}

/// What a part of the panel asks for, and what the pointer rests on.
#[derive(Default)]
struct Wishes {
    commands: Vec<AppCommand>,
    hovered: Option<Advised>,
}

/// Advice with its controls.
pub fn advice_ui(ui: &mut egui::Ui, data: &AdviceData) -> Vec<AppCommand> {
    let mut wishes = Wishes::default();
    ui.horizontal(|ui| {
        ui.strong("Advice");
        if ui
            .small_button("Back to details")
            .on_hover_text("Esc")
            .clicked()
        {
            wishes.commands.push(AppCommand::ShowAdvice(None));
        }
    });
    ui.horizontal_wrapped(|ui| {
        for kind in AdviceKind::ALL {
            if ui
                .selectable_label(data.kind == kind, kind.name())
                .clicked()
            {
                wishes.commands.push(AppCommand::ShowAdvice(Some(kind)));
            }
        }
    });
    ui.add_space(4.0);
    match data.kind {
        AdviceKind::Hang => hang::hang_ui(ui, data, &mut wishes),
        AdviceKind::Lamps => lamps::lamps_ui(ui, data, &mut wishes),
        AdviceKind::Grain => grain::grain_ui(ui, data, &mut wishes),
    }
    if let Some(why) = &data.advice.failed {
        ui.colored_label(theme::WRONG, why);
    }
    let tried = data.advice.preview.as_ref().map(|p| p.0);
    // What is in the room already is never tried.
    let hovered = wishes.hovered.filter(|h| {
        let next = data.advice.applied(data.room, *h);
        next.is_some_and(|(next, _)| next != *data.room)
    });
    wishes.hovered = hovered;
    if wishes.hovered != tried {
        wishes.commands.push(AppCommand::TryOut(wishes.hovered));
    }
    wishes.commands
}

/// The button that starts a search, or how far it is and one that stops it.
fn search_ui(ui: &mut egui::Ui, data: &AdviceData, tip: &str, wishes: &mut Wishes) {
    match &data.advice.running {
        Some(running) if running.kind == data.kind => {
            ui.horizontal(|ui| {
                let share = running.share();
                let bar = egui::ProgressBar::new(share)
                    .desired_width(140.0)
                    .text(format!("{:.0} %", 100.0 * share));
                ui.add(bar);
                if ui.button("Stop").clicked() {
                    wishes.commands.push(AppCommand::StopAdvice);
                }
            });
        }
        running => {
            let ready = running.is_none() && data.built.is_some();
            let button = ui.add_enabled(ready, egui::Button::new("Search"));
            let why = if running.is_some() {
                "Another search is under way"
            } else {
                "Something in the room is to be mended first, or it is still being built"
            };
            let asked = button
                .on_hover_text(tip)
                .on_disabled_hover_text(why)
                .clicked();
            if asked {
                wishes.commands.push(AppCommand::Advise(data.kind));
            }
        }
    }
}

/// A card that can be tried by resting on it.
fn card(
    ui: &mut egui::Ui,
    data: &AdviceData,
    advised: Advised,
    wishes: &mut Wishes,
    draw: impl FnOnce(&mut egui::Ui, &mut Wishes),
) {
    let tried = data.advice.preview.as_ref().is_some_and(|p| p.0 == advised);
    let edge = if tried { theme::ACCENT } else { theme::RAISED };
    let frame = egui::Frame::new()
        .fill(theme::WELL)
        .stroke(egui::Stroke::new(1.5, edge))
        .corner_radius(4)
        .inner_margin(6);
    let response = frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        draw(ui, wishes);
    });
    if ui.rect_contains_pointer(response.response.rect) {
        wishes.hovered = Some(advised);
    }
    ui.add_space(4.0);
}

/// A change of what advice may do, undoable.
fn changed(data: &AdviceData, next: RoomFile, what: &str, wishes: &mut Wishes) {
    if next != *data.room {
        wishes.commands.push(AppCommand::Edit {
            from: data.revision,
            room: Box::new(next),
            what: what.into(),
            key: None,
        });
    }
}

/// Small soft words that wrap.
fn soft(ui: &mut egui::Ui, text: impl Into<String>) {
    ui.add(egui::Label::new(egui::RichText::new(text).size(12.5).color(theme::SOFT)).wrap());
}

/// Words that wrap.
fn plain(ui: &mut egui::Ui, text: impl Into<String>) {
    ui.add(egui::Label::new(egui::RichText::new(text).size(13.0)).wrap());
}

/// The button that writes the sheets of what is shown.
fn sheets_ui(ui: &mut egui::Ui, data: &AdviceData, wishes: &mut Wishes) {
    let button = ui.add_enabled(data.sheets.is_some(), egui::Button::new("Write the sheets"));
    let tip = data.sheets.as_ref().map_or_else(
        || "Save the room first: the sheets are written beside it".to_owned(),
        |folder| format!("Into {folder}"),
    );
    if button
        .on_hover_text(&tip)
        .on_disabled_hover_text(&tip)
        .clicked()
    {
        wishes.commands.push(AppCommand::WriteSheets(data.kind));
    }
}
