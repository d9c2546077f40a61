//! `check`: is a file sound, and what is in it?

use std::path::{Path, PathBuf};

use clap::Args;
use miette::{IntoDiagnostic, miette};
use serde_json::{Value, json};

use super::files;
use crate::{
    luminaire::{Photometry, read_photometry},
    piece::{PieceError, Tiling, drawing, parse_piece},
    room::{BuiltRoom, FileLoader},
    weather::{WeatherYear, read_weather},
};

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// Room, piece, photometric, weather or drawing file.
    file: PathBuf,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

/// What a file can be.
enum Kind {
    Room,
    Piece,
    Photometric,
    Weather,
    Drawing,
}

pub(super) fn run(args: &CheckArgs) -> miette::Result<()> {
    let path = &args.file;
    let bytes = crate::room::read_whole(path)
        .map_err(|e| miette!("{} cannot be read: {e}", path.display()))?;
    let found = match kind(path, &bytes)? {
        Kind::Room => room(&files::room(path)?),
        Kind::Piece => piece(path, &bytes)?,
        Kind::Photometric => photometric(path, &bytes)?,
        Kind::Weather => weather(path, &bytes)?,
        Kind::Drawing => drawn(path, &bytes)?,
    };
    if args.json {
        let text = serde_json::to_string_pretty(&found).into_diagnostic()?;
        return files::print(&(text + "\n"));
    }
    let mut text = format!("{} is sound\n", path.display());
    list(&found, 1, &mut text);
    files::print(&text)
}

/// By the name's ending; for a name without one that is known, by the content.
fn kind(path: &Path, bytes: &[u8]) -> miette::Result<Kind> {
    let ending = path
        .extension()
        .map(|e| e.to_string_lossy().to_lowercase())
        .unwrap_or_default();
    let start = String::from_utf8_lossy(&bytes[..bytes.len().min(4096)]).into_owned();
    match ending.as_str() {
        "ies" | "ldt" => Ok(Kind::Photometric),
        "epw" | "tm2" | "csv" => Ok(Kind::Weather),
        "svg" => Ok(Kind::Drawing),
        "ron" => {
            let located = crate::room::locate(&String::from_utf8_lossy(bytes));
            Ok(if located.has("layout") && !located.has("spaces") {
                Kind::Piece
            } else {
                Kind::Room
            })
        }
        _ if start.contains("<svg") => Ok(Kind::Drawing),
        _ if start.contains("TILT") || start.starts_with("IES") => Ok(Kind::Photometric),
        _ if start.starts_with("LOCATION") => Ok(Kind::Weather),
        _ => Err(miette!(
            help = "rooms and pieces end in .ron, photometric files in .ies or .ldt, weather in .epw, .csv or .tm2, drawings in .svg",
            "{}: the kind of file is not recognised",
            path.display()
        )),
    }
}

fn name_of(path: &Path) -> String {
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned()
}

fn room(room: &BuiltRoom) -> Value {
    let file = &room.file;
    json!({
        "room": file.name,
        "note": file.note,
        "site": format!(
            "latitude {}, longitude {}, {}, bearing of plan +y {}",
            file.site.latitude_deg, file.site.longitude_deg, file.site.zone, file.site.bearing_deg
        ),
        "spaces": file.spaces.iter().map(|s| s.name.clone()).collect::<Vec<_>>(),
        "walls": file.spaces.iter().flat_map(|s| (0..s.outline_m.len()).map(move |w| (s, w)))
            .map(|(space, w)| wall_words(room, space, w)).collect::<Vec<_>>(),
        "surfaces": room.scene.surfaces.len(),
        "windows_and_rooflights": room.scene.panes.iter()
            .map(|p| format!("{}, {:.2} m2", p.label, p.polygon.area_m2())).collect::<Vec<_>>(),
        "fixtures": room.scene.fixtures.iter()
            .map(|f| format!("{}: {:.0} lm, peak {:.0} cd, beam {:.0} deg", f.label, f.distribution.flux_lm(),
                f.distribution.peak_cd().0, f.distribution.beam_angle_rad().to_degrees())).collect::<Vec<_>>(),
        "piece": tiling(&room.tiling),
        "walks": room.walks.iter()
            .map(|w| format!("{}: {} stations, eye at {} m", w.walk.name, w.stations.len(), w.walk.eye_m)).collect::<Vec<_>>(),
        "notes": room.notes,
    })
}

