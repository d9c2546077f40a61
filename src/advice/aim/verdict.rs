//! What a room with its fixtures comes to at the planned instants, by the full engine.

use std::sync::Arc;

use serde::Serialize;

use super::body;
use crate::{
    advice::judge::{light_class, most_delicate, station_weights},
    measure::reads::Reads,
    room::BuiltRoom,
    study::{Cause, FlagKind, Instant, Prepared, flag_words, place_words, sky_model, strengths},
    transport::{LightPart, LightState, Progress, RoomLight, SolveError, ViewSettings},
};

/// Limit of illuminance where no other is named and the material has none [lx] (own choice: comfortable beside rooms
/// at 100 to 300 lx).
const UNLIMITED_LX: f32 = 1000.0;

/// One planned instant.
#[derive(Clone, Debug, Serialize)]
pub struct InstantVerdict {
    /// "2026-12-21 18:00, overcast".
    pub when: String,
    /// Share of visitors' time in which the pattern is strong.
    pub strong_share: f32,
    /// Share in which it reads or is strong and nothing makes it dead.
    pub alive_share: f32,
    /// Share in which it is dead.
    pub dead_share: f32,
    /// Share with something glaring in view.
    pub glaring_share: f32,
    /// Share with a fixture's opening, or its image in the piece, in view and too bright.
    pub lamp_in_view_share: f32,
    /// Least and most mean luminance of the piece over that of the wall, over the stations.
    pub glow: (f32, f32),
    /// Largest illuminance of a tile, new lamps and daylight [lx].
    pub most_lx: f32,
    /// Of which daylight alone gives its largest [lx].
    pub daylight_lx: f32,
    /// Least over largest illuminance of a tile.
    pub evenness: f32,
    /// The worst that glares, in words.
    pub worst_glare: Option<String>,
}

/// A shadow of a person on the piece.
#[derive(Clone, Debug, Serialize)]
pub struct BodyShadow {
    /// Name of the fixture.
    pub fixture: String,
    /// Where the person stands, in words.
    pub place: String,
    /// Share of the piece's tiles that it covers there.
    pub share_of_tiles: f32,
}

/// What a set of fixtures comes to.
#[derive(Clone, Debug, Serialize)]
pub struct LampVerdict {
    /// The planned instants.
    pub instants: Vec<InstantVerdict>,
    /// Shadows of persons, the largest of each fixture.
    pub shadows: Vec<BodyShadow>,
    /// Number of fixtures that are lit.
    pub lit: usize,
    /// Power of all lit fixtures at their dimming, as far as known [W].
    pub watts: f32,
}

/// An instant with its sky.
#[derive(Clone, Debug)]
pub(super) struct Planned {
    pub sky: String,
    pub instant: Instant,
}

impl Planned {
    pub fn words(&self) -> String {
        let civil = self.instant.civil.datetime();
        let dark = self.instant.sun.apparent_elevation_rad < 0.0;
        let sky = if dark {
            "after dark".to_owned()
        } else {
            format!("{} sky", self.sky)
        };
        format!(
            "{} {:02}:{:02}, {sky}",
            civil.date(),
            civil.hour(),
            civil.minute()
        )
    }
}

/// Most illuminance of a tile that the room allows [lx], and where the limit is from.
pub fn most_lx(room: &BuiltRoom) -> (f32, String) {
    if let Some(lx) = room.file.advice.lamps.most_lx {
        return (lx, "as the room file says".into());
    }
    let class = light_class(most_delicate(room));
    match class.limiting_illuminance_lx() {
        Some(lx) => (
            lx as f32,
            format!("class {} of CIE 157:2004, from memory", class.number()),
        ),
        None => (
            UNLIMITED_LX,
            "own choice: the material has no limit of its own".into(),
        ),
    }
}

/// Outputs of all fixtures, dark outside their hours.
pub(super) fn outputs(room: &BuiltRoom, instant: &Instant) -> Vec<f32> {
    room.fixture_strengths(instant.clock_min)
}

/// Judges a room at the planned instants.
pub(super) fn verdict(
    room: &Arc<BuiltRoom>,
    base: &RoomLight,
    planned: &[Planned],
    view: ViewSettings,
    progress: &Progress,
) -> Result<LampVerdict, SolveError> {
    let light = Arc::new(RoomLight::prepare_from(
        Some(base),
        room.scene.clone(),
        *base.settings(),
        progress,
    )?);
    let states: Vec<LightState> = planned
        .iter()
        .map(|p| {
            light.solve(strengths(
                room,
                &light,
                &sky_model(&p.sky, room),
                &p.instant,
            ))
        })
        .collect::<Result<_, _>>()?;
    let prepared = Prepared::new(
        Arc::clone(room),
        Arc::clone(&light),
        view,
        &states,
        progress,
    )?;
    let mut instants = Vec::new();
    for (planned, state) in planned.iter().zip(&states) {
        instants.push(at_instant(room, &light, &prepared, planned, state)?);
    }
    let lit_ever: Vec<bool> = (0..room.scene.fixtures.len())
        .map(|f| planned.iter().any(|p| outputs(room, &p.instant)[f] > 0.0))
        .collect();
    let watts = room
        .file
        .fixtures
        .iter()
        .zip(&lit_ever)
        .filter(|(_, lit)| **lit)
        .filter_map(|(f, _)| Some(f.dimming * room.file.fixture_types.get(&f.kind)?.watts?))
        .sum();
    Ok(LampVerdict {
        instants,
        shadows: shadows(room, &light, &lit_ever),
        lit: lit_ever.iter().filter(|l| **l).count(),
        watts,
    })
}

