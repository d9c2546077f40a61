// Sky and ground behind everything, by direction; and the sun's disc.

#import bevy_pbr::{
    mesh_functions::{get_world_from_local, mesh_position_local_to_world},
    mesh_view_bindings::view,
    view_transformations::position_world_to_clip,
}

struct Sun {
    // Direction to it, and its luminance [cd/m2]; 0 when it is down.
    dir: vec4<f32>,
    // Colours of luminance 1.
    sun_rgb: vec4<f32>,
    sky_rgb: vec4<f32>,
    ground_rgb: vec4<f32>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> sun: Sun;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var sky: texture_2d<f32>;
@group(#{MATERIAL_BIND_GROUP}) @binding(2) var sky_sampler: sampler;

const PI: f32 = 3.14159265;
// Cosine of the sun's angular radius, 0.2666 deg.
const DISC_COSINE: f32 = 0.99998917;
const MOST_CD_M2: f32 = 60000.0;

struct VertexOut {
    @builtin(position) clip: vec4<f32>,
    @location(0) world: vec3<f32>,
}

@vertex
fn vertex(@builtin(instance_index) instance: u32, @location(0) position: vec3<f32>) -> VertexOut {
    var out: VertexOut;
    let world = mesh_position_local_to_world(get_world_from_local(instance), vec4(position, 1.0));
    out.clip = position_world_to_clip(world.xyz);
    out.world = world.xyz;
    return out;
}

@fragment
fn fragment(in: VertexOut) -> @location(0) vec4<f32> {
    let dir = normalize(in.world - view.world_position);
    let azimuth = atan2(dir.x, -dir.z) / (2.0 * PI);
    let down = acos(clamp(dir.y, -1.0, 1.0)) / PI;
    var luminance = textureSampleLevel(sky, sky_sampler, vec2(fract(azimuth + 1.0), down), 0.0).r;
    // Over the height of a row of the picture, as the luminance changes there.
    let above = clamp(0.5 + (1.57079633 - down * PI) * 64.0 / PI, 0.0, 1.0);
    var rgb = mix(sun.ground_rgb.rgb, sun.sky_rgb.rgb, above);
    if dot(dir, sun.dir.xyz) > DISC_COSINE {
        rgb = mix(sun.sun_rgb.rgb, rgb, luminance / (luminance + sun.dir.w));
        luminance += sun.dir.w;
    }
    return vec4(rgb * min(luminance, MOST_CD_M2), 1.0);
}
