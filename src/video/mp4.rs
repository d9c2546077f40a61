//! One video track as an MP4 file (ISO/IEC 14496-12 and -14), with the tables before the pictures so that it plays
//! while it loads.
//!
//! Times are exact: the timescale is a multiple of the frame rate, every frame lasts the same number of ticks, and the
//! last one as long as the others.

use std::{
    io::{self, Write},
    path::Path,
};

use mp4_atom::{
    Any, Avc1, Avcc, Codec, Colr, Dinf, Dref, DrefEntry, Encode, FourCC, Ftyp, Hdlr, Mdhd, Mdia,
    Minf, Moov, Mvhd, Pasp, ReadFrom, Stbl, Stco, Stsc, StscEntry, Stsd, Stss, Stsz, StszSamples,
    Stts, SttsEntry, Tkhd, Trak, Url, Visual, Vmhd,
};

/// Ticks of a frame.
const FRAME_TICKS: u32 = 512;
/// Largest file whose places fit the table [bytes].
const MOST_BYTES: u64 = u32::MAX as u64 - (1 << 20);

/// What the tables tell of a film.
#[derive(Clone, Debug)]
pub struct Track {
    /// Width and height [pixels], even.
    pub size: [u16; 2],
    /// Frames a second.
    pub frames_per_s: u32,
    /// Sequence and picture parameter sets.
    pub parameter_sets: [Vec<u8>; 2],
    /// Bytes of each frame.
    pub sizes: Vec<u32>,
    /// Frames (index from 0) that decoding can begin at.
    pub keys: Vec<u32>,
}

fn failed(error: impl std::fmt::Display) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, error.to_string())
}

/// Writes everything before the frames, whose bytes follow in order.
///
/// # Errors
/// What the writer says; a film of more than 4 GB.
pub fn write_mp4(track: &Track, out: &mut dyn Write) -> io::Result<()> {
    let data: u64 = track.sizes.iter().map(|s| u64::from(*s)).sum();
    if data > MOST_BYTES {
        return Err(failed(
            "a film of more than 4 GB does not fit one file; make it smaller or shorter",
        ));
    }
    let mut head = Vec::new();
    Ftyp {
        major_brand: FourCC::from(b"isom"),
        minor_version: 512,
        compatible_brands: [b"isom", b"iso2", b"avc1", b"mp41"]
            .map(FourCC::from)
            .to_vec(),
    }
    .encode(&mut head)
    .map_err(failed)?;
    // The place of the frames depends on the length of the table that tells it, not on its value.
    let mut table = Vec::new();
    moov(track, 0)?.encode(&mut table).map_err(failed)?;
    let first = head.len() as u64 + table.len() as u64 + 8;
    table.clear();
    moov(track, first as u32)?
        .encode(&mut table)
        .map_err(failed)?;
    out.write_all(&head)?;
    out.write_all(&table)?;
    out.write_all(&((data + 8) as u32).to_be_bytes())?;
    out.write_all(b"mdat")
}

/// Frames that a film's file tells of, after finding that all their bytes are there.
///
/// # Errors
/// It cannot be read, or is not whole.
pub fn frames_in(path: &Path) -> io::Result<u32> {
    let mut file = io::BufReader::new(std::fs::File::open(path)?);
    let mut sizes: Vec<u32> = Vec::new();
    // The tables come first; the frames are all that follows them.
    for _ in 0..2 {
        match Any::read_from(&mut file).map_err(failed)? {
            Any::Moov(moov) => {
                if let Some(track) = moov.trak.first()
                    && let StszSamples::Different { sizes: told } =
                        &track.mdia.minf.stbl.stsz.samples
                {
                    sizes.clone_from(told);
                }
            }
            Any::Ftyp(_) => {}
            _ => return Err(failed("the film has no table before its frames")),
        }
    }
    let told: u64 = sizes.iter().map(|s| u64::from(*s)).sum();
    let there = io::copy(&mut file, &mut io::sink())?;
    if there == told + 8 && !sizes.is_empty() {
        Ok(sizes.len() as u32)
    } else {
        Err(failed("the film's frames are not whole"))
    }
}

fn moov(track: &Track, first: u32) -> io::Result<Moov> {
    let count = track.sizes.len() as u32;
    let timescale = track.frames_per_s * FRAME_TICKS;
    let duration = u64::from(count) * u64::from(FRAME_TICKS);
    let [sequence, picture] = &track.parameter_sets;
    let (width, height) = (track.size[0], track.size[1]);
    let visual = Visual {
        data_reference_index: 1,
        width,
        height,
        // 72 dots an inch, as the standard fixes it.
        horizresolution: 72.into(),
        vertresolution: 72.into(),
        frame_count: 1,
        compressor: "".into(),
        depth: 24,
    };
    let avc1 = Avc1 {
        visual,
        avcc: Avcc::new(sequence, picture).map_err(failed)?,
        // Primaries and matrix of Rec. ITU-R BT.709, transfer of IEC 61966-2-1: ISO/IEC 23091-2, tables 2 to 4.
        colr: Some(Colr::new(1, 13, 1, false).map_err(failed)?),
        pasp: Some(Pasp {
            h_spacing: 1,
            v_spacing: 1,
        }),
        ..Avc1::default()
    };
    let stbl = Stbl {
        stsd: Stsd {
            codecs: vec![Codec::from(avc1)],
        },
        stts: Stts {
            entries: vec![SttsEntry {
                sample_count: count,
                sample_delta: FRAME_TICKS,
            }],
        },
        stss: Some(Stss {
            entries: track.keys.iter().map(|k| k + 1).collect(),
        }),
        stsc: Stsc {
            entries: vec![StscEntry {
                first_chunk: 1,
                samples_per_chunk: count,
                sample_description_index: 1,
            }],
        },
        stsz: Stsz {
            samples: StszSamples::Different {
                sizes: track.sizes.clone(),
            },
        },
        stco: Some(Stco {
            entries: vec![first],
        }),
        ..Stbl::default()
    };
    Ok(Moov {
        mvhd: Mvhd {
            timescale,
            duration,
            rate: 1.into(),
            volume: 1.into(),
            next_track_id: 2,
            ..Mvhd::default()
        },
        trak: vec![Trak {
            tkhd: Tkhd {
                track_id: 1,
                duration,
                enabled: true,
                in_movie: true,
                width: width.into(),
                height: height.into(),
                ..Tkhd::default()
            },
            mdia: Mdia {
                mdhd: Mdhd {
                    timescale,
                    duration,
                    language: "und".into(),
                    ..Mdhd::default()
                },
                hdlr: Hdlr {
                    handler: FourCC::from(b"vide"),
                    name: "VideoHandler".into(),
                },
                minf: Minf {
                    vmhd: Some(Vmhd::default()),
                    dinf: Dinf {
                        dref: Dref {
                            entries: vec![DrefEntry::Url(Url::default())],
                        },
                    },
                    stbl,
                    ..Minf::default()
                },
            },
            ..Trak::default()
        }],
        ..Moov::default()
    })
}
