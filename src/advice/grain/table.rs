//! Luminances of every tile with every arrow, from every station at every instant.

use std::sync::Arc;

use super::{Arrows, MOST_CELLS, exchange::ArrowTable};
use crate::{
    advice::{AdviceError, Fineness, Hours, Lamps, judge::station_weights},
    measure::reads::ReadsLimits,
    room::{BuiltRoom, TileChange},
    study::Prepared,
    transport::{LightState, Progress},
};

/// Luminance below which nothing is told apart [cd/m2].
const LEAST_CD_M2: f32 = 1e-4;

/// The table of a room with one walk. Arrow 0 is what each tile has now.
pub(super) fn table(
    room: &Arc<BuiltRoom>,
    lamps: &Lamps,
    hours: &Hours,
    arrows: &Arrows,
    seed: u32,
    progress: &Progress,
) -> Result<ArrowTable, AdviceError> {
    let walk = &room.walks[0];
    let mut states: Vec<(LightState, f32)> = Vec::new();
    for hour in hours.entries.iter().filter(|h| h.judged) {
        if walk.is_open(hour.instant.clock_min) {
            states.push((lamps.with_daylight(room, hour)?, 1.0));
        }
    }
    if states.is_empty() {
        return Err(AdviceError::NoInstants);
    }
    if room.scene.panes.is_empty() {
        merge_alike(&mut states);
    }
    let turned: Vec<Option<f32>> = match arrows {
        Arrows::Angles(angles) => std::iter::once(None)
            .chain(angles.iter().map(|a| Some(*a)))
            .collect(),
        Arrows::Flip => vec![None, None],
    };
    let (tiles, stations) = (room.piece.tiles.len(), walk.stations.len());
    let cells = turned.len() * states.len() * stations * tiles;
    if cells > MOST_CELLS {
        return Err(AdviceError::NoChoice {
            what: format!(
                "{tiles} tiles with {} arrows each are more than one search holds: choose a larger step, fewer tiles or flips only",
                turned.len()
            ),
        });
    }
    let mut log2_luminance = Vec::with_capacity(cells);
    let (mut glint_cd_m2, mut hot_cd_m2) = (Vec::new(), Vec::new());
    let mut visible = Vec::new();
    for (k, angle) in turned.iter().enumerate() {
        let built = if k == 0 {
            Arc::clone(room)
        } else {
            Arc::new(all_turned(room, *angle)?)
        };
        let prepared = Prepared::new(
            Arc::clone(&built),
            Arc::clone(lamps.light()),
            Fineness::look(seed).view,
            &[],
            progress,
        )?;
        let on_piece = prepared.lustre().light();
        for (state, _) in &states {
            let sun = on_piece.sun_on_tiles_lx(lamps.light(), state);
            for s in 0..stations {
                let read = prepared.lustre().read(state, &sun, s);
                if k == 0 && visible.len() < stations * tiles {
                    visible.extend_from_slice(&read.visible);
                }
                let luminances = read.luminance_cd_m2.iter();
                log2_luminance.extend(luminances.map(|l| l.max(LEAST_CD_M2).log2()));
            }
        }
        if k == 0 {
            for hour_state in &states {
                // The glint limit goes with the adaptation, which the arrows hardly change.
                let glance = prepared.read_adaptations(&hour_state.0)?;
                let (limits, reads) = (room.limits(), ReadsLimits::default());
                for adaptation_cd_m2 in glance {
                    glint_cd_m2.push(limits.glint_from_cd_m2(adaptation_cd_m2));
                    let relative = reads.hot_times_adaptation * adaptation_cd_m2;
                    hot_cd_m2.push(reads.hot_luminance_cd_m2.min(relative));
                }
            }
        }
    }
    let gaps_m = walk
        .stations
        .windows(2)
        .map(|w| w[1].distance_m - w[0].distance_m)
        .collect();
    Ok(ArrowTable {
        arrows: turned.len(),
        instants: states.len(),
        stations,
        tiles,
        log2_luminance,
        visible,
        glint_cd_m2,
        hot_cd_m2,
        instant_weights: states.iter().map(|s| s.1).collect(),
        station_weights: station_weights(walk),
        gaps_m,
        areas_m2: room.piece.areas_m2(),
        neighbours: room.piece.neighbours.clone(),
        dark_cd_m2: room.limits().dark_cd_m2,
    })
}

/// Instants with the same fixtures lit, where there is nothing else: one with the weight of all.
fn merge_alike(states: &mut Vec<(LightState, f32)>) {
    let mut merged: Vec<(LightState, f32)> = Vec::new();
    for (state, weight) in states.drain(..) {
        let known = merged
            .iter_mut()
            .find(|m| m.0.strengths.fixtures == state.strengths.fixtures);
        match known {
            Some(known) => known.1 += weight,
            None => merged.push((state, weight)),
        }
    }
    *states = merged;
}

/// The room with every tile at one angle [deg], or every tile turned round.
fn all_turned(room: &BuiltRoom, angle_deg: Option<f32>) -> Result<BuiltRoom, AdviceError> {
    let mut file = room.file.clone();
    file.tile_changes = room
        .tiling
        .tiles
        .iter()
        .map(|tile| TileChange {
            tile: tile.id,
            grain_deg: Some(
                angle_deg
                    .unwrap_or_else(|| (tile.grain_rad.to_degrees() + 180.0).rem_euclid(360.0)),
            ),
            material: room
                .file
                .tile_changes
                .iter()
                .find(|c| c.tile == tile.id)
                .and_then(|c| c.material.clone()),
        })
        .collect();
    let mut built = room.changed(file)?;
    // The same few stations.
    built.walks.clone_from(&room.walks);
    Ok(built)
}
