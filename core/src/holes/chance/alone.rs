//! The chance of one hole.

use super::Budget;
use super::spread::{COARSE, FINE, stretch, sum_below, sum_density};
use crate::frames::{Frame, Vector2};

/// The chance that one axis lies within reach of its fellow when it is off by `by` beside its own
/// errors.
pub(super) fn one_enters_off<F: Frame>(budget: Budget, by: Vector2<F>) -> f64 {
    let (a, b, r) = (
        budget.one.mm().abs(),
        budget.other.mm().abs(),
        budget.apart.mm(),
    );
    let (most, off) = (a + b, by.norm_mm());
    let corner = libm::hypot(most, most);
    if r < 0.0 || off - corner > r {
        return 0.0;
    }
    if off + corner <= r {
        return 1.0;
    }
    if most <= 0.0 {
        return f64::from(u8::from(off <= r));
    }
    let (sx, sy) = (by.x_mm(), by.y_mm());
    let (low, high) = ((-r - sx).max(-most), (r - sx).min(most));
    if low >= high {
        return 0.0;
    }
    let mut breaks = vec![low, high];
    breaks.extend([-(a - b).abs(), (a - b).abs(), -sx].map(|x| x.clamp(low, high)));
    breaks.sort_by(f64::total_cmp);
    let inside = |x: f64| {
        let y = libm::sqrt((r * r - (x + sx) * (x + sx)).max(0.0));
        let share = sum_below(y - sy, a, b) - sum_below(-y - sy, a, b);
        sum_density(x, a, b) * share
    };
    let mut sum = 0.0;
    for w in breaks.windows(2) {
        let middle = f64::midpoint(w[0], w[1]);
        // Each half from its outer end, where the circle may be upright.
        sum += stretch(middle, w[1], COARSE, inside);
        sum += stretch(-middle, -w[0], COARSE, |x| inside(-x));
    }
    sum.clamp(0.0, 1.0)
}

/// The chance that one axis lies within reach of its fellow.
pub(super) fn one_enters(budget: Budget) -> f64 {
    let (a, b, r) = (
        budget.one.mm().abs(),
        budget.other.mm().abs(),
        budget.apart.mm(),
    );
    if r < 0.0 {
        return 0.0;
    }
    let most = a + b;
    if libm::hypot(most, most) <= r {
        return 1.0;
    }
    // Gauss over each stretch on which the density is one straight line.
    let mut breaks = vec![0.0, (a - b).abs().min(r), most.min(r)];
    if r > most {
        breaks.push(libm::sqrt(r * r - most * most).min(most));
    }
    if r > (a - b).abs() {
        breaks.push(libm::sqrt(r * r - (a - b) * (a - b)).min(most).min(r));
    }
    breaks.sort_by(f64::total_cmp);
    let mut half = 0.0;
    for w in breaks.windows(2) {
        half += stretch(w[0], w[1], FINE, |x| {
            let y = libm::sqrt((r * r - x * x).max(0.0));
            sum_density(x, a, b) * (2.0 * sum_below(y, a, b) - 1.0)
        });
    }
    (2.0 * half).clamp(0.0, 1.0)
}
