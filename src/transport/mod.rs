//! Light in the room and from there to the eye.
//!
//! ```text
//! Scene --RoomLight::prepare--> patches, gather rows, fixtures' direct light   (room only)
//! RoomLight + strengths --solve--> LightState        luminance of every patch and sky cell
//! RoomLight + piece + stations --view--> Lustre      sparse weights (station, tile) -> luminances
//! Lustre + LightState --read--> tile luminances
//! ```
//! All readings are weights on one vector of luminances: first the patches, then a column for each
//! pane and sky cell (and the ground). That vector is linear in the source strengths, so changing
//! the hour, the sky, blinds or dimming is one solve for the patches and a sparse product.

mod columns;
mod gather;
mod patches;
mod progress;
mod room_light;
mod rows;
mod tracer;
mod view;

pub use columns::{Columns, Strengths};
pub use gather::{GatherPoint, GatherRequest};
pub use patches::{Patch, PatchGrid, Patches};
pub use progress::{Progress, SolveError};
pub use room_light::{LightState, PointReading, RoomLight, RoomLightSettings};
pub use rows::{Entry, SparseRows};
pub use tracer::Tracer;
pub use view::{
    EyeField, FixtureInView, LightPart, Lustre, MirrorImage, PieceLight, SeenThrough, TileReading,
    ViewSample, ViewSettings,
};
