//! `meter`: virtual meters in a room.

use std::path::PathBuf;

use clap::Args;
use glam::Vec3;
use miette::{IntoDiagnostic, WrapErr, miette};
use serde::Serialize;

use super::{bar::Bar, files};
use crate::{
    room::BuiltRoom,
    scene::Station,
    sky::{SKY_NAMES, SkyState},
    study::sky_model,
    sun::{Atmosphere, sun_position},
    transport::{LightState, Lustre, RoomLight, RoomLightSettings, Strengths, ViewSettings},
};

/// Arguments of `meter`.
#[derive(Debug, Args)]
pub struct MeterArgs {
    /// Room file.
    room: PathBuf,
    /// Civil time of the site, e.g. 2026-06-21T10:00.
    #[arg(long)]
    at: String,
    /// Sky: clear, overcast, intermediate or hazy.
    #[arg(long, default_value = "clear")]
    sky: String,
    /// Place and facing of an illuminance meter: plan x, y, height, then facing x, y, height.
    #[arg(long, value_name = "X,Y,H,NX,NY,NH", allow_hyphen_values = true)]
    point: Vec<String>,
    /// CSV file of points, columns x_m,y_m,h_m,nx,ny,nh with a header line.
    #[arg(long)]
    points: Option<PathBuf>,
    /// Eye of a luminance meter: plan x, y, height. Needs --tile.
    #[arg(
        long,
        value_name = "X,Y,H",
        requires = "tile",
        allow_hyphen_values = true
    )]
    eye: Option<String>,
    /// Number of the tile that the luminance meter is pointed at.
    #[arg(long, requires = "eye")]
    tile: Option<u32>,
    /// Rays per point.
    #[arg(long, default_value_t = 8192, value_parser = clap::value_parser!(u32).range(64..=1_048_576))]
    rays: u32,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Serialize)]
struct PointOut {
    point_m: [f32; 3],
    facing: [f32; 3],
    illuminance_lx: f32,
    sun_lx: f32,
    sky_lx: f32,
    fixtures_lx: f32,
    inter_reflected_lx: f32,
    standard_error_lx: f32,
}

#[derive(Debug, Serialize)]
struct TileOut {
    tile: u32,
    eye_m: [f32; 3],
    luminance_cd_m2: f32,
    standard_error_cd_m2: f32,
    visible: f32,
    parts: Vec<PartOut>,
}

#[derive(Debug, Serialize)]
struct PartOut {
    from: String,
    luminance_cd_m2: f32,
}

#[derive(Debug, Serialize)]
struct MeterOut {
    room: String,
    at: String,
    sky: String,
    points: Vec<PointOut>,
    tile: Option<TileOut>,
}

fn numbers<const N: usize>(text: &str, flag: &str) -> miette::Result<[f32; N]> {
    let parsed: Result<Vec<f32>, _> = text.split(',').map(|t| t.trim().parse::<f32>()).collect();
    parsed
        .ok()
        .filter(|v| v.iter().all(|x| x.is_finite()))
        .and_then(|v| v.try_into().ok())
        .ok_or_else(|| {
            miette!(
                help = format!("give {N} numbers with a point, separated by commas"),
                "{flag} {text:?} is not {N} numbers"
            )
        })
}

fn world(v: &[f32]) -> Vec3 {
    Vec3::new(v[0], v[2], -v[1])
}

pub(super) fn run(args: &MeterArgs) -> miette::Result<()> {
    let mut wanted: Vec<[f32; 6]> = Vec::new();
    for text in &args.point {
        wanted.push(numbers::<6>(text, "--point")?);
    }
    if let Some(path) = &args.points {
        wanted.extend(table(path)?);
    }
    for p in &wanted {
        if Vec3::new(p[3], p[4], p[5]).try_normalize().is_none() {
            return Err(miette!(
                help = "a meter on a table faces 0,0,1",
                "the facing of point {:?} is zero",
                &p[..3]
            ));
        }
    }
    let eye = args
        .eye
        .as_deref()
        .map(|t| numbers::<3>(t, "--eye"))
        .transpose()?;
    if wanted.is_empty() && eye.is_none() {
        return Err(miette!(
            help = "for example --point 2.0,3.0,0.8,0,0,1",
            "nothing to measure: give --point, --points or --eye with --tile"
        ));
    }
    let room = files::room(&args.room)?;
    if !SKY_NAMES.contains(&args.sky.as_str()) {
        return Err(miette!(
            help = format!("known: {}", SKY_NAMES.join(", ")),
            "no sky is named {:?}",
            args.sky
        ));
    }
    let at = crate::sun::parse_local(&args.at, &room.file.site.zone).into_diagnostic()?;
    let sun = sun_position(
        at.timestamp(),
        &room.site,
        Atmosphere::at_elevation(room.site.elevation_m),
    );
    let clock_min = at.hour() as u32 * 60 + at.minute() as u32;
    let sky = SkyState::new(&sky_model(&args.sky, &room), &sun, &room.site);
    let bar = Bar::new("light in the room");
    let light = RoomLight::prepare(
        room.scene.clone(),
        RoomLightSettings::default(),
        bar.progress(),
    )
    .into_diagnostic()?;
    let state = light
        .solve(
            Strengths::under(&sky, light.scene(), light.columns())
                .with_fixtures(room.fixture_strengths(clock_min)),
        )
        .into_diagnostic()?;
    let points: Vec<PointOut> = wanted
        .iter()
        .map(|p| measure_point(&light, &state, p, args.rays))
        .collect();
    let tile = match (eye, args.tile) {
        (Some(eye), Some(tile)) => Some(measure_tile(
            &room,
            &light,
            &state,
            eye,
            tile,
            bar.progress(),
        )?),
        _ => None,
    };
    drop(bar);
    let out = MeterOut {
        room: room.file.name.clone(),
        at: at.to_string(),
        sky: args.sky.clone(),
        points,
        tile,
    };
    if args.json {
        let text = serde_json::to_string_pretty(&out).into_diagnostic()?;
        return files::print(&(text + "\n"));
    }
    files::print(&people(&out, &crate::outcome::tolerance(&room)))
}

