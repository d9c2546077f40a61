//! What the window may be asked to do, and the one place that does it.

mod advice;
mod files;
mod present;
#[cfg(test)]
mod tests;
mod things;

use things::Names;

pub use advice::sheets_folder;
pub(super) use files::look_after_files;

use std::path::PathBuf;

use bevy::{ecs::system::SystemParam, prelude::*};

use super::{
    adviser::{AdviceKind, Adviser},
    document::{EditKey, OpenRoom},
    edits::Addable,
    engine::{Clock, Engine},
    files::{Dialogs, Home, Recovery, Settings, Watched},
    pick::Found,
    presenter::Handout,
    standing::Standing,
    state::{
        Advice, Advised, Asking, Charted, Chosen, Desk, Folded, Moment, Notice, Pins, Presenting,
        Showing, Then, Thing, ViewKind,
    },
    typed::LengthUnit,
    window::Waker,
};
use crate::room::RoomFile;

/// A wish of the user.
#[derive(Message, Clone, Debug)]
pub enum AppCommand {
    /// Show advice in place of the details, or the details again.
    ShowAdvice(Option<AdviceKind>),
    /// Search for advice.
    Advise(AdviceKind),
    /// Stop the search.
    StopAdvice,
    /// Show something advised in the picture, or no longer.
    TryOut(Option<Advised>),
    /// Take something advised.
    TakeAdvice(Advised),
    /// Write the sheets of what is advised beside the room.
    WriteSheets(AdviceKind),
    /// Make something to hand over, beside the room.
    Present(Handout),
    /// Stop making it.
    StopPresenting,
    /// Take a changed room.
    Edit {
        /// Revision that the change was made from: a change of an earlier room is ignored, for it would take back
        /// what came between. Whoever still holds a slider or a grip asks again in the next frame.
        from: u64,
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
    /// Choose all tiles, or none.
    ChooseAllTiles(bool),
    /// Add a thing.
    Add(Addable),
    /// Double a thing.
    Duplicate(Thing),
    /// Delete a thing.
    Delete(Thing),
    /// Give a thing another name.
    Rename(Thing, String),
    /// Let the next click in the picture aim a fixture (index), or no longer.
    AimByClick(Option<usize>),
    /// Another moment.
    SetClock(Clock),
    /// Play the day or stop.
    Play(bool),
    /// How fast the day plays [min of the day in a second].
    PlaySpeed(f32),
    /// Stand on a walk [m from its start].
    Stand {
        /// Index of the walk.
        walk: usize,
        /// Distance [m].
        distance_m: f32,
    },
    /// Walk along the walk at its pace, or stop.
    Stroll(bool),
    /// Another way of looking.
    Look(ViewKind),
    /// Luminances as colours.
    FalseColour(bool),
    /// The sun's path.
    SunPath(bool),
    /// Brighter or darker picture [stops].
    Brighter(f32),
    /// Keep the eye's adaptation as it is, or let it follow.
    HoldEye(bool),
    /// What the chart shows.
    Chart(Charted),
    /// The chart as a difference to the plan beside.
    Difference(bool),
    /// Read the light of a spot at every moment.
    Pin(Box<Found>),
    /// Take a pin (number) out.
    Unpin(u32),
    /// Hold the plan as it is now beside the one that is edited.
    Hold,
    /// Let a held plan (index) go.
    LetGo(usize),
    /// Show a held plan (index) beside, or none.
    ShowBeside(Option<usize>),
    /// Go back to a held plan (index): it becomes the edited one, undoable.
    GoBackTo(usize),
    /// Give a held plan (index) another name.
    RenameHeld(usize, String),
    /// Stop computing, or go on.
    Stop(bool),
    /// Fold parts of the window away.
    Fold(Folded),
    /// Unit of lengths.
    Unit(LengthUnit),
    /// Size of letters and panels.
    Scale(f32),
    /// Explain the keys, or no longer.
    Keys(bool),
    /// Ask for a room with the desktop's dialog.
    OpenByDialog,
    /// Open a room.
    Open(PathBuf),
    /// Begin with a template (index).
    Begin(usize),
    /// Save where it was opened.
    Save,
    /// Ask where to save with the desktop's dialog.
    SaveByDialog,
    /// Save under a typed path, unless that would replace another file.
    SaveThere(PathBuf),
    /// Answer to the question whether to replace another file.
    Replace(bool),
    /// Answer to the question about unsaved changes: save first, let them go, or stay.
    Unsaved(Unsaved),
    /// Take up recovered work (index), or let all of it go.
    TakeUp(Option<usize>),
    /// Ask about recovered work at the next start.
    RecoverLater,
    /// Read the file again that was changed outside, or keep what is here.
    ReadAgain(bool),
    /// A file dropped on the window: a room, or a photometric file as a kind of fixture.
    TakeFile(PathBuf),
    /// End the program.
    Quit,
}

/// Answer to the question about unsaved changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsaved {
    /// Save them, then go on.
    Save,
    /// Go on without them.
    LetGo,
    /// Do nothing.
    Stay,
}

