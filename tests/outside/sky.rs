//! Standard skies, levels without weather data, sky cells.

use std::f64::consts::PI;

use glam::Vec3;
use lustrewalk::sky::daylight::{air_mass, direct_normal_through_air_lx};
use lustrewalk::sky::{CieType, Pattern, SkyGrid, SkyLevel, SkyModel, SkyState};
use lustrewalk::sun::{Site, SunPosition, world_direction};

use crate::table::{copied, copied_and_full, number};

fn cie(number: f64) -> CieType {
    CieType::try_from(number as u8).expect("a type of the table")
}

/// The sun at an azimuth and an elevation [deg] and 1 au, without refraction.
fn sun_at(azimuth_deg: f64, elevation_deg: f64) -> SunPosition {
    SunPosition {
        azimuth_rad: azimuth_deg.to_radians(),
        true_elevation_rad: elevation_deg.to_radians(),
        apparent_elevation_rad: elevation_deg.to_radians(),
        distance_au: 1.0,
        equation_of_time_min: 0.0,
        declination_rad: 0.0,
    }
}

fn site(bearing_deg: f64) -> Site {
    Site::from_degrees(50.0, 10.0, 0.0, bearing_deg)
}

/// Source: ISO 15469:2004 evaluated in two ways. Tolerance: 1e-6 for the formula in f64; 5e-6 through unit vectors and
/// luminances in f32 (bound of the project 1e-4).
#[test]
fn all_fifteen_skies_match_relative_to_zenith() {
    let mut worst = [0.0f64; 2];
    for row in copied_and_full("sky.csv", "checks/sky.csv") {
        let kind = cie(number(&row, "cie_type"));
        let sun_deg = number(&row, "sun_elevation_deg");
        let zenith_deg = number(&row, "element_zenith_angle_deg");
        let azimuth_deg = number(&row, "azimuth_difference_deg");
        let expected = number(&row, "luminance_over_zenith_luminance");

        let (z, zs, az) = (
            zenith_deg.to_radians(),
            (90.0 - sun_deg).to_radians(),
            azimuth_deg.to_radians(),
        );
        let chi = (zs.cos() * z.cos() + zs.sin() * z.sin() * az.cos())
            .clamp(-1.0, 1.0)
            .acos();
        let off = kind.relative_to_zenith(z, chi, zs) / expected - 1.0;
        worst[0] = worst[0].max(off.abs());
        assert!(
            off.abs() < 1e-6,
            "relative luminance off by {off} in {row:?}"
        );

        // the same through a sky in a room turned by 37 deg, at 4000 cd/m2 in the zenith
        let model = SkyModel::CieStandard {
            kind,
            level: SkyLevel::Zenith {
                zenith_luminance_cd_m2: 4000.0,
                direct_normal_illuminance_lx: 0.0,
            },
        };
        let state = SkyState::new(&model, &sun_at(200.0, sun_deg), &site(37.0));
        let to_sky = world_direction(
            (200.0 + azimuth_deg).to_radians(),
            (90.0 - zenith_deg).to_radians(),
            37f64.to_radians(),
        );
        let off = f64::from(state.luminance_cd_m2(to_sky)) / (4000.0 * expected) - 1.0;
        worst[1] = worst[1].max(off.abs());
        assert!(off.abs() < 5e-6, "luminance off by {off} in {row:?}");
    }
    println!("worst: formula {}, luminance {}", worst[0], worst[1]);
}

/// Integral of the cosine from a horizontal direction `facing` over a cell's directions on that side [sr], closed in the
/// elevation and summed over 64 steps in azimuth.
fn vertical_sr(grid: &SkyGrid, index: usize, facing: Vec3) -> f64 {
    let steps = grid.spread(index, 64);
    let mut elevations: Vec<f32> = steps.map(|dir| dir.y).collect();
    elevations.sort_by(f32::total_cmp);
    // rows of 64 equal steps in sin h, so the edges lie half a step outside
    let (low, high) = (f64::from(elevations[0]), f64::from(elevations[64 * 64 - 1]));
    let half = (high - low) / 63.0 / 2.0;
    let edge = |sin_h: f64| {
        let h = sin_h.clamp(0.0, 1.0).asin();
        h / 2.0 + (2.0 * h).sin() / 4.0
    };
    let band = edge(high + half) - edge(low - half);
    let step_rad = grid.solid_angle_sr(index) / (high - low + 2.0 * half) / 64.0;
    let around: f64 = grid
        .spread(index, 64)
        .take(64)
        .map(|dir| f64::from((dir.dot(facing) / dir.with_y(0.0).length()).max(0.0)))
        .sum();
    band * step_rad * around
}

