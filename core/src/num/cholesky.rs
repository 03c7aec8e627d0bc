//! Cholesky factor and inverse of a symmetric positive definite matrix.
//!
//! Written for a few dozen to a few hundred unknowns. Rows are padded to a multiple of
//! [`BLOCK`] and worked on in square tiles held in local arrays, so that plain loops become
//! vector instructions without run-time dispatch: the same operations in the same order
//! natively and in WebAssembly.

/// Tile side. 4×4 accumulators fit the sixteen 128-bit registers of the plain x86-64 and
/// WebAssembly targets; 8 spilled and was slower by a third when tried.
const BLOCK: usize = 4;

/// A symmetric matrix, of which the lower triangle is kept; row major, padded.
#[derive(Debug, Clone)]
pub struct Symmetric {
    n: usize,
    stride: usize,
    a: Vec<f64>,
}

/// A pivot was not positive enough: the matrix is singular to working accuracy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("unknown {at} is not held")]
pub struct NotPositive {
    /// The unknown whose pivot failed.
    pub at: usize,
}

impl Symmetric {
    /// All zero.
    #[must_use]
    pub fn zero(n: usize) -> Self {
        let stride = n.div_ceil(BLOCK) * BLOCK;
        Self {
            n,
            stride,
            a: vec![0.0; stride * stride],
        }
    }
    /// Number of rows.
    #[must_use]
    pub const fn size(&self) -> usize {
        self.n
    }
    /// One entry, from whichever triangle.
    #[must_use]
    pub fn get(&self, i: usize, j: usize) -> f64 {
        let (r, c) = if i >= j { (i, j) } else { (j, i) };
        self.a.get(r * self.stride + c).copied().unwrap_or(0.0)
    }
    /// Adds to one entry (and its mirror image).
    pub fn add(&mut self, i: usize, j: usize, value: f64) {
        let (r, c) = if i >= j { (i, j) } else { (j, i) };
        if let Some(x) = self.a.get_mut(r * self.stride + c) {
            *x += value;
        }
    }
    /// Makes one entry (and its mirror image).
    pub fn set(&mut self, i: usize, j: usize, value: f64) {
        let (r, c) = if i >= j { (i, j) } else { (j, i) };
        if let Some(x) = self.a.get_mut(r * self.stride + c) {
            *x = value;
        }
    }
    /// Sets everything to zero, keeping the memory.
    pub fn clear(&mut self) {
        self.a.fill(0.0);
    }
    /// Adds `row·rowᵀ` of a sparse row with ascending columns.
    pub fn add_outer(&mut self, columns: &[usize], values: &[f64]) {
        for (k, (&r, &x)) in columns.iter().zip(values).enumerate() {
            let start = r * self.stride;
            let Some(line) = self.a.get_mut(start..start + self.stride) else {
                continue;
            };
            for (&c, &y) in columns.iter().zip(values).take(k + 1) {
                if let Some(cell) = line.get_mut(c) {
                    *cell += x * y;
                }
            }
        }
    }

    /// The largest entry of the diagonal.
    #[must_use]
    pub fn largest_diagonal(&self) -> f64 {
        (0..self.n).map(|i| self.get(i, i)).fold(0.0, f64::max)
    }
    /// The product with a column.
    #[must_use]
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        (0..self.n)
            .map(|i| {
                x.iter()
                    .enumerate()
                    .take(self.n)
                    .map(|(j, x)| self.get(i, j) * x)
                    .sum()
            })
            .collect()
    }

    /// The factor L of `L·Lᵀ`.
    ///
    /// # Errors
    /// [`NotPositive`] when a pivot falls to `least` times its diagonal entry or under.
    pub fn cholesky(&self, least: f64) -> Result<Cholesky, NotPositive> {
        let (n, stride) = (self.n, self.stride);
        let mut l = self.a.clone();
        // Padding gets a unit diagonal so that tiles need no edge cases.
        for i in n..stride {
            l[i * stride + i] = 1.0;
        }
        let mut heads: Vec<Tile1> = Vec::with_capacity(stride);
        for j in (0..stride).step_by(BLOCK) {
            pack_heads(&l, stride, j, &mut heads);
            let mut diagonal = reduced_tile(&l, stride, j, j, &heads);
            let limits: Tile1 = core::array::from_fn(|r| least * l[(j + r) * stride + j + r]);
            factor_tile(&mut diagonal, &limits).map_err(|r| NotPositive { at: j + r })?;
            for (r, line) in diagonal.iter().enumerate() {
                l[(j + r) * stride + j..(j + r) * stride + j + r + 1].copy_from_slice(&line[..=r]);
            }
            for i in (j + BLOCK..stride).step_by(BLOCK) {
                let mut tile = reduced_tile(&l, stride, i, j, &heads);
                for line in &mut tile {
                    for c in 0..BLOCK {
                        let mut x = line[c];
                        for k in 0..c {
                            x -= line[k] * diagonal[c][k];
                        }
                        line[c] = x / diagonal[c][c];
                    }
                }
                for (r, line) in tile.iter().enumerate() {
                    l[(i + r) * stride + j..(i + r) * stride + j + BLOCK].copy_from_slice(line);
                }
            }
        }
        Ok(Cholesky { n, stride, l })
    }
}

