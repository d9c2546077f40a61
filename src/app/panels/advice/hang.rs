//! Where to hang it: places in order, tried by resting on them.

use bevy_egui::egui;

use super::{AdviceData, Wishes, card, changed, plain, search_ui, sheets_ui, soft};
use crate::{
    advice::{
        Verdict,
        rank::{Pass, Ranked, Ranking, reordered},
    },
    app::{
        command::AppCommand,
        state::{Advised, Charted},
        theme,
    },
    outcome::{part_words, place_name, rank_number},
    report::ramp,
    room::{RoomFile, Support, Weights},
};

/// Places that are listed.
const MOST_LISTED: usize = 12;
/// Height of a small chart [points].
const CHART: f32 = 34.0;

pub(super) fn hang_ui(ui: &mut egui::Ui, data: &AdviceData, wishes: &mut Wishes) {
    search_ui(
        ui,
        data,
        "Judges every free stretch of wall, at the heights and turns the piece allows, over all walks, days and skies. \
         A first order comes within seconds and is then refined.",
        wishes,
    );
    choices_ui(ui, data, wishes);
    let Some((of, ranking)) = &data.advice.hang else {
        soft(
            ui,
            "The places come in order, with what speaks for and against each. Rest on one to see it in the picture; one click hangs the \
             piece there, and Undo takes it back.",
        );
        return;
    };
    // Weights may have changed since: the order follows at once.
    let weights = data.room.advice.weights;
    let own;
    let ranking = match (&data.built, ranking.weights == weights) {
        (Some(built), false) => {
            own = reordered(ranking, weights, built);
            &own
        }
        _ => ranking,
    };
    let full = ranking
        .places
        .iter()
        .filter(|p| p.pass == Pass::Full)
        .count();
    let searching = data.advice.running.is_some();
    let state = if searching {
        "still searching: the order may change"
    } else if **of != *data.room && !only_hung_elsewhere(of, data.room) {
        "judged in the room as it was then; search again"
    } else {
        "best first"
    };
    soft(
        ui,
        format!("{} places, {full} in full; {state}", ranking.judged),
    );
    for ranked in ranking.places.iter().take(MOST_LISTED) {
        // The index is that of the ranking as it came.
        let index = data.advice.hang.as_ref().and_then(|(_, r)| {
            r.places
                .iter()
                .position(|p| p.placement == ranked.placement)
        });
        if let Some(index) = index {
            place_ui(ui, data, ranking, (index, ranked), wishes);
        }
    }
    sheets_ui(ui, data, wishes);
    soft(
        ui,
        "What carries the piece is for the building's engineer; light over the year's limit is for a conservator.",
    );
}

/// Whether two rooms differ in where the piece hangs only.
fn only_hung_elsewhere(a: &RoomFile, b: &RoomFile) -> bool {
    let mut b = b.clone();
    b.placement.clone_from(&a.placement);
    b.candidates.clone_from(&a.candidates);
    b.advice.clone_from(&a.advice);
    *a == b
}

fn choices_ui(ui: &mut egui::Ui, data: &AdviceData, wishes: &mut Wishes) {
    ui.collapsing("What may change, and what counts", |ui| {
        let mut next = data.room.clone();
        let hang = &mut next.advice.hang;
        ui.checkbox(&mut hang.mirror, "It may be made mirrored");
        let mut turns = hang.turns_deg.len() > 1;
        if ui
            .checkbox(&mut turns, "It may be turned by quarters")
            .changed()
        {
            hang.turns_deg = if turns {
                vec![0.0, 90.0, 180.0, 270.0]
            } else {
                vec![data.room.placement.turn_deg]
            };
        }
        let mut leans = hang.leaning_deg.is_some();
        if ui
            .checkbox(&mut leans, "It may lean against a wall")
            .changed()
        {
            hang.leaning_deg = leans.then_some(8.0);
        }
        if !hang.walls.is_empty() {
            let count = hang.walls.len();
            let word = if count == 1 { "wall" } else { "walls" };
            ui.horizontal(|ui| {
                ui.label(format!("Only {count} {word}"));
                if ui.small_button("All walls again").clicked() {
                    hang.walls.clear();
                }
            });
        }
        soft(ui, "How much each part counts");
        let weights = &mut next.advice.weights;
        let default = Weights::default();
        for (name, tip, value) in [
            ("alive", "Share of visitors' time in which the pattern reads or is strong", &mut weights.alive),
            ("shift", "How much the pattern changes with each metre walked", &mut weights.shift),
            ("dead", "Share of visitors' time in which the pattern is lost, too dark or hidden; counts against", &mut weights.dead),
            ("glaring", "Share of visitors' time with something glaring in view; counts against", &mut weights.glaring),
            ("light", "The year's light over the limit of the material; counts against", &mut weights.dose),
        ] {
            ui.add(egui::Slider::new(value, 0.0..=3.0).step_by(0.1).text(name))
                .on_hover_text(tip);
        }
        if *weights != default && ui.small_button("As usual").clicked() {
            *weights = default;
        }
        changed(data, next, "change what advice may do", wishes);
    });
}

