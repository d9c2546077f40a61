//! Pictures from given eyes at given moments, each as its own eye is adapted.

use std::sync::Arc;

use rayon::prelude::*;

use super::{Drawer, FilmError};
use crate::{
    room::BuiltRoom,
    scene::Station,
    study::StationReading,
    transport::{Progress, RoomLight},
    video::{Moment, Rgba, Stage},
};

/// One picture.
#[derive(Clone, Debug)]
pub struct Shot {
    /// Index of the walk.
    pub walk: usize,
    /// The eye.
    pub eye: Station,
    /// The moment.
    pub moment: Moment,
    /// Width and height [pixels].
    pub size: [u32; 2],
}

/// Draws pictures one after the other; those of one moment and size should follow each other. `take` is given each with
/// what its eye reads.
///
/// # Errors
/// [`FilmError`].
pub fn draw_shots(
    (room, light): (&Arc<BuiltRoom>, &Arc<RoomLight>),
    shots: &[Shot],
    progress: &Progress,
    take: &mut dyn FnMut(usize, Rgba, &StationReading) -> Result<(), FilmError>,
) -> Result<(), FilmError> {
    // One eye for each place, however many moments it sees.
    let mut eyes: Vec<Station> = Vec::new();
    let of_shot: Vec<usize> = shots
        .iter()
        .map(|shot| {
            eyes.iter().position(|e| *e == shot.eye).unwrap_or_else(|| {
                eyes.push(shot.eye);
                eyes.len() - 1
            })
        })
        .collect();
    if shots.is_empty() {
        return Ok(());
    }
    let probes: Vec<Moment> = [0, shots.len() / 2, shots.len() - 1]
        .iter()
        .map(|k| shots[*k].moment.clone())
        .collect();
    let stage = Stage::prepare(room, light, eyes, &probes, progress)?;
    let mut drawer: Option<([u32; 2], Drawer)> = None;
    progress.announce(shots.len() as u64);
    let mut from = 0;
    while from < shots.len() {
        let moment = &shots[from].moment;
        let same = |shot: &Shot| {
            shot.size == shots[from].size
                && shot.moment.instant.civil == moment.instant.civil
                && shot.moment.sky == moment.sky
                && shot.moment.fixtures == moment.fixtures
        };
        let to = from + shots[from..].iter().take_while(|s| same(s)).count();
        let size = shots[from].size;
        let drawer = match &mut drawer {
            Some((known, drawer)) if *known == size => drawer,
            other => &mut other.insert((size, Drawer::new(size, 1)?)).1,
        };
        let lit = stage.light_at(moment)?;
        let picture = stage.picture(&lit, moment);
        let seen = (from..to)
            .into_par_iter()
            .map(|k| stage.see(of_shot[k], shots[k].walk, &lit))
            .collect::<Result<Vec<_>, _>>()?;
        let mut readings = Vec::with_capacity(seen.len());
        for (k, (reading, piece)) in (from..to).zip(seen) {
            let shot = stage.shot(of_shot[k], &lit, &picture, piece, from as u64 + 1);
            let before = drawer.draw(vec![shot])?;
            if let Some(before) = before {
                let done = readings.len() - 1;
                take(from + done, before, &readings[done])?;
            }
            readings.push(reading);
            progress.step()?;
        }
        if let Some(last) = drawer.finish()?
            && let Some(reading) = readings.last()
        {
            take(to - 1, last, reading)?;
        }
        from = to;
    }
    Ok(())
}
