//! The engine's thread: it answers what is wanted, for the room that is wanted.

use std::{
    sync::Arc,
    time::{Duration, Instant},
};

use lustrewalk::{
    app::{
        engine::{Answer, Clock, Engine, Eye, Wanted},
        standing::Standing,
        state::Plan,
    },
    room::{RoomFile, parse_room},
};

fn court() -> RoomFile {
    parse_room(include_str!("../../rooms/stair-court.ron"), "court").unwrap()
}

fn clock(minute: u32) -> Clock {
    Clock {
        date: "2026-03-20".parse().unwrap(),
        minute,
        sky: "clear".into(),
    }
}

fn wanted(plan: &Plan, minute: u32, eye: Option<Eye>) -> Wanted {
    Wanted {
        revision: plan.revision,
        room: Arc::clone(&plan.room),
        folder: plan.folder.clone(),
        clock: clock(minute),
        hours: (600, 780, 60),
        eye,
        points: Vec::new(),
        resting: true,
        picture: true,
    }
}

/// Takes answers until the plan is as asked; fails after a minute.
fn until(plan: &mut Plan, minute: u32, what: &str, done: impl Fn(&Plan) -> bool) {
    let begin = Instant::now();
    while !done(plan) {
        assert!(
            begin.elapsed() < Duration::from_secs(60),
            "{what} did not come"
        );
        std::thread::sleep(Duration::from_millis(5));
        for answer in plan.engine.answers() {
            if let Answer::Failed(why) = &answer {
                panic!("{why}");
            }
            plan.take(answer, &clock(minute));
        }
    }
}

#[test]
fn a_room_is_lit_seen_and_charted_and_a_change_is_followed() {
    let engine = Engine::start(Arc::new(|| {}));
    let mut plan = Plan::new(
        0,
        "court".into(),
        Arc::new(court()),
        "rooms".into(),
        1,
        engine,
    );
    plan.engine.want(wanted(&plan, 700, None));
    until(&mut plan, 700, "the room", |p| p.built.is_some());
    let (_, built) = plan.built.clone().unwrap();
    let mut standing = Standing::default();
    standing.frame(&built);
    let eye = Some(Eye {
        station: standing.visitor(&built),
        walk: 0,
    });
    plan.engine.want(wanted(&plan, 700, eye));
    until(&mut plan, 700, "light and glance", |p| {
        p.now.is_some() && p.glance.is_some()
    });
    // The hour at 700 lies off the grid of the chart and is read beside it.
    until(&mut plan, 700, "the fine chart", |p| {
        p.hours.len() == 5 && p.hours.values().all(|h| !h.rough)
    });
    let stations = plan.hours[&660].readings.walks[0].len();
    assert_eq!(stations, built.walks[0].stations.len());
    assert!(!plan.is_stale(&clock(700)));

    // Another hour: the light follows, and nothing of the room is built again.
    plan.engine.want(wanted(&plan, 720, eye));
    until(&mut plan, 720, "another hour", |p| {
        p.now.as_ref().unwrap().clock.minute == 720
    });
    assert!(Arc::ptr_eq(&plan.built.as_ref().unwrap().1, &built));

    // A room that is not sound names the field, and what was sound stays in view.
    let mut wrong = court();
    wrong.walks[0].eye_m = -4.0;
    plan.room = Arc::new(wrong);
    plan.revision = 2;
    plan.engine.want(wanted(&plan, 720, eye));
    until(&mut plan, 720, "the problem", |p| !p.problems.is_empty());
    assert!(
        plan.problems[0].path.contains("walks[0].eye_m"),
        "{:?}",
        plan.problems
    );
    assert!(Arc::ptr_eq(&plan.built.as_ref().unwrap().1, &built));

    // Mended and moved: the chart is of the new room.
    let mut moved = court();
    moved.placement.centre_m += 0.1;
    plan.room = Arc::new(moved);
    plan.revision = 3;
    plan.engine.want(wanted(&plan, 720, eye));
    until(&mut plan, 720, "the moved piece", |p| {
        !p.chart_is_stale() && p.now.as_ref().unwrap().revision == 3
    });
    assert!(plan.problems.is_empty() && !plan.is_stale(&clock(720)));
}
