//! Beams, simple distributions and luminous openings against closed forms.

use std::f32::consts::{FRAC_PI_2, PI};

use glam::{Vec2, Vec3};
use lustrewalk::luminaire::{
    Aperture, Beam, BeamError, BeamOutput, IntensityDistribution, direction_from_angles,
};

use super::luminaire::{assert_share, brute_force_flux_lm};

/// Closed forms: ratio of the exact illuminance of a Lambertian emitter on its axis to the point formula, at
/// distances of 1, 2, 3, 5, 10 sizes. Square: corner form factor; disc: d^2/(d^2 + R^2). Tolerance: the
/// printed digits, and 0.1 % for the 64 x 64 points.
#[test]
fn points_of_an_opening_give_the_near_field_of_its_closed_form() {
    let ratio = |aperture: Aperture, distance_m: f32| {
        let whole = IntensityDistribution::lambertian(1.0);
        let steps = 64;
        let mut illuminance_lx = 0.0;
        for i in 0..steps {
            for j in 0..steps {
                let u = Vec2::new(i as f32 + 0.5, j as f32 + 0.5) / steps as f32;
                let to_point = Vec3::new(0.0, 0.0, -distance_m) - aperture.point(u);
                let cosine = distance_m / to_point.length();
                illuminance_lx += whole.intensity_cd(to_point) * cosine / to_point.length_squared();
            }
        }
        f64::from(illuminance_lx / (steps * steps) as f32 * distance_m * distance_m)
    };
    let square = Aperture::Rectangle {
        width_m: 1.0,
        length_m: 1.0,
    };
    let disc = Aperture::Disc { diameter_m: 1.0 };
    let line = Aperture::Rectangle {
        width_m: 1.0,
        length_m: 0.0,
    };
    for (distance, of_square, of_disc, of_line) in [
        (1.0, 0.752, 0.800, 0.864),
        (2.0, 0.923, 0.941, 0.961),
        (3.0, 0.964, 0.973, 0.982),
        (5.0, 0.987, 0.9901, 0.9934),
        (10.0, 0.9967, 0.9975, 0.9983),
    ] {
        assert_share("square", "", ratio(square, distance), of_square, 1.2e-3);
        assert_share("disc", "", ratio(disc, distance), of_disc, 1.2e-3);
        assert_share("line", "", ratio(line, distance), of_line, 1.2e-3);
    }
}

/// Cosine-power beams: beam [deg], field [deg], flux per centre candela [sr], share of flux inside the beam.
/// Closed forms: n = ln 0.5 / ln cos(b/2), field 2 acos(0.1^(1/n)), 2 pi / (n+1), 1 - cos^(n+1).
#[expect(clippy::approx_constant, reason = "digits as printed in a table")]
const COSINE_BEAMS: [(f32, f64, f64, f64); 11] = [
    (6.0, 10.93, 0.01241, 0.5007),
    (10.0, 18.20, 0.03437, 0.5019),
    (15.0, 27.25, 0.07693, 0.5043),
    (20.0, 36.24, 0.13577, 0.5076),
    (24.0, 43.37, 0.19410, 0.5109),
    (30.0, 53.95, 0.29929, 0.5170),
    (36.0, 64.34, 0.42417, 0.5245),
    (40.0, 71.16, 0.51742, 0.5302),
    (60.0, 103.35, 1.07980, 0.5670),
    (90.0, 143.13, 2.09440, 0.6464),
    (120.0, 168.52, 3.14159, 0.7500),
];

/// Flux within a half angle of the axis [lm], by a midpoint sum in the half angle.
fn flux_inside_lm(distribution: &IntensityDistribution, half_rad: f64) -> f64 {
    let steps = 20_000;
    let step = half_rad / f64::from(steps);
    (0..steps)
        .map(|i| {
            let gamma = (f64::from(i) + 0.5) * step;
            let direction = direction_from_angles(gamma as f32, 0.3);
            f64::from(distribution.intensity_cd(direction)) * gamma.sin() * step
        })
        .sum::<f64>()
        * std::f64::consts::TAU
}

