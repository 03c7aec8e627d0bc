//! What comes out of an adjustment.

use super::error::Notice;
use super::layout::Layout;
use super::motion::{Coefficients, Group, Motion};
use super::network::{EdgeStart, Network};
use super::stance::Stood;
use crate::frames::{Face, Point2};
use crate::num::cholesky::Symmetric;
use crate::num::distribution::chi_square_quantile;
use crate::num::least_squares::Rows;
use crate::num::small::eigen2;
use crate::surface::{MAX_PARAMETERS, Surface, Turns};
use crate::units::{Angle, Length};

pub use crate::num::least_squares::Status;

/// The adjusted network: places, how sure they are, and what each reading is off by.
#[derive(Debug, Clone)]
pub struct Adjusted {
    /// How the solution ended; anything but `Converged` is not to be worked from.
    pub status: Status,
    /// Steps taken.
    pub steps: usize,
    /// The face with its adjusted sizes.
    pub surface: Surface,
    /// The marks.
    pub points: Vec<PointResult>,
    /// The edges as adjusted.
    pub edges: Vec<EdgeStart>,
    /// What each tape turned out to have wrong.
    pub tapes: Vec<TapeResult>,
    /// How the casting stood each time, where readings tell; none once marks are laid on a datum.
    pub stances: Vec<Option<Stood>>,
    /// The readings.
    pub readings: Vec<ReadingResult>,
    /// Readings that others check, to the nearest whole; what the drawing or a tape's class says
    /// beforehand is no reading.
    pub spare: usize,
    /// The variance test, where anything is spare.
    pub chi_square: Option<ChiSquare>,
    /// Motions of the whole pattern that no reading sees, held by the marks' starts.
    pub motions: Vec<Motion>,
    /// What the user should be told.
    pub notices: Vec<Notice>,
    pub(super) inner: Inner,
}

/// What later questions need.
#[derive(Debug, Clone)]
pub(super) struct Inner {
    pub(super) network: Network,
    pub(super) layout: Layout,
    pub(super) group: Group,
    pub(super) free: Vec<Coefficients>,
    /// Covariance of all unknowns in the datum of the result.
    pub(super) q: Symmetric,
    /// Rows and covariance as solved: what depends on no datum is computed from these.
    pub(super) rows: Rows,
    pub(super) solved: Symmetric,
}

/// One mark, adjusted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointResult {
    /// Where it is.
    pub at: Point2<Face>,
    /// Its worst standard deviation in any direction; nothing for a fixed mark.
    pub worst: Length,
    /// The direction of that.
    pub worst_along: Angle,
    /// Share of what holds it that comes from the drawing, in its worst direction: 0 to 1.
    pub by_drawing: f64,
}

/// One reading, adjusted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingResult {
    /// What it is *off by*: adjusted less read.
    pub off_by: Length,
    /// Standard deviation of what it adds on its own.
    pub own: Length,
    /// Redundancy number: the share of an error in it that shows in what it is off by.
    pub redundancy: f64,
    /// What it is off by in standard deviations of that (Baarda's w); `None` when nothing else
    /// checks it.
    pub w: Option<f64>,
    /// The way round that was used.
    pub turns: Turns,
}

/// A reading with this standard deviation takes no part: against half a millimetre it weighs one
/// part in 4·10¹⁰, and its pull on any mark is under a micrometre even where it is metres off.
pub(super) const NO_WEIGHT_MM: f64 = 1e5;

impl ReadingResult {
    /// Whether it takes part in the solution.
    pub(super) fn counts(&self) -> bool {
        self.own.mm() < NO_WEIGHT_MM
    }
}

/// What a tape turned out to have wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TapeResult {
    /// Its scale error in shares of the largest its class allows (over √3), with its own
    /// standard deviation; zero ± zero where there was nothing to find.
    pub scale: (f64, f64),
    /// Its hook's error and standard deviation.
    pub hook: (Length, Length),
}

/// The variance test on all readings together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChiSquare {
    /// Observations beyond the unknowns, priors among them.
    pub freedom: usize,
    /// Standard deviation of unit weight, s₀: 1 when readings agree as well as claimed.
    pub s0: f64,
    /// The two values of s₀ that 5 % of honest networks fall under, and rise over.
    pub bounds: (f64, f64),
    /// The readings disagree more than the tools allow: every verdict is *not proven*.
    pub too_high: bool,
}

