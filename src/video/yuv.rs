//! Display-encoded RGB to luma and chroma for video.
//!
//! Input: RGBA, 8 bits, row-major from the top; output: planes of 8 bits, limited range (16..=235, 16..=240), matrix of
//! Rec. ITU-R BT.709-6, items 3.4 and 3.5, chroma of half size in both directions, sited left as H.264 assumes where it
//! is told nothing. Odd sizes are grown by repeating the last column or row.

use rayon::prelude::*;

/// A picture for an encoder.
#[derive(Clone, Debug, PartialEq)]
pub struct Yuv420 {
    /// Width and height [pixels], even.
    pub size: [usize; 2],
    /// Luma, row-major.
    pub y: Vec<u8>,
    /// Chroma blue, a quarter as many.
    pub u: Vec<u8>,
    /// Chroma red, likewise.
    pub v: Vec<u8>,
}

/// Luma weights of Rec. ITU-R BT.709.
const R: f32 = 0.2126;
const G: f32 = 0.7152;
const B: f32 = 0.0722;

impl Yuv420 {
    /// Converts a picture.
    pub fn from_rgba(rgba: &[u8], size: [usize; 2]) -> Self {
        let [width, height] = size;
        let even = [width.next_multiple_of(2), height.next_multiple_of(2)];
        let pixel = |x: usize, y: usize| {
            let at = (y.min(height - 1) * width + x.min(width - 1)) * 4;
            [rgba[at], rgba[at + 1], rgba[at + 2]].map(f32::from)
        };
        let luma = |[r, g, b]: [f32; 3]| {
            (16.5 + (219.0 / 255.0) * (R * r + G * g + B * b)).clamp(16.0, 235.0) as u8
        };
        let mut y = vec![0; even[0] * even[1]];
        y.par_chunks_mut(even[0])
            .enumerate()
            .for_each(|(row, out)| {
                for (x, value) in out.iter_mut().enumerate() {
                    *value = luma(pixel(x, row));
                }
            });
        let half = [even[0] / 2, even[1] / 2];
        let mut chroma = vec![[0_u8; 2]; half[0] * half[1]];
        chroma
            .par_chunks_mut(half[0])
            .enumerate()
            .for_each(|(row, out)| {
                for (x, value) in out.iter_mut().enumerate() {
                    let mut sum = [0.0_f32; 3];
                    for y in [2 * row, 2 * row + 1] {
                        let here = pixel(2 * x, y);
                        let left = pixel((2 * x).saturating_sub(1), y);
                        let right = pixel(2 * x + 1, y);
                        for c in 0..3 {
                            sum[c] += 0.25 * here[c] + 0.125 * (left[c] + right[c]);
                        }
                    }
                    let [r, g, b] = sum;
                    let luma = R * r + G * g + B * b;
                    let scale = 224.0 / 255.0;
                    let blue = scale * (b - luma) / (2.0 * (1.0 - B));
                    let red = scale * (r - luma) / (2.0 * (1.0 - R));
                    *value = [blue, red].map(|c| (128.5 + c).clamp(16.0, 240.0) as u8);
                }
            });
        Self {
            size: even,
            y,
            u: chroma.iter().map(|c| c[0]).collect(),
            v: chroma.iter().map(|c| c[1]).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(rgb: [u8; 3], size: [usize; 2]) -> Yuv420 {
        let pixel = [rgb[0], rgb[1], rgb[2], 255];
        Yuv420::from_rgba(&pixel.repeat(size[0] * size[1]), size)
    }

    /// Source: Rec. ITU-R BT.709-6, items 3.2 to 3.5 and 4.6 for 8 bits: black 16, white 235, red
    /// 16 + 219 x 0.2126 = 62.6, its chroma 128 + 112 = 240; 18 % grey, code 118, 16 + 219 x 118 / 255 = 117.3.
    #[test]
    fn black_white_grey_and_red_have_their_codes() {
        for (rgb, expected) in [
            ([0, 0, 0], [16, 128, 128]),
            ([255, 255, 255], [235, 128, 128]),
            ([118, 118, 118], [117, 128, 128]),
            ([255, 0, 0], [63, 102, 240]),
            ([0, 0, 255], [32, 240, 118]),
        ] {
            let yuv = plain(rgb, [4, 4]);
            assert_eq!([yuv.y[5], yuv.u[1], yuv.v[1]], expected, "{rgb:?}");
        }
    }

    #[test]
    fn odd_sizes_are_grown_by_their_edge() {
        let yuv = plain([200, 10, 10], [5, 3]);
        assert_eq!(yuv.size, [6, 4]);
        assert!(yuv.y.iter().all(|y| *y == yuv.y[0]));
        assert_eq!((yuv.y.len(), yuv.u.len()), (24, 6));
    }
}
