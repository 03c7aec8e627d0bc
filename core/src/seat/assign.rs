//! Who goes with whom: the smallest worst misfit, then the least sum, then the order of names.

/// A pairing of rows and columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assignment {
    /// The column of each row; none where there are more rows than columns.
    pub column: Vec<Option<usize>>,
    /// The worst cost.
    pub worst: i64,
    /// The sum of costs.
    pub sum: i64,
}

/// The bottleneck assignment of a table of costs (whole µm, so that ties are ties); `None` in the
/// table is a pair that can't be. Among those with the smallest worst cost the one with the least
/// sum, and among those the first in the order of rows and columns. Every row has a column, or,
/// where there are more rows, every column a row. `None` when no such pairing exists.
///
/// Threshold by halving with augmenting paths; the least sum by shortest augmenting paths with
/// potentials (Kuhn 1955, Munkres 1957); ties among pairs whose reduced cost is zero.
#[must_use]
pub fn assign(costs: &[Vec<Option<i64>>]) -> Option<Assignment> {
    let rows = costs.len();
    let columns = costs.first().map_or(0, Vec::len);
    if rows == 0 || columns == 0 || costs.iter().any(|r| r.len() != columns) {
        return None;
    }
    // Square, with free places for those that stay over.
    let n = rows.max(columns);
    let cost = |i: usize, j: usize| -> Option<i64> {
        if i >= rows || j >= columns {
            Some(0)
        } else {
            costs[i][j]
        }
    };
    let mut levels: Vec<i64> = costs.iter().flatten().flatten().copied().collect();
    if n > rows.min(columns) {
        levels.push(levels.iter().copied().min().unwrap_or(0).min(0));
    }
    levels.sort_unstable();
    levels.dedup();
    let fits = |level: i64| {
        let open = |i: usize, j: usize| {
            (i >= rows || j >= columns) || cost(i, j).is_some_and(|c| c <= level)
        };
        matching(n, &open).is_some()
    };
    let at = levels.partition_point(|&level| !fits(level));
    let level = *levels.get(at)?;
    let open = |i: usize, j: usize| -> Option<i64> {
        cost(i, j).filter(|&c| i >= rows || j >= columns || c <= level)
    };
    let (u, v) = potentials(n, &open)?;
    let tight = |i: usize, j: usize| open(i, j).is_some_and(|c| c == u[i] + v[j]);
    let chosen = first_in_order(n, &tight)?;
    let column: Vec<Option<usize>> = chosen
        .iter()
        .take(rows)
        .map(|&j| (j < columns).then_some(j))
        .collect();
    let taken = |(i, j): (usize, &Option<usize>)| j.and_then(|j| costs[i][j]);
    let used: Vec<i64> = column.iter().enumerate().filter_map(taken).collect();
    Some(Assignment {
        worst: used.iter().copied().max().unwrap_or(0),
        sum: used.iter().sum(),
        column,
    })
}

/// A perfect matching of the open places, as the row of each column.
fn matching(n: usize, open: &dyn Fn(usize, usize) -> bool) -> Option<Vec<usize>> {
    let mut row_of: Vec<Option<usize>> = vec![None; n];
    for i in 0..n {
        if !augment(i, open, &mut row_of, &mut vec![false; n]) {
            return None;
        }
    }
    row_of.into_iter().collect()
}

fn augment(
    i: usize,
    open: &dyn Fn(usize, usize) -> bool,
    row_of: &mut Vec<Option<usize>>,
    seen: &mut Vec<bool>,
) -> bool {
    for j in 0..row_of.len() {
        if !seen[j] && open(i, j) {
            seen[j] = true;
            let free = match row_of[j] {
                None => true,
                Some(other) => augment(other, open, row_of, seen),
            };
            if free {
                row_of[j] = Some(i);
                return true;
            }
        }
    }
    false
}

/// Row and column potentials of a least-sum assignment.
fn potentials(
    n: usize,
    open: &dyn Fn(usize, usize) -> Option<i64>,
) -> Option<(Vec<i64>, Vec<i64>)> {
    // Columns from 1; column 0 holds the row that is being placed.
    let (mut u, mut v) = (vec![0_i64; n + 1], vec![0_i64; n + 1]);
    let (mut row_of, mut way) = (vec![0_usize; n + 1], vec![0_usize; n + 1]);
    for i in 1..=n {
        row_of[0] = i;
        let mut j0 = 0;
        let mut least: Vec<Option<i64>> = vec![None; n + 1];
        let mut used = vec![false; n + 1];
        loop {
            used[j0] = true;
            let i0 = row_of[j0];
            let mut next: Option<(i64, usize)> = None;
            for j in 1..=n {
                if used[j] {
                    continue;
                }
                if let Some(c) = open(i0 - 1, j - 1) {
                    let reduced = c - u[i0] - v[j];
                    if least[j].is_none_or(|l| reduced < l) {
                        least[j] = Some(reduced);
                        way[j] = j0;
                    }
                }
                if let Some(l) = least[j]
                    && next.is_none_or(|(d, _)| l < d)
                {
                    next = Some((l, j));
                }
            }
            let (delta, j1) = next?;
            for j in 0..=n {
                if used[j] {
                    u[row_of[j]] += delta;
                    v[j] -= delta;
                } else if let Some(l) = &mut least[j] {
                    *l -= delta;
                }
            }
            j0 = j1;
            if row_of[j0] == 0 {
                break;
            }
        }
        while j0 != 0 {
            let before = way[j0];
            row_of[j0] = row_of[before];
            j0 = before;
        }
    }
    Some((u.split_off(1), v.split_off(1)))
}

/// The perfect matching of the open places that is first when read row by row.
fn first_in_order(n: usize, open: &dyn Fn(usize, usize) -> bool) -> Option<Vec<usize>> {
    let mut chosen: Vec<usize> = Vec::with_capacity(n);
    for i in 0..n {
        let next = (0..n)
            .filter(|j| open(i, *j) && !chosen.contains(j))
            .find(|&j| {
                let with = |r: usize, c: usize| {
                    let fixed = if r == i {
                        Some(j)
                    } else {
                        chosen.get(r).copied()
                    };
                    fixed.map_or_else(|| open(r, c), |f| f == c)
                };
                matching(n, &with).is_some()
            })?;
        chosen.push(next);
    }
    Some(chosen)
}
