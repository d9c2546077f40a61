//! One plan judged over visitors' time.

use std::{
    collections::{BTreeMap, btree_map::Entry},
    sync::Arc,
};

use super::{
    hours::{Fineness, Hour, Hours},
    parts::Parts,
};
use crate::{
    material::DoseClass,
    measure::{conservation::LightClass, reads::Reads},
    room::{BuiltRoom, BuiltWalk},
    study::{
        Cause, FlagKind, Instant, InstantReadings, Prepared, StationReading, flag_words,
        place_words,
    },
    transport::{LightState, PieceLight, Progress, RoomLight, SolveError, Strengths},
};

/// Relative change by a bounce at which the lamps' light is at rest.
const SETTLED: f64 = 1e-6;
/// Days of a mean year.
const DAYS_PER_YEAR: f32 = 365.25;
/// Brightness below which a piece has neither play nor shift [cd/m2].
const LIT_CD_M2: f32 = 0.05;

/// What one station at one instant came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Verdict {
    /// Class of the pattern.
    pub class: Reads,
    /// Whether it is dead.
    pub dead: bool,
    /// Whether something glares.
    pub glaring: bool,
    /// Spread between tiles.
    pub play: f32,
    /// Whether the walk is open then.
    pub open: bool,
}

/// Verdicts of one walk under one sky on one day.
#[derive(Clone, Debug)]
pub struct WalkVerdicts {
    /// Index of the walk.
    pub walk: usize,
    /// Index of (sky, day) in [`Judgement::groups`].
    pub group: usize,
    /// Distances of its stations [m].
    pub distance_m: Vec<f32>,
    /// Clock times of its instants [min after midnight].
    pub clock_min: Vec<u32>,
    /// Instant-major.
    pub cells: Vec<Verdict>,
}

/// The worst thing that glares.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstGlare {
    /// Value over its limit.
    pub severity: f32,
    /// What, where and when, in words.
    pub words: String,
}

/// A plan as judged.
#[derive(Clone, Debug)]
pub struct Judgement {
    /// The parts.
    pub parts: Parts,
    /// Standard error of each part by sampling.
    pub error: Parts,
    /// Year's light on the brightest tile, new lamps [lx h].
    pub dose_lx_h: f32,
    /// Its limit [lx h].
    pub dose_limit_lx_h: Option<f32>,
    /// The worst that glares within opening hours.
    pub worst_glare: Option<WorstGlare>,
    /// Causes of dead and glaring readings by share of visitors' time, largest first.
    pub causes: Vec<(Cause, f32)>,
    /// Skies and days that were judged.
    pub groups: Vec<(String, jiff::civil::Date)>,
    /// Most alive stretch of the walk with most visitors, in words.
    pub best_place: Option<String>,
    /// Hours at which the piece throws the sun out of the building or across stairs, as (clock, where to).
    pub thrown: Vec<(usize, u32, String)>,
    /// All verdicts, for small charts.
    pub walks: Vec<WalkVerdicts>,
}

/// Every so manyth station of all walks and the last, and as many tiles as may stand for the piece.
pub(super) fn thinned(room: &BuiltRoom, fineness: &Fineness) -> BuiltRoom {
    let mut room = room.clone();
    for walk in &mut room.walks {
        let last = walk.stations.len().saturating_sub(1);
        // Short walks keep three stations.
        let step = fineness.station_step.min((last / 2).max(1));
        let mut index = 0;
        walk.stations.retain(|_| {
            let keep = index % step == 0 || index == last;
            index += 1;
            keep
        });
    }
    if room.piece.tiles.len() > fineness.most_tiles {
        keep_tiles(&mut room, fineness.most_tiles);
    }
    room
}

