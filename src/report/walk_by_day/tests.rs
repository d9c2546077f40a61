//! Tests of the chart as a whole; those common to all drawings are in `text_check`.

use super::*;
use crate::report::examples;
use crate::report::text_check::text_boxes;

fn words(svg: &str) -> Vec<String> {
    text_boxes(svg).1.into_iter().map(|t| t.0).collect()
}

#[test]
fn every_letter_is_drawn_in_the_cells_and_in_the_legend() {
    for chart in [
        examples::hall_day(),
        examples::short_walk(),
        examples::wordy(),
    ] {
        let (_, texts) = text_boxes(&walk_by_day_svg(&chart));
        for entry in &chart.legend {
            let letter = entry.letter.to_string();
            let drawn = texts.iter().filter(|t| t.0 == letter).count();
            assert!(
                drawn >= 2,
                "{letter} of {:?} is drawn {drawn} times",
                chart.title
            );
        }
    }
}

#[test]
fn a_letter_without_a_legend_entry_is_still_drawn() {
    let mut chart = examples::hall_day();
    chart.flags[0] = vec!['Z'];
    assert!(words(&walk_by_day_svg(&chart)).contains(&"Z".to_owned()));
}

#[test]
fn a_region_has_one_letter_at_its_middle() {
    let mut chart = examples::hall_day();
    chart.flags = vec![Vec::new(); chart.value.len()];
    for row in 8..17 {
        for column in 10..31 {
            chart.flags[row * 40 + column] = vec!['B'];
        }
    }
    let (_, texts) = text_boxes(&walk_by_day_svg(&chart));
    let grid = Grid::new(&chart, 0.0);
    let found: Vec<_> = texts
        .iter()
        .filter(|t| t.0 == "B")
        .map(|t| 0.5 * (t.1[0] + t.1[2]))
        .collect();
    assert_eq!(found.len(), 2, "one in the cells, one in the legend");
    let off = (found[0] - grid.x.middle_px(20)).abs();
    assert!(
        off < 2.0,
        "letter is {off} px from the middle of its region"
    );
}

#[test]
fn names_are_escaped_and_controls_dropped() {
    let mut chart = examples::short_walk();
    chart.title = "<script>&\u{0}\u{8}\"x\"".to_owned();
    chart.legend[0].sentence = "a < b & c\u{1b}".to_owned();
    chart.station_marks[0].1 = "</text>".to_owned();
    let svg = walk_by_day_svg(&chart);
    assert!(!svg.contains("<script>"));
    let words = words(&svg);
    for wanted in ["<script>&\"x\"", "a < b & c", "</text>"] {
        assert!(
            words.iter().any(|w| w == wanted),
            "{wanted:?} is not among {words:?}"
        );
    }
}

#[test]
fn sunrise_and_sunset_are_named_inside_and_outside_the_hours() {
    let inside = words(&walk_by_day_svg(&examples::hall_day()));
    assert!(
        inside.contains(&"Sunrise 08:21".to_owned()) && inside.contains(&"Sunset 16:12".to_owned())
    );
    let mut chart = examples::hall_day();
    (chart.sunrise_min, chart.sunset_min) = (Some(300.0), Some(1300.0));
    let outside = words(&walk_by_day_svg(&chart));
    assert!(
        outside.contains(&"↑ Sunrise 05:00".to_owned()),
        "{outside:?}"
    );
    assert!(
        outside.contains(&"↓ Sunset 21:40".to_owned()),
        "{outside:?}"
    );
    let polar = words(&walk_by_day_svg(&examples::polar_night())).join(" ");
    assert!(
        polar.contains("The sun does not rise on this day"),
        "{polar}"
    );
}

#[test]
fn letters_outside_the_typeface_are_named() {
    let words = words(&walk_by_day_svg(&examples::wordy())).join(" ");
    assert!(words.contains("寄 (U+5BC4)") && words.contains("木 (U+6728)"));
}

#[test]
fn odd_data_do_not_break_the_chart() {
    let mut chart = examples::short_walk();
    chart.value = vec![Some(f32::NAN), Some(f32::INFINITY), Some(0.0), Some(-1.0)];
    chart.flags = vec![vec!['Q'; 3]];
    chart.distance_m = vec![f32::NAN, f32::INFINITY];
    chart.clock_min = vec![f32::NAN, 1e30, -5.0];
    chart.sunrise_min = Some(f32::NAN);
    chart.range = Some((f32::NAN, 0.0));
    text_boxes(&walk_by_day_svg(&chart));
    chart.distance_m.clear();
    assert!(words(&walk_by_day_svg(&chart)).contains(&"No readings".to_owned()));
    let mut point = examples::short_walk();
    point.distance_m.truncate(1);
    point.clock_min.truncate(1);
    text_boxes(&walk_by_day_svg(&point));
}

#[test]
fn the_colour_of_a_reading_is_that_of_its_place_on_the_scale() {
    let chart = examples::short_walk();
    let svg = walk_by_day_svg(&chart);
    // 31.62 is the geometric mean of 10 and 100; the range of this chart is 5..200.
    let scale = chart.scale_of_values();
    assert_eq!((scale.low, scale.high), (5.0, 200.0));
    for value in [12.0, 18.4, 96.0, 310.0, 7.2] {
        let hex = crate::report::ramp::hex(scale.position(value));
        assert!(svg.contains(&hex), "{value}: {hex} is not in the drawing");
    }
}
