//! From the picture to the room and back: where a point of the room is drawn, and what ray a place in the
//! picture looks along.

use bevy::{
    camera::Projection,
    ecs::resource::Resource,
    math::{Mat4, Vec2, Vec3, Vec4},
    transform::components::Transform,
};

/// One picture on the screen, in the window's logical points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    clip_from_world: Mat4,
    world_from_clip: Mat4,
    min: Vec2,
    size: Vec2,
}

/// A half line in the room, world metres; the direction is unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Where it starts.
    pub origin: Vec3,
    /// Where it goes.
    pub dir: Vec3,
}

/// The pictures that are shown, from the left; none before the first frame.
#[derive(Resource, Clone, Debug, Default)]
pub struct Views(pub Vec<View>);

impl View {
    /// The picture of a camera that fills a rectangle of the window.
    pub fn new(camera: &Transform, projection: &Projection, min: Vec2, size: Vec2) -> Self {
        let size = size.max(Vec2::ONE);
        let mut projection = projection.clone();
        projection.update(size.x, size.y);
        let clip_from_world = projection.get_clip_from_view() * camera.to_matrix().inverse();
        Self {
            clip_from_world,
            world_from_clip: clip_from_world.inverse(),
            min,
            size,
        }
    }

    /// Where a point of the room is drawn; `None` behind the eye.
    pub fn place(&self, world: Vec3) -> Option<Vec2> {
        let clip = self.clip_from_world * world.extend(1.0);
        if clip.w <= 1e-4 {
            return None;
        }
        let at = Vec2::new(clip.x, -clip.y) / clip.w;
        Some(self.min + (at + Vec2::ONE) * 0.5 * self.size)
    }

    /// Where a direction of the world is drawn, as of something infinitely far; `None` behind the eye.
    pub fn place_of_direction(&self, dir: Vec3) -> Option<Vec2> {
        let clip = self.clip_from_world * dir.extend(0.0);
        if clip.w <= 1e-4 {
            return None;
        }
        let at = Vec2::new(clip.x, -clip.y) / clip.w;
        Some(self.min + (at + Vec2::ONE) * 0.5 * self.size)
    }

    /// The ray that a place in the picture looks along.
    pub fn sight(&self, at: Vec2) -> Sight {
        let share = (at - self.min) / self.size * 2.0 - Vec2::ONE;
        let point = |depth: f32| {
            let p = self.world_from_clip * Vec4::new(share.x, -share.y, depth, 1.0);
            p.truncate() / p.w
        };
        // Depth is reversed: 1 is the near plane.
        let (near, far) = (point(1.0), point(0.1));
        Sight {
            origin: near,
            dir: (far - near).normalize_or(Vec3::NEG_Z),
        }
    }

    /// Whether a place of the window lies in the picture.
    pub fn contains(&self, at: Vec2) -> bool {
        at.cmpge(self.min).all() && at.cmplt(self.min + self.size).all()
    }
}

impl Sight {
    /// Where it meets a plane; `None` along it or behind.
    pub fn on_plane(&self, point: Vec3, normal: Vec3) -> Option<Vec3> {
        let along = self.dir.dot(normal);
        if along.abs() < 1e-5 {
            return None;
        }
        let distance_m = (point - self.origin).dot(normal) / along;
        (distance_m > 0.0).then(|| self.origin + self.dir * distance_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy::camera::{OrthographicProjection, PerspectiveProjection, ScalingMode};

    #[test]
    fn a_place_in_the_picture_looks_at_the_point_that_is_drawn_there() {
        let eye =
            Transform::from_xyz(2.0, 1.6, -4.0).looking_at(Vec3::new(8.0, 2.0, -9.0), Vec3::Y);
        let above = Transform::from_xyz(3.0, 100.0, -5.0).looking_to(Vec3::NEG_Y, Vec3::NEG_Z);
        let lens = Projection::Perspective(PerspectiveProjection {
            fov: 0.9,
            near: 0.03,
            ..Default::default()
        });
        let sheet = Projection::Orthographic(OrthographicProjection {
            scaling_mode: ScalingMode::FixedVertical {
                viewport_height: 15.0,
            },
            near: 0.1,
            far: 300.0,
            ..OrthographicProjection::default_3d()
        });
        let (min, size) = (Vec2::new(190.0, 42.0), Vec2::new(820.0, 462.0));
        for (camera, projection) in [(eye, lens), (above, sheet)] {
            let view = View::new(&camera, &projection, min, size);
            for point in [Vec3::new(5.0, 1.0, -6.0), Vec3::new(4.0, 2.5, -7.0)] {
                let at = view.place(point).unwrap();
                let sight = view.sight(at);
                let nearest =
                    sight.origin + sight.dir * (point - sight.origin).dot(sight.dir).max(0.0);
                assert!(nearest.distance(point) < 2e-3, "{point}: {nearest}");
                let hit = sight.on_plane(point, Vec3::Y);
                assert!(hit.is_none_or(|h| h.distance(point) < 5e-3), "{hit:?}");
            }
            let middle = view
                .place(camera.translation + *camera.forward() * 3.0)
                .unwrap();
            assert!(middle.distance(min + size * 0.5) < 0.1, "{middle}");
            assert!(view.contains(middle) && !view.contains(Vec2::ZERO));
        }
        let view = View::new(&eye, &Projection::default(), min, size);
        assert_eq!(
            view.place(Vec3::new(-20.0, 1.6, 10.0)),
            None,
            "behind the eye"
        );
    }
}
