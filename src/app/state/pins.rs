//! Spots whose light is read: the one under the pointer, and pins that stay.

use bevy::{ecs::resource::Resource, math::Vec3};

use crate::{
    app::{
        engine::{MeterOn, MeterPoint},
        pick::{Found, FoundOn, find},
        view::Sight,
    },
    room::BuiltRoom,
    transport::Tracer,
};

/// What a pin sticks in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PinOn {
    /// A tile (number): it goes where the piece goes.
    Tile(u32),
    /// A place of the building [m, world], with the normal there.
    Place(Vec3, Vec3),
}

/// A spot that is read at every moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pin {
    /// Its number, from 1.
    pub number: u32,
    /// What it sticks in.
    pub on: PinOn,
}

/// All spots that are read.
#[derive(Resource, Clone, Debug, Default, PartialEq)]
pub struct Pins {
    /// The spot under the pointer, where it rests.
    pub pointer: Option<Found>,
    /// Pins that stay.
    pub list: Vec<Pin>,
}

impl Pins {
    /// Sticks a new pin; its number.
    pub fn stick(&mut self, built: &BuiltRoom, found: &Found) -> Option<u32> {
        let on = match found.on {
            FoundOn::Tile(i) => PinOn::Tile(built.tiling.tiles.get(i)?.id),
            FoundOn::Surface(_) => PinOn::Place(found.point, found.normal),
            FoundOn::Pane(_) => return None,
        };
        let number = 1 + self.list.iter().map(|p| p.number).max().unwrap_or(0);
        self.list.push(Pin { number, on });
        Some(number)
    }

    /// What the engine is asked, for a room as it is now: pins whose spot is gone are left out.
    pub fn asked(&self, built: &BuiltRoom, tracer: &Tracer) -> Vec<MeterPoint> {
        let pointer = self.pointer.as_ref().and_then(|found| asked_of(0, found));
        let pins = self.list.iter().filter_map(|pin| match pin.on {
            PinOn::Tile(id) => asked_of(pin.number, &on_tile(built, id)?),
            PinOn::Place(point, normal) => {
                let sight = Sight {
                    origin: point + normal * 0.02,
                    dir: -normal,
                };
                let found = find(tracer, built, sight, false)?;
                let there = found.point.distance(point) < 0.05;
                asked_of(pin.number, &found).filter(|_| there)
            }
        });
        pointer.into_iter().chain(pins).collect()
    }
}

/// The middle of a tile (number).
pub fn on_tile(built: &BuiltRoom, id: u32) -> Option<Found> {
    let index = built.tiling.tiles.iter().position(|t| t.id == id)?;
    let tile = &built.tiling.tiles[index];
    Some(Found {
        on: FoundOn::Tile(index),
        point: built.place.point(tile.centroid_m, built.tiling.thickness_m),
        normal: built.piece.normal,
    })
}

fn asked_of(pin: u32, found: &Found) -> Option<MeterPoint> {
    let on = match found.on {
        FoundOn::Tile(i) => MeterOn::Tile(i),
        FoundOn::Surface(i) => MeterOn::Surface(i),
        FoundOn::Pane(_) => return None,
    };
    Some(MeterPoint {
        pin,
        point: found.point,
        normal: found.normal,
        on,
    })
}
