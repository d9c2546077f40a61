//! Date, time and sky; the walk; what the chart shows.

use bevy_egui::egui;

use crate::{
    app::{
        command::AppCommand,
        engine::Clock,
        files::Settings,
        state::{Charted, Desk, Moment, Showing},
        theme,
    },
    room::RoomFile,
    sun::DayLight,
};

/// What the clock is drawn from.
pub struct ClockData<'a> {
    /// The room.
    pub room: &'a RoomFile,
    /// The moment.
    pub moment: &'a Moment,
    /// The plans.
    pub desk: &'a Desk,
    /// Index of the walk.
    pub walk: usize,
    /// Whether the visitor walks by itself.
    pub strolling: bool,
    /// Settings.
    pub settings: &'a Settings,
    /// What is shown.
    pub showing: &'a Showing,
}

/// The panel.
pub fn clock_ui(ui: &mut egui::Ui, data: &ClockData) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    let clock = &data.moment.clock;
    ui.horizontal(|ui| {
        ui.label(
            egui::RichText::new(clock.time_words())
                .size(24.0)
                .color(theme::ACCENT),
        );
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            if let Some(now) = &data.desk.live().now {
                let h = now.instant.solar_time_h;
                let minute = ((h.fract() * 60.0).floor() as u32).min(59);
                ui.colored_label(
                    theme::SOFT,
                    format!("by the sun {:02}:{minute:02}", h.floor() as u32),
                )
                .on_hover_text("Solar time: 12:00 when the sun stands highest");
                ui.colored_label(theme::SOFT, sun_words(&now.day_light))
                    .on_hover_text("Sunrise and sunset on this day, here");
            }
        });
    });
    ui.spacing_mut().slider_width = ui.available_width() - 8.0;
    let mut minute = clock.minute;
    if ui
        .add(egui::Slider::new(&mut minute, 0..=1439).show_value(false))
        .on_hover_text("The clock (Page Up, Page Down)")
        .changed()
    {
        asked.push(AppCommand::SetClock(Clock {
            minute,
            ..clock.clone()
        }));
    }
    date_ui(ui, clock, &mut asked);
    ui.horizontal(|ui| {
        let playing = data.moment.playing;
        if ui
            .selectable_label(playing, if playing { "Stop" } else { "Play the day" })
            .on_hover_text("P")
            .clicked()
        {
            asked.push(AppCommand::Play(!playing));
        }
        egui::ComboBox::from_id_salt("sky")
            .width(76.0)
            .selected_text(&clock.sky)
            .show_ui(ui, |ui| {
                for sky in crate::sky::SKY_NAMES {
                    if ui.selectable_label(clock.sky == sky, sky).clicked() {
                        asked.push(AppCommand::SetClock(Clock {
                            sky: sky.into(),
                            ..clock.clone()
                        }));
                    }
                }
            });
    });
    if data.moment.playing {
        let mut speed = data.moment.speed_min_s;
        ui.horizontal(|ui| {
            ui.spacing_mut().slider_width = 90.0;
            let slider = egui::Slider::new(&mut speed, 5.0..=120.0)
                .suffix(" min/s")
                .logarithmic(true)
                .max_decimals(0);
            if ui
                .add(slider)
                .on_hover_text("Minutes of the day that pass in a second")
                .changed()
            {
                asked.push(AppCommand::PlaySpeed(speed));
            }
        });
    }
    walk_ui(ui, data, &mut asked);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 3.0;
        for charted in Charted::ALL {
            if ui
                .selectable_label(data.settings.charted == charted, charted.name())
                .on_hover_text(charted.meaning())
                .clicked()
            {
                asked.push(AppCommand::Chart(charted));
            }
        }
        if data.desk.held().is_some() {
            let on = data.showing.difference;
            if ui
                .selectable_label(on, "Difference")
                .on_hover_text("How many times more or less than in the plan beside")
                .clicked()
            {
                asked.push(AppCommand::Difference(!on));
            }
        }
    });
    asked
}

fn sun_words(day: &DayLight) -> String {
    let words = |t: &Option<jiff::ZonedDateTime>| {
        t.as_ref().map_or_else(
            || "none".to_owned(),
            |t| format!("{:02}:{:02}", t.hour(), t.minute()),
        )
    };
    match day {
        DayLight::Normal { sunrise, sunset } => {
            format!("sun {} to {}", words(sunrise), words(sunset))
        }
        DayLight::PolarDay => "sun all day".into(),
        DayLight::PolarNight => "no sun today".into(),
    }
}

fn date_ui(ui: &mut egui::Ui, clock: &Clock, asked: &mut Vec<AppCommand>) {
    let at = |date: jiff::civil::Date| {
        AppCommand::SetClock(Clock {
            date,
            ..clock.clone()
        })
    };
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 3.0;
        let id = ui.id().with("date text");
        let mut text = ui
            .data_mut(|d| d.get_temp::<String>(id))
            .unwrap_or_else(|| clock.date.to_string());
        let response = ui.add(
            egui::TextEdit::singleline(&mut text)
                .desired_width(76.0)
                .id_salt(id),
        );
        let response = response.on_hover_text("Year, month, day: type 2026-06-21 and press Enter");
        if response.lost_focus() {
            ui.data_mut(|d| d.remove::<String>(id));
            if let Ok(date) = text.trim().parse::<jiff::civil::Date>() {
                asked.push(at(date));
            }
        } else if response.has_focus() {
            ui.data_mut(|d| d.insert_temp(id, text));
        }
        let year = clock.date.year();
        for (label, month, day, tip) in [
            ("Mar", 3, 20, "Equinox, 20 March"),
            ("Jun", 6, 21, "Longest day in the north, 21 June"),
            ("Dec", 12, 21, "Shortest day in the north, 21 December"),
        ] {
            let date = jiff::civil::Date::constant(year, month, day);
            if ui
                .selectable_label(clock.date == date, label)
                .on_hover_text(tip)
                .clicked()
            {
                asked.push(at(date));
            }
        }
    });
    let mut day = u32::from(clock.date.day_of_year() as u16);
    let days = u32::from(clock.date.days_in_year() as u16);
    if ui
        .add(egui::Slider::new(&mut day, 1..=days).show_value(false))
        .on_hover_text("The day of the year (Home, End)")
        .changed()
    {
        let first = jiff::civil::Date::constant(clock.date.year(), 1, 1);
        if let Ok(date) = first.checked_add(jiff::Span::new().days(i64::from(day) - 1)) {
            asked.push(at(date));
        }
    }
}

fn walk_ui(ui: &mut egui::Ui, data: &ClockData, asked: &mut Vec<AppCommand>) {
    ui.horizontal(|ui| {
        let on = data.strolling;
        if ui
            .selectable_label(on, if on { "Stop" } else { "Walk" })
            .on_hover_text("Space: walk along it at its pace")
            .clicked()
        {
            asked.push(AppCommand::Stroll(!on));
        }
        let name = data
            .room
            .walks
            .get(data.walk)
            .map_or("", |w| w.name.as_str());
        egui::ComboBox::from_id_salt("walk")
            .width(112.0)
            .truncate()
            .selected_text(name)
            .show_ui(ui, |ui| {
                for (i, walk) in data.room.walks.iter().enumerate() {
                    if ui.selectable_label(i == data.walk, &walk.name).clicked() {
                        asked.push(AppCommand::Stand {
                            walk: i,
                            distance_m: 0.0,
                        });
                    }
                }
            });
    });
}
