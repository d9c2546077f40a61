//! Invented data for the tests: a day in a hall, a polar night, a very short walk, many words, plans.

use glam::{Vec2, vec2};

use super::*;

/// Mild bump of width `w` around `c`.
fn bump(x: f32, c: f32, w: f32) -> f32 {
    (-((x - c) / w).powi(2)).exp()
}

/// A winter day in a hall: 40 stations, 25 times, dead and glaring regions, a column hides the piece.
pub(super) fn hall_day() -> WalkByDay {
    let distance_m: Vec<f32> = (0..40).map(|i| i as f32 * 0.5).collect();
    let clock_min: Vec<f32> = (0..25).map(|i| 7.0 * 60.0 + i as f32 * 30.0).collect();
    let (mut value, mut standard_error, mut flags) = (Vec::new(), Vec::new(), Vec::new());
    for t in &clock_min {
        for d in &distance_m {
            let h = t / 60.0;
            let sun = bump(h, 10.3 + 0.18 * d, 1.3) * bump(*d, 9.0, 7.0) * 9.0;
            let day = bump(h, 12.5, 4.0);
            let lamp = 0.9 * bump(*d, 14.0, 4.5) + 0.35;
            let v = 0.12 + 0.7 * day * (0.4 + bump(*d, 6.0, 5.0)) + lamp * (1.2 - day) + sun;
            let hidden = (*d >= 16.5 && *d <= 17.5).then_some('C');
            let mut letters: Vec<char> = Vec::new();
            if v > 5.6 {
                letters.push('B');
            }
            if h > 15.0 && h < 19.0 && bump(h, 17.0, 1.2) * bump(*d, 13.5, 2.0) > 0.4 {
                letters.push('D');
            }
            if v < 0.62 && hidden.is_none() {
                letters.push('A');
            }
            letters.extend(hidden);
            value.push(hidden.is_none().then_some(v));
            standard_error.push(
                hidden
                    .is_none()
                    .then_some(v * (0.012 + 0.11 * bump(v, 6.0, 1.0))),
            );
            flags.push(letters);
        }
    }
    let count = |letter: char| flags.iter().filter(|f| f.contains(&letter)).count();
    let entry = |letter, kind, sentence: &str| LegendEntry {
        letter,
        kind,
        sentence: sentence.to_owned(),
        cell_count: count(letter),
    };
    let legend = vec![
        entry(
            'A',
            FlagKind::Dead,
            "Before daylight and after dusk the two spots do not reach this end of the walk: light and dark tiles differ by less than an eye can tell.",
        ),
        entry(
            'B',
            FlagKind::Glaring,
            "The low sun through the south window is mirrored by the tiles of rows 3 to 5 toward people coming from the lift.",
        ),
        entry(
            'C',
            FlagKind::Hidden,
            "The second column stands between the eye and the piece.",
        ),
        entry(
            'D',
            FlagKind::Glaring,
            "Spot F2 shines into the eyes: it is aimed 22° above the line of sight.",
        ),
    ];
    WalkByDay {
        title: "From the lift to the reading desk".to_owned(),
        subtitle: "Harbour library, entrance hall · 21 January 2026 · clear sky · eye height 1.60 m".to_owned(),
        quantity: Quantity::Glow,
        scale: ScaleKind::Log,
        range: None,
        station_marks: vec![
            (0.0, "lift".to_owned()),
            (6.0, "bench".to_owned()),
            (7.5, "first column".to_owned()),
            (14.0, "in front of the piece".to_owned()),
            (19.5, "reading desk".to_owned()),
        ],
        solar_time_min: Some(clock_min.iter().map(|t| t - 34.0).collect()),
        distance_m,
        clock_min,
        value,
        standard_error,
        flags,
        legend,
        sunrise_min: Some(8.0 * 60.0 + 21.0),
        sunset_min: Some(16.0 * 60.0 + 12.0),
        all_day: AllDay::Unknown,
        footnote: "Dead below a glow of 0.62 (example value). Glaring above a glow of 5.6 or where a fixture's glare passes the limit (example values). Demo room, invented.".to_owned(),
    }
}

