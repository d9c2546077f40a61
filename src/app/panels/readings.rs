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
    study::{FlagKind, StationReading, flag_words, source_words},
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

/// What the eye sees now in one plan or in several, with reasons and errors.
pub fn eyes_ui(ui: &mut egui::Ui, plans: &[&Plan], title: &str) {
    ui.label(egui::RichText::new(title).strong());
    let seen: Vec<_> = plans
        .iter()
        .filter_map(|plan| {
            let (_, glance) = plan.glance.as_ref()?;
            let (_, built) = plan.built.as_ref()?;
            let now = plan.now.as_ref()?;
            Some((*plan, &glance.reading.reading, built, now))
        })
        .collect();
    if seen.is_empty() {
        let sound = plans.iter().all(|p| p.problems.is_empty());
        ui.weak(if sound {
            "The light is being computed."
        } else {
            "Nothing yet: something is to be mended first."
        });
        return;
    }
    let several = seen.len() > 1;
    if !several {
        let (words, means) = meaning(seen[0].1.pattern.class);
        ui.label(words).on_hover_text(means);
    }
    egui::Grid::new("from here")
        .num_columns(1 + seen.len())
        .spacing([8.0, 2.0])
        .show(ui, |ui| {
            if several {
                ui.label("");
                for (plan, ..) in &seen {
                    ui.label(egui::RichText::new(&plan.name).strong());
                }
                ui.end_row();
                ui.label("Pattern");
                for (_, reading, ..) in &seen {
                    let (words, means) = meaning(reading.pattern.class);
                    let short = words.rsplit(' ').next().unwrap_or(words);
                    ui.label(short).on_hover_text(means);
                }
                ui.end_row();
            }
            for (word, tip, of) in EYE_ROWS {
                ui.label(word).on_hover_text(tip);
                for (_, reading, ..) in &seen {
                    ui.label(of(reading));
                }
                ui.end_row();
            }
        });
    let error = seen.iter().map(|s| s.1.relative_error).fold(0.0, f32::max);
    ui.colored_label(theme::SOFT, format!("sampling error about {:.0} %", 100.0 * error))
        .on_hover_text(
            "Of this computation. A real sky is within 20 % of its model, a lamp within 10 % of its file, and the \
             peak of brushed metal within 50 %: measure on site.",
        );
    for (plan, reading, built, now) in seen {
        for flag in &reading.flags {
            let word = match flag.cause.kind() {
                FlagKind::Dead => "Dead",
                FlagKind::Glaring => "Glaring",
            };
            let whose = if several {
                format!("{}: ", plan.name)
            } else {
                String::new()
            };
            let why = flag_words(built, &now.instant, flag);
            ui.colored_label(theme::WRONG, format!("{whose}{word}: {why}"));
        }
    }
}

type EyeRow = (&'static str, &'static str, fn(&StationReading) -> String);

/// Figures of an eye, with what they mean.
const EYE_ROWS: [EyeRow; 3] = [
    (
        "Piece",
        "Mean luminance of the piece toward this eye",
        |r| format::luminance(f64::from(r.mean_luminance_cd_m2)),
    ),
    (
        "Play",
        "How many times brighter the light tiles are than the dark ones",
        |r| format::ratio(f64::from(r.play)),
    ),
    (
        "Glow",
        "How many times brighter the piece is than the wall around it",
        |r| format::ratio(f64::from(r.glow)),
    ),
];

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
