//! Advice that can be defended: where the piece hangs, which fixtures light it, how its grain lies.
//!
//! ```text
//! BuiltRoom + Hours --judge--> Judgement (parts with errors)
//! rank   places of the walls --judge, coarse to fine--> best first, ties within error, undominated choices
//! aim    stock x places x aims --screen, columns, dimming--> fixtures, before and after, what cannot be met
//! grain  arrows x tiles --table, exchange--> arrows, before and after
//! schedule  fixtures of a room --> rows for whoever stands on the ladder
//! ```
//! A search never changes the room it is given: it answers with a changed [`crate::room::RoomFile`].

use crate::{room::LoadError, study::TimeChoiceError, transport::SolveError};

pub mod aim;
pub mod grain;
mod hours;
mod judge;
mod parts;
pub mod rank;
pub mod schedule;
mod words;

pub use hours::{Fineness, Hour, Hours};
pub use judge::{Judgement, Lamps, Verdict, WalkVerdicts, WorstGlare, judge};
pub(crate) use judge::{light_class, main_walk};
pub use parts::{PART_NAMES, Parts, terms, worth};
pub(crate) use words::first_end;
pub use words::{placement_words, placement_words_in, wall_words};

/// Why advice could not be given.
#[derive(Debug, thiserror::Error)]
pub enum AdviceError {
    /// The instants cannot be laid out.
    #[error(transparent)]
    Time(#[from] TimeChoiceError),
    /// No instant is left to judge.
    #[error("no instant is left to judge: the hours asked for do not exist on these days")]
    NoInstants,
    /// A changed room cannot be built.
    #[error(transparent)]
    Room(#[from] LoadError),
    /// The solver stopped.
    #[error(transparent)]
    Solve(#[from] SolveError),
    /// Nothing can be chosen from.
    #[error("{what}")]
    NoChoice {
        /// Why, and what would help.
        what: String,
    },
}
