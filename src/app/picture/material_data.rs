//! Materials as the numbers that `assets/shaders/materials.wgsl` reads.
//!
//! # Records
//! Numbers follow one another from the record's offset:
//!
//! ```text
//! Diffuse        0: 0   1: rho A_F / pi [1/sr]   2: roughness r, 0 = Lambert   3: A_F
//!                4: factor of the product part [1/sr]
//! CoatedDiffuse  0: 1   1: coat index eta   2: coat alpha   3: body [1/sr]
//!                4..69: coat albedo on sqrt(cos), 65 nodes
//! Wood           0: 2   1: coat index eta   2: coat alpha, 0 = raw   3: body [1/sr]
//!                4: k_f / eta^2   5: 1 / (2 beta^2)   6: 2 / (beta sqrt(2 pi))   7: least cosine of psi_h
//!                8: figure, 0 even, 1 straight, 2 ribbon, 3 curl   9: its sd or amplitude [rad]
//!                10: mean tilt [rad]   11: node count n
//!                12..12+3n: share, cos(tilt), sin(tilt) of each node
//! Metal          0: 3   1: alpha along   2: alpha across   3: factor of the product part [1/sr]
//!                4: 1 where +X is the rough axis, else 0
//!                5..518: reflectance on the cosine, 513 nodes
//!                518..947: loss, 13 azimuth rows of 33 nodes on sqrt(cos)
//! Relief         0: 4   1: rho / pi [1/sr]   2: groove, 0 V, 1 trapezoid, 2 half round   3: opening [m]
//!                and, in openings: 4: depth   5: y of the first corner at the bottom   6: land
//!                7: stretches of the axis in use   8: nodes of the axis n
//!                9..30: 7 stretches of from q, first node, nodes per q
//!                30..30+n^2: inter-reflected part [1/sr], row-major, symmetric
//! ```
//!
//! Limits: counts and kinds are whole numbers below 2^24, so that single precision holds them; the table
//! of a relief is some 140 kB, so a material is encoded once, not once a tile.

use std::f32::consts::FRAC_1_PI;

use crate::material::{
    Brdf, BrushedMetal, CoatedDiffuse, Diffuse, Figure, FinishedWood, Groove, RidgedRelief,
};

const DIFFUSE: f32 = 0.0;
const COATED: f32 = 1.0;
const WOOD: f32 = 2.0;
const METAL: f32 = 3.0;
const RELIEF: f32 = 4.0;

/// Room for the stretches of a relief's axis, and numbers in each.
const STRETCH_NUMBERS: usize = 7 * 3;

/// Appends the record of a material to `out` and returns its offset [numbers].
pub(super) fn encode(brdf: &Brdf, out: &mut Vec<f32>) -> u32 {
    let offset = out.len();
    match brdf {
        Brdf::Diffuse(diffuse) => encode_diffuse(diffuse, out),
        Brdf::CoatedDiffuse(board) => encode_coated(board, out),
        Brdf::Wood(wood) => encode_wood(wood, out),
        Brdf::Metal(metal) => encode_metal(metal, out),
        Brdf::Relief(relief) => encode_relief(relief, out),
    }
    debug_assert!(out.iter().skip(offset).all(|number| number.is_finite()));
    offset as u32
}

fn encode_diffuse(diffuse: &Diffuse, out: &mut Vec<f32>) {
    out.extend([
        DIFFUSE,
        diffuse.reflectance() * diffuse.scale() * FRAC_1_PI,
        diffuse.roughness(),
        diffuse.scale(),
        diffuse.product_per_sr(),
    ]);
}

fn encode_coated(board: &CoatedDiffuse, out: &mut Vec<f32>) {
    out.extend([
        COATED,
        board.eta(),
        board.coat().alpha().x,
        board.body_per_sr(),
    ]);
    out.extend_from_slice(board.coat_albedo().values());
}

fn encode_wood(wood: &FinishedWood, out: &mut Vec<f32>) {
    let (figure, spread_deg) = match wood.figure() {
        Figure::Even => (0.0, 0.0),
        Figure::Straight { sd_deg } => (1.0, sd_deg),
        Figure::Ribbon { amplitude_deg } => (2.0, amplitude_deg),
        Figure::Curl { amplitude_deg } => (3.0, amplitude_deg),
    };
    // All fibres have one Gaussian; a figure has a node at least.
    let gaussian = wood.fibres().next().map_or([0.0; 3], |(_, lobe)| {
        [lobe.half_precision(), lobe.height(), lobe.reach_cos()]
    });
    out.extend([
        WOOD,
        wood.eta(),
        wood.coat_lobe().map_or(0.0, |lobe| lobe.alpha().x),
        wood.body_per_sr(),
        wood.outside_strength(),
    ]);
    out.extend(gaussian);
    out.extend([
        figure,
        spread_deg.to_radians(),
        wood.tilt_rad(),
        wood.fibres().len() as f32,
    ]);
    for (share, lobe) in wood.fibres() {
        let axis = lobe.axis();
        out.extend([share, axis.x, axis.y]);
    }
}

fn encode_metal(metal: &BrushedMetal, out: &mut Vec<f32>) {
    let alpha = metal.lobe().alpha();
    out.extend([
        METAL,
        alpha.x,
        alpha.y,
        metal.multiple_per_sr(),
        f32::from(u8::from(metal.loss().rough_along_x())),
    ]);
    out.extend_from_slice(metal.curve().values());
    out.extend_from_slice(metal.loss().values());
}

fn encode_relief(relief: &RidgedRelief, out: &mut Vec<f32>) {
    let profile = relief.profile();
    let opening_m = profile.opening_m();
    let (groove, corner) = match profile.groove() {
        Groove::V { apex, .. } => (0.0, apex),
        Groove::Trapezoid { bottom_m, .. } => {
            let share = 0.5 * (1.0 - f64::from(bottom_m) / opening_m);
            (1.0, share as f32)
        }
        Groove::HalfRound => (2.0, 0.0),
    };
    out.extend([
        RELIEF,
        relief.reflectance() * FRAC_1_PI,
        groove,
        opening_m as f32,
        (profile.depth_m() / opening_m) as f32,
        corner,
        (profile.land_m() / opening_m) as f32,
        relief.axis().stretches().count() as f32,
        relief.axis().len() as f32,
    ]);
    let stretches_end = out.len() + STRETCH_NUMBERS;
    out.extend(relief.axis().stretches().flatten());
    out.resize(stretches_end, 0.0);
    out.extend_from_slice(relief.indirect());
}
