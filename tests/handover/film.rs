//! Films: what players find in the file, what is left by a kill, and that frames are what they should be.

use std::{
    fs,
    path::Path,
    process::{Command, Stdio},
    time::Duration,
};

use serde_json::Value;

use super::{can_draw, good, manifest, program, small_room, tool};

const SIZE: [usize; 2] = [192, 108];

fn film(out: &Path, more: &[&str]) -> Value {
    let (room, out) = (small_room(), out.display().to_string());
    let mut args = vec!["film", room.to_str().unwrap(), "--out", &out, "--json"];
    args.extend(["--size", "192x108"]);
    args.extend(more);
    serde_json::from_str(&good(&args)).unwrap()
}

fn probe(path: &Path) -> Option<Value> {
    let path = path.display().to_string();
    let args = [
        "-v",
        "error",
        "-count_frames",
        "-show_streams",
        "-show_format",
        "-of",
        "json",
        &path,
    ];
    let output = tool("ffprobe", &args)?;
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    Some(serde_json::from_slice(&output.stdout).unwrap())
}

/// Luma of the frames of a film as FFmpeg decodes them.
fn decoded(path: &Path) -> Option<Vec<Vec<u8>>> {
    let path = path.display().to_string();
    let args = [
        "-v", "error", "-i", &path, "-f", "rawvideo", "-pix_fmt", "yuv420p", "-",
    ];
    let output = tool("ffmpeg", &args)?;
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    let luma = SIZE[0] * SIZE[1];
    let frames = output.stdout.chunks_exact(luma * 3 / 2);
    Some(frames.map(|f| f[..luma].to_vec()).collect())
}

/// Luma of a picture. Source: Rec. ITU-R BT.709-6, items 3.2 and 4.6, limited range.
fn luma_of(rgb: &[u8]) -> Vec<u8> {
    let luma = |p: &[u8]| {
        let y = 0.2126 * f64::from(p[0]) + 0.7152 * f64::from(p[1]) + 0.0722 * f64::from(p[2]);
        (16.0 + 219.0 / 255.0 * y).round() as u8
    };
    rgb.chunks_exact(3).map(luma).collect()
}

fn png(path: &Path) -> Vec<u8> {
    let decoder = png::Decoder::new(std::io::BufReader::new(fs::File::open(path).unwrap()));
    let mut reader = decoder.read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    reader.next_frame(&mut pixels).unwrap();
    pixels
}

/// Mean distance of two pictures [codes].
fn apart(a: &[u8], b: &[u8]) -> f64 {
    assert_eq!(a.len(), b.len());
    let codes = a.iter().zip(b).map(|(x, y)| u64::from(x.abs_diff(*y)));
    codes.sum::<u64>() as f64 / a.len() as f64
}

