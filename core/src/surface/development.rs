//! The neighbourhood of a point unrolled into the plane of one template.
//!
//! ```text
//!     face (u, v) ──scale──▶ middle of the sheet ──unroll about the centre──▶ flat (x, y)
//! ```
//! Flat, cylinder and cone unroll exactly; a dome by the azimuthal equidistant map about the
//! *template's* centre, exact along every ray from it; two radii by the same map with ways found by
//! integration. A sheet of thickness t lies with its
//! middle t/2 off the face, and the middle of a bent sheet keeps its length; so the face is
//! first carried to the parallel face through the middle (design/11, *Thickness*: cylinder
//! arc·(R ± t/2)/R, cone at slant s ± (t/2)·cot a, dome r·(R ± t/2)/R, two radii each arc so, a scan
//! along its normals), then unrolled.

use super::dome::between;
use super::middle::{Above, middle_of_sheet};
use super::scan::fan::Ray;
use super::series::{atan_over, sinc, sinc_by_square};
use super::way::{self, Walked};
use super::{
    Cone, Dome, FURTHEST_ROUND_A_DOME, Linear2, OVER_THE_TIP_MARGIN, Shape, Surface, SurfaceError,
};
use crate::frames::{Face, Flat, Part, Point2, Vector2, Vector3};
use crate::units::{Angle, Length};
use core::f64::consts::PI;
use nalgebra::Matrix2;

/// The developed plane of one template: its centre at the origin, up along +y.
#[derive(Debug, Clone, PartialEq)]
pub struct Development {
    surface: Surface,
    thickness: Length,
    centre: Point2<Face>,
    /// The parallel face through the middle of the sheet.
    middle: Surface,
    above: Above,
    unroll: Unroll,
}

/// How one kind of middle face unrolls. Angles are turned so that up comes along +y.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Unroll {
    /// The chart is the plane already.
    Plane { turn: Turn },
    /// A sector about the tip.
    Sector { cone: Cone, turn: Turn },
    /// Azimuthal equidistant about the centre.
    Azimuthal {
        dome: Dome,
        across: Vector3<Part>,
        up: Vector3<Part>,
        outward: Vector3<Part>,
    },
    /// Polar about the centre over the surface.
    Polar { turn: Turn },
}

/// Turns the plane so that a given direction comes along +y.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Turn {
    up: [f64; 2],
}

/// How much a development stretches the middle of the sheet against the face, at one point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Over the direction stretched least (h′ on a bulging dome: along the ray from the centre).
    pub least: f64,
    /// Over the direction stretched most (k′ on a bulging dome: across the ray).
    pub greatest: f64,
}

impl Scale {
    /// The greatest change of any angle (Snyder 1987, eq. 4-9: sin(ω/2) = |h′ − k′|/(h′ + k′)).
    #[must_use]
    pub fn angular(&self) -> Angle {
        let half_sin = (self.greatest - self.least) / (self.greatest + self.least);
        Angle::from_rad(2.0 * libm::asin(half_sin))
    }
}

impl Turn {
    fn new(up: Vector2<Face>) -> Result<Self, SurfaceError> {
        let up = up.unit().ok_or(SurfaceError::NoDirection)?;
        Ok(Self {
            up: [up.x_mm(), up.y_mm()],
        })
    }
    /// Rows of the turn: across is up turned a quarter clockwise.
    fn matrix(self) -> Matrix2<f64> {
        let [a, b] = self.up;
        Matrix2::new(b, -a, a, b)
    }
    fn flat(self, x: f64, y: f64) -> Point2<Flat> {
        let [a, b] = self.up;
        Point2::from_mm(b * x - a * y, a * x + b * y)
    }
    fn back(self, q: Point2<Flat>) -> (f64, f64) {
        let ([a, b], x, y) = (self.up, q.x_mm(), q.y_mm());
        (b * x + a * y, b * y - a * x)
    }
}

impl Development {
    /// About a centre, for a sheet of no thickness.
    ///
    /// `up` is a direction of the chart at the centre; its length means nothing.
    ///
    /// # Errors
    /// A centre off the face; [`SurfaceError::NoDirection`] for an up of no length.
    pub fn new(
        surface: &Surface,
        centre: Point2<Face>,
        up: Vector2<Face>,
    ) -> Result<Self, SurfaceError> {
        Self::with_thickness(surface, centre, up, Length::ZERO)
    }

