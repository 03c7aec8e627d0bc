//! The smooth height over a plane, bent or not, that goes nearest to a scan's corners.
//!
//! The height is the bicubic spline h that makes Σ area·(h(pᵢ) − zᵢ)² + (Λ/2π)⁶·∫|∇³h|² least over
//! the scan's corners pᵢ: detail of wavelength Λ is halved, what is much longer stays (a smoothing
//! spline; Eilers and Marx 1996, *Flexible smoothing with B-splines and penalties*, Statist. Sci.
//! 11:89–121, with the third derivative penalised, so that a surface curved evenly stays as it is).

use super::Mesh;
use super::fit::{FitError, Region};
use crate::surface::scan::{Base, Patch, basis};

/// Cells for each wavelength that is smoothed away.
const CELLS_A_WAVE: f64 = 5.0;

/// Two heights over one place further apart than this share of a cell are two sheets: a fold, or what
/// stands over the face.
const TWO_SHEETS: f64 = 0.5;

/// What is fitted to two sheets at once lies between them; its neighbours are pulled along so many cells.
const PULLED_CELLS: usize = 3;

/// Cells of the grid each way.
const MOST_CELLS: f64 = 90.0;

/// The even grid of the spline.
pub(super) struct Grid {
    spacing: f64,
    corner: [f64; 2],
    cells: [usize; 2],
}