/// Source: quadrature in two orders, converged to 4e-6. Tolerance: 1e-5 horizontal (bound of the project 0.5 %); vertical
/// from cells 6.5 % with 145 cells, 1.6 % with 577 and 0.45 % with 2305, since a cell has one luminance; the worst is a sun on the horizon.
#[test]
fn illuminances_of_the_skies_match() {
    let mut worst = [0.0f64; 4];
    let grids = [1, 2, 4].map(|m| {
        let grid = SkyGrid::new(m);
        let sides = [Vec3::X, Vec3::Z, Vec3::NEG_X].map(|facing| {
            (0..grid.len())
                .map(|index| vertical_sr(&grid, index, facing))
                .collect::<Vec<f64>>()
        });
        (grid, sides)
    });
    for row in copied("sky_illuminance.csv") {
        let kind = cie(number(&row, "cie_type"));
        let sun_deg = number(&row, "sun_elevation_deg");
        let expected = number(&row, "horizontal_illuminance_per_zenith_luminance");
        let off = kind.horizontal_over_zenith_sr(sun_deg.to_radians()) / expected - 1.0;
        worst[0] = worst[0].max(off.abs());
        assert!(
            off.abs() < 1e-5,
            "horizontal illuminance off by {off} in {row:?}"
        );

        let to_sun = world_direction(90f64.to_radians(), sun_deg.to_radians(), 0.0);
        let state = SkyState::cie_with_zenith_luminance(kind, Some(to_sun), 1.0, 0.0);
        for (index, ((grid, sides), bound)) in
            grids.iter().zip([6.5e-2, 1.6e-2, 4.5e-3]).enumerate()
        {
            let cells = state.cell_luminances_cd_m2(grid);
            let columns = [
                "vertical_facing_sun",
                "vertical_at_90deg",
                "vertical_facing_away",
            ];
            for (column, side) in columns.into_iter().zip(sides) {
                let got: f64 = cells
                    .iter()
                    .zip(side)
                    .map(|(l, sr)| f64::from(*l) * sr)
                    .sum();
                let off = got / number(&row, column) - 1.0;
                worst[index + 1] = worst[index + 1].max(off.abs());
                assert!(
                    off.abs() < bound,
                    "{column} off by {off} with {} cells in {row:?}",
                    grid.len()
                );
            }
        }
    }
    println!(
        "worst: horizontal {}, vertical from 145 {}, 577 {}, 2305 cells {}",
        worst[0], worst[1], worst[2], worst[3]
    );
}

