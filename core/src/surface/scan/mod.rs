//! A face taken from a scan.

pub(crate) mod fan;
pub(crate) mod follow;
mod parallel;
mod patch;

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
use std::sync::Arc;

/// Places looked at along a straight line of the chart or of space.
const LOOKS: u32 = 64;

/// A fan of ways costs as much as so many single ones.
const WORTH_A_FAN: usize = 64;

/// How much larger or smaller than its scan a face may be.
const SIZES: core::ops::RangeInclusive<f64> = 0.5..=2.0;

/// The smoothed patch of a scan, with its size against the scan's.
///
/// Chart: the plane of the patch seen square on from outside, u across, v up, in mm; the point is
/// (h(u, v), u, v) in its own space frame, h outwards. Its one size is a pure number: one as
/// scanned, less on a casting that shrank.
#[derive(Debug, Clone, PartialEq)]
pub struct ScanFace {
    patch: Arc<Patch>,
    /// Across, up and outwards, against the scan.
    stretch: [f64; 3],
}

impl ScanFace {
    /// As scanned.
    ///
    /// # Errors
    /// [`PatchError`] for a patch that can't be.
    pub fn new(patch: Patch) -> Result<Self, PatchError> {
        Ok(Self {
            patch: Arc::new(patch.checked()?),
            stretch: [1.0; 3],
        })
    }
    /// What was read of the scan.
    #[must_use]
    pub fn patch(&self) -> &Patch {
        &self.patch
    }
    pub(crate) fn walked(&self) -> Walked<'_, f64> {
        Walked::Scan(self.scanned(self.stretch))
    }
    pub(crate) fn walked_at<T>(&self, size: T) -> Walked<'_, T>
    where
        T: Copy,
    {
        Walked::Scan(self.scanned([size; 3]))
    }
    fn scanned<T>(&self, stretch: [T; 3]) -> Scanned<'_, T> {
        Scanned {
            patch: &self.patch,
            stretch,
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
        Fan::about(self.scanned(self.stretch), start, reach_mm)
    }
    fn height(&self, [u, v]: [f64; 2]) -> patch::Height<f64> {
        self.scanned(self.stretch).height([u, v])
    }
    /// A place where the scan has a surface.
    ///
    /// # Errors
    /// [`SurfaceError::OffTheScan`].
    pub(super) fn checked(&self, at: Point2<Face>) -> Result<[f64; 2], SurfaceError> {
        let [u, v] = [at.x_mm(), at.y_mm()];
        if self.patch.covers(u / self.stretch[0], v / self.stretch[1]) {
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
    /// Curvature of the section along a chart direction, 1/mm: more than zero where it bulges.
    fn bend(&self, at: [f64; 2], [x, y]: [f64; 2]) -> f64 {
        let h = self.height(at);
        let w = libm::sqrt(1.0 + h.u * h.u + h.v * h.v);
        let slope = h.u * x + h.v * y;
        -(h.uu * x * x + 2.0 * h.uv * x * y + h.vv * y * y) / (w * (x * x + y * y + slope * slope))
    }
    /// The ball that is curved alike at a place: radius 1/√|K|, negative where it is a saddle.
    #[must_use]
    pub fn ball_like(&self, at: Point2<Face>) -> Length {
        let h = self.height([at.x_mm(), at.y_mm()]);
        let w = 1.0 + h.u * h.u + h.v * h.v;
        let curvature = (h.uu * h.vv - h.uv * h.uv) / (w * w);
        // A place where it is flat one way is like a ball as large as any taken.
        let size = 1.0 / libm::sqrt(curvature.abs().max(1e-10));
        Length::from_mm(if curvature < 0.0 { -size } else { size })
    }
    /// Whether a tape lies on it all along the line between two places.
    #[must_use]
    pub fn bulges(&self) -> bool {
        let middle = self.middle();
        self.bend(middle, [1.0, 0.0]) > 0.0 && self.bend(middle, [0.0, 1.0]) > 0.0
    }
    fn middle(&self) -> [f64; 2] {
        #[expect(clippy::cast_precision_loss, reason = "at most 160")]
        core::array::from_fn(|k| {
            let half = self.patch.cells[k] as f64 / 2.0 * self.patch.spacing_mm;
            (self.patch.corner_mm[k] + half) * self.stretch[k]
        })
    }
    /// How deep the straight line between two places runs inside the face at its deepest.
    pub(super) fn dip_mm(&self, from: Point2<Face>, to: Point2<Face>) -> Result<f64, SurfaceError> {
        let (a, b) = (self.jet(from)?.at, self.jet(to)?.at);
        let deepest = (1..LOOKS).map(|k| {
            let p = (a + (b - a) * (f64::from(k) / f64::from(LOOKS))).mm();
            let h = self.height([p.y, p.z]);
            (h.h - p.x) / libm::sqrt(1.0 + h.u * h.u + h.v * h.v)
        });
        Ok(deepest.fold(0.0, f64::max))
    }
}

impl Shape for ScanFace {
    fn parameters(&self) -> &'static [Parameter] {
        &[Parameter::Scale]
    }
    fn values(&self) -> [f64; MAX_PARAMETERS] {
        [self.stretch[2], 0.0, 0.0]
    }
    fn with_values(&self, values: &[f64; MAX_PARAMETERS]) -> Result<Surface, SurfaceError> {
        if !SIZES.contains(&values[0]) {
            return Err(SurfaceError::Scale { times: values[0] });
        }
        let by = values[0] / self.stretch[2];
        Ok(Surface::Scan(Self {
            patch: Arc::clone(&self.patch),
            stretch: self.stretch.map(|s| s * by),
        }))
    }
    fn jet(&self, at: Point2<Face>) -> Result<Jet, SurfaceError> {
        let [u, v] = self.checked(at)?;
        let h = self.height([u, v]);
        let by_size = (h.h - u * h.u - v * h.v) / self.stretch[2];
        let nothing = Vector3::from_mm(0.0, 0.0, 0.0);
        Ok(Jet {
            at: Point3::from_mm(h.h, u, v),
            du: Vector3::from_mm(h.u, 1.0, 0.0),
            dv: Vector3::from_mm(h.v, 0.0, 1.0),
            dparam: [Vector3::from_mm(by_size, 0.0, 0.0), nothing, nothing],
        })
    }
    fn normal(&self, at: Point2<Face>) -> Result<Vector3<Part>, SurfaceError> {
        let h = self.height(self.checked(at)?);
        let w = libm::sqrt(1.0 + h.u * h.u + h.v * h.v);
        Ok(Vector3::from_mm(1.0 / w, -h.u / w, -h.v / w))
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
            d_param: [(way.mm - moved) / self.stretch[2], 0.0, 0.0],
        })
    }
    /// A scan moves onto itself in no way.
    fn isometries(&self, _any_straight: bool) -> usize {
        0
    }
}
