//! Films: where the eye is in every frame, the light that it sees, words over the picture, and the file.
//!
//! ```text
//! FilmRequest --script--> frames (eye, instant) --Take--> light and piece of each --drawing side--> RGBA
//!   --Overlay--> RGBA with words --YUV, H.264 in parts--> parts on disk --mp4--> one file, under its name when whole
//! ```
//! No graphics library is used here: whoever draws takes a [`FrameLight`] and gives pixels. Every frame is a function
//! of its number alone, so that a film can go on where it stopped and comes out the same.

mod encode;
mod made_from;
mod mp4;
mod overlay;
mod parts;
mod script;
mod stage;
mod take;
mod yuv;

pub use encode::{EncodeError, Encoded, Encoder};
pub use made_from::made_from;
pub use mp4::frames_in;
pub use overlay::{Overlay, OverlayWishes, Rgba, TITLE_S};
pub use parts::{FilmFile, FilmFileError, FilmPart};
pub use script::{FilmKind, FilmRequest, Frame, MOST_TURN_RAD_S, Script, ScriptError, script};
pub use stage::{Moment, Stage, StageLight, room_light_settings};
pub use take::{FrameLight, Take};
pub use yuv::Yuv420;
