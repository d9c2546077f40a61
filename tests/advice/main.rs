//! Advice in rooms whose answer is known: by symmetry, by the mirror law, by trying everything, by closed form.

#![allow(
    clippy::unwrap_used,
    reason = "in helpers of tests a panic is the failure"
)]

mod aim;
mod grain;
mod rank;
mod schedule;

use std::sync::Arc;

use lustrewalk::{
    advice::{Fineness, Hours, Judgement, Lamps, judge},
    room::{BuiltRoom, NoFiles, RoomFile, build, parse_room, validate},
    study::StudyRequest,
    transport::{Progress, RoomLight, RoomLightSettings},
};

/// The room of `tests/data/small_room.ron`: a window to the south, a spot, a piece of twelve plates on the west wall.
fn small() -> RoomFile {
    parse_room(include_str!("../data/small_room.ron"), "small_room.ron").unwrap()
}

/// A room as its file would be read: checked, then built.
fn built(file: RoomFile) -> Arc<BuiltRoom> {
    let text = lustrewalk::room::write_room(&file).unwrap();
    validate(&file, &text, "room").unwrap();
    Arc::new(build(file, &mut NoFiles).unwrap())
}

fn request(room: &BuiltRoom) -> StudyRequest {
    StudyRequest::for_room(room, &[], None, None, None, &[]).unwrap()
}

/// A full judgement of a room.
fn judged(room: &Arc<BuiltRoom>, seed: u32) -> Judgement {
    let light = Arc::new(
        RoomLight::prepare(
            room.scene.clone(),
            RoomLightSettings::default(),
            &Progress::default(),
        )
        .unwrap(),
    );
    let fineness = Fineness::full(seed);
    let hours = Hours::solve(
        room,
        &light,
        &request(room),
        (fineness.step_min, fineness.most_groups),
        &Progress::default(),
    )
    .unwrap();
    let lamps = Lamps::solve(room, light).unwrap();
    judge(room, &lamps, &hours, &fineness, &Progress::default()).unwrap()
}