fn table(path: &std::path::Path) -> miette::Result<Vec<[f32; 6]>> {
    let bytes = crate::room::read_whole(path)
        .into_diagnostic()
        .wrap_err_with(|| format!("{} cannot be read", path.display()))?;
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_reader(bytes.as_slice());
    let mut points = Vec::new();
    for (i, record) in reader.records().enumerate() {
        let record = record
            .into_diagnostic()
            .wrap_err_with(|| format!("{}, line {}", path.display(), i + 2))?;
        let text = record.iter().take(6).collect::<Vec<_>>().join(",");
        points.push(numbers::<6>(
            &text,
            &format!("{}, line {}:", path.display(), i + 2),
        )?);
    }
    Ok(points)
}

fn measure_point(light: &RoomLight, state: &LightState, p: &[f32; 6], rays: u32) -> PointOut {
    let normal = world(&p[3..]).normalize();
    let reading = light.meter(state, world(p), normal, rays);
    PointOut {
        point_m: [p[0], p[1], p[2]],
        facing: [p[3], p[4], p[5]],
        illuminance_lx: reading.total_lx(),
        sun_lx: reading.sun_lx,
        sky_lx: reading.sky_lx,
        fixtures_lx: reading.fixtures_lx,
        inter_reflected_lx: reading.inter_reflected_lx,
        standard_error_lx: reading.standard_error_lx,
    }
}

fn measure_tile(
    room: &BuiltRoom,
    light: &RoomLight,
    state: &LightState,
    eye: [f32; 3],
    id: u32,
    progress: &crate::transport::Progress,
) -> miette::Result<TileOut> {
    let mut piece = room.piece.clone();
    let known = (
        piece.tiles.first().map_or(0, |t| t.id),
        piece.tiles.last().map_or(0, |t| t.id),
    );
    piece.tiles.retain(|t| t.id == id);
    piece.neighbours.clear();
    if piece.tiles.is_empty() {
        return Err(miette!(
            help = format!("tiles are numbered {} to {}", known.0, known.1),
            "no tile has the number {id}"
        ));
    }
    let position = world(&eye);
    let gaze_dir = (piece.tiles[0].frame.origin - position).normalize_or(Vec3::X);
    let station = Station {
        eye: position,
        gaze_dir,
        distance_m: 0.0,
    };
    let settings = ViewSettings {
        tile_count: 4096,
        pane_count: 2048,
        lobe_count: 2048,
        most_lobe_count: 8192,
        wanted_error: 0.005,
        ..ViewSettings::default()
    };
    let lustre = Lustre::view(
        light,
        piece,
        vec![station],
        settings,
        std::slice::from_ref(state),
        progress,
    )
    .into_diagnostic()?;
    let sun = lustre.light().sun_on_tiles_lx(light, state);
    let reading = lustre.read(state, &sun, 0);
    let parts = lustre
        .parts(light, state, sun[0], 0, 0)
        .into_iter()
        .map(|(part, luminance_cd_m2)| PartOut {
            from: crate::study::source_words(room, part, None),
            luminance_cd_m2,
        })
        .collect();
    Ok(TileOut {
        tile: id,
        eye_m: eye,
        luminance_cd_m2: reading.luminance_cd_m2[0],
        standard_error_cd_m2: reading.standard_error_cd_m2[0],
        visible: reading.visible[0],
        parts,
    })
}

fn people(out: &MeterOut, tolerance: &str) -> String {
    use std::fmt::Write as _;
    let mut text = format!("{}, {}, {} sky\n", out.room, out.at, out.sky);
    for p in &out.points {
        let _ = writeln!(
            text,
            "at {:.2}, {:.2}, height {:.2}: {:.1} lx +- {:.1}  (sun {:.1}, sky {:.1}, fixtures {:.1}, inter-reflected {:.1})",
            p.point_m[0],
            p.point_m[1],
            p.point_m[2],
            p.illuminance_lx,
            p.standard_error_lx,
            p.sun_lx,
            p.sky_lx,
            p.fixtures_lx,
            p.inter_reflected_lx
        );
    }
    if let Some(t) = &out.tile {
        if t.visible <= 0.0 {
            let _ = writeln!(
                text,
                "tile {} cannot be seen from there: something stands between, or the eye is behind it",
                t.tile
            );
            return text;
        }
        let _ = writeln!(
            text,
            "tile {}: {:.1} cd/m2 +- {:.1}, {:.0} % visible",
            t.tile,
            t.luminance_cd_m2,
            t.standard_error_cd_m2,
            t.visible * 100.0
        );
        for part in t
            .parts
            .iter()
            .filter(|p| p.luminance_cd_m2 > 0.005 * t.luminance_cd_m2)
        {
            let _ = writeln!(text, "  {:>10.1} from {}", part.luminance_cd_m2, part.from);
        }
    }
    let _ = writeln!(text, "{}.", tolerance);
    text
}
