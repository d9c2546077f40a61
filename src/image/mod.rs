//! What pictures are made of: the engine's luminances laid out for drawing, without any graphics library.
//!
//! [`LightMap`] spreads the patches' light smoothly over every surface and adds the fixtures' direct light
//! at a finer step; [`sun_patches`] cuts the sun's light into sharp outlines; [`Exposure`] is the one tone
//! curve, with an eye that adapts; [`SkyPicture`] is what stands behind the windows; [`ColouredLight`] splits
//! the light by the colour of its sources and [`white_matrix`] says what is white among them. All values are
//! luminances in cd/m2 taken from the room's light; none is made up for looks.

mod exposure;
mod files;
mod light_map;
mod scene_picture;
mod sky_picture;
mod source_colours;
mod sun_patches;
mod white;

pub use exposure::{Exposure, ExposureSettings};
pub use files::{PictureFileError, luminance_exr, rgba_jpeg, rgba_png};
pub use light_map::{FixtureTexels, LightMap, MOST_TEXELS, MapPatch, TEXEL_M, TEXEL_RAYS};
pub use scene_picture::{PiecePicture, RoomPicture};
pub use sky_picture::SkyPicture;
pub use source_colours::{ColourPart, ColouredLight, SourceColours, sky_cct_k, sun_cct_k};
pub use sun_patches::{SunPatch, sun_patches};
pub use white::{degree_of_adaptation, white_matrix};

/// Luminance of a linear Rec. 709 triple in its own unit (IEC 61966-2-1, rounded as in the shaders).
#[inline]
pub fn luminance(rgb: glam::Vec3) -> f32 {
    rgb.dot(glam::Vec3::new(0.2126, 0.7152, 0.0722))
}
