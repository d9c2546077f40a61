//! The search: fixtures are added one by one, exchanged, moved by centimetres, and dimmed.

use std::sync::Arc;

use glam::{Vec2, Vec3};
use rayon::prelude::*;

use super::{
    dim::dimming,
    mark::{Lit, Mark, Wishes, mark, most_lx},
    sketch::{Base, Column, Kind, Sketch, Spot},
};
use crate::{
    room::LampPlace,
    transport::{Progress, SolveError},
};

/// Gain below which a fixture is not worth adding.
const LEAST_GAIN: f32 = 0.01;
/// Rounds of exchange.
const ROUNDS: usize = 2;
/// Choices tried in full for each exchange, the best by themselves.
const MOST_TRIED: usize = 900;
/// Fixtures are at least so far apart [m] (own choice: two heads side by side).
const APART_M: f32 = 0.15;
/// Goals for the illuminance of the piece that are tried [lx].
const GOALS_LX: [f32; 9] = [20.0, 35.0, 50.0, 80.0, 120.0, 160.0, 240.0, 400.0, 700.0];

/// One fixture that may be chosen.
#[derive(Clone)]
pub(super) struct Choice {
    /// Index of its kind.
    pub kind: usize,
    pub spot: Arc<Spot>,
    /// Right and up from the piece's middle [m]; unused where the fixture keeps its aim.
    pub aim: Vec2,
    /// Direction that it keeps, unit.
    pub kept_aim: Option<Vec3>,
    pub roll_rad: f32,
}

/// What may be done with a member.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Slot {
    /// It is new: anything.
    New,
    /// A fixture of the room (index) that may be aimed and dimmed.
    Aim(usize),
    /// A fixture of the room (index) that may be dimmed.
    Dim(usize),
}

/// A chosen fixture.
#[derive(Clone)]
pub(super) struct Member {
    pub slot: Slot,
    pub choice: Choice,
    pub column: Column,
    pub output: f32,
    /// Whether its hours include each planned instant.
    pub on: Vec<bool>,
}

/// What the search works on.
pub(super) struct Search<'a> {
    pub sketch: &'a Sketch,
    pub kinds: &'a [Kind],
    pub wishes: &'a Wishes,
    pub places: &'a [LampPlace],
    /// What may be bought.
    pub options: Vec<Choice>,
    /// Points that may be aimed at.
    pub aims: Vec<Vec2>,
    pub most_new: usize,
    /// Whether the hours of new fixtures include each planned instant.
    pub new_on: Vec<bool>,
    pub progress: &'a Progress,
    /// Illuminance of the tiles at the darkest instant, new lamps [lx].
    base_lx: Vec<f32>,
    /// The largest below the limit at any instant [lx]; far below nothing where it is always above, and dimming cannot help.
    cap_base_lx: Vec<f32>,
    areas_m2: Vec<f32>,
    pub(super) goal_lx: f32,
    steepness: i32,
}

/// How steeply a pattern counts on the way to strong: first gently, so that the search finds the way; then as the classes do.
const STEEPNESS: [i32; 2] = [4, 14];

impl<'a> Search<'a> {
    pub fn new(
        (sketch, kinds, wishes): (&'a Sketch, &'a [Kind], &'a Wishes),
        places: &'a [LampPlace],
        options: Vec<Choice>,
        aims: Vec<Vec2>,
        (most_new, new_on, any_on): (usize, Vec<bool>, &[bool]),
        progress: &'a Progress,
    ) -> Self {
        let mean = |lx: &[f32]| lx.iter().sum::<f32>() / lx.len().max(1) as f32;
        // Only instants at which something that may be chosen is lit: at the others nothing can be done.
        let lit = || {
            let all = sketch.bases.iter().zip(any_on);
            let lit = all.clone().filter(|(_, on)| **on).map(|(b, _)| b);
            lit.collect::<Vec<&Base>>()
        };
        let darkest = lit()
            .into_iter()
            .min_by(|a, b| mean(&a.tile_lx).total_cmp(&mean(&b.tile_lx)));
        let count = sketch.tiles.len();
        let base_lx = darkest.map_or_else(|| vec![0.0; count], |b| b.tile_lx.clone());
        let cap_base_lx = (0..count)
            .map(|t| {
                lit()
                    .into_iter()
                    .map(|b| b.tile_lx[t])
                    .filter(|lx| *lx < wishes.most_lx)
                    .fold(f32::NEG_INFINITY, f32::max)
            })
            .collect();
        Self {
            areas_m2: sketch.tiles.iter().map(|t| t.area_m2).collect(),
            goal_lx: (0.75 * wishes.most_lx).min(120.0),
            sketch,
            kinds,
            wishes,
            places,
            options,
            aims,
            most_new,
            new_on,
            progress,
            steepness: STEEPNESS[0],
            base_lx,
            cap_base_lx,
        }
    }

    /// What a choice gives.
    pub fn column(&self, choice: &Choice) -> Column {
        let kind = &self.kinds[choice.kind];
        let at = choice.spot.place.at;
        let target = choice
            .kept_aim
            .map_or_else(|| self.sketch.aim_point(choice.aim), |dir| at + dir);
        let fixture = self.sketch.fixture(kind, at, target, choice.roll_rad);
        self.sketch.column(kind, &choice.spot, &fixture)
    }

    pub(super) fn lit<'m>(
        &self,
        column: &'m Column,
        choice: &Choice,
        (slot, on): (Slot, &'m [bool]),
        output: f32,
    ) -> Lit<'m> {
        Lit {
            column,
            output,
            watts: self.kinds[choice.kind].watts,
            cost: if slot == Slot::New {
                self.kinds[choice.kind].cost
            } else {
                0.0
            },
            on,
        }
    }

