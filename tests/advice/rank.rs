//! Where the piece hangs.

use lustrewalk::{
    advice::{
        rank::{Pass, RankSettings, Ranked, Ranking, places, rank, same_place},
        worth,
    },
    piece::parse_piece,
    room::{
        Aim, ApertureFile, FixtureFile, FixtureLight, FixtureType, PieceSource, Placement,
        RoomFile, Support,
    },
    transport::Progress,
};

use super::{built, judged, request, small};

fn ranked(file: RoomFile, change: impl FnOnce(&mut RankSettings)) -> Ranking {
    let room = built(file);
    let mut settings = RankSettings::for_room(&room.file);
    change(&mut settings);
    rank(
        &room,
        &request(&room),
        &settings,
        &Progress::default(),
        &mut |_| {},
    )
    .unwrap()
}

/// The small room made symmetric about x = 2: the window in the middle, the walk on the axis, no lamp, an even
/// sky, and a piece that is its own mirror image.
fn symmetric() -> RoomFile {
    let mut file = small();
    file.fixtures.clear();
    file.openings[0].offset_m = 1.2;
    file.walks[0].points_m = vec![(2.0, 0.6), (2.0, 2.6)];
    file.study.skies = vec!["overcast".into()];
    let text = "(version: 1, name: \"p\", width_m: 1.2, height_m: 0.9, layout: Grid(columns: 3, rows: 3, grain: Alternate([0, 90]), \
                material: One(\"brushed aluminium\")))";
    file.piece = PieceSource::Inline(parse_piece(text, "p").unwrap());
    file.advice.hang.turns_deg = vec![0.0];
    file.advice.hang.walls = vec![("room".into(), 1), ("room".into(), 3)];
    file
}

/// Symmetry: what is judged on the east wall must be judged alike on the west wall at the same distance from the window, within three
/// standard errors of both (of fifteen differences one may miss two by chance), and both walls must share their number.
#[test]
fn mirrored_walls_are_equal_within_error() {
    let mut file = symmetric();
    let place = |wall: usize, along_m: f32| Placement {
        name: String::new(),
        on: Support::Wall {
            space: "room".into(),
            wall,
            along_m,
        },
        centre_m: 1.5,
        turn_deg: 0.0,
        mirrored: false,
    };
    // The west wall runs the other way.
    let pairs = [0.8, 1.5, 2.2].map(|m| (place(1, m), place(3, 3.0 - m)));
    file.placement = pairs[1].1.clone();
    file.candidates = pairs
        .iter()
        .flat_map(|(e, w)| [e.clone(), w.clone()])
        .collect();
    let ranking = ranked(file, |s| {
        s.most = 6;
        s.looked_at = 6;
        s.finalists = 6;
    });
    let found = |place: &Placement| {
        let same = |p: &&Ranked| same_place(&p.placement, place) && p.pass == Pass::Full;
        ranking.places.iter().find(same).unwrap()
    };
    for (east, west) in &pairs {
        let (east, west) = (found(east), found(west));
        let (a, b) = (east.judgement.parts.values(), west.judgement.parts.values());
        let (ea, eb) = (east.judgement.error.values(), west.judgement.error.values());
        for i in 0..5 {
            let error = 3.0 * ea[i].hypot(eb[i]);
            assert!(
                (a[i] - b[i]).abs() <= error,
                "{}: east {} and west {} differ by more than {error} at {:?}",
                lustrewalk::advice::PART_NAMES[i],
                a[i],
                b[i],
                east.placement
            );
        }
        assert_eq!(east.rank, west.rank, "{:?}", east.placement);
    }
}

