//! Which fixtures, where, aimed how, dimmed how far: search by a sketch, judged by the engine.
//!
//! ```text
//! room + choices --spots--> places x kinds x aims --sketch--> columns --search--> members --engine--> dimming, verdict
//! ```
//! Fixtures that are not touched, and daylight, are the base. The answer stands beside what the room has now and beside the
//! rule of thumb of 30 degrees on the same allowed places.

mod body;
mod dim;
mod mark;
mod refine;
mod rule;
mod search;
mod sketch;
mod spots;
mod verdict;
mod words;

use std::{collections::BTreeSet, sync::Arc};

use glam::Vec2;

use super::{AdviceError, Fineness, judge::thinned};
use crate::{
    room::{Aim, BuiltRoom, FixtureFile, LampChoices, Leave, RoomFile},
    scene::Station,
    study::{Instant, Prepared, StudyRequest, TimeChoiceError, sky_model, strengths},
    transport::{Progress, RoomLight, RoomLightSettings, Strengths, ViewSettings},
};
pub use body::shades;
pub use dim::dimming;
use mark::Wishes;
use search::{Choice, Member, Search, Slot};
use sketch::{Base, Kind, Sketch};
use spots::{Freedom, Place, aims, places};
pub use verdict::{BodyShadow, InstantVerdict, LampVerdict, most_lx};
use verdict::{Planned, verdict};

/// Stations of a sketch, all walks together.
const SKETCH_STATIONS: usize = 28;
/// Tiles of a sketch.
const SKETCH_TILES: usize = 220;
/// Power of a fixture whose maker does not say [W] (own choice), for the search only.
const USUAL_WATTS: f32 = 15.0;

/// Clock times between which a fixture is lit; always when left out.
type Hours = Option<(String, String)>;

/// How fixtures are searched.
#[derive(Clone, Debug, PartialEq)]
pub struct AimSettings {
    /// What may be changed.
    pub lamps: LampChoices,
    /// Seed of all random points.
    pub seed: u32,
}

impl AimSettings {
    /// Settings of a room.
    pub fn for_room(room: &RoomFile) -> Self {
        Self {
            lamps: room.advice.lamps.clone(),
            seed: 1,
        }
    }
}

/// What is advised.
#[derive(Clone, Debug)]
pub struct LampPlan {
    /// The room with the fixtures advised.
    pub file: RoomFile,
    /// What it comes to.
    pub after: LampVerdict,
    /// The room as it is.
    pub before: LampVerdict,
    /// The rule of thumb on the same places with as many fixtures, where any may be placed or aimed.
    pub by_rule: Option<(RoomFile, LampVerdict)>,
    /// Largest deviation of those from 30 degrees, as the places allow [rad].
    pub rule_off_rad: f32,
    /// Limit of illuminance kept to [lx], and its source.
    pub most_lx: (f32, String),
    /// What was done to each fixture, in words.
    pub changes: Vec<String>,
    /// Wishes that are not met, plainly.
    pub unmet: Vec<String>,
    /// What was gained over the room as it is, and over the rule.
    pub gains: Vec<String>,
    /// Findings, in words.
    pub notes: Vec<String>,
    /// Choices that were open: kinds x places x aims.
    pub choices: usize,
    /// The number that the search climbed, to compare searches with; nothing for people.
    pub search_value: f32,
}

