//! Which readings to ask for: the fewest that hold every mark and check one another.

use crate::frames::{Face, Point2};
use crate::surface::{Bulge, MAX_PARAMETERS, Shape, Surface};
use nalgebra::{DMatrix, DVector};

/// The most readings a face is asked for by default.
pub(super) const MOST_A_FACE: usize = 6;

/// A pair of marks of a face, by their places in its list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Pair {
    pub(super) from: usize,
    pub(super) to: usize,
}

/// The marks of a face as known so far, in small: which distances are uncertain, and by how much.
pub(super) struct Sureness<'a> {
    surface: &'a Surface,
    marks: &'a [Point2<Face>],
    over: bool,
    /// Covariance of all marks, then of the sizes.
    c: DMatrix<f64>,
    noise_mm: f64,
}

/// Whether a tape is laid over the face, or spans it straight.
pub(super) fn lies_over(surface: &Surface) -> bool {
    match surface {
        Surface::Flat(_) => false,
        Surface::Cylinder(f) => f.bulge() == Bulge::Bulging,
        Surface::Cone(f) => f.bulge() == Bulge::Bulging,
        Surface::TwoRadii(f) => f.bulges_both_ways(),
        Surface::Scan(f) => f.bulges(),
        Surface::Dome(f) => f.signed_radius().mm() > 0.0,
    }
}

impl<'a> Sureness<'a> {
    pub(super) fn new(
        surface: &'a Surface,
        marks: &'a [Point2<Face>],
        over: bool,
        c: DMatrix<f64>,
        noise_mm: f64,
    ) -> Self {
        Self {
            surface,
            marks,
            over,
            c,
            noise_mm,
        }
    }

    /// Marks strewn about the drawing's places, independently.
    pub(super) fn strewn(
        surface: &'a Surface,
        marks: &'a [Point2<Face>],
        over: bool,
        spread_mm: f64,
        size_sd: [f64; MAX_PARAMETERS],
        noise_mm: f64,
    ) -> Self {
        let n = 2 * marks.len();
        let known = surface.parameters().len();
        let c = DMatrix::from_fn(n + known, n + known, |r, k| {
            if r != k {
                0.0
            } else if r < n {
                spread_mm * spread_mm
            } else {
                size_sd[r - n] * size_sd[r - n]
            }
        });
        Self::new(surface, marks, over, c, noise_mm)
    }

    /// What a distance comes to, and its row.
    pub(super) fn row(&self, pair: Pair) -> Option<(f64, DVector<f64>)> {
        let (a, b) = (*self.marks.get(pair.from)?, *self.marks.get(pair.to)?);
        let d = if self.over {
            self.surface
                .over_surface(a, b, self.surface.nearest_turns(a, b))
        } else {
            self.surface.straight(a, b)
        }
        .ok()?;
        let mut row = DVector::zeros(self.c.nrows());
        let sizes = 2 * self.marks.len();
        let mut add = |k: usize, x: f64| {
            if let Some(cell) = row.get_mut(k) {
                *cell += x;
            }
        };
        add(2 * pair.from, d.d_from.x_mm());
        add(2 * pair.from + 1, d.d_from.y_mm());
        add(2 * pair.to, d.d_to.x_mm());
        add(2 * pair.to + 1, d.d_to.y_mm());
        for (k, x) in d.d_param.iter().enumerate() {
            add(sizes + k, *x);
        }
        Some((d.mm, row))
    }

    /// Variance of a distance as known so far, mm².
    pub(super) fn variance(&self, row: &DVector<f64>) -> f64 {
        (row.transpose() * &self.c * row)[(0, 0)].max(0.0)
    }

    /// Takes in that a pair is read.
    pub(super) fn read(&mut self, pair: Pair) {
        let Some((_, row)) = self.row(pair) else {
            return;
        };
        let carried = &self.c * &row;
        let whole = self.variance(&row) + self.noise_mm * self.noise_mm;
        if whole > 0.0 {
            self.c -= &carried * carried.transpose() / whole;
        }
    }

