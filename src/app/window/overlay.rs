//! Marks over the picture: the chosen thing with its grips, pins, the visitor and the walks in the plan, north,
//! and the sun's path.

use bevy::math::Vec3;
use bevy_egui::egui::{self, Align2, Color32, FontId, Pos2, Stroke};

use crate::{
    app::{
        engine::Clock,
        grips::{Grip, aimed_at, grips},
        pick::FoundOn,
        standing::{Standing, bounds},
        state::{Chosen, Desk, Pins, Showing, Thing, ViewKind},
        theme,
        view::View,
    },
    room::{BuiltRoom, PlanPoint, RoomFile, ceiling_m, wall},
};

/// What is marked.
pub(super) struct Marks<'a> {
    pub room: &'a RoomFile,
    pub built: &'a BuiltRoom,
    pub desk: &'a Desk,
    pub view: &'a View,
    pub showing: &'a Showing,
    pub chosen: &'a Chosen,
    pub pins: &'a Pins,
    pub standing: &'a Standing,
    pub clock: &'a Clock,
    /// Grip under the pointer, or in the hand.
    pub hot: Option<Grip>,
    /// Where the sun stands at minutes of the day, toward it.
    pub sun: &'a [(u32, Vec3)],
}

fn world(plan: PlanPoint, height_m: f32) -> Vec3 {
    crate::room::world(plan.0, plan.1, height_m)
}

/// A line and what is around it, so that it is seen over light and dark.
fn edged(painter: &egui::Painter, a: Pos2, b: Pos2, width: f32, colour: Color32) {
    painter.line_segment(
        [a, b],
        Stroke::new(width + 2.0, theme::EDGE.gamma_multiply(0.55)),
    );
    painter.line_segment([a, b], Stroke::new(width, colour));
}

/// Words on a dark ground.
pub(super) fn words(
    painter: &egui::Painter,
    at: Pos2,
    align: Align2,
    text: &str,
    size: f32,
    colour: Color32,
) {
    let galley = painter.layout_no_wrap(text.to_owned(), FontId::proportional(size), colour);
    let rect = align.anchor_size(at, galley.size());
    // Words at the edge of the picture are moved into it.
    let inside = painter.clip_rect().shrink(5.0);
    let shift = (inside.min - rect.min).max(egui::Vec2::ZERO)
        + (inside.max - rect.max).min(egui::Vec2::ZERO);
    let rect = rect.translate(shift);
    painter.rect_filled(rect.expand2(egui::vec2(4.0, 2.0)), 3.0, theme::VEIL);
    painter.galley(rect.min, galley, colour);
}