/// Source: [`COSINE_BEAMS`]. Tolerance: half a unit of the last printed digit.
#[test]
fn beams_from_their_beam_angle_follow_the_cosine_power_table() {
    for (beam_deg, field_deg, flux_per_cd, share_inside) in COSINE_BEAMS {
        let beam = Beam {
            beam_angle_rad: beam_deg.to_radians(),
            field_angle_rad: None,
            output: BeamOutput::FluxLm(1000.0),
        };
        let light = beam.distribution().expect("within limits");
        let (centre_cd, gamma_rad, _) = light.peak_cd();
        assert_eq!(gamma_rad, 0.0);
        let what = format!("beam {beam_deg}");
        assert_share(
            &what,
            "sr",
            1000.0 / f64::from(centre_cd),
            flux_per_cd,
            5e-4,
        );
        assert_share(&what, "lm", light.flux_lm(), 1000.0, 1e-6);
        let found_deg = f64::from(light.beam_angle_rad().to_degrees());
        assert_share(
            &format!("{what}, found"),
            "deg",
            found_deg,
            f64::from(beam_deg),
            1e-3,
        );
        let found_deg = f64::from(light.field_angle_rad().to_degrees());
        assert_share(&format!("{what}, field"), "deg", found_deg, field_deg, 1e-3);
        let inside = flux_inside_lm(&light, f64::from(beam_deg.to_radians()) / 2.0) / 1000.0;
        assert_share(&format!("{what}, inside"), "", inside, share_inside, 2e-4);
    }
}

/// Definition: 50 % at half the beam angle and 10 % at half the field angle. Flux against a midpoint sum
/// (1e-4: the sum's own error). With the field angle of [`COSINE_BEAMS`] the beam is the cosine-power one.
#[test]
fn beams_with_both_angles_meet_both() {
    for (beam_deg, field_deg) in [
        (6.0, 8.0),
        (10.0, 30.0),
        (24.0, 36.0),
        (60.0, 90.0),
        (100.0, 150.0),
        (20.0_f32, 22.0_f32),
    ] {
        let beam = Beam {
            beam_angle_rad: beam_deg.to_radians(),
            field_angle_rad: Some(field_deg.to_radians()),
            output: BeamOutput::CentreCd(3000.0),
        };
        let light = beam.distribution().expect("within limits");
        let at =
            |deg: f32| f64::from(light.intensity_cd(direction_from_angles(deg.to_radians(), 2.0)));
        let what = format!("beam {beam_deg}, field {field_deg}");
        assert_share(&what, "cd", at(0.0), 3000.0, 1e-6);
        assert_share(&what, "cd", at(beam_deg / 2.0), 1500.0, 1e-4);
        assert_share(&what, "cd", at(field_deg / 2.0), 300.0, 3e-4);
        let sum_lm = flux_inside_lm(&light, std::f64::consts::FRAC_PI_2);
        assert_share(&what, "lm", light.flux_lm(), sum_lm, 1e-4);
        let mut last = f64::INFINITY;
        for step in 0..=1800 {
            let now = at(step as f32 * 0.05);
            assert!(now <= last && now >= 0.0, "{what}: rises at {step}");
            last = now;
        }
    }
    for (beam_deg, field_deg, flux_per_cd, _) in COSINE_BEAMS {
        let beam = Beam {
            beam_angle_rad: beam_deg.to_radians(),
            field_angle_rad: Some((field_deg as f32).to_radians()),
            output: BeamOutput::CentreCd(1.0),
        };
        let flux_lm = beam.distribution().expect("within limits").flux_lm();
        // The printed field angle has 4 digits.
        assert_share(
            &format!("beam {beam_deg}"),
            "lm",
            flux_lm,
            flux_per_cd,
            1e-3,
        );
    }
}

