//! How well readings place a point against a line of two marks, and what one more would bring.

use super::super::naming::name_of;
use super::super::network::Marks;
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::{Job, MarkId, Measured, PointRef};
use crate::readings::{Precision, Reading, ReadingKind};
use crate::surface::Development;
use crate::template::COVER_95;
use crate::units::Length;

/// The least that one more reading must bring to be worth a walk to the pattern: a tenth of a
/// millimetre, as errors are printed.
const WORTH_MM: f64 = 0.1;

/// A line from one mark to another in the picture.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line {
    from: usize,
    to: usize,
    at: Point2<Flat>,
    along: Vector2<Flat>,
    length_mm: f64,
}

/// One reading more, and what it would bring.
pub(super) struct Better {
    pub(super) reading: String,
    pub(super) within: Length,
}

impl Line {
    pub(super) fn through(
        marks: &Marks,
        development: &Development,
        from: usize,
        to: usize,
    ) -> Option<Self> {
        let flat = |k: usize| development.flat(marks.adjusted.points.get(k)?.at).ok();
        let (a, b) = (flat(from)?, flat(to)?);
        let length_mm = (b - a).norm_mm();
        Some(Self {
            from,
            to,
            at: a,
            along: (b - a).unit()?,
            length_mm,
        })
    }

    /// How far along the line from its first mark, and how far above it, mm.
    pub(super) fn along_across(&self, at: Point2<Flat>) -> [f64; 2] {
        let d = at - self.at;
        let (x, y) = (self.along.x_mm(), self.along.y_mm());
        [d.x_mm() * x + d.y_mm() * y, d.y_mm() * x - d.x_mm() * y]
    }

    /// The place so far along the line and above it, in the picture, mm.
    pub(super) fn place(&self, [along, across]: [f64; 2]) -> [f64; 2] {
        let (x, y) = (self.along.x_mm(), self.along.y_mm());
        [
            self.at.x_mm() + along * x - across * y,
            self.at.y_mm() + along * y + across * x,
        ]
    }

    pub(super) fn direction_rad(&self) -> f64 {
        self.along.direction_rad()
    }

    /// The worst 95 % radius of a point along and across this line.
    pub(super) fn within(&self, marks: &Marks, development: &Development, point: usize) -> Length {
        let Some(place) = marks.adjusted.points.get(point).map(|p| p.at) else {
            return Length::ZERO;
        };
        let order = [point, self.from, self.to];
        let known = marks.adjusted.covariance(&order);
        self.radius(marks, development, place, |i, j| known.get(i, j))
    }

    /// Its two ends, by their places in the network.
    pub(super) const fn places(&self) -> [usize; 2] {
        [self.from, self.to]
    }

    /// The marks at its two ends.
    pub(super) fn ends(&self, marks: &Marks) -> Vec<MarkId> {
        let mark = |k: usize| match marks.points.get(k) {
            Some(PointRef::Mark(id)) => Some(id.clone()),
            _ => None,
        };
        [self.from, self.to].into_iter().filter_map(mark).collect()
    }

    /// Derivatives of *along* and *across* by the point, the first mark and the second, on the
    /// face: a move or a turn of everything together cancels out of them.
    fn slopes(
        &self,
        marks: &Marks,
        development: &Development,
        place: Point2<Face>,
    ) -> Option<[[f64; 6]; 2]> {
        let d = development.flat(place).ok()? - self.at;
        let n = [self.along.x_mm(), self.along.y_mm()];
        let across_n = [-n[1], n[0]];
        let along_mm = d.x_mm() * n[0] + d.y_mm() * n[1];
        let across_mm = d.x_mm() * across_n[0] + d.y_mm() * across_n[1];
        let (s, t) = (along_mm / self.length_mm, across_mm / self.length_mm);
        let mut rows = [[0.0; 6]; 2];
        let end = |k: usize| marks.adjusted.points.get(k).map(|p| p.at);
        let places = [place, end(self.from)?, end(self.to)?];
        for (k, at) in places.into_iter().enumerate() {
            let flat_from_face = development.flat_from_face(at).ok()?;
            let m = flat_from_face.matrix();
            for c in 0..2 {
                let by_n = n[0] * m[(0, c)] + n[1] * m[(1, c)];
                let by_across = across_n[0] * m[(0, c)] + across_n[1] * m[(1, c)];
                let (along, across) = match k {
                    0 => (by_n, by_across),
                    1 => (-by_n - t * by_across, -by_across + s * by_across),
                    _ => (t * by_across, -s * by_across),
                };
                rows[0][2 * k + c] += along;
                rows[1][2 * k + c] += across;
            }
        }
        Some(rows)
    }

    /// The same of a place whose covariance with the two marks is known: u and v of the place, of
    /// the first mark and of the second.
    pub(super) fn radius(
        &self,
        marks: &Marks,
        development: &Development,
        place: Point2<Face>,
        covariance: impl Fn(usize, usize) -> f64,
    ) -> Length {
        let Some(rows) = self.slopes(marks, development, place) else {
            return Length::ZERO;
        };
        // The marks themselves appear twice: their own slopes then add up, as they should.
        let term = |a: usize, b: usize| -> f64 {
            let mut sum = 0.0;
            for (i, x) in rows[a].iter().enumerate() {
                for (j, y) in rows[b].iter().enumerate() {
                    sum += x * y * covariance(i, j);
                }
            }
            sum
        };
        let (aa, bb, ab) = (term(0, 0), term(1, 1), term(0, 1));
        let worst = (aa + bb) / 2.0 + libm::hypot((aa - bb) / 2.0, ab);
        Length::from_mm(COVER_95 * libm::sqrt(worst.max(0.0)))
    }

    /// The distance that, read once more, places a point best.
    pub(super) fn better(
        &self,
        job: &Job,
        marks: &Marks,
        development: &Development,
        point: &PointRef,
        now: Length,
    ) -> Option<Better> {
        let k = marks.index(point)?;
        let place = marks.adjusted.points.get(k)?.at;
        let order = [k, self.from, self.to];
        let before = marks.adjusted.covariance(&order);
        let mut best: Option<Better> = None;
        for (fact, result) in marks.facts.iter().zip(&marks.adjusted.readings) {
            let Some(kept) = job.readings.named(*fact) else {
                continue;
            };
            let points = kept.says.of.points();
            let [a, b] = points.as_slice() else { continue };
            let (Some(from), Some(to)) = (marks.index(a), marks.index(b)) else {
                continue;
            };
            let kind = match kept.says.of {
                Measured::Straight { .. } => ReadingKind::Straight { from, to },
                Measured::Over { .. } => ReadingKind::Over {
                    from,
                    to,
                    turns: result.turns,
                },
                _ => continue,
            };
            let again = Reading {
                kind,
                value: kept.says.value.mm,
                precision: Precision::Sd(result.own),
            };
            let Some(gain) = marks.adjusted.gain(&again) else {
                continue;
            };
            let after = gain.after(&before, &order);
            let within = self.radius(marks, development, place, |i, j| after.get(i, j));
            let worth = now.mm() - within.mm() >= WORTH_MM;
            if worth && best.as_ref().is_none_or(|b| within < b.within) {
                best = Some(Better {
                    reading: format!("{} to {}", name_of(job, a), name_of(job, b)),
                    within,
                });
            }
        }
        best
    }
}
