//! Fixtures in place, and their kinds.

use bevy_egui::egui;

use super::{DetailsData, rows};
use crate::{
    app::{command::AppCommand, panels::fields, theme},
    room::{Aim, ApertureFile, FixtureLight, RoomFile},
};

pub(super) fn fixture(
    ui: &mut egui::Ui,
    room: &mut RoomFile,
    index: usize,
    data: &DetailsData,
    asked: &mut Vec<AppCommand>,
) {
    let kinds: Vec<String> = room.fixture_types.keys().cloned().collect();
    let unit = data.unit;
    let Some(fixture) = room.fixtures.get_mut(index) else {
        return;
    };
    rows(ui, "fixture", |ui| {
        fields::choice(
            ui,
            "Kind",
            "What it is: beam, light output, opening",
            &mut fixture.kind,
            kinds.iter(),
        );
        let mut at = (fixture.at_m.0, fixture.at_m.1);
        fields::plan_point(ui, "Place", &mut at, unit);
        (fixture.at_m.0, fixture.at_m.1) = at;
        fields::length(
            ui,
            "Height",
            "Of its opening, above datum",
            &mut fixture.at_m.2,
            unit,
        );
        fields::share(
            ui,
            "Dimmed to",
            "Output as a share of full output",
            &mut fixture.dimming,
        );
        fields::hours(
            ui,
            "Lit",
            "Hours of the day at which it is lit",
            &mut fixture.lit,
        );
        fields::angle(
            ui,
            "Roll",
            "Turn about its aim, counter-clockwise seen from behind: matters for beams that are not round",
            &mut fixture.roll_deg,
        );
        ui.label("Aims");
        let words = match fixture.aim {
            Aim::Down => "straight down",
            Aim::Up => "straight up",
            Aim::At(..) => "at a point of the room",
            Aim::Piece { .. } => "at the piece",
        };
        egui::ComboBox::from_id_salt("aims")
            .width(120.0)
            .selected_text(words)
            .show_ui(ui, |ui| {
                let at_piece = Aim::Piece {
                    right_m: 0.0,
                    up_m: 0.0,
                };
                for (aim, option) in [
                    (at_piece, "at the piece"),
                    (Aim::Down, "straight down"),
                    (Aim::Up, "straight up"),
                ] {
                    if ui.selectable_label(option == words, option).clicked() && option != words {
                        fixture.aim = aim;
                    }
                }
            });
        ui.end_row();
        match &mut fixture.aim {
            Aim::Piece { right_m, up_m } => {
                fields::length(
                    ui,
                    "Right of middle",
                    "Of the piece, seen from its front",
                    right_m,
                    unit,
                );
                fields::length(ui, "Above middle", "Of the piece", up_m, unit);
            }
            Aim::At(x, y, h) => {
                let mut at = (*x, *y);
                fields::plan_point(ui, "Aim point", &mut at, unit);
                (*x, *y) = at;
                fields::length(ui, "Its height", "Above datum", h, unit);
            }
            Aim::Down | Aim::Up => {}
        }
    });
    let strength = data
        .built
        .and_then(|b| b.fixture_strengths(data.minute).get(index).copied());
    if strength.is_some_and(|s| s <= 0.0) {
        ui.colored_label(theme::ACCENT, "Off at this hour")
            .on_hover_text("By its hours or its dimming: move the clock to see it lit");
    }
    let aiming = data.aiming == Some(index);
    let text = if aiming {
        "Now click the target in the picture"
    } else {
        "Aim by clicking"
    };
    if ui
        .selectable_label(aiming, text)
        .on_hover_text("The next click in the picture is what it aims at; Esc calls it off")
        .clicked()
    {
        asked.push(AppCommand::AimByClick((!aiming).then_some(index)));
    }
    if let Some(built) = data.built
        && let Some(solved) = built.scene.fixtures.get(index)
    {
        let target = crate::app::grips::aimed_at(built, fixture.aim.clone(), fixture.at_m);
        let throw_m = target.distance(solved.position);
        if matches!(fixture.aim, Aim::Piece { .. } | Aim::At(..)) {
            ui.colored_label(
                theme::SOFT,
                format!(
                    "Throw {}",
                    crate::app::typed::length_words(f64::from(throw_m), unit)
                ),
            )
            .on_hover_text("Distance from the opening to what it aims at");
        }
    }
    ui.colored_label(
        theme::SOFT,
        "Mounting and wiring: a licensed electrician, by local code.",
    );
}

