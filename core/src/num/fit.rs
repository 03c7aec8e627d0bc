//! Circle, sphere and plane through points.
//!
//! The geometric (orthogonal-distance) fits are the ones to use; the algebraic ones are their
//! start values. On a short arc the two differ grossly (Gander, Golub & Strebel 1994, BIT 34).

use super::cholesky::Symmetric;
use super::least_squares::{Model, Rows, Status, Stop, minimise};
use super::small::eigen;

/// A circle or sphere of dimension `D` fitted to points.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundFit<const D: usize> {
    /// Centre.
    pub centre: [f64; D],
    /// Radius.
    pub radius: f64,
    /// Distance of each point from the centre, less the radius.
    pub off: Vec<f64>,
    /// Sum of the squares of those.
    pub sum_of_squares: f64,
}

/// A plane fitted to points.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaneFit {
    /// A point of it: the mean of the points.
    pub through: [f64; 3],
    /// Unit normal; its largest component is positive.
    pub normal: [f64; 3],
    /// Signed distance of each point from it.
    pub off: Vec<f64>,
}

/// Points that do not give the shape asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FitError {
    /// Fewer points than unknowns.
    #[error("{got} points are too few, {needed} are needed")]
    TooFew {
        /// Points given.
        got: usize,
        /// Points needed.
        needed: usize,
    },
    /// All points lie on one line (for a circle or plane) or in one plane (for a sphere).
    #[error("these points lie too straight to give the shape")]
    TooFlat,
    /// The fit ran away.
    #[error("no shape fits these points best")]
    NoBest,
}

struct Round<'a, const D: usize> {
    points: &'a [[f64; D]],
    scale: f64,
}

impl<const D: usize> Model for Round<'_, D> {
    type Error = FitError;
    fn unknowns(&self) -> usize {
        D + 1
    }
    fn scale(&self) -> Vec<f64> {
        vec![self.scale; D + 1]
    }
    fn rows(&self, x: &[f64], out: &mut Rows) -> Result<(), FitError> {
        out.clear();
        for p in self.points {
            let arm: [f64; D] = core::array::from_fn(|k| p[k] - x[k]);
            let distance = libm::sqrt(arm.iter().map(|a| a * a).sum());
            if distance <= 0.0 {
                return Err(FitError::NoBest);
            }
            // Model: distance − radius = 0; derivatives by centre and radius.
            let mut terms: Vec<(usize, f64)> = arm
                .iter()
                .enumerate()
                .map(|(k, a)| (k, -a / distance))
                .collect();
            terms.push((D, -1.0));
            out.push(&terms, x[D] - distance, 1.0);
        }
        Ok(())
    }
}

/// The algebraic fit that makes Σ(|p|² − 2c·p + |c|² − r²)² least (Kåsa 1976): a start value.
///
/// # Errors
/// [`FitError`] for too few or too flat points.
pub fn algebraic<const D: usize>(points: &[[f64; D]]) -> Result<([f64; D], f64), FitError> {
    if points.len() < D + 1 {
        return Err(FitError::TooFew {
            got: points.len(),
            needed: D + 1,
        });
    }
    let n = points.len() as f64;
    let mean: [f64; D] = core::array::from_fn(|k| points.iter().map(|p| p[k]).sum::<f64>() / n);
    let columns: Vec<usize> = (0..=D).collect();
    let mut normal = Symmetric::zero(D + 1);
    let mut right = vec![0.0; D + 1];
    for p in points {
        let mut row: Vec<f64> = (0..D).map(|k| p[k] - mean[k]).collect();
        let square: f64 = row.iter().map(|x| x * x).sum();
        row.push(1.0);
        normal.add_outer(&columns, &row);
        for (r, x) in right.iter_mut().zip(&row) {
            *r += x * square;
        }
    }
    let solved = normal
        .cholesky(1e-12)
        .map_err(|_| FitError::TooFlat)?
        .solve(&right);
    let from_mean: [f64; D] = core::array::from_fn(|k| solved[k] / 2.0);
    let square: f64 = from_mean.iter().map(|x| x * x).sum::<f64>() + solved[D];
    Ok((
        core::array::from_fn(|k| mean[k] + from_mean[k]),
        libm::sqrt(square.max(0.0)),
    ))
}

/// The circle (D = 2) or sphere (D = 3) that makes the sum of squared distances from it least.
///
/// # Errors
/// [`FitError`] for too few or too flat points, or points that no circle fits best.
pub fn round<const D: usize>(points: &[[f64; D]]) -> Result<RoundFit<D>, FitError> {
    let (centre, radius) = algebraic(points)?;
    let mut start = centre.to_vec();
    start.push(radius);
    let model = Round {
        points,
        scale: radius.max(1e-9),
    };
    let solution = minimise(
        &model,
        &start,
        &Stop {
            most_steps: 500,
            step: 1e-13,
        },
    )?;
    match solution.status {
        Status::Converged | Status::CannotImprove => {}
        Status::BadlyPosed => return Err(FitError::TooFlat),
        Status::GaveUp => return Err(FitError::NoBest),
    }
    let x = &solution.x;
    let off: Vec<f64> = solution.rows.misclosures().iter().map(|m| -m).collect();
    Ok(RoundFit {
        centre: core::array::from_fn(|k| x[k]),
        radius: x[D],
        sum_of_squares: off.iter().map(|v| v * v).sum(),
        off,
    })
}

/// The plane that makes the sum of squared distances from it least.
///
/// # Errors
/// [`FitError`] for too few points or points on one line.
pub fn plane(points: &[[f64; 3]]) -> Result<PlaneFit, FitError> {
    if points.len() < 3 {
        return Err(FitError::TooFew {
            got: points.len(),
            needed: 3,
        });
    }
    let n = points.len() as f64;
    let through: [f64; 3] = core::array::from_fn(|k| points.iter().map(|p| p[k]).sum::<f64>() / n);
    let mut scatter = Symmetric::zero(3);
    for p in points {
        let arm: [f64; 3] = core::array::from_fn(|k| p[k] - through[k]);
        scatter.add_outer(&[0, 1, 2], &arm);
    }
    let pairs = eigen(&scatter);
    if pairs[1].0 <= 1e-12 * pairs[2].0 {
        return Err(FitError::TooFlat);
    }
    let v = &pairs[0].1;
    let largest = v
        .iter()
        .fold(0.0_f64, |m, x| if x.abs() > m.abs() { *x } else { m });
    let normal: [f64; 3] = core::array::from_fn(|k| v[k] * largest.signum());
    let off = points
        .iter()
        .map(|p| (0..3).map(|k| (p[k] - through[k]) * normal[k]).sum())
        .collect();
    Ok(PlaneFit {
        through,
        normal,
        off,
    })
}
