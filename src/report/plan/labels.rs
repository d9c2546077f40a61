//! Words on the plan, placed one after another where they meet nothing.
//!
//! Each label tries places around its anchor, near ones first; the cost of a place is what it would
//! cover. Labels never cover one another while the frame has room; lines are avoided when possible. A label far
//! from its anchor gets a thin leader.

use glam::Vec2;

use super::view::Frame;
use crate::report::palette;
use crate::report::svg::{Anchor, Lettering, Look, Svg};
use crate::report::typeface::{SLACK, Weight, width_px, wrap};

/// Size of a label's text [px].
pub(super) const TEXT_PX: f32 = 13.0;
const LEADING_PX: f32 = 16.0;
/// Widest lines that a label is broken to [px], and what the narrower one costs.
const WIDTHS_PX: [(f32, f32); 2] = [(170.0, 0.0), (104.0, 25.0)];
/// Empty border around a label [px].
const PAD_PX: f32 = 3.0;

/// A label to be placed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wish<'a> {
    pub text: &'a str,
    /// What it names [px].
    pub anchor: Vec2,
    /// Direction in which it would like to stand [px, any length]; zero: centred on the anchor.
    pub toward: Vec2,
    /// Distance from the anchor to the label's border [px].
    pub distance_px: f32,
    pub colour: &'static str,
    pub weight: Weight,
}

#[derive(Debug)]
struct Placed {
    lines: Vec<String>,
    area: Frame,
    look: Lettering,
    leader: Option<(Vec2, Vec2)>,
}

/// What is on the plan so far.
#[derive(Debug)]
pub(super) struct Labels {
    frame: Frame,
    /// Rectangles to avoid, with the cost of covering a pixel.
    obstacles: Vec<(Frame, f32)>,
    placed: Vec<Placed>,
}

impl Labels {
    pub fn new(frame: Frame) -> Self {
        Self {
            frame,
            obstacles: Vec::new(),
            placed: Vec::new(),
        }
    }

    /// Asks labels to avoid a spot of `radius` [px].
    pub fn avoid_spot(&mut self, centre: Vec2, radius: f32, cost: f32) {
        let point = Frame {
            left: centre.x,
            right: centre.x,
            top: centre.y,
            bottom: centre.y,
        };
        self.obstacles.push((point.grown(radius), cost));
    }

    /// Asks labels to avoid a line of half `width` [px].
    pub fn avoid_line(&mut self, a: Vec2, b: Vec2, width: f32, cost: f32) {
        let pitch = (2.0 * width).max(4.0);
        let count = ((b - a).length() / pitch).ceil().clamp(1.0, 2000.0) as usize;
        for i in 0..=count {
            self.avoid_spot(a.lerp(b, i as f32 / count as f32), width, cost);
        }
    }

    /// Places a label; empty text is left out.
    pub fn place(&mut self, wish: Wish) {
        if wish.text.trim().is_empty() || !wish.anchor.is_finite() {
            return;
        }
        let best = WIDTHS_PX
            .iter()
            .filter_map(|(widest, extra)| {
                let (cost, centre, half, lines) = self.best_place(&wish, *widest)?;
                Some((cost + extra, centre, half, lines))
            })
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((_, centre, half, lines)) = best else {
            return;
        };
        let area = area(centre, half);
        let nearest = wish.anchor.clamp(
            Vec2::new(area.left, area.top),
            Vec2::new(area.right, area.bottom),
        );
        let leader = (nearest.distance(wish.anchor) > wish.distance_px + 14.0)
            .then_some((wish.anchor, nearest));
        if let Some((from, to)) = leader {
            self.avoid_line(from, to, 2.0, 6.0);
        }
        self.placed.push(Placed {
            lines,
            area,
            look: Lettering {
                size_px: TEXT_PX,
                weight: wish.weight,
                colour: wish.colour,
                anchor: Anchor::Middle,
            },
            leader,
        });
    }

    /// Cost, centre, half size and lines of the best place for lines up to `widest` [px].
    fn best_place(&self, wish: &Wish, widest: f32) -> Option<(f32, Vec2, Vec2, Vec<String>)> {
        let lines = wrap(wish.text, TEXT_PX, wish.weight, widest);
        let width = lines
            .iter()
            .map(|l| width_px(l, TEXT_PX, wish.weight))
            .fold(0.0, f32::max);
        let half = Vec2::new(
            0.5 * width * SLACK + PAD_PX,
            0.5 * lines.len() as f32 * LEADING_PX + PAD_PX - 1.0,
        );
        let (cost, centre) = candidates(wish, half)
            .map(|centre| (self.cost(wish, centre, half), centre))
            .min_by(|a, b| a.0.total_cmp(&b.0))?;
        Some((cost, centre, half, lines))
    }

