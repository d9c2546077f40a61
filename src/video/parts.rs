//! A film on its way to a file: parts on disk beside it, so that it can go on after a stop, and the file only when whole.
//!
//! Frames are encoded in parts of [`PART_FRAMES`], each decodable by itself and written under its final name only when
//! complete. The folder of the parts is named after the film and holds a note of what it was made from: parts of
//! another film, another room or another version are not used, and two programs never work on one film. The film itself is
//! written among the parts, read again and counted, and then renamed. Limits: 4 GB.

use std::{
    fs, io,
    io::{BufReader, Read, Write},
    ops::Range,
    path::{Path, PathBuf},
};

use super::{
    EncodeError, Encoded, Encoder, Yuv420,
    mp4::{Track, frames_in, write_mp4},
};

/// Frames of a part.
pub const PART_FRAMES: usize = 60;
/// Files beside the parts: what they were made from, who works on them, and the film before it is checked.
const NOTE: &str = "made-from.txt";
const LOCK: &str = "lock";
const WHOLE: &str = "whole";

/// Why a film is not on disk.
#[derive(Debug, thiserror::Error)]
pub enum FilmFileError {
    /// Writing or reading failed.
    #[error("cannot write {}: {source}", path.display())]
    Io {
        /// Where.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// Encoding failed.
    #[error(transparent)]
    Encode(#[from] EncodeError),
    /// Frames are missing at the end.
    #[error("only {have} of {wanted} frames were made")]
    Incomplete {
        /// Frames made.
        have: usize,
        /// Frames of the film.
        wanted: usize,
    },
    /// Another program makes the same film.
    #[error("{} is being made by another program; wait for it, or choose another name", path.display())]
    Busy {
        /// The film.
        path: PathBuf,
    },
    /// The folder of the parts belongs to somebody else.
    #[error("{} is needed for the film's parts, but holds other things; choose another name", folder.display())]
    Taken {
        /// The folder.
        folder: PathBuf,
    },
    /// A film needs a frame.
    #[error("a film without frames cannot be made")]
    Empty,
}

/// A film that is being made.
pub struct FilmFile {
    path: PathBuf,
    folder: PathBuf,
    size: [usize; 2],
    frames_per_s: u32,
    frame_count: usize,
    /// Held as long as the parts are worked on.
    _lock: fs::File,
}

/// One part that is being encoded; nothing is on disk before it is whole.
pub struct FilmPart {
    path: PathBuf,
    encoder: Encoder,
    frames: Vec<Encoded>,
    wanted: usize,
}

/// A complete part as it lies on disk.
struct Part {
    parameter_sets: [Vec<u8>; 2],
    sizes: Vec<u32>,
    keys: Vec<u32>,
    /// Place of the first frame in the file.
    data_at: u64,
    path: PathBuf,
}

impl FilmFile {
    /// Begins or goes on with a film of `frame_count` frames of a `size` [pixels], made even. `made_from` says everything
    /// that decides the pictures; parts that were made from something else, or all where `resume` is false, are thrown
    /// away.
    ///
    /// # Errors
    /// The folder cannot be written; no frame.
    pub fn begin(
        path: &Path,
        size: [usize; 2],
        frames_per_s: u32,
        frame_count: usize,
        made_from: &str,
        resume: bool,
    ) -> Result<Self, FilmFileError> {
        if frame_count == 0 {
            return Err(FilmFileError::Empty);
        }
        let mut name = path.file_name().unwrap_or_default().to_os_string();
        name.push(".parts");
        let folder = path.with_file_name(name);
        let note = folder.join(NOTE);
        let is_ours = note.exists() || !folder.exists() || is_empty(&folder);
        if !is_ours {
            return Err(FilmFileError::Taken { folder });
        }
        fs::create_dir_all(&folder).map_err(|e| failed(&folder, e))?;
        let lock_path = folder.join(LOCK);
        let lock = fs::File::create(&lock_path).map_err(|e| failed(&lock_path, e))?;
        // Another program is at work here; where a file system knows no locks, none is held.
        if let Err(fs::TryLockError::WouldBlock) = lock.try_lock() {
            return Err(FilmFileError::Busy {
                path: path.to_owned(),
            });
        }
        let known = fs::read_to_string(&note).is_ok_and(|known| known == made_from);
        if !(known && resume) {
            throw_away(&folder).map_err(|e| failed(&folder, e))?;
        }
        write_whole(&note, |out| out.write_all(made_from.as_bytes()))?;
        Ok(Self {
            path: path.to_owned(),
            folder,
            size: size.map(|s| s.next_multiple_of(2)),
            frames_per_s,
            frame_count,
            _lock: lock,
        })
    }

    /// Parts (index) that are not there yet, rising.
    pub fn missing(&self) -> Vec<usize> {
        (0..self.frame_count.div_ceil(PART_FRAMES))
            .filter(|part| self.read_part(*part).is_err())
            .collect()
    }

    /// Numbers of the frames of a part (index).
    pub fn frames_of(&self, part: usize) -> Range<usize> {
        let first = part * PART_FRAMES;
        first..(first + PART_FRAMES).min(self.frame_count)
    }

    /// Begins a part (index), whose frames are then given in order.
    ///
    /// # Errors
    /// The encoder cannot be made.
    pub fn part(&self, part: usize) -> Result<FilmPart, FilmFileError> {
        Ok(FilmPart {
            path: self.part_path(part),
            encoder: Encoder::new(self.frames_per_s)?,
            frames: Vec::with_capacity(PART_FRAMES),
            wanted: self.frames_of(part).len(),
        })
    }

    /// Joins the parts to the film, checks it by reading it again, gives it its name and throws the parts away; the
    /// film's size [bytes].
    ///
    /// # Errors
    /// Frames are missing; reading or writing fails.
    pub fn finish(self) -> Result<u64, FilmFileError> {
        let missing = self.missing();
        if !missing.is_empty() {
            let gone: usize = missing.iter().map(|p| self.frames_of(*p).len()).sum();
            return Err(FilmFileError::Incomplete {
                have: self.frame_count - gone,
                wanted: self.frame_count,
            });
        }
        let parts = (0..self.frame_count.div_ceil(PART_FRAMES))
            .map(|p| self.read_part(p).map_err(|e| failed(&self.part_path(p), e)))
            .collect::<Result<Vec<Part>, _>>()?;
        let mut sizes = Vec::with_capacity(self.frame_count);
        let mut keys = Vec::new();
        for part in &parts {
            let first = sizes.len() as u32;
            keys.extend(part.keys.iter().map(|k| k + first));
            sizes.extend(&part.sizes);
        }
        let track = Track {
            size: self.size.map(|s| s as u16),
            frames_per_s: self.frames_per_s,
            // All parts are made with one setting, so that their sets are the same.
            parameter_sets: parts[0].parameter_sets.clone(),
            sizes,
            keys,
        };
        let counted: u64 = track.sizes.iter().map(|s| u64::from(*s)).sum();
        let mut whole = 0;
        let before = self.folder.join(WHOLE);
        write_whole(&before, |out| {
            let mut out = Counting { out, count: 0 };
            write_mp4(&track, &mut out)?;
            let head = out.count;
            for part in &parts {
                if part.parameter_sets != track.parameter_sets {
                    return Err(io::Error::other("parts were encoded differently"));
                }
                let mut file = fs::File::open(&part.path)?;
                io::Seek::seek(&mut file, io::SeekFrom::Start(part.data_at))?;
                io::copy(&mut BufReader::new(file), &mut out)?;
            }
            whole = out.count;
            if out.count - head == counted {
                Ok(())
            } else {
                Err(io::Error::other("the frames' bytes do not add up"))
            }
        })?;
        // It gets its name only when the file says itself that it is whole.
        let found = frames_in(&before).map_err(|e| failed(&before, e))? as usize;
        if found != self.frame_count {
            return Err(FilmFileError::Incomplete {
                have: found,
                wanted: self.frame_count,
            });
        }
        fs::rename(&before, &self.path).map_err(|e| failed(&self.path, e))?;
        // The film is there; a folder that cannot be removed is only in the way.
        let _ = throw_away(&self.folder);
        let _ = fs::remove_file(self.folder.join(LOCK));
        let _ = fs::remove_dir(&self.folder);
        Ok(whole)
    }

    fn part_path(&self, part: usize) -> PathBuf {
        self.folder.join(format!("part-{part:05}"))
    }

    fn read_part(&self, part: usize) -> io::Result<Part> {
        let path = self.part_path(part);
        let file = fs::File::open(&path)?;
        let length = file.metadata()?.len();
        let mut file = BufReader::new(file);
        let number = |file: &mut BufReader<fs::File>| {
            let mut bytes = [0; 4];
            file.read_exact(&mut bytes)
                .map(|()| u32::from_be_bytes(bytes))
        };
        let mut at = 0;
        let mut sets = [Vec::new(), Vec::new()];
        for set in &mut sets {
            let count = number(&mut file)?.min(4096);
            set.resize(count as usize, 0);
            file.read_exact(set)?;
            at += 4 + u64::from(count);
        }
        let count = number(&mut file)?;
        let wanted = PART_FRAMES.min(self.frame_count - part * PART_FRAMES);
        let mut sizes = Vec::new();
        let mut keys = Vec::new();
        for k in 0..count.min(PART_FRAMES as u32) {
            // The highest bit tells a key frame.
            let size = number(&mut file)?;
            if size >> 31 == 1 {
                keys.push(k);
            }
            sizes.push(size & 0x7fff_ffff);
        }
        let data_at = at + 4 + 4 * sizes.len() as u64;
        let data: u64 = sizes.iter().map(|s| u64::from(*s)).sum();
        if sizes.len() == wanted && data_at + data == length {
            Ok(Part {
                parameter_sets: sets,
                sizes,
                keys,
                data_at,
                path,
            })
        } else {
            Err(io::Error::other("the part is not whole"))
        }
    }
}

impl FilmPart {
    /// Takes the next frame.
    ///
    /// # Errors
    /// Encoding fails.
    pub fn push(&mut self, frame: &Yuv420) -> Result<(), FilmFileError> {
        self.frames.push(self.encoder.encode(frame)?);
        Ok(())
    }

    /// Writes the part when all its frames were given.
    ///
    /// # Errors
    /// Frames are missing; writing fails.
    pub fn finish(self) -> Result<(), FilmFileError> {
        if self.frames.len() != self.wanted {
            return Err(FilmFileError::Incomplete {
                have: self.frames.len(),
                wanted: self.wanted,
            });
        }
        let sets = self.encoder.parameter_sets().ok_or(EncodeError::Missing)?;
        write_whole(&self.path, |out| write_part(sets, &self.frames, out))
    }
}

fn write_part(sets: &[Vec<u8>; 2], frames: &[Encoded], out: &mut dyn Write) -> io::Result<()> {
    for set in sets {
        out.write_all(&(set.len() as u32).to_be_bytes())?;
        out.write_all(set)?;
    }
    out.write_all(&(frames.len() as u32).to_be_bytes())?;
    for frame in frames {
        let mark = u32::from(frame.is_key) << 31;
        out.write_all(&(frame.bytes.len() as u32 | mark).to_be_bytes())?;
    }
    frames.iter().try_for_each(|f| out.write_all(&f.bytes))
}

fn is_empty(folder: &Path) -> bool {
    fs::read_dir(folder).is_ok_and(|mut files| files.next().is_none())
}

/// Removes what is ours in a folder of parts, but for the lock.
fn throw_away(folder: &Path) -> io::Result<()> {
    for file in fs::read_dir(folder)? {
        let file = file?;
        let name = file.file_name();
        let name = name.to_string_lossy();
        if name == NOTE || name == WHOLE || name.starts_with("part-") {
            fs::remove_file(file.path())?;
        }
    }
    Ok(())
}

fn failed(path: &Path, source: io::Error) -> FilmFileError {
    FilmFileError::Io {
        path: path.to_owned(),
        source,
    }
}

/// Writes a file whole or not at all: beside its name, synced, renamed.
fn write_whole(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), FilmFileError> {
    crate::room::save_atomically_with(path, write).map_err(|e| failed(path, io::Error::other(e)))
}

/// Counts what is written.
struct Counting<'a> {
    out: &'a mut dyn Write,
    count: u64,
}

impl Write for Counting<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.out.write(bytes)?;
        self.count += written as u64;
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame(k: usize) -> Yuv420 {
        let rgba: Vec<u8> = (0..32 * 16)
            .flat_map(|i| [(i * 3 + k * 7) as u8, 80, (k * 2) as u8, 255])
            .collect();
        Yuv420::from_rgba(&rgba, [32, 16])
    }

