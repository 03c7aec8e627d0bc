//! What readings of a face are for: its features, and how well the readings place each.

use super::super::Source;
use super::super::design::design;
use super::super::network::Marks;
use super::super::outline::outline_of;
use super::super::words::feature_title;
use super::face::OnFace;
use crate::job::{CastingId, PointRef, RuleSpec};
use crate::place::{Layout, place};
use crate::readings::{Adjusted, Gain};
use crate::template::{Cover, Shares};
use crate::units::Length;
use nalgebra::{DMatrix, Matrix2, Matrix3, Vector3};

/// A feature on the face of one casting, with how its place follows from the marks.
pub(super) struct Goal {
    /// *Eye, left*.
    pub(super) title: String,
    /// How far out it may be, any way.
    pub(super) asked: Length,
    marks: Vec<usize>,
    line: Option<(usize, usize)>,
    /// Derivatives of across, up and turn by the marks, then the sizes.
    slopes: DMatrix<f64>,
    /// What the readings of the pattern leave of across, up and turn: the same on every piece, and no
    /// reading of a casting makes it less.
    by_pattern: Matrix3<f64>,
    /// Its outline about its centre, mm.
    outline: Vec<[f64; 2]>,
}

/// How well a goal is placed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Placing(Matrix3<f64>);

impl Placing {
    /// As if a casting's marks were known without doubt.
    pub(super) fn sure() -> Self {
        Self(Matrix3::zeros())
    }
}

impl Goal {
    /// The features of a face that its rules can place among the marks.
    pub(super) fn all(source: &Source<'_>, casting: &CastingId, on: &OnFace) -> Vec<Self> {
        let Ok(marks) = &on.read else {
            return Vec::new();
        };
        on.features
            .iter()
            .filter_map(|(_, feature)| Self::of(source, casting, marks, feature))
            .collect()
    }

    fn of(
        source: &Source<'_>,
        casting: &CastingId,
        marks: &Marks,
        feature: &crate::job::FeatureId,
    ) -> Option<Self> {
        let job = source.job;
        let married = job.piece_with(casting).map(|p| job.number_of(p));
        let own = || job.castings.get(casting)?.number.as_ref()?.parse().ok();
        let number: u32 = married.or_else(own).unwrap_or(1);
        let design = design(source, feature, number).ok()?;
        let index = |m: &crate::job::MarkId| marks.index(&PointRef::Mark(m.clone()));
        let order: Vec<usize> = design
            .names
            .marks
            .iter()
            .map(index)
            .collect::<Option<_>>()?;
        let layout = Layout {
            surface: marks.adjusted.surface.clone(),
            marks: order
                .iter()
                .map(|k| marks.adjusted.points.get(*k).map(|p| p.at))
                .collect::<Option<_>>()?,
        };
        let placed = place(&design.nominal, &layout).ok()?;
        let [across, up, turn] = &placed.by_casting.0;
        let slopes = DMatrix::from_fn(3, across.len(), |r, c| {
            let row = [across, up, turn][r];
            row.get(c).copied().unwrap_or(0.0)
        });
        let by_drawing = DMatrix::from_fn(3, placed.by_drawing.0[0].len(), |r, c| {
            placed.by_drawing.0[r][c]
        });
        let of_pattern = if by_drawing.ncols() == design.nominal_covariance.nrows() {
            &by_drawing * &design.nominal_covariance * by_drawing.transpose()
        } else {
            DMatrix::zeros(3, 3)
        };
        let line = match &design.edit.rule {
            Some(RuleSpec::Line { from, to, .. }) => index(from).zip(index(to)),
            _ => None,
        };
        let mut outline = vec![[0.0, 0.0]];
        if let Some(Ok(drawn)) = outline_of(source, &design.name, &design.edit) {
            // Looked at for its size only: ten times coarser than what is cut.
            for run in drawn.outline.polylines(crate::outline::FLATTENING * 10.0) {
                outline.extend(run.into_iter().map(|p| [p.x_mm(), p.y_mm()]));
            }
        }
        Some(Self {
            title: feature_title(&design.edit),
            asked: design
                .edit
                .tolerance
                .filter(|t| t.mm() > 0.0)
                .unwrap_or(super::super::feature::USUAL_TOLERANCE),
            marks: order,
            line,
            slopes,
            by_pattern: Matrix3::from_fn(|r, c| of_pattern[(r, c)]),
            outline,
        })
    }

