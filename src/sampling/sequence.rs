//! Low-discrepancy points that are the same on every machine and thread.
//!
//! Sobol points in six dimensions with the direction numbers of S. Joe and F. Y. Kuo, "Constructing
//! Sobol sequences with better two-dimensional projections", SIAM J. Sci. Comput. 30, 2008 (set
//! new-joe-kuo-6), randomised by hashed Owen scrambling (S. Laine and T. Karras, "Stratified sampling
//! for stochastic transparency", 2011; hash constants of B. Burley, "Practical hash-based Owen
//! scrambling", JCGT 9(4), 2020). Each seed gives an independent, unbiased randomisation.

/// Number of dimensions that a point has.
pub const DIMENSION_COUNT: usize = 6;

/// Direction numbers of one dimension: the 32 columns of its generator matrix.
const fn directions(degree: usize, polynomial: u32, initial: [u32; 4]) -> [u32; 32] {
    let mut v = [0_u32; 32];
    if degree == 0 {
        let mut i = 0;
        while i < 32 {
            v[i] = 1 << (31 - i);
            i += 1;
        }
        return v;
    }
    let mut i = 0;
    while i < degree {
        v[i] = initial[i] << (31 - i);
        i += 1;
    }
    while i < 32 {
        let mut value = v[i - degree] ^ (v[i - degree] >> degree);
        let mut k = 1;
        while k < degree {
            if (polynomial >> (degree - 1 - k)) & 1 == 1 {
                value ^= v[i - k];
            }
            k += 1;
        }
        v[i] = value;
        i += 1;
    }
    v
}

const DIRECTIONS: [[u32; 32]; DIMENSION_COUNT] = [
    directions(0, 0, [0, 0, 0, 0]),
    directions(1, 0, [1, 0, 0, 0]),
    directions(2, 1, [1, 3, 0, 0]),
    directions(3, 1, [1, 3, 1, 0]),
    directions(3, 2, [1, 1, 1, 0]),
    directions(4, 1, [1, 1, 3, 3]),
];

/// Mixes two words into a seed (a finaliser of the kind of M. Matsumoto's and D. Stafford's mixers).
#[inline]
pub fn hash(a: u32, b: u32) -> u32 {
    let mut x = a.wrapping_mul(0x9E37_79B9) ^ b.rotate_left(16).wrapping_mul(0x85EB_CA6B);
    x ^= x >> 16;
    x = x.wrapping_mul(0x7FEB_352D);
    x ^= x >> 15;
    x = x.wrapping_mul(0x846C_A68B);
    x ^ (x >> 16)
}

#[inline]
fn owen_scramble(value: u32, seed: u32) -> u32 {
    let mut x = value.reverse_bits();
    x = x.wrapping_add(seed);
    x ^= x.wrapping_mul(0x6C50_B47C);
    x ^= x.wrapping_mul(0xB82F_1E52);
    x ^= x.wrapping_mul(0xC7AF_E638);
    x ^= x.wrapping_mul(0x8D22_F6E6);
    x.reverse_bits()
}

/// A randomised low-discrepancy sequence.
#[derive(Clone, Copy, Debug)]
pub struct Sequence {
    seed: u32,
}

impl Sequence {
    /// The sequence of this seed.
    pub fn new(seed: u32) -> Self {
        Self { seed }
    }

    /// Coordinate `dimension` (0..6) of point `index`, in [0, 1).
    #[inline]
    pub fn value(&self, index: u32, dimension: usize) -> f32 {
        let directions = &DIRECTIONS[dimension % DIMENSION_COUNT];
        let mut bits = 0_u32;
        let mut rest = index;
        while rest != 0 {
            bits ^= directions[rest.trailing_zeros() as usize];
            rest &= rest - 1;
        }
        let bits = owen_scramble(bits, hash(self.seed, dimension as u32 + 1));
        // 24 bits keep the result below one in single precision.
        (bits >> 8) as f32 * (1.0 / 16_777_216.0)
    }

    /// Coordinates `first` and `first + 1` of point `index`.
    #[inline]
    pub fn pair(&self, index: u32, first: usize) -> glam::Vec2 {
        glam::Vec2::new(self.value(index, first), self.value(index, first + 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_dimension_is_stratified() {
        for seed in [0, 1, 77] {
            let sequence = Sequence::new(seed);
            for dimension in 0..DIMENSION_COUNT {
                let mut seen = [0; 64];
                for i in 0..64 {
                    seen[(sequence.value(i, dimension) * 64.0) as usize] += 1;
                }
                assert_eq!(seen, [1; 64], "seed {seed} dimension {dimension}");
            }
        }
    }

    #[test]
    fn first_two_dimensions_form_a_net() {
        let sequence = Sequence::new(5);
        let mut seen = [0; 64];
        for i in 0..64 {
            let p = sequence.pair(i, 0);
            seen[(p.x * 8.0) as usize * 8 + (p.y * 8.0) as usize] += 1;
        }
        assert_eq!(seen, [1; 64]);
    }

    #[test]
    fn seeds_give_unrelated_points_with_the_right_mean() {
        let mut sum = 0.0;
        for seed in 0..4000 {
            sum += Sequence::new(hash(seed, 9)).value(3, 2);
        }
        // 4000 uniform values: standard error of the mean 0.0046; four of them.
        assert!(
            (sum / 4000.0 - 0.5_f32).abs() < 0.019,
            "mean {}",
            sum / 4000.0
        );
    }
}
