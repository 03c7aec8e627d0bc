//! Points and vectors in a plane.

use super::Frame;
use crate::units::Length;
use core::marker::PhantomData;
use core::ops::{Add, Mul, Neg, Sub};

/// A position in the plane of frame `F`, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point2<F: Frame> {
    x_mm: f64,
    y_mm: f64,
    frame: PhantomData<F>,
}

/// A displacement in the plane of frame `F`, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vector2<F: Frame> {
    x_mm: f64,
    y_mm: f64,
    frame: PhantomData<F>,
}

impl<F: Frame> Point2<F> {
    /// The origin of the frame.
    pub const ORIGIN: Self = Self::from_mm(0.0, 0.0);

    /// From two lengths.
    #[must_use]
    pub const fn new(x: Length, y: Length) -> Self {
        Self::from_mm(x.mm(), y.mm())
    }
    /// From millimetres.
    #[must_use]
    pub const fn from_mm(x_mm: f64, y_mm: f64) -> Self {
        Self {
            x_mm,
            y_mm,
            frame: PhantomData,
        }
    }
    /// Across, in millimetres.
    #[must_use]
    pub const fn x_mm(self) -> f64 {
        self.x_mm
    }
    /// Up, in millimetres.
    #[must_use]
    pub const fn y_mm(self) -> f64 {
        self.y_mm
    }
    /// The vector from the origin to this point.
    #[must_use]
    pub const fn from_origin(self) -> Vector2<F> {
        Vector2::from_mm(self.x_mm, self.y_mm)
    }
    /// The straight distance to another point of the same frame.
    #[must_use]
    pub fn distance(self, other: Self) -> Length {
        (other - self).norm()
    }
    /// The point a share `t` of the way to another (0 = here, 1 = there).
    #[must_use]
    pub fn lerp(self, other: Self, t: f64) -> Self {
        self + (other - self) * t
    }
    /// Both coordinates are finite.
    #[must_use]
    pub const fn is_finite(self) -> bool {
        self.x_mm.is_finite() && self.y_mm.is_finite()
    }
}

impl<F: Frame> Vector2<F> {
    /// No displacement.
    pub const ZERO: Self = Self::from_mm(0.0, 0.0);

    /// From millimetres (or pure numbers, for a direction).
    #[must_use]
    pub const fn from_mm(x_mm: f64, y_mm: f64) -> Self {
        Self {
            x_mm,
            y_mm,
            frame: PhantomData,
        }
    }
    /// Across, in millimetres.
    #[must_use]
    pub const fn x_mm(self) -> f64 {
        self.x_mm
    }
    /// Up, in millimetres.
    #[must_use]
    pub const fn y_mm(self) -> f64 {
        self.y_mm
    }
    /// Its length.
    #[must_use]
    pub fn norm(self) -> Length {
        Length::from_mm(self.norm_mm())
    }
    /// Its length in millimetres.
    #[must_use]
    pub fn norm_mm(self) -> f64 {
        libm::hypot(self.x_mm, self.y_mm)
    }
    /// Scalar product, mm².
    #[must_use]
    pub const fn dot(self, o: Self) -> f64 {
        self.x_mm * o.x_mm + self.y_mm * o.y_mm
    }
    /// Signed area spanned, mm²; positive when `o` lies anticlockwise of `self`.
    #[must_use]
    pub const fn cross(self, o: Self) -> f64 {
        self.x_mm * o.y_mm - self.y_mm * o.x_mm
    }
    /// The same vector turned a quarter turn anticlockwise.
    #[must_use]
    pub const fn perp(self) -> Self {
        Self::from_mm(-self.y_mm, self.x_mm)
    }
    /// Same direction with length one; `None` for a vector too short to have one.
    #[must_use]
    pub fn unit(self) -> Option<Self> {
        let n = self.norm_mm();
        (n > 1e-12).then(|| self * (1.0 / n))
    }
    /// Turned anticlockwise by an angle in radians.
    #[must_use]
    pub fn turned(self, rad: f64) -> Self {
        let (s, c) = (libm::sin(rad), libm::cos(rad));
        Self::from_mm(c * self.x_mm - s * self.y_mm, s * self.x_mm + c * self.y_mm)
    }
    /// Direction in radians, anticlockwise from the x axis.
    #[must_use]
    pub fn direction_rad(self) -> f64 {
        libm::atan2(self.y_mm, self.x_mm)
    }
}

impl<F: Frame> Sub for Point2<F> {
    type Output = Vector2<F>;
    fn sub(self, o: Self) -> Vector2<F> {
        Vector2::from_mm(self.x_mm - o.x_mm, self.y_mm - o.y_mm)
    }
}
impl<F: Frame> Add<Vector2<F>> for Point2<F> {
    type Output = Self;
    fn add(self, v: Vector2<F>) -> Self {
        Self::from_mm(self.x_mm + v.x_mm, self.y_mm + v.y_mm)
    }
}
impl<F: Frame> Sub<Vector2<F>> for Point2<F> {
    type Output = Self;
    fn sub(self, v: Vector2<F>) -> Self {
        Self::from_mm(self.x_mm - v.x_mm, self.y_mm - v.y_mm)
    }
}
impl<F: Frame> Add for Vector2<F> {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::from_mm(self.x_mm + o.x_mm, self.y_mm + o.y_mm)
    }
}
impl<F: Frame> Sub for Vector2<F> {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::from_mm(self.x_mm - o.x_mm, self.y_mm - o.y_mm)
    }
}
impl<F: Frame> Mul<f64> for Vector2<F> {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self::from_mm(self.x_mm * k, self.y_mm * k)
    }
}
impl<F: Frame> Neg for Vector2<F> {
    type Output = Self;
    fn neg(self) -> Self {
        self * -1.0
    }
}