/// What files need besides the room.
#[derive(Resource, Default)]
pub(super) struct Keeper {
    /// Folders of the user; none where there is no home.
    pub home: Option<Home>,
    /// Where work is written down.
    pub recovery: Option<Recovery>,
    /// Revision that was last written down.
    pub kept_revision: u64,
    /// Counts the rooms that were shown.
    pub rooms: u64,
    /// The open file as it was read or written.
    pub watched: Option<Watched>,
    /// Native dialogs.
    pub dialogs: Dialogs,
}

/// Everything that commands may touch.
#[derive(SystemParam)]
pub(super) struct Hands<'w> {
    pub open: ResMut<'w, OpenRoom>,
    pub desk: ResMut<'w, Desk>,
    pub chosen: ResMut<'w, Chosen>,
    pub moment: ResMut<'w, Moment>,
    pub standing: ResMut<'w, Standing>,
    pub showing: ResMut<'w, Showing>,
    pub settings: ResMut<'w, Settings>,
    pub notice: ResMut<'w, Notice>,
    pub asking: ResMut<'w, Asking>,
    pub advice: ResMut<'w, Advice>,
    pub presenting: ResMut<'w, Presenting>,
    pub pins: ResMut<'w, Pins>,
    pub keeper: ResMut<'w, Keeper>,
    pub waker: Res<'w, Waker>,
    pub time: Res<'w, Time<Real>>,
    pub exit: MessageWriter<'w, AppExit>,
}

/// Carries out all commands of the frame.
pub(super) fn apply_commands(mut commands: MessageReader<AppCommand>, mut hands: Hands) {
    for command in commands.read() {
        hands.carry_out(command.clone());
    }
}