/// Source: P. R. Tregenza 1987 (counts, solid angles) and closed form, physics sheet 4.1, C4.1. Tolerance: printed digits.
#[test]
fn sky_cells_are_the_published_ones() {
    let grid = SkyGrid::new(1);
    let bands = [
        (0, 30, 0.043545, 0.004527),
        (30, 30, 0.041642, 0.012798),
        (60, 24, 0.047398, 0.023569),
        (84, 24, 0.040673, 0.027066),
        (108, 18, 0.042893, 0.034511),
        (126, 12, 0.044522, 0.040450),
        (138, 6, 0.045517, 0.044278),
        (144, 1, 0.034420, 0.034326),
    ];
    for (first, count, solid_sr, projected_sr) in bands {
        for index in [first, first + count - 1] {
            assert!(
                (grid.solid_angle_sr(index) - solid_sr).abs() < 6e-7,
                "cell {index}: {} sr",
                grid.solid_angle_sr(index)
            );
            assert!(
                (grid.projected_sr(index) - projected_sr).abs() < 6e-7,
                "cell {index}: {} sr",
                grid.projected_sr(index)
            );
        }
    }
    for (m, count) in [(1, 145), (2, 577), (3, 1297), (4, 2305)] {
        let grid = SkyGrid::new(m);
        assert_eq!(grid.len(), count);
        let solid: f64 = (0..count).map(|i| grid.solid_angle_sr(i)).sum();
        let projected: f64 = (0..count).map(|i| grid.projected_sr(i)).sum();
        assert!(
            (solid - 2.0 * PI).abs() < 1e-9,
            "solid angles sum to {solid} sr"
        );
        assert!(
            (projected - PI).abs() < 1e-9,
            "projected solid angles sum to {projected} sr"
        );
    }
    let centres: f64 = (0..145)
        .map(|i| grid.solid_angle_sr(i) * f64::from(grid.centre(i).y))
        .sum();
    assert!(
        (centres - 3.158803).abs() < 2e-6,
        "centre directions give {centres} sr"
    );
}

/// Source: F. Kasten and A. T. Young 1989, C2.1. Tolerance: the printed digits.
#[test]
fn air_mass_matches() {
    for (deg, mass) in [
        (90.0, 0.9997),
        (60.0, 1.1540),
        (45.0, 1.4126),
        (30.0, 1.9943),
        (20.0, 2.9031),
        (15.0, 3.8129),
        (10.0, 5.5860),
        (5.0, 10.3058),
        (2.0, 19.433),
        (1.0, 26.311),
        (0.0, 37.920),
    ] {
        let got = air_mass(f64::to_radians(deg));
        assert!(
            (got - mass).abs() < 6e-4,
            "air mass at {deg} deg: {got}, expected {mass}"
        );
    }
}

/// Source: S. Darula and R. Kittler 2002, eq. 15 to 17, C2.2 [klx]. Tolerance: the printed digits.
#[test]
fn direct_sun_matches() {
    for (deg, row) in [
        (10.0, [77.1, 44.5, 33.8, 25.6, 14.8, 8.5]),
        (20.0, [100.2, 75.0, 64.9, 56.1, 42.0, 31.4]),
        (30.0, [109.6, 89.7, 81.2, 73.5, 60.2, 49.3]),
        (45.0, [116.1, 100.8, 93.9, 87.4, 75.9, 65.8]),
        (60.0, [119.1, 106.1, 100.1, 94.5, 84.1, 74.9]),
    ] {
        for (turbidity, klx) in [1.0, 2.0, 2.5, 3.0, 4.0, 5.0].into_iter().zip(row) {
            let mass = air_mass(f64::to_radians(deg));
            let got = direct_normal_through_air_lx(turbidity, mass, 1.0) / 1000.0;
            assert!(
                (got - klx).abs() < 0.06,
                "direct at {deg} deg, turbidity {turbidity}: {got} klx, expected {klx} klx"
            );
        }
    }
}

/// Source: physics sheet C2.4: horizon 1/3 of the zenith, Dv 7 pi/9, vertical over horizontal 0.39618. Closed forms; the
/// vertical one is a sum over 2305 cells.
#[test]
fn traditional_overcast_closed_forms() {
    let state = SkyState::from_pattern(Pattern::Traditional, None, 7.0 * PI / 9.0, 0.0);
    let zenith = state.luminance_cd_m2(Vec3::Y);
    let horizon = state.luminance_cd_m2(Vec3::new(1.0, 1e-7, 0.0));
    assert!((zenith - 1.0).abs() < 1e-5, "zenith {zenith} cd/m2");
    assert!(
        (horizon - 1.0 / 3.0).abs() < 1e-5,
        "horizon {horizon} cd/m2"
    );
    let grid = SkyGrid::new(4);
    let vertical: f64 = state
        .cell_luminances_cd_m2(&grid)
        .iter()
        .enumerate()
        .map(|(index, luminance)| f64::from(*luminance) * vertical_sr(&grid, index, Vec3::X))
        .sum();
    let ratio = vertical / (7.0 * PI / 9.0);
    assert!(
        (ratio / 0.39618 - 1.0).abs() < 5e-3,
        "vertical over horizontal {ratio}"
    );
}

