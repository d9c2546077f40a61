//! A study's charts, the room's plan and the piece as data of the drawing module.

use glam::Vec2;

use super::clock_text;
use crate::{
    measure::colour::srgb_byte,
    report::{
        AllDay, FlagKind as MarkKind, LegendEntry, OpeningKind, PieceSheet, Plan, PlanFixture,
        PlanOpening, PlanPiece, PlanPlace, PlanSolid, PlanSun, PlanWalk, Quantity, ScaleKind,
        SheetMaterial, SheetTile, SolidSide, WalkByDay,
    },
    room::{self, BuiltRoom, Ceiling, Filling, Support},
    study::{Cause, DayStudy, FlagKind, Study},
    sun::DayLight,
};

/// Sentences in a chart's legend.
const MOST_SENTENCES: usize = 2;

/// One range of colours for all charts of a quantity, so that they can be compared.
pub fn common_range(study: &Study, quantity: &Quantity) -> Option<(f32, f32)> {
    let values = study
        .days
        .iter()
        .flat_map(|d| &d.walks)
        .flat_map(|w| &w.readings)
        .filter_map(|r| {
            let value = if *quantity == Quantity::Play {
                r.play
            } else {
                r.glow
            };
            (r.mean_luminance_cd_m2 > 0.05 && value.is_finite() && value > 0.0).then_some(value)
        });
    // The hundredth part at either end is left to "more" and "less".
    let mut sorted: Vec<f32> = values.collect();
    sorted.sort_by(f32::total_cmp);
    let low = *sorted.get(sorted.len() / 100)?;
    let high = *sorted.get(sorted.len() - 1 - sorted.len() / 100)?;
    // Play begins at 1; glow has 1 in its range: as bright as the wall.
    let low = if *quantity == Quantity::Play {
        1.0
    } else {
        low.min(0.5)
    };
    Some((low, neat_above(high.max(2.0).max(low * 4.0))))
}

/// The next of 1, 1.5, 2, 3, 5, 7 times a power of ten.
fn neat_above(value: f32) -> f32 {
    let power = 10_f32.powf(value.log10().floor());
    let steps = [1.0, 1.5, 2.0, 3.0, 5.0, 7.0, 10.0];
    steps
        .into_iter()
        .map(|s| s * power)
        .find(|s| *s >= value * 0.999)
        .unwrap_or(value)
}

/// The walk-by-day chart of one walk on one day; `glow` or `play` by `quantity`, colours over `range`.
pub fn chart(
    room: &BuiltRoom,
    study: &Study,
    day: &DayStudy,
    walk: usize,
    quantity: Quantity,
    range: Option<(f32, f32)>,
) -> WalkByDay {
    let stations = &study.walks[walk].stations;
    let readings = &day.walks[walk].readings;
    let value = readings
        .iter()
        .map(|r| {
            let seen = r.tiles.visible.iter().any(|v| *v > 0.0);
            let value = match quantity {
                Quantity::Play => r.play,
                Quantity::Shift => r.shift_per_m.unwrap_or(0.0),
                Quantity::Luminance => r.mean_luminance_cd_m2,
                _ => r.glow,
            };
            // What is dark has neither glow nor play.
            let lit = r.mean_luminance_cd_m2 > 0.05;
            (seen && lit && value.is_finite()).then_some(value)
        })
        .collect();
    let letters = letters(day, walk);
    let open = &day.walks[walk].open;
    let flags = readings
        .iter()
        .enumerate()
        .map(|(cell, r)| {
            let mut marks: Vec<char> = r
                .flags
                .iter()
                .filter(|_| open[cell / stations.len()])
                .filter_map(|f| letters.iter().find(|(c, _)| *c == f.cause).map(|(_, l)| *l))
                .collect();
            marks.sort_unstable();
            marks
        })
        .collect();
    let has_daylight = !room.scene.panes.is_empty();
    let (sunrise_min, sunset_min, all_day) = match &day.day_light {
        _ if !has_daylight => (None, None, AllDay::Unknown),
        DayLight::Normal { sunrise, sunset } => {
            let minutes = |z: &jiff::ZonedDateTime| {
                f32::from(z.hour()) * 60.0 + f32::from(z.minute()) + f32::from(z.second()) / 60.0
            };
            (
                sunrise.as_ref().map(minutes),
                sunset.as_ref().map(minutes),
                AllDay::Unknown,
            )
        }
        DayLight::PolarDay => (None, None, AllDay::SunUp),
        DayLight::PolarNight => (None, None, AllDay::SunDown),
    };
    WalkByDay {
        title: study.walks[walk].name.clone(),
        subtitle: if has_daylight {
            format!(
                "{} · {} · {} sky",
                room.file.name,
                date_words(day.date),
                day.sky
            )
        } else {
            format!(
                "{} · {} · no daylight reaches this room",
                room.file.name,
                date_words(day.date)
            )
        },
        quantity,
        distance_m: stations.iter().map(|s| s.distance_m).collect(),
        station_marks: room.walks[walk]
            .walk
            .marks
            .iter()
            .map(|m| (m.at_m, m.name.clone()))
            .collect(),
        clock_min: day.instants.iter().map(|i| i.clock_min as f32).collect(),
        solar_time_min: has_daylight.then(|| {
            day.instants
                .iter()
                .map(|i| (i.solar_time_h * 60.0) as f32)
                .collect()
        }),
        value,
        flags,
        legend: legend(day, walk, &letters),
        sunrise_min,
        sunset_min,
        all_day,
        footnote: footnote(room, study),
        scale: ScaleKind::Log,
        range,
        standard_error: Vec::new(),
    }
}

