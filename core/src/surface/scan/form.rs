//! How a patch lies at a place: its place's first and second derivatives by the chart, and what follows.
//!
//! With the metric g and the second derivatives X_ij, a direction b is carried along a by −g⁻¹(X_ij·aⁱbʲ
//! against X_u and X_v), a straightest way carries itself, and K = (LN − M²)/det g (do Carmo, *Differential
//! Geometry of Curves and Surfaces*, 4-3 and 4-4).

use crate::num::real::Real;
use crate::surface::way::Frame;

/// The derivatives, along outwards and both bends of the base there, which are square to each other.
#[derive(Debug, Clone, Copy)]
pub(super) struct Form<T> {
    pub(super) u: [T; 3],
    pub(super) v: [T; 3],
    pub(super) uu: [T; 3],
    pub(super) uv: [T; 3],
    pub(super) vv: [T; 3],
}

fn dot<T: Real>(a: &[T; 3], b: &[T; 3]) -> T {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

impl<T: Real> Form<T> {
    /// Of a face so many times as large, at the place alike.
    pub(super) fn of_size(self, size: T) -> Self {
        let by = T::of(1.0) / size;
        let less = |a: [T; 3]| a.map(|x| x * by);
        Self {
            uu: less(self.uu),
            uv: less(self.uv),
            vv: less(self.vv),
            ..self
        }
    }
    /// Lengths of both steps squared, and their product between.
    fn metric(&self) -> [T; 3] {
        [
            dot(&self.u, &self.u),
            dot(&self.u, &self.v),
            dot(&self.v, &self.v),
        ]
    }
    /// Outwards, as long as the area of a chart's square.
    pub(super) fn outward(&self) -> [T; 3] {
        let (a, b) = (&self.u, &self.v);
        [
            a[1] * b[2] - a[2] * b[1],
            a[2] * b[0] - a[0] * b[2],
            a[0] * b[1] - a[1] * b[0],
        ]
    }
    pub(super) fn frame(&self) -> Frame<T> {
        let [e, f, g] = self.metric();
        let u = Real::sqrt(e);
        Frame {
            u,
            lean: f / u,
            v: Real::sqrt(e * g - f * f) / u,
        }
    }
    /// How a direction changes when it is carried straight along another.
    pub(super) fn carried(&self, along: [T; 2], what: [T; 2]) -> [T; 2] {
        let [e, f, g] = self.metric();
        let (a, b, c) = (
            along[0] * what[0],
            along[0] * what[1] + along[1] * what[0],
            along[1] * what[1],
        );
        let bend: [T; 3] =
            core::array::from_fn(|k| self.uu[k] * a + self.uv[k] * b + self.vv[k] * c);
        let (x, y) = (dot(&bend, &self.u), dot(&bend, &self.v));
        let by = T::of(-1.0) / (e * g - f * f);
        [(g * x - f * y) * by, (e * y - f * x) * by]
    }
    /// Gaussian curvature.
    pub(super) fn curvature(&self) -> T {
        let n = self.outward();
        let area = dot(&n, &n);
        let [l, m, k] = [&self.uu, &self.uv, &self.vv].map(|x| dot(&n, x));
        (l * k - m * m) / (area * area)
    }
}

impl Form<f64> {
    /// Outwards, of unit length.
    pub(super) fn normal(&self) -> [f64; 3] {
        let n = self.outward();
        let long = libm::sqrt(dot(&n, &n));
        n.map(|x| x / long)
    }
    /// The second fundamental form, less than zero where it bulges.
    fn second(&self) -> [f64; 3] {
        let n = self.normal();
        [&self.uu, &self.uv, &self.vv].map(|x| dot(&n, x))
    }
    /// Curvature of the section along a chart direction, 1/mm: more than zero where it bulges.
    pub(super) fn bend(&self, [x, y]: [f64; 2]) -> f64 {
        let ([e, f, g], [l, m, n]) = (self.metric(), self.second());
        -(l * x * x + 2.0 * m * x * y + n * y * y) / (e * x * x + 2.0 * f * x * y + g * y * y)
    }
    /// The greater and the lesser curvature, 1/mm.
    pub(super) fn curvatures(&self) -> [f64; 2] {
        let ([e, f, g], [l, m, n]) = (self.metric(), self.second());
        let mean = -(e * n - 2.0 * f * m + g * l) / (2.0 * (e * g - f * f));
        let half = libm::sqrt((mean * mean - self.curvature()).max(0.0));
        [mean + half, mean - half]
    }
    /// How outwards changes by u and by v (Weingarten; do Carmo, 3-3).
    pub(super) fn turning(&self) -> [[f64; 3]; 2] {
        let ([e, f, g], [l, m, n]) = (self.metric(), self.second());
        let by = 1.0 / (e * g - f * f);
        let way = |a: f64, b: f64| -> [f64; 3] {
            let (x, y) = ((f * b - g * a) * by, (f * a - e * b) * by);
            core::array::from_fn(|k| x * self.u[k] + y * self.v[k])
        };
        [way(l, m), way(m, n)]
    }
    /// How far u's direction turns towards the one square to it, for each millimetre of u and of v.
    pub(super) fn spin(&self) -> [f64; 2] {
        let [e, f, g] = self.metric();
        let by = 1.0 / (e * libm::sqrt(e * g - f * f));
        let square: [f64; 3] = core::array::from_fn(|k| (e * self.v[k] - f * self.u[k]) * by);
        [dot(&self.uu, &square), dot(&self.uv, &square)]
    }
}
