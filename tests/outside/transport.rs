//! Direct light and form factors against closed forms.

#![allow(
    clippy::unwrap_used,
    reason = "a table that does not read is a broken checkout"
)]

use glam::{Mat3, Vec3};
use lustrewalk::{
    geometry::Polygon,
    luminaire::{Aperture, IntensityDistribution},
    scene::{Scene, Surface},
    sky::{CieType, SkyState},
    transport::{Progress, RoomLight, RoomLightSettings, Strengths},
};
use serde_json::Value;

use super::scenes::{corners, emitter, fixture, hole, json, number, vector};

fn coarse() -> RoomLightSettings {
    RoomLightSettings {
        hemisphere_count: 16,
        pane_count: 16,
        ..RoomLightSettings::default()
    }
}

fn empty() -> Scene {
    Scene {
        surfaces: Vec::new(),
        panes: Vec::new(),
        fixtures: Vec::new(),
        ground_reflectance: 0.0,
    }
}

/// Illuminance at a point of a scene under a sky, all fixtures at full output.
fn illuminance_lx(
    scene: Scene,
    sky: &SkyState,
    point: Vec3,
    normal: Vec3,
    rays: u32,
) -> (f64, f64) {
    let light = RoomLight::prepare(scene, coarse(), &Progress::default()).unwrap();
    let mut strengths = Strengths::under(sky, light.scene(), light.columns());
    strengths.fixtures = vec![1.0; light.scene().fixtures.len()];
    let state = light.solve(strengths).unwrap();
    let reading = light.meter(&state, point, normal, rays);
    (
        f64::from(reading.total_lx()),
        f64::from(reading.standard_error_lx),
    )
}

fn cases(name: &str) -> Vec<Value> {
    json("transport.json")["cases"][name]["list"]
        .as_array()
        .unwrap()
        .clone()
}

/// Source: inverse square and cosine law. Tolerance: single precision and an opening of 1 mm, 1e-3
/// (the project's bound is 1 %).
#[test]
fn point_source_follows_the_inverse_square_and_cosine_law() {
    let mut worst = 0.0_f64;
    for case in cases("point_source") {
        let mut scene = empty();
        let lamp = IntensityDistribution::isotropic(number(&case, "intensity") as f32);
        scene.fixtures.push(fixture(
            lamp,
            Aperture::Disc { diameter_m: 1e-3 },
            vector(&case["source"]),
            Mat3::IDENTITY,
        ));
        let (got, _) = illuminance_lx(
            scene,
            &SkyState::dark(),
            vector(&case["point"]),
            vector(&case["normal"]).normalize(),
            16,
        );
        let expected = number(&case, "E");
        let error = (got - expected).abs() / expected.max(1.0);
        worst = worst.max(error);
        assert!(
            error < 1e-3,
            "illuminance {got} lx, expected {expected} lx, for {case}"
        );
    }
    println!("worst {worst:.2e}");
}

/// Source: Lambert's polygon formula (table in closed form). A panel of the case's luminance as a fixture.
/// Tolerance: 1 % (the project's bound) plus 0.05 lx; 2 % nearer than a quarter of the panel's diagonal,
/// where the random points of the panel show.
#[test]
fn luminous_rectangle_matches_the_configuration_factor() {
    for name in ["rectangle_to_point_corner", "rectangle_to_point_general"] {
        for case in cases(name) {
            let value = serde_json::json!({ "type": "area_quad", "vertices": case["rectangle"], "luminance": case["luminance"] });
            let outline = corners(&case["rectangle"]);
            let point = vector(&case["point"]);
            let mut scene = empty();
            emitter(&value, &mut scene);
            let size = (outline[2] - outline[0]).length();
            let nearest = outline
                .iter()
                .map(|c| c.distance(point))
                .fold(f32::MAX, f32::min);
            let tolerance = if nearest < 0.25 * size { 0.02 } else { 0.01 };
            let (got, _) = illuminance_lx(
                scene,
                &SkyState::dark(),
                point,
                vector(&case["normal"]).normalize(),
                16,
            );
            let expected = number(&case, "E");
            assert!(
                (got - expected).abs() <= tolerance * expected + 0.05,
                "{got} lx, expected {expected} lx ({name}, nearest {nearest}, size {size})"
            );
        }
    }
}

