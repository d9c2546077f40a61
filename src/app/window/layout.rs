//! What lies where in the window: bar, list, details, the day below, and words over the picture.

use bevy::prelude::*;
use bevy_egui::{EguiContexts, egui};

use super::{
    Drawn, FALSE_DECADES, Gestures, PathState, PictureArea, SunOfDay, false_low_cd_m2,
    hand::Hand,
    hours_of,
    overlay::{Marks, words},
};
use crate::{
    app::{
        command::{AppCommand, sheets_folder},
        document::OpenRoom,
        files::Settings,
        panels::{
            AdviceData, BarData, ChartData, ClockData, DetailsData, advice_ui, bar_ui, chart_ui,
            clock_ui, details_ui, eyes_ui, questions_ui, spots_ui, things_ui,
        },
        standing::Standing,
        state::{
            Advice, Asking, Chosen, Desk, Moment, Notice, Pins, Plan, Presenting, Showing, ViewKind,
        },
        theme,
        view::Views,
    },
    image::Exposure,
    measure::format,
    sun::DayLight,
};

#[derive(bevy::ecs::system::SystemParam)]
pub(super) struct Shown<'w> {
    open: Res<'w, OpenRoom>,
    desk: Res<'w, Desk>,
    chosen: Res<'w, Chosen>,
    moment: Res<'w, Moment>,
    standing: Res<'w, Standing>,
    showing: Res<'w, Showing>,
    settings: Res<'w, Settings>,
    notice: Res<'w, Notice>,
    asking: Res<'w, Asking>,
    advice: Res<'w, Advice>,
    presenting: Res<'w, Presenting>,
    pins: Res<'w, Pins>,
    hand: Res<'w, Hand>,
    views: Res<'w, Views>,
    sun: Res<'w, SunOfDay>,
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
    ctx.set_zoom_factor(shown.settings.scale);
    theme::warm_letters(&ctx);
    let whole = ctx.viewport_rect();
    let mut root = egui::Ui::new(
        ctx.clone(),
        "window".into(),
        egui::UiBuilder::new()
            .layer_id(egui::LayerId::background())
            .max_rect(whole),
    );
    // The typed path follows the open room.
    if path.of.as_ref() != shown.open.path() {
        path.of = shown.open.path().cloned();
        if let Some(own) = &path.of {
            path.text = own.display().to_string();
        }
    }
    let mut asked = questions_ui(&ctx, &shown.asking, &shown.open);
    let folded = shown.showing.folded;
    egui::Panel::top("bar").show(&mut root, |ui| {
        let data = BarData {
            open: &shown.open,
            showing: &shown.showing,
            settings: &shown.settings,
            presenting: &shown.presenting,
        };
        asked.extend(bar_ui(ui, &data, &mut path.text));
    });
    // Enlarged letters on a small screen must leave room for the picture.
    if !folded.day {
        egui::Panel::bottom("day")
            .default_size(236.0_f32.min(0.34 * whole.height()))
            .max_size(0.5 * whole.height())
            .resizable(true)
            .show(&mut root, |ui| asked.extend(day_ui(ui, &shown)));
    }
    if !folded.things {
        egui::Panel::left("things")
            .default_size(190.0_f32.min(0.2 * whole.width()))
            .max_size(0.3 * whole.width())
            .show(&mut root, |ui| {
                asked.extend(things_ui(ui, shown.open.file(), &shown.desk, &shown.chosen));
            });
    }
    if !folded.details {
        egui::Panel::right("details")
            .default_size(270.0_f32.min(0.3 * whole.width()))
            .max_size(0.4 * whole.width())
            .show(&mut root, |ui| asked.extend(right_ui(ui, &shown)));
    }
    let view = root.allocate_rect(root.available_rect_before_wrap(), egui::Sense::hover());
    asked.extend(over_picture(&mut root, view.rect, &shown, area.file_over));
    let scale = ctx.pixels_per_point();
    let px = |v: f32| (v * scale).round().max(0.0) as u32;
    *area = PictureArea {
        min: UVec2::new(px(view.rect.min.x), px(view.rect.min.y)),
        size: UVec2::new(px(view.rect.width()), px(view.rect.height())),
        pixels_per_point: scale,
        hovered: root.rect_contains_pointer(view.rect)
            && !ctx.egui_is_using_pointer()
            && !ctx.any_popup_open()
            && !shown.asking.is_open()
            && !shown.asking.keys,
        typing: ctx.text_edit_focused(),
        file_over: area.file_over,
    };
    commands.write_batch(asked);
    Ok(())
}

