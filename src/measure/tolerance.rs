//! How uncertain the world is that the numbers predict, for reports.
//!
//! Relative bounds, not statistics: the truth is expected within them in most cases. Source: own estimates from
//! experience of the trade, from memory; measure after installation.

/// One source of uncertainty and its size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// What is uncertain, as a report names it.
    pub what: &'static str,
    /// Relative bound: 0.2 means 20 % either way.
    pub relative: f64,
    /// One sentence for the report.
    pub text: &'static str,
}

/// What applies in one sentence without a full stop, for the foot of tables and charts.
pub fn sentence(has_daylight: bool, has_metal: bool) -> String {
    let mut parts = Vec::new();
    if has_daylight {
        parts.push("a real sky is usually within 20 % of its model at a given hour, far more under broken cloud");
    }
    parts.push("a fixture within 10 % of its file");
    if has_metal {
        parts.push("the brightest luminance of brushed metal within 50 %");
    }
    format!(
        "Beyond sampling: {} (own estimates); measure after hanging",
        parts.join(", ")
    )
}

/// Light exchanged between surfaces.
pub const INTER_REFLECTION: Tolerance = Tolerance {
    what: "inter-reflected light",
    relative: 0.05,
    text: "Light exchanged between the surfaces of the room is within 5 % where the reflectances are right",
};

/// Photometric files.
pub const PHOTOMETRIC_FILE: Tolerance = Tolerance {
    what: "fixture output",
    relative: 0.10,
    text: "A fixture as delivered is within 10 % of its photometric file",
};

/// Fitted roughness of metal.
pub const METAL_ROUGHNESS: Tolerance = Tolerance {
    what: "roughness of metal",
    relative: 0.30,
    text: "The roughness fitted to a metal sample is within 30 %",
};

/// Peak luminance of a metal tile, which follows from its roughness.
pub const METAL_PEAK_LUMINANCE: Tolerance = Tolerance {
    what: "peak luminance of metal tiles",
    relative: 0.50,
    text: "The brightest luminance of a brushed metal tile is within 50 %, because it follows from its roughness",
};

/// The sky at one hour.
pub const SKY_AT_AN_HOUR: Tolerance = Tolerance {
    what: "sky at a given hour",
    relative: 0.20,
    text: "The brightness of a real sky at a given hour is within 20 % of the model for that kind of sky",
};

/// All of them, in the order in which a report lists them.
pub const ALL: [Tolerance; 5] = [
    PHOTOMETRIC_FILE,
    SKY_AT_AN_HOUR,
    INTER_REFLECTION,
    METAL_ROUGHNESS,
    METAL_PEAK_LUMINANCE,
];

impl Tolerance {
    /// Low and high end of what `value` may be in truth, in its unit; ordered.
    pub fn range(&self, value: f64) -> (f64, f64) {
        range_of(value, self.relative)
    }
}

/// Low and high end of `value` with a relative bound; ordered, and never past 0.
pub fn range_of(value: f64, relative: f64) -> (f64, f64) {
    let low = value * (1.0 - relative).max(0.0);
    let high = value * (1.0 + relative);
    (low.min(high), low.max(high))
}

/// Relative bound of a product of independent parts: the root of the sum of squares.
pub fn combined(relative_parts: &[f64]) -> f64 {
    relative_parts
        .iter()
        .map(|part| part * part)
        .sum::<f64>()
        .sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_ordered_and_stay_on_one_side() {
        assert_eq!(METAL_PEAK_LUMINANCE.range(100.0), (50.0, 150.0));
        assert_eq!(range_of(10.0, 2.0), (0.0, 30.0));
        let (low, high) = range_of(-10.0, 0.2);
        assert!(low < high);
    }

    #[test]
    fn independent_parts_add_in_squares() {
        assert!((combined(&[0.3, 0.4]) - 0.5).abs() < 1e-12);
        assert_eq!(combined(&[]), 0.0);
    }

    #[test]
    fn every_text_names_its_number() {
        for tolerance in ALL {
            let percent = format!("{:.0} %", tolerance.relative * 100.0);
            assert!(tolerance.text.contains(&percent), "{tolerance:?}");
        }
    }
}