/// Leaves tiles spread over the piece, each with all its neighbours, until there are `most`.
fn keep_tiles(room: &mut BuiltRoom, most: usize) {
    let piece = &mut room.piece;
    let count = piece.tiles.len();
    let mut neighbours = vec![Vec::new(); count];
    for (a, b) in &piece.neighbours {
        neighbours[*a as usize].push(*b as usize);
        neighbours[*b as usize].push(*a as usize);
    }
    let mut kept = vec![false; count];
    let mut total = 0;
    // A golden-section sequence spreads the seeds over the running numbers.
    for k in 0..count {
        let seed = ((k as f64 * 0.618_033_988_75).fract() * count as f64) as usize;
        for tile in std::iter::once(seed).chain(neighbours[seed].iter().copied()) {
            if !kept[tile] {
                kept[tile] = true;
                total += 1;
            }
        }
        if total >= most {
            break;
        }
    }
    let mut new_index = vec![0_u32; count];
    let mut next = 0;
    for (tile, keep) in kept.iter().enumerate() {
        new_index[tile] = next;
        next += u32::from(*keep);
    }
    let mut index = 0;
    piece.tiles.retain(|_| {
        index += 1;
        kept[index - 1]
    });
    piece.neighbours = piece
        .neighbours
        .iter()
        .filter(|(a, b)| kept[*a as usize] && kept[*b as usize])
        .map(|(a, b)| (new_index[*a as usize], new_index[*b as usize]))
        .collect();
}

/// Visitors' time at each station of a walk, any scale: how many pass, times how long they take.
pub(super) fn station_weights(walk: &BuiltWalk) -> Vec<f32> {
    let stations = &walk.stations;
    let pace = walk.walk.share / walk.walk.speed_m_s.max(0.05);
    let gap = |i: usize| stations[i + 1].distance_m - stations[i].distance_m;
    (0..stations.len())
        .map(|i| {
            let before = if i > 0 { gap(i - 1) } else { 0.0 };
            let after = if i + 1 < stations.len() { gap(i) } else { 0.0 };
            let half = 0.5 * (before + after);
            // A walk of one station is a place to stand.
            pace * if stations.len() == 1 {
                walk.walk.step_m
            } else {
                half
            }
        })
        .collect()
}

/// The year's limit of light for the most delicate tile [lx h]: the room's own, else its class of CIE 157:2004.
pub(super) fn dose_limit_lx_h(room: &BuiltRoom) -> Option<f32> {
    room.limits().exposure_lx_h.or_else(|| {
        let class = most_delicate(room);
        light_class(class)
            .limiting_exposure_lx_h()
            .map(|l| l as f32)
    })
}

/// The class of the tile material that light harms most.
pub(super) fn most_delicate(room: &BuiltRoom) -> DoseClass {
    let used = room.piece.tiles.iter().map(|t| t.material_index as usize);
    used.filter_map(|i| room.materials.get(i).map(|m| m.dose_class))
        .max()
        .unwrap_or(DoseClass::None)
}

/// A material's class as the class that has limits.
pub(crate) fn light_class(class: DoseClass) -> LightClass {
    match class {
        DoseClass::None => LightClass::None,
        DoseClass::Low => LightClass::Low,
        DoseClass::Medium => LightClass::Medium,
        DoseClass::High => LightClass::High,
    }
}

/// Light of a room's fixtures at one set of outputs, in the dark.
fn lamps_alone(
    light: &RoomLight,
    outputs: Vec<f32>,
    settled: f64,
) -> Result<LightState, SolveError> {
    let strengths = Strengths::dark(light.scene(), light.columns()).with_fixtures(outputs);
    light.solve_until(strengths, settled)
}

/// A room's light prepared for one set of fixtures, and what those give alone.
pub struct Lamps {
    light: Arc<RoomLight>,
    /// By outputs.
    alone: BTreeMap<Vec<u32>, Option<LightState>>,
    /// A day's hours at full initial output as strengths; `None` where nothing is ever lit.
    whole_day: Option<LightState>,
}

fn key(outputs: &[f32]) -> Vec<u32> {
    outputs.iter().map(|o| o.to_bits()).collect()
}

impl Lamps {
    /// Solves each set of outputs that some instant of the day asks for.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`].
    pub fn solve(room: &BuiltRoom, light: Arc<RoomLight>) -> Result<Self, SolveError> {
        Self::solve_until(room, light, SETTLED)
    }

