//! What pictures are made of: the engine's luminances laid out for drawing, without any graphics library.
//!
//! [`LightMap`] spreads the patches' light smoothly over every surface and adds the fixtures' direct light
//! at a finer step; [`sun_patches`] cuts the sun's light into sharp outlines; [`Exposure`] is the one tone
//! curve, with an eye that adapts; [`SkyPicture`] is what stands behind the windows. All values are
//! luminances in cd/m2 taken from the room's light; none is made up for looks.

mod exposure;
mod light_map;
mod sky_picture;
mod sun_patches;

pub use exposure::{Exposure, ExposureSettings};
pub use light_map::{FixtureTexels, LightMap, MapPatch};
pub use sky_picture::SkyPicture;
pub use sun_patches::{SunPatch, sun_patches};
