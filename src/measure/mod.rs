//! What numbers mean to people: glare, readability of the pattern, hazards, colour, and how to print them.
//!
//! Pure formulas on given numbers: no scene, no rays, no files, no clock. Inputs are luminances
//! [cd/m2], illuminances [lx], solid angles [sr] and angles [rad] that the transport layers found.
//! Each file names the published source of its formulas and the domain in which they hold.

pub mod adaptation;
pub mod caution;
pub mod colour;
pub mod conservation;
pub mod format;
pub mod glare;
pub mod hazard;
pub mod pattern;
pub mod position;
pub mod practice;
pub mod reads;
pub mod tolerance;
pub mod veil;
