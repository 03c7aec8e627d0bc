//! Weighted nonlinear least squares with covariance: Gauss–Newton, damped after Levenberg and
//! Marquardt where a full step does not help.
//!
//! Rows are sparse (a reading touches few unknowns), the normal matrix is dense and its columns
//! are scaled. Where its pivots say that something may not be held, a pivoted QR of the rows
//! themselves decides, and names the directions that nothing holds.

use super::cholesky::{Cholesky, Symmetric};
use super::normal::Normal;
use super::order::Order;
use super::qr::{Columns, PivotedQr};

/// Pivots of the normal matrix under this share of their diagonal are looked at again by QR.
///
/// The normal matrix squares the condition: 1e-10 here is 1e-5 of the rows, where half the
/// digits are still good. The QR behind it works on the rows themselves.
const DOUBTFUL_PIVOT: f64 = 1e-10;

/// Singular under this share of the largest (design/11, *Ranks*).
const SINGULAR: f64 = 1e-10;

/// Steps shorter than this, in scaled unknowns, are judged by whether the slope falls: the sum of
/// squares is flat to rounding long before the unknowns are good to their last digits.
const CLOSE: f64 = 1e-4;

/// After a full step shorter than this, in scaled unknowns, the factor is kept for the next one:
/// 0.05 mm turn no distance of a workshop by more than a thousandth, so each further step still
/// leaves a thousandth of the last, at a tenth of the work.
const KEEP_FACTOR: f64 = 1e-2;

/// The same where a factor costs far more than a step: a millimetre turns distances by a hundredth.
const KEEP_FACTOR_OF_MANY: f64 = 0.2;

/// As many unknowns are many.
const MANY: usize = 100;

/// How much of the sum of squares rounding may add in such a step.
const FLAT: f64 = 1e-7;

/// Weighted observation rows: each says `values · δ = misclosure`, all divided by the standard
/// deviation.
#[derive(Debug, Clone, Default)]
pub struct Rows {
    starts: Vec<usize>,
    columns: Vec<usize>,
    values: Vec<f64>,
    misclosures: Vec<f64>,
}

impl Rows {
    /// Forgets all rows, keeping the memory.
    pub fn clear(&mut self) {
        self.starts.clear();
        self.columns.clear();
        self.values.clear();
        self.misclosures.clear();
    }
    /// Adds a row: derivatives of the model by some unknowns (in any order, each only once), what
    /// was read less what the model says, and the standard deviation.
    pub fn push(&mut self, terms: &[(usize, f64)], misclosure: f64, sd: f64) {
        let weight = 1.0 / sd;
        self.starts.push(self.columns.len());
        self.misclosures.push(misclosure * weight);
        self.columns.extend(terms.iter().map(|t| t.0));
        self.values.extend(terms.iter().map(|t| t.1 * weight));
    }
    /// Number of rows.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.starts.len()
    }
    /// No rows at all.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.starts.is_empty()
    }
    /// Columns and weighted values of a row; empty past the end.
    #[must_use]
    pub fn row(&self, k: usize) -> (&[usize], &[f64]) {
        let Some(&start) = self.starts.get(k) else {
            return (&[], &[]);
        };
        let end = self
            .starts
            .get(k + 1)
            .copied()
            .unwrap_or(self.columns.len());
        (&self.columns[start..end], &self.values[start..end])
    }
    /// Weighted misclosures, a row each.
    #[must_use]
    pub fn misclosures(&self) -> &[f64] {
        &self.misclosures
    }
    /// Sum of the squares of the weighted misclosures.
    #[must_use]
    pub fn sum_of_squares(&self) -> f64 {
        self.misclosures.iter().map(|x| x * x).sum()
    }
    /// The weighted rows times a column.
    #[must_use]
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        (0..self.len())
            .map(|k| {
                let (columns, values) = self.row(k);
                columns.iter().zip(values).map(|(c, v)| v * x[*c]).sum()
            })
            .collect()
    }
    /// A row, a symmetric matrix and another row multiplied together.
    #[must_use]
    pub fn form(&self, i: usize, q: &Symmetric, j: usize) -> f64 {
        let ((ci, vi), (cj, vj)) = (self.row(i), self.row(j));
        let mut sum = 0.0;
        for (a, x) in ci.iter().zip(vi) {
            for (b, y) in cj.iter().zip(vj) {
                sum += x * q.get(*a, *b) * y;
            }
        }
        sum
    }
    fn scaled_columns(&self, scale: &[f64]) -> Columns {
        let mut columns = vec![vec![0.0; self.len()]; scale.len()];
        for k in 0..self.len() {
            let (at, values) = self.row(k);
            for (c, v) in at.iter().zip(values) {
                columns[*c][k] = v * scale[*c];
            }
        }
        Columns { columns }
    }
}

