//! One frame to pixels: one picture, or two side by side.

use bevy::{
    camera::{Hdr, RenderTarget, Viewport, visibility::RenderLayers},
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    prelude::*,
};

use crate::{
    app::{
        off_screen::{
            OffScreenError, TargetReader, colour_target, float_target, floats, off_screen_app,
            rows_without_padding, spawn_bare_camera, start, warm_up,
        },
        picture::{Looking, Pictures, Shown, Stores, Tone, draw_picture},
        state::ViewKind,
    },
    image::luminance,
    video::{FrameLight, Rgba},
};

/// Field of view over the height of a picture that is wide enough [rad].
const FIELD_RAD: f32 = 0.9;
/// Width over height below which the field grows, so that the sides are not cut.
const LEAST_ASPECT: f32 = 4.0 / 3.0;
/// Nearest and farthest that is drawn [m].
const NEAR_M: f32 = 0.03;
const FAR_M: f32 = 3000.0;

/// Upright field of view of a picture of a size [rad].
pub fn field_rad(size: [u32; 2]) -> f32 {
    let aspect = size[0] as f32 / size[1].max(1) as f32;
    let grown = (LEAST_ASPECT / aspect).clamp(1.0, 2.2);
    2.0 * ((0.5 * FIELD_RAD).tan() * grown).atan()
}

/// The frame that is being drawn, one light a half.
#[derive(Resource, Default)]
struct FrameNow(Vec<FrameLight>);

/// Width and height of a half [pixels].
#[derive(Resource)]
struct HalfSize([u32; 2]);

#[derive(Component)]
struct HalfCamera(usize);

/// Draws frames off screen.
pub struct Drawer {
    app: App,
    size: [u32; 2],
    half: [u32; 2],
    reader: Option<TargetReader>,
    target: Handle<Image>,
    luminances: Option<(Handle<Image>, Entity)>,
    warm: bool,
}

fn draw_halves(
    now: Res<FrameNow>,
    half: Res<HalfSize>,
    mut pictures: ResMut<Pictures>,
    mut cameras: Query<(&HalfCamera, &mut Transform, Option<&mut Tone>, &mut Camera)>,
    mut stores: Stores,
) {
    for (camera, mut transform, tone, mut settings) in &mut cameras {
        let Some(frame) = now.0.get(camera.0) else {
            continue;
        };
        *transform =
            Transform::from_translation(frame.eye.eye).looking_to(frame.eye.gaze_dir, Vec3::Y);
        if let Some(mut tone) = tone {
            tone.show(&frame.exposure);
            let grey = 0.12 * frame.exposure.middle_cd_m2();
            settings.clear_color = ClearColorConfig::Custom(Color::linear_rgb(grey, grey, grey));
        }
    }
    for (index, frame) in now.0.iter().enumerate() {
        let shown = Shown {
            id: index as u64,
            serial: frame.serial,
            built: &frame.room,
            light: &frame.light,
            state: &frame.state,
            picture: &frame.picture,
            piece: Some(&frame.piece),
        };
        let looking = Looking::new(
            frame.eye.eye,
            field_rad(half.0),
            half.0[1],
            ViewKind::Visitor,
        );
        draw_picture(&mut pictures, index, shown, looking, &mut stores);
    }
}

impl Drawer {
    /// A drawer of pictures of a size [pixels] in one or two halves.
    ///
    /// # Errors
    /// No graphics adapter.
    pub fn new(size: [u32; 2], halves: usize) -> Result<Self, OffScreenError> {
        let halves = halves.clamp(1, 2);
        let half = [size[0] / halves as u32, size[1]];
        let mut app = off_screen_app()?;
        app.init_resource::<FrameNow>()
            .insert_resource(HalfSize(half))
            .add_systems(Update, draw_halves);
        let target = colour_target(&mut app, size);
        for index in 0..halves {
            app.world_mut().spawn((
                HalfCamera(index),
                Camera3d::default(),
                Camera {
                    order: index as isize,
                    viewport: (halves > 1).then(|| Viewport {
                        physical_position: UVec2::new(half[0] * index as u32, 0),
                        physical_size: UVec2::from_array(half),
                        ..default()
                    }),
                    ..default()
                },
                RenderTarget::Image(target.clone().into()),
                projection(half),
                Hdr,
                Tone::default(),
                Tonemapping::None,
                DebandDither::Disabled,
                Msaa::Sample4,
                RenderLayers::layer(index),
                Transform::default(),
            ));
        }
        start(&mut app);
        Ok(Self {
            app,
            size,
            half,
            reader: None,
            target,
            luminances: None,
            warm: false,
        })
    }

