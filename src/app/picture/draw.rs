//! Entities of one plan's picture, made and kept in step with the engine's answers.

use std::sync::Arc;

use bevy::{
    asset::RenderAssetUsages,
    camera::{
        RenderTarget,
        visibility::{NoFrustumCulling, RenderLayers},
    },
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    image::{Image, ImageAddressMode, ImageSampler, ImageSamplerDescriptor},
    prelude::*,
    render::{
        render_resource::{Extent3d, TextureDimension, TextureFormat},
        storage::ShaderBuffer,
    },
};

use super::{
    geometry, material_data,
    materials::{
        MeansMaterial, PaneMaterial, SPOTS, SkyMaterial, SunInSky, SurfaceMaterial, TileEntry,
        TileMaterial, TileSettings, means_size,
    },
};
use crate::{
    app::state::{Plan, ViewKind},
    image::{LightMap, PiecePicture, RoomPicture, SkyPicture, luminance},
    room::BuiltRoom,
    transport::{LightState, RoomLight},
};

/// Widest pixel on a tile that shows its character [m].
const CLOSE_M: f32 = 0.012;
/// Most sources that the character is drawn with.
const MOST_SOURCES: usize = 12;
/// What tiles' sides show of the wall's light around the piece: not computed, only so that they are seen.
const SIDES: f32 = 0.15;

/// The pictures of all plans, by plan.
#[derive(Resource, Default)]
pub struct Pictures {
    list: Vec<PictureOf>,
}

/// The picture of one plan: its assets and entities, and what they were made from.
#[derive(Default)]
pub struct PictureOf {
    plan: Option<u64>,
    parts: Option<Parts>,
    serial: u64,
    map: Option<Arc<LightMap>>,
    built: Option<Arc<BuiltRoom>>,
    piece: Option<Arc<PiecePicture>>,
    lamps_from: Option<Vec3>,
    sky_shown: bool,
}

struct Parts {
    entities: Vec<Entity>,
    sky_entity: Entity,
    surfaces: Handle<Mesh>,
    sun: Handle<Mesh>,
    panes: Handle<Mesh>,
    lamps: Handle<Mesh>,
    atlas: Handle<Image>,
    sky: Handle<Image>,
    transmittances: Handle<Image>,
    surface_material: Handle<SurfaceMaterial>,
    sun_material: Handle<SurfaceMaterial>,
    pane_material: Handle<PaneMaterial>,
    sky_material: Handle<SkyMaterial>,
    tiles: Option<Tiles>,
}

struct Tiles {
    entity: Entity,
    material: Handle<TileMaterial>,
    entries: Handle<ShaderBuffer>,
    sources: Handle<ShaderBuffer>,
    offsets: Vec<u32>,
    /// Camera and mesh of the means.
    means_entities: [Entity; 2],
    means: Handle<MeansMaterial>,
}

/// The eye that a picture is drawn for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Looking {
    /// Where it is [m, world].
    pub eye: Vec3,
    /// Pixels that a metre covers a metre away; 0 for a drawing without perspective.
    pub pixels_per_m: f32,
    /// Way of looking.
    pub view: ViewKind,
}

impl Looking {
    /// A camera with a field of view [rad] over a picture's height [pixels].
    pub fn new(eye: Vec3, field_rad: f32, height: u32, view: ViewKind) -> Self {
        let pixels_per_m = match view {
            ViewKind::Plan => 0.0,
            ViewKind::Visitor | ViewKind::Around => 0.5 * height as f32 / (0.5 * field_rad).tan(),
        };
        Self {
            eye,
            pixels_per_m,
            view,
        }
    }
}

/// What a picture is drawn from.
#[derive(Clone, Copy)]
pub struct Shown<'a> {
    /// Tells plans apart.
    pub id: u64,
    /// Counts lights, so that a new one is seen.
    pub serial: u64,
    /// The room.
    pub built: &'a Arc<BuiltRoom>,
    /// Its prepared light.
    pub light: &'a RoomLight,
    /// The light of the moment.
    pub state: &'a LightState,
    /// The same, laid out.
    pub picture: &'a RoomPicture,
    /// The piece for the eye.
    pub piece: Option<&'a Arc<PiecePicture>>,
}

impl<'a> Shown<'a> {
    /// What a plan's engine told last; `None` before the first light.
    pub fn of_plan(plan: &'a Plan) -> Option<Self> {
        let (now, (_, built)) = (plan.now.as_ref()?, plan.built.as_ref()?);
        Some(Self {
            id: plan.id,
            serial: now.serial,
            built,
            light: &now.light,
            state: &now.state,
            picture: &now.picture,
            piece: plan.glance.as_ref().map(|(_, glance)| &glance.piece),
        })
    }
}

