//! Writing SVG text: shapes, text, numbers and escapes.
//!
//! Coordinates are drawing pixels, x right, y down, rounded to 1/100. Everything that comes from
//! a user passes through [`escape`].

use std::fmt::Write as _;

use super::palette;
use super::typeface::{FAMILY_LIST, Weight};

/// Where a text's x lies in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    /// At its left end.
    Start,
    /// In its middle.
    Middle,
    /// At its right end.
    End,
}

/// Look of a text.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lettering {
    pub size_px: f32,
    pub weight: Weight,
    pub colour: &'static str,
    pub anchor: Anchor,
}

impl Lettering {
    /// Running text from its left end.
    pub const fn new(size_px: f32) -> Self {
        Self {
            size_px,
            weight: Weight::Regular,
            colour: palette::INK,
            anchor: Anchor::Start,
        }
    }
    pub const fn bold(self) -> Self {
        Self {
            weight: Weight::SemiBold,
            ..self
        }
    }
    pub const fn colour(self, colour: &'static str) -> Self {
        Self { colour, ..self }
    }
    pub const fn anchor(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }
}

/// Look of a shape: fill and stroke colours (`none` allowed), line width [px], further attributes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Look {
    pub fill: &'static str,
    pub stroke: &'static str,
    pub width_px: f32,
    /// Attributes as they stand in the SVG, for example ` stroke-dasharray="4 3"`.
    pub extra: &'static str,
}

impl Look {
    pub const fn fill(fill: &'static str) -> Self {
        Self {
            fill,
            stroke: "none",
            width_px: 0.0,
            extra: "",
        }
    }
    pub const fn line(stroke: &'static str, width_px: f32) -> Self {
        Self {
            fill: "none",
            stroke,
            width_px,
            extra: "",
        }
    }
    pub const fn filled(self, fill: &'static str) -> Self {
        Self { fill, ..self }
    }
    pub const fn extra(self, extra: &'static str) -> Self {
        Self { extra, ..self }
    }
    fn attributes(&self) -> String {
        if self.stroke == "none" {
            format!(r#"fill="{}"{}"#, self.fill, self.extra)
        } else {
            format!(
                r#"fill="{}" stroke="{}" stroke-width="{}"{}"#,
                self.fill,
                self.stroke,
                num(self.width_px),
                self.extra
            )
        }
    }
}

/// Stands for a prefix that [`Svg::finish`] makes from the drawing itself, so that several drawings can
/// share one web page. [`escape`] never lets it through from a user.
pub(super) const ID_PREFIX: char = '\u{1}';

/// A drawing in the making.
#[derive(Debug, Default)]
pub(super) struct Svg {
    body: String,
    defs: String,
}

impl Svg {
    pub fn new() -> Self {
        Self::default()
    }

    /// Appends SVG text as it is.
    pub fn raw(&mut self, text: &str) {
        self.body.push_str(text);
        self.body.push('\n');
    }

    /// Appends a definition (clip path) as it is.
    pub fn define(&mut self, text: &str) {
        self.defs.push_str(text);
        self.defs.push('\n');
    }

    pub fn rect(&mut self, x: f32, y: f32, width: f32, height: f32, look: Look) {
        let (x, y, w, h) = (num(x), num(y), num(width), num(height));
        let look = look.attributes();
        self.raw(&format!(
            r#"<rect x="{x}" y="{y}" width="{w}" height="{h}" {look}/>"#
        ));
    }

    pub fn line(&mut self, from: (f32, f32), to: (f32, f32), look: Look) {
        let d = format!(
            "M{} {}L{} {}",
            num(from.0),
            num(from.1),
            num(to.0),
            num(to.1)
        );
        self.path(&d, look);
    }

