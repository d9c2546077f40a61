//! The main job: every station of every walk at every instant, what is seen there, and what is wrong.
//!
//! ```text
//! BuiltRoom --request--> instants --run--> readings (station x instant) --flag--> flags --merge--> stretches --words--> sentences
//! ```

mod flag;
mod instant;
mod prepared;
mod reading;
mod run;
mod sight;
mod stretch;
mod thrown;
mod words;

pub use flag::{Cause, Flag, FlagKind};
pub use instant::{Instant, StudyRequest, TimeChoiceError, sky_model};
pub use prepared::{EyeReading, InstantReadings, PartSeen, Prepared, strengths};
pub use reading::StationReading;
pub use run::{DayStudy, Study, StudyError, StudySettings, WalkDay, WalkStudy, run};
pub use sight::{GlareSourceInView, SourceKind};
pub use stretch::Stretch;
pub use thrown::ThrownSun;
pub(crate) use thrown::compass;
pub use words::{flag_words, place_words, source_words, tile_words};
