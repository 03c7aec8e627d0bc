//! A face round one way.

use super::flat::in_the_plane;
use super::{
    Bulge, Distance, Jet, MAX_PARAMETERS, Parameter, Shape, Surface, SurfaceError, Turns,
    checked_size,
};
use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3};
use crate::units::Length;
use core::f64::consts::TAU;

/// Which way the axis of a cylinder runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// The axis stands up: u is the arc, v runs along the axis.
    Up,
    /// The axis lies across: u runs along the axis, v is the arc.
    Across,
}

/// A cylinder, bulging or hollow.
///
/// In its own space frame the axis runs through the origin, along z when it stands up and along
/// y when it lies across; chart (0, 0) lies on the x axis and faces +x. With R the signed radius
/// (negative in a hollow) the point is (R cos(u/R), R sin(u/R), v), so one formula serves both:
/// in a hollow the face lies on the far side of the axis and looks back at it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cylinder {
    /// Negative in a hollow.
    radius_mm: f64,
    axis: Axis,
}

impl Cylinder {
    /// From a radius.
    ///
    /// # Errors
    /// [`SurfaceError::Size`] for a radius that is not more than zero and less than 100 m.
    pub fn new(radius: Length, axis: Axis, bulge: Bulge) -> Result<Self, SurfaceError> {
        let radius_mm = bulge.sign() * checked_size("a radius", radius.mm())?;
        Ok(Self { radius_mm, axis })
    }
    /// From the length of a tape laid once round.
    ///
    /// # Errors
    /// [`SurfaceError::Size`] for a girth that no face can have.
    pub fn from_girth(girth: Length, axis: Axis, bulge: Bulge) -> Result<Self, SurfaceError> {
        let radius_mm = bulge.sign() * checked_size("a girth", girth.mm())? / TAU;
        Ok(Self { radius_mm, axis })
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
    /// The parallel cylinder through the middle of a sheet.
    pub(super) fn offset(&self, normal_mm: f64) -> Self {
        Self {
            radius_mm: self.radius_mm + normal_mm,
            axis: self.axis,
        }
    }
    /// Which way the axis runs.
    #[must_use]
    pub const fn axis(&self) -> Axis {
        self.axis
    }
    /// Whether one stands outside it or in it.
    #[must_use]
    pub fn bulge(&self) -> Bulge {
        Bulge::of(self.radius_mm)
    }
}

impl Shape for Cylinder {
    fn parameters(&self) -> &'static [Parameter] {
        &[Parameter::Radius]
    }
    fn values(&self) -> [f64; MAX_PARAMETERS] {
        [self.radius_mm, 0.0, 0.0]
    }
    fn with_values(&self, values: &[f64; MAX_PARAMETERS]) -> Result<Surface, SurfaceError> {
        checked_size("a radius", values[0].abs())?;
        Ok(Surface::Cylinder(Self {
            radius_mm: values[0],
            axis: self.axis,
        }))
    }
    fn jet(&self, at: Point2<Face>) -> Result<Jet, SurfaceError> {
        let r = self.radius_mm;
        let (arc, along) = match self.axis {
            Axis::Up => (at.x_mm(), at.y_mm()),
            Axis::Across => (at.y_mm(), at.x_mm()),
        };
        let turn = arc / r;
        let (sin, cos) = (libm::sin(turn), libm::cos(turn));
        // With the arc held, a larger radius moves the point outwards and back along the arc.
        let by_radius = [cos + turn * sin, sin - turn * cos];
        let none = Vector3::from_mm(0.0, 0.0, 0.0);
        Ok(match self.axis {
            Axis::Up => Jet {
                at: Point3::from_mm(r * cos, r * sin, along),
                du: Vector3::from_mm(-sin, cos, 0.0),
                dv: Vector3::from_mm(0.0, 0.0, 1.0),
                dparam: [
                    Vector3::from_mm(by_radius[0], by_radius[1], 0.0),
                    none,
                    none,
                ],
            },
            Axis::Across => Jet {
                at: Point3::from_mm(r * cos, along, r * sin),
                du: Vector3::from_mm(0.0, 1.0, 0.0),
                dv: Vector3::from_mm(-sin, 0.0, cos),
                dparam: [
                    Vector3::from_mm(by_radius[0], 0.0, by_radius[1]),
                    none,
                    none,
                ],
            },
        })
    }
    fn normal(&self, at: Point2<Face>) -> Result<Vector3<Part>, SurfaceError> {
        Ok(match self.axis {
            Axis::Up => {
                let turn = at.x_mm() / self.radius_mm;
                Vector3::from_mm(libm::cos(turn), libm::sin(turn), 0.0)
            }
            Axis::Across => {
                let turn = at.y_mm() / self.radius_mm;
                Vector3::from_mm(libm::cos(turn), 0.0, libm::sin(turn))
            }
        })
    }
    fn over_surface(
        &self,
        from: Point2<Face>,
        to: Point2<Face>,
        turns: Turns,
    ) -> Result<Distance, SurfaceError> {
        // A girth more grows with the radius: this is all that the distance knows of it.
        let arc_mm = f64::from(turns) * TAU * self.radius_mm.abs();
        let arc_by_radius = f64::from(turns) * TAU * self.radius_mm.signum();
        let (round, by_radius) = match self.axis {
            Axis::Up => (
                Vector2::from_mm(arc_mm, 0.0),
                Vector2::from_mm(arc_by_radius, 0.0),
            ),
            Axis::Across => (
                Vector2::from_mm(0.0, arc_mm),
                Vector2::from_mm(0.0, arc_by_radius),
            ),
        };
        in_the_plane(to - from + round, [by_radius, Vector2::ZERO, Vector2::ZERO])
    }
    fn isometries(&self, any_straight: bool) -> usize {
        if any_straight { 2 } else { 3 }
    }
}
