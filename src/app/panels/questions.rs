//! Questions that must be answered, and the keys.

use bevy_egui::egui;

use crate::app::{
    command::{AppCommand, Unsaved},
    document::OpenRoom,
    state::{Asking, Then},
    theme,
};

/// All keys, with what they do.
const KEYS: [(&str, &str); 25] = [
    ("1, 2, 3", "visitor's eye, from around, from above"),
    ("Left, Right", "along the walk at its pace"),
    ("W A S D", "leave the walk and walk freely"),
    ("Q, E", "a step aside, left and right"),
    ("R", "back on the walk, looking as the walk does"),
    ("Space", "walk along the walk by itself, or stop"),
    ("P", "play the day, or stop"),
    ("Page Up, Page Down", "a quarter of an hour earlier, later"),
    ("Home, End", "a month earlier, later"),
    ("Drag", "turns the head; else turns or shifts the room"),
    ("Wheel", "nearer and farther"),
    (
        "Click",
        "chooses a tile or a thing; with Shift, one tile more",
    ),
    (
        "Right click",
        "pins the spot: its light is read at every hour",
    ),
    ("Alt while dragging", "nothing snaps"),
    ("Ctrl+A", "all tiles"),
    ("Esc", "calls off, chooses nothing"),
    ("Delete", "deletes the chosen thing"),
    ("Ctrl+D", "a second one of the chosen thing"),
    ("Ctrl+Z, Ctrl+Shift+Z", "undo, do again (or Ctrl+Y)"),
    ("Ctrl+S, Ctrl+Shift+S", "save, save as"),
    ("Ctrl+O", "open"),
    ("H", "hold this plan beside"),
    ("F, U", "luminances as colours; the sun's path"),
    ("F2, F3, F4", "fold the list, the details, the day away"),
    ("Ctrl and +, \u{2212}, 0", "larger, smaller, usual size"),
];

/// Shows what is asked; returns the answers.
pub fn questions_ui(ctx: &egui::Context, asking: &Asking, open: &OpenRoom) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    if let Some(then) = &asking.unsaved {
        unsaved_ui(ctx, then, open, &mut asked);
    } else if let Some(path) = &asking.replace {
        replace_ui(ctx, path, &mut asked);
    } else if asking.changed_outside {
        outside_ui(ctx, open, &mut asked);
    } else if !asking.recovered.is_empty() {
        recovered_ui(ctx, asking, &mut asked);
    } else if asking.keys {
        keys_ui(ctx, &mut asked);
    }
    asked
}

fn question(ctx: &egui::Context, id: &str, title: &str, add: impl FnOnce(&mut egui::Ui)) -> bool {
    let modal = egui::Modal::new(egui::Id::new(id)).show(ctx, |ui| {
        ui.set_max_width(500.0);
        ui.label(egui::RichText::new(title).size(17.0).strong());
        ui.add_space(4.0);
        add(ui);
    });
    modal.should_close()
}

fn unsaved_ui(ctx: &egui::Context, then: &Then, open: &OpenRoom, asked: &mut Vec<AppCommand>) {
    let title = format!("Changes of {} are not saved", open.title());
    let mut answer = None;
    let closed = question(ctx, "unsaved", &title, |ui| {
        ui.label(match then {
            Then::Open(path) => format!("Before {} is opened:", path.display()),
            Then::Begin(_) => "Before another room is begun:".into(),
            Then::Quit => "Before the window closes:".into(),
        });
        ui.add_space(6.0);
        ui.horizontal(|ui| {
            for (label, a) in [
                ("Save them", Unsaved::Save),
                ("Let them go", Unsaved::LetGo),
                ("Stay", Unsaved::Stay),
            ] {
                if ui.button(label).clicked() {
                    answer = Some(a);
                }
            }
        });
    });
    if let Some(answer) = answer.or(closed.then_some(Unsaved::Stay)) {
        asked.push(AppCommand::Unsaved(answer));
    }
}

fn replace_ui(ctx: &egui::Context, path: &std::path::Path, asked: &mut Vec<AppCommand>) {
    let title = format!("{} is another file", path.display());
    let mut answer = None;
    let closed = question(ctx, "replace", &title, |ui| {
        ui.label("Saving there replaces it.");
        ui.add_space(6.0);
        ui.horizontal(|ui| {
            if ui.button("Replace it").clicked() {
                answer = Some(true);
            }
            if ui.button("Leave it").clicked() {
                answer = Some(false);
            }
        });
    });
    if let Some(yes) = answer.or(closed.then_some(false)) {
        asked.push(AppCommand::Replace(yes));
    }
}

fn outside_ui(ctx: &egui::Context, open: &OpenRoom, asked: &mut Vec<AppCommand>) {
    let title = format!("{} was changed by another program", open.title());
    let mut again = None;
    let closed = question(ctx, "outside", &title, |ui| {
        ui.label(if open.is_unsaved() {
            "Here too there are changes that are not saved: reading it again asks about them first."
        } else {
            "Here nothing is unsaved."
        });
        ui.add_space(6.0);
        ui.horizontal(|ui| {
            if ui.button("Read it again").clicked() {
                again = Some(true);
            }
            if ui
                .button("Keep what is here")
                .on_hover_text("Saving then replaces the file")
                .clicked()
            {
                again = Some(false);
            }
        });
    });
    if let Some(again) = again.or(closed.then_some(false)) {
        asked.push(AppCommand::ReadAgain(again));
    }
}

fn recovered_ui(ctx: &egui::Context, asking: &Asking, asked: &mut Vec<AppCommand>) {
    let (mut answer, mut not_now) = (None, false);
    let mut later = question(
        ctx,
        "recovered",
        "Work that was not saved when the program ended",
        |ui| {
            for (i, left) in asking.recovered.iter().enumerate() {
                ui.horizontal(|ui| {
                    let name = left
                        .path
                        .as_ref()
                        .map_or_else(|| left.room.name.clone(), |p| p.display().to_string());
                    if ui.button("Take up").clicked() {
                        answer = Some(Some(i));
                    }
                    ui.label(format!("{name}, {}", left.when));
                });
            }
            ui.add_space(6.0);
            ui.horizontal(|ui| {
                if ui.button("Let all of it go").clicked() {
                    answer = Some(None);
                }
                if ui
                    .button("Not now")
                    .on_hover_text("Asks again at the next start")
                    .clicked()
                {
                    not_now = true;
                }
            });
        },
    );
    later |= not_now;
    if let Some(answer) = answer {
        asked.push(AppCommand::TakeUp(answer));
    } else if later {
        asked.push(AppCommand::RecoverLater);
    }
}

fn keys_ui(ctx: &egui::Context, asked: &mut Vec<AppCommand>) {
    let mut shown = true;
    let closed = question(ctx, "keys", "Keys and pointer", |ui| {
        egui::ScrollArea::vertical()
            .max_height(420.0)
            .show(ui, |ui| {
                egui::Grid::new("keys")
                    .num_columns(2)
                    .striped(true)
                    .spacing([14.0, 3.0])
                    .show(ui, |ui| {
                        for (key, does) in KEYS {
                            ui.colored_label(theme::ACCENT, key);
                            ui.label(does);
                            ui.end_row();
                        }
                    });
            });
        if ui.button("Close").clicked() {
            shown = false;
        }
    });
    if closed || !shown {
        asked.push(AppCommand::Keys(false));
    }
}
