//! Where the piece hangs best: all places at a glance, the better half by a glimpse, the better of those by a look, the best by a full study.

mod front;
mod places;
mod words;

use std::sync::{Arc, OnceLock};

use rayon::prelude::*;

use super::{
    AdviceError, Fineness, Hours, Judgement, Lamps, Parts, judge,
    parts::{terms, worth},
};
use crate::{
    room::{BuiltRoom, Placement, RoomFile, Support, Weights},
    study::StudyRequest,
    transport::{Progress, RoomLight, RoomLightSettings, SolveError},
};
use front::{ties, undominated};
pub use places::{places, same_place};
pub(crate) use words::dose_words;

/// How a ranking is made.
#[derive(Clone, Debug, PartialEq)]
pub struct RankSettings {
    /// Most places judged at all.
    pub most: usize,
    /// Places judged by a look.
    pub looked_at: usize,
    /// Places judged in full.
    pub finalists: usize,
    /// The last pass that is made.
    pub last: Pass,
    /// Whether the room's fixtures are lit; without them daylight alone decides.
    pub with_fixtures: bool,
    /// What counts how much.
    pub weights: Weights,
    /// Seed of all random points.
    pub seed: u32,
}

impl RankSettings {
    /// Settings of a room.
    pub fn for_room(room: &RoomFile) -> Self {
        Self {
            most: 240,
            looked_at: 30,
            finalists: 6,
            last: Pass::Full,
            with_fixtures: true,
            weights: room.advice.weights,
            seed: 1,
        }
    }
}

impl RankSettings {
    /// Most places that a pass judges.
    fn most_in(&self, pass: Pass) -> usize {
        match pass {
            Pass::Glance => usize::MAX,
            Pass::Glimpse => self.most.div_ceil(2).max(self.looked_at),
            Pass::Look => self.looked_at,
            Pass::Full => self.finalists,
        }
    }
}

/// How well a place is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pass {
    /// At a glance.
    Glance,
    /// By a glimpse.
    Glimpse,
    /// By a look.
    Look,
    /// In full.
    Full,
}

/// One place of a ranking.
#[derive(Clone, Debug)]
pub struct Ranked {
    /// Where.
    pub placement: Placement,
    /// Whether the piece hangs there now.
    pub present: bool,
    /// What it came to.
    pub judgement: Judgement,
    /// How well it is known.
    pub pass: Pass,
    /// Weighted sum of its parts; for the order only.
    pub worth: f32,
    /// Standard error of the sum by sampling.
    pub worth_error: f32,
    /// Place in the order, from 1; those equal within error share it.
    pub rank: usize,
    /// Whether no other place is better in one part and as good in all others, within error.
    pub undominated: bool,
    /// One sentence for it.
    pub pro: String,
    /// One sentence against it.
    pub con: String,
}

/// A ranking, best first; those known better come before those known less.
#[derive(Clone, Debug)]
pub struct Ranking {
    /// Places.
    pub places: Vec<Ranked>,
    /// Skies and days that were judged.
    pub groups: Vec<(String, jiff::civil::Date)>,
    /// What counted how much.
    pub weights: Weights,
    /// Places that were judged at all.
    pub judged: usize,
    /// Findings, in words.
    pub notes: Vec<String>,
}

/// Places judged between two reports of the order.
const CHUNK: usize = 24;
/// Independent seeds of the full pass.
const REPEATS: u32 = 2;

