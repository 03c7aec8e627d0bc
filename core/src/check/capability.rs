//! How much room a run leaves inside its limit, and how little a few pieces can say of that.
//!
//! ```text
//!      limit (a circle)
//!     .-------.
//!    /    · ·  \      room = (limit − n·mean) / 3·√(nᵀ S n)
//!   |    · x ·  | n─▶ the least over all directions n
//!    \    · ·  /
//!     '-------'
//! ```
//! One way by itself this is the usual index against one limit (NIST/SEMATECH e-Handbook 6.1.6);
//! the least over all ways does not depend on how the axes are turned.

use super::line::{LEAST, count};
use crate::num::distribution::{chi_square, chi_square_quantile, normal_below, normal_quantile};
use serde::{Deserialize, Serialize};

/// Directions tried over the whole circle: half a degree apart, so that the least is met within 4
/// in 100 000.
const WAYS: u32 = 720;

/// How well a run keeps inside a limit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Capability {
    /// From how many pieces.
    pub count: usize,
    /// Room over three standard deviations, the way it is least: 1 is just enough.
    pub index: f64,
    /// Its 95 % interval (Bissell 1990).
    pub interval: (f64, f64),
    /// The same if the run were moved to the middle.
    pub centred: f64,
    /// Its 95 % interval, by chi-square.
    pub centred_interval: (f64, f64),
}

/// The 95 % interval of an index against its nearer limit from `n` values: C ± z·√(1/9n +
/// C²/2(n−1)) (Bissell 1990, Applied Statistics 39:331–340).
#[must_use]
pub fn index_interval(index: f64, n: usize) -> (f64, f64) {
    let n = count(n);
    let half =
        normal_quantile(0.975) * libm::sqrt(1.0 / (9.0 * n) + index * index / (2.0 * (n - 1.0)));
    (index - half, index + half)
}

/// The 95 % interval of an index whose mean does not count: C·√(χ²/(n−1)) at 2.5 % and 97.5 %
/// (NIST/SEMATECH e-Handbook 6.1.6).
#[must_use]
pub fn centred_interval(index: f64, n: usize) -> (f64, f64) {
    let f = count(n) - 1.0;
    let at = |p: f64| index * libm::sqrt(chi_square_quantile(p, f) / f);
    (at(0.025), at(0.975))
}

/// How well places found, across and up, keep inside a circle about nought; none of fewer than five
/// pieces, or of pieces that are all alike.
#[must_use]
pub fn capability(found: &[(f64, f64)], limit: f64) -> Option<Capability> {
    let n = count(found.len());
    if found.len() < LEAST || limit.is_nan() || limit <= 0.0 {
        return None;
    }
    if found.iter().any(|(x, y)| !x.is_finite() || !y.is_finite()) {
        return None;
    }
    let mean = |of: fn(&(f64, f64)) -> f64| found.iter().map(of).sum::<f64>() / n;
    let (mx, my) = (mean(|p| p.0), mean(|p| p.1));
    let (mut sxx, mut sxy, mut syy) = (0.0, 0.0, 0.0);
    for (x, y) in found {
        sxx += (x - mx) * (x - mx);
        sxy += (x - mx) * (y - my);
        syy += (y - my) * (y - my);
    }
    let (mut index, mut widest) = (f64::INFINITY, 0.0_f64);
    for k in 0..WAYS {
        let turn = f64::from(k) * core::f64::consts::TAU / f64::from(WAYS);
        let (c, s) = (libm::cos(turn), libm::sin(turn));
        let sd = libm::sqrt((c * c * sxx + 2.0 * c * s * sxy + s * s * syy).max(0.0) / (n - 1.0));
        // A way in which nothing scatters has all the room there is, unless it is past the limit.
        let room = (limit - c * mx - s * my) / (3.0 * sd.max(1e-9));
        index = index.min(room);
        widest = widest.max(sd);
    }
    if widest < 1e-6 {
        return None;
    }
    let centred = limit / (3.0 * widest);
    Some(Capability {
        count: found.len(),
        index,
        interval: index_interval(index, found.len()),
        centred,
        centred_interval: centred_interval(centred, found.len()),
    })
}

/// Simpson steps over ± 8 standard deviations of the mean: 1e-9 of the factor.
const STEPS: u32 = 400;