    /// Makes some parts of a film; which were missing before.
    fn make(path: &Path, parts: &[usize], count: usize) -> (FilmFile, Vec<usize>) {
        let film = FilmFile::begin(path, [32, 16], 30, count, "a", true).unwrap();
        let missing = film.missing();
        for part in parts {
            let mut open = film.part(*part).unwrap();
            for k in film.frames_of(*part) {
                open.push(&frame(k)).unwrap();
            }
            open.finish().unwrap();
        }
        (film, missing)
    }

    #[test]
    fn a_film_that_was_stopped_goes_on_and_comes_out_the_same() {
        let folder = tempfile::tempdir().unwrap();
        let whole = folder.path().join("whole.mp4");
        make(&whole, &[0, 1, 2], 130).0.finish().unwrap();
        let stopped = folder.path().join("stopped.mp4");
        // The last part may be there before the middle one.
        let (film, _) = make(&stopped, &[0, 2], 130);
        assert!(matches!(
            film.finish(),
            Err(FilmFileError::Incomplete { have: 70, .. })
        ));
        assert!(!stopped.exists(), "nothing under the final name yet");
        let (film, missing) = make(&stopped, &[1], 130);
        assert_eq!(missing, [1]);
        film.finish().unwrap();
        assert_eq!(fs::read(&whole).unwrap(), fs::read(&stopped).unwrap());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
    }