/// Geometry: under an even sky the wall opposite to the only window gets most light straight opposite to it, and less the
/// farther to the side, alike on both sides.
#[test]
fn most_light_is_straight_opposite_to_the_window() {
    let mut file = symmetric();
    file.advice.hang.walls = vec![("room".into(), 2)];
    file.placement.on = Support::Wall {
        space: "room".into(),
        wall: 2,
        along_m: 2.0,
    };
    let ranking = ranked(file, |s| {
        s.most = 12;
        s.looked_at = 12;
        s.finalists = 12;
    });
    let mut doses: Vec<(f32, f32)> = ranking
        .places
        .iter()
        .filter(|p| (p.placement.centre_m - 1.5).abs() < 0.01)
        .filter_map(|p| match &p.placement.on {
            Support::Wall { along_m, .. } => Some((*along_m, p.judgement.dose_lx_h)),
            Support::Stand { .. } => None,
        })
        .collect();
    doses.sort_by(|a, b| a.0.total_cmp(&b.0));
    assert!(doses.len() >= 5, "{doses:?}");
    let most = doses
        .iter()
        .copied()
        .reduce(|a, b| if b.1 > a.1 { b } else { a })
        .unwrap();
    // One brightest tile is known to 3 %: the middle of what lies above the ends stands for the peak, to a quarter of a metre.
    let floor = doses[0].1.min(doses[doses.len() - 1].1);
    let above: f32 = doses.iter().map(|d| d.1 - floor).sum();
    let middle: f32 = doses.iter().map(|d| d.0 * (d.1 - floor)).sum::<f32>() / above;
    assert!(
        (middle - 2.0).abs() < 0.25,
        "most light about {middle} m along, not at 2 m: {doses:?}"
    );
    let (first, last) = (doses[0].1, doses[doses.len() - 1].1);
    assert!(first < 0.97 * most.1 && last < 0.97 * most.1, "{doses:?}");
    assert!((first / last - 1.0).abs() < 0.05, "{doses:?}");
}

/// Trying everything: every place judged in full, one by one; the search's first place must be as good as the best of them within
/// twice the error of a difference.
#[test]
fn search_agrees_with_judging_every_place_in_full() {
    let mut file = small();
    file.advice.hang.turns_deg = vec![0.0, 90.0];
    let room = built(file.clone());
    let ranking = ranked(file, |s| {
        s.most = 36;
        s.looked_at = 10;
        s.finalists = 5;
    });
    let weights = ranking.weights;
    let mut best = f32::MIN;
    for placement in places(&room, 36).unwrap().0 {
        let mut file = room.file.clone();
        file.placement = placement;
        let Ok(there) = room.changed(file) else {
            continue;
        };
        let judgement = judged(&std::sync::Arc::new(there), 77);
        best = best.max(worth(&judgement.parts, &weights));
    }
    let first = &ranking.places[0];
    assert!(
        first.worth >= best - 2.0 * first.worth_error.hypot(first.worth_error) - 0.01,
        "the search's first place comes to {}, the best of all to {best}; error {}",
        first.worth,
        first.worth_error
    );
}

/// A fixture beside the piece that shines only into visitors' eyes never makes a plan better.
#[test]
fn a_lamp_into_eyes_never_improves_the_judgement() {
    let mut file = small();
    file.fixture_types.insert(
        "needle".into(),
        FixtureType {
            light: FixtureLight::Beam {
                beam_deg: 6.0,
                field_deg: Some(10.0),
                flux_lm: None,
                centre_cd: Some(8000.0),
            },
            aperture: Some(ApertureFile::Disc { diameter_mm: 40.0 }),
            cct_k: 3000.0,
            watts: None,
            price: None,
            maintenance_factor: 0.8,
        },
    );
    let without = judged(&built(file.clone()), 3);
    file.fixtures.push(FixtureFile {
        name: "E1".into(),
        kind: "needle".into(),
        // On the piece's wall, aimed at the eye in the middle of the walk.
        at_m: (0.1, 0.5, 1.9),
        aim: Aim::At(2.8, 1.6, 1.55),
        roll_deg: 0.0,
        dimming: 1.0,
        lit: None,
    });
    let with = judged(&built(file), 3);
    let weights = lustrewalk::room::Weights::default();
    let (before, after) = (
        worth(&without.parts, &weights),
        worth(&with.parts, &weights),
    );
    assert!(
        after <= before + 0.005,
        "with the lamp {after}, without {before}: {:?} and {:?}",
        with.parts,
        without.parts
    );
    assert!(
        with.parts.glaring_share > without.parts.glaring_share + 0.1,
        "the lamp is not even seen: {:?}",
        with.parts
    );
}

