//! The bar at the top: the room's file, steps back, ways of looking, and what is drawn.

use std::path::PathBuf;

use bevy_egui::egui;

use crate::app::{
    adviser::AdviceKind,
    command::AppCommand,
    document::OpenRoom,
    files::{Settings, TEMPLATES},
    presenter::Handout,
    state::{Presenting, Showing, ViewKind},
    theme,
    typed::LengthUnit,
};

/// What the bar is drawn from.
pub struct BarData<'a> {
    /// The open room.
    pub open: &'a OpenRoom,
    /// What is shown.
    pub showing: &'a Showing,
    /// Settings.
    pub settings: &'a Settings,
    /// What is being made to hand over.
    pub presenting: &'a Presenting,
}

/// The bar; `path` is the path that is being typed.
pub fn bar_ui(ui: &mut egui::Ui, data: &BarData, path: &mut String) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    ui.horizontal_wrapped(|ui| {
        room_ui(ui, data, path, &mut asked);
        let (undo, redo) = data.open.next_steps();
        let tip = |word: &str, step: Option<&str>, keys: &str| match step {
            Some(step) => format!("{word}: {step} ({keys})"),
            None => format!("Nothing to {}", word.to_lowercase()),
        };
        let undo_tip = tip("Undo", undo, "Ctrl+Z");
        let button = ui.add_enabled(undo.is_some(), egui::Button::new("Undo"));
        if button.on_hover_text(&undo_tip).on_disabled_hover_text(&undo_tip).clicked() {
            asked.push(AppCommand::Undo);
        }
        let redo_tip = tip("Redo", redo, "Ctrl+Shift+Z");
        let button = ui.add_enabled(redo.is_some(), egui::Button::new("Redo"));
        if button.on_hover_text(&redo_tip).on_disabled_hover_text(&redo_tip).clicked() {
            asked.push(AppCommand::Redo);
        }
        ui.separator();
        for (view, name, tip) in [
            (ViewKind::Visitor, "Visitor's eye", "1: stand on the walk. Arrows walk, W A S D leave it, Q and E step aside, R goes back"),
            (ViewKind::Around, "From around", "2: drag to turn, right drag to shift, wheel to come nearer"),
            (ViewKind::Plan, "From above", "3: the plan. Drag things, or the sheet; wheel to come nearer"),
        ] {
            if ui.selectable_label(data.showing.view == view, name).on_hover_text(tip).clicked() {
                asked.push(AppCommand::Look(view));
            }
        }
        ui.separator();
        drawn_ui(ui, data, &mut asked);
        ui.menu_button("Advice", |ui| {
            for (kind, tip) in [
                (AdviceKind::Hang, "Every free place on the walls, best first, with reasons"),
                (AdviceKind::Lamps, "Kinds, places, aims and dimming of fixtures for planned hours"),
                (AdviceKind::Grain, "An arrow for every tile, for the light that is there"),
            ] {
                if ui.button(kind.name()).on_hover_text(tip).clicked() {
                    asked.push(AppCommand::ShowAdvice(Some(kind)));
                    ui.close();
                }
            }
        });
        present_ui(ui, data, &mut asked);
        ui.separator();
        if ui.button("Hold to compare").on_hover_text("H: keeps the plan as it is and shows it beside, to compare with what you change next").clicked() {
            asked.push(AppCommand::Hold);
        }
    });
    asked
}

/// One button for each thing to hand over, or how far the one is that is being made.
fn present_ui(ui: &mut egui::Ui, data: &BarData, asked: &mut Vec<AppCommand>) {
    if let Some(running) = &data.presenting.running {
        let seconds = running.seconds();
        ui.colored_label(
            theme::ACCENT,
            format!("{}: {seconds:.0} s so far", running.kind.name()),
        )
        .on_hover_text(format!(
            "Written to {} when it is whole",
            running.path.display()
        ));
        if ui.small_button("Stop making").clicked() {
            asked.push(AppCommand::StopPresenting);
        }
        // The figure grows without anything else happening.
        ui.ctx()
            .request_repaint_after(std::time::Duration::from_millis(500));
        return;
    }
    ui.menu_button("Hand over", |ui| {
        let folder = data.open.path().map_or_else(
            || "Save the room first: it is written beside it".to_owned(),
            |path| format!("Written beside {}", path.display()),
        );
        for kind in Handout::ALL {
            let button = ui.add_enabled(data.open.path().is_some(), egui::Button::new(kind.name()));
            let tip = format!("{}\n{folder}", kind.about());
            if button
                .on_hover_text(&tip)
                .on_disabled_hover_text(&tip)
                .clicked()
            {
                asked.push(AppCommand::Present(kind));
                ui.close();
            }
        }
    });
}

