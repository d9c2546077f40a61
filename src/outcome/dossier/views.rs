//! Which stations and hours tell most about a piece: where it lives, how it is met, where it is dead, what glares,
//! and how it looks by lamp light.

use crate::{
    advice::main_walk,
    measure::{format, reads::Reads},
    room::BuiltRoom,
    study::{DayStudy, FlagKind, StationReading, Study, place_words},
};

/// Mean luminance of the piece below which a picture of it is black [cd/m2].
const LEAST_CD_M2: f32 = 0.5;

/// A station at an hour, and why it is shown.
#[derive(Clone, Debug, PartialEq)]
pub struct TellingView {
    /// Index of the walk.
    pub walk: usize,
    /// Index of the station.
    pub station: usize,
    /// Index of the day in the study.
    pub day: usize,
    /// Index of the instant in the day.
    pub instant: usize,
    /// Why it is shown.
    pub why: &'static str,
}

impl TellingView {
    /// What is read there and then.
    pub fn reading<'a>(&self, study: &'a Study) -> &'a StationReading {
        let stations = study.walks[self.walk].stations.len();
        &study.days[self.day].walks[self.walk].readings[self.instant * stations + self.station]
    }
}

/// At most `most` views, the most telling first: the first is where the piece is at its best.
pub fn telling_views(room: &BuiltRoom, study: &Study, most: usize) -> Vec<TellingView> {
    let main = main_walk(room);
    let has_daylight = !room.scene.panes.is_empty();
    let mut views: Vec<TellingView> = Vec::new();
    let mut add = |view: Option<TellingView>| {
        let Some(view) = view else { return };
        let eye = |v: &TellingView| study.walks[v.walk].stations[v.station].eye;
        // Without daylight all hours with the same lamps are alike.
        let near = |v: &TellingView| {
            let same_hour = v.day == view.day && v.instant.abs_diff(view.instant) <= 1;
            (same_hour || !has_daylight) && eye(v).distance(eye(&view)) < 1.3
        };
        if views.len() < most && !views.iter().any(near) {
            views.push(view);
        }
    };
    let best = |walk: Option<usize>, why, value: &dyn Fn(&Cell) -> Option<f32>| {
        let mut best: Option<(f32, TellingView)> = None;
        cells(study, walk, &mut |cell| {
            if let Some(value) = value(&cell)
                && best.as_ref().is_none_or(|(known, _)| value > *known)
            {
                best = Some((value, cell.view(why)));
            }
        });
        best.map(|b| b.1)
    };
    // Nearly all of the piece is in sight.
    let seen = |cell: &Cell| {
        let visible = &cell.reading.tiles.visible;
        visible.iter().sum::<f32>() > 0.9 * visible.len() as f32
            && cell.reading.mean_luminance_cd_m2 > LEAST_CD_M2
    };
    let clean =
        |cell: &Cell| seen(cell) && cell.reading.flags.is_empty() && !cell.reading.sun_in_view;
    let strength = |cell: &Cell| {
        let class = match cell.reading.pattern.class {
            Reads::Strong => 3.0,
            Reads::Reads => 2.0,
            Reads::Faint => 1.0,
            _ => 0.0,
        };
        class + 0.3 * cell.reading.play.max(1.0).ln() + 0.05 * cell.reading.glow.max(0.1).ln()
    };
    if has_daylight {
        add(best(Some(main), "the piece at its best by day", &|c| {
            (clean(c) && c.sun_is_up()).then(|| strength(c))
        }));
    }
    add(best(
        Some(main),
        "the piece at its best by lamp light",
        &|c| (clean(c) && !(has_daylight && c.sun_is_up())).then(|| strength(c)),
    ));
    add(best(Some(main), "where a visitor first sees it", &|c| {
        seen(c).then(|| {
            -(c.station as f32) - 0.01 * c.instant.abs_diff(c.day.instants.len() / 2) as f32
        })
    }));
    let worst = |kind: FlagKind| {
        move |c: &Cell| {
            let flags = c.reading.flags.iter().filter(|f| f.cause.kind() == kind);
            flags
                .map(|f| f.severity.ln())
                .max_by(f32::total_cmp)
                .filter(|_| seen(c))
        }
    };
    add(best(
        None,
        "where something glares most",
        &worst(FlagKind::Glaring),
    ));
    add(best(
        Some(main),
        "where the piece is dead",
        &worst(FlagKind::Dead),
    ));
    for walk in (0..study.walks.len()).filter(|w| *w != main) {
        add(best(Some(walk), "at its best from another walk", &|c| {
            seen(c).then(|| strength(c))
        }));
    }
    views
}

