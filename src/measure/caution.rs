//! Sentences that every report carries about what it is not.
//!
//! Plain words of our own; the numbers that a sentence names are from memory of the standard it names. Each
//! list is in the order in which a report prints it.

/// What kind of document this is, and what it leaves to others. In every report.
pub const ALWAYS: &[&str] = &[
    "This is a study of appearance: it predicts what visitors see, and it certifies nothing.",
    "Emergency, exit and escape-route lighting are legal systems and are not covered here; they must be designed and \
     tested on their own, whatever this report says about the room.",
    "Fixture positions, electrical loads, cable routes, fire ratings and fixing loads have not been checked.",
    "Wiring and fixtures are for a licensed electrician, under the local electrical code.",
    "The weight of the piece and of what hangs beside it, and everything they are fixed to, are for the building's \
     structural engineer.",
    "Where local codes or the building's own rules differ from this report, they rule.",
    "The numbers are predictions with the tolerances stated beside them; measure on site after installation.",
    "Limits are named with their source, or marked as common practice or as this project's own choice.",
];

/// Where visitors walk past a bright or glossy piece.
pub const ESCAPE_ROUTES: &[&str] = &[
    "A lustrous piece must not hide, outshine or mirror an exit sign, and must not throw glints onto an escape route.",
];

/// Where a tile can reflect the sun or a bright lamp to an eye.
pub const EYES: &[&str] = &[
    "Eye safety is not certified: a mirror-like tile in direct sun, and any glint listed here, needs a look on site \
     before opening.",
    "Discomfort indices were made for large sources; for a small glint, its luminance, its size and how long it lasts \
     say more than the index does.",
    "Fixtures close to visitors' eyes need their photobiological risk group checked (IEC 62471).",
    "Predictions of contrast do not hold while the sun itself, or its mirror image, is in view.",
];

/// Where metal gets direct sun.
pub const THROWN_SUN: &[&str] = &[
    "Sun thrown by metal toward stairs, roads or neighbours is a hazard, listed one by one and never averaged away.",
    "Curved metal can gather sunlight; keep people, fabrics and finishes away from where it does.",
];

/// Where a piece is of wood or another material that light harms.
pub const LIGHT_DAMAGE: &[&str] = &[
    "Light fades and yellows wood, dyes and varnish; what dose it may have in a year is for a conservator to judge.",
    "Limits of illuminance and dose follow CIE 157:2004, quoted from memory.",
    "Ultraviolet is not computed: filter daylight and choose lamps that give next to none.",
    "Lamps and direct sun heat wood; keep fixtures at their maker's distance from it and mind drying and joints.",
];

/// Where light comes through windows.
pub const DAYLIGHT: &[&str] = &[
    "Standard skies stand for many real ones; a day of broken cloud changes more from minute to minute than from \
     model to model.",
    "Results hold for an eye used to the room; a visitor who steps in from daylight sees less for some minutes.",
];

/// What is true of a scene, so that a report says what applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CautionTopics {
    /// A lustrous piece hangs where people walk.
    pub walks: bool,
    /// A tile glints, or mirrors the sun, somewhere.
    pub glints: bool,
    /// Metal gets direct sun.
    pub sun_on_metal: bool,
    /// Some tile is of a material that light harms.
    pub light_sensitive: bool,
    /// The room has openings.
    pub daylight: bool,
}

/// The sentences for a scene, in order: what always holds, then what its topics ask for.
pub fn sentences(topics: CautionTopics) -> Vec<&'static str> {
    [
        (true, ALWAYS),
        (topics.walks, ESCAPE_ROUTES),
        (topics.glints, EYES),
        (topics.sun_on_metal, THROWN_SUN),
        (topics.light_sensitive, LIGHT_DAMAGE),
        (topics.daylight, DAYLIGHT),
    ]
    .into_iter()
    .filter(|(applies, _)| *applies)
    .flat_map(|(_, list)| list.iter().copied())
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const EVERYTHING: CautionTopics = CautionTopics {
        walks: true,
        glints: true,
        sun_on_metal: true,
        light_sensitive: true,
        daylight: true,
    };

    #[test]
    fn every_report_defers_to_those_who_certify() {
        let text = sentences(CautionTopics::default()).join(" ");
        for word in [
            "Emergency",
            "licensed electrician",
            "structural engineer",
            "local codes",
            "tolerances",
        ] {
            assert!(text.contains(word), "{word} is missing");
        }
    }

    #[test]
    fn topics_add_their_sentences() {
        let text = sentences(EVERYTHING).join(" ");
        for word in [
            "conservator",
            "Eye safety",
            "exit sign",
            "stairs, roads",
            "heat wood",
            "Ultraviolet",
        ] {
            assert!(text.contains(word), "{word} is missing");
        }
        assert!(
            !sentences(CautionTopics::default())
                .join(" ")
                .contains("conservator")
        );
    }

    #[test]
    fn sentences_are_whole_and_single_spaced() {
        for sentence in sentences(EVERYTHING) {
            assert!(
                sentence.ends_with('.') && !sentence.contains("  "),
                "{sentence}"
            );
        }
    }
}