/// Searches for the fixtures of a room as it is hung.
///
/// # Errors
/// A time that cannot be used, a room whose changed fixtures cannot be built, or cancellation.
pub fn aim(
    room: &Arc<BuiltRoom>,
    settings: &AimSettings,
    progress: &Progress,
) -> Result<LampPlan, AdviceError> {
    let lamps = &settings.lamps;
    let mut notes = Vec::new();
    let planned = planned(room, lamps, &mut notes)?;
    let building = RoomLight::prepare(
        room.scene.clone(),
        RoomLightSettings {
            seed: settings.seed,
            ..RoomLightSettings::default()
        },
        progress,
    )?;
    let kinds = kinds(room);
    let limit = most_lx(room);
    let wishes = Wishes::new(room.limits(), lamps, limit.0);
    let leaves = leaves(room, lamps);
    let sketch = sketch(room, &building, &planned, &leaves, settings.seed, progress)?;
    let (allowed, left_out) = places(room, &lamps.places);
    notes.extend(left_out);
    let all_aims = aims(room);
    let options = options(&sketch, &kinds, lamps, (&allowed, &all_aims));
    let choices = options.len();
    let most_new = if options.is_empty() { 0 } else { lamps.most };
    let new_hours = new_hours(room);
    let on = |hours: &Hours| -> Vec<bool> {
        planned
            .iter()
            .map(|p| crate::room::is_lit(hours.as_ref(), p.instant.clock_min))
            .collect()
    };
    let members = existing(room, &sketch, &kinds, &leaves, &on);
    let new_on = on(&new_hours);
    let any_on: Vec<bool> = (0..planned.len())
        .map(|g| (most_new > 0 && new_on[g]) || members.iter().any(|m| m.on[g]))
        .collect();
    let mut search = Search::new(
        (&sketch, &kinds, &wishes),
        &lamps.places,
        options,
        all_aims,
        (most_new, new_on, &any_on),
        progress,
    );
    let as_is = members.clone();
    if !search.new_on.iter().any(|on| *on) && most_new > 0 {
        notes.push("new fixtures would be dark at all planned instants, by the hours of those that aim at the piece now".into());
    }
    let none_free = members.is_empty() && most_new == 0;
    let found = search.run(members)?;
    let members = settled(
        (room, &building),
        (&sketch, &kinds, &leaves, &new_hours),
        &search,
        (found, as_is),
        (settings.seed, &mut notes),
    )?;
    let file = written(room, &sketch, &kinds, &members, &new_hours);
    let search_value = search.mark(&members).total;
    let view = Fineness::full(settings.seed).view;
    let judged = |file: &RoomFile| -> Result<LampVerdict, AdviceError> {
        let built = Arc::new(room.changed(file.clone())?);
        Ok(verdict(&built, &building, &planned, view, progress)?)
    };
    let before = judged(&room.file)?;
    let after = judged(&file)?;
    let (rule_file, rule_off_rad) =
        rule::rule_room(room, &sketch, &mut search, (&allowed, &members), &new_hours);
    let by_rule = rule_file
        .filter(|_| !none_free)
        .map(|file| judged(&file).map(|verdict| (file, verdict)))
        .transpose()?;
    if none_free {
        notes.push(
            "nothing may be changed: allow places for new fixtures (advice.lamps.places) or free existing ones (advice.lamps.existing)"
                .into(),
        );
    }
    let mut plan = LampPlan {
        changes: words::changes(room, &file, &leaves),
        file,
        after,
        before,
        by_rule,
        rule_off_rad,
        most_lx: limit,
        unmet: Vec::new(),
        gains: Vec::new(),
        notes,
        choices,
        search_value,
    };
    plan.unmet = words::unmet(&plan, lamps, !room.piece.neighbours.is_empty());
    plan.gains = words::gains(&plan);
    Ok(plan)
}

/// Every kind in stock at every allowed place, aimed at every point.
fn options(
    sketch: &Sketch,
    kinds: &[Kind],
    lamps: &LampChoices,
    (allowed, aims): (&[Place], &[Vec2]),
) -> Vec<Choice> {
    let mut options = Vec::new();
    for place in allowed {
        let spot = Arc::new(sketch.spot(place.clone()));
        for (kind, named) in kinds.iter().enumerate() {
            if !lamps.stock.is_empty() && !lamps.stock.contains(&named.name) {
                continue;
            }
            options.extend(aims.iter().map(|aim| Choice {
                kind,
                spot: Arc::clone(&spot),
                aim: *aim,
                kept_aim: None,
                roll_rad: 0.0,
            }));
        }
    }
    options
}

/// What the sketch has found, dimmed by the engine within the limit; or what is there, where the engine finds that no worse.
fn settled(
    (room, building): (&Arc<BuiltRoom>, &RoomLight),
    (sketch, kinds, leaves, new_hours): (&Sketch, &[Kind], &[Leave], &Hours),
    search: &Search,
    (mut members, mut as_is): (Vec<Member>, Vec<Member>),
    (seed, notes): (u32, &mut Vec<String>),
) -> Result<Vec<Member>, AdviceError> {
    members.retain(is_worth_it);
    if members.is_empty() {
        return Ok(members);
    }
    let file = written(room, sketch, kinds, &members, new_hours);
    let built = Arc::new(room.changed(file)?);
    exact_columns(&built, building, sketch, leaves, &mut members, seed)?;
    search.limit(&mut members);
    search.descend(&mut members);
    search.switch_off(&mut members);
    search.limit(&mut members);
    members.retain(is_worth_it);
    exact_columns(room, building, sketch, leaves, &mut as_is, seed)?;
    let no_worse = search.mark(&as_is).total >= search.mark(&members).total;
    if no_worse && !as_is.is_empty() && search.keeps_limit(&as_is) {
        notes.push("nothing that is allowed is better than what is there".into());
        return Ok(as_is);
    }
    Ok(members)
}

