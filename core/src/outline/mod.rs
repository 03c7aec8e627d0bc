//! Outlines: what is painted or cut, as curves in a named frame.
//!
//! An [`Outline`] is a list of [`Contour`]s: closed ones bound an area, open ones are lines. Curves
//! stay curves until somebody asks for points, and then says how far the points may stray. Which
//! closed contours are holes follows from how they lie in each other ([`Outline::nesting`]), never
//! from the direction in which they were drawn.
//!
//! Everything that comes from outside this crate (artwork, offsets) is snapped to [`GRID_PER_MM`].

mod accented;
mod arcs;
mod bridge;
mod build;
mod contour;
mod corner;
mod cross;
mod flatten;
mod join;
pub mod lettering;
mod near;
mod nest;
mod offset;
mod sample;
mod store;
mod strokes;
#[cfg(test)]
mod tests;

pub use bridge::{Bridge, BridgedOutline, Web};
pub use contour::Contour;
pub use cross::{Meeting, MeetingKind};
pub use nest::Nest;
pub use offset::{Lost, OffsetError, OffsetOutline};

use crate::frames::{Frame, Mirror2, Point2, Rigid2, Vector2};
use crate::units::Length;
use core::marker::PhantomData;
use kurbo::BezPath;

/// Steps of the grid to the millimetre. A power of two, so that a snapped coordinate is exact in
/// binary; half a step is 0.5 µm, far under what a knife or a pen can follow.
pub const GRID_PER_MM: f64 = 1024.0;

/// How far a polyline may stray from its curve where it is printed or cut: 0.02 mm, a fifth of the
/// thinnest line on a sheet.
pub const FLATTENING: Length = Length::from_mm(0.02);

/// Closed and open contours in frame `F`.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline<F: Frame> {
    contours: Vec<Contour<F>>,
}

/// The upright rectangle that just holds something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds<F: Frame> {
    /// Its lower left corner.
    pub min: Point2<F>,
    /// Its upper right corner.
    pub max: Point2<F>,
}

/// An outline that cannot be made from what was given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OutlineError {
    /// A coordinate is NaN or infinite.
    #[error("contour {contour} has a coordinate that is not a finite number")]
    NotFinite {
        /// Which contour, counted from 0.
        contour: usize,
    },
    /// A size that must be positive is not.
    #[error("{what} must be more than 0, not {given_mm} mm")]
    NotPositive {
        /// Which size.
        what: &'static str,
        /// The value given, in millimetres.
        given_mm: f64,
    },
    /// A star with too few points, or more than can be cut.
    #[error("a star has from 3 to 60 points, not {given}")]
    StarPoints {
        /// The number given.
        given: u32,
    },
    /// The sweep of an arc band is not between nothing and a full turn.
    #[error("the sweep must be more than 0° and less than 360°, not {given_deg}°")]
    Sweep {
        /// The sweep given, in degrees.
        given_deg: f64,
    },
    /// The corner radius does not fit the rectangle.
    #[error("a corner radius of {radius_mm} mm does not fit: the most is {most_mm} mm")]
    CornerTooLarge {
        /// The radius given, in millimetres.
        radius_mm: f64,
        /// Half of the shorter side, in millimetres.
        most_mm: f64,
    },
}