/// Judges all places that the room offers. `on_pass` is told the order after each pass, so that a person can read on.
///
/// # Errors
/// No place fits; a date that cannot be used; cancellation.
pub fn rank(
    room: &Arc<BuiltRoom>,
    request: &StudyRequest,
    settings: &RankSettings,
    progress: &Progress,
    on_pass: &mut dyn FnMut(&Ranking),
) -> Result<Ranking, AdviceError> {
    let (placements, notes) = places(room, settings.most)?;
    let passes = || PASSES.into_iter().filter(|pass| *pass <= settings.last);
    progress.announce(
        passes()
            .map(|pass| {
                let count = settings.most_in(pass).min(placements.len()) as u64;
                effort(pass) * count * u64::from(repeats(pass))
            })
            .sum(),
    );
    let search = Search::new(room, settings)?;
    let mut course = Course::new(&search, placements, notes, settings)?;
    for pass in passes() {
        course.narrow(pass, settings);
        let fineness = fineness(pass, 0);
        let hours = Hours::solve(
            &search.room,
            &search.light,
            request,
            (fineness.step_min, fineness.most_groups),
            &Progress::default(),
        )?;
        course.ranking.groups.clone_from(&hours.groups);
        course.judge(&search, (pass, settings), &hours, progress, on_pass)?;
    }
    Ok(course.ranking)
}

/// The passes, in order.
const PASSES: [Pass; 4] = [Pass::Glance, Pass::Glimpse, Pass::Look, Pass::Full];

/// Independent seeds of a pass.
fn repeats(pass: Pass) -> u32 {
    match pass {
        Pass::Full => REPEATS,
        _ => 1,
    }
}

/// A ranking in the making.
struct Course {
    candidates: Vec<Candidate>,
    known: Vec<Ranked>,
    ranking: Ranking,
}

impl Course {
    /// Builds the room of every place; those where it cannot hang are noted.
    fn new(
        search: &Search,
        placements: Vec<Placement>,
        mut notes: Vec<String>,
        settings: &RankSettings,
    ) -> Result<Self, AdviceError> {
        let built: Vec<_> = placements
            .into_par_iter()
            .map(|placement| {
                let mut file = search.room.file.clone();
                file.placement = placement.clone();
                (search.room.changed(file), placement)
            })
            .collect();
        let mut candidates = Vec::new();
        for (built, placement) in built {
            match built {
                Ok(room) => candidates.push(Candidate {
                    index: candidates.len(),
                    placement,
                    room,
                    lamps: OnceLock::new(),
                }),
                Err(error) => notes.push(format!("{}: {error}", placement.name)),
            }
        }
        if candidates.is_empty() {
            return Err(AdviceError::NoChoice {
                what: "the piece fits on no wall of this room: free a wall, or allow more with advice.hang".into(),
            });
        }
        if search.room.piece.neighbours.is_empty() {
            notes.push("no two tiles touch: there is no pattern to judge".into());
        }
        Ok(Self {
            ranking: Ranking {
                places: Vec::new(),
                groups: Vec::new(),
                weights: settings.weights,
                judged: candidates.len(),
                notes,
            },
            candidates,
            known: Vec::new(),
        })
    }

    /// Keeps what a pass looks at.
    fn narrow(&mut self, pass: Pass, settings: &RankSettings) {
        let most = settings.most_in(pass);
        if most < self.candidates.len() {
            let apart_m = match pass {
                Pass::Full => 0.5 * self.candidates[0].room.tiling.width_m,
                _ => 0.0,
            };
            let keep = best_of(
                &self.known,
                &self.candidates,
                (most, apart_m),
                &settings.weights,
            );
            self.candidates.retain(|c| keep.contains(&c.index));
        }
        if pass == Pass::Glimpse {
            // Lamps of the first pass are coarse.
            for candidate in &mut self.candidates {
                candidate.lamps = OnceLock::new();
            }
        }
    }

    /// Judges all candidates in a pass, and tells the order now and then.
    fn judge(
        &mut self,
        search: &Search,
        (pass, settings): (Pass, &RankSettings),
        hours: &Hours,
        progress: &Progress,
        on_pass: &mut dyn FnMut(&Ranking),
    ) -> Result<(), AdviceError> {
        let chunk = match pass {
            // Errors are pooled over all of it.
            Pass::Full => usize::MAX,
            _ => CHUNK,
        };
        for chunk in spread(&self.candidates).chunks(chunk) {
            let judged: Result<Vec<(usize, Judgement)>, SolveError> = chunk
                .par_iter()
                .map(|c| {
                    Ok((
                        c.index,
                        search.judge(c, pass, repeats(pass), hours, progress)?,
                    ))
                })
                .collect();
            for (index, judgement) in pooled(judged?, pass) {
                let Some(candidate) = chunk.iter().find(|c| c.index == index) else {
                    continue;
                };
                let ranked = search.ranked(candidate, judgement, pass, settings);
                let same = |k: &&mut Ranked| same_place(&k.placement, &ranked.placement);
                match self.known.iter_mut().find(same) {
                    Some(old) => *old = ranked,
                    None => self.known.push(ranked),
                }
            }
            self.ranking.places.clone_from(&self.known);
            order(&mut self.ranking, &search.room);
            on_pass(&self.ranking);
        }
        Ok(())
    }
}

