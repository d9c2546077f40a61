//! The picture: engine luminances on meshes, one set for each plan that is shown.
//!
//! `materials` holds the shaders' side, `geometry` the meshes, `material_data` the records of the reflection
//! models, `draw` keeps entities in step with what the engine told, `swatches` draws samples for comparison
//! with the engine. No lamp of the graphics library decides anything.

mod draw;
mod geometry;
mod material_data;
mod materials;
mod still;
mod swatches;

use bevy::prelude::*;

pub use draw::{Looking, PictureOf, Pictures, Shown, Stores, draw_picture};
pub use materials::Tone;
pub use still::{Still, still};
pub use swatches::{Swatch, swatch_luminances};

/// Shaders, materials and the entities of all plans.
pub fn plugin(app: &mut App) {
    app.init_resource::<Pictures>()
        .add_plugins(materials::plugin);
}