impl Grid {
    pub(super) fn around(region: &Region, mesh: &Mesh, smooth_mm: f64) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for &t in &region.triangles {
            for k in mesh.triangles[t as usize] {
                let at = region.seen_mm[k as usize];
                for c in 0..2 {
                    low[c] = low[c].min(at[c]);
                    high[c] = high[c].max(at[c]);
                }
            }
        }
        let side = (high[0] - low[0]).max(high[1] - low[1]);
        let spacing = (smooth_mm / CELLS_A_WAVE).max(side / MOST_CELLS);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at most 91"
        )]
        let cells =
            core::array::from_fn(|k| libm::ceil((high[k] - low[k]) / spacing).max(1.0) as usize);
        Self {
            spacing,
            corner: low,
            cells,
        }
    }

    fn in_cells(&self, at_mm: [f64; 2]) -> [(usize, f64); 2] {
        core::array::from_fn(|k| {
            let x = (at_mm[k] - self.corner[k]) / self.spacing;
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                clippy::cast_precision_loss,
                reason = "kept to the grid"
            )]
            let cell = libm::floor(x).clamp(0.0, (self.cells[k] - 1) as f64) as usize;
            #[expect(clippy::cast_precision_loss, reason = "at most 91")]
            let within = x - cell as f64;
            (cell, within)
        })
    }

    pub(super) fn fitted(
        &self,
        base: &Base,
        region: &Region,
        mesh: &Mesh,
        smooth_mm: f64,
        near_mm: ([f64; 2], [f64; 2]),
    ) -> Result<Patch, FitError> {
        let wide = self.cells[0] + 3;
        let count = wide * (self.cells[1] + 3);
        let mut normal = Band::new(count, 3 * wide + 3);
        let mut right = vec![0.0; count];
        // Each corner counts as the third of the triangles about it, as the chart has them.
        let mut weight = vec![0.0; mesh.points.len()];
        for &t in &region.triangles {
            let three = mesh.triangles[t as usize];
            let [a, b, c] = three.map(|k| region.seen_mm[k as usize]);
            let area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
            for k in three {
                weight[k as usize] += area.abs() / 6.0;
            }
        }
        let data: Vec<([f64; 3], f64)> = (region.seen_mm.iter().copied())
            .zip(weight)
            .filter(|(_, w)| *w > 0.0)
            .collect();
        for ([u, v, z], w) in &data {
            let [(i, x), (j, y)] = self.in_cells([*u, *v]);
            let (bu, bv) = (basis(x)[0], basis(y)[0]);
            let mut terms = [(0, 0.0); 16];
            for (k, slot) in terms.iter_mut().enumerate() {
                *slot = ((j + k / 4) * wide + i + k % 4, bu[k % 4] * bv[k / 4]);
            }
            normal.add_square(&terms, *w);
            for (k, b) in terms {
                right[k] += w * b * z;
            }
        }
        self.add_stiffness(&mut normal, smooth_mm);
        let weights = normal.solved(right).ok_or(FitError::TooCoarse {
            triangles: region.triangles.len(),
        })?;
        let mut patch = Patch {
            spacing_mm: self.spacing,
            corner_mm: self.corner,
            cells: self.cells,
            // A hundredth of a micrometre is finer than anything made of it.
            weights: weights.iter().map(|w| libm::round(w * 1e5) / 1e5).collect(),
            covered: self.covered(base, region, mesh),
            smoothed_over_mm: smooth_mm,
            moved_rms_mm: 0.0,
            moved_most_mm: 0.0,
            base: *base,
        };
        let (mut squares, mut all) = (0.0, 0.0);
        let (low, high) = near_mm;
        for ([u, v, z], w) in &data {
            let at = [*u, *v];
            if !(0..2).all(|k| (low[k]..=high[k]).contains(&at[k])) {
                continue;
            }
            let off = patch.off_mm(*u, *v, *z);
            squares += w * off * off;
            all += w;
            patch.moved_most_mm = patch.moved_most_mm.max(off.abs());
        }
        patch.moved_rms_mm = if all > 0.0 {
            libm::sqrt(squares / all)
        } else {
            0.0
        };
        patch.checked().map_err(|_| FitError::TooCoarse {
            triangles: region.triangles.len(),
        })
    }

    /// (Λ/2π)⁶·∫|∇³h|²: third differences of the weights along u, along v, and mixed, three of each.
    fn add_stiffness(&self, normal: &mut Band, smooth_mm: f64) {
        const THIRD: [f64; 4] = [-1.0, 3.0, -3.0, 1.0];
        const SECOND: [f64; 3] = [1.0, -2.0, 1.0];
        const FIRST: [f64; 2] = [-1.0, 1.0];
        let waves = smooth_mm / core::f64::consts::TAU / self.spacing;
        let square = waves * waves;
        let k = square * square * square * self.spacing * self.spacing;
        let (wide, high) = (self.cells[0] + 3, self.cells[1] + 3);
        let mut add = |across: &[f64], up: &[f64], times: f64| {
            for j in 0..=high - up.len() {
                for i in 0..=wide - across.len() {
                    let terms: Vec<(usize, f64)> = up
                        .iter()
                        .enumerate()
                        .flat_map(|(b, y)| {
                            across
                                .iter()
                                .enumerate()
                                .map(move |(a, x)| ((j + b) * wide + i + a, x * y))
                        })
                        .collect();
                    normal.add_square(&terms, k * times);
                }
            }
        };
        add(&THIRD, &[1.0], 1.0);
        add(&[1.0], &THIRD, 1.0);
        add(&SECOND, &FIRST, 3.0);
        add(&FIRST, &SECOND, 3.0);
    }

    /// Which cells the triangles cover: three of four places in it at least, each once.
    fn covered(&self, base: &Base, region: &Region, mesh: &Mesh) -> String {
        let [nu, nv] = self.cells;
        let mut hit: Vec<Option<f64>> = vec![None; 4 * nu * nv];
        let mut folded = vec![false; nu * nv];
        let half = self.spacing / 2.0;
        for &t in &region.triangles {
            let [a, b, c] = mesh.triangles[t as usize].map(|k| {
                let [u, v, z] = region.seen_mm[k as usize];
                [
                    (u - self.corner[0]) / half - 0.5,
                    (v - self.corner[1]) / half - 0.5,
                    z,
                ]
            });
            let area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                clippy::cast_precision_loss,
                reason = "kept to the grid"
            )]
            let span = |k: usize, most: usize| {
                let low = libm::ceil(a[k].min(b[k]).min(c[k])).max(0.0) as usize;
                let end = (libm::floor(a[k].max(b[k]).max(c[k])) + 1.0).clamp(0.0, most as f64);
                low..end as usize
            };
            for j in span(1, 2 * nv) {
                for i in span(0, 2 * nu) {
                    #[expect(clippy::cast_precision_loss, reason = "at most 182")]
                    let (x, y) = (i as f64, j as f64);
                    let side = |p: [f64; 3], q: [f64; 3]| {
                        ((q[0] - p[0]) * (y - p[1]) - (q[1] - p[1]) * (x - p[0])) * area.signum()
                    };
                    let [ab, bc, ca] = [side(a, b), side(b, c), side(c, a)];
                    if ab >= -1e-9 && bc >= -1e-9 && ca >= -1e-9 && area != 0.0 {
                        let z = (bc * a[2] + ca * b[2] + ab * c[2]) / area.abs();
                        let before = hit[j * 2 * nu + i].replace(z);
                        if before.is_some_and(|b| (b - z).abs() > TWO_SHEETS * self.spacing) {
                            folded[(j / 2) * nu + i / 2] = true;
                        }
                    }
                }
            }
        }
        (0..nu * nv)
            .map(|k| {
                let (i, j) = (2 * (k % nu), 2 * (k / nu));
                let places = [(i, j), (i + 1, j), (i, j + 1), (i + 1, j + 1)];
                let hits = places.iter().filter(|(i, j)| hit[j * 2 * nu + i].is_some());
                let (i, j) = (k % nu, k / nu);
                let near = |at: usize, most: usize| {
                    at.saturating_sub(PULLED_CELLS)..(at + PULLED_CELLS + 1).min(most)
                };
                let clear = near(j, nv).all(|j| near(i, nu).all(|i| !folded[j * nu + i]));
                if hits.count() >= 3 && clear {
                    base.letter()
                } else {
                    '.'
                }
            })
            .collect()
    }
}