    pub fn path(&mut self, d: &str, look: Look) {
        let look = look.attributes();
        self.raw(&format!(r#"<path d="{d}" {look}/>"#));
    }

    pub fn circle(&mut self, centre: (f32, f32), radius: f32, look: Look) {
        let (x, y, r) = (num(centre.0), num(centre.1), num(radius));
        let look = look.attributes();
        self.raw(&format!(r#"<circle cx="{x}" cy="{y}" r="{r}" {look}/>"#));
    }

    /// One line of text with its baseline at `y`; empty text draws nothing.
    pub fn text(&mut self, x: f32, y: f32, text: &str, lettering: Lettering) {
        let text = escape(text);
        if text.trim().is_empty() {
            return;
        }
        let anchor = match lettering.anchor {
            Anchor::Start => "",
            Anchor::Middle => r#" text-anchor="middle""#,
            Anchor::End => r#" text-anchor="end""#,
        };
        let weight = match lettering.weight {
            Weight::Regular => String::new(),
            heavy => format!(r#" font-weight="{}""#, heavy.css()),
        };
        self.raw(&format!(
            r#"<text x="{}" y="{}" font-size="{}"{weight}{anchor} fill="{}">{text}</text>"#,
            num(x),
            num(y),
            num(lettering.size_px),
            lettering.colour
        ));
    }

    /// Lines of text below one another; returns the baseline that a next line would have.
    pub fn lines(
        &mut self,
        x: f32,
        y: f32,
        lines: &[String],
        leading_px: f32,
        lettering: Lettering,
    ) -> f32 {
        let mut baseline = y;
        for line in lines {
            self.text(x, baseline, line, lettering);
            baseline += leading_px;
        }
        baseline
    }

    /// Opens a group clipped to a path; the name is unique within the drawing.
    pub fn clip_begin(&mut self, name: &str, d: &str) {
        self.define(&format!(
            r#"<clipPath id="{ID_PREFIX}{name}"><path d="{d}"/></clipPath>"#
        ));
        self.raw(&format!(r#"<g clip-path="url(#{ID_PREFIX}{name})">"#));
    }

    /// Closes what [`Svg::clip_begin`] opened.
    pub fn clip_end(&mut self) {
        self.raw("</g>");
    }

    /// The whole file, `width` x `height` px, on paper.
    pub fn finish(self, width: f32, height: f32, title: &str, description: &str) -> String {
        self.finish_over(Some(palette::PAPER), width, height, title, description)
    }

    /// The same over a ground of some colour, or over whatever lies below.
    pub fn finish_over(
        self,
        ground: Option<&str>,
        width: f32,
        height: f32,
        title: &str,
        description: &str,
    ) -> String {
        let (w, h) = (num(width), num(height));
        let mut out = String::with_capacity(self.body.len() + self.defs.len() + 800);
        let _ = writeln!(
            out,
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="{w}" height="{h}" viewBox="0 0 {w} {h}" role="img" font-family="{FAMILY_LIST}">"#
        );
        let _ = writeln!(out, "<title>{}</title>", escape(title));
        let _ = writeln!(out, "<desc>{}</desc>", escape(description));
        if !self.defs.is_empty() {
            let _ = writeln!(out, "<defs>\n{}</defs>", self.defs);
        }
        if let Some(ground) = ground {
            let _ = writeln!(out, r#"<rect width="{w}" height="{h}" fill="{ground}"/>"#);
        }
        out.push_str(&self.body);
        out.push_str("</svg>\n");
        let prefix = format!("d{:08x}-", fnv1a(out.as_bytes()));
        out.replace(ID_PREFIX, &prefix)
    }
}

/// FNV-1a hash, 32 bits (G. Fowler, L. C. Noll, K.-P. Vo; constants from memory); only to tell drawings apart.
fn fnv1a(bytes: &[u8]) -> u32 {
    bytes.iter().fold(0x811c_9dc5, |hash, byte| {
        (hash ^ u32::from(*byte)).wrapping_mul(0x0100_0193)
    })
}

/// A coordinate with at most two decimals; what is not finite becomes 0.
pub(super) fn num(value: f32) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    match text {
        "-0" | "" => "0".to_owned(),
        text => text.to_owned(),
    }
}

/// Text made safe for XML: the five reserved signs escaped, tabs and line breaks to spaces, and the
/// characters that XML 1.0 (production 2, Char) does not allow, and other controls, dropped.
pub(super) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if c.is_control() => {}
            '\u{fffe}' | '\u{ffff}' => {}
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reserved_signs_are_escaped_and_controls_dropped() {
        assert_eq!(
            escape("a<b>&\"'\u{0}\u{7}\u{1b}\u{7f}\u{85}\u{ffff}\tc\n"),
            "a&lt;b&gt;&amp;&quot;&apos; c "
        );
    }

    #[test]
    fn numbers_are_short_and_finite() {
        assert_eq!(num(1.0), "1");
        assert_eq!(num(-0.001), "0");
        assert_eq!(num(12.345), "12.35");
        assert_eq!(num(100.0), "100");
        assert_eq!(num(f32::NAN), "0");
        assert_eq!(num(f32::INFINITY), "0");
    }
}