/// Something to be fitted.
pub trait Model {
    /// Why the model can't be evaluated somewhere.
    type Error;
    /// Number of unknowns.
    fn unknowns(&self) -> usize;
    /// Size of a unit step of each unknown, for scaling.
    fn scale(&self) -> Vec<f64>;
    /// Writes all rows as they are at `x`.
    ///
    /// # Errors
    /// Whatever makes the model meaningless at `x`; the solver then takes a shorter step.
    fn rows(&self, x: &[f64], out: &mut Rows) -> Result<(), Self::Error>;
}

/// How a fit ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// The last step was too short to matter.
    Converged,
    /// No step improves the fit, and the slope is not flat.
    CannotImprove,
    /// Out of steps.
    GaveUp,
    /// Some unknowns are not held by any row.
    BadlyPosed,
}

/// Where a fit ended.
#[derive(Debug, Clone)]
pub struct Solution {
    /// The unknowns.
    pub x: Vec<f64>,
    /// The rows there.
    pub rows: Rows,
    /// How it ended.
    pub status: Status,
    /// Steps taken.
    pub steps: usize,
    /// For [`Status::BadlyPosed`]: the directions not held, in scaled unknowns.
    pub free: Vec<Vec<f64>>,
    scale: Vec<f64>,
    order: Order,
    normal: Normal,
}

impl Solution {
    /// The inverse of the normal matrix where the fit ended, in the unknowns' own units.
    ///
    /// # Errors
    /// The directions that nothing holds, in scaled unknowns.
    pub fn covariance(&self) -> Result<Symmetric, Vec<Vec<f64>>> {
        let (rows, scale, order) = (&self.rows, &self.scale, &self.order);
        let n = scale.len();
        let normal = self.normal.of(rows, scale, order);
        let diagonal: Vec<f64> = (0..n).map(|i| normal.get(i, i)).collect();
        let inverse = normal.cholesky(DOUBTFUL_PIVOT).map(Cholesky::inverse);
        // 1/q is the pivot an unknown would have if it came last: the pivots of one order alone
        // may flatter.
        let sound = inverse.ok().filter(|q| {
            let mut all = diagonal.iter().enumerate();
            all.all(|(i, d)| q.get(i, i) * d * DOUBTFUL_PIVOT < 1.0)
        });
        if let Some(q) = sound {
            return Ok(q.placed(order.places(), scale));
        }
        let mut out = Symmetric::zero(n);
        let qr = PivotedQr::new(rows.scaled_columns(scale), &[], SINGULAR);
        let q = qr.inverse_gram().ok_or_else(|| qr.free_directions())?;
        for i in 0..n {
            for j in 0..=i {
                out.set(i, j, q.get(i, j) * scale[i] * scale[j]);
            }
        }
        Ok(out)
    }
}

/// When to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// Steps before giving up.
    pub most_steps: usize,
    /// A step shorter than this, in scaled unknowns, is too short to matter.
    pub step: f64,
}

impl Default for Stop {
    fn default() -> Self {
        Self {
            most_steps: 100,
            step: 1e-10,
        }
    }
}

