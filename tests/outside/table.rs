//! Tables of check values: the small copies in `tests/data`, and the full ones beside the checkout where they exist.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A row by column name.
pub type Row = BTreeMap<String, String>;

/// The rows of a table in `tests/data`.
pub fn copied(name: &str) -> Vec<Row> {
    rows(
        &Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/data")
            .join(name),
    )
}

/// A file of the reference folder beside the checkout, if it is there.
pub fn beside(name: &str) -> Option<PathBuf> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../shared/reference")
        .join(name);
    path.is_file().then_some(path)
}

/// The copied table, and the full one where it exists.
pub fn copied_and_full(copy: &str, full: &str) -> Vec<Row> {
    let mut all = copied(copy);
    if let Some(path) = beside(full) {
        all.extend(rows(&path));
    }
    all
}

fn rows(path: &Path) -> Vec<Row> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(path)
        .unwrap_or_else(|why| panic!("{}: {why}", path.display()));
    let rows: Vec<Row> = reader
        .deserialize()
        .map(|row| row.expect("a row"))
        .collect();
    assert!(!rows.is_empty(), "{} has no rows", path.display());
    rows
}

/// A number of a row.
pub fn number(row: &Row, column: &str) -> f64 {
    row[column]
        .parse()
        .unwrap_or_else(|_| panic!("{column} is {:?}", row[column]))
}
