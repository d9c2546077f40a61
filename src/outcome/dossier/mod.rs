//! The dossier: one document for the commissioner, the electrician and the installer.
//!
//! ```text
//! room, study, places, schedule, stills --sections--> data of the template + drawings (SVG) + stills (JPEG) --report::pdf--> PDF
//! ```
//! Only arranges what was computed elsewhere; the parts of the document stand in the order in which they are needed.

mod remedy;
mod sections;
mod views;

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::{
    advice::{rank::Ranking, schedule::ScheduleRow},
    report::{PdfSource, letters_without_font},
    room::BuiltRoom,
    study::Study,
};

use super::Lengths;
pub use remedy::remedy;
pub use views::{TellingView, telling_views, view_words};

/// Sizes of paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm.
    #[default]
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

/// A picture of one view.
#[derive(Clone, Debug)]
pub struct DossierStill {
    /// PNG or JPEG file.
    pub file: Vec<u8>,
    /// Ending of its name: "png" or "jpg".
    pub ending: &'static str,
    /// Where and when.
    pub title: String,
    /// What is seen.
    pub caption: String,
}

/// What a dossier is made of.
pub struct DossierParts<'a> {
    /// The room.
    pub room: &'a BuiltRoom,
    /// Its study.
    pub study: &'a Study,
    /// Places for the piece, in order.
    pub places: &'a Ranking,
    /// All fixtures, in the order of work.
    pub schedule: &'a [ScheduleRow],
    /// The piece in its place.
    pub cover: Option<&'a DossierStill>,
    /// Pictures from chosen stations at chosen hours; none where nothing draws.
    pub stills: &'a [DossierStill],
    /// The best place, where it is another than the one that is drawn.
    pub better: Option<&'a DossierStill>,
    /// Most light on a tile by all fixtures as listed, new lamps, no daylight [lx]; `None` without fixtures.
    pub lamps_most_lx: Option<f32>,
    /// Why there are no pictures, where there are none.
    pub no_pictures: Option<&'a str>,
    /// Units.
    pub lengths: Lengths,
    /// Paper.
    pub paper: Paper,
    /// By what and for which days it was made.
    pub made: &'a str,
}

/// Data and pictures of the document.
pub fn dossier(parts: &DossierParts) -> PdfSource {
    let mut made = Made {
        parts,
        images: BTreeMap::new(),
    };
    let sections = made.sections();
    let cover = made.cover();
    let file = &parts.room.file;
    let mut data = json!({
        "paper": match parts.paper {
            Paper::A4 => "a4",
            Paper::Letter => "us-letter",
        },
        "lang": "en",
        "title": file.name,
        "piece": parts.room.tiling.name,
        "kind": "Dossier for the commissioner, the electrician and the installer",
        "made": parts.made,
        "note": file.note,
        "cover": cover,
        "sections": sections,
        "footer": "Plans appearance; certifies nothing. Local codes and licensed practice rule.",
    });
    let missing = letters_without_font(&data.to_string());
    if !missing.is_empty() {
        let names: Vec<String> = missing
            .iter()
            .map(|c| format!("{c} (U+{:04X})", u32::from(*c)))
            .collect();
        let note = format!(
            "Letters that no font of this document has, printed as boxes: {}.",
            names.join(", ")
        );
        if let Some(last) = data["sections"].as_array_mut().and_then(|s| s.last_mut())
            && let Some(blocks) = last["blocks"].as_array_mut()
        {
            blocks.push(text(note));
        }
    }
    PdfSource {
        data,
        images: made.images,
    }
}

/// A document in the making.
struct Made<'a> {
    parts: &'a DossierParts<'a>,
    images: BTreeMap<String, Vec<u8>>,
}

impl Made<'_> {
    /// Takes a drawing or picture in; its path.
    fn image(&mut self, name: &str, bytes: Vec<u8>) -> String {
        let path = format!("/images/{name}");
        self.images.insert(path.clone(), bytes);
        path
    }

    /// A drawing as wide as the page.
    fn figure(&mut self, name: &str, svg: String, caption: &str, alt: &str) -> Value {
        let image = self.image(&format!("{name}.svg"), svg.into_bytes());
        json!({ "type": "figure", "image": image, "caption": caption, "height_share": 1.0, "alt": alt })
    }
}

fn text(words: impl Into<String>) -> Value {
    json!({ "type": "text", "text": units(&words.into()) })
}

fn heading(words: &str) -> Value {
    json!({ "type": "heading", "text": words })
}

fn list(items: &[String]) -> Value {
    let items: Vec<String> = items.iter().map(|i| units(i)).collect();
    json!({ "type": "list", "items": items })
}

fn note(kind: &str, title: &str, words: &str) -> Value {
    json!({ "type": kind, "title": title, "text": units(words) })
}

/// A table; columns as (title, align, width).
fn table(columns: &[(&str, &str, &str)], rows: Vec<Vec<String>>, note: &str, small: bool) -> Value {
    let columns: Vec<Value> = columns
        .iter()
        .map(|(title, align, width)| json!({ "title": title, "align": align, "width": width }))
        .collect();
    let rows: Vec<Vec<String>> = rows
        .into_iter()
        .map(|row| row.iter().map(|cell| units(cell)).collect())
        .collect();
    json!({ "type": "table", "columns": columns, "rows": rows, "note": units(note), "small": small })
}

/// Units as they are printed.
fn units(words: &str) -> String {
    words
        .replace("cd/m2", "cd/m²")
        .replace(" m2", " m²")
        .replace("lx h", "lx·h")
}

/// A sentence with its first letter large and a full stop.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let mut out: String = letters
        .next()
        .map(|c| c.to_uppercase().collect())
        .unwrap_or_default();
    out.push_str(letters.as_str());
    if !out.ends_with(['.', '!', '?']) && !out.is_empty() {
        out.push('.');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_and_units_are_neat() {
        assert_eq!(sentence("ten lux"), "Ten lux.");
        assert_eq!(sentence("Ärger!"), "Ärger!");
        assert_eq!(sentence(""), "");
        assert_eq!(units("5 cd/m2 over 2 m2"), "5 cd/m² over 2 m²");
    }
}