/// The two-sided tolerance factor: with mean ± k·s of `n` values of a normal run, at least `share`
/// of it is covered, `sure` of the time (ISO 16269-6, exact, both unknown). None for fewer than two.
///
/// Averages over where the mean may lie, z ~ N(0, 1/n), how probable it is that s is large enough
/// to cover there: P(χ² ≥ (n−1)·r(z)²/k²), Φ(z+r) − Φ(z−r) = share.
#[must_use]
pub fn tolerance_factor(n: usize, share: f64, sure: f64) -> Option<f64> {
    let inside = |p: f64| p > 0.0 && p < 1.0;
    if n < 2 || !inside(share) || !inside(sure) {
        return None;
    }
    let n = count(n);
    let f = n - 1.0;
    // r(z) does not depend on k: once for each step.
    let reach = |z: f64| {
        let (mut low, mut high) = (0.0, z + 40.0);
        for _ in 0..80 {
            let r = 0.5 * (low + high);
            if normal_below(z + r) - normal_below(z - r) < share {
                low = r;
            } else {
                high = r;
            }
        }
        0.5 * (low + high)
    };
    let top = 8.0 / libm::sqrt(n);
    let h = top / f64::from(STEPS);
    let nodes: Vec<(f64, f64)> = (0..=STEPS)
        .map(|i| {
            let z = h * f64::from(i);
            let simpson = match i {
                0 | STEPS => 1.0,
                i if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            let density = libm::sqrt(n / core::f64::consts::TAU) * libm::exp(-0.5 * n * z * z);
            // Both signs of z.
            (reach(z), 2.0 * density * simpson * h / 3.0)
        })
        .collect();
    let covered = |k: f64| -> f64 {
        nodes
            .iter()
            .map(|(r, weight)| weight * chi_square(f * r * r / (k * k), f).1)
            .sum()
    };
    let (mut low, mut high) = (0.0, 10.0);
    while covered(high) < sure {
        high *= 2.0;
        if high > 1e9 {
            return None;
        }
    }
    for _ in 0..60 {
        let k = 0.5 * (low + high);
        if covered(k) < sure {
            low = k;
        } else {
            high = k;
        }
    }
    Some(0.5 * (low + high))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[track_caller]
    fn near(found: f64, published: f64, within: f64) {
        assert!(
            (found - published).abs() <= within,
            "{found} instead of {published}"
        );
    }

    /// Bissell's interval: C 1.33 of 20 is 0.883 to 1.777, of 12 0.743 to 1.917 (shared checks L6).
    /// The centred one: C = 24/(6·1.75) = 2.29 of 20 is 1.57 to 3.01 (Montgomery; shared checks L5,
    /// printed lower end 1.57, exact 1.565).
    #[test]
    fn published_intervals() {
        let (low, high) = index_interval(1.33, 20);
        near(low, 0.883, 1e-3);
        near(high, 1.777, 1e-3);
        let (low, high) = index_interval(1.33, 12);
        near(low, 0.743, 1e-3);
        near(high, 1.917, 1e-3);
        let (low, high) = centred_interval(24.0 / (6.0 * 1.75), 20);
        near(low, 1.565, 6e-4);
        near(high, 3.01, 5e-3);
    }

    /// Limits 8 and 20, mean 16, s 2: Cp 1.0, Cpk 0.6667 (NIST e-Handbook 6.1.6; shared checks L4),
    /// as a run along one way about the middle, 14, with a limit of 6. Turned, nothing changes.
    #[test]
    fn the_handbooks_index() {
        // Mean 2 off the middle, standard deviation (n − 1) 2.
        let off: Vec<f64> = [-1.0, -1.0, 0.0, 1.0, 1.0]
            .iter()
            .map(|v| 2.0 + 2.0 * v)
            .collect();
        for turn in [0.0_f64, 45.0, 90.0, 211.5] {
            let (c, s) = (libm::cos(turn.to_radians()), libm::sin(turn.to_radians()));
            let run: Vec<(f64, f64)> = off.iter().map(|v| (c * v, s * v)).collect();
            let found = capability(&run, 6.0).unwrap();
            near(found.index, 0.666_67, 1e-4);
            near(found.centred, 1.0, 1e-4);
        }
        assert_eq!(capability(&[(0.0, 0.0); 4], 6.0), None);
        assert_eq!(capability(&[(1.0, 1.0); 9], 6.0), None);
    }

    /// ISO 16269-6:2014 and Odeh & Owen 1980 (shared checks E12), NIST e-Handbook 7.2.6.3's case
    /// exactly: 2.22283 (shared checks E11).
    #[test]
    fn published_tolerance_factors() {
        let table = [
            (5, 0.95, 0.95, 5.0769),
            (8, 0.95, 0.95, 3.7455),
            (10, 0.95, 0.95, 3.3934),
            (12, 0.95, 0.95, 3.1747),
            (16, 0.95, 0.95, 2.9135),
            (18, 0.95, 0.95, 2.8283),
            (20, 0.95, 0.95, 2.7603),
            (24, 0.95, 0.95, 2.6583),
            (30, 0.95, 0.95, 2.5549),
            (5, 0.99, 0.95, 6.598),
            (8, 0.99, 0.95, 4.8892),
            (10, 0.99, 0.95, 4.4369),
            (12, 0.99, 0.95, 4.1555),
            (16, 0.99, 0.95, 3.8189),
            (18, 0.99, 0.95, 3.7088),
            (20, 0.99, 0.95, 3.621),
            (24, 0.99, 0.95, 3.4888),
            (30, 0.99, 0.95, 3.3546),
            (5, 0.90, 0.95, 4.2906),
            (8, 0.90, 0.95, 3.156),
            (10, 0.90, 0.95, 2.8563),
            (12, 0.90, 0.95, 2.6703),
            (16, 0.90, 0.95, 2.4486),
            (18, 0.90, 0.95, 2.3763),
            (20, 0.90, 0.95, 2.3188),
            (24, 0.90, 0.95, 2.2324),
            (30, 0.90, 0.95, 2.1451),
            (43, 0.90, 0.99, 2.222_83),
        ];
        for (n, share, sure, published) in table {
            near(tolerance_factor(n, share, sure).unwrap(), published, 1e-4);
        }
        assert_eq!(tolerance_factor(1, 0.95, 0.95), None);
    }
}
