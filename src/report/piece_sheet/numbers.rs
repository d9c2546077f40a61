//! Which tiles are numbered, how large, and where the numbers stand.
//!
//! Where nearly all tiles have room, each carries its number. Where they are smaller, every fifth or
//! tenth does, at its top edge, and the first and last of each row do at the sides. Numbers that would
//! meet others are left out.

use glam::Vec2;

use super::fit::{bounds, number_half, pad_px, reach};
use super::{Drawn, MOST_NUMBERED, closed, median, page_dir};
use crate::report::palette;
use crate::report::svg::{Anchor, Lettering, Look, Svg};

/// Sizes of numbers [px], from the largest.
const SIZES_PX: [f32; 14] = [
    40.0, 32.0, 26.0, 22.0, 18.0, 16.0, 15.0, 14.0, 13.0, 12.0, 11.0, 10.0, 9.0, 8.0,
];
/// Size of numbers that stand on edges and at the sides [px].
const SMALL_PX: f32 = 9.0;
/// Share of tiles that must have room before all are numbered inside.
const ROOMY_SHARE: f32 = 0.85;
/// Tiles of at least this size are numbered in fives, smaller ones in tens [px].
const FIVES_PX: f32 = 22.0;
/// Height of a tile that a number must leave to the arrow [px].
const LEAST_LEFT_PX: f32 = 8.0;
/// Distance from the piece to the numbers beside it [px].
const BESIDE_PX: f32 = 12.0;

/// How many tiles are numbered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mode {
    /// All, inside.
    All,
    /// Some, on their edges, and the ends of rows.
    Some,
    /// The ends of rows.
    Ends,
}

struct Number {
    text: String,
    centre: Vec2,
    size_px: f32,
    /// On a plate of paper, in the accent colour.
    plate: bool,
    /// Where a hairline leads to.
    leader: Option<Vec2>,
}

/// The numbers of a sheet.
pub(super) struct Numbering {
    pub mode: Mode,
    step: u32,
    rows: bool,
    crowded: bool,
    without: Vec<u32>,
    framed: Vec<usize>,
    numbers: Vec<Number>,
}

impl Numbering {
    /// Chooses numbers, and moves arrows aside for those that stand inside.
    pub fn new(drawn: &mut [Drawn]) -> Self {
        let mut numbering = Self {
            mode: Mode::All,
            step: 1,
            rows: false,
            crowded: false,
            without: Vec::new(),
            framed: Vec::new(),
            numbers: Vec::new(),
        };
        if drawn.len() <= MOST_NUMBERED && numbering.number_all(drawn) {
            return numbering;
        }
        numbering.mode = Mode::Ends;
        numbering.number_ends(drawn);
        if drawn.len() <= MOST_NUMBERED || !numbering.rows {
            numbering.mode = Mode::Some;
            numbering.number_some(drawn);
        }
        numbering
    }

    /// Numbers inside the tiles; false where too many have no room.
    fn number_all(&mut self, drawn: &mut [Drawn]) -> bool {
        let place = |d: &Drawn, most: f32| {
            let (text, dir) = (d.tile.id.to_string(), page_dir(d.tile.grain_rad));
            SIZES_PX
                .iter()
                .filter(|size| **size <= most.max(8.0))
                .find_map(|size| {
                    let (at, arrow) = d.shape.number_and_arrow(&text, *size, dir)?;
                    Some((*size, at, arrow))
                })
        };
        let most = |d: &Drawn| 0.28 * d.shape.cell_px;
        let own: Vec<_> = drawn.iter().map(|d| place(d, most(d))).collect();
        let fitting = own.iter().flatten().count();
        if (fitting as f32) < ROOMY_SHARE * drawn.len() as f32 {
            return false;
        }
        // One size for most tiles reads calmer than the largest for each.
        let common = median(own.iter().flatten().map(|(size, ..)| *size));
        for (d, own) in drawn.iter_mut().zip(own) {
            let found = match own {
                Some((size, ..)) if size > common => place(d, common).or(own),
                own => own,
            };
            let Some((size_px, centre, arrow)) = found else {
                self.without.push(d.tile.id);
                continue;
            };
            d.arrow = arrow;
            self.numbers.push(Number {
                text: d.tile.id.to_string(),
                centre,
                size_px,
                plate: false,
                leader: None,
            });
        }
        true
    }

