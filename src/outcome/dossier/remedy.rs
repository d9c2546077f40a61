//! What can be done about each cause of a dead or glaring stretch, in one sentence.
//!
//! Trade knowledge in our own words (common practice, no source); the search commands find and check what suits.

use crate::{
    room::BuiltRoom,
    study::{Cause, source_words},
    transport::LightPart,
};

/// One sentence for whoever plans: what to try first.
pub fn remedy(room: &BuiltRoom, cause: Cause) -> String {
    let source = |part: LightPart| source_words(room, part, None);
    let lamp = |index: usize| source(LightPart::Fixture(index));
    match cause {
        Cause::TooDark => {
            "light the piece at these hours: a lamp aimed at it, or lit for longer".into()
        }
        Cause::EvenLight => "light it from one side: one narrow lamp set aside, less light from all around; compare with another wall".into(),
        Cause::EqualTiles => {
            "turn the grain of some tiles, or light the piece from another side".into()
        }
        Cause::TooSmall => "a view from afar: accept it, or cut larger tiles".into(),
        Cause::Veiled(part) => format!("shade or dim {}, or hang the piece away from it", source(part)),
        Cause::Hidden => "no light helps: accept it, or move what stands between".into(),
        Cause::TooFlat => "seen from the side: accept it, or hang the piece across the walk".into(),
        Cause::Behind => "the walk passes behind the piece: accept it".into(),
        Cause::Glint(LightPart::Sun) => {
            "a blind at these hours, or turn the tiles named; look on site before opening".into()
        }
        Cause::Glint(LightPart::Fixture(index)) => format!(
            "move or dim {} so that its light goes past the eyes, or turn the tiles named",
            lamp(index)
        ),
        Cause::Glint(part) => format!("dim {} with a blind, or turn the tiles named", source(part)),
        Cause::SunInView => {
            "a blind at these hours, if it disturbs; the piece is not to blame".into()
        }
        Cause::BrightPane(index) => format!(
            "a blind or screen at {}, or more light on the piece beside it",
            source(LightPart::Pane(index))
        ),
        Cause::Overpowering => "dim the light on these tiles, or turn them".into(),
        Cause::BrightView => "less light in the view as a whole: blinds at these hours".into(),
        Cause::BrightOpening(index) => format!(
            "shield {} with a louvre or a longer snoot, or move it out of the line of sight",
            lamp(index)
        ),
        Cause::BrightFixtures(index) => format!(
            "dim or shield the lamps, {} first, or light the room around them",
            lamp(index)
        ),
        Cause::MirrorImage(LightPart::Fixture(index)) => format!(
            "move {} so that its mirror image falls below the eyes or beside the piece",
            lamp(index)
        ),
        Cause::MirrorImage(part) => {
            format!("a duller finish, or a blind at {}", source(part))
        }
    }
}
