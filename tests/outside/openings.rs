//! Light through windows: the sun's energy, glass by angle, and diffusing panes.

use glam::{Vec2, Vec3};
use lustrewalk::{
    material::Glazing,
    sky::SkyState,
    transport::{RoomLight, RoomLightSettings, Strengths},
};

use super::boxes::{BoxRoom, Face, lamp, prepared, quick};

const SUN_LX: f32 = 80_000.0;

fn sun(light: &RoomLight, sun_dir: Vec3) -> Strengths {
    Strengths {
        sun_dir: Some(sun_dir),
        sun_normal_illuminance_lx: SUN_LX,
        ..Strengths::dark(light.scene(), light.columns())
    }
}

/// Source: energy. What the sun sends through an east window, E_n A cos tau, arrives on the nearly black floor
/// and walls: the sum of illuminance x area. Four heights of the sun, an open hole and double glass (tau from
/// the law of the glass at that angle). Tolerance 3 %: 16 points on patches of 20 cm, of which the
/// sun's edge crosses many.
#[test]
fn sun_patch_holds_what_the_window_lets_in() {
    let glass = Glazing::new(0.78, 2).unwrap();
    let mut worst = 0.0_f64;
    for glazing in [None, Some(glass)] {
        let scene = BoxRoom::new(Vec3::new(5.0, 3.0, 4.0), 1e-4)
            .with_window(
                Face::East,
                Vec2::new(1.1, 0.7),
                Vec2::new(2.9, 2.2),
                |pane| {
                    if let Some(glass) = &glazing {
                        pane.glazing = glass.clone();
                        pane.clear_factor = 0.9;
                    }
                },
            )
            .scene();
        let settings = RoomLightSettings {
            patch_m: 0.2,
            hemisphere_count: 4,
            pane_count: 4,
            ..quick()
        };
        let light = prepared(scene, settings);
        for (x, y, z) in [
            (1.0, 0.2, 0.0),
            (1.0, 0.5, 0.1),
            (1.0, 1.0, -0.3),
            (1.0, 0.3, 1.1),
        ] {
            let sun_dir = Vec3::new(x, y, z).normalize();
            let state = light.solve(sun(&light, sun_dir)).unwrap();
            let got: f64 = light
                .patches()
                .list()
                .iter()
                .zip(&state.patch_illuminance_lx)
                .map(|(p, lx)| f64::from(p.area_m2 * lx))
                .sum();
            let through = glazing
                .as_ref()
                .map_or(1.0, |g| 0.9 * g.transmittance(sun_dir.x));
            let expected = f64::from(SUN_LX * 1.8 * 1.5 * sun_dir.x * through);
            worst = worst.max((got / expected - 1.0).abs());
            assert!(
                (got / expected - 1.0).abs() < 0.03,
                "sun {sun_dir}: {got} lm on the patches, {expected} lm through the window"
            );
        }
    }
    println!("worst {worst:.4}");
}

/// Source: physics sheet C5.2, single clear glass relative to normal incidence. A small window far away, seen at these
/// angles from its normal: what a meter has through the glass, over what it has through the bare hole, for the sky,
/// the sun and a lamp outside. Tolerance 1 %: printed digits, and the window is 3 deg wide.
#[test]
fn light_through_glass_falls_with_the_angle() {
    let glass = Glazing::new(0.88, 1).unwrap();
    let mut worst = 0.0_f64;
    for (angle_deg, relative) in [(0.0_f32, 1.0), (30.0, 0.995), (60.0, 0.910), (75.0, 0.657)] {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let middle = Vec3::new(10.0, 5.0, 5.0);
        let out = Vec3::new(cos, sin, 0.0);
        let point = middle - out * 4.0;
        let read = |glazing: Glazing| {
            let mut scene = BoxRoom::new(Vec3::new(10.0, 10.0, 10.0), 0.0)
                .with_window(Face::East, Vec2::splat(4.9), Vec2::splat(5.1), |pane| {
                    pane.glazing = glazing;
                })
                .scene();
            scene.fixtures = vec![lamp(middle + out * 3.0, 5000.0)];
            let light = prepared(scene, quick());
            let sky = SkyState::uniform(5000.0).with_ground_luminance(5000.0);
            let strengths = Strengths::under(&sky, light.scene(), light.columns());
            let state = light
                .solve(Strengths {
                    sun_dir: Some(out),
                    sun_normal_illuminance_lx: SUN_LX,
                    fixtures: vec![1.0],
                    ..strengths
                })
                .unwrap();
            light.meter(&state, point, out, 4096)
        };
        let (open, glazed) = (read(Glazing::open()), read(glass.clone()));
        let expected = 0.88 * relative;
        for (what, a, b) in [
            ("sky", glazed.sky_lx, open.sky_lx),
            ("sun", glazed.sun_lx, open.sun_lx),
            ("lamp", glazed.fixtures_lx, open.fixtures_lx),
        ] {
            let got = f64::from(a / b);
            worst = worst.max((got / expected - 1.0).abs());
            assert!(
                b > 0.5,
                "{what}: {b} lx through the hole at {angle_deg} deg"
            );
            assert!(
                (got / expected - 1.0).abs() < 0.01,
                "{what} at {angle_deg} deg: {a} lx of {b} lx is {got}, expected {expected}"
            );
        }
    }
    println!("worst {worst:.4}");
}