/// "20 March 2026".
pub(crate) fn date_words(date: jiff::civil::Date) -> String {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let month = MONTHS.get(date.month() as usize - 1).copied().unwrap_or("");
    format!("{} {month} {}", date.day(), date.year())
}

/// Letters by cause: those of the stretches.
fn letters(day: &DayStudy, walk: usize) -> Vec<(Cause, char)> {
    let mut letters: Vec<(Cause, char)> = Vec::new();
    for stretch in &day.walks[walk].stretches {
        if !letters.iter().any(|(c, _)| *c == stretch.cause) {
            letters.push((stretch.cause, stretch.letter));
        }
    }
    letters
}

fn legend(day: &DayStudy, walk: usize, letters: &[(Cause, char)]) -> Vec<LegendEntry> {
    letters
        .iter()
        .map(|(cause, letter)| {
            let of_cause: Vec<_> = day.walks[walk]
                .stretches
                .iter()
                .filter(|s| s.cause == *cause)
                .collect();
            let mut sentence = of_cause
                .iter()
                .take(MOST_SENTENCES)
                .map(|s| s.sentence.as_str())
                .collect::<Vec<_>>()
                .join("; ");
            if of_cause.len() > MOST_SENTENCES {
                sentence.push_str(&format!(
                    "; and {} smaller places",
                    of_cause.len() - MOST_SENTENCES
                ));
            }
            LegendEntry {
                letter: *letter,
                kind: match cause.kind() {
                    FlagKind::Dead => MarkKind::Dead,
                    FlagKind::Glaring => MarkKind::Glaring,
                },
                sentence: sentence.replace("cd/m2", "cd/m²"),
                cell_count: of_cause.iter().map(|s| s.cell_count).sum(),
            }
        })
        .collect()
}

fn footnote(room: &BuiltRoom, study: &Study) -> String {
    let mut note = format!(
        "Sampling noise of a tile's luminance {:.1} %. {}.",
        study.median_relative_error * 100.0,
        super::tolerance(room)
    );
    if room.file.note.to_lowercase().contains("invented") {
        note.push_str(" Invented demonstration.");
    }
    note
}

fn plan_points(points: &[(f32, f32)]) -> Vec<Vec2> {
    points.iter().map(|p| Vec2::new(p.0, p.1)).collect()
}

