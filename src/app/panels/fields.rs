//! Rows of a form: a word with what it means, and a value that is dragged or typed with its unit.

use bevy_egui::egui;

use crate::{
    app::{
        edits::CornerChange,
        typed::{self, LengthUnit},
    },
    room::PlanPoint,
};

/// How lengths are typed.
const LENGTH_TIP: &str = "Drag, or click and type with a unit: 1.2 m, 120 cm, 4 ft 2 in";

fn word(ui: &mut egui::Ui, label: &str, tip: &str) {
    let response = ui.label(label);
    if !tip.is_empty() {
        response.on_hover_text(tip);
    }
}

/// Adds a box for a number. A box that is entered and left untouched writes back what it shows, which has fewer
/// digits: then the value stays as it was.
fn number_box(
    ui: &mut egui::Ui,
    value: &mut f32,
    words: impl Fn(f64) -> String + 'static,
    make: impl FnOnce(egui::DragValue<'_>) -> egui::DragValue<'_>,
) -> egui::Response {
    let mut shown = *value;
    let before = words(f64::from(*value));
    let words = std::rc::Rc::new(words);
    let formatter = std::rc::Rc::clone(&words);
    let drag = egui::DragValue::new(&mut shown)
        .clamp_existing_to_range(false)
        .custom_formatter(move |v, _| formatter(v))
        .update_while_editing(false);
    let response = ui.add(make(drag));
    if shown != *value && (response.dragged() || words(f64::from(shown)) != before) {
        *value = shown;
    }
    response
}

fn length_box(ui: &mut egui::Ui, value: &mut f32, unit: LengthUnit) {
    number_box(
        ui,
        value,
        move |v| typed::length_words(v, unit),
        |drag| {
            drag.speed(0.01)
                .custom_parser(move |text| typed::length_m(text, unit))
        },
    )
    .on_hover_text(LENGTH_TIP);
}

/// A number with few digits and its unit.
fn plain_words(value: f64, unit: &str) -> String {
    let digits = if value.abs() >= 100.0 { 1.0 } else { 1000.0 };
    let rounded = (value * digits).round() / digits;
    if unit.is_empty() {
        format!("{rounded}")
    } else {
        format!("{rounded} {unit}")
    }
}

fn plain_box(ui: &mut egui::Ui, value: &mut f32, unit: &'static str, speed: f64) {
    number_box(
        ui,
        value,
        move |v| plain_words(v, unit),
        |drag| {
            drag.speed(speed)
                .custom_parser(move |text| typed::plain(text, &[unit]))
        },
    );
}

/// A length [m].
pub fn length(ui: &mut egui::Ui, label: &str, tip: &str, value: &mut f32, unit: LengthUnit) {
    word(ui, label, tip);
    length_box(ui, value, unit);
    ui.end_row();
}

/// A place on the plan, as two lengths.
pub fn plan_point(ui: &mut egui::Ui, label: &str, point: &mut PlanPoint, unit: LengthUnit) {
    word(ui, label, "On the plan: x to the right and y up the page");
    ui.horizontal(|ui| {
        length_box(ui, &mut point.0, unit);
        length_box(ui, &mut point.1, unit);
    });
    ui.end_row();
}

/// An angle [deg].
pub fn angle(ui: &mut egui::Ui, label: &str, tip: &str, value: &mut f32) {
    word(ui, label, tip);
    number_box(
        ui,
        value,
        |v| plain_words(v, "deg"),
        |drag| drag.speed(0.5).custom_parser(typed::angle_deg),
    );
    ui.end_row();
}

/// A share, 0..=1, in percent.
pub fn share(ui: &mut egui::Ui, label: &str, tip: &str, value: &mut f32) {
    let words = |v: f64| format!("{} %", (v * 1000.0).round() / 10.0);
    word(ui, label, tip);
    ui.spacing_mut().slider_width = 70.0;
    let mut shown = *value;
    let response = ui.add(
        egui::Slider::new(&mut shown, 0.0..=1.0)
            .clamping(egui::SliderClamping::Edits)
            .custom_formatter(move |v, _| words(v))
            .custom_parser(typed::share),
    );
    if shown != *value
        && (response.dragged() || words(f64::from(shown)) != words(f64::from(*value)))
    {
        *value = shown;
    }
    ui.end_row();
}

/// A number with a unit after it.
pub fn number(
    ui: &mut egui::Ui,
    label: &str,
    tip: &str,
    value: &mut f32,
    unit: &'static str,
    speed: f64,
) {
    word(ui, label, tip);
    plain_box(ui, value, unit, speed);
    ui.end_row();
}

/// A number that may be left out.
pub fn optional(
    ui: &mut egui::Ui,
    label: &str,
    tip: &str,
    value: &mut Option<f32>,
    (start, unit, speed): (f32, &'static str, f64),
) {
    word(ui, label, tip);
    ui.horizontal(|ui| {
        let mut given = value.is_some();
        if ui
            .checkbox(&mut given, "")
            .on_hover_text("Tick to give it")
            .changed()
        {
            *value = given.then_some(start);
        }
        if let Some(value) = value {
            plain_box(ui, value, unit, speed);
        }
    });
    ui.end_row();
}

/// One name out of several.
pub fn choice<'a>(
    ui: &mut egui::Ui,
    label: &str,
    tip: &str,
    value: &mut String,
    options: impl Iterator<Item = &'a String>,
) {
    word(ui, label, tip);
    egui::ComboBox::from_id_salt(label)
        .width(110.0)
        .selected_text(value.clone())
        .truncate()
        .show_ui(ui, |ui| {
            for option in options {
                ui.selectable_value(value, option.clone(), option);
            }
        });
    ui.end_row();
}

/// A clock time, "HH:MM".
pub fn clock(ui: &mut egui::Ui, label: &str, tip: &str, value: &mut String) {
    word(ui, label, tip);
    clock_box(ui, value);
    ui.end_row();
}

fn clock_box(ui: &mut egui::Ui, value: &mut String) {
    let mut minute = f64::from(crate::room::clock_min(value).unwrap_or(0));
    let response = ui.add(
        egui::DragValue::new(&mut minute)
            .speed(5.0)
            .range(0.0..=1440.0)
            .custom_formatter(|v, _| clock_words(v as u32))
            .custom_parser(|text| crate::room::clock_min(text).map(f64::from))
            .update_while_editing(false),
    );
    if response.changed() {
        // A drag goes by five minutes; what is typed stays as typed.
        let step = if response.dragged() { 5.0 } else { 1.0 };
        let next = clock_words(((minute / step).round() * step) as u32);
        if crate::room::clock_min(value) != crate::room::clock_min(&next) {
            *value = next;
        }
    }
    response.on_hover_text("Drag, or click and type HH:MM");
}

fn clock_words(minute: u32) -> String {
    format!("{:02}:{:02}", minute / 60, minute % 60)
}

/// Hours from and to, or always.
pub fn hours(ui: &mut egui::Ui, label: &str, tip: &str, value: &mut Option<(String, String)>) {
    word(ui, label, tip);
    ui.horizontal(|ui| {
        let mut given = value.is_some();
        if ui
            .checkbox(&mut given, "")
            .on_hover_text("Tick to give hours; always without")
            .changed()
        {
            *value = given.then(|| ("08:00".into(), "20:00".into()));
        }
        match value {
            Some((from, to)) => {
                clock_box(ui, from);
                ui.weak("to");
                clock_box(ui, to);
            }
            None => {
                ui.weak("always");
            }
        }
    });
    ui.end_row();
}

/// Corners of an outline; corners can be put in and taken out.
pub fn outline(
    ui: &mut egui::Ui,
    salt: &str,
    points: &mut Vec<PlanPoint>,
    least: usize,
    closed: bool,
    unit: LengthUnit,
) -> Option<CornerChange> {
    let (mut more, mut less) = (None, None);
    egui::Grid::new(salt)
        .num_columns(3)
        .spacing([4.0, 3.0])
        .show(ui, |ui| {
            let count = points.len();
            for (k, point) in points.iter_mut().enumerate() {
                ui.weak(format!("{}", k + 1));
                length_box(ui, &mut point.0, unit);
                length_box(ui, &mut point.1, unit);
                let can_add = closed || k + 1 < count;
                if ui
                    .add_enabled(can_add, egui::Button::new("+"))
                    .on_hover_text("A corner half way to the next")
                    .clicked()
                {
                    more = Some(k);
                }
                if ui
                    .add_enabled(count > least, egui::Button::new("\u{2212}"))
                    .on_hover_text("Take this corner out")
                    .clicked()
                {
                    less = Some(k);
                }
                ui.end_row();
            }
        });
    if let Some(k) = more {
        let next = points[(k + 1) % points.len()];
        let half = |a: f32, b: f32| typed::snap(0.5 * (a + b), 0.01);
        let between = (half(points[k].0, next.0), half(points[k].1, next.1));
        points.insert(k + 1, between);
        return Some(CornerChange::PutInAfter(k));
    }
    let k = less?;
    let was = points.remove(k);
    Some(CornerChange::TakenOut(k, was))
}

/// The name of a thing; the new one when it is typed.
pub fn name(ui: &mut egui::Ui, current: &str) -> Option<String> {
    let id = ui.id().with(("name of", current));
    let mut text = ui
        .data_mut(|d| d.get_temp::<String>(id))
        .unwrap_or_else(|| current.to_owned());
    let response = ui.add(
        egui::TextEdit::singleline(&mut text)
            .desired_width(f32::INFINITY)
            .id_salt(id),
    );
    let response = response.on_hover_text("Its name; type another and press Enter");
    if response.lost_focus() {
        ui.data_mut(|d| d.remove::<String>(id));
        let kept = ui.input(|i| i.key_pressed(egui::Key::Escape));
        return (text.trim() != current && !kept).then_some(text);
    }
    ui.data_mut(|d| d.insert_temp(id, text));
    None
}
