//! A face taken from a scan.

mod base;
pub(crate) mod fan;
pub(crate) mod follow;
mod form;
mod parallel;
mod patch;

pub use base::Base;
pub(crate) use patch::basis;
pub use patch::{MOST_CELLS, Patch, PatchError};

use super::way::{self, Walked};
use super::{
    Distance, Jet, MAX_PARAMETERS, Parameter, Shape, Surface, SurfaceError, Turns, too_close,
};
use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3};
use crate::units::Length;
use fan::Fan;
use follow::Scanned;
use form::Form;
use std::sync::Arc;

/// Places looked at along a straight line of the chart or of space.
const LOOKS: u32 = 64;

/// A fan of ways costs as much as so many single ones.
const WORTH_A_FAN: usize = 64;

/// How much larger or smaller than its scan a face may be.
const SIZES: core::ops::RangeInclusive<f64> = 0.5..=2.0;

/// The smoothed patch of a scan, with its size against the scan's.
///
/// Chart: the plane of the patch seen square on from outside, u across, v up, in mm, bent to the face's
/// roundness where that was found ([`Base`]); the point stands h(u, v) over it, in a space frame of
/// outwards, across and up at the chart's origin. Its one size is a pure number: one as scanned, less on a
/// casting that shrank.
#[derive(Debug, Clone, PartialEq)]
pub struct ScanFace {
    patch: Arc<Patch>,
    /// Against the scan.
    size: f64,
}

impl ScanFace {
    /// As scanned.
    ///
    /// # Errors
    /// [`PatchError`] for a patch that can't be.
    pub fn new(patch: Patch) -> Result<Self, PatchError> {
        Ok(Self {
            patch: Arc::new(patch.checked()?),
            size: 1.0,
        })
    }
    /// What was read of the scan.
    #[must_use]
    pub fn patch(&self) -> &Patch {
        &self.patch
    }
    pub(crate) fn walked(&self) -> Walked<'_, f64> {
        Walked::Scan(self.scanned(self.size))
    }
    pub(crate) fn walked_at<T>(&self, size: T) -> Walked<'_, T>
    where
        T: Copy,
    {
        Walked::Scan(self.scanned(size))
    }
    fn scanned<T>(&self, size: T) -> Scanned<'_, T> {
        Scanned {
            patch: &self.patch,
            size,
        }
    }
    /// All ways from a place, as far as others lie; `None` for too few to be worth it.
    pub(super) fn fan(&self, from: Point2<Face>, to: &[Point2<Face>]) -> Option<Fan<'_>> {
        let start = self
            .checked(from)
            .ok()
            .filter(|_| to.len() >= WORTH_A_FAN)?;
        let reach_mm = to
            .iter()
            .filter(|p| self.checked(**p).is_ok())
            .fold(0.0, |far: f64, p| far.max((*p - from).norm_mm()));
        Fan::about(self.scanned(self.size), start, reach_mm)
    }
    fn form(&self, at: [f64; 2]) -> Form<f64> {
        self.scanned(self.size).form(at)
    }
    /// Outwards, across and up in space.
    fn in_space(&self, at: [f64; 2], along: [f64; 3]) -> [f64; 3] {
        let axes = self.patch.base.axes(at.map(|x| x / self.size));
        core::array::from_fn(|k| (0..3).map(|axis| along[axis] * axes[axis][k]).sum())
    }
    fn place(&self, at: [f64; 2]) -> [f64; 3] {
        let [u, v] = at.map(|x| x / self.size);
        self.patch.place_mm(u, v).map(|x| x * self.size)
    }
    fn outward(&self, at: [f64; 2]) -> [f64; 3] {
        self.in_space(at, self.form(at).normal())
    }
    /// A place where the scan has a surface.
    ///
    /// # Errors
    /// [`SurfaceError::OffTheScan`].
    pub(super) fn checked(&self, at: Point2<Face>) -> Result<[f64; 2], SurfaceError> {
        let [u, v] = [at.x_mm(), at.y_mm()];
        if self.patch.covers(u / self.size, v / self.size) {
            Ok([u, v])
        } else {
            Err(SurfaceError::OffTheScan)
        }
    }
    /// The same two places where the scan has a surface all the way between them.
    fn checked_between(
        &self,
        from: Point2<Face>,
        to: Point2<Face>,
    ) -> Result<([f64; 2], [f64; 2]), SurfaceError> {
        for k in 0..=LOOKS {
            self.checked(from.lerp(to, f64::from(k) / f64::from(LOOKS)))?;
        }
        Ok(([from.x_mm(), from.y_mm()], [to.x_mm(), to.y_mm()]))
    }
    /// The ball that is curved alike at a place: radius 1/√|K|, negative where it is a saddle.
    #[must_use]
    pub fn ball_like(&self, at: Point2<Face>) -> Length {
        let curvature = self.form([at.x_mm(), at.y_mm()]).curvature();
        // A place where it is flat one way is like a ball as large as any taken.
        let size = 1.0 / libm::sqrt(curvature.abs().max(1e-10));
        Length::from_mm(if curvature < 0.0 { -size } else { size })
    }
    /// Whether a tape lies on it all along the line between two places.
    #[must_use]
    pub fn bulges(&self) -> bool {
        let middle = self.form(self.middle());
        middle.bend([1.0, 0.0]) > 0.0 && middle.bend([0.0, 1.0]) > 0.0
    }
    fn middle(&self) -> [f64; 2] {
        #[expect(clippy::cast_precision_loss, reason = "at most 160")]
        core::array::from_fn(|k| {
            let half = self.patch.cells[k] as f64 / 2.0 * self.patch.spacing_mm;
            (self.patch.corner_mm[k] + half) * self.size
        })
    }
    /// How deep the straight line between two places runs inside the face at its deepest.
    pub(super) fn dip_mm(&self, from: Point2<Face>, to: Point2<Face>) -> Result<f64, SurfaceError> {
        let (a, b) = (self.jet(from)?.at, self.jet(to)?.at);
        let deepest = (1..LOOKS).map(|k| {
            let p = (a + (b - a) * (f64::from(k) / f64::from(LOOKS))).mm();
            let [u, v, h] = self.patch.base.foot([p.x, p.y, p.z].map(|x| x / self.size));
            self.patch.off_mm(u, v, h) * self.size
        });
        Ok(deepest.fold(0.0, f64::max))
    }
}