fn at_instant(
    room: &BuiltRoom,
    light: &RoomLight,
    prepared: &Prepared,
    planned: &Planned,
    state: &LightState,
) -> Result<InstantVerdict, SolveError> {
    let readings = prepared.read_in(state, &planned.instant)?;
    let on_piece = prepared.lustre().light();
    let sun = on_piece.sun_on_tiles_lx(light, state);
    // Lamps as new: the damage limit is not for the day when they are old.
    let mut new = state.strengths.clone();
    for (output, fixture) in new.fixtures.iter_mut().zip(&room.scene.fixtures) {
        *output /= fixture.maintenance_factor.max(1e-3);
    }
    let as_new = on_piece.tile_illuminances_lx(&light.solve(new.clone())?, &sun);
    new.fixtures.iter_mut().for_each(|f| *f = 0.0);
    let daylight = on_piece.tile_illuminances_lx(&light.solve(new)?, &sun);
    let largest = |lx: &[f32]| lx.iter().copied().fold(0.0, f32::max);
    let mut sum = [0.0_f32; 5];
    let mut total = 0.0;
    let mut glow = (f32::MAX, 0.0_f32);
    let mut worst: Option<(f32, String)> = None;
    for (walk, readings) in room.walks.iter().zip(&readings.walks) {
        if !walk.is_open(planned.instant.clock_min) {
            continue;
        }
        for (s, (r, weight)) in readings.iter().zip(station_weights(walk)).enumerate() {
            let flagged = |kind| r.flags.iter().any(|f| f.cause.kind() == kind);
            let lamp = r.flags.iter().any(|f| {
                matches!(
                    f.cause,
                    Cause::BrightOpening(_) | Cause::MirrorImage(LightPart::Fixture(_))
                )
            });
            let dead = flagged(FlagKind::Dead);
            total += weight;
            for (sum, holds) in sum.iter_mut().zip([
                r.pattern.class == Reads::Strong && !dead,
                r.pattern.class.works() && !r.sun_in_view && !dead,
                dead,
                flagged(FlagKind::Glaring),
                lamp,
            ]) {
                *sum += if holds { weight } else { 0.0 };
            }
            if r.mean_luminance_cd_m2 > 0.0 {
                glow = (glow.0.min(r.glow), glow.1.max(r.glow));
            }
            for flag in r
                .flags
                .iter()
                .filter(|f| f.cause.kind() == FlagKind::Glaring)
            {
                if worst.as_ref().is_none_or(|w| flag.severity > w.0) {
                    let words = format!(
                        "{}, {}",
                        flag_words(room, &planned.instant, flag),
                        place_words(&walk.walk, &walk.stations, (s, s))
                    );
                    worst = Some((flag.severity, words));
                }
            }
        }
    }
    let share = |v: f32| v / total.max(1e-9);
    let (low, high) = as_new
        .iter()
        .fold((f32::MAX, 0.0_f32), |(l, h), v| (l.min(*v), h.max(*v)));
    Ok(InstantVerdict {
        when: planned.words(),
        strong_share: share(sum[0]),
        alive_share: share(sum[1]),
        dead_share: share(sum[2]),
        glaring_share: share(sum[3]),
        lamp_in_view_share: share(sum[4]),
        glow: if glow.1 > 0.0 { glow } else { (0.0, 0.0) },
        most_lx: largest(&as_new),
        daylight_lx: largest(&daylight),
        evenness: if high > 0.0 { low / high } else { 0.0 },
        worst_glare: worst.map(|w| w.1),
    })
}

/// The largest shadow that a person on a walk throws on the piece in the light of each fixture that lights it noticeably.
fn shadows(room: &BuiltRoom, light: &RoomLight, lit: &[bool]) -> Vec<BodyShadow> {
    let tiles = &room.piece.tiles;
    let mut found = Vec::new();
    for (f, fixture) in room
        .scene
        .fixtures
        .iter()
        .enumerate()
        .filter(|(f, _)| lit[*f])
    {
        // Tiles that get a tenth of what its brightest gets.
        let lx: Vec<f32> = tiles
            .iter()
            .map(|t| light.fixture_at(f, t.frame.origin, t.frame.z_dir, 0, 1))
            .collect();
        let most = lx.iter().copied().fold(0.0, f32::max);
        if most * fixture.maintained_strength() < 5.0 {
            continue;
        }
        let mut worst: Option<(usize, String)> = None;
        for walk in &room.walks {
            for (s, station) in walk.stations.iter().enumerate() {
                let floor_m = station.eye.y - walk.walk.eye_m;
                let count = tiles
                    .iter()
                    .zip(&lx)
                    .filter(|(t, lx)| {
                        **lx > 0.1 * most
                            && body::shades(station.eye, floor_m, t.frame.origin, fixture.position)
                    })
                    .count();
                if count > worst.as_ref().map_or(0, |w| w.0) {
                    let place = format!(
                        "{:?}, {}",
                        walk.walk.name,
                        place_words(&walk.walk, &walk.stations, (s, s))
                    );
                    worst = Some((count, place));
                }
            }
        }
        if let Some((count, place)) = worst {
            found.push(BodyShadow {
                fixture: fixture.label.clone(),
                place,
                share_of_tiles: count as f32 / tiles.len().max(1) as f32,
            });
        }
    }
    found
}
