//! The walk-by-day chart, live: along the walk to the right, the day downward. The cross is where the visitor
//! stands and when; a click or drag takes both there. Below, the curve along the walk for the present time.

use std::collections::BTreeMap;

use bevy_egui::egui::{self, Color32, Pos2, Rect, Stroke};

use crate::{
    app::{
        command::AppCommand,
        engine::{Clock, Hour},
        state::Charted,
        theme,
    },
    report::{ValueScale, ramp},
    room::{BuiltRoom, walk_length_m},
    study::{FlagKind, StationReading, flag_words},
};

/// What the chart is drawn from.
pub struct ChartData<'a> {
    /// Hours by minute.
    pub hours: &'a BTreeMap<u32, Hour>,
    /// The room that they are for.
    pub built: &'a BuiltRoom,
    /// Index of the walk.
    pub walk: usize,
    /// Where the visitor stands [m].
    pub distance_m: f32,
    /// The moment.
    pub clock: &'a Clock,
    /// What is charted.
    pub charted: Charted,
    /// First and last minute and step of the chart.
    pub span: (u32, u32, u32),
    /// Sunrise and sunset [min], where there are any.
    pub sun: Option<(f32, f32)>,
    /// Whether the hours are for an earlier state of the room.
    pub stale: bool,
    /// Hours and name of a plan that this one is compared with: then the chart shows the difference.
    pub against: Option<(&'a BTreeMap<u32, Hour>, &'a str)>,
}

/// Factor at which the colours of a difference are full.
const FULL_DIFFERENCE: f32 = 4.0;

impl ChartData<'_> {
    /// Readings of the walk at an hour, where they are of its stations as they are now.
    fn readings<'b>(&self, hour: &'b Hour) -> Option<&'b [StationReading]> {
        let stations = self.built.walks.get(self.walk)?.stations.len();
        let readings = hour.readings.walks.get(self.walk)?;
        (readings.len() == stations).then_some(readings)
    }

    /// How many times more than in the other plan, as a share of the full difference, -1 to 1; `None` where there
    /// is nothing to compare.
    fn difference(&self, hour: &Hour, station: usize, reading: &StationReading) -> Option<f32> {
        let (other, _) = self.against?;
        let there = other
            .get(&hour.clock.minute)?
            .readings
            .walks
            .get(self.walk)?;
        let here = self.readings(hour)?;
        if there.len() != here.len() {
            return None;
        }
        let ratio = self.charted.of(reading)? / self.charted.of(&there[station])?;
        let share = ratio.ln() / FULL_DIFFERENCE.ln();
        share.is_finite().then_some(share.clamp(-1.0, 1.0))
    }
}

const LEFT_PX: f32 = 46.0;
const CURVE_PX: f32 = 44.0;
const FOOT_PX: f32 = 16.0;

