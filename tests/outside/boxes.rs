//! Box rooms with holes and windows, small pieces on their north wall, lamps, and one way to read them.
//!
//! The box spans x 0..w (east), y 0..h (up), z 0..d (south) in world metres; the piece hangs on the north
//! wall, z = 0, and faces +Z.

use std::sync::Arc;

use glam::{Mat3, Vec2, Vec3};
use lustrewalk::{
    geometry::{Frame, Polygon},
    luminaire::{Aperture, IntensityDistribution},
    material::{Brdf, BrushedMetal, Library, MetalParameters, MetalReflectance},
    scene::{Fixture, HungPiece, HungTile, POINTS_PER_TILE, Pane, Scene, Station, Surface},
    sky::{CieType, SkyState},
    transport::{
        LightState, Lustre, Progress, RoomLight, RoomLightSettings, Strengths, TileReading,
        ViewSettings,
    },
};

use super::scenes::{fixture, hole};

/// A side of the box.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    West,
    East,
    Floor,
    Ceiling,
    North,
    South,
}

pub const FACES: [Face; 6] = [
    Face::West,
    Face::East,
    Face::Floor,
    Face::Ceiling,
    Face::North,
    Face::South,
];

/// A box room in the making.
pub struct BoxRoom {
    size_m: Vec3,
    reflectances: [f32; 6],
    open: Vec<Face>,
    windows: Vec<(Face, Pane)>,
}

impl BoxRoom {
    pub fn new(size_m: Vec3, reflectance: f32) -> Self {
        Self {
            size_m,
            reflectances: [reflectance; 6],
            open: Vec::new(),
            windows: Vec::new(),
        }
    }

    /// Replaces a face by a hole.
    pub fn open(mut self, face: Face) -> Self {
        self.open.push(face);
        self
    }

    pub fn with_reflectance(mut self, face: Face, reflectance: f32) -> Self {
        self.reflectances[face as usize] = reflectance;
        self
    }

    /// A hole from `low` to `high` on a face [m, from its corner], changed by `change`.
    pub fn with_window(
        mut self,
        face: Face,
        low: Vec2,
        high: Vec2,
        change: impl FnOnce(&mut Pane),
    ) -> Self {
        let mut pane = hole(&self.outline(face, low, high));
        change(&mut pane);
        self.windows.push((face, pane));
        self
    }

    /// Origin, right and up of a face seen from inside, and its size.
    fn plane(&self, face: Face) -> (Vec3, Vec3, Vec3, Vec2) {
        let Vec3 { x: w, y: h, z: d } = self.size_m;
        match face {
            Face::West => (Vec3::new(0.0, 0.0, d), -Vec3::Z, Vec3::Y, Vec2::new(d, h)),
            Face::East => (Vec3::new(w, 0.0, 0.0), Vec3::Z, Vec3::Y, Vec2::new(d, h)),
            Face::Floor => (Vec3::new(0.0, 0.0, d), Vec3::X, -Vec3::Z, Vec2::new(w, d)),
            Face::Ceiling => (Vec3::new(0.0, h, 0.0), Vec3::X, Vec3::Z, Vec2::new(w, d)),
            Face::North => (Vec3::ZERO, Vec3::X, Vec3::Y, Vec2::new(w, h)),
            Face::South => (Vec3::new(w, 0.0, d), -Vec3::X, Vec3::Y, Vec2::new(w, h)),
        }
    }

    fn outline(&self, face: Face, low: Vec2, high: Vec2) -> Vec<Vec3> {
        let (origin, right, up, _) = self.plane(face);
        [
            (low.x, low.y),
            (high.x, low.y),
            (high.x, high.y),
            (low.x, high.y),
        ]
        .iter()
        .map(|(u, v)| origin + right * *u + up * *v)
        .collect()
    }

    pub fn scene(self) -> Scene {
        let mut scene = empty();
        for face in FACES {
            let whole = self.outline(face, Vec2::ZERO, self.plane(face).3);
            if self.open.contains(&face) {
                scene.panes.push(hole(&whole));
                continue;
            }
            let holes: Vec<Vec<Vec3>> = self
                .windows
                .iter()
                .filter(|(on, _)| *on == face)
                .map(|(_, pane)| pane.polygon.world_outline())
                .collect();
            scene.surfaces.push(surface(
                Polygon::from_world(&whole, &holes).expect("sound input"),
                self.reflectances[face as usize],
            ));
        }
        scene
            .panes
            .extend(self.windows.into_iter().map(|(_, pane)| pane));
        scene
    }
}

pub fn empty() -> Scene {
    Scene {
        surfaces: Vec::new(),
        panes: Vec::new(),
        fixtures: Vec::new(),
        ground_reflectance: 0.0,
    }
}

