//! Tests of the plan as a whole; those common to all drawings are in `text_check`.

use glam::vec2;

use super::*;
use crate::report::examples;
use crate::report::text_check::text_boxes;

#[test]
fn every_name_is_on_the_plan() {
    let plan = examples::hall_plan();
    let (_, texts) = text_boxes(&plan_svg(&plan));
    let all: Vec<&str> = texts.iter().map(|t| t.0.as_str()).collect();
    for name in [
        "south window",
        "entrance",
        "to the lift",
        "rooflight",
        "column",
        "desk",
        "lime tree",
        "F1",
        "F4",
        "Tidal Field",
        "place B",
        "place C",
        "From the lift",
        "Entrance",
        "0 m",
        "2 m",
        "12 m",
        "10:00 · 11°",
        "08:00",
        "21 Jun",
        "21 Dec",
        "N",
        "metres",
        "feet",
    ] {
        assert!(all.contains(&name), "{name:?} is not among {all:?}");
    }
    let joined = all.join(" ");
    assert!(joined.contains("Warehouse across the water"), "{joined}");
}

#[test]
fn north_mark_turns_with_the_bearing() {
    let place = |bearing_deg: f32| {
        let mut plan = examples::closet_plan();
        plan.bearing_rad = bearing_deg.to_radians();
        let (_, texts) = text_boxes(&plan_svg(&plan));
        let of = |name: &str| {
            let found = texts.iter().find(|t| t.0 == name).unwrap().1;
            vec2(0.5 * (found[0] + found[2]), 0.5 * (found[1] + found[3]))
        };
        of("N") - of("S")
    };
    let up = place(0.0);
    assert!(
        up.y < -90.0 && up.x.abs() < 2.0,
        "bearing 0: north lies toward {up}"
    );
    // Plan +y faces east, so north is to the left.
    let left = place(90.0);
    assert!(
        left.x < -90.0 && left.y.abs() < 2.0,
        "bearing 90: north lies toward {left}"
    );
}

#[test]
fn inside_is_told_from_outside() {
    let plan = examples::hall_plan();
    assert!(plan.is_inside(vec2(6.0, 8.0)) && plan.is_inside(vec2(13.0, 1.0)));
    assert!(!plan.is_inside(vec2(1.0, 8.0)) && !plan.is_inside(vec2(12.15, 3.0)));
}

#[test]
fn odd_data_do_not_break_the_plan() {
    text_boxes(&plan_svg(&Plan::default()));
    let mut plan = examples::hall_plan();
    plan.wall_thickness_m = -1.0;
    plan.outlines
        .push(vec![vec2(f32::NAN, 0.0), vec2(f32::INFINITY, 1.0)]);
    plan.walks[0].points = vec![vec2(1.0, 1.0); 4];
    plan.fixtures[0].aim_target = vec2(f32::NAN, f32::NAN);
    plan.openings[0].b = plan.openings[0].a;
    plan.title = "a <b> & \u{0}c".to_owned();
    let (_, texts) = text_boxes(&plan_svg(&plan));
    assert!(texts.iter().any(|t| t.0 == "a <b> & c"));
}