    /// The first and last tile of each row, beside the piece; none where the numbers do not run like
    /// words on a page.
    fn number_ends(&mut self, drawn: &[Drawn]) {
        let mut starts = vec![0];
        for (index, pair) in drawn.windows(2).enumerate() {
            if let [a, b] = pair
                && b.shape.anchor.x <= a.shape.anchor.x
            {
                starts.push(index + 1);
            }
        }
        let firsts: Vec<&Drawn> = starts.iter().filter_map(|i| drawn.get(*i)).collect();
        let falls = |pair: &[&Drawn]| match pair {
            [a, b] => b.shape.anchor.y > a.shape.anchor.y - 0.5,
            _ => true,
        };
        self.rows = !firsts.is_empty() && firsts.windows(2).all(falls);
        if !self.rows {
            return;
        }
        let ends = starts.iter().skip(1).copied().chain([drawn.len()]);
        let lasts: Vec<&Drawn> = ends.filter_map(|i| drawn.get(i.checked_sub(1)?)).collect();
        let corners: Vec<Vec2> = drawn
            .iter()
            .flat_map(|d| d.shape.outline.iter().copied())
            .collect();
        let (low, high) = bounds(&corners);
        for (tiles, side) in [(firsts, -1.0), (lasts, 1.0)] {
            for d in tiles {
                let text = d.tile.id.to_string();
                let edge = if side < 0.0 { low.x } else { high.x };
                let out = BESIDE_PX + number_half(&text, SMALL_PX).x;
                let own = bounds(&d.shape.outline);
                let near = if side < 0.0 { own.0.x } else { own.1.x };
                let y = d.shape.anchor.y;
                self.try_add(Number {
                    centre: Vec2::new(edge + side * out, y),
                    text,
                    size_px: SMALL_PX,
                    plate: false,
                    leader: Some(Vec2::new(near, y)),
                });
            }
        }
    }

    fn number_some(&mut self, drawn: &mut [Drawn]) {
        let cell = median(drawn.iter().map(|d| d.shape.cell_px));
        self.step = match (drawn.len() <= MOST_NUMBERED, cell >= FIVES_PX) {
            (true, true) => 5,
            (true, false) => 10,
            (false, _) => 100,
        };
        for (index, d) in drawn.iter_mut().enumerate() {
            if !d.tile.id.is_multiple_of(self.step) {
                continue;
            }
            let (text, anchor) = (d.tile.id.to_string(), d.shape.anchor);
            let half = number_half(&text, SMALL_PX);
            let top = anchor.y - d.shape.reach(Vec2::NEG_Y);
            let bottom = anchor.y + d.shape.reach(Vec2::Y);
            // Inside where the arrow keeps enough of the tile, else across the edge.
            let inside = bottom - top - 2.0 * half.y >= LEAST_LEFT_PX;
            let y = if inside { top + half.y } else { top };
            let added = self.try_add(Number {
                text,
                centre: Vec2::new(anchor.x, y),
                size_px: SMALL_PX,
                plate: true,
                leader: None,
            });
            if added {
                self.framed.push(index);
                if inside {
                    let middle = Vec2::new(anchor.x, 0.5 * (y + half.y + bottom));
                    let room = 0.5 * (bottom - y - half.y) - 1.5;
                    let along = |dir| reach(&d.shape.outline, middle, dir) - 1.0;
                    let dir = d.arrow.dir;
                    // Along the page more than the strip's height is free.
                    let free = room / dir.y.abs().max(0.3);
                    d.arrow.middle = middle;
                    d.arrow.half_px = free
                        .min(along(dir))
                        .min(along(-dir))
                        .clamp(0.0, d.arrow.half_px);
                }
            }
        }
    }

