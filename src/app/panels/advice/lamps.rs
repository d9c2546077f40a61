//! Which fixtures: what may be changed, what is advised, and the rule of thumb beside it.

use bevy_egui::egui;

use super::{AdviceData, Wishes, card, changed, plain, search_ui, sheets_ui, soft};
use crate::{
    advice::aim::LampVerdict,
    app::{command::AppCommand, engine::Clock, panels::fields, state::Advised, theme},
    measure::format,
    outcome::FIXTURE_CAUTIONS,
    room::{Aim, LampPlace, Leave, RoomFile},
};

pub(super) fn lamps_ui(ui: &mut egui::Ui, data: &AdviceData, wishes: &mut Wishes) {
    search_ui(
        ui,
        data,
        "Searches kinds, places, aims and dimming so that the pattern is strong along the walks at the planned hours, within the limit of \
         light, and nobody looks into a lamp",
        wishes,
    );
    existing_ui(ui, data, wishes);
    places_ui(ui, data, wishes);
    let Some((of, plan)) = &data.advice.lamps else {
        soft(
            ui,
            "What is advised stands beside the room as it is and beside the 30-degree rule. Rest on either to see it in the picture; one click \
             takes it, and Undo takes it back.",
        );
        return;
    };
    let fits = of.fixtures == data.room.fixtures || plan.file.fixtures == data.room.fixtures;
    if !fits {
        soft(ui, "The fixtures have changed since: search again");
    }
    hours_ui(ui, data, wishes);
    card(ui, data, Advised::Lamps, wishes, |ui, wishes| {
        ui.strong("As advised");
        for change in &plan.changes {
            plain(ui, change.as_str());
        }
        if plan.changes.is_empty() {
            plain(ui, "nothing is to be changed");
        }
        verdict_ui(ui, &plan.after);
        take_ui(
            ui,
            data,
            Advised::Lamps,
            fits && !plan.changes.is_empty(),
            wishes,
        );
    });
    card_as_is(ui, &plan.before);
    if let Some((_, by_rule)) = &plan.by_rule {
        card(ui, data, Advised::ByRule, wishes, |ui, wishes| {
            let off = plan.rule_off_rad.to_degrees();
            ui.strong("By the 30-degree rule").on_hover_text(format!(
                "The trade's rule of thumb on the same places, up to {off:.0} degrees off where they do not allow it"
            ));
            verdict_ui(ui, by_rule);
            take_ui(ui, data, Advised::ByRule, fits, wishes);
        });
    }
    if !plan.unmet.is_empty() {
        ui.colored_label(theme::WRONG, "Cannot be met with what is allowed");
        for unmet in &plan.unmet {
            plain(ui, unmet.as_str());
        }
    }
    for note in &plan.notes {
        soft(ui, note.as_str());
    }
    sheets_ui(ui, data, wishes);
    for caution in FIXTURE_CAUTIONS {
        soft(ui, *caution);
    }
}

fn take_ui(
    ui: &mut egui::Ui,
    data: &AdviceData,
    advised: Advised,
    possible: bool,
    wishes: &mut Wishes,
) {
    let there = data
        .advice
        .applied(data.room, advised)
        .is_some_and(|(next, _)| next == *data.room);
    if there {
        ui.colored_label(theme::ACCENT, "in the room now");
    } else if ui
        .add_enabled(possible, egui::Button::new("Take it"))
        .clicked()
    {
        wishes.commands.push(AppCommand::TakeAdvice(advised));
    }
}

/// The planned instants, to go there: at other hours the fixtures may be dark.
fn hours_ui(ui: &mut egui::Ui, data: &AdviceData, wishes: &mut Wishes) {
    ui.horizontal_wrapped(|ui| {
        ui.label("See it at");
        for (time, sky) in &data.room.advice.lamps.at {
            let Ok(civil) = time.parse::<jiff::civil::DateTime>() else {
                continue;
            };
            let label = format!("{} {:02}:{:02}", civil.date(), civil.hour(), civil.minute());
            if ui
                .button(label)
                .on_hover_text(format!("{sky} sky"))
                .clicked()
            {
                wishes.commands.push(AppCommand::SetClock(Clock {
                    date: civil.date(),
                    minute: civil.hour() as u32 * 60 + civil.minute() as u32,
                    sky: sky.clone(),
                }));
            }
        }
    });
}

fn card_as_is(ui: &mut egui::Ui, before: &LampVerdict) {
    ui.strong("As it was");
    verdict_ui(ui, before);
    ui.add_space(4.0);
}

fn verdict_ui(ui: &mut egui::Ui, verdict: &LampVerdict) {
    let percent = |share: f32| format::percent(f64::from(share));
    for at in &verdict.instants {
        soft(ui, at.when.as_str());
        plain(
            ui,
            format!(
                "strong {}, alive {}, dead {}, glaring {}, at most {}",
                percent(at.strong_share),
                percent(at.alive_share),
                percent(at.dead_share),
                percent(at.glaring_share),
                format::lux(f64::from(at.most_lx))
            ),
        );
    }
    soft(
        ui,
        format!(
            "{} {} lit, {:.0} W",
            verdict.lit,
            if verdict.lit == 1 {
                "fixture"
            } else {
                "fixtures"
            },
            verdict.watts
        ),
    );
}

