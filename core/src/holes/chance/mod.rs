//! The chance that every bolt of a pattern enters, before anything is drilled.
//!
//! Each hole is off by an error in x and one in y, evenly spread within ± a bound for each part:
//! those are its own. What was measured, and how a template lay, moves all holes together
//! ([`Alike`]). With the bracket held where it is, the holes are independent once the common move
//! is known: their chances multiply, and the products are averaged over a fixed sequence of common
//! moves (the fractional parts of multiples of √prime as quantiles), so that the same question
//! always has the same answer. Where the bracket may shift and turn, it follows what moves all
//! holes together as one, and trial patterns of their own errors are tried.

mod alone;
mod give;
mod spread;

use crate::frames::{Frame, Vector2};
use crate::num::distribution::normal_quantile;
use crate::units::Length;
use alone::{one_enters, one_enters_off};
use give::some_place_fits;
use spread::sum_quantile;

/// How a set of holes comes about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// Each hole set out and marked on the piece.
    Marked,
    /// Marked through a full-size paper pattern.
    Templated,
    /// Drilled through a bushed plate.
    Jigged,
    /// Drilled through the bracket itself.
    ThroughTheBracket,
}

/// All methods, the least trouble first.
pub const METHODS: [Method; 4] = [
    Method::Marked,
    Method::Templated,
    Method::Jigged,
    Method::ThroughTheBracket,
];

impl Method {
    /// How far a hole may come out from where it should be, each way (design/10 §1.6; the paper
    /// pattern halfway between: common practice, no source).
    #[must_use]
    pub const fn within(self) -> Length {
        Length::from_mm(match self {
            Self::Marked => 1.0,
            Self::Templated => 0.6,
            Self::Jigged => 0.3,
            Self::ThroughTheBracket => 0.2,
        })
    }
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Marked => "marked out",
            Self::Templated => "marked through a paper pattern",
            Self::Jigged => "drilled through a jig",
            Self::ThroughTheBracket => "drilled through the bracket",
        }
    }
}

/// Whether the bracket may still give way when the bolts go in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bracket {
    /// It must stay: the locating dimension is held.
    Stays,
    /// It may shift and turn a little.
    MayMove,
}

/// What decides whether bolts enter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Budget {
    /// How far two axes may be apart ([`super::fit::may_be_apart`]).
    pub apart: Length,
    /// Errors of one part's holes: ± this in x and in y.
    pub one: Length,
    /// Errors of the other's.
    pub other: Length,
}

/// What moves the holes of a pattern together: measuring, laying on, printing.
#[derive(Debug, Clone, PartialEq)]
pub struct Alike<F: Frame> {
    /// Known: how far each hole is off, in the order of the holes; none: nothing is.
    pub known: Vec<Vector2<F>>,
    /// Independent normal causes: how far each moves every hole at one standard deviation.
    pub causes: Vec<Vec<Vector2<F>>>,
}

impl<F: Frame> Default for Alike<F> {
    fn default() -> Self {
        Self {
            known: Vec::new(),
            causes: Vec::new(),
        }
    }
}

impl<F: Frame> Alike<F> {
    /// The causes in a covariance of shift (mm) and turn (rad) about the pattern's middle, lower
    /// triangle by rows: xx, yx, yy, tx, ty, tt.
    #[must_use]
    pub fn of_pose(holes: &[Vector2<F>], spread: [f64; 6]) -> Self {
        let [xx, yx, yy, tx, ty, tt] = spread;
        // Cholesky; a direction without spread moves nothing.
        let over = |a: f64, b: f64| if b > 0.0 { a / b } else { 0.0 };
        let a = libm::sqrt(xx.max(0.0));
        let (b, d) = (over(yx, a), over(tx, a));
        let c = libm::sqrt((yy - b * b).max(0.0));
        let e = over(ty - d * b, c);
        let f = libm::sqrt((tt - d * d - e * e).max(0.0));
        let cause = |x: f64, y: f64, turn: f64| {
            let moved = |at: &Vector2<F>| Vector2::from_mm(x, y) + at.perp() * turn;
            holes.iter().map(moved).collect()
        };
        Self {
            known: Vec::new(),
            causes: vec![cause(a, b, d), cause(0.0, c, e), cause(0.0, 0.0, f)],
        }
    }

    fn is_nothing(&self) -> bool {
        let mut all = self.causes.iter().flatten().chain(&self.known);
        all.all(|v| v.norm_mm() < 1e-9)
    }