/// A symmetric matrix of which only a band below the diagonal is not nothing, row by row.
struct Band {
    count: usize,
    below: usize,
    rows: Vec<f64>,
}

impl Band {
    fn new(count: usize, below: usize) -> Self {
        Self {
            count,
            below,
            rows: vec![0.0; count * (below + 1)],
        }
    }
    /// Adds w·t·tᵀ.
    fn add_square(&mut self, terms: &[(usize, f64)], w: f64) {
        for &(r, x) in terms {
            for &(c, y) in terms {
                if c <= r && r - c <= self.below {
                    self.rows[r * (self.below + 1) + self.below - (r - c)] += w * x * y;
                }
            }
        }
    }
    /// Cholesky's decomposition in the band (Golub and Van Loan, *Matrix Computations*, 4.3.5).
    fn solved(mut self, mut right: Vec<f64>) -> Option<Vec<f64>> {
        let (n, b) = (self.count, self.below);
        let width = b + 1;
        for r in 0..n {
            let first = r.saturating_sub(b);
            for c in first..r {
                let from = first.max(c.saturating_sub(b));
                let start_r = r * width + b - (r - from);
                let start_c = c * width + b - (c - from);
                let len = c - from;
                let sum: f64 = self.rows[start_r..start_r + len]
                    .iter()
                    .zip(&self.rows[start_c..start_c + len])
                    .map(|(x, y)| x * y)
                    .sum();
                let at = r * width + b - (r - c);
                self.rows[at] = (self.rows[at] - sum) / self.rows[c * width + b];
            }
            let start = r * width + b - (r - first);
            let sum: f64 = self.rows[start..r * width + b].iter().map(|x| x * x).sum();
            let pivot = self.rows[r * width + b] - sum;
            if pivot.is_nan() || pivot <= 1e-13 * self.rows[r * width + b].abs() {
                return None;
            }
            self.rows[r * width + b] = libm::sqrt(pivot);
        }
        for r in 0..n {
            let first = r.saturating_sub(b);
            let start = r * width + b - (r - first);
            let sum: f64 = self.rows[start..r * width + b]
                .iter()
                .zip(&right[first..r])
                .map(|(x, y)| x * y)
                .sum();
            right[r] = (right[r] - sum) / self.rows[r * width + b];
        }
        for r in (0..n).rev() {
            right[r] /= self.rows[r * width + b];
            let first = r.saturating_sub(b);
            for c in first..r {
                right[c] -= self.rows[r * width + b - (r - c)] * right[r];
            }
        }
        Some(right)
    }
}
