//! Advice: starting a search, taking what it found, writing its sheets.

use std::{path::PathBuf, sync::Arc};

use super::{AdviceKind, Advised, Adviser, Hands, OpenRoom};
use crate::{
    advice::schedule::schedule,
    app::typed::LengthUnit,
    outcome::{self, Lengths},
    report::{aiming_sheet_svg, piece_sheet_svg, plan_svg, png_from_svg, ranking_sheet_svg},
    room::save_atomically,
};

/// Where sheets of a saved room are written.
pub fn sheets_folder(open: &OpenRoom) -> Option<PathBuf> {
    let path = open.path()?;
    let stem = path.file_stem()?.to_string_lossy().into_owned();
    Some(path.with_file_name(format!("{stem}-advice")))
}

impl Hands<'_> {
    pub(super) fn advise(&mut self, kind: AdviceKind) {
        self.advice.failed = None;
        self.advice.try_out(self.open.file(), None);
        let live = self.desk.live();
        let built = live
            .built
            .as_ref()
            .filter(|(revision, _)| *revision == self.open.revision());
        let Some((_, built)) = built else {
            self.warn("The room is still being built, or something in it is to be mended first");
            return;
        };
        let adviser = Adviser::start(
            kind,
            Arc::clone(self.open.file()),
            Arc::clone(built),
            self.waker.0.clone(),
        );
        self.advice.running = Some(adviser);
    }

    pub(super) fn take_advice(&mut self, advised: Advised) {
        let Some((next, what)) = self.advice.applied(self.open.file(), advised) else {
            self.warn("That advice is for an earlier room: search again");
            return;
        };
        self.advice.try_out(self.open.file(), None);
        self.go_on();
        self.tell(format!("Done: {what}. Undo takes it back"));
        self.open.change(next, what, None);
    }

    /// Writes the sheets of what is shown beside the room.
    pub(super) fn write_sheets(&mut self, kind: AdviceKind) {
        let Some(folder) = sheets_folder(&self.open) else {
            self.warn("Save the room first: the sheets are written beside it");
            return;
        };
        match self.sheets(kind, &folder) {
            Ok(count) => self.tell(format!("{count} files written to {}", folder.display())),
            Err(why) => self.warn(format!("The sheets were not written: {why}")),
        }
    }

    fn sheets(&self, kind: AdviceKind, folder: &std::path::Path) -> Result<usize, String> {
        let live = self.desk.live();
        let (_, built) = live.built.as_ref().ok_or("the room is not built yet")?;
        let mut drawings: Vec<(&str, String)> = Vec::new();
        let mut tables: Vec<(&str, Vec<u8>)> = Vec::new();
        match kind {
            AdviceKind::Hang => {
                let (_, ranking) = self.advice.hang.as_ref().ok_or("there is nothing yet")?;
                drawings.push((
                    "ranking",
                    ranking_sheet_svg(&outcome::ranking_sheet(built, ranking)),
                ));
                drawings.push(("places", plan_svg(&outcome::ranking_plan(built, ranking))));
                tables.push(("ranking.csv", outcome::ranking_csv(built, ranking)));
            }
            AdviceKind::Lamps => {
                let (_, plan) = self.advice.lamps.as_ref().ok_or("there is nothing yet")?;
                let now = live.now.as_ref().ok_or("the light is not there yet")?;
                let advised = built
                    .changed(plan.file.clone())
                    .map_err(|e| e.to_string())?;
                let lengths = match self.settings.unit {
                    LengthUnit::Feet => Lengths::Feet,
                    _ => Lengths::Metres,
                };
                let rows = schedule(&advised, &now.light);
                let sheet = outcome::aiming_sheet(&advised, &rows, lengths);
                drawings.push(("aiming", aiming_sheet_svg(&sheet)));
                drawings.push(("plan", plan_svg(&outcome::plan(&advised, None))));
                tables.push(("aiming.csv", outcome::schedule_csv(&rows, lengths)));
            }
            AdviceKind::Grain => {
                let (_, plan) = self.advice.grain.as_ref().ok_or("there is nothing yet")?;
                let advised = built
                    .changed(plan.file.clone())
                    .map_err(|e| e.to_string())?;
                for (name, side) in [
                    ("cutting-front", outcome::Side::Front),
                    ("cutting-back", outcome::Side::Back),
                ] {
                    let sheet = outcome::cutting_sheet(&advised, &plan.turned, side);
                    drawings.push((name, piece_sheet_svg(&sheet)));
                }
                tables.push(("cutting.csv", outcome::cutting_csv(&advised, &plan.turned)));
            }
        }
        tables.push(("cautions.txt", outcome::advice_cautions(built).into_bytes()));
        std::fs::create_dir_all(folder).map_err(|e| e.to_string())?;
        let count = drawings.len() + tables.len();
        for (name, svg) in drawings {
            let png = png_from_svg(&svg, 1.0).map_err(|e| e.to_string())?;
            save_atomically(&folder.join(format!("{name}.png")), &png)
                .map_err(|e| e.to_string())?;
        }
        for (name, bytes) in tables {
            save_atomically(&folder.join(name), &bytes).map_err(|e| e.to_string())?;
        }
        Ok(count)
    }
}
