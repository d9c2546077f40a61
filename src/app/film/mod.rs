//! Films and stills drawn off screen: no window, no display.
//!
//! ```text
//! each part: Take --frames (a thread)--> FrameLight --Drawer--> pixels --(a thread)--> Overlay, H.264 --> part; all parts --> film
//! ```
//! Every frame is drawn for its own eye and moment and read back before the next one counts, so that a slow machine
//! gives the same film as a fast one.

mod drawer;
mod make;
mod shots;

pub use drawer::{Drawer, field_rad};
pub use make::{FilmError, FilmJob, FilmReport, StillFile, evenly, prepare, workers};
pub use shots::{Shot, draw_shots};