    /// The mark of members at their outputs.
    pub fn mark(&self, members: &[Member]) -> Mark {
        let set: Vec<Lit> = members
            .iter()
            .map(|m| self.lit(&m.column, &m.choice, (m.slot, &m.on), m.output))
            .collect();
        mark(self.sketch, self.wishes, self.steepness, &set)
    }

    /// Outputs that light the piece evenly to the goal, none of its tiles above the limit.
    fn even_outputs(&self, columns: &[&Column], goal_lx: f32) -> Vec<f32> {
        let lists: Vec<&[f32]> = columns.iter().map(|c| c.new_lx.as_slice()).collect();
        let goal = vec![goal_lx; self.base_lx.len()];
        let mut outputs = dimming(&lists, &self.base_lx, &goal, &self.areas_m2);
        self.cap(columns, &mut outputs);
        outputs
    }

    /// Dims all alike until no tile is above the limit that is not above it by itself.
    pub(super) fn cap(&self, columns: &[&Column], outputs: &mut [f32]) {
        let share = (0..self.cap_base_lx.len())
            .filter(|t| self.cap_base_lx[*t].is_finite())
            .map(|t| {
                let lamps: f32 = columns
                    .iter()
                    .zip(outputs.iter())
                    .map(|(c, x)| c.new_lx[t] * x)
                    .sum();
                let room = self.wishes.most_lx - self.cap_base_lx[t];
                if lamps > room { room / lamps } else { 1.0 }
            })
            .fold(1.0, f32::min);
        outputs.iter_mut().for_each(|x| *x *= share);
    }

    /// Holds members to the limit as their columns are now.
    pub fn limit(&self, members: &mut [Member]) {
        let mut outputs: Vec<f32> = members.iter().map(|m| m.output).collect();
        let columns: Vec<&Column> = members.iter().map(|m| &m.column).collect();
        self.cap(&columns, &mut outputs);
        for (m, x) in members.iter_mut().zip(outputs) {
            m.output = x;
        }
    }

    /// Whether no tile is above the limit that is not above it by itself; a hundredth over is none.
    pub fn keeps_limit(&self, members: &[Member]) -> bool {
        let set: Vec<Lit> = members
            .iter()
            .map(|m| self.lit(&m.column, &m.choice, (m.slot, &m.on), m.output))
            .collect();
        most_lx(&self.cap_base_lx, &set) <= 1.01 * self.wishes.most_lx
    }

    pub(super) fn cap_base_lx(&self) -> &[f32] {
        &self.cap_base_lx
    }

    pub(super) fn areas_m2(&self) -> &[f32] {
        &self.areas_m2
    }

    /// Whether a fixture could be put there beside the members and what is not touched.
    pub(super) fn is_unoccupied(&self, at: Vec3, others: impl Iterator<Item = Vec3>) -> bool {
        let fixtures = &self.sketch.light.scene().fixtures;
        others
            .chain(fixtures.iter().map(|f| f.position))
            .all(|other| other.distance(at) >= APART_M)
    }

