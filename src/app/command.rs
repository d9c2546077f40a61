//! What the window may be asked to do, and the one place that does it.

use std::{path::PathBuf, sync::Arc};

use bevy::prelude::*;

use super::{
    document::{EditKey, OpenRoom},
    engine::{Clock, Engine},
    standing::Standing,
    state::{Charted, Chosen, Desk, Moment, Notice, Plan, Settings, Showing, Thing, ViewKind},
    window::Waker,
};
use crate::room::{RoomError, RoomFile, read_room, save_atomically, write_room};

/// A wish of the user.
#[derive(Message, Clone, Debug)]
pub enum AppCommand {
    /// Take a changed room.
    Edit {
        /// The room with the change.
        room: Box<RoomFile>,
        /// What it is, in words.
        what: String,
        /// Joins changes of one gesture.
        key: Option<EditKey>,
    },
    /// Take the last step back.
    Undo,
    /// Take it again.
    Redo,
    /// Show the details of a thing.
    Choose(Option<Thing>),
    /// Choose one tile, or add it to those chosen.
    ChooseTile {
        /// Its number.
        tile: u32,
        /// Whether those chosen stay.
        add: bool,
    },
    /// Another moment.
    SetClock(Clock),
    /// Play the day or stop.
    Play(bool),
    /// Stand on a walk [m from its start].
    Stand {
        /// Index of the walk.
        walk: usize,
        /// Distance [m].
        distance_m: f32,
    },
    /// Another way of looking.
    Look(ViewKind),
    /// Luminances as colours.
    FalseColour(bool),
    /// What the chart shows.
    Chart(Charted),
    /// Hold the plan as it is now beside the one that is edited.
    Hold,
    /// Let the held plan go.
    DropHeld,
    /// Open a room.
    Open(PathBuf),
    /// Save where it was opened.
    Save,
    /// Save under a path.
    SaveAs(PathBuf),
}

/// Carries out all commands of the frame.
#[expect(
    clippy::too_many_arguments,
    reason = "a system's arguments are what it touches"
)]
pub(super) fn apply_commands(
    mut commands: MessageReader<AppCommand>,
    mut open: ResMut<OpenRoom>,
    mut desk: ResMut<Desk>,
    mut chosen: ResMut<Chosen>,
    mut moment: ResMut<Moment>,
    mut standing: ResMut<Standing>,
    mut showing: ResMut<Showing>,
    mut settings: ResMut<Settings>,
    mut notice: ResMut<Notice>,
    waker: Res<Waker>,
    time: Res<Time<Real>>,
) {
    let now_s = time.elapsed_secs_f64();
    let mut tell = |text: String, wrong: bool| {
        *notice = Notice {
            text,
            until_s: now_s + if wrong { 12.0 } else { 4.0 },
            wrong,
        };
    };
    for command in commands.read() {
        match command.clone() {
            AppCommand::Edit { room, what, key } => open.change(*room, what, key),
            AppCommand::Undo => match open.undo() {
                Some(what) => tell(format!("Undone: {what}"), false),
                None => tell("Nothing to undo".into(), false),
            },
            AppCommand::Redo => match open.redo() {
                Some(what) => tell(format!("Done again: {what}"), false),
                None => tell("Nothing to do again".into(), false),
            },
            AppCommand::Choose(thing) => {
                chosen.thing = thing;
                chosen.tiles.clear();
            }
            AppCommand::ChooseTile { tile, add } => {
                chosen.thing = Some(Thing::Piece);
                if !add {
                    chosen.tiles.clear();
                }
                if !chosen.tiles.insert(tile) {
                    chosen.tiles.remove(&tile);
                }
            }
            AppCommand::SetClock(clock) => {
                if !clock.same_day(&moment.clock) {
                    for plan in &mut desk.plans {
                        plan.hours.clear();
                    }
                }
                moment.clock = clock;
            }
            AppCommand::Play(playing) => moment.playing = playing,
            AppCommand::Stand { walk, distance_m } => {
                standing.walk = walk;
                standing.distance_m = distance_m;
                standing.free = None;
            }
            AppCommand::Look(view) => showing.view = view,
            AppCommand::FalseColour(on) => showing.false_colour = on,
            AppCommand::Chart(charted) => settings.charted = charted,
            AppCommand::Hold => {
                let mut held = Plan::new(
                    format!("Held at {}", moment.clock.time_words()),
                    Arc::clone(open.file()),
                    open.folder().clone(),
                    open.revision(),
                    Engine::start(waker.0.clone()),
                );
                held.hours = desk.live().hours.clone();
                held.hours_revision = desk.live().hours_revision;
                desk.plans.truncate(1);
                desk.plans.push(held);
                desk.beside = Some(1);
            }
            AppCommand::DropHeld => {
                desk.plans.truncate(1);
                desk.beside = None;
            }
            AppCommand::Open(_) if open.is_unsaved() => tell(
                "There are changes that are not saved: save them or undo them first".into(),
                true,
            ),
            AppCommand::Open(path) => match read_room(&path) {
                Ok(room) => {
                    let folder = path.parent().map(PathBuf::from).unwrap_or_default();
                    let mut next = OpenRoom::new(room, Some(path), folder);
                    next.follow(&open);
                    *open = next;
                    desk.plans.truncate(1);
                    desk.beside = None;
                    desk.live_mut().built = None;
                    desk.live_mut().hours.clear();
                    *chosen = Chosen::default();
                    *standing = Standing::default();
                    tell(format!("Opened {}", open.title()), false);
                }
                Err(error) => tell(first_problem(&error), true),
            },
            AppCommand::Save => match open.path().cloned() {
                Some(path) => tell_saved(save(&mut open, path), &mut tell),
                None => tell("Type a path to save under first".into(), true),
            },
            AppCommand::SaveAs(path) => tell_saved(save(&mut open, path), &mut tell),
        }
    }
}

fn tell_saved(result: Result<String, String>, tell: &mut impl FnMut(String, bool)) {
    match result {
        Ok(text) => tell(text, false),
        Err(why) => tell(why, true),
    }
}

/// What keeps a room from being opened, in one sentence: the first problem with its place.
fn first_problem(error: &RoomError) -> String {
    let cause = std::error::Error::source(error).map_or(String::new(), |s| format!(": {s}"));
    match error.listing().first() {
        Some((line, column, message, help)) => {
            format!("{error}; line {line}, column {column}: {message} ({help})")
        }
        None => format!("{error}{cause}"),
    }
}

fn save(open: &mut OpenRoom, path: PathBuf) -> Result<String, String> {
    let text = write_room(open.file()).map_err(|e| e.to_string())?;
    save_atomically(&path, text.as_bytes())
        .map_err(|e| format!("{}; nothing was lost", first_problem(&e)))?;
    let written = Arc::clone(open.file());
    open.saved_as(path, written);
    Ok(format!("Saved {}", open.title()))
}
