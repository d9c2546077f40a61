//! Planar polygons, frames and ray queries, in world metres (+Y up).

mod frame;
mod polygon;
mod ray_mesh;

pub use frame::Frame;
pub use polygon::{Polygon, PolygonError, clip_to_box, cross, polygon_area_m2, polygon_contains};
pub use ray_mesh::{RayHit, RayMesh};
