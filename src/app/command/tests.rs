//! Commands carried out without a window.

use std::{fs, path::PathBuf, sync::Arc};

use bevy::prelude::*;

use super::*;
use crate::{
    app::{files::TEMPLATES, state::MOST_PLANS},
    room::{read_room, write_room},
};

/// An app that carries out commands and draws nothing.
fn desk_app(folder: &std::path::Path) -> App {
    let path = folder.join("hall.ron");
    fs::write(&path, include_str!("../../../rooms/ferry-hall.ron")).unwrap();
    let open = OpenRoom::new(read_room(&path).unwrap(), Some(path.clone()), folder.into());
    let waker = Waker(Arc::new(|| {}));
    let desk = Desk::new(
        Arc::clone(open.file()),
        folder.into(),
        open.revision(),
        Engine::start(waker.0.clone()),
    );
    let mut app = App::new();
    app.add_plugins(MinimalPlugins)
        .insert_resource(desk)
        .insert_resource(open)
        .insert_resource(waker)
        .insert_resource(Keeper {
            home: Some(Home::in_folder(folder)),
            watched: Some(Watched::now(&path)),
            ..Keeper::default()
        })
        .insert_resource(Moment {
            clock: Clock {
                date: "2026-03-20".parse().unwrap(),
                minute: 600,
                sky: "clear".into(),
            },
            speed_min_s: 30.0,
            playing: false,
            rest_min: 0.0,
        })
        .init_resource::<Chosen>()
        .init_resource::<Standing>()
        .init_resource::<Showing>()
        .init_resource::<Settings>()
        .init_resource::<Notice>()
        .init_resource::<Asking>()
        .init_resource::<Advice>()
        .init_resource::<Presenting>()
        .init_resource::<Pins>()
        .add_message::<AppCommand>()
        .add_systems(Update, apply_commands);
    app
}

fn ask(app: &mut App, command: AppCommand) {
    app.world_mut().write_message(command);
    app.update();
}

fn room(app: &App) -> RoomFile {
    app.world().resource::<OpenRoom>().file().as_ref().clone()
}

fn move_piece(app: &mut App, centre_m: f32) {
    let from = app.world().resource::<OpenRoom>().revision();
    let mut room = room(app);
    room.placement.centre_m = centre_m;
    ask(
        app,
        AppCommand::Edit {
            from,
            room: Box::new(room),
            what: "move the piece".into(),
            key: None,
        },
    );
}

fn is_unsaved(app: &App) -> bool {
    app.world().resource::<OpenRoom>().is_unsaved()
}

fn has_quit(app: &App) -> bool {
    app.should_exit().is_some()
}

/// A place of a ranking is taken as one step, and undo brings all back.
#[test]
fn taking_advice_is_one_step_that_undo_takes_back() {
    use crate::advice::rank::{RankSettings, rank};

    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    let before = room(&app);
    let small = include_str!("../../../tests/data/small_room.ron");
    let small = crate::room::parse_room(small, "small").unwrap();
    let built = Arc::new(crate::room::build(small, &mut crate::room::NoFiles).unwrap());
    let request = crate::study::StudyRequest::for_room(&built, &[], None, None, None, &[]).unwrap();
    let settings = RankSettings {
        most: 3,
        looked_at: 2,
        finalists: 2,
        ..RankSettings::for_room(&built.file)
    };
    let none = crate::transport::Progress::default();
    let mut ranking = rank(&built, &request, &settings, &none, &mut |_| {}).unwrap();
    // A place of this room.
    ranking.places[0].placement = before.candidates[0].clone();
    let of = app.world().resource::<OpenRoom>().file().clone();
    app.world_mut().resource_mut::<Advice>().hang = Some((of, ranking));
    ask(&mut app, AppCommand::TryOut(Some(Advised::Place(0))));
    assert_eq!(room(&app), before, "only tried");
    ask(&mut app, AppCommand::TakeAdvice(Advised::Place(0)));
    let hung = room(&app);
    assert_eq!(hung.placement, before.candidates[0]);
    assert!(
        hung.candidates.contains(&before.placement),
        "where it hung is kept"
    );
    assert!(app.world().resource::<Advice>().preview.is_none());
    ask(&mut app, AppCommand::Undo);
    assert_eq!(room(&app), before);
}

#[test]
fn quitting_asks_first_and_each_answer_does_what_it_says() {
    for (answer, quits, centre_m) in [
        (Unsaved::Stay, false, 2.0),
        (Unsaved::LetGo, true, 2.0),
        (Unsaved::Save, true, 2.4),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let mut app = desk_app(folder.path());
        move_piece(&mut app, 2.4);
        ask(&mut app, AppCommand::Quit);
        assert!(!has_quit(&app), "asked first");
        assert_eq!(app.world().resource::<Asking>().unsaved, Some(Then::Quit));
        ask(&mut app, AppCommand::Unsaved(answer));
        assert_eq!(has_quit(&app), quits, "{answer:?}");
        let on_disk = read_room(&folder.path().join("hall.ron")).unwrap();
        assert_eq!(on_disk.placement.centre_m, centre_m, "{answer:?}");
    }
    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    ask(&mut app, AppCommand::Quit);
    assert!(has_quit(&app), "nothing to lose, nothing to ask");
}