impl Shape for ScanFace {
    fn parameters(&self) -> &'static [Parameter] {
        &[Parameter::Scale]
    }
    fn values(&self) -> [f64; MAX_PARAMETERS] {
        [self.size, 0.0, 0.0]
    }
    fn with_values(&self, values: &[f64; MAX_PARAMETERS]) -> Result<Surface, SurfaceError> {
        if !SIZES.contains(&values[0]) {
            return Err(SurfaceError::Scale { times: values[0] });
        }
        Ok(Surface::Scan(Self {
            patch: Arc::clone(&self.patch),
            size: values[0],
        }))
    }
    fn jet(&self, at: Point2<Face>) -> Result<Jet, SurfaceError> {
        let at = self.checked(at)?;
        let form = self.form(at);
        let (place, du, dv) = (
            self.place(at),
            self.in_space(at, form.u),
            self.in_space(at, form.v),
        );
        let by_size =
            core::array::from_fn(|k| (place[k] - at[0] * du[k] - at[1] * dv[k]) / self.size);
        let vector = |[out, across, up]: [f64; 3]| Vector3::from_mm(out, across, up);
        let nothing = vector([0.0; 3]);
        Ok(Jet {
            at: Point3::from_mm(place[0], place[1], place[2]),
            du: vector(du),
            dv: vector(dv),
            dparam: [vector(by_size), nothing, nothing],
        })
    }
    fn normal(&self, at: Point2<Face>) -> Result<Vector3<Part>, SurfaceError> {
        let [out, across, up] = self.outward(self.checked(at)?);
        Ok(Vector3::from_mm(out, across, up))
    }
    /// By integration ([`way`]); `turns` means nothing on a patch and is not looked at.
    fn over_surface(
        &self,
        from: Point2<Face>,
        to: Point2<Face>,
        _turns: Turns,
    ) -> Result<Distance, SurfaceError> {
        let (a, b) = self.checked_between(from, to)?;
        let face = self.walked();
        let way = way::between(&face, a, b)?;
        too_close(way.mm)?;
        // A direction over the surface as the slope of the distance by the chart.
        let slope = |at: [f64; 2], [x, y]: [f64; 2]| {
            let frame = face.frame(at);
            Vector2::<Face>::from_mm(frame.u * x, frame.lean * x + frame.v * y)
        };
        let (d_from, d_to) = (-slope(a, way.start), slope(b, way.end));
        let moved = d_from.dot(from.from_origin()) + d_to.dot(to.from_origin());
        Ok(Distance {
            mm: way.mm,
            d_from,
            d_to,
            d_param: [(way.mm - moved) / self.size, 0.0, 0.0],
        })
    }
    /// A scan moves onto itself in no way.
    fn isometries(&self, _any_straight: bool) -> usize {
        0
    }
}