    /// The same by fewer bounces, for a first look.
    pub(super) fn solve_until(
        room: &BuiltRoom,
        light: Arc<RoomLight>,
        settled: f64,
    ) -> Result<Self, SolveError> {
        const QUARTERS: u32 = 96;
        let mut alone = BTreeMap::new();
        // Lit hours at full output as a strength: light is linear.
        let mut lit_h = vec![0.0_f32; room.scene.fixtures.len()];
        for quarter in 0..QUARTERS {
            // Its middle: hours end with the minute.
            let outputs = room.fixture_strengths(quarter * 15 + 7);
            for ((sum, output), fixture) in lit_h.iter_mut().zip(&outputs).zip(&room.scene.fixtures)
            {
                *sum += 0.25 * output / fixture.maintenance_factor.max(1e-3);
            }
            if let Entry::Vacant(free) = alone.entry(key(&outputs)) {
                let lit = outputs.iter().any(|o| *o > 0.0);
                free.insert(
                    lit.then(|| lamps_alone(&light, outputs, settled))
                        .transpose()?,
                );
            }
        }
        let ever = lit_h.iter().any(|h| *h > 0.0);
        let whole_day = ever
            .then(|| lamps_alone(&light, lit_h, settled))
            .transpose()?;
        Ok(Self {
            light,
            alone,
            whole_day,
        })
    }

    /// The light they were solved in.
    pub fn light(&self) -> &Arc<RoomLight> {
        &self.light
    }

    /// Daylight of an instant with the fixtures that are lit then.
    pub(super) fn with_daylight(
        &self,
        room: &BuiltRoom,
        hour: &Hour,
    ) -> Result<LightState, SolveError> {
        let outputs = room.fixture_strengths(hour.instant.clock_min);
        let lit = match self.alone.get(&key(&outputs)) {
            Some(known) => known.clone(),
            // Lit between two quarters only.
            None => Some(lamps_alone(&self.light, outputs.clone(), SETTLED)?),
        };
        Ok(match lit {
            Some(lit) => hour.daylight.joined(&lit),
            None => {
                let mut state = hour.daylight.clone();
                state.strengths.fixtures = outputs;
                state
            }
        })
    }
}

/// Judges a room as it is built, in a light prepared for it, at hours solved in the same building.
///
/// # Errors
/// [`SolveError::Cancelled`], [`SolveError::NotFinite`].
pub fn judge(
    room: &BuiltRoom,
    lamps: &Lamps,
    hours: &Hours,
    fineness: &Fineness,
    progress: &Progress,
) -> Result<Judgement, SolveError> {
    let room = Arc::new(thinned(room, fineness));
    let light = &lamps.light;
    let judged: Vec<&Hour> = hours.entries.iter().filter(|h| h.judged).collect();
    let states: Vec<LightState> = judged
        .iter()
        .map(|h| lamps.with_daylight(&room, h))
        .collect::<Result<_, _>>()?;
    let probe_step = states.len().div_ceil(4).max(1);
    let probes: Vec<LightState> = if has_no_daylight(&room) {
        states.first().cloned().into_iter().collect()
    } else if fineness.view.wanted_error < 0.5 {
        states.iter().step_by(probe_step).cloned().collect()
    } else {
        Vec::new()
    };
    let prepared = Prepared::new(
        Arc::clone(&room),
        Arc::clone(light),
        fineness.view,
        &probes,
        progress,
    )?;
    let mut sum = Sum::new(&room, hours);
    // Without daylight, hours with the same fixtures lit are one.
    let has_daylight = !has_no_daylight(&room);
    let mut read: BTreeMap<Vec<u32>, InstantReadings> = BTreeMap::new();
    for (hour, state) in judged.iter().zip(&states) {
        let key = key(&state.strengths.fixtures);
        let readings = match read.get(&key) {
            Some(known) if !has_daylight => known.clone(),
            _ => prepared.read_in(state, &hour.instant)?,
        };
        if !has_daylight {
            read.entry(key).or_insert_with(|| readings.clone());
        }
        for thrown in readings.thrown {
            if thrown.leaves_building || thrown.near_stairs {
                sum.thrown
                    .push((hour.group, hour.instant.clock_min, thrown.toward));
            }
        }
        sum.add(hour.group, &hour.instant, readings.walks);
    }
    let dose_lx_h = year_dose_lx_h(&room, lamps, prepared.lustre().light(), hours);
    Ok(sum.judgement(dose_lx_h))
}