/// Source: physics sheet C2.5, 720 x 1440 midpoint integration. Tolerance: the printed digits and that rule's error.
#[test]
fn horizontal_over_zenith_matches() {
    for (kind, row) in [
        (1, [2.4495, 2.4495, 2.4495, 2.4495, 2.4495]),
        (4, [3.0298, 2.8901, 2.6467, 2.3154, 1.9268]),
        (8, [4.4211, 4.1231, 3.3387, 2.3284, 1.4030]),
        (12, [7.2048, 6.3941, 4.8485, 3.1906, 1.8505]),
        (15, [10.3380, 8.1160, 5.2711, 3.0159, 1.5926]),
    ] {
        for (deg, expected) in [15.0, 30.0, 45.0, 60.0, 75.0].into_iter().zip(row) {
            let got = cie(f64::from(kind)).horizontal_over_zenith_sr(f64::to_radians(deg));
            assert!(
                (got / expected - 1.0).abs() < 5e-5,
                "type {kind} at {deg} deg: {got} sr, expected {expected} sr"
            );
        }
    }
}

/// Source: physics sheet C2.7, clear skies by turbidity (type, solar elevation, Tv, Lz kcd/m2, Dv klx), and C2.5 (Dv/Lz of
/// the pattern by integration). Tolerance: the printed digits for the zenith; 1e-3 for Lz x Dv/Lz; 1.5 % for the listed
/// diffuse illuminance, which was made with the published fit of that ratio (4.497 for 4.485 in type 11) and not with it.
#[test]
fn clear_sky_levels_match() {
    for (kind, deg, turbidity, zenith_kcd_m2, over_zenith_sr, listed_klx) in [
        (12, 45.0, 2.0, 2.632, 4.8485, 12.77),
        (12, 45.0, 2.5, 3.115, 4.8485, 15.12),
        (12, 45.0, 3.0, 3.599, 4.8485, 17.46),
        (12, 45.0, 4.0, 4.567, 4.8485, 22.16),
        (12, 30.0, 2.5, 1.876, 6.3941, 12.02),
        (11, 45.0, 3.0, 3.374, 4.4854, 15.17),
        (13, 45.0, 4.0, 4.006, 4.9827, 19.99),
    ] {
        let kind = cie(f64::from(kind));
        let elevation_rad = f64::to_radians(deg);
        let zenith = kind
            .zenith_luminance_cd_m2(turbidity, elevation_rad)
            .unwrap()
            / 1000.0;
        let diffuse = kind
            .diffuse_from_turbidity_lx(turbidity, elevation_rad)
            .unwrap()
            / 1000.0;
        assert!(
            (zenith - zenith_kcd_m2).abs() < 1.1e-3,
            "{kind:?}: zenith {zenith} kcd/m2, expected {zenith_kcd_m2} kcd/m2"
        );
        for (expected_klx, bound) in [(zenith_kcd_m2 * over_zenith_sr, 1e-3), (listed_klx, 1.5e-2)]
        {
            let off = diffuse / expected_klx - 1.0;
            assert!(
                off.abs() < bound,
                "{kind:?}: diffuse {diffuse} klx, expected {expected_klx} klx"
            );
        }
    }
    let state = SkyState::new(&SkyModel::clear(), &sun_at(180.0, 45.0), &site(0.0));
    assert!(
        (state.diffuse_horizontal_illuminance_lx - 17_460.0).abs() < 20.0,
        "{}",
        state.diffuse_horizontal_illuminance_lx
    );
    assert!(
        (state.direct_normal_illuminance_lx - 87_400.0).abs() < 60.0,
        "{}",
        state.direct_normal_illuminance_lx
    );
}

