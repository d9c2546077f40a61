//! What the window wants of the engines, and what they answered.

use std::sync::Arc;

use bevy::{prelude::*, window::RequestRedraw};

use super::hours_of;
use crate::{
    app::{
        document::OpenRoom,
        engine::{Clock, Eye, Wanted},
        standing::Standing,
        state::{Desk, Moment, Plan, Showing, ViewKind},
    },
    scene::Station,
};

pub(super) fn poll_engines(
    mut desk: ResMut<Desk>,
    moment: Res<Moment>,
    mut standing: ResMut<Standing>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut framed: Local<bool>,
) {
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

#[derive(Default)]
pub(super) struct LastWish(Vec<(u64, Clock, Option<Eye>, bool)>);

pub(super) fn state_wishes(
    open: Res<OpenRoom>,
    moment: Res<Moment>,
    standing: Res<Standing>,
    showing: Res<Showing>,
    buttons: Res<ButtonInput<MouseButton>>,
    mut desk: ResMut<Desk>,
    mut last: Local<LastWish>,
) {
    let live = desk.live_mut();
    if live.revision != open.revision() {
        live.revision = open.revision();
        live.room = Arc::clone(open.file());
        live.folder = open.folder().clone();
    }
    let resting = !buttons.pressed(MouseButton::Left) && !moment.playing;
    let count = desk.plans.len();
    last.0.resize(count, (0, moment.clock.clone(), None, false));
    for (plan, last) in desk.plans.iter().zip(&mut last.0) {
        let eye = eye_of(&standing, showing.view, plan);
        let wish = (plan.revision, moment.clock.clone(), eye, resting);
        if *last == wish {
            continue;
        }
        *last = wish;
        plan.engine.want(Wanted {
            revision: plan.revision,
            room: Arc::clone(&plan.room),
            folder: plan.folder.clone(),
            clock: moment.clock.clone(),
            hours: hours_of(&plan.room),
            eye,
            points: Vec::new(),
            resting,
            picture: true,
        });
    }
}
