//! Sun that shiny tiles throw somewhere else: a hazard to be listed, never averaged away.

use glam::Vec3;

use super::Instant;
use crate::{
    room::BuiltRoom,
    transport::{LightState, Lustre, RoomLight},
};

/// Sun thrown by the piece at one instant.
#[derive(Clone, Debug, PartialEq)]
pub struct ThrownSun {
    /// Minutes of the clock after midnight.
    pub clock_min: u32,
    /// Ids of the tiles that throw it.
    pub tiles: Vec<u32>,
    /// Where it goes, in words.
    pub toward: String,
    /// Whether it goes out of the building.
    pub leaves_building: bool,
    /// Whether it falls near a walk that has stairs.
    pub near_stairs: bool,
    /// Whether a tile with a mirror-like surface throws it.
    pub polished: bool,
}

/// Lobes narrower than this throw a patch of sun that can be located [rad].
const NARROW_RAD: f32 = 0.35;

/// Roughness below which a surface counts as polished (physics of glints, own choice).
const POLISHED_ALPHA: f32 = 0.03;

/// All sun that tiles with a narrow lobe throw at one instant.
pub(super) fn thrown_sun(
    room: &BuiltRoom,
    light: &RoomLight,
    lustre: &Lustre,
    state: &LightState,
    sun_on_tiles_lx: &[f32],
    instant: &Instant,
) -> Vec<ThrownSun> {
    let Some(sun_dir) = state.strengths.sun_dir else {
        return Vec::new();
    };
    let piece = lustre.piece();
    let mut found: Vec<ThrownSun> = Vec::new();
    for (tile, lx) in piece.tiles.iter().zip(sun_on_tiles_lx) {
        let brdf = piece.brdf(tile);
        if *lx < 500.0 || !brdf.has_lobe() || brdf.lobe_width_rad() > NARROW_RAD {
            continue;
        }
        let Some((toward, leaves_building, near_stairs)) = landing(
            room,
            light,
            tile.frame.origin,
            mirror(sun_dir, tile.frame.z_dir),
            brdf.lobe_width_rad(),
        ) else {
            continue;
        };
        let polished = brdf
            .mirror_like()
            .is_some_and(|alpha| alpha < POLISHED_ALPHA);
        match found.iter_mut().find(|t| t.toward == toward) {
            Some(same) => {
                same.tiles.push(tile.id);
                same.near_stairs |= near_stairs;
                same.polished |= polished;
            }
            None => found.push(ThrownSun {
                clock_min: instant.clock_min,
                tiles: vec![tile.id],
                toward,
                leaves_building,
                near_stairs,
                polished,
            }),
        }
    }
    found
}

fn mirror(to_light: Vec3, normal: Vec3) -> Vec3 {
    normal * (2.0 * normal.dot(to_light)) - to_light
}

/// Where a thrown ray goes: words, whether it leaves the building, whether it falls near stairs.
fn landing(
    room: &BuiltRoom,
    light: &RoomLight,
    origin: Vec3,
    dir: Vec3,
    lobe_width_rad: f32,
) -> Option<(String, bool, bool)> {
    let path = light.tracer().path(origin, dir);
    let Some((surface, distance_m)) = path.end else {
        let bearing = f64::from(dir.x.atan2(-dir.z)) + room.site.bearing_rad;
        let through = path
            .last_pane
            .and_then(|p| room.scene.panes.get(p))
            .map_or("open air", |p| p.label.as_str());
        let way = if dir.y > 0.3 {
            "up "
        } else if dir.y < -0.3 {
            "down "
        } else {
            ""
        };
        return Some((
            format!(
                "out through {through}, {way}toward the {}",
                compass(bearing)
            ),
            true,
            false,
        ));
    };
    let surface = room.scene.surfaces.get(surface)?;
    // Within half a metre of the thrown patch, which widens with the lobe.
    let near_stairs = room
        .walks
        .iter()
        .filter(|w| w.walk.stairs)
        .flat_map(|w| &w.stations)
        .any(|s| {
            let along = (s.eye - origin).dot(dir).clamp(0.0, distance_m);
            (s.eye - origin - dir * along).length() < 0.5 + along * lobe_width_rad.tan()
        });
    Some((
        format!("onto {}", surface.label),
        !surface.indoors,
        near_stairs,
    ))
}

/// Eight-point compass word of a true bearing [rad].
pub(crate) fn compass(bearing_rad: f64) -> &'static str {
    const NAMES: [&str; 8] = [
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    ];
    let eighth = (bearing_rad.rem_euclid(std::f64::consts::TAU) / (std::f64::consts::TAU / 8.0))
        .round() as usize
        % 8;
    NAMES[eighth]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mirror_law_and_compass() {
        let out = mirror(Vec3::new(1.0, 1.0, 0.0).normalize(), Vec3::Y);
        assert!((out - Vec3::new(-1.0, 1.0, 0.0).normalize()).length() < 1e-6);
        assert_eq!(compass(0.0), "north");
        assert_eq!(compass(std::f64::consts::FRAC_PI_2), "east");
        assert_eq!(compass(-0.1), "north");
        assert_eq!(compass(4.0), "south-west");
    }
}
