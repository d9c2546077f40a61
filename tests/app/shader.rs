//! What the shaders draw against what the engine computes.

use glam::Vec3;
use lustrewalk::{
    app::picture::{Swatch, swatch_luminances},
    material::{Brdf, Library},
};

/// Directions at which every material is drawn: from steep to grazing, all around, unit.
fn directions() -> Vec<Vec3> {
    let mut list = vec![Vec3::Z];
    for from_normal_deg in [12.0_f32, 30.0, 48.0, 63.0, 76.0, 85.0] {
        for k in 0..5 {
            let azimuth = (k as f32 * 72.0 + from_normal_deg).to_radians();
            let (sin, cos) = from_normal_deg.to_radians().sin_cos();
            list.push(Vec3::new(sin * azimuth.cos(), sin * azimuth.sin(), cos));
        }
    }
    list
}

/// The picture is the number: luminance before the tone curve within 2 % of the engine's, for every material of
/// the library and every pair of directions. Bound: design contract, section 6. Below 1e-4 cd/m2, where nothing
/// is seen, single precision rules.
#[test]
fn shader_draws_the_engines_luminance_for_every_material_and_angle() {
    let library = Library::built_in().unwrap();
    let named: Vec<(String, Brdf)> = library
        .iter()
        .map(|(name, spec)| (name.to_owned(), spec.brdf().unwrap()))
        .collect();
    let brdfs: Vec<Brdf> = named.iter().map(|n| n.1.clone()).collect();
    let mut swatches = Vec::new();
    for material in 0..brdfs.len() {
        for to_light in directions() {
            for to_eye in directions() {
                swatches.push(Swatch {
                    material,
                    to_light,
                    to_eye,
                    normal_illuminance_lx: 1000.0,
                });
            }
        }
        // The mirror directions, where lobes peak.
        for d in directions() {
            swatches.push(Swatch {
                material,
                to_light: Vec3::new(-d.x, -d.y, d.z),
                to_eye: d,
                normal_illuminance_lx: 1000.0,
            });
        }
    }
    let drawn = swatch_luminances(&brdfs, &swatches).unwrap();
    assert_eq!(drawn.len(), swatches.len());
    let (mut worst, mut bright) = (0.0_f32, 0);
    for (swatch, shown) in swatches.iter().zip(&drawn) {
        let brdf = &brdfs[swatch.material];
        let engine = brdf.brdf_per_sr(swatch.to_light, swatch.to_eye)
            * swatch.to_light.z
            * swatch.normal_illuminance_lx;
        assert!(shown.is_finite(), "{}: {shown}", named[swatch.material].0);
        let off = (shown - engine).abs() / engine.max(1e-4);
        assert!(
            off < 0.02,
            "{}: light {} eye {}: shader {shown} cd/m2, engine {engine} cd/m2",
            named[swatch.material].0,
            swatch.to_light,
            swatch.to_eye
        );
        worst = worst.max(off);
        bright += usize::from(engine > 1.0);
    }
    println!("{} swatches, worst {:.4} %", swatches.len(), 100.0 * worst);
    // The comparison means something: most swatches are bright.
    assert!(
        bright * 2 > swatches.len(),
        "{bright} of {}",
        swatches.len()
    );
}
