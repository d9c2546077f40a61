//! Advice drawn and used without a window.

use std::{
    collections::BTreeSet,
    sync::Arc,
    time::{Duration, Instant},
};

use bevy_egui::egui;

use super::{AdviceData, advice_ui};
use crate::{
    app::{
        adviser::{AdviceKind, Adviser},
        command::AppCommand,
        panels::tests::Stage,
        state::{Advice, Advised},
        typed::LengthUnit,
    },
    room::{BuiltRoom, NoFiles, RoomFile, Support, build, parse_room},
};

fn small() -> (RoomFile, Arc<BuiltRoom>) {
    let text = include_str!("../../../../tests/data/small_room.ron");
    let mut file = parse_room(text, "small").unwrap();
    // A few places are enough here.
    file.advice.hang.turns_deg = vec![0.0];
    file.advice.hang.walls = vec![("room".into(), 1), ("room".into(), 3)];
    let built = build(file.clone(), &mut NoFiles).unwrap();
    (file, Arc::new(built))
}

/// What a search tells, waited for.
fn searched(kind: AdviceKind) -> (RoomFile, Arc<BuiltRoom>, Advice) {
    let (file, built) = small();
    let of = Arc::new(file.clone());
    let mut advice = Advice {
        shown: Some(kind),
        running: Some(Adviser::start(
            kind,
            of,
            Arc::clone(&built),
            Arc::new(|| {}),
        )),
        ..Advice::default()
    };
    let begun = Instant::now();
    while advice.running.is_some() {
        advice.poll();
        assert!(
            begun.elapsed() < Duration::from_secs(120),
            "{kind:?} takes too long"
        );
        std::thread::sleep(Duration::from_millis(20));
    }
    assert_eq!(advice.failed, None);
    (file, built, advice)
}

fn data<'a>(
    file: &'a RoomFile,
    built: &'a BuiltRoom,
    advice: &'a Advice,
    tiles: &'a BTreeSet<u32>,
) -> AdviceData<'a> {
    AdviceData {
        advice,
        kind: advice.shown.unwrap(),
        room: file,
        revision: 1,
        built: Some(built),
        tiles,
        unit: LengthUnit::Metres,
        sheets: None,
    }
}

fn draw(ui: &mut egui::Ui, data: &AdviceData) -> Vec<AppCommand> {
    advice_ui(ui, data)
}

#[test]
fn a_place_is_tried_by_resting_on_it_and_taken_by_a_click() {
    let (file, built, mut advice) = searched(AdviceKind::Hang);
    let none = BTreeSet::new();
    let mut stage = Stage::new();
    let asked = stage.click("Hang it here", |ui| {
        draw(ui, &data(&file, &built, &advice, &none))
    });
    let place = |c: &AppCommand| match c {
        AppCommand::TakeAdvice(Advised::Place(i)) => Some(*i),
        _ => None,
    };
    let taken = asked.iter().find_map(place).expect("a click takes it");
    assert!(
        asked
            .iter()
            .any(|c| matches!(c, AppCommand::TryOut(Some(Advised::Place(i))) if *i == taken)),
        "resting on it tries it: {asked:?}"
    );
    // What is tried is shown in place of the room, under a revision of its own.
    advice.try_out(&file, Some(Advised::Place(taken)));
    let (revision, tried) = advice.tried().unwrap();
    assert!(revision > 1_000_000);
    assert_ne!(tried.placement, file.placement);
    assert!(tried.candidates.contains(&{
        let mut before = file.placement.clone();
        before
            .name
            .clone_from(&tried.candidates.last().unwrap().name);
        before
    }));
    advice.try_out(&file, None);
    assert!(advice.tried().is_none());
}

