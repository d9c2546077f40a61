//! Drawing without a window: an app that is driven by hand, and pictures read back as floats.

use std::{
    collections::VecDeque,
    sync::{Arc, Mutex, PoisonError},
    time::{Duration, Instant},
};

use bevy::{
    app::TerminalCtrlCHandlerPlugin,
    camera::RenderTarget,
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    log::LogPlugin,
    prelude::*,
    render::{
        RenderPlugin,
        gpu_readback::{Readback, ReadbackComplete},
        pipelined_rendering::PipelinedRenderingPlugin,
        render_resource::{PollType, TextureFormat, TextureUsages},
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
            // It would take the first interrupt for itself, and nobody asks it.
            .disable::<TerminalCtrlCHandlerPlugin>()
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

/// A target of display-encoded colours, a byte a channel.
pub fn colour_target(app: &mut App, size: [u32; 2]) -> Handle<Image> {
    let mut image =
        Image::new_target_texture(size[0], size[1], TextureFormat::Rgba8UnormSrgb, None);
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
    warm_up(app);
    let mut reader = TargetReader::new(app, target);
    app.update();
    let bytes = reader.last(app)?;
    Ok(floats(&bytes, size))
}

/// Draws some frames that nobody sees, until shaders and textures are there.
pub fn warm_up(app: &mut App) {
    for _ in 0..WARM_UP {
        app.update();
    }
}

/// Reads a target after every update, in order: one picture an update, none left out, none twice.
pub struct TargetReader {
    entity: Entity,
    taken: Arc<Mutex<VecDeque<Vec<u8>>>>,
}

impl TargetReader {
    /// A reader whose first picture is that of the next update.
    pub fn new(app: &mut App, target: &Handle<Image>) -> Self {
        let taken: Arc<Mutex<VecDeque<Vec<u8>>>> = Arc::default();
        let to = Arc::clone(&taken);
        let entity = app
            .world_mut()
            .spawn(Readback::texture(target.clone()))
            .observe(move |read: On<ReadbackComplete>| {
                let mut taken = to.lock().unwrap_or_else(PoisonError::into_inner);
                taken.push_back(read.data.clone());
            })
            .id();
        Self { entity, taken }
    }

    /// Waits until the graphics adapter has drawn what was asked of it; the pictures come with the next update.
    pub fn wait(app: &App) {
        if let Some(device) = app.world().get_resource::<RenderDevice>() {
            // A device that is lost gives no pictures, which is found out there.
            let _ = device.poll(PollType::wait_indefinitely());
        }
    }

    /// The next picture, rows with their padding; `None` where it has not come yet.
    pub fn take(&mut self) -> Option<Vec<u8>> {
        let mut taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        taken.pop_front()
    }

    /// The picture of the last update, after which nothing more is read.
    ///
    /// # Errors
    /// [`OffScreenError::Late`].
    pub fn last(&mut self, app: &mut App) -> Result<Vec<u8>, OffScreenError> {
        if let Ok(mut entity) = app.world_mut().get_entity_mut(self.entity) {
            entity.remove::<Readback>();
        }
        let begin = Instant::now();
        loop {
            Self::wait(app);
            app.update();
            if let Some(bytes) = self.take() {
                app.world_mut().despawn(self.entity);
                return Ok(bytes);
            }
            if begin.elapsed() > Duration::from_secs(MOST_WAIT_S) {
                return Err(OffScreenError::Late);
            }
        }
    }
}

/// Rows of a read-back picture without their padding, `bytes` a pixel.
pub fn rows_without_padding(data: &[u8], size: [u32; 2], bytes: usize) -> Vec<u8> {
    let row = size[0] as usize * bytes;
    let pitch = RenderDevice::align_copy_bytes_per_row(row);
    let mut out = Vec::with_capacity(row * size[1] as usize);
    for line in data.chunks(pitch).take(size[1] as usize) {
        out.extend_from_slice(line.get(..row).unwrap_or(line));
    }
    out
}

/// Four floats a pixel of a read-back picture.
pub fn floats(data: &[u8], size: [u32; 2]) -> Vec<[f32; 4]> {
    rows_without_padding(data, size, 16)
        .as_chunks::<16>()
        .0
        .iter()
        .map(|pixel| {
            [0, 4, 8, 12]
                .map(|k| f32::from_le_bytes([pixel[k], pixel[k + 1], pixel[k + 2], pixel[k + 3]]))
        })
        .collect()
}
