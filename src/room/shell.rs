//! The building: walls with holes, floors, ceilings, reveals, rooflight shafts, solids.

use glam::{Vec2, Vec3};

use super::{
    schema::{
        Blind, Ceiling, Filling, Finish, Opening, Rooflight, RoomFile, Solid, Space, WindowFilling,
    },
    walk::world,
    wall::{Hole, WallLine, ceiling_m, facing, inset, is_convex, wall},
};
use crate::{
    geometry::{Polygon, PolygonError},
    material::Glazing,
    scene::{Pane, Surface},
};

/// Two walls nearer than this, face to face, share an opening [m].
const SHARED_WALL_M: f32 = 0.8;

/// Surfaces and panes being collected.
pub(super) struct Shell<'a> {
    room: &'a RoomFile,
    /// Opaque surfaces.
    pub surfaces: Vec<Surface>,
    /// Panes.
    pub panes: Vec<Pane>,
    /// Whether the building can see its own outside: several spaces, or an outline that turns inward.
    facades: bool,
}

/// Glazing, dirt, frame and blind as the solver's pane parameters.
struct PaneOptics {
    glazing: Glazing,
    clear_factor: f32,
    blind_open: f32,
    diffuse_transmittance: f32,
}

impl<'a> Shell<'a> {
    /// Builds the whole shell.
    ///
    /// # Errors
    /// An outline that encloses no area (validation finds those first).
    pub(super) fn new(room: &'a RoomFile) -> Result<Self, PolygonError> {
        let mut shell = Self {
            room,
            surfaces: Vec::new(),
            panes: Vec::new(),
            facades: room.spaces.len() > 1 || room.spaces.iter().any(|s| !is_convex(s)),
        };
        for (index, space) in room.spaces.iter().enumerate() {
            shell.walls(index, space)?;
            shell.floor_and_ceiling(space)?;
        }
        for solid in &room.solids {
            shell.solid(solid)?;
        }
        Ok(shell)
    }

    fn colour(&self, finish: &Finish) -> Vec3 {
        let hue =
            Vec3::new(finish.hue_rgb.0, finish.hue_rgb.1, finish.hue_rgb.2).max(Vec3::splat(1e-3));
        // Rec. 709 luminance weights (IEC 61966-2-1).
        hue * (finish.reflectance / hue.dot(Vec3::new(0.2126, 0.7152, 0.0722)))
    }

    fn surface(
        &mut self,
        corners: &[Vec3],
        holes: &[Vec<Vec3>],
        finish: &str,
        label: String,
        indoors: bool,
    ) -> Result<(), PolygonError> {
        // Validation has checked the name; an unknown one would be black.
        let (reflectance, reflectance_rgb) = self
            .room
            .finishes
            .get(finish)
            .map_or((0.0, Vec3::ZERO), |f| (f.reflectance, self.colour(f)));
        let polygon = Polygon::from_world(corners, holes)?;
        let back_reflectance = if indoors && self.facades {
            self.room.site.facade_reflectance
        } else {
            0.0
        };
        self.surfaces.push(Surface {
            polygon,
            reflectance,
            back_reflectance,
            reflectance_rgb,
            indoors,
            label,
        });
        Ok(())
    }

