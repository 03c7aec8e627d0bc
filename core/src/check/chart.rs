//! A run in its order: individuals and moving range, and whether it drifts.

use super::line::{LEAST, count, line};
use serde::{Deserialize, Serialize};

/// 3/d₂ for ranges of two, as printed (ASTM E2587; NIST e-Handbook 6.3.2.2).
const E2: f64 = 2.66;
/// The limit of a moving range of two over its mean, as printed (ASTM E2587).
const D4: f64 = 3.267;
/// A slope this improbable without a drift is called one.
const DRIFT: f64 = 0.05;

/// A chart of one number over the run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Chart {
    /// The mean.
    pub centre: f64,
    /// The mean moving range.
    pub moving_range: f64,
    /// Lower and upper limit of what this run does by itself; none of a handful.
    pub limits: Option<(f64, f64)>,
    /// Upper limit of the step from one to the next; none of a handful.
    pub range_limit: Option<f64>,
    /// Change from one place in the run to the next, by least squares.
    pub slope: f64,
    /// How probable such a slope is where nothing drifts; none of a handful.
    pub by_chance: Option<f64>,
}

impl Chart {
    /// It drifts: such a slope would be rare by chance.
    #[must_use]
    pub fn drifts(&self) -> bool {
        self.by_chance.is_some_and(|p| p < DRIFT)
    }
}

/// The chart of values in their order, each with its place in the run: places left out count in
/// the slope. `None` for fewer than two.
#[must_use]
pub fn chart(run: &[(u32, f64)]) -> Option<Chart> {
    let values: Vec<f64> = run.iter().map(|r| r.1).collect();
    let places: Vec<(f64, f64)> = run.iter().map(|r| (f64::from(r.0), r.1)).collect();
    let line = line(&places)?;
    let n = count(values.len());
    let centre = values.iter().sum::<f64>() / n;
    let ranges = values.windows(2).map(|w| match w {
        [a, b] => (b - a).abs(),
        _ => 0.0,
    });
    let moving_range = ranges.sum::<f64>() / (n - 1.0);
    let enough = values.len() >= LEAST;
    Some(Chart {
        centre,
        moving_range,
        limits: enough.then_some((centre - E2 * moving_range, centre + E2 * moving_range)),
        range_limit: enough.then_some(D4 * moving_range),
        slope: line.slope,
        by_chance: line.by_chance,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One a place, none left out.
    fn chart(values: &[f64]) -> Option<Chart> {
        super::chart(&(0..).zip(values.iter().copied()).collect::<Vec<_>>())
    }

    /// NIST/SEMATECH e-Handbook 6.3.2.2, flow rates: centre 50.81, mean moving range 1.8778, limits
    /// 55.8041 and 45.8159 (shared checks L2).
    #[test]
    fn the_handbooks_chart() {
        let rates = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
        let c = chart(&rates).unwrap_or_else(|| unreachable!("ten values"));
        assert!((c.centre - 50.81).abs() < 5e-5 && (c.moving_range - 1.8778).abs() < 5e-5);
        let (low, high) = c.limits.unwrap_or_default();
        // 3.267 · 1.8778 = 6.1347, as printed there.
        assert!(c.range_limit.is_some_and(|r| (r - 6.1347).abs() < 5e-4));
        // The handbook divides by d₂ = 1.128, the printed 2.66 is its rounded inverse.
        assert!((high - 55.8041).abs() < 2e-3 && (low - 45.8159).abs() < 2e-3);
    }

    /// Slope, and its significance by hand: 1, 2, 3, 4, 6 has slope 1.2, s² = 0.4/3, t = 10.39 on 3
    /// degrees of freedom; two-sided p from the t table (JCGM 100 Table G.2) is under 0.01.
    #[test]
    fn a_drift_is_told_from_chance() {
        let c = chart(&[1.0, 2.0, 3.0, 4.0, 6.0]).unwrap_or_else(|| unreachable!("five"));
        assert!((c.slope - 1.2).abs() < 1e-12);
        assert!(c.drifts() && c.by_chance.is_some_and(|p| p < 0.01));
        let c = chart(&[1.0, -1.0, 1.0, -1.0, 1.0, -1.0]).unwrap_or_else(|| unreachable!("six"));
        assert!(!c.drifts());
    }

    /// Every third piece checked, 0.3 more each time: 0.1 a piece.
    #[test]
    fn places_left_out_count_in_the_slope() {
        let run: Vec<(u32, f64)> = (0..6).map(|k| (3 * k, 0.3 * f64::from(k))).collect();
        let c = super::chart(&run).unwrap_or_else(|| unreachable!("six"));
        assert!((c.slope - 0.1).abs() < 1e-12 && c.drifts());
    }

    #[test]
    fn a_handful_has_no_limits() {
        assert_eq!(chart(&[1.0]), None);
        let c = chart(&[1.0, 2.0, 1.0]).unwrap_or_else(|| unreachable!("three"));
        assert_eq!((c.limits, c.by_chance, c.drifts()), (None, None, false));
    }
}
