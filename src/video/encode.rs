//! Frames to H.264 (ISO/IEC 14496-10), 8 bits 4:2:0.
//!
//! Input: planes; output: access units with length-prefixed NAL units as an MP4 file holds them (ISO/IEC 14496-15,
//! clause 4), parameter sets apart. The quantiser is held in a narrow band, so that quality does not breathe with the
//! content; the first frame of an encoder is a key frame, so that parts made by separate encoders join. Same frames, same
//! bytes. Colours are tagged with the primaries and
//! matrix of Rec. ITU-R BT.709, the transfer of IEC 61966-2-1 (sRGB), limited range (ISO/IEC 23091-2).

use openh264::{
    OpenH264API,
    encoder::{
        Complexity, EncoderConfig, FrameRate, IntraFramePeriod, Profile, QpRange, RateControlMode,
        SpsPpsStrategy, TransferCharacteristics, UsageType, VuiConfig,
    },
    formats::YUVSource,
};

use super::Yuv420;

/// Quantiser: low enough that slow changes of light are coded as they come and do not wait for the next key frame (own
/// choice, by looking).
const QUANTISER: QpRange = QpRange::new(15, 18);

/// Why a frame cannot be encoded.
#[derive(Debug, thiserror::Error)]
pub enum EncodeError {
    /// The encoder refused.
    #[error("the video encoder failed: {why}")]
    Encoder {
        /// What it says.
        why: String,
    },
    /// The encoder gave nothing for a frame.
    #[error("the video encoder left a frame out")]
    Missing,
}

impl From<openh264::Error> for EncodeError {
    fn from(error: openh264::Error) -> Self {
        Self::Encoder {
            why: error.to_string(),
        }
    }
}

/// One frame as the file holds it.
#[derive(Clone, Debug, PartialEq)]
pub struct Encoded {
    /// NAL units, each after its length in four bytes.
    pub bytes: Vec<u8>,
    /// Whether decoding can begin here.
    pub is_key: bool,
}

/// Encodes frames in order.
pub struct Encoder {
    encoder: openh264::encoder::Encoder,
    /// Sequence and picture parameter sets, once the first frame was encoded.
    parameter_sets: Option<[Vec<u8>; 2]>,
}

impl YUVSource for Yuv420 {
    fn dimensions(&self) -> (usize, usize) {
        (self.size[0], self.size[1])
    }

    fn strides(&self) -> (usize, usize, usize) {
        (self.size[0], self.size[0] / 2, self.size[0] / 2)
    }

    fn y(&self) -> &[u8] {
        &self.y
    }

    fn u(&self) -> &[u8] {
        &self.u
    }

    fn v(&self) -> &[u8] {
        &self.v
    }
}

impl Encoder {
    /// An encoder whose first frame is a key frame.
    ///
    /// # Errors
    /// The encoder cannot be made.
    pub fn new(frames_per_s: u32) -> Result<Self, EncodeError> {
        let config = EncoderConfig::new()
            .usage_type(UsageType::CameraVideoRealTime)
            .rate_control_mode(RateControlMode::Off)
            .qp(QUANTISER)
            .skip_frames(false)
            .max_frame_rate(FrameRate::from_hz(frames_per_s as f32))
            .sps_pps_strategy(SpsPpsStrategy::ConstantId)
            .profile(Profile::High)
            .complexity(Complexity::High)
            .scene_change_detect(false)
            .adaptive_quantization(false)
            .background_detection(false)
            .intra_frame_period(IntraFramePeriod::from_num_frames(0))
            .num_threads(1)
            .vui(VuiConfig::bt709().transfer_characteristics(TransferCharacteristics::Srgb));
        Ok(Self {
            encoder: openh264::encoder::Encoder::with_api_config(
                OpenH264API::from_source(),
                config,
            )?,
            parameter_sets: None,
        })
    }

    /// Encodes the next frame.
    ///
    /// # Errors
    /// The encoder fails or leaves the frame out.
    pub fn encode(&mut self, frame: &Yuv420) -> Result<Encoded, EncodeError> {
        let stream = self.encoder.encode(frame)?.to_vec();
        let mut bytes = Vec::with_capacity(stream.len() + 16);
        let mut is_key = false;
        let (mut sequence, mut picture) = (None, None);
        for unit in nal_units(&stream) {
            // The kind of the unit: ISO/IEC 14496-10, table 7-1.
            match unit.first().map_or(0, |b| b & 0x1f) {
                7 => sequence = Some(unit.to_vec()),
                8 => picture = Some(unit.to_vec()),
                kind => {
                    is_key |= kind == 5;
                    bytes.extend((unit.len() as u32).to_be_bytes());
                    bytes.extend(unit);
                }
            }
        }
        if let (Some(sequence), Some(picture)) = (sequence, picture) {
            self.parameter_sets.get_or_insert([sequence, picture]);
        }
        if bytes.is_empty() {
            return Err(EncodeError::Missing);
        }
        Ok(Encoded { bytes, is_key })
    }

