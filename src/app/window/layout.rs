//! What lies where in the window: bar, list, details, the day below, and words over the picture.

use std::path::PathBuf;

use bevy::prelude::*;
use bevy_egui::{EguiContexts, egui};

use super::{Drawn, FALSE_DECADES, FALSE_LOW_CD_M2, Gestures, PathState, PictureArea, hours_of};
use crate::{
    app::{
        command::AppCommand,
        document::OpenRoom,
        engine::Clock,
        panels::{ChartData, chart_ui, details_ui, things_ui},
        standing::Standing,
        state::{Charted, Chosen, Desk, Moment, Notice, Plan, Settings, Showing, ViewKind},
        theme,
    },
    measure::format,
    sun::DayLight,
};

#[derive(bevy::ecs::system::SystemParam)]
pub(super) struct Shown<'w> {
    open: Res<'w, OpenRoom>,
    desk: Res<'w, Desk>,
    chosen: Res<'w, Chosen>,
    moment: ResMut<'w, Moment>,
    standing: Res<'w, Standing>,
    showing: Res<'w, Showing>,
    settings: Res<'w, Settings>,
    notice: Res<'w, Notice>,
    gestures: Res<'w, Gestures>,
    drawn: Res<'w, Drawn>,
    time: Res<'w, Time<Real>>,
}

pub(super) fn draw_window(
    mut contexts: EguiContexts,
    shown: Shown,
    mut area: ResMut<PictureArea>,
    mut path: ResMut<PathState>,
    mut commands: MessageWriter<AppCommand>,
    mut dressed: Local<bool>,
) -> Result {
    let ctx = contexts.ctx_mut()?.clone();
    if !*dressed {
        theme::apply(&ctx);
        *dressed = true;
    }
    let mut root = egui::Ui::new(
        ctx.clone(),
        "window".into(),
        egui::UiBuilder::new()
            .layer_id(egui::LayerId::background())
            .max_rect(ctx.viewport_rect()),
    );
    let mut asked = Vec::new();
    egui::Panel::top("bar").show(&mut root, |ui| {
        asked.extend(bar_ui(ui, &shown, &mut path.text))
    });
    egui::Panel::bottom("day")
        .default_size(236.0)
        .resizable(true)
        .show(&mut root, |ui| {
            asked.extend(day_ui(ui, &shown));
        });
    egui::Panel::left("things")
        .default_size(190.0)
        .show(&mut root, |ui| {
            asked.extend(things_ui(
                ui,
                shown.open.file(),
                &shown.desk.live().problems,
                &shown.chosen,
            ));
        });
    egui::Panel::right("details")
        .default_size(270.0)
        .show(&mut root, |ui| {
            let built = shown.desk.live().built.as_ref().map(|b| b.1.as_ref());
            asked.extend(details_ui(
                ui,
                shown.open.file(),
                built,
                &shown.chosen,
                shown.settings.unit,
                shown.gestures.count,
            ));
            ui.separator();
            reading_ui(ui, &shown);
        });
    let view = root.allocate_rect(root.available_rect_before_wrap(), egui::Sense::hover());
    over_picture(&root, view.rect, &shown);
    let scale = ctx.pixels_per_point();
    let px = |v: f32| (v * scale).round().max(0.0) as u32;
    *area = PictureArea {
        min: UVec2::new(px(view.rect.min.x), px(view.rect.min.y)),
        size: UVec2::new(px(view.rect.width()), px(view.rect.height())),
        hovered: root.rect_contains_pointer(view.rect)
            && !ctx.egui_is_using_pointer()
            && !ctx.any_popup_open(),
        typing: ctx.text_edit_focused(),
    };
    commands.write_batch(asked);
    Ok(())
}

fn bar_ui(ui: &mut egui::Ui, shown: &Shown, path: &mut String) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    ui.horizontal(|ui| {
        let mark = if shown.open.is_unsaved() { " *" } else { "" };
        ui.label(egui::RichText::new(format!("{}{mark}", shown.open.title())).strong());
        ui.menu_button("Room", |ui| {
            ui.label("Path of the room file");
            ui.text_edit_singleline(path);
            if ui.button("Open").clicked() {
                asked.push(AppCommand::Open(PathBuf::from(path.trim())));
                ui.close();
            }
            if ui.button("Save as").clicked() {
                asked.push(AppCommand::SaveAs(PathBuf::from(path.trim())));
                ui.close();
            }
            if ui.button("Save (Ctrl+S)").clicked() {
                asked.push(AppCommand::Save);
                ui.close();
            }
        });
        let (undo, redo) = shown.open.next_steps();
        let undo_tip = undo.map_or("Nothing to undo".into(), |w| format!("Undo: {w} (Ctrl+Z)"));
        if ui.add_enabled(undo.is_some(), egui::Button::new("Undo")).on_hover_text(undo_tip).clicked() {
            asked.push(AppCommand::Undo);
        }
        if ui.add_enabled(redo.is_some(), egui::Button::new("Redo")).clicked() {
            asked.push(AppCommand::Redo);
        }
        ui.separator();
        for (view, name, tip) in [
            (ViewKind::Visitor, "Visitor's eye", "1: stand on the walk; arrows walk, W A S D leave it, Q and E step aside, R goes back"),
            (ViewKind::Around, "From around", "2: drag to turn, right drag to shift, wheel to come nearer"),
            (ViewKind::Plan, "From above", "3: the plan; drag to shift, wheel to come nearer"),
        ] {
            if ui.selectable_label(shown.showing.view == view, name).on_hover_text(tip).clicked() {
                asked.push(AppCommand::Look(view));
            }
        }
        ui.separator();
        let mut colours = shown.showing.false_colour;
        if ui.toggle_value(&mut colours, "cd/m\u{b2} as colours").clicked() {
            asked.push(AppCommand::FalseColour(colours));
        }
        if shown.desk.held().is_some() {
            if ui.button("Let the held plan go").clicked() {
                asked.push(AppCommand::DropHeld);
            }
        } else if ui.button("Hold this plan beside").on_hover_text("Keeps the plan as it is, to compare with what comes next").clicked() {
            asked.push(AppCommand::Hold);
        }
    });
    asked
}