fn right_ui(ui: &mut egui::Ui, shown: &Shown) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    // Each thing begins at its top.
    egui::ScrollArea::vertical()
        .id_salt((&shown.chosen.thing, shown.advice.shown))
        .auto_shrink([false, false])
        .show(ui, |ui| {
            // Long words must wrap, not widen the panel.
            ui.set_max_width(ui.available_width());
            let title = match shown.showing.view {
                ViewKind::Around => "From this camera, now",
                ViewKind::Visitor | ViewKind::Plan => "From here, now",
            };
            let plans: Vec<&Plan> = shown.desk.shown().map(|i| &shown.desk.plans[i]).collect();
            // The verdict stays in view whatever is chosen; advice needs the room first.
            let advised = shown.advice.shown.is_some();
            if !advised {
                eyes_ui(ui, &plans, title);
                ui.separator();
            }
            let live = shown.desk.live();
            if let Some(kind) = shown.advice.shown {
                let sound = live
                    .built
                    .as_ref()
                    .filter(|_| live.problems.is_empty())
                    .map(|b| b.1.as_ref());
                let data = AdviceData {
                    advice: &shown.advice,
                    kind,
                    room: shown.open.file(),
                    revision: shown.open.revision(),
                    built: sound,
                    tiles: &shown.chosen.tiles,
                    unit: shown.settings.unit,
                    sheets: sheets_folder(&shown.open).map(|f| f.display().to_string()),
                };
                asked.extend(advice_ui(ui, &data));
                ui.separator();
                eyes_ui(ui, &plans, title);
                return;
            }
            asked.extend(details_ui(
                ui,
                &DetailsData {
                    room: shown.open.file(),
                    built: live.built.as_ref().map(|b| b.1.as_ref()),
                    chosen: &shown.chosen,
                    problems: &live.problems,
                    unit: shown.settings.unit,
                    gesture: shown.gestures.count,
                    aiming: shown.showing.aiming,
                    revision: shown.open.revision(),
                    minute: shown.moment.clock.minute,
                },
            ));
            ui.separator();
            asked.extend(spots_ui(ui, live, &shown.pins, &shown.moment.clock));
        });
    asked
}

fn day_ui(ui: &mut egui::Ui, shown: &Shown) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    egui::Panel::left("clock").exact_size(206.0).show(ui, |ui| {
        egui::ScrollArea::vertical()
            .auto_shrink([false, false])
            .show(ui, |ui| {
                asked.extend(clock_ui(
                    ui,
                    &ClockData {
                        room: shown.open.file(),
                        moment: &shown.moment,
                        desk: &shown.desk,
                        walk: shown.standing.walk,
                        strolling: shown.standing.strolling,
                        settings: &shown.settings,
                        showing: &shown.showing,
                    },
                ));
            });
    });
    let difference = shown.desk.held().filter(|_| shown.showing.difference);
    let against = difference.map(|held| (&held.hours, held.name.as_str()));
    let plans: Vec<&Plan> = match against {
        Some(_) => vec![shown.desk.live()],
        None => shown.desk.shown().map(|i| &shown.desk.plans[i]).collect(),
    };
    let count = plans.len();
    ui.columns(count, |columns| {
        for (ui, plan) in columns.iter_mut().zip(plans) {
            let Some((_, built)) = &plan.built else {
                if plan.problems.is_empty() {
                    ui.weak("The day is being computed.");
                }
                continue;
            };
            if count > 1 {
                ui.label(egui::RichText::new(&plan.name).strong());
            }
            ui.push_id(plan.id, |ui| {
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
                        against,
                    },
                ));
            });
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

