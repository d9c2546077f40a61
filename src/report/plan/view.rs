//! From plan metres to page pixels.

use glam::Vec2;

use super::{OpeningKind, Plan, SolidSide};
use crate::report::page::{MARGIN, WIDTH};

/// Width of the column with compass and key [px].
pub(super) const SIDE_PX: f32 = 232.0;
/// Gap between drawing and column [px].
const GUTTER_PX: f32 = 28.0;
/// Most height of the room on the page [px].
const TALLEST_PX: f32 = 700.0;
/// Most pixels a metre.
const LARGEST_SCALE: f32 = 150.0;
/// From the walls to the first sun ring, and from ring to ring [px].
const FIRST_RING_PX: f32 = 38.0;
const RING_PITCH_PX: f32 = 54.0;
/// Room outside the last ring for its words, beside and above [px].
const RING_WORDS_PX: (f32, f32) = (90.0, 46.0);

/// A rectangle on the page [px].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    pub left: f32,
    pub top: f32,
    pub right: f32,
    pub bottom: f32,
}

impl Frame {
    pub fn grown(self, by: f32) -> Self {
        Self {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }
    pub fn centre(self) -> Vec2 {
        Vec2::new(
            0.5 * (self.left + self.right),
            0.5 * (self.top + self.bottom),
        )
    }
    pub fn half(self) -> Vec2 {
        Vec2::new(
            0.5 * (self.right - self.left),
            0.5 * (self.bottom - self.top),
        )
    }
    /// Area shared with another rectangle [px2].
    pub fn overlap(self, other: Frame) -> f32 {
        let width = self.right.min(other.right) - self.left.max(other.left);
        let height = self.bottom.min(other.bottom) - self.top.max(other.top);
        width.max(0.0) * height.max(0.0)
    }
    pub fn holds(self, other: Frame) -> bool {
        other.left >= self.left
            && other.right <= self.right
            && other.top >= self.top
            && other.bottom <= self.bottom
    }
}

/// Scale and place of the plan on the page.
#[derive(Debug, Clone, Copy)]
pub(super) struct View {
    /// Pixels a metre.
    pub scale: f32,
    low_m: Vec2,
    building: Frame,
    frame: Frame,
}

impl View {
    pub fn new(plan: &Plan, top: f32) -> Self {
        let (low, high) = bounds(plan);
        let size = (high - low).max(Vec2::splat(0.5));
        let rings = plan.days().len();
        let (margin_x, margin_y) = if rings == 0 {
            (30.0, 30.0)
        } else {
            let outer = FIRST_RING_PX + (rings - 1) as f32 * RING_PITCH_PX;
            (outer + RING_WORDS_PX.0, outer + RING_WORDS_PX.1)
        };
        let room = WIDTH - 2.0 * MARGIN - SIDE_PX - GUTTER_PX - 2.0 * margin_x;
        let scale = (room / size.x).min(TALLEST_PX / size.y).min(LARGEST_SCALE);
        let drawn = size * scale;
        let left = MARGIN + margin_x + 0.5 * (room - drawn.x);
        let building = Frame {
            left,
            top: top + margin_y,
            right: left + drawn.x,
            bottom: top + margin_y + drawn.y,
        };
        let frame = Frame {
            left: MARGIN,
            top,
            right: MARGIN + room + 2.0 * margin_x,
            bottom: building.bottom + margin_y,
        };
        Self {
            scale,
            low_m: low,
            building,
            frame,
        }
    }

    /// Page position of a plan point.
    pub fn px(&self, point: Vec2) -> Vec2 {
        let from_low = (point - self.low_m) * self.scale;
        Vec2::new(
            self.building.left + from_low.x,
            self.building.bottom - from_low.y,
        )
    }

    /// Plan point of a page position [m].
    pub fn plan(&self, px: Vec2) -> Vec2 {
        let from_low = Vec2::new(px.x - self.building.left, self.building.bottom - px.y);
        self.low_m + from_low / self.scale
    }

    /// The whole drawing area.
    pub fn frame(&self) -> Frame {
        self.frame
    }

    /// What is built, with walls.
    pub fn building(&self) -> Frame {
        self.building
    }

    /// The rectangle that the ring of day `index` follows.
    pub fn ring(&self, index: usize) -> Frame {
        self.building
            .grown(FIRST_RING_PX + index as f32 * RING_PITCH_PX)
    }
}

/// Lowest and highest plan coordinates of everything in and on the building [m].
fn bounds(plan: &Plan) -> (Vec2, Vec2) {
    let wall = Vec2::splat(plan.wall_thickness_m.max(0.0));
    let outlines = plan
        .outlines
        .iter()
        .flatten()
        .flat_map(|p| [*p - wall, *p + wall]);
    let rooflights = plan.openings.iter().filter_map(|o| match &o.kind {
        OpeningKind::Rooflight(outline) => Some(outline),
        _ => None,
    });
    let inside = plan.solids.iter().filter(|s| s.side == SolidSide::Inside);
    let fixtures = plan.fixtures.iter().flat_map(|f| [f.pos, f.aim_target]);
    let walks = plan
        .walks
        .iter()
        .flat_map(|w| w.points.iter().chain(&w.stations));
    let piece = plan.piece.iter().flat_map(|p| [p.a, p.b]);
    let places = plan.candidates.iter().flat_map(|p| [p.a, p.b]);
    let all = outlines
        .chain(rooflights.flatten().copied())
        .chain(inside.flat_map(|s| s.outline.iter().copied()))
        .chain(fixtures)
        .chain(walks.copied())
        .chain(piece)
        .chain(places)
        .filter(|p| p.is_finite());
    let start = (Vec2::INFINITY, Vec2::NEG_INFINITY);
    let (low, high) = all.fold(start, |(low, high), p| (low.min(p), high.max(p)));
    if low.is_finite() && high.is_finite() {
        (low, high)
    } else {
        (Vec2::ZERO, Vec2::ONE)
    }
}