/// One row of a tile.
type Tile1 = [f64; BLOCK];
/// A square tile.
type Tile2 = [Tile1; BLOCK];

/// Rows j.. of the columns before j, turned so that one step of the inner loop reads four
/// neighbours.
fn pack_heads(l: &[f64], stride: usize, j: usize, heads: &mut Vec<Tile1>) {
    heads.clear();
    let row = |r: usize| &l[(j + r) * stride..(j + r) * stride + j];
    let [r0, r1, r2, r3] = [row(0), row(1), row(2), row(3)];
    for (((&a, &b), &c), &d) in r0.iter().zip(r1).zip(r2).zip(r3) {
        heads.push([a, b, c, d]);
    }
}

/// The tile at (i, j) less what the columns before j explain.
#[inline]
fn reduced_tile(l: &[f64], stride: usize, i: usize, j: usize, heads: &[Tile1]) -> Tile2 {
    let row = |r: usize| &l[(i + r) * stride..(i + r) * stride + j];
    let mut acc: Tile2 = [[0.0; BLOCK]; BLOCK];
    let [r0, r1, r2, r3] = [row(0), row(1), row(2), row(3)];
    for ((((h, &a), &b), &c), &d) in heads.iter().zip(r0).zip(r1).zip(r2).zip(r3) {
        for k in 0..BLOCK {
            acc[0][k] += a * h[k];
            acc[1][k] += b * h[k];
            acc[2][k] += c * h[k];
            acc[3][k] += d * h[k];
        }
    }
    for (r, line) in acc.iter_mut().enumerate() {
        for (c, x) in line.iter_mut().enumerate() {
            *x = l[(i + r) * stride + j + c] - *x;
        }
    }
    acc
}

/// Factors one tile on the diagonal in place; `Err` says which row failed.
fn factor_tile(t: &mut Tile2, limits: &Tile1) -> Result<(), usize> {
    for c in 0..BLOCK {
        let mut d = t[c][c];
        for k in 0..c {
            d -= t[c][k] * t[c][k];
        }
        if d <= 0.0 || d <= limits[c] || !d.is_finite() {
            return Err(c);
        }
        let root = libm::sqrt(d);
        t[c][c] = root;
        for r in c + 1..BLOCK {
            let mut x = t[r][c];
            for k in 0..c {
                x -= t[r][k] * t[c][k];
            }
            t[r][c] = x / root;
        }
    }
    Ok(())
}

/// A lower triangular factor.
#[derive(Debug, Clone)]
pub struct Cholesky {
    n: usize,
    stride: usize,
    l: Vec<f64>,
}