/// Standard error below which no part is believed in a pass (own choice): one seed tells none, and two do not tell what the grid of
/// stations and hours leaves out.
fn error_floor(pass: Pass) -> f32 {
    match pass {
        Pass::Glance => 0.05,
        Pass::Glimpse => 0.03,
        Pass::Look => 0.015,
        Pass::Full => 0.003,
    }
}

/// What judging a place once takes in a pass, as steps of progress.
fn effort(pass: Pass) -> u64 {
    match pass {
        Pass::Glance => 2,
        Pass::Glimpse => 3,
        Pass::Look => 16,
        Pass::Full => 75,
    }
}

/// The room with the piece at another place; where it hung becomes one of its candidates, a candidate taken is one no longer.
pub fn taken(file: &RoomFile, place: &Placement) -> RoomFile {
    let mut file = file.clone();
    if same_place(&file.placement, place) {
        return file;
    }
    let mut before = std::mem::replace(&mut file.placement, place.clone());
    file.candidates.retain(|c| !same_place(c, place));
    if before.name.is_empty() {
        before.name = super::placement_words(&file, &before);
    }
    if !file.candidates.iter().any(|c| same_place(c, &before)) {
        file.candidates.push(before);
    }
    file
}

fn fineness(pass: Pass, repeat: u32) -> Fineness {
    match pass {
        Pass::Glance => Fineness::glance(repeat),
        Pass::Glimpse => Fineness::glimpse(repeat),
        Pass::Look => Fineness::look(repeat),
        Pass::Full => Fineness::full(repeat),
    }
}

/// The candidates in an order in which the first few already stand for all of them.
fn spread(candidates: &[Candidate]) -> Vec<&Candidate> {
    let count = candidates.len();
    let mut taken = vec![false; count];
    let mut order = Vec::with_capacity(count);
    for k in 0.. {
        if order.len() == count {
            break;
        }
        let mut at = ((f64::from(k) * 0.618_033_988_75).fract() * count as f64) as usize % count;
        while taken[at] {
            at = (at + 1) % count;
        }
        taken[at] = true;
        order.push(&candidates[at]);
    }
    order
}

/// A place with its room built.
struct Candidate {
    index: usize,
    placement: Placement,
    room: BuiltRoom,
    /// Solved when first asked for.
    lamps: OnceLock<Lamps>,
}

/// What all candidates share.
struct Search {
    room: Arc<BuiltRoom>,
    light: Arc<RoomLight>,
    seed: u32,
}

impl Search {
    fn new(room: &Arc<BuiltRoom>, settings: &RankSettings) -> Result<Self, AdviceError> {
        let room = if settings.with_fixtures {
            Arc::clone(room)
        } else {
            let mut file = room.file.clone();
            file.fixtures.clear();
            Arc::new(room.changed(file)?)
        };
        let light_settings = RoomLightSettings {
            seed: settings.seed,
            ..RoomLightSettings::default()
        };
        let light = Arc::new(RoomLight::prepare(
            room.scene.clone(),
            light_settings,
            &Progress::default(),
        )?);
        Ok(Self {
            room,
            light,
            seed: settings.seed,
        })
    }

