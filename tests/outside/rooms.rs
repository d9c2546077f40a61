//! Illuminance with inter-reflection in whole rooms, against an independent path tracer.

#![allow(
    clippy::unwrap_used,
    reason = "a table that does not read is a broken checkout"
)]

use lustrewalk::transport::{Progress, RoomLight, RoomLightSettings, Strengths};

use super::scenes::{json, number, scene, sky, vector};

/// Source: eight rooms computed with a general-purpose research renderer (unbiased path tracing, standard
/// error at most 0.12 %), the empty convex ones also with an independent radiosity solution.
/// Tolerance: 2 % plus three standard errors of both sides (the project's bound for patch methods).
/// The ninth room of the table, the self-emitting furnace, needs glowing walls, which a scene here cannot
/// have; `furnace.rs` covers its law.
#[test]
fn illuminances_match_the_path_tracer_in_every_room() {
    let table = json("rooms.json");
    let mut worst = (0.0_f64, String::new());
    let mut failures = Vec::new();
    for room in table["rooms"].as_array().unwrap() {
        let id = room["id"].as_str().unwrap();
        if id == "furnace" {
            continue;
        }
        let settings = RoomLightSettings {
            patch_m: 0.25,
            hemisphere_count: 512,
            pane_count: 128,
            sky_refinement: 4,
            points_per_patch: 16,
            seed: 3,
        };
        let light = RoomLight::prepare(scene(room), settings, &Progress::default()).unwrap();
        let mut strengths = Strengths::under(&sky(room), light.scene(), light.columns());
        strengths.fixtures = vec![1.0; light.scene().fixtures.len()];
        let state = light.solve(strengths).unwrap();
        for receiver in room["receivers"].as_array().unwrap() {
            let normal = vector(&receiver["normal"]);
            let point = vector(&receiver["position"]) + normal * 1e-3;
            let got = light.meter(&state, point, normal, 16_384);
            let expected = number(receiver, "E_total");
            let allowed = 0.02 * expected
                + 3.0 * number(receiver, "se_total")
                + 3.0 * f64::from(got.standard_error_lx);
            let error = (f64::from(got.total_lx()) - expected).abs();
            let name = format!("{id}/{}", receiver["name"].as_str().unwrap());
            if error / expected > worst.0 {
                worst = (error / expected, name.clone());
            }
            if error > allowed {
                failures.push(format!(
                    "{name}: {got:?} = {} lx, expected {expected} lx",
                    got.total_lx()
                ));
            }
            let direct = f64::from(got.sun_lx + got.sky_lx + got.fixtures_lx);
            let expected = number(receiver, "E_direct");
            // One lux absolute: where the direct part is next to nothing.
            if (direct - expected).abs()
                > 0.01 * expected + 1.0 + 3.0 * f64::from(got.standard_error_lx)
            {
                failures.push(format!(
                    "{name}: direct {direct} lx, expected {expected} lx"
                ));
            }
        }
    }
    println!("worst relative deviation {:.4} at {}", worst.0, worst.1);
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}
