//! Advice on grain as text and JSON, and the cutting list with arrows seen from the front and from the back.

use std::fmt::Write as _;

use glam::Vec2;
use serde_json::{Value, json};

use super::{significant, tables::csv, tolerance, wrapped};
use crate::{
    advice::grain::{GrainPlan, GrainVerdict, Turned},
    measure::format,
    report::PieceSheet,
    room::BuiltRoom,
};

/// The side that a sheet is seen from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// As it hangs.
    Front,
    /// As it lies face down on the bench.
    Back,
}

fn percent(share: f32) -> String {
    format::percent(f64::from(share))
}

fn verdict_words(verdict: &GrainVerdict) -> String {
    let parts = &verdict.judgement.parts;
    let pairs = verdict.pairs.map_or(String::new(), |(ratio, flips)| {
        format!(
            ", pairs differ by {} times on average and {} of them flip",
            format::significant(f64::from(ratio), 3),
            percent(flips)
        )
    });
    format!(
        "strong for {} of the readings of that walk; over all walks alive {}, shift {:.2} per metre, dead {}, glaring {}{pairs}",
        percent(verdict.strong_share),
        percent(parts.alive_share),
        parts.shift_per_m,
        percent(parts.dead_share),
        percent(parts.glaring_share)
    )
}

/// Plain text for a terminal.
pub fn grain_text(room: &BuiltRoom, plan: &GrainPlan) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{}: the grain of the piece", room.file.name);
    if !room.file.note.is_empty() {
        let _ = writeln!(text, "{}", wrapped(&room.file.note, "", 96));
    }
    let _ = writeln!(
        text,
        "{} of {} tiles turn; chosen for the walk {:?} from {} arrows a tile\n",
        plan.turned.len(),
        room.tiling.tiles.len(),
        plan.walk,
        plan.arrows
    );
    let _ = writeln!(
        text,
        "before: {}",
        wrapped(&verdict_words(&plan.before), "        ", 88)
    );
    let _ = writeln!(
        text,
        "after:  {}",
        wrapped(&verdict_words(&plan.after), "        ", 88)
    );
    const MOST_TOLD: usize = 12;
    if !plan.turned.is_empty() {
        let _ = writeln!(
            text,
            "\nArrows from the front, counter-clockwise from the right:"
        );
    }
    for turn in plan.turned.iter().take(MOST_TOLD) {
        let _ = writeln!(
            text,
            "  tile {}: {:.0} deg instead of {:.0} deg",
            turn.tile, turn.to_deg, turn.from_deg
        );
    }
    if plan.turned.len() > MOST_TOLD {
        let _ = writeln!(
            text,
            "  and {} more in the cutting list with --out",
            plan.turned.len() - MOST_TOLD
        );
    }
    for note in &plan.notes {
        let _ = writeln!(text, "note: {}", wrapped(note, "      ", 92));
    }
    let _ = writeln!(
        text,
        "\n{}\n{}\nTry a few tiles with their arrows in the room before making the rest.",
        wrapped(super::GLOSSARY, "  ", 96),
        wrapped(&(tolerance(room) + "."), "", 96)
    );
    text
}

/// The whole advice. Keys carry units.
pub fn grain_json(room: &BuiltRoom, plan: &GrainPlan) -> Value {
    let verdict = |v: &GrainVerdict| {
        json!({
            "strong_share": significant(v.strong_share),
            "parts": v.judgement.parts,
            "pair_ratio": v.pairs.map(|p| significant(p.0)),
            "pair_flip_share": v.pairs.map(|p| significant(p.1)),
        })
    };
    json!({
        "room": room.file.name,
        "walk": plan.walk,
        "arrows": plan.arrows,
        "before": verdict(&plan.before),
        "after": verdict(&plan.after),
        "turned": plan.turned.iter().map(|t| json!({
            "tile": t.tile, "from_deg": significant(t.from_deg), "to_deg": significant(t.to_deg),
        })).collect::<Vec<_>>(),
        "notes": plan.notes,
    })
}

/// An arrow as seen from the back [deg]: left and right change places.
fn from_back_deg(front_deg: f32) -> f32 {
    (180.0 - front_deg).rem_euclid(360.0)
}

/// A row a tile: material, size, arrow from both sides, and what it was where it has turned.
pub fn cutting_csv(room: &BuiltRoom, turned: &[Turned]) -> Vec<u8> {
    let header = [
        "tile",
        "material",
        "width_mm",
        "height_mm",
        "area_cm2",
        "arrow_front_deg",
        "arrow_back_deg",
        "turned",
        "was_front_deg",
    ];
    let rows = room.tiling.tiles.iter().map(|tile| {
        let low = tile.outline_m.iter().copied().fold(Vec2::MAX, Vec2::min);
        let high = tile.outline_m.iter().copied().fold(Vec2::MIN, Vec2::max);
        let front = tile.grain_rad.to_degrees().rem_euclid(360.0);
        let turn = turned.iter().find(|t| t.tile == tile.id);
        let degrees = |v: f32| format!("{:.1}", (v * 10.0).round() / 10.0);
        vec![
            tile.id.to_string(),
            room.tiling
                .materials
                .get(tile.material)
                .cloned()
                .unwrap_or_default(),
            format!("{:.1}", (high.x - low.x) * 1000.0),
            format!("{:.1}", (high.y - low.y) * 1000.0),
            format!("{:.1}", tile.area_m2 * 1e4),
            degrees(front),
            degrees(from_back_deg(front)),
            turn.is_some().to_string(),
            turn.map_or(String::new(), |t| degrees(t.from_deg)),
        ]
    });
    csv(&header, rows)
}

/// The piece with an arrow on every tile, from one side.
pub fn cutting_sheet(room: &BuiltRoom, turned: &[Turned], side: Side) -> PieceSheet {
    let mut sheet = super::piece_sheet(room);
    sheet.title = match side {
        Side::Front => format!("{}: tiles and arrows, from the front", room.file.name),
        Side::Back => format!("{}: tiles and arrows, from the BACK", room.file.name),
    };
    sheet.subtitle = format!(
        "{} · {} of {} tiles turned",
        sheet.subtitle,
        turned.len(),
        room.tiling.tiles.len()
    );
    if side == Side::Back {
        sheet.from_back = true;
        let flip = |p: Vec2| Vec2::new(-p.x, p.y);
        for tile in &mut sheet.tiles {
            tile.outline_m = tile.outline_m.iter().rev().map(|p| flip(*p)).collect();
            tile.centroid_m = flip(tile.centroid_m);
            tile.grain_rad = std::f32::consts::PI - tile.grain_rad;
            tile.tilt_toward_rad = std::f32::consts::PI - tile.tilt_toward_rad;
        }
        sheet.footnote +=
            " From the back, left and right have changed places. Tiles keep their numbers.";
    }
    sheet
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An arrow to the right of the front points to the left of the back; one straight up stays.
    #[test]
    fn arrows_from_the_back_are_mirrored() {
        for (front, back) in [
            (0.0, 180.0),
            (90.0, 90.0),
            (45.0, 135.0),
            (270.0, 270.0),
            (200.0, 340.0),
        ] {
            assert_eq!(from_back_deg(front), back);
        }
    }
}