    /// How much more is to be learned from a pair than its own noise: the greater the better.
    fn gain(&self, pair: Pair) -> f64 {
        self.row(pair).map_or(0.0, |(_, row)| self.variance(&row))
    }

    /// The pair to learn most from, of those offered; the first of equals.
    pub(super) fn best(&self, pairs: &[Pair]) -> Option<Pair> {
        let mut best: Option<(f64, Pair)> = None;
        for &pair in pairs {
            let gain = self.gain(pair);
            // Equal within rounding counts as equal: the order of the letters decides.
            if gain > 0.0 && best.is_none_or(|(most, _)| gain > most * (1.0 + 1e-9)) {
                best = Some((gain, pair));
            }
        }
        best.map(|b| b.1)
    }
}

/// Every pair of so many marks, in the order of their letters.
pub(super) fn pairs(marks: usize) -> Vec<Pair> {
    (0..marks)
        .flat_map(|from| (from + 1..marks).map(move |to| Pair { from, to }))
        .collect()
}

/// How many distances hold so many marks: two a mark less the three ways the whole can move.
pub(super) const fn holding(marks: usize) -> usize {
    (2 * marks).saturating_sub(3)
}

/// The readings of a face where nobody has written a list: greedily those that tell most, until
/// the marks are held (two a mark less the three ways the whole can move) and one is to spare.
/// A pair stands there twice where nothing else could check it.
///
/// Where so much else is read on the face, levels and square distances, it is that much shorter, down
/// to what holds the marks.
pub(super) fn worked_out(mut sure: Sureness<'_>, besides: usize) -> Vec<Pair> {
    let marks = sure.marks.len();
    if marks < 2 {
        return Vec::new();
    }
    let held = holding(marks);
    let most = MOST_A_FACE
        .saturating_sub(besides)
        .max(held.min(MOST_A_FACE));
    let wanted = held + 1;
    let mut left = pairs(marks);
    let mut list: Vec<Pair> = Vec::new();
    while list.len() < wanted.min(most) {
        let again: Vec<Pair> = list
            .iter()
            .filter(|p| list.iter().filter(|q| q == p).count() < 2)
            .copied()
            .collect();
        let next = sure.best(&left).or_else(|| sure.best(&again));
        let Some(pair) = next else { break };
        left.retain(|p| *p != pair);
        sure.read(pair);
        list.push(pair);
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::FlatFace;

    fn list(marks: &[(f64, f64)]) -> Vec<(usize, usize)> {
        let surface = Surface::Flat(FlatFace);
        let marks: Vec<_> = marks.iter().map(|(x, y)| Point2::from_mm(*x, *y)).collect();
        let sure = Sureness::strewn(&surface, &marks, false, 2.0, [0.0; MAX_PARAMETERS], 0.5);
        worked_out(sure, 0).iter().map(|p| (p.from, p.to)).collect()
    }

    #[test]
    fn two_marks_are_read_twice_three_are_held_with_one_to_spare() {
        assert_eq!(list(&[(0.0, 0.0), (100.0, 0.0)]), [(0, 1), (0, 1)]);
        let three = list(&[(0.0, 0.0), (100.0, 0.0), (40.0, 70.0)]);
        assert_eq!(three.len(), 4);
        for pair in [(0, 1), (0, 2), (1, 2)] {
            assert!(three.contains(&pair), "{three:?}");
        }
        assert_eq!(list(&[(0.0, 0.0)]), []);
    }

    #[test]
    fn four_marks_take_all_six_and_five_no_more_than_six() {
        let four = list(&[(0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (0.0, 80.0)]);
        assert_eq!(four.len(), 6);
        let five = list(&[
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 80.0),
            (0.0, 80.0),
            (50.0, 40.0),
        ]);
        assert_eq!(five.len(), 6);
        for mark in 0..5 {
            let touched = five.iter().filter(|p| p.0 == mark || p.1 == mark).count();
            assert!(touched >= 1, "{mark}: {five:?}");
        }
    }
}