/// Whether a member stays: a new fixture that is dimmed to nothing is not bought.
fn is_worth_it(member: &Member) -> bool {
    member.slot != Slot::New || member.output >= 0.005
}

/// The planned instants of a room.
fn planned(
    room: &BuiltRoom,
    lamps: &LampChoices,
    notes: &mut Vec<String>,
) -> Result<Vec<Planned>, AdviceError> {
    let mut planned = Vec::new();
    let has_daylight = !room.scene.panes.is_empty();
    for (time, sky) in &lamps.at {
        let civil: jiff::civil::DateTime = time
            .parse()
            .map_err(|_| TimeChoiceError::Date { text: time.clone() })?;
        let clock = u32::from(civil.hour() as u8) * 60 + u32::from(civil.minute() as u8);
        let request = StudyRequest {
            days: vec![civil.date()],
            from_min: clock,
            to_min: clock,
            step_min: 1,
            skies: vec![sky.clone()],
        };
        let found = request.instants(civil.date(), room, notes)?;
        planned.extend(found.into_iter().map(|instant| Planned {
            sky: sky.clone(),
            instant,
        }));
    }
    let open = |i: &Instant| room.walks.iter().any(|w| w.is_open(i.clock_min));
    let count = planned.len();
    planned.retain(|p| open(&p.instant));
    if planned.len() < count {
        notes.push("planned instants at which no walk is open are left out".into());
    }
    if !has_daylight {
        // Without daylight, instants with the same fixtures lit are one.
        let mut seen = BTreeSet::new();
        let bits = |p: &Planned| -> Vec<u32> {
            let outputs = room.fixture_strengths(p.instant.clock_min);
            outputs.iter().map(|o| o.to_bits()).collect()
        };
        let count = planned.len();
        planned.retain(|p| seen.insert(bits(p)));
        if planned.len() < count {
            notes.push("no daylight reaches this room: instants with the same fixtures lit are judged once".into());
        }
    }
    if planned.is_empty() {
        return Err(AdviceError::NoInstants);
    }
    Ok(planned)
}

fn kinds(room: &BuiltRoom) -> Vec<Kind> {
    let types = &room.file.fixture_types;
    let prices: Vec<f32> = types.values().filter_map(|k| k.price).collect();
    let mean = prices.iter().sum::<f32>() / prices.len().max(1) as f32;
    types
        .iter()
        .filter_map(|(name, kind)| {
            let light = room.kinds.get(name)?.clone();
            Some(Kind {
                name: name.clone(),
                flux_lm: light.0.flux_lm() as f32,
                light,
                maintenance_factor: kind.maintenance_factor,
                watts: kind.watts.unwrap_or(USUAL_WATTS),
                cost: kind.price.map_or(1.0, |p| p / mean.max(1e-6)),
            })
        })
        .collect()
}

/// What may be done to each fixture of the room.
fn leaves(room: &BuiltRoom, lamps: &LampChoices) -> Vec<Leave> {
    room.file
        .fixtures
        .iter()
        .map(|f| match lamps.existing.get(&f.name) {
            Some(leave) => *leave,
            None if matches!(f.aim, Aim::Piece { .. }) => Leave::AimAndDim,
            None => Leave::Untouched,
        })
        .collect()
}

/// Hours of new fixtures: those of the first that aims at the piece.
fn new_hours(room: &BuiltRoom) -> Hours {
    room.file
        .fixtures
        .iter()
        .find(|f| matches!(f.aim, Aim::Piece { .. }))
        .and_then(|f| f.lit.clone())
}

/// A room with a few stations of all walks and, where the piece is large, tiles that stand for it.
fn coarse(room: &BuiltRoom) -> BuiltRoom {
    let stations = room.stations().len();
    let fineness = Fineness {
        station_step: stations.div_ceil(SKETCH_STATIONS).max(1),
        most_tiles: SKETCH_TILES,
        ..Fineness::look(1)
    };
    thinned(room, &fineness)
}