/// A polar night: nothing marked, lamps only, no standard errors.
pub(super) fn polar_night() -> WalkByDay {
    let distance_m: Vec<f32> = (0..25).map(|i| i as f32 * 0.5).collect();
    let clock_min: Vec<f32> = (0..13).map(|i| 8.0 * 60.0 + i as f32 * 60.0).collect();
    let value = clock_min
        .iter()
        .flat_map(|t| {
            distance_m
                .iter()
                .map(move |d| Some(3.0 + 6.0 * bump(*d, 5.0, 3.0) + 0.2 * (t / 60.0 - 14.0).abs()))
        })
        .collect();
    WalkByDay {
        title: "Along the window".to_owned(),
        subtitle: "Post hall in Øvre Nes · 21 December 2026 · overcast".to_owned(),
        quantity: Quantity::Play,
        scale: ScaleKind::Linear,
        range: None,
        distance_m,
        station_marks: vec![(0.5, "door".to_owned()), (11.0, "counter".to_owned())],
        clock_min,
        solar_time_min: None,
        value,
        standard_error: Vec::new(),
        flags: Vec::new(),
        legend: Vec::new(),
        sunrise_min: None,
        sunset_min: None,
        all_day: AllDay::SunDown,
        footnote: "Demo room, invented.".to_owned(),
    }
}

/// Two stations, three times, one of them without a reading.
pub(super) fn short_walk() -> WalkByDay {
    WalkByDay {
        title: "Past the reception".to_owned(),
        subtitle: "Dental practice, waiting room · 3 March 2026 · intermediate sky".to_owned(),
        quantity: Quantity::Luminance,
        scale: ScaleKind::Log,
        range: Some((5.0, 200.0)),
        distance_m: vec![0.0, 0.5],
        station_marks: vec![(0.0, "door".to_owned()), (0.5, "reception desk".to_owned())],
        clock_min: vec![540.0, 720.0, 900.0],
        solar_time_min: Some(vec![520.0, 700.0, 880.0]),
        value: vec![
            Some(12.0),
            Some(18.4),
            Some(96.0),
            Some(310.0),
            None,
            Some(7.2),
        ],
        standard_error: vec![Some(0.2), Some(0.3), Some(14.0), Some(3.0), None, Some(0.1)],
        flags: vec![vec![], vec![], vec![], vec!['G'], vec!['H'], vec!['H']],
        legend: vec![
            LegendEntry {
                letter: 'G',
                kind: FlagKind::Glaring,
                sentence: "The window behind the desk is mirrored in the lower tiles.".to_owned(),
                cell_count: 1,
            },
            LegendEntry {
                letter: 'H',
                kind: FlagKind::Dead,
                sentence:
                    "The blind is down and the lamps are off, so the piece is too dark to see."
                        .to_owned(),
                cell_count: 2,
            },
        ],
        sunrise_min: Some(402.0),
        sunset_min: Some(1071.0),
        all_day: AllDay::Unknown,
        footnote: String::new(),
    }
}

