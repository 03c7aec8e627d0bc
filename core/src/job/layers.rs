//! A map that mostly grows: what came lately lies over what was there before, which copies share.

use std::borrow::Borrow;
use std::collections::{BTreeMap, btree_map};
use std::iter::Peekable;
use std::sync::Arc;

/// So many lately: then they go under, in one copy of all for as many additions.
const MOST_LATELY: usize = 1024;

/// A map in two layers. A key is in one of them only.
#[derive(Debug, Clone)]
pub(super) struct Layers<K, V> {
    under: Arc<BTreeMap<K, V>>,
    lately: BTreeMap<K, V>,
}

impl<K, V> Default for Layers<K, V> {
    fn default() -> Self {
        Self {
            under: Arc::new(BTreeMap::new()),
            lately: BTreeMap::new(),
        }
    }
}

impl<K: Ord + Clone, V: Clone> Layers<K, V> {
    pub(super) fn len(&self) -> usize {
        self.under.len() + self.lately.len()
    }

    pub(super) fn get<Q: Ord + ?Sized>(&self, key: &Q) -> Option<&V>
    where
        K: Borrow<Q>,
    {
        self.lately.get(key).or_else(|| self.under.get(key))
    }

    /// What stands under a key, to be changed; what `new` gives where nothing does.
    pub(super) fn entry(&mut self, key: K, new: impl FnOnce() -> V) -> &mut V {
        // Nobody shares it: there is nothing to keep apart.
        let alone = self.lately.is_empty() && Arc::get_mut(&mut self.under).is_some();
        if alone || self.under.contains_key(&key) {
            return Arc::make_mut(&mut self.under).entry(key).or_insert_with(new);
        }
        if self.lately.len() >= MOST_LATELY && !self.lately.contains_key(&key) {
            let mut lately = std::mem::take(&mut self.lately);
            Arc::make_mut(&mut self.under).append(&mut lately);
        }
        self.lately.entry(key).or_insert_with(new)
    }

    /// All of them in the order of their keys.
    pub(super) fn iter(&self) -> Walk<'_, K, V> {
        Walk {
            under: self.under.iter().peekable(),
            lately: self.lately.iter().peekable(),
        }
    }
}

impl<K: Ord + Clone, V: Clone + PartialEq> PartialEq for Layers<K, V> {
    fn eq(&self, other: &Self) -> bool {
        self.len() == other.len() && self.iter().eq(other.iter())
    }
}

/// Both layers as one.
pub(super) struct Walk<'a, K, V> {
    under: Peekable<btree_map::Iter<'a, K, V>>,
    lately: Peekable<btree_map::Iter<'a, K, V>>,
}

impl<'a, K: Ord, V> Iterator for Walk<'a, K, V> {
    type Item = (&'a K, &'a V);
    fn next(&mut self) -> Option<Self::Item> {
        match (self.under.peek(), self.lately.peek()) {
            (Some((a, _)), Some((b, _))) if b < a => self.lately.next(),
            (Some(_), _) => self.under.next(),
            (None, _) => self.lately.next(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_layers_are_one_map_and_a_copy_leaves_the_other_as_it_was() {
        let mut one: Layers<u32, u32> = Layers::default();
        // Not in order, and more than lie in the upper layer.
        for n in 0..5000_u32 {
            let key = n * 7919 % 100_003;
            *one.entry(key, || 0) = n;
        }
        // Shared from here on, so that some lies above.
        let shared = one.clone();
        for n in 5000..7000_u32 {
            let key = n * 7919 % 100_003;
            *one.entry(key, || 0) = n;
        }
        assert_eq!(shared.len(), 5000);
        let before: Vec<(u32, u32)> = one.iter().map(|(k, v)| (*k, *v)).collect();
        assert!(before.windows(2).all(|w| w[0].0 < w[1].0));
        assert_eq!((before.len(), one.len()), (7000, 7000));
        let mut other = one.clone();
        *other.entry(before[7].0, || 0) = 1;
        *other.entry(200_000, || 2) += 1;
        assert!(one.iter().map(|(k, v)| (*k, *v)).eq(before.iter().copied()));
        assert_eq!((other.get(&200_000), one.get(&200_000)), (Some(&3), None));
        assert_eq!(other.len(), 7001);
        assert_ne!(one, other);
    }
}
