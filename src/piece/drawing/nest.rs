//! Contours to outlines: doubles, holes, inlays, frames.
//!
//! - The same contour twice counts once; a filled one is kept before a stroked one.
//! - Inside one element, a contour in a contour is a hole if the fill rule says so, and an outline
//!   again inside a hole.
//! - Between elements: an outline that is mostly covered by others inside it, or that is only
//!   stroked and runs along the page, is a frame or background and no tile. Otherwise the inner
//!   ones are let into it and cut out of it.

use glam::{DVec2, Vec2};

use super::error::{DrawingError, DrawingWarning};
use super::page::Page;
use super::{Contour, JOIN_TOLERANCE_M, Outline};
use crate::piece::pairs::for_each_meeting_pair;
use crate::piece::polygon::{
    Bounds, Polygon, centroid_m, contains_point, distance_to_segment_m, edges, signed_area_m2,
    triangles,
};

/// An outline covered by others to at least this share is a background.
const BACKGROUND_SHARE: f64 = 0.6;
/// A stroked outline as large as this share of the page, both ways, is its frame.
const PAGE_SHARE: f64 = 0.97;

/// Most pairs of contours whose boxes meet; a piece of 20,000 tiles has some 100,000.
const MAX_PAIRS: u64 = 5_000_000;
/// Most corners looked at while nesting.
const MAX_NESTING_WORK: usize = 200_000_000;

/// What has been found out about a contour.
struct Facts {
    bounds: Bounds,
    area_m2: f64,
    centroid_m: DVec2,
    /// A point well inside [m].
    inside_m: DVec2,
    is_double: bool,
    /// Smallest contour around this one.
    parent: Option<usize>,
}

/// Outlines of all contours, in their order.
pub(super) fn outlines(
    contours: Vec<Contour>,
    page: &Page,
    name: &str,
    warnings: &mut Vec<DrawingWarning>,
) -> Result<Vec<Outline>, DrawingError> {
    let mut facts: Vec<Facts> = contours.iter().map(|c| facts_of(&c.polygon_m)).collect();
    let boxes: Vec<Bounds> = facts
        .iter()
        .map(|f| f.bounds.grown(JOIN_TOLERANCE_M))
        .collect();
    // Doubles first, so that they are nobody's parent.
    let mut pairs = 0;
    for_each_meeting_pair(&boxes, |i, j| {
        pairs += 1;
        // Both indices come from the list.
        if is_same(&facts[i], &facts[j]) {
            let keeps_first = contours[i].is_filled || !contours[j].is_filled;
            facts[if keeps_first { j } else { i }].is_double = true;
        }
        pairs < MAX_PAIRS
    });
    let too_many = |what, count, max| {
        Err(DrawingError::TooMany {
            name: name.to_owned(),
            what,
            count,
            max,
        })
    };
    if pairs >= MAX_PAIRS {
        return too_many("pairs of outlines that lie on each other", pairs, MAX_PAIRS);
    }
    let mut work = 0;
    for_each_meeting_pair(&boxes, |i, j| {
        let (inner, outer) = if facts[i].area_m2 < facts[j].area_m2 {
            (i, j)
        } else {
            (j, i)
        };
        let is_smallest = facts[inner]
            .parent
            .is_none_or(|p| facts[p].area_m2 > facts[outer].area_m2);
        if !facts[inner].is_double
            && !facts[outer].is_double
            && is_smallest
            && boxes[outer].contains(facts[inner].bounds)
            && lies_in(
                &contours[inner].polygon_m,
                facts[inner].inside_m,
                &contours[outer].polygon_m,
            )
        {
            facts[inner].parent = Some(outer);
        }
        work += contours[outer].polygon_m.len();
        work < MAX_NESTING_WORK
    });
    if work >= MAX_NESTING_WORK {
        let (work, max) = (work as u64, MAX_NESTING_WORK as u64);
        return too_many("corners to compare for nesting", work, max);
    }
    let doubles = facts.iter().filter(|f| f.is_double).count();
    if doubles > 0 {
        warnings.push(DrawingWarning::Duplicates { count: doubles });
    }
    Ok(assembled(&contours, &facts, page, warnings))
}

