//! How the grain of every tile lies: arrows chosen for the light that is there.
//!
//! ```text
//! room + arrows --view once per arrow--> table (arrow x instant x station x tile) --exchange--> arrows --engine--> before and after
//! ```
//! Tiles do not light one another, so the luminance of a tile depends on its own arrow only: one view per arrow serves every
//! combination of them.

mod exchange;
mod table;

use std::{collections::BTreeMap, sync::Arc};

use super::{
    AdviceError, Fineness, Hours, Judgement, Lamps, judge,
    judge::{main_walk, most_delicate},
};
use crate::{
    measure::reads::Reads,
    room::{BuiltRoom, GrainChoices, GrainWish, RoomFile, TileChange, Turns},
    study::StudyRequest,
    transport::{Progress, RoomLight, RoomLightSettings},
};
pub use exchange::{ArrowTable, Exchange, exchange};

/// Minutes between the instants of the table.
const STEP_MIN: u32 = 240;
/// Minutes between the instants that the answer is judged at.
const JUDGED_STEP_MIN: u32 = 90;
/// Most (sky, day) of the table.
const MOST_GROUPS: usize = 4;
/// Most stations of the table, and most readings (stations x instants) that are asked for. Narrow lobes change within half a metre:
/// few stations would be served at the cost of those between.
const MOST_STATIONS: usize = 48;
const MOST_READINGS: usize = 640;
/// Most cells of a table: about half a gigabyte.
const MOST_CELLS: usize = 120_000_000;

/// How arrows are searched.
#[derive(Clone, Debug, PartialEq)]
pub struct GrainSettings {
    /// Which tiles may turn, and what for.
    pub choices: GrainChoices,
    /// Seed of all random points.
    pub seed: u32,
}

impl GrainSettings {
    /// Settings of a room.
    pub fn for_room(room: &RoomFile) -> Self {
        Self {
            choices: room.advice.grain.clone(),
            seed: 1,
        }
    }
}

/// One tile that turns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turned {
    /// Number of the tile.
    pub tile: u32,
    /// Arrow before, in the piece's own plane, counter-clockwise from its right as made [deg].
    pub from_deg: f32,
    /// Arrow after [deg].
    pub to_deg: f32,
}

/// What a set of arrows comes to.
#[derive(Clone, Debug)]
pub struct GrainVerdict {
    /// All parts, over all walks.
    pub judgement: Judgement,
    /// Share of the readings of the walk that counts, within its hours, at which the pattern is strong.
    pub strong_share: f32,
    /// Mean ratio of the brighter to the darker tile over the pairs that must not flip, and the share of them that flip along the walk;
    /// `None` where steadiness is not asked for.
    pub pairs: Option<(f32, f32)>,
}

/// What is advised.
#[derive(Clone, Debug)]
pub struct GrainPlan {
    /// The room with the arrows advised.
    pub file: RoomFile,
    /// Tiles that turn, by number.
    pub turned: Vec<Turned>,
    /// The room as it is.
    pub before: GrainVerdict,
    /// As advised.
    pub after: GrainVerdict,
    /// Name of the walk that counted.
    pub walk: String,
    /// Arrows that each tile could have.
    pub arrows: usize,
    /// Findings, in words.
    pub notes: Vec<String>,
}

