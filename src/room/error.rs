//! Errors of room files: every problem with its place and what would be right.

use miette::{Diagnostic, NamedSource, SourceSpan};

/// One problem of a room file.
#[derive(Debug, thiserror::Error, Diagnostic)]
#[error("{message}")]
pub struct Problem {
    /// What is wrong, one sentence.
    pub message: String,
    /// What would be right.
    #[help]
    pub help: Option<String>,
    /// Path of the field, such as `walks[2].eye_m`; empty where it belongs to no one field.
    pub path: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The file's text.
    #[source_code]
    pub file: NamedSource<std::sync::Arc<String>>,
    /// Where in it.
    #[label("here")]
    pub at: SourceSpan,
}

/// Why a room file cannot be used.
#[derive(Debug, thiserror::Error, Diagnostic)]
pub enum RoomError {
    /// One or more problems in the text.
    #[error("{name}: {}", count_words(.problems.len()))]
    Problems {
        /// Name of the file.
        name: String,
        /// All of them, in the order of the text.
        #[related]
        problems: Vec<Problem>,
    },
    /// The file cannot be read.
    #[error("{name} cannot be read")]
    Unreadable {
        /// Name of the file.
        name: String,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// The file is no text.
    #[error("{name} is not UTF-8 text: byte {byte} is not")]
    #[diagnostic(help("save it as UTF-8 text"))]
    NotText {
        /// Name of the file.
        name: String,
        /// First byte that is none.
        byte: usize,
    },
    /// The file cannot be written.
    #[error("{name} cannot be written")]
    Unwritable {
        /// Name of the file.
        name: String,
        /// Why.
        #[source]
        source: std::io::Error,
    },
}

fn count_words(count: usize) -> String {
    if count == 1 {
        "1 problem".into()
    } else {
        format!("{count} problems")
    }
}

impl RoomError {
    /// All problems as (line, column, message, help).
    pub fn listing(&self) -> Vec<(usize, usize, String, String)> {
        match self {
            Self::Problems { problems, .. } => problems
                .iter()
                .map(|p| {
                    (
                        p.line,
                        p.column,
                        p.message.clone(),
                        p.help.clone().unwrap_or_default(),
                    )
                })
                .collect(),
            _ => Vec::new(),
        }
    }
}
