//! The part of a scan that a template needs, as one smooth height over a plane, bent to its roundness.

use super::base::Base;
use serde::{Deserialize, Serialize};

/// The most cells of the grid each way.
pub const MOST_CELLS: usize = 160;

/// The greatest height or coordinate taken, mm.
const GREATEST_MM: f64 = 100_000.0;

/// A base is no guide where a step along it is less than this share of one at the surface.
const NARROWEST: f64 = 0.1;

/// What was read of a scan around its marks, smoothed: a height over a plane seen square on, or over
/// that plane bent ([`Base`]).
///
/// The height is a bicubic spline on an even grid (de Boor, *A Practical Guide to Splines*, IX–XI):
/// its slopes and curvatures are continuous, so that ways over it can be followed as on a formula.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Patch {
    /// Side of a cell, mm.
    pub spacing_mm: f64,
    /// Chart of the grid's lower left corner, mm.
    pub corner_mm: [f64; 2],
    /// Cells across and up.
    pub cells: [usize; 2],
    /// (across + 3) × (up + 3) weights of the spline, rows upwards, mm.
    pub weights: Vec<f64>,
    /// A letter for each cell, rows upwards: where the scan has a surface `x`, or `o` over a plane that
    /// is bent, which programs that know none refuse; `.` where it has none.
    pub covered: String,
    /// Detail narrower than this was smoothed away, mm.
    pub smoothed_over_mm: f64,
    /// How far the smoothing moved the surface around the marks: root of the mean square, mm.
    pub moved_rms_mm: f64,
    /// The most it moved it, mm.
    pub moved_most_mm: f64,
    /// What the height stands over.
    #[serde(default, skip_serializing_if = "Base::is_plane")]
    pub base: Base,
}

/// What is wrong with a stored patch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PatchError {
    /// Not a patch at all.
    #[error("it is not a surface from a scan")]
    Unreadable,
    /// Counts that do not go together.
    #[error("its counts do not go together")]
    Counts,
    /// A number that can't be.
    #[error("a number in it can't be")]
    Number,
}

/// Height over the plane with its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Height<T> {
    pub(super) h: T,
    pub(super) u: T,
    pub(super) v: T,
    pub(super) uu: T,
    pub(super) uv: T,
    pub(super) vv: T,
}

impl Patch {
    /// Reads a stored patch.
    ///
    /// # Errors
    /// [`PatchError`].
    pub fn read(bytes: &[u8]) -> Result<Self, PatchError> {
        let patch: Self = serde_json::from_str(&String::from_utf8_lossy(bytes))
            .map_err(|_| PatchError::Unreadable)?;
        patch.checked()
    }

    /// A patch whose counts and numbers can be.
    ///
    /// # Errors
    /// [`PatchError`].
    pub fn checked(self) -> Result<Self, PatchError> {
        let [nu, nv] = self.cells;
        let letter = self.base.letter();
        let fits = (1..=MOST_CELLS).contains(&nu)
            && (1..=MOST_CELLS).contains(&nv)
            && self.weights.len() == (nu + 3) * (nv + 3)
            && self.covered.len() == nu * nv
            && self
                .covered
                .bytes()
                .all(|b| char::from(b) == letter || b == b'.');
        if !fits {
            return Err(PatchError::Counts);
        }
        let fine = |x: &f64| x.abs() <= GREATEST_MM;
        let can = self.base.can_be()
            && (0.01..=GREATEST_MM).contains(&self.spacing_mm)
            && self.corner_mm.iter().all(fine)
            && self.weights.iter().all(fine)
            && [self.smoothed_over_mm, self.moved_rms_mm, self.moved_most_mm]
                .iter()
                .all(fine);
        if can && self.is_wide() {
            Ok(self)
        } else {
            Err(PatchError::Number)
        }
    }

    /// Whether a step along the base is one wherever the scan has a surface: none is where it runs into
    /// itself.
    fn is_wide(&self) -> bool {
        let [nu, _] = self.cells;
        let middle = |k: usize| {
            #[expect(clippy::cast_precision_loss, reason = "at most 160")]
            let [i, j] = [k % nu, k / nu].map(|x| x as f64 + 0.5);
            [
                self.corner_mm[0] + i * self.spacing_mm,
                self.corner_mm[1] + j * self.spacing_mm,
            ]
        };
        self.base.is_plane()
            || self.covered.bytes().enumerate().all(|(k, b)| {
                let [u, v] = middle(k);
                let wide = || self.base.widths([u, v, self.height_mm(u, v)]);
                b == b'.' || wide().iter().all(|w| *w > NARROWEST)
            })
    }