/// Marks and words over the picture: the chosen thing, the eye's state, what is computed, notices.
fn over_picture(
    root: &mut egui::Ui,
    rect: egui::Rect,
    shown: &Shown,
    file_over: bool,
) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    let painter = root.painter_at(rect);
    let live = shown.desk.live();
    let halves = shown.desk.shown().count() as f32;
    if let (Some(view), Some((_, built))) = (shown.views.0.first(), &live.built) {
        let mut left = rect;
        left.set_width(rect.width() / halves);
        let marks = Marks {
            room: shown.open.file(),
            built,
            desk: &shown.desk,
            view,
            showing: &shown.showing,
            chosen: &shown.chosen,
            pins: &shown.pins,
            standing: &shown.standing,
            clock: &shown.moment.clock,
            hot: shown.hand.hot,
            sun: &shown.sun.list,
        };
        marks.paint(&root.painter_at(left));
    }
    if live.built.is_none() {
        let text = match live.problems.first() {
            Some(problem) => format!(
                "Nothing can be shown before this is mended: {}",
                problem.message
            ),
            None => "The room is being built ...".into(),
        };
        let top = rect.center() - egui::vec2(0.0, 30.0);
        wrapped(&painter, top, rect.width() - 60.0, &text, theme::INK);
    }
    if let Some(held) = shown.desk.held() {
        let middle = rect.left() + rect.width() * 0.5;
        painter.vline(middle, rect.y_range(), (2.0, theme::GROUND));
        words(
            &painter,
            rect.left_top() + egui::vec2(12.0, 10.0),
            egui::Align2::LEFT_TOP,
            "Now",
            14.0,
            theme::INK,
        );
        let at = egui::pos2(middle + 12.0, rect.top() + 10.0);
        words(
            &painter,
            at,
            egui::Align2::LEFT_TOP,
            &held.name,
            14.0,
            theme::INK,
        );
    }
    let eye = &shown.showing.exposure;
    let half = rect.width() / halves;
    eye_words(&painter, rect.left_bottom(), half, eye);
    if shown.desk.held().is_some() {
        let at = egui::pos2(rect.left() + half, rect.bottom());
        eye_words(&painter, at, half, &shown.showing.exposure_beside);
    }
    if let (Some(now), true) = (&live.now, live.is_stale(&shown.moment.clock)) {
        let text = if now.clock.same_day(&shown.moment.clock) {
            match now.clock.minute == shown.moment.clock.minute {
                true => "Still the room before the last change".to_owned(),
                false => format!("Still the light of {}", now.clock.time_words()),
            }
        } else {
            format!("Still the light of {} ({})", now.clock.date, now.clock.sky)
        };
        let at = rect.left_bottom() + egui::vec2(12.0, -34.0);
        words(
            &painter,
            at,
            egui::Align2::LEFT_BOTTOM,
            &text,
            13.0,
            theme::ACCENT,
        );
    }
    asked.extend(working(root, rect, shown));
    if shown.drawn.0.is_software && shown.time.elapsed_secs_f64() < 12.0 {
        let text = format!(
            "Drawn by the processor ({}): slower than with a graphics card",
            shown.drawn.0.name
        );
        words(
            &painter,
            rect.right_top() + egui::vec2(-12.0, 10.0),
            egui::Align2::RIGHT_TOP,
            &text,
            13.0,
            theme::INK,
        );
    }
    let top = rect.center_top() + egui::vec2(0.0, 40.0);
    if file_over {
        words(
            &painter,
            rect.center(),
            egui::Align2::CENTER_CENTER,
            "Let go to open the room or take the photometric file",
            17.0,
            theme::ACCENT,
        );
    } else if shown.showing.aiming.is_some() {
        words(
            &painter,
            top,
            egui::Align2::CENTER_TOP,
            "Click what the fixture is to aim at; Esc calls it off",
            15.0,
            theme::ACCENT,
        );
    } else if let Some((_, tried)) = &shown.advice.preview {
        let place = &tried.placement.name;
        let text =
            format!("Only for trial, the piece on {place}: take the pointer away to go back");
        wrapped(&painter, top, rect.width() - 40.0, &text, theme::ACCENT);
    } else if shown.notice.until_s > shown.time.elapsed_secs_f64() {
        let colour = if shown.notice.wrong {
            theme::WRONG
        } else {
            theme::INK
        };
        wrapped(
            &painter,
            top,
            rect.width() - 40.0,
            &shown.notice.text,
            colour,
        );
    }
    if shown.showing.false_colour {
        scale_of_colours(&painter, rect, false_low_cd_m2(eye.adapted_cd_m2()));
    }
    asked
}

