//! The engine beside the window: one thread for each plan that computes whatever is wanted most.
//!
//! The window states what it wants to see ([`Wanted`]); the thread compares that with what it has, does the
//! most urgent missing step and sends the [`Answer`]. A newer wish replaces an older one at once, and cancels
//! work for a room that is no longer there, so dragging never queues up. Every answer carries the revision of
//! the room and the instant that it was computed for; the window shows when they are not the wanted ones.

mod answer;
mod stages;
mod thread;
mod wanted;

pub use answer::{Answer, Glance, Hour, PointAnswer, ProblemAt};
pub use thread::{Engine, Wake, on_workers};
pub use wanted::{Clock, Eye, MeterOn, MeterPoint, Wanted};
