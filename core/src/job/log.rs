//! Things in order that a later state shares with the one before it.
//!
//! A job of many entries is kept anew with every one said: only the piece of the list that changed
//! is copied, all others are held in common.

use super::fact::FactId;
use super::fold::Kept;
use core::cmp::Ordering;
use core::fmt;
use core::ops::Index;
use core::slice;
use std::sync::Arc;

/// So many stand in one piece at most: few enough to copy, enough to walk along quickly.
const PIECE: usize = 128;

/// Things in order. Copying it is cheap, and so is adding to a copy.
#[derive(Clone)]
pub struct Log<T> {
    /// None is empty.
    pieces: Vec<Arc<Vec<T>>>,
    len: usize,
}

impl<T> Log<T> {
    /// Nothing.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            pieces: Vec::new(),
            len: 0,
        }
    }

    /// How many.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.len
    }

    /// There is nothing.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// All, in order.
    #[must_use]
    pub fn iter(&self) -> Iter<'_, T> {
        Iter {
            pieces: self.pieces.iter(),
            front: [].iter(),
            back: [].iter(),
        }
    }

    /// The first.
    #[must_use]
    pub fn first(&self) -> Option<&T> {
        self.pieces.first()?.first()
    }

    /// The last.
    #[must_use]
    pub fn last(&self) -> Option<&T> {
        self.pieces.last()?.last()
    }

    /// The one at this place of the order the list stands in.
    #[must_use]
    pub(super) fn find(&self, order: impl Fn(&T) -> Ordering) -> Option<&T> {
        let (piece, at) = self.place(|known| order(known).is_lt());
        let found = self.pieces.get(piece)?.get(at)?;
        order(found).is_eq().then_some(found)
    }

    /// Which piece and which place in it: of the first of which `before` is no longer said.
    fn place(&self, before: impl Fn(&T) -> bool) -> (usize, usize) {
        let piece = self
            .pieces
            .partition_point(|p| p.last().is_some_and(&before));
        let at = self
            .pieces
            .get(piece)
            .map_or(0, |p| p.partition_point(before));
        (piece, at)
    }
}

impl<T: Clone> Log<T> {
    /// One more, behind all.
    pub fn push(&mut self, one: T) {
        match self.pieces.last_mut().filter(|p| p.len() < PIECE) {
            Some(piece) => Arc::make_mut(piece).push(one),
            None => self.pieces.push(Arc::new(vec![one])),
        }
        self.len += 1;
    }

    /// One more where it belongs, in a list that stands in this order; behind its equals.
    pub(super) fn insert(&mut self, one: T, order: impl Fn(&T, &T) -> Ordering) {
        let (piece, at) = self.place(|known| order(known, &one).is_le());
        let Some(found) = self.pieces.get_mut(piece) else {
            return self.push(one);
        };
        let found = Arc::make_mut(found);
        found.insert(at, one);
        self.len += 1;
        if found.len() > 2 * PIECE {
            let rest = found.split_off(PIECE);
            self.pieces.insert(piece + 1, Arc::new(rest));
        }
    }

    /// The one at this place of the order the list stands in, to be changed.
    pub(super) fn find_mut(&mut self, order: impl Fn(&T) -> Ordering) -> Option<&mut T> {
        self.find(&order)?;
        let (piece, at) = self.place(|known| order(known).is_lt());
        Arc::make_mut(self.pieces.get_mut(piece)?).get_mut(at)
    }

    /// Takes out the one at this place of the order the list stands in.
    pub(super) fn take_out(&mut self, order: impl Fn(&T) -> Ordering) -> Option<T> {
        self.find(&order)?;
        let (piece, at) = self.place(|known| order(known).is_lt());
        let found = self.pieces.get_mut(piece)?;
        let one = Arc::make_mut(found).remove(at);
        if found.is_empty() {
            self.pieces.remove(piece);
        }
        self.len -= 1;
        Some(one)
    }

    /// All, to be changed: nothing is held in common afterwards.
    pub fn iter_mut(&mut self) -> impl Iterator<Item = &mut T> {
        self.pieces
            .iter_mut()
            .flat_map(|p| Arc::make_mut(p).iter_mut())
    }
}

impl<T: Clone> Log<Kept<T>> {
    /// One more where it belongs; nothing happens where it is there already.
    pub(super) fn keep(&mut self, kept: Kept<T>) {
        let order = kept.order();
        if self.last().is_none_or(|last| last.order() < order) {
            self.push(kept);
        } else if self.find(|k| k.order().cmp(&order)).is_none() {
            self.insert(kept, |a, b| a.order().cmp(&b.order()));
        }
    }