/// The plan of a room with the sun of the study's clear (or first) days.
pub fn plan(room: &BuiltRoom, study: Option<&Study>) -> Plan {
    let file = &room.file;
    let on_plan = |p: glam::Vec3| Vec2::new(p.x, -p.z);
    let mut openings = Vec::new();
    for opening in &file.openings {
        let Some(space) = file.spaces.iter().find(|s| s.name == opening.space) else {
            continue;
        };
        let wall = room::wall(space, opening.wall);
        let kind = match opening.filling {
            Filling::Window(_) | Filling::Inner(_) => OpeningKind::Window,
            Filling::Door { .. } | Filling::Open => OpeningKind::Door,
        };
        openings.push(PlanOpening {
            a: wall.at(opening.offset_m, 0.0),
            b: wall.at(opening.offset_m + opening.width_m, 0.0),
            kind,
            label: opening.name.clone(),
        });
    }
    let roof = |outline: Vec<Vec2>, label: &str| PlanOpening {
        a: outline[0],
        b: outline[0],
        kind: OpeningKind::Rooflight(outline),
        label: label.into(),
    };
    openings.extend(
        file.rooflights
            .iter()
            .map(|r| roof(plan_points(&r.outline_m), &r.name)),
    );
    for space in file
        .spaces
        .iter()
        .filter(|s| matches!(s.ceiling, Ceiling::Open { .. }))
    {
        openings.push(roof(plan_points(&space.outline_m), "open sky"));
    }
    Plan {
        title: file.name.clone(),
        subtitle: format!(
            "Plan · {:.2}° {}, {:.2}° {} · {}",
            file.site.latitude_deg.abs(),
            if file.site.latitude_deg >= 0.0 {
                "N"
            } else {
                "S"
            },
            file.site.longitude_deg.abs(),
            if file.site.longitude_deg >= 0.0 {
                "E"
            } else {
                "W"
            },
            file.site.zone
        ),
        outlines: file
            .spaces
            .iter()
            .map(|s| plan_points(&s.outline_m))
            .collect(),
        wall_thickness_m: 0.2,
        openings,
        solids: file
            .solids
            .iter()
            .map(|s| PlanSolid {
                outline: plan_points(&s.outline_m),
                side: if s.outside {
                    SolidSide::Outside
                } else {
                    SolidSide::Inside
                },
                label: s.name.clone(),
            })
            .collect(),
        fixtures: room
            .scene
            .fixtures
            .iter()
            .map(|f| PlanFixture {
                pos: on_plan(f.position),
                aim_target: on_plan(f.position + f.aim_dir() * throw_m(f, room)),
                label: f.label.clone(),
                beam_rad: f.distribution.beam_angle_rad(),
            })
            .collect(),
        walks: plan_walks(room),
        piece: piece_ends(room, &file.placement).map(|(a, b)| PlanPiece {
            a,
            b,
            facing: on_plan(room.piece.normal),
            label: "piece".into(),
        }),
        candidates: file
            .candidates
            .iter()
            .filter_map(|c| {
                piece_ends(room, c).map(|(a, b)| PlanPlace {
                    a,
                    b,
                    label: c.name.clone(),
                })
            })
            .collect(),
        bearing_rad: room.site.bearing_rad as f32,
        // No daylight, no sun.
        sun: study
            .filter(|_| !room.scene.panes.is_empty())
            .map_or_else(Vec::new, suns),
        footnote: if file.note.is_empty() {
            String::new()
        } else {
            file.note.clone()
        },
    }
}

/// Both ends of the piece on the plan where a placement has it, turned [m].
pub(crate) fn piece_ends(room: &BuiltRoom, placement: &room::Placement) -> Option<(Vec2, Vec2)> {
    let (sin, cos) = placement.turn_deg.to_radians().sin_cos();
    let half = 0.5 * (room.tiling.width_m * cos.abs() + room.tiling.height_m * sin.abs());
    match &placement.on {
        Support::Wall {
            space,
            wall,
            along_m,
        } => {
            let found = room.file.spaces.iter().find(|s| &s.name == space)?;
            let wall = room::wall(found, *wall);
            Some((wall.at(along_m - half, 0.0), wall.at(along_m + half, 0.0)))
        }
        Support::Stand {
            at_m, facing_deg, ..
        } => {
            let (sin, cos) = facing_deg.to_radians().sin_cos();
            let along = Vec2::new(cos, -sin) * half;
            let at = Vec2::new(at_m.0, at_m.1);
            Some((at - along, at + along))
        }
    }
}

