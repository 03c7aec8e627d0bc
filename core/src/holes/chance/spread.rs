//! The sum of two evenly spread errors: its density, its shares, its quantiles.

/// Parts of a stretch where the answer is one integral.
pub(super) const FINE: u32 = 16;
/// Parts where it is averaged over many.
pub(super) const COARSE: u32 = 2;

/// Integral by Gauss–Legendre of five points on equal parts, after x = l + (h − l)·(1 − c²)
/// of the end where a root may have an upright tangent.
pub(super) fn stretch(low: f64, high: f64, parts: u32, f: impl Fn(f64) -> f64) -> f64 {
    const AT: [(f64, f64); 5] = [
        (0.0, 0.568_888_888_888_888_9),
        (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
        (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
        (0.906_179_845_938_664, 0.236_926_885_056_189_1),
        (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    ];
    let width = high - low;
    if width <= 0.0 {
        return 0.0;
    }
    let share = f64::from(parts);
    let mut sum = 0.0;
    for part in 0..parts {
        for (at, weight) in AT {
            let s = (f64::from(part) + 0.5 + at / 2.0) / share;
            // x = high − width·s²: dx = 2·width·s ds.
            sum += weight / (2.0 * share) * f(high - width * s * s) * 2.0 * width * s;
        }
    }
    sum
}

/// Density of the sum of two evenly spread errors ± a and ± b: a trapezium.
pub(super) fn sum_density(x: f64, a: f64, b: f64) -> f64 {
    let (large, small) = (a.max(b), a.min(b));
    let x = x.abs();
    if large <= 0.0 || x >= large + small {
        0.0
    } else if x <= large - small {
        0.5 / large
    } else {
        (large + small - x) / (4.0 * large * small)
    }
}

/// Share of that sum below x.
pub(super) fn sum_below(x: f64, a: f64, b: f64) -> f64 {
    let (large, small) = (a.max(b), a.min(b));
    if x < 0.0 {
        return 1.0 - sum_below(-x, a, b);
    }
    if x >= large + small {
        1.0
    } else if x <= large - small {
        0.5 + x * 0.5 / large
    } else {
        let left = large + small - x;
        1.0 - left * left / (8.0 * large * small)
    }
}

/// The value below which a share `p` lies.
pub(super) fn sum_quantile(p: f64, a: f64, b: f64) -> f64 {
    let (large, small) = (a.max(b), a.min(b));
    if p < 0.5 {
        return -sum_quantile(1.0 - p, a, b);
    }
    let flat = if large > 0.0 {
        (large - small) * 0.5 / large
    } else {
        0.0
    };
    if p - 0.5 <= flat {
        (p - 0.5) * 2.0 * large
    } else {
        large + small - libm::sqrt(((1.0 - p) * 8.0 * large * small).max(0.0))
    }
}