/// Everything that meshes and materials are kept in.
#[derive(bevy::ecs::system::SystemParam)]
pub struct Stores<'w, 's> {
    /// New entities.
    pub commands: Commands<'w, 's>,
    meshes: ResMut<'w, Assets<Mesh>>,
    images: ResMut<'w, Assets<Image>>,
    buffers: ResMut<'w, Assets<ShaderBuffer>>,
    surface_materials: ResMut<'w, Assets<SurfaceMaterial>>,
    pane_materials: ResMut<'w, Assets<PaneMaterial>>,
    sky_materials: ResMut<'w, Assets<SkyMaterial>>,
    tile_materials: ResMut<'w, Assets<TileMaterial>>,
    means_materials: ResMut<'w, Assets<MeansMaterial>>,
}

impl Pictures {
    /// Forgets pictures of plans that are no longer there, removing their entities.
    pub fn keep(&mut self, count: usize, stores: &mut Stores) {
        for picture in self.list.drain(count.min(self.list.len())..) {
            picture.remove(stores);
        }
    }
}

/// Brings picture `index` up to date.
pub fn draw_picture(
    pictures: &mut Pictures,
    index: usize,
    shown: Shown,
    looking: Looking,
    stores: &mut Stores,
) {
    while pictures.list.len() <= index {
        pictures.list.push(PictureOf::default());
    }
    // Another plan in this place starts afresh.
    if pictures.list[index].plan != Some(shown.id) {
        let fresh = PictureOf {
            plan: Some(shown.id),
            ..PictureOf::default()
        };
        std::mem::replace(&mut pictures.list[index], fresh).remove(stores);
    }
    pictures.list[index].update(index, shown, looking, stores);
}

/// A picture of colours, four values a pixel.
fn colour_image(size: [u32; 2], values: &[Vec3]) -> Image {
    let flat: Vec<f32> = values.iter().flat_map(|v| [v.x, v.y, v.z, 1.0]).collect();
    float_image(size, &flat, TextureFormat::Rgba16Float)
}

fn float_image(size: [u32; 2], values: &[f32], format: TextureFormat) -> Image {
    let data = match format {
        TextureFormat::R16Float | TextureFormat::Rgba16Float => values
            .iter()
            .flat_map(|v| half::f16::from_f32(v.clamp(0.0, 60_000.0)).to_le_bytes())
            .collect(),
        _ => values.iter().flat_map(|v| v.to_le_bytes()).collect(),
    };
    let mut image = Image::new(
        Extent3d {
            width: size[0],
            height: size[1],
            depth_or_array_layers: 1,
        },
        TextureDimension::D2,
        data,
        format,
        RenderAssetUsages::RENDER_WORLD,
    );
    let mut sampler = ImageSamplerDescriptor::linear();
    sampler.address_mode_u = ImageAddressMode::Repeat;
    sampler.address_mode_v = ImageAddressMode::ClampToEdge;
    image.sampler = ImageSampler::Descriptor(sampler);
    image
}

impl PictureOf {
    fn remove(self, stores: &mut Stores) {
        let Some(parts) = self.parts else { return };
        for entity in parts.entities.into_iter().chain([parts.sky_entity]) {
            stores.commands.entity(entity).despawn();
        }
        if let Some(tiles) = parts.tiles {
            tiles.despawn(stores);
        }
    }

