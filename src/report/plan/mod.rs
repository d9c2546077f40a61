//! The plan of the room: walls, openings, solids, fixtures, walks with stations, the piece and where
//! else it could hang, north, scale, and where the sun stands.
//!
//! Input: plan coordinates as on a drawing, x right and y up the page [m]; azimuths clockwise from
//! true north [rad]. Output: SVG text, 1200 px wide. Space outlines are the inner faces of walls;
//! walls are drawn outward from them. Where two spaces share an edge a thin line is drawn.
//! Labels are placed greedily, in order of weight, where they meet neither one another nor lines.
//! Limits: one level of a building; heights are not drawn.

mod building;
mod compass;
mod contents;
mod labels;
mod side;
mod sign;
mod sun;
#[cfg(test)]
mod tests;
mod view;

use glam::Vec2;

use super::page;
use super::svg::Svg;
use labels::Labels;
pub(super) use side::scale_bar;
use view::View;

/// Data of a plan drawing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plan {
    /// Title, for example the name of the room.
    pub title: String,
    /// Place, occasion.
    pub subtitle: String,
    /// Inner outlines of the spaces [m], closed without repeating the first point, either sense.
    pub outlines: Vec<Vec<Vec2>>,
    /// Thickness that walls are drawn with [m].
    pub wall_thickness_m: f32,
    /// Windows, doors, rooflights.
    pub openings: Vec<PlanOpening>,
    /// Columns, counters, trees, neighbouring buildings.
    pub solids: Vec<PlanSolid>,
    /// Fixtures with their aims.
    pub fixtures: Vec<PlanFixture>,
    /// Visitor walks.
    pub walks: Vec<PlanWalk>,
    /// The piece.
    pub piece: Option<PlanPiece>,
    /// Other places where the piece could hang.
    pub candidates: Vec<PlanPlace>,
    /// True bearing of plan +y [rad], clockwise from true north.
    pub bearing_rad: f32,
    /// Sun positions to show.
    pub sun: Vec<PlanSun>,
    /// Notes at the foot.
    pub footnote: String,
}

/// An opening in a wall or roof.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanOpening {
    /// One end on the inner face of the wall [m].
    pub a: Vec2,
    /// The other end [m].
    pub b: Vec2,
    /// What it is.
    pub kind: OpeningKind,
    /// Name; may be empty.
    pub label: String,
}

/// Kinds of openings.
#[derive(Debug, Clone, PartialEq)]
pub enum OpeningKind {
    /// Glazing in a wall.
    Window,
    /// A door or passage.
    Door,
    /// Glazing overhead with its outline [m]; the ends are not used.
    Rooflight(Vec<Vec2>),
}

/// Where a solid stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SolidSide {
    /// In the room.
    Inside,
    /// Outside, as something that shades or reflects.
    Outside,
}

/// A solid seen from above.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanSolid {
    /// Outline [m].
    pub outline: Vec<Vec2>,
    /// Inside or outside.
    pub side: SolidSide,
    /// Name; may be empty.
    pub label: String,
}

/// A fixture seen from above.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanFixture {
    /// Place [m].
    pub pos: Vec2,
    /// Point aimed at [m]; the place itself when it shines straight down.
    pub aim_target: Vec2,
    /// Number or name.
    pub label: String,
    /// Full beam angle [rad]; 0 draws no beam.
    pub beam_rad: f32,
}

/// A walk.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanWalk {
    /// Name.
    pub name: String,
    /// Corners of the path [m].
    pub points: Vec<Vec2>,
    /// Stations [m].
    pub stations: Vec<Vec2>,
}

/// The piece on its wall.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanPiece {
    /// One end [m].
    pub a: Vec2,
    /// The other end [m].
    pub b: Vec2,
    /// Direction that its front faces, any length.
    pub facing: Vec2,
    /// Name.
    pub label: String,
}