    /// About a centre, for a sheet of a thickness laid on the face: outside a bulging one,
    /// inside a hollow one.
    ///
    /// # Errors
    /// As [`Development::new`]; [`SurfaceError::Size`] for a thickness below zero,
    /// [`SurfaceError::TooThick`] for a hollow tighter than the sheet.
    pub fn with_thickness(
        surface: &Surface,
        centre: Point2<Face>,
        up: Vector2<Face>,
        thickness: Length,
    ) -> Result<Self, SurfaceError> {
        let (middle, above) = middle_of_sheet(surface, centre, thickness)?;
        let at = above.of(surface, centre);
        let by = above.slopes(surface, centre);
        let up = Vector2::from_mm(
            by.m11 * up.x_mm() + by.m12 * up.y_mm(),
            by.m21 * up.x_mm() + by.m22 * up.y_mm(),
        );
        let unroll = match middle {
            Surface::Flat(_) | Surface::Cylinder(_) => Unroll::Plane {
                turn: Turn::new(up)?,
            },
            Surface::Cone(cone) => {
                // Over the surface a step of u is shorter than in the chart by r/r₀.
                let narrowed = cone.r_mm(at.y_mm())? / cone.signed_reference_radius().mm();
                let up = Vector2::from_mm(up.x_mm() * narrowed, up.y_mm());
                Unroll::Sector {
                    cone,
                    turn: Turn::new(up)?,
                }
            }
            Surface::Dome(dome) => {
                let outward = middle.normal(at)?;
                let up = middle.jet(at)?.space(up);
                let up = (up - outward * up.dot(outward))
                    .unit()
                    .ok_or(SurfaceError::NoDirection)?;
                Unroll::Azimuthal {
                    dome,
                    across: up.cross(outward),
                    up,
                    outward,
                }
            }
            Surface::TwoRadii(_) | Surface::Scan(_) => {
                let (face, at) = walked(&middle, at)?;
                let [x, y] = face.frame(at).over(up.x_mm(), up.y_mm());
                let turn = Turn::new(Vector2::from_mm(x, y))?;
                Unroll::Polar { turn }
            }
        };
        Ok(Self {
            surface: surface.clone(),
            thickness,
            centre,
            middle,
            above,
            unroll,
        })
    }

    /// The face that is unrolled.
    #[must_use]
    pub const fn surface(&self) -> &Surface {
        &self.surface
    }
    /// The point that comes to the origin.
    #[must_use]
    pub const fn centre(&self) -> Point2<Face> {
        self.centre
    }
    /// Thickness of the sheet.
    #[must_use]
    pub const fn thickness(&self) -> Length {
        self.thickness
    }
    /// The parallel face through the middle of the sheet.
    ///
    /// Only distances and directions over it mean anything: a cone's stands in a space frame of
    /// its own, shifted along the axis against the face's.
    #[must_use]
    pub const fn middle(&self) -> &Surface {
        &self.middle
    }
    /// The point of [`Development::middle`]'s chart straight above a point of the face.
    #[must_use]
    pub fn middle_from_face(&self, p: Point2<Face>) -> Point2<Face> {
        self.above.of(&self.surface, p)
    }
    fn face_from_middle(&self, p: Point2<Face>) -> Point2<Face> {
        self.above.back(&self.surface, p)
    }

    /// Where a chart point comes to lie in the flat sheet.
    ///
    /// The point is taken on the branch it is written on, so that a band may go all the way
    /// round; bring a mark beside the feature with [`Surface::nearest`] first.
    ///
    /// # Errors
    /// A point off the face, more than half-way round a cone's sector, or more than 150° from
    /// the centre of a dome.
    pub fn flat(&self, p: Point2<Face>) -> Result<Point2<Flat>, SurfaceError> {
        Ok(self.flat_with_slopes(p)?.0)
    }

