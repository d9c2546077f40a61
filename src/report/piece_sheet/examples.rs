//! Invented pieces: squares, herringbone, hexagons, strips; from one tile to very many.

use glam::vec2;

use super::*;

fn materials(names: &[&str]) -> Vec<SheetMaterial> {
    const TINTS: [[u8; 3]; 4] = [
        [226, 196, 160],
        [208, 214, 219],
        [222, 222, 200],
        [206, 178, 160],
    ];
    let tint = |i: usize| TINTS.get(i % 4).copied().unwrap_or([255; 3]);
    let named = names.iter().enumerate();
    named
        .map(|(i, name)| SheetMaterial {
            name: (*name).to_owned(),
            colour_rgb: tint(i),
        })
        .collect()
}

fn sheet(title: &str, width_m: f32, height_m: f32, outlines: Vec<Vec<Vec2>>) -> PieceSheet {
    let names = [
        "walnut, quarter-sawn",
        "brushed steel <2B> & oil",
        "ash, fiddleback",
    ];
    let tiles = outlines
        .into_iter()
        .enumerate()
        .map(|(i, outline)| SheetTile {
            id: i as u32 + 1,
            centroid_m: outline.iter().copied().sum::<Vec2>() / outline.len() as f32,
            outline_m: outline,
            grain_rad: (i % 24) as f32 * 15_f32.to_radians(),
            material: (i * 7 % 11) % 3,
            tilt_rad: if i % 9 == 4 { 0.1 } else { 0.0 },
            tilt_toward_rad: i as f32,
        });
    PieceSheet {
        title: title.to_owned(),
        subtitle: "Invented piece".to_owned(),
        width_m,
        height_m,
        tiles: tiles.collect(),
        materials: materials(&names),
        from_back: false,
        footnote: "Demo, invented.".to_owned(),
    }
}

fn turned(centre: Vec2, width: f32, height: f32, turn: f32) -> Vec<Vec2> {
    let corners = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)];
    let corner = |(x, y)| centre + Vec2::from_angle(turn).rotate(vec2(x * width, y * height));
    corners.map(corner).to_vec()
}

/// Rectangles in rows and columns.
pub(crate) fn grid(columns: usize, rows: usize, width_m: f32, height_m: f32) -> PieceSheet {
    let size = vec2(width_m / columns as f32, height_m / rows as f32);
    let cell = |i: usize| {
        let at = vec2(
            (i % columns) as f32 + 0.5,
            (rows - i / columns) as f32 - 0.5,
        ) * size;
        turned(
            at - 0.5 * vec2(width_m, height_m),
            size.x * 0.98,
            size.y * 0.98,
            0.0,
        )
    };
    let title = format!("{columns} by {rows} tiles & more");
    sheet(
        &title,
        width_m,
        height_m,
        (0..columns * rows).map(cell).collect(),
    )
}

/// Herringbone turned by an eighth.
fn herringbone() -> PieceSheet {
    let mut outlines = Vec::new();
    for row in 0..10 {
        for column in 0..9 {
            let turn = if column % 2 == 0 { 0.25 } else { -0.25 } * std::f32::consts::PI;
            let at = vec2(column as f32 * 0.265 - 1.06, 0.64 - row as f32 * 0.1414);
            outlines.push(turned(at, 0.28, 0.09, turn));
        }
    }
    sheet("Herringbone", 2.0, 1.6, outlines)
}

fn hexagons() -> PieceSheet {
    let mut outlines = Vec::new();
    for row in 0..14 {
        for column in 0..20 {
            let shift = if row % 2 == 1 { 0.5 } else { 0.0 };
            let at = vec2(column as f32 + shift - 10.0, 6.0 - row as f32 * 0.866) * 0.1;
            let corner =
                |k: i32| at + 0.056 * Vec2::from_angle((k as f32 + 0.5) * 60_f32.to_radians());
            outlines.push((0..6).map(corner).collect());
        }
    }
    sheet("Hexagons", 2.1, 1.3, outlines)
}

/// All examples with a file name each.
pub(crate) fn all() -> Vec<(&'static str, PieceSheet)> {
    vec![
        ("piece-one", grid(1, 1, 0.6, 0.9)),
        ("piece-squares", grid(16, 10, 1.6, 1.0)),
        ("piece-strips", grid(2, 30, 2.4, 0.9)),
        ("piece-tall", grid(3, 12, 0.16, 3.0)),
        ("piece-herringbone", herringbone()),
        ("piece-hexagons", hexagons()),
        ("piece-small", grid(50, 24, 2.5, 1.2)),
        ("piece-2000", grid(50, 40, 2.5, 2.0)),
    ]
}
