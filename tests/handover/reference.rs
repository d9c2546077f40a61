//! A frame beside the same view computed by the engine pixel by pixel, without any graphics library.

use std::sync::Arc;

use glam::{Vec2, Vec3};
use lustrewalk::{
    app::{
        film::{Drawer, field_rad, prepare},
        pick::{FoundOn, find},
        view::View,
    },
    image::luminance,
    room::{NoFiles, build, parse_room},
    study::{Prepared, sky_model, strengths},
    transport::{PieceLight, Progress, ViewSettings},
    video::{FilmKind, FilmRequest, script},
};

use super::can_draw;

/// Pixels of the reference; the frame is twice as fine in both directions, and its pixels are taken together.
const SIZE: [u32; 2] = [288, 162];
const FINE: u32 = 2;
/// Surfaces are looked at in every so manyth pixel of a row and of a column: each takes half a thousand rays.
const SPARSE: u32 = 6;

/// What a pixel shows, and its luminance by the engine [cd/m2].
enum Seen {
    Tile(f32),
    Surface(f32),
    /// Glass, sky, lamps and edges: not compared.
    Other,
}

/// Design contract, section 6: 2 % for tiles. Surfaces are drawn with the light of patches; bounds as in the test of
/// single spots: what was found, rounded up.
#[test]
fn a_frame_agrees_with_the_engine_pixel_by_pixel() {
    if !can_draw() {
        return;
    }
    let hall = include_str!("../../rooms/ferry-hall.ron");
    let court = include_str!("../../rooms/stair-court.ron");
    for (text, at_min, at) in [(hall, 660, 0.45), (hall, 1140, 0.6), (court, 720, 0.5)] {
        let room = Arc::new(build(parse_room(text, "room").unwrap(), &mut NoFiles).unwrap());
        let request = FilmRequest {
            walk: 0,
            kind: FilmKind::Walk { at_min },
            date: "2026-03-20".parse().unwrap(),
            sky: "clear".into(),
            frames_per_s: 4,
            opening_s: 0.0,
            seconds: Some(5.0),
        };
        let script = Arc::new(script(&room, request).unwrap());
        let takes = prepare(std::slice::from_ref(&room), &script, &Progress::default()).unwrap();
        let take = &takes[0];
        let number = (at * script.frames.len() as f32) as usize;
        let frame = take.frame(number).unwrap();
        let size = SIZE.map(|s| s * FINE);
        let mut drawer = Drawer::new(size, 1).unwrap();
        drawer.still(vec![frame.clone()]).unwrap();
        let drawn = drawer.luminances().unwrap();
        let seen = by_the_engine(&room, take, number);
        let (mut tiles, mut surfaces) = (Vec::new(), Vec::new());
        for (k, seen) in seen.iter().enumerate() {
            let (x, y) = (k as u32 % SIZE[0], k as u32 / SIZE[0]);
            let mean = (0..FINE * FINE)
                .map(|i| {
                    let (px, py) = (x * FINE + i % FINE, y * FINE + i / FINE);
                    drawn[(py * size[0] + px) as usize]
                })
                .sum::<f32>()
                / (FINE * FINE) as f32;
            match seen {
                Seen::Tile(engine) => tiles.push((mean / engine - 1.0).abs()),
                Seen::Surface(engine) => surfaces.push((mean / engine - 1.0).abs()),
                Seen::Other => {}
            }
        }
        let at = |list: &mut Vec<f32>, share: f32| {
            list.sort_by(f32::total_cmp);
            list[(share * (list.len() - 1) as f32) as usize]
        };
        assert!(
            surfaces.len() > 300,
            "{} pixels of surfaces",
            surfaces.len()
        );
        assert!(tiles.len() > 200, "{} pixels of tiles", tiles.len());
        println!(
            "{} at {at_min}: {} pixels of tiles, half within {:.1} %; {} of surfaces, half within {:.1} %, nine in ten within {:.1} %",
            room.file.name,
            tiles.len(),
            100.0 * at(&mut tiles, 0.5),
            surfaces.len(),
            100.0 * at(&mut surfaces, 0.5),
            100.0 * at(&mut surfaces, 0.9)
        );
        // Within a tile its figure shows; the middle of many pixels tells.
        assert!(at(&mut tiles, 0.5) < 0.06, "{}", at(&mut tiles, 0.5));
        assert!(at(&mut surfaces, 0.5) < 0.03);
        assert!(at(&mut surfaces, 0.9) < 0.12);
        // Colour changes no luminance.
        let by_colour: f32 = frame.piece.tiles_cd_m2.iter().map(|t| luminance(*t)).sum();
        assert!(by_colour.is_finite() && by_colour > 0.0);
    }
}

