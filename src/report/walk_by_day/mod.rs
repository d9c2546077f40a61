//! The walk-by-day chart: distance along the walk across, clock down the page, a value as colour,
//! flagged readings hatched and lettered with the reasons below.
//!
//! A reading is one station at one time. Cells are the readings themselves: nothing is smoothed or
//! interpolated. Night is shown beside the clock, never over the colours. Where clock times or
//! distances do not rise strictly (a clock put back, a station twice), rows or columns are drawn
//! evenly, each with its own label.

mod axes;
mod cells;
mod grid;
mod legend;
mod regions;
#[cfg(test)]
mod tests;

use super::page::{self, MARGIN, WIDTH};
use super::palette;
use super::scale::{ScaleKind, ValueScale};
use super::svg::{Lettering, Svg};
use super::typeface::{Weight, wrap};
use grid::Grid;

/// What the colours show.
#[derive(Debug, Clone, PartialEq)]
pub enum Quantity {
    /// Mean luminance of the piece over that of the wall around it [1].
    Glow,
    /// Luminance of the 90th percentile of tiles over that of the 10th [1].
    Play,
    /// Change of the pattern per metre walked [1/m].
    Shift,
    /// Luminance [cd/m2].
    Luminance,
    /// Illuminance [lx].
    Illuminance,
    /// Anything else, with its words.
    Other {
        /// Short name with a capital.
        name: String,
        /// Unit as printed; empty for a ratio.
        unit: String,
        /// One sentence without a full stop saying what it is.
        meaning: String,
    },
}

impl Quantity {
    /// Short name.
    pub fn name(&self) -> &str {
        match self {
            Quantity::Glow => "Glow",
            Quantity::Play => "Play",
            Quantity::Shift => "Shift",
            Quantity::Luminance => "Luminance",
            Quantity::Illuminance => "Illuminance",
            Quantity::Other { name, .. } => name,
        }
    }

    /// Unit as printed beside numbers; ratios say `times`.
    pub fn unit(&self) -> &str {
        match self {
            Quantity::Glow | Quantity::Play => "times",
            Quantity::Shift => "per metre",
            Quantity::Luminance => "cd/m²",
            Quantity::Illuminance => "lx",
            Quantity::Other { unit, .. } => unit,
        }
    }

    /// What it is, for a reader who meets the word for the first time.
    pub fn meaning(&self) -> &str {
        match self {
            Quantity::Glow => "how many times brighter the piece is than the wall around it",
            Quantity::Play => {
                "how many times brighter the light tiles of the piece are than the dark ones"
            }
            Quantity::Shift => "how much the pattern changes with each metre walked",
            Quantity::Luminance => "how bright the piece looks from each place",
            Quantity::Illuminance => "how much light falls on the piece",
            Quantity::Other { meaning, .. } => meaning,
        }
    }
}

/// Why readings are marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FlagKind {
    /// The pattern is lost or the piece too dark to see.
    Dead,
    /// Something in view hurts or veils.
    Glaring,
    /// The piece cannot be seen from there.
    Hidden,
}

impl FlagKind {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            FlagKind::Dead => "Dead",
            FlagKind::Glaring => "Glaring",
            FlagKind::Hidden => "Hidden",
        }
    }
}

/// One letter of the chart and why it is there.
#[derive(Debug, Clone, PartialEq)]
pub struct LegendEntry {
    /// Letter in the cells.
    pub letter: char,
    /// Kind of mark, which chooses the hatch.
    pub kind: FlagKind,
    /// The reason, a whole sentence.
    pub sentence: String,
    /// Number of readings with this letter.
    pub cell_count: usize,
}

/// What the sun does on a day without sunrise and sunset.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum AllDay {
    /// Not said: nothing is drawn.
    #[default]
    Unknown,
    /// The sun stays above the horizon.
    SunUp,
    /// The sun stays below the horizon.
    SunDown,
}

/// Data of one chart: one walk, one day, one quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct WalkByDay {
    /// Title, for example the name of the walk.
    pub title: String,
    /// Room, date and sky.
    pub subtitle: String,
    /// What the colours show.
    pub quantity: Quantity,
    /// Logarithmic or linear colours.
    pub scale: ScaleKind,
    /// Lowest and highest value of the colours, to share one scale between charts; fitted when absent.
    pub range: Option<(f32, f32)>,
    /// Distance of each station from the start of the walk [m], rising.
    pub distance_m: Vec<f32>,
    /// Named places along the walk: distance [m], name.
    pub station_marks: Vec<(f32, String)>,
    /// Civil time of each row [min after midnight], rising.
    pub clock_min: Vec<f32>,
    /// True solar time of each row [min after midnight].
    pub solar_time_min: Option<Vec<f32>>,
    /// Values, row-major, times x stations, first time first; `None` where there is no reading.
    pub value: Vec<Option<f32>>,
    /// Standard error of each value, in its unit, in the same order; empty when unknown.
    pub standard_error: Vec<Option<f32>>,
    /// Letters of each reading, in the same order; empty when nothing is marked.
    pub flags: Vec<Vec<char>>,
    /// What the letters mean.
    pub legend: Vec<LegendEntry>,
    /// Sunrise [min after midnight].
    pub sunrise_min: Option<f32>,
    /// Sunset [min after midnight].
    pub sunset_min: Option<f32>,
    /// What the sun does when both are absent.
    pub all_day: AllDay,
    /// Settings, limits used and their sources.
    pub footnote: String,
}

