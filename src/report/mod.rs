//! Drawings for people: the walk-by-day chart, curves along a walk, the plan of the room, the
//! piece with the numbers of its tiles, and
//! pictures (PNG) of them.
//!
//! Input is plain data that was computed elsewhere; output is SVG text, or PNG bytes made from SVG
//! text. The same data gives the same text, byte for byte: no clock, no files, no system fonts.
//! All drawings are 1200 px wide and as high as their content needs; text is measured with the
//! bundled typeface and wrapped, never cut.
//!
//! Values keep their units: metres along a walk, minutes of the civil day, radians for azimuths;
//! degrees appear only in what is printed. Colours of values come from [`ramp`], which is uniform
//! in OKLab and keeps its order for colour-blind readers.
//!
//! Limits: text runs left to right; letters outside the bundled typeface (Latin, Greek, Cyrillic)
//! are kept in the SVG, drawn as boxes in the PNG, and named in a note on the drawing.

mod aiming_sheet;
mod curves;
mod error;
#[cfg(test)]
mod examples;
pub mod number;
mod on_picture;
mod page;
mod palette;
mod pdf;
mod piece_sheet;
mod plan;
mod png;
pub mod ramp;
mod ranking_sheet;
pub mod scale;
mod small_plan;
mod svg;
mod table;
#[cfg(test)]
mod text_check;
pub mod typeface;
mod walk_by_day;

pub use aiming_sheet::{AimPoint, AimingSheet, aiming_sheet_svg};
pub use curves::{Curve, Curves, walk_curves_svg};
pub use error::ReportError;
pub use on_picture::{PictureWords, words_on_picture};
pub use page::LIMITS_NOTE;
pub use pdf::{PdfSource, letters_without_font, pdf};
pub use piece_sheet::{PieceSheet, SheetMaterial, SheetTile, piece_sheet_svg};
pub use plan::{
    OpeningKind, Plan, PlanFixture, PlanOpening, PlanPiece, PlanPlace, PlanSolid, PlanSun,
    PlanWalk, SolidSide, plan_svg,
};
pub use png::{Drawing, draw_svg, png_from_svg};
pub use ranking_sheet::{RankingRow, RankingSheet, SmallCell, SmallChart, ranking_sheet_svg};
pub use scale::{ScaleKind, ValueScale};
pub use small_plan::{SmallPlan, small_plan};
pub use walk_by_day::{
    AllDay, FlagKind, LegendEntry, Quantity, WalkByDay, walk_by_day_figure_svg, walk_by_day_svg,
};