/// Source: physics sheet C5.4: a perfect diffuser with 40 klx outside and half transmitted shows 6366 cd/m2
/// inside, from every direction. Once with the sky alone as the source, once with the sun (30 deg off) giving
/// half. An eye and a meter under it agree. Tolerance 2 % (the project's bound).
#[test]
fn diffusing_pane_glows_evenly() {
    let scene = BoxRoom::new(Vec3::new(4.0, 3.0, 4.0), 0.0)
        .with_window(
            Face::Ceiling,
            Vec2::new(1.0, 1.0),
            Vec2::new(3.0, 3.0),
            |pane| {
                pane.glazing = Glazing::new(0.0, 1).unwrap();
                pane.diffuse_transmittance = 0.5;
                pane.diffuse_reflectance = 0.3;
            },
        )
        .scene();
    let light = prepared(scene, quick());
    let sun_dir = Vec3::new(0.5, 0.75_f32.sqrt(), 0.0);
    let mut worst = 0.0_f64;
    for (sky_lx, sun_lx) in [(40_000.0, 0.0), (20_000.0, 20_000.0)] {
        let sky = SkyState::uniform(sky_lx / std::f64::consts::PI).with_ground_luminance(0.0);
        let strengths = Strengths::under(&sky, light.scene(), light.columns());
        let state = light
            .solve(Strengths {
                sun_dir: Some(sun_dir),
                sun_normal_illuminance_lx: sun_lx / sun_dir.y,
                ..strengths
            })
            .unwrap();
        let mut seen = 0;
        for (patch, got) in light.patches().list().iter().zip(&state.luminance_cd_m2) {
            if patch.normal.y < 0.0 {
                seen += 1;
                let got = f64::from(*got);
                worst = worst.max((got / 6366.2 - 1.0).abs());
                assert!(
                    (got / 6366.2 - 1.0).abs() < 0.02,
                    "{got} cd/m2, expected 6366 cd/m2"
                );
            }
        }
        assert!(seen >= 16, "{seen} patches inside");
        // Under its middle at 2 m a square of half side 1 m has the configuration factor
        // 4 (2 / pi) a / sqrt(1 + a^2) atan(a / sqrt(1 + a^2)) / 4, a = 1 / 2.
        let part = 0.5_f64 / 1.25_f64.sqrt();
        let factor = 4.0 / std::f64::consts::PI * part * part.atan();
        let meter = light.meter(&state, Vec3::new(2.0, 1.0, 2.0), Vec3::Y, 4096);
        let expected = std::f64::consts::PI * 6366.2 * factor;
        let got = f64::from(meter.total_lx());
        worst = worst.max((got / expected - 1.0).abs());
        assert!(
            (got / expected - 1.0).abs() < 0.02,
            "{got} lx, expected {expected} lx"
        );
        assert_eq!(
            meter.sun_lx, 0.0,
            "the sun passes a pane without clear part"
        );
    }
    println!("worst {worst:.4}");
}