    /// Adds a number unless it meets another.
    fn try_add(&mut self, number: Number) -> bool {
        let half = number_half(&number.text, number.size_px);
        let free = self.numbers.iter().all(|other| {
            let apart = (other.centre - number.centre).abs();
            let both = half + number_half(&other.text, other.size_px);
            apart.x >= both.x || apart.y >= both.y
        });
        if free {
            self.numbers.push(number);
        } else {
            self.crowded = true;
        }
        free
    }

    /// Outlines of the tiles whose numbers stand on their edges.
    pub fn draw_frames(&self, svg: &mut Svg, drawn: &[Drawn]) {
        let frames: String = self
            .framed
            .iter()
            .filter_map(|index| drawn.get(*index))
            .map(|d| closed(&d.shape.outline))
            .collect();
        if !frames.is_empty() {
            svg.path(&frames, Look::line(palette::ACCENT, 1.3));
        }
    }

    pub fn draw(&self, svg: &mut Svg) {
        svg.raw(r#"<g pointer-events="none">"#);
        for n in &self.numbers {
            let half = number_half(&n.text, n.size_px);
            if let Some(to) = n.leader {
                let side = (to.x - n.centre.x).signum();
                let from = (n.centre.x + side * (half.x + 1.0), n.centre.y);
                svg.line(from, (to.x, to.y), Look::line(palette::HAIR, 0.8));
            }
            let look = Lettering::new(n.size_px).bold().anchor(Anchor::Middle);
            let look = if n.plate {
                let (corner, size) = (n.centre - half, half * 2.0);
                let paper = Look::fill(palette::PAPER).extra(r#" rx="2" fill-opacity="0.9""#);
                svg.rect(corner.x, corner.y, size.x, size.y, paper);
                look.colour(palette::ACCENT)
            } else {
                look
            };
            svg.text(
                n.centre.x,
                n.centre.y + half.y - pad_px(n.size_px),
                &n.text,
                look,
            );
        }
        svg.raw("</g>");
    }

    /// What a reader must know to find a number that is not drawn.
    pub fn notes(&self) -> Vec<String> {
        const RUN: &str =
            "Numbers run like words on a page, from left to right and row by row from the top.";
        let mut notes = Vec::new();
        match self.mode {
            Mode::All if self.without.is_empty() => {}
            Mode::All => {
                let few: Vec<String> = self.without.iter().take(12).map(u32::to_string).collect();
                let more = if self.without.len() > few.len() {
                    format!(" and {} more", self.without.len() - few.len())
                } else {
                    String::new()
                };
                notes.push(format!(
                    "Tiles too small for their number: {}{more}.",
                    few.join(", ")
                ));
            }
            Mode::Some => {
                let sides = if self.rows {
                    ", and the first and last of each row at the sides"
                } else {
                    ""
                };
                notes.push(format!(
                    "The tiles are too small for all numbers: every {}th is framed and has its number at its top edge{sides}.",
                    self.step
                ));
            }
            Mode::Ends => notes.push(
                "The tiles are too small for numbers: those at the sides are the first and last of each row.".to_owned(),
            ),
        }
        if self.mode != Mode::All {
            if self.rows {
                notes.push(RUN.to_owned());
            }
            if self.crowded {
                notes.push("Numbers that would meet others are left out.".to_owned());
            }
        }
        if self.mode != Mode::All || !self.without.is_empty() {
            notes.push(
                "In a browser, each tile shows its number when the pointer rests on it.".to_owned(),
            );
        }
        if notes.is_empty() {
            notes
        } else {
            vec![notes.join(" ")]
        }
    }
}
