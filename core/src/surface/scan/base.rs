//! What a patch's height stands over: a plane, or the plane bent once or twice.
//!
//! A height over a plane fits worst where the face leans most, and none goes past a right angle. So the
//! plane is bent to the face's own roundness first: a ring (torus) touching it at the origin, that passes
//! into a ball, a cylinder and the plane; the height then is what is left. With s along the first bend, t
//! along the second, of curvatures p and q (more than zero: the middle bulges), a place at height h is
//!
//! ```text
//! out′ = (1/q + h)·cos qt − 1/q      second = (1/q + h)·sin qt
//! out  = (1/p + out′)·cos ps − 1/p   first  = (1/p + out′)·sin ps
//! ```
//! and h is how far it stands off the ring, square to it.

use super::patch::Height;
use crate::num::real::Real;
use serde::{Deserialize, Serialize};

/// The plane, bent.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Base {
    /// Unit direction of the first bend in the chart: across and up.
    pub along: [f64; 2],
    /// Curvature of the first bend and of the second, 1/mm; zero is none, more than zero bulges.
    pub round: [f64; 2],
}

/// The most curvature that is taken, 1/mm: a pencil.
const ROUNDEST: f64 = 0.25;

impl Base {
    /// Not bent.
    pub const PLANE: Self = Self {
        along: [1.0, 0.0],
        round: [0.0; 2],
    };

    /// Not bent at all.
    #[must_use]
    pub const fn is_plane(&self) -> bool {
        self.round[0] == 0.0 && self.round[1] == 0.0
    }

    /// The letter of a patch's cell where the scan has a surface ([`super::Patch::covered`]).
    #[must_use]
    pub const fn letter(&self) -> char {
        if self.is_plane() { 'x' } else { 'o' }
    }

    pub(super) fn can_be(&self) -> bool {
        let [c, d] = self.along;
        (c * c + d * d - 1.0).abs() < 1e-9 && self.round.iter().all(|k| k.abs() <= ROUNDEST)
    }

    /// A step of the chart along both bends.
    pub(crate) fn bends<T: Real>(&self, [u, v]: [T; 2]) -> [T; 2] {
        let [c, d] = self.along.map(T::of);
        [u * c + v * d, v * c - u * d]
    }

    /// A step along both bends in the chart.
    pub(crate) fn chart(&self, [s, t]: [f64; 2]) -> [f64; 2] {
        let [c, d] = self.along;
        [c * s - d * t, d * s + c * t]
    }

    /// Where a place over the chart is in space, mm: outwards, across, up.
    #[must_use]
    pub fn place(&self, [u, v, h]: [f64; 3]) -> [f64; 3] {
        let [s, t] = self.bends([u, v]);
        let [p, q] = self.round;
        let [second, out] = bent(q, t, h);
        let [first, out] = bent(p, s, out);
        let [across, up] = self.chart([first, second]);
        [out, across, up]
    }

    /// The chart's place that a place in space stands straight over, and how high.
    #[must_use]
    pub fn foot(&self, [out, across, up]: [f64; 3]) -> [f64; 3] {
        let [first, second] = self.bends([across, up]);
        let [p, q] = self.round;
        let [s, out] = unbent(p, first, out);
        let [t, h] = unbent(q, second, out);
        let [u, v] = self.chart([s, t]);
        [u, v, h]
    }

    /// Outwards there, and along both bends: unit directions in space.
    #[must_use]
    pub fn axes(&self, at: [f64; 2]) -> [[f64; 3]; 3] {
        let [s, t] = self.bends(at);
        let (a, b) = (self.round[0] * s, self.round[1] * t);
        let (sa, ca) = (libm::sin(a), libm::cos(a));
        let (sb, cb) = (libm::sin(b), libm::cos(b));
        let turned = |[out, first, second]: [f64; 3]| {
            let [across, up] = self.chart([first, second]);
            [out, across, up]
        };
        [
            turned([cb * ca, cb * sa, sb]),
            turned([-sa, ca, 0.0]),
            turned([-sb * ca, -sb * sa, cb]),
        ]
    }

