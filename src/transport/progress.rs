//! How a long computation tells how far it is, and is told to stop.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// Shared between the solver and whoever watches it.
#[derive(Debug, Default)]
pub struct Progress {
    cancelled: AtomicBool,
    done: AtomicU64,
    total: AtomicU64,
}

/// Why a solve did not finish.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// The watcher asked to stop.
    #[error("cancelled")]
    Cancelled,
    /// A result is not a finite number: a bug, never shown as a value.
    #[error("{quantity} is not a finite number")]
    NotFinite {
        /// What was being computed.
        quantity: &'static str,
    },
}

impl Progress {
    /// Asks the solver to stop at the next step.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    /// Adds to the announced work, in steps.
    pub fn announce(&self, steps: u64) {
        self.total.fetch_add(steps, Ordering::Relaxed);
    }

    /// Reports one step done.
    ///
    /// # Errors
    /// [`SolveError::Cancelled`] after [`Progress::cancel`].
    pub fn step(&self) -> Result<(), SolveError> {
        self.done.fetch_add(1, Ordering::Relaxed);
        if self.cancelled.load(Ordering::Relaxed) {
            Err(SolveError::Cancelled)
        } else {
            Ok(())
        }
    }

    /// Steps done and announced.
    pub fn counts(&self) -> (u64, u64) {
        (
            self.done.load(Ordering::Relaxed),
            self.total.load(Ordering::Relaxed),
        )
    }
}