/// Searches for the arrows of a room as it is hung and lit.
///
/// # Errors
/// No tile may turn, a tile or walk is unknown, the piece is too large, or cancellation.
pub fn grain(
    room: &Arc<BuiltRoom>,
    request: &StudyRequest,
    settings: &GrainSettings,
    progress: &Progress,
) -> Result<GrainPlan, AdviceError> {
    let choices = &settings.choices;
    let groups = groups(room, choices)?;
    let walk = walk_index(room, choices)?;
    let light = Arc::new(RoomLight::prepare(
        room.scene.clone(),
        RoomLightSettings {
            seed: settings.seed,
            ..RoomLightSettings::default()
        },
        progress,
    )?);
    let lamps = Lamps::solve(room, Arc::clone(&light))?;
    let hours = Hours::solve(room, &light, request, (STEP_MIN, MOST_GROUPS), progress)?;
    let instants = hours.entries.iter().filter(|h| h.judged).count();
    let stations = if room.scene.panes.is_empty() {
        MOST_STATIONS
    } else {
        (MOST_READINGS / instants.max(1)).clamp(12, MOST_STATIONS)
    };
    let only = Arc::new(one_walk(room, walk, stations));
    let arrows = arrows(choices);
    let table = table::table(&only, &lamps, &hours, &arrows, settings.seed, progress)?;
    let pairs = pairs(room, choices)?;
    let found = exchange(&Exchange {
        table: &table,
        groups: &groups,
        wish: choices.wish,
        pairs: &pairs,
        seed: settings.seed,
    });
    let mut turned = Vec::new();
    for (t, choice) in found.iter().enumerate() {
        let from_deg = room.tiling.tiles[t]
            .grain_rad
            .to_degrees()
            .rem_euclid(360.0);
        let to_deg = match (choice, &arrows) {
            (0, _) => continue,
            (_, Arrows::Flip) => (from_deg + 180.0).rem_euclid(360.0),
            (k, Arrows::Angles(angles)) => angles[k - 1],
        };
        // A material without ends need not be turned by more than a quarter.
        let material = &room.piece.materials[room.piece.tiles[t].material_index as usize];
        let to_deg = if material.has_ends() {
            to_deg
        } else {
            let by = (to_deg - from_deg + 90.0).rem_euclid(180.0) - 90.0;
            (from_deg + by).rem_euclid(360.0)
        };
        let moved = (to_deg - from_deg + 180.0).rem_euclid(360.0) - 180.0;
        if moved.abs() > 0.05 {
            turned.push(Turned {
                tile: room.tiling.tiles[t].id,
                from_deg,
                to_deg,
            });
        }
    }
    let file = with_arrows(&room.file, &turned);
    // Judged at more hours than it was chosen for.
    let judged_at = Hours::solve(
        room,
        &light,
        request,
        (JUDGED_STEP_MIN, usize::MAX),
        progress,
    )?;
    let verdict = |file: &RoomFile, chosen: &[usize]| -> Result<GrainVerdict, AdviceError> {
        let built = room.changed(file.clone())?;
        let fineness = Fineness {
            most_tiles: usize::MAX,
            ..Fineness::look(settings.seed.wrapping_add(7))
        };
        let judgement = judge(&built, &lamps, &judged_at, &fineness, progress)?;
        let open = judgement
            .walks
            .iter()
            .filter(|v| v.walk == walk)
            .flat_map(|v| &v.cells)
            .filter(|c| c.open);
        let (mut strong, mut all) = (0, 0);
        for cell in open {
            all += 1;
            strong += usize::from(cell.class == Reads::Strong && !cell.dead);
        }
        Ok(GrainVerdict {
            strong_share: strong as f32 / all.max(1) as f32,
            pairs: (choices.wish == GrainWish::Steady).then(|| table.steadiness(chosen, &pairs)),
            judgement,
        })
    };
    let before = verdict(&room.file, &vec![0; found.len()])?;
    let mut after = verdict(&file, &found)?;
    let mut notes = Vec::new();
    // The table has fewer stations and instants than the engine judges at: it has the last word.
    let (mut turned, mut file) = (turned, file);
    if choices.wish == GrainWish::Lively && !turned.is_empty() && good(&after) <= good(&before) {
        turned.clear();
        file = room.file.clone();
        after = before.clone();
    }
    if turned.is_empty() {
        notes.push("no turn of the tiles that may turn is better than what is there".into());
    }
    if most_delicate(room) > crate::material::DoseClass::None {
        notes.push(
            "light bleaches wood in time: contrast between leaves turned one way and the other may outlast or lose what is planned here"
                .into(),
        );
    }
    Ok(GrainPlan {
        file,
        turned,
        before,
        after,
        walk: room.walks[walk].walk.name.clone(),
        arrows: arrows.count(),
        notes,
    })
}

/// One number for an order of two verdicts: strength, life and change against dead and glaring readings.
fn good(verdict: &GrainVerdict) -> f32 {
    let parts = &verdict.judgement.parts;
    verdict.strong_share + parts.alive_share + 0.3 * parts.shift_per_m.min(1.0)
        - parts.dead_share
        - parts.glaring_share
}

/// The arrows that a tile may have beside its present one.
pub(super) enum Arrows {
    /// These, whatever it has now [deg].
    Angles(Vec<f32>),
    /// Its present one turned round.
    Flip,
}

