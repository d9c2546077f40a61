//! Designed patterns whose class is known beforehand.

use super::*;

/// Checkerboard of `side` x `side` equal tiles with neighbours across edges, each tile 23 arcmin wide.
struct Board {
    luminance_cd_m2: Vec<f32>,
    pairs: Vec<Neighbour>,
    areas_m2: Vec<f32>,
}

const SIZE_RAD: f32 = 6.69e-3;

fn board(side: u32, luminance: impl Fn(u32, u32) -> f32) -> Board {
    let mut board = Board {
        luminance_cd_m2: vec![],
        pairs: vec![],
        areas_m2: vec![],
    };
    for row in 0..side {
        for column in 0..side {
            let index = row * side + column;
            board.luminance_cd_m2.push(luminance(row, column));
            board.areas_m2.push(4e-4);
            if column + 1 < side {
                board.pairs.push(Neighbour {
                    a: index,
                    b: index + 1,
                    size_rad: SIZE_RAD,
                });
            }
            if row + 1 < side {
                board.pairs.push(Neighbour {
                    a: index,
                    b: index + side,
                    size_rad: SIZE_RAD,
                });
            }
        }
    }
    board
}

fn checker(dark_cd_m2: f32, ratio: f32) -> Board {
    board(8, |row, column| {
        if (row + column) % 2 == 0 {
            dark_cd_m2
        } else {
            dark_cd_m2 * ratio
        }
    })
}

fn classify(board: &Board, adaptation: f64, veil: f64, age: f64) -> PatternReading {
    classify_pattern(
        &board.luminance_cd_m2,
        &board.pairs,
        &board.areas_m2,
        adaptation,
        veil,
        age,
        &ReadsLimits::default(),
    )
}

#[test]
fn uniform_is_lost_but_not_dark() {
    let reading = classify(&checker(20.0, 1.0), 20.0, 0.0, 60.0);
    assert_eq!(reading.class, Reads::Lost);
    assert!(!reading.too_dark && !reading.too_dark_for_colour);
    assert_eq!((reading.median_ratio, reading.max_ratio), (1.0, 1.0));
    assert_eq!(reading.visibility_level, 0.0);
}

#[test]
fn checkers_climb_the_classes() {
    let class = |ratio: f32| classify(&checker(20.0, ratio), 20.0, 0.0, 60.0).class;
    assert_eq!(class(1.03), Reads::Lost);
    assert_eq!(class(1.1), Reads::Faint);
    assert_eq!(class(1.5), Reads::Reads);
    assert_eq!(class(3.0), Reads::Strong);
    assert_eq!(
        class(30.0),
        Reads::Strong,
        "600 cd/m2 at 20 cd/m2 adaptation is no glint"
    );
    assert_eq!(
        class(150.0),
        Reads::Overpowering,
        "3000 cd/m2 is over 100 x adaptation"
    );
}

/// Source: visibility level of 0.2 / 0.0245, the age 60 threshold of a 23 arcmin tile at 20 cd/m2 that the
/// sheet behind this project derived from Adrian 1989. Tolerance: its three printed digits.
#[test]
fn visibility_level_of_the_worked_tile() {
    let reading = classify(&checker(20.0, 1.2), 20.0, 0.0, 60.0);
    let expected = 0.2 / 0.0245;
    assert!(
        (reading.visibility_level / expected - 1.0).abs() < 0.004,
        "visibility level {}, expected {expected}",
        reading.visibility_level
    );
}

#[test]
fn extreme_ratio_is_reported_without_being_overpowering() {
    let reading = classify(&checker(20.0, 30.0), 20.0, 0.0, 60.0);
    assert_eq!((reading.share_extreme, reading.share_hot), (1.0, 0.0));
    assert!((reading.max_ratio - 30.0).abs() < 1e-4);
}

#[test]
fn dark_piece_is_lost_and_says_so() {
    let reading = classify(&checker(0.2, 2.5), 10.0, 0.0, 60.0);
    assert_eq!(reading.class, Reads::Lost);
    assert!(reading.too_dark);
    let dim = classify(&checker(0.9, 3.0), 1.0, 0.0, 60.0);
    assert!(!dim.too_dark && dim.too_dark_for_colour, "{dim:?}");
}

