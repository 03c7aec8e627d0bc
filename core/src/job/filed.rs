//! Facts of one kind in their one order, and by what they are about.
//!
//! A run is looked over piece by piece and feature by feature: whoever asks what was read on one
//! casting must not walk along what was read on all of them. What each fact is about is filed by
//! the same steps that keep the list, so that neither can be without the other.

use super::by_fact::ByFact;
use super::fact::FactId;
use super::fold::Kept;
use super::ids::*;
use super::log::{Iter, Log};
use core::ops::Index;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A fact's place in the one order all copies agree on.
type Order = (u64, FactId);

/// What facts are asked for by.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// A thing of the job.
    Thing(EntityRef),
    /// Another fact.
    Fact(FactId),
    /// A sheet, by its reference.
    Sheet(String),
}

macro_rules! subjects {
    ($($id:ident, $kind:ident);+ $(;)?) => {$(
        impl From<&$id> for Subject {
            fn from(id: &$id) -> Self {
                Self::Thing(EntityRef::$kind(id.clone()))
            }
        }
    )+};
}
subjects!(CastingId, Casting; PieceId, Piece; TemplateId, Template; MouldId, Mould; JointId, Joint;
    InstrumentId, Instrument);

impl From<FactId> for Subject {
    fn from(id: FactId) -> Self {
        Self::Fact(id)
    }
}

/// Facts that are filed by what they are about.
pub trait About {
    /// What this one is about, and which part of it: a piece and its feature, a casting and the
    /// mark measured from. No part where nobody asks for less than all of a thing.
    fn about(&self) -> Vec<(Subject, Option<EntityRef>)>;
}

/// Where facts stand in their list, by name and by what they are about.
#[derive(Debug, Clone)]
struct Files {
    by_subject: Arc<BTreeMap<Subject, Arc<Parts>>>,
    by_name: ByFact<u64>,
}

type Parts = BTreeMap<Option<EntityRef>, Log<Order>>;

impl Files {
    fn new() -> Self {
        Self {
            by_subject: Arc::default(),
            by_name: ByFact::new(),
        }
    }

    fn file(&mut self, about: Vec<(Subject, Option<EntityRef>)>, order: Order) {
        let by_subject = Arc::make_mut(&mut self.by_subject);
        for (subject, part) in about {
            let parts = Arc::make_mut(by_subject.entry(subject).or_default());
            let orders = parts.entry(part).or_default();
            if orders.last().is_none_or(|last| *last < order) {
                orders.push(order);
            } else if orders.find(|known| known.cmp(&order)).is_none() {
                orders.insert(order, Ord::cmp);
            }
        }
        *self.by_name.entry(order.1) = order.0;
    }

    fn take_out(&mut self, about: &[(Subject, Option<EntityRef>)], order: Order) {
        let by_subject = Arc::make_mut(&mut self.by_subject);
        for (subject, part) in about {
            let Some(parts) = by_subject.get_mut(subject).map(Arc::make_mut) else {
                continue;
            };
            if let Some(orders) = parts.get_mut(part) {
                orders.take_out(|known| known.cmp(&order));
                if orders.is_empty() {
                    parts.remove(part);
                }
            }
            if parts.is_empty() {
                by_subject.remove(subject);
            }
        }
        self.by_name.take_out(order.1);
    }

    fn orders(&self, subject: &Subject, wanted: &dyn Fn(Option<&EntityRef>) -> bool) -> Vec<Order> {
        let mut found = Vec::new();
        let mut several = false;
        for (part, orders) in self.by_subject.get(subject).into_iter().flat_map(|p| &**p) {
            if wanted(part.as_ref()) {
                several |= !found.is_empty();
                found.extend(orders.iter().copied());
            }
        }
        if several {
            found.sort_unstable();
            // What touches two parts is one fact.
            found.dedup();
        }
        found
    }
}

/// Two are alike where they say the same of every fact.
impl PartialEq for Files {
    fn eq(&self, other: &Self) -> bool {
        self.by_subject == other.by_subject && self.by_name.iter().eq(other.by_name.iter())
    }
}

/// Facts in order, and by what they are about. Copying it is cheap, and so is adding to a copy.
#[derive(Debug, Clone, PartialEq)]
pub struct Filed<T> {
    all: Log<Kept<T>>,
    files: Files,
}

impl<T> Filed<T> {
    /// Nothing.
    #[must_use]
    pub fn new() -> Self {
        Self {
            all: Log::new(),
            files: Files::new(),
        }
    }

