//! What is in this room, what is wrong with it, and the plans that are held.

use bevy_egui::egui;

use crate::{
    app::{
        command::AppCommand,
        edits::Addable,
        engine::ProblemAt,
        state::{Chosen, Desk, Thing},
        theme,
    },
    room::RoomFile,
};

/// The part of a problem's path that names a thing.
fn path_of(thing: &Thing) -> String {
    match thing {
        Thing::Piece => "placement".into(),
        Thing::Candidate(i) => format!("candidates[{i}]"),
        Thing::Fixture(i) => format!("fixtures[{i}]"),
        Thing::FixtureType(name) => format!("fixture_types[{name:?}]"),
        Thing::Opening(i) => format!("openings[{i}]"),
        Thing::Rooflight(i) => format!("rooflights[{i}]"),
        Thing::Walk(i) => format!("walks[{i}]"),
        Thing::Solid(i) => format!("solids[{i}]"),
        Thing::Space(i) => format!("spaces[{i}]"),
        Thing::Finish(name) => format!("finishes[{name:?}]"),
        Thing::Glazing(name) => format!("glazings[{name:?}]"),
        Thing::Site => "site".into(),
        Thing::Limits => "limits".into(),
    }
}

/// Whether a problem is about a thing.
pub(super) fn is_about(thing: &Thing, problem: &ProblemAt) -> bool {
    let path = path_of(thing);
    let also = match thing {
        Thing::Piece => ["piece", "tile_changes"].as_slice(),
        Thing::Limits => ["study"].as_slice(),
        _ => &[],
    };
    problem.path.starts_with(&path) || also.iter().any(|p| problem.path.starts_with(p))
}

/// The thing that a problem is about.
fn thing_of(room: &RoomFile, problem: &ProblemAt) -> Option<Thing> {
    all(room)
        .into_iter()
        .flat_map(|(_, list)| list)
        .map(|(thing, _)| thing)
        .find(|thing| is_about(thing, problem))
}

/// Groups of things with their names.
fn all(room: &RoomFile) -> Vec<(&'static str, Vec<(Thing, String)>)> {
    fn listed<'a>(
        names: impl Iterator<Item = &'a String>,
        thing: fn(usize) -> Thing,
    ) -> Vec<(Thing, String)> {
        names
            .enumerate()
            .map(|(i, n)| (thing(i), n.clone()))
            .collect()
    }
    fn named<'a>(
        names: impl Iterator<Item = &'a String>,
        thing: fn(String) -> Thing,
    ) -> Vec<(Thing, String)> {
        names.map(|n| (thing(n.clone()), n.clone())).collect()
    }
    let place = if room.placement.name.is_empty() {
        "The piece".to_owned()
    } else {
        format!("The piece, {}", room.placement.name)
    };
    vec![
        ("", vec![(Thing::Piece, place)]),
        (
            "Places to compare",
            listed(room.candidates.iter().map(|c| &c.name), Thing::Candidate),
        ),
        (
            "Fixtures",
            listed(room.fixtures.iter().map(|f| &f.name), Thing::Fixture),
        ),
        (
            "Walks",
            listed(room.walks.iter().map(|w| &w.name), Thing::Walk),
        ),
        (
            "Windows and doors",
            listed(room.openings.iter().map(|o| &o.name), Thing::Opening),
        ),
        (
            "Rooflights",
            listed(room.rooflights.iter().map(|r| &r.name), Thing::Rooflight),
        ),
        (
            "Solids",
            listed(room.solids.iter().map(|s| &s.name), Thing::Solid),
        ),
        (
            "Spaces",
            listed(room.spaces.iter().map(|s| &s.name), Thing::Space),
        ),
        (
            "Kinds of fixture",
            named(room.fixture_types.keys(), Thing::FixtureType),
        ),
        ("Finishes", named(room.finishes.keys(), Thing::Finish)),
        ("Glazings", named(room.glazings.keys(), Thing::Glazing)),
        (
            "The whole",
            vec![
                (Thing::Site, "Site, north and sky".into()),
                (Thing::Limits, "Limits and hours".into()),
            ],
        ),
    ]
}

/// What a group means.
fn meaning(group: &str) -> &'static str {
    match group {
        "Places to compare" => "Other places for the piece; click one and hang it there",
        "Fixtures" => "Lamps in place: where, aimed how, dimmed how far",
        "Walks" => "Paths of visitors at the height of their eyes",
        "Solids" => {
            "Columns, desks, benches, stairs; and outside: buildings opposite, overhangs, trees"
        }
        "Spaces" => "Parts of the building with one floor and one ceiling",
        "Kinds of fixture" => "What the electrician buys: light output, beam, opening",
        "Finishes" => "Matt surfaces: how much light they throw back",
        "Glazings" => "Kinds of glass: how much light they let through",
        _ => "",
    }
}

