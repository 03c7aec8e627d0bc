//! How far a cross may be off its mark, and where a mark could be.

use super::feature::CrossMiss;
use super::layings::LayBasis;
use crate::frames::{Flat, Point2, Vector2};
use crate::job::{Job, MarkId};
use crate::place::{Jacobian, Placed};
use crate::template::{Cover, LaySlopes, by_pose};
use crate::units::Length;
use nalgebra::{DMatrix, Matrix2};

/// Every mark of a template with what is known of it, all in one order.
pub(super) struct Crosses<'a> {
    pub(super) ids: &'a [MarkId],
    pub(super) letters: &'a [String],
    /// Where each is drawn on the sheet, before it is eased.
    pub(super) seen: &'a [Point2<Flat>],
    pub(super) eased: &'a [Vector2<Flat>],
    /// Where the drawing's own template has it.
    pub(super) on_drawing: &'a [Point2<Flat>],
    pub(super) unread: &'a [bool],
    pub(super) gone: &'a [Option<String>],
}

impl Crosses<'_> {
    /// How far each may be off its mark once the template lies.
    pub(super) fn missing(
        &self,
        job: &Job,
        placed: &Placed,
        slopes: &LaySlopes,
        basis: &LayBasis,
    ) -> Vec<CrossMiss> {
        let of = |k: usize, id: &MarkId| {
            let seen = *self.seen.get(k)?;
            let eased = self.eased.get(k).copied().unwrap_or(Vector2::ZERO);
            let off = cross_miss(k, placed, slopes, &basis.casting, basis.ball_radius_mm);
            Some(CrossMiss {
                mark: id.clone(),
                letter: self.letters.get(k).cloned().unwrap_or_default(),
                found: job
                    .marks
                    .get(id)
                    .and_then(|m| m.found.clone())
                    .unwrap_or_default(),
                at: seen + eased,
                eased,
                on_drawing: self.on_drawing.get(k).copied().unwrap_or(seen),
                within: Length::from_mm(off.major_mm),
                could_be: cross_could_be(k, placed, &basis.casting),
                unread: self.unread.get(k).copied().unwrap_or(false),
                gone: self.gone.get(k).cloned().flatten(),
                touches: false,
            })
        };
        self.ids
            .iter()
            .enumerate()
            .filter_map(|(k, id)| of(k, id))
            .collect()
    }
}

pub(super) fn rows_cover(rows: &[Vec<f64>; 2], covariance: &DMatrix<f64>) -> Cover {
    let j = DMatrix::from_fn(2, rows[0].len(), |r, c| rows[r][c]);
    if j.ncols() != covariance.nrows() {
        return Cover::of(&Matrix2::zeros());
    }
    let c = &j * covariance * j.transpose();
    Cover::of(&Matrix2::new(c[(0, 0)], c[(0, 1)], c[(1, 0)], c[(1, 1)]))
}

/// Where a mark could be as seen from the target.
pub(super) fn cross_could_be(k: usize, placed: &Placed, covariance: &DMatrix<f64>) -> Cover {
    placed.marks_by_casting.get(k).map_or_else(
        || Cover::of(&Matrix2::zeros()),
        |j| rows_cover(&j.0, covariance),
    )
}

/// How far a cross may be off its mark once the template lies: the mark's own doubt, less what
/// laying takes out.
pub(super) fn cross_miss(
    k: usize,
    placed: &Placed,
    slopes: &LaySlopes,
    covariance: &DMatrix<f64>,
    radius_mm: Option<f64>,
) -> Cover {
    let (Some(at), Some(Jacobian(own))) = (placed.marks.get(k), placed.marks_by_casting.get(k))
    else {
        return Cover::of(&Matrix2::zeros());
    };
    let carries = by_pose(*at, radius_mm);
    let rows: [Vec<f64>; 2] = core::array::from_fn(|row| {
        (0..own[row].len())
            .map(|c| {
                let carried: f64 = (0..3)
                    .map(|k| carries[(row, k)] * slopes.by_casting[(k, c)])
                    .sum();
                own[row][c] + carried
            })
            .collect()
    });
    rows_cover(&rows, covariance)
}
