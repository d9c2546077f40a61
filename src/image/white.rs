//! What counts as white: the eye takes the mean colour of the light about it for white, nearly but not wholly.
//!
//! Input: the colour that the eye is adapted to (linear Rec. 709) and the luminance; output: a matrix on linear
//! Rec. 709. Chromatic adaptation by the linearised Bradford transform (ICC.1:2022 annex E, matrix from memory) with the
//! incomplete degree of CIECAM02 in an average surround (CIE 159:2004, from memory). Luminances are kept by whoever
//! applies it: colours turn, light does not change. Limits: one adaptation for the whole view.

use glam::{Mat3, Vec3};

use crate::measure::colour::{D65_XY, linear_rgb_from_xyz, xyz_from_xy};

/// Cone responses of XYZ, rows of the Bradford matrix.
const CONES: [[f32; 3]; 3] = [
    [0.8951, 0.2664, -0.1614],
    [-0.7502, 1.7135, 0.0367],
    [0.0389, -0.0685, 1.0296],
];

fn cones_from_xyz() -> Mat3 {
    Mat3::from_cols_array_2d(&CONES).transpose()
}

fn rgb_from_xyz() -> Mat3 {
    let column = |xyz: [f64; 3]| Vec3::from_array(linear_rgb_from_xyz(xyz).map(|c| c as f32));
    Mat3::from_cols(
        column([1.0, 0.0, 0.0]),
        column([0.0, 1.0, 0.0]),
        column([0.0, 0.0, 1.0]),
    )
}

/// Degree of adaptation 0..=1 at a luminance [cd/m2] that the eye is adapted to. CIE 159:2004 (from memory): F = 1,
/// D = F (1 - exp(-(L_A + 42) / 92) / 3.6).
pub fn degree_of_adaptation(adapted_cd_m2: f32) -> f32 {
    (1.0 - (-(adapted_cd_m2.max(0.0) + 42.0) / 92.0).exp() / 3.6).clamp(0.0, 1.0)
}

/// Matrix on linear Rec. 709 that turns the colour of the light about the eye toward the display's white.
///
/// `light_rgb` is that colour, at any luminance above 0; a colour without light leaves everything as it is.
pub fn white_matrix(light_rgb: Vec3, adapted_cd_m2: f32) -> Mat3 {
    let rgb_from_xyz = rgb_from_xyz();
    let xyz_from_rgb = rgb_from_xyz.inverse();
    let xyz = xyz_from_rgb * light_rgb;
    if !(xyz.is_finite() && xyz.y > 0.0) {
        return Mat3::IDENTITY;
    }
    let cones = cones_from_xyz();
    let seen = cones * (xyz / xyz.y);
    let white = cones * Vec3::from_array(xyz_from_xy(D65_XY).map(|c| c as f32));
    let degree = degree_of_adaptation(adapted_cd_m2);
    let gain = |k: usize| degree * white[k] / seen[k].max(0.05) + 1.0 - degree;
    let gains = Mat3::from_diagonal(Vec3::new(gain(0), gain(1), gain(2)));
    rgb_from_xyz * cones.inverse() * gains * cones * xyz_from_rgb
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::colour::{lamp_rgb, luminance_of_rgb};

    /// In an average surround the formula of CIE 159:2004 gives 1 - exp(-42/92) / 3.6 = 0.824 in the dark and 1 in much
    /// light.
    #[test]
    fn adaptation_is_incomplete_in_the_dark() {
        assert!((degree_of_adaptation(0.0) - 0.824).abs() < 0.01);
        assert!(degree_of_adaptation(1000.0) > 0.999);
    }

    #[test]
    fn white_stays_white_and_warm_light_turns_nearly_white() {
        let neutral = white_matrix(Vec3::ONE, 50.0) * Vec3::ONE;
        assert!(
            (neutral - Vec3::ONE).abs().max_element() < 2e-3,
            "{neutral}"
        );
        let warm = Vec3::from_array(lamp_rgb(3000.0).map(|c| c as f32));
        let seen = white_matrix(warm, 50.0) * warm;
        let luminance = luminance_of_rgb(seen.to_array().map(f64::from)) as f32;
        let seen = seen / luminance;
        assert!(seen.x > seen.y && seen.y > seen.z, "still warm: {seen}");
        assert!(seen.x / seen.z < 0.4 * warm.x / warm.z, "but less: {seen}");
        let daylight = white_matrix(warm, 50.0) * Vec3::ONE;
        assert!(
            daylight.z > daylight.x,
            "daylight looks blue then: {daylight}"
        );
    }

    #[test]
    fn darkness_has_no_colour() {
        assert_eq!(white_matrix(Vec3::ZERO, 1.0), Mat3::IDENTITY);
        assert_eq!(white_matrix(Vec3::splat(f32::NAN), 1.0), Mat3::IDENTITY);
    }
}