#[test]
fn a_save_that_fails_keeps_the_changes_and_does_not_go_on() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    move_piece(&mut app, 2.4);
    ask(
        &mut app,
        AppCommand::SaveThere(folder.path().join("no/such/folder/room.ron")),
    );
    assert!(is_unsaved(&app));
    assert!(app.world().resource::<Notice>().wrong);
    assert!(
        app.world()
            .resource::<Notice>()
            .text
            .contains("nothing was lost")
    );
}

#[test]
fn rooms_are_begun_saved_opened_and_remembered() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    for (index, template) in TEMPLATES.iter().enumerate() {
        ask(&mut app, AppCommand::Begin(index));
        assert!(app.world().resource::<OpenRoom>().path().is_none());
        let path = folder.path().join(format!("own-{index}.ron"));
        ask(&mut app, AppCommand::SaveThere(path.clone()));
        assert!(!is_unsaved(&app), "{}", template.name);
        assert_eq!(
            write_room(&read_room(&path).unwrap()).unwrap(),
            write_room(&room(&app)).unwrap()
        );
    }
    let recent = app.world().resource::<Settings>().recent.clone();
    assert_eq!(recent.len(), TEMPLATES.len());
    assert!(recent[0].ends_with(format!("own-{}.ron", TEMPLATES.len() - 1)));
    let kept = Settings::read(&Home::in_folder(folder.path()));
    assert_eq!(kept.recent, recent);
    ask(&mut app, AppCommand::Open(folder.path().join("own-1.ron")));
    assert_eq!(room(&app).name, "Ferry hall");
    // A file that is no room leaves what is open.
    fs::write(folder.path().join("torn.ron"), "(version: 2, name:").unwrap();
    ask(&mut app, AppCommand::Open(folder.path().join("torn.ron")));
    assert_eq!(room(&app).name, "Ferry hall");
    assert!(app.world().resource::<Notice>().text.contains("line"));
}

#[test]
fn plans_are_held_gone_back_to_and_let_go() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    ask(&mut app, AppCommand::Hold);
    move_piece(&mut app, 2.4);
    ask(&mut app, AppCommand::Hold);
    let names = |app: &App| -> Vec<String> {
        let desk = app.world().resource::<Desk>();
        desk.plans.iter().skip(1).map(|p| p.name.clone()).collect()
    };
    assert_eq!(names(&app), ["Plan A", "Plan B"]);
    assert_eq!(app.world().resource::<Desk>().beside, Some(2));
    ask(&mut app, AppCommand::GoBackTo(1));
    assert_eq!(room(&app).placement.centre_m, 2.0);
    ask(&mut app, AppCommand::Undo);
    assert_eq!(room(&app).placement.centre_m, 2.4);
    ask(&mut app, AppCommand::RenameHeld(1, "as it hangs".into()));
    ask(&mut app, AppCommand::LetGo(2));
    assert_eq!(names(&app), ["as it hangs"]);
    assert_eq!(app.world().resource::<Desk>().beside, None);
    for _ in 0..MOST_PLANS + 2 {
        ask(&mut app, AppCommand::Hold);
    }
    assert_eq!(app.world().resource::<Desk>().plans.len(), MOST_PLANS);
    assert!(app.world().resource::<Notice>().wrong);
}

#[test]
fn things_are_found_again_by_name_after_undo() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    ask(&mut app, AppCommand::Delete(Thing::Fixture(0)));
    ask(&mut app, AppCommand::Choose(Some(Thing::Fixture(1))));
    let name = room(&app).fixtures[1].name.clone();
    ask(&mut app, AppCommand::Undo);
    let chosen = app.world().resource::<Chosen>().thing.clone();
    assert_eq!(chosen, Some(Thing::Fixture(2)));
    assert_eq!(room(&app).fixtures[2].name, name);
    // A wish from before the step is not carried out.
    let stale = AppCommand::Edit {
        from: 1,
        room: Box::new(room(&app)),
        what: "stale".into(),
        key: None,
    };
    let before = room(&app);
    move_piece(&mut app, 2.2);
    ask(&mut app, stale);
    assert_ne!(room(&app), before, "the newer change stays");
    // Indices that are older than the room do nothing.
    for thing in [Thing::Fixture(99), Thing::Walk(99), Thing::Space(99)] {
        ask(&mut app, AppCommand::Delete(thing.clone()));
        ask(&mut app, AppCommand::Duplicate(thing.clone()));
        ask(&mut app, AppCommand::Rename(thing, "x".into()));
        assert!(app.world().resource::<Notice>().text.contains("it is gone"));
    }
}

#[test]
fn another_file_is_replaced_only_when_that_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    let other = folder.path().join("other.ron");
    fs::write(&other, "precious").unwrap();
    ask(&mut app, AppCommand::SaveThere(other.clone()));
    assert_eq!(
        app.world().resource::<Asking>().replace.as_ref(),
        Some(&other)
    );
    ask(&mut app, AppCommand::Replace(false));
    assert_eq!(fs::read_to_string(&other).unwrap(), "precious");
    ask(&mut app, AppCommand::SaveThere(other.clone()));
    ask(&mut app, AppCommand::Replace(true));
    assert_eq!(read_room(&other).unwrap(), room(&app));
}