    fn update(&mut self, index: usize, shown: Shown, looking: Looking, stores: &mut Stores) {
        let Looking { eye, view, .. } = looking;
        let Shown { built, picture, .. } = shown;
        let scene = shown.light.scene();
        if self.parts.is_none() {
            self.parts = Some(Parts::new(index, stores));
        }
        let Some(parts) = &mut self.parts else { return };
        let new_light = self.serial != shown.serial;
        if new_light {
            if !picture.texels_cd_m2.is_empty() {
                let map = &picture.map;
                let atlas = colour_image(map.size(), &picture.texels_cd_m2);
                parts.set_atlas(atlas, stores);
                // The building's meshes change with the layout of its atlas only.
                if self
                    .map
                    .as_ref()
                    .is_none_or(|known| !Arc::ptr_eq(known, map))
                {
                    let surfaces = geometry::surfaces(scene, map);
                    replace(&mut stores.meshes, &parts.surfaces, surfaces);
                    let panes = geometry::panes(scene, map);
                    replace(&mut stores.meshes, &parts.panes, panes);
                    parts.set_transmittances(scene, stores);
                    self.map = Some(Arc::clone(map));
                }
                let sun = geometry::sun(scene, map, &picture.sun);
                replace(&mut stores.meshes, &parts.sun, sun);
            }
            let sky = float_image(
                [SkyPicture::WIDTH as u32, SkyPicture::HEIGHT as u32],
                &picture.sky.luminance_cd_m2,
                TextureFormat::R16Float,
            );
            replace(&mut stores.images, &parts.sky, sky);
            let strengths = &shown.state.strengths;
            let colours = &picture.colours;
            if let Some(mut material) = stores.sky_materials.get_mut(&parts.sky_material) {
                let luminance =
                    strengths.sun_normal_illuminance_lx / crate::units::SUN_SOLID_ANGLE_SR as f32;
                material.sun = SunInSky {
                    dir: strengths
                        .sun_dir
                        .map_or(Vec4::ZERO, |d| d.extend(luminance)),
                    sun_rgb: colours.sun_rgb.extend(0.0),
                    sky_rgb: colours.sky_rgb.extend(0.0),
                    ground_rgb: colours.ground_rgb.extend(0.0),
                };
            }
            let beside_rgb = colours.sun_rgb.extend(1.0);
            if let Some(mut material) = stores.surface_materials.get_mut(&parts.sun_material) {
                material.beside_rgb = beside_rgb;
            }
            self.serial = shown.serial;
        }
        // The sky is in the way of looking in from outside.
        let sky_wanted = view == ViewKind::Visitor;
        if self.sky_shown != sky_wanted || new_light {
            let seen = if sky_wanted {
                Visibility::Visible
            } else {
                Visibility::Hidden
            };
            stores.commands.entity(parts.sky_entity).insert(seen);
            self.sky_shown = sky_wanted;
        }
        if new_light || self.lamps_from != Some(eye) {
            let mesh = geometry::lamps(scene, shown.state, &picture.colours, eye);
            replace(&mut stores.meshes, &parts.lamps, mesh);
            self.lamps_from = Some(eye);
        }
        if self
            .built
            .as_ref()
            .is_none_or(|known| !Arc::ptr_eq(known, built))
        {
            let known = self.built.replace(Arc::clone(built));
            if known.is_none_or(|known| known.piece != built.piece) {
                parts.make_tiles(index, built, stores);
                self.piece = None;
            }
        }
        if let Some(piece) = shown.piece
            && self.piece.as_ref().is_none_or(|p| !Arc::ptr_eq(p, piece))
            && piece.tiles_cd_m2.len() == built.piece.tiles.len()
        {
            parts.light_tiles(built, piece, stores);
            self.piece = Some(Arc::clone(piece));
        }
        parts.look_at_tiles(looking, stores);
    }
}

fn replace<A: Asset>(assets: &mut Assets<A>, handle: &Handle<A>, asset: A) {
    // The handle is alive, so inserting cannot fail.
    let _ = assets.insert(handle, asset);
}

/// A mesh on the layer of a plan.
fn spawn_drawn<M: Material>(
    commands: &mut Commands,
    index: usize,
    mesh: &Handle<Mesh>,
    material: &Handle<M>,
) -> Entity {
    commands
        .spawn((
            Mesh3d(mesh.clone()),
            MeshMaterial3d(material.clone()),
            NoFrustumCulling,
            RenderLayers::layer(index),
            Transform::default(),
        ))
        .id()
}

impl Parts {
    fn new(index: usize, stores: &mut Stores) -> Self {
        let atlas = stores.images.add(colour_image([1, 1], &[Vec3::ZERO]));
        let blank = float_image([1, 1], &[0.0], TextureFormat::R16Float);
        let sky = stores.images.add(blank);
        let transmittances =
            stores
                .images
                .add(float_image([1, 1], &[1.0], TextureFormat::R32Float));
        let surface_material = stores.surface_materials.add(SurfaceMaterial {
            atlas: atlas.clone(),
            beside_rgb: Vec4::ONE,
            on_top: false,
        });
        let sun_material = stores.surface_materials.add(SurfaceMaterial {
            atlas: atlas.clone(),
            beside_rgb: Vec4::ONE,
            on_top: true,
        });
        let pane_material = stores.pane_materials.add(PaneMaterial {
            atlas: atlas.clone(),
            transmittances: transmittances.clone(),
        });
        let sky_material = stores.sky_materials.add(SkyMaterial {
            sun: SunInSky::default(),
            sky: sky.clone(),
        });
        let sky_mesh = stores.meshes.add(geometry::sky());
        let mut empty = || stores.meshes.add(geometry::nothing());
        let (surfaces, sun, panes, lamps) = (empty(), empty(), empty(), empty());
        let commands = &mut stores.commands;
        let entities = vec![
            spawn_drawn(commands, index, &surfaces, &surface_material),
            spawn_drawn(commands, index, &sun, &sun_material),
            spawn_drawn(commands, index, &lamps, &surface_material),
            spawn_drawn(commands, index, &panes, &pane_material),
        ];
        let sky_entity = spawn_drawn(commands, index, &sky_mesh, &sky_material);
        Self {
            entities,
            sky_entity,
            surfaces,
            sun,
            panes,
            lamps,
            atlas,
            sky,
            transmittances,
            surface_material,
            sun_material,
            pane_material,
            sky_material,
            tiles: None,
        }
    }

