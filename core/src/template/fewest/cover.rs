//! The fewest groups that hold every casting, where parts of a group that goes together go together.
//!
//! Up to [`EXACT`] castings by branch and bound: castings that no two of which go together need a
//! template each (the bound below); each further casting is tried in every group that takes it and
//! in a new one, the one with the fewest choices first. Above, groups are grown one after another,
//! and the bound below says how far from the fewest they may be.

use std::collections::BTreeMap;

/// Castings up to which the count is sought exactly.
pub const EXACT: usize = 30;

/// Steps after which the search stops with the best it has and says so.
const MOST_STEPS: usize = 4_000;

/// Groups, and what is known of their number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Cover {
    pub(super) groups: Vec<Vec<usize>>,
    /// No cover has fewer.
    pub(super) at_least: usize,
}

/// Remembers which groups go together.
struct Asked<'a> {
    fits: &'a mut dyn FnMut(&[usize]) -> bool,
    apart: Vec<Vec<bool>>,
    known: BTreeMap<Vec<usize>, bool>,
}

impl Asked<'_> {
    fn takes(&mut self, group: &[usize], one: usize) -> bool {
        if group.iter().any(|&m| self.apart[one][m]) {
            return false;
        }
        let mut with = group.to_vec();
        with.push(one);
        with.sort_unstable();
        if with.len() <= 2 {
            return true;
        }
        if let Some(&known) = self.known.get(&with) {
            return known;
        }
        let says = (self.fits)(&with);
        self.known.insert(with, says);
        says
    }

    /// Castings of `list` no two of which go together: greedily, from each start.
    fn all_apart(&self, list: &[usize]) -> Vec<usize> {
        let mut best: Vec<usize> = Vec::new();
        for &start in list {
            let mut chosen = vec![start];
            let mut open: Vec<usize> = list
                .iter()
                .copied()
                .filter(|&k| self.apart[start][k])
                .collect();
            while !open.is_empty() {
                // The one that leaves most others open.
                let mut next = (0, open[0]);
                for &k in &open {
                    let stays = open.iter().filter(|&&m| self.apart[k][m]).count();
                    if stays > next.0 {
                        next = (stays, k);
                    }
                }
                chosen.push(next.1);
                open.retain(|&k| self.apart[next.1][k]);
            }
            if chosen.len() > best.len() {
                best = chosen;
            }
        }
        best.sort_unstable();
        best
    }
}

/// Covers castings `0..count`; `fits` says whether a group (sorted) goes together.
pub(super) fn cover(count: usize, fits: &mut dyn FnMut(&[usize]) -> bool) -> Cover {
    let everyone: Vec<usize> = (0..count).collect();
    if count == 0 || fits(&everyone) {
        return Cover {
            groups: if count == 0 { vec![] } else { vec![everyone] },
            at_least: count.min(1),
        };
    }
    let apart: Vec<Vec<bool>> = (0..count)
        .map(|a| {
            (0..count)
                .map(|b| a != b && !fits(&[a.min(b), a.max(b)]))
                .collect()
        })
        .collect();
    let mut asked = Asked {
        fits,
        apart,
        known: BTreeMap::new(),
    };
    let seeds = asked.all_apart(&everyone);
    // All together has been refused.
    let at_least = seeds.len().max(2);
    let mut best = grown(&mut asked, count);
    if best.len() == at_least || count > EXACT {
        return Cover {
            groups: tidy(best),
            at_least,
        };
    }
    let mut groups: Vec<Vec<usize>> = seeds.iter().map(|&s| vec![s]).collect();
    let left: Vec<usize> = everyone
        .into_iter()
        .filter(|k| !seeds.contains(k))
        .collect();
    let mut steps = 0;
    let whole = branch(
        &mut asked,
        &mut groups,
        left,
        at_least,
        &mut best,
        &mut steps,
    );
    Cover {
        at_least: if whole { best.len() } else { at_least },
        groups: tidy(best),
    }
}

fn tidy(mut groups: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
    for group in &mut groups {
        group.sort_unstable();
    }
    groups.sort();
    groups
}

/// Groups grown one after another from the casting that goes with fewest others.
fn grown(asked: &mut Asked<'_>, count: usize) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = (0..count).collect();
    let mut groups = Vec::new();
    while !left.is_empty() {
        let friends = |k: usize| left.iter().filter(|&&m| !asked.apart[k][m]).count();
        let mut seed = (usize::MAX, left[0]);
        for &k in &left {
            let n = friends(k);
            if n < seed.0 {
                seed = (n, k);
            }
        }
        let mut group = vec![seed.1];
        // First those that go with few others themselves: the rest finds a place more easily.
        let mut order: Vec<(usize, usize)> = left.iter().map(|&k| (friends(k), k)).collect();
        order.sort_unstable();
        for (_, k) in order {
            if k != seed.1 && asked.takes(&group, k) {
                group.push(k);
            }
        }
        left.retain(|k| !group.contains(k));
        groups.push(group);
    }
    groups
}

/// Tries every place of every casting left; true when nothing was cut short.
fn branch(
    asked: &mut Asked<'_>,
    groups: &mut Vec<Vec<usize>>,
    left: Vec<usize>,
    at_least: usize,
    best: &mut Vec<Vec<usize>>,
    steps: &mut usize,
) -> bool {
    if groups.len() >= best.len() || best.len() == at_least {
        return true;
    }
    if left.is_empty() {
        best.clone_from(groups);
        return true;
    }
    *steps += 1;
    if *steps > MOST_STEPS {
        return false;
    }
    let mut hardest: Option<(usize, Vec<usize>)> = None;
    let mut homeless = Vec::new();
    for &k in &left {
        let homes: Vec<usize> = (0..groups.len())
            .filter(|&g| asked.takes(&groups[g], k))
            .collect();
        if homes.is_empty() {
            homeless.push(k);
        }
        if hardest.as_ref().is_none_or(|(_, h)| homes.len() < h.len()) {
            hardest = Some((k, homes));
        }
    }
    if groups.len() + asked.all_apart(&homeless).len() >= best.len() {
        return true;
    }
    let Some((one, homes)) = hardest else {
        return true;
    };
    let rest: Vec<usize> = left.into_iter().filter(|&k| k != one).collect();
    let mut whole = true;
    for home in homes {
        groups[home].push(one);
        whole &= branch(asked, groups, rest.clone(), at_least, best, steps);
        groups[home].pop();
    }
    groups.push(vec![one]);
    whole &= branch(asked, groups, rest, at_least, best, steps);
    groups.pop();
    whole
}
