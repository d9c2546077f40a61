//! A document as PDF, set by the bundled template from plain data and pictures.
//!
//! Input: the data of `assets/dossier.typ` (see there for its blocks) and picture files in memory; output: PDF bytes with
//! embedded fonts, and the letters that no bundled font has. No files, no clock, no fonts of the system: the same data
//! give the same document. Letters outside the bundled family are set from `assets/fonts/fallback`.

use std::{collections::BTreeMap, sync::LazyLock};

use serde_json::Value;
use typst::{
    Library, LibraryExt, World,
    diag::{FileError, FileResult, SourceDiagnostic},
    foundations::{Bytes, Datetime, Duration, Smart},
    syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot},
    text::{Font, FontBook},
    utils::LazyHash,
};
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

use super::{ReportError, typeface};

/// The template.
const TEMPLATE: &str = include_str!("../../assets/dossier.typ");

/// Fonts for letters that the bundled family lacks.
pub(super) static FALLBACK: [&[u8]; 22] = [
    include_bytes!("../../assets/fonts/fallback/NotoSansArabic-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansHebrew-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansDevanagari-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansBengali-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansTamil-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansThai-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansGeorgian-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansArmenian-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansGujarati-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansGurmukhi-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansKannada-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansMalayalam-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansOriya-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansSinhala-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansTelugu-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansLao-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansKhmer-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansMyanmar-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansEthiopic-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/NotoSansThaana-Regular.ttf"),
    include_bytes!("../../assets/fonts/fallback/DejaVuSans.ttf"),
    include_bytes!("../../assets/fonts/fallback/wqy-microhei.ttc"),
];

/// What a document is made from.
#[derive(Clone, Debug, Default)]
pub struct PdfSource {
    /// The template's data.
    pub data: Value,
    /// Pictures by the path that the data name, such as `/images/plan.svg`.
    pub images: BTreeMap<String, Vec<u8>>,
}

/// All fonts, read once.
struct Fonts {
    list: Vec<Font>,
    book: LazyHash<FontBook>,
}

static FONTS: LazyLock<Fonts> = LazyLock::new(|| {
    let own = [typeface::REGULAR_TTF, typeface::SEMI_BOLD_TTF];
    let list: Vec<Font> = own
        .into_iter()
        .chain(FALLBACK)
        // The first face of a collection is the one that is meant.
        .filter_map(|data| Font::new(Bytes::new(data), 0))
        .collect();
    let book = LazyHash::new(FontBook::from_fonts(&list));
    Fonts { list, book }
});

/// Letters of a text that no bundled font has, each once, in order of first use.
pub fn letters_without_font(text: &str) -> Vec<char> {
    let mut found: Vec<char> = Vec::new();
    for letter in text.chars() {
        // Spaces, joiners and other signs without a shape need none.
        let shapeless = letter.is_whitespace()
            || letter.is_control()
            || ('\u{200b}'..='\u{200f}').contains(&letter)
            || ('\u{2028}'..='\u{202e}').contains(&letter)
            || ('\u{2060}'..='\u{206f}').contains(&letter)
            || ('\u{fe00}'..='\u{fe0f}').contains(&letter);
        let known = || {
            FONTS
                .list
                .iter()
                .any(|font| font.info().coverage.contains(u32::from(letter)))
        };
        if !shapeless && !found.contains(&letter) && !known() {
            found.push(letter);
        }
    }
    found
}

/// Where the template finds its data and pictures.
struct Desk {
    library: LazyHash<Library>,
    main: Source,
    files: BTreeMap<String, Bytes>,
}

fn id_of(path: &str) -> Result<FileId, ReportError> {
    let path = VirtualPath::new(path).map_err(|error| ReportError::Document {
        why: format!("{path}: {error}"),
    })?;
    Ok(FileId::new(RootedPath::new(VirtualRoot::Project, path)))
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &FONTS.book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() {
            Ok(self.main.clone())
        } else {
            Err(FileError::NotSource)
        }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let path = id.get().vpath().get_with_slash();
        self.files
            .get(path)
            .cloned()
            .ok_or_else(|| FileError::NotFound(path.into()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.list.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

fn first_message(errors: &[SourceDiagnostic]) -> String {
    errors
        .first()
        .map_or_else(String::new, |e| e.message.to_string())
}

/// Sets a document.
///
/// # Errors
/// [`ReportError::Document`] where the data do not fit the template or a picture is none.
pub fn pdf(source: &PdfSource) -> Result<Vec<u8>, ReportError> {
    let mut files: BTreeMap<String, Bytes> = source
        .images
        .iter()
        .map(|(path, bytes)| (path.clone(), Bytes::new(bytes.clone())))
        .collect();
    files.insert(
        "/data.json".into(),
        Bytes::new(source.data.to_string().into_bytes()),
    );
    let desk = Desk {
        library: LazyHash::new(Library::default()),
        main: Source::new(id_of("/dossier.typ")?, TEMPLATE.into()),
        files,
    };
    let document = typst::compile::<PagedDocument>(&desk)
        .output
        .map_err(|errors| ReportError::Document {
            why: first_message(&errors),
        })?;
    let options = PdfOptions {
        creator: Smart::Custom(Some("Lustrewalk".into())),
        ..PdfOptions::default()
    };
    let made = typst_pdf::pdf(&document, &options).map_err(|errors| ReportError::Document {
        why: first_message(&errors),
    });
    // What was remembered for the next document would stay for as long as the window is open.
    comemo::evict(0);
    made
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn source(title: &str, blocks: Value) -> PdfSource {
        PdfSource {
            data: json!({
                "paper": "a4", "lang": "en", "title": title, "piece": "Piece", "kind": "Dossier",
                "made": "25 November 2026", "note": "", "footer": "Plans appearance",
                "cover": { "image": null, "caption": "", "sentence": "One sentence.", "facts": [] },
                "sections": [{ "title": "Place", "for": "", "new_page": false, "landscape": false, "blocks": blocks }],
            }),
            images: BTreeMap::new(),
        }
    }

    #[test]
    fn a_document_is_the_same_each_time_and_unknown_blocks_are_said() {
        let blocks = json!([{ "type": "text", "text": "profile, fixture # * _ $ @ <b>" }]);
        let one = pdf(&source("Łódź 寄木", blocks.clone())).unwrap();
        assert_eq!(&one[..5], b"%PDF-");
        assert_eq!(one, pdf(&source("Łódź 寄木", blocks)).unwrap());
        let error = pdf(&source("A", json!([{ "type": "riddle" }]))).unwrap_err();
        assert!(error.to_string().contains("riddle"), "{error}");
        let missing =
            json!([{ "type": "figure", "image": "/images/none.svg", "caption": "", "alt": "" }]);
        assert!(pdf(&source("A", missing)).is_err());
    }

    #[test]
    fn letters_of_many_languages_have_a_font() {
        let many = "Łódź – Ø1,2 m · 36° · ≥ 300 lx · τ=0,7 · 寄木 مرحبا שלום नमस्ते สวัสดี 한국어 ქართული Հայերեն తెలుగు አማርኛ";
        assert_eq!(letters_without_font(many), Vec::<char>::new());
        assert_eq!(letters_without_font("a\u{1f9ff}b\u{1f9ff}"), ['\u{1f9ff}']);
    }
}
