//! Panels drawn without a window: what is asked for when nothing, or something, is done.

use std::collections::BTreeMap;

use bevy_egui::egui::{self, Event, Modifiers, PointerButton, Pos2, Shape};

use super::*;
use crate::{
    app::{
        command::{AppCommand, Unsaved},
        document::OpenRoom,
        files::Settings,
        state::{Asking, Chosen, Presenting, Showing, Then, Thing},
        theme,
        typed::LengthUnit,
    },
    room::{BuiltRoom, NoFiles, RoomFile, build, parse_room},
};

/// A window's worth of panels without a window.
pub(super) struct Stage {
    ctx: egui::Context,
    time_s: f64,
}

impl Stage {
    pub fn new() -> Self {
        let ctx = egui::Context::default();
        theme::apply(&ctx);
        ctx.all_styles_mut(|s| s.animation_time = 0.0);
        Self { ctx, time_s: 0.0 }
    }

    fn frame<R>(
        &mut self,
        events: Vec<Event>,
        mut draw: impl FnMut(&mut egui::Ui) -> R,
    ) -> (R, Vec<egui::epaint::ClippedShape>) {
        self.time_s += 0.5;
        let input = egui::RawInput {
            screen_rect: Some(egui::Rect::from_min_size(
                Pos2::ZERO,
                egui::vec2(420.0, 1600.0),
            )),
            time: Some(self.time_s),
            events,
            ..Default::default()
        };
        let mut result = None;
        let mut out = self.ctx.run_ui(input, |ui| result = Some(draw(ui)));
        out.textures_delta.clear();
        (result.unwrap(), out.shapes)
    }

    /// Draws, clicks on a text, and what that asks for.
    pub fn click<R>(&mut self, text: &str, mut draw: impl FnMut(&mut egui::Ui) -> R) -> R {
        let (_, _) = self.frame(Vec::new(), &mut draw);
        let (_, shapes) = self.frame(Vec::new(), &mut draw);
        let at = find_text(&shapes, text)
            .unwrap_or_else(|| panic!("no {text:?} to click"))
            .center();
        let button = |pressed| Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        self.frame(
            vec![Event::PointerMoved(at), button(true), button(false)],
            &mut draw,
        )
        .0
    }

    fn type_in<R>(&mut self, text: &str, mut draw: impl FnMut(&mut egui::Ui) -> R) -> R {
        let key = |pressed| Event::Key {
            key: egui::Key::Enter,
            physical_key: None,
            pressed,
            repeat: false,
            modifiers: Modifiers::NONE,
        };
        let (_, _) = self.frame(vec![Event::Text(text.into())], &mut draw);
        self.frame(vec![key(true), key(false)], &mut draw).0
    }
}

fn find_text(shapes: &[egui::epaint::ClippedShape], text: &str) -> Option<egui::Rect> {
    fn walk(shape: &Shape, text: &str) -> Option<egui::Rect> {
        match shape {
            Shape::Text(t) if t.galley.text().contains(text) => {
                Some(t.galley.rect.translate(t.pos.to_vec2()))
            }
            Shape::Vec(list) => list.iter().find_map(|s| walk(s, text)),
            _ => None,
        }
    }
    shapes.iter().find_map(|s| walk(&s.shape, text))
}

fn demos() -> Vec<(RoomFile, BuiltRoom)> {
    [
        include_str!("../../../rooms/ferry-hall.ron"),
        include_str!("../../../rooms/tunnel-walk.ron"),
        include_str!("../../../rooms/stair-court.ron"),
        include_str!("../../../assets/templates/plain-room.ron"),
    ]
    .into_iter()
    .map(|text| {
        let room = parse_room(text, "demo").unwrap();
        let built = build(room.clone(), &mut NoFiles).unwrap();
        (room, built)
    })
    .collect()
}