fn models() -> Vec<SkyModel> {
    let mut models = vec![
        SkyModel::clear(),
        SkyModel::overcast(),
        SkyModel::hazy(),
        SkyModel::intermediate(),
        SkyModel::TraditionalOvercast {
            level: SkyLevel::Typical,
        },
        SkyModel::AllWeather {
            direct_normal_w_m2: 600.0,
            diffuse_horizontal_w_m2: 120.0,
            dew_point_c: 11.0,
        },
        SkyModel::AllWeather {
            direct_normal_w_m2: 0.0,
            diffuse_horizontal_w_m2: 90.0,
            dew_point_c: 5.0,
        },
        SkyModel::AllWeather {
            direct_normal_w_m2: 300.0,
            diffuse_horizontal_w_m2: 0.0,
            dew_point_c: 5.0,
        },
        SkyModel::AllWeather {
            direct_normal_w_m2: f64::NAN,
            diffuse_horizontal_w_m2: -5.0,
            dew_point_c: f64::NAN,
        },
    ];
    models.extend(CieType::all().map(|kind| SkyModel::CieStandard {
        kind,
        level: SkyLevel::Typical,
    }));
    models
}

/// Invariant: every sky at every height of the sun is finite and at least 0, its cells sum to the diffuse illuminance
/// (closed, 1e-6 in f32), a fine sum of its luminances does so within 0.5 %, and the sun never shines from below.
#[test]
fn every_sky_is_finite_and_normalised() {
    let grid = SkyGrid::new(2);
    let fine = SkyGrid::new(8);
    let mut worst = 0.0f64;
    for model in models() {
        for elevation_deg in [
            -90.0, -18.0, -6.0, -5.9, -0.6, -0.3, 0.0, 0.01, 0.5, 2.0, 10.0, 40.0, 66.0, 80.0,
            89.9, 90.0,
        ] {
            let state = SkyState::new(&model, &sun_at(123.0, elevation_deg), &site(20.0));
            let diffuse_lx = state.diffuse_horizontal_illuminance_lx;
            assert!(
                diffuse_lx.is_finite() && diffuse_lx >= 0.0,
                "{model:?} at {elevation_deg}: {diffuse_lx} lx"
            );
            assert!(state.direct_normal_illuminance_lx.is_finite());
            match state.sun_dir {
                Some(dir) => assert!(dir.y > 0.0 && elevation_deg > 0.0),
                None => assert_eq!(state.direct_normal_illuminance_lx, 0.0),
            }
            let cells = state.cell_luminances_cd_m2(&grid);
            assert!(
                cells.iter().all(|l| l.is_finite() && *l >= 0.0),
                "{model:?} at {elevation_deg}"
            );
            let sum_lx: f64 = cells
                .iter()
                .enumerate()
                .map(|(i, l)| f64::from(*l) * grid.projected_sr(i))
                .sum();
            assert!(
                (sum_lx - diffuse_lx).abs() <= 1e-6 * diffuse_lx,
                "{model:?}: cells {sum_lx} lx, sky {diffuse_lx} lx"
            );
            if diffuse_lx > 0.0 {
                let fine_lx: f64 = (0..fine.len())
                    .map(|i| {
                        let samples = fine.samples(i);
                        let mean = samples
                            .iter()
                            .map(|d| f64::from(state.luminance_cd_m2(*d) * d.y))
                            .sum::<f64>()
                            / samples.len() as f64;
                        mean * fine.solid_angle_sr(i)
                    })
                    .sum();
                let off = fine_lx / diffuse_lx - 1.0;
                worst = worst.max(off.abs());
                assert!(
                    off.abs() < 5e-3,
                    "{model:?} at {elevation_deg} deg: luminances give {fine_lx} lx, sky {diffuse_lx} lx"
                );
            }
            assert_eq!(state.luminance_cd_m2(Vec3::new(0.6, -0.8, 0.0)), 0.0);
            assert!(state.ground_luminance_cd_m2(0.2).is_finite());
        }
    }
    println!("worst fine sum {worst}");
}