    /// Sequence and picture parameter sets; `None` before the first frame.
    pub fn parameter_sets(&self) -> Option<&[Vec<u8>; 2]> {
        self.parameter_sets.as_ref()
    }
}

/// The units of a byte stream, between its start codes (ISO/IEC 14496-10, annex B).
fn nal_units(stream: &[u8]) -> Vec<&[u8]> {
    let mut starts: Vec<(usize, usize)> = Vec::new();
    let mut i = 0;
    while i + 3 <= stream.len() {
        if stream[i..i + 3] == [0, 0, 1] {
            let code = if i > 0 && stream[i - 1] == 0 {
                i - 1
            } else {
                i
            };
            starts.push((code, i + 3));
            i += 3;
        } else {
            i += 1;
        }
    }
    let ends = starts.iter().skip(1).map(|s| s.0).chain([stream.len()]);
    starts
        .iter()
        .zip(ends)
        .map(|((_, begin), end)| &stream[*begin..end])
        .filter(|unit| !unit.is_empty())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moving(number: usize) -> Yuv420 {
        let (width, height) = (64, 48);
        let rgba: Vec<u8> = (0..width * height)
            .flat_map(|i| {
                let (x, y) = (i % width, i / width);
                let v = ((x + number) * 4 % 256) as u8;
                [v, (y * 5) as u8, 90, 255]
            })
            .collect();
        Yuv420::from_rgba(&rgba, [width, height])
    }

    #[test]
    fn units_are_cut_at_their_start_codes() {
        let stream = [0, 0, 0, 1, 7, 1, 0, 0, 1, 8, 2, 2, 0, 0, 0, 1, 5];
        let units = nal_units(&stream);
        assert_eq!(units, [&[7_u8, 1][..], &[8, 2, 2], &[5]]);
        assert!(nal_units(&[]).is_empty());
    }

    #[test]
    fn the_first_frame_is_a_key_and_the_same_frames_give_the_same_bytes() {
        let run = || {
            let mut encoder = Encoder::new(30).unwrap();
            let frames: Vec<Encoded> = (0..6)
                .map(|k| encoder.encode(&moving(k)).unwrap())
                .collect();
            (frames, encoder.parameter_sets().unwrap().clone())
        };
        let (a, sets) = run();
        assert!(a[0].is_key && !a[1].is_key);
        assert!(sets[0].len() > 6 && sets[1].len() > 2);
        assert_eq!((a, sets), run());
    }

    /// Decoded again by the same library, a frame is the one that went in: within the quantiser's grain.
    #[test]
    fn a_decoded_frame_is_the_frame_that_went_in() {
        let mut encoder = Encoder::new(30).unwrap();
        let mut decoder = openh264::decoder::Decoder::new().unwrap();
        for k in 0..5 {
            let frame = moving(k);
            let coded = encoder.encode(&frame).unwrap();
            let mut stream = Vec::new();
            if coded.is_key {
                for set in encoder.parameter_sets().unwrap() {
                    stream.extend([0, 0, 0, 1]);
                    stream.extend(set);
                }
            }
            let mut rest = &coded.bytes[..];
            while let Some((length, after)) = rest.split_first_chunk::<4>() {
                let (unit, after) = after.split_at(u32::from_be_bytes(*length) as usize);
                stream.extend([0, 0, 0, 1]);
                stream.extend(unit);
                rest = after;
            }
            let seen = decoder.decode(&stream).unwrap().unwrap();
            let stride = seen.strides().0;
            let off: f64 = (0..48)
                .flat_map(|y| (0..64).map(move |x| (x, y)))
                .map(|(x, y)| {
                    let d = f64::from(seen.y()[y * stride + x]) - f64::from(frame.y[y * 64 + x]);
                    d * d
                })
                .sum();
            let off = (off / (64.0 * 48.0)).sqrt();
            assert!(off < 4.0, "frame {k} is off by {off} codes");
        }
    }
}
