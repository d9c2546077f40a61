//! Lustrewalk computes what visitors see of a lustrous wall piece as they walk past it through the day.
//!
//! The engine takes a room, a piece and walks, and gives the luminance of every tile from every
//! station at every hour, with the sources of each value and its standard error. See `DEVELOPERS.md`
//! for the layers; a module uses only modules above it in this list.

pub mod spelling;
pub mod units;

pub mod geometry;
pub mod sampling;

pub mod luminaire;
pub mod material;
pub mod piece;
pub mod sun;

pub mod sky;

pub mod weather;

pub mod scene;

pub mod transport;

pub mod measure;
pub mod room;

pub mod study;

pub mod advice;

pub mod image;

pub mod report;

pub mod outcome;

pub mod video;

pub mod present;

pub mod cli;

#[cfg(feature = "app")]
pub mod app;