/// Source: the law as documented: light only falls from sunset to 6 deg below, where it is dark.
#[test]
fn twilight_fades_to_dark() {
    for model in [
        SkyModel::clear(),
        SkyModel::overcast(),
        SkyModel::intermediate(),
        SkyModel::hazy(),
    ] {
        let light = |deg: f64| {
            SkyState::new(&model, &sun_at(90.0, deg), &site(0.0)).diffuse_horizontal_illuminance_lx
        };
        let mut before = f64::INFINITY;
        for tenth in 0..=60 {
            let now = light(-f64::from(tenth) / 10.0);
            assert!(
                now <= before,
                "{model:?} brightens at -{tenth} tenths of a degree"
            );
            before = now;
        }
        assert!(
            light(-0.1) > 100.0,
            "{model:?}: {} lx at sunset",
            light(-0.1)
        );
        assert_eq!(light(-6.0), 0.0, "{model:?}");
        assert!(
            (light(1e-9) / light(-1e-9) - 1.0).abs() < 1e-6,
            "{model:?} jumps at the horizon"
        );
    }
}

/// Source: physics sheet C4.2: uniform sky, Dv 10 klx, ground 0.2: ground luminance 0.2 x 10000 / pi, vertical 6000 lx.
#[test]
fn ground_under_a_uniform_sky() {
    let state = SkyState::uniform(10_000.0 / PI);
    let ground = f64::from(state.ground_luminance_cd_m2(0.2));
    assert!((ground - 636.6198).abs() < 1e-3, "ground {ground} cd/m2");
    let sky = f64::from(state.luminance_cd_m2(Vec3::new(0.8, 0.6, 0.0)));
    let vertical = (sky + ground) * PI / 2.0;
    assert!((vertical - 6000.0).abs() < 0.1, "vertical {vertical} lx");
    assert_eq!(
        state
            .with_ground_luminance(12.5)
            .ground_luminance_cd_m2(0.2),
        12.5
    );
    // with a sun: rho (E sin h + D) / pi
    let state = SkyState::from_pattern(
        Pattern::Uniform,
        Some(Vec3::new(0.8, 0.6, 0.0)),
        10_000.0,
        50_000.0,
    );
    let ground = f64::from(state.ground_luminance_cd_m2(0.25));
    assert!(
        (ground - 0.25 * 40_000.0 / PI).abs() < 0.01,
        "ground {ground} cd/m2"
    );
}

/// Source: definition; a room turned by its bearing sees the sky turned the other way.
#[test]
fn bearing_turns_sun_and_sky() {
    let sun = sun_at(180.0, 30.0);
    let straight = SkyState::new(&SkyModel::clear(), &sun, &site(0.0));
    let turned = SkyState::new(&SkyModel::clear(), &sun, &site(90.0));
    // bearing 90: world -Z is east, so south is +X
    let expected = Vec3::new(30f32.to_radians().cos(), 0.5, 0.0);
    assert!(
        (turned.sun_dir.unwrap() - expected).length() < 1e-6,
        "{:?}",
        turned.sun_dir
    );
    let south = Vec3::new(0.0, 0.6, 0.8);
    let same = Vec3::new(0.8, 0.6, 0.0);
    let (a, b) = (
        straight.luminance_cd_m2(south),
        turned.luminance_cd_m2(same),
    );
    assert!((a / b - 1.0).abs() < 1e-5, "{a} and {b} cd/m2");
}

/// Source: order of nature; brightest and darkest typical skies, from the handbook ranges of physics sheet 2.4.
#[test]
fn skies_rank_as_they_should() {
    let at = |model: SkyModel| SkyState::new(&model, &sun_at(180.0, 45.0), &site(0.0));
    let clear = at(SkyModel::clear());
    let overcast = at(SkyModel::overcast());
    let half = at(SkyModel::intermediate());
    assert!(overcast.direct_normal_illuminance_lx == 0.0);
    assert!(
        (overcast.diffuse_horizontal_illuminance_lx - 0.1 * 133_800.0 * 0.5f64.sqrt()).abs() < 1.0
    );
    assert!(clear.global_horizontal_illuminance_lx() > half.global_horizontal_illuminance_lx());
    assert!(half.global_horizontal_illuminance_lx() > overcast.global_horizontal_illuminance_lx());
    assert!(CieType::try_from(0).is_err() && CieType::try_from(16).is_err());
}
