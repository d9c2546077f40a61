//! Stretches in sentences that a client understands.

use super::{Cause, Flag, Instant, Stretch};
use crate::{room::BuiltRoom, room::Walk, scene::Station, transport::LightPart};

/// "tiles 12 to 31", "tile 7", "tiles 1 to 4, 9 and 12".
pub fn tile_words(ids: &[u32]) -> String {
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for id in ids {
        match runs.last_mut() {
            // A gap of one tile does not break a run that a person would point at.
            Some(run) if *id <= run.1 + 2 => run.1 = *id,
            _ => runs.push((*id, *id)),
        }
    }
    let word = if ids.len() == 1 { "tile" } else { "tiles" };
    if runs.len() > 4 {
        return format!(
            "{} tiles between {} and {}",
            ids.len(),
            runs[0].0,
            runs[runs.len() - 1].1
        );
    }
    let parts: Vec<String> = runs
        .iter()
        .map(|(a, b)| {
            if a == b {
                a.to_string()
            } else {
                format!("{a} to {b}")
            }
        })
        .collect();
    match parts.split_last() {
        Some((last, [])) => format!("{word} {last}"),
        Some((last, rest)) => format!("{word} {} and {last}", rest.join(", ")),
        None => "no tile".into(),
    }
}

/// "from the lift to the desk", "by the lift", "between 2.0 m and 4.5 m", "along the whole walk".
pub fn place_words(walk: &Walk, stations: &[Station], span: (usize, usize)) -> String {
    let (Some(first), Some(last)) = (stations.get(span.0), stations.get(span.1)) else {
        return String::new();
    };
    if span.0 == 0 && span.1 + 1 == stations.len() {
        return "along the whole walk".into();
    }
    let near = |at_m: f32| {
        walk.marks
            .iter()
            .map(|m| ((m.at_m - at_m).abs(), m.name.as_str()))
            .filter(|(d, _)| *d <= 0.8)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, name)| name)
    };
    let (a, b) = (first.distance_m, last.distance_m);
    let named = (near(a), near(b));
    if span.0 == span.1 || b - a < 0.6 {
        return named
            .0
            .map_or_else(|| format!("{a:.1} m along"), |name| format!("by {name}"));
    }
    match named {
        (Some(from), Some(to)) if from != to => format!("from {from} to {to}"),
        (Some(from), None) => format!("from {from} to {b:.1} m along"),
        (None, Some(to)) => format!("from {a:.1} m along to {to}"),
        _ => format!("between {a:.1} m and {b:.1} m along"),
    }
}

/// A source in words: "the sun through the east glass wall", "the spot S3".
pub fn source_words(room: &BuiltRoom, part: LightPart, sun_through: Option<usize>) -> String {
    match part {
        LightPart::Sun => match sun_through.and_then(|p| room.scene.panes.get(p)) {
            Some(pane) => format!("the sun through {}", pane.label),
            None => "the sun".into(),
        },
        LightPart::Pane(pane) => room
            .scene
            .panes
            .get(pane)
            .map_or("a window".into(), |p| format!("the light from {}", p.label)),
        LightPart::OpenSky => "the open sky".into(),
        LightPart::Fixture(f) => room
            .scene
            .fixtures
            .get(f)
            .map_or("a lamp".into(), |f| format!("the lamp {}", f.label)),
        LightPart::Room => "the bright surfaces of the room".into(),
    }
}

/// Sun heights in words, as they are seen.
fn sun_adjective(instants: &[Instant]) -> &'static str {
    let highest = instants
        .iter()
        .map(|i| i.sun.apparent_elevation_rad.to_degrees())
        .fold(f64::MIN, f64::max);
    if highest < 20.0 {
        "low "
    } else if highest > 50.0 {
        "high "
    } else {
        ""
    }
}

/// "10:00", "09:30 to 10:15", "all day".
fn time_words(instants: &[Instant], span: (usize, usize)) -> String {
    let show = |m: u32| format!("{:02}:{:02}", (m / 60) % 24, m % 60);
    let (Some(first), Some(last)) = (instants.get(span.0), instants.get(span.1)) else {
        return String::new();
    };
    if span.0 == 0 && span.1 + 1 == instants.len() && instants.len() > 2 {
        return "all studied hours".into();
    }
    if span.0 == span.1 {
        return format!("about {}", show(first.clock_min));
    }
    format!("{} to {}", show(first.clock_min), show(last.clock_min))
}