fn room_ui(ui: &mut egui::Ui, data: &BarData, path: &mut String, asked: &mut Vec<AppCommand>) {
    let title = egui::RichText::new(data.open.title()).strong();
    let place = data
        .open
        .path()
        .map_or_else(|| "Not saved yet".to_owned(), |p| p.display().to_string());
    let tip = if data.open.is_unsaved() {
        format!("{place}\nChanges are not saved")
    } else {
        place
    };
    ui.add(egui::Label::new(title).truncate())
        .on_hover_text(&tip);
    // The star keeps its place, so that nothing moves when it comes.
    let star = if data.open.is_unsaved() {
        theme::ACCENT
    } else {
        egui::Color32::TRANSPARENT
    };
    ui.colored_label(star, "*").on_hover_text(&tip);
    ui.menu_button("Room", |ui| {
        ui.set_min_width(240.0);
        ui.menu_button("Begin with", |ui| {
            for (i, template) in TEMPLATES.iter().enumerate() {
                if ui
                    .button(template.name)
                    .on_hover_text(template.about)
                    .clicked()
                {
                    asked.push(AppCommand::Begin(i));
                    ui.close();
                }
            }
        });
        if ui
            .add(egui::Button::new("Open ...").shortcut_text("Ctrl+O"))
            .clicked()
        {
            asked.push(AppCommand::OpenByDialog);
            ui.close();
        }
        ui.menu_button("Open lately", |ui| {
            if data.settings.recent.is_empty() {
                ui.weak("none yet");
            }
            for recent in &data.settings.recent {
                let name = recent
                    .file_name()
                    .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
                if ui
                    .button(name)
                    .on_hover_text(recent.display().to_string())
                    .clicked()
                {
                    asked.push(AppCommand::Open(recent.clone()));
                    ui.close();
                }
            }
        });
        if ui
            .add(egui::Button::new("Save").shortcut_text("Ctrl+S"))
            .clicked()
        {
            asked.push(AppCommand::Save);
            ui.close();
        }
        if ui
            .add(egui::Button::new("Save as ...").shortcut_text("Ctrl+Shift+S"))
            .clicked()
        {
            asked.push(AppCommand::SaveByDialog);
            ui.close();
        }
        ui.separator();
        ui.label("Or type a path");
        ui.add(egui::TextEdit::singleline(path).desired_width(230.0));
        ui.horizontal(|ui| {
            if ui.button("Open it").clicked() {
                asked.push(AppCommand::Open(PathBuf::from(path.trim())));
                ui.close();
            }
            if ui.button("Save there").clicked() {
                asked.push(AppCommand::SaveThere(PathBuf::from(path.trim())));
                ui.close();
            }
        });
        ui.separator();
        settings_ui(ui, data.settings, asked);
        if ui
            .add(egui::Button::new("Keys and pointer").shortcut_text("F1"))
            .clicked()
        {
            asked.push(AppCommand::Keys(true));
            ui.close();
        }
        if ui
            .add(egui::Button::new("Quit").shortcut_text("Ctrl+Q"))
            .clicked()
        {
            asked.push(AppCommand::Quit);
            ui.close();
        }
    });
}

fn settings_ui(ui: &mut egui::Ui, settings: &Settings, asked: &mut Vec<AppCommand>) {
    ui.horizontal(|ui| {
        ui.label("Lengths in");
        for (unit, name) in [(LengthUnit::Metres, "metres"), (LengthUnit::Feet, "feet")] {
            if ui.selectable_label(settings.unit == unit, name).clicked() {
                asked.push(AppCommand::Unit(unit));
            }
        }
    });
    ui.horizontal(|ui| {
        ui.label("Size");
        for percent in [100, 125, 150, 200, 250] {
            let scale = percent as f32 / 100.0;
            if ui
                .selectable_label(
                    (settings.scale - scale).abs() < 0.01,
                    format!("{percent} %"),
                )
                .clicked()
            {
                asked.push(AppCommand::Scale(scale));
            }
        }
    });
}

fn drawn_ui(ui: &mut egui::Ui, data: &BarData, asked: &mut Vec<AppCommand>) {
    let showing = data.showing;
    ui.menu_button("Picture", |ui| {
        ui.set_min_width(220.0);
        let mut colours = showing.false_colour;
        if ui
            .checkbox(&mut colours, "Luminances as colours")
            .on_hover_text("F: each luminance has its colour, with a scale in cd/m\u{b2}")
            .changed()
        {
            asked.push(AppCommand::FalseColour(colours));
        }
        let mut path = showing.sun_path;
        if ui
            .checkbox(&mut path, "The sun's path")
            .on_hover_text("U: where the sun stands at every hour of this day")
            .changed()
        {
            asked.push(AppCommand::SunPath(path));
        }
        ui.separator();
        let eye = &showing.exposure.settings;
        let mut held = eye.held;
        if ui
            .checkbox(&mut held, "Keep the eye as it is")
            .on_hover_text("The adaptation stays, so that two hours or places compare")
            .changed()
        {
            asked.push(AppCommand::HoldEye(held));
        }
        let mut stops = eye.shift_stops;
        ui.label("Brighter or darker").on_hover_text(
            "In stops: each is a factor of two. Of the picture only, no number changes.",
        );
        if ui
            .add(
                egui::Slider::new(&mut stops, -4.0..=4.0)
                    .step_by(0.25)
                    .suffix(" stops"),
            )
            .changed()
        {
            asked.push(AppCommand::Brighter(stops));
        }
        ui.separator();
        for (label, key, folded, set) in [
            ("List of things", "F2", showing.folded.things, 0),
            ("Details", "F3", showing.folded.details, 1),
            ("The day", "F4", showing.folded.day, 2),
        ] {
            let mut shown = !folded;
            if ui
                .checkbox(&mut shown, format!("{label} ({key})"))
                .changed()
            {
                let mut next = showing.folded;
                match set {
                    0 => next.things = !shown,
                    1 => next.details = !shown,
                    _ => next.day = !shown,
                }
                asked.push(AppCommand::Fold(next));
            }
        }
    });
    if showing.false_colour {
        ui.colored_label(theme::ACCENT, "colours")
            .on_hover_text("Luminances are shown as colours (F)");
    }
}
