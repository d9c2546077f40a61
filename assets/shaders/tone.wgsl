// From luminances to display values: the one tone curve, or luminances as colours on a fixed scale.

#import bevy_core_pipeline::fullscreen_vertex_shader::FullscreenVertexOutput

struct Tone {
    // Scale [m2/cd] and 1 / white^2 of the tone curve (E. Reinhard et al., "Photographic tone reproduction for
    // digital images", 2002, eq. 4).
    scale: f32,
    inverse_white_square: f32,
    // Lowest luminance of the colour scale [cd/m2] and decades above it; 0 decades: a picture.
    low_cd_m2: f32,
    decades: f32,
    // Columns of the matrix that turns the light's colour toward the display's white.
    white: array<vec4<f32>, 3>,
    // Colours of the scale, even in the logarithm; linear Rec. 709.
    ramp: array<vec4<f32>, 17>,
}

@group(0) @binding(0) var picture: texture_2d<f32>;
@group(0) @binding(1) var picture_sampler: sampler;
@group(0) @binding(2) var<uniform> tone: Tone;

@fragment
fn fragment(in: FullscreenVertexOutput) -> @location(0) vec4<f32> {
    let rgb = max(textureSampleLevel(picture, picture_sampler, in.uv, 0.0).rgb, vec3(0.0));
    let luminance = dot(rgb, vec3(0.2126, 0.7152, 0.0722));
    if tone.decades > 0.0 {
        let position = log(max(luminance, 1e-6) / tone.low_cd_m2) / (2.30258509 * tone.decades);
        let x = clamp(position, 0.0, 1.0) * 16.0;
        let left = min(u32(x), 15u);
        return vec4(mix(tone.ramp[left].rgb, tone.ramp[left + 1u].rgb, x - f32(left)), 1.0);
    }
    // The eye takes the mean colour of the light about it for white, nearly; no luminance changes by that.
    let turned = max(tone.white[0].rgb * rgb.r + tone.white[1].rgb * rgb.g + tone.white[2].rgb * rgb.b, vec3(0.0));
    let hue = turned * (luminance / max(dot(turned, vec3(0.2126, 0.7152, 0.0722)), 1e-9));
    let x = luminance * tone.scale;
    let shown = x * (1.0 + x * tone.inverse_white_square) / (1.0 + x);
    // Colours keep their ratio until they leave the display; then they turn white, as bright light does.
    let coloured = hue * (shown / max(luminance, 1e-6));
    let over = max(max(coloured.r, max(coloured.g, coloured.b)) - 1.0, 0.0);
    let white = clamp(over / max(over + 1.0 - shown, 1e-4), 0.0, 1.0);
    return vec4(mix(coloured, vec3(shown), white), 1.0);
}
