//! The window's parts without a window.
#![cfg(feature = "app")]
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

mod engine;
mod picture;
mod shader;