/// The sentence of one stretch.
pub(super) fn sentence(
    room: &BuiltRoom,
    walk: &Walk,
    stations: &[Station],
    instants: &[Instant],
    stretch: &Stretch,
) -> String {
    let when = time_words(instants, stretch.instants);
    let place = place_words(walk, stations, stretch.stations);
    let within = instants
        .get(stretch.instants.0..=stretch.instants.1)
        .unwrap_or(&[]);
    format!("{when}, {place}: {}", reason(room, within, stretch))
}

/// Why one flag was raised at one instant, as a sentence without place and time.
pub fn flag_words(room: &BuiltRoom, instant: &Instant, flag: &Flag) -> String {
    reason(room, std::slice::from_ref(instant), &Stretch::of(flag))
}

/// What is wrong in a stretch that lies within some instants.
fn reason(room: &BuiltRoom, within: &[Instant], stretch: &Stretch) -> String {
    let sun_through = stretch.through;
    let source = |part| {
        let words = source_words(room, part, sun_through);
        if part == LightPart::Sun {
            words.replacen("the sun", &format!("the {}sun", sun_adjective(within)), 1)
        } else {
            words
        }
    };
    let pane = |p: usize| {
        room.scene
            .panes
            .get(p)
            .map_or("a window", |p| p.label.as_str())
    };
    let lamp = |f: usize| {
        room.scene
            .fixtures
            .get(f)
            .map_or("a lamp", |f| f.label.as_str())
    };
    let tiles = tile_words(&stretch.tiles);
    let peak = crate::measure::format::luminance(f64::from(stretch.luminance_cd_m2));
    match stretch.cause {
        Cause::TooDark if within.iter().all(|i| i.sun.apparent_elevation_rad <= 0.0) => {
            "the sun is down and too little lamp light falls on the piece to see it".into()
        }
        Cause::TooDark => "too little light falls on the piece to see it".into(),
        Cause::EvenLight => "light comes from all sides alike, so neighbouring tiles look the same and the pattern is lost".into(),
        Cause::Veiled(part) => format!("{} shines into the eye and veils the pattern", source(part)),
        Cause::EqualTiles => "from here neighbouring tiles throw the light alike, and the pattern is lost".into(),
        Cause::TooSmall => "the tiles are too small to tell apart from here".into(),
        Cause::Behind => "the piece is seen from behind".into(),
        Cause::BrightView => "the view as a whole is too bright for comfort".into(),
        Cause::Overpowering => "a few tiles are so bright that they drown the rest of the pattern".into(),
        Cause::Hidden => {
            let what = stretch.behind.and_then(|s| room.scene.surfaces.get(s)).map_or("something", |s| s.label.as_str());
            format!("{what} stands between the eye and the piece")
        }
        Cause::TooFlat => "the piece is seen almost edge-on".into(),
        Cause::Glint(LightPart::Room) => format!("{tiles} mirror the bright surfaces of the room (up to {peak})"),
        Cause::Glint(part) => format!("{} is mirrored by {tiles} (up to {peak})", source(part)),
        Cause::SunInView => format!("the {}sun shines into the eye{}", sun_adjective(within), sun_through.map_or(String::new(), |p| format!(" through {}", pane(p)))),
        Cause::BrightPane(p) => format!("{} is too bright beside the piece", pane(p)),
        Cause::BrightOpening(f) => format!("the eye looks into the lamp {} ({peak})", lamp(f)),
        Cause::BrightFixtures(f) => format!("the lamps are too bright against the room, most of all {}", lamp(f)),
        Cause::MirrorImage(part) => format!("the mirror image of {} stands in {tiles}", source(part)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tiles_are_told_in_runs() {
        assert_eq!(tile_words(&[7]), "tile 7");
        assert_eq!(tile_words(&[12, 13, 14, 15]), "tiles 12 to 15");
        assert_eq!(
            tile_words(&[1, 2, 9, 20, 21]),
            "tiles 1 to 2, 9 and 20 to 21"
        );
        assert_eq!(tile_words(&[1, 10, 20, 30, 40]), "5 tiles between 1 and 40");
    }
}
