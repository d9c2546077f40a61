//! The compass: true north by the plan's bearing.

use glam::Vec2;

use super::Plan;
use crate::report::palette;
use crate::report::svg::{Anchor, Lettering, Look, Svg, num};

/// Radius of the compass [px].
pub(super) const COMPASS_PX: f32 = 40.0;
/// Size of its letters [px].
const TEXT_PX: f32 = 13.0;

/// Four points, the north one dark; true north by the plan's bearing.
pub(super) fn draw(svg: &mut Svg, plan: &Plan, centre: Vec2) -> f32 {
    svg.circle(
        (centre.x, centre.y),
        COMPASS_PX,
        Look::line(palette::HAIR, 1.0).filled(palette::FLOOR),
    );
    for degrees in (0..360).step_by(30) {
        let d = page_direction(plan, degrees as f32);
        let (a, b) = (centre + d * (COMPASS_PX - 5.0), centre + d * COMPASS_PX);
        svg.line((a.x, a.y), (b.x, b.y), Look::line(palette::INK_SOFT, 0.8));
    }
    for (degrees, name, long) in [
        (90.0, "E", 0.5),
        (180.0, "S", 0.5),
        (270.0, "W", 0.5),
        (0.0, "N", 0.84),
    ] {
        let d = page_direction(plan, degrees);
        let tip = centre + d * COMPASS_PX * long;
        for side in [1.0, -1.0] {
            let foot = centre + d.perp() * side * 6.0;
            let half = format!(
                "M{} {}L{} {}L{} {}Z",
                num(centre.x),
                num(centre.y),
                num(foot.x),
                num(foot.y),
                num(tip.x),
                num(tip.y)
            );
            let fill = match (degrees == 0.0, side > 0.0) {
                (true, true) => palette::ACCENT,
                (false, true) => palette::HAIR,
                (_, false) => palette::FLOOR,
            };
            let stroke = if degrees == 0.0 {
                palette::ACCENT
            } else {
                palette::INK_SOFT
            };
            svg.path(&half, Look::line(stroke, 0.9).filled(fill));
        }
        let at = centre + d * (COMPASS_PX + 12.0);
        let look = Lettering::new(TEXT_PX).anchor(Anchor::Middle);
        let look = if degrees == 0.0 {
            look.bold().colour(palette::ACCENT)
        } else {
            look.colour(palette::INK_SOFT)
        };
        svg.text(at.x, at.y + 4.5, name, look);
    }
    centre.y + COMPASS_PX + 24.0
}

fn page_direction(plan: &Plan, degrees: f32) -> Vec2 {
    let direction = plan.direction(degrees.to_radians());
    Vec2::new(direction.x, -direction.y)
}
