//! How good the estimates are: the same seed gives the same bits, standard errors say what seeds do, more samples
//! help, and the few points that stand for a tile stand for all of it.

use glam::Vec3;
use lustrewalk::{
    geometry::Polygon,
    luminaire::Aperture,
    scene::Fixture,
    transport::{LightState, Lustre, Progress, RoomLight, Strengths, TileReading, ViewSettings},
};

use super::boxes::{
    cosine_lamp, empty, fixed, furnished, lamps, library, mixed_piece, overcast, piece_of,
    prepared, quick, readings, station, surface, wall_tile,
};

/// One whole run: state, meter, tiles with their errors, as bits.
fn bits() -> Vec<u32> {
    let light = prepared(furnished(0.6), quick());
    let state = light
        .solve(overcast(&light, 3000.0).with_fixtures(vec![1.0, 0.5]))
        .expect("sound input");
    let meter = light.meter(&state, Vec3::new(3.0, 0.8, 3.0), Vec3::Y, 256);
    let eyes = [Vec3::new(1.5, 1.6, 3.0), Vec3::new(4.0, 1.2, 2.0)];
    let read = readings(&light, &state, &mixed_piece(), &eyes, fixed(64, 64, 64));
    state
        .luminance_cd_m2
        .iter()
        .chain(&state.patch_illuminance_lx)
        .chain(&[meter.total_lx(), meter.standard_error_lx])
        .chain(read.iter().flat_map(|r| &r.luminance_cd_m2))
        .chain(read.iter().flat_map(|r| &r.standard_error_cd_m2))
        .map(|v| v.to_bits())
        .collect()
}

/// Rule: the same seed gives the same bits on any count of threads.
#[test]
fn one_thread_and_two_give_the_same_bits() {
    let on = |count: usize| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(count)
            .build()
            .unwrap()
            .install(bits)
    };
    let (one, two) = (on(1), on(2));
    assert!(one.len() > 500);
    assert!(one == two, "results differ with the count of threads");
    assert!(one == on(1), "results differ from run to run");
}

/// A daylit room, and 500 cells of it for a seed.
fn daylit_room() -> (RoomLight, LightState) {
    let light = prepared(furnished(0.5), quick());
    let state = light
        .solve(overcast(&light, 3000.0).with_fixtures(vec![0.0, 0.0]))
        .expect("sound input");
    (light, state)
}

fn daylit((light, state): &(RoomLight, LightState), settings: ViewSettings) -> Vec<TileReading> {
    let eyes: Vec<Vec3> = (0..25)
        .map(|i| Vec3::new(0.4 + 0.17 * i as f32, 1.5, 1.2 + 0.1 * (i % 5) as f32))
        .collect();
    readings(light, state, &mixed_piece(), &eyes, settings)
}

fn cells(read: &[TileReading]) -> Vec<(f32, f32)> {
    read.iter()
        .flat_map(|r| r.luminance_cd_m2.iter().zip(&r.standard_error_cd_m2))
        .map(|(l, e)| (*l, *e))
        .collect()
}

/// Statistics: two seeds differ by what their standard errors say. Six pairs of seeds, 500 cells each; less than four
/// combined errors in 99 %, and the root mean square of the difference over the error between 0.7 and 1.5: errors are
/// estimated from four batches each, for which Student's law with about six degrees of freedom gives 0.7 % and 1.22.
/// A tile's smooth part is shared by its 25 cells, so one pair of seeds alone would be too few.
#[test]
fn standard_errors_are_honest() {
    let room = daylit_room();
    let seeded = |seed| {
        cells(&daylit(
            &room,
            ViewSettings {
                seed,
                ..fixed(128, 64, 64)
            },
        ))
    };
    let (mut sum, mut count, mut beyond, mut same) = (0.0_f32, 0, 0, 0);
    for pair in 0..6 {
        let (a, b) = (seeded(100 + 2 * pair), seeded(101 + 2 * pair));
        assert_eq!(a.len(), 500);
        for ((la, ea), (lb, eb)) in a.iter().zip(&b) {
            let z = (la - lb) / ea.hypot(*eb).max(1e-9);
            sum += z * z;
            count += 1;
            beyond += usize::from(z.abs() > 4.0);
            same += usize::from(la == lb);
        }
    }
    let rms = (sum / count as f32).sqrt();
    println!("{count} cells, rms z {rms:.3}, beyond four errors {beyond}");
    assert_eq!(same, 0, "the seed changes nothing in {same} cells");
    assert!(
        // Four batches a side: Student's t with six degrees has 0.7 % beyond four errors, and cells of a
        // tile share their smooth part.
        beyond * 50 <= count,
        "{beyond} of {count} cells beyond four errors"
    );
    assert!(
        (0.7..=1.5).contains(&rms),
        "rms of difference over error {rms}"
    );
}

