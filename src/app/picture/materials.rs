//! The materials that draw luminances: surfaces, panes, sky, tiles; and the tone curve over the whole picture.
//!
//! Nothing here is lit by the graphics library: every shader puts out the engine's luminance in cd/m2, as linear
//! Rec. 709 whose weighted sum is the luminance.

use bevy::{
    asset::uuid_handle,
    core_pipeline::fullscreen_material::{FullscreenMaterial, FullscreenMaterialPlugin},
    mesh::{MeshVertexAttribute, MeshVertexBufferLayoutRef, VertexFormat},
    pbr::{Material, MaterialPipeline, MaterialPipelineKey, MaterialPlugin},
    prelude::*,
    reflect::TypePath,
    render::{
        extract_component::ExtractComponent,
        render_resource::{
            AsBindGroup, BlendComponent, BlendFactor, BlendOperation, BlendState,
            RenderPipelineDescriptor, ShaderType, SpecializedMeshPipelineError,
        },
        storage::ShaderBuffer,
    },
    shader::ShaderRef,
};

/// Place in the atlas, or tile index and side.
pub const PLACE: MeshVertexAttribute =
    MeshVertexAttribute::new("Lustrewalk_Place", 0x1057_0001, VertexFormat::Float32x2);
/// Colour of luminance 1 and luminance beside the atlas; for panes the normal and the row.
pub const TINT: MeshVertexAttribute =
    MeshVertexAttribute::new("Lustrewalk_Tint", 0x1057_0002, VertexFormat::Float32x4);

const MODELS: Handle<Shader> = uuid_handle!("2b0f6a54-6d0f-4f0e-9a52-0d6f2c5b7a01");
const SURFACE: Handle<Shader> = uuid_handle!("2b0f6a54-6d0f-4f0e-9a52-0d6f2c5b7a02");
const PANE: Handle<Shader> = uuid_handle!("2b0f6a54-6d0f-4f0e-9a52-0d6f2c5b7a03");
const SKY: Handle<Shader> = uuid_handle!("2b0f6a54-6d0f-4f0e-9a52-0d6f2c5b7a04");
const TILES: Handle<Shader> = uuid_handle!("2b0f6a54-6d0f-4f0e-9a52-0d6f2c5b7a05");
const TONE: Handle<Shader> = uuid_handle!("2b0f6a54-6d0f-4f0e-9a52-0d6f2c5b7a06");

/// Registers the shaders and materials.
pub(super) fn plugin(app: &mut App) {
    let texts = [
        (
            &MODELS,
            include_str!("../../../assets/shaders/materials.wgsl"),
            "materials.wgsl",
        ),
        (
            &SURFACE,
            include_str!("../../../assets/shaders/surface.wgsl"),
            "surface.wgsl",
        ),
        (
            &PANE,
            include_str!("../../../assets/shaders/pane.wgsl"),
            "pane.wgsl",
        ),
        (
            &SKY,
            include_str!("../../../assets/shaders/sky.wgsl"),
            "sky.wgsl",
        ),
        (
            &TILES,
            include_str!("../../../assets/shaders/tiles.wgsl"),
            "tiles.wgsl",
        ),
        (
            &TONE,
            include_str!("../../../assets/shaders/tone.wgsl"),
            "tone.wgsl",
        ),
    ];
    let mut shaders = app.world_mut().resource_mut::<Assets<Shader>>();
    for (handle, text, name) in texts {
        // The handles are fixed and not in use yet, so inserting cannot fail.
        let _ = shaders.insert(
            handle,
            Shader::from_wgsl(text, format!("lustrewalk/{name}")),
        );
    }
    app.add_plugins((
        MaterialPlugin::<SurfaceMaterial>::default(),
        MaterialPlugin::<PaneMaterial>::default(),
        MaterialPlugin::<SkyMaterial>::default(),
        MaterialPlugin::<TileMaterial>::default(),
        MaterialPlugin::<MeansMaterial>::default(),
        FullscreenMaterialPlugin::<Tone>::default(),
    ));
}

