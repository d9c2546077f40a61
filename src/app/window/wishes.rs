//! What the window wants of the engines, and what they answered.

use std::sync::Arc;

use bevy::{prelude::*, window::RequestRedraw};

use super::hours_of;
use crate::{
    app::{
        document::OpenRoom,
        engine::{Clock, Eye, MeterPoint, Wanted},
        standing::Standing,
        state::{Advice, Desk, Moment, Notice, Pins, Plan, Presenting, Showing, ViewKind},
    },
    scene::Station,
};

#[expect(
    clippy::too_many_arguments,
    reason = "a system's arguments are what it touches"
)]
pub(super) fn poll_engines(
    mut desk: ResMut<Desk>,
    moment: Res<Moment>,
    mut advice: ResMut<Advice>,
    mut presenting: ResMut<Presenting>,
    mut notice: ResMut<Notice>,
    time: Res<Time<Real>>,
    mut standing: ResMut<Standing>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut framed: Local<bool>,
) {
    if presenting.running.is_some()
        && let Some((text, wrong)) = presenting.poll()
    {
        *notice = Notice {
            text,
            until_s: time.elapsed_secs_f64() + 20.0,
            wrong,
        };
        redraw.write(RequestRedraw);
    }
    if advice.running.is_some() && advice.poll() {
        redraw.write(RequestRedraw);
    }
    for plan in &mut desk.plans {
        for answer in plan.engine.answers() {
            plan.take(answer, &moment.clock);
            redraw.write(RequestRedraw);
        }
    }
    // A room seen for the first time is put where it is best seen.
    let built = desk.live().built.as_ref();
    if let Some((_, built)) = built.filter(|_| !*framed) {
        standing.frame(built);
    }
    *framed = built.is_some();
}

pub(super) fn eye_of(standing: &Standing, view: ViewKind, plan: &Plan) -> Option<Eye> {
    let (_, built) = plan.built.as_ref()?;
    let station = match view {
        ViewKind::Visitor | ViewKind::Plan => standing.visitor(built),
        ViewKind::Around => {
            let (eye, gaze_dir) = standing.around_camera(0.0);
            Station {
                eye: before_walls(plan, built, eye),
                gaze_dir,
                distance_m: 0.0,
            }
        }
    };
    Some(Eye {
        station,
        walk: standing.walk,
    })
}

/// The outer camera looks through walls that hide the piece from it: the eye then stands before the wall, on
/// the same line.
pub(super) fn before_walls(plan: &Plan, built: &crate::room::BuiltRoom, eye: Vec3) -> Vec3 {
    let Some(now) = &plan.now else { return eye };
    let from = built.piece.centre + built.piece.normal * 0.05;
    let away = eye - from;
    let dir = away.normalize_or(built.piece.normal);
    match now.light.tracer().path(from, dir).end {
        Some((_, distance_m)) if distance_m < away.length() => {
            from + dir * (distance_m - 0.05).max(0.1)
        }
        _ => eye,
    }
}

type Wish = (u64, Clock, Option<Eye>, bool, Vec<MeterPoint>);

#[derive(Default)]
pub(super) struct LastWish(std::collections::BTreeMap<u64, Wish>);

#[expect(
    clippy::too_many_arguments,
    reason = "a system's arguments are what it touches"
)]
pub(super) fn state_wishes(
    open: Res<OpenRoom>,
    moment: Res<Moment>,
    standing: Res<Standing>,
    showing: Res<Showing>,
    pins: Res<Pins>,
    advice: Res<Advice>,
    buttons: Res<ButtonInput<MouseButton>>,
    keys: Res<ButtonInput<KeyCode>>,
    mut desk: ResMut<Desk>,
    mut last: Local<LastWish>,
) {
    let live = desk.live_mut();
    // What is only tried is shown in place of the room, which stays as it is.
    let (revision, room) = advice
        .tried()
        .unwrap_or_else(|| (open.revision(), open.file()));
    if live.revision != revision {
        live.revision = revision;
        live.room = Arc::clone(room);
        live.folder = open.folder().clone();
    }
    let walking = [
        KeyCode::ArrowLeft,
        KeyCode::ArrowRight,
        KeyCode::KeyW,
        KeyCode::KeyA,
        KeyCode::KeyS,
        KeyCode::KeyD,
    ];
    let moving = buttons.pressed(MouseButton::Left) || keys.any_pressed(walking);
    let resting = !moving && !moment.playing && !standing.strolling;
    last.0
        .retain(|id, _| desk.plans.iter().any(|p| p.id == *id));
    for index in desk.shown() {
        let plan = &desk.plans[index];
        let points = match (&plan.now, &plan.built) {
            (Some(now), Some((_, built))) if index == 0 => pins.asked(built, &now.light.tracer()),
            _ => Vec::new(),
        };
        // The same place for all plans that are shown; each eye looks as its walk says, at its own piece.
        let eye = eye_of(&standing, showing.view, plan);
        let wish = (
            plan.revision,
            moment.clock.clone(),
            eye,
            resting,
            points.clone(),
        );
        if last.0.get(&plan.id) == Some(&wish) {
            continue;
        }
        last.0.insert(plan.id, wish);
        plan.engine.want(Wanted {
            revision: plan.revision,
            room: Arc::clone(&plan.room),
            folder: plan.folder.clone(),
            clock: moment.clock.clone(),
            hours: hours_of(&plan.room),
            eye,
            points,
            resting,
            picture: true,
        });
    }
}
