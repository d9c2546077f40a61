//! Closest-hit and occlusion queries on planar polygons through a wide BVH.
//!
//! The tree is the compressed wide BVH of the crate `obvhs` (Ylitie, Karras and Laine, "Efficient
//! incoherent ray traversal on GPUs through compressed wide BVHs", 2017). Polygons stay few and
//! large; finer structure is a lookup on the polygon that was hit. The triangle test gives the edges
//! a tolerance of 1e-5 of the triangle, so that rays do not slip through shared edges.

use std::time::Duration;

use glam::{Vec3, Vec3A};
use obvhs::{
    BvhBuildParams,
    cwbvh::{CwBvh, builder::build_cwbvh_from_tris},
    ray::{Ray, RayHit as TreeHit},
    triangle::Triangle,
};

use super::Polygon;

/// What a ray meets first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RayHit {
    /// Index of the polygon in the list that the mesh was built from.
    pub polygon_index: u32,
    /// Distance in multiples of the length of the ray's direction.
    pub distance: f32,
}

#[derive(Clone, Copy)]
struct MeshTriangle {
    corner: Vec3A,
    edge_a: Vec3A,
    edge_b: Vec3A,
    normal: Vec3A,
    polygon_index: u32,
}

impl MeshTriangle {
    /// Moeller and Trumbore 1997, with edge tolerance. Infinity for a miss.
    #[inline]
    fn intersect(&self, ray: &Ray) -> f32 {
        const EDGE: f32 = 1e-5;
        let det = self.normal.dot(ray.direction);
        if det.abs() < 1e-20 {
            return f32::INFINITY;
        }
        let inv_det = 1.0 / det;
        let c = self.corner - ray.origin;
        let r = ray.direction.cross(c);
        let u = -r.dot(self.edge_b) * inv_det;
        let v = r.dot(self.edge_a) * inv_det;
        if u < -EDGE || v < -EDGE || u + v > 1.0 + EDGE {
            return f32::INFINITY;
        }
        let t = self.normal.dot(c) * inv_det;
        if t >= ray.tmin && t <= ray.tmax {
            t
        } else {
            f32::INFINITY
        }
    }
}

/// Polygons with a tree over their triangles.
pub struct RayMesh {
    tree: CwBvh,
    triangles: Vec<MeshTriangle>,
}

impl RayMesh {
    /// Builds the tree over all triangles of the polygons, in the order given.
    pub fn new<'a>(polygons: impl IntoIterator<Item = &'a Polygon>) -> Self {
        let mut plain = Vec::new();
        let mut unordered = Vec::new();
        for (polygon_index, polygon) in polygons.into_iter().enumerate() {
            for [a, b, c] in polygon.triangles_m() {
                let world = |p: &glam::Vec2| Vec3A::from(polygon.frame().point(p.x, p.y));
                let (a, b, c) = (world(a), world(b), world(c));
                plain.push(Triangle {
                    v0: a,
                    v1: b,
                    v2: c,
                });
                let (edge_a, edge_b) = (b - a, c - a);
                unordered.push(MeshTriangle {
                    corner: a,
                    edge_a,
                    edge_b,
                    normal: edge_a.cross(edge_b),
                    polygon_index: polygon_index as u32,
                });
            }
        }
        let mut spent = Duration::default();
        let tree = build_cwbvh_from_tris(&plain, BvhBuildParams::medium_build(), &mut spent);
        let triangles = tree
            .primitive_indices
            .iter()
            .map(|&i| unordered[i as usize])
            .collect();
        Self { tree, triangles }
    }

    /// Triangles in the tree.
    pub fn triangle_count(&self) -> usize {
        self.triangles.len()
    }

    /// First polygon that the ray meets between `min_distance` and `max_distance` (in lengths of `dir`).
    #[inline]
    pub fn closest(
        &self,
        origin: Vec3,
        dir: Vec3,
        min_distance: f32,
        max_distance: f32,
    ) -> Option<RayHit> {
        debug_assert!(
            origin.is_finite() && dir.is_finite(),
            "ray {origin:?} {dir:?}"
        );
        if self.triangles.is_empty() {
            return None;
        }
        // Adding zero turns -0.0 into +0.0: the tree's octant test takes the sign bit, its slabs do not.
        let dir = dir + Vec3::ZERO;
        let ray = Ray::new(origin.into(), dir.into(), min_distance, max_distance);
        let mut hit = TreeHit::none();
        self.tree
            .ray_traverse(ray, &mut hit, |ray, id| self.triangles[id].intersect(ray))
            .then(|| RayHit {
                polygon_index: self.triangles[hit.primitive_id as usize].polygon_index,
                distance: hit.t,
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cube(half_m: f32) -> Vec<Polygon> {
        let mut faces = Vec::new();
        for axis in 0..3 {
            for sign in [-1.0_f32, 1.0] {
                let mut normal = Vec3::ZERO;
                normal[axis] = sign;
                let u = Vec3::from([normal.z, normal.x, normal.y]).abs();
                let v = normal.cross(u);
                let c = normal * half_m;
                let corners = [
                    c - u * half_m - v * half_m,
                    c + u * half_m - v * half_m,
                    c + u * half_m + v * half_m,
                    c - u * half_m + v * half_m,
                ];
                faces.push(Polygon::from_world(&corners, &[]).unwrap());
            }
        }
        faces
    }

    #[test]
    fn no_ray_leaves_a_closed_cube_and_distances_match_brute_force() {
        let faces = cube(2.0);
        let mesh = RayMesh::new(&faces);
        assert_eq!(mesh.triangle_count(), 12);
        for i in 0..20_000 {
            let z = 1.0 - 2.0 * (i as f32 + 0.5) / 20_000.0;
            let a = i as f32 * 2.399_963;
            let r = (1.0 - z * z).sqrt();
            // Aim at edges and corners as well: round some directions.
            let mut dir = Vec3::new(r * a.cos(), r * a.sin(), z);
            if i % 3 == 0 {
                dir = (dir * 2.0).round();
            }
            if dir == Vec3::ZERO {
                continue;
            }
            let dir = dir.normalize();
            let hit = mesh.closest(Vec3::ZERO, dir, 1e-4, f32::INFINITY);
            let expected = 2.0 / dir.abs().max_element();
            let hit = hit.unwrap_or_else(|| panic!("ray {dir:?} leaks out"));
            assert!(
                (hit.distance - expected).abs() < 1e-4,
                "{dir:?}: {} not {expected}",
                hit.distance
            );
        }
    }

    #[test]
    fn empty_mesh_is_never_hit() {
        let none: [Polygon; 0] = [];
        let mesh = RayMesh::new(&none);
        assert_eq!(mesh.closest(Vec3::ZERO, Vec3::X, 0.0, 1e9), None);
    }
}