/// Tags as ISO/IEC 14496-12 and Rec. ITU-R BT.709 name them, read by a program that is not ours. Frame k of the film is
/// the still of frame k, within the codec's grain: 1.5 codes of luma on average.
#[test]
fn players_find_what_they_need_and_frames_are_the_stills() {
    if !can_draw() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("walk.mp4");
    let told = film(
        &path,
        &[
            "--at",
            "2026-06-21T12:00",
            "--seconds",
            "3",
            "--stills",
            "3",
            "--fps",
            "30",
        ],
    );
    assert_eq!(told["film"]["frames"], 90);
    if let Some(found) = probe(&path) {
        let stream = &found["streams"][0];
        for (key, expected) in [
            ("codec_name", "h264"),
            ("codec_tag_string", "avc1"),
            ("pix_fmt", "yuv420p"),
            ("color_range", "tv"),
            ("color_space", "bt709"),
            ("color_transfer", "iec61966-2-1"),
            ("color_primaries", "bt709"),
            ("field_order", "progressive"),
            ("r_frame_rate", "30/1"),
            ("avg_frame_rate", "30/1"),
            ("duration", "3.000000"),
            ("nb_frames", "90"),
            ("nb_read_frames", "90"),
        ] {
            assert_eq!(stream[key], expected, "{key}");
        }
        assert_eq!(
            (&stream["width"], &stream["height"]),
            (&192.into(), &108.into())
        );
        assert_eq!(found["format"]["duration"], "3.000000");
    }
    // The tables stand before the frames, so that it plays while it loads.
    let bytes = fs::read(&path).unwrap();
    let place = |kind: &[u8]| bytes.windows(4).position(|w| w == kind).unwrap();
    assert!(place(b"moov") < place(b"mdat"));
    let stills = told["stills"].as_array().unwrap();
    assert_eq!(stills.len(), 3);
    if let Some(frames) = decoded(&path) {
        assert_eq!(frames.len(), 90);
        for still in stills {
            let number = still["frame"].as_u64().unwrap() as usize;
            let picture = luma_of(&png(Path::new(still["png"].as_str().unwrap())));
            let off = apart(&frames[number], &picture);
            let other = apart(&frames[(number + 45) % 90], &picture);
            assert!(off < 1.5, "frame {number} is {off} codes from its still");
            assert!(
                other > 2.0 * off,
                "another frame is as near: {other} against {off}"
            );
        }
        // No frame is dropped or drawn twice while the eye moves, and none jumps.
        let steps: Vec<f64> = frames.windows(2).map(|w| apart(&w[0], &w[1])).collect();
        let moving = &steps[48..72];
        let middle = {
            let mut sorted = moving.to_vec();
            sorted.sort_by(f64::total_cmp);
            sorted[sorted.len() / 2]
        };
        for (k, step) in moving.iter().enumerate() {
            assert!(
                *step > 0.2 * middle && *step < 4.0 * middle,
                "frame {}: step {step}, usual {middle}",
                k + 49
            );
        }
    }
    let exr = fs::read(stills[0]["exr_cd_m2"].as_str().unwrap()).unwrap();
    // The number that every OpenEXR file begins with.
    assert_eq!(&exr[..4], &[0x76, 0x2f, 0x31, 0x01]);
}

/// A still camera and ten minutes of a day in two seconds: what moves is the light alone, and nothing flickers.
#[test]
fn nothing_flickers_before_a_still_camera() {
    if !can_draw() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("day.mp4");
    let more = [
        "--stand",
        "1",
        "--from",
        "12:00",
        "--to",
        "12:10",
        "--seconds",
        "2",
    ];
    film(
        &path,
        &[&more[..], &["--no-captions", "--no-title"]].concat(),
    );
    let Some(frames) = decoded(&path) else { return };
    assert_eq!(frames.len(), 60);
    for (k, pair) in frames.windows(2).enumerate() {
        let step = apart(&pair[0], &pair[1]);
        assert!(
            step < 0.6,
            "frame {}: {step} codes from the one before",
            k + 1
        );
        let worst = pair[0]
            .iter()
            .zip(&pair[1])
            .map(|(a, b)| a.abs_diff(*b))
            .max();
        assert!(
            worst < Some(70),
            "frame {}: a pixel jumps by {worst:?}",
            k + 1
        );
    }
}

#[test]
fn odd_sizes_and_one_frame_are_handled() {
    if !can_draw() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("one.mp4");
    let output = program()
        .args(["film", small_room().to_str().unwrap(), "--out"])
        .arg(&path)
        .args(["--size", "101x77", "--seconds", "0.02", "--json"])
        .output()
        .unwrap();
    let stderr = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.success(), "{stderr}");
    assert!(stderr.contains("101 x 77 becomes 102 x 78"), "{stderr}");
    if let Some(found) = probe(&path) {
        let stream = &found["streams"][0];
        assert_eq!(stream["nb_read_frames"], "1");
        assert_eq!(
            (&stream["width"], &stream["height"]),
            (&102.into(), &78.into())
        );
    }
    for (wish, says) in [
        (&["--seconds", "0"][..], "0 s cannot be made"),
        (&["--walk", "the moon"], "past the piece"),
        (&["--stand", "99"], "2.0 m long"),
        (&["--size", "9x9"], "out of range"),
    ] {
        let output = program()
            .args(["film", small_room().to_str().unwrap(), "--out"])
            .arg(folder.path().join("none.mp4"))
            .args(wish)
            .output()
            .unwrap();
        let stderr = String::from_utf8(output.stderr).unwrap();
        assert!(
            !output.status.success() && stderr.contains(says),
            "{wish:?}: {stderr}"
        );
    }
    assert!(!folder.path().join("none.mp4").exists());
}