/// Surfaces of the room and what shines on them.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
#[bind_group_data(SurfaceKey)]
pub struct SurfaceMaterial {
    /// Luminances of all surfaces with their light's colours [cd/m2].
    #[texture(0)]
    #[sampler(1)]
    pub atlas: Handle<Image>,
    /// Colour of the light that vertices bring along.
    #[uniform(2)]
    pub beside_rgb: Vec4,
    /// Whether it lies on another surface and must win over it.
    pub on_top: bool,
}

/// What tells pipelines of surfaces apart.
#[repr(C)]
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct SurfaceKey {
    on_top: bool,
}

impl From<&SurfaceMaterial> for SurfaceKey {
    fn from(material: &SurfaceMaterial) -> Self {
        Self {
            on_top: material.on_top,
        }
    }
}

impl Material for SurfaceMaterial {
    fn vertex_shader() -> ShaderRef {
        SURFACE.into()
    }

    fn fragment_shader() -> ShaderRef {
        SURFACE.into()
    }

    fn enable_prepass() -> bool {
        false
    }

    fn enable_shadows() -> bool {
        false
    }

    fn specialize(
        _: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        layout: &MeshVertexBufferLayoutRef,
        key: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        placed_layout(descriptor, layout)?;
        if key.bind_group_data.on_top
            && let Some(depth) = descriptor.depth_stencil.as_mut()
        {
            // Nearer is larger.
            depth.bias.constant = 8;
            depth.bias.slope_scale = 2.0;
        }
        Ok(())
    }
}

/// Glass and other panes.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct PaneMaterial {
    /// Luminances of all surfaces with their light's colours [cd/m2].
    #[texture(0)]
    #[sampler(1)]
    pub atlas: Handle<Image>,
    /// Transmittance of each pane (row) on the cosine (column).
    #[texture(2, sample_type = "float", filterable = false)]
    pub transmittances: Handle<Image>,
}

impl Material for PaneMaterial {
    fn vertex_shader() -> ShaderRef {
        PANE.into()
    }

    fn fragment_shader() -> ShaderRef {
        PANE.into()
    }

    fn alpha_mode(&self) -> AlphaMode {
        AlphaMode::Blend
    }

    fn enable_prepass() -> bool {
        false
    }

    fn enable_shadows() -> bool {
        false
    }

    fn specialize(
        _: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        layout: &MeshVertexBufferLayoutRef,
        _: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        placed_layout(descriptor, layout)?;
        descriptor.primitive.cull_mode = None;
        let target = descriptor
            .fragment
            .as_mut()
            .and_then(|f| f.targets.first_mut())
            .and_then(Option::as_mut);
        if let Some(target) = target {
            target.blend = Some(BlendState {
                color: BlendComponent {
                    src_factor: BlendFactor::One,
                    dst_factor: BlendFactor::SrcAlpha,
                    operation: BlendOperation::Add,
                },
                alpha: BlendComponent {
                    src_factor: BlendFactor::Zero,
                    dst_factor: BlendFactor::One,
                    operation: BlendOperation::Add,
                },
            });
        }
        Ok(())
    }
}

/// Sky and ground.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct SkyMaterial {
    /// The sun.
    #[uniform(0)]
    pub sun: SunInSky,
    /// Luminances by direction [cd/m2].
    #[texture(1)]
    #[sampler(2)]
    pub sky: Handle<Image>,
}

/// Direction to the sun and its luminance [cd/m2], 0 when it is down; and colours of luminance 1.
#[derive(ShaderType, Clone, Copy, Debug, Default)]
pub struct SunInSky {
    /// xyz: direction; w: luminance.
    pub dir: Vec4,
    /// Of the sun.
    pub sun_rgb: Vec4,
    /// Of the sky.
    pub sky_rgb: Vec4,
    /// Of the ground.
    pub ground_rgb: Vec4,
}

