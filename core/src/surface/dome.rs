//! A face round both ways alike.

use super::series::{sinc, sinc_by_square};
use super::{
    BEHIND_THE_DOME_MARGIN, Bulge, Distance, FURTHEST_ROUND_A_DOME, Jet, MAX_PARAMETERS, Parameter,
    Shape, Surface, SurfaceError, Turns, checked_size, too_close,
};
use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3};
use crate::units::Length;
use core::f64::consts::{PI, TAU};

/// A dome (part of a ball), bulging or hollow.
///
/// Chart: azimuthal equidistant about the face's origin (Snyder 1987, USGS Professional Paper
/// 1395, eqs 22-4, 22-5, 25-2): distance from the origin is the arc over the dome, direction is
/// kept there. In its own space frame the centre of the ball is the origin, chart (0, 0) lies
/// on the x axis and faces +x, u starts along y, v along z. With R the signed radius and
/// c = |(u, v)|/R the point is (R cos c, u·sin c/c, v·sin c/c).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dome {
    /// Negative in a hollow.
    radius_mm: f64,
}

/// A chart point as the outward direction there, with derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnitJet {
    /// Outward unit normal; the point is this times the signed radius.
    pub unit: Vector3<Part>,
    /// Derivative along u, for each millimetre.
    pub du: Vector3<Part>,
    /// Derivative along v, for each millimetre.
    pub dv: Vector3<Part>,
    /// Derivative by the signed radius with u and v held, for each millimetre.
    pub dradius: Vector3<Part>,
}

/// An outward direction as a chart point, with derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartJet {
    /// The chart point.
    pub at: Point2<Face>,
    /// Gradient of u by the direction, mm for each radian, tangent to the dome.
    pub u_by_unit: Vector3<Part>,
    /// Gradient of v by the direction, mm for each radian, tangent to the dome.
    pub v_by_unit: Vector3<Part>,
}

impl Dome {
    /// From a radius.
    ///
    /// # Errors
    /// [`SurfaceError::Size`] for a radius that is not more than zero and less than 100 m.
    pub fn new(radius: Length, bulge: Bulge) -> Result<Self, SurfaceError> {
        Ok(Self {
            radius_mm: bulge.sign() * checked_size("a radius", radius.mm())?,
        })
    }
    /// From the length of a tape laid once round at the widest.
    ///
    /// # Errors
    /// [`SurfaceError::Size`] for a girth that no face can have.
    pub fn from_girth(girth: Length, bulge: Bulge) -> Result<Self, SurfaceError> {
        Ok(Self {
            radius_mm: bulge.sign() * checked_size("a girth", girth.mm())? / TAU,
        })
    }
    /// The radius, without its sign.
    #[must_use]
    pub const fn radius(&self) -> Length {
        Length::from_mm(self.radius_mm.abs())
    }
    /// The radius, negative in a hollow.
    #[must_use]
    pub const fn signed_radius(&self) -> Length {
        Length::from_mm(self.radius_mm)
    }
    /// Whether one stands outside it or in it.
    #[must_use]
    pub fn bulge(&self) -> Bulge {
        Bulge::of(self.radius_mm)
    }
    /// The parallel dome through the middle of a sheet.
    pub(super) fn offset(&self, normal_mm: f64) -> Self {
        Self {
            radius_mm: self.radius_mm + normal_mm,
        }
    }
    /// The outward direction at a chart point, with derivatives.
    ///
    /// # Errors
    /// [`SurfaceError::BehindTheDome`] near the point opposite the face's origin, where the
    /// chart tears.
    pub fn to_unit(&self, at: Point2<Face>) -> Result<UnitJet, SurfaceError> {
        let (r, u, v) = (self.radius_mm, at.x_mm(), at.y_mm());
        let q = (u * u + v * v) / (r * r);
        let c = libm::sqrt(q);
        if c > PI - BEHIND_THE_DOME_MARGIN {
            return Err(SurfaceError::BehindTheDome);
        }
        let (s, s_by_q) = (sinc(q), sinc_by_square(q));
        // cos c changes by −S/2 for each unit of q; q by 2u/R² for each mm of u.
        let (q_by_u, q_by_v, q_by_r) = (2.0 * u / (r * r), 2.0 * v / (r * r), -2.0 * q / r);
        let by = |q_by: f64, own: [f64; 2]| {
            Vector3::from_mm(
                -0.5 * s * q_by,
                (u * s_by_q * q_by + s * own[0]) / r,
                (v * s_by_q * q_by + s * own[1]) / r,
            )
        };
        Ok(UnitJet {
            unit: Vector3::from_mm(libm::cos(c), u * s / r, v * s / r),
            du: by(q_by_u, [1.0, 0.0]),
            dv: by(q_by_v, [0.0, 1.0]),
            dradius: by(q_by_r, [-u / r, -v / r]),
        })
    }
    /// The chart point with a given outward direction (any length), with derivatives.
    ///
    /// # Errors
    /// [`SurfaceError::BehindTheDome`] near the point opposite the face's origin;
    /// [`SurfaceError::NoDirection`] for a vector of no length.
    pub fn from_unit(&self, outward: Vector3<Part>) -> Result<ChartJet, SurfaceError> {
        let n = outward.unit().ok_or(SurfaceError::NoDirection)?.mm();
        let side = libm::hypot(n.y, n.z);
        let c = libm::atan2(side, n.x);
        if c > PI - BEHIND_THE_DOME_MARGIN {
            return Err(SurfaceError::BehindTheDome);
        }
        let q = c * c;
        let s = sinc(q);
        let k = 1.0 / s;
        let r = self.radius_mm;
        // dK = 2K_q·(c·dc) with c·dc = K·n_x·(n_y dn_y + n_z dn_z) − c·side·dn_x, smooth at zero.
        let k_by_c_dc = -2.0 * sinc_by_square(q) / (s * s);
        let k_by_unit = nalgebra::Vector3::new(
            -k_by_c_dc * c * side,
            k_by_c_dc * k * n.x * n.y,
            k_by_c_dc * k * n.x * n.z,
        );
        let gradient = |axis: nalgebra::Vector3<f64>, along: f64| {
            let raw = (k_by_unit * along + axis * k) * r;
            Vector3::from_column_mm(raw - n * (raw.x * n.x + raw.y * n.y + raw.z * n.z))
        };
        Ok(ChartJet {
            at: Point2::from_mm(r * k * n.y, r * k * n.z),
            u_by_unit: gradient(nalgebra::Vector3::y(), n.y),
            v_by_unit: gradient(nalgebra::Vector3::z(), n.z),
        })
    }
}