/// Statistics: four times the samples halve the error. Root mean square of the relative error over 500 cells;
/// 0.35 to 0.65, since even points do a little better than random ones.
#[test]
fn four_times_the_samples_halve_the_error() {
    let room = daylit_room();
    let relative = |settings| {
        let all = cells(&daylit(&room, settings));
        let sum: f32 = all.iter().map(|(l, e)| (e / l).powi(2)).sum();
        (sum / all.len() as f32).sqrt()
    };
    let (few, many) = (relative(fixed(64, 32, 64)), relative(fixed(256, 128, 256)));
    println!(
        "relative error {few:.4}, then {many:.4}: ratio {:.3}",
        many / few
    );
    assert!(
        (0.35..=0.65).contains(&(many / few)),
        "relative error {few}, with four times the samples {many}"
    );
}

/// Two ways: a lamp 1.2 m from large tiles against a plain sum over tile points and points of its opening,
/// 16 x 256 each, with the value of the material. The tile points are the same. Tolerance 1 % and four errors;
/// the root mean square of the difference over the error at most 1.5.
#[test]
fn lamps_on_large_tiles_match_a_plain_sum() {
    let mut scene = empty();
    let aim = Vec3::new(2.5, 1.5, 0.0);
    let at = Vec3::new(2.2, 2.4, 1.0);
    scene.fixtures = vec![Fixture {
        aperture: Aperture::Disc { diameter_m: 0.12 },
        ..cosine_lamp(at, (aim - at).normalize(), 300.0)
    }];
    let light = prepared(scene, quick());
    let state = light.solve(lamps(&light, vec![1.0])).unwrap();
    let hung = mixed_piece();
    let eyes: Vec<Vec3> = (0..12)
        .map(|i| Vec3::new(0.6 + 0.3 * i as f32, 1.4, 1.3))
        .collect();
    let read = readings(&light, &state, &hung, &eyes, fixed(16, 16, 4));
    let fixture = &light.scene().fixtures[0];
    let opening: Vec<Vec3> = (0..256)
        .map(|k| {
            let r = 0.06 * ((k as f32 + 0.5) / 256.0).sqrt();
            let (sin, cos) = (k as f32 * 2.399_963).sin_cos();
            fixture.position + fixture.world_from_luminaire * Vec3::new(r * cos, r * sin, 0.0)
        })
        .collect();
    let (mut sum, mut count, mut worst) = (0.0_f64, 0, 0.0_f64);
    let mut failures = Vec::new();
    for (eye, reading) in eyes.iter().zip(&read) {
        for (k, tile) in hung.tiles.iter().enumerate() {
            let mut expected = 0.0_f64;
            for p in &tile.points {
                let to_eye = tile.frame.local_from_world((*eye - *p).normalize());
                for s in &opening {
                    let d = *s - *p;
                    let to_light = tile.frame.local_from_world(d.normalize());
                    let lx = fixture.intensity_cd(-d.normalize()) / d.length_squared();
                    expected +=
                        f64::from(hung.brdf(tile).brdf_per_sr(to_light, to_eye) * lx * to_light.z);
                }
            }
            expected /= (tile.points.len() * opening.len()) as f64;
            let got = f64::from(reading.luminance_cd_m2[k]);
            let error = f64::from(reading.standard_error_cd_m2[k]).max(1e-4 * expected);
            if expected < 0.1 {
                continue;
            }
            worst = worst.max((got / expected - 1.0).abs());
            sum += ((got - expected) / error).powi(2);
            count += 1;
            if (got - expected).abs() > 0.01 * expected + 4.0 * error {
                failures.push(format!(
                    "tile {} from {eye}: {got} +- {error} cd/m2, plain sum {expected} cd/m2",
                    tile.id
                ));
            }
        }
    }
    let rms = (sum / f64::from(count)).sqrt();
    println!("{count} cells, worst {worst:.4}, rms z {rms:.3}");
    assert!(
        failures.is_empty(),
        "{} of {count} cells, e.g.\n{}",
        failures.len(),
        failures[..failures.len().min(5)].join("\n")
    );
    assert!(rms <= 1.5, "rms of difference over error {rms}");
}

