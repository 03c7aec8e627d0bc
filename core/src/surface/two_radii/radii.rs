//! The metric of a face with two radii, and ways over it followed from their start.
//!
//! On g(v)²du² + dv² the momentum c = g²·u̇ is kept (Clairaut's relation: do Carmo, *Differential
//! Geometry of Curves and Surfaces*, 4-4 example 5), so that u̇ = c/g² and v̈ = c²·g′/g³.

use crate::num::real::Real;
use crate::surface::way::{Heading, Shot, integrate};

/// Greatest turn taken in one piece of the integration, radians.
const PIECE_RAD: f64 = 0.3;

/// Longest way followed, radians of the tighter radius: more than twice round.
const LONGEST_RAD: f64 = 15.0;

/// The two signed radii at the chart's origin, mm: across (the girth at v = 0) and up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Radii<T> {
    pub(crate) across: T,
    pub(crate) up: T,
}

/// The metric at a height: how long a step of u is, its slope, and the Gaussian curvature.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wide<T> {
    pub(crate) g: T,
    pub(crate) slope: T,
    pub(crate) curvature: T,
}

impl<T: Real> Radii<T> {
    /// g = 1 − 2(R_up/R_across)·sin²(v/2R_up): the girth at v against that at 0.
    pub(crate) fn wide(&self, v: T) -> Wide<T> {
        let half = Real::sin(v / (self.up * T::of(2.0)));
        let g = T::of(1.0) - T::of(2.0) * self.up / self.across * half * half;
        let turn = v / self.up;
        Wide {
            g,
            slope: -Real::sin(turn) / self.across,
            curvature: Real::cos(turn) / (self.across * self.up * g),
        }
    }
}

impl Radii<f64> {
    /// Longest way followed, mm.
    pub(crate) fn longest_mm(&self) -> f64 {
        LONGEST_RAD * self.across.abs().min(self.up.abs())
    }
}

fn pieces(radii: &Radii<f64>, length_mm: f64) -> u32 {
    let tight = radii.across.abs().min(radii.up.abs());
    let turns = (length_mm.abs() / (tight * PIECE_RAD)).min(LONGEST_RAD / PIECE_RAD);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 50"
    )]
    let whole = libm::ceil(turns) as u32;
    whole.max(1)
}

/// Straight ahead, as [`crate::surface::way::ahead`] says.
pub(crate) fn ahead<T: Real>(radii: &Radii<T>, from: &Heading<T>, time: T) -> Heading<T> {
    let speed = libm::hypot(from.along[0].value(), from.along[1].value());
    let plain = Radii {
        across: radii.across.value(),
        up: radii.up.value(),
    };
    let momentum = radii.wide(from.at[1]).g * from.along[0];
    let [u, v, rise] = integrate(
        |y: &[T; 3]| {
            let wide = radii.wide(y[1]);
            let u_rate = momentum / (wide.g * wide.g);
            [u_rate, y[2], momentum * u_rate * wide.slope / wide.g]
        },
        [from.at[0], from.at[1], from.along[1]],
        time,
        pieces(&plain, speed * time.value()),
    );
    Heading {
        at: [u, v],
        along: [momentum / radii.wide(v).g, rise],
    }
}

pub(crate) fn shoot(radii: &Radii<f64>, from: &Heading<f64>, length_mm: f64) -> Shot {
    let momentum = radii.wide(from.at[1]).g * from.along[0];
    let square = momentum * momentum;
    let y = integrate(
        |y: &[f64; 9]| {
            let wide = radii.wide(y[1]);
            let cube = wide.g * wide.g * wide.g;
            let turn = y[1] / radii.up;
            // ∂g by each radius; along the way the length changes by ∫ g·∂g·u̇² (first variation).
            let by_across = (1.0 - wide.g) / radii.across;
            let by_up = (libm::cos(turn) - 1.0 + turn * libm::sin(turn)) / radii.across;
            [
                momentum / (wide.g * wide.g),
                y[2],
                square * wide.slope / cube,
                y[4],
                -wide.curvature * y[3],
                y[6],
                -wide.curvature * y[5],
                by_across * square / cube,
                by_up * square / cube,
            ]
        },
        [
            from.at[0],
            from.at[1],
            from.along[1],
            0.0,
            1.0,
            1.0,
            0.0,
            0.0,
            0.0,
        ],
        length_mm,
        pieces(radii, length_mm),
    );
    Shot {
        end: Heading {
            at: [y[0], y[1]],
            along: [momentum / radii.wide(y[1]).g, y[2]],
        },
        turned: y[3],
        shifted: y[5],
        by_sizes: [y[7], y[8]],
    }
}
