#define_import_path lustrewalk::materials

// What share of the light from one direction a surface sends in another, for pictures.
//
// The same models as the engine's `material` modules, in single precision: `brdf_per_sr` is their value
// for a whole tile, `character_per_sr` that of one place on it, whose mean over the tile is the former.
// Frame of both directions: +Z the normal, +X the grain, brushing or ridges, +Y = Z x X; both are unit
// and LEAVE the surface. Values in 1/sr, without the cosine, 0 below the horizon.
// Sources and limits stand with each model; those of the models themselves in the engine's files.
// One file of over 600 lines, as the models share their lobes and tables and one binding.
//
// # Records
// `m` is the offset of a material's record in `material_data`; numbers follow one another:
//
// Diffuse        0: 0   1: rho A_F / pi [1/sr]   2: roughness r, 0 = Lambert   3: A_F
//                4: factor of the product part [1/sr]
// CoatedDiffuse  0: 1   1: coat index eta   2: coat alpha   3: body [1/sr]
//                4..69: coat albedo on sqrt(cos), 65 nodes
// Wood           0: 2   1: coat index eta   2: coat alpha, 0 = raw   3: body [1/sr]
//                4: k_f / eta^2   5: 1 / (2 beta^2)   6: 2 / (beta sqrt(2 pi))   7: least cosine of psi_h
//                8: figure, 0 even, 1 straight, 2 ribbon, 3 curl   9: its sd or amplitude [rad]
//                10: mean tilt [rad]   11: node count n
//                12..12+3n: share, cos(tilt), sin(tilt) of each node
// Metal          0: 3   1: alpha along   2: alpha across   3: factor of the product part [1/sr]
//                4: 1 where +X is the rough axis, else 0
//                5..518: reflectance on the cosine, 513 nodes
//                518..947: loss, 13 azimuth rows of 33 nodes on sqrt(cos)
// Relief         0: 4   1: rho / pi [1/sr]   2: groove, 0 V, 1 trapezoid, 2 half round   3: opening [m]
//                and, in openings: 4: depth   5: y of the first corner at the bottom   6: land
//                7: stretches of the axis in use   8: nodes of the axis n
//                9..30: 7 stretches of from q, first node, nodes per q
//                30..30+n^2: inter-reflected part [1/sr], row-major, symmetric

