//! Small symmetric eigenproblems, by rotations that always come in the same order.

use super::cholesky::Symmetric;

/// Eigenvalues in ascending order with their vectors, of a symmetric 2×2 matrix
/// `[[a, b], [b, d]]`. The vectors are of length one and the second is the first turned a
/// quarter turn anticlockwise.
#[must_use]
pub fn eigen2(a: f64, b: f64, d: f64) -> [(f64, [f64; 2]); 2] {
    let (half_sum, half_difference) = ((a + d) / 2.0, (a - d) / 2.0);
    let radius = libm::hypot(half_difference, b);
    // Direction of the larger: half the angle of (a - d, 2b).
    let angle = 0.5 * libm::atan2(b, half_difference);
    let (s, c) = (libm::sin(angle), libm::cos(angle));
    [(half_sum - radius, [s, -c]), (half_sum + radius, [c, s])]
}

/// Eigenvalues in ascending order with their vectors (Jacobi's cyclic rotations: Golub & Van
/// Loan, 4th ed., 8.5). For a handful of unknowns.
#[must_use]
pub fn eigen(a: &Symmetric) -> Vec<(f64, Vec<f64>)> {
    let n = a.size();
    let mut m: Vec<Vec<f64>> = (0..n)
        .map(|i| (0..n).map(|j| a.get(i, j)).collect())
        .collect();
    let mut v: Vec<Vec<f64>> = (0..n)
        .map(|i| (0..n).map(|j| if i == j { 1.0 } else { 0.0 }).collect())
        .collect();
    // Converges quadratically; six to eight sweeps do for any size used here.
    for _ in 0..40 {
        let off: f64 = (0..n)
            .map(|i| (0..i).map(|j| m[i][j] * m[i][j]).sum::<f64>())
            .sum();
        let on: f64 = (0..n).map(|i| m[i][i] * m[i][i]).sum();
        if off <= 1e-34 * on {
            break;
        }
        for p in 0..n {
            for q in p + 1..n {
                rotate(&mut m, &mut v, p, q);
            }
        }
    }
    let mut pairs: Vec<(f64, Vec<f64>)> = (0..n)
        .map(|k| (m[k][k], v.iter().map(|line| line[k]).collect()))
        .collect();
    pairs.sort_by(|x, y| x.0.total_cmp(&y.0));
    pairs
}

fn rotate(m: &mut [Vec<f64>], v: &mut [Vec<f64>], p: usize, q: usize) {
    if m[p][q].abs() <= f64::MIN_POSITIVE {
        return;
    }
    let theta = (m[q][q] - m[p][p]) / (2.0 * m[p][q]);
    let t = theta.signum() / (theta.abs() + libm::sqrt(theta * theta + 1.0));
    let c = 1.0 / libm::sqrt(t * t + 1.0);
    let s = t * c;
    for line in m.iter_mut() {
        let (x, y) = (line[p], line[q]);
        line[p] = c * x - s * y;
        line[q] = s * x + c * y;
    }
    for k in 0..m.len() {
        let (x, y) = (m[p][k], m[q][k]);
        m[p][k] = c * x - s * y;
        m[q][k] = s * x + c * y;
    }
    for line in v.iter_mut() {
        let (x, y) = (line[p], line[q]);
        line[p] = c * x - s * y;
        line[q] = s * x + c * y;
    }
}

/// Right singular vectors and singular values of a tall matrix given by columns, smallest first
/// (Hestenes' one-sided rotations: small singular values keep their relative accuracy).
#[must_use]
pub fn right_singular(columns: &[Vec<f64>]) -> Vec<(f64, Vec<f64>)> {
    let k = columns.len();
    let mut a = columns.to_vec();
    let mut v: Vec<Vec<f64>> = (0..k)
        .map(|i| (0..k).map(|j| if i == j { 1.0 } else { 0.0 }).collect())
        .collect();
    for _ in 0..40 {
        let mut turned = false;
        for p in 0..k {
            for q in p + 1..k {
                turned |= orthogonalise(&mut a, &mut v, p, q);
            }
        }
        if !turned {
            break;
        }
    }
    // v is kept by columns: v[p] belongs to a[p].
    let mut out: Vec<(f64, Vec<f64>)> = a.iter().map(|c| libm::sqrt(dot(c, c))).zip(v).collect();
    out.sort_by(|x, y| x.0.total_cmp(&y.0));
    out
}

fn dot(x: &[f64], y: &[f64]) -> f64 {
    x.iter().zip(y).map(|(a, b)| a * b).sum()
}

fn orthogonalise(a: &mut [Vec<f64>], v: &mut [Vec<f64>], p: usize, q: usize) -> bool {
    let (pp, qq, pq) = (dot(&a[p], &a[p]), dot(&a[q], &a[q]), dot(&a[p], &a[q]));
    if pq.abs() <= 1e-15 * libm::sqrt(pp * qq) || pq.abs() <= f64::MIN_POSITIVE {
        return false;
    }
    let theta = (qq - pp) / (2.0 * pq);
    let sign = if theta >= 0.0 { 1.0 } else { -1.0 };
    let t = sign / (theta.abs() + libm::sqrt(theta * theta + 1.0));
    let c = 1.0 / libm::sqrt(t * t + 1.0);
    let s = t * c;
    for set in [a, v] {
        let (left, right) = set.split_at_mut(q);
        for (x, y) in left[p].iter_mut().zip(&mut right[0]) {
            (*x, *y) = (c * *x - s * *y, s * *x + c * *y);
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eigenvalues_of_a_known_matrix() {
        // Second differences of order n: 2 - 2 cos(k pi/(n+1)) (closed form).
        let n = 7;
        let mut a = Symmetric::zero(n);
        for i in 0..n {
            a.set(i, i, 2.0);
            if i > 0 {
                a.set(i, i - 1, -1.0);
            }
        }
        for (k, (value, _)) in eigen(&a).iter().enumerate() {
            let want =
                2.0 - 2.0 * libm::cos((k + 1) as f64 * core::f64::consts::PI / (n + 1) as f64);
            assert!((value - want).abs() < 1e-14, "{k} {value} {want}");
        }
    }

    #[test]
    fn two_by_two_agrees_with_the_general_one() {
        let mut a = Symmetric::zero(2);
        a.set(0, 0, 3.0);
        a.set(1, 0, -1.2);
        a.set(1, 1, 0.7);
        let (two, general) = (eigen2(3.0, -1.2, 0.7), eigen(&a));
        for (x, y) in two.iter().zip(general) {
            assert!((x.0 - y.0).abs() < 1e-15);
            let dot = x.1[0] * y.1[0] + x.1[1] * y.1[1];
            assert!((dot.abs() - 1.0).abs() < 1e-15);
        }
    }

    #[test]
    fn a_tiny_singular_value_keeps_its_digits() {
        let columns = [vec![1.0, 1.0, 0.0], vec![1.0, 1.0, 1e-12]];
        let sv = right_singular(&columns);
        // Product of the two is the area of the parallelogram: sqrt 2 · 1e-12.
        assert!((sv[0].0 * sv[1].0 / (libm::sqrt(2.0) * 1e-12) - 1.0).abs() < 1e-9);
    }
}
