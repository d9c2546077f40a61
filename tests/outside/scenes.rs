//! Scenes of the reference rooms (x east, y north, z up) in the program's world (+Y up).

#![allow(
    clippy::unwrap_used,
    reason = "a table that does not read is a broken checkout"
)]

use std::sync::Arc;

use glam::{Mat3, Vec3};
use lustrewalk::{
    geometry::Polygon,
    luminaire::{Aperture, IntensityDistribution},
    material::Glazing,
    scene::{Fixture, Pane, Scene, Surface},
    sky::{CieType, SkyState},
};
use serde_json::Value;

/// A table in `tests/data`.
pub fn json(name: &str) -> Value {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    serde_json::from_str(&text).expect("sound JSON")
}

pub fn number(value: &Value, key: &str) -> f64 {
    value[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} is {}", value[key]))
}

/// A position or direction.
pub fn vector(value: &Value) -> Vec3 {
    let v: Vec<f32> = value
        .as_array()
        .expect("three numbers")
        .iter()
        .map(|x| x.as_f64().unwrap() as f32)
        .collect();
    Vec3::new(v[0], v[2], -v[1])
}

pub fn corners(value: &Value) -> Vec<Vec3> {
    value
        .as_array()
        .expect("corners")
        .iter()
        .map(vector)
        .collect()
}

pub fn surface(value: &Value, indoors: bool) -> Surface {
    let reflectance = number(value, "reflectance") as f32;
    Surface {
        polygon: Polygon::from_world(&corners(&value["vertices"]), &[]).unwrap(),
        reflectance,
        back_reflectance: 0.0,
        reflectance_rgb: Vec3::splat(reflectance),
        indoors,
        label: value["name"].as_str().unwrap_or("").into(),
    }
}

/// An unglazed hole.
pub fn hole(outline: &[Vec3]) -> Pane {
    Pane {
        polygon: Polygon::from_world(outline, &[]).unwrap(),
        glazing: Glazing::open(),
        clear_factor: 1.0,
        blind_open: 1.0,
        diffuse_transmittance: 0.0,
        diffuse_reflectance: 0.0,
        exterior: true,
        label: "hole".into(),
    }
}

/// A fixture at full output with no maintenance loss.
pub fn fixture(
    distribution: IntensityDistribution,
    aperture: Aperture,
    position: Vec3,
    rotation: Mat3,
) -> Fixture {
    Fixture {
        distribution: Arc::new(distribution),
        aperture,
        position,
        world_from_luminaire: rotation,
        dimming: 1.0,
        maintenance_factor: 1.0,
        cct_k: 3000.0,
        label: "lamp".into(),
    }
}

/// Linear in angle from the full intensity at `beam` to nothing at `cutoff`.
fn spot(intensity_cd: f64, beam_deg: f64, cutoff_deg: f64) -> IntensityDistribution {
    let gamma: Vec<f64> = vec![0.0, beam_deg, cutoff_deg];
    let cd = vec![intensity_cd as f32, intensity_cd as f32, 0.0];
    IntensityDistribution::from_table(
        gamma.iter().map(|g| g.to_radians() as f32).collect(),
        vec![0.0],
        cd,
    )
    .unwrap()
}

const DOT: Aperture = Aperture::Disc { diameter_m: 1e-3 };

/// Adds an emitter of the reference rooms.
pub fn emitter(value: &Value, scene: &mut Scene) {
    match value["type"].as_str().unwrap() {
        "point" => scene.fixtures.push(fixture(
            IntensityDistribution::isotropic(number(value, "intensity") as f32),
            DOT,
            vector(&value["position"]),
            Mat3::IDENTITY,
        )),
        "spot" => scene.fixtures.push(fixture(
            spot(
                number(value, "intensity"),
                number(value, "beam_half_angle_deg"),
                number(value, "cutoff_half_angle_deg"),
            ),
            DOT,
            vector(&value["position"]),
            Fixture::rotation(vector(&value["direction"]).normalize(), Vec3::X, 0.0),
        )),
        "area_quad" => {
            let v = corners(&value["vertices"]);
            let (along, across) = (v[1] - v[0], v[3] - v[0]);
            let normal = along.cross(across).normalize();
            let area = along.length() * across.length();
            let x = along.normalize();
            let distribution =
                IntensityDistribution::lambertian(number(value, "luminance") as f32 * area);
            let aperture = Aperture::Rectangle {
                length_m: along.length(),
                width_m: across.length(),
            };
            let centre = (v[0] + v[2]) / 2.0;
            let rotation = Mat3::from_cols(x, (-normal).cross(x), -normal);
            scene
                .fixtures
                .push(fixture(distribution, aperture, centre, rotation));
            // It is opaque and reflects nothing.
            let behind: Vec<Vec3> = v.iter().map(|p| *p - normal * 1e-3).collect();
            scene.surfaces.push(Surface {
                polygon: Polygon::from_world(&behind, &[]).unwrap(),
                reflectance: 0.0,
                back_reflectance: 0.0,
                reflectance_rgb: Vec3::ZERO,
                indoors: true,
                label: "panel".into(),
            });
        }
        "sun" => {}
        other => panic!("no emitter {other}"),
    }
}

/// The scene of a room's description.
pub fn scene(room: &Value) -> Scene {
    let none = Vec::new();
    let list = |key: &str| room[key].as_array().unwrap_or(&none).clone();
    let mut scene = Scene {
        surfaces: list("surfaces").iter().map(|s| surface(s, true)).collect(),
        panes: list("openings")
            .iter()
            .map(|o| hole(&corners(&o["vertices"])))
            .collect(),
        fixtures: Vec::new(),
        ground_reflectance: 0.0,
    };
    scene
        .surfaces
        .extend(list("exterior_surfaces").iter().map(|s| surface(s, false)));
    for value in list("emitters") {
        emitter(&value, &mut scene);
    }
    scene
}

/// The sky of a room's description.
pub fn sky(room: &Value) -> SkyState {
    let sky = &room["sky"];
    let none = Vec::new();
    let sun = room["emitters"]
        .as_array()
        .unwrap_or(&none)
        .iter()
        .find(|e| e["type"] == "sun")
        .cloned();
    let Some(model) = sky["model"].as_str() else {
        return SkyState::dark();
    };
    let ground = number(sky, "ground_luminance") as f32;
    let zenith = number(sky, "zenith_luminance");
    let state = if model == "uniform" {
        SkyState::uniform(zenith)
    } else {
        let kind = CieType::try_from(number(sky, "cie_type") as u8).unwrap();
        let sun_dir = if sky["sun_direction"].is_array() {
            vector(&sky["sun_direction"]).normalize()
        } else {
            Vec3::new(0.3, 0.8, 0.2).normalize()
        };
        let direct = sun.map_or(0.0, |s| number(&s, "normal_illuminance"));
        SkyState::cie_with_zenith_luminance(kind, Some(sun_dir), zenith, direct)
    };
    state.with_ground_luminance(ground)
}