/// Long words, signs that XML reserves, letters outside the typeface, nine letters, a clock put back.
pub(super) fn wordy() -> WalkByDay {
    let distance_m: Vec<f32> = (0..60).map(|i| i as f32 * 0.4).collect();
    let clock_min: Vec<f32> = (0..48)
        .map(|i| 60.0 + i as f32 * 20.0 - if i > 5 { 60.0 } else { 0.0 })
        .collect();
    let n = distance_m.len();
    let mut flags = vec![Vec::new(); n * clock_min.len()];
    let letters = ['A', 'B', 'C', 'D', 'E', 'F', 'G', 'H', 'J'];
    for (i, letter) in letters.iter().enumerate() {
        for row in 0..(3 + i % 3) {
            for column in 0..(2 + i) {
                flags[(4 * i + row + 2) * n + 4 * i + column].push(*letter);
            }
        }
    }
    flags[5 * n + 50].push('A');
    flags[5 * n + 50].push('B');
    flags[5 * n + 50].push('C');
    let kinds = [FlagKind::Dead, FlagKind::Glaring, FlagKind::Hidden];
    let legend = letters.iter().enumerate().map(|(i, letter)| LegendEntry {
        letter: *letter,
        kind: kinds[i % 3],
        sentence: match i % 3 {
            0 => "Łódź – Ø1,2 m · 36° · ≥ 300 lx · τ=0,7 · 寄木 <b>bold & \"quoted\"</b>".to_owned(),
            1 => "From a quarter past nine until ten to eleven the morning sun, which comes through the two eastern windows and the small rooflight above the staircase, is thrown by the brushed tiles in the upper third of the piece straight at people who come down the stairs, and they cannot look away because the handrail ends there and they watch their step.".to_owned(),
            _ => "Unterbrechungslosigkeitsnachweisverfahrensordnungsänderungsvorschlagsentwurf stands in the way.".to_owned(),
        },
        cell_count: flags.iter().filter(|f| f.contains(letter)).count(),
    }).collect();
    let value = (0..n * clock_min.len())
        .map(|i| {
            (i % 7 != 3 || i / n > 9)
                .then_some(10_f32.powf((i % n) as f32 / 12.0 + (i / n) as f32 / 60.0))
        })
        .collect();
    WalkByDay {
        title: "Weg vom nördlichen Treppenaufgang über die Empore & den <Lichthof> zur Łódź-Galerie, mit Blick zurück auf das große Wandbild im zweiten Obergeschoss".to_owned(),
        subtitle: "Łódź – Ø1,2 m · 36° · 25 October 2026, the night when clocks go back · τ=0,7 · 寄木".to_owned(),
        quantity: Quantity::Illuminance,
        scale: ScaleKind::Log,
        range: None,
        distance_m,
        station_marks: (0..12).map(|i| (i as f32 * 1.9, format!("place {i} with quite a long name"))).collect(),
        clock_min,
        solar_time_min: None,
        value,
        standard_error: Vec::new(),
        flags,
        legend,
        sunrise_min: Some(6.0 * 60.0 + 50.0),
        sunset_min: Some(17.0 * 60.0 + 10.0),
        all_day: AllDay::Unknown,
        footnote: "Limits: ".to_owned() + &"a long list of limits and where they come from, ".repeat(12),
    }
}

fn sun(day: &str, label: &str, azimuth_deg: f32, elevation_deg: f32) -> PlanSun {
    PlanSun {
        azimuth_rad: azimuth_deg.to_radians(),
        elevation_rad: elevation_deg.to_radians(),
        label: label.to_owned(),
        day: day.to_owned(),
    }
}

fn rectangle(x: f32, y: f32, width: f32, depth: f32) -> Vec<Vec2> {
    vec![
        vec2(x, y),
        vec2(x + width, y),
        vec2(x + width, y + depth),
        vec2(x, y + depth),
    ]
}

fn opening(a: Vec2, b: Vec2, kind: OpeningKind, label: &str) -> PlanOpening {
    PlanOpening {
        a,
        b,
        kind,
        label: label.to_owned(),
    }
}