/// The piece seen from the front, as made: before turn and mirroring.
pub fn piece_sheet(room: &BuiltRoom) -> PieceSheet {
    let tiling = &room.tiling;
    let tiles = tiling.tiles.iter().map(|tile| SheetTile {
        id: tile.id,
        outline_m: tile.outline_m.clone(),
        centroid_m: tile.centroid_m,
        grain_rad: tile.grain_rad,
        material: tile.material,
        tilt_rad: tile.tilt_rad,
        tilt_toward_rad: tile.tilt_toward_rad,
    });
    let materials = tiling.materials.iter().enumerate().map(|(index, name)| {
        let linear = room
            .materials
            .get(index)
            .map_or([1.0; 3], |m| m.display_rgb);
        SheetMaterial {
            name: name.clone(),
            colour_rgb: linear.map(pale),
        }
    });
    PieceSheet {
        title: format!("{}: the piece", room.file.name),
        subtitle: hung_words(&room.file.placement),
        width_m: tiling.width_m,
        height_m: tiling.height_m,
        tiles: tiles.collect(),
        materials: materials.collect(),
        from_back: false,
        footnote: format!(
            "Tiles {} mm thick, joints {} mm.",
            crate::report::number::value(tiling.thickness_m * 1000.0),
            crate::report::number::value(tiling.joint_m * 1000.0)
        ),
    }
}

/// A sheet cut into parts of about `most` tiles, each drawn as large as a page; the sheet alone where it has no more.
pub fn piece_sheet_parts(sheet: &PieceSheet, most: usize) -> Vec<PieceSheet> {
    let count = sheet.tiles.len().div_ceil(most.max(1));
    if count < 2 {
        return vec![sheet.clone()];
    }
    let all = |tiles: &[SheetTile]| {
        let corners = || tiles.iter().flat_map(|t| t.outline_m.iter().copied());
        (
            corners().fold(Vec2::MAX, Vec2::min),
            corners().fold(Vec2::MIN, Vec2::max),
        )
    };
    let (low, high) = all(&sheet.tiles);
    let size = (high - low).max(Vec2::splat(1e-3));
    // As nearly square as the piece allows.
    let columns = ((count as f32 * size.x / size.y).sqrt().round() as usize).clamp(1, count);
    let rows = count.div_ceil(columns);
    let mut parts = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let within = |t: &&SheetTile| {
                let at = (t.centroid_m - low) / size;
                let place = |share: f32, of: usize| ((share * of as f32) as usize).min(of - 1);
                place(at.x, columns) == column && place(1.0 - at.y, rows) == row
            };
            let mut tiles: Vec<SheetTile> = sheet.tiles.iter().filter(within).cloned().collect();
            if tiles.is_empty() {
                continue;
            }
            let (from, to) = all(&tiles);
            // A sheet's own corner, or its middle, is where it was on the whole one.
            let shift = from - low * (to - from) / size;
            for tile in &mut tiles {
                tile.centroid_m -= shift;
                for corner in &mut tile.outline_m {
                    *corner -= shift;
                }
            }
            parts.push(PieceSheet {
                title: format!(
                    "{}, part in row {} of {rows}, column {} of {columns}",
                    sheet.title,
                    row + 1,
                    column + 1
                ),
                subtitle: "Rows from the top, columns from the left, seen from the front".into(),
                width_m: to.x - from.x,
                height_m: to.y - from.y,
                tiles,
                ..sheet.clone()
            });
        }
    }
    parts
}

/// sRGB code of a linear channel, more than half of the way to white.
fn pale(linear: f32) -> u8 {
    let code = f32::from(srgb_byte(f64::from(linear.clamp(0.0, 1.0))));
    (code + 0.55 * (255.0 - code)).round() as u8
}