/// Two ways: a screen whose straight edge shades a known part of a tile, the sun and a far eye on the tile's normal. The share
/// of sun on the tile, and of the tile that the eye sees, against the share of the area. Tiles of 40 cm as they come out of
/// a piece, edges level and upright at nine places, from both sides. Tolerance 0.2, the root mean square within
/// 0.08: 32 points.
#[test]
fn partly_shaded_tile_gets_its_share_of_sun() {
    let spec = lustrewalk::piece::parse_piece(
        r#"(version: 1, name: "Four", width_m: 0.8, height_m: 0.8, thickness_mm: 10, joint_mm: 0,
            layout: Grid(columns: 2, rows: 2, material: Rows(["plaster matt"])))"#,
        "four.ron",
    )
    .unwrap();
    let tiling = spec
        .tiling(&mut |name: &str| Err(std::io::Error::other(name.to_owned())))
        .unwrap();
    let (mut worst, mut sum, mut count) = ((0.0_f32, String::new()), 0.0_f32, 0);
    for (index, cut) in tiling.tiles.iter().enumerate() {
        let mut hung = wall_tile(1, cut.centroid_m.extend(0.0), 0.0, 0.4);
        let flat =
            tiling.sample_points(index, lustrewalk::scene::POINTS_PER_TILE, u64::from(cut.id));
        hung.points = std::array::from_fn(|k| flat[k].extend(1e-3));
        let centre = hung.frame.origin;
        let hung = piece_of(vec![hung], library("plaster matt"));
        for tenth in 1..10 {
            for edge in [Vec3::X, Vec3::NEG_X, Vec3::Y, Vec3::NEG_Y] {
                let open = 0.1 * tenth as f32;
                // The screen begins where `open` of the tile ends, going along `edge`.
                let start = centre + edge * (0.4 * (open - 0.5)) + Vec3::Z * 0.05;
                let across = Vec3::Z.cross(edge);
                let outline = [
                    start - across,
                    start - across + edge * 2.0,
                    start + across + edge * 2.0,
                    start + across,
                ];
                let mut scene = empty();
                scene
                    .surfaces
                    .push(surface(Polygon::from_world(&outline, &[]).unwrap(), 0.0));
                let light = prepared(scene, quick());
                let state = light
                    .solve(Strengths {
                        sun_dir: Some(Vec3::Z),
                        sun_normal_illuminance_lx: 1.0,
                        ..lamps(&light, Vec::new())
                    })
                    .unwrap();
                let lustre = Lustre::view(
                    &light,
                    hung.clone(),
                    vec![station(centre + Vec3::Z * 500.0, centre)],
                    fixed(4, 4, 4),
                    &[],
                    &Progress::default(),
                )
                .unwrap();
                let sun = lustre.light().sun_on_tiles_lx(&light, &state);
                let visible = lustre.read(&state, &sun, 0).visible[0];
                for (what, got) in [("sun", sun[0]), ("view", visible)] {
                    let off = got - open;
                    sum += off * off;
                    count += 1;
                    if off.abs() > worst.0 {
                        worst = (
                            off.abs(),
                            format!(
                                "{what} on tile {}: share {got}, area {open}, edge along {edge}",
                                cut.id
                            ),
                        );
                    }
                }
            }
        }
    }
    let rms = (sum / count as f32).sqrt();
    println!("worst {:.3}: {}; rms {rms:.3}", worst.0, worst.1);
    assert!(worst.0 <= 0.2, "{}", worst.1);
    assert!(rms <= 0.08, "root mean square {rms}");
}
