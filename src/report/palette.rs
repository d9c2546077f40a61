//! The only file of the report that names colours, apart from the ramp of values.
//!
//! Text colours reach a contrast of 4.5:1 on the paper (tested); the contrast ratio is that of
//! W3C, "Web Content Accessibility Guidelines 2.1", 2018, definitions of contrast ratio and relative luminance.

/// Warm paper.
pub(super) const PAPER: &str = "#fbf9f4";
/// Floor of a room on the plan.
pub(super) const FLOOR: &str = "#ffffff";
/// Main text and outlines.
pub(super) const INK: &str = "#23292e";
/// Secondary text.
pub(super) const INK_SOFT: &str = "#5b6268";
/// Hairlines and frames.
pub(super) const HAIR: &str = "#b9b3a6";
/// Faint fills.
pub(super) const TINT: &str = "#ece7dc";
/// Dots on cells without a value.
pub(super) const DOT: &str = "#a8a195";
/// Cut walls.
pub(super) const POCHE: &str = "#3c444b";
/// The piece and what belongs to it.
pub(super) const ACCENT: &str = "#a83f22";
/// Facing wedge of the piece.
pub(super) const ACCENT_TINT: &str = "#f1d3c6";
/// Walks.
pub(super) const WALK: &str = "#1f6670";
/// Sun above the horizon, fills.
pub(super) const DAY: &str = "#f0c75e";
/// Sun, lines and text.
pub(super) const SUN: &str = "#8a5a00";
/// Night, fills.
pub(super) const NIGHT: &str = "#3b4663";
/// Beams of fixtures.
pub(super) const BEAM: &str = "#f6e3a6";
/// Glass.
pub(super) const GLASS: &str = "#dcebf0";
/// Numbers on light cells: black, since no softer ink reaches 4.5:1 on every colour.
pub(super) const BLACK: &str = "#000000";
/// Plate under words on a picture.
pub(super) const PLATE: &str = "#14171a";
/// Words and main lines on that plate.
pub(super) const LIGHT: &str = "#f4f1ea";
/// Secondary words and lines on it.
pub(super) const LIGHT_SOFT: &str = "#b4babe";
/// The piece on it.
pub(super) const LIGHT_PIECE: &str = "#f0a35e";
/// A walk on it.
pub(super) const LIGHT_WALK: &str = "#8fc9d2";
/// White of halos and casings.
pub(super) const WHITE: &str = "#ffffff";
/// Colours of days on the plan, in the order of first use.
pub(super) const DAYS: [&str; 4] = ["#8a5a00", "#35507d", "#4f6b2f", "#7a3f6d"];

/// Parts of a colour `#rrggbb`; black when it is not one.
pub(super) fn rgb(hex: &str) -> [u8; 3] {
    let part = |at: usize| {
        hex.get(at..at + 2)
            .and_then(|pair| u8::from_str_radix(pair, 16).ok())
            .unwrap_or(0)
    };
    [part(1), part(3), part(5)]
}

/// Contrast ratio of two colours, 1..=21.
pub(super) fn contrast(a: [u8; 3], b: [u8; 3]) -> f32 {
    let (a, b) = (relative_luminance(a), relative_luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// The better readable of black and white on a background.
pub(super) fn text_on(background: [u8; 3]) -> &'static str {
    if contrast(rgb(BLACK), background) >= contrast(rgb(WHITE), background) {
        BLACK
    } else {
        WHITE
    }
}

fn relative_luminance(colour: [u8; 3]) -> f32 {
    let [r, g, b] = colour.map(super::ramp::linear_from_srgb);
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn black_on_white_has_contrast_21() {
        assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-3);
    }

    /// WCAG 2.1, success criterion 1.4.3: 4.5:1 for text.
    #[test]
    fn text_colours_reach_4_5_on_paper_and_floor() {
        let mut texts = vec![INK, INK_SOFT, ACCENT, WALK, SUN];
        texts.extend(DAYS);
        for text in texts {
            for ground in [PAPER, FLOOR] {
                let ratio = contrast(rgb(text), rgb(ground));
                assert!(ratio >= 4.5, "{text} on {ground}: contrast {ratio}");
            }
        }
        let ratio = contrast(rgb(INK), rgb(TINT));
        assert!(ratio >= 4.5, "ink on tint: contrast {ratio}");
    }

    #[test]
    fn numbers_in_cells_reach_4_5_on_every_colour() {
        for step in 0..=255_u8 {
            let cell = super::super::ramp::colour(f32::from(step) / 255.0);
            let ratio = contrast(rgb(text_on(cell)), cell);
            assert!(ratio >= 4.5, "colour {step} of 255: contrast {ratio}");
        }
    }
}
