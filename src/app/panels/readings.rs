//! What the eye sees here and now, and the light of spots: under the pointer, and pinned.

use bevy_egui::egui;

use crate::{
    app::{
        command::AppCommand,
        engine::{Clock, MeterOn, PointAnswer},
        pick::{self, FoundOn},
        state::{Pins, Plan},
        theme,
    },
    measure::{format, reads::Reads},
    room::BuiltRoom,
    study::{FlagKind, flag_words, source_words},
};

/// What a class of the pattern means.
fn meaning(class: Reads) -> (&'static str, &'static str) {
    match class {
        Reads::Lost => (
            "The pattern is lost",
            "Light and dark tiles differ too little, or are too small from here, for the pattern to be seen",
        ),
        Reads::Faint => (
            "The pattern is faint",
            "Only someone who looks for the pattern finds it",
        ),
        Reads::Reads => (
            "The pattern reads",
            "The pattern is seen without looking for it",
        ),
        Reads::Strong => (
            "The pattern is strong",
            "The pattern is what one sees first",
        ),
        Reads::Overpowering => (
            "The pattern overpowers",
            "Light tiles are so bright that the rest drowns",
        ),
    }
}

/// What the eye sees now, with reasons and errors.
pub fn eye_ui(ui: &mut egui::Ui, plan: &Plan, title: &str) {
    ui.label(egui::RichText::new(title).strong());
    let (Some((_, glance)), Some((_, built)), Some(now)) = (&plan.glance, &plan.built, &plan.now)
    else {
        ui.weak(if plan.problems.is_empty() {
            "The light is being computed."
        } else {
            "Nothing yet: something is to be mended first."
        });
        return;
    };
    let r = &glance.reading.reading;
    let (words, means) = meaning(r.pattern.class);
    ui.label(words).on_hover_text(means);
    egui::Grid::new(("from here", plan.id))
        .num_columns(2)
        .spacing([8.0, 2.0])
        .show(ui, |ui| {
            let mut row = |word: &str, value: String, tip: &str| {
                ui.label(word).on_hover_text(tip);
                ui.label(value);
                ui.end_row();
            };
            row(
                "Piece",
                format::luminance(f64::from(r.mean_luminance_cd_m2)),
                "Mean luminance of the piece toward this eye",
            );
            row(
                "Play",
                format::ratio(f64::from(r.play)),
                "How many times brighter the light tiles are than the dark ones",
            );
            row(
                "Glow",
                format::ratio(f64::from(r.glow)),
                "How many times brighter the piece is than the wall around it",
            );
        });
    ui.colored_label(theme::SOFT, format!("sampling error about {:.0} %", 100.0 * r.relative_error))
        .on_hover_text("Of this computation. A real sky is within 20 % of its model, a lamp within 10 % of its file, and the peak of brushed metal within 50 %: measure on site.");
    for flag in &r.flags {
        let word = match flag.cause.kind() {
            FlagKind::Dead => "Dead",
            FlagKind::Glaring => "Glaring",
        };
        ui.colored_label(
            theme::WRONG,
            format!("{word}: {}", flag_words(built, &now.instant, flag)),
        );
    }
}

/// Light of spots.
pub fn spots_ui(ui: &mut egui::Ui, plan: &Plan, pins: &Pins, clock: &Clock) -> Vec<AppCommand> {
    let mut asked = Vec::new();
    let Some((_, built)) = &plan.built else {
        return asked;
    };
    ui.label(egui::RichText::new("Under the pointer").strong());
    match &pins.pointer {
        Some(found) => {
            ui.label(pick::words(built, found.on));
            match plan.spot(0, Some(found.point), clock) {
                Some(answer) => point_ui(ui, built, answer),
                None => {
                    ui.weak("...");
                }
            }
            ui.weak("Right click pins it.");
        }
        None => {
            ui.weak("Rest on a spot of the picture to read its light; right click pins it.");
        }
    }
    for pin in &pins.list {
        ui.separator();
        ui.horizontal(|ui| {
            ui.label(egui::RichText::new(format!("Pin {}", pin.number)).color(theme::ACCENT));
            if ui.button("Take out").clicked() {
                asked.push(AppCommand::Unpin(pin.number));
            }
        });
        match plan.spot(pin.number, None, clock) {
            Some(answer) => {
                let on = match answer.asked.on {
                    MeterOn::Tile(i) => FoundOn::Tile(i),
                    MeterOn::Surface(i) => FoundOn::Surface(i),
                };
                ui.label(pick::words(built, on));
                point_ui(ui, built, answer);
            }
            None => {
                ui.weak("Nothing is there now, or it is being computed.");
            }
        }
    }
    asked
}

fn with_error(value: f32, error: f32, words: impl Fn(f64) -> String) -> String {
    format!(
        "{} \u{b1} {}",
        words(f64::from(value)),
        format::significant(f64::from(error), 1)
    )
}

fn point_ui(ui: &mut egui::Ui, built: &BuiltRoom, answer: &PointAnswer) {
    let lit = &answer.illuminance;
    let error = answer.luminance_error_cd_m2.unwrap_or(0.0);
    if answer.rough {
        ui.colored_label(theme::SOFT, "a first estimate, to be refined");
    }
    ui.label(with_error(answer.luminance_cd_m2, error, format::luminance))
        .on_hover_text("Luminance toward this eye, with the standard error of the computation");
    for (part, cd_m2) in answer.parts.iter().take(3) {
        let words = source_words(built, *part, None);
        ui.colored_label(
            theme::SOFT,
            format!("  {} from {words}", format::luminance(f64::from(*cd_m2))),
        );
    }
    ui.label(with_error(
        lit.total_lx(),
        lit.standard_error_lx,
        format::lux,
    ))
    .on_hover_text("Illuminance: light that falls on the surface there, with the standard error");
    for (word, lx) in [
        ("straight from the sun", lit.sun_lx),
        ("straight from sky and ground", lit.sky_lx),
        ("straight from fixtures", lit.fixtures_lx),
        ("reflected in the room", lit.inter_reflected_lx),
    ] {
        if lx > 0.0 {
            ui.colored_label(
                theme::SOFT,
                format!("  {} {word}", format::lux(f64::from(lx))),
            );
        }
    }
    if answer.by_fixture.len() > 1 {
        let each: Vec<String> = answer
            .by_fixture
            .iter()
            .take(5)
            .filter_map(|(i, lx)| {
                let name = &built.file.fixtures.get(*i)?.name;
                Some(format!("{name} {}", format::lux(f64::from(*lx))))
            })
            .collect();
        ui.colored_label(theme::SOFT, format!("  of them {}", each.join(", ")));
    }
}
