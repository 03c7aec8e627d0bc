//! What is known of each fact, by its name, shared between states like a [`super::Log`].

use super::fact::{FactId, ReplicaId};
use std::collections::BTreeMap;
use std::sync::Arc;

/// So many of a writer's facts lie together: 2 to this power.
const TOGETHER: u32 = 7;

/// Something for each of many facts, in the order of their names. Copying it is cheap, and so is
/// adding to a copy.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ByFact<V> {
    drawers: BTreeMap<(ReplicaId, u64), Arc<BTreeMap<u64, V>>>,
    len: usize,
}

const fn drawer(id: FactId) -> (ReplicaId, u64) {
    (id.replica, id.seq >> TOGETHER)
}

impl<V> ByFact<V> {
    pub(super) const fn new() -> Self {
        Self {
            drawers: BTreeMap::new(),
            len: 0,
        }
    }

    pub(super) const fn len(&self) -> usize {
        self.len
    }

    pub(super) fn get(&self, id: FactId) -> Option<&V> {
        self.drawers.get(&drawer(id))?.get(&id.seq)
    }

    pub(super) fn iter(&self) -> impl DoubleEndedIterator<Item = (FactId, &V)> {
        self.drawers.iter().flat_map(|((replica, _), all)| {
            all.iter().map(|(seq, value)| {
                let id = FactId {
                    replica: *replica,
                    seq: *seq,
                };
                (id, value)
            })
        })
    }

    pub(super) fn values(&self) -> impl Iterator<Item = &V> {
        self.drawers.values().flat_map(|all| all.values())
    }

    /// The facts of one writer, in their order.
    pub(super) fn of(&self, replica: ReplicaId) -> impl DoubleEndedIterator<Item = &V> {
        self.drawers
            .range((replica, 0)..=(replica, u64::MAX))
            .flat_map(|(_, all)| all.values())
    }

    /// What of this is not held in common with another: everything new is in it, and a little more.
    pub(super) fn apart_from<'a>(
        &'a self,
        other: &'a Self,
    ) -> impl Iterator<Item = (FactId, &'a V)> {
        let changed = self.drawers.iter().filter(|(key, all)| {
            let known = other.drawers.get(*key);
            known.is_none_or(|known| !Arc::ptr_eq(known, all))
        });
        changed.flat_map(|((replica, _), all)| {
            all.iter().map(|(seq, value)| {
                let id = FactId {
                    replica: *replica,
                    seq: *seq,
                };
                (id, value)
            })
        })
    }
}

impl<V: Clone + Default> ByFact<V> {
    /// Nothing is known of it any more.
    pub(super) fn take_out(&mut self, id: FactId) {
        let drawer = drawer(id);
        let Some(all) = self.drawers.get_mut(&drawer).map(Arc::make_mut) else {
            return;
        };
        self.len -= usize::from(all.remove(&id.seq).is_some());
        if all.is_empty() {
            self.drawers.remove(&drawer);
        }
    }

    /// What is there, or something empty that is there from now on.
    pub(super) fn entry(&mut self, id: FactId) -> &mut V {
        let all = Arc::make_mut(self.drawers.entry(drawer(id)).or_default());
        let len = &mut self.len;
        all.entry(id.seq).or_insert_with(|| {
            *len += 1;
            V::default()
        })
    }
}