    fn walls(&mut self, index: usize, space: &Space) -> Result<(), PolygonError> {
        for wall_index in 0..space.outline_m.len() {
            let line = wall(space, wall_index);
            let finish = space
                .wall_finishes
                .get(&wall_index)
                .unwrap_or(&space.walls)
                .clone();
            let mut holes = Vec::new();
            for opening in self
                .room
                .openings
                .iter()
                .filter(|o| o.space == space.name && o.wall == wall_index)
            {
                let hole = Hole {
                    span: (opening.offset_m, opening.offset_m + opening.width_m),
                    heights: (
                        space.floor_m + opening.sill_m,
                        space.floor_m + opening.sill_m + opening.height_m,
                    ),
                };
                holes.push(inset(hole, &line));
                self.fill(&line, hole, opening, &finish)?;
            }
            for (opening, hole) in self.holes_from_neighbours(index, &line) {
                if !matches!(opening.filling, Filling::Window(_) | Filling::Door { .. }) {
                    holes.push(inset(hole, &line));
                }
            }
            let corners: Vec<Vec3> = [
                (line.from, line.floor_m),
                (line.to, line.floor_m),
                (line.to, line.top_m.1),
                (line.from, line.top_m.0),
            ]
            .map(|(p, h)| world(p.x, p.y, h))
            .to_vec();
            let corners = facing(corners, line.normal());
            let holes: Vec<Vec<Vec3>> = holes
                .iter()
                .map(|h| line.rectangle(h.span, h.heights, 0.0))
                .collect();
            let label = format!("wall {wall_index} of {}", space.name);
            self.surface(&corners, &holes, &finish, label, true)?;
        }
        Ok(())
    }

    /// Openings of other spaces that open into this wall, as holes of this wall.
    fn holes_from_neighbours(&self, index: usize, line: &WallLine) -> Vec<(&'a Opening, Hole)> {
        let mut found = Vec::new();
        for opening in &self.room.openings {
            let Some(other) = self
                .room
                .spaces
                .iter()
                .position(|s| s.name == opening.space)
            else {
                continue;
            };
            if other == index {
                continue;
            }
            let theirs = wall(&self.room.spaces[other], opening.wall);
            if theirs.inward.dot(line.inward) > -0.99 {
                continue;
            }
            let ends = [
                theirs.at(opening.offset_m, 0.0),
                theirs.at(opening.offset_m + opening.width_m, 0.0),
            ];
            let gap = (ends[0] - line.from).dot(line.inward).abs();
            if gap > SHARED_WALL_M {
                continue;
            }
            let along = (line.to - line.from) / line.length_m;
            let spans = ends.map(|e| (e - line.from).dot(along));
            let span = (spans[0].min(spans[1]), spans[0].max(spans[1]));
            if span.0 < -1e-3 || span.1 > line.length_m + 1e-3 {
                continue;
            }
            let low = theirs.floor_m + opening.sill_m;
            let top = line.top_m.0.min(line.top_m.1);
            if low < line.floor_m - 1e-3 || low + opening.height_m > top + 1e-3 {
                continue;
            }
            found.push((
                opening,
                Hole {
                    span,
                    heights: (low, low + opening.height_m),
                },
            ));
        }
        found
    }

    /// Gap [m] between this wall and a neighbour's wall behind an opening; `None` with no neighbour.
    fn gap_behind(&self, line: &WallLine, hole: Hole, space_name: &str) -> Option<f32> {
        let middle = line.at((hole.span.0 + hole.span.1) / 2.0, 0.0);
        self.room
            .spaces
            .iter()
            .filter(|s| s.name != space_name)
            .flat_map(|s| (0..s.outline_m.len()).map(move |w| wall(s, w)))
            .filter(|w| w.inward.dot(line.inward) < -0.99)
            .filter(|w| {
                let along = (middle - w.from).dot((w.to - w.from) / w.length_m);
                let height = (hole.heights.0 + hole.heights.1) / 2.0;
                let top = w.top_m.0.min(w.top_m.1);
                (0.0..=w.length_m).contains(&along) && (w.floor_m..=top).contains(&height)
            })
            .map(|w| (middle - w.from).dot(w.inward).abs())
            .filter(|gap| *gap <= SHARED_WALL_M)
            .min_by(f32::total_cmp)
    }