    /// Lets go of the one at this place.
    pub(super) fn let_go(&mut self, order: (u64, FactId)) {
        drop(self.take_out(|k| k.order().cmp(&order)));
    }
}

impl<T> Default for Log<T> {
    fn default() -> Self {
        Self::new()
    }
}

impl<T: fmt::Debug> fmt::Debug for Log<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self).finish()
    }
}

impl<T: PartialEq> PartialEq for Log<T> {
    fn eq(&self, other: &Self) -> bool {
        self.len == other.len && self.iter().eq(other.iter())
    }
}

impl<T> Index<usize> for Log<T> {
    type Output = T;
    /// Like a slice, it breaks off where there is none.
    fn index(&self, mut at: usize) -> &T {
        for piece in &self.pieces {
            if let Some(found) = piece.get(at) {
                return found;
            }
            at -= piece.len();
        }
        &[][at]
    }
}

impl<T: Clone> FromIterator<T> for Log<T> {
    fn from_iter<I: IntoIterator<Item = T>>(all: I) -> Self {
        let mut log = Self::new();
        for one in all {
            log.push(one);
        }
        log
    }
}

impl<'a, T> IntoIterator for &'a Log<T> {
    type Item = &'a T;
    type IntoIter = Iter<'a, T>;
    fn into_iter(self) -> Iter<'a, T> {
        self.iter()
    }
}

/// Along a [`Log`].
#[derive(Debug, Clone)]
pub struct Iter<'a, T> {
    pieces: slice::Iter<'a, Arc<Vec<T>>>,
    front: slice::Iter<'a, T>,
    back: slice::Iter<'a, T>,
}

impl<'a, T> Iterator for Iter<'a, T> {
    type Item = &'a T;
    fn next(&mut self) -> Option<&'a T> {
        loop {
            if let Some(one) = self.front.next() {
                return Some(one);
            }
            match self.pieces.next() {
                Some(piece) => self.front = piece.iter(),
                None => return self.back.next(),
            }
        }
    }
}

impl<'a, T> DoubleEndedIterator for Iter<'a, T> {
    fn next_back(&mut self) -> Option<&'a T> {
        loop {
            if let Some(one) = self.back.next_back() {
                return Some(one);
            }
            match self.pieces.next_back() {
                Some(piece) => self.back = piece.iter(),
                None => return self.front.next_back(),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Log;

    #[test]
    fn it_is_a_list_whose_earlier_copies_stay_as_they_were() {
        let mut plain: Vec<u32> = Vec::new();
        let mut log: Log<u32> = Log::new();
        let mut earlier = Vec::new();
        let mut n: u32 = 7;
        for step in 0..3000 {
            n = n.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let value = (n >> 8) % 5000;
            match plain.binary_search(&value) {
                Ok(at) => {
                    plain.remove(at);
                    assert_eq!(log.take_out(|k| k.cmp(&value)), Some(value));
                }
                Err(at) => {
                    plain.insert(at, value);
                    log.insert(value, Ord::cmp);
                }
            }
            if step % 500 == 0 {
                earlier.push((plain.clone(), log.clone()));
            }
        }
        earlier.push((plain, log));
        for (plain, log) in earlier {
            assert_eq!(log.len(), plain.len());
            assert!(log.iter().eq(plain.iter()) && log.iter().rev().eq(plain.iter().rev()));
            let mut both = log.iter();
            let last = plain.last().filter(|_| plain.len() > 1);
            assert_eq!((both.next(), both.next_back()), (plain.first(), last));
            assert!(both.eq(&plain[1..plain.len().saturating_sub(1).max(1)]) || plain.len() < 2);
            for (at, value) in plain.iter().enumerate() {
                assert_eq!(&log[at], value);
                assert_eq!(log.find(|k| k.cmp(value)), Some(value));
            }
            assert_eq!(log.find(|k| k.cmp(&9999)), None);
            assert_eq!(plain.iter().copied().collect::<Log<u32>>(), log);
        }
    }

    #[test]
    #[should_panic(expected = "index out of bounds")]
    fn beyond_its_end_there_is_nothing() {
        let log: Log<u32> = (0..200).collect();
        let _ = log[200];
    }
}
