//! The bundled typeface: family names, files, and advance widths for wrapping and placing text.
//!
//! Input: text and a size [px]; output: widths [px]. Widths are the sum of the advances in the font
//! file's `hmtx` table for the glyphs of its `cmap` table (format 4), as laid down in ISO/IEC 14496-22
//! (Open Font Format). Kerning is left out: it mostly narrows text. A browser without the typeface
//! takes another from the list, so wrapping leaves some room ([`SLACK`]).
//! Limits: no bidirectional text, no vertical text.

use std::sync::OnceLock;

/// Name of the bundled family.
pub const FAMILY: &str = "Lustrewalk Sans";

/// Value of `font-family`: the bundled family, then common relatives with similar widths.
pub const FAMILY_LIST: &str =
    "'Lustrewalk Sans', Lato, Carlito, 'Segoe UI', 'Helvetica Neue', Arial, sans-serif";

/// Regular weight, TrueType file.
pub static REGULAR_TTF: &[u8] = include_bytes!("../../assets/fonts/LustrewalkSans-Regular.ttf");

/// Semi-bold weight, TrueType file.
pub static SEMI_BOLD_TTF: &[u8] = include_bytes!("../../assets/fonts/LustrewalkSans-SemiBold.ttf");

/// Share by which measured widths grow before text is wrapped, for stand-in fonts [1].
pub const SLACK: f32 = 1.04;

/// Height of capitals [em]; `OS/2` table of the bundled files (1433 of 2000 units).
pub const CAP_HEIGHT_EM: f32 = 0.717;

/// Weight of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Running text.
    Regular,
    /// Titles, names and letters of flags.
    SemiBold,
}

impl Weight {
    /// Value of the attribute `font-weight`.
    pub fn css(self) -> u16 {
        match self {
            Weight::Regular => 400,
            Weight::SemiBold => 600,
        }
    }
}

/// Width of one line of text [px] at `size_px`; letters outside the typeface count one em.
pub fn width_px(text: &str, size_px: f32, weight: Weight) -> f32 {
    let advances = advances(weight);
    text.chars()
        .map(|c| advances.em(c).unwrap_or(1.0))
        .sum::<f32>()
        * size_px
}

/// Breaks `text` at spaces into lines no wider than `max_px`; a word that is wider is broken inside.
///
/// Returns at least one line; line breaks in the text count as spaces.
pub fn wrap(text: &str, size_px: f32, weight: Weight, max_px: f32) -> Vec<String> {
    let fits = |line: &str| width_px(line, size_px, weight) * SLACK <= max_px;
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let joined = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if fits(&joined) {
            line = joined;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if !fits(&line) && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::replace(&mut line, c.to_string()));
            }
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// Letters of `text` that the typeface does not have, each once, in order of first use.
pub fn missing(text: &str) -> Vec<char> {
    let advances = advances(Weight::Regular);
    let mut found = Vec::new();
    for c in text.chars() {
        if !c.is_control() && !c.is_whitespace() && advances.em(c).is_none() && !found.contains(&c)
        {
            found.push(c);
        }
    }
    found
}

/// Advance widths of a font by code point, sorted.
struct Advances(Vec<(u32, f32)>);

impl Advances {
    fn em(&self, c: char) -> Option<f32> {
        let at = self
            .0
            .binary_search_by_key(&u32::from(c), |entry| entry.0)
            .ok()?;
        self.0.get(at).map(|entry| entry.1)
    }
}

fn advances(weight: Weight) -> &'static Advances {
    static REGULAR: OnceLock<Advances> = OnceLock::new();
    static SEMI_BOLD: OnceLock<Advances> = OnceLock::new();
    match weight {
        Weight::Regular => REGULAR.get_or_init(|| Advances(read(REGULAR_TTF).unwrap_or_default())),
        Weight::SemiBold => {
            SEMI_BOLD.get_or_init(|| Advances(read(SEMI_BOLD_TTF).unwrap_or_default()))
        }
    }
}

fn u16_at(data: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes([*data.get(at)?, *data.get(at + 1)?]))
}

fn u32_at(data: &[u8], at: usize) -> Option<u32> {
    Some(u32::from(u16_at(data, at)?) << 16 | u32::from(u16_at(data, at + 2)?))
}