pub fn surface(polygon: Polygon, reflectance: f32) -> Surface {
    Surface {
        polygon,
        reflectance,
        back_reflectance: 0.0,
        reflectance_rgb: Vec3::splat(reflectance),
        indoors: true,
        label: String::new(),
    }
}

/// A lamp of the same intensity all round, 1 mm wide.
pub fn lamp(position: Vec3, intensity_cd: f32) -> Fixture {
    fixture(
        IntensityDistribution::isotropic(intensity_cd),
        Aperture::Disc { diameter_m: 1e-3 },
        position,
        Mat3::IDENTITY,
    )
}

/// A lamp whose intensity falls with the cosine from its aim, 1 mm wide.
pub fn cosine_lamp(position: Vec3, aim_dir: Vec3, peak_cd: f32) -> Fixture {
    fixture(
        IntensityDistribution::lambertian(peak_cd),
        Aperture::Disc { diameter_m: 1e-3 },
        position,
        Fixture::rotation(aim_dir, Vec3::X, 0.0),
    )
}

/// A spot: full intensity to 10 deg from the aim, falling to nothing at 20 deg.
pub fn spot(position: Vec3, aim_at: Vec3, peak_cd: f32, diameter_m: f32) -> Fixture {
    let gamma = [0.0_f32, 10.0, 20.0].map(f32::to_radians).to_vec();
    Fixture {
        distribution: Arc::new(
            IntensityDistribution::from_table(gamma, vec![0.0], vec![peak_cd, peak_cd, 0.0])
                .expect("sound input"),
        ),
        aperture: Aperture::Disc { diameter_m },
        ..lamp(position, 0.0)
    }
    .aimed((aim_at - position).normalize())
}

trait Aimed {
    fn aimed(self, aim_dir: Vec3) -> Self;
}

impl Aimed for Fixture {
    fn aimed(mut self, aim_dir: Vec3) -> Self {
        self.world_from_luminaire = Fixture::rotation(aim_dir, Vec3::X, 0.0);
        self
    }
}

/// A square tile that faces `normal`, its grain along `along`.
pub fn tile(id: u32, centre: Vec3, normal: Vec3, along: Vec3, side_m: f32) -> HungTile {
    let front = centre + normal * 1e-3;
    let frame = Frame::new(front, normal, along);
    // Sixteen points of Hammersley's set.
    let points: [Vec3; POINTS_PER_TILE] = std::array::from_fn(|k| {
        let count = POINTS_PER_TILE as f32;
        let u = (k as f32 + 0.5) / count - 0.5;
        let v = (f32::from((k as u8).reverse_bits()) / 256.0 + 0.5 / count) - 0.5;
        frame.point(u * side_m, v * side_m)
    });
    HungTile {
        id,
        frame,
        points,
        area_m2: side_m * side_m,
        material_index: id - 1,
    }
}

/// A tile on the north wall, its grain turned by `grain_deg` from +X, counter-clockwise from the front.
pub fn wall_tile(id: u32, centre: Vec3, grain_deg: f32, side_m: f32) -> HungTile {
    let (sin, cos) = grain_deg.to_radians().sin_cos();
    tile(id, centre, Vec3::Z, Vec3::new(cos, sin, 0.0), side_m)
}

/// A piece of tiles, each of its own material (`materials` in the order of tiles).
pub fn piece(tiles: Vec<HungTile>, materials: Vec<Brdf>) -> HungPiece {
    assert_eq!(tiles.len(), materials.len());
    let centre = tiles.iter().map(|t| t.frame.origin).sum::<Vec3>() / tiles.len() as f32;
    HungPiece {
        material_names: vec![String::new(); tiles.len()],
        tiles,
        materials,
        centre,
        normal: Vec3::Z,
        surround_points: Vec::new(),
        surround_reflectance: 0.5,
        neighbours: Vec::new(),
    }
}

/// A piece of tiles that share one material.
pub fn piece_of(mut tiles: Vec<HungTile>, material: Brdf) -> HungPiece {
    for tile in &mut tiles {
        tile.material_index = 0;
    }
    let names = vec![material.clone(); tiles.len()];
    HungPiece {
        materials: vec![material],
        material_names: vec![String::new()],
        ..piece(tiles, names)
    }
}

/// A material of the library.
pub fn library(name: &str) -> Brdf {
    Library::built_in()
        .expect("sound input")
        .get(name)
        .expect("sound input")
        .brdf()
        .expect("sound input")
}