/// No place lies behind a door, a window or a solid, over a wall's end, or where nobody looks at it.
#[test]
fn places_are_free_and_seen() {
    let text = include_str!("../../rooms/ferry-hall.ron");
    let room = built(lustrewalk::room::parse_room(text, "hall").unwrap());
    let (found, _) = places(&room, 400).unwrap();
    assert!(found.len() > 150, "{} places", found.len());
    let half = |turn: f32| {
        if turn.rem_euclid(180.0) == 0.0 {
            (1.8, 1.2)
        } else {
            (1.2, 1.8)
        }
    };
    // The first is where it hangs now; those the room names come after it, as written.
    for place in found.iter().skip(1 + room.file.candidates.len()) {
        let Support::Wall { wall, along_m, .. } = &place.on else {
            panic!("no stand was allowed: {place:?}");
        };
        let (width, height) = half(place.turn_deg);
        for opening in room.file.openings.iter().filter(|o| o.wall == *wall) {
            let apart = along_m + width <= opening.offset_m
                || along_m - width >= opening.offset_m + opening.width_m
                || place.centre_m + height <= opening.sill_m
                || place.centre_m - height >= opening.sill_m + opening.height_m;
            assert!(apart, "{} covers {}", place.name, opening.name);
        }
        // The gallery's floor runs along the west 12 m of the south wall, 3.3 to 3.6 m up.
        if *wall == 0 && along_m - width < 12.0 {
            assert!(
                place.centre_m + height <= 3.3 || place.centre_m - height >= 3.6,
                "{} runs into the gallery",
                place.name
            );
        }
        assert_ne!(
            *wall, 1,
            "the glass wall has no room for it: {}",
            place.name
        );
    }
}

/// Same seed, same bits, on one thread and on three.
#[test]
fn the_order_does_not_depend_on_threads() {
    let one = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| {
            ranked(small(), |s| {
                s.most = 20;
                s.looked_at = 6;
                s.finalists = 3;
            })
        })
    };
    let (a, b) = (one(1), one(3));
    assert_eq!(a.places.len(), b.places.len());
    for (x, y) in a.places.iter().zip(&b.places) {
        assert_eq!(x.placement, y.placement);
        assert_eq!(x.judgement.parts, y.judgement.parts);
        assert_eq!((x.rank, &x.pro, &x.con), (y.rank, &y.pro, &y.con));
    }
}

/// Where the room allows it the piece may lean against walls and stand free; whatever is offered can be built, stands inside the room
/// and is seen from the front.
#[test]
fn leaning_and_standing_places_are_offered_where_allowed() {
    let mut file = small();
    file.advice.hang.turns_deg = vec![0.0];
    let none = places(&built(file.clone()), 400).unwrap().0;
    assert!(
        none.iter().all(|p| matches!(p.on, Support::Wall { .. })),
        "nothing but walls is allowed"
    );
    file.advice.hang.leaning_deg = Some(10.0);
    // The second lies in a wall.
    file.advice.hang.stands_m = vec![(1.0, 1.5), (4.0, 1.5)];
    let room = built(file);
    let found = places(&room, 400).unwrap().0;
    let (mut leaning, mut standing) = (0, 0);
    for place in &found {
        let Support::Stand { at_m, lean_deg, .. } = &place.on else {
            continue;
        };
        if *lean_deg > 0.0 {
            leaning += 1;
            // Its middle is half of its height, leant: 0.45 m x cos 10.
            assert!((place.centre_m - 0.45 * 10.0_f32.to_radians().cos()).abs() < 1e-3);
        } else {
            standing += 1;
            assert_eq!(*at_m, (1.0, 1.5), "the other place lies in a wall");
        }
        let mut file = room.file.clone();
        file.placement = place.clone();
        let there = room.changed(file).unwrap();
        let front = there
            .stations()
            .iter()
            .any(|s| (s.eye - there.piece.centre).dot(there.piece.normal) > 0.0);
        assert!(front, "{} is seen from behind only", place.name);
    }
    assert!(
        leaning > 3 && standing > 2,
        "{leaning} leaning, {standing} standing"
    );
}