@group(#{MATERIAL_BIND_GROUP}) @binding(10) var<storage, read> material_data: array<f32>;

const DIFFUSE: u32 = 0u;
const COATED: u32 = 1u;
const WOOD: u32 = 2u;
const METAL: u32 = 3u;
const RELIEF: u32 = 4u;

const PI: f32 = 3.14159265;
const HALF_PI: f32 = 1.57079633;
const TAU: f32 = 6.28318531;

// Keeps divisors off zero; far below any length or cosine that matters.
const TINY: f32 = 1e-30;

// What sets one place on a tile apart from the tile's mean; the same for all lights.
struct PlaceCharacter {
    // Share of the place's own lobe in what is shown, the rest being the tile's mean; 0..=1.
    keep: f32,
    // Factor of the diffuse body of wood.
    body_gain: f32,
    // At four spots across the pixel: cosine of the fibre's tilt (wood), slope of the brush line (metal).
    // Relief: from and to, in openings from the -Y edge of a groove, of what the pixel covers.
    spots: vec4<f32>,
    // Wood: sine of the fibre's tilt at the spots.
    spots_sine: vec4<f32>,
}

// The place that is like the mean of its tile.
fn mean_character() -> PlaceCharacter {
    return PlaceCharacter(0.0, 1.0, vec4<f32>(0.0), vec4<f32>(0.0));
}

// The value for the whole tile [1/sr].
fn brdf_per_sr(m: u32, to_light: vec3<f32>, to_eye: vec3<f32>) -> f32 {
    return character_at(m, mean_character(), to_light, to_eye);
}

// The value at `place_m` on the tile (X along the grain, Y) [m], seen by a pixel that is `footprint_m`
// [m] wide there; tiles of different `seed` look different. [1/sr]
fn character_per_sr(
    m: u32,
    place_m: vec2<f32>,
    footprint_m: f32,
    seed: f32,
    to_light: vec3<f32>,
    to_eye: vec3<f32>,
) -> f32 {
    if to_light.z <= 0.0 || to_eye.z <= 0.0 {
        return 0.0;
    }
    return character_at(m, place_character(m, place_m, footprint_m, seed), to_light, to_eye);
}

// The value at a place [1/sr]; for many lights, make the place once with `place_character`.
fn character_at(m: u32, place: PlaceCharacter, to_light: vec3<f32>, to_eye: vec3<f32>) -> f32 {
    if to_light.z <= 0.0 || to_eye.z <= 0.0 {
        return 0.0;
    }
    switch u32(material_data[m]) {
        case DIFFUSE: {
            return diffuse_per_sr(m, to_light, to_eye);
        }
        case COATED: {
            return coated_per_sr(m, to_light, to_eye);
        }
        case WOOD: {
            return wood_per_sr(m, place, to_light, to_eye);
        }
        case METAL: {
            return metal_per_sr(m, place, to_light, to_eye);
        }
        case RELIEF: {
            return relief_per_sr(m, place, to_light, to_eye);
        }
        default: {
            return 0.0;
        }
    }
}

// What is seen at a place, made once for all lights.
//
// The parts fade as the pixel grows from a third of their size to their size, and past that nothing is
// worked out.
fn place_character(m: u32, place_m: vec2<f32>, footprint_m: f32, seed: f32) -> PlaceCharacter {
    let key = scramble(bitcast<u32>(seed));
    switch u32(material_data[m]) {
        case WOOD: {
            return wood_place(m, place_m, max(footprint_m, 0.0), key);
        }
        case METAL: {
            return metal_place(m, place_m, max(footprint_m, 0.0), key);
        }
        case RELIEF: {
            return relief_place(m, place_m.y, max(footprint_m, 0.0));
        }
        default: {
            return mean_character();
        }
    }
}

// ---- Angles -------------------------------------------------------------------------------------------

// Angle of a sine and a cosine [rad].
//
// M. Abramowitz and I. Stegun, "Handbook of Mathematical Functions", 1964, eq. 4.4.49 at the half angle;
// the built-in arcs are too coarse for narrow lobes.
fn angle_rad(sine: f32, cosine: f32) -> f32 {
    if cosine >= 0.0 {
        return acute_rad(sine, cosine);
    }
    let beyond = HALF_PI + acute_rad(-cosine, abs(sine));
    return select(beyond, -beyond, sine < 0.0);
}

// `angle_rad` for a cosine of at least 0.
fn acute_rad(sine: f32, cosine: f32) -> f32 {
    let t = sine / (1.0 + cosine);
    let x = t * t;
    var series = x * 0.0028662257 - 0.0161657370;
    series = series * x + 0.0429096150;
    series = series * x - 0.0752896400;
    series = series * x + 0.1065626400;
    series = series * x - 0.1420890000;
    series = series * x + 0.1999355100;
    series = series * x - 0.3333314500;
    return 2.0 * t * (series * x + 1.0);
}

// ---- Fresnel ------------------------------------------------------------------------------------------

// Cosine inside a dielectric of a ray that leaves with `cosine` outside (Snell).
fn refracted_cosine(cosine: f32, eta: f32) -> f32 {
    return sqrt(max(1.0 - (1.0 - cosine * cosine) / (eta * eta), 0.0));
}

// Reflectance of a dielectric, (r_s^2 + r_p^2) / 2, Fresnel 1823.
fn dielectric(cosine: f32, eta: f32) -> f32 {
    let c = clamp(cosine, 0.0, 1.0);
    let inside = refracted_cosine(c, eta);
    let s = (c - eta * inside) / max(c + eta * inside, TINY);
    let p = (eta * c - inside) / max(eta * c + inside, TINY);
    return 0.5 * (s * s + p * p);
}

// 1 - `dielectric`, with the difference taken before rounding.
fn transmittance(cosine: f32, inside: f32, eta: f32) -> f32 {
    let s = max(cosine + eta * inside, TINY);
    let p = max(eta * cosine + inside, TINY);
    return 2.0 * eta * ((cosine / s) * (inside / s) + (cosine / p) * (inside / p));
}

// ---- The microfacet lobe ------------------------------------------------------------------------------

// cos (1 + 2 Lambda), E. Heitz, JCGT 3(2), 2014.
fn ggx_reach(alpha: vec2<f32>, v: vec3<f32>) -> f32 {
    let across = alpha * v.xy;
    return sqrt(v.z * v.z + dot(across, across));
}

// f / F of the anisotropic GGX lobe [1/sr] and the cosine between either direction and the half vector.
//
// B. Walter et al., EGSR 2007; E. Heitz, "Understanding the masking-shadowing function in
// microfacet-based BRDFs", Journal of Computer Graphics Techniques 3(2), 2014, eq. 99.
fn ggx_per_sr(alpha: vec2<f32>, to_light: vec3<f32>, to_eye: vec3<f32>) -> vec2<f32> {
    let between = to_light + to_eye;
    let length_square = dot(between, between);
    let slope = vec3<f32>(between.xy / alpha, between.z);
    let ratio = length_square / max(dot(slope, slope), TINY);
    let density = ratio * ratio / (PI * alpha.x * alpha.y);
    let shadowed = to_eye.z * ggx_reach(alpha, to_light) + to_light.z * ggx_reach(alpha, to_eye);
    return vec2<f32>(0.5 * density / max(shadowed, TINY), 0.5 * sqrt(length_square));
}

// Linear value at `x` nodes into a table of `count` nodes that starts at `first`.
fn table_at(first: u32, count: u32, x: f32) -> f32 {
    let k = min(u32(x), count - 2u);
    let f = x - f32(k);
    return material_data[first + k] * (1.0 - f) + material_data[first + k + 1u] * f;
}

// ---- Diffuse ------------------------------------------------------------------------------------------

// Lambert's law, or EON: J. Portsmouth, P. Kutz, S. Hill, "EON: a practical energy-preserving rough
// diffuse BRDF", Journal of Computer Graphics Techniques 14(1), 2025, listing 1.
fn diffuse_per_sr(m: u32, to_light: vec3<f32>, to_eye: vec3<f32>) -> f32 {
    let roughness = material_data[m + 2u];
    let product_per_sr = material_data[m + 4u];
    if roughness <= 0.0 {
        return product_per_sr;
    }
    let scale = material_data[m + 3u];
    let s = dot(to_light, to_eye) - to_light.z * to_eye.z;
    let st = select(s, s / max(max(to_light.z, to_eye.z), TINY), s > 0.0);
    let single = material_data[m + 1u] * (1.0 + roughness * st);
    let losses = eon_loss(scale, roughness, to_light.z) * eon_loss(scale, roughness, to_eye.z);
    return single + product_per_sr * losses;
}

// 1 - E(mu), the single-scattering loss at rho = 1.
fn eon_loss(scale: f32, roughness: f32, mu: f32) -> f32 {
    let c = min(mu, 1.0);
    let s = sqrt(max(1.0 - c * c, 0.0));
    // (s / mu) (1 - s^3) without dividing by mu: 1 - s = mu^2 / (1 + s).
    let steep = s * c * (1.0 + s + s * s) / (1.0 + s);
    let g = s * (angle_rad(s, c) - s * c) + 2.0 / 3.0 * (steep - s);
    return max(1.0 - scale * (1.0 + roughness * g / PI), 0.0);
}

// ---- Coated diffuse -----------------------------------------------------------------------------------

const COAT_NODES: u32 = 65u;

// Coat and body, after J. L. Saunderson, "Calculation of the color of pigmented plastics",
// JOSA 32(12), 1942.
fn coated_per_sr(m: u32, to_light: vec3<f32>, to_eye: vec3<f32>) -> f32 {
    let coat = ggx_per_sr(vec2<f32>(material_data[m + 2u]), to_light, to_eye);
    let body = material_data[m + 3u] * coat_entering(m, to_light.z) * coat_entering(m, to_eye.z);
    return coat.x * dielectric(coat.y, material_data[m + 1u]) + body;
}

// Share that the rough coat lets in.
fn coat_entering(m: u32, cosine: f32) -> f32 {
    let x = sqrt(clamp(cosine, 0.0, 1.0)) * f32(COAT_NODES - 1u);
    return 1.0 - table_at(m + 4u, COAT_NODES, x);
}

// ---- Wood ---------------------------------------------------------------------------------------------

const FIGURE_STRAIGHT: u32 = 1u;
const FIGURE_RIBBON: u32 = 2u;
const FIGURE_CURL: u32 = 3u;

// Sizes of figure and texture [m]; from memory of common veneers, for pictures only.
const STRAIGHT_LENGTH_M: f32 = 0.060;
const STRAIGHT_WIDTH_M: f32 = 0.0015;
const RIBBON_PERIOD_M: f32 = 0.014;
const CURL_PERIOD_M: f32 = 0.009;
// How far the waves wander [periods, sd], and over which lengths along X and Y [m].
const WANDER_PERIODS: f32 = 0.35;
const RIBBON_WANDER_M: vec2<f32> = vec2<f32>(0.20, 0.05);
const CURL_WANDER_M: vec2<f32> = vec2<f32>(0.05, 0.03);
const PORE_LENGTH_M: f32 = 0.015;
const PORE_WIDTH_M: f32 = 0.0005;
const GROWTH_LENGTH_M: f32 = 0.20;
const GROWTH_WIDTH_M: f32 = 0.0025;
// Greatest change of the body by pores and growth lines.
const TEXTURE_SWING: f32 = 0.06;
// Steepest fibre shown [rad]; the tail of a wide normal spread is cut here.
const TILT_MAX_RAD: f32 = 1.4;

// Coat, body and fibre highlight: S. R. Marschner, S. H. Westin, A. Arbree, J. T. Moon, "Measuring and
// modeling the appearance of finished wood", ACM Trans. Graphics 24(3), 2005.
fn wood_per_sr(m: u32, place: PlaceCharacter, to_light: vec3<f32>, to_eye: vec3<f32>) -> f32 {
    let eta = material_data[m + 1u];
    let light = vec3<f32>(to_light.xy / eta, refracted_cosine(to_light.z, eta));
    let eye = vec3<f32>(to_eye.xy / eta, refracted_cosine(to_eye.z, eta));
    var highlight = 0.0;
    if place.keep < 1.0 {
        highlight = tile_highlight_per_sr(m, light, eye) * (1.0 - place.keep);
    }
    if place.keep > 0.0 {
        highlight += place_highlight_per_sr(m, place, light, eye) * place.keep;
    }
    let passage = transmittance(to_light.z, light.z, eta) * transmittance(to_eye.z, eye.z, eta);
    let under_coat = material_data[m + 3u] * place.body_gain + material_data[m + 4u] * highlight;
    let alpha = material_data[m + 2u];
    var gloss = 0.0;
    if alpha > 0.0 {
        let coat = ggx_per_sr(vec2<f32>(alpha), to_light, to_eye);
        gloss = coat.x * dielectric(coat.y, eta);
    }
    return passage * under_coat + gloss;
}

// f_f of the figure's nodes, for directions inside the coat.
fn tile_highlight_per_sr(m: u32, light: vec3<f32>, eye: vec3<f32>) -> f32 {
    let node_count = u32(material_data[m + 11u]);
    var sum = 0.0;
    for (var k = 0u; k < node_count; k += 1u) {
        let at = m + 12u + 3u * k;
        let fibre = vec2<f32>(material_data[at + 1u], material_data[at + 2u]);
        sum += material_data[at] * fibre_per_sr(m, fibre, light, eye);
    }
    return sum;
}

// f_f of the fibres at a place, the mean of its spots.
fn place_highlight_per_sr(m: u32, place: PlaceCharacter, light: vec3<f32>, eye: vec3<f32>) -> f32 {
    var sum = 0.0;
    for (var k = 0u; k < 4u; k += 1u) {
        let fibre = vec2<f32>(place.spots[k], place.spots_sine[k]);
        sum += fibre_per_sr(m, fibre, light, eye);
    }
    return 0.25 * sum;
}

// f_f of fibres along (cos, 0, sin) for directions inside the coat [1/sr]: Marschner et al. 2005,
// eqs. 4 to 8, the Gaussian divided by its width.
fn fibre_per_sr(m: u32, fibre: vec2<f32>, light: vec3<f32>, eye: vec3<f32>) -> f32 {
    let a = clamp(dot(light.xz, fibre), -1.0, 1.0);
    let b = clamp(dot(eye.xz, fibre), -1.0, 1.0);
    let cos_a = sqrt(max(1.0 - a * a, 0.0));
    let cos_b = sqrt(max(1.0 - b * b, 0.0));
    let cos_sum = cos_a * cos_b - a * b;
    if cos_sum < material_data[m + 7u] {
        return 0.0;
    }
    let psi_h = angle_rad(a * cos_b + b * cos_a, cos_sum);
    let gaussian = material_data[m + 6u] * exp(-psi_h * psi_h * material_data[m + 5u]);
    // 2 cos^2(psi_d / 2) = 1 + cos psi_d.
    return gaussian / max(1.0 + cos_a * cos_b + a * b, 1e-6);
}

// Tilts and body of the wood at a place.
fn wood_place(m: u32, place_m: vec2<f32>, footprint_m: f32, key: u32) -> PlaceCharacter {
    var place = mean_character();
    place.body_gain = wood_texture(place_m, footprint_m, key);

    let figure = u32(material_data[m + 8u]);
    let spread_rad = material_data[m + 9u];
    var size_m = 0.0;
    if figure == FIGURE_STRAIGHT {
        size_m = STRAIGHT_WIDTH_M;
    } else if figure == FIGURE_RIBBON {
        size_m = RIBBON_PERIOD_M;
    } else if figure == FIGURE_CURL {
        size_m = CURL_PERIOD_M;
    }
    place.keep = kept(size_m, footprint_m);
    if place.keep <= 0.0 || spread_rad <= 0.0 {
        place.keep = 0.0;
        return place;
    }
    for (var k = 0u; k < 4u; k += 1u) {
        let aside_m = spot_share(k) * footprint_m;
        let swing = figure_swing(figure, place_m, aside_m, key);
        let tilt_rad = clamp(material_data[m + 10u] + spread_rad * swing, -TILT_MAX_RAD, TILT_MAX_RAD);
        place.spots[k] = cos(tilt_rad);
        place.spots_sine[k] = sin(tilt_rad);
    }
    return place;
}

// Tilt less its mean over the figure's spread, at a spot `aside_m` from the place along the axis on which
// the figure changes fast: normal for straight grain, a sine for the waves.
fn figure_swing(figure: u32, place_m: vec2<f32>, aside_m: f32, key: u32) -> f32 {
    if figure == FIGURE_STRAIGHT {
        let spot_m = place_m + vec2<f32>(0.0, aside_m);
        return line_noise(spot_m, vec2<f32>(STRAIGHT_LENGTH_M, STRAIGHT_WIDTH_M), key);
    }
    var periods = random_share(key);
    if figure == FIGURE_RIBBON {
        let wander = WANDER_PERIODS * line_noise(place_m, RIBBON_WANDER_M, key);
        periods += (place_m.y + aside_m) / RIBBON_PERIOD_M + wander;
    } else {
        let wander = WANDER_PERIODS * line_noise(place_m, CURL_WANDER_M, key);
        periods += (place_m.x + aside_m) / CURL_PERIOD_M + wander;
    }
    // The built-in sine is good within half a turn only.
    return sin(TAU * (fract(periods) - 0.5));
}

// Factor of the body by pores and growth lines along the grain; its mean is one.
fn wood_texture(place_m: vec2<f32>, footprint_m: f32, key: u32) -> f32 {
    let pore_keep = kept(PORE_WIDTH_M, footprint_m);
    let growth_keep = kept(GROWTH_WIDTH_M, footprint_m);
    var lines = 0.0;
    if growth_keep > 0.0 {
        let size_m = vec2<f32>(GROWTH_LENGTH_M, GROWTH_WIDTH_M);
        lines += 0.6 * growth_keep * line_noise(place_m, size_m, scramble(key + 1u));
    }
    if pore_keep > 0.0 {
        let size_m = vec2<f32>(PORE_LENGTH_M, PORE_WIDTH_M);
        lines += 0.8 * pore_keep * line_noise(place_m, size_m, scramble(key + 2u));
    }
    // Two standard deviations reach the full swing; the cut is symmetric, so the mean stays.
    return 1.0 + TEXTURE_SWING * clamp(0.5 * lines, -1.0, 1.0);
}

// ---- Metal --------------------------------------------------------------------------------------------

const CURVE_NODES: u32 = 513u;
const CURVE_FIRST: u32 = 5u;
const LOSS_FIRST: u32 = 518u;
const LOSS_NODES: u32 = 33u;
const LOSS_ROWS: u32 = 13u;

// Brush lines, coarse and fine: length and width [m]; for pictures only.
const BRUSH_COARSE_M: vec2<f32> = vec2<f32>(0.110, 0.0004);
const BRUSH_FINE_M: vec2<f32> = vec2<f32>(0.040, 0.00015);
// Split of the roughness across the lines, for metal much smoother along than across: slopes of the
// lines are normal with this standard deviation, facets within a line keep this roughness, both in parts
// of alpha across. Together they are close to the undivided lobe; `line_factor` removes what is left.
const LINE_SLOPE_SHARE: f32 = 0.5;
const LINE_FACET_SHARE: f32 = 0.7;
// Steepest facet [slope] looked at by the lines.
const SLOPE_MAX: f32 = 1e4;

// GGX with conductor Fresnel and, as a product, what bounces among the facets: C. Kulla and A. Conty,
// "Revisiting physically based shading at Imageworks", SIGGRAPH course 2017 (from memory).
fn metal_per_sr(m: u32, place: PlaceCharacter, to_light: vec3<f32>, to_eye: vec3<f32>) -> f32 {
    let alpha = vec2<f32>(material_data[m + 1u], material_data[m + 2u]);
    let lobe = ggx_per_sr(alpha, to_light, to_eye);
    let x = clamp(lobe.y, 0.0, 1.0) * f32(CURVE_NODES - 1u);
    var single = lobe.x * table_at(m + CURVE_FIRST, CURVE_NODES, x);
    if place.keep > 0.0 {
        single *= mix(1.0, line_factor(alpha, place.spots, to_light + to_eye), place.keep);
    }
    return single + material_data[m + 3u] * metal_loss(m, to_light) * metal_loss(m, to_eye);
}

// 1 - E toward `v`, linear between the table's nodes.
fn metal_loss(m: u32, v: vec3<f32>) -> f32 {
    let across = select(v.y, v.x, material_data[m + 4u] > 0.5);
    let sine_square = dot(v.xy, v.xy);
    var azimuth = 0.0;
    if sine_square > 1e-12 {
        azimuth = sqrt(clamp(across * across / sine_square, 0.0, 1.0));
    }
    let x = sqrt(clamp(v.z, 0.0, 1.0)) * f32(LOSS_NODES - 1u);
    let y = azimuth * f32(LOSS_ROWS - 1u);
    let row = min(u32(y), LOSS_ROWS - 2u);
    let f = y - f32(row);
    let first = m + LOSS_FIRST + row * LOSS_NODES;
    return table_at(first, LOSS_NODES, x) * (1.0 - f) + table_at(first + LOSS_NODES, LOSS_NODES, x) * f;
}

// How brushed the metal is: 0 where it is as rough along as across, near 1 for long fine lines.
fn brushed(alpha: vec2<f32>) -> f32 {
    return clamp(1.0 - alpha.x / alpha.y, 0.0, 1.0);
}

// Slopes of the brush lines at a place.
fn metal_place(m: u32, place_m: vec2<f32>, footprint_m: f32, key: u32) -> PlaceCharacter {
    var place = mean_character();
    let alpha = vec2<f32>(material_data[m + 1u], material_data[m + 2u]);
    let slope_sd = LINE_SLOPE_SHARE * alpha.y * brushed(alpha);
    place.keep = kept(BRUSH_COARSE_M.y, footprint_m);
    if place.keep <= 0.0 || slope_sd <= 0.0 {
        place.keep = 0.0;
        return place;
    }
    let fine_key = scramble(key + 1u);
    for (var k = 0u; k < 4u; k += 1u) {
        let spot_m = place_m + vec2<f32>(0.0, spot_share(k) * footprint_m);
        let lines = line_noise(spot_m, BRUSH_COARSE_M, key) + line_noise(spot_m, BRUSH_FINE_M, fine_key);
        // Two equal variances add to one.
        place.spots[k] = slope_sd * 0.70710678 * lines;
    }
    return place;
}

// Density of facets of slope `between` on the lines at a place over that on the whole tile; its mean over
// all lines is one.
//
// A line turns the normal about X. Only the distribution of normals follows it: Fresnel and shadowing
// stay those of the tile, so that the mean over the lines is the tile's value for every pair of
// directions, whatever the split. The tile's density is summed over the normal law of the slopes.
fn line_factor(alpha: vec2<f32>, slopes: vec4<f32>, between: vec3<f32>) -> f32 {
    let share = brushed(alpha);
    let slope_sd = LINE_SLOPE_SHARE * alpha.y * share;
    let facet_alpha = alpha.y * (1.0 - (1.0 - LINE_FACET_SHARE) * share);
    let upright = max(between.z, 2.0 / SLOPE_MAX);
    let along = between.x / upright / alpha.x;
    let across = between.y / upright;
    let base = 1.0 + along * along;

    let here = (vec4<f32>(across) - slopes) / facet_alpha;
    let here_inverse = vec4<f32>(1.0) / (vec4<f32>(base) + here * here);
    let density = 0.25 * dot(here_inverse, here_inverse);

    // Normal weights at 0, +-1, +-2, +-3 standard deviations, made to add to one.
    let middle = across / facet_alpha;
    let step = slope_sd / facet_alpha;
    let rest = 1.0 / (base + middle * middle);
    let below = vec3<f32>(middle) - step * vec3<f32>(1.0, 2.0, 3.0);
    let above = vec3<f32>(middle) + step * vec3<f32>(1.0, 2.0, 3.0);
    let below_inverse = vec3<f32>(1.0) / (vec3<f32>(base) + below * below);
    let above_inverse = vec3<f32>(1.0) / (vec3<f32>(base) + above * above);
    let weights = vec3<f32>(0.24203623, 0.05400559, 0.00443305);
    let pairs = below_inverse * below_inverse + above_inverse * above_inverse;
    let mean_density = 0.39905026 * rest * rest + dot(weights, pairs);
    return density / max(mean_density, TINY);
}

// ---- Relief -------------------------------------------------------------------------------------------

const GROOVE_V: u32 = 0u;
const GROOVE_TRAPEZOID: u32 = 1u;
const STRETCH_FIRST: u32 = 9u;
const INDIRECT_FIRST: u32 = 30u;
// Largest tangent used: 0.006 deg from grazing.
const TANGENT_MAX: f32 = 1e4;
// Least width of a pixel [periods]: softens the edges of shadows.
const PIXEL_MIN_PERIODS: f32 = 0.015625;

// Tangent of the projected angle from the normal, positive toward +Y.
fn tangent(v: vec3<f32>) -> f32 {
    return clamp(v.y / max(v.z, TINY), -TANGENT_MAX, TANGENT_MAX);
}

// Shadow-edge construction of plane geometry for light that touched one face once, and a table of what
// bounces inside (H. C. Hottel, in W. H. McAdams, "Heat Transmission", 1954). Lengths in openings.
//
// At a place the table's part lies evenly over the opening and not on the land.
fn relief_per_sr(m: u32, place: PlaceCharacter, to_light: vec3<f32>, to_eye: vec3<f32>) -> f32 {
    let face_per_sr = material_data[m + 1u];
    let period = 1.0 + material_data[m + 6u];
    let light_tangent = tangent(to_light);
    let eye_tangent = tangent(to_eye);
    let bounced = indirect_at(m, axis_place(m, to_light), axis_place(m, to_eye));
    var value = 0.0;
    if place.keep < 1.0 {
        let seen = lit_and_seen(m, light_tangent, eye_tangent);
        value = (face_per_sr * seen / period + bounced) * (1.0 - place.keep);
    }
    if place.keep > 0.0 {
        let begin = place.spots.x;
        let end = place.spots.y;
        let turns = floor(end / period);
        let last = clamp(end - turns * period, 0.0, period);
        let direct = turns * lit_up_to(m, period, light_tangent, eye_tangent)
            + lit_up_to(m, last, light_tangent, eye_tangent)
            - lit_up_to(m, begin, light_tangent, eye_tangent);
        let opening = turns + min(last, 1.0) - min(begin, 1.0);
        let here = (face_per_sr * direct + bounced * period * opening) / max(end - begin, TINY);
        value += max(here, 0.0) * place.keep;
    }
    return value;
}

// Length after which a material's character comes again [m], across the grain; 0 where it never does.
fn period_m(m: u32) -> f32 {
    if u32(material_data[m]) != RELIEF {
        return 0.0;
    }
    return material_data[m + 3u] * (1.0 + material_data[m + 6u]);
}

// What a pixel covers of the period.
fn relief_place(m: u32, place_y_m: f32, footprint_m: f32) -> PlaceCharacter {
    var place = mean_character();
    let opening_m = material_data[m + 3u];
    let period = 1.0 + material_data[m + 6u];
    place.keep = kept(period * opening_m, footprint_m);
    if place.keep <= 0.0 {
        place.keep = 0.0;
        return place;
    }
    let width = max(footprint_m / opening_m, PIXEL_MIN_PERIODS * period);
    let start = (place_y_m / opening_m - 0.5 * width) / period;
    let begin = clamp(start - floor(start), 0.0, 1.0) * period;
    place.spots = vec4<f32>(begin, begin + width, 0.0, 0.0);
    return place;
}

// int g_i g_o ds over one period, land included; g the projected length of a face per unit of the
// direction's cosine.
fn lit_and_seen(m: u32, light_tangent: f32, eye_tangent: f32) -> f32 {
    let depth = material_data[m + 4u];
    let corner = material_data[m + 5u];
    let land = material_data[m + 6u];
    let shape = u32(material_data[m + 2u]);
    if shape == GROOVE_V {
        return land
            + flank_integral(corner, depth, light_tangent, eye_tangent)
            + flank_integral(1.0 - corner, depth, -light_tangent, -eye_tangent);
    }
    if shape == GROOVE_TRAPEZOID {
        let bottom = bottom_range(m, light_tangent, eye_tangent);
        return land
            + flank_integral(corner, depth, light_tangent, eye_tangent)
            + (bottom.y - bottom.x)
            + flank_integral(corner, depth, -light_tangent, -eye_tangent);
    }
    return land + half_round_integral(light_tangent, eye_tangent);
}

// The same for a straight face from the -Y edge of the opening down to (`across`, `depth`); mirrored
// directions give the face at the other edge.
fn flank_integral(across: f32, depth: f32, light_tangent: f32, eye_tangent: f32) -> f32 {
    let flank = flank_lit(across, depth, light_tangent, eye_tangent);
    return flank.x * flank.y;
}

// Of such a face: from the edge up to where the eye's lines meet the opening it is both lit and seen,
// and the light's g.
fn flank_lit(across: f32, depth: f32, light_tangent: f32, eye_tangent: f32) -> vec2<f32> {
    let light = across + depth * light_tangent;
    let eye = across + depth * eye_tangent;
    if light <= 0.0 || eye <= 0.0 {
        return vec2<f32>(0.0, 0.0);
    }
    let face_length = max(sqrt(across * across + depth * depth), TINY);
    return vec2<f32>(eye / max(max(light, eye), 1.0), light / face_length);
}

// From and to on the bottom of a trapezoid, both lit and seen, where the eye's lines meet the opening.
fn bottom_range(m: u32, light_tangent: f32, eye_tangent: f32) -> vec2<f32> {
    let depth = material_data[m + 4u];
    let corner = material_data[m + 5u];
    let begin = max(corner, max(-depth * light_tangent, -depth * eye_tangent));
    let end = min(1.0 - corner, min(1.0 - depth * light_tangent, 1.0 - depth * eye_tangent));
    return vec2<f32>(begin, max(begin, end)) + vec2<f32>(depth * eye_tangent);
}

// int g_i g_o ds over a half circle.
//
// A point at arc angle a (0 at the -Y edge, pi at the +Y edge) has n . d = sin(a + theta) and is reached
// for theta > 0 from a = 0 to pi - 2 theta, for theta < 0 from -2 theta to pi. With D the part of the
// arc that both reach, the integral is (D cos(i - o) + sin D cos(i -+ o)) / 2, the second sign being
// that of directions on one side of the normal.
fn half_round_integral(light_tangent: f32, eye_tangent: f32) -> f32 {
    let product = light_tangent * eye_tangent;
    if product >= 0.0 {
        let steeper = max(abs(light_tangent), abs(eye_tangent));
        let inverse_cosine = sqrt(1.0 + steeper * steeper);
        let sine = 1.0 / inverse_cosine;
        let cosine = steeper / inverse_cosine;
        let arc = 2.0 * angle_rad(sine, cosine) + 2.0 * sine * cosine;
        return 0.25 * (1.0 + product) * arc;
    }
    let together = 1.0 + product;
    if together <= 0.0 {
        return 0.0;
    }
    let inverse_cosines = sqrt((1.0 + light_tangent * light_tangent) * (1.0 + eye_tangent * eye_tangent));
    let sine = together / inverse_cosines;
    let cosine = abs(light_tangent - eye_tangent) / inverse_cosines;
    let arc = 2.0 * angle_rad(sine, cosine);
    return 0.25 * (arc * together + 2.0 * sine * cosine * (1.0 - product));
}

// int g_i over that part of the period, from 0 to `y` where the eye's lines meet the mean plane, that is
// lit and seen; at the period's end it is `lit_and_seen`.
//
// The eye's line goes down from y to y - depth x tangent, and a point is lit where the line to the light
// leaves through the opening; on each face both give one stretch.
fn lit_up_to(m: u32, y: f32, light_tangent: f32, eye_tangent: f32) -> f32 {
    let depth = material_data[m + 4u];
    let corner = material_data[m + 5u];
    let shape = u32(material_data[m + 2u]);
    let land = max(y - 1.0, 0.0);
    let across = min(y, 1.0);
    if shape != GROOVE_V && shape != GROOVE_TRAPEZOID {
        let start = half_round_up_to(0.0, light_tangent, eye_tangent);
        return land + half_round_up_to(across, light_tangent, eye_tangent) - start;
    }
    let near = flank_lit(corner, depth, light_tangent, eye_tangent);
    let far_corner = select(1.0 - corner, corner, shape == GROOVE_TRAPEZOID);
    let far = flank_lit(far_corner, depth, -light_tangent, -eye_tangent);
    let flanks = near.y * min(across, near.x) + far.y * max(across - (1.0 - far.x), 0.0);
    if shape == GROOVE_V {
        return land + flanks;
    }
    let bottom = bottom_range(m, light_tangent, eye_tangent);
    return land + flanks + clamp(across, bottom.x, bottom.y) - bottom.x;
}

// Antiderivative for the half circle at the point whose line to the eye meets the opening at `y`, kept
// within what the light reaches.
fn half_round_up_to(y: f32, light_tangent: f32, eye_tangent: f32) -> f32 {
    // Depth of the eye's line on the circle; the two forms avoid differences of near numbers.
    let q = y - 0.5;
    let square = 1.0 + eye_tangent * eye_tangent;
    let root = sqrt(max(0.25 * square - q * q, 0.0));
    var depth = 0.0;
    if q * eye_tangent >= 0.0 {
        depth = (q * eye_tangent + root) / square;
    } else {
        depth = max(0.25 - q * q, 0.0) / max(root - q * eye_tangent, TINY);
    }
    var sine = 2.0 * depth;
    var cosine = clamp(2.0 * (depth * eye_tangent - q), -1.0, 1.0);
    var arc = angle_rad(sine, cosine);

    let light_square = 1.0 + light_tangent * light_tangent;
    let limit_sine = 2.0 * abs(light_tangent) / light_square;
    let narrow = (1.0 - light_tangent * light_tangent) / light_square;
    let limit_cosine = select(-narrow, narrow, light_tangent < 0.0);
    let limit = angle_rad(limit_sine, limit_cosine);
    let beyond = select(arc > limit, arc < limit, light_tangent < 0.0);
    if light_tangent != 0.0 && beyond {
        sine = limit_sine;
        cosine = limit_cosine;
        arc = limit;
    }
    // int (sin a + t_i cos a)(sin a + t_o cos a) da / 4: g_i g_o ds with half the opening as radius.
    let product = light_tangent * eye_tangent;
    return 0.25 * (arc * (1.0 + product) + sine * cosine * (product - 1.0)
        + sine * sine * (light_tangent + eye_tangent));
}

// Place of a direction between the nodes of the axis of the inter-reflected light.
fn axis_place(m: u32, v: vec3<f32>) -> f32 {
    let q = v.y / max(abs(v.y) + v.z, TINY);
    let stretch_count = u32(material_data[m + 7u]);
    var at = m + STRETCH_FIRST;
    for (var k = 1u; k < stretch_count; k += 1u) {
        let next = m + STRETCH_FIRST + 3u * k;
        if q < material_data[next] {
            break;
        }
        at = next;
    }
    return max(material_data[at + 1u] + (q - material_data[at]) * material_data[at + 2u], 0.0);
}

// Inter-reflected part [1/sr], bilinear between the nodes.
fn indirect_at(m: u32, x: f32, y: f32) -> f32 {
    let nodes = u32(material_data[m + 8u]);
    let row = min(u32(y), nodes - 2u);
    let f = y - f32(row);
    let first = m + INDIRECT_FIRST + row * nodes;
    return table_at(first, nodes, x) * (1.0 - f) + table_at(first + nodes, nodes, x) * f;
}

// ---- Noise --------------------------------------------------------------------------------------------

// Share of a feature of `size_m` that a pixel of `footprint_m` still shows.
fn kept(size_m: f32, footprint_m: f32) -> f32 {
    if footprint_m >= size_m {
        return 0.0;
    }
    return 1.0 - smoothstep(size_m / 3.0, size_m, footprint_m);
}

// Where in the pixel a spot lies, in pixels from its middle.
fn spot_share(k: u32) -> f32 {
    return 0.25 * f32(k) - 0.375;
}

// Well mixed bits: the PCG hash of M. Jarzynski and M. Olano, "Hash Functions for GPU Rendering", Journal
// of Computer Graphics Techniques 9(3), 2020.
fn scramble(bits: u32) -> u32 {
    let state = bits * 747796405u + 2891336453u;
    let word = ((state >> ((state >> 28u) + 4u)) ^ state) * 277803737u;
    return (word >> 22u) ^ word;
}

// A number in 0..1 of a hash.
fn random_share(bits: u32) -> f32 {
    return f32(bits >> 8u) / 16777216.0;
}

// A normal number of mean 0 and variance 1 of a hash: G. E. P. Box and M. E. Muller, "A note on the
// generation of random normal deviates", Annals of Mathematical Statistics 29(2), 1958.
fn random_normal(bits: u32) -> f32 {
    let first = (f32(bits >> 16u) + 0.5) / 65536.0;
    let second = f32(bits & 65535u) / 65536.0;
    return sqrt(max(-2.0 * log(first), 0.0)) * cos(TAU * (second - 0.5));
}

// Mix of two independent normal numbers that is normal with variance 1 at every share.
fn normal_mix(a: f32, b: f32, share: f32) -> f32 {
    let s = share * share * (3.0 - 2.0 * share);
    return (a * (1.0 - s) + b * s) / sqrt((1.0 - s) * (1.0 - s) + s * s);
}

// Smooth noise of lines along X, normal with mean 0 and variance 1 at every place.
//
// `size_m`: length along X, width across [m]; the lengths of single lines lie within 0.6 to 1.4 of that.
fn line_noise(place_m: vec2<f32>, size_m: vec2<f32>, key: u32) -> f32 {
    let y = place_m.y / size_m.y;
    let row = floor(y);
    let a = line_value(place_m.x / size_m.x, i32(row), key);
    let b = line_value(place_m.x / size_m.x, i32(row) + 1, key);
    return normal_mix(a, b, y - row);
}

// Value of one line at `lengths` mean lengths along it.
fn line_value(lengths: f32, row: i32, key: u32) -> f32 {
    let row_key = scramble(bitcast<u32>(row) + key);
    let shift_key = scramble(row_key);
    let x = lengths / (0.6 + 0.8 * random_share(row_key)) + random_share(shift_key);
    let cell = floor(x);
    let a = random_normal(scramble(bitcast<u32>(i32(cell)) + shift_key));
    let b = random_normal(scramble(bitcast<u32>(i32(cell) + 1) + shift_key));
    return normal_mix(a, b, x - cell);
}
