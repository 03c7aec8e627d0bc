//! What the readings leave free, found from the readings themselves and said in words.

use super::adjusted::PointResult;
use super::error::{AdjustError, NotHeld, Remedy};
use super::model::{FaceModel, LENGTH_STEP_MM};
use super::motion::Coefficients;
use crate::num::least_squares::{Model, Rows};
use crate::num::small::{eigen2, right_singular};
use crate::units::{Angle, Length};

/// A motion is free when no reading changes by more than this share of what it would change by
/// if a mark moved alone. Rounding leaves 1e-15, the slightest real curvature over 1e-8.
const FREE: f64 = 1e-9;

/// A mark takes part in a free direction when it moves more than this share of the most moved.
const TAKES_PART: f64 = 1e-3;

/// Combinations of the three generators that no row sees at the nominal configuration, or that
/// the rows hold worse than `weak` (standard deviation of the marks' shift, root mean square).
pub(super) fn free_motions(
    model: &FaceModel<'_>,
    weak: Option<Length>,
) -> Result<Vec<Coefficients>, AdjustError> {
    let mut rows = Rows::default();
    model.seen_rows(model.nominal, &mut rows)?;
    let scale = model.scale();
    let state = model.state(model.nominal)?;
    let unit = |k: usize| core::array::from_fn(|i| if i == k { 1.0 } else { 0.0 });
    let moves = model.motions(&state, &[unit(0), unit(1), unit(2)]);
    let scaled: Vec<Vec<f64>> = moves
        .iter()
        .map(|g| g.iter().zip(&scale).map(|(x, s)| x / s).collect())
        .collect();
    // Motions that move none of the unknowns (about a single free mark) are no motions.
    let singular = right_singular(&scaled);
    let largest = singular.last().map_or(0.0, |s| s.0);
    let basis: Vec<Coefficients> = singular
        .iter()
        .filter(|(size, _)| *size > FREE * largest && *size > 0.0)
        .map(|(size, v)| core::array::from_fn(|i| v[i] / size))
        .collect();
    let combine = |c: &[f64]| -> Vec<f64> {
        (0..scale.len())
            .map(|i| (0..3).map(|k| moves[k][i] * c[k]).sum())
            .collect()
    };
    let seen: Vec<Vec<f64>> = basis.iter().map(|c| rows.times(&combine(c))).collect();
    let strongest = (0..rows.len())
        .map(|k| {
            let (columns, values) = rows.row(k);
            let square: f64 = columns
                .iter()
                .zip(values)
                .map(|(c, v)| v * v * scale[*c] * scale[*c])
                .sum();
            libm::sqrt(square)
        })
        .fold(0.0, f64::max);
    // A unit of a motion shifts the marks by one step of length, shared out among them.
    let marks = model.layout.points.iter().flatten().count().max(1) as f64;
    let faint = weak.map_or(0.0, |limit| {
        LENGTH_STEP_MM / (libm::sqrt(marks) * limit.mm().max(f64::MIN_POSITIVE))
    });
    Ok(right_singular(&seen)
        .iter()
        .filter(|(size, _)| *size <= (FREE * strongest).max(faint))
        .map(|(_, v)| core::array::from_fn(|i| basis.iter().zip(v).map(|(b, w)| b[i] * w).sum()))
        .collect())
}

