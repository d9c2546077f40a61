// Tiles of the piece: the engine's luminance for this eye, and close up the character of the material under
// the sources that light the piece, with the tile's mean kept.

#import bevy_pbr::{
    mesh_functions::{get_world_from_local, mesh_position_local_to_world},
    mesh_view_bindings::view,
    view_transformations::position_world_to_clip,
}
#import lustrewalk::materials::{brdf_per_sr, place_character, character_at, period_m}

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
    // Eye [m, world], and the pixels that a metre covers a metre away: for the means.
    eye: vec4<f32>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> settings: Settings;
@group(#{MATERIAL_BIND_GROUP}) @binding(11) var<storage, read> tiles: array<Tile>;
// Direction to each source (world), and the illuminance on a plane facing it [lx].
@group(#{MATERIAL_BIND_GROUP}) @binding(12) var<storage, read> sources: array<vec4<f32>>;
// Points even over each tile: along its grain and across from its middle [m], SPOTS a tile.
@group(#{MATERIAL_BIND_GROUP}) @binding(13) var<storage, read> spots: array<vec2<f32>>;

// Character at each of those points [cd/m2]; see `means_fragment`.
@group(#{MATERIAL_BIND_GROUP}) @binding(14) var means: texture_2d<f32>;

// Points of a tile that its mean is taken over.
const SPOTS: u32 = 128u;
// Tiles side by side in the picture of the means.
const MEANS_ACROSS: u32 = 16u;
// Most of the character over its mean.
const MOST_CHARACTER: f32 = 12.0;

// Points across a pixel that fine ridges are averaged over.
const RIDGE_POINTS: u32 = 4u;

const MOST_CD_M2: f32 = 60000.0;

struct VertexIn {
    @builtin(instance_index) instance: u32,
    @location(0) position: vec3<f32>,
    // Index of the tile; 1 on its sides, 0.25 on the first corner of a triangle of its face.
    @location(1) tile: vec2<f32>,
}

struct VertexOut {
    @builtin(position) clip: vec4<f32>,
    @location(0) world: vec3<f32>,
    @location(1) @interpolate(flat) tile: vec2<f32>,
    // Mean of the character over the tile, from the first corner of the triangle.
    @location(2) @interpolate(flat) mean_character: f32,
}

// Luminance of a place under all sources [cd/m2], with the figure, brush lines or ridges that lie there.
fn character(tile: Tile, place_m: vec2<f32>, footprint_m: f32, to_eye: vec3<f32>) -> f32 {
    let m = u32(tile.grain.w + 0.5);
    let place = place_character(m, place_m, footprint_m, tile.across.w);
    var here = 0.0;
    for (var i = 0u; i < min(settings.source_count, arrayLength(&sources)); i++) {
        let dir = sources[i].xyz;
        let to_light = vec3(dot(dir, tile.grain.xyz), dot(dir, tile.across.xyz), dot(dir, tile.normal.xyz));
        if to_light.z > 0.0 {
            here += character_at(m, place, to_light, to_eye) * sources[i].w * to_light.z;
        }
    }
    return here;
}

fn in_tile(tile: Tile, dir: vec3<f32>) -> vec3<f32> {
    return vec3(dot(dir, tile.grain.xyz), dot(dir, tile.across.xyz), dot(dir, tile.normal.xyz));
}

// Place of a tile's point in the picture of the means.
fn means_place(index: u32, spot: u32) -> vec2<u32> {
    return vec2(index % MEANS_ACROSS * SPOTS + spot, index / MEANS_ACROSS);
}

// Mean of the character over the tile, which a picture of the tile is divided by: then it shows the engine's luminance
// as a whole, however the figure falls. 0 where no character is shown.
fn mean_character(index: u32) -> f32 {
    var sum = 0.0;
    for (var k = 0u; k < SPOTS; k++) {
        sum += textureLoad(means, means_place(index, k), 0).r;
    }
    return sum / f32(SPOTS);
}

// Corners of the picture of the means: it is covered as a whole.
@vertex
fn means_vertex(@location(0) position: vec3<f32>) -> @builtin(position) vec4<f32> {
    return vec4(position.xy, 0.5, 1.0);
}

// One point of one tile for each pixel, so that all are worked out side by side.
@fragment
fn means_fragment(@builtin(position) at: vec4<f32>) -> @location(0) vec4<f32> {
    let pixel = vec2<u32>(at.xy);
    let index = pixel.y * MEANS_ACROSS + pixel.x / SPOTS;
    if index >= arrayLength(&tiles) {
        return vec4(0.0);
    }
    let tile = tiles[index];
    let k = pixel.x % SPOTS;
    let away = settings.eye.xyz - tile.middle.xyz;
    let away_m = length(away);
    let to_eye = in_tile(tile, away / max(away_m, 1e-4));
    let footprint_m = away_m / (max(settings.eye.w, 1e-3) * max(to_eye.z, 0.05));
    if to_eye.z <= 0.0 || footprint_m > 1.6 * settings.close_m {
        return vec4(0.0);
    }
    var place_m = spots[index * SPOTS + k];
    // Ridges are many on a tile: even over one of them is even over all. The golden section keeps the order of the
    // points out of it.
    let period = period_m(u32(tile.grain.w + 0.5));
    if period > 0.0 {
        place_m.y = (floor(place_m.y / period) + fract((f32(k) + 0.5) * 0.61803399)) * period;
    }
    let there = tile.middle.xyz + tile.grain.xyz * place_m.x + tile.across.xyz * place_m.y;
    let eye = in_tile(tile, normalize(settings.eye.xyz - there));
    return vec4(character(tile, place_m, footprint_m, eye), 0.0, 0.0, 1.0);
}

@vertex
fn vertex(in: VertexIn) -> VertexOut {
    var out: VertexOut;
    let world = mesh_position_local_to_world(get_world_from_local(in.instance), vec4(in.position, 1.0));
    out.clip = position_world_to_clip(world.xyz);
    out.world = world.xyz;
    out.tile = in.tile;
    out.mean_character = 0.0;
    if settings.bare == 0u && in.tile.y > 0.1 && in.tile.y < 0.5 {
        out.mean_character = mean_character(min(u32(in.tile.x + 0.5), arrayLength(&tiles) - 1u));
    }
    return out;
}

@fragment
fn fragment(in: VertexOut) -> @location(0) vec4<f32> {
    let tile = tiles[min(u32(in.tile.x + 0.5), arrayLength(&tiles) - 1u)];
    let from_middle = in.world - tile.middle.xyz;
    let place_m = vec2(dot(from_middle, tile.grain.xyz), dot(from_middle, tile.across.xyz));
    let footprint_m = max(length(dpdx(place_m)), length(dpdy(place_m)));
    // What the pixel spans across the grain.
    let across_m = abs(dpdx(place_m).y) + abs(dpdy(place_m).y);
    if in.tile.y > 0.5 {
        return vec4(tile.tint.rgb * min(tile.tint.w, MOST_CD_M2), 1.0);
    }
    var luminance = tile.middle.w;
    let to_eye = in_tile(tile, normalize(view.world_position - in.world));
    if settings.bare == 1u {
        let own = sources[min(u32(in.tile.x + 0.5), arrayLength(&sources) - 1u)];
        let to_light = in_tile(tile, own.xyz);
        let lx = own.w * max(to_light.z, 0.0);
        return vec4(vec3(brdf_per_sr(u32(tile.grain.w + 0.5), to_light, to_eye) * lx), 1.0);
    }
    // Kept within bounds, so that a glint on a single fibre does not burn a hole into the picture.
    // A pixel that spans a whole ridge shows none.
    let ridge_m = period_m(u32(tile.grain.w + 0.5));
    let shows = footprint_m < settings.close_m && !(ridge_m > 0.0 && across_m > ridge_m);
    if shows && to_eye.z > 0.0 && in.mean_character > 1e-6 {
        // Ridges finer than a few pixels would beat with them: their mean over the pixel is taken.
        let count = select(1u, RIDGE_POINTS, ridge_m > 0.0 && across_m > 0.15 * ridge_m);
        var here = 0.0;
        for (var i = 0u; i < count; i++) {
            let off_m = ((f32(i) + 0.5) / f32(count) - 0.5) * across_m;
            here += character(tile, place_m + vec2(0.0, off_m), footprint_m, to_eye);
        }
        here /= f32(count);
        luminance *= min(here / in.mean_character, MOST_CHARACTER);
    }
    return vec4(tile.tint.rgb * min(luminance, MOST_CD_M2), 1.0);
}
