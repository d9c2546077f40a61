//! Where a visitor's eye is, and where it looks.

use glam::Vec3;

/// A sampled point of a walk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Eye [m, world].
    pub eye: Vec3,
    /// Line of sight, unit.
    pub gaze_dir: Vec3,
    /// Distance walked from the start of the walk [m].
    pub distance_m: f32,
}