/// A place where the piece could hang.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanPlace {
    /// One end [m].
    pub a: Vec2,
    /// The other end [m].
    pub b: Vec2,
    /// Name.
    pub label: String,
}

/// A sun position.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanSun {
    /// Azimuth clockwise from true north [rad].
    pub azimuth_rad: f32,
    /// Elevation above the horizon [rad]; below 0 the sun is drawn hollow.
    pub elevation_rad: f32,
    /// Clock time, for example `10:00`.
    pub label: String,
    /// Day, for example `21 Jun`; each day gets a ring.
    pub day: String,
}

impl Plan {
    /// Unit vector of a true azimuth on the plan, x right and y up.
    fn direction(&self, azimuth_rad: f32) -> Vec2 {
        let angle = azimuth_rad - self.bearing_rad;
        Vec2::new(angle.sin(), angle.cos())
    }

    /// Whether a point lies in any space (even-odd rule).
    fn is_inside(&self, point: Vec2) -> bool {
        self.outlines.iter().any(|outline| contains(outline, point))
    }

    /// Names of days in the order of first use.
    fn days(&self) -> Vec<&str> {
        let mut days: Vec<&str> = Vec::new();
        for sun in &self.sun {
            if !days.contains(&sun.day.as_str()) {
                days.push(&sun.day);
            }
        }
        days
    }
}

/// Even-odd rule for a point in a polygon.
pub(super) fn contains(outline: &[Vec2], point: Vec2) -> bool {
    let next = outline.iter().cycle().skip(1);
    let crossings = outline.iter().zip(next).filter(|(a, b)| {
        (a.y > point.y) != (b.y > point.y)
            && point.x < a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x)
    });
    crossings.count() % 2 == 1
}

/// The plan as SVG text, 1200 px wide.
pub fn plan_svg(plan: &Plan) -> String {
    let mut svg = Svg::new();
    let top = page::header(&mut svg, &plan.title, &plan.subtitle) + 6.0;
    let view = View::new(plan, top);
    let mut labels = Labels::new(view.frame());
    building::draw_outside(&mut svg, plan, &view);
    sun::draw_rings(&mut svg, plan, &view, &mut labels);
    contents::draw_beams(&mut svg, plan, &view, building::draw_floors);
    building::draw(&mut svg, plan, &view, &mut labels);
    contents::draw(&mut svg, plan, &view, &mut labels);
    building::add_labels(plan, &view, &mut labels);
    sun::add_labels(plan, &view, &mut labels);
    labels.draw(&mut svg, |px| building::ground(plan, view.plan(px)));
    let side_end = side::draw(&mut svg, plan, &view, top + 8.0);
    let scale_end = side::draw_scale_bar(&mut svg, &view);
    let mut notes = vec![plan.footnote.clone()];
    notes.extend(page::missing_letters_note(texts(plan)));
    let height = page::footer(&mut svg, side_end.max(scale_end) + 20.0, &notes);
    svg.finish(page::WIDTH, height, &plan.title, &plan.subtitle)
}

/// All words on the plan.
fn texts(plan: &Plan) -> impl Iterator<Item = &str> {
    let words = [&plan.title, &plan.subtitle, &plan.footnote];
    let openings = plan.openings.iter().map(|o| &o.label);
    let solids = plan.solids.iter().map(|s| &s.label);
    let fixtures = plan.fixtures.iter().map(|f| &f.label);
    let walks = plan.walks.iter().map(|w| &w.name);
    let pieces = plan.piece.iter().map(|p| &p.label);
    let places = plan.candidates.iter().map(|p| &p.label);
    let suns = plan.sun.iter().flat_map(|s| [&s.label, &s.day]);
    let all = words
        .into_iter()
        .chain(openings)
        .chain(solids)
        .chain(fixtures);
    all.chain(walks)
        .chain(pieces)
        .chain(places)
        .chain(suns)
        .map(String::as_str)
}