impl Hands<'_> {
    pub(super) fn tell(&mut self, text: impl Into<String>) {
        self.say(text.into(), false);
    }

    pub(super) fn warn(&mut self, text: impl Into<String>) {
        self.say(text.into(), true);
    }

    fn say(&mut self, text: String, wrong: bool) {
        *self.notice = Notice {
            text,
            until_s: self.time.elapsed_secs_f64() + if wrong { 12.0 } else { 4.0 },
            wrong,
        };
    }

    fn carry_out(&mut self, command: AppCommand) {
        match command {
            AppCommand::Edit {
                from,
                room,
                what,
                key,
            } => {
                if from == self.open.revision() {
                    self.go_on();
                    self.open.change(*room, what, key);
                }
            }
            AppCommand::Undo => {
                let before = self.names();
                match self.open.undo() {
                    Some(what) => self.after_step(&before, format!("Undone: {what}")),
                    None => self.tell("Nothing to undo"),
                }
            }
            AppCommand::Redo => {
                let before = self.names();
                match self.open.redo() {
                    Some(what) => self.after_step(&before, format!("Done again: {what}")),
                    None => self.tell("Nothing to do again"),
                }
            }
            AppCommand::ShowAdvice(kind) => {
                self.advice.shown = kind;
                self.advice.try_out(self.open.file(), None);
                self.showing.folded.details &= kind.is_none();
            }
            AppCommand::Advise(kind) => self.advise(kind),
            AppCommand::StopAdvice => {
                if let Some(running) = &self.advice.running {
                    running.stop();
                }
            }
            AppCommand::TryOut(advised) => self.advice.try_out(self.open.file(), advised),
            AppCommand::TakeAdvice(advised) => self.take_advice(advised),
            AppCommand::WriteSheets(kind) => self.write_sheets(kind),
            AppCommand::Present(kind) => self.present(kind),
            AppCommand::StopPresenting => {
                if let Some(running) = &self.presenting.running {
                    running.stop();
                }
            }
            AppCommand::Choose(thing) => {
                if thing.is_some() {
                    self.advice.shown = None;
                }
                self.chosen.thing = thing;
                self.chosen.tiles.clear();
                self.showing.aiming = None;
            }
            AppCommand::ChooseTile { tile, add } => {
                self.chosen.thing = Some(Thing::Piece);
                if !add {
                    self.chosen.tiles.clear();
                }
                if !self.chosen.tiles.insert(tile) {
                    self.chosen.tiles.remove(&tile);
                }
            }
            AppCommand::ChooseAllTiles(all) => {
                self.chosen.thing = Some(Thing::Piece);
                self.chosen.tiles.clear();
                if let Some((_, built)) = self.desk.live().built.as_ref().filter(|_| all) {
                    let ids = built.tiling.tiles.iter().map(|t| t.id);
                    self.chosen.tiles.extend(ids);
                }
            }
            AppCommand::Add(what) => self.add(what),
            AppCommand::Duplicate(thing) => self.duplicate(&thing),
            AppCommand::Delete(thing) => self.delete(&thing),
            AppCommand::Rename(thing, name) => self.rename(&thing, &name),
            AppCommand::AimByClick(fixture) => self.showing.aiming = fixture,
            AppCommand::SetClock(clock) => self.set_clock(clock),
            AppCommand::Play(playing) => self.moment.playing = playing,
            AppCommand::PlaySpeed(speed) => self.moment.speed_min_s = speed.clamp(1.0, 240.0),
            AppCommand::Stand { walk, distance_m } => {
                self.standing.walk = walk;
                self.standing.distance_m = distance_m;
                self.standing.free = None;
                self.standing.strolling = false;
            }
            AppCommand::Stroll(on) => {
                self.standing.strolling = on;
                if on {
                    self.standing.free = None;
                }
            }
            AppCommand::Look(view) => self.showing.view = view,
            AppCommand::FalseColour(on) => self.showing.false_colour = on,
            AppCommand::SunPath(on) => self.showing.sun_path = on,
            AppCommand::Brighter(stops) => {
                self.showing.exposure.settings.shift_stops = stops.clamp(-6.0, 6.0);
            }
            AppCommand::HoldEye(held) => self.showing.exposure.settings.held = held,
            AppCommand::Chart(charted) => {
                self.settings.charted = charted;
                self.keep_settings();
            }
            AppCommand::Difference(on) => self.showing.difference = on,
            AppCommand::Pin(found) => self.pin(&found),
            AppCommand::Unpin(number) => self.pins.list.retain(|p| p.number != number),
            AppCommand::Hold => self.hold(),
            AppCommand::LetGo(index) => {
                self.desk.let_go(index);
                self.showing.difference &= self.desk.held().is_some();
            }
            AppCommand::ShowBeside(index) => {
                self.desk.beside = index.filter(|i| (1..self.desk.plans.len()).contains(i));
                self.showing.difference &= self.desk.held().is_some();
            }
            AppCommand::GoBackTo(index) => self.go_back_to(index),
            AppCommand::RenameHeld(index, name) => {
                if let Some(plan) = self.desk.plans.get_mut(index)
                    && !name.trim().is_empty()
                {
                    plan.name = name;
                }
            }
            AppCommand::Stop(stopped) => {
                self.desk.stopped = stopped;
                for plan in &self.desk.plans {
                    plan.engine.pause(stopped);
                }
            }
            AppCommand::Fold(folded) => self.showing.folded = folded,
            AppCommand::Unit(unit) => {
                self.settings.unit = unit;
                self.keep_settings();
            }
            AppCommand::Scale(scale) => {
                self.settings.scale = scale.clamp(1.0, 2.5);
                self.keep_settings();
            }
            AppCommand::Keys(shown) => self.asking.keys = shown,
            AppCommand::OpenByDialog => self.open_by_dialog(),
            AppCommand::Open(path) => self.unless_unsaved(Then::Open(path)),
            AppCommand::Begin(template) => self.unless_unsaved(Then::Begin(template)),
            AppCommand::Save => self.save(),
            AppCommand::SaveByDialog => self.save_by_dialog(),
            AppCommand::SaveThere(path) => self.save_there(path),
            AppCommand::Replace(yes) => self.replace(yes),
            AppCommand::Unsaved(answer) => self.answer_unsaved(answer),
            AppCommand::TakeUp(index) => self.take_up(index),
            AppCommand::RecoverLater => self.asking.recovered.clear(),
            AppCommand::ReadAgain(again) => self.read_again(again),
            AppCommand::TakeFile(path) => self.take_file(path),
            AppCommand::Quit => self.unless_unsaved(Then::Quit),
        }
    }

    fn set_clock(&mut self, clock: Clock) {
        self.moment.clock = clock;
    }

    /// A change asks for new light: what was stopped goes on.
    fn go_on(&mut self) {
        if self.desk.stopped {
            // Every plan goes on.
            self.carry_out(AppCommand::Stop(false));
        }
    }

    /// After undo and redo the chosen thing may be gone or have another index.
    fn after_step(&mut self, before: &Names, text: String) {
        self.go_on();
        self.find_again(before);
        self.tell(text);
    }

    fn engine(&self) -> Engine {
        let engine = Engine::start(self.waker.0.clone());
        engine.pause(self.desk.stopped);
        engine
    }
}
