//! Panels: each a function that draws plain data and returns what the user asked for.

mod chart;
mod details;
mod things;

pub use chart::{ChartData, chart_ui};
pub use details::details_ui;
pub use things::things_ui;
