//! Whether a bracket that may shift and turn finds a place where every axis is within reach.

use crate::frames::{Frame, Vector2};

/// Whether some small shift and turn of the bracket brings every axis within reach.
///
/// For one turn the best shift is the middle of the smallest circle round the errors; its radius
/// is convex in the turn, so that narrowing a bracket finds the least.
pub(super) fn some_place_fits<F: Frame>(
    holes: &[Vector2<F>],
    off: &[Vector2<F>],
    limit: f64,
) -> bool {
    let left_at = |turn: f64| {
        let moved: Vec<Vector2<F>> = holes
            .iter()
            .zip(off)
            .map(|(at, e)| *e - at.perp() * turn)
            .collect();
        smallest_circle(&moved)
    };
    let farthest = holes.iter().map(|h| h.norm_mm()).fold(0.0, f64::max);
    let most = off.iter().map(|e| e.norm_mm()).fold(0.0, f64::max);
    if farthest < 1e-9 {
        return left_at(0.0) <= limit;
    }
    // The turn of least squares is near; past ± this the farthest hole alone is too far off.
    let (mut num, mut den) = (0.0, 0.0);
    for (at, e) in holes.iter().zip(off) {
        num += at.cross(*e);
        den += at.dot(*at);
    }
    let first = num / den;
    if left_at(first) <= limit {
        return true;
    }
    let (mut low, mut high) = (first - 2.0 * most / farthest, first + 2.0 * most / farthest);
    for _ in 0..24 {
        let (p, q) = (low + (high - low) * 0.382, low + (high - low) * 0.618);
        let (at_p, at_q) = (left_at(p), left_at(q));
        if at_p.min(at_q) <= limit {
            return true;
        }
        // A turn changes the circle by at most the pattern's reach: nothing better is left inside.
        if at_p.min(at_q) - (high - low) * farthest > limit {
            return false;
        }
        if at_p < at_q {
            high = q;
        } else {
            low = p;
        }
    }
    false
}

/// Radius of the smallest circle round a few points, mm.
fn smallest_circle<F: Frame>(points: &[Vector2<F>]) -> f64 {
    type Circle<F> = (Vector2<F>, f64);
    fn holds<F: Frame>(c: &Circle<F>, p: Vector2<F>) -> bool {
        (p - c.0).norm_mm() <= c.1 + 1e-9
    }
    fn of_two<F: Frame>(a: Vector2<F>, b: Vector2<F>) -> Circle<F> {
        ((a + b) * 0.5, (b - a).norm_mm() / 2.0)
    }
    fn of_three<F: Frame>(a: Vector2<F>, b: Vector2<F>, c: Vector2<F>) -> Circle<F> {
        let (u, v) = (b - a, c - a);
        let area2 = 2.0 * u.cross(v);
        if area2.abs() < 1e-12 {
            // On one line: the two ends.
            let mut best = of_two(a, b);
            for other in [of_two(a, c), of_two(b, c)] {
                if other.1 > best.1 {
                    best = other;
                }
            }
            return best;
        }
        let (uu, vv) = (u.dot(u), v.dot(v));
        let to = Vector2::from_mm(
            (v.y_mm() * uu - u.y_mm() * vv) / area2,
            (u.x_mm() * vv - v.x_mm() * uu) / area2,
        );
        (a + to, to.norm_mm())
    }
    let Some(first) = points.first() else {
        return 0.0;
    };
    let mut circle = (*first, 0.0);
    for (i, p) in points.iter().enumerate() {
        if holds(&circle, *p) {
            continue;
        }
        circle = (*p, 0.0);
        for (j, q) in points.iter().enumerate().take(i) {
            if holds(&circle, *q) {
                continue;
            }
            circle = of_two(*p, *q);
            for s in points.iter().take(j) {
                if !holds(&circle, *s) {
                    circle = of_three(*p, *q, *s);
                }
            }
        }
    }
    circle.1
}