/// One reading with where it belongs.
struct Cell<'a> {
    walk: usize,
    station: usize,
    day_index: usize,
    instant: usize,
    day: &'a DayStudy,
    reading: &'a StationReading,
}

impl Cell<'_> {
    fn view(&self, why: &'static str) -> TellingView {
        TellingView {
            walk: self.walk,
            station: self.station,
            day: self.day_index,
            instant: self.instant,
            why,
        }
    }

    fn sun_is_up(&self) -> bool {
        self.day.instants[self.instant].sun.apparent_elevation_rad > 0.0
    }
}

/// All readings within opening hours, of one walk or of all.
fn cells(study: &Study, walk: Option<usize>, with: &mut dyn FnMut(Cell)) {
    for (day_index, day) in study.days.iter().enumerate() {
        for (w, walked) in day.walks.iter().enumerate() {
            if walk.is_some_and(|wanted| wanted != w) {
                continue;
            }
            let stations = study.walks[w].stations.len().max(1);
            for (k, reading) in walked.readings.iter().enumerate() {
                let (instant, station) = (k / stations, k % stations);
                if walked.open[instant] {
                    with(Cell {
                        walk: w,
                        station,
                        day_index,
                        instant,
                        day,
                        reading,
                    });
                }
            }
        }
    }
}

/// Where and when, and what is seen, in words.
pub fn view_words(room: &BuiltRoom, study: &Study, view: &TellingView) -> (String, String) {
    let day = &study.days[view.day];
    let walk = &study.walks[view.walk];
    let place = place_words(
        &room.walks[view.walk].walk,
        &walk.stations,
        (view.station, view.station),
    );
    let sky = if room.scene.panes.is_empty() {
        String::new()
    } else {
        format!(", {} sky", day.sky)
    };
    let title = format!(
        "{}, {place}; {}, {}{sky}",
        walk.name,
        super::super::date_words(day.date),
        super::super::clock_text(day.instants[view.instant].clock_min),
    );
    let reading = view.reading(study);
    let two = |v: f32| format::significant(f64::from(v), 2);
    let dead = reading
        .flags
        .iter()
        .any(|f| f.cause.kind() == FlagKind::Dead);
    let class = if dead {
        "is dead"
    } else {
        class_words(reading.pattern.class)
    };
    let mut caption = format!(
        "{}: the pattern {class}, {} on average, glow {}, play {}.",
        super::sentence(view.why).trim_end_matches('.'),
        format::luminance(f64::from(reading.mean_luminance_cd_m2)),
        two(reading.glow),
        two(reading.play)
    );
    for flag in reading.flags.iter().take(2) {
        let words = crate::study::flag_words(room, &day.instants[view.instant], flag);
        caption.push(' ');
        caption.push_str(&super::sentence(&words));
    }
    (title, super::units(&caption))
}

/// How a pattern reads, as the end of a sentence.
pub(super) fn class_words(class: Reads) -> &'static str {
    match class {
        Reads::Lost => "is lost",
        Reads::Faint => "is faint",
        Reads::Reads => "reads",
        Reads::Strong => "is strong",
        Reads::Overpowering => "overpowers",
    }
}