/// The sketch with its base: daylight and the fixtures that are not touched, by the engine.
fn sketch(
    room: &BuiltRoom,
    building: &RoomLight,
    planned: &[Planned],
    leaves: &[Leave],
    seed: u32,
    progress: &Progress,
) -> Result<Sketch, AdviceError> {
    let mut file = room.file.clone();
    let mut kept = leaves.iter();
    file.fixtures
        .retain(|_| kept.next() == Some(&Leave::Untouched));
    let coarse = Arc::new(coarse(&room.changed(file)?));
    let light = Arc::new(RoomLight::prepare_from(
        Some(building),
        coarse.scene.clone(),
        *building.settings(),
        progress,
    )?);
    let prepared = Prepared::new(
        Arc::clone(&coarse),
        Arc::clone(&light),
        sketch_view(seed),
        &[],
        progress,
    )?;
    let mut sketch = Sketch::new(Arc::clone(&coarse), Arc::clone(&light));
    for planned in planned {
        let model = sky_model(&planned.sky, &coarse);
        let state = light.solve(strengths(&coarse, &light, &model, &planned.instant))?;
        let on_piece = prepared.lustre().light();
        let sun = on_piece.sun_on_tiles_lx(&light, &state);
        let readings = prepared.read_in(&state, &planned.instant)?;
        let limits = coarse.limits();
        // The limit is for new lamps.
        let mut new = state.strengths.clone();
        for (output, fixture) in new.fixtures.iter_mut().zip(&coarse.scene.fixtures) {
            *output /= fixture.maintenance_factor.max(1e-3);
        }
        let mut base = Base {
            luminance_cd_m2: Vec::new(),
            tile_lx: on_piece.tile_illuminances_lx(&light.solve(new)?, &sun),
            wall_cd_m2: on_piece.surround_luminance_cd_m2(&light, &state),
            glint_cd_m2: Vec::new(),
            open: Vec::new(),
        };
        for (walk, readings) in coarse.walks.iter().zip(&readings.walks) {
            for r in readings {
                let seen = r.tiles.luminance_cd_m2.iter().zip(&r.tiles.visible);
                base.luminance_cd_m2
                    .extend(seen.map(|(l, v)| if *v > 0.0 { *l } else { 0.0 }));
                base.glint_cd_m2
                    .push(limits.glint_from_cd_m2(r.adaptation_cd_m2));
                base.open.push(walk.is_open(planned.instant.clock_min));
            }
        }
        sketch.bases.push(base);
    }
    Ok(sketch)
}

fn sketch_view(seed: u32) -> ViewSettings {
    Fineness::look(seed).view
}

/// Fixtures of the room that may be aimed or dimmed, as they are.
fn existing(
    room: &BuiltRoom,
    sketch: &Sketch,
    kinds: &[Kind],
    leaves: &[Leave],
    on: &dyn Fn(&Hours) -> Vec<bool>,
) -> Vec<Member> {
    let mut members = Vec::new();
    for (i, (fixture, leave)) in room.file.fixtures.iter().zip(leaves).enumerate() {
        let slot = match leave {
            Leave::Untouched => continue,
            Leave::DimOnly => Slot::Dim(i),
            Leave::AimAndDim => Slot::Aim(i),
        };
        let (Some(kind), Some(built)) = (
            kinds.iter().position(|k| k.name == fixture.kind),
            room.scene.fixtures.get(i),
        ) else {
            continue;
        };
        let spot = Arc::new(sketch.spot(Place {
            at: built.position,
            freedom: Freedom::None,
        }));
        let aim = match fixture.aim {
            Aim::Piece { right_m, up_m } => Some(Vec2::new(right_m, up_m)),
            _ => None,
        };
        let choice = Choice {
            kind,
            spot,
            aim: aim.unwrap_or_default(),
            kept_aim: aim.is_none().then(|| built.aim_dir()),
            roll_rad: fixture.roll_deg.to_radians(),
        };
        let column = {
            let target = choice
                .kept_aim
                .map_or_else(|| sketch.aim_point(choice.aim), |dir| built.position + dir);
            let fixture = sketch.fixture(&kinds[kind], built.position, target, choice.roll_rad);
            sketch.column(&kinds[kind], &choice.spot, &fixture)
        };
        members.push(Member {
            slot,
            column,
            choice,
            output: fixture.dimming,
            on: on(&fixture.lit),
        });
    }
    members
}