#[test]
fn veil_lowers_the_class() {
    let board = checker(20.0, 1.5);
    let clear = classify(&board, 20.0, 0.0, 60.0);
    let veiled = classify(&board, 20.0, 80.0, 60.0);
    assert_eq!(clear.class, Reads::Reads);
    // (30 + 80) / (20 + 80)
    assert!(
        (veiled.median_ratio - 1.1).abs() < 1e-5,
        "{}",
        veiled.median_ratio
    );
    assert_eq!(veiled.class, Reads::Faint);
    assert_eq!(classify(&board, 20.0, 2000.0, 60.0).class, Reads::Lost);
}

#[test]
fn ageing_lowers_the_class() {
    // At 4 cd/m2 a ratio of 1.22 has VL above 8 for a young eye and below for an old one.
    let board = checker(4.0, 1.22);
    let young = classify(&board, 4.0, 0.0, 25.0);
    let old = classify(&board, 4.0, 0.0, 75.0);
    assert!(young.visibility_level > 2.0 * old.visibility_level);
    assert_eq!((young.class, old.class), (Reads::Reads, Reads::Faint));
}

#[test]
fn farther_tiles_are_harder_to_see() {
    let mut board = checker(20.0, 1.3);
    let near = classify(&board, 20.0, 0.0, 60.0);
    for pair in &mut board.pairs {
        pair.size_rad = 1e-3;
    }
    let far = classify(&board, 20.0, 0.0, 60.0);
    assert!(far.class < near.class, "{:?} {:?}", far.class, near.class);
}

#[test]
fn one_hot_pair_does_not_decide() {
    // One glint on 64 tiles touches four neighbours, 7.8 % of the area, through four pairs; in a corner two pairs, 4.7 %.
    let corner = board(8, |r, c| if (r, c) == (0, 0) { 50_000.0 } else { 20.0 });
    let reading = classify(&corner, 20.0, 0.0, 60.0);
    assert_eq!(reading.class, Reads::Lost, "{reading:?}");
    assert!(reading.share_hot > 0.0 && reading.max_ratio > 2000.0);

    // Four large tiles in a row, one pair hot: half the area, but one pair only.
    let luminance = [20.0, 20.0, 20.0, 50_000.0];
    let pairs: Vec<Neighbour> = (0..3)
        .map(|i| Neighbour {
            a: i,
            b: i + 1,
            size_rad: 0.1,
        })
        .collect();
    let limits = ReadsLimits::default();
    let row = classify_pattern(&luminance, &pairs, &[1.0; 4], 20.0, 0.0, 60.0, &limits);
    assert_eq!(row.class, Reads::Strong, "{row:?}");

    // A piece of two tiles is its only pair.
    let two = classify_pattern(
        &luminance[2..],
        &pairs[..1],
        &[1.0; 2],
        20.0,
        0.0,
        60.0,
        &limits,
    );
    assert_eq!(two.class, Reads::Overpowering, "{two:?}");
}

#[test]
fn a_fifth_reads_and_a_third_is_strong() {
    // Rows of a 10 x 10 board alternate in their first `columns` columns only.
    let striped = |columns: u32, ratio: f32| {
        let mut board = board(10, |row, column| {
            if column < columns && row % 2 == 0 {
                20.0 * ratio
            } else {
                20.0
            }
        });
        // Neighbours above each other only, so that the share is exact.
        board.pairs.retain(|pair| pair.b == pair.a + 10);
        classify(&board, 20.0, 0.0, 60.0)
    };
    assert_eq!(striped(1, 1.5).class, Reads::Lost);
    assert_eq!(striped(2, 1.5).class, Reads::Reads);
    assert_eq!(striped(3, 3.0).class, Reads::Reads);
    assert_eq!(striped(4, 3.0).class, Reads::Strong);
    assert!((striped(4, 3.0).share_strong - 0.4).abs() < 1e-5);
}

#[test]
fn renumbering_tiles_and_pairs_changes_nothing() {
    let original = board(8, |row, column| {
        5.0 + ((row * 31 + column * 17) % 13) as f32
    });
    let reading = classify(&original, 20.0, 1.0, 60.0);
    // Tile i becomes 37 i mod 64; pairs reversed and swapped.
    let renumber = |i: u32| i * 37 % 64;
    let mut shuffled = board(8, |_, _| 0.0);
    for (index, &luminance) in original.luminance_cd_m2.iter().enumerate() {
        shuffled.luminance_cd_m2[renumber(index as u32) as usize] = luminance;
    }
    shuffled.pairs = original
        .pairs
        .iter()
        .rev()
        .map(|p| Neighbour {
            a: renumber(p.b),
            b: renumber(p.a),
            size_rad: p.size_rad,
        })
        .collect();
    assert_eq!(classify(&shuffled, 20.0, 1.0, 60.0), reading);
}

