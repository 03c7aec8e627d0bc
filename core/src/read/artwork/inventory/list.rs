//! The list of what is not taken, kept short.

use crate::read::artwork::place::{Place, short};
use crate::read::artwork::{Ignored, IgnoredKind};
use std::collections::BTreeMap;

/// Entries of one kind; further ones add to the count of the last.
const MOST_OF_A_KIND: usize = 100;

#[derive(Debug, Default)]
pub(in crate::read::artwork) struct List {
    entries: Vec<Ignored>,
    /// How many of each kind, and the last of them.
    kinds: BTreeMap<IgnoredKind, (usize, usize)>,
}

impl List {
    /// Adds an entry and returns its number.
    pub(in crate::read::artwork) fn add(
        &mut self,
        what: IgnoredKind,
        at: Place,
        count: usize,
        value: &str,
    ) -> usize {
        let next = self.entries.len();
        let (many, last) = self.kinds.entry(what).or_insert((0, next));
        if *many == MOST_OF_A_KIND {
            let last = *last;
            self.count(last, count);
            return last;
        }
        (*many, *last) = (*many + 1, next);
        self.entries.push(Ignored {
            what,
            at,
            count,
            value: short(value),
        });
        next
    }

    /// Adds to the count of an entry.
    pub(in crate::read::artwork) fn count(&mut self, entry: usize, more: usize) {
        if let Some(i) = self.entries.get_mut(entry) {
            i.count += more;
        }
    }

    /// Entries so far.
    pub(in crate::read::artwork) const fn len(&self) -> usize {
        self.entries.len()
    }

    /// In the order of the file; entries that took nothing along are left out.
    pub(in crate::read::artwork) fn finish(self) -> Vec<Ignored> {
        let mut list: Vec<_> = self.entries.into_iter().filter(|i| i.count > 0).collect();
        list.sort_by_key(|i| (i.at.line, i.what));
        list
    }
}
