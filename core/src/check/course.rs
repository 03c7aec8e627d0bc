//! Whether a run stays, drifts, or stepped where something is known to have happened.
//!
//! ```text
//!   drift          step at a repair
//!       . ·             · · ·
//!     ·          · · ·
//!   ·                 |
//! ```
//! A step is only looked for where its cause is known (a mould repaired, another template): looked
//! for everywhere, chance would always offer one.

use super::line::{LEAST, chance, count, largest, line};
use serde::{Deserialize, Serialize};

/// What is this improbable without a cause is taken to have one.
const RARE: f64 = 0.05;
/// Two explanations with as many numbers each are told apart when their AIC differs by more than
/// this: n·ln of what they leave over (Burnham & Anderson 2002, §2.6).
const TELLS_APART: f64 = 2.0;
/// A group of one has no scatter of its own.
const LEAST_EACH: usize = 2;

/// How those after something happened differ from those before.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Mean after less mean before.
    pub by: f64,
    /// How probable that is where nothing happened: Student's two-sample test with a common scatter.
    pub by_chance: f64,
    /// What two means leave over: the sum of squares.
    pub left_over: f64,
}

/// Means before and after compared; none where either side has fewer than two, or both fewer than
/// five.
#[must_use]
pub fn step(values: &[f64], after: &[bool]) -> Option<Step> {
    let side = |which: bool| -> Vec<f64> {
        let both = values.iter().zip(after);
        both.filter(|(_, a)| **a == which)
            .map(|(v, _)| *v)
            .collect()
    };
    let (before, since) = (side(false), side(true));
    let (n, m) = (count(before.len()), count(since.len()));
    if before.len().min(since.len()) < LEAST_EACH
        || values.len() < LEAST
        || values.len() != after.len()
        || values.iter().any(|v| !v.is_finite())
    {
        return None;
    }
    let mean = |of: &[f64], n: f64| of.iter().sum::<f64>() / n;
    let (was, is) = (mean(&before, n), mean(&since, m));
    let spread = |of: &[f64], mean: f64| of.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>();
    let left_over = spread(&before, was) + spread(&since, is);
    let f = n + m - 2.0;
    let sd = libm::sqrt(left_over / f * (1.0 / n + 1.0 / m));
    Some(Step {
        by: is - was,
        by_chance: chance(is - was, sd, f, largest(values.iter())),
        left_over,
    })
}

/// What one number does over the run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Course {
    /// Nothing that chance would not do.
    Steady,
    /// It changes from place to place by this much.
    Drifts(f64),
    /// It changed by this much where one of the divisions is: its index.
    Stepped(usize, f64),
    /// It changes, and these few can't tell a drift of so much a place from such a step.
    Either(f64, usize, f64),
}

/// What a run does: values at their places, and for each thing that happened which came after it.
///
/// The slope is tested at 5 %, the steps at 5 % together (Bonferroni). Where both would be rare by
/// chance, whichever leaves clearly less over is said, and both where neither does.
#[must_use]
pub fn course(run: &[(f64, f64)], divisions: &[Vec<bool>]) -> Course {
    if run.len() < LEAST {
        return Course::Steady;
    }
    let values: Vec<f64> = run.iter().map(|r| r.1).collect();
    let steps: Vec<(usize, Step)> = divisions
        .iter()
        .enumerate()
        .filter_map(|(k, after)| Some((k, step(&values, after)?)))
        .collect();
    let tested = count(steps.len());
    let best = steps
        .iter()
        .filter(|(_, s)| s.by_chance * tested < RARE)
        .fold(None::<&(usize, Step)>, |best, one| match best {
            Some(b) if b.1.left_over <= one.1.left_over => best,
            _ => Some(one),
        });
    let line = line(run);
    let drift = line.filter(|l| l.by_chance.is_some_and(|p| p < RARE));
    match (drift, best) {
        (None, None) => Course::Steady,
        (Some(l), None) => Course::Drifts(l.slope),
        (None, Some((k, s))) => Course::Stepped(*k, s.by),
        (Some(l), Some((k, s))) => {
            // Ratios rather than logarithms: either may leave nothing over.
            let clearly = libm::exp(TELLS_APART / count(run.len()));
            if s.left_over * clearly <= l.left_over {
                Course::Stepped(*k, s.by)
            } else if l.left_over * clearly <= s.left_over {
                Course::Drifts(l.slope)
            } else {
                Course::Either(l.slope, *k, s.by)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(values: &[f64]) -> Vec<(f64, f64)> {
        (0..).map(f64::from).zip(values.iter().copied()).collect()
    }

    fn half(n: usize) -> Vec<bool> {
        (0..n).map(|k| 2 * k >= n).collect()
    }

    /// Little noise that adds up to nought over any four.
    fn noise(k: u32) -> f64 {
        0.1 * f64::from([1, -1, -1, 1][(k % 4) as usize])
    }

    #[test]
    fn a_step_is_no_drift_and_a_drift_no_step() {
        let stepped: Vec<f64> = (0..12)
            .map(|k| noise(k) + if k < 6 { 0.0 } else { 1.0 })
            .collect();
        let drifting: Vec<f64> = (0..12).map(|k| noise(k) + 0.15 * f64::from(k)).collect();
        let nothing: Vec<f64> = (0..12).map(noise).collect();
        assert!(matches!(
            course(&at(&stepped), &[half(12)]),
            Course::Stepped(0, by) if (by - 1.0).abs() < 0.1
        ));
        assert!(matches!(
            course(&at(&drifting), &[half(12)]),
            Course::Drifts(by) if (by - 0.15).abs() < 0.02
        ));
        assert_eq!(course(&at(&nothing), &[half(12)]), Course::Steady);
        // Without a cause a step is said as what it also looks like.
        assert!(matches!(course(&at(&stepped), &[]), Course::Drifts(_)));
        // Six with a step in the middle look like a drift too.
        let few: Vec<f64> = [0.0, 0.3, 0.1, 0.7, 0.9, 1.2].to_vec();
        assert!(matches!(course(&at(&few), &[half(6)]), Course::Either(..)));
    }

    #[test]
    fn a_handful_or_one_alone_says_nothing() {
        assert_eq!(
            course(&at(&[0.0, 0.0, 9.0, 9.0]), &[half(4)]),
            Course::Steady
        );
        let one = [false, false, false, false, false, true];
        assert_eq!(step(&[0.0, 0.1, 0.0, 0.1, 0.0, 5.0], &one), None);
        assert_eq!(step(&[0.0; 6], &[true]), None);
    }

    /// Every piece read alike: the means round differently, and nothing changed.
    #[test]
    fn what_is_all_alike_is_steady() {
        for tenths in -60..=60 {
            for n in 5..=24_usize {
                let values = vec![f64::from(tenths) * 0.1; n];
                let divisions: Vec<Vec<bool>> = (2..n - 1)
                    .map(|from| (0..n).map(|k| k >= from).collect())
                    .collect();
                for division in &divisions {
                    let one = std::slice::from_ref(division);
                    assert_eq!(course(&at(&values), one), Course::Steady, "{tenths} {n}");
                }
            }
        }
    }

    /// Which of several divisions it was, by what each leaves over.
    #[test]
    fn the_cause_that_fits_best_is_named() {
        let values: Vec<f64> = (0..12)
            .map(|k| noise(k) + if k < 4 { 0.0 } else { 2.0 })
            .collect();
        let at_four: Vec<bool> = (0..12).map(|k| k >= 4).collect();
        assert!(matches!(
            course(&at(&values), &[half(12), at_four]),
            Course::Stepped(1, _)
        ));
    }
}
