//! A face round both ways with a radius of its own each way.

pub(crate) mod radii;

use super::way::{self, Walked};
use super::{
    Bulge, Distance, Jet, MAX_PARAMETERS, Parameter, Shape, Surface, SurfaceError, Turns,
    checked_size, too_close,
};
use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3};
use crate::units::Length;
use core::f64::consts::TAU;
pub(crate) use radii::Radii;

/// How far round either radius the chart is used: 150°, where a dome stops too.
const FURTHEST_ROUND: f64 = 150.0 * core::f64::consts::PI / 180.0;

/// The least share of its girth to which the face may have closed up: nearer its tip a
/// millimetre of the chart is too little on the face to place anything by.
const LEAST_GIRTH: f64 = 0.15;

/// A patch with two radii at right angles, each bulging or hollow: a barrel, the inside of a
/// bowl, a saddle. One flat way is a cylinder, equal radii are a dome; both come out of the same
/// formulas as a limit.
///
/// Chart: the arcs along each, u across on the girth through the origin, v up (design/11, *Frames
/// and charts*). The upright arc of radius `up` is turned about an upright axis at the distance
/// `across`: a patch of a torus (do Carmo 1976, 2-3 ex. 4). With φ = v/up, θ = u/across and
/// ρ = across + up·(cos φ − 1) the point is (ρ cos θ, ρ sin θ, up·sin φ): in its own space frame
/// chart (0, 0) lies on the x axis and faces +x, u starts along y, v along z. Radii are signed,
/// negative in a hollow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoRadii {
    radii: Radii<f64>,
}

impl TwoRadii {
    /// From the radius of the girth across and that of the arc upwards.
    ///
    /// # Errors
    /// [`SurfaceError::Size`] for a radius that is not more than zero and less than 100 m.
    pub fn new(across: (Length, Bulge), up: (Length, Bulge)) -> Result<Self, SurfaceError> {
        let signed = |(radius, bulge): (Length, Bulge)| {
            Ok(bulge.sign() * checked_size("a radius", radius.mm())?)
        };
        Ok(Self {
            radii: Radii {
                across: signed(across)?,
                up: signed(up)?,
            },
        })
    }
    /// The radius of the girth through the origin, negative in a hollow.
    #[must_use]
    pub const fn signed_across(&self) -> Length {
        Length::from_mm(self.radii.across)
    }
    /// The radius of the upright arc, negative in a hollow.
    #[must_use]
    pub const fn signed_up(&self) -> Length {
        Length::from_mm(self.radii.up)
    }
    /// Whether it bulges both ways, so that a tape lies on it whichever way it is pulled.
    #[must_use]
    pub const fn bulges_both_ways(&self) -> bool {
        self.radii.across > 0.0 && self.radii.up > 0.0
    }
    /// The ball that is curved alike at a place: radius 1/√|K|, negative where it is a saddle.
    #[must_use]
    pub fn ball_like(&self, at: Point2<Face>) -> Length {
        let curvature = self.radii.wide(at.y_mm()).curvature;
        // A place where it is flat one way is like a ball as large as any taken.
        let size = 1.0 / libm::sqrt(curvature.abs().max(1e-10));
        Length::from_mm(if curvature < 0.0 { -size } else { size })
    }
    /// All the way round at a height, and its derivatives by the two radii, mm.
    pub(crate) fn girth_at(&self, v_mm: f64) -> (f64, [f64; MAX_PARAMETERS]) {
        let turn = v_mm / self.radii.up;
        let radius_mm = self.radii.across * self.radii.wide(v_mm).g;
        let k = TAU * radius_mm.signum();
        let by_up = libm::cos(turn) - 1.0 + turn * libm::sin(turn);
        (TAU * radius_mm.abs(), [k, k * by_up, 0.0])
    }
    /// The parallel face through the middle of a sheet: both radii grow alike.
    pub(super) fn offset(&self, normal_mm: f64) -> Self {
        Self {
            radii: Radii {
                across: self.radii.across + normal_mm,
                up: self.radii.up + normal_mm,
            },
        }
    }
    pub(super) const fn radii(&self) -> &Radii<f64> {
        &self.radii
    }
    /// A place that the chart still shows truly.
    ///
    /// # Errors
    /// [`SurfaceError::OffTheRound`].
    pub(super) fn checked(&self, at: Point2<Face>) -> Result<[f64; 2], SurfaceError> {
        let (turn_across, turn_up) = (at.x_mm() / self.radii.across, at.y_mm() / self.radii.up);
        let inside = turn_across.abs() <= FURTHEST_ROUND
            && turn_up.abs() <= FURTHEST_ROUND
            && self.radii.wide(at.y_mm()).g >= LEAST_GIRTH;
        if inside {
            Ok([at.x_mm(), at.y_mm()])
        } else {
            Err(SurfaceError::OffTheRound)
        }
    }
    /// How deep a place in space lies below the face, square to it.
    fn depth_mm(&self, at: Point3<Part>) -> f64 {
        let Radii { across, up } = self.radii;
        let p = at.mm();
        let out = across.signum() * libm::hypot(p.x, p.y);
        up.signum() * (up.abs() - libm::hypot(out - (across - up), p.z))
    }
    /// How deep the straight line between two places runs inside the face at its deepest.
    pub(super) fn dip_mm(&self, from: Point2<Face>, to: Point2<Face>) -> Result<f64, SurfaceError> {
        /// Places looked at along the line, the middle among them: the deepest is then met to a
        /// part in four thousand.
        const LOOKS: u32 = 64;
        let (a, b) = (self.jet(from)?.at, self.jet(to)?.at);
        let deepest = (1..LOOKS)
            .map(|k| self.depth_mm(a + (b - a) * (f64::from(k) / f64::from(LOOKS))))
            .fold(0.0, f64::max);
        Ok(deepest)
    }
}

