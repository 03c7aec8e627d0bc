//! An order of unknowns that keeps the filled part of the normal matrix near its diagonal.
//!
//! Reverse Cuthill–McKee (Cuthill & McKee 1969; George 1971): neighbours are numbered outwards
//! from one end of the network, and the numbering is turned round. What nearly everything
//! depends on (a tape, the radius of the face) comes last of all, where it fills nothing else.

use super::cholesky::Cholesky;
use super::least_squares::Rows;

/// Where each unknown goes.
#[derive(Debug, Clone)]
pub(super) struct Order {
    place: Vec<usize>,
}

impl Order {
    pub(super) fn of(rows: &Rows, n: usize) -> Self {
        let mut joined = vec![false; n * n];
        for k in 0..rows.len() {
            let (columns, _) = rows.row(k);
            for a in columns {
                for b in columns {
                    joined[a * n + b] = true;
                }
            }
        }
        let neighbours: Vec<Vec<usize>> = joined
            .chunks_exact(n.max(1))
            .map(|line| {
                line.iter()
                    .enumerate()
                    .filter(|(_, j)| **j)
                    .map(|(k, _)| k)
                    .collect()
            })
            .collect();
        let hub = |k: usize| 2 * neighbours[k].len() > n;
        let mut sequence: Vec<usize> = Vec::with_capacity(n);
        let mut seen: Vec<bool> = (0..n).map(hub).collect();
        let mut by_degree: Vec<usize> = (0..n).filter(|k| !hub(*k)).collect();
        by_degree.sort_by_key(|k| (neighbours[*k].len(), *k));
        for start in by_degree {
            if seen[start] {
                continue;
            }
            // The far end of the far end lies nearly at an end of the network.
            let far = spread(start, &neighbours, &mut seen.clone())
                .last()
                .copied();
            let first = far
                .and_then(|f| spread(f, &neighbours, &mut seen.clone()).last().copied())
                .unwrap_or(start);
            sequence.extend(spread(first, &neighbours, &mut seen));
        }
        sequence.reverse();
        sequence.extend((0..n).filter(|k| hub(*k)));
        let mut place = vec![0; n];
        for (at, k) in sequence.into_iter().enumerate() {
            place[k] = at;
        }
        Self { place }
    }

    /// Where an unknown stands.
    pub(super) fn place(&self, unknown: usize) -> usize {
        self.place[unknown]
    }

    /// Solves with a factor in this order; both columns are in the order of the unknowns.
    pub(super) fn solve(&self, factor: &Cholesky, right: &[f64]) -> Vec<f64> {
        let mut placed = vec![0.0; right.len()];
        for (k, x) in self.place.iter().zip(right) {
            placed[*k] = *x;
        }
        let x = factor.solve(&placed);
        self.place.iter().map(|k| x[*k]).collect()
    }
}

/// All that hangs together with `start`, nearest first; at one distance fewest neighbours first.
fn spread(start: usize, neighbours: &[Vec<usize>], seen: &mut [bool]) -> Vec<usize> {
    let mut out = vec![start];
    seen[start] = true;
    let mut at = 0;
    while let Some(&k) = out.get(at) {
        let begin = out.len();
        for &next in &neighbours[k] {
            if !seen[next] {
                seen[next] = true;
                out.push(next);
            }
        }
        out[begin..].sort_by_key(|k| (neighbours[*k].len(), *k));
        at += 1;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chain_numbered_at_random_comes_out_as_a_band() {
        let n = 40;
        let shuffled = |k: usize| (k * 17 + 5) % n;
        let mut rows = Rows::default();
        for k in 1..n {
            rows.push(&[(shuffled(k), 1.0), (shuffled(k - 1), -1.0)], 0.0, 1.0);
        }
        let order = Order::of(&rows, n);
        for k in 1..n {
            let (a, b) = (order.place(shuffled(k)), order.place(shuffled(k - 1)));
            assert_eq!(a.abs_diff(b), 1);
        }
    }

    #[test]
    fn what_everything_depends_on_comes_last() {
        let mut rows = Rows::default();
        for k in 1..20 {
            rows.push(&[(0, 1.0), (k, 1.0)], 0.0, 1.0);
        }
        assert_eq!(Order::of(&rows, 20).place(0), 19);
    }
}
