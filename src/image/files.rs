//! Pictures as files in memory: PNG and JPEG of display-encoded pixels, OpenEXR of luminances.
//!
//! PNG files say that they are sRGB. The OpenEXR file has one channel `Y` of 32-bit floats in cd/m2, compressed without
//! loss; `Y` is the standard's name of a luminance channel and `whiteLuminance` its factor (OpenEXR, "Standard
//! attributes").

use std::io::Cursor;

/// Why a picture is no file.
#[derive(Debug, thiserror::Error)]
pub enum PictureFileError {
    /// The encoder refused.
    #[error("the picture cannot be written as {kind}: {why}")]
    Encode {
        /// Kind of file.
        kind: &'static str,
        /// What the encoder says.
        why: String,
    },
}

fn failed(kind: &'static str, why: impl std::fmt::Display) -> PictureFileError {
    PictureFileError::Encode {
        kind,
        why: why.to_string(),
    }
}

/// An opaque RGBA picture of a size [pixels] as a PNG file.
///
/// # Errors
/// Pixels that do not fit the size.
pub fn rgba_png(rgba: &[u8], size: [usize; 2]) -> Result<Vec<u8>, PictureFileError> {
    let rgb: Vec<u8> = rgba
        .chunks_exact(4)
        .flat_map(|p| [p[0], p[1], p[2]])
        .collect();
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, size[0] as u32, size[1] as u32);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
    let mut writer = encoder.write_header().map_err(|e| failed("PNG", e))?;
    writer
        .write_image_data(&rgb)
        .map_err(|e| failed("PNG", e))?;
    writer.finish().map_err(|e| failed("PNG", e))?;
    Ok(out)
}

/// An RGBA picture as a JPEG file of a quality 1..=100, chroma of half size.
///
/// # Errors
/// Sizes above 65 535 pixels.
pub fn rgba_jpeg(rgba: &[u8], size: [usize; 2], quality: u8) -> Result<Vec<u8>, PictureFileError> {
    let side = |s: usize| u16::try_from(s).map_err(|e| failed("JPEG", e));
    let (width, height) = (side(size[0])?, side(size[1])?);
    let mut out = Vec::new();
    let mut encoder = jpeg_encoder::Encoder::new(&mut out, quality.clamp(1, 100));
    encoder.set_progressive(true);
    encoder.set_optimized_huffman_tables(true);
    encoder.set_sampling_factor(jpeg_encoder::SamplingFactor::F_2_2);
    encoder
        .encode(rgba, width, height, jpeg_encoder::ColorType::Rgba)
        .map_err(|e| failed("JPEG", e))?;
    Ok(out)
}

/// Luminances [cd/m2], row-major from the top, as an OpenEXR file.
///
/// # Errors
/// Values that do not fit the size.
pub fn luminance_exr(
    luminance_cd_m2: &[f32],
    size: [usize; 2],
) -> Result<Vec<u8>, PictureFileError> {
    use exr::prelude::*;
    if luminance_cd_m2.len() != size[0] * size[1] {
        return Err(failed("OpenEXR", "the values do not fit the size"));
    }
    let channel = AnyChannel::new("Y", FlatSamples::F32(luminance_cd_m2.to_vec()));
    let mut attributes = LayerAttributes::named("luminance, cd/m2");
    attributes.white_luminance = Some(1.0);
    attributes.software_name = Some(Text::from("Lustrewalk"));
    let layer = Layer::new(
        (size[0], size[1]),
        attributes,
        Encoding {
            compression: Compression::ZIP16,
            ..Encoding::default()
        },
        AnyChannels::sort(std::iter::once(channel).collect()),
    );
    let mut out = Cursor::new(Vec::new());
    Image::from_layer(layer)
        .write()
        .non_parallel()
        .to_buffered(&mut out)
        .map_err(|e| failed("OpenEXR", e))?;
    Ok(out.into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn luminances_come_back_as_they_were() {
        use exr::prelude::*;
        let values: Vec<f32> = (0..35).map(|k| k as f32 * 1234.5 + 1e-3).collect();
        let bytes = luminance_exr(&values, [7, 5]).unwrap();
        let image = read()
            .no_deep_data()
            .largest_resolution_level()
            .all_channels()
            .first_valid_layer()
            .all_attributes()
            .from_buffered(Cursor::new(bytes))
            .unwrap();
        let layer = &image.layer_data;
        assert_eq!(layer.size, Vec2(7, 5));
        assert_eq!(layer.attributes.white_luminance, Some(1.0));
        let channel = &layer.channel_data.list[0];
        assert_eq!(channel.name.to_string(), "Y");
        let found: Vec<f32> = channel.sample_data.values_as_f32().collect();
        assert_eq!(found, values);
        assert!(luminance_exr(&values, [6, 5]).is_err());
    }

    /// 18 % grey is code 118; red and blue must not trade places.
    #[test]
    fn png_and_jpeg_keep_the_codes() {
        let rgba: Vec<u8> = [[118, 118, 118, 255], [255, 0, 0, 255], [0, 0, 255, 255]]
            .iter()
            .flat_map(|p: &[u8; 4]| p.repeat(16 * 16))
            .collect();
        let png = rgba_png(&rgba, [16, 48]).unwrap();
        let mut reader = png::Decoder::new(Cursor::new(png)).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut pixels).unwrap();
        let at = |row: usize| &pixels[(row * 16 + 8) * 3..][..3];
        assert_eq!(
            (at(8), at(24), at(40)),
            (&[118; 3][..], &[255, 0, 0][..], &[0, 0, 255][..])
        );
        let jpeg = rgba_jpeg(&rgba, [16, 48], 80).unwrap();
        assert_eq!(&jpeg[..2], [0xff, 0xd8]);
    }
}
