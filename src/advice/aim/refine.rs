//! The last steps of the search: places and aims by centimetres, outputs by percents.

use std::sync::Arc;

use glam::{Vec2, Vec3};

use super::{
    mark::{Lit, most_lx},
    search::{Choice, Member, Search, Slot},
    sketch::Column,
    spots::{Freedom, Place, is_free},
};
use crate::{geometry::polygon_contains, room::LampPlace, transport::SolveError};

impl Search<'_> {
    /// Places and aims by ever smaller steps, down to a centimetre.
    pub(super) fn refine(&self, members: &mut [Member]) -> Result<(), SolveError> {
        let room = &self.sketch.room;
        let half = 0.5 * room.size_turned(room.file.placement.turn_deg);
        let mut step_m = 0.16;
        while step_m > 0.004 {
            let mut moved = false;
            for i in 0..members.len() {
                if matches!(members[i].slot, Slot::Dim(_)) {
                    continue;
                }
                self.progress.step()?;
                let mut now = self.mark(members).total;
                let others: Vec<Vec3> = members
                    .iter()
                    .enumerate()
                    .filter(|(k, _)| *k != i)
                    .map(|(_, m)| m.choice.spot.place.at)
                    .collect();
                for next in self.steps_from(&members[i], &others, step_m, half) {
                    let column = self.column(&next);
                    let mut tried = members.to_vec();
                    tried[i].choice = next;
                    tried[i].column = column;
                    let columns: Vec<&Column> = tried.iter().map(|m| &m.column).collect();
                    let mut outputs: Vec<f32> = tried.iter().map(|m| m.output).collect();
                    self.fit(&columns, &mut outputs);
                    for (m, x) in tried.iter_mut().zip(outputs) {
                        m.output = x;
                    }
                    let total = self.mark(&tried).total;
                    if total > now + 1e-6 {
                        now = total;
                        members.clone_from_slice(&tried);
                        moved = true;
                    }
                }
            }
            if !moved {
                step_m *= 0.5;
            }
        }
        Ok(())
    }

    /// Turns all outputs up together as far as the limit and full output allow where they were held by it, else down to it.
    fn fit(&self, columns: &[&Column], outputs: &mut [f32]) {
        let set: Vec<Lit> = columns
            .iter()
            .zip(outputs.iter())
            .map(|(column, output)| Lit {
                column,
                output: *output,
                watts: 0.0,
                cost: 0.0,
                on: &[],
            })
            .collect();
        let most = most_lx(self.cap_base_lx(), &set);
        let goal = self.goal_lx.max(1.0);
        let mean: f32 = {
            let area: f32 = self.areas_m2().iter().sum();
            let sum: f32 = (0..self.sketch.tiles.len())
                .map(|t| {
                    self.areas_m2()[t]
                        * set
                            .iter()
                            .map(|l| l.output * l.column.new_lx[t])
                            .sum::<f32>()
                })
                .sum();
            sum / area.max(1e-9)
        };
        // Held at the goal, as a person would dim after moving a lamp.
        let top = outputs.iter().copied().fold(0.0, f32::max).max(1e-6);
        let wanted = (goal / mean.max(1e-6)).min(1.0 / top);
        if wanted < 1.0 || most < self.wishes.most_lx {
            outputs.iter_mut().for_each(|x| *x *= wanted);
        }
        self.cap(columns, outputs);
    }

    /// A member's neighbours at a step.
    fn steps_from(&self, member: &Member, others: &[Vec3], step_m: f32, half: Vec2) -> Vec<Choice> {
        let choice = &member.choice;
        let mut next = Vec::new();
        let place = &choice.spot.place;
        let mut shifts: Vec<Vec3> = Vec::new();
        if member.slot == Slot::New {
            match place.freedom {
                Freedom::Along(from, to) => {
                    let dir = (to - from).normalize_or_zero() * step_m;
                    for shift in [dir, -dir] {
                        let share = (place.at + shift - from).dot(to - from)
                            / (to - from).length_squared().max(1e-9);
                        shifts.push(from.lerp(to, share.clamp(0.0, 1.0)));
                    }
                }
                Freedom::Level(zone) => {
                    for shift in [Vec3::X, Vec3::NEG_X, Vec3::Z, Vec3::NEG_Z] {
                        let at = place.at + shift * step_m;
                        if let Some(LampPlace::Zone { outline_m, .. }) = self.places.get(zone) {
                            let outline: Vec<Vec2> =
                                outline_m.iter().map(|p| Vec2::from(*p)).collect();
                            if polygon_contains(&outline, Vec2::new(at.x, -at.z)) {
                                shifts.push(at);
                            }
                        }
                    }
                }
                Freedom::None => {}
            }
        }
        for at in shifts {
            let moved = at.distance(place.at) > 1e-4;
            let free = || self.is_unoccupied(at, others.iter().copied());
            if moved && is_free(&self.sketch.room, at) && free() {
                let spot = self.sketch.spot(Place {
                    at,
                    ..place.clone()
                });
                next.push(Choice {
                    spot: Arc::new(spot),
                    ..choice.clone()
                });
            }
        }
        if choice.kept_aim.is_none() {
            for shift in [Vec2::X, Vec2::NEG_X, Vec2::Y, Vec2::NEG_Y] {
                let aim = (choice.aim + shift * step_m).clamp(-half, half);
                if aim != choice.aim {
                    next.push(Choice {
                        aim,
                        ..choice.clone()
                    });
                }
            }
        }
        next
    }

    /// Outputs one by one, up and down, as long as it helps.
    pub fn descend(&self, members: &mut [Member]) {
        let mut factor = 1.6_f32;
        while factor > 1.02 {
            let mut moved = false;
            for i in 0..members.len() {
                // What was switched off stays off.
                if members[i].output <= 0.0 {
                    continue;
                }
                for by in [factor, 1.0 / factor] {
                    let now = self.mark(members).total;
                    let before: Vec<f32> = members.iter().map(|m| m.output).collect();
                    members[i].output = (members[i].output.max(0.01) * by).min(1.0);
                    let set: Vec<Lit> = members
                        .iter()
                        .map(|m| self.lit(&m.column, &m.choice, (m.slot, &m.on), m.output))
                        .collect();
                    let allowed = most_lx(self.cap_base_lx(), &set) <= self.wishes.most_lx;
                    if allowed && self.mark(members).total > now + 1e-5 {
                        moved = true;
                    } else {
                        for (m, x) in members.iter_mut().zip(before) {
                            m.output = x;
                        }
                    }
                }
            }
            if !moved {
                factor = factor.sqrt();
            }
        }
    }
}
