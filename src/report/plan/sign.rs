//! Signs of the key, drawn as they are on the plan.
//!
//! One function longer than usual: one arm a sign.

use glam::Vec2;

use crate::report::palette;
use crate::report::svg::{Look, Svg, num};

/// Width of a sign [px].
pub(super) const SIGN_PX: f32 = 40.0;

/// Signs of the key.
#[derive(Debug, Clone, Copy)]
pub(super) enum Sign {
    Piece,
    Candidate,
    Walk,
    Fixture,
    Window,
    Door,
    Rooflight,
    Outside,
    Ring(usize),
    Sun,
    SunDown,
}

impl Sign {
    /// Draws the sign with its left end at `at`, which is its middle height [px].
    pub fn draw(self, svg: &mut Svg, at: Vec2) {
        let (x, y, right) = (at.x, at.y, at.x + SIGN_PX);
        let middle = x + 0.5 * SIGN_PX;
        match self {
            Sign::Piece => {
                let wedge = format!(
                    "M{} {}L{} {}L{} {}Z",
                    num(x + 10.0),
                    num(y - 3.0),
                    num(right - 10.0),
                    num(y - 3.0),
                    num(middle),
                    num(y + 8.0)
                );
                svg.path(
                    &wedge,
                    Look::line(palette::ACCENT, 1.0).filled(palette::ACCENT_TINT),
                );
                svg.line(
                    (x, y - 3.0),
                    (right, y - 3.0),
                    Look::line(palette::ACCENT, 6.0),
                );
            }
            Sign::Candidate => {
                svg.line(
                    (x, y),
                    (right, y),
                    Look::line(palette::ACCENT, 3.0).extra(r#" stroke-dasharray="5 3""#),
                );
            }
            Sign::Walk => {
                svg.line(
                    (x, y),
                    (right - 6.0, y),
                    Look::line(palette::WALK, 1.8).extra(r#" stroke-dasharray="9 5""#),
                );
                svg.circle((x + 11.5, y), 2.2, Look::fill(palette::WALK));
                let tip = format!(
                    "M{} {}L{} {}L{} {}Z",
                    num(right),
                    num(y),
                    num(right - 10.0),
                    num(y - 5.0),
                    num(right - 10.0),
                    num(y + 5.0)
                );
                svg.path(&tip, Look::fill(palette::WALK));
            }
            Sign::Fixture => {
                let d = format!(
                    "M{} {}H{}M{} {}L{} {}L{} {}",
                    num(x + 14.0),
                    num(y),
                    num(right),
                    num(right - 6.0),
                    num(y - 3.0),
                    num(right),
                    num(y),
                    num(right - 6.0),
                    num(y + 3.0)
                );
                svg.path(&d, Look::line(palette::SUN, 1.0));
                svg.circle(
                    (x + 7.0, y),
                    6.0,
                    Look::line(palette::INK, 1.4).filled(palette::BEAM),
                );
                let cross = format!(
                    "M{} {}h8M{} {}v8",
                    num(x + 3.0),
                    num(y),
                    num(x + 7.0),
                    num(y - 4.0)
                );
                svg.path(&cross, Look::line(palette::INK, 1.0));
            }
            Sign::Window => {
                svg.rect(
                    x,
                    y - 5.0,
                    SIGN_PX,
                    10.0,
                    Look::line(palette::INK, 1.0).filled(palette::GLASS),
                );
                for level in [-1.5, 1.5] {
                    svg.line(
                        (x, y + level),
                        (right, y + level),
                        Look::line(palette::INK, 1.0),
                    );
                }
            }
            Sign::Door => {
                let d = format!("M{} {}V{}", num(x + 12.0), num(y + 6.0), num(y - 10.0));
                svg.path(&d, Look::line(palette::INK, 1.4));
                let arc = format!(
                    "M{} {}A16 16 0 0 1 {} {}",
                    num(x + 12.0),
                    num(y - 10.0),
                    num(x + 28.0),
                    num(y + 6.0)
                );
                svg.path(&arc, Look::line(palette::INK_SOFT, 0.7));
            }
            Sign::Rooflight => {
                svg.rect(
                    x,
                    y - 6.0,
                    SIGN_PX,
                    12.0,
                    Look::line(palette::INK_SOFT, 1.1).extra(r#" stroke-dasharray="7 4""#),
                );
            }
            Sign::Outside => {
                svg.rect(
                    x,
                    y - 6.0,
                    SIGN_PX,
                    12.0,
                    Look::line(palette::HAIR, 1.2).filled(palette::TINT),
                );
            }
            Sign::Ring(day) => {
                svg.line((x, y), (right, y), Look::line(super::sun::colour(day), 2.2));
            }
            Sign::Sun => {
                let d = format!(
                    "M{} {}H{}M{} {}L{} {}L{} {}",
                    num(x + 14.0),
                    num(y),
                    num(x + 31.0),
                    num(x + 26.0),
                    num(y - 3.5),
                    num(x + 31.0),
                    num(y),
                    num(x + 26.0),
                    num(y + 3.5)
                );
                svg.path(&d, Look::line(palette::SUN, 1.5));
                svg.circle(
                    (x + 8.0, y),
                    5.5,
                    Look::line(palette::SUN, 1.6).filled(palette::DAY),
                );
            }
            Sign::SunDown => {
                svg.circle(
                    (middle, y),
                    4.0,
                    Look::line(palette::INK_SOFT, 1.4).filled(palette::PAPER),
                );
            }
        }
    }
}
