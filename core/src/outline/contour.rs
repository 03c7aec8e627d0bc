//! One contour: a chain of straight and curved segments.

use super::{Bounds, OutlineError, flatten, sample, tag};
use crate::frames::{Frame, Point2};
use crate::units::Length;
use core::marker::PhantomData;
use kurbo::{BezPath, ParamCurveArea, PathEl, PathSeg, Point};

/// A closed contour or an open line in frame `F`.
///
/// It begins with its only *move to*, has at least one segment, and all its coordinates are finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour<F: Frame> {
    path_mm: BezPath,
    closed: bool,
    frame: PhantomData<F>,
}

impl<F: Frame> Contour<F> {
    /// A closed contour through points; `None` for fewer than two.
    #[must_use]
    pub fn closed_through(points: &[Point2<F>]) -> Option<Self> {
        Self::through(points, true)
    }
    /// An open line through points; `None` for fewer than two.
    #[must_use]
    pub fn open_through(points: &[Point2<F>]) -> Option<Self> {
        Self::through(points, false)
    }
    fn through(points: &[Point2<F>], closed: bool) -> Option<Self> {
        let (first, rest) = points.split_first()?;
        if rest.is_empty() || !points.iter().all(|p| p.is_finite()) {
            return None;
        }
        let mut path = BezPath::new();
        path.move_to((first.x_mm(), first.y_mm()));
        for p in rest {
            path.line_to((p.x_mm(), p.y_mm()));
        }
        if closed {
            path.close_path();
        }
        Some(Self {
            path_mm: path,
            closed,
            frame: tag(),
        })
    }

    /// From one sub-path; `None` when it has no segment. `index` names it in the error.
    pub(super) fn from_elements_mm(
        elements: &[PathEl],
        index: usize,
    ) -> Result<Option<Self>, OutlineError> {
        let path = BezPath::from_vec(elements.to_vec());
        if !path.is_finite() {
            return Err(OutlineError::NotFinite { contour: index });
        }
        let closed = matches!(elements.last(), Some(PathEl::ClosePath));
        if !matches!(elements.first(), Some(PathEl::MoveTo(_))) || path.segments().next().is_none()
        {
            return Ok(None);
        }
        Ok(Some(Self {
            path_mm: path,
            closed,
            frame: tag(),
        }))
    }

    /// A path known to be one finite closed sub-path, built inside this module.
    pub(super) const fn trusted(path_mm: BezPath, closed: bool) -> Self {
        Self {
            path_mm,
            closed,
            frame: tag(),
        }
    }

    /// Its end joins its beginning.
    #[must_use]
    pub const fn is_closed(&self) -> bool {
        self.closed
    }
    /// The path, coordinates in millimetres of the frame.
    #[must_use]
    pub const fn path_mm(&self) -> &BezPath {
        &self.path_mm
    }
    /// Its segments, the closing one included.
    pub(super) fn segments(&self) -> impl Iterator<Item = PathSeg> + '_ {
        self.path_mm.segments()
    }
    /// Where it begins.
    #[must_use]
    pub fn start(&self) -> Point2<F> {
        match self.path_mm.elements().first() {
            Some(PathEl::MoveTo(p)) => here(*p),
            _ => Point2::ORIGIN,
        }
    }
    /// Enclosed area in mm², exact for the curves; positive when it runs anticlockwise. An open line
    /// is taken as closed by a straight one.
    #[must_use]
    pub fn signed_area_mm2(&self) -> f64 {
        let start = self.start();
        // About the start rather than the origin, which may be far off and cost digits.
        let shift = kurbo::Affine::translate((-start.x_mm(), -start.y_mm()));
        self.segments().map(|s| (shift * s).signed_area()).sum()
    }
    /// It runs anticlockwise.
    #[must_use]
    pub fn is_anticlockwise(&self) -> bool {
        self.signed_area_mm2() > 0.0
    }
    /// The same contour run the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self {
            path_mm: self.path_mm.reverse_subpaths(),
            closed: self.closed,
            frame: tag(),
        }
    }
    /// The tight upright rectangle about the curves.
    #[must_use]
    pub fn bounds(&self) -> Bounds<F> {
        self.segments().fold(Bounds::at(self.start()), |b, seg| {
            let b = b.holding(here(flatten::at(&seg, 1.0)));
            [(1.0, 0.0), (0.0, 1.0)].into_iter().fold(b, |b, dir| {
                sample::turning_params(&seg, dir)
                    .into_iter()
                    .flatten()
                    .fold(b, |b, t| b.holding(here(flatten::at(&seg, t))))
            })
        })
    }
    /// As points no further than `tolerance` from the curve; the first is not repeated at the end of
    /// a closed contour.
    #[must_use]
    pub fn polyline(&self, tolerance: Length) -> Vec<Point2<F>> {
        self.dense(tolerance, Length::from_mm(f64::MAX))
    }
    /// As [`Contour::polyline`], with no two neighbours further apart than `step`.
    #[must_use]
    pub fn dense(&self, tolerance: Length, step: Length) -> Vec<Point2<F>> {
        let start = self.start();
        let mut points = vec![start];
        for seg in self.segments() {
            let pieces = flatten::pieces(&seg, tolerance.mm(), step.mm());
            for i in 1..=pieces {
                let t = f64::from(i) / f64::from(pieces);
                let p = here(flatten::at(&seg, t));
                if points.last().is_none_or(|q| !same(*q, p)) {
                    points.push(p);
                }
            }
        }
        if self.closed && points.len() > 1 && points.last().is_some_and(|q| same(*q, start)) {
            points.pop();
        }
        points
    }
    /// Every control point carried across; right for straight maps (turn, shift, scale, mirror).
    pub(super) fn mapped<To: Frame>(&self, f: impl Fn(Point2<F>) -> Point2<To>) -> Contour<To> {
        let carry = |p: Point| {
            let q = f(here(p));
            Point::new(q.x_mm(), q.y_mm())
        };
        let elements = self
            .path_mm
            .elements()
            .iter()
            .map(|el| match *el {
                PathEl::MoveTo(p) => PathEl::MoveTo(carry(p)),
                PathEl::LineTo(p) => PathEl::LineTo(carry(p)),
                PathEl::QuadTo(a, p) => PathEl::QuadTo(carry(a), carry(p)),
                PathEl::CurveTo(a, b, p) => PathEl::CurveTo(carry(a), carry(b), carry(p)),
                PathEl::ClosePath => PathEl::ClosePath,
            })
            .collect();
        Contour {
            path_mm: BezPath::from_vec(elements),
            closed: self.closed,
            frame: tag(),
        }
    }
}

/// A bare point of a path, which is in the frame of its contour.
pub(super) const fn here<F: Frame>(p: Point) -> Point2<F> {
    Point2::from_mm(p.x, p.y)
}

/// Closer than a picometre apart: rounding of one point, not two.
fn same<F: Frame>(a: Point2<F>, b: Point2<F>) -> bool {
    (a.x_mm() - b.x_mm()).abs() < 1e-9 && (a.y_mm() - b.y_mm()).abs() < 1e-9
}