    /// A picture of the same size is written in place; another size needs its materials told.
    fn set_atlas(&mut self, atlas: Image, stores: &mut Stores) {
        let same = stores
            .images
            .get(&self.atlas)
            .is_some_and(|known| known.texture_descriptor.size == atlas.texture_descriptor.size);
        if same {
            replace(&mut stores.images, &self.atlas, atlas);
            return;
        }
        self.atlas = stores.images.add(atlas);
        for material in [&self.surface_material, &self.sun_material] {
            if let Some(mut material) = stores.surface_materials.get_mut(material) {
                material.atlas = self.atlas.clone();
            }
        }
        if let Some(mut material) = stores.pane_materials.get_mut(&self.pane_material) {
            material.atlas = self.atlas.clone();
        }
    }

    fn set_transmittances(&mut self, scene: &crate::scene::Scene, stores: &mut Stores) {
        let rows = scene.panes.len();
        if rows == 0 {
            return;
        }
        let values = geometry::transmittances(scene);
        let size = [geometry::ANGLES as u32, rows as u32];
        self.transmittances =
            stores
                .images
                .add(float_image(size, &values, TextureFormat::R32Float));
        if let Some(mut material) = stores.pane_materials.get_mut(&self.pane_material) {
            material.transmittances = self.transmittances.clone();
        }
    }

    fn make_tiles(&mut self, index: usize, built: &BuiltRoom, stores: &mut Stores) {
        if let Some(old) = self.tiles.take() {
            old.despawn(stores);
        }
        if built.piece.tiles.is_empty() {
            return;
        }
        let mut records = Vec::new();
        let offsets: Vec<u32> = built
            .piece
            .materials
            .iter()
            .map(|brdf| material_data::encode(brdf, &mut records))
            .collect();
        let entries = stores
            .buffers
            .add(ShaderBuffer::from(tile_entries(built, &offsets, None)));
        let sources = stores
            .buffers
            .add(ShaderBuffer::from(vec![Vec4::ZERO; MOST_SOURCES]));
        let settings = TileSettings {
            close_m: CLOSE_M,
            ..TileSettings::default()
        };
        let models = stores.buffers.add(ShaderBuffer::from(records));
        let spots = stores.buffers.add(ShaderBuffer::from(spots(built)));
        let means_material = MeansMaterial {
            settings,
            models: models.clone(),
            tiles: entries.clone(),
            sources: sources.clone(),
            spots: spots.clone(),
        };
        let (picture, means_entities, means) =
            spawn_means(index, built.piece.tiles.len(), means_material, stores);
        let material = stores.tile_materials.add(TileMaterial {
            settings,
            models,
            tiles: entries.clone(),
            sources: sources.clone(),
            spots,
            means: picture,
        });
        let mesh = stores.meshes.add(geometry::tiles(built));
        let entity = spawn_drawn(&mut stores.commands, index, &mesh, &material);
        self.tiles = Some(Tiles {
            entity,
            material,
            entries,
            sources,
            offsets,
            means_entities,
            means,
        });
    }

    /// Tells the means where the eye is.
    fn look_at_tiles(&self, looking: Looking, stores: &mut Stores) {
        let Some(tiles) = &self.tiles else { return };
        let eye = looking.eye.extend(looking.pixels_per_m);
        let count = stores
            .tile_materials
            .get(&tiles.material)
            .map_or(0, |m| m.settings.source_count);
        let known = stores.means_materials.get(&tiles.means);
        if known.is_some_and(|m| m.settings.eye != eye || m.settings.source_count != count)
            && let Some(mut material) = stores.means_materials.get_mut(&tiles.means)
        {
            material.settings.eye = eye;
            material.settings.source_count = count;
        }
    }