impl<F: Frame> Bounds<F> {
    /// Around one point.
    #[must_use]
    pub const fn at(p: Point2<F>) -> Self {
        Self { min: p, max: p }
    }
    /// Grown to hold another point.
    #[must_use]
    pub const fn holding(self, p: Point2<F>) -> Self {
        Self {
            min: Point2::from_mm(self.min.x_mm().min(p.x_mm()), self.min.y_mm().min(p.y_mm())),
            max: Point2::from_mm(self.max.x_mm().max(p.x_mm()), self.max.y_mm().max(p.y_mm())),
        }
    }
    /// Grown to hold another rectangle.
    #[must_use]
    pub const fn union(self, o: Self) -> Self {
        self.holding(o.min).holding(o.max)
    }
    /// From left to right.
    #[must_use]
    pub const fn width(self) -> Length {
        Length::from_mm(self.max.x_mm() - self.min.x_mm())
    }
    /// From bottom to top.
    #[must_use]
    pub const fn height(self) -> Length {
        Length::from_mm(self.max.y_mm() - self.min.y_mm())
    }
    /// Where its diagonals cross.
    #[must_use]
    pub fn centre(self) -> Point2<F> {
        self.min.lerp(self.max, 0.5)
    }
    /// Whether `o` lies in it, edges included.
    #[must_use]
    pub const fn holds(self, o: Self) -> bool {
        self.min.x_mm() <= o.min.x_mm()
            && self.min.y_mm() <= o.min.y_mm()
            && self.max.x_mm() >= o.max.x_mm()
            && self.max.y_mm() >= o.max.y_mm()
    }
    /// Whether the two share a point.
    #[must_use]
    pub const fn meets(self, o: Self) -> bool {
        self.min.x_mm() <= o.max.x_mm()
            && o.min.x_mm() <= self.max.x_mm()
            && self.min.y_mm() <= o.max.y_mm()
            && o.min.y_mm() <= self.max.y_mm()
    }
}

impl<F: Frame> Default for Outline<F> {
    fn default() -> Self {
        Self {
            contours: Vec::new(),
        }
    }
}

impl<F: Frame> FromIterator<Contour<F>> for Outline<F> {
    fn from_iter<I: IntoIterator<Item = Contour<F>>>(contours: I) -> Self {
        Self {
            contours: contours.into_iter().collect(),
        }
    }
}

