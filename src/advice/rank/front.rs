//! Which places are equal within error, and which are dominated by none.

use super::Ranked;
use crate::advice::Parts;

/// Standard errors of a difference within which two places count as equal.
const EQUAL_WITHIN: f32 = 2.0;

/// Numbers the places from 1 in their order; a place that is equal within error to the first of a group shares its
/// number. Places of a coarser pass never share with those of a finer one.
pub(super) fn ties(places: &mut [Ranked]) {
    let mut leader = 0;
    for i in 0..places.len() {
        let (first, this) = (&places[leader], &places[i]);
        let error = first.worth_error.hypot(this.worth_error);
        let equal = first.pass == this.pass && first.worth - this.worth <= EQUAL_WITHIN * error;
        if !equal {
            leader = i;
        }
        places[i].rank = leader + 1;
    }
}

/// Marks the places that no other one, known as well or better, beats in one part while being as good in all others, within error.
pub(super) fn undominated(places: &mut [Ranked]) {
    let marks: Vec<bool> = places
        .iter()
        .map(|p| !places.iter().any(|q| q.pass >= p.pass && dominates(q, p)))
        .collect();
    for (place, mark) in places.iter_mut().zip(marks) {
        place.undominated = mark;
    }
}

/// Whether `a` is better than `b` in one part beyond error, worse beyond error in none, and better by the sum of all in units of the error: without
/// that, three places could each dominate the next.
fn dominates(a: &Ranked, b: &Ranked) -> bool {
    let (x, y) = (a.judgement.parts.values(), b.judgement.parts.values());
    let (ex, ey) = (a.judgement.error.values(), b.judgement.error.values());
    let (mut better, mut sum) = (false, 0.0);
    for i in 0..x.len() {
        let sign = if Parts::MORE_IS_BETTER[i] { 1.0 } else { -1.0 };
        let gain = sign * (x[i] - y[i]);
        let error = EQUAL_WITHIN * ex[i].hypot(ey[i]);
        if gain < -error {
            return false;
        }
        better |= gain > error;
        sum += gain / error.max(1e-6);
    }
    better && sum > 0.0
}