/// Holes cut, frames dropped.
fn assembled(
    contours: &[Contour],
    facts: &[Facts],
    page: &Page,
    warnings: &mut Vec<DrawingWarning>,
) -> Vec<Outline> {
    let roles: Vec<Role> = (0..contours.len())
        .map(|i| role(i, contours, facts))
        .collect();
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); contours.len()];
    for (i, fact) in facts.iter().enumerate() {
        if let Some(list) = fact.parent.and_then(|p| children.get_mut(p)) {
            list.push(i);
        }
    }
    let (mut frames, mut inlays) = (Vec::new(), Vec::new());
    let mut outlines = Vec::new();
    for (i, (contour, fact)) in contours.iter().zip(facts).enumerate() {
        // All three lists are as long as the contours.
        if fact.is_double || roles[i] != Role::Outline {
            continue;
        }
        let (own, others): (Vec<usize>, Vec<usize>) = children[i]
            .iter()
            .copied()
            .filter(|&c| roles[c] != Role::Merged)
            .partition(|&c| roles[c] == Role::Hole);
        let own_m2: f64 = own.iter().map(|&c| facts[c].area_m2).sum();
        let covered_m2: f64 = others.iter().map(|&c| facts[c].area_m2).sum();
        if !others.is_empty() {
            let share = fact.bounds.size_m() / page.size_m;
            let is_page = !contour.is_filled && share.cmpge(DVec2::splat(PAGE_SHARE)).all();
            if is_page || covered_m2 >= BACKGROUND_SHARE * (fact.area_m2 - own_m2) {
                frames.push(contour.id.clone());
                continue;
            }
            inlays.push(contour.id.clone());
        }
        outlines.push(Outline {
            polygon_m: single(&contour.polygon_m),
            holes_m: own
                .iter()
                .chain(&others)
                .map(|&c| single(&contours[c].polygon_m))
                .collect(),
            id: contour.id.clone(),
            layer: contour.layer.clone(),
            colour: contour.colour.clone(),
            is_filled: contour.is_filled,
        });
    }
    if let Some(first_id) = frames.first().cloned() {
        let count = frames.len();
        warnings.push(DrawingWarning::Frames { count, first_id });
    }
    if let Some(first_id) = inlays.first().cloned() {
        let count = inlays.len();
        warnings.push(DrawingWarning::Inlays { count, first_id });
    }
    outlines
}

/// What a contour is to the one around it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    /// The rim of a tile.
    Outline,
    /// A hole of the contour around it, of the same element.
    Hole,
    /// Inside its own element's fill: no edge at all.
    Merged,
}

fn role(index: usize, contours: &[Contour], facts: &[Facts]) -> Role {
    // Contours of the same element around this one, from inside out.
    let mut chain = Vec::new();
    let mut at = index;
    while let Some(parent) = facts.get(at).and_then(|f| f.parent) {
        if contours.get(parent).map(|c| c.element) != contours.get(index).map(|c| c.element) {
            break;
        }
        chain.push(parent);
        at = parent;
    }
    let Some(contour) = contours.get(index) else {
        return Role::Outline;
    };
    let turn = |i: &usize| {
        contours
            .get(*i)
            .map_or(0, |c| if c.is_ccw { 1 } else { -1 })
    };
    let (around, here) = if contour.is_even_odd {
        (chain.len() % 2, (chain.len() + 1) % 2)
    } else {
        let winding: i32 = chain.iter().map(turn).sum();
        let own = if contour.is_ccw { 1 } else { -1 };
        (usize::from(winding != 0), usize::from(winding + own != 0))
    };
    match (around, here) {
        (0, _) => Role::Outline,
        (_, 0) => Role::Hole,
        _ => Role::Merged,
    }
}

fn facts_of(polygon: &Polygon) -> Facts {
    let largest = triangles(polygon)
        .into_iter()
        .max_by(|a, b| signed_area_m2(a).total_cmp(&signed_area_m2(b)));
    let centroid = centroid_m(polygon);
    Facts {
        bounds: Bounds::of(polygon),
        area_m2: signed_area_m2(polygon),
        centroid_m: centroid,
        inside_m: largest.map_or(centroid, |t| centroid_m(&t)),
        is_double: false,
        parent: None,
    }
}

/// Whether two contours are the same within the join tolerance.
fn is_same(a: &Facts, b: &Facts) -> bool {
    let near = |p: DVec2, q: DVec2| (p - q).abs().max_element() <= 2.0 * JOIN_TOLERANCE_M;
    !a.is_double
        && !b.is_double
        && near(a.bounds.min_m, b.bounds.min_m)
        && near(a.bounds.max_m, b.bounds.max_m)
        && near(a.centroid_m, b.centroid_m)
        && (a.area_m2 - b.area_m2).abs() <= 0.01 * a.area_m2
}

/// Whether a contour lies in another; its corners may lie on the other's edges.
fn lies_in(inner: &Polygon, inside_m: DVec2, outer: &Polygon) -> bool {
    contains_point(outer, inside_m)
        && inner.iter().all(|&p| {
            contains_point(outer, p)
                || edges(outer).any(|(a, b)| distance_to_segment_m(p, a, b) <= JOIN_TOLERANCE_M)
        })
}

fn single(polygon: &Polygon) -> Vec<Vec2> {
    polygon.iter().map(|p| p.as_vec2()).collect()
}