impl Shape for TwoRadii {
    fn parameters(&self) -> &'static [Parameter] {
        &[Parameter::AcrossRadius, Parameter::UpRadius]
    }
    fn values(&self) -> [f64; MAX_PARAMETERS] {
        [self.radii.across, self.radii.up, 0.0]
    }
    fn with_values(&self, values: &[f64; MAX_PARAMETERS]) -> Result<Surface, SurfaceError> {
        checked_size("a radius", values[0].abs())?;
        checked_size("a radius", values[1].abs())?;
        Ok(Surface::TwoRadii(Self {
            radii: Radii {
                across: values[0],
                up: values[1],
            },
        }))
    }
    fn jet(&self, at: Point2<Face>) -> Result<Jet, SurfaceError> {
        let [u, v] = self.checked(at)?;
        let Radii { across, up } = self.radii;
        let (round, rise) = (u / across, v / up);
        let (s, c) = (libm::sin(round), libm::cos(round));
        let (s_up, c_up) = (libm::sin(rise), libm::cos(rise));
        let g = self.radii.wide(v).g;
        let by_up = c_up - 1.0 + rise * s_up;
        Ok(Jet {
            at: Point3::from_mm(across * g * c, across * g * s, up * s_up),
            du: Vector3::from_mm(-g * s, g * c, 0.0),
            dv: Vector3::from_mm(-s_up * c, -s_up * s, c_up),
            dparam: [
                // With the arcs held a larger girth moves the point outwards and back along it.
                Vector3::from_mm(c + g * round * s, s - g * round * c, 0.0),
                Vector3::from_mm(by_up * c, by_up * s, s_up - rise * c_up),
                Vector3::from_mm(0.0, 0.0, 0.0),
            ],
        })
    }
    fn normal(&self, at: Point2<Face>) -> Result<Vector3<Part>, SurfaceError> {
        let [u, v] = self.checked(at)?;
        let (round, rise) = (u / self.radii.across, v / self.radii.up);
        let c_up = libm::cos(rise);
        Ok(Vector3::from_mm(
            c_up * libm::cos(round),
            c_up * libm::sin(round),
            libm::sin(rise),
        ))
    }
    /// By integration ([`way`]); `turns` means nothing on a patch and is not looked at.
    fn over_surface(
        &self,
        from: Point2<Face>,
        to: Point2<Face>,
        _turns: Turns,
    ) -> Result<Distance, SurfaceError> {
        let (a, b) = (self.checked(from)?, self.checked(to)?);
        let way = way::between(&Walked::TwoRadii(self.radii), a, b)?;
        too_close(way.mm)?;
        let (ga, gb) = (self.radii.wide(a[1]).g, self.radii.wide(b[1]).g);
        Ok(Distance {
            mm: way.mm,
            d_from: Vector2::from_mm(-way.start[0] * ga, -way.start[1]),
            d_to: Vector2::from_mm(way.end[0] * gb, way.end[1]),
            d_param: [way.by_sizes[0], way.by_sizes[1], 0.0],
        })
    }
    /// The turn about the upright axis.
    fn isometries(&self, _any_straight: bool) -> usize {
        1
    }
}