/// How the piece hangs in the room, where that differs from the drawing.
fn hung_words(placement: &room::Placement) -> String {
    let turn = placement.turn_deg;
    let mut words = Vec::new();
    if placement.mirrored {
        words.push("mirrored left to right".to_owned());
    }
    if turn != 0.0 {
        let way = if turn > 0.0 {
            "counter-clockwise"
        } else {
            "clockwise"
        };
        words.push(format!(
            "turned {}° {way}",
            crate::report::number::value(turn.abs())
        ));
    }
    if words.is_empty() {
        "Tiles, numbers and grain as it hangs".to_owned()
    } else {
        format!(
            "Tiles, numbers and grain as made; in the room it hangs {}, seen from the front",
            words.join(" and then ")
        )
    }
}

/// Walks by their path: several eye heights on one path are drawn once, with all names.
fn plan_walks(room: &BuiltRoom) -> Vec<PlanWalk> {
    let mut walks: Vec<PlanWalk> = Vec::new();
    for walk in &room.walks {
        let points = plan_points(&walk.walk.points_m);
        match walks.iter_mut().find(|w| w.points == points) {
            Some(same) => same.name = format!("{} · {}", same.name, walk.walk.name),
            None => walks.push(PlanWalk {
                name: walk.walk.name.clone(),
                points,
                stations: walk
                    .stations
                    .iter()
                    .map(|s| Vec2::new(s.eye.x, -s.eye.z))
                    .collect(),
            }),
        }
    }
    walks
}

/// Distance at which a fixture's aim meets the piece's plane, for the aim line.
fn throw_m(fixture: &crate::scene::Fixture, room: &BuiltRoom) -> f32 {
    let toward = fixture.aim_dir().dot(room.piece.normal);
    let t = (room.piece.centre - fixture.position).dot(room.piece.normal) / toward;
    if toward.abs() > 1e-3 && t > 0.0 && t < 30.0 {
        t
    } else {
        0.0
    }
}

fn suns(study: &Study) -> Vec<PlanSun> {
    let Some(sky) = study.days.first().map(|d| d.sky.as_str()) else {
        return Vec::new();
    };
    study
        .days
        .iter()
        .filter(|d| d.sky == sky)
        .flat_map(|day| {
            day.instants
                .iter()
                .filter(|i| i.clock_min % 120 == 0 && i.sun.apparent_elevation_rad > 0.0)
                .map(move |i| PlanSun {
                    azimuth_rad: i.sun.azimuth_rad as f32,
                    elevation_rad: i.sun.apparent_elevation_rad as f32,
                    label: clock_text(i.clock_min),
                    day: date_words(day.date),
                })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn placed(turn_deg: f32, mirrored: bool) -> room::Placement {
        room::Placement {
            name: String::new(),
            on: Support::Stand {
                at_m: (0.0, 0.0),
                facing_deg: 0.0,
                lean_deg: 0.0,
            },
            centre_m: 1.5,
            turn_deg,
            mirrored,
        }
    }

    #[test]
    fn turn_and_mirroring_are_told() {
        assert_eq!(
            hung_words(&placed(0.0, false)),
            "Tiles, numbers and grain as it hangs"
        );
        let both = hung_words(&placed(-15.0, true));
        assert!(
            both.contains("mirrored left to right and then turned 15° clockwise"),
            "{both}"
        );
    }

    #[test]
    fn tints_are_pale() {
        assert_eq!((pale(0.0), pale(1.2)), (140, 255));
    }

    /// Writes the sheets of the demo rooms into the temporary folder, to be looked at.
    #[test]
    #[ignore = "writes pictures to look at"]
    fn slow_draw_pieces_of_demo_rooms() {
        let rooms = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("rooms");
        let folder = std::env::temp_dir().join("lustrewalk-report");
        std::fs::create_dir_all(&folder).unwrap();
        for name in ["ferry-hall", "stair-court", "tunnel-walk"] {
            let text = std::fs::read_to_string(rooms.join(format!("{name}.ron"))).unwrap();
            let file = room::parse_room(&text, name).unwrap();
            let room = room::build(file, &mut room::NoFiles).unwrap();
            let svg = crate::report::piece_sheet_svg(&piece_sheet(&room));
            let png = crate::report::png_from_svg(&svg, 1.0).unwrap();
            std::fs::write(folder.join(format!("piece-{name}.png")), png).unwrap();
        }
    }
}
