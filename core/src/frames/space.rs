//! Points and vectors in space.

use super::Frame;
use crate::units::Length;
use core::marker::PhantomData;
use core::ops::{Add, Mul, Neg, Sub};
use nalgebra::Vector3 as Column3;

/// A position in space in frame `F`, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point3<F: Frame> {
    mm: Column3<f64>,
    frame: PhantomData<F>,
}

/// A displacement in space in frame `F`, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vector3<F: Frame> {
    mm: Column3<f64>,
    frame: PhantomData<F>,
}

impl<F: Frame> Point3<F> {
    /// From millimetres.
    #[must_use]
    pub const fn from_mm(x: f64, y: f64, z: f64) -> Self {
        Self {
            mm: Column3::new(x, y, z),
            frame: PhantomData,
        }
    }
    /// The coordinates as a column, in millimetres.
    #[must_use]
    pub const fn mm(self) -> Column3<f64> {
        self.mm
    }
    /// From a column of millimetres.
    #[must_use]
    pub const fn from_column_mm(mm: Column3<f64>) -> Self {
        Self {
            mm,
            frame: PhantomData,
        }
    }
    /// The straight distance to another point of the same frame.
    #[must_use]
    pub fn distance(self, other: Self) -> Length {
        (other - self).norm()
    }
}

impl<F: Frame> Vector3<F> {
    /// From millimetres (or pure numbers, for a direction).
    #[must_use]
    pub const fn from_mm(x: f64, y: f64, z: f64) -> Self {
        Self {
            mm: Column3::new(x, y, z),
            frame: PhantomData,
        }
    }
    /// The components as a column, in millimetres.
    #[must_use]
    pub const fn mm(self) -> Column3<f64> {
        self.mm
    }
    /// From a column of millimetres.
    #[must_use]
    pub const fn from_column_mm(mm: Column3<f64>) -> Self {
        Self {
            mm,
            frame: PhantomData,
        }
    }
    /// Scalar product, mm².
    #[must_use]
    pub fn dot(self, o: Self) -> f64 {
        let (a, b) = (self.mm, o.mm);
        a.x * b.x + a.y * b.y + a.z * b.z
    }
    /// Vector product.
    #[must_use]
    pub fn cross(self, o: Self) -> Self {
        Self::from_column_mm(self.mm.cross(&o.mm))
    }
    /// Its length.
    #[must_use]
    pub fn norm(self) -> Length {
        Length::from_mm(libm::sqrt(self.dot(self)))
    }
    /// Same direction with length one; `None` for a vector too short to have one.
    #[must_use]
    pub fn unit(self) -> Option<Self> {
        let n = self.norm().mm();
        (n > 1e-12).then(|| self * (1.0 / n))
    }
}

impl<F: Frame> Sub for Point3<F> {
    type Output = Vector3<F>;
    fn sub(self, o: Self) -> Vector3<F> {
        Vector3::from_column_mm(self.mm - o.mm)
    }
}
impl<F: Frame> Add<Vector3<F>> for Point3<F> {
    type Output = Self;
    fn add(self, v: Vector3<F>) -> Self {
        Self::from_column_mm(self.mm + v.mm)
    }
}
impl<F: Frame> Add for Vector3<F> {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::from_column_mm(self.mm + o.mm)
    }
}
impl<F: Frame> Sub for Vector3<F> {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::from_column_mm(self.mm - o.mm)
    }
}
impl<F: Frame> Mul<f64> for Vector3<F> {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self::from_column_mm(self.mm * k)
    }
}
impl<F: Frame> Neg for Vector3<F> {
    type Output = Self;
    fn neg(self) -> Self {
        self * -1.0
    }
}