/// The angle between two unit vectors, good from nothing to a half-turn, and the axis of the
/// turn from the first to the second (`None` where the two are all but one or opposite).
pub(super) fn between(a: Vector3<Part>, b: Vector3<Part>) -> (f64, Option<Vector3<Part>>) {
    // a × b = a × (b − a): the difference keeps its digits when the two are close.
    let across = a.cross(b - a);
    let angle = libm::atan2(across.norm().mm(), a.dot(b));
    (angle, across.unit())
}

impl Shape for Dome {
    fn parameters(&self) -> &'static [Parameter] {
        &[Parameter::Radius]
    }
    fn values(&self) -> [f64; MAX_PARAMETERS] {
        [self.radius_mm, 0.0, 0.0]
    }
    fn with_values(&self, values: &[f64; MAX_PARAMETERS]) -> Result<Surface, SurfaceError> {
        checked_size("a radius", values[0].abs())?;
        Ok(Surface::Dome(Self {
            radius_mm: values[0],
        }))
    }
    fn jet(&self, at: Point2<Face>) -> Result<Jet, SurfaceError> {
        let UnitJet {
            unit,
            du,
            dv,
            dradius,
        } = self.to_unit(at)?;
        let r = self.radius_mm;
        let none = Vector3::from_mm(0.0, 0.0, 0.0);
        Ok(Jet {
            at: Point3::from_column_mm(unit.mm() * r),
            du: du * r,
            dv: dv * r,
            dparam: [unit + dradius * r, none, none],
        })
    }
    fn normal(&self, at: Point2<Face>) -> Result<Vector3<Part>, SurfaceError> {
        Ok(self.to_unit(at)?.unit)
    }
    /// |R|·ψ with ψ = atan2(|a × b|, a·b); `turns` means nothing on a dome and is not looked at.
    ///
    /// The radius enters twice: as the factor, and because chart points held in millimetres sit
    /// at other directions on another ball.
    fn over_surface(
        &self,
        from: Point2<Face>,
        to: Point2<Face>,
        _turns: Turns,
    ) -> Result<Distance, SurfaceError> {
        let (a, b) = (self.to_unit(from)?, self.to_unit(to)?);
        let size_mm = self.radius_mm.abs();
        let (angle, axis) = between(a.unit, b.unit);
        if angle > FURTHEST_ROUND_A_DOME {
            return Err(SurfaceError::TooFarRound);
        }
        let mm = size_mm * angle;
        too_close(mm)?;
        let axis = axis.ok_or(SurfaceError::TooClose)?;
        // Unit tangents along which the angle grows: away from the other end.
        let (leave_a, leave_b) = (-axis.cross(a.unit), axis.cross(b.unit));
        let ends = leave_a.dot(a.dradius) + leave_b.dot(b.dradius);
        Ok(Distance {
            mm,
            d_from: Vector2::from_mm(leave_a.dot(a.du), leave_a.dot(a.dv)) * size_mm,
            d_to: Vector2::from_mm(leave_b.dot(b.du), leave_b.dot(b.dv)) * size_mm,
            d_param: [self.radius_mm.signum() * angle + size_mm * ends, 0.0, 0.0],
        })
    }
    fn isometries(&self, _any_straight: bool) -> usize {
        3
    }
}
