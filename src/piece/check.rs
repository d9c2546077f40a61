//! Ranges and names of a piece, all problems together.

use glam::DVec2;

use super::error::{PieceProblem, Problems};
use super::grain::GrainRule;
use super::layout::estimated_count;
use super::material_rule::MaterialRule;
use super::spec::{Layout, PieceSpec};
use super::tiling::MAX_TILES;

/// Largest angle written in a file [deg], two turns.
const MAX_ANGLE_DEG: f32 = 720.0;
/// Largest tilt [deg]; beyond it a tile is not part of a flat piece.
const MAX_TILT_DEG: f32 = 30.0;
/// Smallest and largest piece [m].
const SIZE_M: (f32, f32) = (0.01, 50.0);

/// Problems that need no geometry.
pub(super) fn check(spec: &PieceSpec) -> Problems {
    let mut problems = Problems::default();
    let p = &mut problems;
    let is_sized = p.range("width_m", spec.width_m, SIZE_M.0, SIZE_M.1)
        & p.range("height_m", spec.height_m, SIZE_M.0, SIZE_M.1);
    p.range("thickness_mm", spec.thickness_mm, 0.0, 500.0);
    p.range("joint_mm", spec.joint_mm, 0.0, 50.0);
    if let Some(frame) = spec.frame {
        p.range("frame.width_mm", frame.width_mm, 1.0, 500.0);
        p.range("frame.depth_mm", frame.depth_mm, 0.0, 500.0);
    }
    check_layout(&spec.layout, p);
    if let Some((grain, tilt, material)) = spec.layout.rules() {
        check_grain(&grain, p);
        let (tilt_deg, toward_deg) = tilt.angles_deg();
        p.range("layout.tilt", tilt_deg, 0.0, MAX_TILT_DEG);
        p.range("layout.tilt", toward_deg, -MAX_ANGLE_DEG, MAX_ANGLE_DEG);
        check_material(material, p);
    }
    if is_sized && problems.is_empty() {
        let size_m = DVec2::new(f64::from(spec.width_m), f64::from(spec.height_m));
        let count = estimated_count(&spec.layout, size_m);
        if count > MAX_TILES as f64 {
            problems.push(PieceProblem::TooMany {
                path: format!("layout ({})", spec.layout.word()),
                count: count as usize,
                max: MAX_TILES,
            });
        }
    }
    problems
}

fn check_layout(layout: &Layout, p: &mut Problems) {
    let centre = |p: &mut Problems, (x, y): (f32, f32)| {
        p.range("layout.centre_m", x, -100.0, 100.0);
        p.range("layout.centre_m", y, -100.0, 100.0);
    };
    match layout {
        Layout::Tiles(tiles) => {
            if tiles.is_empty() {
                p.push(PieceProblem::EmptyList {
                    path: "layout.tiles".to_owned(),
                });
            }
        }
        Layout::Grid {
            columns,
            rows,
            stagger,
            ..
        } => {
            p.count("layout.columns", *columns, 1, 1000);
            p.count("layout.rows", *rows, 1, 1000);
            p.range("layout.stagger", *stagger, 0.0, 1.0);
        }
        Layout::GradedStrip {
            count,
            from_deg,
            to_deg,
            ..
        } => {
            p.count("layout.count", *count, 1, 2000);
            p.range("layout.from_deg", *from_deg, -MAX_ANGLE_DEG, MAX_ANGLE_DEG);
            p.range("layout.to_deg", *to_deg, -MAX_ANGLE_DEG, MAX_ANGLE_DEG);
        }
        Layout::Herringbone {
            length_m,
            plank_width_m,
            angle_deg,
            ..
        } => {
            if p.range("layout.plank_width_m", *plank_width_m, 0.002, 5.0) {
                // A plank longer than fifty widths is no herringbone.
                let longest_m = plank_width_m * 50.0;
                p.range("layout.length_m", *length_m, *plank_width_m, longest_m);
            }
            p.range(
                "layout.angle_deg",
                *angle_deg,
                -MAX_ANGLE_DEG,
                MAX_ANGLE_DEG,
            );
        }
        Layout::Hexagons { across_m, .. } => {
            p.range("layout.across_m", *across_m, 0.005, 10.0);
        }
        Layout::Sunburst {
            rays,
            rings,
            centre_m,
            from_deg,
            ..
        } => {
            p.count("layout.rays", *rays, 3, 2000);
            p.count("layout.rings", *rings, 1, 200);
            p.range("layout.from_deg", *from_deg, -MAX_ANGLE_DEG, MAX_ANGLE_DEG);
            centre(p, *centre_m);
        }
        Layout::Fan { .. } => check_fan(layout, p),
        Layout::Rings {
            count,
            segments,
            centre_m,
            stagger,
            ..
        } => {
            p.count("layout.count", *count, 1, 1000);
            if segments.is_empty() {
                p.push(PieceProblem::EmptyList {
                    path: "layout.segments".to_owned(),
                });
            }
            for (i, &n) in segments.iter().enumerate() {
                p.count(&format!("layout.segments[{i}]"), n, 2, 1000);
            }
            p.range("layout.stagger", *stagger, 0.0, 1.0);
            centre(p, *centre_m);
        }
        Layout::Drawing {
            file,
            width_m,
            offset_m,
            ..
        } => {
            if file.trim().is_empty() {
                p.push(PieceProblem::EmptyName {
                    path: "layout.file".to_owned(),
                });
            }
            if let Some(width_m) = width_m {
                p.range("layout.width_m", *width_m, SIZE_M.0, SIZE_M.1);
            }
            p.range("layout.offset_m", offset_m.0, -SIZE_M.1, SIZE_M.1);
            p.range("layout.offset_m", offset_m.1, -SIZE_M.1, SIZE_M.1);
        }
    }
}