/// "hall 0: 18.00 m, seen by who looks south".
fn wall_words(room: &BuiltRoom, space: &crate::room::Space, index: usize) -> String {
    let wall = crate::room::wall(space, index);
    format!(
        "{} {index}: {:.2} m, on the {} side",
        space.name,
        wall.length_m,
        crate::study::compass(wall.outward_azimuth_rad(room.site.bearing_rad))
    )
}

fn tiling(tiling: &Tiling) -> Value {
    json!({
        "size_m": [four_decimals(tiling.width_m), four_decimals(tiling.height_m)],
        "tiles": tiling.tiles.len(),
        "area_m2": (tiling.area_m2() * 1000.0).round() / 1000.0,
        "materials": tiling.materials.iter().enumerate().map(|(i, name)| {
            format!("{name}: {} tiles", tiling.tiles.iter().filter(|t| t.material == i).count())
        }).collect::<Vec<_>>(),
        "edges_between_tiles": tiling.neighbours().len(),
        "notes": tiling.notes.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}

fn piece_problem(path: &Path, error: &PieceError) -> miette::Report {
    let at = error.position().map_or(String::new(), |(line, column)| {
        format!(", line {line}, column {column}")
    });
    let mut all = error.to_string();
    for problem in error.problems() {
        all.push_str(&format!("\n  {problem}\n    {}", problem.help()));
    }
    miette!(help = error.help(), "{}{at}: {all}", path.display())
}

fn piece(path: &Path, bytes: &[u8]) -> miette::Result<Value> {
    let text = std::str::from_utf8(bytes).map_err(|e| {
        miette!(
            help = "save it as UTF-8 text",
            "{} is not UTF-8 text: byte {}",
            path.display(),
            e.valid_up_to()
        )
    })?;
    let spec = parse_piece(text, &name_of(path)).map_err(|e| piece_problem(path, &e))?;
    let mut beside = crate::room::Beside::new(path);
    let cut = spec
        .tiling(&mut |name: &str| beside.load(name))
        .map_err(|e| piece_problem(path, &e))?;
    Ok(json!({ "piece": spec.name, "note": spec.note, "cut": tiling(&cut) }))
}

fn photometric(path: &Path, bytes: &[u8]) -> miette::Result<Value> {
    let p: Photometry =
        read_photometry(bytes, &name_of(path)).map_err(|e| miette!(help = e.help(), "{e}"))?;
    Ok(json!({
        "fixture": p.luminaire_name,
        "format": p.format.to_string(),
        "photometric_type": p.photometric_type.to_string(),
        "symmetry": p.symmetry.to_string(),
        "vertical_angles": p.vertical.count,
        "vertical_deg": [p.vertical.first_deg, p.vertical.last_deg],
        "horizontal_angles": p.horizontal.count,
        "horizontal_deg": [p.horizontal.first_deg, p.horizontal.last_deg],
        "stored_planes": p.stored_plane_count,
        "peak_cd": round(p.peak.intensity_cd),
        "peak_vertical_deg": p.peak.vertical_deg,
        "peak_horizontal_deg": p.peak.horizontal_deg,
        "flux_lm": if p.is_radiometric { Value::Null } else { json!((p.flux_lm * 10.0).round() / 10.0) },
        "photometry": if p.is_absolute() { "absolute" } else { "relative to the lamp's lumens" },
        "beam_deg": round(p.distribution.beam_angle_rad().to_degrees()),
        "field_deg": round(p.distribution.field_angle_rad().to_degrees()),
        "luminous_opening": p.aperture.as_ref().map(|a| format!("{a:?}")),
        "watts": p.watts,
        "cct_k": p.cct_k,
        "warnings": p.warnings.iter().map(ToString::to_string).collect::<Vec<_>>(),
    }))
}

/// Four decimals.
fn four_decimals(value: f32) -> f64 {
    (f64::from(value) * 1e4).round() / 1e4
}

fn round(value: f32) -> f64 {
    (f64::from(value) * 10.0).round() / 10.0
}

fn weather(path: &Path, bytes: &[u8]) -> miette::Result<Value> {
    let year: WeatherYear =
        read_weather(bytes, &name_of(path)).map_err(|e| miette!(help = e.remedy(), "{e}"))?;
    let sum = |pick: fn(&crate::weather::WeatherHour) -> Option<f32>| -> f64 {
        (year
            .hours
            .iter()
            .filter_map(|h| pick(h).map(f64::from))
            .sum::<f64>()
            / 100.0)
            .round()
            / 10.0
    };
    Ok(json!({
        "station": year.station.name,
        "format": year.format.label(),
        "latitude_deg": four_decimals(year.station.latitude_rad.to_degrees() as f32),
        "longitude_deg": four_decimals(year.station.longitude_rad.to_degrees() as f32),
        "utc_offset_h": year.station.utc_offset_h,
        "elevation_m": year.station.elevation_m,
        "hours": year.hours.len(),
        "direct_normal_kwh_m2": sum(|h| h.direct_normal_w_m2),
        "diffuse_horizontal_kwh_m2": sum(|h| h.diffuse_horizontal_w_m2),
        "findings": year.findings.iter().map(ToString::to_string).collect::<Vec<_>>(),
    }))
}

fn drawn(path: &Path, bytes: &[u8]) -> miette::Result<Value> {
    let options = drawing::DrawingOptions {
        width_m: None,
        close_lines: false,
    };
    let found = drawing::read_drawing(bytes, &name_of(path), &options).map_err(|e| {
        miette!(
            help = "save the drawing as plain SVG with closed outlines and a physical size",
            "{}: {e}",
            path.display()
        )
    })?;
    let area: f64 = found.outlines.iter().map(|o| o.area_m2()).sum();
    Ok(json!({
        "drawing": name_of(path),
        "size_m": [four_decimals(found.width_m), four_decimals(found.height_m)],
        "outlines": found.outlines.len(),
        "area_m2": (area * 1e4).round() / 1e4,
        "warnings": found.warnings.iter().map(ToString::to_string).collect::<Vec<_>>(),
    }))
}

/// A JSON value as an indented list for people; keys lose their underscores.
fn list(value: &Value, depth: usize, text: &mut String) {
    let Value::Object(map) = value else { return };
    for (key, value) in map {
        let key = key.replace('_', " ");
        let indent = "  ".repeat(depth);
        match value {
            Value::Null => text.push_str(&format!("{indent}{key}  not stated\n")),
            Value::String(s) if s.is_empty() => {}
            Value::String(s) => text.push_str(&format!("{indent}{key}  {s}\n")),
            Value::Array(items) if items.is_empty() => {}
            Value::Array(items) if items.iter().all(Value::is_number) => {
                let numbers: Vec<String> = items.iter().map(ToString::to_string).collect();
                text.push_str(&format!(
                    "{indent}{key}  {}\n",
                    numbers.join(if key.starts_with("size") {
                        " x "
                    } else {
                        " to "
                    })
                ));
            }
            Value::Array(items) => {
                text.push_str(&format!("{indent}{key}\n"));
                for item in items {
                    text.push_str(&format!(
                        "{indent}  {}\n",
                        item.as_str().unwrap_or_default()
                    ));
                }
            }
            Value::Object(_) => {
                text.push_str(&format!("{indent}{key}\n"));
                list(value, depth + 1, text);
            }
            other => text.push_str(&format!("{indent}{key}  {other}\n")),
        }
    }
}
