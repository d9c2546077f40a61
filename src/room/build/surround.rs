//! The wall around the piece: whether it fits there, and the points that stand for its surround.

use glam::{Vec2, Vec3};

use super::{IN_FRONT_M, LoadError};
use crate::{
    geometry::Frame,
    room::{
        RoomFile,
        schema::{Opening, Placement, Support},
        walk::world,
        wall::{self, WallLine},
    },
};

/// Points on the wall around the piece and the wall's reflectance; checks that the piece fits.
pub(super) fn surround(
    file: &RoomFile,
    placement: &Placement,
    frame: &Frame,
    low: Vec2,
    high: Vec2,
    notes: &mut Vec<String>,
) -> Result<(Vec<Vec3>, f32), LoadError> {
    let Support::Wall {
        space,
        wall,
        along_m,
    } = &placement.on
    else {
        return Ok((Vec::new(), 0.0));
    };
    let Some(space_file) = file.spaces.iter().find(|s| &s.name == space) else {
        return Ok((Vec::new(), 0.0));
    };
    let line = wall::wall(space_file, *wall);
    // Whether the frame's +X (to the right as seen from the front) runs along the wall or against it.
    let wall_dir = world(line.to.x - line.from.x, line.to.y - line.from.y, 0.0);
    let sign = frame.x_dir.dot(wall_dir).signum();
    let along = |x_m: f32| along_m + sign * x_m;
    let reach = [along(low.x), along(high.x)];
    let heights = (placement.centre_m + low.y, placement.centre_m + high.y);
    check_fit(&line, (space, *wall), reach, heights)?;
    let highest = height_m(&line);
    let covered = |p: Vec2, o: &Opening| {
        // p in the support's plane: back to distance along the wall and height.
        let s = along(p.x);
        let h = placement.centre_m + p.y;
        o.space == *space
            && o.wall == *wall
            && (o.offset_m..=o.offset_m + o.width_m).contains(&s)
            && (o.sill_m..=o.sill_m + o.height_m).contains(&h)
    };
    for opening in &file.openings {
        let clash = (0..=8).any(|i| {
            (0..=8).any(|j| {
                covered(
                    low + (high - low) * Vec2::new(i as f32 / 8.0, j as f32 / 8.0),
                    opening,
                )
            })
        });
        if clash {
            notes.push(format!(
                "the piece covers part of the opening {:?}",
                opening.name
            ));
        }
    }
    let mut points = Vec::new();
    for margin in [0.12, 0.3] {
        let m = Vec2::splat(margin * (high - low).min_element().clamp(0.4, 1.5));
        let (l, h) = (low - m, high + m);
        for i in 0..8 {
            let t = (i as f32 + 0.5) / 8.0;
            for p in [
                Vec2::new(l.x + (h.x - l.x) * t, l.y),
                Vec2::new(l.x + (h.x - l.x) * t, h.y),
                Vec2::new(l.x, l.y + (h.y - l.y) * t),
                Vec2::new(h.x, l.y + (h.y - l.y) * t),
            ] {
                let height = placement.centre_m + p.y;
                let s = along(p.x);
                let on_wall = height > 0.02
                    && height < highest - 0.02
                    && s > 0.02
                    && s < line.length_m - 0.02;
                if on_wall && !file.openings.iter().any(|o| covered(p, o)) {
                    points.push(frame.point(p.x, p.y) + frame.z_dir * IN_FRONT_M);
                }
            }
        }
    }
    let finish = space_file
        .wall_finishes
        .get(wall)
        .unwrap_or(&space_file.walls);
    Ok((
        points,
        file.finishes.get(finish).map_or(0.5, |f| f.reflectance),
    ))
}

/// Whether a piece that reaches along the wall and above the floor this far [m] stays on it; `place` names the wall.
fn check_fit(
    line: &WallLine,
    place: (&str, usize),
    reach: [f32; 2],
    heights: (f32, f32),
) -> Result<(), LoadError> {
    let (space, wall) = place;
    for end in reach {
        if end < -1e-3 || end > line.length_m + 1e-3 {
            let over = (-end).max(end - line.length_m);
            return Err(LoadError::DoesNotFit {
                what: format!("it reaches {over:.2} m past the end of wall {wall} of {space:?}"),
            });
        }
    }
    let (bottom, top) = heights;
    let top_at = |m: f32| {
        let share = (m / line.length_m.max(1e-6)).clamp(0.0, 1.0);
        line.top_m.0 + (line.top_m.1 - line.top_m.0) * share - line.floor_m
    };
    // Where the wall's top slopes, only what is above the piece counts.
    let highest = top_at(reach[0]).min(top_at(reach[1]));
    if bottom < 0.0 || top > highest {
        let what = if bottom < 0.0 {
            format!("it reaches {:.2} m below the floor", -bottom)
        } else {
            format!("it reaches {:.2} m above the wall's top", top - highest)
        };
        return Err(LoadError::DoesNotFit { what });
    }
    Ok(())
}

/// Height of a wall where it is lowest [m].
fn height_m(line: &WallLine) -> f32 {
    line.top_m.0.min(line.top_m.1) - line.floor_m
}
