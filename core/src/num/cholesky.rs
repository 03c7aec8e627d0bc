//! Cholesky factor and inverse of a symmetric positive definite matrix.
//!
//! Written for a few dozen to a few hundred unknowns. What is kept and worked on are square tiles, a
//! row of them after the other, the lower triangle only: plain loops over a tile become vector
//! instructions without run-time dispatch: the same operations in the same order natively and in
//! WebAssembly.
//!
//! Tiles left of the first filled one in their row are skipped all the way (the envelope method:
//! George & Liu 1981, *Computer Solution of Large Sparse Positive Definite Systems*, ch. 4), so
//! that a network whose marks are read to their neighbours costs far less than a full matrix.

/// Tile side. 4×4 accumulators fit the sixteen 128-bit registers of the plain x86-64 and
/// WebAssembly targets; 8 spilled and was slower by a third when tried.
const BLOCK: usize = 4;

/// One row of a tile.
type Tile1 = [f64; BLOCK];
/// A square tile.
type Tile2 = [Tile1; BLOCK];

const NOUGHT: Tile2 = [[0.0; BLOCK]; BLOCK];

/// Where a row of tiles begins among those of a lower triangle.
const fn row_at(row: usize) -> usize {
    row * (row + 1) / 2
}

/// What a row and a column add to where an entry is kept.
#[derive(Debug, Clone, Copy)]
struct Spots {
    row: usize,
    column: usize,
}

impl Spots {
    const fn of(i: usize) -> Self {
        let (tile, inside) = (i / BLOCK, i % BLOCK);
        Self {
            row: row_at(tile) * BLOCK * BLOCK + inside * BLOCK,
            column: tile * BLOCK * BLOCK + inside,
        }
    }
}

