//! What is in this room, and what is wrong with it.

use bevy_egui::egui;

use crate::{
    app::{
        command::AppCommand,
        engine::ProblemAt,
        state::{Chosen, Thing},
        theme,
    },
    room::RoomFile,
};

/// The list of things; returns what was asked for.
pub fn things_ui(
    ui: &mut egui::Ui,
    room: &RoomFile,
    problems: &[ProblemAt],
    chosen: &Chosen,
) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    let mut line = |ui: &mut egui::Ui, thing: Thing, name: &str, path: &str| {
        let wrong = problems
            .iter()
            .any(|p| !path.is_empty() && p.path.starts_with(path));
        let text = if wrong {
            egui::RichText::new(format!("! {name}")).color(theme::WRONG)
        } else {
            egui::RichText::new(name)
        };
        if ui
            .selectable_label(chosen.thing.as_ref() == Some(&thing), text)
            .clicked()
        {
            asked.push(AppCommand::Choose(Some(thing)));
        }
    };
    ui.label(egui::RichText::new("In this room").strong());
    egui::ScrollArea::vertical()
        .auto_shrink([false, false])
        .show(ui, |ui| {
            let place = &room.placement.name;
            line(
                ui,
                Thing::Piece,
                &format!("The piece, {place}"),
                "placement",
            );
            ui.colored_label(theme::SOFT, "Fixtures");
            for (i, fixture) in room.fixtures.iter().enumerate() {
                line(
                    ui,
                    Thing::Fixture(i),
                    &fixture.name,
                    &format!("fixtures[{i}]"),
                );
            }
            ui.colored_label(theme::SOFT, "Walks");
            for (i, walk) in room.walks.iter().enumerate() {
                line(ui, Thing::Walk(i), &walk.name, &format!("walks[{i}]"));
            }
            if !problems.is_empty() {
                ui.separator();
                ui.colored_label(theme::WRONG, "To mend before the light is computed again");
                for problem in problems {
                    ui.colored_label(theme::WRONG, &problem.message)
                        .on_hover_text(&problem.help);
                }
            }
        });
    asked
}