pub(super) fn kind(ui: &mut egui::Ui, room: &mut RoomFile, name: &str) {
    let Some(kind) = room.fixture_types.get_mut(name) else {
        return;
    };
    rows(ui, "kind", |ui| {
        ui.label("Light from");
        let is_file = matches!(kind.light, FixtureLight::File(_));
        ui.horizontal(|ui| {
            if ui
                .selectable_label(is_file, "file")
                .on_hover_text(
                    "A photometric file of the maker (LM-63 or EULUMDAT) beside the room file",
                )
                .clicked()
                && !is_file
            {
                kind.light = FixtureLight::File("name-of-the-file.ies".into());
            }
            if ui
                .selectable_label(!is_file, "beam")
                .on_hover_text("A round beam from its angles and its light")
                .clicked()
                && is_file
            {
                kind.light = FixtureLight::Beam {
                    beam_deg: 24.0,
                    field_deg: None,
                    flux_lm: Some(1500.0),
                    centre_cd: None,
                };
            }
        });
        ui.end_row();
        match &mut kind.light {
            FixtureLight::File(file) => {
                ui.label("File");
                ui.add(egui::TextEdit::singleline(file).desired_width(120.0));
                ui.end_row();
            }
            FixtureLight::Beam {
                beam_deg,
                field_deg,
                flux_lm,
                centre_cd,
            } => {
                fields::angle(
                    ui,
                    "Beam angle",
                    "Full angle at half of the intensity in the middle",
                    beam_deg,
                );
                fields::optional(
                    ui,
                    "Field angle",
                    "Full angle at a tenth of the intensity in the middle",
                    field_deg,
                    (2.0 * *beam_deg, "deg", 0.5),
                );
                let by_flux = flux_lm.is_some();
                ui.label("Given by");
                ui.horizontal(|ui| {
                    if ui.selectable_label(by_flux, "lumens").clicked() && !by_flux {
                        (*flux_lm, *centre_cd) = (Some(1500.0), None);
                    }
                    if ui.selectable_label(!by_flux, "candela").clicked() && by_flux {
                        (*flux_lm, *centre_cd) = (None, Some(5000.0));
                    }
                });
                ui.end_row();
                if let Some(flux) = flux_lm {
                    fields::number(
                        ui,
                        "Light output",
                        "Of the fixture, when new",
                        flux,
                        "lm",
                        10.0,
                    );
                }
                if let Some(centre) = centre_cd {
                    fields::number(
                        ui,
                        "In the middle",
                        "Intensity in the middle of the beam",
                        centre,
                        "cd",
                        20.0,
                    );
                }
            }
        }
        aperture(ui, &mut kind.aperture);
        fields::number(
            ui,
            "Colour",
            "Colour temperature: 2700 K is warm, 4000 K neutral",
            &mut kind.cct_k,
            "K",
            20.0,
        );
        fields::optional(
            ui,
            "Power",
            "For schedules",
            &mut kind.watts,
            (10.0, "W", 0.5),
        );
        fields::share(
            ui,
            "Maintained",
            "Share of the light of a new fixture that is left with age and dirt",
            &mut kind.maintenance_factor,
        );
    });
}

fn aperture(ui: &mut egui::Ui, aperture: &mut Option<ApertureFile>) {
    ui.label("Opening")
        .on_hover_text("The luminous opening: small ones sparkle and dazzle more");
    let words = match aperture {
        None => "as in the file",
        Some(ApertureFile::Disc { .. }) => "round",
        Some(ApertureFile::Rectangle { .. }) => "rectangular",
    };
    egui::ComboBox::from_id_salt("opening")
        .width(110.0)
        .selected_text(words)
        .show_ui(ui, |ui| {
            for (to, option) in [
                (None, "as in the file"),
                (Some(ApertureFile::Disc { diameter_mm: 70.0 }), "round"),
                (
                    Some(ApertureFile::Rectangle {
                        length_mm: 600.0,
                        width_mm: 60.0,
                    }),
                    "rectangular",
                ),
            ] {
                if ui.selectable_label(option == words, option).clicked() && option != words {
                    *aperture = to;
                }
            }
        });
    ui.end_row();
    match aperture {
        None => {}
        Some(ApertureFile::Disc { diameter_mm }) => {
            fields::number(ui, "Diameter", "Of the opening", diameter_mm, "mm", 1.0);
        }
        Some(ApertureFile::Rectangle {
            length_mm,
            width_mm,
        }) => {
            fields::number(ui, "Length", "Of the opening", length_mm, "mm", 1.0);
            fields::number(ui, "Width", "Of the opening", width_mm, "mm", 1.0);
        }
    }
}