    #[test]
    fn parts_of_something_else_or_cut_short_are_not_used() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("film.mp4");
        make(&path, &[0], 130);
        let part = folder.path().join("film.mp4.parts/part-00000");
        let bytes = fs::read(&part).unwrap();
        fs::write(&part, &bytes[..bytes.len() - 1]).unwrap();
        assert_eq!(make(&path, &[0], 130).1, [0, 1, 2]);
        assert_eq!(make(&path, &[], 130).1, [1, 2]);
        let other = FilmFile::begin(&path, [32, 16], 30, 130, "b", true).unwrap();
        assert_eq!(other.missing(), [0, 1, 2]);
        assert!(matches!(
            FilmFile::begin(&path, [32, 16], 30, 130, "b", true),
            Err(FilmFileError::Busy { .. })
        ));
        let own = folder.path().join("own.mp4");
        fs::create_dir(folder.path().join("own.mp4.parts")).unwrap();
        fs::write(folder.path().join("own.mp4.parts/letter.txt"), "dear").unwrap();
        assert!(matches!(
            FilmFile::begin(&own, [32, 16], 30, 130, "b", false),
            Err(FilmFileError::Taken { .. })
        ));
        assert!(folder.path().join("own.mp4.parts/letter.txt").exists());
        let mut short = other.part(0).unwrap();
        short.push(&frame(0)).unwrap();
        assert!(short.finish().is_err());
        assert!(!path.exists());
        assert!(matches!(
            FilmFile::begin(&path, [32, 16], 30, 0, "b", true),
            Err(FilmFileError::Empty)
        ));
    }

    /// The file read by the library that wrote its tables: every frame lasts as long, also the last.
    #[test]
    fn times_in_the_file_are_exact() {
        use mp4_atom::{Any, ReadFrom};
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("film.mp4");
        make(&path, &[0, 1], 90).0.finish().unwrap();
        let mut file = fs::File::open(&path).unwrap();
        let mut kinds = Vec::new();
        while let Ok(Some(atom)) = Option::<Any>::read_from(&mut file) {
            if let Any::Moov(moov) = &atom {
                let mdhd = &moov.trak[0].mdia.mdhd;
                assert_eq!(mdhd.duration, u64::from(mdhd.timescale) * 3);
                let stbl = &moov.trak[0].mdia.minf.stbl;
                assert_eq!(stbl.stts.entries[0].sample_count, 90);
                assert_eq!(stbl.stss.as_ref().unwrap().entries, [1, 61]);
            }
            kinds.push(format!("{atom:?}").split(' ').next().unwrap().to_owned());
        }
        assert_eq!(kinds, ["Ftyp", "Moov", "Mdat"]);
    }
}