/// What may be done to each fixture that is there.
fn existing_ui(ui: &mut egui::Ui, data: &AdviceData, wishes: &mut Wishes) {
    ui.collapsing("Fixtures that are there", |ui| {
        let mut next = data.room.clone();
        if data.room.fixtures.is_empty() {
            soft(ui, "none");
        }
        for fixture in &data.room.fixtures {
            let by_itself = match fixture.aim {
                Aim::Piece { .. } => Leave::AimAndDim,
                _ => Leave::Untouched,
            };
            let existing = &mut next.advice.lamps.existing;
            let mut leave = existing.get(&fixture.name).copied().unwrap_or(by_itself);
            let before = leave;
            egui::ComboBox::from_id_salt(("leave", &fixture.name))
                .selected_text(format!("{}: {}", fixture.name, leave_words(leave)))
                .width(ui.available_width() - 8.0)
                .show_ui(ui, |ui| {
                    for choice in [Leave::AimAndDim, Leave::DimOnly, Leave::Untouched] {
                        ui.selectable_value(&mut leave, choice, leave_words(choice));
                    }
                });
            if leave != before {
                existing.insert(fixture.name.clone(), leave);
            }
        }
        changed(data, next, "change what advice may do", wishes);
    });
}

fn leave_words(leave: Leave) -> &'static str {
    match leave {
        Leave::Untouched => "locked",
        Leave::DimOnly => "may be dimmed",
        Leave::AimAndDim => "may be aimed and dimmed",
    }
}

/// Where new fixtures may go.
fn places_ui(ui: &mut egui::Ui, data: &AdviceData, wishes: &mut Wishes) {
    ui.collapsing("Where new ones may go", |ui| {
        let mut next = data.room.clone();
        let lamps = &mut next.advice.lamps;
        let mut gone = None;
        for (i, place) in lamps.places.iter_mut().enumerate() {
            ui.horizontal(|ui| {
                ui.strong(place.name().to_owned());
                if ui.small_button("Delete").clicked() {
                    gone = Some(i);
                }
            });
            match place {
                LampPlace::Track { from_m, to_m, .. } => {
                    corner_ui(ui, "from", from_m, data);
                    corner_ui(ui, "to", to_m, data);
                }
                LampPlace::Point { at_m, .. } => corner_ui(ui, "at", at_m, data),
                LampPlace::Zone {
                    outline_m,
                    height_m,
                    ..
                } => {
                    fields::length(ui, "height", "", height_m, data.unit);
                    soft(ui, format!("{} corners, from the room file", outline_m.len()));
                }
            }
        }
        if let Some(i) = gone {
            lamps.places.remove(i);
        }
        if ui
            .button("Add a track before the piece")
            .on_hover_text("As long as the piece and a metre more on each side, where the 30-degree rule puts it")
            .clicked()
            && let Some(track) = track_before(data, &lamps.places)
        {
            lamps.places.push(track);
        }
        let mut most = lamps.most as u32;
        if ui
            .add(egui::Slider::new(&mut most, 0..=12).text("new fixtures at most"))
            .changed()
        {
            lamps.most = most as usize;
        }
        changed(data, next, "change where fixtures may go", wishes);
    });
}

fn corner_ui(ui: &mut egui::Ui, label: &str, corner: &mut (f32, f32, f32), data: &AdviceData) {
    soft(ui, label);
    fields::length(
        ui,
        "x",
        "On the plan, to the right",
        &mut corner.0,
        data.unit,
    );
    fields::length(
        ui,
        "y",
        "On the plan, up the page",
        &mut corner.1,
        data.unit,
    );
    fields::length(
        ui,
        "height",
        "Above the plan's datum",
        &mut corner.2,
        data.unit,
    );
}

/// A track along the piece, a little under the ceiling, where the beam meets its middle at 30 degrees from the vertical.
fn track_before(data: &AdviceData, known: &[LampPlace]) -> Option<LampPlace> {
    let built = data.built?;
    let piece = &built.piece;
    let plan = bevy::math::Vec2::new(piece.centre.x, -piece.centre.z);
    let space = ceiling_over(
        &built.file,
        plan + bevy::math::Vec2::new(piece.normal.x, -piece.normal.z) * 0.2,
    )?;
    let height_m = (space - 0.15).max(piece.centre.y + 0.3);
    let off_m = (height_m - piece.centre.y) * std::f32::consts::FRAC_PI_6.tan();
    let right = bevy::math::Vec3::Y.cross(piece.normal).normalize_or_zero();
    let half_m = 0.5 * built.tiling.width_m.max(built.tiling.height_m) + 1.0;
    let end = |side: f32| {
        let p = piece.centre + piece.normal * off_m + right * (side * half_m);
        let round = |v: f32| (v * 20.0).round() / 20.0;
        (round(p.x), round(-p.z), round(height_m))
    };
    let name = (1..)
        .map(|n| format!("track {n}"))
        .find(|n| known.iter().all(|p| p.name() != n))?;
    Some(LampPlace::Track {
        name,
        from_m: end(-1.0),
        to_m: end(1.0),
    })
}

/// Height of the ceiling over a plan point [m].
fn ceiling_over(room: &RoomFile, at: bevy::math::Vec2) -> Option<f32> {
    room.spaces
        .iter()
        .find(|s| {
            let outline: Vec<bevy::math::Vec2> = s
                .outline_m
                .iter()
                .map(|p| bevy::math::Vec2::from(*p))
                .collect();
            crate::geometry::polygon_contains(&outline, at)
        })
        .map(|s| crate::room::ceiling_m(&s.ceiling, at))
}