/// The chart in the space that is there.
pub fn chart_ui(ui: &mut egui::Ui, data: &ChartData) -> Vec<AppCommand> {
    let size = ui.available_size();
    let (response, painter) = ui.allocate_painter(size, egui::Sense::click_and_drag());
    let whole = response.rect;
    let area = Rect::from_min_max(
        Pos2::new(whole.left() + LEFT_PX, whole.top() + 4.0),
        Pos2::new(whole.right() - 8.0, whole.bottom() - CURVE_PX - FOOT_PX),
    );
    painter.rect_filled(area, 0.0, theme::WELL);
    let Some(walk) = data.built.walks.get(data.walk) else {
        return Vec::new();
    };
    let length_m = walk_length_m(&walk.walk).max(0.1);
    let (from, to, step) = (data.span.0 as f32, data.span.1 as f32, data.span.2 as f32);
    let x_of = |m: f32| area.left() + (m / length_m).clamp(0.0, 1.0) * area.width();
    let top = from - 0.5 * step;
    let rows = to - from + step;
    let y_of = |minute: f32| area.top() + (minute - top) / rows * area.height();
    let scale = data.charted.scale();
    let mut mesh = egui::Mesh::default();
    let mut hatches = Vec::new();
    for hour in data.hours.values() {
        let minute = hour.clock.minute as f32;
        let on_grid = hour.clock.minute >= data.span.0
            && hour.clock.minute <= data.span.1
            && (hour.clock.minute - data.span.0).is_multiple_of(data.span.2.max(1));
        let Some(readings) = data.readings(hour).filter(|_| on_grid) else {
            continue;
        };
        for (s, reading) in readings.iter().enumerate() {
            let cell = cell_rect(
                walk,
                s,
                length_m,
                &x_of,
                y_of(minute - 0.5 * step),
                y_of(minute + 0.5 * step),
            );
            if data.against.is_some() {
                if let Some(share) = data.difference(hour, s, reading) {
                    mesh.add_colored_rect(cell, theme::difference(share));
                }
            } else if let Some(value) = data.charted.of(reading) {
                let [r, g, b] = ramp::colour(scale.position(value));
                mesh.add_colored_rect(cell, Color32::from_rgb(r, g, b));
            }
            if let Some(flag) = reading.flags.first() {
                hatches.push((cell, flag.cause.kind()));
            }
        }
    }
    painter.add(egui::Shape::mesh(mesh));
    let clipped = painter.with_clip_rect(area);
    for (cell, kind) in hatches {
        hatch(&clipped, cell, kind);
    }
    axis(&painter, data, area, &y_of);
    legend(&painter, data, area, &scale);
    for mark in &walk.walk.marks {
        let x = x_of(mark.at_m);
        let align = if x > area.right() - 40.0 {
            egui::Align2::RIGHT_BOTTOM
        } else {
            egui::Align2::LEFT_BOTTOM
        };
        painter.vline(
            x,
            area.bottom()..=whole.bottom() - FOOT_PX,
            Stroke::new(1.0, theme::RAISED),
        );
        painter.text(
            Pos2::new(x, whole.bottom()),
            align,
            &mark.name,
            egui::FontId::proportional(11.0),
            theme::SOFT,
        );
    }
    if data.charted == Charted::Luminance {
        strip(&painter, data, area, whole, &x_of, length_m);
    } else {
        curve(&painter, data, area, whole, &x_of);
    }
    let now = data.clock.minute as f32;
    let (cx, cy) = (x_of(data.distance_m), y_of(now));
    let cross = Stroke::new(1.5, theme::ACCENT);
    painter.vline(cx, area.top()..=whole.bottom() - FOOT_PX, cross);
    if area.y_range().contains(cy) {
        painter.hline(area.x_range(), cy, cross);
    }
    painter.circle_stroke(
        Pos2::new(cx, cy.clamp(area.top(), area.bottom())),
        5.0,
        Stroke::new(2.0, theme::ACCENT),
    );
    if data.stale {
        painter.text(
            area.center_top(),
            egui::Align2::CENTER_TOP,
            "of the room before the last change",
            egui::FontId::proportional(12.0),
            theme::WRONG,
        );
    }
    let mut asked = Vec::new();
    if let Some(pos) = response.interact_pointer_pos() {
        let distance_m = ((pos.x - area.left()) / area.width() * length_m).clamp(0.0, length_m);
        asked.push(AppCommand::Stand {
            walk: data.walk,
            distance_m,
        });
        if pos.y < area.bottom() {
            let minute = (top + (pos.y - area.top()) / area.height() * rows).clamp(0.0, 1439.0);
            let snapped = ((minute / 5.0).round() * 5.0) as u32;
            asked.push(AppCommand::SetClock(Clock {
                minute: snapped.min(1439),
                ..data.clock.clone()
            }));
        }
    } else if let Some(pos) = response.hover_pos().filter(|p| area.contains(*p)) {
        let minute = top + (pos.y - area.top()) / area.height() * rows;
        let at_m = (pos.x - area.left()) / area.width() * length_m;
        if let Some(text) = cell_words(data, walk, minute, at_m) {
            response.on_hover_text(text);
        }
    }
    asked
}

fn cell_rect(
    walk: &crate::room::BuiltWalk,
    s: usize,
    length_m: f32,
    x_of: &impl Fn(f32) -> f32,
    y0: f32,
    y1: f32,
) -> Rect {
    let at = |i: usize| walk.stations[i].distance_m;
    let last = walk.stations.len() - 1;
    let left = if s == 0 {
        0.0
    } else {
        0.5 * (at(s - 1) + at(s))
    };
    let right = if s >= last {
        length_m
    } else {
        0.5 * (at(s) + at(s + 1))
    };
    Rect::from_min_max(Pos2::new(x_of(left), y0), Pos2::new(x_of(right), y1))
}