    fn fill(
        &mut self,
        line: &WallLine,
        hole: Hole,
        opening: &Opening,
        finish: &str,
    ) -> Result<(), PolygonError> {
        let gap = self.gap_behind(line, hole, &opening.space);
        let depth = match &opening.filling {
            Filling::Open | Filling::Inner(_) => gap.unwrap_or(opening.reveal_m),
            _ => opening.reveal_m,
        };
        if depth > 1e-3 {
            self.reveal(line, hole, depth, finish, &opening.name)?;
        }
        let pane_depth = if matches!(opening.filling, Filling::Inner(_)) {
            depth / 2.0
        } else {
            depth
        };
        let corners = line.rectangle(hole.span, hole.heights, pane_depth);
        let label = opening.name.clone();
        match &opening.filling {
            Filling::Window(filling) => self.pane(&corners, filling, true, label),
            Filling::Inner(filling) => self.pane(&corners, filling, gap.is_none(), label),
            Filling::Door { finish } => self.surface(&corners, &[], finish, label, true),
            Filling::Open if gap.is_none() => self.open_pane(&corners, label),
            Filling::Open => Ok(()),
        }
    }

    fn reveal(
        &mut self,
        line: &WallLine,
        hole: Hole,
        depth: f32,
        finish: &str,
        name: &str,
    ) -> Result<(), PolygonError> {
        let front = line.rectangle(hole.span, hole.heights, 0.0);
        let back = line.rectangle(hole.span, hole.heights, depth);
        let middle = front.iter().chain(&back).sum::<Vec3>() / 8.0;
        for i in 0..4 {
            let j = (i + 1) % 4;
            let corners = vec![front[i], front[j], back[j], back[i]];
            let toward = middle - corners.iter().sum::<Vec3>() / 4.0;
            self.surface(
                &facing(corners, toward),
                &[],
                finish,
                format!("reveal of {name}"),
                true,
            )?;
        }
        Ok(())
    }

    fn optics(&self, filling: &WindowFilling) -> PaneOptics {
        // Validation has checked names and parameters; an impossible glazing would be a hole.
        let file = self.room.glazings.get(&filling.glazing);
        let glazing = file
            .and_then(|g| g.glazing().ok())
            .unwrap_or_else(Glazing::open);
        let diffusing = file.map_or(0.0, |g| g.diffusing);
        let net = (1.0 - filling.frame_share) * filling.dirt;
        let none = Blind {
            drawn: 0.0,
            openness: 1.0,
            scattered: 0.0,
        };
        let blind = filling.blind.as_ref().unwrap_or(&none);
        let blind_open = 1.0 - blind.drawn + blind.drawn * blind.openness;
        let scattered = diffusing * blind_open + blind.drawn * blind.scattered;
        PaneOptics {
            diffuse_transmittance: glazing.diffuse_transmittance() * net * scattered,
            glazing,
            clear_factor: net * (1.0 - diffusing),
            blind_open,
        }
    }

    fn pane(
        &mut self,
        corners: &[Vec3],
        filling: &WindowFilling,
        exterior: bool,
        label: String,
    ) -> Result<(), PolygonError> {
        let optics = self.optics(filling);
        self.panes.push(Pane {
            polygon: Polygon::from_world(corners, &[])?,
            glazing: optics.glazing,
            clear_factor: optics.clear_factor,
            blind_open: optics.blind_open,
            diffuse_transmittance: optics.diffuse_transmittance,
            // Etched glass and blinds throw back about a third of what they do not pass (from memory).
            diffuse_reflectance: (0.35 * (1.0 - optics.diffuse_transmittance)).min(0.6),
            exterior,
            label,
        });
        Ok(())
    }

    fn open_pane(&mut self, corners: &[Vec3], label: String) -> Result<(), PolygonError> {
        self.panes.push(Pane {
            polygon: Polygon::from_world(corners, &[])?,
            glazing: Glazing::open(),
            clear_factor: 1.0,
            blind_open: 1.0,
            diffuse_transmittance: 0.0,
            diffuse_reflectance: 0.0,
            exterior: true,
            label,
        });
        Ok(())
    }