    /// How many.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.all.len()
    }

    /// There is nothing.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// All, in order.
    #[must_use]
    pub fn iter(&self) -> Iter<'_, Kept<T>> {
        self.all.iter()
    }

    /// The last.
    #[must_use]
    pub fn last(&self) -> Option<&Kept<T>> {
        self.all.last()
    }

    /// The one of this name.
    #[must_use]
    pub fn named(&self, id: FactId) -> Option<&Kept<T>> {
        let lamport = *self.files.by_name.get(id)?;
        self.at((lamport, id))
    }

    fn at(&self, order: Order) -> Option<&Kept<T>> {
        self.all.find(|k| k.order().cmp(&order))
    }

    /// Those about a thing, in order.
    pub fn about<'a>(&'a self, subject: impl Into<Subject>) -> Picked<'a, T> {
        self.about_parts(subject, &|_| true)
    }

    /// Those about one part of a thing, in order.
    pub fn about_part<'a>(
        &'a self,
        subject: impl Into<Subject>,
        part: &EntityRef,
    ) -> Picked<'a, T> {
        self.about_parts(subject, &|known| known == Some(part))
    }

    /// Those about some parts of a thing, in order.
    pub fn about_parts<'a>(
        &'a self,
        subject: impl Into<Subject>,
        wanted: &dyn Fn(Option<&EntityRef>) -> bool,
    ) -> Picked<'a, T> {
        Picked {
            list: self,
            orders: self.files.orders(&subject.into(), wanted).into_iter(),
        }
    }
}

impl<T: About + Clone> Filed<T> {
    /// One more where it belongs; nothing happens where it is there already.
    pub fn keep(&mut self, kept: Kept<T>) {
        let order = kept.order();
        let newest = self.all.last().is_none_or(|last| last.order() < order);
        if newest || self.at(order).is_none() {
            self.files.file(kept.says.about(), order);
            self.all.keep(kept);
        }
    }

    /// Lets go of the one at this place.
    pub(super) fn let_go(&mut self, order: Order) {
        if let Some(kept) = self.all.take_out(|k| k.order().cmp(&order)) {
            self.files.take_out(&kept.says.about(), order);
        }
    }

    /// Changes what the one at this place says; whether there is one.
    pub(super) fn change(&mut self, order: Order, change: impl FnOnce(&mut T)) -> bool {
        let Some(found) = self.all.find_mut(|k| k.order().cmp(&order)) else {
            return false;
        };
        let before = found.says.about();
        change(&mut found.says);
        let now = found.says.about();
        if before != now {
            self.files.take_out(&before, order);
            self.files.file(now, order);
        }
        true
    }
}

impl<T> Index<usize> for Filed<T> {
    type Output = Kept<T>;
    /// Like a slice, it breaks off where there is none.
    fn index(&self, at: usize) -> &Kept<T> {
        &self.all[at]
    }
}

impl<T> Default for Filed<T> {
    fn default() -> Self {
        Self::new()
    }
}

impl<T: About + Clone> FromIterator<Kept<T>> for Filed<T> {
    fn from_iter<I: IntoIterator<Item = Kept<T>>>(all: I) -> Self {
        let mut filed = Self::new();
        for kept in all {
            filed.keep(kept);
        }
        filed
    }
}

impl<'a, T> IntoIterator for &'a Filed<T> {
    type Item = &'a Kept<T>;
    type IntoIter = Iter<'a, Kept<T>>;
    fn into_iter(self) -> Iter<'a, Kept<T>> {
        self.iter()
    }
}

/// Facts about one thing, in order.
#[derive(Debug, Clone)]
pub struct Picked<'a, T> {
    list: &'a Filed<T>,
    orders: std::vec::IntoIter<Order>,
}

impl<'a, T> Iterator for Picked<'a, T> {
    type Item = &'a Kept<T>;
    fn next(&mut self) -> Option<&'a Kept<T>> {
        self.orders.find_map(|order| self.list.at(order))
    }
    fn size_hint(&self) -> (usize, Option<usize>) {
        self.orders.size_hint()
    }
}

impl<'a, T> DoubleEndedIterator for Picked<'a, T> {
    fn next_back(&mut self) -> Option<&'a Kept<T>> {
        let list = self.list;
        self.orders.by_ref().rev().find_map(|order| list.at(order))
    }
}
