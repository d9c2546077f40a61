//! The window: stand in the room, walk past the piece, drag the clock, hang and turn it by hand.
//!
//! `document` is the open room with its steps back, `engine` computes beside the window, `picture` draws what
//! it told, `standing` moves the eye, `panels` show and change things by commands, and `command` is the only
//! place that carries commands out.

pub mod adapter;
pub mod adviser;
mod command;
pub mod document;
pub mod edits;
pub mod engine;
pub mod files;
pub mod film;
pub mod grips;
pub mod off_screen;
mod panels;
pub mod pick;
pub mod picture;
pub mod presenter;
pub mod standing;
pub mod state;
mod theme;
pub mod typed;
pub mod view;
mod window;

pub use window::run;