    /// The cell of a place (kept to the grid) and where in it, in cells.
    fn cell(&self, u_mm: f64, v_mm: f64) -> [(usize, f64); 2] {
        let one = |x_mm: f64, corner_mm: f64, count: usize| {
            let x = (x_mm - corner_mm) / self.spacing_mm;
            #[expect(
                clippy::cast_precision_loss,
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "at most 160; NaN becomes cell 0"
            )]
            let cell = libm::floor(x).clamp(0.0, (count - 1) as f64) as usize;
            #[expect(clippy::cast_precision_loss, reason = "at most 160")]
            let within = x - cell as f64;
            (cell, within)
        };
        [
            one(u_mm, self.corner_mm[0], self.cells[0]),
            one(v_mm, self.corner_mm[1], self.cells[1]),
        ]
    }

    /// Whether the scan has a surface at a place.
    #[must_use]
    pub fn covers(&self, u_mm: f64, v_mm: f64) -> bool {
        let [(i, x), (j, y)] = self.cell(u_mm, v_mm);
        // A hair past the last cell is rounding.
        let on = |t: f64| (-1e-9..=1.0 + 1e-9).contains(&t);
        on(x)
            && on(y)
            && (self.covered.as_bytes().get(j * self.cells[0] + i))
                .is_some_and(|b| char::from(*b) == self.base.letter())
    }

    /// Height over the base at a place, mm.
    #[must_use]
    pub fn height_mm(&self, u_mm: f64, v_mm: f64) -> f64 {
        self.height([u_mm, v_mm]).h
    }

    /// Where a place of the chart is in space, mm: outwards, across, up.
    #[must_use]
    pub fn place_mm(&self, u_mm: f64, v_mm: f64) -> [f64; 3] {
        self.base.place([u_mm, v_mm, self.height_mm(u_mm, v_mm)])
    }

    /// How far the surface is from a place at a height over the chart, square to it, outwards, mm.
    #[must_use]
    pub fn off_mm(&self, u_mm: f64, v_mm: f64, h_mm: f64) -> f64 {
        let h = self.height([u_mm, v_mm]);
        (h.h - h_mm) * self.base.form([u_mm, v_mm], &h).normal()[0]
    }

    /// How the surface lies at a place.
    pub(super) fn form<T: crate::num::real::Real>(&self, at: [T; 2]) -> super::form::Form<T> {
        self.base.form(at, &self.height(at))
    }

    /// Height and derivatives; beyond the grid its outermost pieces go on.
    pub(super) fn height<T: crate::num::real::Real>(&self, by: [T; 2]) -> Height<T> {
        let [(i, _), (j, _)] = self.cell(by[0].value(), by[1].value());
        let inside = |x: T, corner_mm: f64, cell: usize| {
            #[expect(clippy::cast_precision_loss, reason = "at most 160")]
            let start = corner_mm + self.spacing_mm * cell as f64;
            (x - T::of(start)) / T::of(self.spacing_mm)
        };
        let (bu, bv) = (
            basis(inside(by[0], self.corner_mm[0], i)),
            basis(inside(by[1], self.corner_mm[1], j)),
        );
        let zero = T::of(0.0);
        let mut sums = [zero; 6];
        for (row, wv) in (0..4).map(|k| (k, [bv[0][k], bv[1][k], bv[2][k]])) {
            let start = (j + row) * (self.cells[0] + 3) + i;
            let mut across = [zero; 3];
            for (k, &weight) in self.weights[start..start + 4].iter().enumerate() {
                let weight = T::of(weight);
                for (sum, b) in across.iter_mut().zip(&bu) {
                    *sum = *sum + b[k] * weight;
                }
            }
            sums[0] = sums[0] + across[0] * wv[0];
            sums[1] = sums[1] + across[1] * wv[0];
            sums[2] = sums[2] + across[0] * wv[1];
            sums[3] = sums[3] + across[2] * wv[0];
            sums[4] = sums[4] + across[1] * wv[1];
            sums[5] = sums[5] + across[0] * wv[2];
        }
        let (one, two) = (
            T::of(1.0 / self.spacing_mm),
            T::of(1.0 / (self.spacing_mm * self.spacing_mm)),
        );
        Height {
            h: sums[0],
            u: sums[1] * one,
            v: sums[2] * one,
            uu: sums[3] * two,
            uv: sums[4] * two,
            vv: sums[5] * two,
        }
    }
}

/// The four pieces of the even cubic spline in a cell, with first and second derivatives.
pub(crate) fn basis<T: crate::num::real::Real>(t: T) -> [[T; 4]; 3] {
    let k = |c: f64| T::of(c);
    let (one, t2) = (k(1.0), t * t);
    let s = one - t;
    let t3 = t2 * t;
    [
        [
            s * s * s * k(1.0 / 6.0),
            (k(3.0) * t3 - k(6.0) * t2 + k(4.0)) * k(1.0 / 6.0),
            (k(-3.0) * t3 + k(3.0) * t2 + k(3.0) * t + one) * k(1.0 / 6.0),
            t3 * k(1.0 / 6.0),
        ],
        [
            -(s * s) * k(0.5),
            (k(3.0) * t2 - k(4.0) * t) * k(0.5),
            (k(-3.0) * t2 + k(2.0) * t + one) * k(0.5),
            t2 * k(0.5),
        ],
        [s, k(3.0) * t - k(2.0), one - k(3.0) * t, t],
    ]
}
