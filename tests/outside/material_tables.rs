//! Reads the copied check tables of the material models, and the full ones where they are at hand.

#![allow(clippy::unwrap_used, reason = "a test may panic, its helpers too")]

use std::path::Path;

use glam::Vec3;

/// Unit direction from degrees off the normal and azimuth from +X.
pub fn direction(theta_deg: f64, phi_deg: f64) -> Vec3 {
    let (st, ct) = theta_deg.to_radians().sin_cos();
    let (sp, cp) = phi_deg.to_radians().sin_cos();
    Vec3::new((st * cp) as f32, (st * sp) as f32, ct as f32)
}

/// Rows of `tests/data/NAME` as words by column name.
pub fn rows(name: &str) -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name);
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(&path)
        .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let columns: Vec<String> = reader
        .headers()
        .unwrap()
        .iter()
        .map(str::to_owned)
        .collect();
    reader
        .records()
        .map(|record| {
            let words = record.unwrap().iter().map(str::to_owned).collect();
            Row {
                columns: columns.clone(),
                words,
            }
        })
        .collect()
}

/// The full reference file, or None where it is not beside this checkout.
pub fn full(name: &str) -> Option<serde_json::Value> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../shared/reference/checks")
        .join(name);
    let text = std::fs::read_to_string(path).ok()?;
    Some(serde_json::from_str(&text).unwrap())
}

/// One row of a copied table.
pub struct Row {
    columns: Vec<String>,
    words: Vec<String>,
}

impl Row {
    pub fn word(&self, column: &str) -> &str {
        let at = self.columns.iter().position(|c| c == column);
        &self.words[at.unwrap_or_else(|| panic!("no column {column}"))]
    }

    pub fn number(&self, column: &str) -> f64 {
        self.word(column).parse().unwrap()
    }

    pub fn optional(&self, column: &str) -> Option<f64> {
        self.word(column).parse().ok()
    }

    pub fn vector(&self, name: &str) -> Vec3 {
        Vec3::new(
            self.number(&format!("{name}_x")) as f32,
            self.number(&format!("{name}_y")) as f32,
            self.number(&format!("{name}_z")) as f32,
        )
    }
}

/// A direction of the full reference.
pub fn vector(value: &serde_json::Value) -> Vec3 {
    let at = |k: usize| value[k].as_f64().unwrap() as f32;
    Vec3::new(at(0), at(1), at(2))
}

/// Keeps the worst departure of many and where it was.
pub struct Worst {
    pub departure: f64,
    pub at: String,
    pub count: usize,
}

impl Worst {
    pub fn new() -> Self {
        Self {
            departure: 0.0,
            at: String::new(),
            count: 0,
        }
    }

    /// Relative departure, where both below `floor` counts as equal to it.
    pub fn relative(&mut self, got: f64, wanted: f64, floor: f64, place: impl Fn() -> String) {
        let departure = (got - wanted).abs() / wanted.abs().max(floor);
        self.take(departure, || {
            format!("{}: got {got}, reference {wanted}", place())
        });
    }

    pub fn absolute(&mut self, got: f64, wanted: f64, place: impl Fn() -> String) {
        self.take((got - wanted).abs(), || {
            format!("{}: got {got}, reference {wanted}", place())
        });
    }

    fn take(&mut self, departure: f64, place: impl Fn() -> String) {
        self.count += 1;
        assert!(departure.is_finite(), "{}", place());
        if departure > self.departure {
            self.departure = departure;
            self.at = place();
        }
    }

    /// Fails above `limit`; otherwise says what the worst was (seen with `--nocapture`).
    pub fn within(&self, what: &str, limit: f64) {
        eprintln!(
            "{what}: {} values, worst {:.3e} ({})",
            self.count, self.departure, self.at
        );
        assert!(self.count > 0, "{what}: no values");
        assert!(
            self.departure <= limit,
            "{what}: worst {:.3e} above {limit:.1e} at {}",
            self.departure,
            self.at
        );
    }
}
