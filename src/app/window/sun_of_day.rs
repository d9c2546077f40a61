//! Where the sun stands through the day of the clock.

use bevy::prelude::*;

use crate::{
    app::state::{Desk, Moment, Showing},
    room::BuiltRoom,
    study::StudyRequest,
};

/// Minutes between two places of the sun.
const STEP_MIN: u32 = 10;

/// Directions to the sun by minute of the day, with the day and the room that they are for.
#[derive(Resource, Default)]
pub(super) struct SunOfDay {
    of: Option<(jiff::civil::Date, u64)>,
    /// Minute and direction to the sun, world, unit.
    pub list: Vec<(u32, Vec3)>,
}

/// Places the sun when its path is shown and the day or the room is another.
pub(super) fn place_sun(
    showing: Res<Showing>,
    moment: Res<Moment>,
    desk: Res<Desk>,
    mut sun: ResMut<SunOfDay>,
) {
    let Some((revision, built)) = &desk.live().built else {
        return;
    };
    let of = (moment.clock.date, *revision);
    if showing.sun_path && sun.of != Some(of) {
        sun.list = path(built, moment.clock.date);
        sun.of = Some(of);
    }
}

fn path(built: &BuiltRoom, date: jiff::civil::Date) -> Vec<(u32, Vec3)> {
    let request = StudyRequest {
        days: vec![date],
        from_min: 0,
        to_min: 24 * 60 - 1,
        step_min: STEP_MIN,
        skies: Vec::new(),
    };
    let bearing_rad = built.file.site.bearing_deg.to_radians();
    // A zone that is not known is a problem of the room and told there.
    let instants = request
        .instants(date, built, &mut Vec::new())
        .unwrap_or_default();
    instants
        .iter()
        .map(|i| (i.clock_min, i.sun.to_sun_dir(bearing_rad)))
        .collect()
}