    /// [`Development::flat`] of many points: on a scan from a fan of ways about the centre, which agrees
    /// with single ways within 0.001 mm and takes a small part of their time.
    ///
    /// # Errors
    /// Each point's, as [`Development::flat`].
    #[must_use]
    pub fn flat_all(&self, points: &[Point2<Face>]) -> Vec<Result<Point2<Flat>, SurfaceError>> {
        let one = |p: &Point2<Face>| self.flat(*p);
        let (Unroll::Polar { turn }, Surface::Scan(face)) = (self.unroll, &self.middle) else {
            return points.iter().map(one).collect();
        };
        let middle: Vec<Point2<Face>> = points.iter().map(|p| self.middle_from_face(*p)).collect();
        let fan = face.fan(self.middle_from_face(self.centre), &middle);
        let seen = |m: Point2<Face>| fan.as_ref()?.to(face.checked(m).ok()?);
        let each = points.iter().zip(middle);
        each.map(|(p, m)| match seen(m).filter(Ray::holds) {
            Some(ray) => Ok(turn.flat(ray.step_mm[0], ray.step_mm[1])),
            None => one(p),
        })
        .collect()
    }

    /// The derivative of [`Development::flat`]: how directions at a point turn and stretch.
    ///
    /// # Errors
    /// As [`Development::flat`].
    pub fn flat_from_face(&self, p: Point2<Face>) -> Result<Linear2<Flat, Face>, SurfaceError> {
        Ok(self.flat_with_slopes(p)?.1)
    }

    /// The derivative of [`Development::face`].
    ///
    /// # Errors
    /// As [`Development::face`].
    pub fn face_from_flat(&self, q: Point2<Flat>) -> Result<Linear2<Face, Flat>, SurfaceError> {
        let slopes = self.flat_from_face(self.face(q)?)?;
        slopes.inverse().ok_or(SurfaceError::NoDirection)
    }

    /// [`Development::flat`] and its derivative in one go.
    ///
    /// # Errors
    /// As [`Development::flat`].
    pub fn flat_with_slopes(
        &self,
        p: Point2<Face>,
    ) -> Result<(Point2<Flat>, Linear2<Flat, Face>), SurfaceError> {
        let (at, slopes) = self.flat_from_middle(self.middle_from_face(p))?;
        let above = self.above.slopes(&self.surface, p);
        Ok((at, Linear2::new(slopes.matrix() * above)))
    }

    /// Unrolls a point given by the middle's own chart.
    pub(super) fn flat_from_middle(
        &self,
        m: Point2<Face>,
    ) -> Result<(Point2<Flat>, Linear2<Flat, Face>), SurfaceError> {
        let c = self.middle_from_face(self.centre);
        let (at, slopes) = match self.unroll {
            Unroll::Plane { turn } => {
                let step = m - c;
                (turn.flat(step.x_mm(), step.y_mm()), turn.matrix())
            }
            Unroll::Sector { cone, turn } => {
                let (x, y, slopes) = sector(&cone, c, m)?;
                (turn.flat(x, y), turn.matrix() * slopes)
            }
            Unroll::Azimuthal {
                dome,
                across,
                up,
                outward,
            } => azimuthal(&dome, [across, up, outward], m)?,
            Unroll::Polar { turn } => {
                let (x, y, slopes) = polar(&self.middle, c, m)?;
                (turn.flat(x, y), turn.matrix() * slopes)
            }
        };
        Ok((at, Linear2::new(slopes)))
    }

    /// The chart point that lies at a place of the flat sheet.
    ///
    /// # Errors
    /// A place off the face, at the tip of a cone, or more than 150° from the centre of a dome.
    pub fn face(&self, q: Point2<Flat>) -> Result<Point2<Face>, SurfaceError> {
        let c = self.middle_from_face(self.centre);
        let m = match self.unroll {
            Unroll::Plane { turn } => {
                let (x, y) = turn.back(q);
                c + Vector2::from_mm(x, y)
            }
            Unroll::Sector { cone, turn } => {
                let (x, y) = turn.back(q);
                sector_back(&cone, c, x, y)?
            }
            Unroll::Azimuthal {
                dome,
                across,
                up,
                outward,
            } => {
                let r = dome.signed_radius().mm();
                let (x, y) = (q.x_mm() / r, q.y_mm() / r);
                let square = x * x + y * y;
                let angle = libm::sqrt(square);
                if angle > FURTHEST_ROUND_A_DOME {
                    return Err(SurfaceError::TooFarRound);
                }
                let s = sinc(square);
                let unit = across * (s * x) + up * (s * y) + outward * libm::cos(angle);
                dome.from_unit(unit)?.at
            }
            Unroll::Polar { turn } => {
                let (x, y) = turn.back(q);
                polar_back(&self.middle, c, x, y)?
            }
        };
        Ok(self.face_from_middle(m))
    }

