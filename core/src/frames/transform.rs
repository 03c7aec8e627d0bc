//! The named ways from one frame to another.
//!
//! A transform is named `target_from_source`; when two are composed, neighbouring words match:
//! `sheet_from_flat.after(flat_from_face)`.

use super::{Frame, Point2, Point3, Vector2, Vector3};
use crate::units::Angle;
use core::marker::PhantomData;
use nalgebra::Matrix3;

/// A turn and a shift in the plane: distances and hand are kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rigid2<To: Frame, From: Frame> {
    cos: f64,
    sin: f64,
    shift: Vector2<To>,
    from: PhantomData<From>,
}

impl<To: Frame, From: Frame> Rigid2<To, From> {
    /// Turns about the origin of `From`, then moves that origin to `origin_at`.
    #[must_use]
    pub fn new(turn: Angle, origin_at: Point2<To>) -> Self {
        Self {
            cos: libm::cos(turn.rad()),
            sin: libm::sin(turn.rad()),
            shift: origin_at.from_origin(),
            from: PhantomData,
        }
    }
    /// Carries a point across.
    #[must_use]
    pub fn point(&self, p: Point2<From>) -> Point2<To> {
        Point2::ORIGIN + self.vector(p.from_origin()) + self.shift
    }
    /// Carries a direction or displacement across.
    #[must_use]
    pub fn vector(&self, v: Vector2<From>) -> Vector2<To> {
        Vector2::from_mm(
            self.cos * v.x_mm() - self.sin * v.y_mm(),
            self.sin * v.x_mm() + self.cos * v.y_mm(),
        )
    }
    /// The turn from `From` to `To`.
    #[must_use]
    pub fn turn(&self) -> Angle {
        Angle::from_rad(libm::atan2(self.sin, self.cos))
    }
    /// The way back.
    #[must_use]
    pub fn inverse(&self) -> Rigid2<From, To> {
        let s = self.shift;
        Rigid2 {
            cos: self.cos,
            sin: -self.sin,
            shift: Vector2::from_mm(
                -(self.cos * s.x_mm() + self.sin * s.y_mm()),
                self.sin * s.x_mm() - self.cos * s.y_mm(),
            ),
            from: PhantomData,
        }
    }
    /// First `other`, then this one.
    #[must_use]
    pub fn after<Source: Frame>(&self, other: Rigid2<From, Source>) -> Rigid2<To, Source> {
        Rigid2 {
            cos: self.cos * other.cos - self.sin * other.sin,
            sin: self.sin * other.cos + self.cos * other.sin,
            shift: self.vector(other.shift) + self.shift,
            from: PhantomData,
        }
    }
}

/// A reflection in the plane: the one transform that changes the hand, never hidden in another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mirror2<F: Frame> {
    axis_rad: f64,
    through: Point2<F>,
}

impl<F: Frame> Mirror2<F> {
    /// Reflects in the line through a point in a direction.
    #[must_use]
    pub const fn across(through: Point2<F>, along: Angle) -> Self {
        Self {
            axis_rad: along.rad(),
            through,
        }
    }
    /// The mirror image of a point.
    #[must_use]
    pub fn point(&self, p: Point2<F>) -> Point2<F> {
        self.through + self.vector(p - self.through)
    }
    /// The mirror image of a displacement.
    #[must_use]
    pub fn vector(&self, v: Vector2<F>) -> Vector2<F> {
        let (s, c) = (
            libm::sin(2.0 * self.axis_rad),
            libm::cos(2.0 * self.axis_rad),
        );
        Vector2::from_mm(c * v.x_mm() + s * v.y_mm(), s * v.x_mm() - c * v.y_mm())
    }
}

/// A turn and a shift in space: distances and hand are kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rigid3<To: Frame, From: Frame> {
    turn: Matrix3<f64>,
    shift: Vector3<To>,
    from: PhantomData<From>,
}

/// The matrix offered as a turn is not one.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "not a turn: its axes are not square to each other, or it mirrors (determinant {determinant})"
)]
pub struct NotATurn {
    /// The determinant found; +1 for a turn, −1 for a mirror.
    pub determinant: f64,
}

impl<To: Frame, From: Frame> Rigid3<To, From> {
    /// From a rotation matrix and where the origin of `From` goes.
    ///
    /// # Errors
    /// [`NotATurn`] when the matrix is not orthonormal to 1e-9 or mirrors.
    pub fn new(turn: Matrix3<f64>, origin_at: Point3<To>) -> Result<Self, NotATurn> {
        let determinant = turn.determinant();
        let off = (turn * turn.transpose() - Matrix3::identity()).abs().max();
        if off > 1e-9 || (determinant - 1.0).abs() > 1e-9 {
            return Err(NotATurn { determinant });
        }
        Ok(Self {
            turn,
            shift: Vector3::from_column_mm(origin_at.mm()),
            from: PhantomData,
        })
    }
    /// One frame laid on the other, axis on axis.
    #[must_use]
    pub fn laid_on() -> Self {
        Self {
            turn: Matrix3::identity(),
            shift: Vector3::from_mm(0.0, 0.0, 0.0),
            from: PhantomData,
        }
    }
    /// Carries a point across.
    #[must_use]
    pub fn point(&self, p: Point3<From>) -> Point3<To> {
        Point3::from_column_mm(self.turn * p.mm() + self.shift.mm())
    }
    /// Carries a direction or displacement across.
    #[must_use]
    pub fn vector(&self, v: Vector3<From>) -> Vector3<To> {
        Vector3::from_column_mm(self.turn * v.mm())
    }
    /// The way back.
    #[must_use]
    pub fn inverse(&self) -> Rigid3<From, To> {
        let turn = self.turn.transpose();
        Rigid3 {
            turn,
            shift: Vector3::from_column_mm(-(turn * self.shift.mm())),
            from: PhantomData,
        }
    }
    /// First `other`, then this one.
    #[must_use]
    pub fn after<Source: Frame>(&self, other: Rigid3<From, Source>) -> Rigid3<To, Source> {
        Rigid3 {
            turn: self.turn * other.turn,
            shift: self.vector(other.shift) + self.shift,
            from: PhantomData,
        }
    }
}
