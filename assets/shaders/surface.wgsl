// Surfaces of the room: the engine's luminance from the atlas, plus what a vertex brings along (patches of
// sun, lamps). Output: linear Rec. 709 whose weighted sum is the luminance in cd/m2.

#import bevy_pbr::{
    mesh_functions::{get_world_from_local, mesh_position_local_to_world},
    view_transformations::position_world_to_clip,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var atlas: texture_2d<f32>;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var atlas_sampler: sampler;
// Colour of luminance 1 of the light that a vertex brings along.
@group(#{MATERIAL_BIND_GROUP}) @binding(2) var<uniform> beside_rgb: vec4<f32>;

// Half-precision pictures end here.
const MOST_CD_M2: f32 = 60000.0;
// Rec. 709 luminance weights (IEC 61966-2-1).
const WEIGHTS: vec3<f32> = vec3(0.2126, 0.7152, 0.0722);

struct VertexIn {
    @builtin(instance_index) instance: u32,
    @location(0) position: vec3<f32>,
    // Place in the atlas; below 0 where the surface has none.
    @location(1) place: vec2<f32>,
    // Colour of luminance 1, and luminance beside the atlas [cd/m2].
    @location(2) tint: vec4<f32>,
}

struct VertexOut {
    @builtin(position) clip: vec4<f32>,
    @location(0) place: vec2<f32>,
    @location(1) tint: vec4<f32>,
}

@vertex
fn vertex(in: VertexIn) -> VertexOut {
    var out: VertexOut;
    let world = mesh_position_local_to_world(get_world_from_local(in.instance), vec4(in.position, 1.0));
    out.clip = position_world_to_clip(world.xyz);
    out.place = in.place;
    out.tint = in.tint;
    return out;
}

@fragment
fn fragment(in: VertexOut) -> @location(0) vec4<f32> {
    let texel = textureSampleLevel(atlas, atlas_sampler, max(in.place, vec2(0.0)), 0.0).rgb;
    let light = select(texel, vec3(0.0), in.place.x < 0.0) + beside_rgb.rgb * in.tint.w;
    // The surface tints the light; the luminance stays the engine's.
    let luminance = dot(light, WEIGHTS);
    let seen = in.tint.rgb * light;
    let as_bright = seen * (min(luminance, MOST_CD_M2) / max(dot(seen, WEIGHTS), 1e-9));
    return vec4(select(vec3(0.0), as_bright, luminance > 0.0), 1.0);
}