/// Metal of one reflectance at all angles.
pub fn metal(reflectance: f32, along: f32, across: f32) -> BrushedMetal {
    BrushedMetal::new(&MetalParameters {
        alpha_along: along,
        alpha_across: across,
        reflectance: MetalReflectance::Flat(reflectance),
        scale: 1.0,
    })
    .expect("sound input")
}

pub fn station(eye: Vec3, toward: Vec3) -> Station {
    Station {
        eye,
        gaze_dir: (toward - eye).normalize(),
        distance_m: 0.0,
    }
}

/// Coarse and quick.
pub fn quick() -> RoomLightSettings {
    RoomLightSettings {
        patch_m: 0.5,
        hemisphere_count: 128,
        pane_count: 32,
        sky_refinement: 1,
        points_per_patch: 16,
        seed: 5,
    }
}

/// As many samples as given, never more.
pub fn fixed(tile_count: u32, pane_count: u32, lobe_count: u32) -> ViewSettings {
    ViewSettings {
        tile_count,
        pane_count,
        lobe_count,
        most_lobe_count: lobe_count,
        eye_count: 16,
        ..ViewSettings::default()
    }
}

pub fn prepared(scene: Scene, settings: RoomLightSettings) -> RoomLight {
    RoomLight::prepare(scene, settings, &Progress::default()).expect("sound input")
}

/// Tile luminances from each eye.
pub fn readings(
    light: &RoomLight,
    state: &LightState,
    piece: &HungPiece,
    eyes: &[Vec3],
    settings: ViewSettings,
) -> Vec<TileReading> {
    let stations: Vec<Station> = eyes.iter().map(|e| station(*e, piece.centre)).collect();
    let lustre = Lustre::view(
        light,
        piece.clone(),
        stations,
        settings,
        &[],
        &Progress::default(),
    )
    .expect("sound input");
    let sun = lustre.light().sun_on_tiles_lx(light, state);
    (0..eyes.len())
        .map(|s| lustre.read(state, &sun, s))
        .collect()
}

/// Strengths of the fixtures alone.
pub fn lamps(light: &RoomLight, fixtures: Vec<f32>) -> Strengths {
    Strengths::dark(light.scene(), light.columns()).with_fixtures(fixtures)
}

/// An overcast sky over ground of a tenth.
pub fn overcast(light: &RoomLight, zenith_cd_m2: f64) -> Strengths {
    let sky =
        SkyState::cie_with_zenith_luminance(CieType::OVERCAST, Some(Vec3::Y), zenith_cd_m2, 0.0)
            .with_ground_luminance(zenith_cd_m2 as f32 / 10.0);
    Strengths::under(&sky, light.scene(), light.columns())
}

/// A room with everything in it: window, lamp, spot, screen; 5 x 3 x 5 m.
pub fn furnished(reflectance: f32) -> Scene {
    let mut scene = BoxRoom::new(Vec3::new(5.0, 3.0, 5.0), reflectance)
        .with_window(Face::East, Vec2::new(1.0, 0.8), Vec2::new(3.0, 2.2), |_| {})
        .scene();
    scene.fixtures = vec![
        lamp(Vec3::new(1.2, 2.5, 2.0), 150.0),
        spot(
            Vec3::new(2.0, 2.8, 1.6),
            Vec3::new(2.5, 1.5, 0.0),
            4000.0,
            0.06,
        ),
    ];
    scene
}

/// Twenty tiles on the north wall, of five materials turned in steps of 40 deg.
pub fn mixed_piece() -> HungPiece {
    let materials = [
        Brdf::Metal(metal(0.9, 0.06, 0.25)),
        library("maple satin"),
        library("sycamore ribbon gloss"),
        library("concrete V ridges"),
        library("plaster matt"),
    ];
    let mut tiles = Vec::new();
    for k in 0..20_u32 {
        let at = Vec3::new(1.9 + 0.3 * (k % 5) as f32, 1.05 + 0.3 * (k / 5) as f32, 0.0);
        tiles.push(wall_tile(k + 1, at, 40.0 * k as f32, 0.25));
    }
    let each = (0..20).map(|k| materials[k % 5].clone()).collect();
    piece(tiles, each)
}

/// Numbers in 0..1 that depend on nothing else (D. Knuth's MMIX generator, from memory).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn next(&mut self) -> f32 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 40) as f32 / (1_u64 << 24) as f32
    }

    pub fn between(&mut self, low: f32, high: f32) -> f32 {
        low + (high - low) * self.next()
    }

    /// A unit direction.
    pub fn direction(&mut self) -> Vec3 {
        let z = self.between(-1.0, 1.0);
        let (sin, cos) = (self.next() * std::f32::consts::TAU).sin_cos();
        let r = (1.0 - z * z).max(0.0).sqrt();
        Vec3::new(r * cos, r * sin, z)
    }
}