impl Arrows {
    fn count(&self) -> usize {
        match self {
            Self::Angles(angles) => angles.len(),
            Self::Flip => 2,
        }
    }
}

fn arrows(choices: &GrainChoices) -> Arrows {
    match choices.turns {
        Turns::Flips => Arrows::Flip,
        Turns::Steps(step_deg) => {
            let count = (360.0 / step_deg.clamp(1.0, 180.0)).round().max(1.0) as usize;
            Arrows::Angles((0..count).map(|k| k as f32 * step_deg).collect())
        }
    }
}

/// Tiles that turn together, as indices; those that may not turn are in none.
fn groups(room: &BuiltRoom, choices: &GrainChoices) -> Result<Vec<Vec<usize>>, AdviceError> {
    let tiles = &room.tiling.tiles;
    let count = tiles.len();
    let mut free = Vec::new();
    for id in &choices.tiles {
        let index = tiles.iter().position(|t| t.id == *id);
        free.push(index.ok_or_else(|| AdviceError::NoChoice {
            what: format!("there is no tile {id}: the piece has tiles 1 to {count}"),
        })?);
    }
    if choices.tiles.is_empty() {
        free = (0..count).collect();
    }
    // Materials without a direction need no turn.
    free.retain(|t| {
        let material = room.piece.tiles[*t].material_index as usize;
        room.piece.materials[material].has_direction()
    });
    if free.is_empty() {
        return Err(AdviceError::NoChoice {
            what: "no tile that may turn has a grain: matt and evenly polished materials look alike whichever way they lie".into(),
        });
    }
    if !choices.together {
        return Ok(free.into_iter().map(|t| vec![t]).collect());
    }
    let mut by_arrow: BTreeMap<(i32, usize), Vec<usize>> = BTreeMap::new();
    for t in free {
        let degrees = tiles[t].grain_rad.to_degrees().rem_euclid(360.0).round() as i32 % 360;
        by_arrow
            .entry((degrees, tiles[t].material))
            .or_default()
            .push(t);
    }
    Ok(by_arrow.into_values().collect())
}

fn walk_index(room: &BuiltRoom, choices: &GrainChoices) -> Result<usize, AdviceError> {
    let Some(name) = &choices.walk else {
        return Ok(main_walk(room));
    };
    room.walks
        .iter()
        .position(|w| &w.walk.name == name)
        .ok_or_else(|| AdviceError::NoChoice {
            what: format!("no walk is named {name:?}"),
        })
}

/// The room with one walk only, and few stations of it.
fn one_walk(room: &BuiltRoom, walk: usize, most: usize) -> BuiltRoom {
    let mut room = room.clone();
    room.walks = vec![room.walks.swap_remove(walk)];
    room.file.walks = vec![room.file.walks.swap_remove(walk)];
    let stations = room.walks[0].stations.len();
    let fineness = Fineness {
        station_step: stations.div_ceil(most).max(1),
        most_tiles: usize::MAX,
        ..Fineness::look(1)
    };
    super::judge::thinned(&room, &fineness)
}

/// Pairs that must not flip, as indices.
fn pairs(room: &BuiltRoom, choices: &GrainChoices) -> Result<Vec<(u32, u32)>, AdviceError> {
    if choices.pairs.is_empty() {
        return Ok(room.piece.neighbours.clone());
    }
    let index = |id: u32| {
        let found = room.tiling.tiles.iter().position(|t| t.id == id);
        found
            .map(|t| t as u32)
            .ok_or_else(|| AdviceError::NoChoice {
                what: format!("there is no tile {id} to be one of a pair"),
            })
    };
    choices
        .pairs
        .iter()
        .map(|(a, b)| Ok((index(*a)?, index(*b)?)))
        .collect()
}

/// The room file with tiles turned.
pub fn with_arrows(file: &RoomFile, turned: &[Turned]) -> RoomFile {
    let mut file = file.clone();
    for turn in turned {
        let grain_deg = Some((turn.to_deg * 100.0).round() / 100.0);
        match file.tile_changes.iter_mut().find(|c| c.tile == turn.tile) {
            Some(change) => change.grain_deg = grain_deg,
            None => file.tile_changes.push(TileChange {
                tile: turn.tile,
                grain_deg,
                material: None,
            }),
        }
    }
    file.tile_changes.sort_by_key(|c| c.tile);
    file
}