    /// How much the sheet is stretched against its own middle at a point: 1 and 1 where the
    /// development is exact.
    ///
    /// # Errors
    /// As [`Development::flat`].
    pub fn scale(&self, p: Point2<Face>) -> Result<Scale, SurfaceError> {
        let m = self.middle_from_face(p);
        let (jet, (_, slopes)) = (self.middle.jet(m)?, self.flat_from_middle(m)?);
        let slopes = slopes.matrix();
        // Gram–Schmidt: the chart steps that are one millimetre and square over the middle.
        let (e, f) = (libm::sqrt(jet.du.dot(jet.du)), jet.du.dot(jet.dv));
        let height = libm::sqrt((jet.dv.dot(jet.dv) - f * f / (e * e)).max(0.0));
        let square_steps = Matrix2::new(1.0 / e, -f / (e * e * height), 0.0, 1.0 / height);
        let (least, greatest) = Linear2::<Flat, Face>::new(slopes * square_steps).stretches();
        Ok(Scale { least, greatest })
    }
}

impl Surface {
    /// The point reached by walking straight ahead over the surface.
    ///
    /// `direction` is a direction of the chart at `from`; its length means nothing.
    ///
    /// # Errors
    /// A way that leaves the face, or no direction.
    pub fn walk(
        &self,
        from: Point2<Face>,
        direction: Vector2<Face>,
        distance: Length,
    ) -> Result<Point2<Face>, SurfaceError> {
        Development::new(self, from, direction)?.face(Point2::new(Length::ZERO, distance))
    }
}

/// A cone's developed sector about a centre, not yet turned: x along the girth, y up the slant, and
/// the derivative by (u, v).
///
/// With β = t·Δθ the point at radius r is x = r·Δθ·sin β/β, y = Δv − (r·t·Δθ²/2)(sin ½β/½β)²:
/// polar coordinates about the tip (radial-line development), written so that a slight taper
/// passes into the cylinder.
fn sector(
    cone: &Cone,
    c: Point2<Face>,
    p: Point2<Face>,
) -> Result<(f64, f64, Matrix2<f64>), SurfaceError> {
    let (r0, t) = (cone.signed_reference_radius().mm(), cone.signed_taper());
    let r = cone.r_mm(p.y_mm())?;
    let (turn, dv) = ((p.x_mm() - c.x_mm()) / r0, p.y_mm() - c.y_mm());
    let beta = t * turn;
    if beta.abs() >= PI - OVER_THE_TIP_MARGIN {
        return Err(SurfaceError::OverTheTip);
    }
    let (whole, half) = (sinc(beta * beta), sinc(beta * beta / 4.0));
    let (sin, cos) = (libm::sin(beta), libm::cos(beta));
    let fall = 0.5 * t * turn * turn * half * half;
    let narrowed = r / r0;
    let slopes = Matrix2::new(
        narrowed * cos,
        t * turn * whole,
        -narrowed * sin,
        1.0 - t * fall,
    );
    Ok((r * turn * whole, dv - r * fall, slopes))
}

/// The way back of [`sector`].
fn sector_back(cone: &Cone, c: Point2<Face>, x: f64, y: f64) -> Result<Point2<Face>, SurfaceError> {
    let (r0, t) = (cone.signed_reference_radius().mm(), cone.signed_taper());
    let rc = cone.r_mm(c.y_mm())?;
    // 1/k is the way up to the tip; m the share of the centre's radius that is left.
    let k = -t / rc;
    let (beside, below) = (k * x, 1.0 - k * y);
    let m = libm::hypot(beside, below);
    let dv = (2.0 * y - k * (x * x + y * y)) / (1.0 + m);
    let turn = if below > beside.abs() {
        // Steeper than half a right angle from the tip: smooth where the taper goes to zero.
        atan_over(beside / below) * x / (below * rc)
    } else {
        let beta = libm::atan2(beside, below);
        if beta.abs() >= PI - OVER_THE_TIP_MARGIN {
            return Err(SurfaceError::OverTheTip);
        }
        beta / (k * rc)
    };
    let v_mm = c.y_mm() + dv;
    cone.r_mm(v_mm)?;
    Ok(Point2::from_mm(c.x_mm() + turn * r0, v_mm))
}