/// Dead cells are hatched upward, glaring ones downward.
fn hatch(painter: &egui::Painter, cell: Rect, kind: FlagKind) {
    let (colour, up) = match kind {
        FlagKind::Dead => (Color32::from_black_alpha(190), true),
        FlagKind::Glaring => (Color32::from_rgb(255, 90, 60), false),
    };
    let (a, b) = if up {
        (cell.left_bottom(), cell.right_top())
    } else {
        (cell.left_top(), cell.right_bottom())
    };
    painter.line_segment([a, b], Stroke::new(1.0, colour));
}

fn axis(painter: &egui::Painter, data: &ChartData, area: Rect, y_of: &impl Fn(f32) -> f32) {
    let font = egui::FontId::proportional(11.0);
    let first = data.span.0.div_ceil(120) * 120;
    for minute in (first..=data.span.1).step_by(120) {
        let y = y_of(minute as f32);
        let text = format!("{:02}:00", minute / 60);
        painter.text(
            Pos2::new(area.left() - 6.0, y),
            egui::Align2::RIGHT_CENTER,
            text,
            font.clone(),
            theme::SOFT,
        );
    }
    if let Some((rise, set)) = data.sun {
        let top = y_of(rise).clamp(area.top(), area.bottom());
        let bottom = y_of(set).clamp(area.top(), area.bottom());
        let day = Rect::from_min_max(
            Pos2::new(area.left() - 4.0, top),
            Pos2::new(area.left() - 1.0, bottom),
        );
        painter.rect_filled(day, 0.0, Color32::from_rgb(240, 199, 94));
    }
}

/// What the colours and hatches mean.
fn legend(painter: &egui::Painter, data: &ChartData, area: Rect, scale: &ValueScale) {
    let font = egui::FontId::proportional(11.0);
    let number = |v: f32| crate::measure::format::significant(f64::from(v), 2);
    let unit = data.charted.unit();
    let text = match data.against {
        Some((_, name)) => format!(
            "{}: blue {FULL_DIFFERENCE} times less, copper {FULL_DIFFERENCE} times more than in {name}",
            data.charted.name()
        ),
        None => format!(
            "{}: dark {}{unit} to light {}{unit} or more   hatched /// dead, red \\\\\\ glaring",
            data.charted.name(),
            number(scale.low),
            number(scale.high)
        ),
    };
    let mut galley = painter.layout_no_wrap(text, font.clone(), theme::INK);
    if galley.size().x > area.width() - 10.0 {
        // In a narrow chart what the hatches mean is left to the words on hover.
        let short = match data.against {
            Some((_, name)) => format!("{} against {name}", data.charted.name()),
            None => format!("{} to {}{unit}", number(scale.low), number(scale.high)),
        };
        galley = painter.layout_no_wrap(short, font, theme::INK);
    }
    let at = egui::Align2::RIGHT_BOTTOM
        .anchor_size(area.right_bottom() - egui::vec2(4.0, 3.0), galley.size());
    painter.rect_filled(at.expand(3.0), 2.0, Color32::from_black_alpha(170));
    painter.galley(at.min, galley, theme::INK);
}

/// The readings of the hour that is nearest to the clock.
fn nearest_hour<'a>(data: &ChartData<'a>) -> Option<&'a Hour> {
    let now = data.clock.minute;
    data.hours
        .values()
        .min_by_key(|h| h.clock.minute.abs_diff(now))
}

/// Where curve and strip are drawn.
fn foot(area: Rect, whole: Rect) -> Rect {
    Rect::from_min_max(
        Pos2::new(area.left(), area.bottom() + 4.0),
        Pos2::new(area.right(), whole.bottom() - FOOT_PX),
    )
}