/// Fits the model from a start.
///
/// # Errors
/// The model's own error when it can't be evaluated at the start.
pub fn minimise<M: Model>(model: &M, start: &[f64], stop: &Stop) -> Result<Solution, M::Error> {
    let scale = model.scale();
    let n = model.unknowns();
    let mut x = start.to_vec();
    let mut rows = Rows::default();
    model.rows(&x, &mut rows)?;
    let order = Order::of(&rows, n);
    let mut gradient = slope(&rows, &scale);
    let mut trial_rows = Rows::default();
    let mut solver = Solver::default();
    let keep = if n < MANY {
        KEEP_FACTOR
    } else {
        KEEP_FACTOR_OF_MANY
    };
    let mut free = Vec::new();
    let mut damping = 0.0_f64;
    let mut last = f64::INFINITY;
    let mut steps = 0;
    let status = loop {
        if steps >= stop.most_steps {
            break Status::GaveUp;
        }
        let step = match solver.step(&rows, &scale, &order, &gradient, damping) {
            Step::Found(step) => step,
            Step::Free(directions) => {
                free = directions;
                break Status::BadlyPosed;
            }
        };
        steps += 1;
        let longest = largest(&step);
        // Nothing below a few units in the last place of the unknowns themselves can be resolved.
        let grain = x
            .iter()
            .zip(&scale)
            .fold(0.0_f64, |m, (x, s)| m.max((x / s).abs()))
            * 1e-15;
        let shortest = stop.step.max(grain);
        let trial: Vec<f64> = x
            .iter()
            .zip(&step)
            .zip(&scale)
            .map(|((x, d), s)| x + d * s)
            .collect();
        trial_rows.clear();
        let usable = longest.is_finite() && model.rows(&trial, &mut trial_rows).is_ok();
        let (before, after) = (rows.sum_of_squares(), trial_rows.sum_of_squares());
        let mut better = usable && after <= before;
        let close = usable && longest <= CLOSE && after <= before * (1.0 + FLAT) + 1e-18;
        let mut next = None;
        if close || better {
            let there = slope(&trial_rows, &scale);
            if close {
                better = largest(&there) <= 0.9 * largest(&gradient);
            }
            next = Some(there);
        }
        // What is still missing after a full step, when steps shrink at this rate.
        let rate = if damping <= 0.0 { longest / last } else { 1.0 };
        let missing = if rate < 0.1 {
            longest * rate / (1.0 - rate)
        } else {
            longest
        };
        let last_digits = close && missing <= shortest && damping <= 1.0;
        if let (true, Some(there)) = (better || last_digits, next) {
            x = trial;
            core::mem::swap(&mut rows, &mut trial_rows);
            gradient = there;
            if last_digits {
                break Status::Converged;
            }
            last = if damping <= 0.0 {
                longest
            } else {
                f64::INFINITY
            };
            solver.moved(damping <= 0.0 && longest <= keep && rate < 0.1);
            damping = if damping < 1e-6 { 0.0 } else { damping / 5.0 };
        } else if solver.is_stale() {
            solver.moved(false);
        } else {
            if close && longest <= 1e3 * shortest {
                // The slope no longer falls, at the last digits: rounding is all that is left.
                break Status::Converged;
            }
            damping = if damping <= 0.0 { 1e-4 } else { damping * 10.0 };
            if damping > 1e12 {
                break Status::CannotImprove;
            }
        }
    };
    Ok(Solution {
        x,
        rows,
        status,
        steps,
        free,
        scale,
        order,
        normal: solver.normal,
    })
}

fn largest(x: &[f64]) -> f64 {
    x.iter().fold(0.0_f64, |m, x| {
        if x.is_finite() {
            m.max(x.abs())
        } else {
            f64::INFINITY
        }
    })
}

enum Step {
    Found(Vec<f64>),
    Free(Vec<Vec<f64>>),
}

/// Jᵀr of the scaled unknowns.
fn slope(rows: &Rows, scale: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; scale.len()];
    for (k, misclosure) in rows.misclosures.iter().enumerate() {
        let (columns, values) = rows.row(k);
        for (c, v) in columns.iter().zip(values) {
            out[*c] += v * misclosure;
        }
    }
    for (x, s) in out.iter_mut().zip(scale) {
        *x *= s;
    }
    out
}

/// The normal matrix and its factor, kept for as long as they are good enough.
#[derive(Default)]
struct Solver {
    normal: Normal,
    factor: Cholesky,
    /// The matrix is that of the rows, here or a short way back.
    formed: bool,
    /// The factor is that of the undamped matrix, here or a short way back.
    factored: bool,
    /// The unknowns have moved since the matrix was formed.
    stale: bool,
}

impl Solver {
    /// The unknowns have moved; by so little, if `keep`, that the old factor still serves.
    fn moved(&mut self, keep: bool) {
        if keep && self.factored {
            self.stale = true;
        } else {
            (self.formed, self.factored, self.stale) = (false, false, false);
        }
    }

    const fn is_stale(&self) -> bool {
        self.stale
    }

    fn step(
        &mut self,
        rows: &Rows,
        scale: &[f64],
        order: &Order,
        gradient: &[f64],
        damping: f64,
    ) -> Step {
        if !self.formed {
            self.normal.form(rows, scale, order);
            self.formed = true;
        }
        let normal = self.normal.matrix();
        if damping > 0.0 {
            let mut damped = normal.clone();
            let floor = 1e-12 * normal.largest_diagonal();
            for i in 0..scale.len() {
                damped.add(i, i, damping * normal.get(i, i).max(floor));
            }
            self.factored = false;
            if damped.factor_into(0.0, &mut self.factor).is_ok() {
                return Step::Found(order.solve(&self.factor, gradient));
            }
        } else {
            self.factored =
                self.factored || normal.factor_into(DOUBTFUL_PIVOT, &mut self.factor).is_ok();
            if self.factored {
                return Step::Found(order.solve(&self.factor, gradient));
            }
        }
        let qr = PivotedQr::new(rows.scaled_columns(scale), &rows.misclosures, SINGULAR);
        if qr.rank() < scale.len() {
            return Step::Free(qr.free_directions());
        }
        let shrink = 1.0 / (1.0 + damping);
        Step::Found(qr.solve().iter().map(|s| s * shrink).collect())
    }
}