/// A hall with an alcove and a side room, all signs in use.
pub(super) fn hall_plan() -> Plan {
    let hall = vec![
        vec2(0.0, 0.0),
        vec2(12.0, 0.0),
        vec2(12.0, 7.0),
        vec2(8.0, 7.0),
        vec2(8.0, 9.0),
        vec2(4.5, 9.0),
        vec2(4.5, 7.0),
        vec2(0.0, 7.0),
    ];
    Plan {
        title: "Harbour library, entrance hall".to_owned(),
        subtitle: "Plan with walks, fixtures and sun · demo room, invented".to_owned(),
        outlines: vec![hall, rectangle(12.3, 0.0, 3.2, 7.0)],
        wall_thickness_m: 0.3,
        openings: vec![
            opening(
                vec2(1.0, 0.0),
                vec2(3.4, 0.0),
                OpeningKind::Window,
                "south window",
            ),
            opening(vec2(4.4, 0.0), vec2(6.8, 0.0), OpeningKind::Window, ""),
            opening(
                vec2(0.0, 2.8),
                vec2(0.0, 4.6),
                OpeningKind::Door,
                "entrance",
            ),
            opening(
                vec2(12.0, 5.2),
                vec2(12.0, 6.1),
                OpeningKind::Door,
                "to the lift",
            ),
            opening(vec2(15.5, 1.5), vec2(15.5, 3.5), OpeningKind::Window, ""),
            opening(
                Vec2::ZERO,
                Vec2::ZERO,
                OpeningKind::Rooflight(rectangle(5.0, 3.0, 3.0, 2.0)),
                "rooflight",
            ),
        ],
        solids: vec![
            PlanSolid {
                outline: rectangle(3.3, 4.6, 0.4, 0.4),
                side: SolidSide::Inside,
                label: "column".to_owned(),
            },
            PlanSolid {
                outline: rectangle(9.3, 4.6, 0.4, 0.4),
                side: SolidSide::Inside,
                label: String::new(),
            },
            PlanSolid {
                outline: rectangle(9.6, 0.7, 1.8, 0.7),
                side: SolidSide::Inside,
                label: "desk".to_owned(),
            },
            PlanSolid {
                outline: rectangle(-1.6, -1.7, 1.0, 1.0),
                side: SolidSide::Outside,
                label: "lime tree".to_owned(),
            },
            PlanSolid {
                outline: rectangle(-10.0, -40.0, 30.0, 12.0),
                side: SolidSide::Outside,
                label: "Warehouse across the water".to_owned(),
            },
        ],
        fixtures: vec![
            PlanFixture {
                pos: vec2(5.2, 6.3),
                aim_target: vec2(5.6, 8.9),
                label: "F1".to_owned(),
                beam_rad: 0.4,
            },
            PlanFixture {
                pos: vec2(6.3, 6.3),
                aim_target: vec2(6.3, 8.9),
                label: "F2".to_owned(),
                beam_rad: 0.4,
            },
            PlanFixture {
                pos: vec2(7.4, 6.3),
                aim_target: vec2(7.0, 8.9),
                label: "F3".to_owned(),
                beam_rad: 0.4,
            },
            PlanFixture {
                pos: vec2(10.5, 2.5),
                aim_target: vec2(10.5, 2.5),
                label: "F4".to_owned(),
                beam_rad: 1.0,
            },
        ],
        walks: vec![
            PlanWalk {
                name: "From the lift".to_owned(),
                points: vec![
                    vec2(14.0, 5.7),
                    vec2(11.0, 5.7),
                    vec2(6.5, 5.7),
                    vec2(6.5, 2.0),
                    vec2(9.3, 2.0),
                ],
                stations: (0..26)
                    .map(|i| {
                        let d = i as f32 * 0.5;
                        if d <= 7.5 {
                            vec2(14.0 - d, 5.7)
                        } else if d <= 11.2 {
                            vec2(6.5, 5.7 - (d - 7.5))
                        } else {
                            vec2(6.5 + d - 11.2, 2.0)
                        }
                    })
                    .collect(),
            },
            PlanWalk {
                name: "Entrance".to_owned(),
                points: vec![vec2(0.4, 3.7), vec2(5.4, 3.7)],
                stations: (0..11).map(|i| vec2(0.4 + i as f32 * 0.5, 3.7)).collect(),
            },
        ],
        piece: Some(PlanPiece {
            a: vec2(5.2, 8.95),
            b: vec2(7.4, 8.95),
            facing: vec2(0.0, -1.0),
            label: "Tidal Field".to_owned(),
        }),
        candidates: vec![
            PlanPlace {
                a: vec2(0.9, 6.95),
                b: vec2(3.1, 6.95),
                label: "place B".to_owned(),
            },
            PlanPlace {
                a: vec2(11.95, 1.6),
                b: vec2(11.95, 3.8),
                label: "place C".to_owned(),
            },
        ],
        bearing_rad: 24_f32.to_radians(),
        sun: vec![
            sun("21 Dec", "08:00", 128.0, -2.0),
            sun("21 Dec", "10:00", 152.0, 11.0),
            sun("21 Dec", "12:00", 180.0, 16.0),
            sun("21 Dec", "14:00", 208.0, 11.0),
            sun("21 Dec", "16:00", 232.0, -2.0),
            sun("21 Jun", "06:00", 74.0, 15.0),
            sun("21 Jun", "08:00", 98.0, 33.0),
            sun("21 Jun", "10:00", 130.0, 50.0),
            sun("21 Jun", "12:00", 176.0, 60.0),
            sun("21 Jun", "14:00", 224.0, 52.0),
            sun("21 Jun", "16:00", 260.0, 36.0),
            sun("21 Jun", "18:00", 285.0, 18.0),
        ],
        footnote: "Walls drawn 0.30 m thick. Check all measures on site.".to_owned(),
    }
}