/// A table of the font file by its four-letter tag (Open Font Format, table directory).
fn table<'a>(font: &'a [u8], tag: &[u8; 4]) -> Option<&'a [u8]> {
    let count = usize::from(u16_at(font, 4)?);
    (0..count).map(|i| 12 + 16 * i).find_map(|at| {
        if font.get(at..at + 4)? != tag {
            return None;
        }
        let start = u32_at(font, at + 8)? as usize;
        font.get(start..start + u32_at(font, at + 12)? as usize)
    })
}

/// All code points with their advance [em], from `cmap` format 4, `hmtx`, `hhea` and `head`.
fn read(font: &[u8]) -> Option<Vec<(u32, f32)>> {
    let units_per_em = f32::from(u16_at(table(font, b"head")?, 18)?);
    let metric_count = usize::from(u16_at(table(font, b"hhea")?, 34)?);
    let hmtx = table(font, b"hmtx")?;
    let advance = |glyph: u16| {
        let index = usize::from(glyph).min(metric_count.saturating_sub(1));
        Some(f32::from(u16_at(hmtx, 4 * index)?) / units_per_em)
    };
    let cmap = table(font, b"cmap")?;
    let sub = (0..usize::from(u16_at(cmap, 2)?)).find_map(|i| {
        let at = u32_at(cmap, 4 + 8 * i + 4)? as usize;
        (u16_at(cmap, at)? == 4).then(|| cmap.get(at..)).flatten()
    })?;
    let segments = usize::from(u16_at(sub, 6)?) / 2;
    let (ends, starts) = (14, 16 + 2 * segments);
    let (deltas, offsets) = (16 + 4 * segments, 16 + 6 * segments);
    let mut found = Vec::new();
    for i in 0..segments {
        let (start, end) = (u16_at(sub, starts + 2 * i)?, u16_at(sub, ends + 2 * i)?);
        let (delta, offset) = (u16_at(sub, deltas + 2 * i)?, u16_at(sub, offsets + 2 * i)?);
        for code in start..=end {
            let glyph = if offset == 0 {
                code.wrapping_add(delta)
            } else {
                let at = offsets + 2 * i + usize::from(offset) + 2 * usize::from(code - start);
                match u16_at(sub, at).unwrap_or(0) {
                    0 => 0,
                    glyph => glyph.wrapping_add(delta),
                }
            };
            if glyph != 0 {
                found.push((u32::from(code), advance(glyph)?));
            }
        }
    }
    found.sort_by_key(|entry| entry.0);
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: advances printed by an independent font tool for the bundled files: digits 1160 and
    /// the space 386 of 2000 units a em. Tolerance: rounding of f32.
    #[test]
    fn digits_are_tabular_and_match_the_font_file() {
        for weight in [Weight::Regular, Weight::SemiBold] {
            for digit in "0123456789".chars() {
                let width = width_px(&digit.to_string(), 2000.0, weight);
                assert!(
                    (width - 1160.0).abs() < 0.5,
                    "{digit} is {width} units wide"
                );
            }
        }
    }

    #[test]
    fn signs_of_the_trade_are_in_the_typeface() {
        let signs = missing("Łódź – Ø1,2 m · 36° · ≥ 300 lx · τ=0,7 m² × → ↑ ↓ − ′ ″ ±");
        assert!(signs.is_empty(), "{signs:?}");
        assert_eq!(missing("寄木 a 寄\n"), ['寄', '木']);
    }

    #[test]
    fn wrapped_lines_fit_and_lose_nothing() {
        let text = "The low sun in the south window shines off the tiles Unterbrechungslosigkeitsnachweisverfahren toward the desk";
        let lines = wrap(text, 14.0, Weight::Regular, 150.0);
        for line in &lines {
            let width = width_px(line, 14.0, Weight::Regular);
            assert!(width <= 150.0, "{line:?} is {width} px wide");
        }
        let letters = |t: &str| t.chars().filter(|c| !c.is_whitespace()).collect::<String>();
        assert_eq!(letters(&lines.concat()), letters(text));
        assert_eq!(wrap("", 14.0, Weight::Regular, 150.0), [""]);
    }
}
