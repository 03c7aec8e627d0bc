//! A linear map between directions in two plane frames.

use crate::frames::{Frame, Vector2};
use core::marker::PhantomData;
use nalgebra::Matrix2;

/// How small displacements in `From` turn into displacements in `To`: a 2 × 2 derivative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Linear2<To: Frame, From: Frame> {
    matrix: Matrix2<f64>,
    frames: PhantomData<(To, From)>,
}

impl<To: Frame, From: Frame> Linear2<To, From> {
    /// From a matrix whose columns are the images of the two axes.
    #[must_use]
    pub const fn new(matrix: Matrix2<f64>) -> Self {
        Self {
            matrix,
            frames: PhantomData,
        }
    }
    /// The matrix; its columns are the images of the two axes.
    #[must_use]
    pub const fn matrix(&self) -> Matrix2<f64> {
        self.matrix
    }
    /// Carries a displacement across.
    #[must_use]
    pub fn vector(&self, v: Vector2<From>) -> Vector2<To> {
        let m = &self.matrix;
        Vector2::from_mm(
            m.m11 * v.x_mm() + m.m12 * v.y_mm(),
            m.m21 * v.x_mm() + m.m22 * v.y_mm(),
        )
    }
    /// Carries a gradient back: the derivative by `From` of something given by `To`.
    #[must_use]
    pub fn gradient(&self, by_to: Vector2<To>) -> Vector2<From> {
        let m = &self.matrix;
        Vector2::from_mm(
            m.m11 * by_to.x_mm() + m.m21 * by_to.y_mm(),
            m.m12 * by_to.x_mm() + m.m22 * by_to.y_mm(),
        )
    }
    /// How areas change; negative where the hand does.
    #[must_use]
    pub fn determinant(&self) -> f64 {
        self.matrix.m11 * self.matrix.m22 - self.matrix.m12 * self.matrix.m21
    }
    /// The way back, or `None` for a map that flattens the plane to a line.
    #[must_use]
    pub fn inverse(&self) -> Option<Linear2<From, To>> {
        let (m, det) = (&self.matrix, self.determinant());
        let size = m.norm_squared();
        (det.abs() > 1e-14 * size)
            .then(|| Linear2::new(Matrix2::new(m.m22, -m.m12, -m.m21, m.m11) / det))
    }
    /// First `other`, then this one.
    #[must_use]
    pub fn after<Source: Frame>(&self, other: Linear2<From, Source>) -> Linear2<To, Source> {
        Linear2::new(self.matrix * other.matrix)
    }
    /// The least and the greatest stretch over all directions.
    #[must_use]
    pub fn stretches(&self) -> (f64, f64) {
        let m = &self.matrix;
        // The two radii of the image of a circle (Blinn 1996): no cancellation for near-turns.
        let q = libm::hypot((m.m11 + m.m22) / 2.0, (m.m21 - m.m12) / 2.0);
        let r = libm::hypot((m.m11 - m.m22) / 2.0, (m.m21 + m.m12) / 2.0);
        ((q - r).abs(), q + r)
    }
}
