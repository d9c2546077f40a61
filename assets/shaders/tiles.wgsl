// Tiles of the piece: the engine's luminance for this eye, and close up the character of the material under
// the sources that light the piece, with the tile's mean kept.

#import bevy_pbr::{
    mesh_functions::{get_world_from_local, mesh_position_local_to_world},
    mesh_view_bindings::view,
    view_transformations::position_world_to_clip,
}
#import lustrewalk::materials::{brdf_per_sr, place_character, character_at}

struct Tile {
    // Middle [m], and the luminance toward the eye [cd/m2].
    middle: vec4<f32>,
    // Grain arrow, and the offset of the material's record.
    grain: vec4<f32>,
    // Across the grain, and a number of its own.
    across: vec4<f32>,
    // Off the face; unused.
    normal: vec4<f32>,
    // Colour of luminance 1, and the luminance of the tile's sides [cd/m2].
    tint: vec4<f32>,
}

struct Settings {
    // Sources in the list.
    source_count: u32,
    // Widest pixel on a tile that shows its character [m].
    close_m: f32,
    // 1: luminance by the model and the one source of the tile's own number, for comparison with the engine.
    bare: u32,
    unused: u32,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> settings: Settings;
@group(#{MATERIAL_BIND_GROUP}) @binding(11) var<storage, read> tiles: array<Tile>;
// Direction to each source (world), and the illuminance on a plane facing it [lx].
@group(#{MATERIAL_BIND_GROUP}) @binding(12) var<storage, read> sources: array<vec4<f32>>;

const MOST_CD_M2: f32 = 60000.0;

struct VertexIn {
    @builtin(instance_index) instance: u32,
    @location(0) position: vec3<f32>,
    // Index of the tile, and 1 on its sides.
    @location(1) tile: vec2<f32>,
}

struct VertexOut {
    @builtin(position) clip: vec4<f32>,
    @location(0) world: vec3<f32>,
    @location(1) @interpolate(flat) tile: vec2<f32>,
}

@vertex
fn vertex(in: VertexIn) -> VertexOut {
    var out: VertexOut;
    let world = mesh_position_local_to_world(get_world_from_local(in.instance), vec4(in.position, 1.0));
    out.clip = position_world_to_clip(world.xyz);
    out.world = world.xyz;
    out.tile = in.tile;
    return out;
}

@fragment
fn fragment(in: VertexOut) -> @location(0) vec4<f32> {
    let tile = tiles[min(u32(in.tile.x + 0.5), arrayLength(&tiles) - 1u)];
    let from_middle = in.world - tile.middle.xyz;
    let place_m = vec2(dot(from_middle, tile.grain.xyz), dot(from_middle, tile.across.xyz));
    let footprint_m = max(length(dpdx(place_m)), length(dpdy(place_m)));
    if in.tile.y > 0.5 {
        return vec4(tile.tint.rgb * min(tile.tint.w, MOST_CD_M2), 1.0);
    }
    var luminance = tile.middle.w;
    let eye = normalize(view.world_position - in.world);
    let to_eye = vec3(dot(eye, tile.grain.xyz), dot(eye, tile.across.xyz), dot(eye, tile.normal.xyz));
    let is_close = footprint_m < settings.close_m && to_eye.z > 0.0;
    if is_close || settings.bare == 1u {
        let m = u32(tile.grain.w + 0.5);
        let place = place_character(m, place_m, footprint_m, tile.across.w);
        var mean = 0.0;
        var here = 0.0;
        let own = u32(in.tile.x + 0.5);
        let first = select(0u, own, settings.bare == 1u);
        let end = select(settings.source_count, own + 1u, settings.bare == 1u);
        for (var i = first; i < min(end, arrayLength(&sources)); i++) {
            let dir = sources[i].xyz;
            let to_light = vec3(dot(dir, tile.grain.xyz), dot(dir, tile.across.xyz), dot(dir, tile.normal.xyz));
            if to_light.z > 0.0 {
                let lx = sources[i].w * to_light.z;
                mean += brdf_per_sr(m, to_light, to_eye) * lx;
                if settings.bare == 0u {
                    here += character_at(m, place, to_light, to_eye) * lx;
                }
            }
        }
        if settings.bare == 1u {
            return vec4(vec3(mean), 1.0);
        }
        if mean > 1e-6 {
            luminance *= clamp(here / mean, 0.0, 12.0);
        }
    }
    return vec4(tile.tint.rgb * min(luminance, MOST_CD_M2), 1.0);
}