/// The room file with members in place: whole centimetres and percents, as they can be set.
fn written(
    room: &BuiltRoom,
    sketch: &Sketch,
    kinds: &[Kind],
    members: &[Member],
    new_hours: &Hours,
) -> RoomFile {
    let mut file = room.file.clone();
    let mut names: BTreeSet<String> = file.fixtures.iter().map(|f| f.name.clone()).collect();
    let centi = |v: f32| (v * 100.0).round() / 100.0;
    for member in members {
        let choice = &member.choice;
        // Down, so that the limit holds; what is lit at all stays lit.
        let dimming = ((member.output * 100.0 + 1e-3).floor() / 100.0).clamp(0.0, 1.0);
        let dimming = if is_worth_it(member) && member.output > 0.0 {
            dimming.max(0.01)
        } else {
            dimming
        };
        let aim = match choice.kept_aim {
            Some(_) => None,
            None => Some(Aim::Piece {
                right_m: centi(choice.aim.x),
                up_m: centi(choice.aim.y),
            }),
        };
        match member.slot {
            Slot::Aim(i) | Slot::Dim(i) => {
                file.fixtures[i].dimming = dimming;
                if let (Slot::Aim(_), Some(aim)) = (member.slot, aim) {
                    file.fixtures[i].aim = aim;
                }
            }
            Slot::New => {
                let name = (1..)
                    .map(|n| format!("N{n}"))
                    .find(|n| !names.contains(n))
                    .unwrap_or_default();
                names.insert(name.clone());
                let at = choice.spot.place.at;
                file.fixtures.push(FixtureFile {
                    name,
                    kind: kinds[choice.kind].name.clone(),
                    at_m: (centi(at.x), centi(-at.z), centi(at.y)),
                    aim: aim.unwrap_or_default(),
                    roll_deg: choice.roll_rad.to_degrees(),
                    dimming,
                    lit: new_hours.clone(),
                });
            }
        }
    }
    debug_assert_eq!(sketch.room.file.walks.len(), file.walks.len());
    file
}

/// Replaces what the sketch said of each member by what the engine says, light by way of the room included.
fn exact_columns(
    built: &Arc<BuiltRoom>,
    building: &RoomLight,
    sketch: &Sketch,
    leaves: &[Leave],
    members: &mut [Member],
    seed: u32,
) -> Result<(), AdviceError> {
    let coarse = Arc::new(coarse(built));
    let light = Arc::new(RoomLight::prepare_from(
        Some(building),
        coarse.scene.clone(),
        *building.settings(),
        &Progress::default(),
    )?);
    let prepared = Prepared::new(
        Arc::clone(&coarse),
        Arc::clone(&light),
        Fineness::look(seed).view,
        &[],
        &Progress::default(),
    )?;
    let on_piece = prepared.lustre().light();
    let dark = vec![0.0; coarse.piece.tiles.len()];
    let stations: Vec<Station> = coarse.stations();
    let mut new = leaves.len();
    for member in members {
        let index = match member.slot {
            Slot::Aim(i) | Slot::Dim(i) => i,
            Slot::New => {
                new += 1;
                new - 1
            }
        };
        let fixture = &coarse.scene.fixtures[index];
        let mut outputs = vec![0.0; coarse.scene.fixtures.len()];
        outputs[index] = fixture.maintenance_factor;
        let strengths = Strengths::dark(light.scene(), light.columns()).with_fixtures(outputs);
        let state = light.solve(strengths)?;
        let kept = fixture.maintenance_factor.max(1e-3);
        member.column.new_lx = on_piece
            .tile_illuminances_lx(&state, &dark)
            .into_iter()
            .map(|lx| lx / kept)
            .collect();
        member.column.wall_cd_m2 = on_piece.surround_luminance_cd_m2(&light, &state);
        member.column.luminance_cd_m2 = (0..stations.len())
            .flat_map(|s| {
                let read = prepared.lustre().read(&state, &dark, s);
                read.luminance_cd_m2
                    .into_iter()
                    .zip(read.visible)
                    .map(|(l, v)| if v > 0.0 { l } else { 0.0 })
                    .collect::<Vec<f32>>()
            })
            .collect();
        debug_assert_eq!(member.column.luminance_cd_m2.len(), sketch.sees.len());
    }
    Ok(())
}
