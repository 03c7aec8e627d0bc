//! Cholesky factor and inverse of a symmetric positive definite matrix.
//!
//! Written for a few dozen to a few hundred unknowns. Rows are padded to a multiple of
//! [`BLOCK`] and worked on in square tiles held in local arrays, so that plain loops become
//! vector instructions without run-time dispatch: the same operations in the same order
//! natively and in WebAssembly.
//!
//! Tiles left of the first filled one in their row are skipped all the way (the envelope method:
//! George & Liu 1981, *Computer Solution of Large Sparse Positive Definite Systems*, ch. 4), so
//! that a network whose marks are read to their neighbours costs far less than a full matrix.

/// Tile side. 4×4 accumulators fit the sixteen 128-bit registers of the plain x86-64 and
/// WebAssembly targets; 8 spilled and was slower by a third when tried.
const BLOCK: usize = 4;

/// A symmetric matrix, of which the lower triangle is kept; row major, padded.
#[derive(Debug, Clone)]
pub struct Symmetric {
    n: usize,
    stride: usize,
    a: Vec<f64>,
    /// Column of the first tile ever touched in each row of tiles.
    first: Vec<usize>,
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
        let first = (0..stride).step_by(BLOCK).collect();
        Self {
            n,
            stride,
            a: vec![0.0; stride * stride],
            first,
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
        if let Some(x) = self.touched(i, j) {
            *x += value;
        }
    }
    /// Makes one entry (and its mirror image).
    pub fn set(&mut self, i: usize, j: usize, value: f64) {
        if let Some(x) = self.touched(i, j) {
            *x = value;
        }
    }
    #[inline]
    fn touched(&mut self, i: usize, j: usize) -> Option<&mut f64> {
        let (r, c) = if i >= j { (i, j) } else { (j, i) };
        if let Some(first) = self.first.get_mut(r / BLOCK) {
            *first = (*first).min(c / BLOCK * BLOCK);
        }
        self.a.get_mut(r * self.stride + c)
    }
    /// Sets everything to zero, keeping the memory.
    pub fn clear(&mut self) {
        let stride = self.stride;
        for (row, (lines, first)) in self
            .a
            .chunks_exact_mut(BLOCK * stride.max(1))
            .zip(&mut self.first)
            .enumerate()
        {
            for line in lines.chunks_exact_mut(stride) {
                line[*first..(row + 1) * BLOCK].fill(0.0);
            }
            *first = row * BLOCK;
        }
    }
    /// Adds `row·rowᵀ` of a sparse row, its columns in any order but each only once.
    pub fn add_outer(&mut self, columns: &[usize], values: &[f64]) {
        for (k, (&i, &x)) in columns.iter().zip(values).enumerate() {
            for (&j, &y) in columns.iter().zip(values).take(k + 1) {
                self.add(i, j, x * y);
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
        let mut factor = Cholesky::default();
        self.factor_into(least, &mut factor)?;
        Ok(factor)
    }

    /// As [`Symmetric::cholesky`], reusing the memory of an earlier factor. After an error the
    /// factor is of no use but for its memory.
    ///
    /// # Errors
    /// As [`Symmetric::cholesky`].
    pub fn factor_into(&self, least: f64, factor: &mut Cholesky) -> Result<(), NotPositive> {
        let (n, stride) = (self.n, self.stride);
        factor.n = n;
        factor.stride = stride;
        factor.first.clone_from(&self.first);
        let Cholesky {
            l, first, heads, ..
        } = factor;
        // Only what lies inside the envelope is ever read.
        l.resize(stride * stride, 0.0);
        for (i, (to, from)) in l
            .chunks_exact_mut(stride.max(1))
            .zip(self.a.chunks_exact(stride.max(1)))
            .enumerate()
        {
            let span = first[i / BLOCK]..(i / BLOCK + 1) * BLOCK;
            to[span.clone()].copy_from_slice(&from[span]);
        }
        // Padding gets a unit diagonal so that tiles need no edge cases.
        for i in n..stride {
            l[i * stride + i] = 1.0;
        }
        for j in (0..stride).step_by(BLOCK) {
            let from_j = first[j / BLOCK];
            pack_heads(l, stride, j, from_j, heads);
            let mut diagonal = reduced_tile(l, stride, (j, j), from_j, heads);
            let limits: Tile1 = core::array::from_fn(|r| least * l[(j + r) * stride + j + r]);
            factor_tile(&mut diagonal, &limits).map_err(|r| NotPositive { at: j + r })?;
            for (r, line) in diagonal.iter().enumerate() {
                l[(j + r) * stride + j..(j + r) * stride + j + r + 1].copy_from_slice(&line[..=r]);
            }
            let inverse: Tile1 = core::array::from_fn(|r| 1.0 / diagonal[r][r]);
            for i in (j + BLOCK..stride).step_by(BLOCK) {
                let from_i = first[i / BLOCK];
                if from_i > j {
                    continue;
                }
                let from = from_i.max(from_j);
                let mut tile = reduced_tile(l, stride, (i, j), from, &heads[from - from_j..]);
                for line in &mut tile {
                    for c in 0..BLOCK {
                        let mut x = line[c];
                        for k in 0..c {
                            x -= line[k] * diagonal[c][k];
                        }
                        line[c] = x * inverse[c];
                    }
                }
                for (r, line) in tile.iter().enumerate() {
                    l[(i + r) * stride + j..(i + r) * stride + j + BLOCK].copy_from_slice(line);
                }
            }
        }
        Ok(())
    }
}

/// One row of a tile.
type Tile1 = [f64; BLOCK];
/// A square tile.
type Tile2 = [Tile1; BLOCK];

/// Rows j.. of the columns before j, turned so that one step of the inner loop reads four
/// neighbours.
fn pack_heads(l: &[f64], stride: usize, j: usize, from: usize, heads: &mut Vec<Tile1>) {
    heads.clear();
    let row = |r: usize| &l[(j + r) * stride + from..(j + r) * stride + j];
    let [r0, r1, r2, r3] = [row(0), row(1), row(2), row(3)];
    for (((&a, &b), &c), &d) in r0.iter().zip(r1).zip(r2).zip(r3) {
        heads.push([a, b, c, d]);
    }
}

/// The tile at (i, j) less what the columns from `from` to j explain.
#[inline]
fn reduced_tile(
    l: &[f64],
    stride: usize,
    (i, j): (usize, usize),
    from: usize,
    heads: &[Tile1],
) -> Tile2 {
    let row = |r: usize| &l[(i + r) * stride + from..(i + r) * stride + j];
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
#[derive(Debug, Clone, Default)]
pub struct Cholesky {
    n: usize,
    stride: usize,
    l: Vec<f64>,
    /// Column of the first filled tile of each row of tiles.
    first: Vec<usize>,
    /// Working memory.
    heads: Vec<Tile1>,
}

impl Cholesky {
    /// The solution of `L·Lᵀ·x = b`.
    #[must_use]
    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let (n, stride, l) = (self.n, self.stride, &self.l);
        let mut x: Vec<f64> = b.iter().copied().take(n).collect();
        x.resize(n, 0.0);
        for i in 0..n {
            let from = self.first[i / BLOCK];
            let line = &l[i * stride..=i * stride + i];
            let mut s = x[i];
            for (a, y) in line[from..i].iter().zip(&x[from..i]) {
                s -= a * y;
            }
            x[i] = s / line[i];
        }
        for i in (0..n).rev() {
            let from = self.first[i / BLOCK];
            let line = &l[i * stride..=i * stride + i];
            let xi = x[i] / line[i];
            x[i] = xi;
            for (a, y) in line[from..i].iter().zip(&mut x[from..i]) {
                *y -= a * xi;
            }
        }
        x
    }

    /// The inverse of `L·Lᵀ`, from the last row of tiles up (Takahashi, Fagan & Chen 1973):
    /// with T the inverse of the tile on the diagonal and M = L·T below it,
    /// Q(i, j) = −Σ M(k)ᵀ·Q(k, j) and Q(i, i) = TᵀT − Σ M(k)ᵀ·Q(k, i), k over the filled tiles.
    #[must_use]
    pub fn inverse(&self) -> Symmetric {
        let (n, stride, l) = (self.n, self.stride, &self.l);
        let mut q = vec![0.0; stride * stride];
        let mut below: Vec<(usize, Tile1)> = Vec::with_capacity(stride);
        for i in (0..stride).step_by(BLOCK).rev() {
            let t = inverse_tile(l, stride, i);
            below.clear();
            for k in (i + BLOCK..stride).filter(|k| self.first[k / BLOCK] <= i) {
                let line = &l[k * stride + i..k * stride + i + BLOCK];
                let m = core::array::from_fn(|c| (c..BLOCK).map(|s| line[s] * t[s][c]).sum());
                below.push((k * stride, m));
            }
            for j in (i + BLOCK..stride).step_by(BLOCK) {
                let tile = less_products(&q, &below, j);
                for (r, line) in tile.iter().enumerate() {
                    q[(i + r) * stride + j..(i + r) * stride + j + BLOCK].copy_from_slice(line);
                }
                for c in 0..BLOCK {
                    let turned: Tile1 = core::array::from_fn(|r| tile[r][c]);
                    q[(j + c) * stride + i..(j + c) * stride + i + BLOCK].copy_from_slice(&turned);
                }
            }
            let mut tile = less_products(&q, &below, i);
            for (r, line) in tile.iter_mut().enumerate() {
                for (c, x) in line.iter_mut().enumerate() {
                    *x += (r.max(c)..BLOCK).map(|s| t[s][r] * t[s][c]).sum::<f64>();
                }
            }
            for (r, line) in tile.iter().enumerate() {
                q[(i + r) * stride + i..(i + r) * stride + i + BLOCK].copy_from_slice(line);
            }
        }
        let first = vec![0; stride / BLOCK];
        Symmetric {
            n,
            stride,
            a: q,
            first,
        }
    }
}

/// The inverse of a tile on the diagonal of L.
fn inverse_tile(l: &[f64], stride: usize, i: usize) -> Tile2 {
    let mut t: Tile2 = [[0.0; BLOCK]; BLOCK];
    for r in 0..BLOCK {
        let line = &l[(i + r) * stride + i..(i + r) * stride + i + BLOCK];
        for c in 0..=r {
            let mut x = if r == c { 1.0 } else { 0.0 };
            for k in c..r {
                x -= line[k] * t[k][c];
            }
            t[r][c] = x / line[r];
        }
    }
    t
}

/// −Σ m(k)ᵀ·Q(k, j..), k over the rows given by where they start.
#[inline]
fn less_products(q: &[f64], below: &[(usize, Tile1)], j: usize) -> Tile2 {
    let mut acc: Tile2 = [[0.0; BLOCK]; BLOCK];
    for (start, m) in below {
        let Some(right) = q[start + j..].first_chunk::<BLOCK>() else {
            continue;
        };
        for r in 0..BLOCK {
            for c in 0..BLOCK {
                acc[r][c] -= m[r] * right[c];
            }
        }
    }
    acc
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
    fn skipped_tiles_change_nothing() {
        // A band and a full last row, as a network with a tape has.
        let n = 30;
        let mut a = Symmetric::zero(n);
        for i in 0..n {
            a.set(i, i, 4.0 + (i % 3) as f64);
            for j in i.saturating_sub(3)..i {
                a.set(i, j, 0.7 / (1 + i - j) as f64);
            }
            if i + 1 < n {
                a.set(n - 1, i, 0.3);
            }
        }
        let l = a.cholesky(1e-12).unwrap();
        assert!(l.first.iter().any(|f| *f > 0));
        let q = l.inverse();
        for i in 0..n {
            let column: Vec<f64> = (0..n).map(|j| a.get(j, i)).collect();
            for (j, x) in q.times(&column).iter().enumerate() {
                assert!((x - if i == j { 1.0 } else { 0.0 }).abs() < 1e-14);
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