impl WalkByDay {
    fn columns(&self) -> usize {
        self.distance_m.len()
    }

    fn rows(&self) -> usize {
        self.clock_min.len()
    }

    /// Value of a reading, if there is one and it is a number.
    fn value_at(&self, row: usize, column: usize) -> Option<f32> {
        let index = row * self.columns() + column;
        self.value
            .get(index)
            .copied()
            .flatten()
            .filter(|v| v.is_finite())
    }

    /// Standard error of a reading over its value [1].
    fn relative_error_at(&self, row: usize, column: usize) -> Option<f32> {
        let error = self
            .standard_error
            .get(row * self.columns() + column)
            .copied()
            .flatten()?;
        let value = self.value_at(row, column)?;
        (value != 0.0 && error.is_finite()).then(|| (error / value).abs())
    }

    fn letters_at(&self, row: usize, column: usize) -> &[char] {
        self.flags
            .get(row * self.columns() + column)
            .map_or(&[], Vec::as_slice)
    }

    fn scale_of_values(&self) -> ValueScale {
        match self.range {
            Some((low, high)) if low < high && (self.scale == ScaleKind::Linear || low > 0.0) => {
                ValueScale {
                    kind: self.scale,
                    low,
                    high,
                }
            }
            _ => ValueScale::fit(self.scale, self.value.iter().copied().flatten()),
        }
    }
}

/// The chart as SVG text, 1200 px wide.
pub fn walk_by_day_svg(chart: &WalkByDay) -> String {
    draw(chart, true)
}

/// The chart without title, meaning of its letters and foot, for pages that say these in their own type.
pub fn walk_by_day_figure_svg(chart: &WalkByDay) -> String {
    draw(chart, false)
}

fn draw(chart: &WalkByDay, whole: bool) -> String {
    let mut svg = Svg::new();
    let scale = chart.scale_of_values();
    let mut y = 20.0;
    if whole {
        y = page::header(&mut svg, &chart.title, &chart.subtitle);
        y = meaning(&mut svg, chart, y + 12.0);
    }
    if chart.columns() == 0 || chart.rows() == 0 {
        svg.text(MARGIN, y + 40.0, "No readings", Lettering::new(18.0));
        let height = page::footer(&mut svg, y + 80.0, &notes(chart));
        return svg.finish(WIDTH, height, &chart.title, &chart.subtitle);
    }
    let marks = axes::place_marks(chart);
    let grid = Grid::new(chart, y + 14.0 + marks.height_px());
    cells::draw(&mut svg, chart, &grid, &scale);
    regions::draw(&mut svg, chart, &grid);
    cells::draw_over(&mut svg, chart, &grid, &scale);
    axes::draw(&mut svg, chart, &grid, &marks);
    // Over the lines of sunrise and sunset.
    regions::draw_letters(&mut svg, chart, &grid);
    axes::draw_colour_bar(&mut svg, chart, &grid, &scale);
    let height = if whole {
        let below = legend::draw(&mut svg, chart, &grid);
        page::footer(&mut svg, below + 20.0, &notes(chart))
    } else {
        (legend::draw_signs(&mut svg, chart, &grid) + 16.0).ceil()
    };
    svg.finish(WIDTH, height, &chart.title, &chart.subtitle)
}

/// One line saying what the colours mean; returns the y below it.
fn meaning(svg: &mut Svg, chart: &WalkByDay, y: f32) -> f32 {
    let name = chart.quantity.name();
    let meaning = chart.quantity.meaning();
    let sentence = if meaning.is_empty() {
        name.to_owned()
    } else {
        format!("{name}: {meaning}")
    };
    let lines = wrap(&sentence, 17.0, Weight::SemiBold, WIDTH - 2.0 * MARGIN);
    let look = Lettering::new(17.0).bold().colour(palette::INK);
    svg.lines(MARGIN, y, &lines, 23.0, look)
}

/// Notes at the foot: uncertainty, the caller's footnote, letters that the typeface lacks.
fn notes(chart: &WalkByDay) -> Vec<String> {
    let mut notes = Vec::new();
    let mut errors: Vec<f32> = (0..chart.rows())
        .flat_map(|row| {
            (0..chart.columns()).filter_map(move |column| chart.relative_error_at(row, column))
        })
        .collect();
    errors.sort_by(f32::total_cmp);
    if let (Some(middle), Some(worst)) = (errors.get(errors.len() / 2), errors.last()) {
        notes.push(format!(
            "Uncertainty: one standard error is at most ±{} % for half of the readings, and ±{} % for the least certain one",
            super::number::short(middle * 100.0),
            super::number::short(worst * 100.0)
        ));
    }
    notes.push(chart.footnote.clone());
    let texts = [
        chart.title.as_str(),
        &chart.subtitle,
        &chart.footnote,
        chart.quantity.name(),
    ];
    let marks = chart.station_marks.iter().map(|mark| mark.1.as_str());
    let legend = chart.legend.iter().map(|entry| entry.sentence.as_str());
    notes.extend(page::missing_letters_note(
        texts.into_iter().chain(marks).chain(legend),
    ));
    notes
}
