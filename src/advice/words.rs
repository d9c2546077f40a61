//! What places are called.

use crate::room::{Placement, RoomFile, Support, wall};

/// What a wall is called: "hall, north wall", or "hall, wall 2" where its space is gone.
pub fn wall_words(room: &RoomFile, space: &str, index: usize) -> String {
    let found = room.spaces.iter().find(|s| s.name == space);
    let Some(found) = found.filter(|s| index < s.outline_m.len()) else {
        return format!("{space}, wall {index}");
    };
    let side = |i: usize| {
        let outward = wall(found, i).outward_azimuth_rad(room.site.bearing_deg.to_radians());
        crate::study::compass(outward)
    };
    let toward = side(index);
    // Two walls of a space may face the same way.
    let alike = (0..found.outline_m.len())
        .filter(|i| side(*i) == toward)
        .count();
    if alike > 1 {
        format!("{space}, {toward} wall {index}")
    } else {
        format!("{space}, {toward} wall")
    }
}

/// The compass side of a wall's first corner: "west".
pub(crate) fn first_end(room: &RoomFile, space: &str, index: usize) -> &'static str {
    let found = room.spaces.iter().find(|s| s.name == space);
    found
        .filter(|s| index < s.outline_m.len())
        .map_or("first", |s| {
            let line = wall(s, index);
            let back = line.from - line.to;
            let bearing = f64::from(back.x.atan2(back.y)) + room.site.bearing_deg.to_radians();
            crate::study::compass(bearing)
        })
}

/// "hall, north wall, middle 5.40 m from its east end and 1.50 m up, turned 90 deg, mirrored".
pub fn placement_words(room: &RoomFile, placement: &Placement) -> String {
    placement_words_in(room, placement, &metres)
}

/// The same with lengths in words of the caller's units.
pub fn placement_words_in(
    room: &RoomFile,
    placement: &Placement,
    length: &dyn Fn(f32) -> String,
) -> String {
    let mut words = match &placement.on {
        Support::Wall {
            space,
            wall,
            along_m,
        } => format!(
            "{}, middle {} from its {} end and {} up",
            wall_words(room, space, *wall),
            length(*along_m),
            first_end(room, space, *wall),
            length(placement.centre_m)
        ),
        Support::Stand {
            at_m,
            facing_deg,
            lean_deg,
        } => {
            let lean = if *lean_deg == 0.0 {
                String::new()
            } else {
                format!(", leaning {lean_deg:.0} deg")
            };
            let bearing = f64::from(*facing_deg).to_radians() + room.site.bearing_deg.to_radians();
            format!(
                "standing at x {}, y {}, facing {}{lean}",
                length(at_m.0),
                length(at_m.1),
                crate::study::compass(bearing)
            )
        }
    };
    if placement.turn_deg.rem_euclid(360.0) != 0.0 {
        words += &format!(", turned {:.0} deg", placement.turn_deg.rem_euclid(360.0));
    }
    if placement.mirrored {
        words += ", mirrored";
    }
    words
}

/// Two decimals and the unit.
fn metres(value: f32) -> String {
    format!("{value:.2} m")
}
