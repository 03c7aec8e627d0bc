//! Ways over a scan's patch, followed from their start.
//!
//! A straightest way carries its own direction along ([`super::form`]). Runge and Kutta's fourth-order
//! rule, two steps a cell: third derivatives jump from cell to cell, and a higher order would gain
//! nothing.

use super::form::Form;
use super::patch::Patch;
use crate::num::real::Real;
use crate::surface::way::{Frame, Heading, Shot};

/// Longest way followed, sides of the grid.
const LONGEST_SIDES: f64 = 4.0;

/// A patch of a size against that of the scan.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scanned<'a, T> {
    pub(super) patch: &'a Patch,
    pub(super) size: T,
}

impl<'a, T: Real> Scanned<'a, T> {
    pub(super) fn form(&self, at: [T; 2]) -> Form<T> {
        self.patch
            .form(at.map(|x| x / self.size))
            .of_size(self.size)
    }
    pub(crate) fn frame(&self, at: [T; 2]) -> Frame<T> {
        self.form(at).frame()
    }
    pub(crate) fn constant<U: Real>(&self) -> Scanned<'a, U> {
        Scanned {
            patch: self.patch,
            size: U::of(self.size.value()),
        }
    }
    fn steps(&self, length_mm: f64) -> u32 {
        let cell_mm = self.patch.spacing_mm * self.size.value();
        let most = 2.0 * LONGEST_SIDES * longest_side(self.patch);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "1 to some thousand; NaN becomes 1"
        )]
        let whole = libm::ceil((2.0 * length_mm.abs() / cell_mm).min(most)) as u32;
        whole.max(1)
    }
}

fn longest_side(patch: &Patch) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "at most 160")]
    let cells = patch.cells[0].max(patch.cells[1]) as f64;
    cells
}

impl Scanned<'_, f64> {
    /// How far the direction of u turns towards the one square to it, for each millimetre of u and v.
    pub(crate) fn spin(&self, at: [f64; 2]) -> [f64; 2] {
        self.form(at).spin()
    }
    pub(crate) fn longest_mm(&self) -> f64 {
        LONGEST_SIDES * longest_side(self.patch) * self.patch.spacing_mm
    }
}

pub(super) fn run<T: Real, const N: usize>(
    f: impl Fn(&[T; N]) -> [T; N],
    start: [T; N],
    time: T,
    steps: u32,
) -> [T; N] {
    let h = time / T::of(f64::from(steps));
    let half = h * T::of(0.5);
    let plus =
        |y: &[T; N], d: &[T; N], by: T| -> [T; N] { core::array::from_fn(|k| y[k] + d[k] * by) };
    let mut y = start;
    let (two, sixth) = (T::of(2.0), h * T::of(1.0 / 6.0));
    for _ in 0..steps {
        let a = f(&y);
        let b = f(&plus(&y, &a, half));
        let c = f(&plus(&y, &b, half));
        let d = f(&plus(&y, &c, h));
        y = core::array::from_fn(|k| y[k] + (a[k] + two * (b[k] + c[k]) + d[k]) * sixth);
    }
    y
}

/// u̇, v̇, ü, v̈ and the Gaussian curvature.
pub(super) fn slopes(scan: &Scanned<'_, f64>, [u, v, du, dv]: [f64; 4]) -> ([f64; 4], f64) {
    let form = scan.form([u, v]);
    let [uu, vv] = form.carried([du, dv], [du, dv]);
    ([du, dv, uu, vv], form.curvature())
}

/// Straight ahead, as [`crate::surface::way::ahead`] says.
pub(crate) fn ahead<T: Real>(scan: &Scanned<'_, T>, from: &Heading<T>, time: T) -> Heading<T> {
    let speed = libm::hypot(from.along[0].value(), from.along[1].value());
    let [du, dv] = scan.frame(from.at).chart(from.along);
    let [u, v, du, dv] = run(
        |&[u, v, du, dv]: &[T; 4]| {
            let [uu, vv] = scan.form([u, v]).carried([du, dv], [du, dv]);
            [du, dv, uu, vv]
        },
        [from.at[0], from.at[1], du, dv],
        time,
        scan.steps(speed * time.value()),
    );
    Heading {
        at: [u, v],
        along: scan.frame([u, v]).over(du, dv),
    }
}

pub(crate) fn shoot(scan: &Scanned<'_, f64>, from: &Heading<f64>, length_mm: f64) -> Shot {
    let [du, dv] = scan.frame(from.at).chart(from.along);
    let y = run(
        |y: &[f64; 8]| {
            let ([a, b, c, d], curvature) = slopes(scan, [y[0], y[1], y[2], y[3]]);
            [a, b, c, d, y[5], -curvature * y[4], y[7], -curvature * y[6]]
        },
        [from.at[0], from.at[1], du, dv, 0.0, 1.0, 1.0, 0.0],
        length_mm,
        scan.steps(length_mm),
    );
    Shot {
        end: Heading {
            at: [y[0], y[1]],
            along: scan.frame([y[0], y[1]]).over(y[2], y[3]),
        },
        turned: y[4],
        shifted: y[6],
        by_sizes: [0.0; 2],
    }
}