    /// Draws a frame, one light a half, and gives the frame that was asked for before it.
    ///
    /// # Errors
    /// [`OffScreenError::Late`].
    pub fn draw(&mut self, frame: Vec<FrameLight>) -> Result<Option<Rgba>, OffScreenError> {
        self.app.world_mut().resource_mut::<FrameNow>().0 = frame;
        if !self.warm {
            warm_up(&mut self.app);
            self.warm = true;
        }
        let expected = self.reader.is_some();
        if self.reader.is_none() {
            self.reader = Some(TargetReader::new(&mut self.app, &self.target));
        }
        self.app.update();
        TargetReader::wait(&self.app);
        let before = self.reader.as_mut().and_then(TargetReader::take);
        match before {
            None if expected => Err(OffScreenError::Late),
            before => Ok(before.map(|bytes| self.pixels(&bytes))),
        }
    }

    /// The frame that was asked for last; none where there was none.
    ///
    /// # Errors
    /// [`OffScreenError::Late`].
    pub fn finish(&mut self) -> Result<Option<Rgba>, OffScreenError> {
        let Some(mut reader) = self.reader.take() else {
            return Ok(None);
        };
        let bytes = reader.last(&mut self.app)?;
        Ok(Some(self.pixels(&bytes)))
    }

    /// One frame alone.
    ///
    /// # Errors
    /// [`OffScreenError::Late`].
    pub fn still(&mut self, frame: Vec<FrameLight>) -> Result<Rgba, OffScreenError> {
        self.finish()?;
        self.draw(frame)?;
        self.finish()?.ok_or(OffScreenError::Late)
    }

    /// Luminances [cd/m2] of the first half of the frame that was drawn last, row-major from the top, before any tone
    /// curve, as large as that half.
    ///
    /// # Errors
    /// [`OffScreenError::Late`].
    pub fn luminances(&mut self) -> Result<Vec<f32>, OffScreenError> {
        let (target, camera) = match &self.luminances {
            Some(known) => known.clone(),
            None => {
                let target = float_target(&mut self.app, self.half);
                let camera = spawn_bare_camera(
                    &mut self.app,
                    &target,
                    projection(self.half),
                    Transform::default(),
                );
                self.app
                    .world_mut()
                    .entity_mut(camera)
                    .insert((HalfCamera(0), RenderLayers::layer(0)));
                warm_up(&mut self.app);
                self.luminances = Some((target.clone(), camera));
                (target, camera)
            }
        };
        let switch = |app: &mut App, on: bool| {
            if let Some(mut camera) = app.world_mut().get_mut::<Camera>(camera) {
                camera.is_active = on;
            }
        };
        switch(&mut self.app, true);
        let mut reader = TargetReader::new(&mut self.app, &target);
        self.app.update();
        let bytes = reader.last(&mut self.app)?;
        // Films need it no more.
        switch(&mut self.app, false);
        Ok(floats(&bytes, self.half)
            .into_iter()
            .map(|[r, g, b, _]| luminance(Vec3::new(r, g, b)))
            .collect())
    }

    fn pixels(&self, bytes: &[u8]) -> Rgba {
        Rgba {
            size: self.size.map(|s| s as usize),
            bytes: rows_without_padding(bytes, self.size, 4),
        }
    }
}

fn projection(size: [u32; 2]) -> Projection {
    Projection::Perspective(PerspectiveProjection {
        fov: field_rad(size),
        near: NEAR_M,
        far: FAR_M,
        ..default()
    })
}
