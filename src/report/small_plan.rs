//! A plan as small as a stamp: walls, openings, piece and one walk, without words, for films and pages.
//!
//! Input: the plan's data, a walk and the largest size [px]; output: SVG text with light lines on a dark
//! translucent plate, and where each point of the room lies on it. What stands outside is left out.

use glam::Vec2;

use super::{
    OpeningKind, Plan, SolidSide,
    palette::{LIGHT, LIGHT_PIECE, LIGHT_SOFT, LIGHT_WALK, PLATE},
    svg::{Look, Svg},
};

/// Empty border [px].
const BORDER: f32 = 12.0;

/// A small plan.
#[derive(Clone, Debug, PartialEq)]
pub struct SmallPlan {
    /// The drawing.
    pub svg: String,
    /// Its width and height [px].
    pub size: Vec2,
    low: Vec2,
    scale: f32,
}

impl SmallPlan {
    /// Where a point of the plan [m] lies [px].
    pub fn place(&self, point_m: Vec2) -> Vec2 {
        let p = (point_m - self.low) * self.scale;
        Vec2::new(BORDER + p.x, self.size.y - BORDER - p.y)
    }
}

fn outline(points: impl Iterator<Item = Vec2>, close: bool) -> String {
    let mut d = String::new();
    for (i, p) in points.enumerate() {
        d.push_str(&format!(
            "{}{:.1} {:.1}",
            if i == 0 { "M" } else { "L" },
            p.x,
            p.y
        ));
    }
    if close {
        d.push('Z');
    }
    d
}

/// Draws the plan with one walk (its corners [m]) as large as fits in `most` [px].
pub fn small_plan(plan: &Plan, walked: &[Vec2], most: Vec2) -> SmallPlan {
    let points = || plan.outlines.iter().flatten().chain(walked).copied();
    let low = points().fold(Vec2::MAX, Vec2::min);
    let high = points().fold(Vec2::MIN, Vec2::max);
    let (low, high) = if low.cmple(high).all() {
        (low, high)
    } else {
        (Vec2::ZERO, Vec2::ONE)
    };
    let span = (high - low).max(Vec2::splat(0.1));
    let room = (most - 2.0 * BORDER).max(Vec2::ONE);
    let scale = (room / span).min_element();
    let size = (span * scale + 2.0 * BORDER).ceil();
    let mut small = SmallPlan {
        svg: String::new(),
        size,
        low,
        scale,
    };
    let mut svg = Svg::new();
    svg.rect(
        0.0,
        0.0,
        size.x,
        size.y,
        Look::fill(PLATE).extra(r#" rx="6" fill-opacity="0.62""#),
    );
    let at = |p: &Vec2| small.place(*p);
    for solid in plan.solids.iter().filter(|s| s.side == SolidSide::Inside) {
        let d = outline(solid.outline.iter().map(at), true);
        svg.path(&d, Look::line(LIGHT_SOFT, 1.0));
    }
    for space in &plan.outlines {
        let d = outline(space.iter().map(at), true);
        svg.path(&d, Look::line(LIGHT, 2.0));
    }
    for opening in &plan.openings {
        if matches!(opening.kind, OpeningKind::Rooflight(_)) {
            continue;
        }
        let (a, b) = (at(&opening.a), at(&opening.b));
        svg.line(a.into(), b.into(), Look::line(PLATE, 3.4));
        svg.line(a.into(), b.into(), Look::line(LIGHT_SOFT, 1.0));
    }
    if !walked.is_empty() {
        let d = outline(walked.iter().map(at), false);
        svg.path(
            &d,
            Look::line(LIGHT_WALK, 1.6).extra(r#" stroke-dasharray="4 3""#),
        );
    }
    if let Some(piece) = &plan.piece {
        let (a, b) = (at(&piece.a), at(&piece.b));
        svg.line(
            a.into(),
            b.into(),
            Look::line(LIGHT_PIECE, 4.0).extra(r#" stroke-linecap="round""#),
        );
    }
    let text = svg.finish_over(
        None,
        size.x,
        size.y,
        "Plan",
        "Walls, the piece and the walk",
    );
    small.svg = text;
    small
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_plan_fits_and_its_corners_lie_at_its_border() {
        let plan = crate::report::examples::hall_plan();
        let small = small_plan(&plan, &plan.walks[0].points, Vec2::new(300.0, 200.0));
        assert!(
            small.size.x <= 300.0 && small.size.y <= 200.0,
            "{}",
            small.size
        );
        assert!(small.size.x > 298.0 || small.size.y > 198.0);
        let low = plan.outlines[0].iter().copied().fold(Vec2::MAX, Vec2::min);
        let corner = small.place(low);
        assert!((corner.x - BORDER).abs() < 60.0 && corner.y <= small.size.y - BORDER + 0.1);
        assert!(super::super::png_from_svg(&small.svg, 1.0).is_ok());
    }
}