/// A small deep room, few things in it, no sun.
pub(super) fn closet_plan() -> Plan {
    Plan {
        title: "Łódź – Ø1,2 m · 36° · <niche> & co".to_owned(),
        subtitle: String::new(),
        outlines: vec![rectangle(0.0, 0.0, 2.2, 5.0)],
        wall_thickness_m: 0.12,
        openings: vec![opening(
            vec2(0.6, 0.0),
            vec2(1.5, 0.0),
            OpeningKind::Door,
            "",
        )],
        walks: vec![PlanWalk {
            name: "Weg von der Türe bis kurz vor das Wandbild".to_owned(),
            points: vec![vec2(1.1, 0.3), vec2(1.1, 3.6)],
            stations: vec![
                vec2(1.1, 0.3),
                vec2(1.1, 1.4),
                vec2(1.1, 2.5),
                vec2(1.1, 3.6),
            ],
        }],
        piece: Some(PlanPiece {
            a: vec2(0.5, 5.0),
            b: vec2(1.7, 5.0),
            facing: vec2(0.0, -1.0),
            label: "Wandbild „Föhn“ 寄木".to_owned(),
        }),
        bearing_rad: -1.2,
        ..Plan::default()
    }
}

/// Glow, play and shift along a walk.
pub(super) fn curves() -> Curves {
    let distance_m: Vec<f32> = (0..40).map(|i| i as f32 * 0.5).collect();
    let make = |f: &dyn Fn(f32) -> f32| -> Vec<Option<f32>> {
        distance_m
            .iter()
            .map(|d| (*d != 16.5 && *d != 17.0).then(|| f(*d)))
            .collect()
    };
    let glow = make(&|d| 0.4 + 3.0 * bump(d, 9.0, 4.0));
    let play = make(&|d| 1.2 + 6.0 * bump(d, 7.0, 3.0));
    let shift = make(&|d| 0.1 + 0.5 * (d * 0.7).sin().abs());
    let errors = |v: &[Option<f32>]| v.iter().map(|v| v.map(|v| 0.06 * v)).collect::<Vec<_>>();
    let curve = |quantity, scale, value: Vec<Option<f32>>, limit| Curve {
        quantity,
        scale,
        standard_error: errors(&value),
        value,
        limit,
    };
    Curves {
        title: "From the lift to the reading desk, 10:30".to_owned(),
        subtitle: "Harbour library, entrance hall · 21 January 2026 · clear sky".to_owned(),
        curves: vec![
            curve(
                Quantity::Glow,
                ScaleKind::Log,
                glow,
                Some((0.5, "dead below 0.5".to_owned())),
            ),
            curve(Quantity::Play, ScaleKind::Log, play, None),
            curve(Quantity::Shift, ScaleKind::Linear, shift, None),
        ],
        distance_m,
        footnote: "Demo room, invented.".to_owned(),
    }
}

/// All example drawings with a file name each.
pub(super) fn all() -> Vec<(&'static str, String)> {
    let mut play = hall_day();
    play.quantity = Quantity::Play;
    play.solar_time_min = None;
    play.sunrise_min = Some(6.0 * 60.0 + 20.0);
    play.sunset_min = Some(20.0 * 60.0 + 5.0);
    let mut all = vec![
        ("hall-day", walk_by_day_svg(&hall_day())),
        ("hall-day-long", walk_by_day_svg(&play)),
        ("polar-night", walk_by_day_svg(&polar_night())),
        ("short-walk", walk_by_day_svg(&short_walk())),
        ("wordy", walk_by_day_svg(&wordy())),
        ("plan-hall", plan_svg(&hall_plan())),
        ("plan-closet", plan_svg(&closet_plan())),
        ("curves", walk_curves_svg(&curves())),
    ];
    let pieces = piece_sheet::examples::all();
    all.extend(
        pieces
            .iter()
            .map(|(name, sheet)| (*name, piece_sheet_svg(sheet))),
    );
    all
}

/// Writes all examples as SVG and PNG into the temporary folder, to be looked at.
#[test]
#[ignore = "writes pictures to look at"]
fn slow_draw_all_examples() {
    let folder = std::env::temp_dir().join("lustrewalk-report");
    std::fs::create_dir_all(&folder).unwrap();
    for (name, svg) in all() {
        std::fs::write(folder.join(format!("{name}.svg")), &svg).unwrap();
        std::fs::write(
            folder.join(format!("{name}.png")),
            png_from_svg(&svg, 1.0).unwrap(),
        )
        .unwrap();
    }
}