fn day_ui(ui: &mut egui::Ui, shown: &Shown) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    egui::Panel::left("clock").exact_size(200.0).show(ui, |ui| {
        asked.extend(clock_ui(ui, shown));
    });
    let plans: Vec<&Plan> = std::iter::once(shown.desk.live())
        .chain(shown.desk.held())
        .collect();
    let count = plans.len();
    ui.columns(count, |columns| {
        for (ui, plan) in columns.iter_mut().zip(plans) {
            if let Some((_, built)) = &plan.built {
                if count > 1 {
                    ui.label(&plan.name);
                }
                asked.extend(chart_ui(
                    ui,
                    &ChartData {
                        hours: &plan.hours,
                        built,
                        walk: shown.standing.walk,
                        distance_m: shown.standing.distance_m,
                        clock: &shown.moment.clock,
                        charted: shown.settings.charted,
                        span: hours_of(&plan.room),
                        sun: plan.now.as_ref().and_then(|n| sun_minutes(&n.day_light)),
                        stale: plan.chart_is_stale(),
                    },
                ));
            }
        }
    });
    asked
}

fn sun_minutes(day: &DayLight) -> Option<(f32, f32)> {
    match day {
        DayLight::Normal { sunrise, sunset } => {
            let minutes =
                |t: &jiff::ZonedDateTime| f32::from(t.hour()) * 60.0 + f32::from(t.minute());
            let rise = sunrise.as_ref().map_or(0.0, minutes);
            Some((rise, sunset.as_ref().map_or(1440.0, minutes)))
        }
        DayLight::PolarDay => Some((0.0, 1440.0)),
        DayLight::PolarNight => None,
    }
}