/// Source: closed forms for parallel and perpendicular rectangles (the table, checked by Monte Carlo).
/// The receiving rectangle lets the uniform sky of 1/pi cd/m2 in as a hole; the mean illuminance of the
/// first rectangle is then its form factor. Tolerance 1 %: the mean over 4096 points, 96 rays each.
#[test]
fn rectangle_form_factors_match_closed_forms() {
    for case in cases("rectangle_to_rectangle") {
        let (from, to) = (corners(&case["from"]), corners(&case["to"]));
        let from = Polygon::from_world(&from, &[]).unwrap();
        // A black screen with a hole stands for "to": all other directions are dark.
        let mut scene = empty();
        scene.panes.push(hole(&to));
        let plane = Polygon::from_world(&to, &[]).unwrap();
        let frame = *plane.frame();
        let far = 500.0;
        let wall: Vec<Vec3> = [(-far, -far), (far, -far), (far, far), (-far, far)]
            .iter()
            .map(|(x, y)| frame.point(*x, *y))
            .collect();
        scene.surfaces.push(Surface {
            polygon: Polygon::from_world(&wall, std::slice::from_ref(&to)).unwrap(),
            reflectance: 0.0,
            back_reflectance: 0.0,
            reflectance_rgb: Vec3::ZERO,
            indoors: true,
            label: "screen".into(),
        });
        let light = RoomLight::prepare(scene, coarse(), &Progress::default()).unwrap();
        let uniform = SkyState::uniform(1.0 / std::f64::consts::PI)
            .with_ground_luminance(std::f32::consts::FRAC_1_PI);
        let state = light
            .solve(Strengths::under(&uniform, light.scene(), light.columns()))
            .unwrap();
        let mut sum = 0.0;
        const POINTS: u32 = 4096;
        for i in 0..POINTS {
            // The two irrational steps of R. Roberts' plane-filling sequence.
            let u = glam::Vec2::new(
                (i as f32 * 0.754_877_7).fract(),
                (i as f32 * 0.569_840_3).fract(),
            );
            let (low, high) = from.bounds_m();
            let p = low + (high - low) * u;
            let point = from.frame().point(p.x, p.y) + from.normal() * 1e-4;
            // Only what comes through the hole counts.
            sum += f64::from(through_hole(&light, &state, point, from.normal(), 48, i));
        }
        let (got, expected) = (sum / f64::from(POINTS), number(&case, "F"));
        assert!(
            (got - expected).abs() < 0.01 * expected + 2e-4,
            "form factor {got}, expected {expected} for {case}"
        );
    }
}

fn through_hole(
    light: &RoomLight,
    state: &lustrewalk::transport::LightState,
    point: Vec3,
    normal: Vec3,
    rays: u32,
    seed: u32,
) -> f32 {
    use lustrewalk::transport::{GatherPoint, GatherRequest};
    let frame = lustrewalk::geometry::Frame::new(point, normal, Vec3::X);
    let points = [point];
    let request = GatherRequest {
        hemisphere_count: rays,
        pane_count: rays,
        seed,
    };
    let row = light.tracer().gather(
        GatherPoint {
            frame: &frame,
            points: &points,
        },
        request,
        |d| d.z,
    );
    row.iter()
        .filter(|e| light.columns().pane_of(e.target).is_some())
        .map(|e| e.weight * state.luminance_cd_m2[e.target as usize])
        .sum()
}

