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
    /// By the castings of the group, a bit each; kept for as many as a search tries.
    known: BTreeMap<u64, bool>,
}

/// A casting's bit; none of its own where there are more than a search tries.
const fn bit(one: usize) -> u64 {
    if one < EXACT { 1 << one } else { 0 }
}

impl Asked<'_> {
    fn takes(&mut self, group: &[usize], one: usize) -> bool {
        if group.iter().any(|&m| self.apart[one][m]) {
            return false;
        }
        if group.len() < 2 {
            return true;
        }
        let searched = self.apart.len() <= EXACT;
        let key = group.iter().fold(bit(one), |key, m| key | bit(*m));
        if let Some(&known) = self.known.get(&key).filter(|_| searched) {
            return known;
        }
        let mut with = group.to_vec();
        with.push(one);
        with.sort_unstable();
        let says = (self.fits)(&with);
        if searched {
            self.known.insert(key, says);
        }
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

/// Covers castings `0..count`; `fits` says whether a group (sorted) goes together. `None` where it takes
/// more than `most` groups, or none of so few was found before the search had to be cut short.
///
/// What `most` is makes no difference to the cover found: the first of the fewest in the order of the search.
pub(super) fn cover(
    count: usize,
    most: usize,
    fits: &mut dyn FnMut(&[usize]) -> bool,
) -> Option<Cover> {
    let everyone: Vec<usize> = (0..count).collect();
    if count == 0 || fits(&everyone) {
        let found = Cover {
            groups: if count == 0 { vec![] } else { vec![everyone] },
            at_least: count.min(1),
        };
        return (found.groups.len() <= most).then_some(found);
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
    if at_least > most {
        return None;
    }
    let grown = grown(&mut asked, count);
    let enough = grown.len() <= most;
    if grown.len() == at_least || count > EXACT {
        return enough.then(|| Cover {
            groups: tidy(grown),
            at_least,
        });
    }
    let groups: Vec<Vec<usize>> = seeds.iter().map(|&s| vec![s]).collect();
    let left = everyone.into_iter().filter(|k| !seeds.contains(k));
    let mut search = Search {
        fewer_than: grown.len().min(most.saturating_add(1)),
        best: enough.then_some(grown),
        at_least,
        groups,
        asked,
        steps: 0,
    };
    let open = left.map(|k| search.homes(k)).collect();
    let whole = search.branch(open);
    let best = search.best?;
    Some(Cover {
        at_least: if whole { best.len() } else { at_least },
        groups: tidy(best),
    })
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

/// A casting that has no place yet, and the groups that take it.
#[derive(Clone)]
struct Open {
    one: usize,
    homes: Vec<usize>,
}

/// A search over the places of every casting.
struct Search<'a> {
    asked: Asked<'a>,
    groups: Vec<Vec<usize>>,
    /// The fewest so far, where they are few enough.
    best: Option<Vec<Vec<usize>>>,
    /// What is sought has fewer groups.
    fewer_than: usize,
    at_least: usize,
    steps: usize,
}

impl Search<'_> {
    fn homes(&mut self, one: usize) -> Open {
        let homes = (0..self.groups.len())
            .filter(|&g| self.asked.takes(&self.groups[g], one))
            .collect();
        Open { one, homes }
    }

    /// Those still open once one of them has gone to a group, that is new or has grown: only that one is
    /// asked again, and what a group does not take it does not take when it has grown.
    fn after(&mut self, open: &[Open], gone: usize, (home, new): (usize, bool)) -> Vec<Open> {
        let mut left: Vec<Open> = open.iter().filter(|o| o.one != gone).cloned().collect();
        for o in &mut left {
            let place = o.homes.binary_search(&home);
            let asked = new || place.is_ok();
            let takes = asked && self.asked.takes(&self.groups[home], o.one);
            match place {
                Ok(at) if !takes => {
                    o.homes.remove(at);
                }
                Err(at) if takes => o.homes.insert(at, home),
                _ => {}
            }
        }
        left
    }

    /// Tries every place of every casting left; true when nothing was cut short.
    fn branch(&mut self, open: Vec<Open>) -> bool {
        if self.groups.len() >= self.fewer_than || self.fewer_than == self.at_least {
            return true;
        }
        if open.is_empty() {
            self.fewer_than = self.groups.len();
            self.best = Some(self.groups.clone());
            return true;
        }
        self.steps += 1;
        if self.steps > MOST_STEPS {
            return false;
        }
        let homeless: Vec<usize> = open
            .iter()
            .filter(|o| o.homes.is_empty())
            .map(|o| o.one)
            .collect();
        if self.groups.len() + self.asked.all_apart(&homeless).len() >= self.fewer_than {
            return true;
        }
        let Some(Open { one, homes }) = open.iter().min_by_key(|o| o.homes.len()).cloned() else {
            return true;
        };
        let mut whole = true;
        for home in homes {
            self.groups[home].push(one);
            let left = self.after(&open, one, (home, false));
            whole &= self.branch(left);
            self.groups[home].pop();
        }
        self.groups.push(vec![one]);
        let left = self.after(&open, one, (self.groups.len() - 1, true));
        whole &= self.branch(left);
        self.groups.pop();
        whole
    }
}