fn check_fan(layout: &Layout, p: &mut Problems) {
    let Layout::Fan {
        blades,
        rings,
        centre_m,
        from_deg,
        to_deg,
        inner_m,
        outer_m,
        ..
    } = layout
    else {
        return;
    };
    p.count("layout.blades", *blades, 1, 2000);
    p.count("layout.rings", *rings, 1, 200);
    p.range("layout.centre_m", centre_m.0, -100.0, 100.0);
    p.range("layout.centre_m", centre_m.1, -100.0, 100.0);
    p.range("layout.inner_m", *inner_m, 0.0, 100.0);
    p.range("layout.outer_m", *outer_m, 0.0, 200.0);
    if outer_m <= inner_m {
        p.push(PieceProblem::NotBeyond {
            path: "layout.outer_m".to_owned(),
            value: f64::from(*outer_m),
            beyond: f64::from(*inner_m),
        });
    }
    if p.range("layout.from_deg", *from_deg, -MAX_ANGLE_DEG, MAX_ANGLE_DEG) {
        if to_deg <= from_deg {
            p.push(PieceProblem::NotBeyond {
                path: "layout.to_deg".to_owned(),
                value: f64::from(*to_deg),
                beyond: f64::from(*from_deg),
            });
        } else {
            // A blade of half a turn or more has no single outward direction.
            let widest_deg = (*blades as f32 * 179.0).min(360.0);
            p.range("layout.to_deg", *to_deg, *from_deg, from_deg + widest_deg);
        }
    }
}

fn check_grain(grain: &GrainRule, p: &mut Problems) {
    if grain.is_empty_list() {
        p.push(PieceProblem::EmptyList {
            path: "layout.grain".to_owned(),
        });
    }
    for (path, deg) in grain.angles_deg() {
        p.range(
            &format!("layout.grain{path}"),
            deg,
            -MAX_ANGLE_DEG,
            MAX_ANGLE_DEG,
        );
    }
    if let GrainRule::Random { spread_deg, .. } = grain {
        p.range("layout.grain.spread_deg", *spread_deg, 0.0, 180.0);
    }
    if let GrainRule::ByColour { colours, .. } = grain {
        check_colours(colours.keys(), "layout.grain.colours", p);
    }
}

fn check_material(material: &MaterialRule, p: &mut Problems) {
    let names = material.names();
    if names.is_empty() {
        p.push(PieceProblem::EmptyList {
            path: "layout.material".to_owned(),
        });
    }
    for (path, name) in names {
        if name.trim().is_empty() {
            p.push(PieceProblem::EmptyName {
                path: format!("layout.material{path}"),
            });
        }
    }
    if let MaterialRule::ByColour { colours, .. } = material {
        check_colours(colours.keys(), "layout.material.colours", p);
    }
}

fn check_colours<'a>(keys: impl Iterator<Item = &'a String>, path: &str, p: &mut Problems) {
    let is_digit = |c: char| c.is_ascii_digit() || ('a'..='f').contains(&c);
    for key in keys {
        let digits = key.strip_prefix('#').unwrap_or("");
        if digits.len() != 6 || !digits.chars().all(is_digit) {
            p.push(PieceProblem::NotAColour {
                path: path.to_owned(),
                colour: key.clone(),
            });
        }
    }
}

/// Angles of a tile written out.
pub(super) fn check_tile_angles(path: &str, grain: f32, tilt: f32, toward: f32, p: &mut Problems) {
    p.range(
        &format!("{path}.grain_deg"),
        grain,
        -MAX_ANGLE_DEG,
        MAX_ANGLE_DEG,
    );
    p.range(&format!("{path}.tilt_deg"), tilt, 0.0, MAX_TILT_DEG);
    p.range(
        &format!("{path}.tilt_toward_deg"),
        toward,
        -MAX_ANGLE_DEG,
        MAX_ANGLE_DEG,
    );
}