#[test]
fn keeping_to_a_wall_narrows_the_next_search() {
    let (file, built, advice) = searched(AdviceKind::Hang);
    let none = BTreeSet::new();
    let asked = Stage::new().click("Keep to this wall", |ui| {
        draw(ui, &data(&file, &built, &advice, &none))
    });
    let edited = asked.iter().find_map(|c| match c {
        AppCommand::Edit { room, .. } => Some(room.advice.hang.walls.clone()),
        _ => None,
    });
    assert_eq!(edited.expect("an undoable change").len(), 1);
}

#[test]
fn other_weights_reorder_at_once() {
    let (mut file, built, advice) = searched(AdviceKind::Hang);
    let none = BTreeSet::new();
    let mut stage = Stage::new();
    let first = |stage: &mut Stage, file: &RoomFile| {
        let asked = stage.click("Hang it here", |ui| {
            draw(ui, &data(file, &built, &advice, &none))
        });
        asked.into_iter().find_map(|c| match c {
            AppCommand::TakeAdvice(Advised::Place(i)) => Some(i),
            _ => None,
        })
    };
    let places = &advice.hang.as_ref().unwrap().1.places;
    let usual = first(&mut stage, &file).unwrap();
    // Only light counts: the darkest of the places in full comes first.
    file.advice.weights = crate::room::Weights {
        alive: 0.0,
        shift: 0.0,
        dead: 3.0,
        glaring: 0.0,
        dose: 0.0,
    };
    let least_dead = first(&mut stage, &file).unwrap();
    let dead = |i: usize| places[i].judgement.parts.dead_share;
    assert!(dead(least_dead) <= dead(usual) + 0.01);
}

#[test]
fn fixtures_and_arrows_are_taken_whole_and_only_into_the_room_they_are_for() {
    let (file, built, advice) = searched(AdviceKind::Lamps);
    let none = BTreeSet::new();
    let (next, _) = advice.applied(&file, Advised::Lamps).unwrap();
    assert_ne!(next.fixtures, file.fixtures, "S1 may be aimed and dimmed");
    let asked = Stage::new().click("Take it", |ui| {
        draw(ui, &data(&file, &built, &advice, &none))
    });
    assert!(
        asked
            .iter()
            .any(|c| matches!(c, AppCommand::TakeAdvice(Advised::Lamps))),
        "{asked:?}"
    );
    // The piece moved meanwhile: its place is kept. Another fixture: the advice is not for this room.
    let mut moved = file.clone();
    moved.placement.on = Support::Wall {
        space: "room".into(),
        wall: 1,
        along_m: 1.5,
    };
    let (kept, _) = advice.applied(&moved, Advised::Lamps).unwrap();
    assert_eq!(kept.placement, moved.placement);
    moved.fixtures[0].at_m.0 += 0.1;
    assert!(advice.applied(&moved, Advised::Lamps).is_none());

    let (file, built, advice) = searched(AdviceKind::Grain);
    let turned = advice.grain.as_ref().unwrap().1.turned.len();
    let (next, _) = advice.applied(&file, Advised::Grain).unwrap();
    assert_eq!(next.tile_changes.len(), turned);
    stage_draws(&file, &built, &advice);
}

fn stage_draws(file: &RoomFile, built: &BuiltRoom, advice: &Advice) {
    let none = BTreeSet::new();
    let asked = Stage::new().click("Back to details", |ui| {
        draw(ui, &data(file, built, advice, &none))
    });
    assert!(
        asked
            .iter()
            .any(|c| matches!(c, AppCommand::ShowAdvice(None)))
    );
}

#[test]
fn a_search_that_is_dropped_stops() {
    let (file, built) = small();
    let adviser = Adviser::start(AdviceKind::Hang, Arc::new(file), built, Arc::new(|| {}));
    adviser.stop();
    let begun = Instant::now();
    loop {
        let told = adviser.told();
        if told
            .iter()
            .any(|t| matches!(t, crate::app::adviser::Told::Failed(None)))
        {
            break;
        }
        assert!(begun.elapsed() < Duration::from_secs(30), "it goes on");
        std::thread::sleep(Duration::from_millis(10));
    }
}