fn details(
    ui: &mut egui::Ui,
    room: &RoomFile,
    built: &BuiltRoom,
    chosen: &Chosen,
    unit: LengthUnit,
) -> Vec<AppCommand> {
    details_ui(
        ui,
        &DetailsData {
            room,
            built: Some(built),
            chosen,
            problems: &[],
            unit,
            gesture: 1,
            aiming: None,
            revision: 1,
            minute: 600,
        },
    )
}

fn choose(thing: Thing) -> Chosen {
    Chosen {
        thing: Some(thing),
        ..Chosen::default()
    }
}

fn edited(asked: Vec<AppCommand>) -> Option<RoomFile> {
    asked.into_iter().find_map(|a| match a {
        AppCommand::Edit { room, .. } => Some(*room),
        _ => None,
    })
}

#[test]
fn looking_at_details_changes_nothing() {
    for (room, built) in demos() {
        let mut things = vec![Thing::Piece, Thing::Site, Thing::Limits];
        things.extend((0..room.fixtures.len()).map(Thing::Fixture));
        things.extend((0..room.walks.len()).map(Thing::Walk));
        things.extend((0..room.openings.len()).map(Thing::Opening));
        things.extend((0..room.rooflights.len()).map(Thing::Rooflight));
        things.extend((0..room.solids.len()).map(Thing::Solid));
        things.extend((0..room.spaces.len()).map(Thing::Space));
        things.extend((0..room.candidates.len()).map(Thing::Candidate));
        things.extend(room.fixture_types.keys().cloned().map(Thing::FixtureType));
        things.extend(room.finishes.keys().cloned().map(Thing::Finish));
        things.extend(room.glazings.keys().cloned().map(Thing::Glazing));
        for thing in things {
            for unit in [LengthUnit::Metres, LengthUnit::Feet] {
                let mut stage = Stage::new();
                let mut chosen = choose(thing.clone());
                if thing == Thing::Piece {
                    chosen.tiles = [1, 2].into();
                }
                for _ in 0..3 {
                    let (asked, _) =
                        stage.frame(Vec::new(), |ui| details(ui, &room, &built, &chosen, unit));
                    assert!(
                        asked.is_empty(),
                        "{}: {thing:?} asks for {asked:?}",
                        room.name
                    );
                }
            }
        }
    }
}

#[test]
fn a_length_is_typed_in_any_unit() {
    let (room, built) = demos().remove(0);
    let chosen = Chosen::default();
    let mut stage = Stage::new();
    let mut draw = |ui: &mut egui::Ui| details(ui, &room, &built, &chosen, LengthUnit::Metres);
    stage.click("10.9 m", &mut draw);
    let asked = stage.type_in("420 cm", &mut draw);
    let next = edited(asked).unwrap();
    let crate::room::Support::Wall { along_m, .. } = next.placement.on else {
        panic!()
    };
    assert!((along_m - 4.2).abs() < 1e-5, "{along_m}");
}

#[test]
fn buttons_of_the_piece_and_of_tiles_do_what_they_say() {
    let (room, built) = demos().remove(0);
    let mut chosen = Chosen::default();
    let turned = Stage::new().click("Turn by 90 deg", |ui| {
        details(ui, &room, &built, &chosen, LengthUnit::Metres)
    });
    assert_eq!(edited(turned).unwrap().placement.turn_deg, 90.0);
    let swapped = Stage::new().click("south wall under", |ui| {
        details(ui, &room, &built, &chosen, LengthUnit::Metres)
    });
    assert_eq!(
        edited(swapped).unwrap().placement.name,
        "south wall under the gallery"
    );
    chosen.tiles = [3, 4].into();
    let flipped = Stage::new().click("End for end", |ui| {
        details(ui, &room, &built, &chosen, LengthUnit::Metres)
    });
    let changes = edited(flipped).unwrap().tile_changes;
    assert_eq!(changes.iter().map(|c| c.tile).collect::<Vec<_>>(), [3, 4]);
    let was = built.tiling.tile(3).unwrap().grain_rad.to_degrees();
    let turned = (changes[0].grain_deg.unwrap() - was).rem_euclid(360.0);
    assert!((turned - 180.0).abs() < 1e-3, "{turned}");
}