fn clock_ui(ui: &mut egui::Ui, shown: &Shown) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    let clock = &shown.moment.clock;
    ui.horizontal(|ui| {
        ui.label(
            egui::RichText::new(clock.time_words())
                .size(24.0)
                .color(theme::ACCENT),
        );
        if let Some(now) = &shown.desk.live().now {
            let h = now.instant.solar_time_h;
            let minute = ((h.fract() * 60.0).floor() as u32).min(59);
            ui.colored_label(
                theme::SOFT,
                format!("sun time {:02}:{minute:02}", h.floor() as u32),
            )
            .on_hover_text("Time by the sun: 12:00 when it stands highest");
        }
    });
    let mut minute = clock.minute;
    ui.spacing_mut().slider_width = 180.0;
    if ui
        .add(egui::Slider::new(&mut minute, 0..=1439).show_value(false))
        .changed()
    {
        asked.push(AppCommand::SetClock(Clock {
            minute,
            ..clock.clone()
        }));
    }
    ui.colored_label(theme::SOFT, clock.date.to_string());
    let mut day = u32::from(clock.date.day_of_year() as u16);
    let days = u32::from(clock.date.days_in_year() as u16);
    if ui
        .add(egui::Slider::new(&mut day, 1..=days).show_value(false))
        .changed()
    {
        let first = jiff::civil::Date::constant(clock.date.year(), 1, 1);
        let date = first.checked_add(jiff::Span::new().days(i64::from(day) - 1));
        if let Ok(date) = date {
            asked.push(AppCommand::SetClock(Clock {
                date,
                ..clock.clone()
            }));
        }
    }
    ui.horizontal(|ui| {
        let label = if shown.moment.playing {
            "Stop"
        } else {
            "Play the day"
        };
        if ui.button(label).clicked() {
            asked.push(AppCommand::Play(!shown.moment.playing));
        }
        egui::ComboBox::from_id_salt("sky")
            .width(80.0)
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
    egui::ComboBox::from_id_salt("walk")
        .width(180.0)
        .selected_text(
            shown
                .open
                .file()
                .walks
                .get(shown.standing.walk)
                .map_or("", |w| w.name.as_str()),
        )
        .show_ui(ui, |ui| {
            for (i, walk) in shown.open.file().walks.iter().enumerate() {
                if ui
                    .selectable_label(i == shown.standing.walk, &walk.name)
                    .clicked()
                {
                    asked.push(AppCommand::Stand {
                        walk: i,
                        distance_m: 0.0,
                    });
                }
            }
        });
    ui.horizontal(|ui| {
        for charted in Charted::ALL {
            if ui
                .selectable_label(shown.settings.charted == charted, charted.name())
                .on_hover_text(charted.meaning())
                .clicked()
            {
                asked.push(AppCommand::Chart(charted));
            }
        }
    });
    asked
}

/// What the eye sees now, with reasons and errors.
fn reading_ui(ui: &mut egui::Ui, shown: &Shown) {
    let plan = shown.desk.live();
    ui.label(egui::RichText::new("From here, now").strong());
    let (Some((_, glance)), Some((_, built)), Some(now)) = (&plan.glance, &plan.built, &plan.now)
    else {
        ui.label("...");
        return;
    };
    let r = &glance.reading.reading;
    use crate::measure::reads::Reads;
    ui.label(match r.pattern.class {
        Reads::Lost => "The pattern is lost",
        Reads::Faint => "The pattern is faint",
        Reads::Reads => "The pattern reads",
        Reads::Strong => "The pattern is strong",
        Reads::Overpowering => "The pattern overpowers",
    });
    ui.label(format!(
        "{} on average, play {}, glow {}",
        format::luminance(f64::from(r.mean_luminance_cd_m2)),
        format::ratio(f64::from(r.play)),
        format::ratio(f64::from(r.glow))
    ));
    ui.colored_label(
        theme::SOFT,
        format!("error of sampling about {:.0} %", 100.0 * r.relative_error),
    );
    for flag in &r.flags {
        ui.colored_label(
            theme::WRONG,
            crate::study::flag_words(built, &now.instant, flag),
        );
    }
}

/// Words over the picture: the eye's state, what is computed, notices.
fn over_picture(root: &egui::Ui, rect: egui::Rect, shown: &Shown) {
    let painter = root.painter_at(rect);
    let font = egui::FontId::proportional(13.0);
    let line = |pos: egui::Pos2, align: egui::Align2, text: String, colour: egui::Color32| {
        let galley = painter.layout_no_wrap(text, font.clone(), colour);
        let at = align.anchor_size(pos, galley.size());
        painter.rect_filled(at.expand(4.0), 3.0, egui::Color32::from_black_alpha(150));
        painter.galley(at.min, galley, colour);
    };
    let eye = &shown.showing.exposure;
    line(
        rect.left_bottom() + egui::vec2(10.0, -10.0),
        egui::Align2::LEFT_BOTTOM,
        format!(
            "Eye adapted to {}, white at {}",
            format::luminance(f64::from(eye.adapted_cd_m2())),
            format::luminance(f64::from(eye.white_cd_m2()))
        ),
        theme::SOFT,
    );
    let plan = shown.desk.live();
    let state = match (&plan.failed, plan.busy) {
        (Some(why), _) => Some((why.clone(), theme::WRONG)),
        (None, Some((what, _))) => {
            let share = plan
                .engine
                .progress()
                .map_or(String::new(), |p| format!(" {:.0} %", 100.0 * p));
            Some((format!("Computing {what}{share}"), theme::ACCENT))
        }
        (None, None) if plan.is_stale(&shown.moment.clock) => {
            Some(("Catching up".into(), theme::ACCENT))
        }
        (None, None) => None,
    };
    if let Some((text, colour)) = state {
        line(
            rect.right_bottom() + egui::vec2(-10.0, -10.0),
            egui::Align2::RIGHT_BOTTOM,
            text,
            colour,
        );
    }
    if shown.drawn.0.is_software {
        let text = format!("Drawn by the processor ({}): slower", shown.drawn.0.name);
        line(
            rect.right_top() + egui::vec2(-10.0, 10.0),
            egui::Align2::RIGHT_TOP,
            text,
            theme::SOFT,
        );
    }
    if shown.notice.until_s > shown.time.elapsed_secs_f64() {
        let colour = if shown.notice.wrong {
            theme::WRONG
        } else {
            theme::INK
        };
        line(
            rect.center_top() + egui::vec2(0.0, 34.0),
            egui::Align2::CENTER_TOP,
            shown.notice.text.clone(),
            colour,
        );
    }
    if shown.showing.false_colour {
        for k in 0..=5 {
            let value = FALSE_LOW_CD_M2 * 10_f32.powi(k);
            let y = rect.bottom() - 50.0 - k as f32 * 24.0;
            let [r, g, b] = crate::report::ramp::colour(k as f32 / FALSE_DECADES);
            let swatch = egui::Rect::from_min_size(
                egui::pos2(rect.left() + 10.0, y - 10.0),
                egui::vec2(20.0, 20.0),
            );
            painter.rect_filled(swatch, 0.0, egui::Color32::from_rgb(r, g, b));
            line(
                egui::pos2(rect.left() + 38.0, y),
                egui::Align2::LEFT_CENTER,
                format::luminance(f64::from(value)),
                theme::INK,
            );
        }
    }
}