/// A symmetric matrix, of which the tiles of the lower triangle are kept.
#[derive(Debug, Clone)]
pub struct Symmetric {
    n: usize,
    tiles: Vec<Tile2>,
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
        let across = n.div_ceil(BLOCK);
        Self {
            n,
            tiles: vec![NOUGHT; row_at(across)],
            first: (0..across).collect(),
        }
    }
    /// Number of rows.
    #[must_use]
    pub const fn size(&self) -> usize {
        self.n
    }
    /// One entry, from whichever triangle.
    #[must_use]
    #[inline]
    pub fn get(&self, i: usize, j: usize) -> f64 {
        let (r, c) = if i >= j { (i, j) } else { (j, i) };
        let tile = self.tiles.get(row_at(r / BLOCK) + c / BLOCK);
        tile.map_or(0.0, |t| t[r % BLOCK][c % BLOCK])
    }
    /// Adds to one entry (and its mirror image).
    #[inline]
    pub fn add(&mut self, i: usize, j: usize, value: f64) {
        if let Some(x) = self.touched(i, j) {
            *x += value;
        }
    }
    /// Makes one entry (and its mirror image).
    #[inline]
    pub fn set(&mut self, i: usize, j: usize, value: f64) {
        if let Some(x) = self.touched(i, j) {
            *x = value;
        }
    }
    #[inline]
    fn touched(&mut self, i: usize, j: usize) -> Option<&mut f64> {
        let (r, c) = if i >= j { (i, j) } else { (j, i) };
        let (row, column) = (r / BLOCK, c / BLOCK);
        if let Some(first) = self.first.get_mut(row) {
            *first = (*first).min(column);
        }
        let tile = self.tiles.get_mut(row_at(row) + column)?;
        Some(&mut tile[r % BLOCK][c % BLOCK])
    }
    /// Sets everything to zero, keeping the memory.
    pub fn clear(&mut self) {
        for (row, first) in self.first.iter_mut().enumerate() {
            clear(&mut self.tiles[row_at(row) + *first..=row_at(row) + row]);
            *first = row;
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
    /// Sets what was ever touched to zero and forgets nothing of where that is.
    pub(super) fn refresh(&mut self) {
        for (row, first) in self.first.iter().enumerate() {
            clear(&mut self.tiles[row_at(row) + *first..=row_at(row) + row]);
        }
    }
    /// Makes room for the outer product of a sparse row; for each entry of it, the later with those
    /// up to it, says where it is among [`Symmetric::flat`].
    pub(super) fn spots(&mut self, columns: &[usize], spots: &mut Vec<usize>) {
        let least = columns.iter().min().map_or(0, |c| c / BLOCK);
        for (k, i) in columns.iter().enumerate() {
            if let Some(first) = self.first.get_mut(i / BLOCK) {
                *first = (*first).min(least);
            }
            let own = Spots::of(*i);
            spots.extend(columns.iter().take(k + 1).map(|j| {
                let other = Spots::of(*j);
                if i >= j {
                    own.row + other.column
                } else {
                    other.row + own.column
                }
            }));
        }
    }
    /// All entries that are kept, for who knows where each is.
    pub(super) fn flat(&mut self) -> &mut [f64] {
        self.tiles.as_flattened_mut().as_flattened_mut()
    }
    /// Rows and columns put into another order and multiplied by `scale`: entry (i, j) comes from
    /// (place(i), place(j)).
    pub(super) fn placed(&self, place: &[usize], scale: &[f64]) -> Self {
        let mut out = Self::zero(self.n);
        out.first.fill(0);
        let from = self.tiles.as_flattened().as_flattened();
        let spots: Vec<(usize, Spots)> = place.iter().map(|p| (*p, Spots::of(*p))).collect();
        for (row, lines) in place.chunks(BLOCK).enumerate() {
            let tiles = &mut out.tiles[row_at(row)..=row_at(row) + row];
            for r in 0..lines.len() {
                let i = row * BLOCK + r;
                let (p, own) = spots[i];
                let others = spots[..=i].chunks(BLOCK).zip(scale.chunks(BLOCK));
                for (tile, (others, scales)) in tiles.iter_mut().zip(others) {
                    for (c, ((q, other), s)) in others.iter().zip(scales).enumerate() {
                        let at = if p >= *q {
                            own.row + other.column
                        } else {
                            other.row + own.column
                        };
                        tile[r][c] = from[at] * scale[i] * s;
                    }
                }
            }
        }
        out
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

    /// The factor L of `L·Lᵀ`, in the memory of the matrix.
    ///
    /// # Errors
    /// [`NotPositive`] when a pivot falls to `least` times its diagonal entry or under.
    pub fn cholesky(self, least: f64) -> Result<Cholesky, NotPositive> {
        let mut factor = Cholesky {
            n: self.n,
            l: self.tiles,
            first: self.first,
            heads: Vec::new(),
        };
        factor.factor(least)?;
        Ok(factor)
    }

    /// As [`Symmetric::cholesky`], reusing the memory of an earlier factor. After an error the
    /// factor is of no use but for its memory.
    ///
    /// # Errors
    /// As [`Symmetric::cholesky`].
    pub fn factor_into(&self, least: f64, factor: &mut Cholesky) -> Result<(), NotPositive> {
        factor.n = self.n;
        factor.first.clone_from(&self.first);
        // Only what lies inside the envelope is ever read.
        factor.l.resize(self.tiles.len(), NOUGHT);
        for (row, from) in self.first.iter().enumerate() {
            let span = row_at(row) + from..=row_at(row) + row;
            factor.l[span.clone()].copy_from_slice(&self.tiles[span]);
        }
        factor.factor(least)
    }
}

fn clear(tiles: &mut [Tile2]) {
    tiles.as_flattened_mut().as_flattened_mut().fill(0.0);
}

/// The last tile of a run of one row less what those before it explain, times the same run of the
/// heads.
#[inline]
fn reduced(run: &[Tile2], heads: &[Tile2]) -> Tile2 {
    let Some((last, before)) = run.split_last() else {
        return NOUGHT;
    };
    let mut acc = NOUGHT;
    for (tile, head) in before.iter().zip(heads) {
        for s in 0..BLOCK {
            for r in 0..BLOCK {
                for c in 0..BLOCK {
                    acc[r][c] += tile[r][s] * head[s][c];
                }
            }
        }
    }
    core::array::from_fn(|r| core::array::from_fn(|c| last[r][c] - acc[r][c]))
}

/// A tile with rows and columns changed.
#[inline]
fn turned(tile: &Tile2) -> Tile2 {
    core::array::from_fn(|r| core::array::from_fn(|c| tile[c][r]))
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
    /// Of tiles on the diagonal only the lower triangle counts.
    l: Vec<Tile2>,
    /// Column of the first filled tile of each row of tiles.
    first: Vec<usize>,
    /// Working memory.
    heads: Vec<Tile2>,
}

impl Cholesky {
    /// Turns the tiles of a matrix into those of its factor.
    fn factor(&mut self, least: f64) -> Result<(), NotPositive> {
        let Self { n, l, first, heads } = self;
        let across = first.len();
        // Padding gets a unit diagonal so that tiles need no edge cases.
        for i in *n..across * BLOCK {
            l[row_at(i / BLOCK) + i / BLOCK][i % BLOCK][i % BLOCK] = 1.0;
        }
        for j in 0..across {
            let (from_j, row_j) = (first[j], row_at(j));
            heads.clear();
            heads.extend(l[row_j + from_j..row_j + j].iter().map(turned));
            let limits: Tile1 = core::array::from_fn(|r| least * l[row_j + j][r][r]);
            let mut diagonal = reduced(&l[row_j + from_j..=row_j + j], heads);
            factor_tile(&mut diagonal, &limits).map_err(|r| NotPositive { at: j * BLOCK + r })?;
            let inverse: Tile1 = core::array::from_fn(|r| 1.0 / diagonal[r][r]);
            for i in j + 1..across {
                let from_i = first[i];
                if from_i > j {
                    continue;
                }
                let (from, row_i) = (from_i.max(from_j), row_at(i));
                let mut tile = reduced(&l[row_i + from..=row_i + j], &heads[from - from_j..]);
                for line in &mut tile {
                    for c in 0..BLOCK {
                        let mut x = line[c];
                        for k in 0..c {
                            x -= line[k] * diagonal[c][k];
                        }
                        line[c] = x * inverse[c];
                    }
                }
                l[row_i + j] = tile;
            }
            l[row_j + j] = diagonal;
        }
        Ok(())
    }

    /// The solution of `L·Lᵀ·x = b`.
    #[must_use]
    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let across = self.first.len();
        let mut x: Vec<Tile1> = (0..across)
            .map(|t| core::array::from_fn(|r| b.get(t * BLOCK + r).copied().unwrap_or(0.0)))
            .collect();
        for (i, &from) in self.first.iter().enumerate() {
            let row = &self.l[row_at(i) + from..=row_at(i) + i];
            let Some((diagonal, before)) = row.split_last() else {
                continue;
            };
            // A sum for each column of the tiles: side by side they are vector instructions.
            let mut acc = NOUGHT;
            for (tile, y) in before.iter().zip(&x[from..i]) {
                for r in 0..BLOCK {
                    for c in 0..BLOCK {
                        acc[r][c] += tile[r][c] * y[c];
                    }
                }
            }
            let mut sum = x[i];
            for r in 0..BLOCK {
                sum[r] -= acc[r].iter().sum::<f64>();
                for c in 0..r {
                    sum[r] -= diagonal[r][c] * sum[c];
                }
                sum[r] /= diagonal[r][r];
            }
            x[i] = sum;
        }
        for (i, &from) in self.first.iter().enumerate().rev() {
            let row = &self.l[row_at(i) + from..=row_at(i) + i];
            let Some((diagonal, before)) = row.split_last() else {
                continue;
            };
            let mut own = x[i];
            for r in (0..BLOCK).rev() {
                own[r] /= diagonal[r][r];
                for c in 0..r {
                    own[c] -= diagonal[r][c] * own[r];
                }
            }
            x[i] = own;
            for (tile, y) in before.iter().zip(&mut x[from..i]) {
                for r in 0..BLOCK {
                    for c in 0..BLOCK {
                        y[c] -= tile[r][c] * own[r];
                    }
                }
            }
        }
        x.into_iter().flatten().take(self.n).collect()
    }

    /// The inverse of `L·Lᵀ`, in the memory of the factor, from the last row of tiles up (Takahashi,
    /// Fagan & Chen 1973): with T the inverse of the tile on the diagonal and M = L·T below it,
    /// Q(j, i) = −Σ Q(j, k)·M(k) and Q(i, i) = TᵀT − Σ M(k)ᵀ·Q(k, i), k over the filled tiles. Column
    /// after column of Q takes the place of L's, which is not needed again.
    #[must_use]
    pub fn inverse(self) -> Symmetric {
        let Self {
            n, l: mut q, first, ..
        } = self;
        let across = first.len();
        let mut below: Vec<(usize, Tile2)> = Vec::with_capacity(across);
        for i in (0..across).rev() {
            let t = inverse_tile(&q[row_at(i) + i]);
            below.clear();
            for k in (i + 1..across).filter(|k| first[*k] <= i) {
                let tile = &q[row_at(k) + i];
                let m = core::array::from_fn(|r| {
                    core::array::from_fn(|c| (c..BLOCK).map(|s| tile[r][s] * t[s][c]).sum())
                });
                below.push((k, m));
            }
            let mut left = 0;
            for j in i + 1..across {
                while below.get(left).is_some_and(|(k, _)| *k <= j) {
                    left += 1;
                }
                let (here, further) = below.split_at(left);
                let mut tile = NOUGHT;
                for (k, m) in here {
                    take_product(&mut tile, |r, s| q[row_at(j) + k][r][s], m);
                }
                for (k, m) in further {
                    take_product(&mut tile, |r, s| q[row_at(*k) + j][s][r], m);
                }
                q[row_at(j) + i] = tile;
            }
            let mut tile: Tile2 = core::array::from_fn(|r| {
                core::array::from_fn(|c| (r.max(c)..BLOCK).map(|s| t[s][r] * t[s][c]).sum())
            });
            for (k, m) in &below {
                let own = &q[row_at(*k) + i];
                take_product(&mut tile, |r, s| m[s][r], own);
            }
            q[row_at(i) + i] = tile;
        }
        let first = vec![0; across];
        Symmetric { n, tiles: q, first }
    }
}

/// Takes the product of two tiles off a third; the first is said entry by entry.
#[inline]
fn take_product(from: &mut Tile2, left: impl Fn(usize, usize) -> f64, right: &Tile2) {
    for s in 0..BLOCK {
        for r in 0..BLOCK {
            let x = left(r, s);
            for c in 0..BLOCK {
                from[r][c] -= x * right[s][c];
            }
        }
    }
}

/// The inverse of a tile on the diagonal of L.
fn inverse_tile(l: &Tile2) -> Tile2 {
    let mut t = NOUGHT;
    for r in 0..BLOCK {
        for c in 0..=r {
            let mut x = if r == c { 1.0 } else { 0.0 };
            for k in c..r {
                x -= l[r][k] * t[k][c];
            }
            t[r][c] = x / l[r][r];
        }
    }
    t
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
            let l = a.clone().cholesky(1e-12).unwrap();
            let q = l.clone().inverse();
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
        let l = a.clone().cholesky(1e-12).unwrap();
        assert!(l.first.iter().any(|f| *f > 0));
        let q = l.clone().inverse();
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