    fn cost(&self, wish: &Wish, centre: Vec2, half: Vec2) -> f32 {
        let area = area(centre, half);
        let away = (centre - wish.anchor).length();
        let turn = (centre - wish.anchor)
            .normalize_or_zero()
            .dot(wish.toward.normalize_or_zero());
        let mut cost = 2.0 * away - 30.0 * turn;
        if !self.frame.holds(area) {
            cost += 1e7;
        }
        for placed in &self.placed {
            cost += 1e4 * area.overlap(placed.area.grown(2.0));
            if let Some((from, to)) = placed.leader {
                let middle = from.lerp(to, 0.5);
                let around = Frame {
                    left: middle.x,
                    right: middle.x,
                    top: middle.y,
                    bottom: middle.y,
                };
                cost += 5.0 * area.overlap(around.grown(6.0));
            }
        }
        cost + self
            .obstacles
            .iter()
            .map(|(o, c)| c * area.overlap(*o))
            .sum::<f32>()
    }

    /// Draws all labels on a veil of the colour that `ground` gives for their middle.
    pub fn draw(&self, svg: &mut Svg, ground: impl Fn(Vec2) -> &'static str) {
        for placed in &self.placed {
            if let Some((from, to)) = placed.leader {
                svg.line(
                    (from.x, from.y),
                    (to.x, to.y),
                    Look::line(palette::INK_SOFT, 0.8),
                );
            }
        }
        for placed in &self.placed {
            let Frame {
                left,
                top,
                right,
                bottom,
            } = placed.area;
            let veil =
                Look::fill(ground(placed.area.centre())).extra(r#" fill-opacity="0.78" rx="3""#);
            svg.rect(left, top, right - left, bottom - top, veil);
            let x = 0.5 * (left + right);
            svg.lines(
                x,
                top + PAD_PX + 11.0,
                &placed.lines,
                LEADING_PX,
                placed.look,
            );
        }
    }
}

fn area(centre: Vec2, half: Vec2) -> Frame {
    Frame {
        left: centre.x - half.x,
        right: centre.x + half.x,
        top: centre.y - half.y,
        bottom: centre.y + half.y,
    }
}

/// Centres to try: the wished direction first, then all round, then farther out.
fn candidates<'a>(wish: &'a Wish, half: Vec2) -> impl Iterator<Item = Vec2> + 'a {
    const TURNS: [f32; 16] = [
        0.0, 22.5, -22.5, 45.0, -45.0, 67.5, -67.5, 90.0, -90.0, 112.5, -112.5, 135.0, -135.0,
        157.5, -157.5, 180.0,
    ];
    let centred = (wish.toward == Vec2::ZERO).then_some(wish.anchor);
    let toward = if wish.toward == Vec2::ZERO {
        Vec2::NEG_Y
    } else {
        wish.toward.normalize()
    };
    let rings = [
        0.0, 4.0, 8.0, 13.0, 18.0, 32.0, 50.0, 75.0, 110.0, 160.0, 230.0, 320.0,
    ];
    centred
        .into_iter()
        .chain(rings.into_iter().flat_map(move |further| {
            TURNS.into_iter().map(move |turn| {
                let direction = Vec2::from_angle(turn.to_radians()).rotate(toward);
                // Distance along the direction at which the box clears the anchor.
                let reach_x = half.x / direction.x.abs().max(1e-4);
                let reach_y = half.y / direction.y.abs().max(1e-4);
                wish.anchor + direction * (reach_x.min(reach_y) + wish.distance_px + further)
            })
        }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twenty_labels_of_one_point_do_not_meet() {
        let frame = Frame {
            left: 0.0,
            top: 0.0,
            right: 900.0,
            bottom: 700.0,
        };
        let mut labels = Labels::new(frame);
        for i in 0..20 {
            labels.place(Wish {
                text: &format!("fixture number {i}"),
                anchor: Vec2::new(450.0, 350.0),
                toward: Vec2::X,
                distance_px: 6.0,
                colour: palette::INK,
                weight: Weight::Regular,
            });
        }
        for (i, a) in labels.placed.iter().enumerate() {
            assert!(frame.holds(a.area));
            for b in labels.placed.iter().skip(i + 1) {
                assert_eq!(
                    a.area.overlap(b.area),
                    0.0,
                    "{:?} meets {:?}",
                    a.lines,
                    b.lines
                );
            }
        }
    }
}