/// Killed while it draws, a film has no name; with --resume it goes on and is the same film, byte for byte.
#[test]
fn a_killed_film_leaves_no_half_file_and_goes_on() {
    if !can_draw() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let whole = folder.path().join("whole.mp4");
    let wish = ["--at", "2026-06-21T12:00", "--seconds", "8"];
    film(&whole, &wish);
    let killed = folder.path().join("killed.mp4");
    let parts = folder.path().join("killed.mp4.parts");
    let start = |more: &[&str]| -> Command {
        let mut command = program();
        command
            .args(["film", small_room().to_str().unwrap(), "--out"])
            .arg(&killed)
            .args(["--size", "192x108", "--json"])
            .args(wish)
            .args(more)
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        command
    };
    let mut had_part = false;
    for k in 0..6 {
        let mut child = start(&["--resume"]).spawn().unwrap();
        // Later and later, and once as soon as a part is there.
        for _ in 0..(4 + 6 * k) * 10 {
            std::thread::sleep(Duration::from_millis(25));
            let part = fs::read_dir(&parts)
                .is_ok_and(|mut d| d.any(|f| f.unwrap().file_name() == "part-00000"));
            if part && !had_part {
                had_part = true;
                break;
            }
        }
        let ended = child.try_wait().unwrap().is_some();
        let _ = child.kill();
        let _ = child.wait();
        if ended {
            break;
        }
        assert!(!killed.exists(), "a name before the film is whole");
    }
    assert!(start(&["--resume"]).status().unwrap().success());
    assert!(had_part, "no part was ever there to go on from");
    assert!(!parts.exists());
    assert_eq!(fs::read(&killed).unwrap(), fs::read(&whole).unwrap());
}

/// Without an adapter: a plain message, no trace, no file; what needs none is still made.
#[test]
fn without_an_adapter_it_is_said_and_the_rest_is_made() {
    let folder = tempfile::tempdir().unwrap();
    let blind = |args: &[&str], out: &str| {
        program()
            .args(args)
            .arg("--out")
            .arg(folder.path().join(out))
            .env("WGPU_BACKEND", "vulkan")
            .env("VK_DRIVER_FILES", "/nowhere/none.json")
            .env("VK_ICD_FILENAMES", "/nowhere/none.json")
            .output()
            .unwrap()
    };
    let room = small_room();
    let output = blind(&["film", room.to_str().unwrap()], "film.mp4");
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{stderr}");
    assert!(stderr.contains("no graphics adapter"), "{stderr}");
    assert!(!stderr.contains("panicked"), "{stderr}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    let output = blind(&["dossier", room.to_str().unwrap()], "dossier.pdf");
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{stderr}");
    assert!(stderr.contains("no pictures"), "{stderr}");
    assert!(folder.path().join("dossier.pdf").exists());
}

/// Two states side by side: one file, halves of one height, and the left half is the first room.
#[test]
fn two_states_stand_side_by_side() {
    if !can_draw() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(small_room()).unwrap();
    let dark = text.replace("flux_lm: 700", "flux_lm: 1");
    assert_ne!(text, dark);
    let other = folder.path().join("dark.ron");
    fs::write(&other, dark).unwrap();
    let path = folder.path().join("beside.mp4");
    let other = other.display().to_string();
    let told = film(
        &path,
        &[
            "--against",
            &other,
            "--at",
            "2026-12-21T20:00",
            "--only-stills",
            "--stills",
            "1",
            "--no-plan",
            "--no-captions",
            "--no-title",
        ],
    );
    assert!(!path.exists());
    let picture = png(Path::new(told["stills"][0]["png"].as_str().unwrap()));
    let mean = |from: usize, to: usize| {
        let sum: u64 = (30..SIZE[1])
            .flat_map(|y| (from..to).map(move |x| (y * SIZE[0] + x) * 3 + 1))
            .map(|at| u64::from(picture[at]))
            .sum();
        sum as f64 / ((SIZE[1] - 30) * (to - from)) as f64
    };
    let (lit, unlit) = (mean(0, 94), mean(98, 192));
    assert!(lit > 2.0 * unlit, "left {lit}, right {unlit}");
    assert!(manifest("tests/data/small_room.ron").exists());
}