    /// The network as this goal sees it: from its own two marks, where it has them. The whole may
    /// be anywhere; a feature is laid on marks.
    pub(super) fn seen(&self, adjusted: &Adjusted) -> Adjusted {
        self.line
            .and_then(|(a, b)| adjusted.in_datum(a, b, None).ok())
            .unwrap_or_else(|| adjusted.clone())
    }

    /// How well a network, as [`Goal::seen`], places it.
    pub(super) fn placing(&self, seen: &Adjusted) -> Placing {
        let marks = seen.covariance(&self.marks);
        let coupling = seen.size_coupling(&self.marks);
        let sizes = seen.size_covariance();
        let n = 2 * self.marks.len();
        let columns = self.slopes.ncols();
        let c = DMatrix::from_fn(columns, columns, |r, k| match (r < n, k < n) {
            (true, true) => marks.get(r, k),
            (true, false) => coupling[r][k - n],
            (false, true) => coupling[k][r - n],
            (false, false) => sizes[r - n][k - n],
        });
        let pose = &self.slopes * c * self.slopes.transpose();
        Placing(Matrix3::from_fn(|r, k| pose[(r, k)]))
    }

    /// The same once one more reading is taken.
    pub(super) fn after(&self, placing: Placing, gain: &Gain) -> Placing {
        let on = |row: usize| {
            let slopes: Vec<f64> = self.slopes.row(row).iter().copied().collect();
            gain.on(&self.marks, &slopes)
        };
        let g = Vector3::new(on(0), on(1), on(2));
        Placing(placing.0 - g * g.transpose())
    }

    /// 95 % radius at the worst point of the outline, with `more_mm2` of variance each way.
    fn radius(&self, placing: Placing, more_mm2: f64) -> Length {
        let c = placing.0;
        let mut worst_mm = 0.0_f64;
        for [x, y] in &self.outline {
            let arm = [-y, *x];
            let at = |i: usize, k: usize| {
                c[(i, k)] + arm[i] * c[(2, k)] + arm[k] * c[(i, 2)] + arm[i] * arm[k] * c[(2, 2)]
            };
            let here = Matrix2::new(at(0, 0) + more_mm2, at(0, 1), at(1, 0), at(1, 1) + more_mm2);
            worst_mm = worst_mm.max(Cover::of(&here).major_mm);
        }
        Length::from_mm(worst_mm)
    }

    /// How well the readings alone place it: 95 % of the time within this, any way.
    pub(super) fn within(&self, placing: Placing) -> Length {
        self.radius(placing, 0.0)
    }

    /// The same with what the pattern's readings leave, laying the template on and marking added: what has to
    /// be inside what is asked (design/11, *Budget, capability*, with nothing known beforehand to be
    /// off). Less than this no template comes to.
    pub(super) fn worked(&self, placing: Placing) -> Length {
        self.laid(Placing(placing.0 + self.by_pattern))
    }

    /// With laying the template on and marking added, the pattern known without doubt.
    pub(super) fn laid(&self, placing: Placing) -> Length {
        let shares = Shares::default();
        let (pointing, marking) = (shares.pointing.mm(), shares.marking.mm());
        self.radius(placing, pointing * pointing + marking * marking)
    }

    /// How much of what is asked that uses up: over one it can't be proved.
    pub(super) fn share(&self, placing: Placing) -> f64 {
        self.worked(placing).mm() / self.asked.mm()
    }
}