fn has_no_daylight(room: &BuiltRoom) -> bool {
    room.scene.panes.is_empty()
}

/// Year's light on the brightest tile [lx h]: daylight by the mean of the days and skies, from sunrise to sunset, and
/// lamps by the hours that they are lit, at initial output. Reveals are in the room's geometry; blinds stay as they are.
fn year_dose_lx_h(room: &BuiltRoom, lamps: &Lamps, on_piece: &PieceLight, hours: &Hours) -> f32 {
    let mut daily = vec![0.0_f32; room.piece.tiles.len()];
    let share = 1.0 / hours.groups.len().max(1) as f32;
    for hour in hours.entries.iter().filter(|h| h.dose_h > 0.0) {
        let sun = on_piece.sun_on_tiles_lx(&lamps.light, &hour.daylight);
        let lx = on_piece.tile_illuminances_lx(&hour.daylight, &sun);
        for (sum, lx) in daily.iter_mut().zip(lx) {
            *sum += share * hour.dose_h * lx;
        }
    }
    if let Some(state) = &lamps.whole_day {
        let none = vec![0.0; room.piece.tiles.len()];
        let lx_h = on_piece.tile_illuminances_lx(state, &none);
        for (sum, lx_h) in daily.iter_mut().zip(lx_h) {
            *sum += lx_h;
        }
    }
    DAYS_PER_YEAR * daily.into_iter().fold(0.0, f32::max)
}

/// What is added up over all readings.
struct Sum<'a> {
    room: &'a BuiltRoom,
    hours: &'a Hours,
    weights: Vec<Vec<f32>>,
    total: f64,
    alive: f64,
    dead: f64,
    glaring: f64,
    shift: (f64, f64),
    causes: BTreeMap<Cause, f64>,
    worst: Option<(f32, String)>,
    /// Alive weight of each station of the first walk by share.
    alive_at: Vec<f32>,
    main_walk: usize,
    thrown: Vec<(usize, u32, String)>,
    walks: Vec<WalkVerdicts>,
}

/// The walk that most visitors take: the first of those with the largest share.
pub(crate) fn main_walk(room: &BuiltRoom) -> usize {
    let mut best = 0;
    for (i, walk) in room.walks.iter().enumerate() {
        if walk.walk.share > room.walks[best].walk.share {
            best = i;
        }
    }
    best
}

impl<'a> Sum<'a> {
    fn new(room: &'a BuiltRoom, hours: &'a Hours) -> Self {
        let main_walk = main_walk(room);
        Self {
            weights: room.walks.iter().map(station_weights).collect(),
            alive_at: vec![0.0; room.walks.get(main_walk).map_or(0, |w| w.stations.len())],
            main_walk,
            room,
            hours,
            total: 0.0,
            alive: 0.0,
            dead: 0.0,
            glaring: 0.0,
            shift: (0.0, 0.0),
            causes: BTreeMap::new(),
            worst: None,
            thrown: Vec::new(),
            walks: Vec::new(),
        }
    }