/// Source: Gauss quadrature of the sky component of a window, uniform and CIE overcast sky, nothing from
/// the ground. Tolerance 1 % plus three standard errors: the 2305-cell sky.
#[test]
fn sky_components_of_windows_match_quadrature() {
    let mut worst = 0.0_f64;
    for case in cases("sky_component") {
        let (room, window) = (&case["room"], &case["window"]);
        let get = |v: &Value, k: &str| number(v, k) as f32;
        let (w, h) = (get(room, "width_x"), get(room, "height_z"));
        let plane = window["plane"].as_str().unwrap();
        assert_eq!(plane, "y=0");
        let to = |x: f32, z: f32| Vec3::new(x, z, 0.0);
        let (x0, x1, z0, z1) = (
            get(window, "x0"),
            get(window, "x1"),
            get(window, "z_sill"),
            get(window, "z_head"),
        );
        // Interior y > 0 is world -z: the wall faces it.
        let outline = vec![to(x1, z0), to(x0, z0), to(x0, z1), to(x1, z1)];
        let wall = vec![to(w, 0.0), to(0.0, 0.0), to(0.0, h), to(w, h)];
        let mut scene = empty();
        scene.panes.push(hole(&outline));
        scene.surfaces.push(Surface {
            polygon: Polygon::from_world(&wall, &[outline]).unwrap(),
            reflectance: 0.0,
            back_reflectance: 0.0,
            reflectance_rgb: Vec3::ZERO,
            indoors: true,
            label: "wall".into(),
        });
        // Everything beyond the wall's edges is dark too.
        let settings = RoomLightSettings {
            sky_refinement: 4,
            ..coarse()
        };
        let light = RoomLight::prepare(scene, settings, &Progress::default()).unwrap();
        let point = vector(&case["point"]);
        let normal = vector(&case["normal"]);
        for (sky, key) in [
            (SkyState::uniform(1.0), "E_uniform_per_luminance"),
            (
                SkyState::cie_with_zenith_luminance(CieType::OVERCAST, Some(Vec3::Y), 1.0, 0.0),
                "E_overcast_per_zenith_luminance",
            ),
        ] {
            let state = light
                .solve(Strengths::under(
                    &sky.with_ground_luminance(0.0),
                    light.scene(),
                    light.columns(),
                ))
                .unwrap();
            let got: f64 = (0..4)
                .map(|k| {
                    f64::from(through_hole(
                        &light,
                        &state,
                        point + normal * 1e-4,
                        normal,
                        4096,
                        k,
                    ))
                })
                .sum::<f64>()
                / 4.0;
            let expected = number(&case, key);
            let error = (got - expected).abs() / expected;
            worst = worst.max(error);
            assert!(
                (got - expected).abs() < 0.01 * expected + 2e-4,
                "{key}: {got} lx, expected {expected} lx for {case}"
            );
        }
    }
    println!("worst {worst:.4}");
}

/// Source: closed room of uniform reflectance (physics of the integrating sphere applied to a cube):
/// mean indirect illuminance = flux rho / (area (1 - rho)); CIE 171:2006 case 5.8 uses the same law.
/// Tolerance 1 %.
#[test]
fn mean_indirect_illuminance_of_a_grey_cube_matches_the_closed_form() {
    for (reflectance, expected) in [(0.1, 11.57), (0.5, 104.17), (0.8, 416.67)] {
        let mut scene = empty();
        for axis in 0..3 {
            for sign in [-1.0_f32, 1.0] {
                let mut normal = Vec3::ZERO;
                normal[axis] = -sign;
                let u = Vec3::from([normal.z, normal.x, normal.y]).abs();
                let v = normal.cross(u);
                let c = -normal * 2.0;
                let outline = [
                    c - u * 2.0 - v * 2.0,
                    c + u * 2.0 - v * 2.0,
                    c + u * 2.0 + v * 2.0,
                    c - u * 2.0 + v * 2.0,
                ];
                scene.surfaces.push(Surface {
                    polygon: Polygon::from_world(&outline, &[]).unwrap(),
                    reflectance,
                    back_reflectance: 0.0,
                    reflectance_rgb: Vec3::splat(reflectance),
                    indoors: true,
                    label: String::new(),
                });
            }
        }
        // 10 000 lm all round.
        let lamp = IntensityDistribution::isotropic(10_000.0 / (4.0 * std::f32::consts::PI));
        scene.fixtures.push(fixture(
            lamp,
            Aperture::Disc { diameter_m: 1e-3 },
            Vec3::ZERO,
            Mat3::IDENTITY,
        ));
        let settings = RoomLightSettings {
            points_per_patch: 16,
            ..RoomLightSettings::default()
        };
        let light = RoomLight::prepare(scene, settings, &Progress::default()).unwrap();
        let state = light
            .solve(Strengths::dark(light.scene(), light.columns()).with_fixtures(vec![1.0]))
            .unwrap();
        let (mut total, mut area) = (0.0, 0.0);
        for (patch, lx) in light
            .patches()
            .list()
            .iter()
            .zip(&state.patch_illuminance_lx)
        {
            total += f64::from(patch.area_m2 * lx);
            area += f64::from(patch.area_m2);
        }
        let direct = 10_000.0 / 96.0;
        let got = total / area - direct;
        assert!((area - 96.0).abs() < 0.01, "area {area} m2");
        assert!(
            (got - expected).abs() < 0.01 * expected,
            "indirect {got} lx, expected {expected} lx at reflectance {reflectance}"
        );
    }
}
