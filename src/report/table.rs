//! A table on a drawing.

use super::page::{MARGIN, WIDTH};
use super::palette;
use super::svg::{Anchor, Lettering, Look, Svg};
use super::typeface::{SLACK, Weight, width_px, wrap};

/// A header (lines parted by line breaks) and rows, columns as wide as they need; `right` says which are aligned right. Returns
/// the y below.
pub(super) fn table(
    svg: &mut Svg,
    header: &[String],
    rows: &[Vec<String>],
    right: &[bool],
    y: f32,
) -> f32 {
    const SIZE: f32 = 12.0;
    const PAD: f32 = 7.0;
    let cell = |row: &[String], i: usize| row.get(i).cloned().unwrap_or_default();
    let mut wide: Vec<f32> = (0..header.len())
        .map(|i| {
            let head = header[i]
                .split('\n')
                .map(|l| width_px(l, SIZE, Weight::SemiBold));
            let body = rows
                .iter()
                .map(|r| width_px(&cell(r, i), SIZE, Weight::Regular));
            SLACK * head.chain(body).fold(0.0, f32::max) + 2.0 * PAD + 1.0
        })
        .collect();
    // What is too wide is taken from the widest column, whose words wrap.
    let room = WIDTH - 2.0 * MARGIN;
    let total: f32 = wide.iter().sum();
    if total > room
        && let Some(widest) = (0..wide.len()).max_by(|a, b| wide[*a].total_cmp(&wide[*b]))
    {
        wide[widest] = (wide[widest] - (total - room)).max(60.0);
    }
    let x_of = |i: usize| MARGIN + wide[..i].iter().sum::<f32>();
    let put = |svg: &mut Svg, i: usize, y: f32, text: &str, look: Lettering| {
        if right.get(i).copied().unwrap_or(false) {
            svg.text(x_of(i) + wide[i] - PAD, y, text, look.anchor(Anchor::End));
        } else {
            svg.text(x_of(i) + PAD, y, text, look);
        }
    };
    let head_lines = header
        .iter()
        .map(|h| h.split('\n').count())
        .max()
        .unwrap_or(1);
    let mut y = y + 14.0;
    for (i, head) in header.iter().enumerate() {
        for (line, text) in head.split('\n').enumerate() {
            put(
                svg,
                i,
                y + 15.0 * line as f32,
                text,
                Lettering::new(SIZE).bold(),
            );
        }
    }
    y += 15.0 * (head_lines - 1) as f32 + 7.0;
    for row in rows {
        svg.line(
            (MARGIN, y),
            (WIDTH - MARGIN, y),
            Look::line(palette::HAIR, 0.8),
        );
        let lines: Vec<Vec<String>> = (0..header.len())
            .map(|i| {
                wrap(
                    &cell(row, i),
                    SIZE,
                    Weight::Regular,
                    wide[i] - 2.0 * PAD + 1.0,
                )
            })
            .collect();
        let count = lines.iter().map(Vec::len).max().unwrap_or(1).max(1);
        for (i, texts) in lines.iter().enumerate() {
            for (line, text) in texts.iter().enumerate() {
                put(
                    svg,
                    i,
                    y + 16.0 + 15.0 * line as f32,
                    text,
                    Lettering::new(SIZE),
                );
            }
        }
        y += 15.0 * count as f32 + 8.0;
    }
    svg.line(
        (MARGIN, y),
        (WIDTH - MARGIN, y),
        Look::line(palette::HAIR, 0.8),
    );
    y
}