#[test]
fn a_thing_is_renamed_by_typing_and_deleted_by_its_button() {
    let (room, built) = demos().remove(0);
    let chosen = choose(Thing::Fixture(0));
    let mut stage = Stage::new();
    let mut draw = |ui: &mut egui::Ui| details(ui, &room, &built, &chosen, LengthUnit::Metres);
    stage.click("S1", &mut draw);
    let asked = stage.type_in("b", &mut draw);
    let renamed = asked
        .iter()
        .any(|a| matches!(a, AppCommand::Rename(Thing::Fixture(0), name) if name.contains('b')));
    assert!(renamed, "{asked:?}");
    let asked = Stage::new().click("Delete", draw);
    assert!(
        matches!(asked[..], [AppCommand::Delete(Thing::Fixture(0))]),
        "{asked:?}"
    );
}

#[test]
fn the_question_about_unsaved_changes_takes_each_answer() {
    let (room, _) = demos().remove(0);
    let open = OpenRoom::new(room, None, Default::default());
    let asking = Asking {
        unsaved: Some(Then::Quit),
        ..Asking::default()
    };
    for (label, answer) in [
        ("Save them", Unsaved::Save),
        ("Let them go", Unsaved::LetGo),
        ("Stay", Unsaved::Stay),
    ] {
        let asked = Stage::new().click(label, |ui| questions_ui(ui.ctx(), &asking, &open));
        assert!(
            matches!(&asked[..], [AppCommand::Unsaved(a)] if *a == answer),
            "{asked:?}"
        );
    }
}

#[test]
fn every_word_of_the_bar_is_there_in_a_narrow_window() {
    let (room, _) = demos().remove(0);
    let open = OpenRoom::new(room, None, Default::default());
    let (showing, settings) = (Showing::default(), Settings::default());
    let presenting = Presenting::default();
    let mut stage = Stage::new();
    let mut path = String::new();
    let mut draw = |ui: &mut egui::Ui| {
        let data = BarData {
            open: &open,
            showing: &showing,
            settings: &settings,
            presenting: &presenting,
        };
        bar_ui(ui, &data, &mut path)
    };
    stage.frame(Vec::new(), &mut draw);
    let (_, shapes) = stage.frame(Vec::new(), &mut draw);
    for word in [
        "Room",
        "Undo",
        "Visitor's eye",
        "From above",
        "Picture",
        "Hand over",
        "Hold to compare",
    ] {
        let rect = find_text(&shapes, word).unwrap_or_else(|| panic!("{word} is lost"));
        assert!(rect.right() <= 420.0, "{word} ends at {}", rect.right());
    }
}

#[test]
fn a_click_in_the_chart_is_a_place_and_an_hour() {
    let (_, built) = demos().remove(0);
    let clock = crate::app::engine::Clock {
        date: "2026-03-20".parse().unwrap(),
        minute: 600,
        sky: "clear".into(),
    };
    let hours = BTreeMap::new();
    let mut stage = Stage::new();
    let mut draw = |ui: &mut egui::Ui| {
        chart_ui(
            ui,
            &ChartData {
                hours: &hours,
                built: &built,
                walk: 0,
                distance_m: 2.0,
                clock: &clock,
                charted: crate::app::state::Charted::Play,
                span: (420, 1200, 30),
                sun: None,
                stale: false,
                against: None,
            },
        )
    };
    let asked = stage.click("12:00", &mut draw);
    let minute = asked.iter().find_map(|a| match a {
        AppCommand::SetClock(clock) => Some(clock.minute),
        _ => None,
    });
    assert!(minute.is_some_and(|m| m.abs_diff(720) <= 5), "{asked:?}");
    let walk = asked.iter().find_map(|a| match a {
        AppCommand::Stand { walk, distance_m } => Some((*walk, *distance_m)),
        _ => None,
    });
    assert_eq!(walk, Some((0, 0.0)), "left of the chart is the start");
}