fn place_ui(
    ui: &mut egui::Ui,
    data: &AdviceData,
    ranking: &Ranking,
    (index, ranked): (usize, &Ranked),
    wishes: &mut Wishes,
) {
    card(ui, data, Advised::Place(index), wishes, |ui, wishes| {
        ui.horizontal_top(|ui| {
            let number = rank_number(ranking, ranked);
            ui.label(egui::RichText::new(number).size(17.0).color(theme::ACCENT));
            ui.add(
                egui::Label::new(
                    egui::RichText::new(place_name(data.room, ranked))
                        .size(13.0)
                        .strong(),
                )
                .wrap(),
            );
        });
        let parts: Vec<String> = part_words(ranked)
            .into_iter()
            .map(|(name, value)| format!("{name} {value}"))
            .collect();
        plain(ui, parts.join(", "));
        small_chart(ui, data, ranked);
        plain(ui, format!("For: {}", ranked.pro));
        plain(ui, format!("Against: {}", ranked.con));
        let mut marks = Vec::new();
        if ranked.undominated {
            marks.push("no other matches it on every count");
        }
        if ranked.pass != Pass::Full {
            marks.push("judged coarsely");
        }
        if !ranked.judgement.thrown.is_empty() {
            marks.push("throws the sun out of the building or across stairs: check on site");
        }
        if !marks.is_empty() {
            soft(ui, marks.join("; "));
        }
        ui.horizontal(|ui| {
            let here = crate::advice::rank::same_place(&data.room.placement, &ranked.placement);
            if here {
                ui.colored_label(theme::ACCENT, "hangs here now");
            } else if ui.button("Hang it here").clicked() {
                wishes
                    .commands
                    .push(AppCommand::TakeAdvice(Advised::Place(index)));
            }
            if let Support::Wall { space, wall, .. } = &ranked.placement.on {
                let this = (space.clone(), *wall);
                let alone = data.room.advice.hang.walls == [this.clone()];
                if !alone
                    && ui
                        .small_button("Keep to this wall")
                        .on_hover_text("The next search looks at this wall only, more closely")
                        .clicked()
                {
                    let mut next = data.room.clone();
                    next.advice.hang.walls = vec![this];
                    changed(data, next, "keep to one wall", wishes);
                }
            }
        });
    });
}

/// The walk with most visitors through the days: play by colour, dead crossed, glaring dotted.
fn small_chart(ui: &mut egui::Ui, data: &AdviceData, ranked: &Ranked) {
    let walk = data.built.map_or(0, crate::advice::main_walk);
    let charts: Vec<_> = ranked
        .judgement
        .walks
        .iter()
        .filter(|v| v.walk == walk && !v.distance_m.is_empty())
        .collect();
    if charts.is_empty() {
        return;
    }
    // First and last of what was judged: usually clear and overcast.
    let shown: Vec<_> = if charts.len() > 2 {
        vec![charts[0], charts[charts.len() - 1]]
    } else {
        charts
    };
    let gap = 6.0;
    let width = (ui.available_width() - gap * (shown.len() - 1) as f32) / shown.len() as f32;
    let (rect, response) = ui.allocate_exact_size(
        egui::vec2(ui.available_width(), CHART),
        egui::Sense::hover(),
    );
    let scale = Charted::Play.scale();
    let painter = ui.painter();
    let mut names = Vec::new();
    for (k, chart) in shown.iter().enumerate() {
        let columns = chart.distance_m.len();
        let rows = chart.cells.len() / columns;
        if rows == 0 {
            continue;
        }
        let left = rect.left() + k as f32 * (width + gap);
        let size = egui::vec2(width / columns as f32, CHART / rows as f32);
        for (i, cell) in chart.cells.iter().enumerate() {
            let at = egui::pos2(
                left + (i % columns) as f32 * size.x,
                rect.top() + (i / columns) as f32 * size.y,
            );
            paint(painter, egui::Rect::from_min_size(at, size), cell, &scale);
        }
        if let Some((sky, day)) = ranked.judgement.groups.get(chart.group) {
            names.push(format!("{day}, {sky}"));
        }
    }
    response.on_hover_text(format!(
        "Left to right {}: along the walk to the right, the day downward. Light: much play; crossed: dead; dotted: glaring",
        names.join(" and ")
    ));
}

fn paint(
    painter: &egui::Painter,
    cell: egui::Rect,
    verdict: &Verdict,
    scale: &crate::report::ValueScale,
) {
    if !verdict.open {
        painter.rect_filled(cell, 0.0, theme::RAISED);
        return;
    }
    let [r, g, b] = ramp::colour(scale.position(verdict.play));
    painter.rect_filled(cell, 0.0, egui::Color32::from_rgb(r, g, b));
    let ink = if u32::from(r) + u32::from(g) + u32::from(b) > 380 {
        theme::EDGE
    } else {
        theme::INK
    };
    if verdict.dead {
        painter.line_segment(
            [cell.left_bottom(), cell.right_top()],
            egui::Stroke::new(1.0, ink),
        );
    }
    if verdict.glaring {
        let radius = 0.3 * cell.width().min(cell.height());
        painter.circle_filled(cell.center(), radius.clamp(1.0, 3.0), ink);
    }
}