    fn floor_and_ceiling(&mut self, space: &Space) -> Result<(), PolygonError> {
        let lay = |height: &dyn Fn(Vec2) -> f32| -> Vec<Vec3> {
            space
                .outline_m
                .iter()
                .map(|p| world(p.0, p.1, height(Vec2::new(p.0, p.1))))
                .collect()
        };
        let floor = facing(lay(&|_| space.floor_m), Vec3::Y);
        self.surface(
            &floor,
            &[],
            &space.floor,
            format!("floor of {}", space.name),
            true,
        )?;
        let top = facing(lay(&|p| ceiling_m(&space.ceiling, p)), Vec3::NEG_Y);
        if matches!(space.ceiling, Ceiling::Open { .. }) {
            return self.open_pane(&top, format!("open sky over {}", space.name));
        }
        let mut holes = Vec::new();
        for light in self
            .room
            .rooflights
            .iter()
            .filter(|r| r.space == space.name)
        {
            holes.push(self.rooflight(space, light)?);
        }
        self.surface(
            &top,
            &holes,
            &space.ceiling_finish,
            format!("ceiling of {}", space.name),
            true,
        )
    }

    /// Shaft and pane of a rooflight; returns the hole in the ceiling.
    fn rooflight(&mut self, space: &Space, light: &Rooflight) -> Result<Vec<Vec3>, PolygonError> {
        let lay = |raise: f32| -> Vec<Vec3> {
            light
                .outline_m
                .iter()
                .map(|p| {
                    world(
                        p.0,
                        p.1,
                        ceiling_m(&space.ceiling, Vec2::new(p.0, p.1)) + raise,
                    )
                })
                .collect()
        };
        let (hole, top) = (lay(0.0), lay(light.shaft_m));
        if light.shaft_m > 1e-3 {
            let finish = light
                .shaft_finish
                .as_ref()
                .unwrap_or(&space.ceiling_finish)
                .clone();
            let middle = hole.iter().sum::<Vec3>() / hole.len() as f32;
            for i in 0..hole.len() {
                let j = (i + 1) % hole.len();
                let corners = vec![hole[i], hole[j], top[j], top[i]];
                let toward = middle - (hole[i] + hole[j]) / 2.0;
                self.surface(
                    &facing(corners, toward),
                    &[],
                    &finish,
                    format!("shaft of {}", light.name),
                    true,
                )?;
            }
        }
        self.pane(
            &facing(top, Vec3::NEG_Y),
            &light.filling,
            true,
            light.name.clone(),
        )?;
        Ok(hole)
    }

    fn solid(&mut self, solid: &Solid) -> Result<(), PolygonError> {
        let lay = |height: f32| -> Vec<Vec3> {
            solid
                .outline_m
                .iter()
                .map(|p| world(p.0, p.1, height))
                .collect()
        };
        let (low, high) = (lay(solid.from_m), lay(solid.to_m));
        let indoors = !solid.outside;
        let top = facing(high.clone(), Vec3::Y);
        let bottom = facing(low.clone(), Vec3::NEG_Y);
        self.surface(
            &top,
            &[],
            &solid.finish,
            format!("top of {}", solid.name),
            indoors,
        )?;
        self.surface(
            &bottom,
            &[],
            &solid.finish,
            format!("underside of {}", solid.name),
            indoors,
        )?;
        let up = facing(low.clone(), Vec3::Y);
        for i in 0..up.len() {
            let j = (i + 1) % up.len();
            let rise = Vec3::Y * (solid.to_m - solid.from_m);
            // Counter-clockwise from above: the outward side is to the right of each edge.
            let outward = (up[j] - up[i]).cross(Vec3::Y);
            let corners = facing(vec![up[i], up[j], up[j] + rise, up[i] + rise], outward);
            self.surface(&corners, &[], &solid.finish, solid.name.clone(), indoors)?;
        }
        Ok(())
    }
}