    /// Judges one candidate with as many seeds as asked; its errors are of the mean.
    fn judge(
        &self,
        candidate: &Candidate,
        pass: Pass,
        repeats: u32,
        hours: &Hours,
        progress: &Progress,
    ) -> Result<Judgement, SolveError> {
        let lamps = match candidate.lamps.get() {
            Some(lamps) => lamps,
            None => {
                let lamps = self.lamps(&candidate.room, pass)?;
                candidate.lamps.get_or_init(|| lamps)
            }
        };
        let mut judgements = Vec::new();
        for repeat in 0..repeats {
            for _ in 0..effort(pass) {
                progress.step()?;
            }
            let fineness = fineness(pass, self.seed.wrapping_mul(1000).wrapping_add(repeat));
            // Only cancelling is heard; the steps are counted by places.
            judgements.push(judge(
                &candidate.room,
                lamps,
                hours,
                &fineness,
                &Progress::default(),
            )?);
        }
        Ok(mean(judgements))
    }

    /// Fixtures that aim at the piece follow it; all others keep the light they gave before.
    fn lamps(&self, room: &BuiltRoom, pass: Pass) -> Result<Lamps, SolveError> {
        let scene = &room.scene;
        let settled = if pass == Pass::Glance { 1e-2 } else { 1e-6 };
        let same = scene
            .fixtures
            .iter()
            .zip(&self.room.scene.fixtures)
            .all(|(a, b)| a.shines_like(b));
        if same {
            return Lamps::solve_until(room, Arc::clone(&self.light), settled);
        }
        let mut settings = *self.light.settings();
        if pass == Pass::Glance {
            settings.points_per_patch = 2;
        }
        let light = RoomLight::prepare_from(
            Some(&self.light),
            scene.clone(),
            settings,
            &Progress::default(),
        )?;
        Lamps::solve_until(room, Arc::new(light), settled)
    }

    fn ranked(
        &self,
        candidate: &Candidate,
        judgement: Judgement,
        pass: Pass,
        settings: &RankSettings,
    ) -> Ranked {
        let (worth, worth_error) = worth_and_error(&judgement, &settings.weights);
        Ranked {
            present: same_place(&candidate.placement, &self.room.file.placement),
            placement: candidate.placement.clone(),
            judgement,
            pass,
            worth,
            worth_error,
            rank: 0,
            undominated: false,
            pro: String::new(),
            con: String::new(),
        }
    }
}

/// The sum and its error, parts taken as independent.
fn worth_and_error(judgement: &Judgement, weights: &Weights) -> (f32, f32) {
    let sum = worth(&judgement.parts, weights);
    let base = terms(&judgement.parts, weights);
    let values = judgement.parts.values();
    let error = judgement.error.values();
    let variance: f32 = (0..values.len())
        .map(|i| {
            let mut moved = values;
            moved[i] += error[i];
            let change = terms(&Parts::from_values(moved), weights)[i] - base[i];
            change * change
        })
        .sum();
    (sum, variance.sqrt())
}

/// The mean of independent judgements of one place; what is told in words is the first's.
fn mean(mut judgements: Vec<Judgement>) -> Judgement {
    let count = judgements.len() as f32;
    let values: Vec<[f32; 5]> = judgements.iter().map(|j| j.parts.values()).collect();
    let mean: [f32; 5] = std::array::from_fn(|i| values.iter().map(|v| v[i]).sum::<f32>() / count);
    let error: [f32; 5] = std::array::from_fn(|i| {
        let sum: f32 = values.iter().map(|v| (v[i] - mean[i]).powi(2)).sum();
        (sum / (count * (count - 1.0)).max(1.0)).sqrt()
    });
    let dose_lx_h = judgements.iter().map(|j| j.dose_lx_h).sum::<f32>() / count;
    let worst_glare = judgements
        .iter()
        .filter_map(|j| j.worst_glare.clone())
        .reduce(|a, b| if b.severity > a.severity { b } else { a });
    let mut first = judgements.swap_remove(0);
    first.dose_lx_h = dose_lx_h;
    first.worst_glare = worst_glare;
    first.parts = Parts::from_values(mean);
    first.error = Parts::from_values(error);
    first
}

