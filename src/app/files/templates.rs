//! Rooms to begin with.

/// A room to begin with.
#[derive(Clone, Copy, Debug)]
pub struct Template {
    /// Its name.
    pub name: &'static str,
    /// What it is good for.
    pub about: &'static str,
    /// The room file.
    pub text: &'static str,
}

/// All of them, the plainest first.
pub const TEMPLATES: [Template; 4] = [
    Template {
        name: "A plain room",
        about: "One room with a window, a door, two spots and a small piece: a start for your own",
        text: include_str!("../../../assets/templates/plain-room.ron"),
    },
    Template {
        name: "Ferry hall (demo)",
        about: "A two-storey hall with a glass wall, and herringbone in ribbon sycamore",
        text: include_str!("../../../rooms/ferry-hall.ron"),
    },
    Template {
        name: "Tunnel walk (demo)",
        about: "A passage without daylight, with brushed metal under track spots",
        text: include_str!("../../../rooms/tunnel-walk.ron"),
    },
    Template {
        name: "Stair court (demo)",
        about: "A court with stairs under a rooflight, and ridged concrete",
        text: include_str!("../../../rooms/stair-court.ron"),
    },
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::room::{NoFiles, build, parse_room, validate};

    #[test]
    fn every_template_is_sound_and_needs_no_other_file() {
        for template in TEMPLATES {
            let room = parse_room(template.text, template.name).unwrap();
            validate(&room, template.text, template.name).unwrap();
            let built = build(room, &mut NoFiles).unwrap();
            assert!(
                built.notes.is_empty(),
                "{}: {:?}",
                template.name,
                built.notes
            );
            assert!(!built.tiling.tiles.is_empty());
        }
    }
}