    fn add(&mut self, group: usize, instant: &Instant, walks: Vec<Vec<StationReading>>) {
        for (w, readings) in walks.into_iter().enumerate() {
            let walk = &self.room.walks[w];
            let open = walk.is_open(instant.clock_min);
            let mut cells = Vec::with_capacity(readings.len());
            for (s, r) in readings.iter().enumerate() {
                let flagged = |kind| r.flags.iter().any(|f| f.cause.kind() == kind);
                let (dead, glaring) = (flagged(FlagKind::Dead), flagged(FlagKind::Glaring));
                cells.push(Verdict {
                    class: r.pattern.class,
                    dead,
                    glaring,
                    play: r.play,
                    open,
                });
                if !open {
                    continue;
                }
                let weight = f64::from(self.weights[w][s]);
                self.total += weight;
                if r.pattern.class.works() && !r.sun_in_view && !dead {
                    self.alive += weight;
                    if w == self.main_walk {
                        self.alive_at[s] += 1.0;
                    }
                }
                self.dead += if dead { weight } else { 0.0 };
                self.glaring += if glaring { weight } else { 0.0 };
                if let Some(shift) = r.shift_per_m.filter(|_| r.mean_luminance_cd_m2 > LIT_CD_M2) {
                    self.shift.0 += weight * f64::from(shift);
                    self.shift.1 += weight;
                }
                for flag in &r.flags {
                    *self.causes.entry(flag.cause).or_default() += weight;
                }
                let worst = r
                    .flags
                    .iter()
                    .filter(|f| f.cause.kind() == FlagKind::Glaring)
                    .max_by(|a, b| a.severity.total_cmp(&b.severity));
                if let Some(flag) = worst
                    && self.worst.as_ref().is_none_or(|(s, _)| flag.severity > *s)
                {
                    let (sky, day) = &self.hours.groups[group];
                    let words = format!(
                        "{}, {} of {:?}; {day} {:02}:{:02}, {sky} sky",
                        flag_words(self.room, instant, flag).trim_end_matches('.'),
                        place_words(&walk.walk, &walk.stations, (s, s)),
                        walk.walk.name,
                        instant.clock_min / 60,
                        instant.clock_min % 60
                    );
                    self.worst = Some((flag.severity, words));
                }
            }
            let at = self
                .walks
                .iter()
                .position(|v| v.walk == w && v.group == group);
            let index = at.unwrap_or_else(|| {
                self.walks.push(WalkVerdicts {
                    walk: w,
                    group,
                    distance_m: walk.stations.iter().map(|s| s.distance_m).collect(),
                    clock_min: Vec::new(),
                    cells: Vec::new(),
                });
                self.walks.len() - 1
            });
            self.walks[index].clock_min.push(instant.clock_min);
            self.walks[index].cells.extend(cells);
        }
    }

    fn judgement(self, dose_lx_h: f32) -> Judgement {
        let share = |sum: f64| (sum / self.total.max(1e-12)) as f32;
        let dose_limit_lx_h = dose_limit_lx_h(self.room);
        let mut causes: Vec<(Cause, f32)> =
            self.causes.iter().map(|(c, w)| (*c, share(*w))).collect();
        causes.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        Judgement {
            parts: Parts {
                alive_share: share(self.alive),
                shift_per_m: (self.shift.0 / self.shift.1.max(1e-12)) as f32,
                dead_share: share(self.dead),
                glaring_share: share(self.glaring),
                dose_over_limit: dose_limit_lx_h.map_or(0.0, |l| dose_lx_h / l.max(1.0)),
            },
            error: Parts::default(),
            dose_lx_h,
            dose_limit_lx_h,
            worst_glare: self
                .worst
                .clone()
                .map(|(severity, words)| WorstGlare { severity, words }),
            causes,
            groups: self.hours.groups.clone(),
            best_place: self.best_place(),
            thrown: self.thrown,
            walks: self.walks,
        }
    }

    /// The stretch of the main walk that is alive more than half as often as its best station.
    fn best_place(&self) -> Option<String> {
        let walk = self.room.walks.get(self.main_walk)?;
        let most = self.alive_at.iter().copied().fold(0.0, f32::max);
        if most <= 0.0 {
            return None;
        }
        let at = self.alive_at.iter().position(|a| *a == most)?;
        let good = |i: &usize| self.alive_at[*i] > 0.5 * most;
        let from = (0..=at).rev().take_while(good).last()?;
        let to = (at..self.alive_at.len()).take_while(good).last()?;
        Some(place_words(&walk.walk, &walk.stations, (from, to)))
    }
}