#[test]
fn areas_are_weights_not_counts() {
    // One large lost pair, one small strong pair.
    let pairs = [
        Neighbour {
            a: 0,
            b: 1,
            size_rad: 0.05,
        },
        Neighbour {
            a: 2,
            b: 3,
            size_rad: 0.01,
        },
    ];
    let limits = ReadsLimits::default();
    let luminance = [20.0, 20.0, 20.0, 80.0];
    let small = classify_pattern(
        &luminance,
        &pairs,
        &[5.0, 5.0, 0.1, 0.1],
        20.0,
        0.0,
        60.0,
        &limits,
    );
    assert_eq!(small.class, Reads::Lost);
    assert_eq!((small.median_ratio, small.max_ratio), (1.0, 4.0));
    let large = classify_pattern(
        &luminance,
        &pairs,
        &[1.0, 1.0, 5.0, 5.0],
        20.0,
        0.0,
        60.0,
        &limits,
    );
    assert_eq!(large.class, Reads::Strong);
    assert_eq!(large.median_ratio, 4.0);
}

#[test]
fn odd_inputs_do_not_panic() {
    let limits = ReadsLimits::default();
    let empty = classify_pattern(&[], &[], &[], 20.0, 0.0, 60.0, &limits);
    assert_eq!((empty.class, empty.median_ratio), (Reads::Lost, 1.0));
    let pairs = [
        Neighbour {
            a: 0,
            b: 9,
            size_rad: 0.01,
        },
        Neighbour {
            a: 1,
            b: 1,
            size_rad: 0.01,
        },
        Neighbour {
            a: 0,
            b: 1,
            size_rad: 0.0,
        },
    ];
    let luminance = [f32::NAN, 0.0];
    let odd = classify_pattern(
        &luminance,
        &pairs,
        &[1.0, 1.0, 1.0],
        0.0,
        -1.0,
        200.0,
        &limits,
    );
    assert_eq!(odd.class, Reads::Lost);
    assert!(odd.max_ratio.is_finite() && odd.visibility_level.is_finite());
    let black = classify_pattern(
        &[0.0, 5.0],
        &pairs[2..],
        &[0.0, 0.0],
        0.0,
        0.0,
        60.0,
        &limits,
    );
    assert!(black.max_ratio.is_finite());
}

#[test]
fn glare_flags_make_overpowering() {
    assert_eq!(Reads::Faint.or_overpowering(true), Reads::Overpowering);
    assert_eq!(Reads::Faint.or_overpowering(false), Reads::Faint);
    assert!(Reads::Strong.works() && !Reads::Overpowering.works());
    assert!(Reads::ALL.is_sorted());
}

#[test]
fn limits_load_from_a_partial_file_and_reject_unknown_keys() {
    let limits: ReadsLimits = ron::from_str("(strong_ratio: 3.0)").unwrap();
    assert_eq!((limits.strong_ratio, limits.reads_ratio), (3.0, 1.2));
    assert!(ron::from_str::<ReadsLimits>("(strong: 3.0)").is_err());
}

/// Prints the time of one call with a thousand pairs; run with `--ignored --nocapture`.
#[test]
#[ignore = "a stopwatch, not a check"]
fn slow_time_of_one_call() {
    let mut board = board(23, |row, column| {
        5.0 + ((row * 31 + column * 17) % 1013) as f32
    });
    for (index, pair) in board.pairs.iter_mut().enumerate() {
        pair.size_rad *= 1.0 + index as f32 * 1e-4;
    }
    let mut best = std::time::Duration::MAX;
    let mut classes = 0;
    for i in 0..2000 {
        let start = std::time::Instant::now();
        classes += classify(&board, 20.0 + f64::from(i), 1.0, 60.0).class as u32;
        best = best.min(start.elapsed());
    }
    println!(
        "{best:?} the best call, {} pairs, {classes}",
        board.pairs.len()
    );
    let observer = AdrianObserver::new(20.0, 2.0, 60.0);
    let start = std::time::Instant::now();
    let sum: f64 = (0..100_000)
        .map(|i| observer.threshold_contrast(1e-3 + f64::from(i) * 1e-7))
        .sum();
    println!("{:?} a threshold, {sum}", start.elapsed() / 100_000);
}
