//! The graphics adapter: whether there is one, and what it is, before anything needs it.

/// What draws.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Adapter {
    /// Its name.
    pub name: String,
    /// Whether the processor draws, which is slow.
    pub is_software: bool,
}

/// Why nothing can be drawn.
#[derive(Debug, thiserror::Error)]
pub enum AdapterError {
    /// No adapter.
    #[error("no graphics adapter was found ({why})")]
    None {
        /// What the graphics library says.
        why: String,
    },
    /// No window system.
    #[error("no window can be opened here: neither DISPLAY nor WAYLAND_DISPLAY is set")]
    NoDisplay,
}

impl AdapterError {
    /// What to do.
    pub fn help(&self) -> &'static str {
        match self {
            Self::None { .. } => {
                "install the Vulkan driver of the graphics card, or a software one (Debian: mesa-vulkan-drivers); \
                 check, meter and study work without"
            }
            Self::NoDisplay => {
                "start it in a graphical session; check, meter and study work without a window"
            }
        }
    }
}

/// Asks for the adapter that the window would get.
///
/// # Errors
/// [`AdapterError::None`].
pub fn adapter() -> Result<Adapter, AdapterError> {
    let mut descriptor = wgpu::InstanceDescriptor::new_without_display_handle();
    descriptor.backends = wgpu::Backends::from_env().unwrap_or(wgpu::Backends::all());
    let instance = wgpu::Instance::new(descriptor);
    let options = wgpu::RequestAdapterOptions {
        power_preference: wgpu::PowerPreference::HighPerformance,
        ..Default::default()
    };
    let found = bevy::tasks::block_on(instance.request_adapter(&options));
    let info = found
        .map_err(|e| AdapterError::None {
            why: e.to_string().trim_end_matches('.').to_owned(),
        })?
        .get_info();
    Ok(Adapter {
        is_software: info.device_type == wgpu::DeviceType::Cpu,
        name: info.name,
    })
}

/// Whether a window system is there.
///
/// # Errors
/// [`AdapterError::NoDisplay`].
pub fn display() -> Result<(), AdapterError> {
    let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
    let is_unix_desktop = cfg!(all(unix, not(target_os = "macos")));
    if is_unix_desktop && !set("DISPLAY") && !set("WAYLAND_DISPLAY") && !set("WAYLAND_SOCKET") {
        return Err(AdapterError::NoDisplay);
    }
    Ok(())
}