/// What the eye is adapted to, at the lower left corner of a picture of some width.
fn eye_words(painter: &egui::Painter, corner: egui::Pos2, width: f32, eye: &Exposure) {
    let held = if eye.settings.held { ", kept" } else { "" };
    let adapted = format::luminance(f64::from(eye.adapted_cd_m2()));
    let text = if width > 380.0 {
        let white = format::luminance(f64::from(eye.white_cd_m2()));
        format!("Eye adapted to {adapted}{held}; white at {white}")
    } else {
        format!("Eye at {adapted}{held}")
    };
    let at = corner + egui::vec2(12.0, -10.0);
    words(
        painter,
        at,
        egui::Align2::LEFT_BOTTOM,
        &text,
        13.0,
        theme::INK,
    );
}

/// A sentence that may be long.
fn wrapped(
    painter: &egui::Painter,
    top: egui::Pos2,
    width: f32,
    text: &str,
    colour: egui::Color32,
) {
    let galley = painter.layout(
        text.to_owned(),
        egui::FontId::proportional(15.0),
        colour,
        width,
    );
    let at = egui::Align2::CENTER_TOP.anchor_size(top, galley.size());
    painter.rect_filled(at.expand2(egui::vec2(8.0, 4.0)), 4.0, theme::VEIL);
    painter.galley(at.min, galley, colour);
}

/// What is computed, how far it is, and a button that stops it.
fn working(root: &mut egui::Ui, rect: egui::Rect, shown: &Shown) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    let live = shown.desk.live();
    let (text, colour, button) = match (&live.failed, live.busy) {
        _ if shown.desk.stopped => (
            "Stopped: what is shown may be of before".to_owned(),
            theme::ACCENT,
            Some("Go on"),
        ),
        (Some(why), _) => (why.clone(), theme::WRONG, None),
        (None, Some((what, _))) => {
            let share = live
                .engine
                .progress()
                .map_or(String::new(), |p| format!(" {:.0} %", 100.0 * p));
            (
                format!("Computing {what}{share}"),
                theme::ACCENT,
                Some("Stop"),
            )
        }
        (None, None) if !live.problems.is_empty() => (
            "As before: something is to be mended first, see the list".to_owned(),
            theme::WRONG,
            None,
        ),
        (None, None) if live.is_stale(&shown.moment.clock) => {
            ("Catching up".to_owned(), theme::ACCENT, None)
        }
        (None, None) => return asked,
    };
    // Its size is worked out before, so that it never lies beside the picture.
    let font = egui::TextStyle::Body.resolve(root.style());
    let galley = root.painter().layout_no_wrap(text.clone(), font, colour);
    let width = galley.size().x + if button.is_some() { 62.0 } else { 20.0 };
    let at = rect.right_bottom() - egui::vec2(width + 8.0, 32.0);
    let area = egui::Area::new(egui::Id::new("working"))
        .order(egui::Order::Middle)
        .fixed_pos(at);
    area.show(root, |ui| {
        egui::Frame::new()
            .fill(theme::VEIL)
            .corner_radius(3)
            .inner_margin(egui::Margin::symmetric(6, 2))
            .show(ui, |ui| {
                ui.horizontal(|ui| {
                    ui.add(egui::Label::new(egui::RichText::new(text).color(colour)).extend());
                    if let Some(label) = button
                        && ui.small_button(label).clicked()
                    {
                        asked.push(AppCommand::Stop(!shown.desk.stopped));
                    }
                });
            });
    });
    asked
}

fn scale_of_colours(painter: &egui::Painter, rect: egui::Rect, low_cd_m2: f32) {
    let left = rect.left() + 12.0;
    for k in 0..=FALSE_DECADES {
        let value = low_cd_m2 * 10_f32.powi(k as i32);
        let y = rect.bottom() - 58.0 - k as f32 * 24.0;
        let [r, g, b] = crate::report::ramp::colour(k as f32 / FALSE_DECADES as f32);
        let swatch = egui::Rect::from_min_size(egui::pos2(left, y - 10.0), egui::vec2(20.0, 20.0));
        painter.rect_filled(swatch, 0.0, egui::Color32::from_rgb(r, g, b));
        words(
            painter,
            egui::pos2(left + 28.0, y),
            egui::Align2::LEFT_CENTER,
            &format::luminance(f64::from(value)),
            13.0,
            theme::INK,
        );
    }
}
