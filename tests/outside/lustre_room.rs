//! Luminance of a metal tile in a room with window, panel and spot, against an independent path tracer.

#![allow(
    clippy::unwrap_used,
    reason = "a table that does not read is a broken checkout"
)]

use glam::Vec3;
use lustrewalk::{
    geometry::Frame,
    material::{Brdf, BrushedMetal, MetalParameters, MetalReflectance},
    scene::{HungPiece, HungTile, POINTS_PER_TILE, Station},
    transport::{Lustre, Progress, RoomLight, RoomLightSettings, Strengths, ViewSettings},
};

use super::scenes::{json, number, scene, sky, vector};

/// Source: a general-purpose research renderer, unbiased, standard error at most 0.28 %; 96 rows over two
/// materials, four brush directions and twelve eyes. The column of the height-correlated masking term is
/// compared. Tolerance: 3 % plus three standard errors of both sides (the project's bound).
/// Multiple scattering between facets is not in the reference, so it is switched off here.
#[test]
fn tile_luminances_match_the_path_tracer() {
    let table = json("lustre_room.json");
    let room = &table["room"];
    let settings = RoomLightSettings {
        patch_m: 0.25,
        hemisphere_count: 512,
        pane_count: 128,
        sky_refinement: 3,
        points_per_patch: 16,
        seed: 4,
    };
    let light = RoomLight::prepare(scene(room), settings, &Progress::default()).unwrap();
    let state = light
        .solve(Strengths::under(&sky(room), light.scene(), light.columns()))
        .unwrap();
    let centre = vector(&table["tile"]["centre"]);
    let normal = vector(&table["tile"]["normal"]);
    let rows = table["rows"].as_array().unwrap();
    let mut worst = (0.0_f64, String::new());
    let mut failures = Vec::new();
    for material in table["materials"].as_array().unwrap() {
        let name = material["name"].as_str().unwrap();
        let reflectance = match (material["eta"].as_f64(), material["k"].as_f64()) {
            (Some(n), Some(k)) => MetalReflectance::Index {
                n: n as f32,
                k: k as f32,
            },
            _ => MetalReflectance::Flat(1.0),
        };
        let brdf = Brdf::Metal(
            BrushedMetal::new(&MetalParameters {
                reflectance,
                scale: 1.0,
                alpha_along: number(material, "alpha_u") as f32,
                alpha_across: number(material, "alpha_v") as f32,
            })
            .unwrap()
            .single_scattering(),
        );
        for angle in [0.0_f32, 30.0, 60.0, 90.0] {
            let (sin, cos) = angle.to_radians().sin_cos();
            let along = Vec3::new(cos, sin, 0.0);
            let tile = HungTile {
                id: 1,
                frame: Frame::new(centre + normal * 1e-3, normal, along),
                points: [centre + normal * 1e-3; POINTS_PER_TILE],
                area_m2: 0.04,
                material_index: 0,
            };
            let chosen: Vec<_> = rows
                .iter()
                .filter(|r| {
                    r["material"] == name
                        && (number(r, "brush_angle_deg") as f32 - angle).abs() < 0.1
                })
                .collect();
            assert_eq!(chosen.len(), 12);
            let stations: Vec<Station> = chosen
                .iter()
                .map(|r| {
                    let eye = vector(&r["eye"]);
                    Station {
                        eye,
                        gaze_dir: (centre - eye).normalize(),
                        distance_m: 0.0,
                    }
                })
                .collect();
            let piece = HungPiece {
                tiles: vec![tile],
                materials: vec![brdf.clone()],
                material_names: vec![name.into()],
                centre,
                normal,
                surround_points: Vec::new(),
                surround_reflectance: 0.5,
                neighbours: Vec::new(),
            };
            let view = ViewSettings {
                tile_count: 2048,
                pane_count: 2048,
                lobe_count: 4096,
                most_lobe_count: 4096,
                ..ViewSettings::default()
            };
            let lustre = Lustre::view(
                &light,
                piece,
                stations,
                view,
                std::slice::from_ref(&state),
                &Progress::default(),
            )
            .unwrap();
            let sun = lustre.light().sun_on_tiles_lx(&light, &state);
            for (s, row) in chosen.iter().enumerate() {
                let reading = lustre.read(&state, &sun, s);
                let got = f64::from(reading.luminance_cd_m2[0]);
                let error = f64::from(reading.standard_error_cd_m2[0]);
                let expected = number(row, "L_height_correlated");
                let allowed =
                    0.03 * expected + 3.0 * number(row, "se_height_correlated") + 3.0 * error;
                let relative = (got - expected).abs() / expected;
                let what = format!("{name}, brush {angle} deg, eye {}", row["eye"]);
                if relative > worst.0 {
                    worst = (relative, what.clone());
                }
                if (got - expected).abs() > allowed {
                    failures.push(format!(
                        "{what}: {got:.2} cd/m2 +- {error:.2}, expected {expected:.2}"
                    ));
                }
            }
        }
    }
    println!("worst relative deviation {:.4} at {}", worst.0, worst.1);
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}
