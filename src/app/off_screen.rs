//! Drawing without a window: an app that is driven by hand, and pictures read back as floats.

use std::{
    sync::{Arc, Mutex, PoisonError},
    time::{Duration, Instant},
};

use bevy::{
    camera::RenderTarget,
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    log::LogPlugin,
    prelude::*,
    render::{
        RenderPlugin,
        gpu_readback::{Readback, ReadbackComplete},
        pipelined_rendering::PipelinedRenderingPlugin,
        render_resource::{TextureFormat, TextureUsages},
        renderer::RenderDevice,
    },
    window::{ExitCondition, WindowPlugin},
    winit::WinitPlugin,
};

use super::adapter::{AdapterError, adapter};

/// Longest wait for a picture [s].
const MOST_WAIT_S: u64 = 120;
/// Frames drawn before one is taken: shaders and textures are there then.
const WARM_UP: usize = 12;

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum OffScreenError {
    /// Nothing can draw.
    #[error(transparent)]
    Adapter(#[from] AdapterError),
    /// The picture did not come.
    #[error("the picture did not come within {MOST_WAIT_S} s")]
    Late,
}

/// An app without a window.
///
/// # Errors
/// No graphics adapter.
pub fn off_screen_app() -> Result<App, OffScreenError> {
    adapter()?;
    let mut app = App::new();
    app.add_plugins(
        DefaultPlugins
            .set(WindowPlugin {
                primary_window: None,
                exit_condition: ExitCondition::DontExit,
                ..default()
            })
            .set(RenderPlugin {
                synchronous_pipeline_compilation: true,
                ..default()
            })
            .disable::<WinitPlugin>()
            .disable::<LogPlugin>()
            .disable::<PipelinedRenderingPlugin>(),
    )
    .add_plugins(super::picture::plugin);
    Ok(app)
}

/// Makes an app that was built ready to be driven by hand.
pub fn start(app: &mut App) {
    app.finish();
    app.cleanup();
}

/// A target of linear floats, four a pixel.
pub fn float_target(app: &mut App, size: [u32; 2]) -> Handle<Image> {
    let mut image = Image::new_target_texture(size[0], size[1], TextureFormat::Rgba32Float, None);
    image.texture_descriptor.usage |= TextureUsages::COPY_SRC;
    app.world_mut().resource_mut::<Assets<Image>>().add(image)
}

/// Spawns a camera that writes luminances as they are into a target.
pub fn spawn_bare_camera(
    app: &mut App,
    target: &Handle<Image>,
    projection: Projection,
    transform: Transform,
) -> Entity {
    app.world_mut()
        .spawn((
            Camera3d::default(),
            Camera {
                clear_color: ClearColorConfig::Custom(Color::NONE),
                ..default()
            },
            RenderTarget::Image(target.clone().into()),
            projection,
            Msaa::Off,
            Tonemapping::None,
            DebandDither::Disabled,
            transform,
        ))
        .id()
}

/// Draws until shaders are ready and reads the target: `[r, g, b, a]` a pixel, row-major from the top.
///
/// # Errors
/// [`OffScreenError::Late`].
pub fn take_floats(
    app: &mut App,
    target: &Handle<Image>,
    size: [u32; 2],
) -> Result<Vec<[f32; 4]>, OffScreenError> {
    for _ in 0..WARM_UP {
        app.update();
    }
    let taken: Arc<Mutex<Option<Vec<u8>>>> = Arc::default();
    let to = Arc::clone(&taken);
    app.world_mut()
        .spawn(Readback::texture(target.clone()))
        .observe(move |read: On<ReadbackComplete>, mut commands: Commands| {
            *to.lock().unwrap_or_else(PoisonError::into_inner) = Some(read.data.clone());
            commands.entity(read.entity).despawn();
        });
    let begin = Instant::now();
    loop {
        app.update();
        let data = taken.lock().unwrap_or_else(PoisonError::into_inner).take();
        if let Some(data) = data {
            return Ok(pixels(&data, size));
        }
        if begin.elapsed() > Duration::from_secs(MOST_WAIT_S) {
            return Err(OffScreenError::Late);
        }
    }
}

/// Rows of a read-back picture without their padding.
fn pixels(data: &[u8], size: [u32; 2]) -> Vec<[f32; 4]> {
    const PIXEL: usize = 16;
    let row = size[0] as usize * PIXEL;
    let pitch = RenderDevice::align_copy_bytes_per_row(row);
    let mut pixels = Vec::with_capacity((size[0] * size[1]) as usize);
    for y in 0..size[1] as usize {
        let Some(line) = data.get(y * pitch..y * pitch + row) else {
            break;
        };
        for pixel in line.chunks_exact(PIXEL) {
            let channel = |k: usize| {
                let mut bytes = [0; 4];
                bytes.copy_from_slice(&pixel[k * 4..k * 4 + 4]);
                f32::from_le_bytes(bytes)
            };
            pixels.push([channel(0), channel(1), channel(2), channel(3)]);
        }
    }
    pixels
}