#[test]
fn a_file_written_by_another_program_is_not_replaced_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    let path = folder.path().join("hall.ron");
    move_piece(&mut app, 2.4);
    let theirs = fs::read_to_string(&path)
        .unwrap()
        .replace("Ferry hall", "Their hall");
    fs::write(&path, &theirs).unwrap();
    ask(&mut app, AppCommand::Save);
    assert!(app.world().resource::<Asking>().changed_outside);
    assert_eq!(fs::read_to_string(&path).unwrap(), theirs);
    ask(&mut app, AppCommand::ReadAgain(false));
    assert!(is_unsaved(&app));
    ask(&mut app, AppCommand::ReadAgain(true));
    assert!(
        app.world().resource::<Asking>().unsaved.is_some(),
        "asks before it reads again"
    );
    ask(&mut app, AppCommand::Unsaved(Unsaved::LetGo));
    assert_eq!(room(&app).name, "Their hall");
}

#[test]
fn a_room_with_something_to_mend_is_saved_and_opened() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    let mut wrong = room(&app);
    wrong.walks[0].eye_m = 9.0;
    let from = app.world().resource::<OpenRoom>().revision();
    ask(
        &mut app,
        AppCommand::Edit {
            from,
            room: Box::new(wrong),
            what: "wrong".into(),
            key: None,
        },
    );
    ask(&mut app, AppCommand::Save);
    ask(&mut app, AppCommand::Begin(0));
    ask(&mut app, AppCommand::Open(folder.path().join("hall.ron")));
    assert_eq!(room(&app).walks[0].eye_m, 9.0);
}

#[test]
fn what_is_chosen_goes_when_its_thing_goes() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    ask(&mut app, AppCommand::Add(Addable::Walk));
    let added = app.world().resource::<Chosen>().thing.clone();
    assert_eq!(added, Some(Thing::Walk(4)));
    ask(
        &mut app,
        AppCommand::Stand {
            walk: 4,
            distance_m: 1.0,
        },
    );
    ask(&mut app, AppCommand::Undo);
    assert_eq!(app.world().resource::<Chosen>().thing, None);
    assert_eq!(app.world().resource::<Standing>().walk, 3);
    ask(
        &mut app,
        AppCommand::Delete(Thing::Finish("oak floor".into())),
    );
    assert!(
        app.world()
            .resource::<Notice>()
            .text
            .contains("used by hall")
    );
    ask(
        &mut app,
        AppCommand::Rename(Thing::Fixture(0), "Spot 1".into()),
    );
    assert_eq!(room(&app).fixtures[0].name, "Spot 1");
}

#[test]
fn dropped_files_are_rooms_or_kinds_of_fixture_or_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let mut app = desk_app(folder.path());
    let lamp = folder.path().join("narrow.ies");
    fs::write(&lamp, "IESNA").unwrap();
    ask(&mut app, AppCommand::TakeFile(lamp));
    let kind = &room(&app).fixture_types["narrow"];
    assert_eq!(
        kind.light,
        crate::room::FixtureLight::File("narrow.ies".into())
    );
    ask(&mut app, AppCommand::TakeFile(PathBuf::from("photo.jpg")));
    assert!(app.world().resource::<Notice>().wrong);
    ask(
        &mut app,
        AppCommand::TakeFile(folder.path().join("hall.ron")),
    );
    assert!(
        app.world().resource::<Asking>().unsaved.is_some(),
        "asks before it opens"
    );
}

#[test]
fn recovered_work_is_taken_up_unsaved() {
    let folder = tempfile::tempdir().unwrap();
    let home = Home::in_folder(folder.path());
    let mut app = desk_app(folder.path());
    let mut lost = room(&app);
    lost.placement.centre_m = 2.9;
    let path = folder.path().join("hall.ron");
    let mut dead = Recovery::start(&home).unwrap();
    dead.keep(&lost, Some(&path), folder.path()).unwrap();
    std::mem::forget(dead);
    // The lock of a program that was killed goes with it; here it is taken away.
    for entry in fs::read_dir(&home.recovery).unwrap() {
        let file = entry.unwrap().path();
        if file.extension().is_some_and(|e| e == "lock") {
            fs::remove_file(file).unwrap();
        }
    }
    let recovered = Recovery::left_behind(&home);
    assert_eq!(recovered.len(), 1);
    app.world_mut().resource_mut::<Asking>().recovered = recovered;
    ask(&mut app, AppCommand::TakeUp(Some(0)));
    assert_eq!(room(&app).placement.centre_m, 2.9);
    assert!(is_unsaved(&app));
    assert!(Recovery::left_behind(&home).is_empty(), "taken up once");
    ask(&mut app, AppCommand::Save);
    assert_eq!(read_room(&path).unwrap().placement.centre_m, 2.9);
}
