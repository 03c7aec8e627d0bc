//! A straight line through a run, and a mean of it, each with how probable it is by chance.

use crate::num::distribution::{student, student_quantile};
use serde::{Deserialize, Serialize};

/// Fewer values than these say nothing of a run (common practice, no source).
pub(super) const LEAST: usize = 5;

/// Sums of a few hundred values round by less than this share of the largest.
const ROUNDING: f64 = 1e-12;

/// The size of the largest value.
pub(super) fn largest<'a>(values: impl Iterator<Item = &'a f64>) -> f64 {
    values.fold(0.0, |most, v| most.max(v.abs()))
}

/// A least-squares line through values at their places.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// Change of the value from one place to the next.
    pub slope: f64,
    /// How probable a slope at least as steep is where nothing changes (two-sided t test); none for
    /// fewer than five values.
    pub by_chance: Option<f64>,
    /// What the line leaves over: the sum of squares.
    pub left_over: f64,
}

pub(super) fn count(n: usize) -> f64 {
    #[expect(
        clippy::cast_precision_loss,
        reason = "a run has a few hundred at most"
    )]
    let n = n as f64;
    n
}

/// How probable a deviation of `by` with standard error `sd` is, either way, with `f` degrees of
/// freedom; a deviation without any scatter is certain, and what is no more than the rounding of
/// values `of` such a size is no deviation.
pub(super) fn chance(by: f64, sd: f64, f: f64, of: f64) -> f64 {
    if by.abs() <= ROUNDING * of {
        1.0
    } else if sd > 0.0 {
        2.0 * student((by / sd).abs(), f).1
    } else {
        0.0
    }
}

/// The line through values at their places (draws no line through fewer than two, or through one
/// place alone).
#[must_use]
pub fn line(run: &[(f64, f64)]) -> Option<Line> {
    let n = count(run.len());
    if run.len() < 2 || run.iter().any(|(x, y)| !x.is_finite() || !y.is_finite()) {
        return None;
    }
    let middle = run.iter().map(|r| r.0).sum::<f64>() / n;
    let centre = run.iter().map(|r| r.1).sum::<f64>() / n;
    let (mut sxx, mut sxy) = (0.0, 0.0);
    for (x, y) in run {
        sxx += (x - middle) * (x - middle);
        sxy += (x - middle) * (y - centre);
    }
    if sxx <= 0.0 {
        return None;
    }
    let slope = sxy / sxx;
    let left_over = run
        .iter()
        .map(|(x, y)| {
            let off = y - centre - slope * (x - middle);
            off * off
        })
        .sum();
    let by_chance = (run.len() >= LEAST).then(|| {
        let f = n - 2.0;
        let of = largest(run.iter().map(|(_, y)| y)) / libm::sqrt(sxx);
        chance(slope, libm::sqrt(left_over / f / sxx), f, of)
    });
    Some(Line {
        slope,
        by_chance,
        left_over,
    })
}

/// A mean of a run with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Mean {
    /// How many values.
    pub count: usize,
    /// The mean.
    pub mean: f64,
    /// The standard deviation of the values, n − 1.
    pub sd: f64,
    /// Half the 95 % interval of the mean (Student).
    pub half: f64,
    /// How probable a mean as far from nought is where it is nought (two-sided t test).
    pub by_chance: f64,
}

/// The mean of at least two values.
#[must_use]
pub fn mean(values: &[f64]) -> Option<Mean> {
    let n = count(values.len());
    if values.len() < 2 || values.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let mean = values.iter().sum::<f64>() / n;
    let sd = libm::sqrt(values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0));
    let error = sd / libm::sqrt(n);
    Some(Mean {
        count: values.len(),
        mean,
        sd,
        half: student_quantile(0.975, n - 1.0) * error,
        by_chance: chance(mean, error, n - 1.0, 0.0),
    })
}
