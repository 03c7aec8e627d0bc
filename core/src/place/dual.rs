//! Numbers that carry their derivatives.
//!
//! A rule is written once, over any [`Real`], and its Jacobian falls out exactly: each
//! operation carries the value and its derivatives by a handful of inputs (forward-mode
//! differentiation, Wengert 1964, Comm. ACM 7:463). There is no step width to choose.

pub(super) use crate::num::real::Real;
use core::ops::{Add, Div, Mul, Neg, Sub};

/// How many derivatives are carried at a time; more inputs are taken in further passes.
const LANES: usize = 8;

/// A value with its derivatives by [`LANES`] inputs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Dual {
    v: f64,
    d: [f64; LANES],
}

impl Dual {
    fn chain(self, v: f64, slope: f64) -> Self {
        Self {
            v,
            d: self.d.map(|d| d * slope),
        }
    }
    fn both(self, o: Self, v: f64, by_self: f64, by_other: f64) -> Self {
        let mut d = [0.0; LANES];
        for (k, slot) in d.iter_mut().enumerate() {
            *slot = self.d[k] * by_self + o.d[k] * by_other;
        }
        Self { v, d }
    }
}

impl Add for Dual {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        self.both(o, self.v + o.v, 1.0, 1.0)
    }
}
impl Sub for Dual {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        self.both(o, self.v - o.v, 1.0, -1.0)
    }
}
impl Mul for Dual {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        self.both(o, self.v * o.v, o.v, self.v)
    }
}
impl Div for Dual {
    type Output = Self;
    fn div(self, o: Self) -> Self {
        let v = self.v / o.v;
        self.both(o, v, 1.0 / o.v, -v / o.v)
    }
}
impl Neg for Dual {
    type Output = Self;
    fn neg(self) -> Self {
        self.chain(-self.v, -1.0)
    }
}

impl Real for Dual {
    fn of(value: f64) -> Self {
        Self {
            v: value,
            d: [0.0; LANES],
        }
    }
    fn value(self) -> f64 {
        self.v
    }
    fn sqrt(self) -> Self {
        let root = libm::sqrt(self.v);
        // The root of an exact zero has no slope; zero keeps every product with it finite.
        let slope = if root > 0.0 { 0.5 / root } else { 0.0 };
        self.chain(root, slope)
    }
    fn sin(self) -> Self {
        self.chain(libm::sin(self.v), libm::cos(self.v))
    }
    fn cos(self) -> Self {
        self.chain(libm::cos(self.v), -libm::sin(self.v))
    }
    fn atan2(self, x: Self) -> Self {
        let square = self.v * self.v + x.v * x.v;
        self.both(x, libm::atan2(self.v, x.v), x.v / square, -self.v / square)
    }
}

/// Rows of a Jacobian: one for each output, one column for each input.
pub(super) type Rows<const OUT: usize> = [Vec<f64>; OUT];

/// The Jacobian of `f` at `inputs`; `f` may refuse, with its own error.
pub(super) fn jacobian<const OUT: usize, E>(
    inputs: &[f64],
    f: impl Fn(&[Dual]) -> Result<[Dual; OUT], E>,
) -> Result<Rows<OUT>, E> {
    let mut rows: Rows<OUT> = core::array::from_fn(|_| Vec::with_capacity(inputs.len()));
    let mut seeded: Vec<Dual> = inputs.iter().map(|&v| Dual::of(v)).collect();
    for first in (0..inputs.len()).step_by(LANES) {
        let lanes = LANES.min(inputs.len() - first);
        for lane in 0..lanes {
            seeded[first + lane].d[lane] = 1.0;
        }
        for (row, out) in rows.iter_mut().zip(f(&seeded)?) {
            row.extend_from_slice(&out.d[..lanes]);
        }
        for lane in 0..lanes {
            seeded[first + lane].d[lane] = 0.0;
        }
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derivatives_agree_with_central_differences() {
        fn f<T: Real>(x: &[T]) -> [T; 2] {
            let q = x[0] * x[0] + x[1] * x[1];
            [
                (x[0] / x[2]).sin() * x[1].cos() + q.sqrt() - q.sinc_of_square(),
                x[0].atan2(x[1]) * q.cos_of_square() - x[2] / q,
            ]
        }
        let at = [0.7, -1.3, 2.1];
        let rows = jacobian::<2, ()>(&at, |x| Ok(f(x))).unwrap_or_default();
        for k in 0..3 {
            let h = 1e-6;
            let (mut hi, mut lo) = (at, at);
            hi[k] += h;
            lo[k] -= h;
            let (a, b) = (f(&hi), f(&lo));
            for out in 0..2 {
                let numeric = (a[out] - b[out]) / (2.0 * h);
                // Central differences at 1e-6 are good to about 1e-9 for values of order one.
                assert!(
                    (rows[out][k] - numeric).abs() < 1e-8,
                    "output {out} by input {k}"
                );
            }
        }
    }

    #[test]
    fn series_meet_the_closed_form_where_they_take_over() {
        for q in [0.9e-4, 1.1e-4] {
            let angle: f64 = libm::sqrt(q);
            assert!((q.sinc_of_square() - libm::sin(angle) / angle).abs() < 1e-15);
            assert!((q.cos_of_square() - libm::cos(angle)).abs() < 1e-15);
        }
    }
}