impl Material for SkyMaterial {
    fn vertex_shader() -> ShaderRef {
        SKY.into()
    }

    fn fragment_shader() -> ShaderRef {
        SKY.into()
    }

    fn enable_prepass() -> bool {
        false
    }

    fn enable_shadows() -> bool {
        false
    }

    fn specialize(
        _: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        layout: &MeshVertexBufferLayoutRef,
        _: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        descriptor.vertex.buffers = vec![
            layout
                .0
                .get_layout(&[Mesh::ATTRIBUTE_POSITION.at_shader_location(0)])?,
        ];
        descriptor.primitive.cull_mode = None;
        Ok(())
    }
}

/// Tiles of the piece.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct TileMaterial {
    /// How they are drawn.
    #[uniform(0)]
    pub settings: TileSettings,
    /// Records of the materials.
    #[storage(10, read_only)]
    pub models: Handle<ShaderBuffer>,
    /// One entry a tile.
    #[storage(11, read_only)]
    pub tiles: Handle<ShaderBuffer>,
    /// Sources that light the piece.
    #[storage(12, read_only)]
    pub sources: Handle<ShaderBuffer>,
    /// [`SPOTS`] points of each tile, along its grain and across from its middle [m].
    #[storage(13, read_only)]
    pub spots: Handle<ShaderBuffer>,
    /// Character at those points, as [`MeansMaterial`] draws it.
    #[texture(14, filterable = false, visibility(vertex, fragment))]
    pub means: Handle<Image>,
}

/// Draws the character of each tile at each of its points into a picture of its own, which the tiles are then
/// divided by.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
pub struct MeansMaterial {
    /// As for the tiles, with the eye.
    #[uniform(0)]
    pub settings: TileSettings,
    /// Records of the materials.
    #[storage(10, read_only)]
    pub models: Handle<ShaderBuffer>,
    /// One entry a tile.
    #[storage(11, read_only)]
    pub tiles: Handle<ShaderBuffer>,
    /// Sources that light the piece.
    #[storage(12, read_only)]
    pub sources: Handle<ShaderBuffer>,
    /// Points of each tile.
    #[storage(13, read_only)]
    pub spots: Handle<ShaderBuffer>,
}

/// Size of the picture of the means for some tiles [pixels].
pub fn means_size(tile_count: usize) -> [u32; 2] {
    const ACROSS: usize = 16;
    [
        (ACROSS * SPOTS) as u32,
        tile_count.div_ceil(ACROSS).max(1) as u32,
    ]
}

impl Material for MeansMaterial {
    fn vertex_shader() -> ShaderRef {
        TILES.into()
    }

    fn fragment_shader() -> ShaderRef {
        TILES.into()
    }

    fn enable_prepass() -> bool {
        false
    }

    fn enable_shadows() -> bool {
        false
    }

    fn specialize(
        _: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        layout: &MeshVertexBufferLayoutRef,
        _: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        descriptor.vertex.buffers = vec![
            layout
                .0
                .get_layout(&[Mesh::ATTRIBUTE_POSITION.at_shader_location(0)])?,
        ];
        descriptor.vertex.entry_point = Some("means_vertex".into());
        if let Some(fragment) = descriptor.fragment.as_mut() {
            fragment.entry_point = Some("means_fragment".into());
        }
        descriptor.primitive.cull_mode = None;
        Ok(())
    }
}

/// Points of a tile that the mean of its character is taken over; the shader's own number.
pub const SPOTS: usize = 128;

/// How tiles are drawn.
#[derive(ShaderType, Clone, Copy, Debug, Default)]
pub struct TileSettings {
    /// Sources in the list.
    pub source_count: u32,
    /// Widest pixel on a tile that shows its character [m].
    pub close_m: f32,
    /// 1: luminance by the models and the sources alone.
    pub bare: u32,
    /// Fills the block.
    pub unused: u32,
    /// Eye [m, world], and the pixels that a metre covers a metre away; for the means.
    pub eye: Vec4,
}