    /// The mark of members with one more or one other column, outputs anew.
    fn try_with(
        &self,
        members: &[Member],
        replaced: Option<usize>,
        choice: &Choice,
        column: &Column,
        slot: Slot,
    ) -> (f32, Vec<f32>) {
        let mut columns: Vec<&Column> = Vec::new();
        let mut set: Vec<(&Choice, (Slot, &[bool]))> = Vec::new();
        for (i, m) in members.iter().enumerate() {
            if replaced == Some(i) {
                columns.push(column);
                set.push((choice, (slot, &m.on)));
            } else {
                columns.push(&m.column);
                set.push((&m.choice, (m.slot, &m.on)));
            }
        }
        if replaced.is_none() {
            columns.push(column);
            set.push((choice, (slot, &self.new_on)));
        }
        let outputs = self.even_outputs(&columns, self.goal_lx);
        let lit: Vec<Lit> = columns
            .iter()
            .zip(&set)
            .zip(&outputs)
            .map(|((c, (choice, slot)), x)| self.lit(c, choice, *slot, *x))
            .collect();
        (
            mark(self.sketch, self.wishes, self.steepness, &lit).total,
            outputs,
        )
    }

    /// The best of some choices in a place of the members, with its column and all outputs; `None` where none is better
    /// than `least`.
    fn best(
        &self,
        members: &[Member],
        replaced: Option<usize>,
        slot: Slot,
        choices: &[Choice],
        least: f32,
    ) -> Result<Option<Found>, SolveError> {
        let tried: Result<Vec<(f32, usize)>, SolveError> = choices
            .par_iter()
            .enumerate()
            .map(|(i, choice)| {
                self.progress.step()?;
                let column = self.column(choice);
                Ok((self.try_with(members, replaced, choice, &column, slot).0, i))
            })
            .collect();
        // The first of equals, so that threads do not matter.
        let best = tried?
            .into_iter()
            .reduce(|a, b| if b.0 > a.0 { b } else { a });
        Ok(best.filter(|(total, _)| *total > least).map(|(_, i)| {
            let column = self.column(&choices[i]);
            let (_, outputs) = self.try_with(members, replaced, &choices[i], &column, slot);
            Found {
                choice: choices[i].clone(),
                column,
                outputs,
            }
        }))
    }

    /// All choices of a member that keeps its place.
    fn aims_of(&self, choice: &Choice) -> Vec<Choice> {
        self.aims
            .iter()
            .map(|aim| Choice {
                aim: *aim,
                kept_aim: None,
                ..choice.clone()
            })
            .collect()
    }

    /// Runs from what is there already and, where it may be replaced, from nothing; the better of both.
    pub fn run(&mut self, members: Vec<Member>) -> Result<Vec<Member>, SolveError> {
        let goal_lx = self.goal_lx;
        let options = self.options.clone();
        let kept = self.run_from(members.clone())?;
        let replaceable = members.iter().any(|m| matches!(m.slot, Slot::Aim(_)));
        if options.is_empty() || !replaceable {
            return Ok(kept);
        }
        let kept_goal = std::mem::replace(&mut self.goal_lx, goal_lx);
        self.options = options;
        let (off, left): (Vec<Member>, Vec<Member>) = members
            .into_iter()
            .partition(|m| matches!(m.slot, Slot::Aim(_)));
        let mut fresh = self.run_from(left)?;
        fresh.extend(off.into_iter().map(|m| Member { output: 0.0, ..m }));
        if self.mark(&fresh).total > self.mark(&kept).total {
            Ok(fresh)
        } else {
            self.goal_lx = kept_goal;
            Ok(kept)
        }
    }

    /// Switches off, one by one, what hardly adds.
    pub fn switch_off(&self, members: &mut [Member]) {
        for i in 0..members.len() {
            if members[i].output <= 0.0 {
                continue;
            }
            let now = self.mark(members).total;
            let output = std::mem::take(&mut members[i].output);
            if self.mark(members).total < now - 2e-3 {
                members[i].output = output;
            }
        }
    }

    fn run_from(&mut self, mut members: Vec<Member>) -> Result<Vec<Member>, SolveError> {
        self.progress.announce(
            (self.options.len()
                + (self.most_new * (1 + ROUNDS)) * self.options.len().min(MOST_TRIED))
                as u64,
        );
        self.set_outputs(&mut members);
        self.steepness = STEEPNESS[0];
        for round in 0..ROUNDS {
            let mut changed = self.aim_existing(&mut members)?;
            if round == 0 {
                self.screen()?;
                self.add_new(&mut members)?;
                changed = true;
            } else {
                changed |= self.exchange(&mut members)?;
            }
            changed |= self.drop_idle(&mut members);
            self.set_goal(&mut members);
            if !changed {
                break;
            }
        }
        self.steepness = STEEPNESS[1];
        self.set_goal(&mut members);
        self.refine(&mut members)?;
        self.set_goal(&mut members);
        self.descend(&mut members);
        self.switch_off(&mut members);
        Ok(members)
    }