impl ChiSquare {
    pub(super) fn of(sum_of_squares: f64, freedom: usize) -> Option<Self> {
        if freedom == 0 {
            return None;
        }
        let f = freedom as f64;
        let s0 = libm::sqrt(sum_of_squares / f);
        let bound = |p: f64| libm::sqrt(chi_square_quantile(p, f) / f);
        let bounds = (bound(0.05), bound(0.95));
        Some(Self {
            freedom,
            s0,
            bounds,
            too_high: s0 > bounds.1,
        })
    }
}

/// Covariance of some marks: two rows a mark, u then v, in mm².
#[derive(Debug, Clone, PartialEq)]
pub struct Covariance {
    size: usize,
    mm2: Vec<f64>,
}

impl Covariance {
    /// From its rows one after the other.
    ///
    /// `None` unless it is square.
    #[must_use]
    pub fn from_rows_mm2(size: usize, mm2: Vec<f64>) -> Option<Self> {
        (mm2.len() == size * size).then_some(Self { size, mm2 })
    }
    /// Number of rows: twice the number of marks.
    #[must_use]
    pub const fn size(&self) -> usize {
        self.size
    }
    /// One entry, mm²; zero outside.
    #[must_use]
    pub fn get(&self, row: usize, column: usize) -> f64 {
        if row < self.size && column < self.size {
            self.mm2[row * self.size + column]
        } else {
            0.0
        }
    }
}

impl Adjusted {
    /// Standard deviation of unit weight; `None` when nothing is spare.
    #[must_use]
    pub fn s0(&self) -> Option<f64> {
        self.chi_square.map(|c| c.s0)
    }

    /// Covariance of the marks asked for, a priori (never scaled by s₀). Fixed marks and
    /// numbers that are not there have zeros.
    #[must_use]
    pub fn covariance(&self, points: &[usize]) -> Covariance {
        let mut at: Vec<Option<usize>> = Vec::with_capacity(2 * points.len());
        for &i in points {
            let start = self.inner.layout.points.get(i).copied().flatten();
            at.push(start);
            at.push(start.map(|k| k + 1));
        }
        self.block(&at)
    }

    /// Covariance of the sizes of the face, in their own units squared.
    #[must_use]
    pub fn size_covariance(&self) -> [[f64; MAX_PARAMETERS]; MAX_PARAMETERS] {
        let block = self.block(&self.inner.layout.sizes);
        core::array::from_fn(|i| core::array::from_fn(|j| block.get(i, j)))
    }

    /// Covariance of marks with the sizes of the face: rows u, v of each mark, a column a size.
    #[must_use]
    pub fn size_coupling(&self, points: &[usize]) -> Vec<[f64; MAX_PARAMETERS]> {
        let mut out = Vec::with_capacity(2 * points.len());
        for &i in points {
            let start = self.inner.layout.points.get(i).copied().flatten();
            for k in 0..2 {
                out.push(core::array::from_fn(|s| {
                    match (start, self.inner.layout.sizes[s]) {
                        (Some(p), Some(s)) => self.inner.q.get(p + k, s),
                        _ => 0.0,
                    }
                }));
            }
        }
        out
    }

    /// Covariance of an edge's offset (mm) and slope.
    #[must_use]
    pub fn edge_covariance(&self, edge: usize) -> [[f64; 2]; 2] {
        let start = self.inner.layout.edges.get(edge).copied().flatten();
        let block = self.block(&[start, start.map(|k| k + 1)]);
        [
            [block.get(0, 0), block.get(0, 1)],
            [block.get(1, 0), block.get(1, 1)],
        ]
    }

    fn block(&self, at: &[Option<usize>]) -> Covariance {
        let size = at.len();
        let mut mm2 = Vec::with_capacity(size * size);
        for a in at {
            for b in at {
                mm2.push(match (a, b) {
                    (Some(a), Some(b)) => self.inner.q.get(*a, *b),
                    _ => 0.0,
                });
            }
        }
        Covariance { size, mm2 }
    }

    pub(super) fn describe_points(&mut self, by_drawing: impl Fn(usize, f64) -> f64) {
        for (i, at) in self.inner.layout.points.iter().enumerate() {
            let Some(k) = *at else { continue };
            let q = &self.inner.q;
            let [_, (variance, along)] = eigen2(q.get(k, k), q.get(k + 1, k), q.get(k + 1, k + 1));
            let variance = variance.max(0.0);
            self.points[i].worst = Length::from_mm(libm::sqrt(variance));
            self.points[i].worst_along = Angle::from_rad(libm::atan2(along[1], along[0]));
            self.points[i].by_drawing = by_drawing(i, variance);
        }
    }
}
