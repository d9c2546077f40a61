// Panes: what stands behind is dimmed by the glazing's transmittance at the angle of the look, and what a
// diffusing pane sends out is added. Blending: colour + behind x alpha.

#import bevy_pbr::{
    mesh_functions::{get_world_from_local, mesh_position_local_to_world},
    mesh_view_bindings::view,
    view_transformations::position_world_to_clip,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var atlas: texture_2d<f32>;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var atlas_sampler: sampler;
// Rows: panes; columns: transmittance on the cosine from 0 to 1, all factors included.
@group(#{MATERIAL_BIND_GROUP}) @binding(2) var transmittances: texture_2d<f32>;

struct VertexIn {
    @builtin(instance_index) instance: u32,
    @location(0) position: vec3<f32>,
    @location(1) place: vec2<f32>,
    // Normal, and the pane's row.
    @location(2) tint: vec4<f32>,
}

struct VertexOut {
    @builtin(position) clip: vec4<f32>,
    @location(0) place: vec2<f32>,
    @location(1) tint: vec4<f32>,
    @location(2) world: vec3<f32>,
}

@vertex
fn vertex(in: VertexIn) -> VertexOut {
    var out: VertexOut;
    let world = mesh_position_local_to_world(get_world_from_local(in.instance), vec4(in.position, 1.0));
    out.clip = position_world_to_clip(world.xyz);
    out.place = in.place;
    out.tint = in.tint;
    out.world = world.xyz;
    return out;
}

@fragment
fn fragment(in: VertexOut) -> @location(0) vec4<f32> {
    let to_eye = normalize(view.world_position - in.world);
    let size = vec2<i32>(textureDimensions(transmittances));
    let x = abs(dot(to_eye, in.tint.xyz)) * f32(size.x - 1);
    let row = clamp(i32(in.tint.w + 0.5), 0, size.y - 1);
    let left = clamp(i32(x), 0, size.x - 2);
    let a = textureLoad(transmittances, vec2(left, row), 0).r;
    let b = textureLoad(transmittances, vec2(left + 1, row), 0).r;
    let texel = textureSampleLevel(atlas, atlas_sampler, max(in.place, vec2(0.0)), 0.0).rgb;
    let own = select(texel, vec3(0.0), in.place.x < 0.0);
    return vec4(own, mix(a, b, x - f32(left)));
}