/// Luminances of all tiles for the present time: a column a station, the darkest tile at its foot.
fn strip(
    painter: &egui::Painter,
    data: &ChartData,
    area: Rect,
    whole: Rect,
    x_of: &impl Fn(f32) -> f32,
    length_m: f32,
) {
    const STEPS: usize = 24;
    let Some(readings) = nearest_hour(data).and_then(|h| data.readings(h)) else {
        return;
    };
    let walk = &data.built.walks[data.walk];
    let box_ = foot(area, whole);
    let scale = data.charted.scale();
    let mut mesh = egui::Mesh::default();
    for (s, reading) in readings.iter().enumerate().take(walk.stations.len()) {
        let mut sorted = reading.tiles.luminance_cd_m2.clone();
        sorted.sort_by(f32::total_cmp);
        if sorted.is_empty() {
            continue;
        }
        for k in 0..STEPS {
            let value = sorted[k * (sorted.len() - 1) / (STEPS - 1)];
            let [r, g, b] = ramp::colour(scale.position(value));
            let at = |k: usize| box_.bottom() - box_.height() * k as f32 / STEPS as f32;
            let cell = cell_rect(walk, s, length_m, x_of, at(k + 1), at(k));
            mesh.add_colored_rect(cell, Color32::from_rgb(r, g, b));
        }
    }
    painter.add(egui::Shape::mesh(mesh));
    ends(painter, area, box_, &scale);
}

/// The highest and lowest value beside the foot.
fn ends(painter: &egui::Painter, area: Rect, box_: Rect, scale: &ValueScale) {
    let font = egui::FontId::proportional(11.0);
    let number = |v: f32| crate::measure::format::significant(f64::from(v), 2);
    for (y, value) in [
        (box_.top() + 6.0, scale.high),
        (box_.bottom() - 6.0, scale.low),
    ] {
        painter.text(
            Pos2::new(area.left() - 6.0, y),
            egui::Align2::RIGHT_CENTER,
            number(value),
            font.clone(),
            theme::SOFT,
        );
    }
}

/// The curve along the walk for the present time.
fn curve(
    painter: &egui::Painter,
    data: &ChartData,
    area: Rect,
    whole: Rect,
    x_of: &impl Fn(f32) -> f32,
) {
    let Some(readings) = nearest_hour(data).and_then(|h| data.readings(h)) else {
        return;
    };
    let walk = &data.built.walks[data.walk];
    let box_ = foot(area, whole);
    let scale = data.charted.scale();
    let points: Vec<Pos2> = readings
        .iter()
        .zip(&walk.stations)
        .filter_map(|(r, s)| {
            let y = box_.bottom() - scale.position(data.charted.of(r)?) * box_.height();
            Some(Pos2::new(x_of(s.distance_m), y))
        })
        .collect();
    painter.add(egui::Shape::line(points, Stroke::new(1.5, theme::INK)));
    ends(painter, area, box_, &scale);
}

/// The cell's value and its flags, in words.
fn cell_words(
    data: &ChartData,
    walk: &crate::room::BuiltWalk,
    minute: f32,
    at_m: f32,
) -> Option<String> {
    let hour = data.hours.values().min_by(|a, b| {
        let away = |h: &Hour| (h.clock.minute as f32 - minute).abs();
        away(a).total_cmp(&away(b))
    })?;
    let station = (0..walk.stations.len()).min_by(|a, b| {
        let away = |i: usize| (walk.stations[i].distance_m - at_m).abs();
        away(*a).total_cmp(&away(*b))
    })?;
    let reading = data.readings(hour)?.get(station)?;
    Some(reading_words(data, hour, station, reading))
}

fn reading_words(
    data: &ChartData,
    hour: &Hour,
    station: usize,
    reading: &StationReading,
) -> String {
    let walk = &data.built.walks[data.walk];
    let place = crate::study::place_words(&walk.walk, &walk.stations, (station, station));
    let mut text = format!(
        "{} {}: play {}, glow {}, {} (error about {:.0} %)",
        hour.clock.time_words(),
        place,
        crate::measure::format::ratio(f64::from(reading.play)),
        crate::measure::format::ratio(f64::from(reading.glow)),
        crate::measure::format::luminance(f64::from(reading.mean_luminance_cd_m2)),
        100.0 * reading.relative_error
    );
    if let Some((_, name)) = data.against
        && let Some(share) = data.difference(hour, station, reading)
    {
        let times = FULL_DIFFERENCE.powf(share);
        text.push_str(&format!("\n{:.2} times that of {name}", times));
    }
    for flag in &reading.flags {
        let word = match flag.cause.kind() {
            FlagKind::Dead => "Dead",
            FlagKind::Glaring => "Glaring",
        };
        text.push_str(&format!(
            "\n{word}: {}",
            flag_words(data.built, &hour.instant, flag)
        ));
    }
    text
}
