//! What is handed over: the dossier and the page, from a room to a file in memory. Films are made by
//! `app::film`, since nothing is left of them without drawing.
//!
//! Where pictures cannot be drawn, everything else is made and says why there are none. With the feature `app` they are
//! drawn by `app::film`, the only thing that is used of what stands right of here.

mod dossier;
mod page;

pub use dossier::{Dossier, DossierWishes, make_dossier};
pub use page::{Page, PageWishes, make_page, page_step_min};

use crate::{advice::AdviceError, report::ReportError, study::StudyError, transport::SolveError};

/// Why something cannot be handed over.
#[derive(Debug, thiserror::Error)]
pub enum PresentError {
    /// The study failed.
    #[error(transparent)]
    Study(#[from] StudyError),
    /// Places cannot be compared.
    #[error(transparent)]
    Places(#[from] AdviceError),
    /// The light cannot be computed.
    #[error(transparent)]
    Light(#[from] SolveError),
    /// The document or page cannot be set.
    #[error(transparent)]
    Report(#[from] ReportError),
    /// Two states do not share the walk.
    #[error(
        "the two rooms cannot be compared along this walk: both need it, with the same stations"
    )]
    Walks,
}

/// Why there are no pictures.
enum NotDrawn {
    /// Nothing draws here: everything else is made without them.
    Cannot(String),
    /// The work was stopped, or its light is wrong: nothing is made.
    Light(SolveError),
}

impl NotDrawn {
    /// The reason, where the rest may be made.
    fn reason(self) -> Result<String, PresentError> {
        match self {
            Self::Cannot(why) => Ok(why),
            Self::Light(error) => Err(error.into()),
        }
    }
}

#[cfg(feature = "app")]
impl From<crate::app::film::FilmError> for NotDrawn {
    fn from(error: crate::app::film::FilmError) -> Self {
        match error {
            crate::app::film::FilmError::Light(error) => Self::Light(error),
            other => Self::Cannot(other.to_string()),
        }
    }
}

impl PresentError {
    /// Whether it was stopped by whoever watches.
    pub fn is_cancelled(&self) -> bool {
        matches!(
            self,
            Self::Light(SolveError::Cancelled)
                | Self::Study(StudyError::Solve(SolveError::Cancelled))
                | Self::Places(AdviceError::Solve(SolveError::Cancelled))
        )
    }
}
