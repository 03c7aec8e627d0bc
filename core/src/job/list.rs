//! Things in order, to which more are added at the end. A copy shares with the one it is copied from
//! whatever both have, so that a job of a hundred thousand entries is copied as fast as a small one.

use std::fmt;
use std::slice;
use std::sync::Arc;

/// So many stand in one stretch: a copy that then grows copies one stretch at most, and there is one
/// count to keep for each.
const STRETCH: usize = 256;

/// Things in order.
#[derive(Clone)]
pub struct List<T> {
    // Every stretch but the last is full.
    stretches: Vec<Arc<Vec<T>>>,
    len: usize,
}

/// Walks over a list.
pub type Iter<'a, T> = std::iter::FlatMap<
    slice::Iter<'a, Arc<Vec<T>>>,
    slice::Iter<'a, T>,
    fn(&'a Arc<Vec<T>>) -> slice::Iter<'a, T>,
>;

impl<T> List<T> {
    /// With nothing in it.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            stretches: Vec::new(),
            len: 0,
        }
    }

    /// How many there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.len
    }

    /// There is none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// All of them in order.
    pub fn iter(&self) -> Iter<'_, T> {
        let own: fn(&Arc<Vec<T>>) -> slice::Iter<'_, T> = |stretch| stretch.iter();
        self.stretches.iter().flat_map(own)
    }

    /// The n-th, from nought.
    #[must_use]
    pub fn get(&self, n: usize) -> Option<&T> {
        self.stretches.get(n / STRETCH)?.get(n % STRETCH)
    }

    /// The first.
    #[must_use]
    pub fn first(&self) -> Option<&T> {
        self.get(0)
    }

    /// The last.
    #[must_use]
    pub fn last(&self) -> Option<&T> {
        self.stretches.last()?.last()
    }
}

impl<T: Clone> List<T> {
    /// Adds one at the end.
    pub fn push(&mut self, thing: T) {
        match self.stretches.last_mut().filter(|s| s.len() < STRETCH) {
            Some(stretch) => Arc::make_mut(stretch).push(thing),
            None => self.stretches.push(Arc::new(vec![thing])),
        }
        self.len += 1;
    }

    /// The first that is meant, to be changed.
    pub fn find_mut(&mut self, mut is: impl FnMut(&T) -> bool) -> Option<&mut T> {
        let at = self.iter().position(|thing| is(thing))?;
        let stretch = self.stretches.get_mut(at / STRETCH)?;
        Arc::make_mut(stretch).get_mut(at % STRETCH)
    }
}

impl<T> Default for List<T> {
    fn default() -> Self {
        Self::new()
    }
}

impl<T: fmt::Debug> fmt::Debug for List<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.iter()).finish()
    }
}

impl<T: PartialEq> PartialEq for List<T> {
    fn eq(&self, other: &Self) -> bool {
        self.len == other.len && self.iter().eq(other.iter())
    }
}

impl<T: Clone> FromIterator<T> for List<T> {
    fn from_iter<I: IntoIterator<Item = T>>(all: I) -> Self {
        let mut list = Self::new();
        all.into_iter().for_each(|thing| list.push(thing));
        list
    }
}

impl<'a, T> IntoIterator for &'a List<T> {
    type Item = &'a T;
    type IntoIter = Iter<'a, T>;
    fn into_iter(self) -> Iter<'a, T> {
        self.iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_copy_that_grows_leaves_the_other_as_it_was() {
        let one: List<usize> = (0..1000).collect();
        let mut other = one.clone();
        other.push(1000);
        if let Some(thing) = other.find_mut(|t| *t == 300) {
            *thing = 9;
        }
        assert!(one.iter().copied().eq(0..1000));
        assert_eq!((one.len(), other.len(), other.get(300)), (1000, 1001, Some(&9)));
        assert_eq!((other.first(), other.last()), (Some(&0), Some(&1000)));
        assert!(one.iter().rev().copied().eq((0..1000).rev()));
        // Only the stretches that changed are no longer shared.
        let shared = one
            .stretches
            .iter()
            .zip(&other.stretches)
            .filter(|(a, b)| Arc::ptr_eq(a, b))
            .count();
        assert_eq!((one.stretches.len(), shared), (4, 2));
        assert_ne!(one, other);
        assert!(List::<usize>::new().is_empty() && List::<usize>::new().last().is_none());
    }
}