/// A beam angle of 0, below, 180 or none must be refused with its limits, never give NaN.
#[test]
fn impossible_beams_are_refused() {
    let beam = |beam_deg: f32, field_deg: Option<f32>, output| {
        Beam {
            beam_angle_rad: beam_deg.to_radians(),
            field_angle_rad: field_deg.map(f32::to_radians),
            output,
        }
        .distribution()
    };
    let light = BeamOutput::FluxLm(1000.0);
    for beam_deg in [0.0, -5.0, 0.5, 161.0, 180.0, 400.0, f32::NAN, f32::INFINITY] {
        let error = beam(beam_deg, None, light).expect_err("out of range");
        assert!(error.to_string().contains("1 to 160"), "{error}");
    }
    for field_deg in [0.0, 24.0, 10.0, 24.5, 100.0, 180.0, f32::NAN] {
        let found = beam(24.0, Some(field_deg), light);
        assert!(
            matches!(found, Err(BeamError::FieldAngle { .. })),
            "{field_deg}: {found:?}"
        );
    }
    for amount in [-1.0, f32::NAN, f32::INFINITY] {
        assert!(beam(24.0, None, BeamOutput::FluxLm(amount)).is_err());
        assert!(beam(24.0, None, BeamOutput::CentreCd(amount)).is_err());
    }
    for beam_deg in [1.0, 160.0] {
        let whole = beam(beam_deg, None, light).expect("at the limit");
        for step in 0..=360 {
            let direction = direction_from_angles(PI * step as f32 / 360.0, 1.0);
            assert!(whole.intensity_cd(direction).is_finite());
        }
        assert_eq!(whole.intensity_cd(Vec3::X), 0.0);
        assert_eq!(whole.intensity_cd(Vec3::Z), 0.0);
    }
}

/// Closed forms: 3000 cd at 3 m and 30 degrees of incidence give 288.68 lx; 1000 lm in all directions are
/// 79.577 cd; a Lambertian has pi times its peak. Tolerance: the printed digits.
#[test]
fn simple_distributions_follow_their_closed_forms() {
    let spot = Beam {
        beam_angle_rad: 24.0_f32.to_radians(),
        field_angle_rad: None,
        output: BeamOutput::CentreCd(3000.0),
    };
    let centre_cd = spot
        .distribution()
        .expect("within limits")
        .intensity_cd(Vec3::NEG_Z);
    let illuminance_lx = f64::from(centre_cd) / 9.0 * 30.0_f64.to_radians().cos();
    assert_share("illuminance", "lx", illuminance_lx, 288.68, 2e-5);
    let bulb = IntensityDistribution::isotropic(79.577);
    assert_share("isotropic", "lm", bulb.flux_lm(), 1000.0, 1e-5);
    assert_share(
        "isotropic, summed",
        "lm",
        brute_force_flux_lm(&bulb, 90),
        1000.0,
        1e-4,
    );
    let panel = IntensityDistribution::lambertian(100.0);
    assert_share("Lambertian", "lm", panel.flux_lm(), 314.159, 1e-5);
    assert_share(
        "Lambertian, summed",
        "lm",
        brute_force_flux_lm(&panel, 360),
        314.159,
        1e-4,
    );
    let beam_deg = f64::from(panel.beam_angle_rad().to_degrees());
    assert_share("Lambertian beam angle", "deg", beam_deg, 120.0, 1e-4);
    let luminance_cd_m2 =
        3000.0 / f64::from(Aperture::Disc { diameter_m: 0.05 }.projected_area_m2(Vec3::NEG_Z));
    assert_share(
        "50 mm disc with 3000 cd",
        "cd/m2",
        luminance_cd_m2,
        1.528e6,
        3e-4,
    );
    // Steep to the side: the disc shows half its area at 60 degrees.
    let side = direction_from_angles(FRAC_PI_2 / 1.5, 0.0);
    let half = Aperture::Disc { diameter_m: 1.0 }.projected_area_m2(side);
    assert_share(
        "disc from 60 degrees",
        "m2",
        f64::from(half),
        std::f64::consts::FRAC_PI_8,
        1e-5,
    );
}