    fn light_tiles(&mut self, built: &BuiltRoom, piece: &PiecePicture, stores: &mut Stores) {
        let Some(tiles) = &self.tiles else { return };
        if let Some(mut buffer) = stores.buffers.get_mut(&tiles.entries) {
            buffer.set_data(tile_entries(built, &tiles.offsets, Some(piece)));
        }
        let mut sources: Vec<Vec4> = piece
            .sources
            .iter()
            .take(MOST_SOURCES)
            .map(|(dir, lx)| dir.extend(*lx))
            .collect();
        let count = sources.len() as u32;
        sources.resize(MOST_SOURCES, Vec4::ZERO);
        if let Some(mut buffer) = stores.buffers.get_mut(&tiles.sources) {
            buffer.set_data(sources);
        }
        let known = stores.tile_materials.get(&tiles.material);
        if known.is_some_and(|m| m.settings.source_count != count)
            && let Some(mut material) = stores.tile_materials.get_mut(&tiles.material)
        {
            material.settings.source_count = count;
        }
    }
}

impl Tiles {
    fn despawn(self, stores: &mut Stores) {
        for entity in self.means_entities.into_iter().chain([self.entity]) {
            stores.commands.entity(entity).despawn();
        }
    }
}

/// The picture of the means with the camera that draws it before all others.
fn spawn_means(
    index: usize,
    tile_count: usize,
    material: MeansMaterial,
    stores: &mut Stores,
) -> (Handle<Image>, [Entity; 2], Handle<MeansMaterial>) {
    /// Layers of the means lie apart from those of the pictures.
    const FIRST_LAYER: usize = 8;
    let [width, height] = means_size(tile_count);
    let picture = stores.images.add(Image::new_target_texture(
        width,
        height,
        TextureFormat::Rgba32Float,
        None,
    ));
    let layer = RenderLayers::layer(FIRST_LAYER + index);
    let material = stores.means_materials.add(material);
    let camera = stores.commands.spawn((
        Camera3d::default(),
        Camera {
            order: -10 - index as isize,
            // 0: no character until it is drawn.
            clear_color: ClearColorConfig::Custom(Color::NONE),
            ..default()
        },
        RenderTarget::Image(picture.clone().into()),
        Msaa::Off,
        Tonemapping::None,
        DebandDither::Disabled,
        layer.clone(),
    ));
    let camera = camera.id();
    let mesh = stores.meshes.add(geometry::whole_picture());
    let cover = stores.commands.spawn((
        Mesh3d(mesh),
        MeshMaterial3d(material.clone()),
        NoFrustumCulling,
        layer,
        Transform::default(),
    ));
    (picture, [camera, cover.id()], material)
}

/// Points even over each tile, along its grain and across from its middle [m].
fn spots(built: &BuiltRoom) -> Vec<Vec2> {
    let face_m = built.tiling.thickness_m;
    let mut list = Vec::with_capacity(built.piece.tiles.len() * SPOTS);
    for (index, tile) in built.piece.tiles.iter().enumerate() {
        let points = built
            .tiling
            .sample_points(index, SPOTS, u64::from(tile.id) ^ 0x5b07);
        list.extend((0..SPOTS).map(|k| {
            let at = points.get(k).copied().unwrap_or_default();
            let d = built.place.point(at, face_m) - tile.frame.origin;
            Vec2::new(d.dot(tile.frame.x_dir), d.dot(tile.frame.y_dir))
        }));
    }
    list
}

/// What the shader knows of each tile.
fn tile_entries(built: &BuiltRoom, offsets: &[u32], seen: Option<&PiecePicture>) -> Vec<TileEntry> {
    let sides = seen.map_or(0.0, |s| s.surround_cd_m2 * SIDES);
    built
        .piece
        .tiles
        .iter()
        .enumerate()
        .map(|(i, tile)| {
            let material = tile.material_index as usize;
            let light = seen
                .and_then(|s| s.tiles_cd_m2.get(i))
                .copied()
                .unwrap_or(Vec3::ZERO);
            let display_rgb = built
                .materials
                .get(material)
                .map_or(Vec3::ONE, |m| Vec3::from_array(m.display_rgb));
            TileEntry {
                middle: tile.frame.origin.extend(luminance(light)),
                grain: tile
                    .frame
                    .x_dir
                    .extend(offsets.get(material).copied().unwrap_or(0) as f32),
                across: tile.frame.y_dir.extend(tile.id as f32),
                normal: tile.frame.z_dir.extend(0.0),
                tint: geometry::unit_luminance(display_rgb, light).extend(sides),
            }
        })
        .collect()
}