impl Marks<'_> {
    fn at(&self, world: Vec3) -> Option<Pos2> {
        self.view.place(world).map(|p| Pos2::new(p.x, p.y))
    }

    /// A line in the room; what is behind the eye is left out.
    fn line(&self, painter: &egui::Painter, points: &[Vec3], width: f32, colour: Color32) {
        for pair in points.windows(2) {
            let count = (pair[0].distance(pair[1]) / 0.4).ceil().clamp(1.0, 200.0) as usize;
            let mut last = None;
            for k in 0..=count {
                let here = self.at(pair[0].lerp(pair[1], k as f32 / count as f32));
                if let (Some(a), Some(b)) = (last, here) {
                    edged(painter, a, b, width, colour);
                }
                last = here;
            }
        }
    }

    fn ring(&self, painter: &egui::Painter, outline: &[Vec3], width: f32, colour: Color32) {
        let closed: Vec<Vec3> = outline.iter().chain(outline.first()).copied().collect();
        self.line(painter, &closed, width, colour);
    }

    pub(super) fn paint(&self, painter: &egui::Painter) {
        if self.showing.view == ViewKind::Plan {
            self.plan(painter);
        }
        if self.showing.sun_path {
            self.sun_path(painter);
        }
        self.tiles(painter);
        self.chosen_thing(painter);
        self.grips(painter);
        self.pins(painter);
    }

    /// Walks, the piece, the visitor and north.
    fn plan(&self, painter: &egui::Painter) {
        for (i, walk) in self.room.walks.iter().enumerate() {
            let here = i == self.standing.walk;
            let points: Vec<Vec3> = walk
                .points_m
                .iter()
                .map(|p| world(*p, walk.floor_m))
                .collect();
            let colour = if here {
                theme::INK
            } else {
                theme::SOFT.gamma_multiply(0.5)
            };
            self.line(painter, &points, if here { 2.0 } else { 1.0 }, colour);
            if here && let Some(start) = points.first().and_then(|p| self.at(*p)) {
                let at = start + egui::vec2(0.0, 14.0);
                words(
                    painter,
                    at,
                    Align2::LEFT_CENTER,
                    &walk.name,
                    12.0,
                    theme::INK,
                );
            }
        }
        let (low, high) = self.built.tiling.bounds();
        let frame = &self.built.place.frame;
        let half = (high.x - low.x) * 0.5;
        let ends =
            [frame.point(-half, 0.0), frame.point(half, 0.0)].map(|p| p + frame.z_dir * 0.04);
        self.line(painter, &ends, 4.0, theme::ACCENT);
        for fixture in &self.room.fixtures {
            let (x, y, h) = fixture.at_m;
            if let Some(at) = self.at(world((x, y), h)) {
                let at = at + egui::vec2(9.0, -9.0);
                words(
                    painter,
                    at,
                    Align2::LEFT_BOTTOM,
                    &fixture.name,
                    11.0,
                    theme::SOFT,
                );
            }
        }
        let visitor = self.standing.visitor(self.built);
        if let (Some(at), Some(ahead)) = (
            self.at(visitor.eye),
            self.at(visitor.eye + visitor.gaze_dir * 0.9),
        ) {
            painter.circle(at, 7.0, theme::ACCENT, Stroke::new(2.0, theme::EDGE));
            edged(painter, at, ahead, 2.5, theme::ACCENT);
        }
        self.north(painter);
    }

    fn north(&self, painter: &egui::Painter) {
        let corner = painter.clip_rect().right_bottom() - egui::vec2(40.0, 84.0);
        // Plan +y, up the page, bears `bearing_deg` from north.
        let bearing = (self.room.site.bearing_deg as f32).to_radians();
        let up = egui::vec2(-bearing.sin(), -bearing.cos()) * 20.0;
        edged(painter, corner - up, corner + up, 2.0, theme::INK);
        painter.arrow(corner - up, up * 2.0, Stroke::new(2.0, theme::INK));
        words(
            painter,
            corner + up * 1.6,
            Align2::CENTER_CENTER,
            "N",
            12.0,
            theme::INK,
        );
    }

    fn tiles(&self, painter: &egui::Painter) {
        for id in self.chosen.tiles.iter().take(400) {
            let Some(tile) = self.built.tiling.tile(*id) else {
                continue;
            };
            let face_m = self.built.tiling.thickness_m + 0.002;
            let outline: Vec<Vec3> = tile
                .outline_m
                .iter()
                .map(|p| self.built.place.point(*p, face_m))
                .collect();
            self.ring(painter, &outline, 2.0, theme::ACCENT);
        }
    }

    fn chosen_thing(&self, painter: &egui::Painter) {
        let room = self.room;
        match &self.chosen.thing {
            Some(Thing::Fixture(i)) => {
                let Some(fixture) = room.fixtures.get(*i) else {
                    return;
                };
                let (x, y, h) = fixture.at_m;
                let from = world((x, y), h);
                let to = aimed_at(self.built, fixture.aim.clone(), fixture.at_m);
                self.line(painter, &[from, to], 1.5, theme::ACCENT);
                if let Some(at) = self.at(from) {
                    words(
                        painter,
                        at + egui::vec2(12.0, 0.0),
                        Align2::LEFT_CENTER,
                        &fixture.name,
                        12.0,
                        theme::INK,
                    );
                }
            }
            Some(Thing::Walk(i)) => {
                let Some(walk) = room.walks.get(*i) else {
                    return;
                };
                let floor = |k: usize| walk.floors_m.get(k).copied().unwrap_or(walk.floor_m);
                let points: Vec<Vec3> = walk
                    .points_m
                    .iter()
                    .enumerate()
                    .map(|(k, p)| world(*p, floor(k) + 0.02))
                    .collect();
                self.line(painter, &points, 2.0, theme::ACCENT);
            }
            Some(Thing::Opening(i)) => {
                let Some(opening) = room.openings.get(*i) else {
                    return;
                };
                let space = room.spaces.iter().find(|s| s.name == opening.space);
                let Some(space) = space.filter(|s| opening.wall < s.outline_m.len()) else {
                    return;
                };
                let line = wall(space, opening.wall);
                let low = line.floor_m + opening.sill_m;
                let corner = |along: f32, h: f32| world(line.at(along, 0.0).into(), h);
                let (a, b) = (opening.offset_m, opening.offset_m + opening.width_m);
                let high = low + opening.height_m;
                self.ring(
                    painter,
                    &[
                        corner(a, low),
                        corner(b, low),
                        corner(b, high),
                        corner(a, high),
                    ],
                    2.0,
                    theme::ACCENT,
                );
            }
            Some(Thing::Solid(i)) => {
                let Some(solid) = room.solids.get(*i) else {
                    return;
                };
                for h in [solid.from_m, solid.to_m] {
                    let outline: Vec<Vec3> = solid.outline_m.iter().map(|p| world(*p, h)).collect();
                    self.ring(painter, &outline, 1.5, theme::ACCENT);
                }
                for p in &solid.outline_m {
                    self.line(
                        painter,
                        &[world(*p, solid.from_m), world(*p, solid.to_m)],
                        1.5,
                        theme::ACCENT,
                    );
                }
            }
            Some(Thing::Space(i)) => {
                let Some(space) = room.spaces.get(*i) else {
                    return;
                };
                let outline: Vec<Vec3> = space
                    .outline_m
                    .iter()
                    .map(|p| world(*p, space.floor_m + 0.01))
                    .collect();
                self.ring(painter, &outline, 2.0, theme::ACCENT);
            }
            Some(Thing::Rooflight(i)) => {
                let Some(light) = room.rooflights.get(*i) else {
                    return;
                };
                let space = room.spaces.iter().find(|s| s.name == light.space);
                let height =
                    |p: &PlanPoint| space.map_or(3.0, |s| ceiling_m(&s.ceiling, (*p).into()));
                let outline: Vec<Vec3> = light
                    .outline_m
                    .iter()
                    .map(|p| world(*p, height(p)))
                    .collect();
                self.ring(painter, &outline, 2.0, theme::ACCENT);
            }
            Some(Thing::Candidate(i)) => {
                let Some(place) = room.candidates.get(*i) else {
                    return;
                };
                let there = crate::room::PiecePlace::new(room, place);
                let (low, high) = self.built.tiling.bounds();
                let corners = [
                    (low.x, low.y),
                    (high.x, low.y),
                    (high.x, high.y),
                    (low.x, high.y),
                ];
                let outline: Vec<Vec3> = corners
                    .map(|(x, y)| there.point(bevy::math::Vec2::new(x, y), 0.02))
                    .to_vec();
                self.ring(painter, &outline, 2.0, theme::ACCENT);
            }
            _ => {}
        }
    }

    fn grips(&self, painter: &egui::Painter) {
        let from_above = self.showing.view == ViewKind::Plan;
        for (grip, place) in grips(
            self.room,
            self.built,
            self.chosen.thing.as_ref(),
            from_above,
        ) {
            // The piece is dragged by itself; a dot on it would hide what one looks at.
            if grip == Grip::Piece && !from_above && self.hot != Some(grip) {
                continue;
            }
            let Some(at) = self.at(place) else { continue };
            let hot = self.hot == Some(grip);
            let radius = if hot { 8.0 } else { 5.5 };
            let fill = if hot { theme::ACCENT } else { theme::GROUND };
            painter.circle(at, radius, fill, Stroke::new(2.0, theme::ACCENT));
            if matches!(grip, Grip::Aim(_)) {
                painter.circle_filled(at, 2.0, theme::INK);
            }
        }
    }

    fn pins(&self, painter: &egui::Painter) {
        for pin in &self.pins.list {
            let place = match pin.on {
                crate::app::state::PinOn::Tile(id) => {
                    crate::app::state::on_tile(self.built, id).map(|f| f.point)
                }
                crate::app::state::PinOn::Place(point, _) => Some(point),
            };
            let Some(at) = place.and_then(|p| self.at(p)) else {
                continue;
            };
            painter.circle(at, 4.0, theme::ACCENT, Stroke::new(1.5, theme::EDGE));
            let text = match self.desk.live().spot(pin.number, None, self.clock) {
                Some(answer) => format!(
                    "{}: {}",
                    pin.number,
                    crate::measure::format::luminance(f64::from(answer.luminance_cd_m2))
                ),
                None => pin.number.to_string(),
            };
            words(
                painter,
                at + egui::vec2(9.0, -9.0),
                Align2::LEFT_BOTTOM,
                &text,
                12.0,
                theme::INK,
            );
        }
        if let Some(found) = &self.pins.pointer
            && !matches!(found.on, FoundOn::Pane(_))
            && let Some(answer) = self.desk.live().spot(0, Some(found.point), self.clock)
            && let Some(at) = self.at(found.point)
        {
            let text = crate::measure::format::luminance(f64::from(answer.luminance_cd_m2));
            words(
                painter,
                at + egui::vec2(14.0, 16.0),
                Align2::LEFT_TOP,
                &text,
                12.0,
                theme::INK,
            );
        }
    }

    fn sun_path(&self, painter: &egui::Painter) {
        let (low, high) = bounds(self.built);
        let centre = (low + high) * 0.5;
        let radius = (high - low).length() * 0.55;
        let place = |dir: Vec3| {
            if self.showing.view == ViewKind::Visitor {
                self.view
                    .place_of_direction(dir)
                    .map(|p| Pos2::new(p.x, p.y))
            } else {
                self.at(Vec3::new(centre.x, low.y, centre.z) + dir * radius)
            }
        };
        let clip = painter.clip_rect().expand(400.0);
        for pair in self.sun.windows(2) {
            let up = pair[0].1.y > 0.0 && pair[1].1.y > 0.0;
            if let (true, Some(a), Some(b)) = (up, place(pair[0].1), place(pair[1].1))
                && clip.contains(a)
                && clip.contains(b)
            {
                edged(painter, a, b, 1.5, theme::SUN);
            }
        }
        for (minute, dir) in self.sun.iter().filter(|(m, d)| m % 60 == 0 && d.y > 0.0) {
            if let Some(at) = place(*dir).filter(|p| clip.contains(*p)) {
                painter.circle(at, 3.5, theme::SUN, Stroke::new(1.0, theme::EDGE));
                words(
                    painter,
                    at + egui::vec2(0.0, -8.0),
                    Align2::CENTER_BOTTOM,
                    &format!("{}", minute / 60),
                    11.0,
                    theme::SUN,
                );
            }
        }
        let Some((_, now)) = self
            .sun
            .iter()
            .min_by_key(|(m, _)| m.abs_diff(self.clock.minute))
        else {
            return;
        };
        if now.y > 0.0
            && let Some(at) = place(*now).filter(|p| clip.contains(*p))
        {
            painter.circle(at, 9.0, theme::SUN, Stroke::new(2.0, theme::EDGE));
            if self.showing.view != ViewKind::Visitor
                && let Some(piece) = self.at(self.built.piece.centre)
            {
                edged(painter, at, piece, 1.0, theme::SUN.gamma_multiply(0.6));
            }
        }
    }
}