impl Cholesky {
    /// The solution of `L·Lᵀ·x = b`.
    #[must_use]
    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let (n, stride, l) = (self.n, self.stride, &self.l);
        let mut x: Vec<f64> = b.iter().copied().take(n).collect();
        x.resize(n, 0.0);
        for i in 0..n {
            let line = &l[i * stride..i * stride + i + 1];
            let mut s = x[i];
            for (a, y) in line[..i].iter().zip(&x[..i]) {
                s -= a * y;
            }
            x[i] = s / line[i];
        }
        for i in (0..n).rev() {
            let line = &l[i * stride..i * stride + i + 1];
            let xi = x[i] / line[i];
            x[i] = xi;
            for (a, y) in line[..i].iter().zip(&mut x[..i]) {
                *y -= a * xi;
            }
        }
        x
    }

    /// The inverse of `L·Lᵀ`, by W = L⁻¹ and then WᵀW, both triangles worked in tiles.
    #[must_use]
    pub fn inverse(&self) -> Symmetric {
        let (n, stride) = (self.n, self.stride);
        let w = self.inverse_factor();
        let mut q = vec![0.0; stride * stride];
        for j in (0..stride).step_by(BLOCK) {
            for i in (j..stride).step_by(BLOCK) {
                let mut acc: Tile2 = [[0.0; BLOCK]; BLOCK];
                for line in w[i * stride..].chunks_exact(stride) {
                    let (left, right) = (&line[i..i + BLOCK], &line[j..j + BLOCK]);
                    for r in 0..BLOCK {
                        for c in 0..BLOCK {
                            acc[r][c] += left[r] * right[c];
                        }
                    }
                }
                for (r, line) in acc.iter().enumerate() {
                    q[(i + r) * stride + j..(i + r) * stride + j + BLOCK].copy_from_slice(line);
                }
            }
        }
        Symmetric { n, stride, a: q }
    }

    /// L⁻¹, padded like L; the strict upper triangle is zero.
    fn inverse_factor(&self) -> Vec<f64> {
        let (stride, l) = (self.stride, &self.l);
        let mut w = vec![0.0; stride * stride];
        for i in (0..stride).step_by(BLOCK) {
            let (done, rest) = w.split_at_mut(i * stride);
            let row = |r: usize| &l[(i + r) * stride..(i + r) * stride + i + BLOCK];
            let lines = [row(0), row(1), row(2), row(3)];
            for j in (0..=i).step_by(BLOCK) {
                let mut acc: Tile2 = [[0.0; BLOCK]; BLOCK];
                if j == i {
                    for (r, line) in acc.iter_mut().enumerate() {
                        line[r] = 1.0;
                    }
                } else {
                    let span = |r: usize| &lines[r][j..i];
                    let [a, b, c, d] = [span(0), span(1), span(2), span(3)];
                    let earlier = done[j * stride..].chunks_exact(stride);
                    for ((((known, &a), &b), &c), &d) in earlier.zip(a).zip(b).zip(c).zip(d) {
                        let known = &known[j..j + BLOCK];
                        for k in 0..BLOCK {
                            acc[0][k] -= a * known[k];
                            acc[1][k] -= b * known[k];
                            acc[2][k] -= c * known[k];
                            acc[3][k] -= d * known[k];
                        }
                    }
                }
                for r in 0..BLOCK {
                    for k in 0..r {
                        let factor = lines[r][i + k];
                        let earlier = acc[k];
                        for (x, y) in acc[r].iter_mut().zip(earlier) {
                            *x -= factor * y;
                        }
                    }
                    let pivot = lines[r][i + r];
                    for x in &mut acc[r] {
                        *x /= pivot;
                    }
                    rest[r * stride + j..r * stride + j + BLOCK].copy_from_slice(&acc[r]);
                }
            }
        }
        w
    }
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        reason = "a test that fails here should stop here"
    )]
    use super::*;

    /// A Hilbert-like matrix with a strengthened diagonal: positive and nothing special.
    fn example(n: usize) -> Symmetric {
        let mut a = Symmetric::zero(n);
        for i in 0..n {
            for j in 0..=i {
                a.set(
                    i,
                    j,
                    1.0 / (1 + i + j) as f64 + if i == j { 0.5 } else { 0.0 },
                );
            }
        }
        a
    }

    #[test]
    fn inverse_times_matrix_is_one_for_every_size() {
        for n in 1..=23 {
            let a = example(n);
            let l = a.cholesky(1e-12).unwrap();
            let q = l.inverse();
            for i in 0..n {
                let column: Vec<f64> = (0..n).map(|j| a.get(j, i)).collect();
                let e = q.times(&column);
                let x = l.solve(&column);
                for j in 0..n {
                    let want = if i == j { 1.0 } else { 0.0 };
                    // Condition under 10: a few units in the last place.
                    assert!((e[j] - want).abs() < 1e-13, "{n} {i} {j}");
                    assert!((x[j] - want).abs() < 1e-13, "{n} {i} {j}");
                }
            }
        }
    }

    #[test]
    fn published_inverse_of_the_4_hilbert_matrix() {
        // Exact integers: Choi 1983, Amer. Math. Monthly 90:301-312, inverse of the Hilbert matrix.
        let mut a = Symmetric::zero(4);
        for i in 0..4 {
            for j in 0..=i {
                a.set(i, j, 1.0 / (1 + i + j) as f64);
            }
        }
        let q = a.cholesky(1e-14).unwrap().inverse();
        let want = [
            [16.0, -120.0, 240.0, -140.0],
            [-120.0, 1200.0, -2700.0, 1680.0],
            [240.0, -2700.0, 6480.0, -4200.0],
            [-140.0, 1680.0, -4200.0, 2800.0],
        ];
        for (i, line) in want.iter().enumerate() {
            for (j, w) in line.iter().enumerate() {
                // Condition 15 514 times 2.2e-16, relative to the largest entry.
                assert!((q.get(i, j) - w).abs() < 6480.0 * 4e-12);
            }
        }
    }

    #[test]
    fn the_row_that_depends_on_others_is_named() {
        let mut a = Symmetric::zero(6);
        for i in 0..6 {
            a.set(i, i, 1.0);
        }
        a.set(5, 4, 1.0);
        assert_eq!(a.cholesky(1e-10).unwrap_err(), NotPositive { at: 5 });
    }
}