impl<F: Frame> Outline<F> {
    /// From paths in millimetres; every sub-path becomes a contour, closed where it says so.
    ///
    /// A sub-path without a segment is left out.
    ///
    /// # Errors
    /// [`OutlineError::NotFinite`] for NaN and the infinities.
    pub fn from_paths_mm<'p>(
        paths: impl IntoIterator<Item = &'p BezPath>,
    ) -> Result<Self, OutlineError> {
        let mut contours = Vec::new();
        for path in paths {
            for sub in path.subpaths() {
                if let Some(contour) = Contour::from_elements_mm(sub, contours.len())? {
                    contours.push(contour);
                }
            }
        }
        Ok(Self { contours })
    }
    /// The contours in order.
    #[must_use]
    pub fn contours(&self) -> &[Contour<F>] {
        &self.contours
    }
    /// There is nothing in it.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.contours.is_empty()
    }
    /// Adds the contours of another outline of the same frame.
    pub fn extend(&mut self, other: Self) {
        self.contours.extend(other.contours);
    }
    /// The tight rectangle about all contours; `None` when there are none.
    #[must_use]
    pub fn bounds(&self) -> Option<Bounds<F>> {
        self.contours
            .iter()
            .map(Contour::bounds)
            .reduce(Bounds::union)
    }
    /// The area enclosed in mm², holes taken off, islands in holes put back.
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        let nests = self.nesting();
        self.contours
            .iter()
            .zip(&nests)
            .filter(|(c, _)| c.is_closed())
            .fold(0.0, |sum, (c, n)| {
                let area = c.signed_area_mm2().abs();
                if n.is_hole() { sum - area } else { sum + area }
            })
    }
    /// Laid in another frame without changing size or hand.
    #[must_use]
    pub fn placed<To: Frame>(&self, to_from_here: &Rigid2<To, F>) -> Outline<To> {
        self.each(|c| c.mapped(|p| to_from_here.point(p)))
    }
    /// Moved within its frame.
    #[must_use]
    pub fn shifted(&self, by: Vector2<F>) -> Self {
        self.each(|c| c.mapped(|p| p + by))
    }
    /// The mirror image: the only way an outline changes its hand.
    #[must_use]
    pub fn mirrored(&self, mirror: &Mirror2<F>) -> Self {
        self.each(|c| c.mapped(|p| mirror.point(p)))
    }
    /// Sized so that what is `drawn` long becomes `real`, and carried to frame `To` with its origin
    /// on the origin there. `None` unless both are more than 0.
    #[must_use]
    pub fn sized<To: Frame>(&self, drawn: Length, real: Length) -> Option<Outline<To>> {
        let factor = real.mm() / drawn.mm();
        (drawn.mm() > 0.0 && factor > 0.0 && factor.is_finite()).then(|| {
            self.each(|c| c.mapped(|p| Point2::from_mm(p.x_mm() * factor, p.y_mm() * factor)))
        })
    }
    /// As polylines, no further than `tolerance` from the curves.
    #[must_use]
    pub fn polylines(&self, tolerance: Length) -> Vec<Vec<Point2<F>>> {
        self.contours
            .iter()
            .map(|c| c.polyline(tolerance))
            .collect()
    }
    /// Carried point by point through a map that need not be straight (onto a surface, say), as
    /// polylines: the curves are first cut within `tolerance` and at least every `step`.
    #[must_use]
    pub fn carried<P>(
        &self,
        tolerance: Length,
        step: Length,
        to_from_here: impl Fn(Point2<F>) -> P,
    ) -> Vec<Vec<P>> {
        self.contours
            .iter()
            .map(|c| {
                c.dense(tolerance, step)
                    .into_iter()
                    .map(&to_from_here)
                    .collect()
            })
            .collect()
    }
    /// Every control point carried across: right for straight maps only (turn, shift, stretch).
    #[must_use]
    pub fn mapped_straight<To: Frame>(&self, f: impl Fn(Point2<F>) -> Point2<To>) -> Outline<To> {
        self.each(|c| c.mapped(&f))
    }
    /// Short straight lines instead of curves, no longer than `step` and within `tolerance`, each end
    /// carried across: right for any smooth map.
    #[must_use]
    pub fn mapped_by_points<To: Frame>(
        &self,
        f: impl Fn(Point2<F>) -> Point2<To>,
        tolerance: Length,
        step: Length,
    ) -> Outline<To> {
        let mapped = |c: &Contour<F>| {
            let points: Vec<_> = c.dense(tolerance, step).into_iter().map(&f).collect();
            if c.is_closed() {
                Contour::closed_through(&points)
            } else {
                Contour::open_through(&points)
            }
        };
        Outline {
            contours: self.contours.iter().filter_map(mapped).collect(),
        }
    }
    /// Every coordinate on the grid of [`GRID_PER_MM`].
    #[must_use]
    pub fn snapped(&self) -> Self {
        self.each(|c| c.mapped(|p| Point2::from_mm(snapped_mm(p.x_mm()), snapped_mm(p.y_mm()))))
    }

    fn each<To: Frame>(&self, f: impl Fn(&Contour<F>) -> Contour<To>) -> Outline<To> {
        Outline {
            contours: self.contours.iter().map(f).collect(),
        }
    }
}

/// A curve as arcs within `tolerance_mm`: the start of each, and its bulge (tan of a quarter of its
/// sweep, anticlockwise positive); the curve's own end is left out.
pub(crate) fn arcs_along(curve: &kurbo::PathSeg, tolerance_mm: f64) -> Vec<(kurbo::Point, f64)> {
    let mut steps = Vec::new();
    arcs::push_arcs(curve, tolerance_mm, &mut steps);
    steps.into_iter().map(|s| (s.at, s.bulge)).collect()
}

/// The nearest grid point; a coordinate that is already on the grid stays.
pub(crate) fn snapped_mm(mm: f64) -> f64 {
    // Adding zero turns −0 into 0, which would otherwise print and hash differently.
    libm::round(mm * GRID_PER_MM) / GRID_PER_MM + 0.0
}

const fn tag<F: Frame>() -> PhantomData<F> {
    PhantomData
}