    fn set_outputs(&self, members: &mut [Member]) {
        let columns: Vec<&Column> = members.iter().map(|m| &m.column).collect();
        let outputs = self.even_outputs(&columns, self.goal_lx);
        for (m, x) in members.iter_mut().zip(outputs) {
            m.output = x;
        }
    }

    /// Sets the outputs of other members to the goal that was found best.
    pub fn even(&self, members: &mut [Member]) {
        self.set_outputs(members);
    }

    /// Aims of fixtures that keep their place.
    fn aim_existing(&self, members: &mut [Member]) -> Result<bool, SolveError> {
        let mut changed = false;
        for i in 0..members.len() {
            if !matches!(members[i].slot, Slot::Aim(_)) {
                continue;
            }
            let now = self.mark(members).total;
            let choices = self.aims_of(&members[i].choice);
            let slot = members[i].slot;
            if let Some(found) = self.best(members, Some(i), slot, &choices, now + 1e-4)? {
                put(members, i, found);
                changed = true;
            }
        }
        Ok(changed)
    }

    /// Keeps the options that are best by themselves.
    fn screen(&mut self) -> Result<(), SolveError> {
        if self.options.len() <= MOST_TRIED {
            return Ok(());
        }
        let tried: Result<Vec<f32>, SolveError> = self
            .options
            .par_iter()
            .map(|choice| {
                self.progress.step()?;
                let column = self.column(choice);
                Ok(self.try_with(&[], None, choice, &column, Slot::New).0)
            })
            .collect();
        let tried = tried?;
        let mut order: Vec<usize> = (0..tried.len()).collect();
        order.sort_by(|a, b| tried[*b].total_cmp(&tried[*a]).then(a.cmp(b)));
        order.truncate(MOST_TRIED);
        order.sort_unstable();
        self.options = order.into_iter().map(|i| self.options[i].clone()).collect();
        Ok(())
    }

    fn add_new(&self, members: &mut Vec<Member>) -> Result<(), SolveError> {
        for _ in 0..self.most_new {
            let now = self.mark(members).total;
            let found = self.best(members, None, Slot::New, &self.options, now + LEAST_GAIN)?;
            let Some(found) = found else {
                break;
            };
            let last = members.len();
            members.push(Member {
                slot: Slot::New,
                choice: found.choice.clone(),
                column: found.column.clone(),
                output: 0.0,
                on: self.new_on.clone(),
            });
            put(members, last, found);
        }
        Ok(())
    }

    fn exchange(&self, members: &mut [Member]) -> Result<bool, SolveError> {
        let mut changed = false;
        for i in 0..members.len() {
            if members[i].slot != Slot::New {
                continue;
            }
            let now = self.mark(members).total;
            if let Some(found) =
                self.best(members, Some(i), Slot::New, &self.options, now + 1e-3)?
            {
                put(members, i, found);
                changed = true;
            }
        }
        Ok(changed)
    }

    /// New fixtures that the others can do without.
    fn drop_idle(&self, members: &mut Vec<Member>) -> bool {
        let mut changed = false;
        let mut i = 0;
        while i < members.len() {
            if members[i].slot == Slot::New {
                let mut without = members.clone();
                without.remove(i);
                self.set_outputs(&mut without);
                if self.mark(&without).total >= self.mark(members).total - 1e-4 {
                    *members = without;
                    changed = true;
                    continue;
                }
            }
            i += 1;
        }
        changed
    }

    /// The illuminance that serves best.
    fn set_goal(&mut self, members: &mut [Member]) {
        let mut best = (self.mark(members).total, None);
        for goal in GOALS_LX {
            let goal = goal.min(0.98 * self.wishes.most_lx);
            let mut tried = members.to_vec();
            let columns: Vec<&Column> = members.iter().map(|m| &m.column).collect();
            let outputs = self.even_outputs(&columns, goal);
            for (m, x) in tried.iter_mut().zip(&outputs) {
                m.output = *x;
            }
            let total = self.mark(&tried).total;
            if total > best.0 + 1e-5 {
                best = (total, Some((goal, outputs)));
            }
        }
        if let Some((goal, outputs)) = best.1 {
            self.goal_lx = goal;
            for (m, x) in members.iter_mut().zip(outputs) {
                m.output = x;
            }
        }
    }
}

/// What a search for one member found.
struct Found {
    choice: Choice,
    column: Column,
    outputs: Vec<f32>,
}

/// Puts what was found in place of a member and sets all outputs.
fn put(members: &mut [Member], index: usize, found: Found) {
    members[index].choice = found.choice;
    members[index].column = found.column;
    for (m, x) in members.iter_mut().zip(found.outputs) {
        m.output = x;
    }
}
