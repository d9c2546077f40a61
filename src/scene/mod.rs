//! The plain input of the solver: surfaces, panes, fixtures, the hung piece and the stations.
//!
//! No file names, no optional fields, no degrees: `room::build` has resolved all of that. World
//! metres, +Y up; see [`crate::units`].

mod fixture;
mod piece;
mod station;

pub use fixture::Fixture;
pub use piece::{HungPiece, HungTile, POINTS_PER_TILE};
pub use station::Station;

use crate::{geometry::Polygon, material::Glazing};

/// An opaque surface that is lit on its front. The back stops light and may be a facade.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// Shape; the normal points to the lit side.
    pub polygon: Polygon,
    /// Diffuse (Lambertian) reflectance of the front, 0..=1.
    pub reflectance: f32,
    /// Diffuse reflectance of the back as seen from outside the building, 0..=1; 0 where nobody looks at it.
    pub back_reflectance: f32,
    /// Linear Rec. 709 colour of the front with luminance equal to `reflectance`; for pictures only.
    pub reflectance_rgb: glam::Vec3,
    /// Whether light can reach it through panes only; decides where panes are sampled.
    pub indoors: bool,
    /// What a person would call it.
    pub label: String,
}

/// A hole that lets light through: glazing, an open hole, or a diffusing pane.
#[derive(Clone, Debug, PartialEq)]
pub struct Pane {
    /// Shape; the normal points into the room.
    pub polygon: Polygon,
    /// Transmittance by angle of the clear part.
    pub glazing: Glazing,
    /// Factor on the clear transmittance: dirt and frame share, 0..=1.
    pub clear_factor: f32,
    /// Unscattered share that the blind lets through, 0..=1; 1 without one.
    pub blind_open: f32,
    /// Transmittance into perfectly diffuse light (etched glass, blind fabric), 0..=1.
    pub diffuse_transmittance: f32,
    /// Diffuse reflectance of a diffusing pane, both sides, 0..=1.
    pub diffuse_reflectance: f32,
    /// Whether the outer side faces the sky (not another room).
    pub exterior: bool,
    /// What a person would call it.
    pub label: String,
}

/// Everything that light meets except the piece.
#[derive(Clone, Debug)]
pub struct Scene {
    /// Opaque surfaces, inside and outside.
    pub surfaces: Vec<Surface>,
    /// Windows, rooflights and open holes.
    pub panes: Vec<Pane>,
    /// Electric fixtures.
    pub fixtures: Vec<Fixture>,
    /// Reflectance of the unbounded ground outside, 0..=1.
    pub ground_reflectance: f32,
}

impl Scene {
    /// Whether surfaces, panes and the ground are those of another scene; fixtures may differ.
    pub fn has_the_building_of(&self, other: &Self) -> bool {
        self.ground_reflectance == other.ground_reflectance
            && self.surfaces == other.surfaces
            && self.panes == other.panes
    }
}