    /// Where hole `k` goes when each cause is so many deviations out.
    fn of_hole(&self, k: usize, deviations: &[f64]) -> Vector2<F> {
        let known = self.known.get(k).copied().unwrap_or(Vector2::ZERO);
        self.causes
            .iter()
            .zip(deviations)
            .filter_map(|(cause, z)| Some(*cause.get(k)? * *z))
            .fold(known, |sum, v| sum + v)
    }
}

/// Trial patterns where the bracket may move.
const TRIALS: u32 = 4096;
/// Common moves tried where it stays.
const MOVES: u32 = 1024;

/// The chance that all bolts of a pattern enter, 0 to 1. Same inputs, same answer.
#[must_use]
pub fn all_enter<F: Frame>(
    holes: &[Vector2<F>],
    budget: Budget,
    alike: &Alike<F>,
    bracket: Bracket,
) -> f64 {
    if holes.is_empty() {
        return 1.0;
    }
    if bracket == Bracket::Stays && !alike.is_nothing() {
        return moved_together(holes.len(), budget, alike);
    }
    let alone = one_enters(budget);
    if bracket == Bracket::Stays || alone >= 1.0 {
        return holes.iter().fold(1.0, |p, _| p * alone);
    }
    let axes: Vec<f64> = steps(2 * holes.len());
    let (a, b) = (budget.one.mm().abs(), budget.other.mm().abs());
    let limit = budget.apart.mm();
    let mut off = vec![Vector2::<F>::ZERO; holes.len()];
    let mut entered = 0_u32;
    for trial in 1..=TRIALS {
        for (k, hole) in off.iter_mut().enumerate() {
            let part = |i: usize| {
                let x = 0.5 + axes.get(2 * k + i).copied().unwrap_or(0.0) * f64::from(trial);
                sum_quantile(x - libm::floor(x), a, b)
            };
            *hole = Vector2::from_mm(part(0), part(1));
        }
        if some_place_fits(holes, &off, limit) {
            entered += 1;
        }
    }
    f64::from(entered) / f64::from(TRIALS)
}

/// The first method, least trouble first, that brings the chance to `wanted`; with every chance.
/// `other` is how the bracket's own holes are: ± in x and y; `alike` what moves all holes together
/// by each method, and nothing for one that can't be used here.
#[must_use]
pub fn enough<F: Frame>(
    holes: &[Vector2<F>],
    apart: Length,
    other: Length,
    alike: impl Fn(Method) -> Option<Alike<F>>,
    wanted: f64,
) -> (Vec<(Method, f64)>, Option<Method>) {
    let each = METHODS.into_iter().filter_map(|method| {
        let alike = alike(method)?;
        // Holes drilled through the bracket carry the bracket's own errors with them.
        let other = if method == Method::ThroughTheBracket {
            Length::ZERO
        } else {
            other
        };
        let budget = Budget {
            apart,
            one: method.within(),
            other,
        };
        let chance = all_enter(holes, budget, &alike, Bracket::Stays);
        Some((method, chance))
    });
    let chances: Vec<(Method, f64)> = each.collect();
    let first = chances.iter().find(|(_, p)| *p >= wanted).map(|(m, _)| *m);
    (chances, first)
}

/// The chance that all enter, averaged over what moves them together.
fn moved_together<F: Frame>(holes: usize, budget: Budget, alike: &Alike<F>) -> f64 {
    let axes = steps(alike.causes.len());
    let mut sum = 0.0;
    for trial in 1..=MOVES {
        let deviations: Vec<f64> = axes
            .iter()
            .map(|a| {
                let x = 0.5 + a * f64::from(trial);
                // Away from the ends, where a quantile has no bound.
                normal_quantile((x - libm::floor(x)).clamp(1e-6, 1.0 - 1e-6))
            })
            .collect();
        let mut all = 1.0;
        for k in 0..holes {
            all *= one_enters_off(budget, alike.of_hole(k, &deviations));
            if all <= 0.0 {
                break;
            }
        }
        sum += all;
    }
    sum / f64::from(MOVES)
}

/// Fractional parts of √2, √3, √5, …: axes of a sequence that fills its cube evenly.
fn steps(count: usize) -> Vec<f64> {
    let mut primes: Vec<u32> = Vec::new();
    let mut n = 2;
    while primes.len() < count {
        if primes.iter().all(|p| n % p != 0) {
            primes.push(n);
        }
        n += 1;
    }
    primes
        .into_iter()
        .map(|p| {
            let root = libm::sqrt(f64::from(p));
            root - libm::floor(root)
        })
        .collect()
}

#[cfg(test)]
mod tests;