/// A tile that a column hides from a key eye has no light in a study; in a film it must have, since between two key eyes
/// its edge comes out from behind the column, and it would be black there.
#[test]
fn no_tile_comes_out_black_from_behind_a_column() {
    let text = include_str!("../../rooms/ferry-hall.ron");
    let room = Arc::new(build(parse_room(text, "room").unwrap(), &mut NoFiles).unwrap());
    let request = FilmRequest {
        walk: 0,
        kind: FilmKind::Walk { at_min: 660 },
        date: "2026-03-20".parse().unwrap(),
        sky: "clear".into(),
        frames_per_s: 8,
        opening_s: 0.0,
        seconds: Some(8.0),
    };
    let script = Arc::new(script(&room, request).unwrap());
    let none = Progress::default();
    let takes = prepare(std::slice::from_ref(&room), &script, &none).unwrap();
    let (take, light) = (&takes[0], takes[0].light());
    let model = sky_model("clear", &room);
    let mut hidden = 0;
    for number in 0..script.frames.len() {
        let frame = take.frame(number).unwrap();
        let darkest = frame.piece.tiles_cd_m2.iter().map(|t| luminance(*t));
        let darkest = darkest.fold(f32::MAX, f32::min);
        assert!(
            darkest > 1.0,
            "frame {number}: a tile of {darkest} cd/m2 by day"
        );
        // Hidden tiles are among them, as a study reads them.
        if number % 8 == 0 {
            let state = light
                .solve(strengths(
                    &room,
                    light,
                    &model,
                    &script.frames[number].instant,
                ))
                .unwrap();
            let settings = ViewSettings::default();
            let eye = script.frames[number].eye;
            let on_piece =
                PieceLight::trace(light, room.piece.clone(), &[eye], &settings, &none).unwrap();
            let seen = Prepared::glance(
                (&room, light, &Arc::new(on_piece)),
                (eye, &room.walks[0].walk),
                settings,
                &state,
                None,
                &[],
            )
            .unwrap();
            let tiles = seen.reading.tiles.luminance_cd_m2;
            hidden += tiles.iter().filter(|l| **l == 0.0).count();
        }
    }
    assert!(hidden > 50, "only {hidden} tiles were hidden on the way");
}

/// Every pixel of the view: its ray, what it meets, and that place's light by rays from there.
fn by_the_engine(
    room: &Arc<lustrewalk::room::BuiltRoom>,
    take: &lustrewalk::video::Take,
    number: usize,
) -> Vec<Seen> {
    let frame = &take.script().frames[number];
    let light = take.light();
    let model = sky_model("clear", room);
    let state = light
        .solve(strengths(room, light, &model, &frame.instant))
        .unwrap();
    // Other random points than the film's.
    let settings = ViewSettings {
        seed: 77,
        wanted_error: 0.01,
        most_lobe_count: 2048,
        ..ViewSettings::default()
    };
    let none = Progress::default();
    let on_piece =
        PieceLight::trace(light, room.piece.clone(), &[frame.eye], &settings, &none).unwrap();
    let walk = &room.walks[0].walk;
    let glance = Prepared::glance(
        (room, light, &Arc::new(on_piece)),
        (frame.eye, walk),
        settings,
        &state,
        None,
        &[],
    )
    .unwrap();
    let tiles = &glance.reading.tiles.luminance_cd_m2;
    let transform = bevy::prelude::Transform::from_translation(frame.eye.eye)
        .looking_to(frame.eye.gaze_dir, Vec3::Y);
    let lens = bevy::prelude::Projection::Perspective(bevy::prelude::PerspectiveProjection {
        fov: field_rad(SIZE.map(|s| s * FINE)),
        near: 0.03,
        far: 3000.0,
        ..Default::default()
    });
    let view = View::new(
        &transform,
        &lens,
        Vec2::ZERO,
        Vec2::new(SIZE[0] as f32, SIZE[1] as f32),
    );
    let tracer = light.tracer();
    let look = |at: Vec2| find(&tracer, room, view.sight(at), true);
    (0..SIZE[0] * SIZE[1])
        .map(|k| {
            let (x, y) = (k % SIZE[0], k / SIZE[0]);
            let corner = Vec2::new(x as f32, y as f32);
            let wanted = x % SPARSE == 0 && y % SPARSE == 0;
            let Some(middle) = look(corner + 0.5) else {
                return Seen::Other;
            };
            // The whole pixel lies on one thing.
            let same = [(0.02, 0.02), (0.98, 0.02), (0.02, 0.98), (0.98, 0.98)]
                .iter()
                .all(|(x, y)| look(corner + Vec2::new(*x, *y)).is_some_and(|f| f.on == middle.on));
            match middle.on {
                FoundOn::Tile(tile) if same => Seen::Tile(tiles[tile]),
                FoundOn::Surface(index) if same && wanted => {
                    let surface = &light.scene().surfaces[index];
                    let start = middle.point + middle.normal * 2e-3;
                    let reading = light.meter(&state, start, middle.normal, 512);
                    let engine = reading.total_lx() * surface.reflectance / std::f32::consts::PI;
                    if engine > 0.1 && reading.standard_error_lx < 0.02 * reading.total_lx() {
                        Seen::Surface(engine)
                    } else {
                        Seen::Other
                    }
                }
                _ => Seen::Other,
            }
        })
        .collect()
}