/// Errors from two seeds are themselves uncertain: each place gets the root mean square over all of its pass.
fn pooled(mut judged: Vec<(usize, Judgement)>, pass: Pass) -> Vec<(usize, Judgement)> {
    let count = judged.len().max(1) as f32;
    let pooled: [f32; 5] = std::array::from_fn(|i| {
        let sum: f32 = judged
            .iter()
            .map(|(_, j)| j.error.values()[i].powi(2))
            .sum();
        (sum / count).sqrt().max(error_floor(pass))
    });
    for (_, judgement) in &mut judged {
        judgement.error = Parts::from_values(pooled);
    }
    judged
}

/// Indices of the candidates worth a closer look: the present place, the best in each part, and the best by sum. With
/// `apart_m` above 0, of places that are less than that apart on one wall only the best is taken.
fn best_of(
    known: &[Ranked],
    candidates: &[Candidate],
    (most, apart_m): (usize, f32),
    weights: &Weights,
) -> Vec<usize> {
    let index_of = |ranked: &Ranked| {
        candidates
            .iter()
            .find(|c| same_place(&c.placement, &ranked.placement))
            .map(|c| c.index)
    };
    let mut order: Vec<(&Ranked, usize)> = known
        .iter()
        .filter_map(|k| Some((k, index_of(k)?)))
        .collect();
    order.sort_by(|a, b| b.0.worth.total_cmp(&a.0.worth));
    let mut keep: Vec<(&Ranked, usize)> = order.iter().copied().filter(|k| k.0.present).collect();
    let term = |k: &Ranked, part: usize| terms(&k.judgement.parts, weights)[part];
    // First of equals: the best by sum.
    let extremes = (0..5).filter_map(|part| {
        order.iter().copied().reduce(|a, b| {
            if term(b.0, part) > term(a.0, part) {
                b
            } else {
                a
            }
        })
    });
    let best = order.first().copied();
    for choice in best
        .into_iter()
        .chain(extremes)
        .chain(order.iter().copied())
    {
        let near = |k: &(&Ranked, usize)| {
            // The present place is there for comparison: it keeps no better one out.
            k.1 == choice.1
                || (apart_m > 0.0
                    && !k.0.present
                    && nearly_one(&k.0.placement, &choice.0.placement, apart_m))
        };
        if keep.len() < most && !keep.iter().any(near) {
            keep.push(choice);
        }
    }
    keep.into_iter().map(|k| k.1).collect()
}

/// Whether two placements are on one wall, alike turned, and less than `apart_m` apart.
fn nearly_one(a: &Placement, b: &Placement, apart_m: f32) -> bool {
    let (Support::Wall { along_m: x, .. }, Support::Wall { along_m: y, .. }) = (&a.on, &b.on)
    else {
        return same_place(a, b);
    };
    let mut moved = b.clone();
    moved.on = a.on.clone();
    moved.centre_m = a.centre_m;
    let one_wall = match (&a.on, &b.on) {
        (
            Support::Wall {
                space: s, wall: w, ..
            },
            Support::Wall {
                space: t, wall: v, ..
            },
        ) => s == t && w == v,
        _ => false,
    };
    one_wall
        && same_place(a, &moved)
        && (x - y).abs() < apart_m
        && (a.centre_m - b.centre_m).abs() < 0.6
}

/// The same places in the order of other weights.
pub fn reordered(ranking: &Ranking, weights: Weights, room: &BuiltRoom) -> Ranking {
    let mut ranking = ranking.clone();
    ranking.weights = weights;
    for place in &mut ranking.places {
        (place.worth, place.worth_error) = worth_and_error(&place.judgement, &weights);
    }
    order(&mut ranking, room);
    ranking
}

/// Sorts, finds ties and the front, and writes the sentences.
fn order(ranking: &mut Ranking, room: &BuiltRoom) {
    ranking.places.sort_by(|a, b| {
        b.pass
            .cmp(&a.pass)
            .then(b.worth.total_cmp(&a.worth))
            .then(a.placement.name.cmp(&b.placement.name))
    });
    ties(&mut ranking.places);
    undominated(&mut ranking.places);
    words::sentences(&mut ranking.places, room);
}
