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

/// Who stands in rows with whom.
struct Joined {
    /// A bit for each unknown, so many words for each.
    bits: Vec<u64>,
    words: usize,
}

impl Joined {
    fn of(rows: &Rows, n: usize) -> Self {
        let words = n.div_ceil(64);
        let mut bits = vec![0_u64; n * words];
        let mut all = vec![0_u64; words];
        for k in 0..rows.len() {
            let (columns, _) = rows.row(k);
            all.fill(0);
            for c in columns {
                all[c / 64] |= 1 << (c % 64);
            }
            for c in columns {
                for (own, row) in bits[c * words..].iter_mut().zip(&all) {
                    *own |= row;
                }
            }
        }
        Self { bits, words }
    }

    fn line(&self, k: usize) -> &[u64] {
        &self.bits[k * self.words..(k + 1) * self.words]
    }

    fn count(&self, k: usize) -> usize {
        self.line(k).iter().map(|w| w.count_ones() as usize).sum()
    }
}

/// Unknowns that follow each other and stand in rows with the same ones, as a mark's do.
#[derive(Debug, Clone)]
struct Alike {
    members: core::ops::Range<usize>,
    /// How many unknowns they stand with.
    degree: usize,
    neighbours: Vec<usize>,
}

fn alike(joined: &Joined, n: usize) -> Vec<Alike> {
    let mut all: Vec<Alike> = Vec::new();
    let mut group = vec![0; n];
    for k in 0..n {
        match all.last_mut() {
            Some(last) if joined.line(last.members.start) == joined.line(k) => {
                last.members.end = k + 1;
            }
            _ => all.push(Alike {
                members: k..k + 1,
                degree: joined.count(k),
                neighbours: Vec::new(),
            }),
        }
        group[k] = all.len() - 1;
    }
    for one in &mut all {
        let line = joined.line(one.members.start).iter().enumerate();
        for (w, word) in line {
            let mut left = *word;
            while left != 0 {
                let k = group[w * 64 + left.trailing_zeros() as usize];
                if one.neighbours.last() != Some(&k) {
                    one.neighbours.push(k);
                }
                left &= left - 1;
            }
        }
    }
    all
}

impl Order {
    pub(super) fn of(rows: &Rows, n: usize) -> Self {
        let all = alike(&Joined::of(rows, n), n);
        let hub = |k: usize| 2 * all[k].degree > n;
        let mut sequence: Vec<usize> = Vec::with_capacity(all.len());
        let mut seen: Vec<bool> = (0..all.len()).map(hub).collect();
        let mut by_degree: Vec<usize> = (0..all.len()).filter(|k| !hub(*k)).collect();
        by_degree.sort_by_key(|k| (all[*k].degree, *k));
        for start in by_degree {
            if seen[start] {
                continue;
            }
            // The far end of the far end lies nearly at an end of the network.
            let from_start = spread(start, &all, &mut seen.clone());
            let far = from_start.last().copied().unwrap_or(start);
            let from_far = spread(far, &all, &mut seen.clone());
            let further = from_far.last().copied().unwrap_or(far);
            let from_further = spread(further, &all, &mut seen);
            // Numbered from either end and either way round: the one that fills least.
            let mut best: Option<(usize, Vec<usize>)> = None;
            for one in [from_further, from_far] {
                let turned: Vec<usize> = one.iter().rev().copied().collect();
                for way in [one, turned] {
                    let fills = work(&way, &all);
                    if best.as_ref().is_none_or(|(least, _)| fills < *least) {
                        best = Some((fills, way));
                    }
                }
            }
            sequence.extend(best.into_iter().flat_map(|(_, way)| way));
        }
        sequence.extend((0..all.len()).filter(|k| hub(*k)));
        let mut place = vec![0; n];
        let members = sequence.into_iter().flat_map(|k| all[k].members.clone());
        for (at, k) in members.enumerate() {
            place[k] = at;
        }
        Self { place }
    }

    /// Where each unknown stands.
    pub(super) fn places(&self) -> &[usize] {
        &self.place
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

/// What a factor in this order costs, as far as rows filled from their first entry on tell.
fn work(sequence: &[usize], all: &[Alike]) -> usize {
    let mut at = vec![usize::MAX; all.len()];
    let (mut next, mut sum) = (0, 0);
    for k in sequence {
        let one = &all[*k];
        at[*k] = next;
        let first = one.neighbours.iter().map(|m| at[*m]).min().unwrap_or(next);
        let long = next - first.min(next);
        sum += long * long * one.members.len();
        next += one.members.len();
    }
    sum
}

/// All that hangs together with `start`, nearest first; at one distance fewest neighbours first.
fn spread(start: usize, all: &[Alike], seen: &mut [bool]) -> Vec<usize> {
    let mut out = Vec::with_capacity(all.len());
    out.push(start);
    seen[start] = true;
    let mut at = 0;
    while let Some(&k) = out.get(at) {
        let begin = out.len();
        for &next in &all[k].neighbours {
            if !seen[next] {
                seen[next] = true;
                out.push(next);
            }
        }
        out[begin..].sort_by_key(|k| (all[*k].degree, *k));
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
