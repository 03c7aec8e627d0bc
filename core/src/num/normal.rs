//! The normal matrix of sparse rows, formed again and again: where each product of two of a row's
//! terms goes is found once.

use super::cholesky::Symmetric;
use super::least_squares::Rows;
use super::order::Order;

/// JᵀJ of scaled unknowns in a given order, and where its sums go.
#[derive(Debug, Clone)]
pub(super) struct Normal {
    matrix: Symmetric,
    /// For each row in turn, for each pair of its terms, the later with those up to it: the spot of
    /// their product.
    spots: Vec<usize>,
    /// The rows' columns that the spots are for.
    known: Vec<usize>,
    /// And where each row's columns end.
    ends: Vec<usize>,
}

impl Default for Normal {
    fn default() -> Self {
        Self {
            matrix: Symmetric::zero(0),
            spots: Vec::new(),
            known: Vec::new(),
            ends: Vec::new(),
        }
    }
}

impl Normal {
    pub(super) const fn matrix(&self) -> &Symmetric {
        &self.matrix
    }

    /// Forms the matrix of these rows.
    pub(super) fn form(&mut self, rows: &Rows, scale: &[f64], order: &Order) {
        if self.is_of(rows, scale.len()) {
            self.matrix.refresh();
        } else {
            self.learn(rows, scale.len(), order);
        }
        sum(rows, scale, &self.spots, &mut self.matrix);
    }

    /// The matrix of other rows.
    pub(super) fn of(&self, rows: &Rows, scale: &[f64], order: &Order) -> Symmetric {
        let mut other = self.clone();
        other.form(rows, scale, order);
        other.matrix
    }

    fn is_of(&self, rows: &Rows, n: usize) -> bool {
        let mut from = 0;
        self.matrix.size() == n
            && self.ends.len() == rows.len()
            && self.ends.iter().enumerate().all(|(k, end)| {
                let known = self.known.get(from..*end).unwrap_or_default();
                from = *end;
                rows.row(k).0 == known
            })
    }

    fn learn(&mut self, rows: &Rows, n: usize, order: &Order) {
        self.matrix = Symmetric::zero(n);
        self.spots.clear();
        self.known.clear();
        self.ends.clear();
        let mut places = Vec::new();
        for k in 0..rows.len() {
            let (columns, _) = rows.row(k);
            places.clear();
            places.extend(columns.iter().map(|c| order.place(*c)));
            self.matrix.spots(&places, &mut self.spots);
            self.known.extend_from_slice(columns);
            self.ends.push(self.known.len());
        }
    }
}

/// Adds all products, row after row.
fn sum(rows: &Rows, scale: &[f64], mut spots: &[usize], matrix: &mut Symmetric) {
    let flat = matrix.flat();
    let mut scaled: Vec<f64> = Vec::new();
    for k in 0..rows.len() {
        let (columns, values) = rows.row(k);
        scaled.clear();
        for (c, v) in columns.iter().zip(values) {
            let x = v * scale[*c];
            scaled.push(x);
            let (own, rest) = spots.split_at(scaled.len());
            for (y, spot) in scaled.iter().zip(own) {
                flat[*spot] += x * y;
            }
            spots = rest;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A chain that each row carries on, and a further row that joins two of its unknowns.
    fn chain(n: usize, joined: [usize; 2]) -> Rows {
        let mut rows = Rows::default();
        for k in 1..n {
            rows.push(&[(k, 1.0 + k as f64), (k - 1, -0.5)], 0.0, 0.25);
        }
        rows.push(&[(joined[0], 3.0), (joined[1], 7.0)], 0.0, 0.5);
        rows
    }

    #[test]
    fn formed_again_it_is_the_matrix_of_the_rows_it_is_given() {
        let n = 11;
        let scale: Vec<f64> = (0..n).map(|k| 1.0 + k as f64 / 8.0).collect();
        let mut kept = Normal::default();
        for joined in [[0, 10], [0, 10], [3, 7], [10, 1]] {
            let rows = chain(n, joined);
            let order = Order::of(&rows, n);
            kept.form(&rows, &scale, &order);
            // The plain sum over all rows, as the definition has it.
            for a in 0..n {
                for b in 0..n {
                    let entry = |k: usize, c: usize| {
                        let (columns, values) = rows.row(k);
                        let at = columns.iter().position(|x| *x == c);
                        at.map_or(0.0, |at| values[at] * scale[c])
                    };
                    let want: f64 = (0..rows.len()).map(|k| entry(k, a) * entry(k, b)).sum();
                    let got = kept.matrix().get(order.place(a), order.place(b));
                    // Sums of three products of a few digits each.
                    assert!((got - want).abs() < 1e-9, "{joined:?} {a} {b}");
                    let other = Normal::default().of(&rows, &scale, &order);
                    assert!((other.get(order.place(a), order.place(b)) - got).abs() < 1e-12);
                }
            }
        }
    }
}
