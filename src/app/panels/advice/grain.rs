//! How the grain lies: which tiles may turn, and what it is chosen for.

use bevy_egui::egui;

use super::{AdviceData, Wishes, card, changed, plain, search_ui, sheets_ui, soft};
use crate::{
    advice::grain::GrainVerdict,
    app::{command::AppCommand, state::Advised, theme},
    measure::format,
    room::{GrainWish, Turns},
};

pub(super) fn grain_ui(ui: &mut egui::Ui, data: &AdviceData, wishes: &mut Wishes) {
    search_ui(
        ui,
        data,
        "Turns the grain of each tile to every arrow it may have, and chooses them together for the light that is there",
        wishes,
    );
    choices_ui(ui, data, wishes);
    let Some((_, plan)) = &data.advice.grain else {
        soft(
            ui,
            "Rest on the answer to see it in the picture; one click takes it, and Undo takes it back.",
        );
        return;
    };
    soft(ui, format!("For the walk \"{}\"", plan.walk));
    ui.strong("As it was");
    verdict_ui(ui, &plan.before);
    card(ui, data, Advised::Grain, wishes, |ui, wishes| {
        let count = plan.turned.len();
        let word = if count == 1 {
            "tile turns"
        } else {
            "tiles turn"
        };
        ui.strong(format!("As advised: {count} {word}"));
        verdict_ui(ui, &plan.after);
        let there = data
            .advice
            .applied(data.room, Advised::Grain)
            .is_some_and(|(next, _)| next == *data.room);
        if count > 0 && there {
            ui.colored_label(theme::ACCENT, "in the room now");
        } else if ui
            .add_enabled(count > 0, egui::Button::new("Turn them"))
            .clicked()
        {
            wishes.commands.push(AppCommand::TakeAdvice(Advised::Grain));
        }
    });
    for note in &plan.notes {
        soft(ui, note.as_str());
    }
    sheets_ui(ui, data, wishes);
    soft(
        ui,
        "Try a few tiles with their arrows in the room before making the rest.",
    );
}

fn verdict_ui(ui: &mut egui::Ui, verdict: &GrainVerdict) {
    let percent = |share: f32| format::percent(f64::from(share));
    let parts = &verdict.judgement.parts;
    plain(
        ui,
        format!(
            "strong for {} of its readings; over all walks alive {}, shift {:.2} per metre, dead {}, glaring {}",
            percent(verdict.strong_share),
            percent(parts.alive_share),
            parts.shift_per_m,
            percent(parts.dead_share),
            percent(parts.glaring_share)
        ),
    );
    if let Some((ratio, flips)) = verdict.pairs {
        plain(
            ui,
            format!(
                "pairs differ by {} times on average, {} of them flip",
                format::significant(f64::from(ratio), 3),
                percent(flips)
            ),
        );
    }
}

fn choices_ui(ui: &mut egui::Ui, data: &AdviceData, wishes: &mut Wishes) {
    ui.collapsing("Which tiles, and what for", |ui| {
        let mut next = data.room.clone();
        let grain = &mut next.advice.grain;
        ui.radio_value(&mut grain.wish, GrainWish::Lively, "Lively")
            .on_hover_text("A strong pattern at as many places as can be, and another at the next");
        ui.radio_value(&mut grain.wish, GrainWish::Steady, "Steady")
            .on_hover_text("Matched leaves look alike from everywhere: none flips from light to dark");
        ui.separator();
        let mut flips = grain.turns == Turns::Flips;
        ui.radio_value(&mut flips, false, "Turned by steps");
        if let Turns::Steps(step) = &mut grain.turns {
            ui.add(egui::Slider::new(step, 5.0..=90.0).step_by(5.0).suffix(" deg"));
        }
        ui.radio_value(&mut flips, true, "Turned end for end only");
        if flips != (grain.turns == Turns::Flips) {
            grain.turns = if flips { Turns::Flips } else { Turns::Steps(15.0) };
        }
        ui.checkbox(&mut grain.together, "Tiles with one arrow keep one")
            .on_hover_text("The design stays: all tiles that have the same arrow and material now turn together");
        ui.separator();
        let count = grain.tiles.len();
        if count == 0 {
            soft(ui, "All tiles may turn");
        } else {
            soft(ui, format!("{count} tiles may turn"));
        }
        ui.horizontal(|ui| {
            let some = !data.tiles.is_empty();
            if ui
                .add_enabled(some, egui::Button::new("Only those chosen"))
                .on_disabled_hover_text("Choose tiles in the picture first")
                .clicked()
            {
                grain.tiles = data.tiles.iter().copied().collect();
            }
            if count > 0 && ui.button("All").clicked() {
                grain.tiles.clear();
            }
        });
        changed(data, next, "change which tiles may turn", wishes);
    });
}
