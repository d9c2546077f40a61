//! What pictures are taken of: a walk by its name, a day, a sky, a size; with what is chosen where nothing is said.

use jiff::civil;
use miette::miette;

use crate::{advice::main_walk, room::BuiltRoom, sky::SKY_NAMES};

/// The walk (index) of a name or of a part of one that no other has; the one that most visitors take where left out.
pub(super) fn walk(room: &BuiltRoom, name: Option<&str>) -> miette::Result<usize> {
    let names: Vec<&str> = room.walks.iter().map(|w| w.walk.name.as_str()).collect();
    if names.is_empty() {
        return Err(miette!(
            help = "add a walk to the room file",
            "the room has no walk to stand on"
        ));
    }
    let Some(name) = name else {
        return Ok(main_walk(room));
    };
    let lower = name.to_lowercase();
    let same = names.iter().position(|n| n.to_lowercase() == lower);
    let like: Vec<usize> = (0..names.len())
        .filter(|i| names[*i].to_lowercase().contains(&lower))
        .collect();
    match (same, &like[..]) {
        (Some(index), _) => Ok(index),
        (None, [index]) => Ok(*index),
        (None, []) => Err(miette!(
            help = format!("walks of this room: {}", names.join("; ")),
            "no walk is named {name:?}"
        )),
        (None, several) => Err(miette!(
            help = "write more of the name",
            "{name:?} is part of {} walks: {}",
            several.len(),
            several
                .iter()
                .map(|i| names[*i])
                .collect::<Vec<_>>()
                .join("; ")
        )),
    }
}

/// A day; the first of the room's study where left out.
pub(super) fn day(room: &BuiltRoom, text: Option<&str>) -> miette::Result<civil::Date> {
    let text = match (text, room.file.study.days.first()) {
        (Some(text), _) => text,
        (None, Some(first)) => first,
        (None, None) => "2026-03-20",
    };
    text.parse()
        .map_err(|e| miette!(help = "write it as 2026-06-21", "{text:?} is no date: {e}"))
}

/// A sky; the first of the room's study where left out.
pub(super) fn sky(room: &BuiltRoom, text: Option<&str>) -> miette::Result<String> {
    let name = text
        .or_else(|| room.file.study.skies.first().map(String::as_str))
        .unwrap_or("clear")
        .to_lowercase();
    if SKY_NAMES.contains(&name.as_str()) {
        Ok(name)
    } else {
        Err(miette!(
            help = format!("known: {}", SKY_NAMES.join(", ")),
            "no sky is named {name:?}"
        ))
    }
}

/// A clock time [min after midnight]; `other` where left out.
pub(super) fn clock(text: Option<&str>, other: u32) -> miette::Result<u32> {
    let Some(text) = text else { return Ok(other) };
    crate::room::clock_min(text)
        .ok_or_else(|| miette!(help = "write it as 09:30", "{text:?} is no clock time"))
}

/// "1280x720" as pixels.
pub(super) fn size(text: &str) -> Result<[u32; 2], String> {
    let wrong = || format!("{text:?} is no size; write it as 1280x720");
    let (width, height) = text.split_once(['x', 'X', '×']).ok_or_else(wrong)?;
    let side = |text: &str| text.trim().parse::<u32>().map_err(|_| wrong());
    let (width, height) = (side(width)?, side(height)?);
    let in_range = |side: u32, most: u32| (16..=most).contains(&side);
    if in_range(width.max(height), 3840) && in_range(width.min(height), 2160) {
        Ok([width, height])
    } else {
        Err(format!(
            "{width} x {height} is out of range: 16 to 3840 pixels a side, the smaller side 2160 at most"
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_read_or_refused_kindly() {
        assert_eq!(size("1280x720"), Ok([1280, 720]));
        assert_eq!(size(" 853 X 479 "), Ok([853, 479]));
        for bad in ["1280", "ax9", "8x8", "4000x100", "3000x3000", "-5x20"] {
            assert!(size(bad).is_err(), "{bad}");
        }
    }
}
