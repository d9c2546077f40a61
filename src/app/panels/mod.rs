//! Panels: each a function that draws plain data and returns what the user asked for.

mod advice;
mod chart;
mod clock;
mod details;
mod fields;
mod menu;
mod questions;
mod readings;
#[cfg(test)]
mod tests;
mod things;

pub use advice::{AdviceData, advice_ui};
pub use chart::{ChartData, chart_ui};
pub use clock::{ClockData, clock_ui};
pub use details::{DetailsData, details_ui};
pub use menu::{BarData, bar_ui};
pub use questions::questions_ui;
pub use readings::{eyes_ui, spots_ui};
pub use things::things_ui;