/// What the shader knows of a tile.
#[derive(ShaderType, Clone, Copy, Debug, Default)]
pub struct TileEntry {
    /// Middle [m], and luminance toward the eye [cd/m2].
    pub middle: Vec4,
    /// Grain arrow, and offset of the material's record.
    pub grain: Vec4,
    /// Across the grain, and a number of its own.
    pub across: Vec4,
    /// Off the face.
    pub normal: Vec4,
    /// Colour of luminance 1, and luminance of the sides [cd/m2].
    pub tint: Vec4,
}

impl Material for TileMaterial {
    fn vertex_shader() -> ShaderRef {
        TILES.into()
    }

    fn fragment_shader() -> ShaderRef {
        TILES.into()
    }

    fn enable_prepass() -> bool {
        false
    }

    fn enable_shadows() -> bool {
        false
    }

    fn specialize(
        _: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        layout: &MeshVertexBufferLayoutRef,
        _: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        descriptor.vertex.buffers = vec![layout.0.get_layout(&[
            Mesh::ATTRIBUTE_POSITION.at_shader_location(0),
            PLACE.at_shader_location(1),
        ])?];
        // The means have entry points of their own in the same file.
        descriptor.vertex.entry_point = Some("vertex".into());
        if let Some(fragment) = descriptor.fragment.as_mut() {
            fragment.entry_point = Some("fragment".into());
        }
        if let Some(depth) = descriptor.depth_stencil.as_mut() {
            // Thin pieces win over their wall from afar.
            depth.bias.constant = 16;
            depth.bias.slope_scale = 2.0;
        }
        Ok(())
    }
}

fn placed_layout(
    descriptor: &mut RenderPipelineDescriptor,
    layout: &MeshVertexBufferLayoutRef,
) -> Result<(), SpecializedMeshPipelineError> {
    descriptor.vertex.buffers = vec![layout.0.get_layout(&[
        Mesh::ATTRIBUTE_POSITION.at_shader_location(0),
        PLACE.at_shader_location(1),
        TINT.at_shader_location(2),
    ])?];
    Ok(())
}

/// The tone curve, on a camera.
#[derive(Component, ExtractComponent, ShaderType, Clone, Copy, Debug)]
pub struct Tone {
    /// Scale [m2/cd].
    pub scale: f32,
    /// 1 / white^2 after scaling.
    pub inverse_white_square: f32,
    /// Lowest luminance of the colour scale [cd/m2].
    pub low_cd_m2: f32,
    /// Decades of the colour scale; 0 for a picture.
    pub decades: f32,
    /// Columns of the matrix that turns the light's colour toward the display's white.
    pub white: [Vec4; 3],
    /// Colours of the scale.
    pub ramp: [Vec4; 17],
}

impl Tone {
    /// Shows a picture to an eye.
    pub fn show(&mut self, eye: &crate::image::Exposure) {
        let (scale, inverse_white_square) = eye.curve().parts();
        self.scale = scale as f32;
        self.inverse_white_square = inverse_white_square as f32;
        let white = eye.white_matrix();
        self.white = [white.x_axis, white.y_axis, white.z_axis].map(|c| c.extend(0.0));
    }
}

impl Default for Tone {
    fn default() -> Self {
        Self {
            scale: 0.018,
            inverse_white_square: 0.0,
            low_cd_m2: 1.0,
            decades: 0.0,
            white: [Vec4::X, Vec4::Y, Vec4::Z],
            ramp: std::array::from_fn(|i| {
                let rgb = crate::report::ramp::colour(i as f32 / 16.0);
                let [r, g, b] =
                    rgb.map(|c| crate::measure::colour::srgb_decode(f64::from(c) / 255.0) as f32);
                Vec4::new(r, g, b, 1.0)
            }),
        }
    }
}

impl FullscreenMaterial for Tone {
    fn fragment_shader() -> ShaderRef {
        TONE.into()
    }
}