    /// How long a step along each bend is at a height: less than one inside.
    #[must_use]
    pub fn widths(&self, [u, v, h]: [f64; 3]) -> [f64; 2] {
        let [p, q] = self.round;
        let [_, t] = self.bends([u, v]);
        let [_, out] = bent(q, t, h);
        [1.0 + p * out, 1.0 + q * h]
    }

    /// What a height over the plane is over this.
    pub(super) fn form<T: Real>(&self, at: [T; 2], h: &Height<T>) -> super::form::Form<T> {
        let (zero, two) = (T::of(0.0), T::of(2.0));
        let one = T::of(1.0);
        if self.is_plane() {
            return super::form::Form {
                u: [h.u, one, zero],
                v: [h.v, zero, one],
                uu: [h.uu, zero, zero],
                uv: [h.uv, zero, zero],
                vv: [h.vv, zero, zero],
            };
        }
        let [c, d] = self.along;
        let (cc, cd, dd) = (T::of(c * c), T::of(c * d), T::of(d * d));
        let [_, t] = self.bends(at);
        let [hs, ht] = self.bends([h.u, h.v]);
        let hss = h.uu * cc + h.uv * cd * two + h.vv * dd;
        let hst = (h.vv - h.uu) * cd + h.uv * (cc - dd);
        let htt = h.uu * dd - h.uv * cd * two + h.vv * cc;
        let [p, q] = self.round.map(T::of);
        // cos qt − 1 over q, without a difference of numbers alike.
        let half = q * t * T::of(0.5);
        let (sh, ch) = (T::sin(half), T::cos(half));
        let (sin, cos) = (sh * ch * two, one - sh * sh * two);
        let fall = if self.round[1] == 0.0 {
            zero
        } else {
            sh * sh * two / q
        };
        let wide = one + p * (h.h * cos - fall);
        let high = one + q * h.h;
        let (pc, ps) = (p * cos, p * sin);
        let s1 = [hs, wide, zero];
        let t1 = [ht, zero, high];
        let ss = [hss - wide * pc, hs * pc * two, wide * ps];
        let st = [hst, ht * pc - high * ps, hs * q];
        let tt = [htt - high * q, zero, ht * q * two];
        if self.along == Self::PLANE.along {
            return super::form::Form {
                u: s1,
                v: t1,
                uu: ss,
                uv: st,
                vv: tt,
            };
        }
        let mix = |w: [T; 3], a: &[T; 3], b: &[T; 3], e: &[T; 3]| -> [T; 3] {
            core::array::from_fn(|k| a[k] * w[0] + b[k] * w[1] + e[k] * w[2])
        };
        let (tc, td) = (T::of(c), T::of(d));
        super::form::Form {
            u: mix([tc, -td, zero], &s1, &t1, &s1),
            v: mix([td, tc, zero], &s1, &t1, &s1),
            uu: mix([cc, -(cd * two), dd], &ss, &st, &tt),
            uv: mix([cd, cc - dd, -cd], &ss, &st, &tt),
            vv: mix([dd, cd * two, cc], &ss, &st, &tt),
        }
    }
}

impl Default for Base {
    fn default() -> Self {
        Self::PLANE
    }
}

/// Bends a plane with a curvature: how far along and how far out.
fn bent(curvature: f64, along: f64, out: f64) -> [f64; 2] {
    if curvature == 0.0 {
        return [along, out];
    }
    let half = libm::sin(0.5 * curvature * along);
    let cos = 1.0 - 2.0 * half * half;
    [
        (1.0 / curvature + out) * libm::sin(curvature * along),
        out * cos - 2.0 * half * half / curvature,
    ]
}

fn unbent(curvature: f64, along: f64, out: f64) -> [f64; 2] {
    if curvature == 0.0 {
        return [along, out];
    }
    let sign = curvature.signum();
    let far = 1.0 / curvature + out;
    [
        libm::atan2(along * sign, far * sign) / curvature,
        sign * libm::hypot(along, far) - 1.0 / curvature,
    ]
}