/// The list of things; returns what was asked for.
pub fn things_ui(
    ui: &mut egui::Ui,
    room: &RoomFile,
    desk: &Desk,
    chosen: &Chosen,
) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    let problems = &desk.live().problems;
    ui.horizontal(|ui| {
        ui.label(egui::RichText::new("In this room").strong());
        ui.menu_button("Add", |ui| {
            for what in Addable::ALL {
                if ui.button(what.name()).clicked() {
                    asked.push(AppCommand::Add(what));
                    ui.close();
                }
            }
        });
    });
    egui::ScrollArea::vertical()
        .auto_shrink([false, false])
        .show(ui, |ui| {
            if !problems.is_empty() {
                ui.colored_label(theme::WRONG, "To mend before the light is computed again:");
                for problem in problems {
                    let line = egui::Button::selectable(
                        false,
                        egui::RichText::new(&problem.message).color(theme::WRONG),
                    )
                    .wrap();
                    if ui.add(line).on_hover_text(&problem.help).clicked()
                        && let Some(thing) = thing_of(room, problem)
                    {
                        asked.push(AppCommand::Choose(Some(thing)));
                    }
                }
                ui.separator();
            }
            held_ui(ui, desk, &mut asked);
            for (group, list) in all(room) {
                if list.is_empty() {
                    continue;
                }
                if group.is_empty() {
                    lines(ui, list, problems, chosen, &mut asked);
                    continue;
                }
                let holds_chosen = list.iter().any(|(t, _)| chosen.thing.as_ref() == Some(t));
                let wrong = list
                    .iter()
                    .any(|(t, _)| problems.iter().any(|p| is_about(t, p)));
                let often = ["Fixtures", "Walks", "Places to compare"].contains(&group);
                let title = egui::RichText::new(format!("{group} ({})", list.len()))
                    .color(if wrong { theme::WRONG } else { theme::SOFT });
                let open = (holds_chosen || wrong).then_some(true);
                let head = egui::CollapsingHeader::new(title)
                    .id_salt(group)
                    .default_open(often)
                    .open(open)
                    .show(ui, |ui| lines(ui, list, problems, chosen, &mut asked));
                if !meaning(group).is_empty() {
                    head.header_response.on_hover_text(meaning(group));
                }
            }
        });
    asked
}

fn lines(
    ui: &mut egui::Ui,
    list: Vec<(Thing, String)>,
    problems: &[ProblemAt],
    chosen: &Chosen,
    asked: &mut Vec<AppCommand>,
) {
    for (thing, name) in list {
        let wrong = problems.iter().any(|p| is_about(&thing, p));
        let text = if wrong {
            egui::RichText::new(format!("! {name}")).color(theme::WRONG)
        } else {
            egui::RichText::new(name)
        };
        let is_chosen = chosen.thing.as_ref() == Some(&thing)
            || (chosen.thing.is_none() && thing == Thing::Piece);
        let line = ui.add(egui::Button::selectable(is_chosen, text).wrap());
        if is_chosen {
            // What was chosen elsewhere comes into view, once.
            let id = egui::Id::new("line of the chosen thing");
            if ui.data(|d| d.get_temp::<Thing>(id)).as_ref() != Some(&thing) {
                line.scroll_to_me(None);
                ui.data_mut(|d| d.insert_temp(id, thing.clone()));
            }
        }
        if line.clicked() {
            asked.push(AppCommand::Choose(Some(thing)));
        }
    }
}

/// Plans that are held.
fn held_ui(ui: &mut egui::Ui, desk: &Desk, asked: &mut Vec<AppCommand>) {
    if desk.plans.len() < 2 {
        return;
    }
    ui.colored_label(theme::SOFT, "Held plans")
        .on_hover_text("States of the plan kept to compare with the one that you change");
    for (index, plan) in desk.plans.iter().enumerate().skip(1) {
        let shown = desk.beside == Some(index);
        ui.push_id(plan.id, |ui| {
            if let Some(name) = super::fields::name(ui, &plan.name) {
                asked.push(AppCommand::RenameHeld(index, name));
            }
            ui.horizontal_wrapped(|ui| {
                if ui
                    .selectable_label(shown, "Beside")
                    .on_hover_text("Shows it beside, with the same eye and the same hour")
                    .clicked()
                {
                    asked.push(AppCommand::ShowBeside((!shown).then_some(index)));
                }
                if ui
                    .button("Go back")
                    .on_hover_text("Makes it the plan that you change; undo takes it back")
                    .clicked()
                {
                    asked.push(AppCommand::GoBackTo(index));
                }
                if ui.button("Let go").clicked() {
                    asked.push(AppCommand::LetGo(index));
                }
            });
        });
    }
    ui.separator();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::room::parse_room;

    #[test]
    fn a_problem_is_shown_at_the_thing_that_it_is_about() {
        let room = parse_room(include_str!("../../../rooms/ferry-hall.ron"), "hall").unwrap();
        for (path, thing) in [
            ("walks[1].eye_m", Thing::Walk(1)),
            ("openings[3].filling[0].glazing", Thing::Opening(3)),
            (
                "fixture_types[\"pendant\"].light",
                Thing::FixtureType("pendant".into()),
            ),
            (
                "finishes[\"oak floor\"].reflectance",
                Thing::Finish("oak floor".into()),
            ),
            ("placement.centre_m", Thing::Piece),
            ("tile_changes[0].tile", Thing::Piece),
            ("site.zone", Thing::Site),
            ("study.from", Thing::Limits),
        ] {
            let problem = ProblemAt {
                path: path.into(),
                message: String::new(),
                help: String::new(),
            };
            assert_eq!(thing_of(&room, &problem), Some(thing), "{path}");
        }
    }
}
