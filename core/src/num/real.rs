//! What formulas need of a number, so that derivatives can be carried through them.

use core::ops::{Add, Div, Mul, Neg, Sub};

/// What geometry that is written once, for plain numbers and for those that carry derivatives,
/// needs of a number.
pub(crate) trait Real:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
    fn of(value: f64) -> Self;
    fn value(self) -> f64;
    fn sqrt(self) -> Self;
    fn sin(self) -> Self;
    fn cos(self) -> Self;
    fn atan2(self, x: Self) -> Self;

    /// sin(√q)/√q for the square of an angle, smooth through zero.
    fn sinc_of_square(self) -> Self {
        if self.value() < 1e-4 {
            // Taylor to q⁴: the next term is under 1e-24 here.
            let q = self;
            let k = |c: f64| Self::of(c);
            return k(1.0)
                + q * (k(-1.0 / 6.0)
                    + q * (k(1.0 / 120.0) + q * (k(-1.0 / 5040.0) + q * k(1.0 / 362_880.0))));
        }
        let angle = self.sqrt();
        angle.sin() / angle
    }

    /// cos(√q) for the square of an angle, smooth through zero.
    fn cos_of_square(self) -> Self {
        if self.value() < 1e-4 {
            let q = self;
            let k = |c: f64| Self::of(c);
            return k(1.0)
                + q * (k(-0.5)
                    + q * (k(1.0 / 24.0) + q * (k(-1.0 / 720.0) + q * k(1.0 / 40_320.0))));
        }
        self.sqrt().cos()
    }
}

impl Real for f64 {
    fn of(value: f64) -> Self {
        value
    }
    fn value(self) -> f64 {
        self
    }
    fn sqrt(self) -> Self {
        libm::sqrt(self)
    }
    fn sin(self) -> Self {
        libm::sin(self)
    }
    fn cos(self) -> Self {
        libm::cos(self)
    }
    fn atan2(self, x: Self) -> Self {
        libm::atan2(self, x)
    }
}
