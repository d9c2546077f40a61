//! Details of what is chosen. Each part changes a copy of the room; a copy that differs is asked for as one
//! step.

mod building;
mod finish;
mod fixture;
mod piece;
mod site;
mod tiles;
mod walk;

use std::hash::{Hash, Hasher};

use bevy_egui::egui;

use super::fields;
use crate::{
    app::{
        command::AppCommand,
        document::EditKey,
        edits::name_of,
        engine::ProblemAt,
        state::{Chosen, Thing},
        theme,
        typed::LengthUnit,
    },
    room::{BuiltRoom, RoomFile},
};

/// What the details are drawn from.
pub struct DetailsData<'a> {
    /// The room.
    pub room: &'a RoomFile,
    /// The last sound room.
    pub built: Option<&'a BuiltRoom>,
    /// What is chosen.
    pub chosen: &'a Chosen,
    /// Problems of the room.
    pub problems: &'a [ProblemAt],
    /// Unit of lengths.
    pub unit: LengthUnit,
    /// Counts presses, so that a drag becomes one step.
    pub gesture: u64,
    /// Fixture (index) that the next click aims.
    pub aiming: Option<usize>,
    /// Revision of the room.
    pub revision: u64,
    /// Minute of the day.
    pub minute: u32,
}

/// The panel.
pub fn details_ui(ui: &mut egui::Ui, data: &DetailsData) -> Vec<AppCommand> {
    let mut draft = data.room.clone();
    let mut asked = Vec::new();
    let thing = data.chosen.thing.clone().unwrap_or(Thing::Piece);
    head(ui, data, &thing, &mut asked);
    for problem in data
        .problems
        .iter()
        .filter(|p| super::things::is_about(&thing, p))
    {
        ui.colored_label(theme::WRONG, &problem.message)
            .on_hover_text(&problem.help);
    }
    let unit = data.unit;
    let what = match &thing {
        Thing::Piece => {
            piece::piece(ui, &mut draft, data, &mut asked);
            if !data.chosen.tiles.is_empty() {
                ui.separator();
                tiles::tiles(ui, &mut draft, data, &mut asked);
                "change tiles"
            } else {
                "move the piece"
            }
        }
        Thing::Candidate(i) => {
            piece::candidate(ui, &mut draft, *i, unit, &mut asked);
            "change a place"
        }
        Thing::Fixture(i) => {
            fixture::fixture(ui, &mut draft, *i, data, &mut asked);
            "change a fixture"
        }
        Thing::FixtureType(name) => {
            fixture::kind(ui, &mut draft, name);
            "change a kind of fixture"
        }
        Thing::Opening(i) => {
            building::opening(ui, &mut draft, *i, unit);
            "change an opening"
        }
        Thing::Rooflight(i) => {
            building::rooflight(ui, &mut draft, *i, unit);
            "change a rooflight"
        }
        Thing::Solid(i) => {
            building::solid(ui, &mut draft, *i, unit);
            "change a solid"
        }
        Thing::Space(i) => {
            building::space(ui, &mut draft, *i, unit);
            "change a space"
        }
        Thing::Walk(i) => {
            walk::walk(ui, &mut draft, *i, unit);
            "change a walk"
        }
        Thing::Finish(name) => {
            finish::finish(ui, &mut draft, name);
            "change a finish"
        }
        Thing::Glazing(name) => {
            finish::glazing(ui, &mut draft, name);
            "change a glazing"
        }
        Thing::Site => {
            site::site(ui, &mut draft, unit);
            "change the site"
        }
        Thing::Limits => {
            site::limits(ui, &mut draft);
            "change the study"
        }
    };
    if draft != *data.room {
        asked.push(AppCommand::Edit {
            from: data.revision,
            room: Box::new(draft),
            what: what.into(),
            key: key(ui, data.gesture),
        });
    }
    asked
}

/// Joins the changes of one drag or one entry.
fn key(ui: &egui::Ui, gesture: u64) -> Option<EditKey> {
    let field = ui
        .ctx()
        .dragged_id()
        .or_else(|| ui.memory(|m| m.focused()))?;
    let mut hasher = std::hash::DefaultHasher::new();
    field.hash(&mut hasher);
    Some(EditKey {
        field: hasher.finish(),
        gesture,
    })
}

/// Name, doubling and deleting.
fn head(ui: &mut egui::Ui, data: &DetailsData, thing: &Thing, asked: &mut Vec<AppCommand>) {
    let word = match thing {
        Thing::Piece => "The piece and its place",
        Thing::Candidate(_) => "A place worth comparing",
        Thing::Fixture(_) => "Fixture",
        Thing::FixtureType(_) => "Kind of fixture",
        Thing::Opening(_) => "Window, door or opening",
        Thing::Rooflight(_) => "Rooflight",
        Thing::Walk(_) => "Walk",
        Thing::Solid(_) => "Solid",
        Thing::Space(_) => "Space",
        Thing::Finish(_) => "Finish",
        Thing::Glazing(_) => "Glazing",
        Thing::Site => "Site",
        Thing::Limits => "Limits and study",
    };
    ui.label(egui::RichText::new(word).strong());
    let Some(current) = name_of(data.room, thing) else {
        return;
    };
    ui.push_id(thing, |ui| {
        if let Some(name) = fields::name(ui, &current) {
            asked.push(AppCommand::Rename(thing.clone(), name));
        }
    });
    ui.horizontal(|ui| {
        if ui
            .button("Duplicate")
            .on_hover_text("A second one like it, beside it (Ctrl+D)")
            .clicked()
        {
            asked.push(AppCommand::Duplicate(thing.clone()));
        }
        if ui
            .button("Delete")
            .on_hover_text("Undo brings it back (Delete)")
            .clicked()
        {
            asked.push(AppCommand::Delete(thing.clone()));
        }
    });
}

/// A grid of rows.
fn rows<R>(ui: &mut egui::Ui, salt: &str, add: impl FnOnce(&mut egui::Ui) -> R) -> R {
    egui::Grid::new(salt)
        .num_columns(2)
        .spacing([8.0, 4.0])
        .show(ui, add)
        .inner
}