/// The azimuthal equidistant map about the centre (Snyder 1987, eqs 22-4, 22-5, 25-2) and its
/// derivative by (u, v).
fn azimuthal(
    dome: &Dome,
    [across, up, outward]: [Vector3<Part>; 3],
    p: Point2<Face>,
) -> Result<(Point2<Flat>, Matrix2<f64>), SurfaceError> {
    let r = dome.signed_radius().mm();
    let jet = dome.to_unit(p)?;
    let (x, y, z) = (
        jet.unit.dot(across),
        jet.unit.dot(up),
        jet.unit.dot(outward),
    );
    let (c, _) = between(outward, jet.unit);
    if c > FURTHEST_ROUND_A_DOME {
        return Err(SurfaceError::TooFarRound);
    }
    let (q, side) = (c * c, libm::hypot(x, y));
    let s = sinc(q);
    let k = 1.0 / s;
    let k_by_c_dc = -2.0 * sinc_by_square(q) / (s * s);
    let column = |d: Vector3<Part>| {
        let (dx, dy, dz) = (d.dot(across), d.dot(up), d.dot(outward));
        let dk = k_by_c_dc * (k * z * (x * dx + y * dy) - c * side * dz);
        [r * (k * dx + dk * x), r * (k * dy + dk * y)]
    };
    let (by_u, by_v) = (column(jet.du), column(jet.dv));
    let slopes = Matrix2::new(by_u[0], by_v[0], by_u[1], by_v[1]);
    Ok((Point2::from_mm(r * k * x, r * k * y), slopes))
}

/// A face that ways are followed on, and a place of it.
fn walked(face: &Surface, at: Point2<Face>) -> Result<(Walked<'_, f64>, [f64; 2]), SurfaceError> {
    match face {
        Surface::TwoRadii(face) => Ok((Walked::TwoRadii(*face.radii()), face.checked(at)?)),
        Surface::Scan(face) => Ok((face.walked(), face.checked(at)?)),
        // Every other kind unrolls by a formula of its own.
        _ => Err(SurfaceError::OffTheRound),
    }
}

/// The polar map over the surface about a centre, not yet turned, and its derivative by (u, v):
/// along the way as on the face, aside by one over the spread of the ways there (Gauss's lemma).
fn polar(
    face: &Surface,
    c: Point2<Face>,
    p: Point2<Face>,
) -> Result<(f64, f64, Matrix2<f64>), SurfaceError> {
    let ((face, from), (_, to)) = (walked(face, c)?, walked(face, p)?);
    let way = way::between(&face, from, to)?;
    let ([a, b], [ea, eb]) = (way.start, way.end);
    let frame = face.frame(to);
    // What a chart step goes along the way and to its left.
    let column = |du: f64, dv: f64| {
        let [x, y] = frame.over(du, dv);
        let (on, off) = (x * ea + y * eb, (y * ea - x * eb) / way.spread);
        [a * on - b * off, b * on + a * off]
    };
    let (by_u, by_v) = (column(1.0, 0.0), column(0.0, 1.0));
    let slopes = Matrix2::new(by_u[0], by_v[0], by_u[1], by_v[1]);
    Ok((a * way.mm, b * way.mm, slopes))
}

/// The way back of [`polar`].
fn polar_back(
    surface: &Surface,
    c: Point2<Face>,
    x: f64,
    y: f64,
) -> Result<Point2<Face>, SurfaceError> {
    let (face, at) = walked(surface, c)?;
    let from = way::Heading { at, along: [x, y] };
    let [u, v] = way::ahead(&face, &from, 1.0).at;
    let there = Point2::from_mm(u, v);
    walked(surface, there)?;
    Ok(there)
}
