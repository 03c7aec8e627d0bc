//! Householder QR with column pivoting: slower than Cholesky, used where it must be known
//! which unknowns are not held.
//!
//! Golub & Van Loan, *Matrix Computations*, 4th ed., algorithm 5.4.1.

use super::cholesky::Symmetric;

/// A matrix of `rows` × `columns.len()`, kept by columns.
#[derive(Debug, Clone, Default)]
pub struct Columns {
    /// Each column, all of one length.
    pub columns: Vec<Vec<f64>>,
}

/// A factor with its columns in the order of their pivots.
#[derive(Debug, Clone)]
pub struct PivotedQr {
    /// Upper triangular, by columns in pivot order.
    r: Vec<Vec<f64>>,
    order: Vec<usize>,
    rank: usize,
    /// Qᵀ·b.
    rotated: Vec<f64>,
}

impl PivotedQr {
    /// Factors `a`, carrying the right side along. Pivots under `least` of the largest end it.
    #[must_use]
    pub fn new(a: Columns, b: &[f64], least: f64) -> Self {
        let mut a = a.columns;
        let n = a.len();
        let m = a.first().map_or(0, Vec::len);
        let mut rotated = b.to_vec();
        rotated.resize(m, 0.0);
        let mut order: Vec<usize> = (0..n).collect();
        let mut rank = 0;
        let mut largest = 0.0_f64;
        for k in 0..n.min(m) {
            let tail = |c: &Vec<f64>| c[k..].iter().map(|x| x * x).sum::<f64>();
            let mut best = (k, -1.0);
            for (j, column) in a.iter().enumerate().skip(k) {
                let size = tail(column);
                if size > best.1 {
                    best = (j, size);
                }
            }
            a.swap(k, best.0);
            order.swap(k, best.0);
            let norm = libm::sqrt(best.1.max(0.0));
            largest = largest.max(norm);
            if norm <= least * largest || norm <= 0.0 {
                break;
            }
            let (head, tail) = a.split_at_mut(k + 1);
            let column = &mut head[k];
            let alpha = if column[k] > 0.0 { -norm } else { norm };
            let mut v: Vec<f64> = column[k..].to_vec();
            v[0] -= alpha;
            let vv: f64 = v.iter().map(|x| x * x).sum();
            column[k] = alpha;
            column[k + 1..].fill(0.0);
            if vv > 0.0 {
                for other in tail.iter_mut() {
                    reflect(&v, vv, &mut other[k..]);
                }
                reflect(&v, vv, &mut rotated[k..]);
            }
            rank = k + 1;
        }
        Self {
            r: a,
            order,
            rank,
            rotated,
        }
    }

    /// How many columns hold independently.
    #[must_use]
    pub const fn rank(&self) -> usize {
        self.rank
    }

    /// The least-squares solution; unknowns past the rank stay at zero.
    #[must_use]
    pub fn solve(&self) -> Vec<f64> {
        let y = self.back_substitute(&self.rotated);
        let mut x = vec![0.0; self.order.len()];
        for (value, &at) in y.iter().zip(&self.order) {
            x[at] = *value;
        }
        x
    }

    /// The directions that nothing holds, one for each missing rank, each of length one.
    #[must_use]
    pub fn free_directions(&self) -> Vec<Vec<f64>> {
        (self.rank..self.order.len())
            .map(|j| {
                let mut x = vec![0.0; self.order.len()];
                for (value, &at) in self.back_substitute(&self.r[j]).iter().zip(&self.order) {
                    x[at] = -value;
                }
                x[self.order[j]] = 1.0;
                let norm = libm::sqrt(x.iter().map(|v| v * v).sum());
                x.iter().map(|v| v / norm).collect()
            })
            .collect()
    }

    /// (RᵀR)⁻¹ in the order of the unknowns; `None` when the rank is short.
    #[must_use]
    pub fn inverse_gram(&self) -> Option<Symmetric> {
        let n = self.order.len();
        if self.rank < n {
            return None;
        }
        let mut inverse = Vec::with_capacity(n);
        for j in 0..n {
            let mut e = vec![0.0; n];
            e[j] = 1.0;
            inverse.push(self.back_substitute(&e));
        }
        let mut q = Symmetric::zero(n);
        for i in 0..n {
            for j in 0..=i {
                let sum = inverse[i.max(j)..].iter().map(|c| c[i] * c[j]).sum();
                q.set(self.order[i], self.order[j], sum);
            }
        }
        Some(q)
    }

    fn back_substitute(&self, b: &[f64]) -> Vec<f64> {
        let mut x: Vec<f64> = b.iter().copied().take(self.rank).collect();
        x.resize(self.rank, 0.0);
        for i in (0..self.rank).rev() {
            let value = x[i] / self.r[i][i];
            x[i] = value;
            for (k, y) in x[..i].iter_mut().enumerate() {
                *y -= self.r[i][k] * value;
            }
        }
        x
    }
}

fn reflect(v: &[f64], vv: f64, x: &mut [f64]) {
    let along: f64 = v.iter().zip(x.iter()).map(|(a, b)| a * b).sum();
    let factor = 2.0 * along / vv;
    for (a, b) in v.iter().zip(x) {
        *b -= factor * a;
    }
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        reason = "a test that fails here should stop here"
    )]
    use super::*;

    fn columns(rows: &[[f64; 3]]) -> Columns {
        Columns {
            columns: (0..3)
                .map(|c| rows.iter().map(|r| r[c]).collect())
                .collect(),
        }
    }

    #[test]
    fn a_repeated_column_is_a_free_direction() {
        let a = columns(&[
            [1.0, 2.0, 3.0],
            [0.0, 1.0, 1.0],
            [2.0, -1.0, 1.0],
            [1.0, 1.0, 2.0],
        ]);
        let qr = PivotedQr::new(a.clone(), &[0.0; 4], 1e-10);
        assert_eq!(qr.rank(), 2);
        let free = qr.free_directions();
        assert_eq!(free.len(), 1);
        // The third column is the sum of the others: (1, 1, -1)/sqrt 3 up to sign.
        let s = free[0][0].signum();
        for (x, w) in free[0].iter().zip([1.0, 1.0, -1.0]) {
            assert!((s * x - w / libm::sqrt(3.0)).abs() < 1e-14);
        }
    }

    #[test]
    fn solves_and_inverts_like_the_normal_equations() {
        let a = columns(&[
            [1.0, 2.0, 0.5],
            [0.0, 1.0, 1.0],
            [2.0, -1.0, 1.0],
            [1.0, 1.0, 2.0],
        ]);
        let b = [1.0, -2.0, 0.5, 3.0];
        let qr = PivotedQr::new(a.clone(), &b, 1e-10);
        let mut n = Symmetric::zero(3);
        let mut rhs = vec![0.0; 3];
        for k in 0..4 {
            let row: Vec<f64> = a.columns.iter().map(|c| c[k]).collect();
            n.add_outer(&[0, 1, 2], &row);
            for (s, x) in rhs.iter_mut().zip(&row) {
                *s += x * b[k];
            }
        }
        let l = n.cholesky(1e-12).unwrap();
        let (x, q, y) = (l.solve(&rhs), l.inverse(), qr.inverse_gram().unwrap());
        for i in 0..3 {
            assert!((qr.solve()[i] - x[i]).abs() < 1e-13);
            for j in 0..3 {
                assert!((q.get(i, j) - y.get(i, j)).abs() < 1e-13);
            }
        }
    }
}