/// Names what free directions (in scaled unknowns) move.
///
/// A free direction comes mixed with the motions that are held by all marks together: the
/// fewest marks that move are found by making the sum of the shifts least (reweighted least
/// squares; Schlossmacher 1973, J. Amer. Statist. Assoc. 68:857-859).
pub(super) fn name_free(
    model: &FaceModel<'_>,
    x: &[f64],
    free: &[Vec<f64>],
) -> Result<Vec<NotHeld>, AdjustError> {
    let scale = model.scale();
    let state = model.state(x)?;
    let moves: Vec<Vec<f64>> = model
        .motions(&state, model.free)
        .iter()
        .map(|g| g.iter().zip(&scale).map(|(x, s)| x / s).collect())
        .collect();
    let directions: Vec<Vec<f64>> = free.iter().map(|z| sparsest(model, z, &moves)).collect();
    let layout = model.layout;
    let takes = |at: usize| directions.iter().any(|z| z[at].abs() > TAKES_PART);
    let mut out = Vec::new();
    for (index, at) in layout.points.iter().enumerate() {
        let Some(k) = *at else { continue };
        if !takes(k) && !takes(k + 1) {
            continue;
        }
        let mut scatter = [0.0; 3];
        for z in &directions {
            scatter[0] += z[k] * z[k];
            scatter[1] += z[k] * z[k + 1];
            scatter[2] += z[k + 1] * z[k + 1];
        }
        let [(least, _), (most, along)] = eigen2(scatter[0], scatter[1], scatter[2]);
        let along = (least < 1e-6 * most).then(|| Angle::from_rad(libm::atan2(along[1], along[0])));
        let places: Vec<PointResult> = state
            .points
            .iter()
            .map(|at| PointResult {
                at: *at,
                worst: Length::ZERO,
                worst_along: Angle::ZERO,
                by_drawing: 0.0,
            })
            .collect();
        let would_hold = remedy(&places, index, along.unwrap_or(Angle::ZERO), model.reach_mm);
        out.push(NotHeld::Point {
            index,
            along,
            would_hold,
        });
    }
    for (index, at) in layout.edges.iter().enumerate() {
        if at.is_some_and(|k| takes(k) || takes(k + 1)) {
            out.push(NotHeld::Edge { index });
        }
    }
    for (index, at) in layout.sizes.iter().enumerate() {
        if at.is_some_and(takes) {
            out.push(NotHeld::Size { index });
        }
    }
    Ok(out)
}

/// The direction less whatever motion of all makes the fewest marks move; largest entry one.
fn sparsest(model: &FaceModel<'_>, z: &[f64], moves: &[Vec<f64>]) -> Vec<f64> {
    let mut rest = z.to_vec();
    if !moves.is_empty() {
        for _ in 0..40 {
            let mut weights = vec![0.0; z.len()];
            for at in model.layout.points.iter().flatten() {
                let size = libm::hypot(rest[*at], rest[*at + 1]);
                weights[*at] = 1.0 / (size + 1e-9);
                weights[*at + 1] = weights[*at];
            }
            let weighted: Vec<Vec<f64>> = moves
                .iter()
                .map(|g| g.iter().zip(&weights).map(|(g, w)| g * w).collect())
                .collect();
            let inverse = super::model::crossed_inverse(&weighted, moves);
            let dots: Vec<f64> = weighted
                .iter()
                .map(|g| g.iter().zip(&rest).map(|(g, r)| g * r).sum())
                .collect();
            for (a, g) in moves.iter().enumerate() {
                let by: f64 = inverse[a].iter().zip(&dots).map(|(m, d)| m * d).sum();
                for (r, g) in rest.iter_mut().zip(g) {
                    *r -= by * g;
                }
            }
        }
    }
    let largest = rest.iter().fold(0.0_f64, |m, r| m.max(r.abs()));
    if largest > 0.0 {
        rest.iter().map(|r| r / largest).collect()
    } else {
        rest
    }
}

/// The mark that lies most nearly the way another is free, if one lies within 45° of it.
pub(super) fn remedy(points: &[PointResult], index: usize, along: Angle, reach_mm: f64) -> Remedy {
    let (s, c) = (libm::sin(along.rad()), libm::cos(along.rad()));
    let mut best: Option<(f64, usize)> = None;
    for (k, p) in points.iter().enumerate() {
        let away = p.at - points[index].at;
        if k == index || away.norm_mm() < 0.05 * reach_mm {
            continue;
        }
        let cosine = (away.x_mm() * c + away.y_mm() * s).abs() / away.norm_mm();
        // A margin keeps the choice from hanging on the last digit; the lower number wins.
        if cosine > core::f64::consts::FRAC_1_SQRT_2
            && best.is_none_or(|(known, _)| cosine > known + 1e-9)
        {
            best = Some((cosine, k));
        }
    }
    match best {
        Some((_, point)) => Remedy::DistanceFrom { point },
        None => Remedy::SquareOrCoordinate,
    }
}
